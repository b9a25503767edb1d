package propsdb

import (
	"fmt"
	"math"
	"strings"
	"sync"
)

// Water and steam as a fluid of its own kind. What it rests on is in data/if97.json.

// waterName is the name of the fluid; steam is another for it.
const waterName = "water"

func waterNames() []string { return []string{waterName, "steam"} }

func isWater(name string) bool {
	k := key(name)
	return k == waterName || k == "steam"
}

// waterFluid is built on first use and then shared.
var waterFluid = sync.OnceValue(func() *Fluid {
	w := loadWater()
	d, err := readWater(waterFile)
	if err != nil {
		panic("propsdb: embedded data/if97.json: " + err.Error())
	}
	none := curve{lo: math.Inf(1), hi: math.Inf(-1)} // it has no functions of T alone
	return &Fluid{
		name: waterName, kind: Water, datum: TriplePoint, m: w.m, r: w.r, water: w, atP: none, atV: none,
		source: Source{
			Data:    d.Data + ", " + d.Title,
			Version: "backward equations SR2-01(2014), SR3-03(2014), SR4-04(2014); viscosity R12-08, thermal conductivity R15-11",
			Hash:    waterHash(),
			Range: fmt.Sprintf("%g K to %g K at up to %g MPa, to %g K at up to %g MPa",
				waterTmin, waterT25, waterPmax/1e6, waterTmax, waterPmax5/1e6),
			Note: d.Source, Accuracy: d.Accuracy, Licence: d.Licence,
		},
	}
})

// FluidInfo describes a fluid that the tool carries.
type FluidInfo struct {
	Name       string
	Aliases    []string
	Kind       Kind
	Formula    string
	M          float64 // molar mass, kg/mol
	Tmin, Tmax float64 // K
	Pmax       float64 // Pa; +Inf for an ideal gas, whose equation sets no bound
	Datum      Datum   // the one Lookup gives
	HasLookup  bool    // whether Lookup finds it without a datum being named
}

// Fluids lists every fluid the tool carries: water, then the gases of Gases.
func Fluids() []FluidInfo {
	w := loadWater()
	all := []FluidInfo{{
		Name: waterName, Aliases: waterNames()[1:], Kind: Water, Formula: "H2O", M: w.m,
		Tmin: waterTmin, Tmax: waterTmax, Pmax: waterPmax, Datum: TriplePoint, HasLookup: true,
	}}
	for _, g := range Gases() {
		datum := ZeroKelvin
		if !g.HasZero {
			datum = Formation
		}
		all = append(all, FluidInfo{
			Name: g.Name, Aliases: g.Aliases, Kind: DatabaseGas, Formula: g.Formula, M: g.M,
			Tmin: g.Tmin, Tmax: g.Tmax, Pmax: math.Inf(1), Datum: datum, HasLookup: g.HasZero,
		})
	}
	return all
}

// SearchFluids is Search over Fluids: those with q in name, alias or formula,
// whatever the case, those it names exactly first.
func SearchFluids(q string) []FluidInfo {
	want := strings.ToLower(key(strings.TrimSpace(q)))
	var exact, part []FluidInfo
	hasGas := map[string]bool{}
	for _, g := range Search(q) {
		hasGas[g.Name] = true
	}
	for _, f := range Fluids() {
		found, same := f.Kind == DatabaseGas && hasGas[f.Name], false
		for _, name := range append([]string{f.Name, f.Formula}, f.Aliases...) {
			k := strings.ToLower(key(name))
			found = found || f.Kind == Water && strings.Contains(k, want)
			same = same || k == want
		}
		switch {
		case same:
			exact = append(exact, f)
		case found:
			part = append(part, f)
		}
	}
	return append(exact, part...)
}

// SaturationPressure is the pressure, Pa, at which water boils at t K: R7-97
// Eq. 30, from 273.15 K to the critical point. The errors are *ValueError and
// *RangeError.
func SaturationPressure(t float64) (float64, error) {
	w := loadWater()
	if err := checkValue(T, t); err != nil {
		return nan, err
	}
	if !(t >= waterTmin && t <= w.tc) {
		return nan, &RangeError{T, t, waterTmin, w.tc, saturationLine}
	}
	return w.psat(t), nil
}

// SaturationTemperature is the temperature, K, at which water boils at p Pa:
// R7-97 Eq. 31. The errors are those of SaturationPressure.
func SaturationTemperature(p float64) (float64, error) {
	w := loadWater()
	if err := checkValue(P, p); err != nil {
		return nan, err
	}
	if !(p >= w.edges.pTriple && p <= w.pc) {
		return nan, &RangeError{P, p, w.edges.pTriple, w.pc, saturationLine}
	}
	return w.tsat(p), nil
}

const saturationLine = "the saturation line of water"

// waterPairs are the two properties that fix a state of water, in the order of
// the constants.
var waterPairs = [...][2]Property{{T, P}, {T, V}, {T, S}, {T, X}, {P, V}, {P, H}, {P, S}, {P, U}, {P, X}, {H, S}}

