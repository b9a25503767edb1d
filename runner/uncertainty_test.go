package runner

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"runtime"
	"strings"
	"testing"
	"testing/fstest"

	"workings/runner/study"
)

// sensitivitiesOf evaluates a notebook by a method, with every input looked at.
func sensitivitiesOf(t *testing.T, method, text string) (*Result, map[string]*study.Budget) {
	t.Helper()
	o := options()
	o.Uncertainty, o.Sensitivity = method, true
	r, err := Build(fstest.MapFS{"notebook.md": {Data: []byte(text)}}, "notebook.md", o)
	if err != nil {
		t.Fatal(err)
	}
	if r.Sensitivities == nil {
		t.Fatalf("no sensitivities:\n%s", printed(t, r))
	}
	out := map[string]*study.Budget{}
	for _, b := range r.Sensitivities.Answers {
		out[b.Of.Symbol.Full()] = b
	}
	return r, out
}

func influence(t *testing.T, b *study.Budget, input string) study.Influence {
	t.Helper()
	for _, f := range b.Rows {
		if f.Input.Symbol.Full() == input {
			return f
		}
	}
	t.Fatalf("%s does not depend on %s", b.Of.Symbol.Full(), input)
	return study.Influence{}
}

// The efficiency of the ideal constant-cp cycle, 1 - r^(-a), has the derivative a*r^(-a-1) with
// respect to its pressure ratio and r^(-a)*ln r with respect to the exponent (differentiated by hand).
func TestDerivatives(t *testing.T) {
	r, budgets := sensitivitiesOf(t, "", fence("inputs", "r = 12", "a = 0.2857", "b = 300 K", "o = 0", "eps = 1", "never = 2")+
		fence("calc", "y = 1 - r^(-a) + 2*o", "side = sqrt(1 - eps)*0 + (1 - eps)^1.5 + 3*eps", "z = max(b, 300 K)", "w = abs(r - 12)")+fence("answers", "y", "side", "z", "w"))
	y := budgets["y"]
	if len(y.Rows) != 3 || y.First != 0 {
		t.Errorf("y depends on %d inputs, u = %g", len(y.Rows), y.First)
	}
	for name, want := range map[string]float64{"r": 0.2857 * math.Pow(12, -1.2857), "a": math.Pow(12, -0.2857) * math.Log(12), "o": 2} {
		f := influence(t, y, name)
		if off := math.Abs(f.Derivative - want); off > 1e-11*want || off > f.Error || f.Error > 1e-9*want {
			t.Errorf("dy/d%s = %.14g ± %.2g, want %.14g", name, f.Derivative, f.Error, want)
		}
		x := value(t, r, name)
		if rel := want * x / y.Value; x != 0 && math.Abs(f.Relative-rel) > 1e-9 || x == 0 && !math.IsNaN(f.Relative) {
			t.Errorf("relative of %s %g, want %g", name, f.Relative, rel)
		}
		if math.Abs(f.Percent-want*x/100) > 1e-12 {
			t.Errorf("one per cent of %s changes %g, want %g", name, f.Percent, want*x/100)
		}
	}
	if f := influence(t, budgets["side"], "eps"); !f.OneSided || math.Abs(f.Derivative-3) > f.Error || f.Error > 0.1 {
		t.Errorf("from one side %+v", f.Slope)
	}
	// A corner has no derivative: the mean of both sides is given with half of what lies between them.
	if f := influence(t, budgets["z"], "b"); !f.Corner || math.Abs(f.Derivative-0.5) > 1e-9 || math.Abs(f.Error-0.5) > 1e-6 {
		t.Errorf("at a corner %+v", f.Slope)
	}
	if f := influence(t, budgets["w"], "r"); !f.Corner || math.Abs(f.Derivative) > 1e-9 || math.Abs(f.Error-1) > 1e-6 {
		t.Errorf("at a corner %+v", f.Slope)
	}
}

// The pressure of an ideal gas in a vessel, p = m R T/V: every relative sensitivity is 1 or −1, and an
// enthalpy, which counts from a zero of its own, has none.
func TestRelativeSensitivities(t *testing.T) {
	_, budgets := sensitivitiesOf(t, "", fence("inputs", "m = 2 kg ± 1 %rel", "T = 20 °C ± 2 K", "V = 1 m³", "p_a = 2 bar")+
		fence("calc", "fluid air", "p = m*R_air*T/V in bar", "state 1 = air(p = p_a, T = T)", "h = h1")+fence("answers", "p", "h"))
	for name, want := range map[string]float64{"m": 1, "T": 1, "V": -1} {
		if f := influence(t, budgets["p"], name); math.Abs(f.Relative-want) > 1e-9 {
			t.Errorf("relative of %s %g, want %g", name, f.Relative, want)
		}
	}
	if f := influence(t, budgets["h"], "T"); !math.IsNaN(f.Relative) || math.Abs(f.Derivative-1005) > 5 {
		t.Errorf("of an enthalpy %+v", f)
	}
}

