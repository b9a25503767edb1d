package propsdb

import (
	"math"
	"strings"
	"sync"
	"testing"
)

// Hand-derived: nitrogen at 300 K and 1 bar. R = 8314.510/28.0134 J/(kg·K),
// v = R T/p, rho = 1/v; cp = 29.125 J/(mol·K) and so = 191.789 J/(mol·K) are
// JANAF's printed figures at 300 K (table N-023), the rest follows from them.
func TestNitrogenByHand(t *testing.T) {
	f := mustLookup0(t, "N2")
	s := mustState(t, f, P, 1e5, T, 300)
	r := 8314.510 / 28.0134
	cp := 29.125 / 0.0280134
	for _, c := range []struct {
		q            Property
		want, within float64
	}{
		{R, r, 1e-9}, {V, r * 300 / 1e5, 1e-12}, {Rho, 1e5 / (r * 300), 1e-12}, {M, 0.0280134, 1e-15}, {Z, 1, 0},
		{Cp, cp, 0.1}, {Cv, cp - r, 0.1}, {K, cp / (cp - r), 1e-4}, {C, math.Sqrt(cp / (cp - r) * r * 300), 0.02},
		{So, 191.789 / 0.0280134, 0.1}, {S, 191.789 / 0.0280134, 0.1}, {T, 300, 0}, {P, 1e5, 0},
		{Pr, 1.386, 1e-12}, {Vr, 621.2, 1e-9},
	} {
		near(t, c.q.Symbol(), get(t, s, c.q), c.want, c.within)
	}
	near(t, "u", get(t, s, U), get(t, s, H)-1e5*get(t, s, V), 1e-9)
	hot := mustState(t, f, P, 10e5, T, 300)
	near(t, "s at 10 bar", get(t, hot, S), get(t, s, S)-r*math.Log(10), 1e-10)
}

// The joint at 1000 K, air: h falls by 5.5 mJ/kg and so by 2.0e-5 J/(kg·K) from
// the lower to the upper polynomial (performance notes of the project, measured
// with another program: −5.5e-6 kJ/kg and −2.0e-8 kJ/(kg·K)).
func TestJoint(t *testing.T) {
	f := mustLookup0(t, "air")
	h, so := f.Gap(0)
	near(t, "gap in h", h, -5.5e-3, 5e-5)
	near(t, "gap in so", so, -2.0e-5, 5e-7)
	if got, _ := f.H(1000); got != f.atP.segs[1].enthalpy(1000, 1e-3, ln(1000)) {
		t.Error("at the joint the upper polynomial does not count")
	}

	for _, in := range Gases() {
		f := mustLookup(t, in.Name)
		for _, q := range []struct {
			forward, back func(float64) float64
			gap           func(h, so float64) float64
		}{
			{f.HFast, f.TofHFast, func(h, _ float64) float64 { return h }},
			{f.SoFast, f.TofSoFast, func(_, so float64) float64 { return so }},
		} {
			for i, joint := range f.Joints() {
				y := q.forward(joint)
				if got := q.back(y); got != joint {
					near(t, in.Name+": T of y at the joint", got, joint, 1e-12*joint)
				}
				// T(y) never falls, through the gap and well to both sides,
				// beyond what the last digits of y leave open.
				gap := math.Abs(q.gap(f.Gap(i)))
				blur := 4e-16*math.Abs(y) + 1e-12*f.CpFast(joint)*min(joint, 1e9*math.Abs(y))
				step := 0.1*gap + blur
				last := 0.0
				for n := -100; n <= 100; n++ {
					T := q.back(y + float64(n)*step)
					if !(T >= last*(1-2e-13)) {
						t.Errorf("%s: T falls by %g at step %d about %g K", in.Name, last-T, n, joint)
					}
					last = T
				}
				// And no value is off by more than the gap.
				for _, T := range []float64{joint * (1 - 1e-9), math.Nextafter(joint, 0), joint, joint * (1 + 1e-9)} {
					near(t, in.Name+": y of T of y", q.forward(q.back(q.forward(T))), q.forward(T), 1.01*gap+10*blur)
				}
			}
		}
	}
}

