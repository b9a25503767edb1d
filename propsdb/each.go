package propsdb

import "math"

// The functions of a fluid at many points at once, for an evaluation engine. Each
// gives, element by element, the bits of the function without "Each", at about
// half the cost, since the processor works on several points at a time. NaN marks
// a point without a value. dst may be an argument.

// Ln is the natural logarithm of x as the property functions take it (log.go):
// within 5e-16 of math.Log, at less than half the cost, and math.Log itself where
// x is not positive, finite and normal.
func Ln(x float64) float64 {
	if !isNormal(x) {
		return math.Log(x)
	}
	return ln(x)
}

// isNormal reports a positive, finite, normal number; isPressure one that a state may have. The bits
// of positive numbers rise as they do, and those of others lie outside: one comparison does.
func isNormal(x float64) bool { return math.Float64bits(x)-1<<52 < 0x7fe<<52 }

func isPressure(p float64) bool {
	return math.Float64bits(p)-math.Float64bits(PressureMin) <= math.Float64bits(PressureMax)-math.Float64bits(PressureMin)
}

// LnEach is Ln of every x.
func LnEach(dst, x []float64) {
	dst = dst[:len(x)]
	for i, v := range x {
		if isNormal(v) {
			dst[i] = logSum(logParts(v))
		} else {
			dst[i] = math.Log(v)
		}
	}
}

// LogPressure is R·ln(p/1 bar), p in Pa, which sets s at p apart from so; NaN for a
// pressure that no state has.
func (f *Fluid) LogPressure(p float64) float64 {
	if !isPressure(p) {
		return nan
	}
	return f.r * ln(p/StandardPressure)
}

// LogPressureEach is LogPressure of every p; here dst may not be p.
func (f *Fluid) LogPressureEach(dst, p []float64) {
	dst = dst[:len(p)]
	for i, v := range p { // by themselves, since one division need not wait for another
		dst[i] = v / StandardPressure
	}
	r := f.r
	for i, v := range p {
		if isPressure(v) {
			dst[i] = r * logSum(logParts(dst[i]))
		} else {
			dst[i] = nan
		}
	}
}

// EnthalpyEach is HFast at every t of an ideal gas, whose logarithms (LnEach) are
// given. They must lie within the range of the gas.
func (f *Fluid) EnthalpyEach(dst, t, logs []float64) {
	c := &f.atP
	dst, logs = dst[:len(t)], logs[:len(t)]
	low, high := c.ends()
	first, second := c.steps.first, c.steps.second
	for i, x := range t {
		g := low
		if x >= first {
			g = high
		}
		if x >= second {
			g = c.at(x)
		}
		dst[i] = g.enthalpy(x, 1/x, logs[i])
	}
}

// SoEach is SoFast as EnthalpyEach is HFast.
func (f *Fluid) SoEach(dst, t, logs []float64) {
	c := &f.atP
	dst, logs = dst[:len(t)], logs[:len(t)]
	low, high := c.ends()
	first, second := c.steps.first, c.steps.second
	for i, x := range t {
		g := low
		if x >= first {
			g = high
		}
		if x >= second {
			g = c.at(x)
		}
		dst[i] = g.entropy(x, 1/x, logs[i])
	}
}

// ends are the first two segments; the first twice where there is one.
func (c *curve) ends() (low, high *segment) { return &c.segs[0], &c.segs[min(1, len(c.segs)-1)] }

// TofHEach is TofHFast of every h, for an ideal gas.
func (f *Fluid) TofHEach(t, h []float64) { f.tofEach(enthalpy, &f.byH, t, h) }

// TofSoEach is TofSoFast of every so, for an ideal gas.
func (f *Fluid) TofSoEach(t, so []float64) { f.tofEach(entropy, &f.bySo, t, so) }

func (f *Fluid) tofEach(q quantity, by *inverse, t, y []float64) {
	if f.kind == PerfectGas || by.brief {
		one := f.TofHFast
		if q == entropy {
			one = f.TofSoFast
		}
		for i, v := range y {
			t[i] = one(v)
		}
		return
	}
	by.of(&f.atP, q).invertEach(t, y)
}

// invertEach is invert by a table that is not brief, with read written out.
func (tab *table) invertEach(t, y []float64) {
	t = t[:len(y)]
	low, high := &tab.spans[0], &tab.spans[min(1, len(tab.spans)-1)]
	lo, hi, first, second := tab.lo, tab.hi, tab.steps.first, tab.steps.second
	for i, v := range y {
		sp := low
		if v >= first {
			sp = high
		}
		if v >= second {
			sp = &tab.spans[tab.steps.reached(v)]
		}
		if !(v >= lo && v <= hi) {
			t[i] = nan
			continue
		}
		x := (v - sp.base) * sp.perCell
		j := min(int(x), len(sp.cell)-1)
		u := 2*(x-float64(j)) - 1
		k := &sp.cell[j]
		u2 := u * u
		at := k[0] + (u*k[1] + u2*((k[2]+u*k[3])+u2*((k[4]+u*k[5])+u2*(k[6]+u*k[7]))))
		if at < sp.lo {
			at = sp.lo
		}
		if at > sp.hi {
			at = sp.hi
		}
		t[i] = at
	}
}
