package propsdb

import (
	"math"
	"slices"
	"sort"
)

// interval is one temperature interval of the nine-coefficient form of
// NASA/TP-2002-211556, per mole and divided by R:
//
//	cp/R    = a1 T⁻² + a2 T⁻¹ + a3 + a4 T + a5 T² + a6 T³ + a7 T⁴
//	h/(R T) = −a1 T⁻² + a2 ln(T)/T + a3 + a4 T/2 + a5 T²/3 + a6 T³/4 + a7 T⁴/5 + b1/T
//	so/R    = −a1 T⁻²/2 − a2 T⁻¹ + a3 ln T + a4 T + a5 T²/2 + a6 T³/3 + a7 T⁴/4 + b2
//
// (the equations as stated with the data). All three are linear in the
// coefficients, so that a mixture's interval is the weighted sum of its parts'.
type interval struct {
	lo, hi float64 // K
	a      [7]float64
	b1, b2 float64
}

func (iv *interval) addScaled(x float64, other *interval) {
	for i := range iv.a {
		iv.a[i] += x * other.a[i]
	}
	iv.b1 += x * other.b1
	iv.b2 += x * other.b2
}

// segment is an interval with the divisors of the integrals worked in and
// multiplied by a gas constant, ready for evaluation.
type segment struct {
	a          [7]float64 // cp
	h0, h1, hl float64    // h: constant, 1/T, ln T
	h          [5]float64 // h: T … T⁵
	s0, s1, s2 float64    // so: constant, 1/T, 1/T²
	s          [4]float64 // so: T … T⁴; its ln T term is a[2]
}

func newSegment(iv *interval, r float64) (g segment) {
	for i, a := range iv.a {
		g.a[i] = r * a
	}
	g.h0, g.h1, g.hl = r*iv.b1, -g.a[0], g.a[1]
	g.s0, g.s1, g.s2 = r*iv.b2, -g.a[1], -g.a[0]/2
	for i := range g.h {
		g.h[i] = g.a[i+2] / float64(i+1)
	}
	for i := range g.s {
		g.s[i] = g.a[i+3] / float64(i+1)
	}
	return g
}

func (g *segment) heat(t, it float64) float64 {
	return it*(g.a[1]+it*g.a[0]) + g.a[2] + t*(g.a[3]+t*(g.a[4]+t*(g.a[5]+t*g.a[6])))
}

func (g *segment) enthalpy(t, it, lnT float64) float64 {
	return g.h0 + g.h1*it + g.hl*lnT + t*(g.h[0]+t*(g.h[1]+t*(g.h[2]+t*(g.h[3]+t*g.h[4]))))
}

func (g *segment) entropy(t, it, lnT float64) float64 {
	return g.s0 + it*(g.s1+it*g.s2) + g.a[2]*lnT + t*(g.s[0]+t*(g.s[1]+t*(g.s[2]+t*g.s[3])))
}

// steps counts how many of its ascending bounds a value has reached. The first is
// compared without a branch: T at random on both sides of a joint would make the
// processor guess wrong half the time, which costs as much as h(T).
type steps struct {
	first, second float64 // +Inf where there is none
	bounds        []float64
}

func newSteps(bounds []float64) steps {
	st := steps{math.Inf(1), math.Inf(1), bounds}
	if len(bounds) > 0 {
		st.first = bounds[0]
	}
	if len(bounds) > 1 {
		st.second = bounds[1]
	}
	return st
}

func (st *steps) reached(x float64) int {
	i := 0
	if x >= st.first {
		i = 1
	}
	if x >= st.second {
		i = st.beyond(x)
	}
	return i
}

// beyond is reached where more than the first bound is.
func (st *steps) beyond(x float64) int {
	return sort.Search(len(st.bounds), func(j int) bool { return st.bounds[j] > x })
}

// curve is a run of adjoining segments: at a joint the upper one counts.
type curve struct {
	lo, hi float64 // K
	joints []float64
	steps  steps     // over the joints
	segs   []segment // one more than joints
}

func newCurve(ivs []interval, r float64) curve {
	c := curve{lo: ivs[0].lo, hi: ivs[len(ivs)-1].hi}
	for i := range ivs {
		if i > 0 {
			c.joints = append(c.joints, ivs[i].lo)
		}
		c.segs = append(c.segs, newSegment(&ivs[i], r))
	}
	c.steps = newSteps(c.joints)
	return c
}

// at is the segment for t; it holds for t outside the range, too (the nearest).
func (c *curve) at(t float64) *segment { return &c.segs[c.steps.reached(t)] }

func (c *curve) covers(t float64) bool { return t >= c.lo && t <= c.hi }

// constantVolume gives the intervals of cv = cp − R: with a3 one less the "h" of
// the form is u = h − R·T, and its "so" is so − R·ln T, which fixes T from
// specific volume and entropy.
func constantVolume(ivs []interval) []interval {
	cv := slices.Clone(ivs)
	for i := range cv {
		cv[i].a[2]--
	}
	return cv
}
