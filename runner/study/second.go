package study

import (
	"context"
	"fmt"
	"math"

	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/resolve"
	"workings/units"
)

// CodeFirstOrder is the caution that the uncertainty of an answer by first order is not good enough.
const CodeFirstOrder diag.Code = "first-order"

// SecondOrder is the combined standard uncertainty with the terms of the next order, which the
// curvature of the answer over the uncertainties of its inputs brings (JCGM 100:2008 (GUM), note to
// 5.1.2; from memory). In SI.
type SecondOrder struct {
	U float64 // NaN where it cannot be had
	// Shift is by how much the mean of the answer lies beside its value.
	Shift float64
	// Mixed: the terms of two inputs together are in it, for which there are not too many inputs.
	Mixed bool
	// Missing is an input by whose standard uncertainty the sheet cannot be moved; nil where U has a
	// value, or where the terms of second order are so large that their sum is below zero.
	Missing *resolve.Symbol
}

// mostMixed bounds the inputs whose pairs are looked at, with 4 evaluations of a pair, and mostWork the
// lines that these evaluate.
const (
	mostMixed = 24
	mostWork  = 50_000_000
)

// secondOrder moves the independent standard normals that the errors of the inputs are made of by 1,
// which for inputs that are not correlated is each by its own standard uncertainty, and any two of them
// together. Over normal errors the terms of that order are, with g the first and h the second and third
// differences,
//
//	u² = Σ g_i² + Σ_ij (h_ij²/2 + g_i·h_ijj),  mean − value = Σ h_ii/2.
func (p *propagation) secondOrder(ctx context.Context) ([]*SecondOrder, error) {
	n := len(p.inputs)
	mixed := n <= mostMixed && 2*n*(n-1) <= mostWork/p.t.Cost()
	along := p.directions()
	points := make([]move, 0, 2*n)
	for k := range n {
		points = append(points, moved(along[k], 1, nil, 0), moved(along[k], -1, nil, 0))
	}
	if mixed {
		for i := range n {
			for k := range i {
				for _, by := range [...][2]float64{{1, 1}, {1, -1}, {-1, 1}, {-1, -1}} {
					points = append(points, moved(along[i], by[0], along[k], by[1]))
				}
			}
		}
	}
	probe, err := newProbe(p.t, p.of, p.inputs)
	if err != nil {
		return nil, err
	}
	y := columns(len(p.of), 0)
	for from := 0; from < len(points); from += lanesAtOnce {
		_, some, err := probe.evaluate(ctx, points[from:min(from+lanesAtOnce, len(points))])
		if err != nil {
			return nil, err
		}
		for a := range y {
			y[a] = append(y[a], some[a]...)
		}
	}
	out := make([]*SecondOrder, len(p.of))
	for a := range p.of {
		g := make([]float64, n)
		for i, row := range p.factor {
			for _, e := range row {
				g[e.column] += e.value * p.slopes[a][i]
			}
		}
		out[a] = p.second(a, g, y[a], mixed)
	}
	return out, nil
}

// second sums the terms of an answer up. y holds it where each normal is moved up and down, then where two
// are.
func (p *propagation) second(answer int, g, y []float64, mixed bool) *SecondOrder {
	s, y0 := &SecondOrder{Mixed: mixed}, p.values[answer]
	n := len(g)
	variance := 0.0
	miss := func(i int, v float64) {
		if math.IsNaN(v) && s.Missing == nil {
			s.Missing = p.inputs[i].Symbol
		}
	}
	for i := range n {
		up, down := y[2*i], y[2*i+1]
		two := up - 2*y0 + down
		three := 6 * ((up-down)/2 - g[i])
		variance += g[i]*g[i] + two*two/2 + g[i]*three
		s.Shift += two / 2
		miss(i, two+three)
	}
	rest := y[2*n:]
	for i := range n {
		for k := 0; mixed && k < i; k++ {
			pp, pm, mp, mm := rest[0], rest[1], rest[2], rest[3]
			rest = rest[4:]
			two := (pp - pm - mp + mm) / 4
			ikk := ((pp + pm - 2*y[2*i]) - (mp + mm - 2*y[2*i+1])) / 2
			iik := ((pp + mp - 2*y[2*k]) - (pm + mm - 2*y[2*k+1])) / 2
			variance += two*two + g[i]*ikk + g[k]*iik
			miss(i, two)
		}
	}
	if least := cancelled * p.parts[answer]; math.Abs(variance) <= least*least {
		variance = 0 // all cancels, and rounding may have left less than that
	}
	s.U = math.Sqrt(variance)
	if math.IsNaN(s.U) {
		s.Shift = math.NaN()
	}
	return s
}

// directions are what each standard normal moves.
func (p *propagation) directions() []move {
	out := make([]move, len(p.inputs))
	for i, row := range p.factor {
		for _, e := range row {
			if e.value != 0 {
				out[e.column] = append(out[e.column], shift{i, e.value})
			}
		}
	}
	return out
}

