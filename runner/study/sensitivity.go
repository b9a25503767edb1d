package study

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"workings/runner/eval"
	"workings/runner/resolve"
)

// Sensitivities are how the answers of a sheet follow its inputs.
type Sensitivities struct {
	Answers []*Budget
	// All: every input is here. Else only those with a standard uncertainty are.
	All bool
	// Correlations are those that concern the inputs.
	Correlations []*resolve.Correlation
	Method       Method
	// Samples are how the Monte Carlo went; nil of another method.
	Samples *Samples
}

// Budget is what an answer owes to each input.
type Budget struct {
	Of    *resolve.Shown // the answer, in the unit it asks for
	Value float64        // SI
	// Rows are the inputs that the answer depends on: those with a standard uncertainty by their shares
	// of the variance, then the others by what one per cent of them changes.
	Rows []Influence
	// First is the combined standard uncertainty by first order: NaN where a derivative is missing, 0
	// where no input that the answer depends on has an uncertainty, and where what they contribute cancels.
	First float64
	// Parts is the sum of the sizes of what the inputs contribute.
	Parts float64
	// Noise is what the errors of the derivatives make of it: a First no larger tells nothing.
	Noise  float64
	Second *SecondOrder // nil where no input has an uncertainty
	Sample *Sampled     // nil unless asked for
}

// Influence is how one input moves an answer. All numbers are in SI.
type Influence struct {
	Input eval.OwnInput
	Slope
	// Part is the derivative times the standard uncertainty of the input.
	Part float64
	// Share is the input's share of the variance (JCGM 100:2008 (GUM), eq. 13 and 16; from memory):
	// where it is correlated with others, with its half of what they have in common. NaN where it has
	// no uncertainty.
	Share float64
	// Relative is the relative change of the answer for a relative change of the input, d ln y/d ln x;
	// NaN where one of the two is zero, or the answer counts from a zero of its own, as an enthalpy
	// does.
	Relative float64
	// Percent is the change of the answer for one per cent more of the input, to first order.
	Percent float64
}

// Uncertain reports that an answer depends on an input with a standard uncertainty, as far as the sheet says.
func (s *Sensitivities) Uncertain() bool {
	return slices.ContainsFunc(s.Answers, func(b *Budget) bool { return b.Second != nil })
}

// Uncertain reports an input with a standard uncertainty.
func (f *Influence) Uncertain() bool { return f.Input.Spread > 0 }

// Combined is the combined standard uncertainty by the method that was asked for, in SI; false where
// there is none.
func (b *Budget) Combined(m Method) (float64, bool) {
	u := b.First
	switch {
	case m.Samples > 0 && b.Sample != nil:
		u = b.Sample.U
	case m.Order == 2 && b.Second != nil:
		u = b.Second.U
	}
	return u, u > cancelled*b.Parts && !math.IsInf(u, 0)
}

// cancelled is what rounding leaves of contributions that cancel, as a share of their sizes.
const cancelled = 1e-9

// Cancels reports contributions that leave nothing of each other, since the inputs are correlated.
func (b *Budget) Cancels() bool { return b.First == 0 && b.Parts > 0 }

// Uncertainty is the combined standard uncertainty with what it comes from, by the shares of first
// order; nil where there is none.
func (b *Budget) Uncertainty(m Method) *eval.Uncertainty {
	u, ok := b.Combined(m)
	if !ok {
		return nil
	}
	out := &eval.Uncertainty{Combined: eval.DifferenceIn(u, b.Of.Unit)}
	for _, f := range b.Rows {
		if f.Uncertain() && f.Part != 0 && !math.IsNaN(f.Share) {
			out.From = append(out.From, eval.Contribution{Input: f.Input.Symbol, Part: eval.DifferenceIn(f.Part, b.Of.Unit), Share: f.Share})
		}
	}
	return out
}

// mostRows bounds the answers of a sheet times its inputs, each of which is a row of a table.
const mostRows = 50_000

// TooMuch says that a sheet is too large for its sensitivities to be found.
type TooMuch struct{ Reason string }

func (e *TooMuch) Error() string { return e.Reason }

// affordable is a *TooMuch where the derivatives of the answers would take too long or too much room.
func affordable(t *eval.Trace, answers, inputs int) error {
	if answers > mostRows/inputs {
		return &TooMuch{fmt.Sprintf("%s answers times %s inputs are more than %s", Thousands(answers), Thousands(inputs), Thousands(mostRows))}
	}
	evaluations := (len(lanes)*len(reaches) + 2) * inputs
	if lines := t.Cost(); evaluations > resolve.MaxStudyLines/lines {
		return &TooMuch{fmt.Sprintf("%s evaluations of %s lines are more than %s lines", Thousands(evaluations), Thousands(lines), Thousands(resolve.MaxStudyLines))}
	}
	return nil
}

