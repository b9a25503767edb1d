package units

// Kind says how a unit counts its quantity.
type Kind uint8

const (
	// Scale is a plain factor: kJ/kg, K, °R, bar.
	Scale Kind = iota
	// Point is a point on a scale whose zero is not the quantity's: °C, °F.
	Point
	// Difference is a temperature difference in such degrees: Δ°C, Δ°F.
	Difference
	// Gauge is a pressure counted from the ambient pressure: barg, kPag, psig.
	Gauge
)

func (k Kind) String() string {
	switch k {
	case Point:
		return "point on a scale"
	case Difference:
		return "difference"
	case Gauge:
		return "gauge pressure"
	}
	return "scale"
}

// Unit is an immutable unit of measurement. The zero value is the dimensionless unit "1".
// Compare units with Equal, not with ==.
type Unit struct{ d *def }

// def is what a Unit points at; it is never written after it was made.
type def struct {
	text, ascii string
	dim         Dimension
	kind        Kind
	num, den    float64 // num/den SI units make one; two figures, since 1/1000 is no exact float and 1000 is
	zero        float64 // of a Point
	note        string
}

// one is the unit "1"; it is never written.
var one = def{text: "1", ascii: "1", num: 1, den: 1}

func (u Unit) def() *def {
	if u.d == nil {
		return &one
	}
	return u.d
}

// Dimension returns what the unit measures.
func (u Unit) Dimension() Dimension { return u.def().dim }

// Kind returns how the unit counts.
func (u Unit) Kind() Kind { return u.def().kind }

// Factor returns how many coherent SI units make one of u. For a Point it is the size of its degree in kelvin.
func (u Unit) Factor() float64 { return u.def().num / u.def().den }

// String returns the unit as a sheet prints it: kJ/(kg·K), m³/s, Δ°C, Btu/(lbm·°R). Parse reads it back.
func (u Unit) String() string { return u.def().text }

// ASCII returns a spelling in plain ASCII, such as kJ/(kg*K) or m^3/s, that Parse reads as the same unit.
func (u Unit) ASCII() string { return u.def().ascii }

// IsNone reports whether u is the unit "1". Other dimensionless units, such as % and kg/kg, are not.
func (u Unit) IsNone() bool { return u.def().text == one.text }

// IsRelative reports whether u is %rel: a share of the value it stands beside, not a quantity of its own.
func (u Unit) IsRelative() bool { return u.def().text == "%rel" }

// Equal reports whether u and v are the same unit, that is: print alike. kPa·m³ and kJ are not the same unit.
func (u Unit) Equal(v Unit) bool { return u.d == v.d || u.def().text == v.def().text }

// Definition tells, for a unit with a symbol that is known by several definitions (Btu, cal, hp, inH2O, ton, …),
// which of them is used and its source. It is empty for every other unit.
func (u Unit) Definition() string { return u.def().note }

// Difference returns the unit that differences of quantities in u are counted in: Δ°C for °C, Δ°F for °F,
// bar for barg. Every other unit is its own.
func (u Unit) Difference() Unit {
	d := u.def()
	switch d.kind {
	case Point:
		return symbols()["Δ"+d.text].unit
	case Gauge:
		return symbols()[absoluteText(d.text)].unit
	}
	return u
}

// absoluteText is the absolute unit that belongs to the symbol of a gauge or point unit, or the symbol itself.
func absoluteText(symbol string) string {
	switch symbol {
	case "°C":
		return "K"
	case "°F":
		return "°R"
	case "psig":
		return "psi"
	case "Pag", "kPag", "MPag", "barg", "mbarg":
		return symbol[:len(symbol)-1]
	}
	return symbol
}

// ToSI returns v, counted in u, in coherent SI units: kelvin for a Point, absolute pascals for a Gauge.
// ambient is the ambient pressure in Pa; only a Gauge unit uses it.
func (u Unit) ToSI(v, ambient float64) float64 {
	d := u.def()
	switch d.kind {
	case Point:
		v += d.zero
	case Gauge:
		return v*d.num/d.den + ambient
	}
	return v * d.num / d.den
}

// FromSI is the inverse of ToSI.
func (u Unit) FromSI(si, ambient float64) float64 {
	d := u.def()
	switch d.kind {
	case Point:
		return si*d.den/d.num - d.zero
	case Gauge:
		si -= ambient
	}
	return si * d.den / d.num
}

// Convert returns v, counted in from, as counted in to. ambient is the ambient pressure in Pa, used only between
// a gauge and an absolute pressure.
//
// It returns a *DimensionError where the two measure different things, a *KindError where one is a point of a
// temperature scale and the other a difference, and an *AmbientError where the ambient pressure is needed and is
// not a positive finite number. A temperature in K or °R serves as both point and difference.
func Convert(v float64, from, to Unit, ambient float64) (float64, error) {
	f, t := from.def(), to.def()
	switch {
	case f.dim != t.dim:
		return 0, &DimensionError{From: from, To: to}
	case f.kind == Point && t.kind == Difference, f.kind == Difference && t.kind == Point:
		return 0, &KindError{From: from, To: to}
	case f.text == t.text:
		return v, nil
	case f.kind == Gauge && t.kind == Gauge:
		return v * f.num / f.den * t.den / t.num, nil
	case f.kind == Gauge || t.kind == Gauge:
		if !(ambient > 0) || ambient > maxFloat {
			gauge := from
			if t.kind == Gauge {
				gauge = to
			}
			return 0, &AmbientError{Unit: gauge, Ambient: ambient}
		}
	case f.kind != Point && t.kind != Point:
		return v * f.num / f.den * t.den / t.num, nil
	}
	return to.FromSI(from.ToSI(v, ambient), ambient), nil
}
