package runner

import (
	"fmt"
	"math"
	"testing"

	"workings/runner/eval"
	"workings/runner/resolve"
)

// value is what a symbol came to, in SI.
func value(t *testing.T, r *Result, name string) float64 {
	t.Helper()
	s := r.Trace.Sheet.Symbol("", name)
	if s == nil {
		t.Fatalf("no symbol %s:\n%s", name, printed(t, r))
	}
	v, ok := r.Trace.Value(s)
	if !ok {
		t.Fatalf("%s has no value:\n%s", name, printed(t, r))
	}
	return v.SI
}

func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if math.Abs(got-want) > rel*math.Max(math.Abs(want), 1e-300) {
		t.Errorf("%s = %.15g, want %.15g", what, got, want)
	}
}

func TestFunctionExamples(t *testing.T) {
	for _, f := range resolve.Functions() {
		r := build(t, fence("calc", "y = "+f.Example))
		near(t, f.Example, value(t, r, "y"), f.Result, 1e-12)
	}
}

func TestArithmetic(t *testing.T) {
	for expr, want := range map[string]float64{
		"-2^2": -4, "2^3^2": 512, "1/2": 0.5, "7 - 2 - 1": 4, "2*3 + 4/8": 6.5, "2^-1": 0.5,
		"1 < 2 ? 3 : 4": 3, "not 1 < 2 or 2 < 1 ? 3 : 4": 4, "1 < 2 < 3 ? 1 : 0": 1,
		"0 != 0 and 1/0 > 2 ? 1 : 0": 0, "0 == 0 or 1/0 > 2 ? 1 : 0": 1,
		"85 %": 0.85, "(85 % + 15 %)": 1, "sum(1, 2, 3) + mean(1, 3)": 8,
		"integrate(3*x^2, x, 0, 2)": 8, "integrate(1/x, x, 1, 10) - ln(10) + 1": 1, "integrate(x, x, 2, 0)": -2,
		"(25 °C - 15 °C)/(2 K)": 5, "(77 °F - 59 °F)/(1 K)": 10, "mean(20 °C, 30 °C)/(1 K)": 298.15,
		"1 bar/(1 Pa)": 1e5, "3600 kJ/(1 kWh)": 1, "2 * 3 ^ 2": 18, "10^-3": 1e-3,
	} {
		r := build(t, fence("calc", "y = "+expr))
		near(t, expr, value(t, r, "y"), want, 1e-12)
	}
}

// Two unknowns: the intersection of a line and a circle, and a solve within a solve.
func TestSolve(t *testing.T) {
	r := build(t, fence("calc",
		"solve (x, y) from (1, 2)", "  r2 = x^2 + y^2", "until r2 == 25", "until y == 2*x",
		"solve a between 0 and 10", "  solve b between 0 and 10", "    c = b^3", "  until c == a", "until b == 2",
		"solve z between 0 and 5", "  w = z*(3 - z)", "until w is largest",
		"solve v between -3 and 5", "  u = cosh(v - 1)", "until u is smallest"))
	near(t, "x", value(t, r, "x"), math.Sqrt(5), 1e-12)
	near(t, "y", value(t, r, "y"), 2*math.Sqrt(5), 1e-12)
	near(t, "a", value(t, r, "a"), 8, 1e-12)
	near(t, "z", value(t, r, "z"), 1.5, 1e-9)
	near(t, "v", value(t, r, "v"), 1, 1e-7)
	for _, e := range r.Trace.Entries {
		if e.Solve != nil && e.Solve.Extreme == "" && math.Abs(e.Solve.Residuals[0].SI) > 1e-9 {
			t.Errorf("entry %s leaves %g", e.Number, e.Solve.Residuals[0].SI)
		}
	}
}

// The combined uncertainty of a product of powers has a closed form: relative parts times their
// exponents, in quadrature (JCGM 100:2008, 5.1.6; from memory).
func TestUncertainty(t *testing.T) {
	r := build(t, fence("inputs", "a = 2 ± 0.02", "b = 300 K ± 3 K", "c = 5")+
		fence("calc", "y = a^3*b^2*c", "z = 7*c", "T_o = b - 1 K")+fence("answers", "y", "z", "T_o"))
	y, z := r.Trace.Sheet.Symbol("", "y"), r.Trace.Sheet.Symbol("", "z")
	u := r.Trace.Uncertain[y]
	if u == nil || r.Trace.Uncertain[z] != nil {
		t.Fatalf("uncertainties %v", r.Trace.Uncertain)
	}
	near(t, "u(y)", u.Combined.SI, value(t, r, "y")*math.Hypot(3*0.01, 2*0.01), 1e-6)
	if len(u.From) != 2 || u.From[0].Input.Name != "a" || math.Abs(u.From[0].Share-9.0/13) > 1e-6 {
		t.Errorf("contributions %+v", u.From)
	}
	near(t, "u(T_o)", r.Trace.Uncertain[r.Trace.Sheet.Symbol("", "T_o")].Combined.SI, 3, 1e-9)
}