// Sensitive finds how the answers of a sheet follow its inputs: all of them, or only those with a
// standard uncertainty, and gives the trace the combined uncertainties of the answers. It is nil where
// there is nothing to say. The error is a *TooMuch, or that of a context that ended.
func Sensitive(ctx context.Context, t *eval.Trace, m Method, all bool, progress func(done, total int)) (*Sensitivities, error) {
	shown, of := answersOf(t)
	inputs := t.InputsOf(of)
	if !all {
		inputs = slices.DeleteFunc(inputs, func(in eval.OwnInput) bool { return in.Spread == 0 })
	}
	if len(of) == 0 || len(inputs) == 0 {
		return nil, nil
	}
	if err := affordable(t, len(of), len(inputs)); err != nil {
		return nil, err
	}
	slopes, err := derivatives(ctx, t, of, inputs)
	if err != nil {
		return nil, err
	}
	s := &Sensitivities{All: all, Method: m}
	var c correlated
	c, s.Correlations = between(inputs, t.Sheet.AllCorrelations())
	factor := c.factor(inputs)
	for a, sh := range shown {
		v, _ := t.Value(sh.Symbol)
		s.Answers = append(s.Answers, newBudget(sh, v.SI, inputs, slopes[a], c, factor))
	}
	if err := s.combine(ctx, t, inputs, slopes, progress); err != nil {
		return nil, err
	}
	t.Uncertain = map[*resolve.Symbol]*eval.Uncertainty{}
	for _, b := range s.Answers {
		if u := b.Uncertainty(m); u != nil {
			t.Uncertain[b.Of.Symbol] = u
		}
	}
	return s, nil
}

// answersOf are the answers that are numbers, each once.
func answersOf(t *eval.Trace) (shown []*resolve.Shown, of []*resolve.Symbol) {
	for _, a := range t.Sheet.Answers {
		if _, ok := t.Shown(a); ok && !a.Symbol.Type.Bool && !slices.Contains(of, a.Symbol) {
			shown, of = append(shown, a), append(of, a.Symbol)
		}
	}
	return shown, of
}

func newBudget(of *resolve.Shown, value float64, inputs []eval.OwnInput, slopes []Slope, c correlated, factor [][]entry) *Budget {
	b := &Budget{Of: of, Value: value}
	rows := make([]Influence, len(inputs))
	for i, in := range inputs {
		d := slopes[i].Derivative
		f := Influence{Input: in, Slope: slopes[i], Part: d * in.Spread, Share: math.NaN(), Relative: math.NaN(), Percent: d * in.Value / 100}
		if in.Value != 0 && value != 0 && len(of.Symbol.Type.Datum) == 0 {
			f.Relative = d * in.Value / value
		}
		rows[i] = f
	}
	parts := make([]float64, len(rows)) // of the variance
	along := make([]float64, len(rows)) // what each of the independent normals contributes
	for i, f := range rows {
		if f.Uncertain() {
			parts[i] = f.Part * f.Part
			if !math.IsNaN(f.Part) {
				b.Parts += math.Abs(f.Part)
			}
			if !f.Corner { // of which the error is no noise
				b.Noise = math.Hypot(b.Noise, f.Error*f.Input.Spread)
			}
			for _, e := range factor[i] {
				along[e.column] += e.value * f.Derivative
			}
		}
	}
	for _, pair := range sortedPairs(c) {
		i, k := pair[0], pair[1]
		both := c[pair] * rows[i].Part * rows[k].Part
		parts[i] += both
		parts[k] += both
	}
	// A sum of squares keeps its digits where what is correlated cancels, as the sum of the parts does not.
	variance := 0.0
	for _, v := range along {
		variance += v * v
	}
	if b.First = math.Sqrt(variance); b.First <= cancelled*b.Parts {
		b.First, variance = 0, 0
	}
	for i, f := range rows {
		if f.Uncertain() && variance > 0 {
			f.Share = parts[i] / variance
		}
		if f.Moves {
			b.Rows = append(b.Rows, f)
		}
	}
	slices.SortStableFunc(b.Rows, func(x, y Influence) int {
		if x.Uncertain() != y.Uncertain() {
			if x.Uncertain() {
				return -1
			}
			return 1
		}
		if x.Uncertain() && b.First > 0 {
			return cmp.Compare(math.Abs(y.Share), math.Abs(x.Share))
		}
		return cmp.Compare(math.Abs(y.Percent), math.Abs(x.Percent))
	})
	return b
}

func sortedPairs(c correlated) [][2]int {
	var out [][2]int
	for pair := range c {
		out = append(out, pair)
	}
	slices.SortFunc(out, func(a, b [2]int) int { return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1])) })
	return out
}

// propagation is what the methods beyond first order work on: the inputs that have a standard
// uncertainty, and where independent standard normals move them.
type propagation struct {
	t      *eval.Trace
	of     []*resolve.Symbol
	values []float64 // of the answers
	parts  []float64 // of the answers: the sums of their contributions
	inputs []eval.OwnInput
	slopes [][]float64 // by answer and input
	factor [][]entry   // by input: what each standard normal moves it by
}

// combine finds the combined uncertainties by the methods that go beyond first order.
func (s *Sensitivities) combine(ctx context.Context, t *eval.Trace, inputs []eval.OwnInput, slopes [][]Slope, progress func(done, total int)) error {
	p := &propagation{t: t}
	var which []int
	for i, in := range inputs {
		if in.Spread > 0 {
			which, p.inputs = append(which, i), append(p.inputs, in)
		}
	}
	if len(which) == 0 {
		return nil
	}
	c, _ := between(p.inputs, s.Correlations)
	p.factor = c.factor(p.inputs)
	for a, b := range s.Answers {
		p.of, p.values, p.parts = append(p.of, b.Of.Symbol), append(p.values, b.Value), append(p.parts, b.Parts)
		own := make([]float64, len(which))
		for k, i := range which {
			own[k] = slopes[a][i].Derivative
		}
		p.slopes = append(p.slopes, own)
	}
	second, err := p.secondOrder(ctx)
	if err != nil {
		return err
	}
	for a, b := range s.Answers {
		b.Second = second[a]
	}
	if s.Method.Samples > 0 {
		return s.sample(ctx, p, progress)
	}
	return nil
}
