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
	if len(s) > 200 {
		return nil
	}
	if _, err := Parse(s); err == nil {
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
		if _, err := Parse(text); err == nil && len(out) < maxNear {
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
	if last := len(name) - 1; last > 0 && (name[last] == '2' || name[last] == '3') {
		if _, ok := symbols()[name[:last]]; ok {
			return []string{name[:last] + superscript(int(name[last]-'0'))}
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
