package propsdb

import (
	"encoding/binary"
	"math"
	"slices"
)

// Pressures, Pa, outside these are refused. An ideal gas has no bound of its
// own; these lie far outside use and keep every result finite.
const (
	PressureMin = 1e-6
	PressureMax = 1e12
)

// State is a fluid at a temperature and, unless it was fixed by T or h alone, a
// pressure. The zero State has no fluid; use the methods of Fluid.
type State struct {
	fluid *Fluid
	fixed // t and p, NaN where none is known; the rest for water
	given [2]Property
	value [2]float64
	n     int // how many were given
}

// AppendKey appends what the state consists of beside its fluid: two states of one fluid with the same key
// are the same.
func (s *State) AppendKey(b []byte) []byte {
	b = append(b, s.region, s.steps, byte(s.n), byte(s.given[0]), byte(s.given[1]))
	for _, v := range [...]float64{s.t, s.p, s.v, s.x, s.value[0], s.value[1]} {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
	}
	return b
}

// pairs are the two properties that fix a state of an ideal gas, in the order of
// the constants.
var pairs = [...][2]Property{
	{T, P}, {T, V}, {T, S}, {P, V}, {P, H}, {P, S}, {P, U}, {V, H}, {V, S}, {V, U}, {H, S}, {S, U},
}

// ordered puts the pair in the order of the constants, with rho as 1/v.
func ordered(a Property, va float64, b Property, vb float64) (Property, float64, Property, float64) {
	if a == Rho {
		a, va = V, 1/va
	}
	if b == Rho {
		b, vb = V, 1/vb
	}
	if a > b {
		return b, vb, a, va
	}
	return a, va, b, vb
}

// pairs are those of the fluid; a nil Fluid is an ideal gas that is yet to be made.
func (f *Fluid) pairs() [][2]Property {
	if f != nil && f.water != nil {
		return waterPairs[:]
	}
	return pairs[:]
}

// FixesAlone says whether the property alone fixes a state as far as StateT and
// StateH do: T or h of an ideal gas.
func (f *Fluid) FixesAlone(a Property) bool {
	return (f == nil || f.water == nil) && (a == T || a == H)
}

// Fixes says whether the two properties, in either order, fix a state.
func (f *Fluid) Fixes(a, b Property) bool {
	a, _, b, _ = ordered(a, 1, b, 1)
	for _, p := range f.pairs() {
		if p == [2]Property{a, b} {
			return true
		}
	}
	return false
}

// State is the fluid's state at two properties that fix it, in either order:
// (p,T) (p,h) (p,s) (p,v) (T,v) (T,s) (h,s), and beside these (p,u) (h,v) (s,v)
// (u,v) (s,u); rho may stand for v. Units are those of Property. Water takes
// (p,T) (p,h) (p,s) (p,v) (T,v) (T,s) (h,s) (p,x) (T,x) and (p,u), by the rules
// stated with the package.
//
// The errors are *PairError, *ValueError (not finite, or negative where it must
// not be), *RangeError, which may name a property that follows from the two, and
// for water on the saturation line *SaturationError.
func (f *Fluid) State(a Property, va float64, b Property, vb float64) (State, error) {
	s := f.StateFast(a, va, b, vb)
	if s.fluid == nil {
		return State{}, f.whyNot(a, va, b, vb)
	}
	return s, nil
}

// StateFast is State for an evaluation engine: the zero State, of which every
// property is NaN, where State would give an error.
func (f *Fluid) StateFast(a Property, va float64, b Property, vb float64) State {
	s := State{fluid: f, given: [2]Property{a, b}, value: [2]float64{va, vb}, n: 2}
	if f.water != nil {
		s.fixed = f.water.solve(ordered(a, va, b, vb))
		if s.region == 0 {
			return State{}
		}
		return s
	}
	s.t, s.p = f.SolveFast(a, va, b, vb)
	if s.t != s.t {
		return State{}
	}
	return s
}

// StateT is the state of an ideal gas at t K with no pressure known: it refuses
// what needs one. Water needs two properties: *AloneError.
func (f *Fluid) StateT(t float64) (State, error) {
	if err := f.checkT(t); err != nil {
		return State{}, err
	}
	return State{fluid: f, fixed: fixed{t: t, p: nan}, given: [2]Property{T}, value: [2]float64{t}, n: 1}, nil
}

// StateH is StateT from h, J/kg.
func (f *Fluid) StateH(h float64) (State, error) {
	t, err := f.TofH(h)
	if err != nil {
		return State{}, err
	}
	return State{fluid: f, fixed: fixed{t: t, p: nan}, given: [2]Property{H}, value: [2]float64{h}, n: 1}, nil
}

