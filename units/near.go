package units

import (
	"slices"
	"strings"
	"sync"
)

// hint is what to say about a spelling that is refused on purpose.
type hint struct {
	reason   string
	readings []string
}

// hintFor explains the spellings that the trade uses in more than one sense, or that mean something else here.
func hintFor(name string) (hint, bool) {
	switch name {
	case "in":
		return hint{"in is a keyword of the language; the length is", []string{"inch"}}, true
	case "C":
		return hint{"C could be a temperature or a charge", []string{"°C", "coulomb"}}, true
	case "F":
		return hint{"F could be a temperature or a capacitance", []string{"°F", "farad"}}, true
	case "R":
		return hint{"R is a gas constant; the temperature has its degree sign", []string{"°R"}}, true
	case "S":
		return hint{"S is an entropy; the conductance is spelled out", []string{"siemens"}}, true
	case "T":
		return hint{"T is a temperature; the flux density is spelled out", []string{"tesla"}}, true
	case "H":
		return hint{"H is an enthalpy; the inductance is spelled out", []string{"henry"}}, true
	case "Wb":
		return hint{"the magnetic flux is spelled out", []string{"weber"}}, true
	case "P":
		return hint{"P is a pressure or a power; the viscosity is spelled out", []string{"poise"}}, true
	case "St":
		return hint{"the viscosity is spelled out", []string{"stokes"}}, true
	case "lb", "lbs":
		return hint{name + " could be a mass or a force", []string{"lbm", "lbf"}}, true
	case "ton", "tons":
		return hint{name + " has several definitions", []string{"t", "ton_short", "ton_long", "ton_refrigeration"}}, true
	case "gal":
		return hint{"gal has two definitions", []string{"gal_US", "gal_UK"}}, true
	case "MBtu", "MBTU":
		return hint{name + " is read as a thousand or as a million Btu", []string{"kBtu", "MMBtu"}}, true
	case "ΔK":
		return hint{"a difference in kelvin is in K", []string{"K"}}, true
	case "Δ°R", "ΔdegR":
		return hint{"a difference in degrees Rankine is in °R", []string{"°R"}}, true
	case "Celsius", "celsius", "degrees_C":
		return hint{"the temperature is written with its degree sign", []string{"°C"}}, true
	case "Fahrenheit", "fahrenheit", "degrees_F":
		return hint{"the temperature is written with its degree sign", []string{"°F"}}, true
	case "Rankine", "rankine":
		return hint{"the temperature is written with its degree sign", []string{"°R"}}, true
	case "Kelvin", "kelvin":
		return hint{"the temperature is written by its symbol", []string{"K"}}, true
	case "percent", "pct":
		return hint{"per cent are written by their sign", []string{"%"}}, true
	case "psid":
		return hint{"a difference of pressure is in psi", []string{"psi"}}, true
	case "at":
		return hint{"the technical atmosphere is spelled out", []string{"kgf/cm²"}}, true
	case "kph", "kmh", "kmph":
		return hint{"the speed is a quotient", []string{"km/h"}}, true
	case "yr", "year", "years":
		return hint{"years differ in length: give the time in d or h", nil}, true
	case "scfm", "SCFM":
		return hint{"a standard cubic foot is an amount of gas, and standards differ: give the flow in lbmol/min, or in cfm at its own state", nil}, true
	case "Nm3", "Nm³":
		return hint{"a normal cubic metre is an amount of gas, and standards differ: give it in kmol, or in m³ at its own state", nil}, true
	case "oF", "oC", "oR", "ºC", "ºF", "ºR", "˚C", "˚F", "˚R":
		letter := name[len(name)-1:]
		return hint{"the degree sign is °", []string{"°" + letter}}, true
	}
	return hint{}, false
}

// folded maps lower-case spellings to the symbols they could be.
var folded = sync.OnceValue(func() map[string][]string {
	m := make(map[string][]string)
	for spelling := range symbols() {
		key := strings.ToLower(spelling)
		m[key] = append(m[key], spelling)
	}
	for _, list := range m {
		slices.SortFunc(list, byUse)
	}
	return m
})

// usual are the units most often meant, in that order.
func usual() []string {
	return []string{
		"kJ", "kPa", "MPa", "MW", "kW", "K", "kg", "s", "m", "mm", "bar", "mbar", "psi", "psia", "psig", "barg", "kPag",
		"Btu", "lbm", "lbf", "hp", "degC", "degF", "degR", "°C", "°F", "°R", "kmol", "mol", "J", "W", "Pa", "N", "rpm",
	}
}

// byUse puts the usual before the rare, the plain before the prefixed, and then goes by spelling.
func byUse(a, b string) int {
	if c := rank(a) - rank(b); c != 0 {
		return c
	}
	return strings.Compare(a, b)
}

func rank(spelling string) int {
	if i := slices.Index(usual(), spelling); i >= 0 {
		return i
	}
	if symbols()[spelling].plain {
		return 1000
	}
	return 2000
}

// maxNear is how many suggestions are worth reading.
const maxNear = 4

