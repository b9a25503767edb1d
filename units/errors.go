package units

import (
	"fmt"
	"math"
	"strings"
)

const maxFloat = math.MaxFloat64

// DimensionError says that two units measure different things.
type DimensionError struct{ From, To Unit }

func (e *DimensionError) Error() string {
	return fmt.Sprintf("%s is %s and %s is %s", e.From, describe(e.From.Dimension()), e.To, describe(e.To.Dimension()))
}

// describe names a dimension with its formula: "pressure (M·L⁻¹·T⁻²)".
func describe(d Dimension) string {
	name := d.Name()
	if name == "" {
		return d.String()
	}
	return name + " (" + d.String() + ")"
}

// KindError says that a point on a temperature scale met a temperature difference.
type KindError struct{ From, To Unit }

func (e *KindError) Error() string {
	return fmt.Sprintf("%s is a %s and %s is a %s", e.From, e.From.Kind(), e.To, e.To.Kind())
}

// AmbientError says that a gauge pressure cannot be counted without the ambient pressure (Pa, positive).
type AmbientError struct {
	Unit    Unit
	Ambient float64
}

func (e *AmbientError) Error() string {
	return fmt.Sprintf("%s counts from the ambient pressure, and %g Pa is none", e.Unit, e.Ambient)
}

// ParseError says why a text is no unit. Offset and Len give, in bytes of Text, the place at fault.
type ParseError struct {
	Text        string
	Offset, Len int
	Reason      string
	// Readings are spellings that say what the text may have meant, where there are such. One with spaces
	// around an operator is arithmetic, not a unit.
	Readings []string
	// Near are units that are spelled like the one at fault: whole texts, to be put in place of Text.
	Near []string
	// Known says that the spelling is known and refused on purpose, for the Reason given: it is a unit that was meant.
	Known bool
}

func (e *ParseError) Error() string {
	msg := fmt.Sprintf("%q is no unit: %s", e.Text, e.Reason)
	if len(e.Readings) > 0 {
		msg += "; write " + strings.Join(e.Readings, " or ")
	}
	if len(e.Near) > 0 {
		msg += "; near: " + strings.Join(e.Near, ", ")
	}
	return msg
}
