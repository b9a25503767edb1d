package propsdb

import (
	"fmt"
	"math"
)

// Complete lean combustion. All carbon becomes CO2, hydrogen H2O, sulphur SO2,
// fuel-bound nitrogen N2, and oxygen is left over or just used up:
//
//	1 kg oxidant + f kg fuel → (1 + f) kg products
//
// Whatever is said of the fuel's quantity comes down to f, the fuel–oxidant mass
// ratio, and the stoichiometric one f_st that leaves no oxygen: φ = f/f_st,
// theoretical air = 1/φ, excess air = 1/φ − 1. These are definitions.

// AmountKind is a way of saying how much fuel there is.
type AmountKind uint8

const (
	ExcessAir        AmountKind = iota // air beyond the stoichiometric, as a part of that: 2.5 is 250 %
	TheoreticalAir                     // air as a part of the stoichiometric: 3.5 is 350 %
	EquivalenceRatio                   // φ, f over the stoichiometric f
	FuelOxidantRatio                   // f, kg fuel per kg oxidant
)

func (k AmountKind) String() string {
	switch k {
	case ExcessAir:
		return "excess air"
	case TheoreticalAir:
		return "theoretical air"
	case EquivalenceRatio:
		return "equivalence ratio"
	case FuelOxidantRatio:
		return "fuel–oxidant mass ratio"
	}
	return "unknown amount"
}

// Amount is how much fuel there is for the oxidant.
type Amount struct {
	Kind  AmountKind
	Value float64
}

// The species of complete products, in the order in which they are listed.
const (
	inN2 = iota
	inO2
	inAr
	inCO2
	inH2O
	inSO2
	inHe
	inNe
	inKr
	inXe
	productSpecies
)

func speciesName(i int) string {
	return [productSpecies]string{"N2", "O2", "Ar", "CO2", "H2O", "SO2", "He", "Ne", "Kr", "Xe"}[i]
}

// moles counts the species, in mol.
type moles [productSpecies]float64

func (m *moles) add(gasName string, mol float64) bool {
	for i := range m {
		if speciesName(i) == gasName {
			m[i] += mol
			return true
		}
	}
	return false
}

// plus is m + x·other.
func (m moles) plus(x float64, other *moles) moles {
	for i := range m {
		m[i] += x * other[i]
	}
	return m
}

// mass is Σ n·M, kg.
func (m *moles) mass() (sum float64) {
	db := load()
	for i, n := range m {
		sum += n * db.gases[db.byKey[speciesName(i)]].m
	}
	return sum
}

// enthalpy is Σ n·H(T) on the formation datum, J; NaN outside the range.
func (m *moles) enthalpy(t float64) (sum float64) {
	db := load()
	for i, n := range m {
		if n != 0 {
			g := db.byKey[speciesName(i)]
			sum += n * db.gases[g].m * db.fluids[g][Formation]().HFast(t)
		}
	}
	return sum
}

// Reaction is a fuel and what it burns in, before it is said how much of each.
// It is immutable.
type Reaction struct {
	fuel    *Fuel
	oxidant *Fluid  // on the formation datum
	air     moles   // mol per kg of oxidant
	change  moles   // mol per kg of fuel: products made, less the O2 used up
	stoich  float64 // kg fuel per kg oxidant
}