// u² = Σ_ij r_ij c_i c_j u_i u_j (JCGM 100:2008, eq. 13; from memory), by hand: a sum of two whose
// errors are one error has the sum of the uncertainties, their difference none of it.
func TestCorrelated(t *testing.T) {
	text := func(r string) string {
		return fence("inputs", "a = 10 m ± 3 m", "b = 20 m ± 4 m", "c = 1 m ± 12 m", "correlation(a, b) = "+r) +
			fence("calc", "plus = a + b", "minus = a - b", "all = a + b + c", "none = 4*a - 3*b", "square = (a + b)^2") + fence("answers", "plus", "minus", "all", "none", "square")
	}
	for _, c := range []struct {
		r                string
		plus, minus, all float64
	}{
		{"0", 5, 5, 13},
		{"1", 7, 1, math.Hypot(7, 12)},
		{"-1", 1, 7, math.Hypot(1, 12)},
		{"0.5", math.Sqrt(37), math.Sqrt(13), math.Sqrt(37 + 144)},
	} {
		_, budgets := sensitivitiesOf(t, "second order", text(c.r))
		for name, want := range map[string]float64{"plus": c.plus, "minus": c.minus, "all": c.all} {
			near(t, "r = "+c.r+": u("+name+")", budgets[name].First, want, 1e-9)
			near(t, "r = "+c.r+": second order u("+name+")", budgets[name].Second.U, want, 1e-9)
			sum := 0.0
			for _, f := range budgets[name].Rows {
				sum += f.Share
			}
			near(t, "shares", sum, 1, 1e-9)
		}
		if u := budgets["none"].First; c.r == "1" && u > 1e-6 {
			t.Errorf("4a - 3b has u = %g", u)
		}
		// x² of a normal x has the variance 4 µ² u² + 2 u⁴ and the mean µ² + u² (moments of the normal
		// distribution).
		near(t, "second order of a square", budgets["square"].Second.U, math.Sqrt(4*900*c.plus*c.plus+2*math.Pow(c.plus, 4)), 1e-9)
		near(t, "shift of a square", budgets["square"].Second.Shift, c.plus*c.plus, 1e-9)
	}
}

// Second-order terms of polynomials of normal inputs, in closed form: x³ has Var = 9µ⁴u² + 36µ²u⁴ + …,
// x·y has Var = x²u_y² + y²u_x² + u_x²u_y² and x·y·z by the pairs.
func TestSecondOrder(t *testing.T) {
	_, b := sensitivitiesOf(t, "second order", fence("inputs", "x = 2 ± 0.1", "y = 3 ± 0.2", "z = 0 ± 0.5")+
		fence("calc", "cube = x^3", "product = x*y", "zero = y*z + x*z", "square = z^2")+fence("answers", "cube", "product", "zero", "square"))
	near(t, "x³", b["cube"].Second.U, math.Sqrt(9*16*0.01+36*4*1e-4), 1e-9)
	near(t, "x³: mean", b["cube"].Second.Shift, 3*2*0.01, 1e-9)
	near(t, "xy", b["product"].Second.U, math.Sqrt(4*0.04+9*0.01+0.04*0.01), 1e-9)
	near(t, "(x + y)z", b["zero"].Second.U, math.Sqrt(25*0.25+0.25*(0.04+0.01)), 1e-9)
	near(t, "z²", b["square"].Second.U, math.Sqrt2*0.25, 1e-9)
	if b["square"].First > 1e-12 {
		t.Errorf("z² has a first order of %g", b["square"].First)
	}
}

