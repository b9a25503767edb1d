package resolve

import (
	"slices"

	"workings/units"
)

// Type is what an expression measures.
type Type struct {
	Dim  units.Dimension
	Kind Scale
	Bool bool // a truth value: Dim is none
	// Datum holds, for enthalpy, internal energy and entropy, from which zeros the value counts
	// and how often; nil where it counts from none (a difference) or where that means nothing.
	Datum Datum
}

// Scale tells a point on a scale from a plain quantity and from a difference. What was read in
// K, and every state's T, is Plain: kelvin serve as both.
type Scale int

// The kinds of quantity.
const (
	Plain      Scale = iota
	Point            // read in °C or °F, or as a gauge pressure
	Difference       // of two temperatures, or read in Δ°C
)

// Datum counts from which zeros a value counts: how many terms of each datum were added and how
// many subtracted, in the order of the datums' names. It is never written after it was made.
type Datum []terms

type terms struct {
	of          string // the datum
	plus, minus int
	scaled      bool // some term was multiplied by something, so that the counts are not shares
}

// from is the datum of a value that counts from one zero.
func from(datum string) Datum { return Datum{{of: datum, plus: 1}} }

// IsTemperature reports a thermodynamic temperature or a difference of two.
func (t Type) IsTemperature() bool { return t.Dim == units.DimTemperature() }

// describe is the type in words, for messages: "a pressure", "dimensionless".
func (t Type) describe() string {
	switch {
	case t.Bool:
		return "true or false"
	case t.Dim.IsNone():
		return "a dimensionless number"
	case t.IsTemperature() && t.Kind == Difference:
		return "a temperature difference"
	}
	name := t.Dim.Name()
	if name == "" {
		return "of dimension " + t.Dim.String()
	}
	return article(name)
}

func article(name string) string {
	switch name[0] {
	case 'a', 'e', 'i', 'o':
		return "an " + name
	}
	return "a " + name
}

// add joins the datums of a sum; sign is −1 where y is subtracted.
func (x Datum) add(y Datum, sign int) Datum {
	if len(y) == 0 {
		return x
	}
	sum := make(Datum, 0, len(x)+len(y))
	for _, n := range y {
		for len(x) > 0 && x[0].of < n.of {
			sum, x = append(sum, x[0]), x[1:]
		}
		if sign < 0 {
			n.plus, n.minus = n.minus, n.plus
		}
		if len(x) > 0 && x[0].of == n.of {
			n.plus, n.minus, n.scaled = n.plus+x[0].plus, n.minus+x[0].minus, n.scaled || x[0].scaled
			x = x[1:]
		}
		sum = append(sum, n)
	}
	return append(sum, x...)
}

// settle is the datum of a whole chain of + and −: terms that balance leave none. lone is a
// datum that was subtracted and that no added term has.
func (x Datum) settle() (left Datum, lone string) {
	if len(x) == 1 && x[0].plus == 1 && x[0].minus == 0 {
		return x, "" // h + 1/2*V^2 counts from where h does
	}
	for _, n := range x {
		switch {
		case n.minus > 0 && n.plus == 0:
			lone = n.of
			left = append(left, n) // `a = -h1` still counts from there when a is added to something
		case n.minus > 0 && (n.scaled || n.plus == n.minus):
			// Balanced; or shares of a flow are set against the whole, as in a mixer's
			// balance, which depends on the shares and is taken to balance.
		default:
			left = append(left, terms{of: n.of, plus: 1, scaled: n.scaled})
		}
	}
	return left, lone
}

// scaled is the datum of a product with a number.
func (x Datum) scaled() Datum {
	y := slices.Clone(x)
	for i := range y {
		y[i].scaled = true
	}
	return y
}

// other is a datum in x or y that the other has not, or "".
func (x Datum) other(y Datum) string {
	for _, pair := range [][2]Datum{{x, y}, {y, x}} {
		for _, n := range pair[0] {
			if !slices.ContainsFunc(pair[1], func(m terms) bool { return m.of == n.of }) {
				return n.of
			}
		}
	}
	return ""
}

func (x Datum) any() string {
	if len(x) == 0 {
		return ""
	}
	return x[0].of
}
