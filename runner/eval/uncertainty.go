package eval

import (
	"context"
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

// uncertainties evaluates the sheet with each uncertain input moved up and down a little, and
// combines what that does to the answers. Limits of inputs do not count here: a value at the edge of
// its range has neighbours too.
func uncertainties(t *Trace) map[*resolve.Symbol]*Uncertainty {
	m := t.machine
	var inputs, answers []*resolve.Symbol
	var steps []float64
	for _, st := range m.uncertainInputs(m.prog.lines, nil) {
		inputs = append(inputs, st.line.Defines[0])
		steps = append(steps, m.out(st).spread*differenceShare)
	}
	for _, a := range t.Sheet.Answers {
		if _, ok := t.Shown(a); ok && !a.Symbol.Type.Bool {
			answers = append(answers, a.Symbol)
		}
	}
	if len(inputs) == 0 || len(answers) == 0 {
		return nil
	}
	results := m.beside(inputs, answers, steps)
	out := map[*resolve.Symbol]*Uncertainty{}
	for i, a := range answers {
		u := differenceOf(a.Unit, true)
		var from []Contribution
		sum := 0.0
		for j, in := range inputs {
			// Where there is no value a little beside the input there is no straight line to draw, and
			// the sum is no number.
			part := (results[i][2*j] - results[i][2*j+1]) / 2 / differenceShare
			sum += part * part
			if part != 0 {
				from = append(from, Contribution{Input: in, Part: Value{SI: part, Unit: u, Shown: u.FromSI(part, 0)}})
			}
		}
		if math.IsNaN(sum) || sum == 0 {
			continue
		}
		for j := range from {
			from[j].Share = from[j].Part.SI * from[j].Part.SI / sum
		}
		sort.SliceStable(from, func(x, y int) bool { return from[x].Share > from[y].Share })
		c := math.Sqrt(sum)
		out[a] = &Uncertainty{Combined: Value{SI: c, Unit: u, Shown: u.FromSI(c, 0)}, From: from}
	}
	return out
}

// beside evaluates symbols with each input moved up, then down, by its step.
func (m *machine) beside(inputs, keep []*resolve.Symbol, steps []float64) [][]float64 {
	points, out := make([][]float64, len(inputs)), make([][]float64, len(keep))
	for i := range out {
		out[i] = make([]float64, 2*len(inputs))
	}
	for i, in := range inputs {
		points[i] = make([]float64, 2*len(inputs))
		fill(points[i], m.val(in))
		points[i][2*i] += steps[i]
		points[i][2*i+1] -= steps[i]
	}
	b, err := m.batch(Plan{Vary: inputs, Keep: keep})
	if err != nil {
		panic(err) // inputs they are
	}
	if _, err := b.Run(context.Background(), points, out, nil); err != nil {
		panic(err) // nothing ends this context
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
func (m *machine) uncertainInputs(steps []*step, out []*step) []*step {
	for _, st := range steps {
		switch st.line.Kind {
		case resolve.Input:
			if m.out(st).status == Done && m.out(st).spread > 0 && !st.line.Overridden {
				out = append(out, st)
			}
		case resolve.Use:
			out = m.uncertainInputs(st.body, out)
		}
	}
	return out
}
