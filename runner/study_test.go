package runner

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"workings/runner/chart"
	"workings/runner/resolve"
	"workings/runner/sheet"
	"workings/runner/study"
)

// buildText evaluates a notebook that stands in a test.
func buildText(t testing.TB, text string, change ...func(*Options)) *Result {
	t.Helper()
	o := options()
	for _, f := range change {
		f(&o)
	}
	r, err := Build(fstest.MapFS{"x.md": {Data: []byte(strings.ReplaceAll(text, "'''", "```"))}}, "x.md", o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func wellBuilt(t testing.TB, r *Result) *Result {
	t.Helper()
	for _, p := range r.Problems() {
		if p.Severity.String() == "error" {
			t.Errorf("%s: %s", p.Code, p.Message)
		}
	}
	return r
}

const plainCycle = `
'''inputs
T1 = 300 K
p1 = 100 kPa
r_p = 8 within 4 .. 16
T3 = 1300 K
eta_c = 0.85
eta_t = 0.88
eps = 0 %
'''
'''calc
fluid air
fluid gas = perfect(k = 1.4, cp = 1.005 kJ/(kg·K))
state 1 = gas(p1, T1)
p2 = r_p*p1
state 2s = gas(p2, s1)
state 2 = gas(p2, h = h1 + (h2s - h1)/eta_c)
state 3 = gas(p = p2, T3)
state 4s = gas(p = p1, s = s3)
state 4 = gas(p = p1, h = h3 - eta_t*(h3 - h4s))
h_x = h2 + eps*(h4 - h2)
w_net = (h3 - h4) - (h2 - h1)
eta_th = w_net/(h3 - h_x)
'''
`

func within(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s is %.12g, and should be %.12g within %g", what, got, want, relative)
	}
}

// The pressure ratio of largest work of the plain cycle with constant cp. With τ = r^((k−1)/k) and
// θ = T3/T1 the net work is cp·T1·(θ·η_t·(1 − 1/τ) − (τ − 1)/η_c); its derivative is zero at
// τ² = θ·η_c·η_t, so that r = (θ·η_c·η_t)^(k/(2(k−1))): the common closed form of gas-turbine
// textbooks (from memory). For the efficiency without machine losses there is none: it rises to the
// end.
func TestOptimumAgreesWithClosedForm(t *testing.T) {
	r := wellBuilt(t, buildText(t, plainCycle+`
'''study work
vary r_p from 2 to 30 in 29 points
for T3 over 1100 K, 1300 K, 1500 K
keep w_net
mark largest w_net
'''
'''study logarithmic
vary r_p from 2 to 50 in 12 points logarithmic
keep w_net
mark largest w_net
'''
'''study sought
seek largest w_net by r_p in 2 .. 40
for T3 over 1100 K, 1300 K
'''
`))
	want := func(t3 float64) float64 { return math.Pow(t3/300*0.85*0.88, 1.4/0.8) }
	for i, t3 := range []float64{1100, 1300, 1500} {
		m := r.Studies[0].Series[i].Marks[0]
		within(t, fmt.Sprintf("r_p at %g K", t3), m.At[0], want(t3), 1e-8)
		if m.Standing != study.Refined || !(math.Abs(m.At[0]-want(t3)) <= m.Accuracy[0]+1e-10) || m.Accuracy[0] > 1e-6 {
			t.Errorf("standing %d, accuracy %g where the error is %g", m.Standing, m.Accuracy[0], m.At[0]-want(t3))
		}
	}
	within(t, "r_p of the logarithmic study", r.Studies[1].Series[0].Marks[0].At[0], want(1300), 1e-8)
	for i, t3 := range []float64{1100, 1300} {
		o := r.Studies[2].Series[i].Optimum
		within(t, "r_p sought", o.At[0], want(t3), 1e-6)
		if o.Agreeing != o.Starts || len(o.Active) != 0 {
			t.Errorf("%d of %d starts agree, %d limits", o.Agreeing, o.Starts, len(o.Active))
		}
	}
}

const twoStage = `
'''inputs
T1 = 300 K
p1 = 100 kPa
p2 = 900 kPa
p_i = 250 kPa
eta_1 = 1
eta_2 = 1
loss = 0 %
T_i = 300 K
'''
'''calc
fluid gas = perfect(k = 1.4, cp = 1.005 kJ/(kg·K))
state 1 = gas(p1, T1)
state 2s = gas(p = p_i, s1)
state 3 = gas(p = p_i*(1 - loss), T = T_i)
state 4s = gas(p = p2, s3)
w = (h2s - h1)/eta_1 + (h4s - h3)/eta_2
'''
`

// Two stages of compression with cooling between them to the inlet temperature take least work with
// the intermediate pressure √(p1·p2): the classical result of thermodynamics textbooks (from memory).
// Losses shift it: with stages of different efficiency, setting the derivative of
// T1·(x − 1)/η_1 + T_i·(y/x/l − 1)/η_2 to zero, x = (p_i/p1)^a, y = (p2/p1)^a, l = (1−loss)^a,
// a = (k−1)/k, gives x² = (η_1/η_2)·(T_i/T1)·y/l.
func TestIntermediatePressure(t *testing.T) {
	r := wellBuilt(t, buildText(t, twoStage+`
'''study ideal
vary p_i from 150 kPa to 800 kPa in 27 points
keep w
mark smallest w
'''
'''study loss
vary p_i from 150 kPa to 800 kPa in 27 points
for loss over 0 %, 5 %, 10 %
keep w
mark smallest w
'''
'''study stages
vary p_i from 150 kPa to 800 kPa in 27 points
for eta_2 over 0.8, 0.9
keep w
mark smallest w
'''
`))
	within(t, "p_i", r.Studies[0].Series[0].Marks[0].At[0], 300e3, 1e-8)
	a := 0.4 / 1.4
	shifted := func(ratio, loss float64) float64 {
		x := math.Sqrt(ratio * math.Pow(9, a) / math.Pow(1-loss, a))
		return 100e3 * math.Pow(x, 1/a)
	}
	for i, loss := range []float64{0, 0.05, 0.1} {
		within(t, "p_i with a loss", r.Studies[1].Series[i].Marks[0].At[0], shifted(1, loss), 1e-8)
	}
	for i, eta := range []float64{0.8, 0.9} {
		within(t, "p_i with another second stage", r.Studies[2].Series[i].Marks[0].At[0], shifted(1/eta, 0), 1e-8)
	}
}

// A point of a study is the sheet with --set, bit for bit; so are the symbols at a mark.
func TestStudyPointIsSet(t *testing.T) {
	text := plainCycle + `
'''study both
vary r_p over 3, 8, 14.5
for gas over gas, air
keep eta_th, w_net, T4
mark eta_th crossing 30 %
'''
`
	r := wellBuilt(t, buildText(t, text))
	s := r.Studies[0]
	if s.Outside != 2 || s.Failed != 0 || s.Points != 6 {
		t.Errorf("%d points, %d outside, %d failed", s.Points, s.Outside, s.Failed)
	}
	for i, model := range []string{"fluid gas = perfect(k = 1.4, cp = 1.005 kJ/(kg·K))", "fluid gas = air"} {
		for p, rp := range s.Series[i].Inputs[0] {
			own := buildText(t, strings.Replace(strings.Replace(text, "fluid gas = perfect(k = 1.4, cp = 1.005 kJ/(kg·K))", model, 1), "within 4 .. 16", "", 1),
				func(o *Options) { o.Set = []string{"r_p=" + strconv.FormatFloat(rp, 'g', -1, 64)} })
			for k, kept := range s.Of.Keep {
				v, ok := own.Trace.Value(own.Trace.Sheet.Symbol("", kept.Symbol.Name))
				if got := s.Series[i].Kept[k][p]; !ok || !sameBits(got, v.SI) {
					t.Errorf("series %d, r_p = %g: %s is %v in the study and %v on the sheet", i, rp, kept.Symbol.Name, got, v.SI)
				}
			}
		}
		for _, m := range s.Series[i].Marks {
			if m.Standing != study.Refined || math.Abs(m.Kept[0]-0.3) > 1e-14 {
				t.Errorf("series %d crosses 30 %% at %v with %v", i, m.At, m.Kept)
			}
		}
	}
}

// Points without a value are counted with their reasons; marks say what they are worth.
func TestFailingPointsAndMarks(t *testing.T) {
	r := wellBuilt(t, buildText(t, `
'''inputs
x = 1
y = 1
'''
'''calc
a = sqrt(x)
b = x < 3 ? x : 10 - x
c = 1/(x - 2)
d = -(x - 1.3)^2 - (y - 0.2)^2
e = abs(x - 1.7)
'''
'''study gaps
vary x from -2 to 4 in 7 points
keep a, b, c
mark largest a
mark smallest a
mark largest b
mark a crossing 1.5
mark b crossing 5
mark c crossing 0
mark a crossing 9
'''
'''study plane
vary x from 0 to 4 in 9 points
vary y from 0 to 1 in 5 points
keep d
mark largest d
mark smallest d
'''
'''study kink
vary x from 0 to 4 in 9 points
keep e
mark smallest e
'''
`))
	s := r.Studies[0]
	if s.Failed != 3 || len(s.Reasons) != 2 || s.Reasons[0].Points != 2 || s.Reasons[1].Points != 1 {
		t.Errorf("%d failed: %+v", s.Failed, s.Reasons)
	}
	m := s.Series[0].Marks
	want := []struct {
		at       float64
		standing study.Standing
	}{{4, study.AtEnd}, {0, study.BesideGap}, {3, study.Refined}, {2.25, study.Refined}, {3, study.Jumps}, {0, study.Absent}, {0, study.Absent}}
	if len(m) != len(want) {
		t.Fatalf("%d marks", len(m))
	}
	for i, w := range want {
		if m[i].Standing != w.standing || w.standing != study.Absent && math.Abs(m[i].At[0]-w.at) > 1e-6 {
			t.Errorf("mark %d: %+v; it should be at %v, standing %d", i, m[i], w.at, w.standing)
		}
	}
	p := r.Studies[1].Series[0].Marks
	within(t, "x of the summit", p[0].At[0], 1.3, 1e-7)
	within(t, "y of the summit", p[0].At[1], 0.2, 1e-6)
	if p[1].Standing != study.AtEnd || p[1].At[0] != 4 || p[1].At[1] != 1 {
		t.Errorf("the lowest: %+v", p[1])
	}
	k := r.Studies[2].Series[0].Marks[0]
	if k.Standing != study.Refined || math.Abs(k.At[0]-1.7) > k.Accuracy[0] || k.Accuracy[0] > 1e-6 {
		t.Errorf("the kink: %+v", k)
	}
}

// A seek agrees with an exhaustive grid, keeps conditions, and names the limits it lies at.
func TestSeekAgreesWithGrid(t *testing.T) {
	const text = `
'''inputs
T1 = 300 K
p1 = 100 kPa
r_p = 9
p_i = 250 kPa
T_h = 1300 K
'''
'''calc
fluid air
state 1 = air(p1, T1)
state 2s = air(p = p_i, s1)
h2 = h1 + (h2s - h1)/0.85
state 3 = air(p = p_i*0.97, T = T1)
p4 = r_p*p1
state 4s = air(p = p4, s = s3)
h4 = h3 + (h4s - h3)/0.82
state 4 = air(p4, h4)
state 5 = air(p = 0.96*p4, T = T_h)
state 6s = air(p = p1, s = s5)
h6 = h5 - 0.88*(h5 - h6s)
w = (h5 - h6) - (h2 - h1) - (h4 - h3)
q = h5 - h4
eta = w/q
'''
'''study free
seek largest eta by r_p in 2 .. 60, p_i in 110 kPa .. 900 kPa
keep w
'''
'''study kept
seek largest eta by r_p in 2 .. 60, p_i in 110 kPa .. 900 kPa subject to T4 < 500 K, w > 200 kJ/kg
'''
'''study ended
seek largest w by r_p in 2 .. 6, p_i in 110 kPa .. 900 kPa
'''
'''study none
seek largest w by r_p in 2 .. 6 subject to T4 < 200 K
'''
'''study grid
vary r_p from 2 to 60 in 581 points
vary p_i from 110 kPa to 900 kPa in 791 points
keep eta, T4, w
mark largest eta
'''
`
	r := wellBuilt(t, buildText(t, text))
	grid := r.Studies[4].Series[0]
	free, kept, ended := r.Studies[0].Series[0].Optimum, r.Studies[1].Series[0].Optimum, r.Studies[2].Series[0].Optimum
	bestFree, bestKept := math.Inf(-1), math.Inf(-1)
	at := 0
	for i, eta := range grid.Kept[0] {
		bestFree = math.Max(bestFree, eta)
		if grid.Kept[1][i] < 500 && grid.Kept[2][i] > 200e3 && eta > bestKept {
			bestKept, at = eta, i
		}
	}
	for _, x := range []struct {
		o    *study.Optimum
		grid float64
	}{{free, bestFree}, {kept, bestKept}} {
		if d := x.o.Kept[0] - x.grid; x.o.Problem != "" || d < -1e-9 || d > 2e-4 {
			t.Errorf("sought: %v (%s); best of the grid: %v", x.o.Kept[0], x.o.Problem, x.grid)
		}
	}
	within(t, "r_p of both", free.At[0], grid.Marks[0].At[0], 1e-5)
	within(t, "p_i of both", free.At[1], grid.Marks[0].At[1], 1e-5)
	within(t, "r_p under conditions", kept.At[0], grid.Inputs[0][at], 2e-2)
	if len(kept.Active) != 1 || kept.Active[0].Condition != 0 || kept.Kept[1] >= 500 {
		t.Errorf("limits %+v, T4 = %v", kept.Active, kept.Kept)
	}
	if len(ended.Active) != 1 || ended.Active[0].Input != 0 || !ended.Active[0].Upper || ended.At[0] != 6 {
		t.Errorf("limits %+v at %v", ended.Active, ended.At)
	}
	if o := r.Studies[3].Series[0].Optimum; o.Problem == "" {
		t.Errorf("found %v where nothing keeps the condition", o.At)
	}
	t.Logf("%d evaluations, %d of %d starts agree; with conditions %d, %d of %d, T4 = %.9f, others %v", free.Evaluations, free.Agreeing, free.Starts,
		kept.Evaluations, kept.Agreeing, kept.Starts, kept.Kept[1], kept.Others)
}

// Two optima are told of.
func TestSeveralOptima(t *testing.T) {
	r := wellBuilt(t, buildText(t, `
'''inputs
x = 1
y = 1
'''
'''calc
z = exp(-((x - 1)^2 + (y - 1)^2)) + 0.8*exp(-((x + 2)^2 + y^2))
'''
'''study hills
seek largest z by x in -4 .. 4, y in -4 .. 4
'''
`))
	o := r.Studies[0].Series[0].Optimum
	if o.Agreeing == 0 || len(o.Others) == 0 || math.Abs(o.At[0]-1) > 1e-3 {
		t.Errorf("%+v", o)
	}
}

// A study that is stopped gives the error of its context and nothing else.
func TestStudyStops(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	text := strings.ReplaceAll(plainCycle+"'''study s\nvary r_p from 2 to 30 in 100000 points\nkeep eta_th\n'''\n", "'''", "```")
	if r, err := BuildContext(ctx, fstest.MapFS{"x.md": {Data: []byte(text)}}, "x.md", options()); !errors.Is(err, context.Canceled) || r != nil {
		t.Errorf("%v, %v", r, err)
	}
}

// Of a sheet with a cycle the points are audited.
func TestStudyIsAudited(t *testing.T) {
	r := wellBuilt(t, buildText(t, plainCycle+`
'''cycle plant
1 -> 2 compressor
2 -> 3 heater
3 -> 4 turbine
4 -> 1 cooler
'''
'''study s
vary eta_c over 0.8, 0.9, 1, 1.1
keep plant.eta
'''
'''study many
vary eta_c from 0.8 to 1.1 in 300 points
keep plant.eta
'''
`))
	if s := r.Studies[1]; s.Audited != 0 || !s.Unaudited || !strings.Contains(strings.Join(s.Notes(), ""), "not audited") {
		t.Errorf("of many points: %d audited, and it is said: %q", s.Audited, s.Notes())
	}
	s := r.Studies[0]
	if s.Unaudited || s.Audited != 4 || s.Faulty != 1 || s.Series[0].Audit[3] == 0 {
		t.Errorf("%d points audited, %d of them faulty: %v", s.Audited, s.Faulty, s.Series[0].Audit)
	}
}

// A study may stand in a text of its own, in short.
func TestGivenStudy(t *testing.T) {
	r := wellBuilt(t, buildText(t, plainCycle, func(o *Options) { o.Study = "vary r_p 2..30 57\nkeep eta_th" }))
	if s := r.Studies[0]; s.Points != 57 || s.Series[0].Inputs[0][1] != 2.5 {
		t.Errorf("%d points, the second at %v", s.Points, s.Series[0].Inputs[0][1])
	}
}

// BenchmarkStudyMemory: a study of 10⁶ points takes the memory of its columns and little more:
// MB/over is what it takes beyond them, at the most that the heap ever held.
func BenchmarkStudyMemory(b *testing.B) {
	text := strings.ReplaceAll(plainCycle+"'''study s\nvary r_p from 2 to 30 in 1000000 points\nkeep eta_th, w_net\n'''\n", "'''", "```")
	for b.Loop() {
		runtime.GC()
		var before, now runtime.MemStats
		runtime.ReadMemStats(&before)
		most := uint64(0)
		o := options()
		o.Progress = func(string, int, int) {
			runtime.ReadMemStats(&now)
			most = max(most, now.HeapInuse)
		}
		r, err := Build(fstest.MapFS{"x.md": {Data: []byte(text)}}, "x.md", o)
		if err != nil {
			b.Fatal(err)
		}
		columns := 0
		for _, s := range r.Studies[0].Series {
			for _, c := range append(s.Inputs, s.Kept...) {
				columns += 8 * len(c)
			}
		}
		b.ReportMetric(float64(most-before.HeapInuse)/1e6-float64(columns)/1e6, "MB/over")
		b.ReportMetric(float64(columns)/1e6, "MB/columns")
	}
}

// A value that is the same at all points has no mark, crossings are refined as far as they are few, and a
// seek says which of its inputs do nothing.
func TestMarksOfWhatIsFlatAndOfWhatSwings(t *testing.T) {
	r := build(t, fence("inputs", "x = 1", "a = 2 K", "b = 0.5")+fence("calc", "flat = 3*a", "swing = sin(x)", "hill = -(x - 2)^2 + 1e-17*b", "step = x < 1 ? 0 : 1")+
		"```study one\nvary x from 0 to 1000 in 10000 points\nkeep flat, swing\nmark largest flat\nmark flat crossing 6 K\nmark flat crossing 7 K\nmark swing crossing 0.5\n```\n"+
		"```study two\nseek largest hill by x in 0 .. 5, a in 1 K .. 4 K subject to x < 1.5\n```\n"+
		"```study three\nseek largest step by x in 0 .. 5\n```\n")
	s := r.Studies[0].Series[0]
	for i, want := range []study.Standing{study.Level, study.Level, study.Absent} {
		if m := s.Marks[i]; m.Standing != want || m.Placed() {
			t.Errorf("mark %d: %+v", i, m)
		}
	}
	swings := s.Marks[3:]
	if n := len(swings); n > 100 || !swings[n-1].More || swings[n-2].More {
		t.Errorf("%d crossings, the last %+v", n, swings[n-1])
	}
	// sin x = 1/2 at π/6 and 5π/6, and again after every 2π.
	for i, m := range swings {
		within(t, "crossing", m.At[0], math.Pi/6+float64(i/2)*2*math.Pi+float64(i%2)*2*math.Pi/3, 1e-12)
	}
	o := r.Studies[1].Series[0].Optimum
	if o.Elsewhere || !r.Studies[2].Series[0].Optimum.Elsewhere {
		t.Errorf("of one place %v, of a plateau %v", o.Elsewhere, r.Studies[2].Series[0].Optimum.Elsewhere)
	}
	if len(o.Idle) != 1 || o.Idle[0] != 1 || len(o.Active) != 1 || o.Active[0].Condition != 0 {
		t.Errorf("idle %v, limits %+v", o.Idle, o.Active)
	}
}

// A list of values may stand in any order, and its curve runs along the axis all the same.
func TestCurveOfListedPoints(t *testing.T) {
	r := build(t, fence("inputs", "x = 1")+fence("calc", "y = x^2")+"```study list\nvary x over 8, 2, 5\nkeep y\n```\n")
	c := sheet.StudyCurves(r.Studies[0], &resolve.Chart{Study: r.Studies[0].Of, Kept: []int{0}}, 5, 0)
	want := []chart.Sample{{X: 2, Y: 4}, {X: 5, Y: 25}, {X: 8, Y: 64}}
	if len(c.Series) != 1 || !slices.Equal(c.Series[0].Points, want) {
		t.Errorf("%+v", c.Series)
	}
}
