package runner

import (
	"context"
	"maps"
	"math"
	"runtime"
	"slices"
	"testing"
	"time"

	"workings/propsdb"
	"workings/runner/eval"
)

// The cycles by which studies are measured: two-stage compression with intercooling, expansion in
// two stages with reheat, regeneration. In A the intercooler and the reheater reach the temperatures
// of the inlets, and only what the answers need is a state of its own; in B every state is resolved.

func cycleInputs() string {
	return fence("inputs", "T1 = 298.15 K", "p1 = 100 kPa", "rp = 12", "eta_c = 0.85", "eta_t = 0.88", "eps = 0.8", "T3 = 300 K", "T6 = 1400 K", "T8 = 1380 K",
		"dp_ic = 0.01", "dp_rc = 0.015", "dp_cc = 0.03", "dp_rh = 0.02", "eta_cc = 0.99", "eta_m = 0.985", "mdot = 50 kg/s", "LHV = 50000 kJ/kg")
}

func cycleA() string {
	return cycleInputs() + fence("calc", "fluid air", "rc = sqrt(rp)", "state 1 = air(p1, T1)", "p2 = p1*rc", "state 2s = air(p = p2, s = s1)", "h2 = h1 + (h_2s - h1)/eta_c",
		"p3 = p2*(1 - dp_ic)", "p4 = p1*rp", "state i = air(p = p3, T = T1)", "state 4s = air(p = p4, s = s_i)", "h4 = h1 + (h_4s - h1)/eta_c", "state 4 = air(p4, h4)",
		"p5 = p4*(1 - dp_rc)", "p6 = p5*(1 - dp_cc)", "state 6 = air(p6, T6)", "p9 = p1/(1 - dp_rc)", "p7 = sqrt(p6*p9)", "state 7s = air(p = p7, s = s6)",
		"h7 = h6 - eta_t*(h6 - h_7s)", "p8 = p7*(1 - dp_rh)", "state r = air(p = p8, T = T6)", "state 9s = air(p = p9, s = s_r)", "h9 = h6 - eta_t*(h6 - h_9s)",
		"q_reg = eps*(h9 - h4)", "h5 = h4 + q_reg", "w_c = (h2 - h1) + (h4 - h1)", "w_t = (h6 - h7) + (h6 - h9)", "q_in = ((h6 - h5) + (h6 - h7))/eta_cc",
		"w_net = eta_m*w_t - w_c", "bwr = w_c/(eta_m*w_t)", "eta_th = w_net/q_in", "Wdot = mdot*w_net", "m_f = mdot*q_in/LHV", "sfc = m_f/Wdot")
}

func cycleB() string {
	return cycleInputs() + fence("calc", "fluid air", "state 1 = air(p1, T1)", "rc = sqrt(rp)", "p2 = p1*rc", "state 2s = air(p = p2, s = s1)", "h2 = h1 + (h_2s - h1)/eta_c", "state 2 = air(p2, h2)",
		"p3 = p2*(1 - dp_ic)", "state 3 = air(p3, T3)", "p4 = p1*rp", "state 4s = air(p = p4, s = s3)", "h4 = h3 + (h_4s - h3)/eta_c", "state 4 = air(p4, h4)",
		"p5 = p4*(1 - dp_rc)", "p6 = p5*(1 - dp_cc)", "state 6 = air(p6, T6)", "p9 = p1/(1 - dp_rc)", "p7 = sqrt(p6*p9)", "state 7s = air(p = p7, s = s6)",
		"h7 = h6 - eta_t*(h6 - h_7s)", "state 7 = air(p7, h7)", "p8 = p7*(1 - dp_rh)", "state 8 = air(p8, T8)", "state 9s = air(p = p9, s = s8)",
		"h9 = h8 - eta_t*(h8 - h_9s)", "state 9 = air(p9, h9)", "h5 = h4 + eps*(h9 - h4)", "state 5 = air(p5, h5)",
		"w_c = (h2 - h1) + (h4 - h3)", "w_t = (h6 - h7) + (h8 - h9)", "q_in = ((h6 - h5) + (h8 - h7))/eta_cc", "w_net = eta_m*w_t - w_c", "eta_th = w_net/q_in")
}

// plant are the inputs of the cycles, in SI.
type plant struct {
	T1, p1, rp, etaC, etaT, eps, T3, T6, T8, dpIC, dpRC, dpCC, dpRH, etaCC, etaM, m, LHV float64
}