// The whole range of every gas, both datums' worth of offsets: the round trip to
// 1e-12 but for 1e-6 K/K about the joints, where the gap is stated instead.
func TestRoundTripOfEveryGas(t *testing.T) {
	for _, in := range Gases() {
		f := mustLookup(t, in.Name)
		lo, hi := f.Range()
	temperatures:
		for i := range 1501 {
			T := min(hi, lo*math.Pow(hi/lo, float64(i)/1500))
			for _, joint := range f.Joints() {
				if math.Abs(T-joint) < 1e-6*joint {
					continue temperatures
				}
			}
			near(t, in.Name+" T(h)", f.TofHFast(f.HFast(T)), T, 1e-12*T)
			near(t, in.Name+" T(u)", f.TofUFast(f.UFast(T)), T, 1e-12*T)
			near(t, in.Name+" T(so)", f.TofSoFast(f.SoFast(T)), T, 1e-12*T)
			v := f.R() * T / 1e5
			T2, _ := f.SolveFast(V, v, S, f.GetFast(S, T, 1e5))
			near(t, in.Name+" T(v,s)", T2, T, 1e-12*T)
		}
	}
}

func TestLogarithm(t *testing.T) {
	for x := 1e-12; x < 1e20; x *= 1.0003 {
		near(t, "ln", ln(x), math.Log(x), 5e-16*max(1, math.Abs(math.Log(x))))
	}
	for _, x := range []float64{0.5, 1, 2, 1024, 0.6875, 1.375, math.Nextafter(1.375, 0)} {
		near(t, "ln", ln(x), math.Log(x), 3e-16)
	}
}

func TestRangeErrors(t *testing.T) {
	f := mustLookup0(t, "air")
	for _, c := range []struct {
		a      Property
		va     float64
		b      Property
		vb     float64
		of     Property
		lo, hi float64
	}{
		{P, 1e5, T, 199.9, T, 200, 6000},
		{P, 1e5, T, 6000.1, T, 200, 6000},
		{P, 1e5, H, 1e3, H, f.HFast(200), f.HFast(6000)},
		{H, 1e9, P, 1e5, H, f.HFast(200), f.HFast(6000)},
		{U, -1, V, 1, U, f.UFast(200), f.UFast(6000)},
		{P, 8e5, S, 0, S, f.GetFast(S, 200, 8e5), f.GetFast(S, 6000, 8e5)},
		{P, 8e5, S, 2e4, S, f.GetFast(S, 200, 8e5), f.GetFast(S, 6000, 8e5)},
		{V, 1, S, 0, S, f.GetFast(S, 200, f.R()*200), f.GetFast(S, 6000, f.R()*6000)},
		{Rho, 1, S, 2e4, S, f.GetFast(S, 200, f.R()*200), f.GetFast(S, 6000, f.R()*6000)},
		{P, 1e5, V, 0.1, T, 200, 6000},
		{P, 1e5, Rho, 0.01, T, 200, 6000},
		{T, 300, S, 1e6, P, PressureMin, PressureMax},
		{T, 300, V, 1e300, P, PressureMin, PressureMax},
		{H, 3e5, S, -1e6, P, PressureMin, PressureMax},
		{P, 1e-9, T, 300, P, PressureMin, PressureMax},
		{P, 1e13, S, 7000, P, PressureMin, PressureMax},
	} {
		_, err := f.State(c.a, c.va, c.b, c.vb)
		e := as[*RangeError](t, c.a.Symbol()+","+c.b.Symbol(), err)
		if e.Property != c.of || !strings.Contains(e.Of, "air") {
			t.Errorf("(%s,%s): %v", c.a, c.b, e)
		}
		near(t, "lo", e.Lo, c.lo, 1e-9*math.Abs(c.lo))
		near(t, "hi", e.Hi, c.hi, 1e-9*math.Abs(c.hi))
	}
	// The ends themselves are in, by every way round.
	for _, in := range Gases() {
		f := mustLookup(t, in.Name)
		lo, hi := f.Range()
		for _, T1 := range []float64{lo, hi} {
			s := mustState(t, f, P, 3.3e5, T, T1)
			for _, pair := range pairs {
				back := mustState(t, f, pair[0], get(t, s, pair[0]), pair[1], get(t, s, pair[1]))
				near(t, in.Name+" T at the end", back.T(), T1, 1e-11*T1)
			}
		}
		for _, fn := range []func(float64) (float64, error){f.H, f.U, f.So, f.Cp, f.Cv, f.K, f.C} {
			for _, T1 := range []float64{math.Nextafter(lo, 0), math.Nextafter(hi, 1e9)} {
				v, err := fn(T1)
				as[*RangeError](t, in.Name, err)
				if v == v {
					t.Errorf("%s: %g beside an error", in.Name, v)
				}
			}
			if _, err := fn(lo); err != nil {
				t.Error(err)
			}
			if _, err := fn(hi); err != nil {
				t.Error(err)
			}
		}
		_, err := f.TofH(f.HFast(lo) - 1)
		as[*RangeError](t, in.Name, err)
		_, err = f.TofSo(f.SoFast(hi) + 1)
		as[*RangeError](t, in.Name, err)
		_, err = f.TofU(f.UFast(hi) + 1)
		as[*RangeError](t, in.Name, err)
	}
	_, err := f.Table([]float64{300, 100})
	as[*RangeError](t, "table", err)
}

