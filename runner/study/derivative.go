package study

import (
	"context"
	"math"

	"workings/runner/eval"
	"workings/runner/resolve"
)

// Slope is a derivative at the sheet's own point, in SI.
type Slope struct {
	// Derivative is NaN where the sheet has no value a little beside the input, and where the answer
	// jumps at its value.
	Derivative float64
	// Error is how far the derivative may be off: by how much its last refinement moved it, and what
	// rounding leaves.
	Error float64
	// Corner: the derivative jumps here, and this is the mean of those of both sides.
	Corner bool
	// Jump: the answer itself jumps here.
	Jump bool
	// OneSided: the sheet has values on one side of the input only.
	OneSided bool
	// Near: only fine steps have found it, since something is near over which the sheet bends, jumps or ends.
	Near bool
	// Flat: there is no slope here, as at an extreme.
	Flat bool
	// Moves: the answer is another a little beside the input, by more than rounding, or has no value there.
	Moves bool
	jump  float64 // by which the derivative seems to jump
}

// reaches are the widest of the three steps of a derivative as a share of the input. Combined, three steps
// leave an error that goes as the sixth power of the widest, and a rounding that goes as its inverse: the
// first does for what is smooth. The finer ones are for what bends or jumps close by, as the properties of
// steam do at saturation and a table does at its rows.
var reaches = [...]float64{1e-3, 1e-3 / 32, 1e-3 / 1024}

// corner is by what share of a derivative it may jump before that is taken for a corner.
const corner = 1e-5

// lanes are where a derivative is taken, in widest steps. Each side is three steps, every one half of
// the one before.
var lanes = [...]float64{1, 0.5, 0.25, -1, -0.5, -0.25}

// lanesAtOnce bounds how many points a batch is given together, and with it the memory that they take.
const lanesAtOnce = 1536

// extent is what the steps for an input are a share of: its value, or its standard uncertainty where that is
// larger, as of a difference that is nearly zero. One that is zero without an uncertainty is moved by a share
// of one SI unit.
func extent(in eval.OwnInput) float64 {
	if s := max(math.Abs(in.Value), in.Spread); s > 0 {
		return s
	}
	return 1
}

// derivatives are those of some answers with respect to some inputs, by answer and input: central
// differences at three steps, twice refined (Romberg's scheme of Richardson's extrapolation; common
// practice, no source).
func derivatives(ctx context.Context, t *eval.Trace, of []*resolve.Symbol, inputs []eval.OwnInput) ([][]Slope, error) {
	out := make([][]Slope, len(of))
	for i := range out {
		out[i] = make([]Slope, len(inputs))
	}
	p, err := newProbe(t, of, inputs)
	if err != nil {
		return nil, err
	}
	which := make([]int, len(inputs))
	for i := range which {
		which[i] = i
	}
	for k, reach := range reaches {
		which, err = p.slopes(ctx, t, of, which, reach, func(a, i int, s Slope) (doubtful bool) {
			if wider := &out[a][i]; k > 0 && wider.Corner && !s.confirms(wider) {
				wider.Corner = false
			}
			if k == 0 || out[a][i].doubtful() && s.better(&out[a][i]) {
				s.Moves, s.Near = s.Moves || out[a][i].Moves, k > 0
				out[a][i] = s
			}
			return out[a][i].doubtful()
		})
		if err != nil {
			return nil, err
		}
	}
	for a := range out {
		for i := range out[a] {
			if out[a][i].Jump {
				out[a][i].Derivative, out[a][i].Error = math.NaN(), math.NaN()
			}
		}
	}
	return out, nil
}

// slopes finds the derivatives with respect to some inputs by steps of one reach, and gives the inputs of
// which a finer one may tell more: those for which take says so of some answer.
func (p *probe) slopes(ctx context.Context, t *eval.Trace, of []*resolve.Symbol, which []int, reach float64, take func(answer, input int, s Slope) bool) ([]int, error) {
	var again []int
	each := lanesAtOnce / len(lanes)
	for from := 0; from < len(which); from += each {
		some := which[from:min(from+each, len(which))]
		points := make([]move, 0, len(lanes)*len(some))
		for _, i := range some {
			for _, by := range lanes {
				points = append(points, move{{i, by * reach * extent(p.inputs[i])}})
			}
		}
		x, y, err := p.evaluate(ctx, points)
		if err != nil {
			return nil, err
		}
		for n, i := range some {
			more := false
			for a, s := range of {
				at, _ := t.Value(s)
				first := n * len(lanes)
				if take(a, i, slope(p.inputs[i].Value, at.SI, x[i][first:first+len(lanes)], y[a][first:first+len(lanes)])) {
					more = true
				}
			}
			if more {
				again = append(again, i)
			}
		}
	}
	return again, nil
}

// doubtful reports a derivative of which finer steps may tell more.
func (s *Slope) doubtful() bool {
	return math.IsNaN(s.Derivative) || s.Corner || s.Jump || s.OneSided || s.Error > doubtful*math.Abs(s.Derivative) && s.Moves && !s.Flat
}

// better reports a derivative that is more to be relied on than the one by wider steps.
func (s *Slope) better(wider *Slope) bool {
	switch {
	case s.Jump || math.IsNaN(s.Derivative):
		return false
	case wider.Jump || math.IsNaN(wider.Derivative):
		return true
	}
	const clearly = 0.25 // so that rounding does not decide
	return s.Error < clearly*wider.Error
}

