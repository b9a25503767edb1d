package study

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/optimize"

	"workings/runner/resolve"
)

// Optimum is what a seek has found in one series.
type Optimum struct {
	Of   *resolve.Seek
	At   []float64 // by input sought, SI
	Kept []float64 // everything kept, there
	// Active are the limits that the optimum lies at.
	Active []Active
	// Idle are inputs, by their place in the seek, over whose whole range nothing changes at the optimum: any
	// value of them is as good.
	Idle        []int
	Evaluations int
	// Starts is from how many places it was sought, Agreeing how many of these ended at the same
	// value. Others are the values, SI, at which the rest ended.
	Starts, Agreeing int
	Others           []float64
	// Elsewhere: starts that agree have ended at places apart, so that the best is at more than one.
	Elsewhere bool
	// Problem is why there is none; "" where there is.
	Problem string
	Outside bool // an input lies outside its allowed range
}

// Active is a limit that an optimum lies at: an end of an input's range, or a condition.
type Active struct {
	Input     int // −1 for a condition
	Upper     bool
	Condition int // −1 for an input
}

const (
	samples   = 512 // looked at to begin with, by input sought
	starts    = 6
	apart     = 0.1 // of the ranges, between two starts
	rounds    = 12  // of the multipliers
	lookups   = 600 // evaluations of one round
	touching  = 1e-6
	agreement = 1e-6 // of the spread of the values that were looked at
	nowhere   = 1e30 // for a point that has no value
)

// search looks for an optimum in the cube of inputs that run from 0 to 1.
type search struct {
	m    *model
	of   *resolve.Seek
	sign float64
	// What a value and the sides of a condition differ by over the whole cube.
	valueScale float64
	scales     []float64
	best       outcome // the best that keeps all conditions
	err        error
}

// outcome is one evaluation.
type outcome struct {
	u     []float64
	value float64   // to be made least; NaN where there is none
	over  []float64 // by condition, by how much it is overstepped in its scale
	kept  []float64
}

func (o *outcome) keeps() bool {
	return !math.IsNaN(o.value) && !slices.ContainsFunc(o.over, func(v float64) bool { return !(v <= 0) })
}

// seek finds the inputs at which a symbol is largest or smallest, within ranges and conditions.
// A sample over the whole range shows where to begin; from several places apart the simplex method
// of Nelder and Mead (J. A. Nelder, R. Mead, Comput. J. 7 (1965) 308; gonum's) goes downhill.
// Conditions enter by multipliers that are corrected from round to round (augmented Lagrangian:
// J. Nocedal, S. J. Wright, Numerical Optimization, 2nd ed. 2006, framework 17.4; from memory).
func (m *model) seek(of *resolve.Seek) (*Optimum, error) {
	s := &search{m: m, of: of, sign: -signOf(of.Extreme)}
	places, err := s.look()
	if err != nil {
		return nil, err
	}
	out := &Optimum{Of: of}
	if len(places) == 0 {
		out.Problem = "no point in the ranges has a value"
		out.Evaluations = m.calls
		return out, nil
	}
	var ends []outcome
	var top outcome
	for _, p := range places {
		s.best = outcome{}
		if p.keeps() {
			s.best = p
		}
		s.from(p.u)
		s.snap()
		if s.err != nil {
			return nil, s.err
		}
		if s.best.kept == nil {
			continue
		}
		ends = append(ends, s.best)
		if top.kept == nil || s.best.value < top.value {
			top = s.best
		}
	}
	out.Starts = len(places)
	if top.kept == nil {
		out.Problem, out.Evaluations = "no point was found that keeps all conditions", m.calls
		return out, nil
	}
	for i := range of.By {
		if s.idle(&top, i) {
			out.Idle = append(out.Idle, i)
		}
	}
	if out.Evaluations = m.calls; s.err != nil {
		return nil, s.err
	}
	for _, end := range ends {
		if end.value-top.value > agreement*s.valueScale {
			out.Others = append(out.Others, s.sign*end.value)
			continue
		}
		out.Agreeing++
		for i, v := range end.u {
			if math.Abs(v-top.u[i]) > apart && !slices.Contains(out.Idle, i) {
				out.Elsewhere = true
			}
		}
	}
	out.At, out.Kept = s.inputs(top.u), top.kept
	s.active(out, &top)
	for i, b := range of.By {
		out.Outside = out.Outside || !b.Allows(out.At[i])
	}
	return out, nil
}

