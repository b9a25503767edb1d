package propsdb

import "sync/atomic"

// Inverse look-ups. T(y) for y = h, so, u or so − R·ln T is a cubic table, built
// the first time it is needed, that gives a start good to about 1e-9, and exactly
// one Newton step in the segment the value belongs to.
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
	lo, hi float64 // y, with roundoff to either side
	steps  steps   // over the y at which the next span begins
	spans  []span
}

// roundoff, as a part of the whole span of y, is let in at either end and gives
// the end's T: at Tmin and Tmax, so found from s and p must not fall outside
// by the last digit.
const roundoff = 1e-12

// inverse is a table built on first use. Should two goroutines build it at once,
// both tables are the same and one is kept.
type inverse struct{ built atomic.Pointer[table] }

func (v *inverse) of(c *curve, q quantity) *table {
	if tab := v.built.Load(); tab != nil {
		return tab
	}
	v.built.CompareAndSwap(nil, newTable(c, q))
	return v.built.Load()
}

func newTable(c *curve, q quantity) *table {
	last := len(c.segs) - 1
	lo, hi := q.value(&c.segs[0], c.lo), q.value(&c.segs[last], c.hi)
	tab := &table{
		lo: lo - roundoff*(hi-lo), hi: hi + roundoff*(hi-lo),
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
		tab.spans[i] = newSpan(&c.segs[i], q, tLo, tHi, base, end)
		base, tLo = end, tHi
	}
	tab.steps = newSteps(splits)
	return tab
}

// newSpan walks along equal steps of y, finds T at each by Newton from the last,
// and joins them by cubics with the true slopes dT/dy.
func newSpan(g *segment, q quantity, tLo, tHi, yLo, yHi float64) span {
	width := (yHi - yLo) / cells
	sp := span{base: yLo, perCell: 1 / width, lo: tLo, hi: tHi, seg: g, cubic: make([][4]float64, cells)}
	t, slope := tLo, width*q.step(g, tLo)
	for i := range sp.cubic {
		y := yLo + float64(i+1)*width
		t1 := t + slope
		for range 2 {
			t1 -= (q.value(g, t1) - y) * q.step(g, t1)
		}
		slope1 := width * q.step(g, t1)
		rise := t1 - t
		sp.cubic[i] = [4]float64{t, slope, 3*rise - 2*slope - slope1, slope + slope1 - 2*rise}
		t, slope = t1, slope1
	}
	return sp
}

// invert is T from y: the table's start and one Newton step; NaN outside.
func (tab *table) invert(y float64, q quantity) float64 {
	if !(y >= tab.lo && y <= tab.hi) {
		return nan
	}
	sp := &tab.spans[tab.steps.reached(y)]
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