func ownPlant() plant {
	return plant{298.15, 1e5, 12, 0.85, 0.88, 0.8, 300, 1400, 1380, 0.01, 0.015, 0.03, 0.02, 0.99, 0.985, 50, 5e7}
}

const bar = propsdb.StandardPressure

// handA is cycle A by hand: every line is stored.
func handA(in *plant, f *propsdb.Fluid, o *[64]float64) (eta, w float64) {
	r := f.R()
	rc := math.Sqrt(in.rp)
	h1 := f.HFast(in.T1)
	so1 := f.SoFast(in.T1)
	s1 := so1 - r*propsdb.Ln(in.p1/bar)
	p2 := in.p1 * rc
	T2s := f.TofSoFast(s1 + r*propsdb.Ln(p2/bar))
	h2s := f.HFast(T2s)
	h2 := h1 + (h2s-h1)/in.etaC
	p3 := p2 * (1 - in.dpIC)
	p4 := in.p1 * in.rp
	s3 := so1 - r*propsdb.Ln(p3/bar)
	T4s := f.TofSoFast(s3 + r*propsdb.Ln(p4/bar))
	h4s := f.HFast(T4s)
	h4 := h1 + (h4s-h1)/in.etaC
	T4 := f.TofHFast(h4)
	p5 := p4 * (1 - in.dpRC)
	p6 := p5 * (1 - in.dpCC)
	h6 := f.HFast(in.T6)
	so6 := f.SoFast(in.T6)
	s6 := so6 - r*propsdb.Ln(p6/bar)
	p9 := in.p1 / (1 - in.dpRC)
	p7 := math.Sqrt(p6 * p9)
	T7s := f.TofSoFast(s6 + r*propsdb.Ln(p7/bar))
	h7s := f.HFast(T7s)
	h7 := h6 - in.etaT*(h6-h7s)
	p8 := p7 * (1 - in.dpRH)
	s8 := so6 - r*propsdb.Ln(p8/bar)
	T9s := f.TofSoFast(s8 + r*propsdb.Ln(p9/bar))
	h9s := f.HFast(T9s)
	h9 := h6 - in.etaT*(h6-h9s)
	qReg := in.eps * (h9 - h4)
	h5 := h4 + qReg
	wc := (h2 - h1) + (h4 - h1)
	wt := (h6 - h7) + (h6 - h9)
	q := ((h6 - h5) + (h6 - h7)) / in.etaCC
	w = in.etaM*wt - wc
	bwr := wc / (in.etaM * wt)
	eta = w / q
	W := in.m * w
	mf := in.m * q / in.LHV
	o[0], o[1], o[2], o[3], o[4], o[5], o[6], o[7], o[8], o[9] = rc, h1, s1, p2, T2s, h2s, h2, p3, p4, s3
	o[10], o[11], o[12], o[13], o[14], o[15], o[16], o[17], o[18], o[19] = T4s, h4s, h4, T4, p5, p6, h6, s6, p9, p7
	o[20], o[21], o[22], o[23], o[24], o[25], o[26], o[27], o[28], o[29] = T7s, h7s, h7, p8, s8, T9s, h9s, h9, qReg, h5
	o[30], o[31], o[32], o[33], o[34], o[35], o[36], o[37], o[38] = wc, wt, q, w, bwr, eta, W, mf, mf/W
	return eta, w
}