// A Monte Carlo of exact distributions: a sum of normals is normal, e^x of a normal is log-normal, and
// what it says of them lies within four standard errors of the truth.
func TestMonteCarlo(t *testing.T) {
	const n = 200_000
	_, b := sensitivitiesOf(t, "monte carlo 200000 seed 5", fence("inputs", "a = 10 ± 3", "b = 20 ± 4", "x = 0.5 ± 0.4", "correlation(a, b) = 0.5")+
		fence("calc", "both = a + b", "y = exp(x)")+fence("answers", "both", "y"))
	u := math.Sqrt(37)
	sum, e := b["both"].Sample, b["y"].Sample
	within := func(what string, got, want, standardError float64) {
		t.Helper()
		if math.Abs(got-want) > 4*standardError {
			t.Errorf("%s = %.6g, want %.6g ± %.2g", what, got, want, standardError)
		}
	}
	within("mean", sum.Mean, 30, u/math.Sqrt(n))
	within("u", sum.U, u, u/math.Sqrt(2*n))
	// The standard error of a quantile is √(p(1−p)/n)/density there.
	end := math.Sqrt(0.025*0.975/n) / (math.Exp(-1.959964*1.959964/2) / math.Sqrt(2*math.Pi))
	within("lower end", sum.Lo, 30-1.959964*u, end*u)
	within("upper end", sum.Hi, 30+1.959964*u, end*u)
	within("length of the shortest", sum.ShortHi-sum.ShortLo, 2*1.959964*u, 2*end*u)
	mean := math.Exp(0.5 + 0.08)
	within("log-normal mean", e.Mean, mean, mean*math.Sqrt((math.Exp(0.16)-1)/n))
	within("log-normal u", e.U, mean*math.Sqrt(math.Exp(0.16)-1), 0.02*e.U/4)
	within("log-normal lower end", e.Lo, math.Exp(0.5-1.959964*0.4), end*0.4*e.Lo)
	within("log-normal upper end", e.Hi, math.Exp(0.5+1.959964*0.4), end*0.4*e.Hi)
	// The shortest interval has ends of equal density: of a log-normal it lies lower than the one with
	// equal tails.
	if !(e.ShortLo < e.Lo && e.ShortHi < e.Hi && e.ShortHi-e.ShortLo < e.Hi-e.Lo) {
		t.Errorf("shortest %g .. %g, equal tails %g .. %g", e.ShortLo, e.ShortHi, e.Lo, e.Hi)
	}
}

