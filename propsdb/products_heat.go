package propsdb

import (
	"fmt"
	"math"
)

// The energy balance of an adiabatic combustor, per kg of oxidant, all h on the
// formation datum, no work, changes of kinetic energy left out:
//
//	h_ox(T_ox) + f·h_fuel(T_fuel) = (1 + f)·h(T) + f·(1 − η)·LHV
//
// η, the combustion efficiency, is the part of the lower heating value at 25 °C
// that is set free; the rest leaves with the gas unreleased, whose composition is
// taken to be that of complete combustion all the same (common practice, no
// source). With η = 1 it is the first law for complete combustion.

// Firing says in what condition fuel and oxidant meet.
type Firing struct {
	OxidantT   float64 // K
	FuelT      float64 // K
	Efficiency float64 // combustion efficiency, above 0, at most 1
}

// supply is what the left side of the balance has, less what stays unreleased:
// J per kg of oxidant and J per kg of fuel.
func (r *Reaction) supply(at Firing) (oxidant, fuel float64, err error) {
	if !(at.Efficiency > 0 && at.Efficiency <= 1) {
		return nan, nan, &FiringError{Reason: fmt.Sprintf("a combustion efficiency lies above 0 and is at most 1, not %g", at.Efficiency)}
	}
	if err := r.oxidant.checkT(at.OxidantT); err != nil {
		return nan, nan, err
	}
	// Gas by gas, as the products are counted: the fit of air, one gas, differs
	// from its four by some 1e-8, and no fuel must give the oxidant's T again.
	oxidant = r.air.enthalpy(at.OxidantT)
	if fuel, err = r.fuel.H(at.FuelT); err != nil {
		return nan, nan, err
	}
	return oxidant, fuel - (1-at.Efficiency)*r.fuel.HeatingValue(true), nil
}

// FlameTemperature is the T, K, at which the products leave an adiabatic
// combustor: the adiabatic flame temperature where the efficiency is 1. Above
// DissociationTemperature it is too high; see DissociationHeat. The errors are
// those of Ratio, Fluid.H and Fuel.H, *FiringError for the efficiency, and
// *RangeError where the products would be hotter than their data reach.
func (r *Reaction) FlameTemperature(a Amount, at Firing) (float64, error) {
	ratio, err := r.Ratio(a)
	if err != nil {
		return nan, err
	}
	oxidant, fuel, err := r.supply(at)
	if err != nil {
		return nan, err
	}
	return r.fluid("the products", Formation, ratio).TofH((oxidant + ratio*fuel) / (1 + ratio))
}

// RatioFor is the fuel–oxidant mass ratio f, kg/kg, for products at t K. Since
// the products of 1 kg oxidant are its own gases and what f kg of fuel make and
// use up, the balance is linear in f:
//
//	f = [h_ox(T) − h_ox(T_ox)]/[h_fuel(T_fuel) − (1 − η)·LHV − Σ ν H(T)]
//
// ν being the mol of product per kg of fuel, that of O2 negative. The errors are
// those of FlameTemperature, and *FiringError for a t that no lean mixture
// reaches: below that of the unfired oxidant, or above the flame temperature of
// the stoichiometric mixture.
func (r *Reaction) RatioFor(t float64, at Firing) (float64, error) {
	oxidant, fuel, err := r.supply(at)
	if err != nil {
		return nan, err
	}
	stoichiometric := r.fluid("the products", Formation, r.stoich)
	if err := stoichiometric.checkT(t); err != nil {
		return nan, err
	}
	rise := r.air.enthalpy(t) - oxidant
	release := fuel - r.change.enthalpy(t)
	if ratio := rise / release; ratio >= 0 && ratio <= r.stoich {
		return ratio, nil
	}
	flame, err := stoichiometric.TofH((oxidant + r.stoich*fuel) / (1 + r.stoich))
	if err != nil {
		_, flame = stoichiometric.Range() // it lies beyond
	}
	// At either end rounding may have carried f past it.
	switch {
	case math.Abs(t-at.OxidantT) <= firingRoundoff*t:
		return 0, nil
	case math.Abs(t-flame) <= firingRoundoff*t:
		return r.stoich, nil
	}
	e := &FiringError{T: t, Reason: "even the stoichiometric mixture stays below it"}
	if rise < 0 {
		e.Reason = "the oxidant is hotter before any fuel burns"
	}
	e.Lo, e.Hi = min(at.OxidantT, flame), max(at.OxidantT, flame)
	return nan, e
}

const firingRoundoff = 1e-12

// FiringError: a combustor cannot be run so. Where an outlet temperature cannot
// be reached, T is that temperature and lean mixtures reach Lo to Hi, K, one of
// them the oxidant's own, the other the flame's of the stoichiometric mixture.
type FiringError struct {
	T, Lo, Hi float64
	Reason    string
}

func (e *FiringError) Error() string {
	if e.T == 0 {
		return e.Reason
	}
	return fmt.Sprintf("an outlet temperature T = %.8g K cannot be reached: %s; lean mixtures reach %.8g K to %.8g K", e.T, e.Reason, e.Lo, e.Hi)
}
