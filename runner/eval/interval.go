package eval

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/integrate/quad"
)

// gauss are nodes and weights of Gauss–Legendre quadrature between −1 and 1.
var gauss = sync.OnceValue(func() (g struct{ x, weight [20]float64 }) {
	quad.Legendre{}.FixedLocations(g.x[:], g.weight[:], -1, 1)
	return g
})

// halvings is how often an interval of integration is halved at most.
const halvings = 10

// overInterval evaluates the expression of i at the values that its variable has.
func (m *machine) overInterval(i *instr, lo, hi int) *fault {
	if !m.spend(hi - lo) {
		if m.strict {
			return m.tooLong(i.src.Src.Span())
		}
		for k := lo; k < hi; k++ {
			m.giveUp(k)
		}
		return nil
	}
	return m.run(i.sub.ins, lo, hi)
}

// integrate is Gauss–Legendre quadrature, halved until two orders agree: over all lanes at once
// first, and lane by lane where one halving is not enough.
func (m *machine) integrate(i *instr, d, a, b []float64, lo, hi int) *fault {
	k := &m.loops[i.loop.index]
	if k.area == nil {
		k.area = &areas{}
		for _, x := range []*[]float64{&k.area.from, &k.area.mid, &k.area.to, &k.area.whole, &k.area.left, &k.area.right} {
			*x = make([]float64, len(k.seekers))
		}
	}
	w := k.area
	for lane := lo; lane < hi; lane++ {
		from, to := pick(a, lane-lo), pick(b, lane-lo)
		w.from[lane], w.to[lane] = min(from, to), max(from, to)
		w.mid[lane] = w.from[lane] + (w.to[lane]-w.from[lane])/2
	}
	for _, part := range [3]struct{ from, to, sum []float64 }{{w.from, w.to, w.whole}, {w.from, w.mid, w.left}, {w.mid, w.to, w.right}} {
		if f := m.quadrature(i, part.from[lo:hi], part.to[lo:hi], part.sum[lo:hi], lo); f != nil {
			return f
		}
	}
	for lane := lo; lane < hi; lane++ {
		v := w.left[lane] + w.right[lane]
		if finite(v) && !agree(w.whole[lane], v) {
			left, f := m.area(i, w.from[lane], w.mid[lane], lane, halvings-1)
			if f != nil {
				return f
			}
			right, f := m.area(i, w.mid[lane], w.to[lane], lane, halvings-1)
			if f != nil {
				return f
			}
			v = left + right
		}
		if pick(a, lane-lo) > pick(b, lane-lo) {
			v = -v
		}
		d[lane-lo] = v
	}
	return nil
}

// areas are the parts of an integral, by lane.
type areas struct{ from, mid, to, whole, left, right []float64 }

func agree(whole, halves float64) bool { return math.Abs(whole-halves) <= 1e-13*math.Abs(halves) }

// area integrates in one lane, further halved.
func (m *machine) area(i *instr, a, b float64, lane, depth int) (float64, *fault) {
	mid := a + (b-a)/2
	from, to := [3]float64{a, a, mid}, [3]float64{b, mid, b}
	var sum [3]float64
	for k := range sum {
		if f := m.quadrature(i, from[k:k+1], to[k:k+1], sum[k:k+1], lane); f != nil {
			return 0, f
		}
	}
	halves := sum[1] + sum[2]
	if !finite(halves) || agree(sum[0], halves) || depth == 0 {
		return halves, nil
	}
	left, f := m.area(i, a, mid, lane, depth-1)
	if f != nil {
		return 0, f
	}
	right, f := m.area(i, mid, b, lane, depth-1)
	return left + right, f
}

// quadrature integrates between a and b in some lanes from lo on. An interval without width is 0.
func (m *machine) quadrature(i *instr, a, b, sum []float64, lo int) *fault {
	g := gauss()
	hi := lo + len(a)
	clear(sum)
	width := false
	for k := range a {
		width = width || a[k] != b[k]
	}
	if !width {
		return nil
	}
	for n, x := range g.x {
		at := m.v[i.variable][lo:hi]
		for k := range at {
			at[k] = (a[k]+b[k])/2 + (b[k]-a[k])/2*x
		}
		if f := m.overInterval(i, lo, hi); f != nil {
			return f
		}
		y := m.in(i.sub.out, lo, hi)
		for k := range sum {
			sum[k] += g.weight[n] * pick(y, k)
		}
	}
	for k := range sum {
		sum[k] *= (b[k] - a[k]) / 2
	}
	return nil
}

// ofInterval is smallest(expr, x, a, b) or largest: found as a solve finds an extreme, but an end of
// the interval may well be the answer.
func (m *machine) ofInterval(i *instr, d, a, b []float64, lo, hi int) *fault {
	try := func(lo, hi int) *fault { return m.overInterval(i, lo, hi) }
	if f := m.seek(i.loop, i.variable, a, b, lo, hi, try); f != nil {
		return f
	}
	if f := try(lo, hi); f != nil {
		return f
	}
	for lane := lo; lane < hi; lane++ {
		s := &m.loops[i.loop.index].seekers[lane]
		v := s.best
		if s.ending == found {
			v = max(s.sign*pick(m.v[i.sub.out], lane), v)
		}
		d[lane-lo] = s.sign * v
	}
	return nil
}
