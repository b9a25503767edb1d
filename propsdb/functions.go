package propsdb

import (
	"math"
	"slices"
)

// The functions of temperature. Each comes twice: checked, with a typed error,
// and as a Fast form for an evaluation engine, which gives NaN outside the range
// and does no more than the arithmetic. Both give the same bits.

// Relative pressure and volume are scaled so that air at 300 K has the figures
// of the usual printed air table (pr 1.386, vr 621.2; the table rounds them, so
// that its other rows agree to its printed digits only). Other fluids carry the
// same figures at 300 K. Only ratios of two pr, or two vr, of one fluid mean
// anything.
const (
	relativeT  = 300.0 // K
	relativePr = 1.386
	relativeVr = 621.2
)

// CpFast is cp, J/(kg·K), at t K; NaN outside the range.
func (f *Fluid) CpFast(t float64) float64 {
	if !f.atP.covers(t) {
		return nan
	}
	return f.atP.at(t).heat(t, 1/t)
}

// HFast is h, J/kg, at t K; NaN outside the range.
func (f *Fluid) HFast(t float64) float64 {
	if !f.atP.covers(t) {
		return nan
	}
	return f.atP.at(t).enthalpy(t, 1/t, logSum(logParts(t)))
}

// SoFast is so, J/(kg·K), at t K; NaN outside the range.
func (f *Fluid) SoFast(t float64) float64 {
	if !f.atP.covers(t) {
		return nan
	}
	return f.atP.at(t).entropy(t, 1/t, logSum(logParts(t)))
}

// UFast is u, J/kg, at t K; NaN outside the range.
func (f *Fluid) UFast(t float64) float64 {
	if !f.atP.covers(t) {
		return nan
	}
	return f.atV.at(t).enthalpy(t, 1/t, logSum(logParts(t)))
}

// TofHFast is T, K, from h, J/kg; NaN where h lies outside the range.
func (f *Fluid) TofHFast(h float64) float64 {
	if f.kind == PerfectGas {
		return f.inRange(h / f.atP.segs[0].a[2])
	}
	if f.water != nil {
		return nan
	}
	return f.byH.of(&f.atP, enthalpy).invert(h, enthalpy)
}

// TofUFast is T, K, from u, J/kg; NaN where u lies outside the range.
func (f *Fluid) TofUFast(u float64) float64 {
	if f.kind == PerfectGas {
		return f.inRange(u / f.atV.segs[0].a[2])
	}
	if f.water != nil {
		return nan
	}
	return f.byU.of(&f.atV, enthalpy).invert(u, enthalpy)
}

// TofSoFast is T, K, from so, J/(kg·K); NaN where so lies outside the range.
func (f *Fluid) TofSoFast(so float64) float64 {
	if f.kind == PerfectGas {
		return f.inRange(perfectT(&f.atP.segs[0], so))
	}
	if f.water != nil {
		return nan
	}
	return f.bySo.of(&f.atP, entropy).invert(so, entropy)
}

// tofSv is T from so − R·ln T, which is what s and v fix.
func (f *Fluid) tofSv(y float64) float64 {
	if f.kind == PerfectGas {
		return f.inRange(perfectT(&f.atV.segs[0], y))
	}
	return f.bySv.of(&f.atV, entropy).invert(y, entropy)
}

// perfectT solves y = s0 + c·ln T.
func perfectT(g *segment, y float64) float64 { return math.Exp((y - g.s0) / g.a[2]) }

// inRange passes t through if the range covers it, save that what rounding has
// put just outside counts as the bound: T(h(Tmin)) must be Tmin.
func (f *Fluid) inRange(t float64) float64 {
	switch {
	case f.atP.covers(t):
		return t
	case t < f.atP.lo && t >= f.atP.lo*(1-roundoff):
		return f.atP.lo
	case t > f.atP.hi && t <= f.atP.hi*(1+roundoff):
		return f.atP.hi
	}
	return nan
}

// alone is the error of what takes one property, for a fluid that needs two.
func (f *Fluid) alone(q Property) error {
	return &AloneError{f.name, q, slices.Clone(f.pairs())}
}

func (f *Fluid) checked(t, value float64) (float64, error) {
	if err := f.checkT(t); err != nil {
		return nan, err
	}
	return value, nil
}

func (f *Fluid) checkT(t float64) error {
	if err := checkValue(T, t); err != nil {
		return err
	}
	if f.water != nil {
		return f.alone(T)
	}
	if !f.atP.covers(t) {
		return &RangeError{T, t, f.atP.lo, f.atP.hi, f.name}
	}
	return nil
}