func moved(a move, by float64, b move, also float64) move {
	m := make(move, 0, len(a)+len(b))
	for _, s := range a {
		m = append(m, shift{s.input, s.by * by})
	}
	for _, s := range b {
		m = append(m, shift{s.input, s.by * also})
	}
	return m
}

// Tolerance is half a unit in the last of the two digits that an uncertainty is given with
// (JCGM 101:2008, 7.9.2; from memory), in the unit in which the uncertainty is.
func Tolerance(u float64) float64 {
	return 0.5 * math.Pow(10, float64(lastPlace(u)))
}

// Cautions are the answers for which first order, having been asked for, is not good enough: with the
// terms of the next order the uncertainty, or the value itself, moves by more than the Tolerance that
// JCGM 101:2008, clause 8, compares the two methods by.
func (s *Sensitivities) Cautions() []*diag.Problem {
	if s == nil || s.Method.Order != 1 || s.Method.Samples > 0 {
		return nil
	}
	var out []*diag.Problem
	for _, b := range s.Answers {
		if why := b.tooCurved(); why != "" && b.Of.Line != nil {
			ask := "`uncertainty: second order` or `uncertainty: monte carlo 1000000`"
			if math.IsNaN(b.First) || math.IsNaN(b.Second.U) { // of which there is no second order either
				ask = "`uncertainty: monte carlo 1000000`"
			}
			out = append(out, &diag.Problem{Code: CodeFirstOrder, Severity: diag.Caution, File: b.Of.Line.File, Span: b.Of.Span, Subject: b.Of.Symbol.Full(),
				Message: why, Label: "not straight over the uncertainties of its inputs",
				Hint: fmt.Sprintf("write %s into the front matter, or settle it: accept %s on %s // reason", ask, CodeFirstOrder, b.Of.Symbol.Full())})
		}
	}
	return out
}

// tooCurved says why first order is not good enough for an answer, or "".
func (b *Budget) tooCurved() string {
	name := b.Of.Symbol.Full()
	if l := b.Of.Symbol.Line; b.Second == nil || l != nil && l.Total != nil && l.Total.Name == "residual" {
		return "" // what rounding leaves is not straight over anything
	}
	if math.IsNaN(b.First) || math.IsInf(b.First, 0) {
		return b.missing()
	}
	two := b.Second
	switch {
	case two.Missing != nil:
		return fmt.Sprintf("the uncertainty of %s by first order, %s, cannot be relied on: moved by the standard uncertainty of %s the sheet has no value", name, b.pm(b.First), two.Missing.Full())
	case math.IsNaN(two.U) && b.First > 3*b.Noise:
		return fmt.Sprintf("the uncertainty of %s by first order, %s, cannot be relied on: the terms of second order are larger than those of first", name, b.pm(b.First))
	case !(max(b.First, two.U) > 3*b.Noise) || two.U == 0:
		return ""
	}
	shown := func(si float64) float64 { return math.Abs(eval.DifferenceIn(si, b.Of.Unit).Shown) }
	size := b.First
	if size <= 3*b.Noise {
		size = two.U
	}
	if limit := Tolerance(shown(size)); shown(two.U-b.First) <= limit && shown(two.Shift) <= limit {
		return ""
	}
	side := "above"
	if two.Shift < 0 {
		side = "below"
	}
	return fmt.Sprintf("first order is not enough for the uncertainty of %s: %s, and with the terms of second order %s, the mean %s %s the value", name, b.pm(b.First), b.pm(two.U), b.pm(math.Abs(two.Shift)), side)
}

// missing says why there is no uncertainty by first order.
func (b *Budget) missing() string {
	name := b.Of.Symbol.Full()
	for _, f := range b.Rows {
		switch in := f.Input.Symbol.Full(); {
		case !f.Uncertain() || !math.IsNaN(f.Derivative):
		case f.Jump:
			return fmt.Sprintf("%s has no combined uncertainty by first order: it jumps at this value of %s", name, in)
		default:
			return fmt.Sprintf("%s has no combined uncertainty: a little beside %s it has no value", name, in)
		}
	}
	return name + " has no combined uncertainty: those of its inputs are too large"
}

// pm is a difference of values of the answer with two digits and its unit.
func (b *Budget) pm(si float64) string {
	v := eval.DifferenceIn(si, b.Of.Unit)
	text := units.FormatNumber(v.Shown, UncertaintyDigits)
	if v.Unit.IsNone() {
		return text
	}
	return text + " " + v.Unit.String()
}

// UncertaintyDigits: a standard uncertainty is given with two significant digits at most
// (JCGM 100:2008 (GUM), 7.2.6; as quoted).
const UncertaintyDigits = 2
