package units

// Where the figures come from. The documents were not opened for this table: the figures are exact
// definitions known from them, and the tests hold every one against two independent programs' values.
const (
	srcSI    = "SI Brochure, 9th ed. (2019)"
	srcSP811 = "NIST SP 811 (2008), Appendix B"
	srcYard  = "international yard and pound agreement (1959); NIST SP 811 (2008), Appendix B"
	srcTrade = "common practice, no source"
)

// Exact figures on which others rest. Constant arithmetic is exact in Go; each factor is rounded once.
const (
	pound    = 0.45359237                 // kg
	foot     = 0.3048                     // m
	inch     = 0.0254                     // m
	gravity  = 9.80665                    // m/s², standard acceleration of free fall (3rd CGPM, 1901)
	calIT    = 4.1868                     // J
	calTh    = 4.184                      // J
	btuIT    = calIT * 1000 * pound / 1.8 // J: 1 Btu/(lb·°F) = 1 kcal/(kg·°C)
	btuTh    = calTh * 1000 * pound / 1.8 // J
	mercury  = 13.5951 * gravity          // Pa per millimetre, density 13.5951 g/cm³ by convention
	waterCol = gravity                    // Pa per millimetre, density 1 g/cm³ by convention
	poundF   = pound * gravity            // N
	gallonUS = 231 * inch * inch * inch
	pi       = 3.14159265358979323846264338327950288419716939937510582097494459
)

// Which SI prefixes a unit takes. The trade's units take only those the trade uses.
const (
	prefixAll    = "f p n u m c d da h k M G T P"
	prefixPower  = "u m k M G T P"
	prefixLarge  = "k M G T"
	prefixBar    = "u m k"
	prefixGauge  = "k M"
	prefixAmount = "n u m k M"
)

// row is one line of the table of units: num/den·10^e10 SI units make one of it.
type row struct {
	symbol, ascii  string // ascii is empty where symbol is ASCII
	name, quantity string
	definition     string
	source         string
	several        bool // known by several definitions: a sheet prints the one used
	aliases        []string
	prefixes       string
	dim            Dimension
	num, den       float64 // 0 stands for 1
	e10            int
	kind           Kind
	zero           float64 // of a point scale: absolute temperature of its zero, counted in its own degrees
}

// rows is the table of units, grouped by quantity in the order in which All lists them.
func rows() []row {
	var t []row
	add := func(quantity string, d Dimension, rs ...row) {
		for _, r := range rs {
			r.quantity, r.dim = quantity, d
			if r.num == 0 {
				r.num = 1
			}
			if r.den == 0 {
				r.den = 1
			}
			if r.ascii == "" {
				r.ascii = r.symbol
			}
			t = append(t, r)
		}
	}
	mechanicalRows(add)
	thermalRows(add)
	return t
}

type addRows = func(quantity string, d Dimension, rs ...row)