// Cp is the specific heat at constant pressure, J/(kg·K), at t K. Outside the
// range the error is a *RangeError, for a t that no fluid can have a
// *ValueError, for water an *AloneError; so with the functions that follow.
func (f *Fluid) Cp(t float64) (float64, error) { return f.checked(t, f.CpFast(t)) }

// H is the specific enthalpy, J/kg, at t K, from the fluid's datum.
func (f *Fluid) H(t float64) (float64, error) { return f.checked(t, f.HFast(t)) }

// U is the specific internal energy, J/kg, at t K: h − R·T.
func (f *Fluid) U(t float64) (float64, error) { return f.checked(t, f.UFast(t)) }

// So is the specific entropy at 1 bar, J/(kg·K), at t K.
func (f *Fluid) So(t float64) (float64, error) { return f.checked(t, f.SoFast(t)) }

// Cv is the specific heat at constant volume, J/(kg·K), at t K: cp − R.
func (f *Fluid) Cv(t float64) (float64, error) { return f.checked(t, f.GetFast(Cv, t, nan)) }

// K is cp/cv at t K.
func (f *Fluid) K(t float64) (float64, error) { return f.checked(t, f.GetFast(K, t, nan)) }

// C is the speed of sound, m/s, at t K: √(k·R·T).
func (f *Fluid) C(t float64) (float64, error) { return f.checked(t, f.GetFast(C, t, nan)) }

// TofH is T, K, from h, J/kg. Outside the range: *RangeError.
func (f *Fluid) TofH(h float64) (float64, error) { return f.inverted(H, h, f.TofHFast(h)) }

// TofU is T, K, from u, J/kg. Outside the range: *RangeError.
func (f *Fluid) TofU(u float64) (float64, error) { return f.inverted(U, u, f.TofUFast(u)) }

// TofSo is T, K, from so, J/(kg·K). Outside the range: *RangeError.
func (f *Fluid) TofSo(so float64) (float64, error) { return f.inverted(So, so, f.TofSoFast(so)) }

func (f *Fluid) inverted(q Property, y, t float64) (float64, error) {
	if err := checkValue(q, y); err != nil {
		return nan, err
	}
	if f.water != nil {
		return nan, f.alone(q)
	}
	if t != t {
		return nan, f.outside(q, y)
	}
	return t, nil
}

// outside is the error for a function of T alone that takes y nowhere in range.
func (f *Fluid) outside(q Property, y float64) error {
	return &RangeError{q, y, f.GetFast(q, f.atP.lo, nan), f.GetFast(q, f.atP.hi, nan), f.name}
}

// Relative pressure: pr2/pr1 = p2/p1 at equal s, so that ln pr = so/R + const.
func (f *Fluid) relativePressure(t float64) float64 {
	return relativePr * math.Exp((f.SoFast(t)-f.soRef)/f.r)
}

// Relative volume: vr2/vr1 = v2/v1 at equal s; v ∝ T/p.
func (f *Fluid) relativeVolume(t float64) float64 {
	return relativeVr * (t / relativeT) / (f.relativePressure(t) / relativePr)
}

// GetFast is a property at t K and p Pa as SolveFast gives them: NaN where they
// are NaN, and for X. A property that does not depend on p takes no notice of it.
// For water it knows the single-phase states only, which T and p fix, and looks
// for these each time anew: State.GetFast does neither.
func (f *Fluid) GetFast(q Property, t, p float64) float64 {
	if f.water != nil {
		s := f.water.fromPT(p, t)
		return f.water.get(q, &s)
	}
	switch q {
	case H:
		return f.HFast(t)
	case S:
		if !(p >= PressureMin && p <= PressureMax) {
			return nan // ln below is for such p only
		}
		return f.SoFast(t) - float64(f.r*ln(p/StandardPressure))
	case V:
		return f.r * t / p
	case Rho:
		return p / (f.r * t)
	case T:
		return t
	case P:
		return p
	case U:
		return f.UFast(t)
	case So:
		return f.SoFast(t)
	case Cp:
		return f.CpFast(t)
	case Cv:
		return f.CpFast(t) - f.r
	case K:
		cp := f.CpFast(t)
		return cp / (cp - f.r)
	case C:
		cp := f.CpFast(t)
		return math.Sqrt(cp / (cp - f.r) * f.r * t)
	case R:
		return f.r
	case M:
		return f.m
	case Z:
		return 1
	case Pr:
		return f.relativePressure(t)
	case Vr:
		return f.relativeVolume(t)
	case Mu:
		return f.viscosity(t)
	}
	return nan
}