// SolveFast is T, K, and p, Pa, of the state that the pair fixes; both NaN where
// State would give an error. They are the whole state of an ideal gas; of water
// only StateFast gives that, since wet steam has more than T and p.
func (f *Fluid) SolveFast(a Property, va float64, b Property, vb float64) (t, p float64) {
	if f.water != nil {
		if s := f.water.solve(ordered(a, va, b, vb)); s.region != 0 {
			return s.t, s.p
		}
		return nan, nan
	}
	t, p = f.solve(ordered(a, va, b, vb))
	if t != t || !(p >= PressureMin && p <= PressureMax) {
		return nan, nan
	}
	return t, p
}

// solve is SolveFast before the bounds of p; T is NaN where the range does not
// hold it.
func (f *Fluid) solve(a Property, va float64, b Property, vb float64) (t, p float64) {
	switch uint16(a)<<8 | uint16(b) {
	case uint16(T)<<8 | uint16(P):
		return f.inRange(va), vb
	case uint16(T)<<8 | uint16(V):
		return f.inRange(va), f.r * va / vb
	case uint16(T)<<8 | uint16(S):
		t = f.inRange(va)
		return t, f.pressureOf(t, vb)
	case uint16(P)<<8 | uint16(V):
		return f.inRange(va * vb / f.r), va
	case uint16(P)<<8 | uint16(H):
		return f.TofHFast(vb), va
	case uint16(P)<<8 | uint16(S):
		return f.TofSoFast(soOf(f.r, vb, va)), va
	case uint16(P)<<8 | uint16(U):
		return f.TofUFast(vb), va
	case uint16(V)<<8 | uint16(H):
		t = f.TofHFast(vb)
		return t, f.r * t / va
	case uint16(V)<<8 | uint16(S):
		t = f.tofSv(svOf(f.r, vb, va))
		return t, f.r * t / va
	case uint16(V)<<8 | uint16(U):
		t = f.TofUFast(vb)
		return t, f.r * t / va
	case uint16(H)<<8 | uint16(S):
		t = f.TofHFast(va)
		return t, f.pressureOf(t, vb)
	case uint16(S)<<8 | uint16(U):
		t = f.TofUFast(vb)
		return t, f.pressureOf(t, va)
	}
	return nan, nan
}

// soOf is so(T) of a state with entropy s at p: s = so(T) − R·ln(p/1 bar). The
// product is rounded by itself, as it is in LogPressureEach.
func soOf(r, s, p float64) float64 { return s + float64(r*ln(p/StandardPressure)) }

// svOf is so(T) − R·ln T of a state with entropy s at v, by p = R·T/v.
func svOf(r, s, v float64) float64 { return s + r*ln(r/(v*StandardPressure)) }

// pressureOf is p at t for entropy s.
func (f *Fluid) pressureOf(t, s float64) float64 {
	return StandardPressure * math.Exp((f.SoFast(t)-s)/f.r)
}

// whyNot says what keeps a pair from fixing a state.
func (f *Fluid) whyNot(a Property, va float64, b Property, vb float64) error {
	if !f.Fixes(a, b) {
		return &PairError{f.name, a, b, slices.Clone(f.pairs())}
	}
	for i, q := range [2]Property{a, b} {
		v := [2]float64{va, vb}[i]
		if err := checkValue(q, v); err != nil {
			return err
		}
		if q == P && f.water == nil {
			if err := f.checkP(v); err != nil {
				return err
			}
		}
	}
	if f.water != nil {
		return f.waterWhyNot(a, va, b, vb)
	}
	a, va, b, vb = ordered(a, va, b, vb)
	if t, p := f.solve(a, va, b, vb); t == t {
		return f.checkP(p)
	}
	lo, hi := f.Range()
	switch {
	case a == T:
		return f.checkT(va)
	case a == H:
		return f.outside(H, va)
	case b == H:
		return f.outside(H, vb)
	case b == U:
		return f.outside(U, vb)
	case a == P && b == V:
		return &RangeError{T, va * vb / f.r, lo, hi, f.name}
	case a == P:
		return &RangeError{S, vb, f.GetFast(S, lo, va), f.GetFast(S, hi, va), f.name + " at this pressure"}
	}
	shift := svOf(f.r, 0, va)
	sv := func(t float64) float64 { return f.SoFast(t) - f.r*math.Log(t) - shift }
	return &RangeError{S, vb, sv(lo), sv(hi), f.name + " at this specific volume"}
}

func (f *Fluid) checkP(p float64) error {
	if !(p >= PressureMin && p <= PressureMax) {
		return &RangeError{P, p, PressureMin, PressureMax, f.name}
	}
	return nil
}

