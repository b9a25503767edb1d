package propsdb

import "math"

// DissociationTemperature, K, is where the neglect of dissociation begins to show
// in the products of combustion in air near 1 bar: above it complete combustion
// gives a gas that is too hot (common practice, no source, says 1800 K to 2000 K).
// DissociationHeat puts a number to it: of the heat that stoichiometric products
// of methane hold above 25 °C at 1 bar, dissociation would take up 0.7 % at
// 1800 K, 2 % at 2000 K and 8 % at 2330 K.
const DissociationTemperature = 1800.0

// DissociationHeat is an estimate of the heat, J per kg, that a gas of CO2, H2O,
// O2 and N2 would take up at t K and p Pa by going to equilibrium, which complete
// combustion leaves out:
//
//	CO2 ⇌ CO + ½ O2    H2O ⇌ H2 + ½ O2    ½ H2O + ¼ O2 ⇌ OH    ½ N2 + ½ O2 ⇌ NO
//
// with the equilibrium constants that follow from so and h of the database (ln K =
// Δs°/R − Δh/(R·T)). The oxygen pressure obeys the first two together; OH and NO
// are taken as following from it, atoms and the growth of the number of moles are
// left out. It is meant to say whether the neglect matters, not to correct it: a
// flame temperature without dissociation is too high by less than this heat over
// cp, taken at that temperature. At the real flame's temperature the estimate
// gives nine tenths of the missing heat for stoichiometric methane, eight for
// hydrogen. NO hardly reaches its equilibrium in the time a combustor has, so that
// in lean gas the estimate lies on the high side (common practice, no source).
//
// A fluid whose composition is not known, or has none of these gases, gives 0.
// The errors are those of State for (T,p).
func DissociationHeat(f *Fluid, t, p float64) (float64, error) {
	if _, err := f.State(T, t, P, p); err != nil {
		return nan, err
	}
	n := moleFractions(f)
	co2, h2o, o2, n2 := n[inCO2], n[inH2O], n[inO2], n[inN2]
	pressure := p / StandardPressure
	var co, h2, oh balance
	if co2 > 0 {
		co = equilibrium(t, stoich{"CO2", -1}, stoich{"CO", 1}, stoich{"O2", 0.5})
	}
	if h2o > 0 { // without it the fluid's range may go beyond that of H2O
		h2 = equilibrium(t, stoich{"H2O", -1}, stoich{"H2", 1}, stoich{"O2", 0.5})
		oh = equilibrium(t, stoich{"H2O", -0.5}, stoich{"O2", -0.25}, stoich{"OH", 1})
	}
	no := equilibrium(t, stoich{"N2", -0.5}, stoich{"O2", -0.5}, stoich{"NO", 1})

	// x is the mole fraction of O2: what is there and what CO2 and H2O give off.
	// The latter falls as x rises, so that the root is bracketed.
	split := func(k, x float64) float64 { return k / (k + math.Sqrt(x*pressure)) }
	lo, hi := o2, o2+(co2+h2o)/2
	for range 100 {
		x := (lo + hi) / 2
		if o2+(co2*split(co.k, x)+h2o*split(h2.k, x))/2 > x {
			lo = x
		} else {
			hi = x
		}
	}
	x := (lo + hi) / 2
	if x == 0 {
		return 0, nil
	}
	heat := co2*split(co.k, x)*co.heat + h2o*split(h2.k, x)*h2.heat +
		oh.k*math.Sqrt(h2o)*math.Pow(x/pressure, 0.25)*oh.heat + no.k*math.Sqrt(n2*x)*no.heat
	return heat / f.m, nil
}

// moleFractions are those of the species of complete products; air as its gases.
func moleFractions(f *Fluid) (n moles) {
	db := load()
	for _, c := range f.components {
		if c.Gas == db.gases[db.byKey["air"]].record.Name {
			for _, a := range db.air {
				n.add(a.Gas, c.Mole*a.Fraction)
			}
			continue
		}
		n.add(c.Gas, c.Mole)
	}
	return n
}

// stoich is a gas in a reaction, negative where it is used up.
type stoich struct {
	gas string
	mol float64
}

// balance is the equilibrium constant of a reaction, pressures in bar, and its
// heat, J/mol.
type balance struct{ k, heat float64 }

// equilibrium holds for t in the range of the gases.
func equilibrium(t float64, reaction ...stoich) balance {
	db := load()
	var h, s float64
	for _, r := range reaction {
		g := db.byKey[r.gas]
		f := db.fluids[g][Formation]()
		h += r.mol * f.HFast(t) * f.m
		s += r.mol * f.SoFast(t) * f.m
	}
	return balance{math.Exp(s/db.R - h/(db.R*t)), h}
}
