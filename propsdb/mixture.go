package propsdb

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// FractionTolerance is how far the fractions of a mixture may sum from 1, the
// rounding of figures as people write them (three times 0.333333). Within it
// they are divided by their sum; beyond it they are refused.
const FractionTolerance = 1e-6

// Part is a gas of the database and its fraction by the mixture's basis.
type Part struct {
	Gas      string
	Fraction float64
}

// component is a part resolved, by mole.
type component struct {
	gas  *gas
	mole float64
}

// Mixture is an ideal mixture of gases of the database on the 0 K datum:
// h and cp are the sums over the parts, s holds the entropy of mixing
// −R Σ x ln x, and the range of T is what all parts have in common. A part of
// zero is left out. Where air is one of several parts it enters as its four
// gases, so that mixing air with nitrogen counts the entropy of mixing rightly.
//
// The errors are *MixtureError, *FractionSumError, *UnknownFluidError and
// *DatumError.
func Mixture(name string, basis Basis, parts []Part) (*Fluid, error) {
	return MixtureOn(ZeroKelvin, name, basis, parts)
}

// MixtureOn is Mixture with the datum named: ZeroKelvin or Formation.
func MixtureOn(datum Datum, name string, basis Basis, parts []Part) (*Fluid, error) {
	db := load()
	if len(parts) == 0 {
		return nil, &MixtureError{Name: name, Reason: "it has no parts"}
	}
	resolved := make([]component, 0, len(parts))
	var sum float64
	for _, p := range parts {
		i, err := db.find(p.Gas)
		if err != nil {
			return nil, err
		}
		g := &db.gases[i]
		if !(p.Fraction >= 0 && p.Fraction <= 1+FractionTolerance) {
			return nil, &MixtureError{name, p.Gas, fmt.Sprintf("a fraction lies between 0 and 1, not %g", p.Fraction)}
		}
		if slices.ContainsFunc(resolved, func(c component) bool { return c.gas == g }) {
			return nil, &MixtureError{name, p.Gas, "the gas is named twice"}
		}
		if err := g.allows(datum); err != nil {
			return nil, err
		}
		sum += p.Fraction
		resolved = append(resolved, component{g, p.Fraction})
	}
	if !(math.Abs(sum-1) <= FractionTolerance) {
		return nil, &FractionSumError{Name: name, Basis: basis, Sum: sum}
	}
	resolved = slices.DeleteFunc(resolved, func(c component) bool { return c.mole == 0 })
	toMoles(resolved, basis)
	if len(resolved) > 1 {
		resolved = db.expandAir(resolved)
	}
	lo, hi := commonRange(resolved)
	if !(lo < hi) {
		return nil, &MixtureError{Name: name, Reason: fmt.Sprintf("its parts have no range of temperature in common (%g K to %g K)", lo, hi)}
	}
	return db.newMixed(name, GasMixture, datum, resolved), nil
}

// toMoles turns fractions by the basis into mole fractions that sum to 1.
func toMoles(parts []component, basis Basis) {
	var sum float64
	for i := range parts {
		if basis == Mass {
			parts[i].mole /= parts[i].gas.m
		}
		sum += parts[i].mole
	}
	for i := range parts {
		parts[i].mole /= sum
	}
}

// expandAir puts the four gases of air in the place of air.
func (db *database) expandAir(parts []component) []component {
	var out []component
	add := func(g *gas, mole float64) {
		if i := slices.IndexFunc(out, func(c component) bool { return c.gas == g }); i >= 0 {
			out[i].mole += mole
			return
		}
		out = append(out, component{g, mole})
	}
	air := &db.gases[db.byKey["air"]]
	for _, p := range parts {
		if p.gas != air {
			add(p.gas, p.mole)
			continue
		}
		for _, a := range db.air {
			add(&db.gases[db.byKey[a.Gas]], p.mole*a.Fraction)
		}
	}
	return out
}

func commonRange(parts []component) (lo, hi float64) {
	hi = math.Inf(1)
	for _, p := range parts {
		ivs := p.gas.intervals
		lo, hi = max(lo, ivs[0].lo), min(hi, ivs[len(ivs)-1].hi)
	}
	return lo, hi
}

// newMixed builds the fluid of parts whose mole fractions sum to 1; of one part
// it is that gas. The parts' joints together divide the common range, and in
// each division the sum of the parts' polynomials is one polynomial again.
func (db *database) newMixed(name string, kind Kind, datum Datum, parts []component) *Fluid {
	f := &Fluid{name: name, kind: kind, datum: datum}
	var mixing, toZero float64
	for _, p := range parts {
		f.m += p.mole * p.gas.m
		mixing -= p.mole * math.Log(p.mole)
		toZero += p.mole * p.gas.toZero
	}
	f.r = db.R / f.m
	lo, hi := commonRange(parts)
	bounds := []float64{lo, hi}
	for _, p := range parts {
		for _, iv := range p.gas.intervals[1:] {
			if iv.lo > lo && iv.lo < hi {
				bounds = append(bounds, iv.lo)
			}
		}
		f.components = append(f.components, Component{
			Gas: p.gas.record.Name, Mole: p.mole, Mass: p.mole * p.gas.m / f.m, M: p.gas.m,
		})
	}
	slices.Sort(bounds)
	bounds = slices.Compact(bounds)
	var ivs []interval
	for i, from := range bounds[:len(bounds)-1] {
		sum := interval{lo: from, hi: bounds[i+1], b2: mixing}
		if datum == ZeroKelvin {
			sum.b1 = toZero / db.R
		}
		for _, p := range parts {
			sum.addScaled(p.mole, p.gas.over(from))
		}
		ivs = append(ivs, sum)
	}
	f.source = db.sourceOf(parts, lo, hi)
	return newFluid(f, ivs)
}

// over is the interval of the gas that begins at or below t and reaches past it.
func (g *gas) over(t float64) *interval {
	i := 0
	for i+1 < len(g.intervals) && t >= g.intervals[i+1].lo {
		i++
	}
	return &g.intervals[i]
}

func (db *database) sourceOf(parts []component, lo, hi float64) Source {
	notes := make([]string, len(parts))
	for i, p := range parts {
		rec := p.gas.record
		notes[i] = rec.Source
		if len(parts) > 1 {
			notes[i] = rec.Name + ": " + rec.Source
		}
		if rec.Tmin2021 != 0 {
			notes[i] += fmt.Sprintf(" NASA's 2021 revision starts at %g K.", rec.Tmin2021)
		}
	}
	src := db.source()
	src.Range = fmt.Sprintf("%g K to %g K", lo, hi)
	src.Note = strings.Join(notes, "; ")
	return src
}
