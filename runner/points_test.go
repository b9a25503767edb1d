package runner

import (
	"math"
	"math/rand/v2"
	"strconv"
	"testing"

	"workings/runner/eval"
	"workings/runner/resolve"
)

// everything is a sheet with every construct that a study runs, in which some points fail.
func everything() string {
	return fence("inputs", "a = 1", "b = 2", "T1 = 300 K", "p1 = 100 kPa", "t_a = 20 °C", "ex = 250 %", "k_g = 1.4", "r_p = 8", "z0 = 3") +
		fence("data pump", "V/(m^3/s), h/m", "0, 40", "0.5, 38", "1, 33", "1.5, 24", "2, 10") +
		fence("data hot", "p/bar, T/K, h/(kJ/kg)", "1, 300, 10", "1, 400, 20", "2, 300, 12", "2, 350, 18", "2, 420, 25") +
		fence("method", "twice(state a, q) -> state b, y", "fluid air",
			"solve T_m between 250 K and 2000 K", "  state m = air(p = p_a, T = T_m)", "until h_m == 1.2*h_a + q*T_m*(1 J/(kg·K))",
			"state b = air(p = 2*p_m, s = s_m)", "y = T_b > 500 K ? T_b/T_a : ln(q) + T_a/T_b") +
		fence("calc", "fluid air", "fluid water", "fluid cold = perfect(k = 1.4, cp = 1.005 kJ/(kg·K))",
			"fluid g = products(fuel = CH4, oxidant = air, excess = ex)", "fluid pg = perfect(k = k_g, cp = 1.005 kJ/(kg·K))",
			"fluid mix = mixture(mole, N2 = 0.5 + 0.1*a, O2 = 0.5 - 0.1*a)",
			"state 1 = air(p1, T1)", "state 2s = air(p = r_p*p1, s = s1)", "h2 = h1 + (h_2s - h1)/0.85", "state 2 = air(p = r_p*p1, h2)",
			"state 3 = g(p = p1, T = T_2 + 300 K)", "state 4 = pg(p = p1, T = 2*T_2)", "state 5 = pg(p = r_p*p1, s = s_4)", "state 6 = mix(p = p1, h = h_2/2 + 1e5 J/kg)", "c_6k = c_6*k_6 + a*cp_2*(1 m/s)/(1 J/(kg·K))",
			"state w1 = water(p = p1, T = T1)", "state w2 = water(p = r_p*1 MPa, s = s_w1)", "state w3 = water(p = 50 kPa, h = 2000 kJ/kg * a)", "dry = x_w3*1",
			"state w4 = water(p = r_p*p1, T = T1 + 250 K * b)", "mu_w4k = mu_w4*a",
			"c1 = a > 1.1 and 1/(a - 1.1) > b or a < 0.5 ? sqrt(a - 0.4) : b^a", "c2 = min(a, b, 1.2) + max(a/(b - 2.2), 0) + exp(-a/(a - b)) + abs(a - b)",
			"i1 = integrate(x^a/(1 + x), x, 0, b)", "i2 = integrate(abs(x - a), x, 0, 2*b)", "i3 = a > 1 ? integrate(sqrt(x), x, a, b) : -1", "e1 = smallest((x - a)^2 + b, x, 0, 1.5)", "e2 = largest(sin(x*a), x, 0, b)",
			"h_p = pump.h(V = a*(1 m³/s))", "h_i = hot.h(p = (1 + a/2)*(1 bar), T = 300 K + 20 K * b)",
			"solve x between 0 and 5", "  y1 = x^3 + a*x", "  y2 = ln(x + b)", "until y1 == b + y2",
			"solve (u, v) from (1, z0)", "  q = u^2 + v^2", "until q == 4 + b", "until v == a*u",
			"solve m between 0.1 and 10", "  solve n between 0 and 20", "    w = n^2 + n/m", "  until w == 4*b", "  o = n + (m - 4)^2*a", "until o is smallest",
			"solve T_x between 300 K and 1500 K", "  state x = g(p = p1, T = T_x)", "until h_x == h_3*0.9 + 0*a*h_x",
			"state 7, r7 = twice(state 2, a)", "T_f = flame_temperature(g, T1, 300 K)", "z = t_a + a*(10 K)", "hv = air.h(p = p1, T = T1*a)/(1 kJ/kg)", "bad = 1/(a - b)", "good = bad - bad + a",
			"eta = 1 - T1/T_2 in %")
}

