package runner

import (
	"strings"
	"testing"

	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/resolve"
)

const plainPlant = "```assume\nloss: no pressure is lost   // to keep it short\n```\n\n```inputs\nr_p = 8   // pressure ratio\n```\n\n" +
	"```calc\nfluid air\nstate 1 = air(p = 100 kPa, T = 300 K)\nstate 2 = air(p = r_p*p1, T = 580 K)\n" +
	"state 3 = air(p = p2, T = 1300 K)\nstate 4 = air(p = p1, T = 840 K)\n```\n\n" +
	"```cycle plant\n1 -> 2 compressor\n2 -> 3 heater\n3 -> 4 turbine\n4 -> 1 cooler\n```\n\n"

// A total is a symbol like any other: in formulas, checks, solves, tables, answers and prose, on its
// own sheet and on one that uses it, by any spelling.
func TestTotalsAreSymbols(t *testing.T) {
	r := build(t, plainPlant+fence("calc",
		"a = 2*plant.eta", "b = plant.η + plant.bwr in %", "w = plant.w_net",
		"check w == (h3 - h4) - (h2 - h1)", "check plant.w_in == h2 - h1", "check plant.residual within -1e-12 .. 1e-12",
		"solve T_x between 1000 K and 1500 K", "until plant.q_in*(T_x/T3) == 1.1*plant.q_in")+
		fence("table", "symbols plant.eta, plant.w_net in kJ/kg")+fence("answers", "plant.eta")+"It gives {plant.eta, 3 digits}.\n")
	if len(r.Problems()) > 0 {
		t.Errorf("problems:\n%s", printed(t, r))
	}
	h := func(n string) float64 { return value(t, r, "h"+n) }
	eta := ((h("3") - h("4")) - (h("2") - h("1"))) / (h("3") - h("2"))
	near(t, "a", value(t, r, "a"), 2*eta, 1e-14)
	near(t, "T_x", value(t, r, "T_x"), 1430, 1e-9)

	r = build(t, fence("assume", "loss: no pressure is lost   // to keep it short")+fence("calc", `use "gt.md" as gt`, `use "gt.md" as other with r_p = 7`, "a = gt.plant.eta", "b = other.plant.w_in/gt.plant.w_in")+
		fence("cycle around", "gt.1 -> gt.2 compressor", "gt.2 -> gt.3 heater", "gt.3 -> gt.4 turbine")+
		fence("calc", "check around.eta == gt.plant.eta")+fence("answers", "gt.plant.eta")+"It gives {gt.plant.eta} and {gt.plant.bwr, 3 digits}.\n", "gt.md", plainPlant)
	if len(r.Problems()) > 0 {
		t.Errorf("problems:\n%s", printed(t, r))
	}
	near(t, "gt.plant.eta", value(t, r, "a"), eta, 1e-14)
	near(t, "the same compressor in both", value(t, r, "b"), 1, 1e-14)
	if _, ok := r.Trace.Value(r.Trace.Sheet.Symbol("gt.plant", "eta")); !ok {
		t.Error("gt.plant.eta is not found by its name")
	}
}

// Totals wait for states that failed, and have no value where they would mean nothing.
func TestTotalsWithoutValue(t *testing.T) {
	r := build(t, strings.Replace(plainPlant, "T = 580 K", "T = 58000 K", 1)+fence("calc", "a = plant.eta"))
	if n := len(r.Problems()); n != 1 || !has(r, "out-of-range") {
		t.Errorf("one fault gives %d reports:\n%s", n, printed(t, r))
	}
	r = build(t, strings.Replace(plainPlant, "2 -> 3 heater\n3 -> 4 turbine\n4 -> 1 cooler", "2 -> 4 turbine\n3 -> 1 heater", 1)+fence("calc", "a = plant.eta", "b = plant.w_in"))
	if !has(r, "no-property") || !strings.Contains(string(printed(t, r)), "which is not above zero") {
		t.Errorf("an efficiency of heat given up:\n%s", printed(t, r))
	}
	near(t, "b", value(t, r, "b"), value(t, r, "h2")-value(t, r, "h1"), 1e-14)
}

