package propsdb

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"
)

// drawWater is a state of water somewhere in a region, with the edges, the
// neighbourhood of the critical point (6) and saturation above 623.15 K (7) tried
// often.
func drawWater(r func() float64, kind int) (s State) {
	f := waterFluid()
	w := f.water
	end := func(x float64) float64 { // to both ends more often
		switch u := r(); {
		case u < 0.02:
			return 0
		case u < 0.04:
			return 1
		}
		return x
	}
	for range 1000 {
		switch kind {
		case 1:
			t := waterTmin + 350*end(r())
			x := r()
			s = f.StateFast(T, t, P, min(waterPmax, w.psat(t)*(1+1e-6)+(waterPmax-w.psat(t))*end(x*x)))
		case 2:
			t := waterTmin + 800*end(r())
			top := waterPmax
			if t <= waterT13 {
				top = w.psat(t) * (1 - 1e-6)
			} else if t <= waterT23 {
				top = w.p23(t)
			}
			p := top * end(r())
			if r() < 0.5 {
				p = math.Pow(top, r())
			}
			s = f.StateFast(T, t, P, max(p, PressureMin))
		case 3:
			t := waterT13 + 240*end(r())
			s = f.StateFast(T, t, P, w.p23(t)+(waterPmax-w.p23(t))*end(r()))
		case 4:
			s = f.StateFast(T, waterTmin+350*r(), X, end(r()))
		case 5:
			s = f.StateFast(T, waterT25+1200*end(r()), P, max(1, math.Pow(waterPmax5, end(r()))))
		case 6:
			s = f.StateFast(T, w.tc+(r()-0.5)*2, P, w.pc*(1+(r()-0.5)*1e-2))
		case 7:
			s = f.StateFast(T, waterT13+(w.tc-waterT13)*r(), X, end(r()))
		}
		if s.fluid != nil && (int(s.region) == kind || kind == 6 && s.region == 3 || kind == 7) {
			return s
		}
	}
	panic(fmt.Sprintf("no state of kind %d", kind))
}

// overlap: next to a line at which the equations of two regions differ, what one
// of them gives may be met by the other as well.
func overlap(w *if97, s State) bool {
	switch {
	case math.Abs(s.t-waterT25) < 0.1, s.region != 4 && math.Abs(s.t-waterT13) < 0.02:
		return true
	case s.t > waterT13 && s.t < waterT23+0.1 && s.p > w.edges.p13:
		return math.Abs(s.t-w.t23(s.p)) < 0.05
	}
	return false
}

// Every pair in every region gives back the state. What was given is met to 1e-10
// everywhere; T and p come back wherever the rules make them unique.
func TestWaterRoundTrips(t *testing.T) {
	w := loadWater()
	rng := rand.New(rand.NewPCG(3, 97))
	ran, crossed, other := 0, 0, 0
	for _, kind := range []int{1, 2, 3, 4, 5, 6, 7} {
		for range 3000 {
			s := drawWater(rng.Float64, kind)
			for _, pair := range waterPairs {
				if (pair[1] == X) != (s.region == 4) && (pair[1] == X || pair == [2]Property{T, P}) {
					continue // x of one phase; p and T of two
				}
				a, b := pair[0], pair[1]
				va, vb := s.fluid.water.get(a, &s.fixed), s.fluid.water.get(b, &s.fixed)
				if rng.Float64() < 0.5 {
					a, va, b, vb = b, vb, a, va
				}
				what := fmt.Sprintf("(%s,%s) of %.12g K, %.12g Pa, region %d, x %g", a, b, s.t, s.p, s.region, s.x)
				back, err := s.fluid.State(a, va, b, vb)
				if err != nil {
					t.Errorf("%s: %v", what, err)
					continue
				}
				ran++
				for i, q := range [2]Property{a, b} {
					v := [2]float64{va, vb}[i]
					scale := math.Abs(v)
					switch q { // h, u and s are next to zero in cold water
					case H, U:
						scale += 3e4
					case S:
						scale += 100
					}
					met := 1e-10
					switch { // next to the critical point rounding of p moves the densities of saturation
					case math.Abs(s.t-w.tc) < criticalBand:
						met = 1e-6
					case math.Abs(s.t-w.tc) < 2e-3:
						met = 1e-8
					}
					near(t, what+": "+q.Symbol(), w.get(q, &back.fixed), v, met*scale)
				}
				if back.region != s.region {
					crossed++
					cold := s.region == 1 && s.t < 277.2 && (pair == [2]Property{T, S} || pair == [2]Property{P, V})
					// h and s hold p only as well as their digits do.
					edge := s.region != 4 && math.Abs(s.p/w.psat(min(s.t, w.tc))-1) < 1e-5 || s.region == 4 && (s.x < 1e-6 || s.x > 1-1e-6)
					if !cold && !edge && !overlap(w, s) {
						t.Errorf("%s: comes back in region %d at %.12g K, %.12g Pa", what, back.region, back.t, back.p)
					}
					continue
				}
				if s.region == 1 && s.t < 285 && pair == [2]Property{P, V} && math.Abs(back.t-s.t) > 1e-6 {
					other++
					if back.t < s.t || s.t > 277.2 {
						t.Errorf("%s: %.12g K is the colder of two", what, back.t)
					}
					continue
				}
				cold := s.t < 285 && (pair == [2]Property{P, V} || pair == [2]Property{T, S})
				within := 1e-10
				if cold {
					within = 1e-7 // v hardly depends on T there, nor s on p
				}
				near(t, what+": T", back.t, s.t, max(within, 1e-10)*s.t)
				// p of the liquid is the small difference of large figures.
				near(t, what+": p", back.p, s.p, 1e-9*s.p+map[bool]float64{true: 1e-3, false: 0}[s.region == 1]+map[bool]float64{true: 1e-5 * s.p}[cold])
			}
		}
	}
	t.Logf("%d round trips, %d into a neighbouring region, %d to the warmer of two temperatures", ran, crossed, other)
	if ran < 100000 || crossed > ran/200 || other > ran/200 {
		t.Errorf("%d round trips, %d into a neighbouring region, %d to the warmer of two", ran, crossed, other)
	}
}

