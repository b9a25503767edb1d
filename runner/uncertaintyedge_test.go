package runner

import (
	"bytes"
	"errors"
	"math"
	"strings"
	"testing"

	"workings/runner/study"
)

// A derivative beside a kink or a jump is that of the side it stands on, however near that is, and the
// next order tells that first order is not enough. At a jump there is none. The slopes are those of the
// straight pieces, by hand.
func TestDerivativesBesideKinks(t *testing.T) {
	r, b := sensitivitiesOf(t, "", fence("data pump", "Q/1, H/m", "0, 40", "1, 38", "2, 30")+
		fence("inputs", "q = 1.0005 ± 0.1", "q_at = 1 ± 0.1", "s = 1.00001 ± 0.1", "s_at = 1 ± 0.1", "T = 99.8 °C ± 0.5 K", "p = 101.3 kPa")+
		fence("calc", "beside = pump.H(Q = q)", "at = pump.H(Q = q_at)", "switch = s < 1 ? 1 : 5 + s", "jump = s_at < 1 ? 1 : 5", "fluid water", "state 1 = water(p, T)")+
		fence("answers", "beside", "at", "switch", "jump", "h1"))
	for answer, want := range map[string]struct {
		input string
		slope float64
	}{"beside": {"q", -8}, "switch": {"s", 1}} {
		f := influence(t, b[answer], want.input)
		if math.Abs(f.Derivative-want.slope) > f.Error || f.Error > 1e-6 || f.Corner || f.Jump || !f.Near {
			t.Errorf("%s: %+v, want %g", answer, f.Slope, want.slope)
		}
	}
	if f := influence(t, b["at"], "q_at"); !f.Corner || math.Abs(f.Derivative+5) > 1e-9 || math.Abs(f.Error-3) > 1e-6 {
		t.Errorf("at a row of the table: %+v", f.Slope)
	}
	if f := influence(t, b["jump"], "s_at"); !f.Jump || !math.IsNaN(f.Derivative) || !math.IsNaN(b["jump"].First) {
		t.Errorf("at a jump: %+v, u = %g", f.Slope, b["jump"].First)
	}
	// Water at 99.8 °C and 1 atm, 0.17 K below saturation: cp is 4.216 kJ/(kg·K) (steam tables; from memory).
	if f := influence(t, b["h1"], "T"); math.Abs(f.Derivative-4216) > 2 || f.Error > 1e-3*f.Derivative {
		t.Errorf("dh/dT of water near saturation %+v", f.Slope)
	}
	out := string(printed(t, r))
	for _, name := range []string{"beside", "at", "switch", "jump", "h1"} {
		if !strings.Contains(out, "uncertainty of "+name) && !strings.Contains(out, name+" has no combined") && !strings.Contains(out, "of "+name+" by first order") {
			t.Errorf("no caution of %s:\n%s", name, out)
		}
	}
}

// At an extreme there is no slope, not what rounding makes of one; the input is named all the same. Var of
// z² is 2u⁴ (moments of the normal distribution).
func TestUncertaintyAtAnExtreme(t *testing.T) {
	const n = 200_000
	text := fence("inputs", "a = 0 ± 0.1", "b = 2 ± 0.2", "c = 0.001 K ± 1 K", "T = 300 K ± 1 K", "other = 1 ± 0.1") +
		fence("calc", "square = 1 - a^2", "fourth = (b - 2)^4", "warm = T + c", "none = 3") + fence("answers", "square", "fourth", "warm", "none")
	_, b := sensitivitiesOf(t, "monte carlo 200000", text)
	for answer, input := range map[string]string{"square": "a", "fourth": "b"} {
		if f := influence(t, b[answer], input); f.Derivative != 0 || !f.Flat || f.Corner || b[answer].First != 0 {
			t.Errorf("%s: %+v, u = %g", answer, f.Slope, b[answer].First)
		}
	}
	if u, want := b["square"].Sample.U, math.Sqrt2*0.01; math.Abs(u-want) > 4*want*math.Sqrt(14.0/4/n) {
		t.Errorf("u of a square %g, want %g", u, want)
	}
	near(t, "of a difference that is nearly zero", influence(t, b["warm"], "c").Derivative, 1, 1e-9)
	// Nothing is said of methods where there is no uncertainty.
	if g := b["none"].Methods(&study.Sensitivities{Method: study.Method{Order: 1, Samples: n}}, 0); len(g.Rows) > 0 || len(b["none"].Rows) > 0 {
		t.Errorf("of what nothing moves: %v %v", g.Rows, b["none"].Rows)
	}
}