// React pairs a fuel with its oxidant: air, humid air, a mixture that holds O2,
// or the products of another combustion. The errors are *FuelError for a nil
// fuel and *OxidantError for an oxidant of unknown composition, without O2, or
// with something in it other than O2 and complete products or noble gases.
func React(fuel *Fuel, oxidant *Fluid) (*Reaction, error) {
	if fuel == nil {
		return nil, &FuelError{"no fuel", "there is none"}
	}
	if oxidant == nil {
		return nil, &OxidantError{Oxidant: "no fluid", Reason: "there is none"}
	}
	if len(oxidant.components) == 0 {
		return nil, &OxidantError{Oxidant: oxidant.name, Reason: "its composition is not known; burn in air, or in a mixture that holds O2"}
	}
	formed, err := oxidant.WithDatum(Formation)
	if err != nil {
		return nil, &OxidantError{Oxidant: oxidant.name, Reason: err.Error()}
	}
	r := &Reaction{fuel: fuel, oxidant: formed}
	db := load()
	for _, c := range oxidant.components {
		mol := c.Mole / oxidant.m
		if c.Gas == db.gases[db.byKey["air"]].record.Name {
			for _, a := range db.air {
				r.air.add(a.Gas, mol*a.Fraction)
			}
			continue
		}
		if !r.air.add(c.Gas, mol) {
			return nil, &OxidantError{oxidant.name, c.Gas, "an oxidant is made of O2 and of gases that complete combustion leaves as they are (N2, CO2, H2O, SO2, noble gases)"}
		}
	}
	// The stated molar mass of air is that of its four gases to 1e-9; let their mass
	// be 1 kg exactly, so that mass is balanced to the last digit.
	mass := r.air.mass()
	for i := range r.air {
		r.air[i] /= mass
	}
	if !(r.air[inO2] > 0) {
		return nil, &OxidantError{Oxidant: oxidant.name, Reason: "it holds no O2, so that nothing burns in it"}
	}
	a := fuel.atoms
	r.change[inN2] = a.n / 2
	r.change[inO2] = -a.oxygen()
	r.change[inCO2] = a.c
	r.change[inH2O] = a.h / 2
	r.change[inSO2] = a.s
	for _, c := range fuel.inert {
		r.change.add(c.gas.record.Name, c.mole)
	}
	r.stoich = r.air[inO2] / a.oxygen()
	return r, nil
}

// Fuel is the fuel of the reaction.
func (r *Reaction) Fuel() *Fuel { return r.fuel }

// Oxidant is the oxidant on the formation datum.
func (r *Reaction) Oxidant() *Fluid { return r.oxidant }

// Stoichiometric is f_st, kg of fuel per kg of oxidant that leave no oxygen and
// no unburnt fuel.
func (r *Reaction) Stoichiometric() float64 { return r.stoich }

// MolarRatio turns a fuel–oxidant mass ratio into mol of fuel per mol of oxidant;
// NaN for a fuel known by its elements, which has no molar mass.
func (r *Reaction) MolarRatio(ratio float64) float64 {
	if r.fuel.gas == nil {
		return nan
	}
	return ratio * r.oxidant.m / r.fuel.gas.m
}

// richRoundoff is how far rounding may carry φ past 1: no excess air, converted
// to f and back, must not count as rich.
const richRoundoff = 1e-12

// Ratio is the fuel–oxidant mass ratio f of an amount, kg/kg. No fuel (f = 0) is
// an amount. The errors are *AmountError and, for less air than the fuel needs,
// *RichError with the φ it comes to.
func (r *Reaction) Ratio(a Amount) (float64, error) {
	v := a.Value
	fail := func(reason string) (float64, error) { return nan, &AmountError{a.Kind, v, reason} }
	if v != v || math.IsInf(v, 0) {
		return fail("is not a finite number")
	}
	var ratio float64
	switch a.Kind {
	case ExcessAir:
		if !(v > -1) {
			return fail("leaves no air at all: excess air is above −1 (−100 %)")
		}
		ratio = r.stoich / (1 + v)
	case TheoreticalAir:
		if !(v > 0) {
			return fail("leaves no air at all: it must be above 0")
		}
		ratio = r.stoich / v
	case EquivalenceRatio:
		ratio = r.stoich * v
	case FuelOxidantRatio:
		ratio = v
	default:
		return fail("is no way to give the quantity of fuel")
	}
	if !(ratio >= 0) {
		return fail("is negative")
	}
	if phi := ratio / r.stoich; !(phi <= 1+richRoundoff) {
		return nan, &RichError{r.fuel.name, r.oxidant.name, phi, ratio, r.stoich}
	}
	return min(ratio, r.stoich), nil
}

// Convert says an amount in another way. The errors are those of Ratio, and
// *AmountError where there is no fuel and the air for it is beyond all bounds.
func (r *Reaction) Convert(a Amount, to AmountKind) (Amount, error) {
	ratio, err := r.Ratio(a)
	if err != nil {
		return Amount{}, err
	}
	if to == a.Kind {
		return a, nil
	}
	out := Amount{Kind: to}
	switch to {
	case ExcessAir:
		// Not r.stoich/ratio − 1: that is 0 for a φ a little below 1, too.
		out.Value = (r.stoich - ratio) / ratio
	case TheoreticalAir:
		out.Value = r.stoich / ratio
	case EquivalenceRatio:
		out.Value = ratio / r.stoich
	case FuelOxidantRatio:
		out.Value = ratio
	default:
		return Amount{}, &AmountError{to, nan, "is no way to give the quantity of fuel"}
	}
	if math.IsInf(out.Value, 0) || out.Value != out.Value {
		return Amount{}, &AmountError{to, out.Value, "has no value where there is no fuel"}
	}
	return out, nil
}