// States and flows, for those who audit a cycle.
func TestStatesAndFlows(t *testing.T) {
	r := build(t, strings.Replace(plainPlant, "1 -> 2 comp", "flow 3 kg/s\n1 -> 2 comp", 1))
	c := r.Trace.Sheet.Cycles[0]
	for _, x := range c.Components {
		for _, l := range append(append([]resolve.Leg{}, x.From...), x.To...) {
			if s, ok := r.Trace.State(l.State); !ok || s.T() < 299 {
				t.Errorf("state %s: %v", l.State.Label(), ok)
			}
			if v, ok := r.Trace.Flow(l); !ok || v.SI != 3 {
				t.Errorf("flow at %s: %v %v", l.State.Label(), v, ok)
			}
		}
	}
	if c.Total("Wdot_net") == nil || c.Total("w_net") != nil || c.Flows != resolve.MassFlow {
		t.Error("totals are not powers")
	}
	var none eval.Value
	if v, ok := r.Trace.Flow(resolve.Leg{}); ok || v != none {
		t.Error("a leg without a flow has one")
	}
}

// Fuel: the heat that a combustor takes in is that which the fuel sets free, whether the fuel is a
// stream of the cycle or the difference of its flows, and whether the plant is open or closed by what
// takes up the exhaust. By hand: adiabatic, fuel at 25 °C, so that it is the flow times the lower
// heating value.
func TestFuel(t *testing.T) {
	const states = "```calc\nfluid warm = air(datum = formation)\nfluid fuel = mixture(mole, CH4 = 1, datum = formation)\n" +
		"fluid hot = products(fuel = fuel, oxidant = warm, far = 0.02, datum = formation)\n" +
		"state f = fuel(p = 9 bar, T = 25 °C)\nstate 1 = warm(p = 1 bar, T = 300 K)\nstate 2 = warm(p = 8 bar, T = 600 K)\n" +
		"state 3 = hot(p = 8 bar, h = (h2 + 0.02*h_f)/1.02)\nstate 4 = hot(p = 1 bar, T = 900 K)\n" +
		"Qdot = (0.2 kg/s)*heating_value(fuel, lower)\n```\n\n"
	for name, lines := range map[string]string{
		"open":             "flow 10 kg/s\n1 -> 2 compressor\n2 -> 3 combustor\nflow 10.2 kg/s\n3 -> 4 turbine\n",
		"closed":           "flow 10 kg/s\n1 -> 2 compressor\n2 -> 3 combustor\nflow 10.2 kg/s\n3 -> 4 turbine\n4 -> 1 cooler\n",
		"fuel as a stream": "flow 10 kg/s\n1 -> 2 compressor\n2 + f -> 3 combustor\nflow 10.2 kg/s\n3 -> 4 turbine\n",
	} {
		r := build(t, states+"```cycle plant\n"+lines+"```\n\n"+fence("calc",
			"check plant.Qdot_in == Qdot within 1e-6 %", "check plant.residual within -1e-9 .. 1e-9", "eta = plant.Wdot_net/Qdot",
			"Q_x = (10.2 kg/s)*(h4 - hot.h(T = 298.15 K)) - (10 kg/s)*(h1 - warm.h(T = 298.15 K))", // above 25 °C
			"check plant.Qdot_out == Q_x within 1e-6 %"))
		for _, p := range r.Problems() {
			if p.Severity == diag.Error {
				t.Errorf("%s:\n%s", name, printed(t, r))
				break
			}
		}
		near(t, name, value(t, r, "eta"), totalOf(t, r, "eta"), 1e-9)
	}
}

// totalOf is a total of the first cycle, in SI.
func totalOf(t *testing.T, r *Result, name string) float64 {
	t.Helper()
	total := r.Trace.Sheet.Cycles[0].Total(name)
	if total == nil {
		t.Fatalf("no total %s", name)
	}
	v, ok := r.Trace.Value(total.Symbol)
	if !ok {
		t.Fatalf("%s has no value", name)
	}
	return v.SI
}

