package propsdb

import (
	"math"
	"math/rand/v2"
	"testing"
)

// sameBits: equal, or both no number.
func sameBits(a, b float64) bool {
	return math.Float64bits(a) == math.Float64bits(b) || a != a && b != b
}

// What is computed at many points at once is what is computed at one, to the bit.
func TestEachIsOne(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	const n = 500
	perfect, err := Perfect("cold", map[Property]float64{K: 1.4, Cp: 1005})
	if err != nil {
		t.Fatal(err)
	}
	products := mustBurn(t, mustReact(t, mustFuel(t, "CH4"), mustLookup0(t, "air")), ZeroKelvin, Amount{Kind: ExcessAir, Value: 1.5}).Fluid
	for _, f := range []*Fluid{mustLookup0(t, "air"), mustLookup0(t, "N2"), mustLookup0(t, "nC8H18"), perfect, products} {
		lo, hi := f.Range()
		ts, ps, logs := make([]float64, n), make([]float64, n), make([]float64, n)
		for i := range ts {
			ts[i], ps[i] = lo+(hi-lo)*rng.Float64()*rng.Float64(), 1e5*math.Exp(6*rng.Float64())
		}
		ts[0], ts[1] = lo, hi
		copy(ts[2:], f.Joints())
		LnEach(logs, ts)
		hs, sos := apply(f.HFast, ts), apply(f.SoFast, ts)
		for _, off := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e12, -1e12} { // outside every range
			hs, sos = append(hs, off), append(sos, off)
		}
		dst := make([]float64, n+5)
		same := func(what string, xs []float64, one func(float64) float64) {
			t.Helper()
			for i, x := range xs {
				if want := one(x); !sameBits(dst[i], want) {
					t.Fatalf("%s, %s of point %d at %v: %v, alone %v", f.Name(), what, i, x, dst[i], want)
				}
			}
		}
		f.EnthalpyEach(dst, ts, logs)
		same("h", ts, f.HFast)
		f.SoEach(dst, ts, logs)
		same("so", ts, f.SoFast)
		f.TofHEach(dst, hs)
		same("T of h", hs, f.TofHFast)
		f.TofSoEach(dst, sos)
		same("T of so", sos, f.TofSoFast)
		off := []float64{0, -1, 1e-7, 1e13, math.NaN(), math.Inf(1)}
		f.LogPressureEach(dst, off)
		same("R ln p", off, f.LogPressure)
		f.LogPressureEach(dst, ps)
		same("R ln p", ps, f.LogPressure)
		for i, p := range ps {
			if so := f.SoFast(ts[i]); !sameBits(f.GetFast(S, ts[i], p), so-dst[i]) || !sameBits(soOf(f.r, so, p), so+dst[i]) {
				t.Fatalf("%s: s at %v K, %v Pa is not so less R·ln p", f.Name(), ts[i], p)
			}
		}
	}
	xs := []float64{0, -1, math.Inf(1), math.Inf(-1), math.NaN(), 5e-324, 1e-310, 1, math.MaxFloat64}
	for range n {
		xs = append(xs, math.Exp(1400*(rng.Float64()-0.5)), 1+0.02*(rng.Float64()-0.5), 1+(rng.Float64()-0.5), 1+1e-9*(rng.Float64()-0.5))
	}
	dst := make([]float64, len(xs))
	LnEach(dst, xs)
	for i, x := range xs {
		if want := math.Log(x); !sameBits(dst[i], Ln(x)) || math.Abs(want) < math.Inf(1) && math.Abs(dst[i]-want) > 5e-16*math.Abs(want) || want-want != 0 && !sameBits(dst[i], want) {
			t.Errorf("ln(%g) = %v, alone %v, math.Log %v", x, dst[i], Ln(x), want)
		}
	}
}

// T from h and from so comes back to 1e-13 away from the joints of the data: of every gas, over
// its whole range. What a table leaves is no more than the last digits of y leave.
func TestTablesAreSharp(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for _, g := range Gases() {
		if !g.HasZero {
			continue
		}
		f := mustLookup0(t, g.Name)
		lo, hi := f.Range()
		for range 2000 {
			x := lo + (hi-lo)*math.Pow(rng.Float64(), 3)
			for _, back := range []struct {
				q Property
				t float64
				y float64
			}{{H, f.TofHFast(f.HFast(x)), f.HFast(x)}, {So, f.TofSoFast(f.SoFast(x)), f.SoFast(x)}} {
				dT := back.y / f.CpFast(x)
				if back.q == So {
					dT *= x
				}
				near := false
				for _, j := range f.Joints() {
					near = near || math.Abs(x-j) < 1e-3
				}
				if off := math.Abs(back.t - x); off > 1e-13*x+4e-16*math.Abs(dT) && !near && x < 6000 {
					t.Fatalf("%s: T = %.17g from %s comes back off by %.2g of itself", g.Name, x, back.q, off/x)
				}
			}
		}
	}
}