// The regions meet. R7-97 lets them differ by a little; these are the differences
// of the equations themselves, measured here, and stated with the package.
func TestWaterBoundaries(t *testing.T) {
	w := loadWater()
	worst := map[string][4]float64{} // v, h, s, cp
	compare := func(line string, a, b local) {
		d := worst[line]
		d[0] = max(d[0], math.Abs(a.v/b.v-1))
		d[1] = max(d[1], math.Abs(a.h-b.h))
		d[2] = max(d[2], math.Abs(a.s-b.s))
		d[3] = max(d[3], math.Abs(a.cp/b.cp-1))
		worst[line] = d
	}
	for i := range 401 {
		x := float64(i) / 400
		p := w.edges.p13*(1+1e-9) + (waterPmax-w.edges.p13)*x
		rho, _ := w.density(p, waterT13)
		d := w.dense.at(rho, waterT13)
		compare("1/3", w.liquid.at(p, waterT13), d.local())
		T1 := waterT13 + (waterT23-waterT13)*x
		rho, _ = w.density(w.p23(T1), T1)
		d = w.dense.at(rho, T1)
		if i > 0 {
			compare("2/3", w.steam.at(w.p23(T1), T1), d.local())
		}
		p = 1e3 + (waterPmax5-1e3)*x
		compare("2/5", w.steam.at(p, waterT25), w.hot.at(p, waterT25))
	}
	l, g := w.saturated(w.edges.p13, waterT13)
	dl, dg := w.satDensities(w.edges.p13, waterT13)
	a, b := w.dense.at(dl, waterT13), w.dense.at(dg, waterT13)
	compare("saturated liquid at 623.15 K", l, a.local())
	compare("saturated vapour at 623.15 K", g, b.local())
	for line, most := range map[string][4]float64{
		"1/3": {4e-5, 31, 0.043, 2e-3}, "2/3": {2e-4, 135, 0.19, 3.6e-3}, "2/5": {1.3e-4, 97, 0.15, 8e-4},
		"saturated liquid at 623.15 K": {4e-5, 31, 0.043, 2e-3}, "saturated vapour at 623.15 K": {1.1e-4, 39, 0.065, 3.1e-3},
	} {
		d := worst[line]
		t.Logf("%s: v %.2g, h %.3g J/kg, s %.2g J/(kg·K), cp %.2g", line, d[0], d[1], d[2], d[3])
		for i := range d {
			if !(d[i] <= most[i]) || d[i] == 0 {
				t.Errorf("%s: figure %d differs by %g, at most %g", line, i, d[i], most[i])
			}
		}
	}
	// Across a line nothing fails, and T(h), T(s) at constant p rise all the way but
	// for what the equations overlap.
	f := waterFluid()
	for _, p := range []float64{611.3, 1e4, 1e5, 1e6, 1e7, 1.65e7, 1.7e7, 2.2e7, 2.2064e7, 2.3e7, 3e7, 5e7, 8e7, 1e8} {
		for _, q := range []Property{H, S, U, V} {
			lo, hi := w.rangeAtP(q, p)
			last := 0.0
			for i := range 2001 {
				y := lo + (hi-lo)*float64(i)/2000
				if q == V {
					y = lo * math.Pow(hi/lo, float64(i)/2000)
				}
				s, err := f.State(P, p, q, y)
				if err != nil {
					if i > 0 && i < 2000 {
						t.Fatalf("p = %g, %s = %.12g of %g to %g: %v", p, q, y, lo, hi, err)
					}
					continue
				}
				if s.T() < last-0.06 {
					t.Errorf("p = %g, %s = %.12g: T falls from %.9g to %.9g", p, q, y, last, s.T())
				}
				last = s.T()
			}
		}
	}
}