// A combustor of the library makes its products inside the method, from a fuel that the sheet names
// or that the database holds: its heat is known all the same. Where no name leads to the fuel the
// heat is withheld, and the audit does not take the fall of the enthalpies for a heat given off.
func TestCombustorOfTheLibraryInACycle(t *testing.T) {
	plant := func(fuel string) string {
		return fence("assume", "loss: no pressure is lost   // to keep it short") +
			fence("calc", "use gas_turbine", "fluid air = air(datum = formation)", fuel, "state 1 = air(p = 100 kPa, T = 300 K)",
				"state 2, w_c = compressor(state 1, 800 kPa, 85 %)", "state 3, f = combustor(state 2, fuel, 25 °C, 1200 K, 0, 1)",
				"state 4, w_t = turbine(state 3, 100 kPa, 88 %)") +
			fence("cycle plant", "flow 1", "1 -> 2 compressor", "2 -> 3 combustor", "flow 1 + f", "3 -> 4 turbine")
	}
	for _, fuel := range []string{"fluid fuel = mixture(mole, CH4 = 95 %, C2H6 = 5 %)", "fluid fuel = CH4"} {
		r := build(t, plant(fuel)+fence("calc", "check plant.q_in == f*heating_value(fuel, lower) within 1e-6 %", "check plant.residual within -1e-9 .. 1e-9"))
		if has(r, "heat-direction") || has(r, "total-withheld") || has(r, "check-fails") {
			t.Errorf("%s:\n%s", fuel, printed(t, r))
		}
	}
	r := build(t, fence("calc", `use "gt.md" as gt`)+
		fence("cycle whole", "flow 1", "gt.1 -> gt.2 compressor", "gt.2 -> gt.3 combustor", "flow 1 + gt.f", "gt.3 -> gt.4 turbine")+
		fence("calc", "a = whole.q_in"), "gt.md", plant("fluid fuel = mixture(mole, CH4 = 95 %, C2H6 = 5 %)"))
	if has(r, "heat-direction") || !has(r, "total-withheld") {
		t.Errorf("a fuel that this sheet does not name:\n%s", printed(t, r))
	}
}

// A compressor through which the pressure falls is no machine of an unusual efficiency, a turbine
// that gives no work leaves no back work ratio, and what the dead states leave unknown is said.
func TestAuditOfAStirrer(t *testing.T) {
	r := build(t, fence("calc", "fluid air", "fluid CO2", "state 1 = air(p = 100 kPa, T = 288 K)", "state 2 = air(p = 90 kPa, T = 300 K)",
		"state 3 = air(p = 85 kPa, T = 700 K)", "state 4 = air(p = 80 kPa, T = 710 K)", "state 0 = CO2(p = 100 kPa, T = 288 K)")+
		fence("cycle odd", "1 -> 2 compressor", "2 -> 3 heater", "3 -> 4 turbine", "dead state 0"))
	text := string(printed(t, r))
	table := r.Audits[0].Table()
	notes := strings.Join(table.Notes, "\n")
	for _, want := range []string{"it takes work, and the pressure falls from 100 kPa to 90 kPa, which a compressor raises", "The exergy at 1, 2, 3, 4 is not known"} {
		if !strings.Contains(text, want) && !strings.Contains(notes, want) {
			t.Errorf("missing %q in\n%s\n%s", want, text, notes)
		}
	}
	if last := table.Rows[len(table.Rows)-1]; strings.Contains(strings.Join(last.Cells, " "), "NaN") {
		t.Errorf("the plant's row: %q", last.Cells)
	}
	if has(r, "pressure-scale") {
		t.Errorf("printed:\n%s", text)
	}
}

// A sum of the enthalpies of two fluids, given to one of them, is told by the zero that is foreign to it.
func TestForeignZeroIsNamed(t *testing.T) {
	r := build(t, fence("calc", "use gas_turbine", "fluid air", "fluid water", "state 1 = air(p = 100 kPa, T = 300 K)", "state 2 = water(p = 100 kPa, T = 300 K)",
		"state 3, m = mixer(state 1, state 2, 1, 1)"))
	if text := string(printed(t, r)); !has(r, "datum") || strings.Contains(text, "from 0 K, and that of air from 0 K") || !strings.Contains(text, "from triple point of water, and that of air from 0 K") {
		t.Errorf("printed:\n%s", text)
	}
}