// Near returns units spelled like s, best first, or nil where s is a unit or nothing is like it: kJ/kg for kj/kg,
// kPa for Kpa. Compound texts are mended symbol by symbol.
func Near(s string) []string {
	if _, err := Parse(s); err == nil {
		return nil
	}
	return mended(s)
}

// allKnown reports that every symbol of a text is one of a unit.
func allKnown(s string) bool {
	for i := 0; i < len(s); i++ {
		n := symbolLen(s[i:])
		if n == 0 {
			continue
		}
		if _, ok := symbols()[s[i:i+n]]; !ok {
			return false
		}
		i += n - 1
	}
	return true
}

// mended puts symbols spelled alike in place of all unknown ones of a text, and keeps what then is a unit.
func mended(s string) []string {
	if len(s) > 200 {
		return nil
	}
	texts := []string{""}
	changed := false
	for i := 0; i < len(s); {
		n := symbolLen(s[i:])
		if n == 0 {
			for j := range texts {
				texts[j] += s[i : i+1]
			}
			i++
			continue
		}
		name := s[i : i+n]
		i += n
		options := []string{name}
		if _, ok := symbols()[name]; !ok {
			options = nearSymbols(name)
			if h, ok := hintFor(name); ok {
				options = h.readings
			}
			if len(options) == 0 {
				return nil
			}
			changed = true
		}
		var longer []string
		for _, text := range texts {
			for _, o := range options {
				longer = append(longer, text+o)
			}
		}
		texts = longer[:min(len(longer), 4*maxNear)]
	}
	if !changed {
		return nil
	}
	var out []string
	for _, text := range texts {
		if _, err := parse(text); err == nil && len(out) < maxNear {
			out = append(out, text)
		}
	}
	return out
}

// nearSymbols returns symbols spelled like an unknown one, best first: two units run together (Nm), another
// case, an exponent run on (m3), or one letter off.
func nearSymbols(name string) []string {
	if len(name) > 24 {
		return nil
	}
	var out []string
	for i := 1; i < len(name); i++ {
		a, okA := symbols()[name[:i]]
		b, okB := symbols()[name[i:]]
		if okA && okB && usualPair(a, b) {
			out = append(out, name[:i]+"·"+name[i:])
		}
	}
	lower := strings.ToLower(name)
	if out = append(out, folded()[lower]...); len(out) > 0 {
		return oncePerUnit(out)
	}
	if raised := raisedSymbol(name); raised != "" {
		return []string{raised}
	}
	if before, ok := strings.CutSuffix(name, "K"); ok { // kgK, m2K: the temperature of a heat capacity or conductance
		if _, ok := symbols()[before]; ok {
			return []string{before + "·K"}
		}
		if raised := raisedSymbol(before); raised != "" {
			return []string{raised + "·K"}
		}
	}
	if len(name) < 3 {
		return nil
	}
	for spelling, sym := range symbols() {
		if sym.plain && len(spelling) > 2 && oneOff(lower, strings.ToLower(spelling)) {
			out = append(out, spelling)
		}
	}
	slices.SortFunc(out, byUse)
	return oncePerUnit(out)
}

// raisedSymbol is a symbol with its exponent run on, as it should be: m² for m2; "" where it is none.
func raisedSymbol(name string) string {
	if last := len(name) - 1; last > 0 && (name[last] == '2' || name[last] == '3') {
		if _, ok := symbols()[name[:last]]; ok {
			return name[:last] + superscript(int(name[last]-'0'))
		}
	}
	return ""
}

// oncePerUnit keeps the first spelling of each unit, and no more than are worth reading.
func oncePerUnit(spellings []string) []string {
	var out, seen []string
	for _, s := range spellings {
		canonical := s
		if sym, ok := symbols()[s]; ok {
			canonical = sym.text
		}
		if len(out) < maxNear && !slices.Contains(seen, canonical) {
			out, seen = append(out, s), append(seen, canonical)
		}
	}
	return out
}

// usualPair keeps Nm, ftlbf, Pas and kWs and drops the accidents.
func usualPair(a, b *symbol) bool {
	d := a.dim.Mul(b.dim)
	return a.kind == Scale && b.kind == Scale && (d == DimEnergy() || d == dim(1, -1, -1, 0, 0, 0))
}

// oneOff reports whether one letter inserted, dropped, replaced or exchanged with its neighbour makes a of b.
func oneOff(a, b string) bool {
	x, y := []rune(a), []rune(b)
	if len(x) > len(y) {
		x, y = y, x
	}
	i := 0
	for i < len(x) && x[i] == y[i] {
		i++
	}
	switch len(y) - len(x) {
	case 0:
		if i == len(x) {
			return false
		}
		return slices.Equal(x[i+1:], y[i+1:]) ||
			i+1 < len(x) && x[i] == y[i+1] && x[i+1] == y[i] && slices.Equal(x[i+2:], y[i+2:])
	case 1:
		return slices.Equal(x[i:], y[i+1:])
	}
	return false
}
