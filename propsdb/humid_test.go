package propsdb

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

const celsius = 273.15

// Saturation pressure is that of the water formulation. Source: IAPWS
// R7-97(2012), Table 35 (as quoted in public implementations): 3.53658941 kPa at
// 300 K, 2.63889776 MPa at 500 K. Seen through the relative humidity of H2O alone.
func TestSaturationOfHumidAir(t *testing.T) {
	vapour := mustLookup0(t, "H2O")
	for T, psat := range map[float64]float64{300: 3536.58941, 500: 2.63889776e6, 600: 12.3443146e6} {
		phi, err := RelativeHumidity(vapour, T, psat)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "relative humidity", phi, 1, 2e-9)
		dew, err := DewPoint(vapour, psat)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "dew point", dew, T, 1e-6)
	}
}

// ISO conditions, 15 °C, 101.325 kPa, 60 %. Hand-derived from p_sat(15 °C) =
// 1705.745 Pa (region 4 of IAPWS-IF97 evaluated by a separate Python script):
// p_v = 1023.447 Pa, w = 18.01528/28.96512·1023.447/100301.553 = 0.00634634.
func TestISOConditions(t *testing.T) {
	w, err := HumidityRatio(0.6, 15+celsius, 101325)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "w", w, 0.00634634, 1e-8)
	f, err := HumidAir("iso_air", ZeroKelvin, w)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "w of the mixture", HumidityRatioOf(f), w, 1e-8*w) // M of air to 1e-9
	phi, err := RelativeHumidity(f, 15+celsius, 101325)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "there and back", phi, 0.6, 1e-9)
	var names string
	var sum float64
	for _, c := range f.Components() {
		names += c.Gas + " "
		sum += c.Mole
		if c.Gas == "H2O" {
			near(t, "mole fraction", c.Mole, 1023.447/101325, 1e-8)
		}
	}
	near(t, "mole fractions", sum, 1, 1e-14)
	if names != "N2 O2 Ar CO2 H2O " {
		t.Errorf("parts %q", names)
	}
	if f.DatumID() != mustLookup0(t, "air").DatumID() {
		t.Error("humid air does not add up with air on the 0 K datum")
	}
	// Humid air burns fuel: 1 + w kg of it hold the oxygen of 1 kg of dry air.
	fuel := mustFuel(t, "CH4")
	dry, humid := mustReact(t, fuel, mustLookup0(t, "air")), mustReact(t, fuel, f)
	near(t, "stoichiometric", humid.Stoichiometric(), dry.Stoichiometric()/(1+w), 1e-9*w)
}

// Source, from memory: printed psychrometric charts at 101.325 kPa. Moist air at
// 25 °C and 50 % has 9.9 g/kg and a dew point of 13.9 °C; at 30 °C and 100 %,
// 27.3 g/kg. The charts have the 0.4 % by which air raises p_sat, and three digits.
func TestPsychrometricChart(t *testing.T) {
	for _, c := range []struct{ phi, T, w, within float64 }{{0.5, 25, 9.9e-3, 0.1e-3}, {1, 30, 27.3e-3, 0.2e-3}} {
		w, err := HumidityRatio(c.phi, c.T+celsius, 101325)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "w", w, c.w, c.within)
	}
	w, err := HumidityRatio(0.5, 25+celsius, 101325)
	if err != nil {
		t.Fatal(err)
	}
	f, err := HumidAir("moist", ZeroKelvin, w)
	if err != nil {
		t.Fatal(err)
	}
	dew, err := DewPoint(f, 101325)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "dew point", dew-celsius, 13.9, 0.06)
}

// The dew point of products: stoichiometric methane in O2 + 3.76 N2 has 2 mol of
// H2O in 10.52 (hand-derived), 19.26 kPa at 101.325 kPa, which printed steam
// tables put at 59.2 °C (from memory).
func TestDewPointOfProducts(t *testing.T) {
	b := mustBurn(t, mustReact(t, mustFuel(t, "CH4"), bookAir(t)), ZeroKelvin, Amount{ExcessAir, 0})
	dew, err := DewPoint(b.Fluid, 101325)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "dew point", dew-celsius, 59.2, 0.1)
}

