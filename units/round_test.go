package units

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
)

// TestRound: the short way of rounding agrees with strconv, which works on the exact decimal value, to the
// last bit and character, near ties and powers of ten as well.
func TestRound(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for i := range 400_000 {
		v := math.Pow(10, r.Float64()*30-15)
		switch i % 5 {
		case 1:
			v = math.Float64frombits(r.Uint64())
		case 2:
			v = math.Pow10(r.IntN(24)-8) * (1 + float64(r.IntN(9)-4)*1e-16)
		case 3:
			v = (float64(r.IntN(100_000)) + 0.5) / math.Pow10(r.IntN(8)) // ties, some of them exact
		case 4:
			v = float64(r.IntN(1000)) / 8
		}
		if r.IntN(2) == 0 {
			v = -v
		}
		n := r.IntN(14)
		if got, want := string(AppendDecimals(nil, v, n)), strconv.FormatFloat(v, 'f', n, 64); got != want {
			t.Fatalf("%v with %d decimals: %s, want %s", v, n, got, want)
		}
		if got, want := RoundDecimals(v, n), reread(v, 'f', n); math.Float64bits(got) != math.Float64bits(want) {
			t.Fatalf("%v to %d decimals: %v, want %v", v, n, got, want)
		}
		if got, want := RoundDigits(v, n+1), reread(v, 'e', n); math.Float64bits(got) != math.Float64bits(want) {
			t.Fatalf("%v to %d digits: %v, want %v", v, n+1, got, want)
		}
		if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
			continue
		}
		figures, exp := scientificDigits(math.Abs(v), n+1, nil)
		got := fmt.Sprintf("%c.%se%+03d", figures[0], figures[1:], exp)
		if want := strconv.FormatFloat(math.Abs(v), 'e', n, 64); strings.Replace(got, ".e", "e", 1) != want {
			t.Fatalf("%v in %d digits: %s, want %s", v, n+1, got, want)
		}
	}
}
