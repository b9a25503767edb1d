package propsdb

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

var nan = math.NaN()

// Kind says where a fluid's properties come from.
type Kind uint8

const (
	DatabaseGas Kind = iota // one gas of the database
	GasMixture              // ideal mixture of gases of the database
	PerfectGas              // constant specific heats, given by the author
	UserGas                 // ideal gas with cp(T) by the user's own data
	Water                   // water and steam by IAPWS-IF97
)

func (k Kind) String() string {
	switch k {
	case Water:
		return "water and steam by IAPWS-IF97"
	case GasMixture:
		return "ideal-gas mixture"
	case PerfectGas:
		return "calorically perfect gas"
	case UserGas:
		return "ideal gas by the user's data"
	}
	return "ideal gas"
}

// Fluid is an ideal gas (a database gas, a mixture of them, a perfect gas) or
// water.
// It is immutable and safe for use by several goroutines at once.
type Fluid struct {
	name       string
	kind       Kind
	datum      Datum
	m, r       float64 // kg/mol (0 if a perfect gas was given none), J/(kg·K)
	components []Component
	source     Source
	zero       string // DatumID on the 0 K datum where no other fluid shares it
	water      *if97  // nil for an ideal gas, which alone has what follows

	atP, atV curve   // cp with h and so; cv with u and so − R·ln T
	soRef    float64 // so at relativeT, for pr and vr

	// Tables for T from h, so, u and so − R·ln T.
	byH, bySo, byU, bySv inverse
}

// newFluid completes a fluid from its intervals.
func newFluid(f *Fluid, ivs []interval) *Fluid {
	f.atP = newCurve(ivs, f.r)
	f.atV = newCurve(constantVolume(ivs), f.r)
	f.soRef = entropy.value(f.atP.at(relativeT), relativeT)
	return f
}

// Source says where a fluid's data come from.
type Source struct {
	Data    string // title and number
	Version string // edition of the machine-readable file
	Hash    string // SHA-256 of the data file the tool carries, hexadecimal; empty for a perfect gas
	Range   string // "200 K to 6000 K"
	Note    string // what the data rest on, per gas
	// Accuracy is what is known of how far the data are from the fluid, Licence the terms they stand
	// under; empty for what the author gave.
	Accuracy, Licence string
}

// Component is a gas of a mixture; the fractions of a fluid sum to 1.
type Component struct {
	Gas        string
	Mole, Mass float64
	M          float64 // kg/mol
}

// Name is the database name, or the one the author gave.
func (f *Fluid) Name() string { return f.name }

// Kind says whether the fluid is a database gas, a mixture or a perfect gas.
func (f *Fluid) Kind() Kind { return f.kind }

// M is the molar mass, kg/mol.
func (f *Fluid) M() float64 { return f.m }

// R is the specific gas constant, J/(kg·K).
func (f *Fluid) R() float64 { return f.r }

// Datum is the state from which h and u are counted.
func (f *Fluid) Datum() Datum { return f.datum }

// Range is the span of temperature, K, for which the fluid has properties. A
// perfect gas has no range of its own; see PerfectTmin and PerfectTmax.
func (f *Fluid) Range() (tmin, tmax float64) {
	if f.water != nil {
		return waterTmin, waterTmax
	}
	return f.atP.lo, f.atP.hi
}

// Joints are the temperatures, K, at which one polynomial gives way to the next;
// at a joint the upper one counts.
func (f *Fluid) Joints() []float64 { return slices.Clone(f.atP.joints) }

// Gap is how far h (J/kg) and so (J/(kg·K)) rise at a joint from the lower
// polynomial to the upper one; negative where they fall.
func (f *Fluid) Gap(joint int) (h, so float64) {
	t := f.atP.joints[joint]
	lower, upper := &f.atP.segs[joint], &f.atP.segs[joint+1]
	it, l := 1/t, ln(t)
	return upper.enthalpy(t, it, l) - lower.enthalpy(t, it, l), upper.entropy(t, it, l) - lower.entropy(t, it, l)
}

// Source says where the data come from.
func (f *Fluid) Source() Source { return f.source }

// Components are the gases the fluid is made of, in the order given; one for a
// database gas, none for a perfect gas. The fit of air is a single gas.
func (f *Fluid) Components() []Component { return slices.Clone(f.components) }

// DatumID is the same for two fluids exactly when their h and u may stand in one
// sum. On the 0 K datum that holds for streams that mix without reacting.
func (f *Fluid) DatumID() string {
	if f.water != nil {
		return waterDatum
	}
	switch {
	case f.datum == Own:
		return f.ownID()
	case f.datum == ZeroKelvin && f.zero != "":
		return f.zero
	}
	return f.datum.String()
}

// EntropyDatumID is DatumID for s. Every gas of the database and every mixture
// counts s from absolute zero at 1 bar, whatever the datum of h.
func (f *Fluid) EntropyDatumID() string {
	if f.water != nil {
		return waterDatum
	}
	if f.datum == Own {
		return f.ownID()
	}
	return "absolute"
}

// waterDatum is the DatumID of water, in h and in s.
const waterDatum = "triple point of water"

func (f *Fluid) ownID() string {
	if f.kind == UserGas {
		return f.userID()
	}
	cp := f.CpFast(StandardTemperature)
	return fmt.Sprintf("own zero of %s (cp %.17g, R %.17g)", f.name, cp, f.r)
}

// Describe is one line about the fluid for a reader.
func (f *Fluid) Describe() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s", f.name, f.kind)
	if f.kind == PerfectGas {
		cp := f.CpFast(StandardTemperature)
		fmt.Fprintf(&b, ", cp = %.6g J/(kg·K), k = %.6g, R = %.6g J/(kg·K)", cp, cp/(cp-f.r), f.r)
	} else {
		if f.kind == GasMixture {
			b.WriteString(" by mole")
			for i, c := range f.components {
				sep := ", "
				if i == 0 {
					sep = ": "
				}
				fmt.Fprintf(&b, "%s%s %.6g", sep, c.Gas, c.Mole)
			}
		}
		fmt.Fprintf(&b, ", M = %.6g kg/kmol, %s", 1000*f.m, f.source.Range)
	}
	fmt.Fprintf(&b, ", %s datum", f.datum)
	return b.String()
}

// WithDatum is the same fluid with h and u counted from another state. The error
// is a *DatumError: a perfect gas has only its own zero, other gases never have
// that one, and Jet-A has none at 0 K.
func (f *Fluid) WithDatum(datum Datum) (*Fluid, error) {
	switch {
	case datum == f.datum:
		return f, nil
	case f.water != nil:
		return nil, &DatumError{f.name, datum, "the formulation counts from the liquid at the triple point; H2O as an ideal gas counts from 0 K or from formation"}
	case f.kind == PerfectGas:
		return nil, &DatumError{f.name, datum, "constant specific heats say nothing about absolute zero or formation; a perfect gas has its own zero"}
	case f.kind == UserGas:
		return nil, &DatumError{f.name, datum, "its cp says nothing about absolute zero or formation; it counts from the zero its data give"}
	case f.kind == DatabaseGas:
		return LookupOn(f.name, datum)
	}
	parts := make([]Part, len(f.components))
	for i, c := range f.components {
		parts[i] = Part{Gas: c.Gas, Fraction: c.Mole}
	}
	g, err := MixtureOn(datum, f.name, Mole, parts)
	if err != nil {
		return nil, err
	}
	g.zero, g.source = f.zero, f.source
	if f.byH.brief {
		g.brief()
	}
	return g, nil
}