// What comes out does not depend on how many goroutines share the work, and a seed gives other samples.
func TestMonteCarloIsReproducible(t *testing.T) {
	text := plantWithUncertainties()
	trace := func(cores int, method string) []byte {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
		r, _ := sensitivitiesOf(t, method, text)
		var b bytes.Buffer
		if err := r.JSON(&b); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	one := trace(1, "monte carlo 20000 seed 1")
	for _, cores := range []int{2, 3} {
		if !bytes.Equal(one, trace(cores, "monte carlo 20000 seed 1")) {
			t.Errorf("%d goroutines give another trace", cores)
		}
	}
	if bytes.Equal(one, trace(2, "monte carlo 20000 seed 2")) {
		t.Error("another seed gives the same samples")
	}
}

// plantWithUncertainties is a regenerated gas turbine whose inputs are uncertain. All values are
// invented.
func plantWithUncertainties() string {
	return fence("inputs", "T1 = 300 K ± 0.3 K", "p1 = 100 kPa ± 0.1 kPa", "r_p = 8 ± 0.02", "T3 = 1300 K ± 2 K", "eta_c = 85 % ± 0.15 %pt", "eta_t = 0.88 ± 0.0015", "eps = 75 % ± 0.3 %pt") +
		fence("calc", "use gas_turbine", "fluid air", "state 1 = air(p1, T1)", "p2 = r_p*p1", "state 2, w_c = compressor(state 1, p2, eta_c)",
			"state 3 = air(p = p2, T3)", "state 4, w_t = turbine(state 3, p1, eta_t)", "h_x = h2 + eps*(h4 - h2)", "w_net = w_t - w_c", "eta_th = w_net/(h3 - h_x) in %") +
		fence("answers", "eta_th", "w_net in kJ/kg")
}

// The cautions of a Monte Carlo and of first order do not stand together, and one that is accepted is a
// note.
func TestFirstOrderCaution(t *testing.T) {
	text := fence("inputs", "x = 0.5 m ± 0.2 m") + fence("calc", "a = x^3") + fence("answers", "a")
	if r := build(t, text); !has(r, "first-order") {
		t.Errorf("no caution:\n%s", printed(t, r))
	}
	for _, method := range []string{"second order", "monte carlo 10000"} {
		if r, _ := sensitivitiesOf(t, method, text); has(r, "first-order") {
			t.Errorf("%s: a caution of first order", method)
		}
	}
	r := build(t, text+fence("calc", "accept first-order on a // seen"))
	if out := string(printed(t, r)); !strings.Contains(out, "note") || strings.Contains(out, ": caution:") {
		t.Errorf("accepted:\n%s", out)
	}
}

// Two sheets that state the same reading state two inputs, unless a correlation of 1 says that they are one;
// an input that is handed on is one input. Correlations of a used sheet hold in it.
func TestUncertaintyOfUsedSheets(t *testing.T) {
	used := fence("inputs", "x = 10 ± 1", "y = 5 ± 1", "correlation(x, y) = -1") + fence("calc", "s = x + y", "z = 2*x") + fence("answers", "z")
	for _, c := range []struct {
		calc, correlation string
		diff, both        float64
	}{
		{"use \"a.md\" as one\nuse \"a.md\" as two", "", math.Sqrt(8), 0},
		{"use \"a.md\" as one\nuse \"a.md\" as two", "correlation(one.x, two.x) = 1\ncorrelation(one.y, two.y) = 1\ncorrelation(one.x, two.y) = -1\ncorrelation(one.y, two.x) = -1", 0, 0},
		{"use \"a.md\" as one with x = x\nuse \"a.md\" as two with x = x", "", 0, 1},
	} {
		r := build(t, fence("inputs", "x = 10 ± 0.5", c.correlation)+fence("calc", c.calc, "diff = one.z - two.z", "both = one.s", "own = x")+fence("answers", "diff", "both", "own"), "a.md", used)
		if r.Sensitivities == nil {
			t.Fatalf("%s", printed(t, r))
		}
		for _, b := range r.Sensitivities.Answers {
			want := map[string]float64{"diff": c.diff, "both": c.both, "own": 0.5}[b.Of.Symbol.Name]
			if c.both > 0 && b.Of.Symbol.Name == "both" {
				want = math.Hypot(0.5, 1)
			}
			if math.Abs(b.First-want) > 1e-6 {
				t.Errorf("%s, %s: u(%s) = %g, want %g", c.calc, c.correlation, b.Of.Symbol.Name, b.First, want)
			}
		}
	}
}

// Another program combines the uncertainties from the trace alone: u² = Σ_i part_i² + 2 Σ_(i<j) r_ij
// part_i part_j, and share_i by what input i brings.
func TestUncertaintyFromTheTrace(t *testing.T) {
	text := strings.Replace(plantWithUncertainties(), "eps = 75 %", "correlation(eta_c, eta_t) = 0.7\ncorrelation(T1, T3) = -0.4\neps = 75 %", 1)
	r, _ := sensitivitiesOf(t, "", text)
	var b bytes.Buffer
	if err := r.JSON(&b); err != nil {
		t.Fatal(err)
	}
	validate(t, compileSchema(t), b.Bytes())
	var trace struct {
		Answers []struct {
			Symbol      string
			Uncertainty struct{ SI float64 }
		}
		Sensitivities struct {
			Correlations []struct {
				Inputs []string
				R      float64
			}
			Answers []struct {
				Symbol     string
				FirstOrder float64 `json:"first_order"`
				Inputs     []struct {
					Input                                        string
					Derivative, Uncertainty, Contribution, Share float64
				}
			}
		}
	}
	if err := json.Unmarshal(b.Bytes(), &trace); err != nil {
		t.Fatal(err)
	}
	if s := trace.Sensitivities; len(s.Correlations) != 2 || len(s.Answers) != 2 || len(trace.Answers) != 2 {
		t.Fatalf("%+v", trace)
	}
	for k, a := range trace.Sensitivities.Answers {
		with := map[string]map[string]float64{}
		for _, f := range a.Inputs {
			with[f.Input] = map[string]float64{f.Input: 1}
		}
		for _, c := range trace.Sensitivities.Correlations {
			with[c.Inputs[0]][c.Inputs[1]], with[c.Inputs[1]][c.Inputs[0]] = c.R, c.R
		}
		sum := 0.0
		for _, f := range a.Inputs {
			near(t, "part of "+f.Input, f.Derivative*f.Uncertainty, f.Contribution, 1e-15)
			own := 0.0
			for _, g := range a.Inputs {
				own += with[f.Input][g.Input] * f.Contribution * g.Contribution
			}
			near(t, "share of "+f.Input, own/(a.FirstOrder*a.FirstOrder), f.Share, 1e-12)
			sum += own
		}
		near(t, "u("+a.Symbol+")", math.Sqrt(sum), a.FirstOrder, 1e-12)
		near(t, "u of the answer "+a.Symbol, trace.Answers[k].Uncertainty.SI, a.FirstOrder, 1e-15)
	}
}

// Beyond 24 uncertain inputs the pairs are left out, which is said.
func TestSecondOrderOfMany(t *testing.T) {
	inputs, product := []string{}, "1"
	for i := range 25 {
		inputs = append(inputs, fmt.Sprintf("x_%d = 1 ± 0.01", i))
		product += fmt.Sprintf("*x_%d", i)
	}
	_, b := sensitivitiesOf(t, "second order", fence("inputs", inputs...)+fence("calc", "y = "+product)+fence("answers", "y"))
	y := b["y"]
	near(t, "first order", y.First, 0.05, 1e-9)
	if y.Second.Mixed || math.Abs(y.Second.U-0.05) > 1e-9 {
		t.Errorf("second order %+v", y.Second)
	}
	if s := y.Remarks(&study.Sensitivities{Method: study.Method{Order: 2}}); len(s) != 1 || !strings.Contains(s[0], "two inputs together") {
		t.Errorf("said: %q", s)
	}
}
