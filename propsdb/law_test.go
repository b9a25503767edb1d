package propsdb

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Laws that hold for every fluid, tried on fluids, temperatures and pressures at
// random: database gases on both datums, mixtures, perfect gases.

func drawFluid(t *rapid.T) *Fluid {
	all := Gases()
	name := func(label string) string { return all[rapid.IntRange(0, len(all)-1).Draw(t, label)].Name }
	var f *Fluid
	var err error
	switch rapid.IntRange(0, 2).Draw(t, "kind") {
	case 0:
		f, err = LookupOn(name("gas"), Formation)
		if rapid.Bool().Draw(t, "from 0 K") {
			if g, err := f.WithDatum(ZeroKelvin); err == nil {
				f = g
			}
		}
	case 1:
		a, b := name("first"), name("second")
		x := rapid.Float64Range(0, 1).Draw(t, "fraction")
		parts := []Part{{a, x}, {b, 1 - x}}
		if a == b {
			parts = []Part{{a, 1}}
		}
		f, err = MixtureOn(Formation, "mix", Basis(rapid.IntRange(0, 1).Draw(t, "basis")), parts)
	default:
		f, err = Perfect("cold", map[Property]float64{
			K: rapid.Float64Range(1.05, 1.7).Draw(t, "k"), R: rapid.Float64Range(50, 5000).Draw(t, "R"),
		})
	}
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// drawT draws a temperature in range, away from the joints by 1e-4 of them.
func drawT(t *rapid.T, f *Fluid) float64 {
	lo, hi := f.Range()
	T := min(hi, lo*math.Pow(hi/lo, rapid.Float64Range(0, 1).Draw(t, "T")))
	for _, joint := range f.Joints() {
		if math.Abs(T-joint) < 1e-4*joint {
			T = min(hi, joint*1.001)
		}
	}
	return T
}

func drawP(t *rapid.T) float64 { return math.Pow(10, rapid.Float64Range(2, 8).Draw(t, "log p")) }

// dh = cp dT; and T ds = dh − v dp along any path, here T and p changed at once.
func TestGibbs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := drawFluid(t)
		lo, hi := f.Range()
		T := min(max(drawT(t, f), lo*1.0001), hi*0.9999)
		p := drawP(t)
		const d = 1e-5
		slope := rapid.Float64Range(-5, 5).Draw(t, "slope")
		up, down := T*(1+d), T*(1-d)
		pUp, pDown := p*(1+slope*d), p*(1-slope*d)
		dh := f.HFast(up) - f.HFast(down)
		ds := f.GetFast(S, up, pUp) - f.GetFast(S, down, pDown)
		cp := f.CpFast(T)
		// The differences lose the digits of h and s; the central one is off by
		// d² times a curvature.
		noise := 1e-6 + 1e-15/d*(math.Abs(f.HFast(T))/(cp*T)+f.SoFast(T)/cp+100)
		near(t, "dh/(cp dT)", dh/(cp*2*d*T), 1, noise)
		left, right := T*ds, dh-f.GetFast(V, T, p)*(pUp-pDown)
		near(t, "T ds = dh − v dp", left/(cp*2*d*T), right/(cp*2*d*T), 10*noise)
		near(t, "du = cv dT", (f.UFast(up)-f.UFast(down))/(f.GetFast(Cv, T, p)*2*d*T), 1, 10*noise)
	})
}

// Every pair gives back the state it was read from, in either order, and each
// property read from it is what it was.
func TestEveryPairRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := drawFluid(t)
		s := mustState(t, f, P, drawP(t), T, drawT(t, f))
		p, _ := s.P()
		pair := rapid.SampledFrom(pairs[:]).Draw(t, "pair")
		if rapid.Bool().Draw(t, "density") {
			for i := range pair {
				if pair[i] == V {
					pair[i] = Rho
				}
			}
		}
		a, b := pair[0], pair[1]
		if rapid.Bool().Draw(t, "turned") {
			a, b = b, a
		}
		back, err := f.State(a, get(t, s, a), b, get(t, s, b))
		if err != nil {
			t.Fatal(err)
		}
		// T to 1e-12 of itself (so carries p's rounding times R/cp); p over s
		// through exp(s/R), which multiplies the rounding of s.
		near(t, "T", back.T(), s.T(), 3e-12*s.T())
		pBack, known := back.P()
		if !known {
			t.Fatal("no pressure")
		}
		near(t, "p", pBack, p, p*(1e-11+1e-14*math.Abs(f.SoFast(s.T()))/f.R()+1e-11*f.CpFast(s.T())/f.R()))
		if get(t, back, a) != get(t, s, a) || get(t, back, b) != get(t, s, b) {
			t.Fatalf("what was given does not come back")
		}
	})
}