// checkValue refuses what no fluid can have.
func checkValue(q Property, v float64) error {
	switch {
	case v != v:
		return &ValueError{q, v, "is not a number"}
	case math.IsInf(v, 0):
		return &ValueError{q, v, "is not finite"}
	case (q == T || q == P || q == V || q == Rho) && v <= 0:
		return &ValueError{q, v, "is not positive"}
	}
	return nil
}

// Fluid is the fluid of the state, nil for the zero State.
func (s State) Fluid() *Fluid { return s.fluid }

// T is the temperature, K.
func (s State) T() float64 { return s.t }

// P is the pressure, Pa, and whether one is known.
func (s State) P() (float64, bool) { return s.p, s.p == s.p }

// Get is a property of the state, in its unit. A property by which the state was
// given comes back as it was given; h of a state fixed by h is that h, and
// Inversion tells how well T meets it. The errors are *NeedsPressureError,
// *NoPropertyError and, for a relative pressure or volume too large or small to
// be written (a perfect gas with k close to 1) or a T beyond the range of a
// viscosity or conductivity, *RangeError.
func (s State) Get(q Property) (float64, error) {
	if s.fluid == nil {
		return nan, &NoPropertyError{"no fluid", q, "it is no state"}
	}
	for i := range s.n {
		if s.given[i] == q {
			return s.value[i], nil
		}
	}
	if s.fluid.water != nil {
		v := s.fluid.water.get(q, &s.fixed)
		if v != v || math.IsInf(v, 0) {
			return nan, s.whyNoProperty(q)
		}
		return v, nil
	}
	switch q {
	case P, V, Rho, S:
		if s.p != s.p {
			return nan, &NeedsPressureError{s.fluid.name, q}
		}
	case X:
		return nan, &NoPropertyError{Fluid: s.fluid.name, Property: q}
	case Mu:
		if s.fluid.hasViscosity() && !(s.t <= sutherlandTmax) {
			return nan, &RangeError{T, s.t, s.fluid.atP.lo, sutherlandTmax, "the viscosity of " + s.fluid.name}
		}
	}
	if q > Mu || q == Mu && !s.fluid.hasViscosity() {
		return nan, &NoPropertyError{Fluid: s.fluid.name, Property: q}
	}
	v := s.fluid.GetFast(q, s.t, s.p)
	if v != v || math.IsInf(v, 0) {
		return nan, &RangeError{q, v, 0, math.MaxFloat64, s.fluid.name}
	}
	return v, nil
}

// GetFast is Get for an evaluation engine: NaN where Get gives an error.
func (s State) GetFast(q Property) float64 {
	if s.fluid == nil {
		return nan
	}
	for i := range s.n {
		if s.given[i] == q {
			return s.value[i]
		}
	}
	if s.fluid.water != nil {
		return s.fluid.water.get(q, &s.fixed)
	}
	return s.fluid.GetFast(q, s.t, s.p)
}

// Inversion says how T was found where it was not given: the relation solved and
// how well it is met.
type Inversion struct {
	Of     Property // what was solved for: T; for water also P, V (from p and T above 623.15 K) or X
	From   Property // the function that was inverted: H, U, So, or S at the given v; for water also S, V or P
	Target float64  // the value it had to take, in its unit
	// Residual is the function at the T found, less the target. At a joint of
	// two polynomials it can be as large as their gap (Fluid.Gap).
	Residual float64
	Steps    int // Newton steps after the start; 0 is a closed form, or a reading of a table
}

// Inversion reports the relation solved for T; false where T was given or is
// p·v/R. Of water it reports any that took an iteration on the basic equations or
// the lever rule (Of X, no steps); from h and s it is h(T) at that s.
func (s State) Inversion() (Inversion, bool) {
	if s.fluid == nil {
		return Inversion{}, false
	}
	if s.fluid.water != nil {
		return s.waterInversion()
	}
	f := s.fluid
	a, va, b, vb := s.given[0], s.value[0], s.given[1], s.value[1]
	if s.n == 2 {
		a, va, b, vb = ordered(a, va, b, vb)
	} else {
		b, vb = X, 0 // nothing beside a
	}
	in := Inversion{Of: T}
	switch {
	case a == T || a == P && b == V:
		return Inversion{}, false
	case a == H:
		in.From, in.Target = H, va
	case b == H:
		in.From, in.Target = H, vb
	case b == U:
		in.From, in.Target = U, vb
	case a == P:
		in.From, in.Target = So, soOf(f.r, vb, va)
	default:
		in.From, in.Target = S, vb
	}
	in.Residual = f.GetFast(in.From, s.t, s.p) - in.Target
	switch {
	case f.kind == PerfectGas:
	case f.byH.brief && in.From == S:
		in.Steps = f.briefSteps(S, svOf(f.r, vb, va))
	case f.byH.brief:
		in.Steps = f.briefSteps(in.From, in.Target)
	}
	return in, true
}