// Errors that go together cancel to nothing: neither rounding nor a method makes an uncertainty of it. Three
// inputs of which each two have r = −1/2 have a sum of 1/u_i that does not err at all.
func TestContributionsCancel(t *testing.T) {
	inputs := fence("inputs", "a = 10 m ± 0.2 m", "b = 7 m ± 0.3 m", "c = 5 m ± 0.3 m", "T1 = 300 K ± 0.7 K", "T2 = 400 K ± 0.7 K",
		"correlation(a, b) = -0.5", "correlation(a, c) = -0.5", "correlation(b, c) = -0.5", "correlation(T1, T2) = 1") +
		fence("calc", "e = 3*a + 2*b + 2*c", "dT = T2 - T1") + fence("answers", "e", "dT")
	for _, method := range []string{"first order", "second order", "monte carlo 2000"} {
		_, budgets := sensitivitiesOf(t, method, inputs)
		for name, b := range budgets {
			if u, any := b.Combined(study.Method{Order: 2, Samples: 2000}); any || b.First != 0 || !b.Cancels() {
				t.Errorf("%s: u(%s) = %g, first order %g", method, name, u, b.First)
			}
			if len(b.Remarks(&study.Sensitivities{})) != 1 {
				t.Errorf("%s: nothing is said of it", name)
			}
		}
	}
}

// Correlations of a sheet are held against those of the sheets it uses; one of an input that is given
// another value has no effect.
func TestCorrelationsAcrossSheets(t *testing.T) {
	used := fence("inputs", "x = 10 ± 1", "y = 5 ± 1", "correlation(x, y) = 0.9") + fence("calc", "s = x + y") + fence("answers", "s")
	for _, c := range []struct{ correlations, code string }{
		{"correlation(one.x, k) = 0.7\ncorrelation(one.y, k) = -0.7", "correlation"},
		{"correlation(one.x, k) = 0.7\ncorrelation(one.y, k) = 0.7", ""},
		{"correlation(one.y, one.x) = -0.5", "defined-twice"},
	} {
		r := build(t, fence("inputs", "k = 2 ± 1", c.correlations)+fence("calc", `use "a.md" as one`, "q = one.s + k")+fence("answers", "q"), "a.md", used)
		if c.code == "" && len(r.Problems()) > 0 || c.code != "" && !has(r, c.code) {
			t.Errorf("%s:\n%s", c.correlations, printed(t, r))
		}
	}
	r := build(t, fence("inputs", "x = 2 ± 1")+fence("calc", `use "a.md" as one with x = x`, "q = one.s")+fence("answers", "q"), "a.md", used)
	if n := len(r.Sensitivities.Correlations); n != 0 {
		t.Errorf("%d correlations are said to hold of an input that is given", n)
	}
	near(t, "u", r.Sensitivities.Answers[0].First, math.Sqrt2, 1e-9)
}

// Where no sample has a value there is no uncertainty, rather than that of another method; what is said stands at
// an answer that it concerns.
func TestNoSampleHasAValue(t *testing.T) {
	r, b := sensitivitiesOf(t, "monte carlo 1000", fence("inputs", "a = 1 ± 0.1", "b = 1 m ± 0.1 m")+
		fence("calc", "ok = 2*b", "y = a == 1 ? b : sqrt(-1*b/b)*b")+fence("answers", "ok", "y"))
	method := r.Sensitivities.Method
	if u, any := b["ok"].Combined(method); !any || math.Abs(u-0.2) > 0.03 {
		t.Errorf("u(ok) = %g", u)
	}
	if u, any := b["y"].Combined(method); any {
		t.Errorf("u(y) = %g", u)
	}
	if said := strings.Join(b["y"].Remarks(r.Sensitivities), " "); !strings.Contains(said, "no sample has a value") {
		t.Errorf("said: %s", said)
	}
	if p := r.Problems(); len(p) != 1 || p[0].Subject != "y" || !strings.Contains(p[0].Message, "at no sample") {
		t.Errorf("%s", printed(t, r))
	}
	var page, trace bytes.Buffer
	if err := errors.Join(r.HTML(&page), r.JSON(&trace)); err != nil || strings.Contains(trace.String(), "NaN") {
		t.Error(err)
	}
}