// handB is cycle B by hand.
func handB(in *plant, f *propsdb.Fluid, o *[64]float64) (eta, w float64) {
	r := f.R()
	h1 := f.HFast(in.T1)
	s1 := f.SoFast(in.T1) - r*propsdb.Ln(in.p1/bar)
	rc := math.Sqrt(in.rp)
	p2 := in.p1 * rc
	T2s := f.TofSoFast(s1 + r*propsdb.Ln(p2/bar))
	h2s := f.HFast(T2s)
	h2 := h1 + (h2s-h1)/in.etaC
	T2 := f.TofHFast(h2)
	p3 := p2 * (1 - in.dpIC)
	h3 := f.HFast(in.T3)
	s3 := f.SoFast(in.T3) - r*propsdb.Ln(p3/bar)
	p4 := in.p1 * in.rp
	T4s := f.TofSoFast(s3 + r*propsdb.Ln(p4/bar))
	h4s := f.HFast(T4s)
	h4 := h3 + (h4s-h3)/in.etaC
	T4 := f.TofHFast(h4)
	p5 := p4 * (1 - in.dpRC)
	p6 := p5 * (1 - in.dpCC)
	h6 := f.HFast(in.T6)
	s6 := f.SoFast(in.T6) - r*propsdb.Ln(p6/bar)
	p9 := in.p1 / (1 - in.dpRC)
	p7 := math.Sqrt(p6 * p9)
	T7s := f.TofSoFast(s6 + r*propsdb.Ln(p7/bar))
	h7s := f.HFast(T7s)
	h7 := h6 - in.etaT*(h6-h7s)
	T7 := f.TofHFast(h7)
	p8 := p7 * (1 - in.dpRH)
	h8 := f.HFast(in.T8)
	s8 := f.SoFast(in.T8) - r*propsdb.Ln(p8/bar)
	T9s := f.TofSoFast(s8 + r*propsdb.Ln(p9/bar))
	h9s := f.HFast(T9s)
	h9 := h8 - in.etaT*(h8-h9s)
	T9 := f.TofHFast(h9)
	h5 := h4 + in.eps*(h9-h4)
	T5 := f.TofHFast(h5)
	wc := (h2 - h1) + (h4 - h3)
	wt := (h6 - h7) + (h8 - h9)
	q := ((h6 - h5) + (h8 - h7)) / in.etaCC
	w = in.etaM*wt - wc
	eta = w / q
	o[0], o[1], o[2], o[3], o[4], o[5], o[6], o[7], o[8], o[9] = h1, s1, rc, p2, T2s, h2s, h2, T2, p3, h3
	o[10], o[11], o[12], o[13], o[14], o[15], o[16], o[17], o[18], o[19] = s3, p4, T4s, h4s, h4, T4, p5, p6, h6, s6
	o[20], o[21], o[22], o[23], o[24], o[25], o[26], o[27], o[28], o[29] = p9, p7, T7s, h7s, h7, T7, p8, h8, s8, T9s
	o[30], o[31], o[32], o[33], o[34], o[35], o[36], o[37], o[38], o[39] = h9s, h9, T9, h5, T5, wc, wt, q, w, eta
	return eta, w
}

// textbook is air as somebody writes it down from the tables, with the library's logarithm, and with
// Newton's method from 1000 K where T is sought. The coefficients are those of the tool's data
// (NASA/TP-2002-211556).
type textbook struct {
	a [2][9]float64
	r float64
}

func textbookAir() textbook {
	return textbook{r: 8.31451 / 0.0289651159, a: [2][9]float64{
		{1.009950160e4, -1.968275610e2, 5.009155110, -5.761013730e-3, 1.066859930e-5, -7.940297970e-9, 2.185231910e-12, -1.767967310e2, -3.921504225},
		{2.415214430e5, -1.257874600e3, 5.144558670, -2.138541790e-4, 7.065227840e-8, -1.071483490e-11, 6.577800150e-16, 6.462263190e3, -8.147411905}}}
}

func (g *textbook) of(T float64) *[9]float64 {
	if T < 1000 {
		return &g.a[0]
	}
	return &g.a[1]
}

func (g *textbook) cp(T float64) float64 {
	a := g.of(T)
	return g.r * (a[0]/T/T + a[1]/T + a[2] + T*(a[3]+T*(a[4]+T*(a[5]+T*a[6]))))
}

func (g *textbook) h(T float64) float64 {
	a := g.of(T)
	return g.r * (-a[0]/T + a[1]*math.Log(T) + a[7] + T*(a[2]+T*(a[3]/2+T*(a[4]/3+T*(a[5]/4+T*a[6]/5)))))
}

func (g *textbook) so(T float64) float64 {
	a := g.of(T)
	return g.r * (-a[0]/2/T/T - a[1]/T + a[2]*math.Log(T) + a[8] + T*(a[3]+T*(a[4]/2+T*(a[5]/3+T*a[6]/4))))
}

func (g *textbook) tofH(h float64) float64 {
	T := 1000.0
	for range 50 {
		d := (g.h(T) - h) / g.cp(T)
		T -= d
		if math.Abs(d) < 1e-12*T {
			break
		}
	}
	return T
}

func (g *textbook) tofSo(so float64) float64 {
	T := 1000.0
	for range 50 {
		d := (g.so(T) - so) * T / g.cp(T)
		T -= d
		if math.Abs(d) < 1e-12*T {
			break
		}
	}
	return T
}

