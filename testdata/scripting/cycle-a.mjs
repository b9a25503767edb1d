// Cycle A of the benchmarks of studies, as somebody writes it in a general-purpose scripting language
// with a library of units: every line is an expression with units, compiled once and evaluated at each
// point. The property functions are JavaScript on quantities: the polynomials of
// NASA/TP-2002-211556, and Newton's method from 1000 K where T is sought.
//
// Each line of the input is a list of points, [[rp, T6 in K], ...]; each line of the output answers one
// with { "ns": time of a point, "eta_th": [...] }:
//
//	npm ci && echo '[[12, 1400], [20, 1600]]' | node cycle-a.mjs
import { createInterface } from "node:readline";
import { all, create } from "mathjs";

const math = create(all);

const R = 8.31451 / 0.0289651159;
const ranges = [
	[1.00995016e4, -1.968275610e2, 5.009155110, -5.761013730e-3, 1.066859930e-5, -7.940297970e-9, 2.185231910e-12, -1.767967310e2, -3.921504225],
	[2.41521443e5, -1.257874600e3, 5.144558670, -2.138541790e-4, 7.065227840e-8, -1.071483490e-11, 6.577800150e-16, 6.462263190e3, -8.147411905],
];
const at = T => (T < 1000 ? ranges[0] : ranges[1]);

function cp(T) {
	const a = at(T);
	return R * (a[0] / T / T + a[1] / T + a[2] + T * (a[3] + T * (a[4] + T * (a[5] + T * a[6]))));
}

function h(T) {
	const a = at(T);
	return R * (-a[0] / T + a[1] * Math.log(T) + a[7] + T * (a[2] + T * (a[3] / 2 + T * (a[4] / 3 + T * (a[5] / 4 + T * a[6] / 5)))));
}

function so(T) {
	const a = at(T);
	return R * (-a[0] / 2 / T / T - a[1] / T + a[2] * Math.log(T) + a[8] + T * (a[3] + T * (a[4] / 2 + T * (a[5] / 3 + T * a[6] / 4))));
}

function newton(step) {
	let T = 1000;
	for (let i = 0; i < 50; i++) {
		const d = step(T);
		T -= d;
		if (Math.abs(d) < 1e-12 * T) break;
	}
	return T;
}

const unit = { T: math.unit("K"), h: math.unit("J/kg"), s: math.unit("J/(kg K)") };

// quantity makes one without parsing the name of its unit again.
function quantity(x, of) {
	const q = of.clone();
	q.value = x; // J, kg and K are the library's own base
	return q;
}

const number = (q, of) => q.toNumber(of);

const functions = {
	h_of: T => quantity(h(number(T, unit.T)), unit.h),
	so_of: T => quantity(so(number(T, unit.T)), unit.s),
	T_of_h: q => {
		const x = number(q, unit.h);
		return quantity(newton(T => (h(T) - x) / cp(T)), unit.T);
	},
	T_of_so: q => {
		const x = number(q, unit.s);
		return quantity(newton(T => ((so(T) - x) * T) / cp(T)), unit.T);
	},
};

const inputs = `T1 = 298.15 K
p1 = 100 kPa
eta_c = 0.85
eta_t = 0.88
eps = 0.8
dp_ic = 0.01
dp_rc = 0.015
dp_cc = 0.03
dp_rh = 0.02
eta_cc = 0.99
eta_m = 0.985
mdot = 50 kg/s
LHV = 50000 kJ/kg
p_ref = 100 kPa
R_air = ${R} J/(kg K)`;

const lines = `rc = sqrt(rp)
h1 = h_of(T1)
so1 = so_of(T1)
s1 = so1 - R_air*log(p1/p_ref)
p2 = p1*rc
T2s = T_of_so(s1 + R_air*log(p2/p_ref))
h2s = h_of(T2s)
h2 = h1 + (h2s - h1)/eta_c
p3 = p2*(1 - dp_ic)
p4 = p1*rp
s3 = so1 - R_air*log(p3/p_ref)
T4s = T_of_so(s3 + R_air*log(p4/p_ref))
h4s = h_of(T4s)
h4 = h1 + (h4s - h1)/eta_c
T4 = T_of_h(h4)
p5 = p4*(1 - dp_rc)
p6 = p5*(1 - dp_cc)
h6 = h_of(T6)
s6 = so_of(T6) - R_air*log(p6/p_ref)
p9 = p1/(1 - dp_rc)
p7 = sqrt(p6*p9)
T7s = T_of_so(s6 + R_air*log(p7/p_ref))
h7s = h_of(T7s)
h7 = h6 - eta_t*(h6 - h7s)
p8 = p7*(1 - dp_rh)
s8 = so_of(T6) - R_air*log(p8/p_ref)
T9s = T_of_so(s8 + R_air*log(p9/p_ref))
h9s = h_of(T9s)
h9 = h6 - eta_t*(h6 - h9s)
q_reg = eps*(h9 - h4)
h5 = h4 + q_reg
w_c = (h2 - h1) + (h4 - h1)
w_t = (h6 - h7) + (h6 - h9)
q_in = ((h6 - h5) + (h6 - h7))/eta_cc
w_net = eta_m*w_t - w_c
bwr = w_c/(eta_m*w_t)
eta_th = w_net/q_in
Wdot = mdot*w_net
m_f = mdot*q_in/LHV
sfc = m_f/Wdot`;

const program = lines.split("\n").map(line => math.compile(line));
const scope = new Map(Object.entries(functions));
for (const line of inputs.split("\n")) math.evaluate(line, scope);

function evaluate([rp, T6]) {
	scope.set("rp", rp);
	scope.set("T6", math.unit(T6, "K"));
	for (const line of program) line.evaluate(scope);
	return scope.get("eta_th");
}

for await (const line of createInterface({ input: process.stdin })) {
	const points = JSON.parse(line);
	const start = process.hrtime.bigint();
	const eta = points.map(evaluate);
	const ns = Number(process.hrtime.bigint() - start) / points.length;
	console.log(JSON.stringify({ ns, eta_th: eta.map(e => (typeof e === "number" ? e : e.toNumber(""))) }));
}
