package runner

import (
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"

	"workings/notebooks"
	"workings/runner/diag"
)

// misused are states for calls that a method of the library has to refuse: air cold (1) and hot (2) at
// low pressure, cold (3) and hot (4) at high; water cold (5), saturated (6), steam (7), wet steam (8);
// air on the formation datum (9).
const misused = `
'''calc
use gas_turbine
use steam
fluid air
fluid water
fluid air_f = air(datum = formation)
fluid methane = mixture(mole, CH4 = 1)
state 1 = air(p = 1 bar, T = 300 K)
state 2 = air(p = 1 bar, T = 800 K)
state 3 = air(p = 10 bar, T = 320 K)
state 4 = air(p = 10 bar, T = 900 K)
state 5 = water(p = 20 bar, T = 300 K)
state 6 = water(p = 1 bar, x = 0)
state 7 = water(p = 20 bar, T = 600 K)
state 8 = water(p = 0.1 bar, x = 0.9)
state 9 = air_f(p = 10 bar, T = 600 K)
'''
'''calc
CALL
'''
`

// Each method refuses what it cannot be given: at the call, in the text of its user, under the argument
// that is wrong where it is one, with the reason, and once.
func TestLibraryMisuse(t *testing.T) {
	called := map[string]bool{}
	for _, c := range []struct{ call, marked, want string }{
		{"state a, w_a = compressor(state 1, 10 bar, 0)", "0", "eta > 0"},
		{"state a, w_a = compressor(state 1, 10 bar, -0.8)", "-0.8", "eta > 0"},
		{"state a, w_a = compressor(state 1, 10 bar, 1.2)", "1.2", "takes less work than the isentropic one"},
		{"state a, w_a = compressor(state 3, 1 bar, 0.8)", "1 bar", "A compressor raises the pressure"},
		{"state a, w_a = turbine(state 4, 1 bar, -0.8)", "-0.8", "eta within 0 .. 1"},
		{"state a, w_a = turbine(state 4, 1 bar, 1.2)", "1.2", "gives more work than the isentropic one"},
		{"state a, w_a = turbine(state 1, 2 bar, 0.8)", "2 bar", "A turbine lowers the pressure"},
		{"state a, w_a = turbine(state 4, 0 bar, 0.8)", "", "pressure p = 0 kPa is not positive"},
		{"state a, w_a = compressor_polytropic(state 1, 10 bar, 0)", "0", "eta_p > 0"},
		{"state a, w_a = compressor_polytropic(state 3, 1 bar, 0.9)", "1 bar", "A compressor raises the pressure"},
		{"state a, w_a = turbine_polytropic(state 4, 1 bar, -0.1)", "-0.1", "eta_p within 0 .. 1"},
		{"state a, w_a = turbine_polytropic(state 1, 10 bar, 0.9)", "10 bar", "A turbine lowers the pressure"},
		{"eta_a, eta_b, w_a = compressor_efficiency(state 1, state 1)", "", "A compressor raises the pressure"},
		{"eta_a, eta_b, w_a = compressor_efficiency(state 2, state 3)", "", "A compressor takes work"},
		{"eta_a, eta_b, w_a = turbine_efficiency(state 4, state 4)", "", "A turbine lowers the pressure"},
		{"eta_a, eta_b, w_a = turbine_efficiency(state 3, state 2)", "", "A turbine gives work"},
		{"state a, q_a = heater(state 1, 500 K, -1 %)", "-1 %", "Friction can only lower the pressure"},
		{"state a, q_a = heater(state 1, 500 K, 1)", "", "pressure p = 0 kPa is not positive"},
		{"state a, q_a = heater(state 2, 500 K, 0)", "500 K", "A heater raises the temperature"},
		{"state a, q_a = cooler(state 2, 500 K, 2)", "2", "loss within 0 .. 1"},
		{"state a, q_a = cooler(state 1, 500 K, 0)", "500 K", "A cooler lowers the temperature"},
		{"state a, far = combustor(state 9, methane, 298.15 K, 1400 K, -0.1, 0.99)", "-0.1", "loss within 0 .. 1"},
		{"state a, far = combustor(state 9, methane, 298.15 K, 1400 K, 0.03, 0)", "0", "eta > 0"},
		{"state a, far = combustor(state 9, methane, 298.15 K, 1400 K, 0.03, 1.1)", "1.1", "More heat than the fuel holds"},
		{"state a, far = combustor(state 9, methane, 298.15 K, 500 K, 0.03, 0.99)", "500 K", "Burning raises the temperature"},
		{"state a = combustor_with(state 9, methane, 298.15 K, 0, 0.03, 0.99)", "0", "far > 0"},
		{"state a = combustor_with(state 9, methane, 298.15 K, 0.02, -0.03, 0.99)", "-0.03", "loss within 0 .. 1"},
		{"state a = combustor_with(state 9, methane, 298.15 K, 0.2, 0.03, 0.99)", "", "methane in air is rich"},
		{"state a, state b, q_a = regenerator(state 3, state 2, 1.1, 0, 0)", "1.1", "eps within 0 .. 1"},
		{"state a, state b, q_a = regenerator(state 4, state 1, 0.8, 0, 0)", "", "would cool it"},
		{"state a, state b, q_a = regenerator(state 3, state 2, 0.8, -0.01, 0)", "-0.01", "loss_cold within 0 .. 1"},
		{"state a, state b, q_a = regenerator(state 3, state 2, 0.8, 0, -0.01)", "-0.01", "loss_hot within 0 .. 1"},
		{"state a, state b, Q_a = exchanger(state 3, state 2, 1 kg/s, 1 kg/s, -0.1, 0, 0)", "-0.1", "eps within 0 .. 1"},
		{"state a, state b, Q_a = exchanger(state 3, state 2, 0 kg/s, 1 kg/s, 0.8, 0, 0)", "0 kg/s", "There is a flow on the cold side"},
		{"state a, state b, Q_a = exchanger(state 3, state 2, 1 kg/s, -1 kg/s, 0.8, 0, 0)", "-1 kg/s", "There is one on the hot side"},
		{"state a, state b, Q_a = exchanger(state 3, state 2, 1 kg/s, 1 kg/s, 0.8, -0.01, 0)", "-0.01", "loss_cold within 0 .. 1"},
		{"state a, state b, Q_a = exchanger(state 6, state 6, 1 kg/s, 1 kg/s, 0.8, 0, 0)", "", "Heat flows from hot to cold"},
		{"state a, state b, Q_a = exchanger_temperature(state 3, state 2, 1 kg/s, 1 kg/s, 1.1, 0, 0)", "1.1", "eps_T within 0 .. 1"},
		{"state a, state b, Q_a = exchanger_temperature(state 3, state 2, 9 kg/s, 1 kg/s, 0.8, 0, 0)", "1 kg/s", "The hot side cannot give more"},
		{"state a, state b, Q_a = exchanger_temperature(state 3, state 2, 1 kg/s, 0 kg/s, 0.8, 0, 0)", "0 kg/s", "There is one on the hot side"},
		{"state a, state b, Q_a = exchanger_temperature(state 4, state 1, 1 kg/s, 1 kg/s, 0.8, 0, 0)", "", "Heat flows from hot to cold"},
		{"state a, state b, Q_a = exchanger_UA(state 3, state 2, 1 kg/s, 1 kg/s, -2 kW/K, 0, 0)", "-2 kW/K", "UA within 0*UA .. UA_x"},
		{"state a, state b, Q_a = exchanger_UA(state 3, state 2, 1 kg/s, 1 kg/s, 1 GW/K, 0, 0)", "1 GW/K", "A larger one passes hardly more"},
		{"state a, state b, Q_a = exchanger_UA(state 3, state 2, 0 kg/s, 1 kg/s, 2 kW/K, 0, 0)", "0 kg/s", "There is a flow on the cold side"},
		{"state a, state b, Q_a = exchanger_UA(state 3, state 2, 1 kg/s, 1 kg/s, 2 kW/K, 0, 2)", "2", "loss_hot within 0 .. 1"},
		{"state a, state b, Q_a = exchanger_pinch(state 3, state 2, 1 kg/s, 1 kg/s, -5 K, 0, 0)", "-5 K", "dT within 0 K .. T_d - T_a"},
		{"state a, state b, Q_a = exchanger_pinch(state 3, state 2, 1 kg/s, 1 kg/s, 500 K, 0, 0)", "500 K", "further apart than the pinch"},
		{"state a, state b, Q_a = exchanger_pinch(state 3, state 2, 1 kg/s, 0 kg/s, 5 K, 0, 0)", "0 kg/s", "There is one on the hot side"},
		{"eps_a = effectiveness(-1, 0.5)", "-1", "NTU >= 0"},
		{"eps_a = effectiveness(1, 2)", "2", "C_r within 0 .. 1"},
		{"dT_a, UA_a, eps_a = exchanger_rating(state 1, state 1, state 2, state 2, 1 kg/s, 1 kg/s)", "", "The cold side takes it up"},
		{"dT_a, UA_a, eps_a = exchanger_rating(state 1, state 2, state 4, state 3, 1 kg/s, 0 kg/s)", "0 kg/s", "There is one on the hot side"},
		{"state a = valve(state 1, 2 bar)", "2 bar", "Throttling lowers the pressure"},
		{"state a = valve(state 1, -2 bar)", "", "pressure p = −200 kPa is not positive"},
		{"state a, m_a = mixer(state 1, state 2, -1 kg/s, 2 kg/s)", "-1 kg/s", "The first stream flows in"},
		{"state a, m_a = mixer(state 1, state 2, 1 kg/s, -1 kg/s)", "-1 kg/s", "So does the second"},
		{"state a, m_a = mixer(state 1, state 2, 0 kg/s, 0 kg/s)", "", "One of the two flows"},
		{"m_a, m_b = splitter(2 kg/s, 1.5)", "1.5", "a share of the flow"},
		{"m_a, m_b = splitter(-2 kg/s, 0.5)", "-2 kg/s", "There is a flow to share"},
		{"w_a = drive(300 kJ/kg, 0)", "0", "eta_m > 0"},
		{"P_a, P_b = shaft(3 MW, 1 MW, 1.2, 1)", "1.2", "Bearings take power"},
		{"P_a, P_b = shaft(3 MW, 1 MW, 1, 1.2)", "1.2", "So does a generator"},
		{"P_a, P_b = shaft(1 MW, 3 MW, 1, 1)", "1 MW", "The turbine carries the compressor"},

		{"state a, w_a = pump(state 6, 20 bar, 0)", "0", "eta > 0"},
		{"state a, w_a = pump(state 5, 1 bar, 0.8)", "1 bar", "A pump raises the pressure"},
		{"eta_a, w_a = pump_efficiency(state 5, state 5)", "", "A pump raises the pressure"},
		{"eta_a, w_a = pump_efficiency(state 6, state 5)", "", "A pump takes work"},
		{"state a, w_a = steam_turbine(state 7, 1 bar, 1.1)", "1.1", "gives more work"},
		{"state a, w_a = steam_turbine(state 7, 1 bar, -0.1)", "-0.1", "eta within 0 .. 1"},
		{"state a, w_a = steam_turbine(state 8, 1 bar, 0.8)", "1 bar", "A turbine lowers the pressure"},
		{"eta_a, w_a = steam_turbine_efficiency(state 7, state 7)", "", "A turbine lowers the pressure"},
		{"eta_a, w_a = steam_turbine_efficiency(state 5, state 8)", "", "A turbine gives work"},
		{"x_a = dryness(state 1)", "", "does not fix the state of an ideal gas"},
		{"state a, q_a = boiler(state 5, 600 K, 1.5)", "1.5", "loss within 0 .. 1"},
		{"state a, q_a = boiler(state 7, 500 K, 0)", "500 K", "Heat raises the temperature"},
		{"state a, state b, m_a = recovery_boiler(state 5, state 2, 0 kg/s, 700 K, 10 K, 5 K, 0)", "0 kg/s", "There is a flow of gas"},
		{"state a, state b, m_a = recovery_boiler(state 5, state 2, 9 kg/s, 900 K, 10 K, 5 K, 0)", "900 K", "Steam cannot become hotter than the gas"},
		{"state a, state b, m_a = recovery_boiler(state 5, state 2, 9 kg/s, 400 K, 10 K, 5 K, 0)", "400 K", "The steam is superheated"},
		{"state a, state b, m_a = recovery_boiler(state 5, state 2, 9 kg/s, 700 K, 0 K, 5 K, 0)", "0 K", "Heat flows from hot to cold"},
		{"state a, state b, m_a = recovery_boiler(state 5, state 2, 9 kg/s, 700 K, 10 K, 5 K, -0.1)", "-0.1", "loss_hot within 0 .. 1"},
		{"state a, q_a = condenser(state 8, -0.1)", "-0.1", "loss within 0 .. 1"},
		{"state a, q_a = condenser(state 5, 0)", "", "A condenser cools"},
		{"m_a = cooling_water(100 kW, state 5, state 5)", "", "Cooling water is warmed"},
		{"state a, y_a = open_feed_heater(state 8, state 5)", "", "The bleed flows in by itself"},
		{"state a, y_a = open_feed_heater(state 6, state 6)", "", "It warms the water"},
		{"state a, state b, y_a = closed_feed_heater(state 7, state 5, 290 K)", "290 K", "The water is warmed"},
		{"state a, state b, y_a = closed_feed_heater(state 7, state 5, 650 K)", "650 K", "hotter than the bleed"},
		{"state a, state b, y_a = closed_feed_heater(state 6, state 5, 320 K)", "", "The bleed condenses"},
	} {
		_, after, _ := strings.Cut(c.call, " = ")
		name, _, _ := strings.Cut(after, "(")
		called[name] = true
		t.Run(c.call, func(t *testing.T) {
			text := strings.ReplaceAll(strings.ReplaceAll(misused, "CALL", c.call), "'''", "```")
			r, err := Build(fstest.MapFS{"x.md": {Data: []byte(text)}}, "x.md", options())
			if err != nil {
				t.Fatal(err)
			}
			var found []*diag.Problem
			for _, p := range r.Problems() {
				if p.Severity == diag.Error {
					found = append(found, p)
				}
			}
			if len(found) != 1 {
				for _, p := range found {
					t.Errorf("%s: %s (%s)", p.Code, p.Message, p.Hint)
				}
				t.Fatalf("%d errors", len(found))
			}
			p := found[0]
			marked := c.marked
			if marked == "" {
				marked = c.call
			}
			if got := p.Span.In(p.File); p.File.Name != "x.md" || got != marked {
				t.Errorf("marked is %q of %s", got, p.File.Name)
			}
			if !strings.Contains(p.Message+" "+p.Hint, c.want) {
				t.Errorf("%s (%s)", p.Message, p.Hint)
			}
			if len(p.Related) == 0 || !strings.HasPrefix(p.Related[0].File.Name, LibraryPrefix) {
				t.Errorf("the line of the library is not shown: %v", p.Related)
			}
		})
	}
	names, err := fs.Glob(notebooks.Library(), "*.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range names {
		text, err := fs.ReadFile(notebooks.Library(), file)
		if err != nil {
			t.Fatal(err)
		}
		for _, part := range strings.Split(string(text), "```method\n")[1:] {
			if name, _, _ := strings.Cut(part, "("); !called[name] {
				t.Errorf("no misuse of %s is tried", name)
			}
		}
	}
}
