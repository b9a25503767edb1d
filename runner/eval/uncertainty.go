package eval

import (
	"math"
	"sort"

	"workings/runner/resolve"
)

// Uncertainty is the combined standard uncertainty of a symbol by first-order propagation of the
// inputs' standard uncertainties, taken as uncorrelated (JCGM 100:2008 (GUM), 5.1.2, eq. 10; from
// memory).
type Uncertainty struct {
	Combined Value // in the unit of a difference of the symbol's values
	From     []Contribution
}

// Contribution is one input's part: sensitivity times its standard uncertainty.
type Contribution struct {
	Input *resolve.Symbol
	Part  Value
	Share float64 // of the variance, 0 to 1
}

// step size of the central differences, as a share of the standard uncertainty: small enough
// that the model is straight over it, large enough against rounding.
const differenceShare = 1e-2

// uncertainties runs the sheet again with each uncertain input moved up and down a little, and
// combines what that does to the answers.
func uncertainties(t *Trace, p *Program) map[*resolve.Symbol]*Uncertainty {
	inputs := uncertainInputs(p.steps, nil)
	var answers []*resolve.Symbol
	for _, a := range t.Sheet.Answers {
		if _, ok := t.Shown(a); ok && !a.Symbol.Type.Bool {
			answers = append(answers, a.Symbol)
		}
	}
	if len(inputs) == 0 || len(answers) == 0 {
		return nil
	}
	sum := make([]float64, len(answers))
	parts := make([][]Contribution, len(answers))
	for _, in := range inputs {
		sym := in.line.Defines[0]
		h := in.spreadValue * differenceShare
		up, down := shifted(t.Sheet, sym, t.values[sym]+h), shifted(t.Sheet, sym, t.values[sym]-h)
		for i, a := range answers {
			if !up.ok[a.Reg] || !down.ok[a.Reg] {
				sum[i] = math.NaN() // no value a little beside the input: no straight line to draw
				continue
			}
			part := (up.regs[a.Reg] - down.regs[a.Reg]) / 2 / differenceShare
			if part == 0 {
				continue
			}
			sum[i] += part * part
			u := differenceOf(a.Unit, true)
			parts[i] = append(parts[i], Contribution{Input: sym, Part: Value{SI: part, Unit: u, Shown: u.FromSI(part, 0)}})
		}
	}
	out := map[*resolve.Symbol]*Uncertainty{}
	for i, a := range answers {
		if math.IsNaN(sum[i]) || sum[i] == 0 {
			continue
		}
		for j := range parts[i] {
			parts[i][j].Share = parts[i][j].Part.SI * parts[i][j].Part.SI / sum[i]
		}
		sort.SliceStable(parts[i], func(x, y int) bool { return parts[i][x].Share > parts[i][y].Share })
		u := differenceOf(a.Unit, true)
		c := math.Sqrt(sum[i])
		out[a] = &Uncertainty{Combined: Value{SI: c, Unit: u, Shown: u.FromSI(c, 0)}, From: parts[i]}
	}
	return out
}

// UncertaintyOf is the combined standard uncertainty of an answer in the unit that the answer
// asks for; false where it has none.
func (t *Trace) UncertaintyOf(s *resolve.Shown) (Value, bool) {
	if s == nil || s.Symbol == nil || t.Uncertain[s.Symbol] == nil {
		return Value{}, false
	}
	v := t.Uncertain[s.Symbol].Combined
	v.Unit = differenceOf(s.Unit, true)
	v.Shown = v.Unit.FromSI(v.SI, 0)
	return v, true
}

// uncertainInputs are those of the sheet and of the sheets it uses. An input that is given from
// outside has the uncertainty of what gives it, not its own.
func uncertainInputs(steps []*step, out []*step) []*step {
	for _, st := range steps {
		switch st.line.Kind {
		case resolve.Input:
			if st.status == Done && st.spreadValue > 0 && !st.line.Overridden {
				out = append(out, st)
			}
		case resolve.Use:
			out = uncertainInputs(st.body, out)
		}
	}
	return out
}

// shifted runs the sheet with one input at another value. Limits of inputs do not count here: a
// value at the edge of its range has neighbours too.
func shifted(s *resolve.Sheet, input *resolve.Symbol, v float64) *machine {
	p := lower(s)
	m := newMachine(p, s)
	m.shift, m.shifted = input, v
	for _, st := range p.steps {
		m.exec(st)
	}
	return m
}
