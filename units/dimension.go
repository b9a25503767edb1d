package units

import (
	"fmt"
	"strconv"
	"strings"
)

// maxExponent bounds numerator and denominator of every exponent. No quantity of the trade comes
// near it; a sheet that squares a quantity forty times in a row does, and must not wrap around.
const maxExponent = 100

// ratio is an exponent in lowest terms. The denominator is kept less one, so that the zero value is
// the exponent 0 and two equal dimensions are equal under ==.
type ratio struct {
	num      int8
	denLess1 uint8
}

func (r ratio) den() int { return int(r.denLess1) + 1 }

// newRatio reduces num/den; ok is false where the result is beyond maxExponent or den is 0.
func newRatio(num, den int) (ratio, bool) {
	if den == 0 {
		return ratio{}, false
	}
	if den < 0 {
		num, den = -num, -den
	}
	a, b := num, den
	if a < 0 {
		a = -a
	}
	for b != 0 {
		a, b = b, a%b
	}
	num, den = num/a, den/a
	if num > maxExponent || num < -maxExponent || den > maxExponent {
		return ratio{}, false
	}
	return ratio{int8(num), uint8(den - 1)}, true
}

func (r ratio) add(s ratio, sign int) (ratio, bool) {
	if r.denLess1 == 0 && s.denLess1 == 0 {
		n := int(r.num) + sign*int(s.num)
		return ratio{num: int8(n)}, n <= maxExponent && n >= -maxExponent
	}
	return newRatio(int(r.num)*s.den()+sign*int(s.num)*r.den(), r.den()*s.den())
}

// The base quantities, in the order in which a dimension's formula is written.
const (
	baseMass = iota
	baseLength
	baseTime
	baseTemperature
	baseAmount
	baseCurrent
	baseCount
)

// Dimension is what a quantity is made of: rational exponents of mass, length, time, thermodynamic
// temperature, amount of substance and electric current. Angles are dimensionless. It is a comparable
// value: two dimensions are the same exactly where == says so. The zero value is dimensionless.
//
// An exponent beyond 100, in numerator or denominator, is taken for an author's mistake: Pow refuses
// it, and the product or quotient that reaches it is marked for good (Err reports it).
type Dimension struct {
	exps   [baseCount]ratio
	absurd bool
}

// ExponentError says that a dimension's exponent left the range any physical quantity has.
type ExponentError struct {
	// Num and Den are the power that was asked for; both are 0 where a product or a quotient led there.
	Num, Den int
}

func (e *ExponentError) Error() string {
	switch {
	case e.Num == 0 && e.Den == 0:
		return fmt.Sprintf("an exponent of the dimension is beyond %d", maxExponent)
	case e.Den == 0:
		return "a power with denominator 0"
	}
	return fmt.Sprintf("the power %s takes an exponent of the dimension beyond %d", fraction(e.Num, e.Den), maxExponent)
}

// Mul returns the dimension of a product. Check Err where products may pile up without end.
func (d Dimension) Mul(e Dimension) Dimension { return d.combine(e, 1) }

// Div returns the dimension of a quotient. Check Err where quotients may pile up without end.
func (d Dimension) Div(e Dimension) Dimension { return d.combine(e, -1) }

func (d Dimension) combine(e Dimension, sign int) Dimension {
	if d.absurd || e.absurd {
		return Dimension{absurd: true}
	}
	for i := range d.exps {
		if e.exps[i].num == 0 {
			continue
		}
		r, ok := d.exps[i].add(e.exps[i], sign)
		if !ok {
			return Dimension{absurd: true}
		}
		d.exps[i] = r
	}
	return d
}

// Pow returns the dimension raised to num/den, or an *ExponentError.
func (d Dimension) Pow(num, den int) (Dimension, error) {
	if den == 0 {
		return Dimension{}, &ExponentError{Num: num}
	}
	if d.absurd {
		return d, &ExponentError{}
	}
	if d.IsNone() {
		return d, nil
	}
	p, ok := newRatio(num, den)
	if !ok {
		return Dimension{absurd: true}, &ExponentError{num, den}
	}
	for i, r := range d.exps {
		if d.exps[i], ok = newRatio(int(r.num)*int(p.num), r.den()*p.den()); !ok {
			return Dimension{absurd: true}, &ExponentError{num, den}
		}
	}
	return d, nil
}

// Err returns an *ExponentError where a product or quotient left the range of exponents, else nil.
func (d Dimension) Err() error {
	if d.absurd {
		return &ExponentError{}
	}
	return nil
}

// IsNone reports whether d is dimensionless.
func (d Dimension) IsNone() bool { return d == Dimension{} }

// Exponent is one exponent of a dimension, Num/Den in lowest terms with Den at least 1.
type Exponent struct{ Num, Den int }

// Exponents returns the exponents of mass, length, time, thermodynamic temperature, amount of
// substance and electric current.
func (d Dimension) Exponents() [6]Exponent {
	var out [6]Exponent
	for i, r := range d.exps {
		out[i] = Exponent{int(r.num), r.den()}
	}
	return out
}

// String returns the formula of the dimension, such as "M·L²·T⁻³", in the base quantities M (mass), L (length),
// T (time), Θ (temperature), N (amount of substance) and I (electric current), or "dimensionless".
func (d Dimension) String() string {
	if d.absurd {
		return "beyond any dimension"
	}
	if d.IsNone() {
		return "dimensionless"
	}
	var b strings.Builder
	for i, sym := range [baseCount]string{"M", "L", "T", "Θ", "N", "I"} {
		if r := d.exps[i]; r.num != 0 {
			if b.Len() > 0 {
				b.WriteString("·")
			}
			b.WriteString(sym)
			b.WriteString(superscriptPower(int(r.num), r.den()))
		}
	}
	return b.String()
}

// superscriptPower writes an exponent: nothing for 1, superscript figures for a whole number, and ^(1/2) for
// a fraction, since superscript fractions are missing from most fonts.
func superscriptPower(num, den int) string {
	if den != 1 {
		return "^(" + fraction(num, den) + ")"
	}
	if num == 1 {
		return ""
	}
	return superscript(num)
}

func fraction(num, den int) string {
	if den == 1 {
		return strconv.Itoa(num)
	}
	return strconv.Itoa(num) + "/" + strconv.Itoa(den)
}

// superscriptDigits are ⁰ to ⁹; three of them stand apart in Unicode, hence a list.
const superscriptDigits = "⁰¹²³⁴⁵⁶⁷⁸⁹"

func superscript(n int) string {
	digits := []rune(superscriptDigits)
	var b strings.Builder
	for _, c := range strconv.Itoa(n) {
		if c == '-' {
			b.WriteRune('⁻')
			continue
		}
		b.WriteRune(digits[c-'0'])
	}
	return b.String()
}
