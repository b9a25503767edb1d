package eval

import (
	"math"
	"strconv"

	"workings/runner/resolve"
	"workings/units"
)

// Uncertainty is the combined standard uncertainty of a symbol.
type Uncertainty struct {
	Combined Value // in the unit of a difference of the symbol's values
	From     []Contribution
}

// Contribution is one input's part: sensitivity times its standard uncertainty.
type Contribution struct {
	Input *resolve.Symbol
	Part  Value
	// Share of the variance. The shares add up to 1; where inputs are correlated, one may be negative.
	Share float64
}

// Percent is the share as it is shown: below zero where correlation takes away more than the input brings.
func (c *Contribution) Percent() string {
	switch n := int(math.Round(100 * c.Share)); {
	case n > 0:
		return strconv.Itoa(n)
	case n < 0:
		return "−" + strconv.Itoa(-n)
	}
	return "under 1"
}

// UncertaintyOf is the combined standard uncertainty of an answer in the unit that the answer
// asks for; false where it has none.
func (t *Trace) UncertaintyOf(s *resolve.Shown) (Value, bool) {
	if s == nil || s.Symbol == nil || t.Uncertain[s.Symbol] == nil {
		return Value{}, false
	}
	return DifferenceIn(t.Uncertain[s.Symbol].Combined.SI, s.Unit), true
}

// DifferenceIn is a difference, in SI, of two values that are shown in u: kelvin where these are in
// °C, percentage points where they are in %.
func DifferenceIn(si float64, u units.Unit) Value {
	d := differenceOf(u, true)
	return Value{SI: si, Unit: d, Shown: d.FromSI(si, 0)}
}

// Cost is about how many lines one evaluation of the sheet comes to, those that its solves and
// integrals evaluate again and again included.
func (t *Trace) Cost() int { return resolve.CountLines(t.Sheet.Lines) + t.machine.runs }

// OwnInput is an input to which a sheet gives its value itself.
type OwnInput struct {
	Symbol *resolve.Symbol
	Value  float64 // SI
	// Spread is its standard uncertainty, 0 where it has none or where --set has put another value in
	// its place.
	Spread float64
	// Lo and Hi are the range that the notebook allows, where Limited.
	Lo, Hi  float64
	Limited bool
}

// InputsOf are the numeric inputs that any of some symbols depends on, in reading order, those of
// used sheets among them. An input to which the using sheet gives its value is none: it follows from
// what gives it.
func (t *Trace) InputsOf(of []*resolve.Symbol) []OwnInput {
	m := t.machine
	d := newDependence(m.prog, Plan{})
	for _, s := range of {
		d.needs(d.stepOf(s))
	}
	return m.ownInputs(d, m.prog.lines, nil)
}

func (m *machine) ownInputs(d *dependence, steps []*step, out []OwnInput) []OwnInput {
	for _, st := range steps {
		switch st.line.Kind {
		case resolve.Input:
			if !d.needed[st] || m.out(st).status != Done || givenByUse(st.line) || len(st.line.Defines) != 1 || st.line.Defines[0].Type.Bool {
				continue
			}
			in := OwnInput{Symbol: st.line.Defines[0]}
			in.Value = m.val(in.Symbol)
			if !st.line.Overridden {
				in.Spread = m.out(st).spread
			}
			if st.lo != nil {
				lo, f1 := m.value(st.lo)
				hi, f2 := m.value(st.hi)
				in.Lo, in.Hi, in.Limited = lo, hi, f1 == nil && f2 == nil
			}
			out = append(out, in)
		case resolve.Use:
			out = m.ownInputs(d, st.body, out)
		}
	}
	return out
}