func TestHumidityErrors(t *testing.T) {
	for _, phi := range []float64{-0.01, 1.01, 60, nan, math.Inf(1)} {
		_, err := HumidityRatio(phi, 300, 1e5)
		as[*HumidityError](t, "phi", err)
	}
	for _, T := range []float64{273, 200, 700} {
		_, err := HumidityRatio(0.5, T, 1e5)
		as[*RangeError](t, "T", err)
		_, err = RelativeHumidity(mustLookup0(t, "H2O"), T, 1e5)
		as[*RangeError](t, "T", err)
	}
	for _, x := range []float64{nan, math.Inf(1), -1, 0} {
		_, err := HumidityRatio(0.5, x, 1e5)
		as[*ValueError](t, "T", err)
		_, err = HumidityRatio(0.5, 300, x)
		as[*ValueError](t, "p", err)
		_, err = DewPoint(mustLookup0(t, "H2O"), x)
		as[*ValueError](t, "p", err)
	}
	_, err := HumidityRatio(0.5, 300, 1e13)
	as[*RangeError](t, "p", err)
	_, err = HumidityRatio(1, 380, 1e5)
	as[*HumidityError](t, "boiling", err)
	for _, w := range []float64{-1e-9, nan, math.Inf(1), math.Inf(-1)} {
		_, err := HumidAir("g", ZeroKelvin, w)
		as[*HumidityError](t, "w", err)
	}
	_, err = HumidAir("g", Own, 0.01)
	as[*DatumError](t, "datum", err)
	_, err = DewPoint(mustLookup0(t, "N2"), 1e5)
	as[*HumidityError](t, "dry", err)
	_, err = DewPoint(mustLookup0(t, "H2O"), 600)
	as[*HumidityError](t, "frost", err)
	_, err = DewPoint(mustLookup0(t, "H2O"), 23e6)
	as[*HumidityError](t, "supercritical", err)
	cold, err := Perfect("cold", map[Property]float64{K: 1.4, Cp: 1005})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range []*Fluid{cold, mustLookup0(t, "water")} {
		_, err = DewPoint(f, 1e5)
		as[*HumidityError](t, f.Name(), err)
		_, err = RelativeHumidity(f, 300, 1e5)
		as[*HumidityError](t, f.Name(), err)
		if w := HumidityRatioOf(f); w == w {
			t.Errorf("w of %s %g", f.Name(), w)
		}
	}
	if w := HumidityRatioOf(mustLookup0(t, "N2")); w != 0 {
		t.Errorf("w of nitrogen %g", w)
	}
	dry, err := HumidAir("dry", ZeroKelvin, 0)
	if err != nil {
		t.Fatal(err)
	}
	if dry.HFast(300) != mustLookup0(t, "air").HFast(300) {
		t.Error("humid air without water is not air")
	}
}

// Relative humidity → ratio → fluid → relative humidity and dew point agree.
func TestHumidityRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		phi := rapid.Float64Range(0.01, 1).Draw(t, "phi")
		T := rapid.Float64Range(274, 360).Draw(t, "T")
		p := rapid.Float64Range(0.7e5, 40e5).Draw(t, "p")
		w, err := HumidityRatio(phi, T, p)
		if err != nil {
			t.Fatal(err)
		}
		f, err := HumidAir("moist", Formation, w)
		if err != nil {
			t.Fatal(err)
		}
		back, err := RelativeHumidity(f, T, p)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "phi", back, phi, 1e-8)
		dew, err := DewPoint(f, p)
		if err != nil {
			as[*HumidityError](t, "frost", err)
			return
		}
		near(t, "phi of the dew point", loadWater().psat(dew)/loadWater().psat(T), phi, 1e-8)
	})
}
