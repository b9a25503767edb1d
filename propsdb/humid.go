package propsdb

import (
	"fmt"
	"math"
)

// Humid air and, the other way about, the water in any mixture: Dalton's ideal
// mixture of dry air and H2O as an ideal gas, saturated where the partial
// pressure of the H2O is the saturation pressure of pure water by IAPWS-IF97
// (R7-97, region 4), the formulation of the fluid water. What air does to that
// pressure (at 1 bar it raises it by some 0.4 %, from memory) is left out.
//
// Below 0 °C saturation is over ice, whose pressure that formulation does not
// give; there a humidity ratio makes humid air, a relative humidity does not.

// HumidAir is dry air of the database with humidityRatio kg of water vapour per
// kg of dry air. The error is a *HumidityError or *DatumError.
func HumidAir(name string, datum Datum, humidityRatio float64) (*Fluid, error) {
	if !(humidityRatio >= 0 && humidityRatio <= math.MaxFloat64) {
		return nil, &HumidityError{"humidity ratio", humidityRatio, "must be a finite number, 0 or more"}
	}
	whole := 1 + humidityRatio
	return MixtureOn(datum, name, Mass, []Part{{"air", 1 / whole}, {"H2O", humidityRatio / whole}})
}

// HumidityRatio is the water vapour, kg per kg of dry air, of air with a relative
// humidity (0 to 1) at t K and p Pa:
//
//	w = M_H2O/M_air · p_v/(p − p_v),  p_v = φ·p_sat(t)
//
// The errors are *ValueError, *RangeError for t (273.15 K to the critical point)
// and p, and *HumidityError.
func HumidityRatio(relative, t, p float64) (float64, error) {
	if relative != relative {
		return nan, &HumidityError{"relative humidity", relative, "is not a number"}
	}
	if !(relative >= 0 && relative <= 1) {
		return nan, &HumidityError{"relative humidity", relative, "is not between 0 and 1; above 1 there would be fog"}
	}
	saturation, err := saturationPressure(t)
	if err != nil {
		return nan, err
	}
	if err := checkMoistP(p); err != nil {
		return nan, err
	}
	vapour := relative * saturation
	if !(vapour < p) {
		return nan, &HumidityError{"vapour pressure, Pa,", vapour, fmt.Sprintf("leaves no room for air at %.8g Pa: at this temperature the relative humidity stays below %.6g", p, p/saturation)}
	}
	db := load()
	gasOf := func(name string) *gas { return &db.gases[db.byKey[name]] }
	return gasOf("H2O").m / gasOf("air").m * vapour / (p - vapour), nil
}

// HumidityRatioOf is the H2O of a mixture per kg of all else in it, kg/kg; 0 if
// it holds none, +Inf if it is nothing else, NaN for a fluid whose composition is
// not known (a perfect gas, the fluid water).
func HumidityRatioOf(f *Fluid) float64 {
	if len(f.components) == 0 {
		return nan
	}
	for _, c := range f.components {
		if c.Gas == "H2O" {
			return c.Mass / (1 - c.Mass)
		}
	}
	return 0
}

// RelativeHumidity is the partial pressure of the H2O in a mixture (humid air,
// products of combustion) over its saturation pressure at t K. Above 1 the ideal
// mixture is not what nature would do: water condenses. The errors are
// *ValueError, *RangeError, and *HumidityError for a fluid whose composition is
// not known.
func RelativeHumidity(f *Fluid, t, p float64) (float64, error) {
	if len(f.components) == 0 {
		return nan, unknownComposition(f)
	}
	saturation, err := saturationPressure(t)
	if err != nil {
		return nan, err
	}
	if err := checkMoistP(p); err != nil {
		return nan, err
	}
	return moleFractions(f)[inH2O] * p / saturation, nil
}

// DewPoint is the temperature, K, at which the H2O of a mixture at p Pa begins to
// condense when it is cooled. The errors are *ValueError and *RangeError for p,
// and *HumidityError where the composition is not known, or it holds no H2O or so
// little that it would freeze out below 0 °C instead.
func DewPoint(f *Fluid, p float64) (float64, error) {
	if len(f.components) == 0 {
		return nan, unknownComposition(f)
	}
	if err := checkMoistP(p); err != nil {
		return nan, err
	}
	w := loadWater()
	vapour := moleFractions(f)[inH2O] * p
	switch {
	case vapour == 0:
		return nan, &HumidityError{"vapour pressure, Pa,", 0, fmt.Sprintf("has no dew point: %s holds no H2O", f.name)}
	case vapour < w.psat(waterTmin):
		return nan, &HumidityError{"vapour pressure, Pa,", vapour, fmt.Sprintf("is below the %.6g Pa of water at 0 °C: frost, not dew, and the water formulation does not know ice", w.psat(waterTmin))}
	case vapour > w.pc:
		return nan, &HumidityError{"vapour pressure, Pa,", vapour, fmt.Sprintf("is above the critical pressure of water, %.6g Pa: there is no dew", w.pc)}
	}
	return w.tsat(vapour), nil
}

func unknownComposition(f *Fluid) error {
	return &HumidityError{"humidity", nan, fmt.Sprintf("is that of a mixture of gases, and the composition of %s is not known", f.name)}
}

func saturationPressure(t float64) (float64, error) {
	if err := checkValue(T, t); err != nil {
		return nan, err
	}
	w := loadWater()
	if !(t >= waterTmin && t <= w.tc) {
		return nan, &RangeError{T, t, waterTmin, w.tc, "saturated water (below 0 °C it would be ice, which the formulation does not know: give the humidity ratio instead)"}
	}
	return w.psat(t), nil
}

func checkMoistP(p float64) error {
	if err := checkValue(P, p); err != nil {
		return err
	}
	if !(p >= PressureMin && p <= PressureMax) {
		return &RangeError{P, p, PressureMin, PressureMax, "a mixture"}
	}
	return nil
}

// HumidityError: a humidity that there is not, or that the formulation of water
// cannot tell.
type HumidityError struct {
	Quantity string
	Value    float64
	Reason   string
}

func (e *HumidityError) Error() string {
	if e.Value != e.Value {
		return fmt.Sprintf("%s %s", e.Quantity, e.Reason)
	}
	return fmt.Sprintf("%s %.6g %s", e.Quantity, e.Value, e.Reason)
}
