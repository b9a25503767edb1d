package propsdb

// Interval is one temperature range of a fluid's functions, in the nine-coefficient form of
// NASA/TP-2002-211556 divided by the fluid's R, on the fluid's own datum:
//
//	cp/R    = a1 T⁻² + a2 T⁻¹ + a3 + a4 T + a5 T² + a6 T³ + a7 T⁴
//	h/(R T) = −a1 T⁻² + a2 ln(T)/T + a3 + a4 T/2 + a5 T²/3 + a6 T³/4 + a7 T⁴/5 + b1/T
//	so/R    = −a1 T⁻²/2 − a2 T⁻¹ + a3 ln T + a4 T + a5 T²/2 + a6 T³/3 + a7 T⁴/4 + b2
//
// with T in K.
type Interval struct {
	Tmin, Tmax float64 // K
	A          [7]float64
	B1, B2     float64
}

// Intervals are the functions by which everything about the fluid is computed, so that another
// program can do so too.
func (f *Fluid) Intervals() []Interval {
	c := &f.atP
	out := make([]Interval, len(c.segs))
	for i := range c.segs {
		g := &c.segs[i]
		iv := Interval{Tmin: c.lo, Tmax: c.hi, B1: g.h0 / f.r, B2: g.s0 / f.r}
		if i > 0 {
			iv.Tmin = c.joints[i-1]
		}
		if i < len(c.joints) {
			iv.Tmax = c.joints[i]
		}
		for j, a := range g.a {
			iv.A[j] = a / f.r
		}
		out[i] = iv
	}
	return out
}