func mechanicalRows(add addRows) {
	add("mass", DimMass(),
		row{symbol: "g", name: "gram", definition: "0.001 kg", source: srcSI, prefixes: prefixAll, e10: -3},
		row{symbol: "t", name: "tonne", definition: "1000 kg", source: srcSI, several: true, e10: 3},
		row{symbol: "lbm", name: "pound (avoirdupois)", definition: "0.45359237 kg", source: srcYard, num: pound},
		row{symbol: "oz", name: "ounce (avoirdupois)", definition: "lbm/16", source: srcYard, num: pound / 16},
		row{symbol: "slug", name: "slug", definition: "1 lbf·s²/ft", source: srcSP811, num: poundF / foot},
		row{symbol: "ton_short", name: "short ton", definition: "2000 lbm", source: srcSP811, num: 2000 * pound},
		row{symbol: "ton_long", name: "long ton", definition: "2240 lbm", source: srcSP811, num: 2240 * pound},
	)
	add("length", DimLength(),
		row{symbol: "m", name: "metre", definition: "SI base unit", source: srcSI, prefixes: prefixAll},
		row{symbol: "inch", name: "inch", definition: "25.4 mm", source: srcYard, num: inch},
		row{symbol: "ft", name: "foot", definition: "0.3048 m", source: srcYard, num: foot},
		row{symbol: "yd", name: "yard", definition: "0.9144 m", source: srcYard, num: 3 * foot},
		row{symbol: "mi", name: "mile", definition: "5280 ft", source: srcYard, num: 5280 * foot},
		row{symbol: "nmi", name: "nautical mile", definition: "1852 m", source: srcSP811, num: 1852},
	)
	add("volume", DimVolume(),
		row{symbol: "L", name: "litre", definition: "0.001 m³", source: srcSI, aliases: []string{"l"}, prefixes: "u m c d h", e10: -3},
		row{symbol: "gal_US", name: "US gallon", definition: "231 inch³", source: srcSP811, num: gallonUS},
		row{symbol: "gal_UK", name: "imperial gallon", definition: "4.54609 L", source: srcSP811, num: 4.54609, e10: -3},
		row{symbol: "bbl", name: "barrel of petroleum", definition: "42 gal_US", source: srcSP811, several: true, num: 42 * gallonUS},
	)
	add("time", DimTime(),
		row{symbol: "s", name: "second", definition: "SI base unit", source: srcSI, aliases: []string{"sec"}, prefixes: "p n u m"},
		row{symbol: "min", name: "minute", definition: "60 s", source: srcSI, num: 60},
		row{symbol: "h", name: "hour", definition: "3600 s", source: srcSI, aliases: []string{"hr"}, num: 3600},
		row{symbol: "d", name: "day", definition: "86 400 s", source: srcSI, num: 86400},
	)
	add("angle", Dimension{},
		row{symbol: "rad", name: "radian", definition: "1 (an angle is dimensionless)", source: srcSI, prefixes: "u m"},
		row{symbol: "deg", name: "degree of arc", definition: "π/180 rad", source: srcSI, aliases: []string{"°"}, num: pi, den: 180},
		row{symbol: "rev", name: "revolution", definition: "2π rad", source: srcSP811, num: 2 * pi},
	)
	add("frequency and rotational speed", DimFrequency(),
		row{symbol: "Hz", name: "hertz", definition: "1/s (cycles, not radians)", source: srcSI, prefixes: prefixAll},
		row{symbol: "rpm", name: "revolution per minute", definition: "2π rad/min", source: srcSP811, num: 2 * pi, den: 60},
	)
	add("velocity", DimVelocity(),
		row{symbol: "knot", name: "knot", definition: "1 nmi/h", source: srcSP811, num: 1852, den: 3600},
		row{symbol: "mph", name: "mile per hour", definition: "1 mi/h", source: srcSP811, num: 5280 * foot, den: 3600},
	)
	add("acceleration", DimAcceleration(),
		row{symbol: "g_n", name: "standard acceleration of free fall", definition: "9.80665 m/s²", source: srcSP811, aliases: []string{"g0"}, num: gravity},
	)
	add("volume flow", DimVolumeFlow(),
		row{symbol: "cfm", name: "cubic foot per minute, as it flows", definition: "1 ft³/min", source: srcSP811, num: foot * foot * foot, den: 60},
		row{symbol: "gpm", name: "US gallon per minute", definition: "1 gal_US/min", source: srcSP811, several: true, num: gallonUS, den: 60},
	)
	add("force", DimForce(),
		row{symbol: "N", name: "newton", definition: "1 kg·m/s²", source: srcSI, prefixes: prefixAll},
		row{symbol: "lbf", name: "pound-force", definition: "1 lbm·g_n", source: srcSP811, num: poundF},
		row{symbol: "gf", name: "gram-force", definition: "1 g·g_n", source: srcSP811, prefixes: "k", num: gravity, e10: -3},
		row{symbol: "dyn", name: "dyne", definition: "1e-5 N", source: srcSP811, e10: -5},
	)
	add("viscosity", dim(1, -1, -1, 0, 0, 0),
		row{symbol: "poise", name: "poise", definition: "0.1 Pa·s", source: srcSP811, e10: -1},
		row{symbol: "cP", name: "centipoise", definition: "1 mPa·s", source: srcSP811, e10: -3},
	)
	add("viscosity", dim(0, 2, -1, 0, 0, 0),
		row{symbol: "stokes", name: "stokes", definition: "1 cm²/s", source: srcSP811, e10: -4},
		row{symbol: "cSt", name: "centistokes", definition: "1 mm²/s", source: srcSP811, e10: -6},
	)
}

