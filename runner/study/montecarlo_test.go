package study

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// The tails of values are those of the values sorted, whatever their order and however many are equal.
func TestTails(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for name, value := range map[string]func(i int) float64{
		"normal": func(int) float64 { return random.NormFloat64() },
		"rising": func(i int) float64 { return float64(i) },
		"equal":  func(int) float64 { return 3 },
		"steps":  func(i int) float64 { return float64(i % 5) },
		"every":  func(i int) float64 { return math.Abs(float64(i%64)) - float64(i)*1e-9 },
	} {
		for _, n := range []int{2, 21, 1000, 100_000} {
			y := make([]float64, n)
			for i := range y {
				y[i] = value(i)
			}
			k := max(1, n/20)
			sorted := slices.Sorted(slices.Values(y))
			low, high := tails(y, k)
			if !slices.Equal(low, sorted[:k]) || !slices.Equal(high, sorted[n-k:]) {
				t.Errorf("%s, %d values: other tails", name, n)
			}
		}
	}
}

// A value ends where the second digit of its uncertainty does (JCGM 100:2008, 7.2.6; as quoted).
func TestRounded(t *testing.T) {
	for _, c := range []struct {
		value, u float64
		want     string
	}{
		{0.42346, 0.0031, "0.4235"},
		{1203.4, 12, "1203"},
		{1203.4, 120, "1200"},
		{9.99996, 0.012, "10.000"},
		{9.9996, 0.0012, "9.9996"},
		{-9.99996, 0.0012, "−10.0000"},
		{50.000838, 0.000032, "50.000838"},
		{0.001, 0.31, "0.001"},
		{100, 0.996, "100.0"}, // 0.996 is given as 1.0
		{0, 0.5, "0"},
	} {
		if got := rounded(c.value, c.u); got != c.want {
			t.Errorf("%g ± %g is given as %s, want %s", c.value, c.u, got, c.want)
		}
	}
}

// Half a unit in the last of two digits: of u = 0.00035 g it is 0.000005 g (JCGM 101:2008, 7.9.2, example 1;
// from memory). An uncertainty that two digits round to the next power of ten has those of that power.
func TestTolerance(t *testing.T) {
	for u, want := range map[float64]float64{0.00035: 0.000005, 0.10: 0.005, 0.0999: 0.005, 0.0994: 0.0005, 24: 0.5, 99.6: 5} {
		if got := Tolerance(u); math.Abs(got-want) > 1e-9*want {
			t.Errorf("Tolerance(%g) = %g, want %g", u, got, want)
		}
	}
}
