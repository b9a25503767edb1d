package units

import (
	"slices"
	"sync"
)

// System is the family of units a sheet prints in where its author names none.
type System uint8

const (
	// SI is the default.
	SI System = iota
	// US is US customary units.
	US
)

func (s System) String() string {
	if s == US {
		return "us"
	}
	return "si"
}

// preferredTexts is the printed preference list. One unit a dimension; the first of a dimension would win.
func preferredTexts(sys System) []string {
	if sys == US {
		return []string{
			"Btu/lbm", "Btu/(lbm·°R)", "Btu", "hp", "psia", "°R", "lbm/s", "lbm", "ft³/lbm", "lbm/ft³", "ft/s", "ft", "ft²", "ft³",
			"ft³/s", "s", "lbf", "Btu/°R", "Btu/(s·°R)", "lbmol", "lbmol/s", "Btu/lbmol", "Btu/(lbmol·°R)", "lbm/lbmol",
			"lbm/(ft·s)", "ft²/s", "Btu/(h·ft·°R)", "Btu/(h·ft²·°R)", "Btu/(h·ft²)", "lbm/(ft²·s)", "ft/s²", "s⁻¹", "°R/s", "°R/ft",
			"°R⁻¹", "lbm/(hp·h)", "lbm/(lbf·h)", "A", "V", "Ω",
		}
	}
	return []string{
		"kJ/kg", "kJ/(kg·K)", "kJ", "kW", "kPa", "K", "kg/s", "kg", "m³/kg", "kg/m³", "m/s", "m", "m²", "m³",
		"m³/s", "s", "N", "kJ/K", "kW/K", "kmol", "kmol/s", "kJ/kmol", "kJ/(kmol·K)", "kg/kmol",
		"Pa·s", "m²/s", "W/(m·K)", "W/(m²·K)", "W/m²", "kg/(m²·s)", "m/s²", "s⁻¹", "K/s", "K/m",
		"K⁻¹", "g/kWh", "g/(kN·s)", "A", "V", "Ω",
	}
}

type preferences struct {
	list  []Unit
	byDim map[Dimension]Unit
}

var preferred = sync.OnceValue(func() [2]preferences {
	var out [2]preferences
	for sys := range out {
		p := preferences{byDim: make(map[Dimension]Unit)}
		for _, text := range preferredTexts(System(sys)) {
			u := mustParse(text)
			p.list = append(p.list, u)
			if _, taken := p.byDim[u.Dimension()]; !taken {
				p.byDim[u.Dimension()] = u
			}
		}
		p.byDim[Dimension{}] = Unit{}
		out[sys] = p
	}
	return out
})

// mustParse is for the package's own lists, which the tests read through.
func mustParse(text string) Unit {
	u, err := Parse(text)
	if err != nil {
		panic("units: a unit of the package's own lists does not parse: " + err.Error())
	}
	return u
}

func (s System) preferences() preferences {
	if s == US {
		return preferred()[US]
	}
	return preferred()[SI]
}

// Preferred returns the unit in which a quantity of dimension d is printed where nobody says otherwise; false
// where the list has none.
func Preferred(d Dimension, sys System) (Unit, bool) {
	u, ok := sys.preferences().byDim[d]
	return u, ok
}

// PreferenceList returns the units that Preferred chooses from, in the order in which they are printed.
func PreferenceList(sys System) []Unit { return slices.Clone(sys.preferences().list) }

// siNamed are the coherent SI units with a name or a customary form of their own.
var siNamed = sync.OnceValue(func() map[Dimension]Unit {
	m := map[Dimension]Unit{{}: {}}
	for _, text := range []string{
		"kg", "m", "s", "K", "mol", "A", "N", "Pa", "J", "W", "J/kg", "J/(kg·K)", "J/K", "W/K", "J/mol", "J/(mol·K)",
		"Pa·s", "W/(m·K)", "W/(m²·K)", "W/m²", "V", "Ω", "A·s", "N/m",
	} {
		u := mustParse(text)
		m[u.Dimension()] = u
	}
	return m
})

// SIUnit returns the coherent SI unit of a dimension: by its name where it has one (Pa, W, J/kg), else in base
// units (kg/(m²·s)). Of an absurd dimension (Dimension.Err) it returns the unit "1".
func SIUnit(d Dimension) Unit {
	if u, ok := siNamed()[d]; ok {
		return u
	}
	if d.absurd {
		return Unit{}
	}
	var fs []factor
	for i, base := range [baseCount]string{"kg", "m", "s", "K", "mol", "A"} {
		if d.exps[i].num != 0 {
			fs = append(fs, factor{symbols()[base], d.exps[i]})
		}
	}
	return Unit{&def{text: canonical(fs, false), ascii: canonical(fs, true), dim: d, num: 1, den: 1}}
}