// Burnt is what a combustion gives.
type Burnt struct {
	Fluid          *Fluid  // the products, an ideal mixture
	Ratio          float64 // f, kg fuel per kg oxidant
	Stoichiometric float64 // f_st, kg fuel per kg oxidant
	Phi            float64 // equivalence ratio f/f_st
	PerOxidant     float64 // 1 + f, kg products per kg oxidant
}

// Products burns the fuel completely in the oxidant: React and Reaction.Products
// in one, for a caller that asks only once.
func Products(name string, datum Datum, fuel *Fuel, oxidant *Fluid, a Amount) (*Burnt, error) {
	r, err := React(fuel, oxidant)
	if err != nil {
		return nil, err
	}
	return r.Products(name, datum, a)
}

// Products are the products of complete combustion as a fluid. On the 0 K datum
// its DatumID is its own, since between its h and that of the air or of other
// products lies a reaction that h from 0 K knows nothing of; differences within
// the fluid are free, and Formation serves for the rest. The products keep their
// water as vapour however cold they are: see DewPoint.
//
// The errors are those of Ratio, and *DatumError for the datum Own.
func (r *Reaction) Products(name string, datum Datum, a Amount) (*Burnt, error) {
	if datum != ZeroKelvin && datum != Formation {
		return nil, &DatumError{name, datum, "products of combustion count from 0 K or from formation"}
	}
	ratio, err := r.Ratio(a)
	if err != nil {
		return nil, err
	}
	b := &Burnt{Ratio: ratio, Stoichiometric: r.stoich, Phi: ratio / r.stoich, PerOxidant: 1 + ratio}
	b.Fluid = r.fluid(name, datum, ratio)
	return b, nil
}

func (r *Reaction) fluid(name string, datum Datum, ratio float64) *Fluid {
	db := load()
	n := r.air.plus(ratio, &r.change)
	if ratio == r.stoich {
		n[inO2] = 0 // and not what rounding has left of it
	}
	parts := make([]component, 0, productSpecies)
	var sum float64
	for i, mol := range n {
		if mol > 0 {
			parts = append(parts, component{&db.gases[db.byKey[speciesName(i)]], mol})
			sum += mol
		}
	}
	for i := range parts {
		parts[i].mole /= sum
	}
	f := db.newMixed(name, GasMixture, datum, parts)
	f.brief()
	f.zero = fmt.Sprintf("0 K of the products %s (%s in %s, f %.17g)", name, r.fuel.name, r.oxidant.name, ratio)
	f.source.Note = fmt.Sprintf("complete combustion of %s in %s, fuel–oxidant mass ratio %.6g; fuel: %s; %s",
		r.fuel.name, r.oxidant.name, ratio, r.fuel.source, f.source.Note)
	return f
}

// OxidantError: the fluid is nothing that a fuel could burn in completely.
type OxidantError struct {
	Oxidant string
	Part    string // the gas at fault, or empty
	Reason  string
}

func (e *OxidantError) Error() string {
	if e.Part != "" {
		return fmt.Sprintf("%s as an oxidant, part %s: %s", e.Oxidant, e.Part, e.Reason)
	}
	return fmt.Sprintf("%s as an oxidant: %s", e.Oxidant, e.Reason)
}

// AmountError: the quantity of fuel makes no sense.
type AmountError struct {
	Kind   AmountKind
	Value  float64
	Reason string
}

func (e *AmountError) Error() string {
	return fmt.Sprintf("%s = %g %s", e.Kind, e.Value, e.Reason)
}

// RichError: there is less oxygen than the fuel needs. Rich combustion leaves CO,
// H2 and unburnt fuel, which complete combustion does not know.
type RichError struct {
	Fuel, Oxidant         string
	Phi                   float64 // equivalence ratio, above 1
	Ratio, Stoichiometric float64 // kg fuel per kg oxidant
}

func (e *RichError) Error() string {
	return fmt.Sprintf("φ = %.6g: %s in %s is rich, fuel–oxidant mass ratio %.6g against the stoichiometric %.6g; complete combustion ends at φ = 1",
		e.Phi, e.Fuel, e.Oxidant, e.Ratio, e.Stoichiometric)
}
