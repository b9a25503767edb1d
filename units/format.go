package units

import (
	"math"
	"strconv"
	"strings"
)

// The powers of ten below which, and from which on, a number is always written with its power of ten.
const (
	lowestFixed = -4
	scientific  = 7
)

// shortWhole is how many figures before the point nobody replaces by a power of ten.
const shortWhole = 5

// FormatNumber writes v to so many significant digits (1 to 17), rounded half to even on the exact value of
// the float, with its trailing zeros: 300.00, 0.0012500, −45.6.
//
// A power of ten (1.2346×10⁵) is written below 1e-4, from 1e7 on, and where the digits do not reach the decimal
// point: zeros in place of figures that were rounded away would pass for figures. Numbers of up to five figures
// before the point are the exception, since nobody writes 1.30×10³ K for 1300 K.
func FormatNumber(v float64, digits int) string { return formatNumber(v, digits, false) }

// FormatNumberASCII is FormatNumber in ASCII: -1.2346e5.
func FormatNumberASCII(v float64, digits int) string { return formatNumber(v, digits, true) }

func formatNumber(v float64, digits int, ascii bool) string {
	digits = min(max(digits, 1), 17)
	minus, infinity := "−", "∞"
	if ascii {
		minus, infinity = "-", "Inf"
	}
	switch {
	case math.IsNaN(v):
		return "NaN"
	case math.IsInf(v, 1):
		return infinity
	case math.IsInf(v, -1):
		return minus + infinity
	case v == 0:
		return "0"
	}
	// strconv rounds the exact decimal value, half to even. The exponent below is that of the rounded value.
	mantissa, exponent, _ := strings.Cut(strconv.FormatFloat(math.Abs(v), 'e', digits-1, 64), "e")
	exp, _ := strconv.Atoi(exponent)
	sign := ""
	if v < 0 {
		sign = minus
	}
	if exp < lowestFixed || exp >= scientific || exp >= max(digits, shortWhole) {
		switch {
		case ascii:
			return sign + mantissa + "e" + strconv.Itoa(exp)
		default:
			return sign + mantissa + "×10" + superscript(exp)
		}
	}
	figures := strings.Replace(mantissa, ".", "", 1)
	switch {
	case exp < 0:
		return sign + "0." + strings.Repeat("0", -exp-1) + figures
	case exp+1 >= len(figures):
		return sign + figures + strings.Repeat("0", exp+1-len(figures))
	}
	return sign + figures[:exp+1] + "." + figures[exp+1:]
}