func TestPairErrors(t *testing.T) {
	f := mustLookup0(t, "air")
	allowed := map[[2]Property]bool{}
	for _, p := range pairs {
		allowed[p], allowed[[2]Property{p[1], p[0]}] = true, true
	}
	refused := 0
	for a := T; a <= X; a++ {
		for b := T; b <= X; b++ {
			pa, pb := a, b
			if a == Rho {
				pa = V
			}
			if b == Rho {
				pb = V
			}
			if f.Fixes(a, b) != allowed[[2]Property{pa, pb}] {
				t.Errorf("Fixes(%s,%s) = %v", a, b, f.Fixes(a, b))
			}
			if f.Fixes(a, b) {
				continue
			}
			refused++
			_, err := f.State(a, 300, b, 300)
			if e := as[*PairError](t, a.Symbol()+","+b.Symbol(), err); len(e.Allowed) != len(pairs) || !strings.Contains(e.Error(), "(p,h)") {
				t.Errorf("%v", e)
			}
			if T, p := f.SolveFast(a, 300, b, 300); T == T || p == p {
				t.Errorf("SolveFast(%s,%s) = %g, %g", a, b, T, p)
			}
		}
	}
	counted(t, "refused pairs", refused, 18*18-2*(12+5)) // rho for v in five of the twelve
}

func TestValueErrors(t *testing.T) {
	f := mustLookup0(t, "air")
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		for _, p := range pairs {
			for _, swap := range []bool{false, true} {
				va, vb := bad, 300.0
				if swap {
					va, vb = vb, va
				}
				_, err := f.State(p[0], va, p[1], vb)
				as[*ValueError](t, "not finite", err)
			}
		}
		_, err := f.StateT(bad)
		as[*ValueError](t, "T", err)
		_, err = f.StateH(bad)
		as[*ValueError](t, "h", err)
		_, err = f.TofSo(bad)
		as[*ValueError](t, "so", err)
		_, err = f.H(bad)
		as[*ValueError](t, "h of T", err)
	}
	for _, bad := range []float64{0, -1, math.Copysign(0, -1)} {
		for _, q := range []Property{P, V, Rho} {
			_, err := f.State(q, bad, T, 300)
			if e := as[*ValueError](t, q.Symbol(), err); e.Property != q {
				t.Errorf("%v", e)
			}
		}
		_, err := f.State(P, 1e5, T, bad)
		as[*ValueError](t, "T", err)
	}
}