// What is stated with the package about two phases.
func TestWaterSaturation(t *testing.T) {
	f := waterFluid()
	w := f.water
	rng := rand.New(rand.NewPCG(4, 4))
	for range 500 {
		T1 := waterTmin + (w.tc-waterTmin-0.01)*rng.Float64()
		ps, err := SaturationPressure(T1)
		if err != nil {
			t.Fatal(err)
		}
		back, err := SaturationTemperature(ps)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "Tsat of psat", back, T1, 1e-11*T1)
		l, g := mustState(t, f, T, T1, X, 0), mustState(t, f, P, ps, X, 1)
		x := rng.Float64()
		m := mustState(t, f, X, x, T, T1)
		for _, q := range []Property{V, H, S, U} {
			near(t, "lever rule: "+q.Symbol(), get(t, m, q), (1-x)*get(t, l, q)+x*get(t, g, q), 1e-9*math.Abs(get(t, g, q)))
		}
		near(t, "rho of the mixture", get(t, m, Rho)*get(t, m, V), 1, 1e-14)
		near(t, "Z", get(t, m, Z), ps*get(t, m, V)/(f.R()*T1), 1e-13)
		// Clausius and Clapeyron: the saturation line is an equation of its own, so
		// that this holds only as well as the formulation is consistent.
		d := 1e-4 * T1
		if T1 < w.tc-1 && T1 > waterTmin+1 {
			slope := (w.psat(T1+d) - w.psat(T1-d)) / (2 * d)
			near(t, fmt.Sprintf("dp/dT at %g K", T1), slope*(get(t, g, V)-get(t, l, V))/(get(t, g, S)-get(t, l, S)), 1, 5e-3)
		}
		for _, s := range []State{l, g} {
			for _, q := range []Property{Cp, Cv, K, C, Mu, Lambda, Prandtl} {
				if v := get(t, s, q); !(v > 0) {
					t.Errorf("%s at saturation, %g K: %g", q, T1, v)
				}
			}
		}
		if l.Phase() != "saturated liquid" || g.Phase() != "saturated vapour" || m.Phase() != "wet steam" {
			t.Errorf("%q, %q, %q", l.Phase(), g.Phase(), m.Phase())
		}
		for _, q := range []Property{Cp, Cv, K, C, Mu, Lambda, Prandtl} {
			_, err := m.Get(q)
			if e := as[*NoPropertyError](t, "wet "+q.Symbol(), err); !strings.Contains(e.Error(), "x = 0") {
				t.Error(e)
			}
		}
		// p and T on the line say nothing; a hair to either side they do.
		_, err = f.State(T, T1, P, ps)
		if e := as[*SaturationError](t, "on the line", err); e.T != T1 || e.P != ps || !strings.Contains(e.Error(), "(p,x)") {
			t.Error(e)
		}
		for _, c := range []struct {
			p     float64
			phase string
		}{{ps * (1 + 1e-6), "liquid"}, {ps * (1 - 1e-6), "vapour"}} {
			s := mustState(t, f, T, T1, P, c.p)
			if s.Phase() != c.phase {
				t.Errorf("%g K, %g Pa is %s, want %s", T1, c.p, s.Phase(), c.phase)
			}
			_, err := s.Get(X)
			if e := as[*NoPropertyError](t, "x", err); !strings.Contains(e.Error(), "saturated liquid to saturated vapour") {
				t.Error(e)
			}
		}
		// The ends found from h are the saturated states themselves.
		if s := mustState(t, f, P, ps, H, get(t, mustState(t, f, P, ps, X, 1), H)); get(t, s, X) != 1 {
			t.Errorf("h of saturated vapour at %g Pa gives x = %.17g", ps, get(t, s, X))
		}
	}
	// At the triple point the liquid has u = s = 0: that is the datum. R7-97 prints
	// h = 0.611783 J/kg there (from memory).
	s := mustState(t, f, T, 273.16, X, 0)
	near(t, "u at the triple point", get(t, s, U), 0, 1e-3)
	near(t, "s at the triple point", get(t, s, S), 0, 1e-4)
	near(t, "h at the triple point", get(t, s, H), 0.611783, 1e-3)
	if f.DatumID() != f.EntropyDatumID() || f.Datum() != TriplePoint || f.DatumID() == mustLookup0(t, "H2O").DatumID() {
		t.Errorf("datum %s, %s", f.DatumID(), f.EntropyDatumID())
	}
	if p := mustState(t, f, T, 700, P, 25e6).Phase(); p != "supercritical" {
		t.Error(p)
	}
	// The critical point: a state with h and s, of which cp has no finite value.
	for _, s := range []State{mustState(t, f, P, w.pc, X, 0.5), mustState(t, f, T, w.tc, X, 1), mustState(t, f, T, w.tc, V, 1/w.rhoc)} {
		near(t, "h at the critical point", get(t, s, H), 2087.5e3, 200)
	}
}