func (g *textbook) handA(in *plant) (eta, w float64) {
	rc := math.Sqrt(in.rp)
	h1, s1 := g.h(in.T1), g.so(in.T1)
	h2 := h1 + (g.h(g.tofSo(s1+g.r*math.Log(rc)))-h1)/in.etaC
	p3 := in.p1 * rc * (1 - in.dpIC)
	p4 := in.p1 * in.rp
	h4 := h1 + (g.h(g.tofSo(s1+g.r*math.Log(p4/p3)))-h1)/in.etaC
	_ = g.tofH(h4)
	p6 := p4 * (1 - in.dpRC) * (1 - in.dpCC)
	h6, s6 := g.h(in.T6), g.so(in.T6)
	p9 := in.p1 / (1 - in.dpRC)
	p7 := math.Sqrt(p6 * p9)
	h7 := h6 - in.etaT*(h6-g.h(g.tofSo(s6-g.r*math.Log(p6/p7))))
	p8 := p7 * (1 - in.dpRH)
	h9 := h6 - in.etaT*(h6-g.h(g.tofSo(s6-g.r*math.Log(p8/p9))))
	h5 := h4 + in.eps*(h9-h4)
	w = in.etaM*((h6-h7)+(h6-h9)) - ((h2 - h1) + (h4 - h1))
	return w / (((h6 - h5) + (h6 - h7)) / in.etaCC), w
}

func (g *textbook) handB(in *plant) (eta, w float64) {
	rc := math.Sqrt(in.rp)
	h1, s1 := g.h(in.T1), g.so(in.T1)
	h2 := h1 + (g.h(g.tofSo(s1+g.r*math.Log(rc)))-h1)/in.etaC
	T := g.tofH(h2)
	p3 := in.p1 * rc * (1 - in.dpIC)
	h3, s3 := g.h(in.T3), g.so(in.T3)
	p4 := in.p1 * in.rp
	h4 := h3 + (g.h(g.tofSo(s3+g.r*math.Log(p4/p3)))-h3)/in.etaC
	T += g.tofH(h4)
	p6 := p4 * (1 - in.dpRC) * (1 - in.dpCC)
	h6, s6 := g.h(in.T6), g.so(in.T6)
	p9 := in.p1 / (1 - in.dpRC)
	p7 := math.Sqrt(p6 * p9)
	h7 := h6 - in.etaT*(h6-g.h(g.tofSo(s6-g.r*math.Log(p6/p7))))
	T += g.tofH(h7)
	p8 := p7 * (1 - in.dpRH)
	h8, s8 := g.h(in.T8), g.so(in.T8)
	h9 := h8 - in.etaT*(h8-g.h(g.tofSo(s8-g.r*math.Log(p8/p9))))
	T += g.tofH(h9)
	h5 := h4 + in.eps*(h9-h4)
	T += g.tofH(h5)
	w = in.etaM*((h6-h7)+(h8-h9)) - ((h2 - h1) + (h4 - h3))
	return w/(((h6-h5)+(h8-h7))/in.etaCC) + 0*T, w
}

// benchGrid is a sweep of rp and T6, with T8 20 K below.
const benchPoints = 16384

func benchGrid() (rp, T6, T8 []float64) {
	for i := range benchPoints {
		rp = append(rp, 4+26*float64(i%64)/64)
		T6 = append(T6, 1100+700*float64(i/64%1000)/1000)
		T8 = append(T8, T6[i]-20)
	}
	return
}

// BenchmarkStudy measures a study of the cycles against what can be written by hand, one after the
// other in every round, and reports medians: ns/point of the study, its ratio to scalar Go and to Go
// that is chunked, fused and hoisted by hand, how many times faster it is than a textbook's Newton
// method, allocations a point, and with -cpu 2 its speed-up over one core. Scalar Go calls the same
// property functions and stores the same lines.
func BenchmarkStudy(b *testing.B) {
	b.Run("A", func(b *testing.B) {
		book := textbookAir()
		benchCycle(b, cycleA(), []string{"rp", "T6"}, []string{"eta_th", "w_net", "T4", "bwr", "sfc"}, handA, book.handA, newChunkedA)
	})
	b.Run("B", func(b *testing.B) {
		book := textbookAir()
		benchCycle(b, cycleB(), []string{"rp", "T6", "T8"}, []string{"eta_th", "w_net", "T2", "T4", "T7", "T9", "T5"}, handB, book.handB, newChunkedB)
	})
}

type chunked func(rp, T6, T8 []float64, out [][]float64)