// The efficiency of the cold-air standard cycle is 1 − r^(−(k−1)/k): no temperature moves it, and what rounding
// leaves of their differences is neither a jump nor a corner (constant-cp cycle; common practice, no source).
func TestRoundingIsNoSlope(t *testing.T) {
	r, b := sensitivitiesOf(t, "", fence("inputs", "T1 = 300 K ± 1 K", "T3 = 1300 K ± 10 K", "k = 1.4 ± 0.01", "cp = 1.005 kJ/(kg·K) ± 1 %rel", "r = 8 ± 0.1", "p1 = 100 kPa")+
		fence("calc", "fluid ca = perfect(k = k, cp = cp)", "state 1 = ca(p1, T1)", "p2 = r*p1", "state 2 = ca(p2, s1)", "state 3 = ca(p = p2, T = T3)", "state 4 = ca(p = p1, s = s3)")+
		fence("cycle plant", "1 -> 2 compressor", "2 -> 3 heater", "3 -> 4 turbine", "4 -> 1 cooler")+fence("answers", "plant.eta"))
	eta := b["plant.eta"]
	if len(eta.Rows) != 2 {
		t.Errorf("plant.eta follows %d inputs: %+v", len(eta.Rows), eta.Rows)
	}
	a := 0.4 / 1.4
	near(t, "dη/dr", influence(t, eta, "r").Derivative, a*math.Pow(8, -a-1), 1e-9)
	near(t, "dη/dk", influence(t, eta, "k").Derivative, math.Log(8)*math.Pow(8, -a)/(1.4*1.4), 1e-9)
	for _, p := range r.Problems() {
		if strings.Contains(p.Message, "jumps") {
			t.Errorf("%s", printed(t, r))
		}
	}
	// Nor is a difference of two ways to one value, which is nothing but rounding.
	r, b = sensitivitiesOf(t, "", fence("inputs", "T1 = 310 K ± 1 K", "p1 = 100 kPa ± 1 kPa", "r = 8.3 ± 0.1")+
		fence("calc", "fluid air", "state 1 = air(p1, T1)", "p2 = r*p1", "state 2 = air(p2, s1)", "state 3 = air(p = p1, s = s2)", "rest = T3 - T1", "none = h3 - h1")+fence("answers", "rest", "none"))
	for name, budget := range b {
		for _, f := range budget.Rows {
			if f.Jump || math.Abs(f.Part) > 1e-6 {
				t.Errorf("%s: %+v", name, f)
			}
		}
	}
	if has(r, "first-order") {
		t.Errorf("%s", printed(t, r))
	}
}

// The best pressure between two stages with cooling to the inlet temperature is √(p1·p2) of a perfect gas, whatever
// the temperature; how well a solve finds an extreme is neither a jump nor a slope.
func TestUncertaintyOfAnExtremeThatIsFound(t *testing.T) {
	_, b := sensitivitiesOf(t, "", fence("inputs", "T1 = 300 K ± 1 K", "p1 = 100 kPa ± 1 kPa", "r = 9 ± 0.1", "k = 1.4 ± 0.01")+
		fence("calc", "fluid ca = perfect(k = k, cp = 1.005 kJ/(kg·K))", "pe = r*p1", "solve p2 between 1.1*p1 and 0.9*pe", "  state 1 = ca(p1, T1)", "  state 2 = ca(p2, s1)",
			"  state 3 = ca(p = p2, T = T1)", "  state 4 = ca(p = pe, s = s3)", "  w = h2 - h1 + h4 - h3", "until w is smallest", "rr = p2/p1")+fence("answers", "p2", "rr"))
	near(t, "u of √(p1·p2)", b["p2"].First, math.Hypot(3*1000, 300e3*0.5*0.1/9), 1e-6)
	near(t, "u of √r", b["rr"].First, 0.1/(2*3), 1e-6)
	for _, budget := range b {
		for _, f := range budget.Rows {
			if f.Jump || f.Corner || f.Input.Symbol.Name == "T1" && math.Abs(f.Part) > 1e-6*budget.First {
				t.Errorf("%s: %+v", budget.Of.Symbol.Name, f)
			}
		}
	}
}