// Two fluids of the tool are water. As a gas at low pressure they must agree: h and
// s differ by constants, cp by next to nothing, up to 1000 K: above, NASA's H2O goes
// its own way (cp by 1.1 % at 2000 K, as against JANAF).
func TestWaterAgainstIdealGas(t *testing.T) {
	f, g := waterFluid(), mustLookup0(t, "H2O")
	var dh, ds []float64
	for _, T1 := range []float64{400, 600, 800, 1000} {
		s, i := mustState(t, f, P, 100, T, T1), mustState(t, g, P, 100, T, T1)
		near(t, "cp", get(t, s, Cp), get(t, i, Cp), 0.006*get(t, i, Cp))
		near(t, "c", get(t, s, C), get(t, i, C), 0.002*get(t, i, C))
		near(t, "v", get(t, s, V), get(t, i, V), 1e-4*get(t, i, V))
		dh, ds = append(dh, get(t, s, H)-get(t, i, H)), append(ds, get(t, s, S)-get(t, i, S))
	}
	near(t, "h from one datum to the other", slices.Max(dh), slices.Min(dh), 5e3)
	near(t, "s from one datum to the other", slices.Max(ds), slices.Min(ds), 4)
}

// Every inversion says what was solved and how well it is met.
func TestWaterInversion(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	w := loadWater()
	seen := map[string]bool{}
	for _, kind := range []int{1, 2, 3, 4, 5, 7} {
		for range 300 {
			s := drawWater(rng.Float64, kind)
			for _, pair := range waterPairs {
				back, err := s.fluid.State(pair[0], w.get(pair[0], &s.fixed), pair[1], w.get(pair[1], &s.fixed))
				if err != nil {
					continue // told by the round trips
				}
				in, ok := back.Inversion()
				if !ok {
					if pair[1] != X && pair != [2]Property{T, P} && !(pair == [2]Property{T, V} && back.region == 3) {
						t.Errorf("(%s,%s) in region %d: no inversion", pair[0], pair[1], back.region)
					}
					continue
				}
				seen[fmt.Sprintf("%s from %s", in.Of, in.From)] = true
				near(t, fmt.Sprintf("(%s,%s), %s from %s: residual", pair[0], pair[1], in.Of, in.From), in.Residual, 0,
					1e-10*(math.Abs(in.Target)+1e3))
				if in.Steps > 60 || (in.Of == X) != (in.Steps == 0) {
					t.Errorf("%+v", in)
				}
			}
		}
	}
	for _, want := range []string{"T from h", "T from s", "T from u", "T from v", "T from p", "p from s", "p from v", "v from p", "x from h", "x from s", "x from v", "x from u"} {
		if !seen[want] {
			t.Errorf("no inversion of %s", want)
		}
	}
}

// The solvers allocate nothing, and many goroutines may use them from the start.
func TestWaterConcurrentAndLean(t *testing.T) {
	d, err := readWater(waterFile)
	if err != nil {
		t.Fatal(err)
	}
	fresh := sync.OnceValue(func() *if97 { return newWater(d) })
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			w := fresh()
			for _, p := range []float64{1e4, 1e6, 2e7, 3e7} {
				want := loadWater().fromPressure(H, p, 2.2e6)
				if got := w.fromPressure(H, p, 2.2e6); got != want {
					t.Errorf("%+v, want %+v", got, want)
				}
			}
			f, err := Lookup("water")
			if err != nil {
				t.Error(err)
				return
			}
			s, err := f.State(P, 1e5, S, 7000)
			if err != nil {
				t.Error(err)
				return
			}
			near(t, "x", s.x, 0.9404, 1e-3)
		})
	}
	wg.Wait()

	f := waterFluid()
	rng := rand.New(rand.NewPCG(6, 6))
	for _, kind := range []int{1, 2, 3, 4, 5, 7} {
		s := drawWater(rng.Float64, kind)
		for _, pair := range waterPairs {
			va, vb := f.water.get(pair[0], &s.fixed), f.water.get(pair[1], &s.fixed)
			sum := 0.0
			if n := testing.AllocsPerRun(20, func() {
				s := f.StateFast(pair[0], va, pair[1], vb)
				sum += s.GetFast(H) + s.GetFast(Cp) + s.GetFast(C)
			}); n != 0 {
				t.Errorf("(%s,%s) in region %d: %g allocations", pair[0], pair[1], kind, n)
			}
		}
	}
}