// A study of many points, in which solves end at different times, branches part and points fail,
// gives at each point what a study of that point alone gives, and what a sheet with its inputs set
// gives.
func TestManyPoints(t *testing.T) {
	text := everything()
	own := build(t, text)
	for _, p := range own.Problems() {
		if p.Severity.String() == "error" {
			t.Fatalf("%s", printed(t, own))
		}
	}
	var vary []*resolve.Symbol
	names := []string{"a", "b", "T1", "r_p", "ex", "k_g", "z0"}
	for _, n := range names {
		vary = append(vary, own.Trace.Sheet.Symbol("", n))
	}
	var keep []*resolve.Symbol
	for _, s := range symbolsOf(own.Trace.Entries, nil) {
		if _, ok := own.Trace.Value(s); ok { // all but the dryness of water that is not wet
			keep = append(keep, s)
		}
	}
	rng := rand.New(rand.NewPCG(7, 8))
	const n = 600
	points := make([][]float64, len(vary))
	for i := range points {
		points[i] = make([]float64, n)
		for k := range points[i] {
			x := rng.Float64()
			points[i][k] = []float64{0.3 + 1.6*x, 1 + 2*x, 280 + 150*x, 2 + 20*x, 0.5 + 3*x, 1.2 + 0.4*x, 1 + 4*x}[i]
		}
	}
	points[0][5], points[1][5] = 2, 2 // bad
	got, o := runBatch(t, own, eval.Plan{Vary: vary, Keep: keep}, points)
	if o.Failed < 5 || o.Failed > n-100 || len(o.Reasons) < 3 {
		t.Errorf("%d points failed for %d reasons", o.Failed, len(o.Reasons))
		for _, r := range o.Reasons {
			t.Log(len(r.Points), r.Line.File.Line(r.Line.Stmt.Span().Start), r.Code, r.Message)
		}
	}
	for k := range n {
		if k%3 != 0 {
			continue
		}
		one := make([][]float64, len(vary))
		for i := range one {
			one[i] = points[i][k : k+1]
		}
		alone, _ := runBatch(t, own, eval.Plan{Vary: vary, Keep: keep}, one)
		for s := range keep {
			if !sameBits(alone[s][0], got[s][k]) {
				t.Fatalf("point %d: %s = %v among others, %v alone", k, keep[s].Full(), got[s][k], alone[s][0])
			}
		}
		if k%20 != 0 {
			continue
		}
		op := options()
		for i, name := range names {
			set := name + "=" + strconv.FormatFloat(points[i][k], 'g', -1, 64)
			if name == "T1" {
				set += " K"
			}
			op.Set = append(op.Set, set)
		}
		r, err := Build(mapFile(text), "notebook.md", op)
		if err != nil {
			t.Fatal(err)
		}
		column := make([][]float64, len(keep))
		for s := range keep {
			column[s] = got[s][k : k+1]
		}
		compareBits(t, own, "against the sheet, point "+strconv.Itoa(k), keep, column, []map[string]float64{valuesOf(r)})
	}
	// What is kept alone comes to the same as among all.
	for s, sym := range keep {
		if s%7 != 0 {
			continue
		}
		few, _ := runBatch(t, own, eval.Plan{Vary: vary, Keep: []*resolve.Symbol{sym}}, points)
		for k := range n {
			if !sameBits(few[0][k], got[s][k]) {
				t.Fatalf("point %d: %s = %v alone, %v among others", k, sym.Full(), few[0][k], got[s][k])
			}
		}
	}
}

// Points that fail say why, by line, without disturbing others; what has no value anywhere says so.
func TestFailedPoints(t *testing.T) {
	r := build(t, fence("inputs", "a = 1", "T1 = 300 K within 200 K .. 400 K", "c = 0")+fence("calc", "fluid air", "state 1 = air(p = 1 bar, T = T1)", "d = 1/(a - 3)", "e = d + h1/(1 J/kg)", "f = 1/c", "g = f + a"))
	sheet := r.Trace.Sheet
	vary := []*resolve.Symbol{sheet.Symbol("", "a"), sheet.Symbol("", "T1")}
	keep := []*resolve.Symbol{sheet.Symbol("", "e"), sheet.Symbol("", "d"), sheet.Symbol("", "a")}
	got, o := runBatch(t, r, eval.Plan{Vary: vary, Keep: keep}, [][]float64{{1, 3, 2, 3, 5}, {300, 300, 100, 90, 500}})
	if o.Failed != 3 || len(o.Reasons) != 2 || !math.IsNaN(got[0][1]) || !math.IsNaN(got[0][2]) || got[1][2] != -1 || got[2][3] != 3 || math.IsNaN(got[0][4]) {
		t.Fatalf("%+v\n%v", o, got)
	}
	division, cold := o.Reasons[0], o.Reasons[1]
	if division.Code != "division-by-zero" || len(division.Points) != 2 || division.Points[1] != 3 || cold.Code != "out-of-range" || cold.Points[0] != 2 || cold.Line.Kind != resolve.StateLine {
		t.Errorf("%+v", o.Reasons)
	}
	got, o = runBatch(t, r, eval.Plan{Vary: vary, Keep: []*resolve.Symbol{sheet.Symbol("", "f"), sheet.Symbol("", "g"), sheet.Symbol("", "d")}}, [][]float64{{1, 2}, {300, 300}})
	if o.Failed != 2 || len(o.Reasons) != 1 || o.Reasons[0].Code != "division-by-zero" || !math.IsNaN(got[1][0]) || got[2][0] != -0.5 {
		t.Errorf("%+v %v", o, got)
	}
	if _, err := r.Trace.Batch(eval.Plan{Vary: keep[:1]}); err == nil {
		t.Error("a symbol that is no input was varied")
	}
}