// confirms reports a corner that finer steps find again: one of noise grows as they become smaller.
func (s *Slope) confirms(wider *Slope) bool {
	ratio := s.jump / wider.jump
	return s.Corner && ratio > 0.5 && ratio < 2
}

// slope is the derivative at x0, where the answer is y0, from the lanes beside it. The steps really taken
// are those of the rounded points.
func slope(x0, y0 float64, x, y []float64) Slope {
	var d, up, down [3]float64
	for k := range d {
		d[k] = (y[k] - y[k+3]) / (x[k] - x[k+3])
		up[k] = (y[k] - y0) / (x[k] - x0)
		down[k] = (y[k+3] - y0) / (x[k+3] - x0)
	}
	// Rounding moves a value by about its last place, and a difference of two by twice that.
	const sides = 2
	step := math.Abs(x[2] - x0)
	rounding := sides * math.Abs(y0) * 0x1p-52 / step
	still := math.Abs(y0) * stillness
	most, moves := 0.0, false
	for _, v := range y {
		most = max(most, math.Abs(v-y0))
		moves = moves || !(math.Abs(v-y0) <= still)
	}
	if !moves {
		return Slope{Error: still / step}
	}
	if v, moved := romberg(d, 4); !math.IsNaN(v) {
		if math.Abs(v) <= moved && most <= math.Abs(y0)*unsettled {
			return Slope{Error: moved + rounding} // what an extreme inside the sheet is found to, say
		}
		s := Slope{Derivative: v, Error: moved + rounding, Moves: true}
		s.Jump = jumps(y[:3], y0) || jumps(y[3:], y0)
		// At a corner the differences of both sides do not come together, however small the step; their
		// mean, which is what differences over both sides give, is then no derivative.
		apart := [3]float64{up[0] - down[0], up[1] - down[1], up[2] - down[2]}
		if jump, unsure := romberg(apart, 2); math.Abs(jump) > max(corner*max(math.Abs(up[2]), math.Abs(down[2])), unsure, still/step) {
			s.Corner, s.jump, s.Error = true, jump, s.Error+math.Abs(jump)/2
			if math.Abs(v) < 1e-9*math.Abs(jump) {
				s.Derivative = 0 // the two sides cancel
			}
		}
		const small = 1e-3
		if !s.Corner && math.Abs(v) <= s.Error && s.Error*math.Abs(x[0]-x0) < small*most {
			s.Flat, s.Derivative = true, 0
		}
		return s
	}
	for _, side := range [...][3]float64{up, down} {
		// What ends at a point often does so with a root, over which the steps settle more slowly than
		// they are refined for.
		const careful = 4
		if v, moved := romberg(side, 2); !math.IsNaN(v) {
			return Slope{Derivative: v, Error: careful*moved + rounding, OneSided: true, Moves: true}
		}
	}
	return Slope{Derivative: math.NaN(), Error: math.NaN(), Moves: true}
}

// stillness is by what share of itself an answer may be another, beside the input, that does not follow it: a
// sum that rounding alone keeps from cancelling moves by more than its last place. Where the differences show
// no slope it may be more: an extreme that a solve finds is known to less.
const (
	stillness = 1e-11
	unsettled = 1e-9
)

// jumps reports values on one side of a point that lie together, and not by the value at it. Those of an
// answer that is nothing but rounding lie apart.
func jumps(y []float64, y0 float64) bool {
	const (
		least    = 1e-6 // of the value: what is smaller may be how well it is known
		together = 0.1
	)
	jump := math.Abs(y[2] - y0)
	return jump > least*math.Abs(y0) && max(math.Abs(y[0]-y[2]), math.Abs(y[1]-y[2])) <= together*jump
}

// romberg refines three differences, each at half the step of the one before it, and says by how much
// the last refinement moved the result. base is by how much the first error falls with half the
// step: 4 on both sides of a point, 2 on one.
func romberg(d [3]float64, base float64) (v, moved float64) {
	a := d[1] + (d[1]-d[0])/(base-1)
	b := d[2] + (d[2]-d[1])/(base-1)
	v = b + (b-a)/(base*base-1)
	return v, math.Abs(b - a)
}

// move is a point beside the sheet's own: which inputs are elsewhere, and by how much in SI.
type move []shift

type shift struct {
	input int
	by    float64
}

// probe evaluates answers at points beside the sheet's own.
type probe struct {
	inputs []eval.OwnInput
	keep   int
	batch  *eval.Batch
}

func newProbe(t *eval.Trace, of []*resolve.Symbol, inputs []eval.OwnInput) (*probe, error) {
	vary := make([]*resolve.Symbol, len(inputs))
	for i, in := range inputs {
		vary[i] = in.Symbol
	}
	b, err := t.Batch(eval.Plan{Vary: vary, Keep: of})
	return &probe{inputs: inputs, keep: len(of), batch: b}, err
}

// evaluate gives the inputs and the answers at some points, NaN where an answer has no value. The error
// is that of a context that ended.
func (p *probe) evaluate(ctx context.Context, points []move) (x, y [][]float64, err error) {
	x, y = columns(len(p.inputs), len(points)), columns(p.keep, len(points))
	for i, in := range p.inputs {
		for k := range x[i] {
			x[i][k] = in.Value
		}
	}
	for k, m := range points {
		for _, s := range m {
			x[s.input][k] += s.by
		}
	}
	_, err = p.batch.Run(ctx, x, y, nil)
	return x, y, err
}

func columns(n, long int) [][]float64 {
	out := make([][]float64, n)
	for i := range out {
		out[i] = make([]float64, long)
	}
	return out
}