// inputs are the values of the inputs at a place of the cube.
func (s *search) inputs(u []float64) []float64 {
	out := make([]float64, len(u))
	for i, v := range u {
		b := s.of.By[i]
		switch {
		case v <= 0:
			out[i] = b.From
		case v >= 1:
			out[i] = b.To
		default:
			out[i] = b.From + (b.To-b.From)*v
		}
	}
	return out
}

// outcome reads an evaluation. Scales that are not known yet are 1.
func (s *search) outcome(u, kept []float64) outcome {
	o := outcome{u: u, kept: kept, value: s.sign * kept[s.of.Keep]}
	for i, c := range s.of.Subject {
		left, right := side(c.Left, kept), side(c.Right, kept)
		o.over = append(o.over, (left-right)/s.scales[i])
		if c.Strict && left == right {
			o.over[i] = math.SmallestNonzeroFloat64
		}
		if math.IsNaN(o.over[i]) {
			o.value = math.NaN()
		}
	}
	return o
}

func side(x resolve.Side, kept []float64) float64 {
	if x.Keep < 0 {
		return x.Value
	}
	return kept[x.Keep]
}

// look evaluates a sample over the whole cube and gives the best places that lie apart.
func (s *search) look() ([]outcome, error) {
	n := len(s.of.By)
	us := sequence(n, samples*n)
	columns := make([][]float64, n)
	for _, u := range us {
		for i, v := range s.inputs(u) {
			columns[i] = append(columns[i], v)
		}
	}
	kept, err := s.m.at(columns...)
	if err != nil {
		return nil, err
	}
	s.scales = make([]float64, len(s.of.Subject))
	for i := range s.scales {
		s.scales[i] = 1
	}
	var all []outcome
	for p, u := range us {
		row := make([]float64, len(kept))
		for k := range kept {
			row[k] = kept[k][p]
		}
		if o := s.outcome(u, row); !math.IsNaN(o.value) {
			all = append(all, o)
		}
	}
	s.scale(all)
	merit := func(o *outcome) float64 {
		sum := o.value / s.valueScale
		for _, v := range o.over {
			sum += 10 * math.Max(0, v)
		}
		return sum
	}
	slices.SortStableFunc(all, func(a, b outcome) int { return cmp.Compare(merit(&a), merit(&b)) })
	var out []outcome
	for _, o := range all {
		if len(out) == starts {
			break
		}
		if !slices.ContainsFunc(out, func(p outcome) bool { return distance(p.u, o.u) < apart }) {
			out = append(out, o)
		}
	}
	return out, nil
}

// scale takes from the sample by how much values and sides of conditions differ.
func (s *search) scale(all []outcome) {
	spread := func(of func(o *outcome) float64) float64 {
		lo, hi := math.Inf(1), math.Inf(-1)
		for i := range all {
			lo, hi = math.Min(lo, of(&all[i])), math.Max(hi, of(&all[i]))
		}
		if d := hi - lo; d > 0 && !math.IsInf(d, 0) {
			return d
		}
		return 1
	}
	s.valueScale = spread(func(o *outcome) float64 { return o.value })
	for i := range s.scales {
		s.scales[i] = spread(func(o *outcome) float64 { return o.over[i] })
	}
	for k := range all {
		for i := range s.scales {
			all[k].over[i] /= s.scales[i]
		}
	}
}

func distance(a, b []float64) float64 {
	d := 0.0
	for i := range a {
		d = math.Max(d, math.Abs(a[i]-b[i]))
	}
	return d
}

// sequence are n points that fill the cube evenly: the additive recurrence with the powers of the
// root of g^(d+1) = g + 1 (M. Roberts, 2018; from memory).
func sequence(d, n int) [][]float64 {
	g := 2.0
	for range 60 {
		g = math.Pow(1+g, 1/float64(d+1))
	}
	out := make([][]float64, n)
	for k := range out {
		u := make([]float64, d)
		for i := range u {
			_, u[i] = math.Modf(0.5 + float64(k+1)*math.Pow(g, -float64(i+1)))
		}
		out[k] = u
	}
	return out
}

