package study

import (
	"context"
	"math"

	"workings/runner/eval"
	"workings/runner/resolve"
)

// Slope is a derivative at the sheet's own point, in SI.
type Slope struct {
	Derivative float64 // NaN where the sheet has no value a little beside the input
	// Error is how far the derivative may be off: by how much its last refinement moved it, and what
	// rounding leaves.
	Error float64
	// Corner: the derivative jumps here, and this is the mean of those of both sides.
	Corner bool
	// OneSided: the sheet has values on one side of the input only.
	OneSided bool
}

// reach is the widest of the three steps of a derivative as a share of the input. Combined, they
// leave an error that goes as the sixth power of it, and a rounding that goes as its inverse.
const reach = 1e-3

// corner is by what share of a derivative it may jump before that is taken for a corner.
const corner = 1e-5

// lanes are where a derivative is taken, in widest steps. Each side is three steps, every one half of
// the one before.
var lanes = [...]float64{1, 0.5, 0.25, -1, -0.5, -0.25}

// lanesAtOnce bounds how many points a batch is given together, and with it the memory that they take.
const lanesAtOnce = 1536

// widest is the widest step for an input. One that is zero has no size to take a step from: it is moved
// by a share of its standard uncertainty or, without one, of one SI unit.
func widest(in eval.OwnInput) float64 {
	size := math.Abs(in.Value)
	if size == 0 {
		size = in.Spread
	}
	if size == 0 {
		size = 1
	}
	return size * reach
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
	each := lanesAtOnce / len(lanes)
	for from := 0; from < len(inputs); from += each {
		some := inputs[from:min(from+each, len(inputs))]
		points := make([]move, 0, len(lanes)*len(some))
		for i, in := range some {
			for _, by := range lanes {
				points = append(points, move{{from + i, by * widest(in)}})
			}
		}
		x, y, err := p.evaluate(ctx, points)
		if err != nil {
			return nil, err
		}
		for a, s := range of {
			at, _ := t.Value(s)
			for i, in := range some {
				first := i * len(lanes)
				out[a][from+i] = slope(in.Value, at.SI, x[from+i][first:], y[a][first:])
			}
		}
	}
	return out, nil
}

// slope is the derivative at x0, where the answer is y0, from the lanes beside it. The steps really taken
// are those of the rounded points.
func slope(x0, y0 float64, x, y []float64) Slope {
	const sides = 2
	var d, up, down [3]float64
	for k := range d {
		d[k] = (y[k] - y[k+3]) / (x[k] - x[k+3])
		up[k] = (y[k] - y0) / (x[k] - x0)
		down[k] = (y[k+3] - y0) / (x[k+3] - x0)
	}
	// Rounding moves a value by about its last place, and a difference of two by twice that.
	rounding := func(value float64) float64 {
		return sides * math.Abs(value) * 0x1p-52 / math.Abs(x[2]-x0)
	}
	if v, moved := romberg(d, 4); !math.IsNaN(v) {
		s := Slope{Derivative: v, Error: moved + rounding(y0)}
		// At a corner the differences of both sides do not come together, however small the step; their
		// mean, which is what differences over both sides give, is then no derivative.
		apart := [3]float64{up[0] - down[0], up[1] - down[1], up[2] - down[2]}
		if jump, _ := romberg(apart, 2); math.Abs(jump) > corner*max(math.Abs(up[2]), math.Abs(down[2])) {
			s.Corner, s.Error = true, s.Error+math.Abs(jump)/2
		}
		return s
	}
	for _, side := range [...][3]float64{up, down} {
		// What ends at a point often does so with a root, over which the steps settle more slowly than
		// they are refined for.
		const careful = 4
		if v, moved := romberg(side, 2); !math.IsNaN(v) {
			return Slope{Derivative: v, Error: careful*moved + rounding(y0), OneSided: true}
		}
	}
	return Slope{Derivative: math.NaN(), Error: math.NaN()}
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
