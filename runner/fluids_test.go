package runner

import (
	"testing"
)

// Steam by the language is steam by its formulation: figures of IAPWS R7-97(2012), Tables 5, 15
// and 35 (testdata/reference/if97_verification.csv), through every way of fixing a state.
func TestWater(t *testing.T) {
	r := build(t, fence("calc", "fluid water",
		"state 1 = water(p = 3 MPa, T = 300 K)", "state 2 = water(p = 30 MPa, T = 700 K)",
		"state 3 = water(p = p2, h = h_2)", "state 4 = water(p = p1, s = s1)", "state 5 = water(h = h2, s = s2)",
		"state 6 = water(T = 300 K, x = 0.25)", "state 7 = water(p = p6, h = h6)", "x_m = x_7", "w = h2 - h1"))
	near(t, "h1", value(t, r, "h1"), 115.331273e3, 2e-9)
	near(t, "s1", value(t, r, "s1"), 0.392294792e3, 5e-9)
	near(t, "h2", value(t, r, "h2"), 2631.49474e3, 2e-9)
	near(t, "p6", value(t, r, "p6"), 0.353658941e-2*1e6, 2e-9)
	near(t, "T3", value(t, r, "T3"), 700, 1e-9)
	near(t, "T4", value(t, r, "T4"), 300, 1e-9)
	near(t, "p5", value(t, r, "p5"), 30e6, 1e-8)
	near(t, "x_m", value(t, r, "x_m"), 0.25, 1e-9)
	if r.ExitCode() != ExitWell {
		t.Errorf("problems:\n%s", printed(t, r))
	}
}

// The first law over an adiabatic combustor, written out in the language, gives the flame
// temperature that the built-in gives, and a solve finds the fuel for it again.
func TestCombustor(t *testing.T) {
	r := build(t, fence("calc",
		"fluid a = air(datum = formation)", "fluid f = CH4(datum = formation)",
		"fluid g = products(fuel = CH4, oxidant = a, excess = 250 %, datum = formation)",
		"state 1 = a(p = 10 bar, T = 600 K)", "state 2 = f(p = 10 bar, T = 298.15 K)",
		"state 3 = g(p = 10 bar, h = (h1 + f_g*h2)/(1 + f_g))",
		"T_b = flame_temperature(g, 600 K, 298.15 K)",
		"solve r between 0.001 and 0.05",
		"  fluid k = products(fuel = CH4, oxidant = a, far = r, datum = formation)",
		"  state 4 = k(p = 10 bar, T = T_b)",
		"until (1 + r)*h_4 == h1 + r*h2",
		"LHV = heating_value(CH4, lower)", "HHV = heating_value(CH4, higher)"))
	near(t, "T3", value(t, r, "T3"), value(t, r, "T_b"), 1e-9)
	near(t, "r", value(t, r, "r"), value(t, r, "f_g"), 1e-9)
	// CH4 + 2 (1 + 2.5) O2: hand-derived, with air of 0.209476 mol O2 and 28.9651159 g/mol.
	near(t, "f_g", value(t, r, "f_g"), 16.04246*0.209476/(2*3.5*28.9651159), 1e-6)
	// Published as 50 019.33 and 55 506.86 kJ/kg from rounded heats of formation (worked_examples.json, MS-13.7).
	near(t, "LHV", value(t, r, "LHV"), 50019.33e3, 5e-4)
	near(t, "HHV", value(t, r, "HHV"), 55506.86e3, 5e-4)
	if r.ExitCode() != ExitWell {
		t.Errorf("problems:\n%s", printed(t, r))
	}
}

// ISO 3977-2 conditions: 15 °C, 101.325 kPa, 60 %. The saturation pressure at 15 °C is 1.7057 kPa
// (IAPWS R7-97, region 4), so that w = 0.62196·0.6·1.7057/(101.325 − 0.6·1.7057); hand-derived.
func TestHumidAir(t *testing.T) {
	r := build(t, fence("calc", "fluid m = humid_air(relative = 60 %, T = 15 °C, p = 101.325 kPa)",
		"w = humidity_ratio(m)", "phi = relative_humidity(m, 15 °C, 101.325 kPa)", "fluid n = humid_air(ratio = w)", "T_d = dew_point(n, 101.325 kPa)",
		"fluid water", "state 1 = water(T = T_d, x = 1)", "p_v = p1/(60 %)", "state 2 = water(T = 15 °C, x = 1)"))
	near(t, "w", value(t, r, "w"), 0.62196*0.6*1.7057/(101.325-0.6*1.7057), 1e-4)
	near(t, "phi", value(t, r, "phi"), 0.6, 1e-9)
	near(t, "vapour pressure", value(t, r, "p_v"), value(t, r, "p2"), 1e-6)
}
