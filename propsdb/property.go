package propsdb

// StandardPressure is the pressure, Pa, at which so(T) is counted: 1 bar, the
// standard state of the NASA Glenn data.
const StandardPressure = 1e5

// StandardTemperature is 25 °C in kelvin: heats of formation and heating values
// belong to it, and the entropy of a perfect gas is zero there at 1 bar.
const StandardTemperature = 298.15

// Property is one quantity of a state.
type Property uint8

// The properties, with the unit in which every function of this package takes
// and gives them.
const (
	T       Property = iota // temperature, K
	P                       // absolute pressure, Pa
	V                       // specific volume, m³/kg
	Rho                     // density, kg/m³
	H                       // specific enthalpy, J/kg, from the fluid's datum
	S                       // specific entropy, J/(kg·K)
	U                       // specific internal energy, J/kg, h − p·v
	Cp                      // specific heat at constant pressure, J/(kg·K)
	Cv                      // specific heat at constant volume, J/(kg·K)
	K                       // ratio of specific heats cp/cv, 1
	C                       // speed of sound, m/s
	R                       // specific gas constant, J/(kg·K)
	M                       // molar mass, kg/mol
	Z                       // compressibility factor p·v/(R·T), 1
	So                      // entropy at 1 bar s°(T), J/(kg·K)
	Pr                      // relative pressure, 1: only ratios of it mean anything
	Vr                      // relative volume, 1: only ratios of it mean anything
	X                       // dryness fraction, 1; an ideal gas has none
	Mu                      // dynamic viscosity, Pa·s; of water, and of air
	Lambda                  // thermal conductivity, W/(m·K); of water
	Prandtl                 // Prandtl number mu·cp/lambda, 1; of water
)

type propertyText struct{ symbol, name, unit string }

func (p Property) text() propertyText {
	switch p {
	case T:
		return propertyText{"T", "temperature", "K"}
	case P:
		return propertyText{"p", "pressure", "Pa"}
	case V:
		return propertyText{"v", "specific volume", "m³/kg"}
	case Rho:
		return propertyText{"rho", "density", "kg/m³"}
	case H:
		return propertyText{"h", "specific enthalpy", "J/kg"}
	case S:
		return propertyText{"s", "specific entropy", "J/(kg·K)"}
	case U:
		return propertyText{"u", "specific internal energy", "J/kg"}
	case Cp:
		return propertyText{"cp", "specific heat at constant pressure", "J/(kg·K)"}
	case Cv:
		return propertyText{"cv", "specific heat at constant volume", "J/(kg·K)"}
	case K:
		return propertyText{"k", "ratio of specific heats", "1"}
	case C:
		return propertyText{"c", "speed of sound", "m/s"}
	case R:
		return propertyText{"R", "specific gas constant", "J/(kg·K)"}
	case M:
		return propertyText{"M", "molar mass", "kg/mol"}
	case Z:
		return propertyText{"Z", "compressibility factor", "1"}
	case So:
		return propertyText{"so", "entropy at 1 bar", "J/(kg·K)"}
	case Pr:
		return propertyText{"pr", "relative pressure", "1"}
	case Vr:
		return propertyText{"vr", "relative volume", "1"}
	case X:
		return propertyText{"x", "dryness fraction", "1"}
	case Mu:
		return propertyText{"mu", "dynamic viscosity", "Pa·s"}
	case Lambda:
		return propertyText{"lambda", "thermal conductivity", "W/(m·K)"}
	case Prandtl:
		return propertyText{"Pr", "Prandtl number", "1"}
	}
	return propertyText{"?", "unknown property", "1"}
}

// Symbol is the stem by which the language writes the property: "T", "p", "rho".
func (p Property) Symbol() string { return p.text().symbol }

// Name is the property in words: "specific enthalpy".
func (p Property) Name() string { return p.text().name }

// Unit is the unit of every value of the property in this package: "J/kg", and
// "1" for a plain number.
func (p Property) Unit() string { return p.text().unit }

func (p Property) String() string { return p.text().symbol }

// PropertyOf finds a property by its stem; case counts (C is not c).
func PropertyOf(stem string) (Property, bool) {
	for p := T; p <= Prandtl; p++ {
		if p.Symbol() == stem {
			return p, true
		}
	}
	return 0, false
}

// Datum is the state from which h and u are counted.
type Datum uint8

const (
	// ZeroKelvin: h = 0 for the gas at absolute zero. The datum of every gas of
	// the database and every mixture unless another is asked for.
	ZeroKelvin Datum = iota
	// Formation: h of an element in its reference form is zero at 298.15 K and
	// 1 bar, so that h holds the heat of formation: the datum for reactions.
	Formation
	// Own: h = cp·T and s = cp·ln(T/298.15 K) − R·ln(p/1 bar), the zeros of a
	// perfect gas, which no other fluid shares.
	Own
	// TriplePoint: u = s = 0 for liquid water at its triple point, 273.16 K; the
	// datum of water and steam, and of printed steam tables.
	TriplePoint
)

func (d Datum) String() string {
	switch d {
	case ZeroKelvin:
		return "0 K"
	case Formation:
		return "formation"
	case Own:
		return "own"
	case TriplePoint:
		return "triple-point"
	}
	return "unknown datum"
}

// Basis says how the parts of a mixture are counted.
type Basis uint8

const (
	Mole Basis = iota // amount of substance
	Mass
)

func (b Basis) String() string {
	if b == Mass {
		return "mass"
	}
	return "mole"
}