func benchCycle(b *testing.B, text string, vary, keep []string, hand func(*plant, *propsdb.Fluid, *[64]float64) (float64, float64), book func(*plant) (float64, float64), byChunks func(*propsdb.Fluid) chunked) {
	air, err := propsdb.Lookup("air")
	if err != nil {
		b.Fatal(err)
	}
	rp, T6, T8 := benchGrid()
	columns := map[string][]float64{"rp": rp, "T6": T6, "T8": T8}
	r := build(b, text)
	plan := eval.Plan{}
	var points [][]float64
	for _, n := range vary {
		plan.Vary = append(plan.Vary, r.Trace.Sheet.Symbol("", n))
		points = append(points, columns[n])
	}
	for _, n := range keep {
		s := r.Trace.Sheet.Symbol("", n)
		if s == nil {
			b.Fatalf("no symbol %s: %v", n, r.Problems())
		}
		plan.Keep = append(plan.Keep, s)
	}
	batch, err := r.Trace.Batch(plan)
	if err != nil {
		b.Fatal(err)
	}
	room := func() [][]float64 {
		out := make([][]float64, len(keep))
		for i := range out {
			out[i] = make([]float64, benchPoints)
		}
		return out
	}
	out, outChunks, outHand, outBook := room(), room(), room(), room()
	var store [64]float64
	chunks := byChunks(air)
	mallocs := uint64(0)
	variants := map[string]func(){
		"study": func() {
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			if o, err := batch.Run(context.Background(), points, out, nil); err != nil || o.Failed > 0 {
				b.Fatal(err, o.Failed, o.Reasons[0].Message)
			}
			runtime.ReadMemStats(&after)
			mallocs += after.Mallocs - before.Mallocs
		},
		"scalar": func() {
			in := ownPlant()
			for i := range rp {
				in.rp, in.T6, in.T8 = rp[i], T6[i], T8[i]
				outHand[0][i], outHand[1][i] = hand(&in, air, &store)
			}
		},
		"chunked": func() {
			for at := 0; at < benchPoints; at += 256 {
				part := make([][]float64, 0, 8)
				for _, o := range outChunks {
					part = append(part, o[at:at+256])
				}
				chunks(rp[at:at+256], T6[at:at+256], T8[at:at+256], part)
			}
		},
		"textbook": func() {
			in := ownPlant()
			for i := range rp {
				in.rp, in.T6, in.T8 = rp[i], T6[i], T8[i]
				outBook[0][i], outBook[1][i] = book(&in)
			}
		},
	}
	if runtime.GOMAXPROCS(0) > 1 {
		many := runtime.GOMAXPROCS(0)
		all := variants["study"]
		variants["one core"] = func() {
			runtime.GOMAXPROCS(1)
			all()
			runtime.GOMAXPROCS(many)
		}
	}
	times := rounds(b, variants)
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(times["study"]/benchPoints, "ns/point")
	b.ReportMetric(times.ratio("study", "scalar"), "of_scalar")
	b.ReportMetric(times.ratio("study", "chunked"), "of_chunked")
	b.ReportMetric(times.ratio("textbook", "study"), "x_textbook")
	b.ReportMetric(math.Floor(float64(mallocs)/float64(benchPoints)/float64(max(1, b.N))/2), "allocs/point")
	if times["one core"] > 0 {
		b.ReportMetric(times.ratio("one core", "study"), "x_one_core")
	}
	for i := range benchPoints {
		if out[0][i] != outHand[0][i] || math.Abs(out[0][i]-outBook[0][i]) > 1e-9 || math.Abs(out[0][i]-outChunks[0][i]) > 1e-13 || math.Abs(out[1][i]-outChunks[1][i]) > 1e-7 {
			b.Fatalf("point %d: study %v, by hand %v, textbook %v, by chunks %v", i, out[0][i], outHand[0][i], outBook[0][i], outChunks[0][i])
		}
	}
}

// timing is the shortest time each variant took in any round, ns: that of a round which nothing else on
// the machine disturbed.
type timing map[string]float64

func (t timing) ratio(a, b string) float64 { return t[a] / t[b] }

// rounds runs variants in turn. The order changes from round to round.
func rounds(b *testing.B, variants map[string]func()) timing {
	b.Helper()
	names := slices.Sorted(maps.Keys(variants))
	times := timing{}
	for _, n := range names {
		variants[n]() // tables are built, buffers are there
	}
	for round := 0; b.Loop(); round++ {
		for k := range names {
			n := names[(k+round)%len(names)]
			start := time.Now()
			variants[n]()
			took := float64(time.Since(start).Nanoseconds())
			if best, ok := times[n]; !ok || took < best {
				times[n] = took
			}
		}
	}
	return times
}