// evaluate is the outcome at one place, which it remembers if it is the best so far.
func (s *search) evaluate(u []float64) outcome {
	if s.err != nil {
		return outcome{value: math.NaN()}
	}
	inside := make([]float64, len(u))
	for i, v := range u {
		inside[i] = math.Min(1, math.Max(0, v))
	}
	kept, err := s.m.one(s.inputs(inside))
	if err != nil {
		s.err = err
		return outcome{value: math.NaN()}
	}
	o := s.outcome(inside, kept)
	if o.keeps() && (s.best.kept == nil || o.value < s.best.value) {
		s.best = o
	}
	return o
}

// from goes downhill from one place.
func (s *search) from(u []float64) {
	multipliers := make([]float64, len(s.of.Subject))
	weight, size := 10.0, 0.1
	last := math.Inf(1)
	for range rounds {
		merit := func(v []float64) float64 {
			o := s.evaluate(v)
			if math.IsNaN(o.value) {
				return nowhere
			}
			sum := o.value / s.valueScale
			for i, over := range o.over {
				if t := math.Max(0, over+multipliers[i]/weight); t > 0 {
					sum += weight / 2 * t * t
				}
				sum -= multipliers[i] * multipliers[i] / (2 * weight)
			}
			for i, x := range v { // beyond the range, with what it would be at its end
				d := x - math.Min(1, math.Max(0, v[i]))
				sum += 10 * (math.Abs(d) + d*d)
			}
			return sum
		}
		r, err := optimize.Minimize(optimize.Problem{Func: merit}, u, &optimize.Settings{FuncEvaluations: lookups * len(u),
			Converger: &optimize.FunctionConverge{Absolute: 1e-13, Iterations: 20 * len(u)}}, &optimize.NelderMead{SimplexSize: size})
		if err != nil && r == nil || s.err != nil {
			return // gonum found nothing to do: what was looked at has been remembered
		}
		moved := distance(u, r.X)
		u = slices.Clone(r.X)
		o := s.evaluate(u)
		if math.IsNaN(o.value) {
			return
		}
		worst := 0.0
		for i, over := range o.over {
			worst = math.Max(worst, math.Max(over, -multipliers[i]/weight))
			multipliers[i] = math.Max(0, multipliers[i]+weight*over)
		}
		if moved < 1e-9 && worst < 1e-10 {
			return
		}
		if worst > last/4 {
			weight *= 5
		}
		last = worst
		size = math.Max(1e-4, size/3)
	}
}

// snap puts inputs that lie as good as at an end of their range to that end, where that is no worse.
func (s *search) snap() {
	if s.best.kept == nil {
		return
	}
	u := slices.Clone(s.best.u)
	for i, v := range u {
		if v <= touching || v >= 1-touching {
			u[i] = math.Round(v)
		}
	}
	o := s.evaluate(u)
	if o.keeps() && o.value <= s.best.value+1e-12*s.valueScale {
		s.best = o
	}
}

// idle reports an input over whose range neither the value nor a condition changes at an optimum.
func (s *search) idle(top *outcome, input int) bool {
	const places = 4
	for n := range places + 1 {
		u := slices.Clone(top.u)
		u[input] = float64(n) / places
		kept, err := s.m.one(s.inputs(u))
		if err != nil {
			s.err = err
			return false
		}
		o := s.outcome(u, kept)
		for i, v := range o.over {
			if math.Abs(v-top.over[i]) > touching {
				return false
			}
		}
		if !same(o.value, top.value) {
			return false
		}
	}
	return true
}

// active names the limits that an optimum lies at.
func (s *search) active(out *Optimum, top *outcome) {
	for i, v := range top.u {
		if !slices.Contains(out.Idle, i) && (v <= touching || v >= 1-touching) {
			out.Active = append(out.Active, Active{Input: i, Upper: v > 0.5, Condition: -1})
		}
	}
	for i, over := range top.over {
		if over > -touching {
			out.Active = append(out.Active, Active{Input: -1, Condition: i})
		}
	}
}
