package propsdb

import "math"

// The functions of a fluid at many points at once, for an evaluation engine. Each
// gives, element by element, the bits of the function without "Each", at about
// half the cost: what does not change from point to point is done once, and the
// processor works on several points at a time. NaN marks a point without a value.
//
// An argument of length 1 stands for every point, and dst may be an argument.

// Ln is the natural logarithm of x as the property functions take it (log.go):
// within 5e-16 of math.Log, at less than half the cost, and math.Log itself where
// x is not positive, finite and normal.
func Ln(x float64) float64 {
	if !(x >= smallestNormal && x <= math.MaxFloat64) {
		return math.Log(x)
	}
	return ln(x)
}

const smallestNormal = 0x1p-1022

// LnEach is Ln of every x.
func LnEach(dst, x []float64) {
	lnEach(dst, x)
	for i, v := range x {
		if !(v >= smallestNormal && v <= math.MaxFloat64) {
			dst[i] = math.Log(v)
		}
	}
}

// lnEach is ln, written out since it is too long to be put in place of its call.
func lnEach(dst, x []float64) {
	dst = dst[:len(x)]
	for i, v := range x {
		bits := math.Float64bits(v)
		shifted := bits - logOffset
		e := &logSlices[(shifted>>45)&127]
		k := float64(int64(shifted) >> 52)
		z := math.Float64frombits(bits - shifted&(0xfff<<52))
		r := (z - e.centre) * e.inverse
		r2 := r * r
		tail := r2 * ((-0.5 + r*(1.0/3)) + r2*((-0.25+r*0.2)+r2*(-1.0/6+r*(1.0/7))))
		dst[i] = (k*ln2Hi + e.log) + (r + (k*ln2Lo + tail))
	}
}

// tile is how many points a function with intermediate values takes at a time.
const tile = 64

// GetEach is GetFast for an ideal gas: a property at temperatures t and pressures
// p, which matter only where GetFast looks at them.
func (f *Fluid) GetEach(q Property, dst, t, p []float64) {
	if len(t) == 1 {
		if len(p) == 1 || len(dst) == 1 {
			fill(dst, f.GetFast(q, t[0], p[0]))
			return
		}
	}
	switch q {
	case H:
		f.atP.valueEach(enthalpy, dst, t)
	case U:
		f.atV.valueEach(enthalpy, dst, t)
	case So:
		f.atP.valueEach(entropy, dst, t)
	case S:
		f.entropyEach(dst, t, p)
	default:
		for i := range dst {
			dst[i] = f.GetFast(q, pick(t, i), pick(p, i))
		}
	}
}

// pick is element i, or the one that stands for all.
func pick(x []float64, i int) float64 {
	if len(x) == 1 {
		return x[0]
	}
	return x[i]
}

func fill(dst []float64, v float64) {
	for i := range dst {
		dst[i] = v
	}
}

// valueEach is h or so over t; so with u and cv for a curve at constant v.
func (c *curve) valueEach(q quantity, dst, t []float64) {
	if len(t) == 1 {
		v := nan
		if c.covers(t[0]) {
			v = q.value(c.at(t[0]), t[0])
		}
		fill(dst, v)
		return
	}
	var logs [tile]float64
	for len(t) > 0 {
		n := min(len(t), tile)
		lnEach(logs[:n], t[:n])
		out := dst[:n]
		for i, x := range t[:n] {
			g := c.at(x)
			var v float64
			if q == enthalpy {
				v = g.enthalpy(x, 1/x, logs[i])
			} else {
				v = g.entropy(x, 1/x, logs[i])
			}
			if !(x >= c.lo && x <= c.hi) {
				v = nan
			}
			out[i] = v
		}
		t, dst = t[n:], dst[n:]
	}
}

// entropyEach is so(T) − R·ln(p/1 bar).
func (f *Fluid) entropyEach(dst, t, p []float64) {
	var so, logs [tile]float64
	for at := 0; at < len(dst); at += tile {
		n := min(len(dst)-at, tile)
		f.atP.valueEach(entropy, so[:n], window(t, at, n))
		f.logPressure(logs[:n], window(p, at, n))
		for i, l := range logs[:n] {
			dst[at+i] = so[i] - l
		}
	}
}

// window is a run of elements, or the one that stands for all.
func window(x []float64, at, n int) []float64 {
	if len(x) == 1 {
		return x
	}
	return x[at : at+n]
}

