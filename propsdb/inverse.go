package propsdb

import (
	"math"
	"sync/atomic"
)

// Inverse look-ups. T(y) for y = h, so, u or so − R·ln T is read straight from a
// table, built the first time it is needed: polynomials of degree 7 through
// temperatures that Newton steps have found. What they leave is a few last digits,
// less than one more Newton step would, since y itself is no sharper (tested: a
// round trip to 1e-13).
//
// A passing fluid, one of the many that a varied combustion makes and each of
// which is asked a few times only, or one of many segments, does without: its
// inverse is "brief", with no polynomials to build, and takes Newton steps from a
// straight line until they have converged, at many times the cost.
//
// At a joint of two segments y(T) jumps by a little (air: −5.5 mJ/kg in h at
// 1000 K). The upper segment wins: a y at or above its value at the joint is
// looked up in it, any smaller y in the lower segment, and the result of that is
// never let above the joint. T(y) is therefore monotone but for its last digits,
// in which the polynomials meet. Where y falls at the
// joint, temperatures just below it (air: 5 µK) are not given back by a round
// trip; where it rises, the values in the gap all give the joint.

// A segment has from fewCells to mostCells table cells, as many as its curvature
// takes; degree is that of their polynomials.
const fewCells, mostCells, degree = 64, 1024, 7

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
	base, end float64 // y at the first cell and after the last
	perCell   float64 // cells per unit of y
	lo, hi    float64 // K
	seg       *segment
	cell      [][degree + 1]float64 // T over a cell in powers of u = −1..1
}

type table struct {
	brief  bool    // the spans have no cells
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
		tab.spans[i] = span{base: base, end: end, lo: tLo, hi: tHi, seg: &c.segs[i]}
		if !brief {
			tab.spans[i].addTable(q)
		}
		base, tLo = end, tHi
	}
	tab.steps = newSteps(splits)
	return tab
}

// chebyshev turns values at the nodes cos(π(k+½)/n), of which node k is the k-th
// from the right, into the coefficients of the polynomial of degree n−1 through
// them, in powers of u: row i gives the one of u^i.
var chebyshev = newChebyshev()

func newChebyshev() (rows [degree + 1][degree + 1]float64) {
	const n = degree + 1
	power := [n][n]float64{{1}, {0, 1}} // T_j in powers of u
	for j := 2; j < n; j++ {
		for i := range n {
			power[j][i] = -power[j-2][i]
			if i > 0 {
				power[j][i] += 2 * power[j-1][i-1]
			}
		}
	}
	for j := range n {
		scale := 2.0 / n
		if j == 0 {
			scale = 1.0 / n
		}
		for k := range n {
			weight := scale * math.Cos(math.Pi*float64(j)*(float64(k)+0.5)/n)
			for i := range n {
				rows[i][k] += weight * power[j][i]
			}
		}
	}
	return rows
}

// addTable makes as many cells as it takes for the table to be as sharp as y is, or
// for more cells to gain nothing: where y itself is a difference of large numbers
// (gases above 6000 K) no table is smoother than that.
func (sp *span) addTable(q quantity) {
	sp.addCells(q, fewCells)
	for off := sp.worst(q); off > 1 && len(sp.cell) < mostCells; {
		coarse := *sp
		sp.addCells(q, 2*len(sp.cell))
		finer := sp.worst(q)
		if finer > off/4 {
			*sp = coarse
			break
		}
		off = finer
	}
}

// addCells finds T at the nodes of every cell by Newton steps from the node before
// and lays a polynomial through them. It interpolates T less its value in the
// middle, so that the sums keep the last digits.
func (sp *span) addCells(q quantity, cells int) {
	const n = degree + 1
	g, width := sp.seg, (sp.end-sp.base)/float64(cells)
	sp.cell, sp.perCell = make([][n]float64, cells), 1/width
	t, y := sp.lo, sp.base
	find := func(want float64) float64 {
		t += (want - y) * q.step(g, t)
		for range 3 {
			t -= (q.value(g, t) - want) * q.step(g, t)
		}
		y = want
		return t
	}
	for i := range sp.cell {
		var at [n]float64
		middle := sp.base + (float64(i)+0.5)*width
		for k := n - 1; k >= n/2; k-- {
			at[k] = find(middle + width/2*math.Cos(math.Pi*(float64(k)+0.5)/n))
		}
		centre := find(middle)
		for k := n/2 - 1; k >= 0; k-- {
			at[k] = find(middle + width/2*math.Cos(math.Pi*(float64(k)+0.5)/n))
		}
		for j := range n {
			for k := range n {
				sp.cell[i][j] += chebyshev[j][k] * (at[k] - centre)
			}
		}
		sp.cell[i][0] += centre
	}
}

// worst is by how much the table is off at the ends of a cell, where a polynomial
// through its nodes is worst; 1 is the last digits of T and of y.
func (sp *span) worst(q quantity) (most float64) {
	for i := range sp.cell {
		y := sp.base + float64(i)/sp.perCell
		t := sp.read(y)
		step := q.step(sp.seg, t)
		off := math.Abs(q.value(sp.seg, t)-y) * step
		most = max(most, off/(2e-15*t+1e-15*math.Abs(y*step)))
	}
	return most
}

// invert is T from y; NaN outside.
func (tab *table) invert(y float64, q quantity) float64 {
	if !(y >= tab.lo && y <= tab.hi) {
		return nan
	}
	sp := &tab.spans[tab.steps.reached(y)]
	if tab.brief {
		t, _ := sp.converge(y, q)
		return t
	}
	return sp.read(y)
}

// read is T from y by the table.
func (sp *span) read(y float64) float64 {
	x := (y - sp.base) * sp.perCell
	j := min(int(x), len(sp.cell)-1)
	u := 2*(x-float64(j)) - 1
	k := &sp.cell[j]
	u2 := u * u
	t := k[0] + (u*k[1] + u2*((k[2]+u*k[3])+u2*((k[4]+u*k[5])+u2*(k[6]+u*k[7]))))
	if t < sp.lo {
		return sp.lo
	}
	if t > sp.hi {
		return sp.hi
	}
	return t
}

// converge is T from y without a table, and the Newton steps it took. Since y
// rises with T the root stays bracketed, and where a step would leave the bracket
// the middle of it is taken, so that it converges whatever the segment.
func (sp *span) converge(y float64, q quantity) (t float64, steps int) {
	const enough, most = 1e-9, 200 // a step of 1e-9 leaves about its square
	lo, hi := sp.lo, sp.hi
	t = lo + (y-sp.base)/(sp.end-sp.base)*(hi-lo)
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
