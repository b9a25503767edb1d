package propsdb

import (
	"math"
	"sync/atomic"
)

// Inverse look-ups. T(y) for y = h, so, u or so − R·ln T is a cubic table, built
// the first time it is needed, that gives a start good to about 1e-9, and exactly
// one Newton step in the segment the value belongs to.
//
// A passing fluid, one of the many that a varied combustion makes and each of
// which is asked a few times only, or one of many segments, does without: its
// inverse is "brief", with no cubics to build, and takes Newton steps from a
// straight line until they have converged, at some four times the cost.
//
// At a joint of two segments y(T) jumps by a little (air: −5.5 mJ/kg in h at
// 1000 K). The upper segment wins: a y at or above its value at the joint is
// looked up in it, any smaller y in the lower segment, and the result of that is
// never let above the joint. T(y) is therefore monotone. Where y falls at the
// joint, temperatures just below it (air: 5 µK) are not given back by a round
// trip; where it rises, the values in the gap all give the joint.

// cells is the number of table cells per segment.
const cells = 256

// quantity names what of a segment is inverted.
type quantity bool

const (
	enthalpy quantity = false
	entropy  quantity = true
)

// value is y(t).
func (q quantity) value(g *segment, t float64) float64 {
	if q == enthalpy {
		return g.enthalpy(t, 1/t, ln(t))
	}
	return g.entropy(t, 1/t, ln(t))
}

// step is dT/dy at t: 1/cp for h, T/cp for so.
func (q quantity) step(g *segment, t float64) float64 {
	if q == enthalpy {
		return 1 / g.heat(t, 1/t)
	}
	return t / g.heat(t, 1/t)
}

type span struct {
	base, perCell float64 // y at the first cell, cells per unit of y
	lo, hi        float64 // K
	seg           *segment
	cubic         [][4]float64 // T over a cell in u = 0..1
}

type table struct {
	brief  bool    // the spans have no cubics
	lo, hi float64 // y, with roundoff to either side
	steps  steps   // over the y at which the next span begins
	spans  []span
}

// roundoff, as a part of the whole span of y, is let in at either end and gives
// the end's T: at Tmin and Tmax, so found from s and p must not fall outside
// by the last digit. So are some last digits of y itself, which count for more
// where a fluid's range is short.
const roundoff, ulps = 1e-12, 1e-15

// inverse is a table built on first use. Should two goroutines build it at once,
// both tables are the same and one is kept.
type inverse struct {
	brief bool
	built atomic.Pointer[table]
}

func (v *inverse) of(c *curve, q quantity) *table {
	if tab := v.built.Load(); tab != nil {
		return tab
	}
	v.built.CompareAndSwap(nil, newTable(c, q, v.brief))
	return v.built.Load()
}

func newTable(c *curve, q quantity, brief bool) *table {
	last := len(c.segs) - 1
	lo, hi := q.value(&c.segs[0], c.lo), q.value(&c.segs[last], c.hi)
	slack := roundoff*(hi-lo) + ulps*max(math.Abs(lo), math.Abs(hi))
	tab := &table{
		brief: brief,
		lo:    lo - slack, hi: hi + slack,
		spans: make([]span, len(c.segs)),
	}
	var splits []float64
	base, tLo := lo, c.lo
	for i := range c.segs {
		end, tHi := hi, c.hi
		if i < last {
			tHi = c.joints[i]
			end = q.value(&c.segs[i+1], tHi)
			splits = append(splits, end)
		}
		tab.spans[i] = span{base: base, perCell: cells / (end - base), lo: tLo, hi: tHi, seg: &c.segs[i]}
		if !brief {
			tab.spans[i].addCubics(q, end)
		}
		base, tLo = end, tHi
	}
	tab.steps = newSteps(splits)
	return tab
}

// addCubics walks along equal steps of y, finds T at each by Newton from the
// last, and joins them by cubics with the true slopes dT/dy.
func (sp *span) addCubics(q quantity, yHi float64) {
	g, width := sp.seg, (yHi-sp.base)/cells
	sp.cubic = make([][4]float64, cells)
	t, slope := sp.lo, width*q.step(g, sp.lo)
	for i := range sp.cubic {
		y := sp.base + float64(i+1)*width
		t1 := t + slope
		for range 2 {
			t1 -= (q.value(g, t1) - y) * q.step(g, t1)
		}
		slope1 := width * q.step(g, t1)
		rise := t1 - t
		sp.cubic[i] = [4]float64{t, slope, 3*rise - 2*slope - slope1, slope + slope1 - 2*rise}
		t, slope = t1, slope1
	}
}

// invert is T from y: the table's start and one Newton step; NaN outside.
func (tab *table) invert(y float64, q quantity) float64 {
	if !(y >= tab.lo && y <= tab.hi) {
		return nan
	}
	sp := &tab.spans[tab.steps.reached(y)]
	if tab.brief {
		t, _ := sp.converge(y, q)
		return t
	}
	x := (y - sp.base) * sp.perCell
	j := min(int(x), cells-1)
	u := x - float64(j)
	k := &sp.cubic[j]
	t := (k[0] + u*k[1]) + u*u*(k[2]+u*k[3])

	it := 1 / t
	if q == enthalpy {
		t -= (sp.seg.enthalpy(t, it, ln(t)) - y) / sp.seg.heat(t, it)
	} else {
		t -= (sp.seg.entropy(t, it, ln(t)) - y) * t / sp.seg.heat(t, it)
	}
	if t < sp.lo {
		return sp.lo
	}
	if t > sp.hi {
		return sp.hi
	}
	return t
}

// converge is T from y without cubics, and the Newton steps it took. Since y
// rises with T the root stays bracketed, and where a step would leave the bracket
// the middle of it is taken, so that it converges whatever the segment.
func (sp *span) converge(y float64, q quantity) (t float64, steps int) {
	const enough, most = 1e-9, 200 // a step of 1e-9 leaves about its square
	lo, hi := sp.lo, sp.hi
	t = lo + (y-sp.base)*sp.perCell/cells*(hi-lo)
	t = min(max(t, lo), hi)
	for steps = 1; steps < most; steps++ {
		short := q.value(sp.seg, t) - y
		if short > 0 {
			hi = t
		} else {
			lo = t
		}
		by := short * q.step(sp.seg, t)
		next := t - by
		if math.Abs(by) <= enough*t {
			return min(max(next, sp.lo), sp.hi), steps
		}
		if !(next > lo && next < hi) {
			switch { // y may lie in the gap at a joint, which no T of the segment has
			case hi == sp.hi && next >= hi && q.value(sp.seg, hi) <= y:
				return hi, steps
			case lo == sp.lo && next <= lo && q.value(sp.seg, lo) >= y:
				return lo, steps
			}
			next = lo + (hi-lo)/2
		}
		t = next
	}
	return t, steps
}

// brief makes all inverses of a fluid brief; for one that nobody has used yet.
func (f *Fluid) brief() {
	f.byH.brief, f.bySo.brief, f.byU.brief, f.bySv.brief = true, true, true, true
}

// briefSteps is how many Newton steps a brief inverse takes to y of H, U, So or,
// for S, so − R·ln T.
func (f *Fluid) briefSteps(from Property, y float64) int {
	v, c, q := &f.byH, &f.atP, enthalpy
	switch from {
	case U:
		v, c = &f.byU, &f.atV
	case So:
		v, q = &f.bySo, entropy
	case S:
		v, c, q = &f.bySv, &f.atV, entropy
	}
	tab := v.of(c, q)
	_, steps := tab.spans[tab.steps.reached(y)].converge(y, q)
	return steps
}
