package runner

import (
	"math"
	"strings"
	"testing"

	"workings/runner/eval"
)

func diagram(t *testing.T, lines ...string) *eval.Diagram {
	t.Helper()
	r := build(t, fence("calc", lines[:len(lines)-1]...)+"\n"+fence("chart", lines[len(lines)-1]))
	if len(r.Trace.Sheet.Charts) != 1 {
		t.Fatalf("no chart:\n%s", printed(t, r))
	}
	return r.Trace.Diagram(r.Trace.Sheet.Charts[0])
}

// With constant specific heats an isobar is T = T1·exp((s − s1)/cp): the second of the T·ds
// equations of any textbook, with dp = 0.
func TestIsobarOfAPerfectGas(t *testing.T) {
	d := diagram(t, "fluid g = perfect(k = 1.4, cp = 1.005 kJ/(kg·K))", "state 1 = g(p = 1 MPa, T = 500 K)",
		"state 2 = g(p = 1 MPa, T = 1300 K)", "state 3 = g(p = 100 kPa, T = 700 K)", "T against s through 1, 2, 3, 1")
	legs := d.Paths[0].Legs
	if len(legs) != 3 || legs[1].Between != nil || legs[2].Between != nil {
		t.Fatalf("legs %+v", legs)
	}
	if !legs[0].Heat || legs[1].Heat || legs[2].Heat {
		t.Error("heat enters on the way from 1 to 2 and nowhere else")
	}
	first := legs[0].Between[0]
	for _, p := range legs[0].Between {
		near(t, "T on the isobar", p.Y, 500*math.Exp((p.X-first.X)/1005), 1e-9)
	}
	for _, iso := range d.Isobars {
		for _, p := range iso.Points {
			// s counts from 1 bar at a temperature of its own, so that only differences are compared.
			q := iso.Points[0]
			near(t, "T on an isobar behind", p.Y, q.Y*math.Exp((p.X-q.X)/1005), 1e-9)
		}
	}
	if len(d.Isobars) != 2 || d.Dome != nil {
		t.Errorf("%d isobars, want those of 100 kPa and 1 MPa; dome %v", len(d.Isobars), d.Dome)
	}
}

// The dome against the steam table of IAPWS R7-97(2012): at 300 K psat is 3.53658941 kPa (table 35);
// the critical point is 647.096 K, 22.064 MPa, 322 kg/m³ (section 2).
func TestDome(t *testing.T) {
	d := diagram(t, "fluid water", "state 1 = water(p = 10 kPa, x = 0)", "state 2 = water(p = 10 kPa, h = 2300 kJ/kg)", "state 3 = water(p = 10 kPa, T = 400 K)",
		"p against T through 1, 2, 3")
	near(t, "critical T", d.Critical.X, 647.096, 1e-12)
	near(t, "critical p", d.Critical.Y, 22.064e6, 1e-6)
	n := len(d.Dome)
	if n < 60 || d.Dome[n/2] != d.Critical {
		t.Fatalf("%d points, the middle one %+v", n, d.Dome[n/2])
	}
	for i, p := range d.Dome {
		// Both sides lie on the one curve p(T) of saturation.
		near(t, "liquid and vapour", p.Y, d.Dome[n-1-i].Y, 1e-12)
		if i > 0 && i <= n/2 && p.Y <= d.Dome[i-1].Y {
			t.Errorf("the pressure of saturation falls at %g K", p.X)
		}
	}
	// Between two neighbours about 300 K, 17 K apart, ln p is nearly a straight line in 1/T.
	for i := range n / 2 {
		if a, b := d.Dome[i], d.Dome[i+1]; a.X <= 300 && b.X > 300 {
			f := (1/300.0 - 1/a.X) / (1/b.X - 1/a.X)
			near(t, "psat(300 K)", math.Exp(math.Log(a.Y)+f*(math.Log(b.Y)-math.Log(a.Y))), 3536.58941, 3e-3)
		}
	}
	// The isobar from 2 to 3 bends where the last water has gone: at the temperature of saturation.
	corner := false
	for _, p := range d.Paths[0].Legs[1].Between {
		corner = corner || math.Abs(p.X-d.Paths[0].Legs[0].Start.X) < 1e-6
	}
	if !corner {
		t.Error("the isobar into the steam has no corner")
	}
}

// Where a pressure falls a little and the enthalpy rises, heat has entered; a turbine and a
// compressor take or give work.
func TestHeatWithPressureLoss(t *testing.T) {
	d := diagram(t, "fluid air", "state 1 = air(p = 100 kPa, T = 300 K)", "state 2 = air(p = 800 kPa, T = 600 K)", "state 3 = air(p = 780 kPa, T = 1300 K)",
		"state 4 = air(p = 102 kPa, T = 850 K)", "h against s through 1, 2, 3, 4, 1")
	for i, want := range []bool{false, true, false, false} {
		if got := d.Paths[0].Legs[i].Heat; got != want {
			t.Errorf("leg %d: heat %v, want %v", i+1, got, want)
		}
	}
}

// A state that has failed takes its legs with it and is named.
func TestDiagramWithoutAState(t *testing.T) {
	d := diagram(t, "fluid air", "state 1 = air(p = 100 kPa, T = 300 K)", "state 2 = air(p = 100 kPa, T = 1 K)", "state 3 = air(p = 100 kPa, T = 400 K)",
		"state 4 = air(p = 100 kPa, T = 500 K)", "T against s through 1, 2, 3, 4")
	if len(d.Missing) != 1 || d.Missing[0].ID != "2" || len(d.Paths[0].Legs) != 1 {
		t.Errorf("missing %v, legs %d", d.Missing, len(d.Paths[0].Legs))
	}
}

// The temperatures along an exchanger come from the audit, with the pinch where it is: on the
// constant temperature of boiling, at the beginning of it.
func TestProfileOnTheSheet(t *testing.T) {
	r := build(t, fence("calc", "fluid air", "fluid water", "state a = water(p = 3 MPa, T = 320 K)", "state b = water(p = 3 MPa, T = 600 K)",
		"state c = air(p = 103 kPa, T = 900 K)", "state d = air(p = 100 kPa, h = h_c - 0.12*(h_b - h_a))")+"\n"+
		fence("cycle hrsg", "flow 1 kg/s", "c -> d exchanger b hot", "flow 0.12 kg/s", "a -> b exchanger b cold")+"\n"+fence("chart", "T along b"))
	var page strings.Builder
	if err := r.HTML(&page); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`<figure class="picture" id="Figure-2"`, "<title id=\"Figure2-t\">Temperatures along the exchanger b", ">heat passed from the cold end<", "(pinch)"} {
		if !strings.Contains(page.String(), want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	// Saturation at 3 MPa: 233.86 °C in any steam table to two places, 507.01 K.
	if !strings.Contains(page.String(), ">507.01</td>") {
		t.Error("the pinch is not at the temperature of saturation")
	}
}
