package propsdb

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Benchmarks of the calls an evaluation engine makes: air at random T from 280 K
// to 1800 K, over the joint at 1000 K, so that branches are not foreseen.

const benchPoints = 4096 // a power of two

func benchFluid(b *testing.B) (f *Fluid, ts []float64) {
	b.Helper()
	f, err := Lookup("air")
	if err != nil {
		b.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 2))
	ts = make([]float64, benchPoints)
	for i := range ts {
		ts[i] = 280 + 1520*rng.Float64()
	}
	return f, ts
}

func apply(fn func(float64) float64, xs []float64) []float64 {
	ys := make([]float64, len(xs))
	for i, x := range xs {
		ys[i] = fn(x)
	}
	return ys
}

func benchFunc(b *testing.B, fn func(float64) float64, xs []float64) {
	fn(xs[0]) // builds the table, if there is one
	var sum float64
	i := 0
	for b.Loop() {
		sum += fn(xs[i&(benchPoints-1)])
		i++
	}
	if sum != sum {
		b.Fatal("a point fell outside the range")
	}
}

func BenchmarkLog(b *testing.B)     { _, ts := benchFluid(b); benchFunc(b, ln, ts) }
func BenchmarkMathLog(b *testing.B) { _, ts := benchFluid(b); benchFunc(b, math.Log, ts) }
func BenchmarkCp(b *testing.B)      { f, ts := benchFluid(b); benchFunc(b, f.CpFast, ts) }
func BenchmarkH(b *testing.B)       { f, ts := benchFluid(b); benchFunc(b, f.HFast, ts) }
func BenchmarkSo(b *testing.B)      { f, ts := benchFluid(b); benchFunc(b, f.SoFast, ts) }

func BenchmarkTofH(b *testing.B) {
	f, ts := benchFluid(b)
	benchFunc(b, f.TofHFast, apply(f.HFast, ts))
}

func BenchmarkTofSo(b *testing.B) {
	f, ts := benchFluid(b)
	benchFunc(b, f.TofSoFast, apply(f.SoFast, ts))
}

func benchPair(b *testing.B, q Property) {
	f, ts := benchFluid(b)
	ys := apply(func(t float64) float64 { return f.GetFast(q, t, 3e5) }, ts)
	b.Run("Fast", func(b *testing.B) {
		benchFunc(b, func(y float64) float64 { t, _ := f.SolveFast(P, 3e5, q, y); return t }, ys)
	})
	b.Run("State", func(b *testing.B) {
		benchFunc(b, func(y float64) float64 {
			s, err := f.State(P, 3e5, q, y)
			if err != nil {
				b.Fatal(err)
			}
			return s.T()
		}, ys)
	})
}

func BenchmarkStatePH(b *testing.B) { benchPair(b, H) }
func BenchmarkStatePS(b *testing.B) { benchPair(b, S) }

func BenchmarkTableBuild(b *testing.B) {
	f, _ := benchFluid(b)
	for b.Loop() {
		newTable(&f.atP, entropy, false)
	}
}

func BenchmarkReadData(b *testing.B) {
	for b.Loop() {
		readDatabase()
	}
}

func BenchmarkMixture(b *testing.B) {
	parts := []Part{{"N2", 0.78}, {"O2", 0.21}, {"Ar", 0.01}}
	for b.Loop() {
		if _, err := Mixture("dry", Mole, parts); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkEach is the cost of a point where many are computed at once.
func BenchmarkEach(b *testing.B) {
	f, ts := benchFluid(b)
	hs, sos := apply(f.HFast, ts), apply(f.SoFast, ts)
	dst, logs := make([]float64, 256), make([]float64, 256)
	for _, c := range []struct {
		name string
		xs   []float64
		fn   func(dst, x []float64)
	}{
		{"Ln", ts, LnEach},
		{"H", ts, func(dst, t []float64) { LnEach(logs, t); f.EnthalpyEach(dst, t, logs) }},
		{"So", ts, func(dst, t []float64) { LnEach(logs, t); f.SoEach(dst, t, logs) }},
		{"LogPressure", ts, f.LogPressureEach},
		{"TofH", hs, f.TofHEach},
		{"TofSo", sos, f.TofSoEach},
	} {
		b.Run(c.name, func(b *testing.B) {
			n := 0
			for b.Loop() {
				at := n % (benchPoints - 256)
				c.fn(dst, c.xs[at:at+256])
				n += 256
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(n), "ns/point")
		})
	}
}