func TestStateWithoutPressure(t *testing.T) {
	f := mustLookup0(t, "CO2")
	a, err := f.StateT(500)
	if err != nil {
		t.Fatal(err)
	}
	b, err := f.StateH(f.HFast(500))
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range []State{a, b} {
		for q := T; q <= X; q++ {
			v, err := s.Get(q)
			switch q {
			case P, V, Rho, S:
				if e := as[*NeedsPressureError](t, q.Symbol(), err); e.Property != q {
					t.Errorf("%v", e)
				}
			case X:
				as[*NoPropertyError](t, "x", err)
			default:
				if err != nil || v != v {
					t.Errorf("%s: %g, %v", q, v, err)
				}
			}
		}
		if _, known := s.P(); known {
			t.Error("a pressure is known")
		}
	}
	if _, ok := a.Inversion(); ok {
		t.Error("T was given, not found")
	}
	if in, ok := b.Inversion(); !ok || in.From != H || in.Of != T || in.Steps != 0 {
		t.Errorf("inversion %+v", in)
	}
	_, err = State{}.Get(T)
	as[*NoPropertyError](t, "zero state", err)
	if _, ok := (State{}).Inversion(); ok || (State{}).Fluid() != nil {
		t.Error("the zero state has a fluid")
	}
}

func TestInversion(t *testing.T) {
	f := mustLookup0(t, "air")
	s1 := mustState(t, f, P, 1e5, T, 300)
	s2 := mustState(t, f, S, get(t, s1, S), P, 8e5)
	in, ok := s2.Inversion()
	if !ok || in.Of != T || in.From != So || in.Steps != 0 {
		t.Fatalf("%+v", in)
	}
	near(t, "target", in.Target, get(t, s1, S)+f.R()*math.Log(8), 1e-9)
	near(t, "residual", in.Residual, 0, 1e-9)
	for _, c := range []struct {
		a, b, from Property
	}{{P, H, H}, {H, S, H}, {V, H, H}, {P, U, U}, {V, U, U}, {S, U, U}, {V, S, S}, {Rho, S, S}} {
		s := mustState(t, f, c.a, get(t, s2, c.a), c.b, get(t, s2, c.b))
		in, ok := s.Inversion()
		if !ok || in.From != c.from {
			t.Errorf("(%s,%s): %+v", c.a, c.b, in)
		}
		near(t, "residual", in.Residual, 0, 1e-8)
		near(t, "target", in.Target, get(t, s2, c.from), 1e-8)
	}
	for _, b := range []Property{T, V, Rho} {
		if in, ok := mustState(t, f, P, 8e5, b, get(t, s2, b)).Inversion(); ok {
			t.Errorf("(p,%s): %+v", b, in)
		}
	}
	// In the gap at a joint the residual tells what the gap costs.
	g := mustLookup0(t, "N2") // h rises there
	gap, _ := g.Gap(0)
	s, err := g.StateH(g.HFast(1000) - gap/2)
	if err != nil {
		t.Fatal(err)
	}
	in, _ = s.Inversion()
	near(t, "residual in the gap", in.Residual, gap/2, gap/50)
	if gap <= 0 || s.T() != 1000 {
		t.Errorf("gap %g, T %.15g", gap, s.T())
	}
}

// First use from many goroutines at once, under -race.
func TestConcurrentUse(t *testing.T) {
	mix := mustMix(t, Mole, Part{"N2", 0.7}, Part{"CO2", 0.3})
	want, err := Mixture("again", Mole, []Part{{"N2", 0.7}, {"CO2", 0.3}})
	if err != nil {
		t.Fatal(err)
	}
	s0 := mustState(t, want, P, 2e5, T, 900)
	var wg sync.WaitGroup
	for range 16 {
		wg.Go(func() {
			for _, p := range pairs {
				s, err := mix.State(p[0], get(t, s0, p[0]), p[1], get(t, s0, p[1]))
				if err != nil {
					t.Error(err)
					return
				}
				near(t, "T", s.T(), 900, 1e-9)
			}
			for _, in := range Gases()[:8] {
				f, err := LookupOn(in.Name, Formation)
				if err != nil {
					t.Error(err)
					return
				}
				near(t, "T", f.TofSoFast(f.SoFast(777)), 777, 1e-9)
			}
		})
	}
	wg.Wait()
}
