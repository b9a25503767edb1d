package propsdb

import (
	"fmt"
	"math"
	"slices"
)

// atoms counts the elements that complete combustion burns or carries off, in
// mol per kg of fuel.
type atoms struct{ c, h, o, n, s float64 }

// oxygen is the O2, mol, that burns them: C to CO2, H to H2O, S to SO2, N to N2.
func (a atoms) oxygen() float64 { return a.c + a.h/4 + a.s - a.o/2 }

// Fuel is what burns: its elements, its enthalpy and with it its heating values.
// It is immutable. GasFuel and ElementalFuel make one.
type Fuel struct {
	name   string
	atoms  atoms
	inert  []component // noble gases it carries: mol per kg of fuel
	gas    *Fluid      // on the formation datum; nil for a fuel known by its elements
	hf     float64     // h at 298.15 K on the formation datum, J/kg
	cp     float64     // of a fuel known by its elements, J/(kg·K); 0 if not given
	source string
}

// GasFuel is a gas of the database or a mixture of them (natural gas, a fuel
// gas) as a fuel, whatever its datum. CO2, N2, H2O, O2 and noble gases in it are
// no hindrance as long as it takes up oxygen. It is a gas at 25 °C, too: one that
// is liquid there has less enthalpy by its heat of vaporisation, so that a liquid
// fuel is better given by ElementalFuel with the heating value of the liquid.
//
// The error is a *FuelError: the composition is not known, an element other than
// C, H, O, N, S or a noble gas, nothing that burns.
func GasFuel(f *Fluid) (*Fuel, error) {
	if f == nil {
		return nil, &FuelError{"no fluid", "there is none"}
	}
	if len(f.components) == 0 {
		return nil, &FuelError{f.name, "its composition is not known; a fuel is a gas of the database, a mixture of them, or elements by mass with a heating value"}
	}
	gas, err := f.WithDatum(Formation)
	if err != nil {
		return nil, &FuelError{f.name, err.Error()}
	}
	db := load()
	fuel := &Fuel{name: f.name, gas: gas, source: gas.source.Data}
	for _, c := range f.components {
		g := &db.gases[db.byKey[key(c.Gas)]]
		mol := c.Mole / f.m
		// The database's own heat of formation, not the polynomial's: they differ
		// by what rounding the coefficients has left (below 0.001 J/mol).
		fuel.hf += mol * g.record.Hf
		if err := fuel.take(db, g, mol); err != nil {
			return nil, err
		}
	}
	if !(fuel.atoms.oxygen() > 0) {
		return nil, &FuelError{f.name, "it takes up no oxygen, so it is no fuel"}
	}
	return fuel, nil
}

// take adds mol of a gas to the fuel's elements.
func (f *Fuel) take(db *database, g *gas, mol float64) error {
	elements := g.info().Elements
	for _, e := range elements {
		n := mol * e.Atoms
		switch e.Symbol {
		case "C":
			f.atoms.c += n
		case "H":
			f.atoms.h += n
		case "O":
			f.atoms.o += n
		case "N":
			f.atoms.n += n
		case "S":
			f.atoms.s += n
		case "Ar", "He", "Ne", "Kr", "Xe":
			f.inert = append(f.inert, component{&db.gases[db.byKey[key(e.Symbol)]], n})
		default:
			return &FuelError{f.name, fmt.Sprintf("%s holds %s; complete combustion is known for C, H, O, N and S, with noble gases as ballast", g.record.Name, e.Symbol)}
		}
	}
	return nil
}

// FuelData is a fuel as a data sheet states it: elements by mass and a heating
// value at 25 °C.
type FuelData struct {
	Name          string
	C, H, O, N, S float64 // mass fractions, which sum to 1 within FractionTolerance
	HeatingValue  float64 // J/kg at 25 °C of the fuel as fired
	Higher        bool    // whether that is the higher heating value
	Cp            float64 // J/(kg·K), for a fuel that is not at 25 °C; 0 if not known
	Source        string  // where the figures are from
}

// Bounds on a heating value, J/kg, far outside any fuel, so that a value in kJ/kg
// or MJ/kg taken for J/kg is noticed. Hydrogen, the highest, has 141.9e6.
const leastHeating, mostHeating = 1e5, 2e8

