package resolve

import (
	"maps"
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
// many subtracted.
type Datum map[string]terms

type terms struct {
	plus, minus int
	scaled      bool // some term was multiplied by something, so that the counts are not shares
}

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
	sum := maps.Clone(x)
	if sum == nil {
		sum = Datum{}
	}
	for k, n := range y {
		if sign < 0 {
			n.plus, n.minus = n.minus, n.plus
		}
		had := sum[k]
		sum[k] = terms{had.plus + n.plus, had.minus + n.minus, had.scaled || n.scaled}
	}
	return sum
}

// settle is the datum of a whole chain of + and −: terms that balance leave none. lone is a
// datum that was subtracted and that no added term has.
func (x Datum) settle() (left Datum, lone string) {
	for _, k := range slices.Sorted(maps.Keys(x)) {
		n := x[k]
		switch {
		case n.minus > 0 && n.plus == 0:
			lone = k
			if left == nil {
				left = Datum{}
			}
			left[k] = n // `a = -h1` still counts from there when a is added to something
		case n.minus > 0 && (n.scaled || n.plus == n.minus):
			// Balanced; or shares of a flow are set against the whole, as in a mixer's
			// balance, which depends on the shares and is taken to balance.
		default:
			if left == nil {
				left = Datum{}
			}
			left[k] = terms{plus: 1, scaled: n.scaled}
		}
	}
	return left, lone
}

// scaled is the datum of a product with a number.
func (x Datum) scaled() Datum {
	if len(x) == 0 {
		return nil
	}
	y := maps.Clone(x)
	for k, n := range y {
		n.scaled = true
		y[k] = n
	}
	return y
}

// other is a datum in x or y that the other has not, or "".
func (x Datum) other(y Datum) string {
	for _, k := range slices.Sorted(maps.Keys(x)) {
		if _, ok := y[k]; !ok {
			return k
		}
	}
	for _, k := range slices.Sorted(maps.Keys(y)) {
		if _, ok := x[k]; !ok {
			return k
		}
	}
	return ""
}

func (x Datum) any() string {
	for _, k := range slices.Sorted(maps.Keys(x)) {
		return k
	}
	return ""
}
