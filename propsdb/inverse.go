package propsdb

import "sync"

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

// value is y(t), and slope is dy/dT there.
func (q quantity) value(g *segment, t float64) (y, slope float64) {
	it := 1 / t
	if q == enthalpy {
		return g.enthalpy(t, it, ln(t)), g.heat(t, it)
	}
	return g.entropy(t, it, ln(t)), g.heat(t, it) * it
}

type span struct {
	base, perCell float64 // y at the first cell, cells per unit of y
	lo, hi        float64 // K
	seg           *segment
	cubic         [][4]float64 // T over the cell, in u = 0..1
}

type table struct {
	lo, hi float64   // y
	splits []float64 // y at which the next span begins
	spans  []span
}

// inverse is a table that is built once, on first use.
type inverse struct {
	once sync.Once
	tab  *table
}

func (v *inverse) of(c *curve, q quantity) *table {
	v.once.Do(func() { v.tab = newTable(c, q) })
	return v.tab
}

func newTable(c *curve, q quantity) *table {
	last := len(c.segs) - 1
	tab := &table{spans: make([]span, len(c.segs))}
	tab.lo, _ = q.value(&c.segs[0], c.lo)
	tab.hi, _ = q.value(&c.segs[last], c.hi)
	base, tLo := tab.lo, c.lo
	for i := range c.segs {
		end, tHi := tab.hi, c.hi
		if i < last {
			tHi = c.joints[i]
			end, _ = q.value(&c.segs[i+1], tHi)
			tab.splits = append(tab.splits, end)
		}
		tab.spans[i] = newSpan(&c.segs[i], q, tLo, tHi, base, end)
		base, tLo = end, tHi
	}
	return tab
}

// newSpan walks along equal steps of y, finds T at each by Newton from the last,
// and joins them by cubics with the true slopes 1/(dy/dT).
func newSpan(g *segment, q quantity, tLo, tHi, yLo, yHi float64) span {
	width := (yHi - yLo) / cells
	sp := span{base: yLo, perCell: 1 / width, lo: tLo, hi: tHi, seg: g, cubic: make([][4]float64, cells)}
	t := tLo
	_, dydt := q.value(g, t)
	slope := width / dydt
	for i := range sp.cubic {
		y := yLo + float64(i+1)*width
		t1 := t + slope
		for range 3 {
			v, d := q.value(g, t1)
			dydt = d
			t1 -= (v - y) / d
		}
		_, dydt = q.value(g, t1)
		slope1 := width / dydt
		rise := t1 - t
		sp.cubic[i] = [4]float64{t, slope, 3*rise - 2*slope - slope1, slope + slope1 - 2*rise}
		t, slope = t1, slope1
	}
	return sp
}

// start is the span of y and the table's T, or nil outside the table (NaN too).
func (tab *table) start(y float64) (*span, float64) {
	if !(y >= tab.lo && y <= tab.hi) {
		return nil, 0
	}
	i := 0
	for _, split := range tab.splits {
		if y >= split {
			i++
		}
	}
	sp := &tab.spans[i]
	x := (y - sp.base) * sp.perCell
	j := min(int(x), cells-1)
	u := x - float64(j)
	k := &sp.cubic[j]
	return sp, (k[0] + u*k[1]) + u*u*(k[2]+u*k[3])
}

func (sp *span) clamp(t float64) float64 {
	if t < sp.lo {
		return sp.lo
	}
	if t > sp.hi {
		return sp.hi
	}
	return t
}

func (tab *table) fromEnthalpy(h float64) float64 {
	sp, t := tab.start(h)
	if sp == nil {
		return nan
	}
	it := 1 / t
	return sp.clamp(t - (sp.seg.enthalpy(t, it, ln(t))-h)/sp.seg.heat(t, it))
}

func (tab *table) fromEntropy(s float64) float64 {
	sp, t := tab.start(s)
	if sp == nil {
		return nan
	}
	it := 1 / t
	return sp.clamp(t - (sp.seg.entropy(t, it, ln(t))-s)*t/sp.seg.heat(t, it))
}
