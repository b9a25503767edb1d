package propsdb

// HeatingValue is the heat, J/kg of fuel, given off when a gas of the database
// burns completely with oxygen at 25 °C (298.15 K) and 1 bar and the products
// return to 25 °C: carbon to CO2, hydrogen to H2O, sulphur to SO2, nitrogen to
// N2. Lower: the water stays vapour. Higher: it condenses. The fuel is a gas,
// too: for one that is liquid at 25 °C the heating value of the liquid is less
// by its heat of vaporisation. See Fuel.HeatingValue, which holds the equation
// and knows mixtures and fuels given by their elements as well.
//
// The errors are *UnknownFluidError, and *FuelError for a gas that holds other
// elements or takes up no oxygen.
func HeatingValue(gasName string, lower bool) (float64, error) {
	gas, err := LookupOn(gasName, Formation)
	if err != nil {
		return nan, err
	}
	fuel, err := GasFuel(gas)
	if err != nil {
		return nan, err
	}
	return fuel.HeatingValue(lower), nil
}