func thermalRows(add addRows) {
	add("temperature", DimTemperature(),
		row{symbol: "K", name: "kelvin", definition: "SI base unit", source: srcSI, prefixes: "u m"},
		row{symbol: "°R", ascii: "degR", name: "degree Rankine", definition: "5/9 K, counted from absolute zero", source: srcSP811, num: 5, den: 9},
		row{symbol: "°C", ascii: "degC", name: "degree Celsius, a point on the scale", definition: "T/K − 273.15", source: srcSI, kind: Point, zero: 273.15},
		row{symbol: "°F", ascii: "degF", name: "degree Fahrenheit, a point on the scale", definition: "1.8·T/K − 459.67", source: srcSP811, kind: Point, num: 5, den: 9, zero: 459.67},
		row{symbol: "Δ°C", ascii: "delta_degC", name: "difference in degrees Celsius", definition: "1 K", source: srcSI, aliases: []string{"ΔdegC"}, kind: Difference},
		row{symbol: "Δ°F", ascii: "delta_degF", name: "difference in degrees Fahrenheit", definition: "5/9 K", source: srcSP811, aliases: []string{"ΔdegF"}, kind: Difference, num: 5, den: 9},
	)
	add("pressure", DimPressure(),
		row{symbol: "Pa", name: "pascal", definition: "1 N/m²", source: srcSI, prefixes: prefixAll},
		row{symbol: "bar", name: "bar, absolute", definition: "100 kPa", source: srcSI, aliases: []string{"bara"}, prefixes: prefixBar, e10: 5},
		row{symbol: "atm", name: "standard atmosphere", definition: "101 325 Pa", source: srcSP811, num: 101325},
		row{symbol: "psi", name: "pound-force per square inch, absolute", definition: "1 lbf/inch²", source: srcSP811, num: poundF / (inch * inch)},
		row{symbol: "psia", name: "pound-force per square inch, absolute", definition: "1 lbf/inch²", source: srcSP811, num: poundF / (inch * inch)},
		row{symbol: "psf", name: "pound-force per square foot", definition: "1 lbf/ft²", source: srcSP811, num: poundF / (foot * foot)},
		row{symbol: "ksi", name: "thousand psi", definition: "1000 psi", source: srcSP811, num: 1000 * poundF / (inch * inch)},
		row{symbol: "mmHg", name: "millimetre of mercury, conventional", definition: "133.322387415 Pa, conventional (13 595.1 kg/m³, g_n)", source: srcSP811, several: true, num: mercury},
		row{symbol: "inHg", name: "inch of mercury, conventional", definition: "3386.388640341 Pa, conventional (13 595.1 kg/m³, g_n)", source: srcSP811, several: true, num: 25.4 * mercury},
		row{symbol: "torr", name: "torr", definition: "atm/760", source: srcSP811, aliases: []string{"Torr"}, num: 101325, den: 760},
		row{symbol: "mmH2O", name: "millimetre of water, conventional", definition: "9.80665 Pa, conventional (1000 kg/m³, g_n)", source: srcSP811, several: true, aliases: []string{"mmWC"}, num: waterCol},
		row{symbol: "inH2O", name: "inch of water, conventional", definition: "249.08891 Pa, conventional (1000 kg/m³, g_n)", source: srcSP811, several: true, aliases: []string{"inWC"}, num: 25.4 * waterCol},
		row{symbol: "ftH2O", name: "foot of water, conventional", definition: "2989.06692 Pa, conventional (1000 kg/m³, g_n)", source: srcSP811, several: true, num: 304.8 * waterCol},
		row{symbol: "Pag", name: "pascal, gauge", definition: "Pa above the ambient pressure", source: srcTrade, kind: Gauge, prefixes: prefixGauge},
		row{symbol: "barg", name: "bar, gauge", definition: "bar above the ambient pressure", source: srcTrade, kind: Gauge, prefixes: "m", e10: 5},
		row{symbol: "psig", name: "pound-force per square inch, gauge", definition: "psi above the ambient pressure", source: srcTrade, kind: Gauge, num: poundF / (inch * inch)},
	)
	add("energy", DimEnergy(),
		row{symbol: "J", name: "joule", definition: "1 N·m", source: srcSI, prefixes: prefixAll},
		row{symbol: "Wh", name: "watt hour", definition: "3600 J", source: srcSI, prefixes: prefixLarge, num: 3600},
		row{symbol: "Btu", name: "British thermal unit (International Table)", definition: "1055.05585262 J, International Table", source: srcSP811, several: true, aliases: []string{"Btu_IT", "BTU"}, num: btuIT},
		row{symbol: "Btu_th", name: "British thermal unit (thermochemical)", definition: "1054.350264488… J, thermochemical", source: srcSP811, several: true, num: btuTh},
		row{symbol: "kBtu", name: "thousand Btu (International Table)", definition: "1000 Btu, International Table", source: srcSP811, several: true, num: 1000 * btuIT},
		row{symbol: "MMBtu", name: "million Btu (International Table)", definition: "1 000 000 Btu, International Table", source: srcSP811, several: true, aliases: []string{"mmBtu", "MMBTU"}, num: 1e6 * btuIT},
		row{symbol: "cal", name: "calorie (International Table)", definition: "4.1868 J, International Table (the one that goes with Btu)", source: srcSP811, several: true, aliases: []string{"cal_IT"}, prefixes: prefixLarge, num: calIT},
		row{symbol: "cal_th", name: "calorie (thermochemical)", definition: "4.184 J, thermochemical", source: srcSP811, several: true, prefixes: prefixLarge, num: calTh},
		row{symbol: "therm", name: "therm (US)", definition: "1.054804e8 J, US legal definition", source: srcSP811, several: true, aliases: []string{"therm_US"}, num: 1.054804e8},
		row{symbol: "therm_EC", name: "therm (EC)", definition: "1.05506e8 J, European definition", source: srcSP811, several: true, num: 1.05506e8},
		row{symbol: "erg", name: "erg", definition: "1e-7 J", source: srcSP811, e10: -7},
	)
	add("power", DimPower(),
		row{symbol: "W", name: "watt", definition: "1 J/s", source: srcSI, prefixes: prefixAll},
		row{symbol: "hp", name: "horsepower (mechanical)", definition: "745.699 871 582… W = 550 ft·lbf/s, mechanical", source: srcSP811, several: true, num: 550 * foot * poundF},
		row{symbol: "hp_electric", name: "horsepower (electric)", definition: "746 W, electric", source: srcSP811, several: true, num: 746},
		row{symbol: "PS", name: "horsepower (metric)", definition: "735.498 75 W = 75 kgf·m/s, metric", source: srcSP811, several: true, aliases: []string{"hp_metric"}, num: 75 * gravity},
		row{symbol: "ton_refrigeration", name: "ton of refrigeration", definition: "12 000 Btu/h, International Table", source: srcSP811, several: true, aliases: []string{"TR"}, num: 12000 * btuIT, den: 3600},
	)
	add("amount of substance", DimAmount(),
		row{symbol: "mol", name: "mole", definition: "SI base unit", source: srcSI, prefixes: prefixAmount},
		row{symbol: "lbmol", name: "pound-mole", definition: "453.59237 mol", source: srcSP811, num: 1000 * pound},
	)
	add("ratio", Dimension{},
		row{symbol: "%", name: "per cent", definition: "0.01", source: srcSI, e10: -2},
		row{symbol: "%pt", name: "percentage point", definition: "0.01, in absolute terms", source: srcTrade, e10: -2},
		row{symbol: "%rel", name: "per cent of the value it stands beside", definition: "0.01 of that value", source: srcTrade, e10: -2},
		row{symbol: "ppm", name: "part per million (the basis, mass or amount, is the author's)", definition: "1e-6", source: srcSI, e10: -6},
		row{symbol: "ppb", name: "part per billion, 10⁹ (the basis, mass or amount, is the author's)", definition: "1e-9", source: srcSI, e10: -9},
	)
	// The letters C, F, H, S and T stand for other things in thermodynamics: as units they are spelled out.
	add("electricity", DimCurrent(),
		row{symbol: "A", name: "ampere", definition: "SI base unit", source: srcSI, prefixes: prefixPower},
	)
	add("electricity", dim(0, 0, 1, 0, 0, 1), row{symbol: "coulomb", name: "coulomb", definition: "1 A·s", source: srcSI})
	add("electricity", dim(1, 2, -3, 0, 0, -1), row{symbol: "V", name: "volt", definition: "1 W/A", source: srcSI, prefixes: prefixPower})
	add("electricity", dim(1, 2, -3, 0, 0, -2), row{symbol: "Ω", ascii: "Ohm", name: "ohm", definition: "1 V/A", source: srcSI, aliases: []string{"ohm"}, prefixes: prefixPower})
	add("electricity", dim(-1, -2, 3, 0, 0, 2), row{symbol: "siemens", name: "siemens", definition: "1 A/V", source: srcSI})
	add("electricity", dim(-1, -2, 4, 0, 0, 2), row{symbol: "farad", name: "farad", definition: "1 coulomb/V", source: srcSI})
	add("electricity", dim(1, 2, -2, 0, 0, -1), row{symbol: "weber", name: "weber", definition: "1 V·s", source: srcSI})
	add("electricity", dim(1, 0, -2, 0, 0, -1), row{symbol: "tesla", name: "tesla", definition: "1 weber/m²", source: srcSI})
	add("electricity", dim(1, 2, -2, 0, 0, -2), row{symbol: "henry", name: "henry", definition: "1 weber/A", source: srcSI})
}
