package units

import (
	"bytes"
	"math"
	"strconv"
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
func FormatNumber(v float64, digits int) string {
	var b [48]byte
	return string(AppendNumber(b[:0], v, digits))
}

// AppendNumber appends FormatNumber to b.
func AppendNumber(b []byte, v float64, digits int) []byte { return appendNumber(b, v, digits, false) }

// FormatNumberASCII is FormatNumber in ASCII: -1.2346e5.
func FormatNumberASCII(v float64, digits int) string {
	var b [48]byte
	return string(appendNumber(b[:0], v, digits, true))
}

func appendNumber(b []byte, v float64, digits int, ascii bool) []byte {
	digits = min(max(digits, 1), 17)
	minus, infinity := "−", "∞"
	if ascii {
		minus, infinity = "-", "Inf"
	}
	switch {
	case math.IsNaN(v):
		return append(b, "NaN"...)
	case v == 0:
		return append(b, '0')
	case v < 0:
		b = append(b, minus...)
	}
	if math.IsInf(v, 0) {
		return append(b, infinity...)
	}
	var buf [24]byte
	figures, exp := scientificDigits(math.Abs(v), digits, buf[:0])
	if exp < lowestFixed || exp >= scientific || exp >= max(digits, shortWhole) {
		b = append(b, figures[0])
		if digits > 1 {
			b = append(append(b, '.'), figures[1:]...)
		}
		if ascii {
			return strconv.AppendInt(append(b, 'e'), int64(exp), 10)
		}
		return append(append(b, "×10"...), superscript(exp)...)
	}
	switch {
	case exp < 0:
		b = append(b, "0."...)
		for range -exp - 1 {
			b = append(b, '0')
		}
		return append(b, figures...)
	case exp+1 >= len(figures):
		b = append(b, figures...)
		for range exp + 1 - len(figures) {
			b = append(b, '0')
		}
		return b
	}
	return append(append(append(b, figures[:exp+1]...), '.'), figures[exp+1:]...)
}

// scientificDigits appends the significant digits of v > 0, rounded half to even on its exact decimal value, without
// a point, and gives the exponent of the first.
func scientificDigits(v float64, digits int, b []byte) (figures []byte, exp int) {
	if n, exp, ok := significant(v, digits); ok {
		return strconv.AppendInt(b, int64(n), 10), exp
	}
	var buf [32]byte
	mantissa, exponent, _ := bytes.Cut(strconv.AppendFloat(buf[:0], v, 'e', digits-1, 64), []byte{'e'})
	exp, _ = strconv.Atoi(string(exponent))
	return append(append(b, mantissa[0]), mantissa[min(len(mantissa), 2):]...), exp
}
