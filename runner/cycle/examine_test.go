package cycle

import (
	"math"
	"testing"

	"workings/propsdb"
)

func fluid(t *testing.T, name string) *propsdb.Fluid {
	t.Helper()
	f, err := propsdb.Lookup(name)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func at(t *testing.T, f *propsdb.Fluid, a propsdb.Property, va float64, b propsdb.Property, vb float64) propsdb.State {
	t.Helper()
	s, err := f.State(a, va, b, vb)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// stream names a state.
func stream(label string, s propsdb.State) []Stream { return []Stream{{label, s, 1}} }

// reference is the intercooled, reheated and regenerated cycle: 100/300/1000 kPa, 300 K, 1400 K,
// effectiveness and efficiencies 0.8. Its published thermal efficiency is 44.3 %, its back work
// ratio 45.4 % (Moran, Shapiro: Fundamentals of Engineering Thermodynamics, Ex. 9.11; the three
// digits from memory).
func reference(t *testing.T) *Plant {
	air := fluid(t, "air")
	pt := func(p, temp float64) propsdb.State { return at(t, air, propsdb.P, p, propsdb.T, temp) }
	machine := func(in propsdb.State, p, eta float64, takes bool) propsdb.State {
		h, hs := prop(in, propsdb.H), enthalpyAt(air, p, prop(in, propsdb.S))
		if takes {
			return at(t, air, propsdb.P, p, propsdb.H, h+(hs-h)/eta)
		}
		return at(t, air, propsdb.P, p, propsdb.H, h-eta*(h-hs))
	}
	s := map[string]propsdb.State{}
	s["1"] = pt(100e3, 300)
	s["2"] = machine(s["1"], 300e3, 0.8, true)
	s["3"] = pt(300e3, 300)
	s["4"] = machine(s["3"], 1000e3, 0.8, true)
	s["6"] = pt(1000e3, 1400)
	s["7"] = machine(s["6"], 300e3, 0.8, false)
	s["8"] = pt(300e3, 1400)
	s["9"] = machine(s["8"], 100e3, 0.8, false)
	q := 0.8 * (prop(s["9"], propsdb.H) - prop(s["4"], propsdb.H))
	s["5"] = at(t, air, propsdb.P, 1000e3, propsdb.H, prop(s["4"], propsdb.H)+q)
	s["10"] = at(t, air, propsdb.P, 100e3, propsdb.H, prop(s["9"], propsdb.H)-q)
	p := &Plant{Assumed: []string{"no pressure is lost", "cooling air is left out"}}
	add := func(k Kind, from, to string) {
		c := Component{Kind: k, Title: string(k) + " " + from + " → " + to, In: stream(from, s[from]), Out: stream(to, s[to]), Pair: -1}
		p.Components = append(p.Components, c)
	}
	add(Compressor, "1", "2")
	add(Cooler, "2", "3")
	add(Compressor, "3", "4")
	add(Regenerator, "4", "5")
	add(Combustor, "5", "6")
	add(Turbine, "6", "7")
	add(Heater, "7", "8")
	add(Turbine, "8", "9")
	add(Regenerator, "9", "10")
	add(Cooler, "10", "1")
	p.Components[3].Pair, p.Components[8].Pair, p.Components[8].Hot = 0, 0, true
	p.Pairs = []Pair{{Title: "regenerator 4 → 5, 9 → 10", Kind: Regenerator, Hot: []int{8}, Cold: []int{3}}}
	return p
}

func within(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s is %v, want %v ± %v", what, got, want, tolerance)
	}
}

func TestReferenceCycle(t *testing.T) {
	r := Examine(reference(t))
	for _, f := range r.Findings {
		t.Errorf("finding: %+v", f)
	}
	within(t, "eta", r.Totals.Eta, 0.443, 0.0015)
	within(t, "bwr", r.Totals.Back, 0.454, 0.0015)
	within(t, "residual", r.Totals.Residual, 0, 1e-12)
	within(t, "Carnot", r.Totals.Carnot, 1-300.0/1400, 1e-12)
	for _, i := range []int{0, 2, 5, 7} {
		within(t, r.Parts[i].Component.Title, r.Parts[i].Isentropic, 0.8, 1e-9)
	}
	within(t, "effectiveness", r.Pairs[0].OnEnthalpy, 0.8, 1e-9)
	if r.Pairs[0].OnTemperature-0.8 < 0.005 {
		t.Errorf("on temperature %v", r.Pairs[0].OnTemperature)
	}
	// By compression in small steps of one efficiency a machine needs more work than its isentropic
	// efficiency says, and by expansion less is lost: the reheat effect.
	if r.Parts[0].Polytropic <= 0.8 || r.Parts[5].Polytropic >= 0.8 {
		t.Errorf("polytropic %v %v", r.Parts[0].Polytropic, r.Parts[5].Polytropic)
	}
}

// By steps and by the closed form, an ideal gas has one polytropic efficiency.
func TestPolytropicBySteps(t *testing.T) {
	p := reference(t)
	for _, i := range []int{0, 5} {
		c := p.Components[i]
		closed := polytropic(c.In[0].State, c.Out[0].State, c.Kind.takes())
		within(t, c.Title, polytropicBySteps(c.In[0].State, c.Out[0].State, c.Kind.takes()), closed, 2e-5)
	}
}