// Phase says in words what a state of water is: "liquid", "vapour", "wet
// steam", "saturated liquid", "saturated vapour" or "supercritical" (above both
// the critical pressure and the critical temperature). Empty for a gas.
func (s State) Phase() string {
	if s.fluid == nil || s.fluid.water == nil {
		return ""
	}
	w := s.fluid.water
	switch {
	case s.region == 4 && s.x == 0:
		return "saturated liquid"
	case s.region == 4 && s.x == 1:
		return "saturated vapour"
	case s.region == 4:
		return "wet steam"
	case s.t > w.tc && s.p > w.pc:
		return "supercritical"
	case s.t > w.tc || s.region == 2 || s.region == 5 || s.region == 3 && s.p < w.pc && s.v > 1/w.rhoc:
		return "vapour"
	}
	return "liquid"
}

// point is the single phase at a state that is not of region 4.
func (w *if97) point(f *fixed) local {
	switch f.region {
	case 1:
		return w.liquid.at(f.p, f.t)
	case 2:
		return w.steam.at(f.p, f.t)
	case 5:
		return w.hot.at(f.p, f.t)
	}
	d := w.dense.at(1/f.v, f.t)
	l := d.local()
	l.p = f.p
	return l
}

// mixture is what h, s, v and u of wet steam are by the lever rule; the rest of
// it is left out.
func (w *if97) mixture(f *fixed) local {
	l, g := w.saturated(f.p, f.t)
	x := f.x
	return local{t: f.t, p: f.p, v: l.v + x*(g.v-l.v), h: l.h + x*(g.h-l.h), s: l.s + x*(g.s-l.s)}
}

// get is a property of a state of water, NaN where it has none.
func (w *if97) get(q Property, f *fixed) float64 {
	switch q {
	case T:
		return f.t
	case P:
		return f.p
	case R:
		return w.r
	case M:
		return w.m
	case X:
		if f.region == 4 {
			return f.x
		}
		return nan
	case So, Pr, Vr:
		return nan
	}
	var l local
	switch {
	case f.region == 0:
		return nan
	case f.region != 4:
		l = w.point(f)
	case f.x > 0 && f.x < 1:
		if !isMixed(q) {
			return nan
		}
		l = w.mixture(f)
	default:
		var g local
		if l, g = w.saturated(f.p, f.t); f.x == 1 {
			l = g
		}
	}
	return w.read(q, &l)
}

// isMixed: wet steam has the property, as an average by mass.
func isMixed(q Property) bool {
	switch q {
	case V, Rho, H, S, U, Z:
		return true
	}
	return false
}

func (w *if97) read(q Property, l *local) float64 {
	switch q {
	case V:
		return l.v
	case Rho:
		return 1 / l.v
	case H:
		return l.h
	case S:
		return l.s
	case U:
		return l.u()
	case Z:
		return l.p * l.v / (w.r * l.t)
	}
	if !(l.vp < 0 && l.vp > -math.MaxFloat64) { // the critical point
		return nan
	}
	switch q {
	case Cp:
		return l.cp
	case Cv:
		return l.cv()
	case K:
		return l.cp / l.cv()
	case C:
		return l.sound()
	}
	if l.t > transportTmax {
		return nan
	}
	switch q {
	case Mu:
		return w.viscosity(l.t, 1/l.v)
	case Lambda:
		return w.conductivity(l)
	case Prandtl:
		return w.viscosity(l.t, 1/l.v) * l.cp / w.conductivity(l)
	}
	return nan
}

// inversion is State.Inversion for water.
func (s *State) waterInversion() (Inversion, bool) {
	a, va, b, vb := ordered(s.given[0], s.value[0], s.given[1], s.value[1])
	in := Inversion{Of: T, From: b, Target: vb, Steps: int(s.steps)}
	switch {
	case b == X:
		return Inversion{}, false
	case a == T && b == P:
		if s.region != 3 {
			return Inversion{}, false
		}
		in.Of, in.From = V, P
	case a == H:
		in.From, in.Target = H, va
	case s.region == 4:
		in.Of = X
	case a == T && b == V && s.region == 3:
		return Inversion{}, false
	case a == T:
		in.Of = P
	case a == P && b == V && s.region == 3:
		in.From, in.Target = P, va
	}
	f := s.fixed
	if in.From == P {
		d := s.fluid.water.dense.at(1/f.v, f.t)
		in.Residual = d.p - in.Target
	} else {
		in.Residual = s.fluid.water.get(in.From, &f) - in.Target
	}
	return in, true
}

// nearWater is the name of water that differs from this one in a letter.
func nearWater(name string) string {
	if len(name) > 8 {
		return ""
	}
	for _, w := range waterNames() {
		if edits([]rune(strings.ToLower(name)), []rune(w)) <= 1 && !isWater(name) {
			return w
		}
	}
	return ""
}