// A line shown once for the reader is the line that was computed: the property symbols of a
// state are those of its fluid at its temperature, whoever asks.
func TestStatesThroughMethods(t *testing.T) {
	r := build(t, fence("inputs", "T1 = 300 K", "p1 = 100 kPa", "r_p = 8", "eta_c = 0.85")+
		fence("calc", "use gas_turbine", "fluid air", "state 1 = air(p1, T1)", "p2 = r_p*p1",
			"state 2, w_c = compressor(state 1, p2, eta_c)",
			"state 2s = air(p = p2, s = s1)", "h_2b = h1 + (h_2s - h1)/eta_c", "k_2 = cp_2/cv_2"))
	near(t, "h2", value(t, r, "h2"), value(t, r, "h_2b"), 1e-12)
	near(t, "w_c", value(t, r, "w_c"), value(t, r, "h2")-value(t, r, "h1"), 1e-12)
	if k := value(t, r, "k_2"); k < 1.3 || k > 1.4 {
		t.Errorf("k of hot air %g", k)
	}
	if r.ExitCode() != ExitWell {
		t.Errorf("problems:\n%s", printed(t, r))
	}
}

// A method with one result is called like a function, or like a fluid.
func TestSingleResult(t *testing.T) {
	r := build(t, fence("method", "twice(a) -> b", "b = 2*a")+fence("method", "inlet(p_a, T_a) -> state b", "fluid air", "state b = air(p = p_a, T = T_a)")+
		fence("calc", "y = twice(3 kPa) in Pa", "state 1 = inlet(1 bar, 300 K)", "z = T1/(1 K) + 0*k_1"))
	near(t, "y", value(t, r, "y"), 6000, 1e-12)
	near(t, "z", value(t, r, "z"), 300, 1e-12)
	if s := r.Trace.Sheet.Symbol("", "y"); s.Unit.String() != "Pa" {
		t.Errorf("y is shown in %s", s.Unit)
	}
}

func TestUseWith(t *testing.T) {
	plant := fence("inputs", "eps = 75 % within 40 % .. 90 %", "r_p = 8") + fence("calc", "y = r_p*(1 + eps)", "check y > 0")
	r := build(t, fence("inputs", "r_p = 10")+fence("calc", `use "plant.md" as a`, `use "plant.md" as b with eps = 0 %, r_p = r_p`, "d = a.y - b.y"), "plant.md", plant)
	near(t, "d", value(t, r, "d"), 8*1.75-10, 1e-12)
	if r.ExitCode() != ExitWell || !has(r, "outside-allowed") {
		t.Errorf("exit %d:\n%s", r.ExitCode(), printed(t, r))
	}
	if n := len(r.Trace.Checks); n != 2 {
		t.Errorf("%d checks counted of two used sheets", n)
	}
	bad := build(t, fence("calc", `use "plant.md" as a with r_p = -1`, "d = a.y"), "plant.md", plant)
	if bad.ExitCode() != ExitChecks {
		t.Errorf("a failing check of a used sheet: exit %d\n%s", bad.ExitCode(), printed(t, bad))
	}
}

func TestSet(t *testing.T) {
	text := fence("inputs", "r_p = 8 within 4 .. 16", "T1 = 300 K") + fence("calc", "y = 2*r_p", "z = T1")
	for _, c := range []struct {
		set  string
		y, z float64
		code int
	}{{"r_p=12", 24, 300, 0}, {"T1=15 °C", 16, 288.15, 0}, {"r_p=20", 0, 300, ExitErrors}, {"r_q=2", 16, 300, ExitErrors}, {"T1=2 bar", 16, 0, ExitErrors}} {
		o := options()
		o.Set = []string{c.set}
		r, err := Build(mapFile(text), "notebook.md", o)
		if err != nil {
			t.Fatal(err)
		}
		if r.ExitCode() != c.code {
			t.Errorf("%s: exit %d\n%s", c.set, r.ExitCode(), printed(t, r))
		}
		for name, want := range map[string]float64{"y": c.y, "z": c.z} {
			if want == 0 {
				if _, ok := r.Trace.Value(r.Trace.Sheet.Symbol("", name)); ok {
					t.Errorf("%s: %s has a value", c.set, name)
				}
				continue
			}
			near(t, c.set+": "+name, value(t, r, name), want, 1e-12)
		}
	}
	if _, err := Build(mapFile(text), "notebook.md", Options{Set: []string{"r_p"}}); err == nil {
		t.Error("--set without a value was taken")
	}
}

// The registers of one run are those of the next: nothing is kept between builds.
func TestSameTwice(t *testing.T) {
	for name, text := range corpus(t) {
		a, b := build(t, text), build(t, text)
		if x, y := fmt.Sprint(results(a)), fmt.Sprint(results(b)); x != y {
			t.Errorf("%s: two builds differ", name)
		}
	}
}

func results(r *Result) []string {
	var out []string
	var walk func([]*eval.Entry)
	walk = func(es []*eval.Entry) {
		for _, e := range es {
			for _, x := range e.Results {
				out = append(out, fmt.Sprintf("%s %s %b", e.Number, x.Symbol.Full(), x.Value.SI))
			}
			walk(e.Children)
		}
	}
	walk(r.Trace.Entries)
	return out
}
