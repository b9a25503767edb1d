package study

import (
	"math"
	"testing"
)

// The place of an extreme is as near as it is said to be, for smooth functions and for one with a
// kink, near zero and far from it. Where they are largest follows from their derivatives.
func TestRefineKeepsItsAccuracy(t *testing.T) {
	for _, x := range []struct {
		name       string
		f          func(float64) float64
		lo, at, hi float64
		most       float64 // the accuracy, at most
	}{
		{"parabola", func(x float64) float64 { return -(x - 3) * (x - 3) }, 2.5, 3, 4, 1e-8},
		{"x·exp(−x)", func(x float64) float64 { return x * math.Exp(-x) }, 0.5, 1, 1.5, 1e-9},
		{"far away", func(x float64) float64 { return 5 - math.Cosh((x-3e5)/2e4) }, 2.8e5, 3e5, 3.3e5, 1e-2},
		{"near zero", func(x float64) float64 { return math.Cos(x - 1e-3) }, -0.1, 1e-3, 0.1, 1e-7},
		{"kink", func(x float64) float64 { return -math.Abs(x - 1.7) }, 1.5, 1.7, 2, 1e-7},
		{"skew", func(x float64) float64 { return math.Log(x) - x*x/8 }, 1, 2, 4, 1e-8},
	} {
		calls := 0
		f := func(xs []float64) ([]float64, error) {
			out := make([]float64, len(xs))
			for i, v := range xs {
				out[i] = x.f(v)
			}
			calls += len(xs)
			return out, nil
		}
		middle := (x.lo + x.hi) / 2
		got, accuracy, err := refine(f, x.lo, middle, x.hi, x.f(middle))
		if err != nil || math.Abs(got-x.at) > accuracy+4e-16*math.Abs(x.at) || accuracy > x.most || calls > 400 {
			t.Errorf("%s: largest at %.15g ± %g after %d evaluations, and it is at %g (%v)", x.name, got, accuracy, calls, x.at, err)
		}
	}
}

func TestThinned(t *testing.T) {
	for n := 1; n < 300; n++ {
		for _, most := range []int{2, 5, 25} {
			p := Thinned(n, most)
			if len(p) > most || p[0] != 0 || p[len(p)-1] != n-1 || n <= most && len(p) != n {
				t.Fatalf("%d of %d: %v", most, n, p)
			}
			for i := 2; i < len(p)-1; i++ {
				if p[i]-p[i-1] != p[1]-p[0] {
					t.Fatalf("%d of %d: %v", most, n, p)
				}
			}
		}
	}
}

// The sample of a seek leaves no large part of the cube empty: every tenth of each side has its share.
func TestSequenceFillsTheCube(t *testing.T) {
	for d := 1; d <= 8; d++ {
		counts := make([][10]int, d)
		points := sequence(d, 1000)
		for _, u := range points {
			for i, v := range u {
				if v < 0 || v >= 1 {
					t.Fatalf("%d inputs: %v", d, u)
				}
				counts[i][int(10*v)]++
			}
		}
		for i, c := range counts {
			for tenth, n := range c {
				if n < 65 || n > 135 {
					t.Errorf("%d inputs: %d of 1000 points in tenth %d of input %d", d, n, tenth, i)
				}
			}
		}
	}
}