// logPressure is R·ln(p/1 bar), NaN for a p that no state has.
func (f *Fluid) logPressure(dst, p []float64) {
	if len(p) == 1 {
		v := nan
		if p[0] >= PressureMin && p[0] <= PressureMax {
			v = f.r * ln(p[0]/StandardPressure)
		}
		fill(dst, v)
		return
	}
	for i, x := range p {
		dst[i] = x / StandardPressure
	}
	lnEach(dst, dst)
	for i, x := range p {
		v := f.r * dst[i]
		if !(x >= PressureMin && x <= PressureMax) {
			v = nan
		}
		dst[i] = v
	}
}

// SolveEach is SolveFast for an ideal gas: t and p of the states that pairs fix. p may
// be nil where it is one of the pair.
func (f *Fluid) SolveEach(a Property, va []float64, b Property, vb []float64, t, p []float64) {
	if a == Rho || b == Rho || a > b {
		if a == P && b == T {
			f.SolveEach(b, vb, a, va, t, p)
			return
		}
		f.solveOneByOne(a, va, b, vb, t, p)
		return
	}
	if len(va) == 1 && len(vb) == 1 || len(t) == 1 {
		x, y := f.SolveFast(a, va[0], b, vb[0])
		fill(t, x)
		fill(p, y)
		return
	}
	switch {
	case a == P && b == H:
		f.tofEach(enthalpy, t, vb)
		given(t, p, va)
	case a == P && b == S:
		f.tofPSEach(t, va, vb)
		given(t, p, va)
	case a == T && b == P:
		for i := range t {
			t[i] = f.inRange(pick(va, i))
		}
		given(t, p, vb)
	default:
		f.solveOneByOne(a, va, b, vb, t, p)
	}
}

func (f *Fluid) solveOneByOne(a Property, va []float64, b Property, vb []float64, t, p []float64) {
	for i := range t {
		x, y := f.SolveFast(a, pick(va, i), b, pick(vb, i))
		t[i] = x
		if p != nil {
			p[i] = y
		}
	}
}

// given hands on p, where there is somebody to take it, and NaN for both where one of
// them is not to be had.
func given(t, p, from []float64) {
	if len(from) == 1 {
		v := from[0]
		if !(v >= PressureMin && v <= PressureMax) {
			fill(t, nan)
			fill(p, nan)
			return
		}
		for i := range p {
			p[i] = v + (t[i] - t[i])
		}
		return
	}
	from = from[:len(t)]
	for i, v := range from {
		if !(v >= PressureMin && v <= PressureMax) {
			t[i] = nan
		}
	}
	for i := range p {
		p[i] = from[i]
		if t[i] != t[i] {
			p[i] = nan
		}
	}
}

// TofHEach is TofHFast.
func (f *Fluid) TofHEach(t, h []float64) { f.tofEach(enthalpy, t, h) }

// TofSoEach is TofSoFast.
func (f *Fluid) TofSoEach(t, so []float64) { f.tofEach(entropy, t, so) }

// tofEach is T from h or so.
func (f *Fluid) tofEach(q quantity, t, y []float64) {
	if f.kind == PerfectGas || f.water != nil || f.byH.brief || len(y) == 1 {
		one := f.TofHFast
		if q == entropy {
			one = f.TofSoFast
		}
		for i := range t {
			t[i] = one(pick(y, i))
		}
		return
	}
	v := &f.byH
	if q == entropy {
		v = &f.bySo
	}
	v.of(&f.atP, q).invertEach(t, y)
}

// tofPSEach is T from p and s, tile by tile by way of so = s + R·ln(p/1 bar).
func (f *Fluid) tofPSEach(t, p, s []float64) {
	var so [tile]float64
	for at := 0; at < len(t); at += tile {
		n := min(len(t)-at, tile)
		f.logPressure(so[:n], window(p, at, n))
		from := window(s, at, n)
		if len(from) == 1 {
			for i := range so[:n] {
				so[i] = from[0] + so[i]
			}
		} else {
			for i, x := range from {
				so[i] = x + so[i]
			}
		}
		f.tofEach(entropy, t[at:at+n], so[:n])
	}
}

// invertEach is invert by a table that is not brief.
func (tab *table) invertEach(t, y []float64) {
	t = t[:len(y)]
	for i, v := range y {
		x := nan
		if v >= tab.lo && v <= tab.hi {
			x = tab.spans[tab.steps.reached(v)].read(v)
		}
		t[i] = x
	}
}