// The checked and the Fast forms give the same bits.
func TestFastIsTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := drawFluid(t)
		T1, p := drawT(t, f), drawP(t)
		for _, c := range []struct {
			q       Property
			checked func(float64) (float64, error)
		}{{H, f.H}, {U, f.U}, {So, f.So}, {Cp, f.Cp}, {Cv, f.Cv}, {K, f.K}, {C, f.C}} {
			v, err := c.checked(T1)
			if err != nil || v != f.GetFast(c.q, T1, p) {
				t.Fatalf("%s: %g, %g, %v", c.q, v, f.GetFast(c.q, T1, p), err)
			}
		}
		s := mustState(t, f, P, p, T, T1)
		for q := T; q < X; q++ {
			v, err := s.Get(q)
			if fast := f.GetFast(q, T1, p); err == nil && v != fast {
				t.Fatalf("%s: %g, fast %g", q, v, fast)
			}
		}
		for _, q := range []Property{P, V, Rho, S, X} {
			if v := f.GetFast(q, T1, nan); v == v {
				t.Fatalf("%s without a pressure: %g", q, v)
			}
		}
		for _, q := range []Property{T, V, Rho, H, S, U, So, Cp, Cv, K, C, Pr, Vr} {
			if v := f.GetFast(q, nan, p); v == v {
				t.Fatalf("%s without a temperature: %g", q, v)
			}
		}
		if k := get(t, s, K); !(k > 1) || get(t, s, C) <= 0 {
			t.Fatalf("k = %g", k)
		}
	})
}

// FuzzState: whatever the fluid, the pair and the numbers, there is an error or
// every property is finite, and never a panic.
func FuzzState(f *testing.F) {
	f.Add(uint8(0), uint8(P), 1e5, uint8(T), 300.0)
	f.Add(uint8(1), uint8(S), 7000.0, uint8(P), 8e5)
	f.Add(uint8(2), uint8(V), math.SmallestNonzeroFloat64, uint8(S), -1e308)
	f.Add(uint8(3), uint8(Rho), math.MaxFloat64, uint8(U), 1e6)
	f.Add(uint8(4), uint8(H), math.Inf(1), uint8(S), math.NaN())
	f.Add(uint8(2), uint8(T), 1.0, uint8(P), 1e-6)
	f.Add(uint8(2), uint8(P), 1e308, uint8(V), 1e308)
	f.Add(uint8(1), uint8(Rho), 0.0, uint8(S), 0.0)
	f.Add(uint8(7), uint8(P), 1e5, uint8(T), 500.0)
	f.Add(uint8(7), uint8(H), 2.5e6, uint8(S), 8000.0)
	f.Add(uint8(7), uint8(T), 647.096, uint8(X), 0.5)
	f.Add(uint8(7), uint8(P), 22.064e6, uint8(H), 2.087e6)
	f.Add(uint8(7), uint8(Rho), 1000.0, uint8(P), 611.3)
	fluids := []*Fluid{
		mustLookup0(f, "air"), mustLookup(f, "N2"), mustPerfect(f, map[Property]float64{K: 1.0001, R: 287}),
		mustMix(f, Mole, Part{"CH4", 0.3}, Part{"He", 0.7}), mustLookup(f, "JetA"),
		mustPerfect(f, map[Property]float64{K: 1e6, Cp: 1e9}), mustPerfect(f, map[Property]float64{K: 1.001, R: 1e-3}),
		waterFluid(),
	}
	f.Fuzz(func(t *testing.T, which, a uint8, va float64, b uint8, vb float64) {
		fluid := fluids[int(which)%len(fluids)]
		pa, pb := Property(a%23), Property(b%23) // two beyond the last, too
		s, err := fluid.State(pa, va, pb, vb)
		if T, p := fluid.SolveFast(pa, va, pb, vb); err == nil && (T != s.T() || p != p) || err != nil && (T == T || p == p) {
			t.Fatalf("SolveFast gives %g K, %g Pa, State %v", T, p, err)
		}
		if err != nil {
			if err.Error() == "" {
				t.Fatal("an error says nothing")
			}
			return
		}
		if lo, hi := fluid.Range(); !(s.T() >= lo && s.T() <= hi) {
			t.Fatalf("T = %g outside %g to %g", s.T(), lo, hi)
		}
		for q := Property(0); q < 23; q++ {
			v, err := s.Get(q)
			if err == nil && (v != v || math.IsInf(v, 0)) {
				t.Fatalf("%s = %g", q, v)
			}
			if fast := s.GetFast(q); err == nil && fast != v && math.Abs(v) < math.MaxFloat64 || err != nil && fast == fast && !math.IsInf(fast, 0) {
				t.Fatalf("%s = %g, %v; fast %g", q, v, err, fast)
			}
			if fluid.Kind() == Water {
				wet := isMixed(q) || q == T || q == P || q == R || q == M
				if err != nil && wet || err == nil && (q == So || q == Pr || q == Vr) {
					t.Fatalf("%s of (%s=%g, %s=%g): %g, %v", q, pa, va, pb, vb, v, err)
				}
				continue
			}
			if err != nil && q < Pr {
				t.Fatalf("%s of (%s=%g, %s=%g): %v", q, pa, va, pb, vb, err)
			}
		}
		if in, ok := s.Inversion(); ok && (math.IsNaN(in.Residual) || math.IsInf(in.Residual, 0)) {
			t.Fatalf("%+v", in)
		}
	})
}