// ElementalFuel is a fuel known by its elements and heating value, such as Jet-A
// or fuel oil. Its heat of formation is what makes the heating value come out.
// The errors are *FuelError and *FractionSumError.
func ElementalFuel(d FuelData) (*Fuel, error) {
	fail := func(format string, args ...any) (*Fuel, error) {
		return nil, &FuelError{d.Name, fmt.Sprintf(format, args...)}
	}
	db := load()
	f := &Fuel{name: d.Name, cp: d.Cp, source: d.Source}
	var sum float64
	for _, e := range [...]struct {
		symbol   string
		fraction float64
		to       *float64
	}{{"C", d.C, &f.atoms.c}, {"H", d.H, &f.atoms.h}, {"O", d.O, &f.atoms.o}, {"N", d.N, &f.atoms.n}, {"S", d.S, &f.atoms.s}} {
		if !(e.fraction >= 0 && e.fraction <= 1+FractionTolerance) {
			return fail("the mass fraction of %s lies between 0 and 1, not %g", e.symbol, e.fraction)
		}
		sum += e.fraction
		*e.to = e.fraction / db.gases[db.byKey[e.symbol]].m
	}
	if !(math.Abs(sum-1) <= FractionTolerance) {
		return nil, &FractionSumError{Name: d.Name, Basis: Mass, Sum: sum}
	}
	for _, n := range []*float64{&f.atoms.c, &f.atoms.h, &f.atoms.o, &f.atoms.n, &f.atoms.s} {
		*n /= sum
	}
	if !(f.atoms.oxygen() > 0) {
		return fail("it takes up no oxygen, so it is no fuel")
	}
	if !(d.HeatingValue >= leastHeating && d.HeatingValue <= mostHeating) {
		return fail("a heating value of %g J/kg is outside %g to %g J/kg, and no fuel has it", d.HeatingValue, leastHeating, mostHeating)
	}
	if d.Cp != 0 && !(d.Cp >= leastFuelHeat && d.Cp <= mostFuelHeat) {
		return fail("a specific heat of %g J/(kg·K) is outside %g to %g J/(kg·K)", d.Cp, leastFuelHeat, mostFuelHeat)
	}
	f.hf = d.HeatingValue + f.burntEnthalpy(!d.Higher)
	return f, nil
}

const leastFuelHeat, mostFuelHeat = 100.0, 2e4 // J/(kg·K)

// Name is the name of the fuel's fluid, or the one its data give.
func (f *Fuel) Name() string { return f.name }

// Source says where the fuel's figures come from.
func (f *Fuel) Source() string { return f.source }

// burntEnthalpy is what the products of 1 kg have at 25 °C on the formation
// datum, J/kg, with their water as vapour or as liquid.
func (f *Fuel) burntEnthalpy(vapour bool) float64 {
	db := load()
	hf := func(name string) float64 { return db.Gases[db.byKey[key(name)]].Hf }
	water := db.LiquidWater.Hf
	if vapour {
		water = hf("H2O")
	}
	return f.atoms.c*hf("CO2") + f.atoms.h/2*water + f.atoms.s*hf("SO2")
}

// HeatingValue is the heat, J/kg of fuel, given off when the fuel burns
// completely at 25 °C (298.15 K) and 1 bar and the products return to 25 °C.
// Lower: their water stays vapour. Higher: it condenses.
//
//	hf(fuel) − [n_C Hf(CO2) + n_H/2 Hf(H2O) + n_S Hf(SO2)]/kg
//
// with the heats of formation of the database (NASA/TP-2002-211556). For a fuel
// given with one heating value that one comes back.
func (f *Fuel) HeatingValue(lower bool) float64 { return f.hf - f.burntEnthalpy(lower) }

// H is the fuel's enthalpy, J/kg, at t K on the formation datum. Of a fuel known
// by its elements it is hf + cp·(T − 298.15 K). The errors are those of Fluid.H,
// and *FuelError for such a fuel without cp away from 25 °C.
func (f *Fuel) H(t float64) (float64, error) {
	if f.gas != nil {
		return f.gas.H(t)
	}
	if err := checkValue(T, t); err != nil {
		return nan, err
	}
	if t == StandardTemperature {
		return f.hf, nil
	}
	if f.cp == 0 {
		return nan, &FuelError{f.name, fmt.Sprintf("its data give no specific heat, so that it is known at 298.15 K only, not at %.8g K", t)}
	}
	if !(t >= fuelTmin && t <= fuelTmax) {
		return nan, &RangeError{T, t, fuelTmin, fuelTmax, f.name}
	}
	return f.hf + f.cp*(t-StandardTemperature), nil
}

// fuelTmin and fuelTmax, K, bound a fuel with constant cp: one figure of a data
// sheet says nothing further from 25 °C (common practice, no source).
const fuelTmin, fuelTmax = 200.0, 600.0

// Elements is the composition by mass, in the order C, H, O, N, S, leaving out
// what the fuel does not hold; noble gases follow.
func (f *Fuel) Elements() []ElementMass {
	db := load()
	var out []ElementMass
	add := func(symbol string, mol float64) {
		if mol > 0 {
			out = append(out, ElementMass{symbol, mol * db.gases[db.byKey[symbol]].m})
		}
	}
	add("C", f.atoms.c)
	add("H", f.atoms.h)
	add("O", f.atoms.o)
	add("N", f.atoms.n)
	add("S", f.atoms.s)
	for _, c := range slices.Clone(f.inert) {
		add(c.gas.record.Name, c.mole)
	}
	return out
}

// ElementMass is an element and its mass in 1 kg of fuel, kg.
type ElementMass struct {
	Symbol string
	Mass   float64
}
