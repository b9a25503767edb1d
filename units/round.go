package units

import (
	"math"
	"strconv"
)

// tens are the powers of ten that a float64 holds exactly.
var tens = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// RoundDecimals is the float nearest to v rounded to so many decimals, half to even on the exact value of v.
func RoundDecimals(v float64, decimals int) float64 {
	if x, ok := shifted(v, decimals); ok {
		return shiftBack(math.RoundToEven(x), decimals)
	}
	return reread(v, 'f', decimals)
}

// RoundDigits is the float nearest to v rounded to so many significant digits, half to even on the exact value of v.
func RoundDigits(v float64, digits int) float64 {
	if n, exp, ok := significant(math.Abs(v), digits); ok {
		return math.Copysign(shiftBack(n, digits-1-exp), v)
	}
	return reread(v, 'e', digits-1)
}

func reread(v float64, format byte, n int) float64 {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, format, n, 64), 64)
	if err != nil {
		return v
	}
	return r
}

// AppendDecimals appends v with so many decimals, as strconv writes it in the format f.
func AppendDecimals(b []byte, v float64, decimals int) []byte {
	x, ok := shifted(math.Abs(v), decimals)
	if !ok {
		return strconv.AppendFloat(b, v, 'f', decimals, 64)
	}
	if math.Signbit(v) {
		b = append(b, '-')
	}
	var buf [24]byte
	figures := strconv.AppendInt(buf[:0], int64(math.RoundToEven(x)), 10)
	whole := len(figures) - decimals
	switch {
	case decimals == 0:
		return append(b, figures...)
	case whole > 0:
		return append(append(append(b, figures[:whole]...), '.'), figures[whole:]...)
	}
	b = append(b, "0."...)
	for range -whole {
		b = append(b, '0')
	}
	return append(b, figures...)
}

// significant is v > 0 as n·10^(exp−digits+1), where n is whole and has so many digits. ok is false where only
// strconv can tell.
func significant(v float64, digits int) (n float64, exp int, ok bool) {
	if !(v > 0) || digits < 1 {
		return 0, 0, false
	}
	// v lies between two powers of two, so that the exponent of ten is this or one more.
	_, two := math.Frexp(v)
	exp = int(math.Floor(float64(two-1) * (math.Ln2 / math.Ln10)))
	x, ok := shifted(v, digits-1-exp)
	if x >= tens[min(digits, len(tens)-1)] {
		exp++
		x, ok = shifted(v, digits-1-exp)
	}
	n = math.RoundToEven(x)
	if n == tens[min(digits, len(tens)-1)] { // rounded up to one more digit
		n /= 10
		exp++
	}
	return n, exp, ok
}

// shifted is v·10^n. ok says that rounding it to a whole number gives what rounding the exact product would: it
// is not too near to halfway between two of them. Up to 1e12 the product is off by less than 2e-4.
func shifted(v float64, n int) (x float64, ok bool) {
	switch {
	case n >= 0 && n < len(tens):
		x = v * tens[n]
	case n < 0 && -n < len(tens):
		x = v / tens[-n]
	default:
		return 0, false
	}
	return x, math.Abs(x) < 1e12 && math.Abs(math.Abs(x-math.RoundToEven(x))-0.5) > 1e-3
}

// shiftBack is n/10^shift for a whole n below 2^53, rounded once.
func shiftBack(n float64, shift int) float64 {
	if shift >= 0 {
		return n / tens[shift]
	}
	return n * tens[-shift]
}
