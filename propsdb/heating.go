package propsdb

import "fmt"

// HeatingValue is the heat, J/kg of fuel, given off when a gas of the database
// burns completely with oxygen at 25 °C (298.15 K) and 1 bar and the products
// return to 25 °C: carbon to CO2, hydrogen to H2O, sulphur to SO2, nitrogen to
// N2. Lower: the water stays vapour. Higher: it condenses. The fuel is a gas,
// too: for one that is liquid at 25 °C the heating value of the liquid is less
// by its heat of vaporisation. It is computed from the heats of formation of
// the database (NASA/TP-2002-211556):
//
//	(Hf(fuel) − n_C Hf(CO2) − n_H/2 Hf(H2O) − n_S Hf(SO2))/M
//
// The errors are *UnknownFluidError, and *FuelError for a gas that holds other
// elements or takes up no oxygen.
func HeatingValue(gasName string, lower bool) (float64, error) {
	db := load()
	i, err := db.find(gasName)
	if err != nil {
		return nan, err
	}
	g := &db.gases[i]
	hf := func(name string) float64 { return db.Gases[db.byKey[key(name)]].Hf }
	water := db.LiquidWater.Hf
	if lower {
		water = hf("H2O")
	}
	n := map[string]float64{}
	for _, e := range g.info().Elements {
		switch e.Symbol {
		case "C", "H", "O", "N", "S":
			n[e.Symbol] = e.Atoms
		default:
			return nan, &FuelError{g.record.Name, fmt.Sprintf("it holds %s; heating values are known for fuels of C, H, O, N and S", e.Symbol)}
		}
	}
	if oxygen := n["C"] + n["H"]/4 + n["S"] - n["O"]/2; !(oxygen > 0) {
		return nan, &FuelError{g.record.Name, "it takes up no oxygen, so it is no fuel"}
	}
	products := n["C"]*hf("CO2") + n["H"]/2*water + n["S"]*hf("SO2")
	return (g.record.Hf - products) / g.m, nil
}
