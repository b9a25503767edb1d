package units

import (
	"math"
	"strings"
	"sync"
)

// symbol is one spelling that Parse knows: a unit of the table, with or without a prefix.
type symbol struct {
	text, ascii string // canonical spellings, whichever alias was written
	dim         Dimension
	kind        Kind
	num, den    float64
	e10         int // the factor is num/den·10^e10: powers of ten are kept apart so that they stay exact
	note        string
	unit        Unit
	plain       bool // without a prefix
}

// prefix is an SI prefix. The micro sign is written by any of three characters.
type prefix struct {
	ascii, text string
	e10         int
}

func prefixes() []prefix {
	return []prefix{
		{"f", "f", -15}, {"p", "p", -12}, {"n", "n", -9}, {"u", "µ", -6}, {"m", "m", -3}, {"c", "c", -2}, {"d", "d", -1},
		{"da", "da", 1}, {"h", "h", 2}, {"k", "k", 3}, {"M", "M", 6}, {"G", "G", 9}, {"T", "T", 12}, {"P", "P", 15},
	}
}

// symbols maps every spelling of every single unit. A spelling that stands in the table wins over one
// made with a prefix (min is the minute, cd would be the hundredth of a day).
var symbols = sync.OnceValue(buildSymbols)

func buildSymbols() map[string]*symbol {
	table := rows()
	m := make(map[string]*symbol, 800)
	for i := range table {
		r := &table[i]
		s := newSymbol(r, prefix{})
		m[r.symbol], m[r.ascii] = s, s
		for _, a := range r.aliases {
			m[a] = s
		}
	}
	for i := range table {
		r := &table[i]
		if r.prefixes == "" {
			continue
		}
		for _, p := range prefixes() {
			if !takesPrefix(r.prefixes, p.ascii) {
				continue
			}
			s := newSymbol(r, p)
			heads := []string{p.ascii}
			if p.ascii == "u" {
				heads = []string{"u", "µ", "μ"}
			}
			for _, head := range heads {
				for _, base := range append([]string{r.symbol, r.ascii}, r.aliases...) {
					if old, taken := m[head+base]; !taken || !old.plain && old.text == s.text {
						m[head+base] = s
					}
				}
			}
		}
	}
	// Single characters that Unicode has for these units, as a copied text may bring them.
	m["℃"], m["℉"], m["\u212A"], m["\u2126"] = m["°C"], m["°F"], m["K"], m["Ω"]
	return m
}

func takesPrefix(list, p string) bool {
	for _, q := range strings.Fields(list) {
		if q == p {
			return true
		}
	}
	return false
}

func newSymbol(r *row, p prefix) *symbol {
	s := &symbol{
		text: p.text + r.symbol, ascii: p.ascii + r.ascii,
		dim: r.dim, kind: r.kind, num: r.num, den: r.den, e10: r.e10 + p.e10, plain: p.text == "",
	}
	if r.several {
		s.note = r.symbol + " = " + r.definition + " (" + r.source + ")"
	}
	d := &def{text: s.text, ascii: s.ascii, dim: s.dim, kind: s.kind, zero: r.zero, note: s.note}
	d.num, d.den = shift(s.num, s.den, s.e10)
	s.unit = Unit{d}
	return s
}

// shift folds a power of ten into num/den, on the side where it is a whole number and therefore exact.
func shift(num, den float64, e10 int) (float64, float64) {
	if e10 >= 0 {
		return num * math.Pow10(e10), den
	}
	return num, den * math.Pow10(-e10)
}

// common holds compound units as they are often written, parsed once: a compiler meets little else.
var common = sync.OnceValue(buildCommon)

func buildCommon() map[string]Unit {
	m := make(map[string]Unit, 128)
	for _, text := range []string{
		"J/kg", "kJ/kg", "MJ/kg", "kWh/kg", "kJ/mol", "kJ/kmol", "J/mol", "kJ/(kg·K)", "J/(kg·K)", "kJ/(kmol·K)", "J/(mol·K)",
		"kg/s", "kg/h", "t/h", "g/s", "m/s", "km/h", "m²", "m³", "mm²", "cm²", "m³/s", "m³/h", "L/s", "L/min", "m³/kg", "kg/m³", "g/cm³",
		"kg/kmol", "kg/mol", "g/mol", "kg/kg", "kJ/K", "J/K", "kW/K", "W/K", "m/s²", "Pa·s", "m²/s", "W/(m·K)", "W/(m²·K)", "W/m²",
		"kJ/kWh", "g/kWh", "kg/kWh", "N·m", "kN·m", "Btu/lbm", "Btu/(lbm·°R)", "Btu/h", "Btu/s", "lbm/s", "lbm/h", "ft³/lbm", "lbm/ft³",
		"ft/s", "ft²", "ft³", "ft³/min", "ft·lbf", "lbf/ft²", "lbm/lbmol", "Btu/lbmol", "Btu/(lbmol·°R)", "ft·lbf/(lbm·°R)",
		"s⁻¹", "rev/min", "rad/s", "Btu/kWh", "lbm/(hp·h)", "mol/s", "kmol/s", "K/m", "K/s",
	} {
		u, err := parse(text)
		if err != nil {
			panic("units: a common unit does not parse: " + err.Error())
		}
		// As the author may type it: in ASCII, with brackets and spaces, with dots, with stars.
		for _, spelling := range []string{
			u.String(), u.ASCII(), strings.ReplaceAll(u.String(), "·", " "), strings.ReplaceAll(u.String(), "·", "*"),
		} {
			if _, done := m[spelling]; done {
				continue
			}
			if again, err := parse(spelling); err == nil && again.Equal(u) {
				m[spelling] = u
			}
		}
	}
	return m
}
