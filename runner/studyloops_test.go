package runner

import (
	"context"
	"math"
	"testing"

	"workings/propsdb"
	"workings/runner/eval"
)

// chandrupatla is the root finder of a solve as one writes it into a program: a loop about a
// function.
func chandrupatla(f func(float64) float64, lo, hi float64) float64 {
	a, b, t := hi, lo, 0.5
	fa, fb := f(a), f(b)
	for range 200 {
		x := a + t*(b-a)
		fx := f(x)
		c, fc := b, fb
		if (fx > 0) == (fa > 0) {
			c, fc = a, fa
		} else {
			b, fb = a, fa
		}
		a, fa = x, fx
		best := a
		if math.Abs(fb) < math.Abs(fa) {
			best = b
		}
		tl := (2*0x1p-53*math.Abs(best) + 1e-300) / math.Abs(b-c)
		if fa == 0 || tl > 0.5 {
			return best
		}
		t = 0.5
		if xi, phi := (a-b)/(c-b), (fa-fb)/(fc-fb); phi*phi < xi && (1-phi)*(1-phi) < 1-xi {
			t = fa/(fb-fa)*fc/(fb-fc) + (c-a)/(b-a)*fa/(fc-fa)*fb/(fc-fb)
		}
		t = math.Min(1-tl, math.Max(tl, t))
	}
	return a
}

// benchPlan is a study of a notebook, with columns of its points and room for its results.
func benchPlan(b *testing.B, text string, vary map[string][]float64, keep ...string) func() [][]float64 {
	b.Helper()
	r := build(b, text)
	plan := eval.Plan{}
	var points, out [][]float64
	n := 0
	for _, s := range r.Trace.Sheet.Symbols {
		if column := vary[s.Name]; column != nil {
			plan.Vary, points, n = append(plan.Vary, s), append(points, column), len(column)
		}
	}
	for _, name := range keep {
		plan.Keep, out = append(plan.Keep, r.Trace.Sheet.Symbol("", name)), append(out, make([]float64, n))
	}
	batch, err := r.Trace.Batch(plan)
	if err != nil {
		b.Fatal(err)
	}
	return func() [][]float64 {
		if o, err := batch.Run(context.Background(), points, out, nil); err != nil || o.Failed > 0 {
			b.Fatal(err, o.Failed, o.Reasons[0].Message)
		}
		return out
	}
}

// BenchmarkStudyLoops measures a solve in a study against the same root finder in a loop by hand,
// and states of water and steam against calls by hand.
func BenchmarkStudyLoops(b *testing.B) {
	air, err := propsdb.Lookup("air")
	if err != nil {
		b.Fatal(err)
	}
	water, err := propsdb.Lookup("water")
	if err != nil {
		b.Fatal(err)
	}
	const n = 4096
	var x, y []float64
	for i := range n {
		x, y = append(x, 5+20*float64(i%64)/64), append(y, 0.75+0.2*float64(i/64)/64)
	}
	hand := make([]float64, n)
	b.Run("solve", func(b *testing.B) {
		// The pressure ratio of a turbine that gives the work its compressor takes.
		study := benchPlan(b, fence("inputs", "r_p = 8", "eta = 0.85")+
			fence("calc", "fluid air", "state 1 = air(p = 100 kPa, T = 300 K)", "p2 = r_p*100 kPa", "state 2s = air(p = p2, s = s1)", "w_c = (h_2s - h1)/eta", "state 3 = air(p = p2, T = 1400 K)",
				"solve p4 between 10 kPa and p2", "  state 4s = air(p = p4, s = s_3)", "  w_t = eta*(h_3 - h_4s)", "until w_t == w_c"),
			map[string][]float64{"r_p": x, "eta": y}, "p4")
		var out [][]float64
		times := rounds(b, map[string]func(){
			"study": func() { out = study() },
			"hand": func() {
				r := air.R()
				so3, h3 := air.SoFast(1400), air.HFast(1400)
				s1, h1 := air.SoFast(300)-r*propsdb.Ln(1e5/bar), air.HFast(300)
				for i := range x {
					p2 := x[i] * 1e5
					w := (air.HFast(air.TofSoFast(s1+r*propsdb.Ln(p2/bar))) - h1) / y[i]
					s3 := so3 - r*propsdb.Ln(p2/bar)
					hand[i] = chandrupatla(func(p float64) float64 {
						return y[i]*(h3-air.HFast(air.TofSoFast(s3+r*propsdb.Ln(p/bar)))) - w
					}, 1e4, p2)
				}
			},
		})
		b.ReportMetric(times.ratio("study", "hand"), "of_hand")
		b.ReportMetric(times["study"]/n, "ns/point")
		compare(b, out[0], hand)
	})
	b.Run("steam", func(b *testing.B) {
		// A turbine and a pump between two pressures.
		study := benchPlan(b, fence("inputs", "r_p = 8", "eta = 0.85")+
			fence("calc", "fluid water", "state 1 = water(p = r_p*1 MPa, T = 800 K)", "state 2s = water(p = 10 kPa, s = s1)", "h2 = h1 - eta*(h1 - h_2s)", "state 2 = water(p = 10 kPa, h2)",
				"state 3 = water(p = 10 kPa, x = 0)", "state 4s = water(p = r_p*1 MPa, s = s_3)", "h4 = h_3 + (h_4s - h_3)/eta", "eta_th = (h1 - h2 - h4 + h_3)/(h1 - h4)", "v = v_2*1"),
			map[string][]float64{"r_p": x, "eta": y}, "eta_th", "v")
		var out [][]float64
		times := rounds(b, map[string]func(){
			"study": func() { out = study() },
			"hand": func() {
				s3 := water.StateFast(propsdb.P, 1e4, propsdb.X, 0)
				h3, e3 := s3.GetFast(propsdb.H), s3.GetFast(propsdb.S)
				volume := 0.0
				for i := range x {
					p := x[i] * 1e6
					s1 := water.StateFast(propsdb.P, p, propsdb.T, 800)
					h1 := s1.GetFast(propsdb.H)
					h2 := h1 - y[i]*(h1-water.StateFast(propsdb.P, 1e4, propsdb.S, s1.GetFast(propsdb.S)).GetFast(propsdb.H))
					volume += water.StateFast(propsdb.P, 1e4, propsdb.H, h2).GetFast(propsdb.V)
					h4 := h3 + (water.StateFast(propsdb.P, p, propsdb.S, e3).GetFast(propsdb.H)-h3)/y[i]
					hand[i] = (h1 - h2 - h4 + h3) / (h1 - h4)
				}
			},
		})
		b.ReportMetric(times.ratio("study", "hand"), "of_hand")
		b.ReportMetric(times["study"]/n, "ns/point")
		compare(b, out[0], hand)
	})
}

func compare(b *testing.B, study, hand []float64) {
	b.Helper()
	b.ReportMetric(0, "ns/op")
	for i := range study {
		if math.Abs(study[i]-hand[i]) > 1e-12*math.Abs(hand[i]) {
			b.Fatalf("point %d: %v, by hand %v", i, study[i], hand[i])
		}
	}
}