// A fluid that takes the place of another is read by all that read it.
func TestReplacedFluid(t *testing.T) {
	calc := func(first string) string {
		return fence("inputs", "T1 = 300 K", "r_p = 8") + fence("calc", first, "fluid cold = perfect(k = 1.4, cp = 1.005 kJ/(kg·K))", "state 1 = air(p = 1 bar, T = T1)", "state 2 = air(p = r_p*1 bar, s = s1)", "w = h_2 - h1", "R2 = 2*R_air", "T_c = 2*T_2")
	}
	r := build(t, calc("fluid air"))
	want := build(t, calc("fluid air = perfect(k = 1.4, cp = 1.005 kJ/(kg·K))"))
	sheet := r.Trace.Sheet
	var air, cold *resolve.Fluid
	for _, f := range sheet.Fluids {
		if f.Name == "air" {
			air = f
		} else {
			cold = f
		}
	}
	keep := []*resolve.Symbol{sheet.Symbol("", "w"), sheet.Symbol("", "R2"), sheet.Symbol("", "T_c")}
	for _, vary := range [][]*resolve.Symbol{nil, {sheet.Symbol("", "r_p")}} {
		points := [][]float64{{8, 8}}[:len(vary)]
		got, o := runBatch(t, r, eval.Plan{Vary: vary, Keep: keep, Replace: map[*resolve.Fluid]*resolve.Fluid{air: cold}}, points)
		for i, s := range keep {
			if v := value(t, want, s.Name); !sameBits(got[i][0], v) || o.Failed > 0 {
				t.Errorf("%s = %v, want %v", s.Name, got[i][0], v)
			}
		}
	}
	// At a point that fails, too.
	got, o := runBatch(t, r, eval.Plan{Vary: []*resolve.Symbol{sheet.Symbol("", "r_p")}, Keep: keep, Replace: map[*resolve.Fluid]*resolve.Fluid{air: cold}}, [][]float64{{-1, 8}})
	if o.Failed != 1 || !sameBits(got[1][0], value(t, want, "R2")) || !sameBits(got[0][1], value(t, want, "w")) {
		t.Errorf("%v %+v", got, o)
	}
	if _, err := r.Trace.Batch(eval.Plan{Vary: []*resolve.Symbol{sheet.Symbol("", "T1")}, Keep: keep, Replace: map[*resolve.Fluid]*resolve.Fluid{air: air}}); err == nil {
		t.Log("a fluid in its own place")
	}
}

// Sheets with every kind of fault can be studied too: at its own point a study gives what the sheet
// gives, and what has failed there fails.
func TestStudyOfFaultySheets(t *testing.T) {
	studied := 0
	for name, text := range corpus(t) {
		r := build(t, text)
		var vary []*resolve.Symbol
		var points [][]float64
		for _, s := range r.Trace.Sheet.Symbols {
			if v, ok := r.Trace.Value(s); ok && s.Line.Kind == resolve.Input && !v.Bool {
				vary, points = append(vary, s), append(points, []float64{v.SI, v.SI, v.SI})
			}
		}
		keep := symbolsOf(r.Trace.Entries, nil)
		if len(vary) == 0 || len(keep) == 0 {
			continue
		}
		studied++
		got, _ := runBatch(t, r, eval.Plan{Vary: vary, Keep: keep}, points)
		want := valuesOf(r)
		compareBits(t, r, name, keep, got, []map[string]float64{want, want, want})
	}
	if studied < 40 {
		t.Errorf("only %d sheets were studied", studied)
	}
}
