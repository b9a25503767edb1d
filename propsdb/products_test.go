package propsdb

import (
	"math"
	"strings"
	"testing"
)

func mustFuel(t tester, gas string) *Fuel {
	t.Helper()
	fuel, err := GasFuel(mustLookup(t, gas))
	if err != nil {
		t.Fatal(err)
	}
	return fuel
}

func mustReact(t tester, fuel *Fuel, oxidant *Fluid) *Reaction {
	t.Helper()
	r, err := React(fuel, oxidant)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func mustBurn(t tester, r *Reaction, datum Datum, a Amount) *Burnt {
	t.Helper()
	b, err := r.Products("gas", datum, a)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// bookAir is the air of textbooks: O2 + 3.76 N2.
func bookAir(t tester) *Fluid {
	t.Helper()
	return mustMix(t, Mole, Part{"O2", 1 / 4.76}, Part{"N2", 3.76 / 4.76})
}

// keroseneData is a made-up data sheet in the manner of Jet-A.
func keroseneData() FuelData {
	return FuelData{Name: "kerosene", C: 0.862, H: 0.138, HeatingValue: 43.1e6, Cp: 2000, Source: "invented data sheet"}
}

// Hand-derived, in mol per mol of fuel, by balancing the equation
//
//	fuel + (1 + e)·a (O2 + 3.76 N2) → products
func TestStoichiometryByHand(t *testing.T) {
	air := bookAir(t)
	for _, c := range []struct {
		name    string
		parts   []Part
		oxygen  float64 // a, mol O2 per mol fuel
		excess  float64
		product map[string]float64
	}{
		{"CH4 + 4 (O2 + 3.76 N2)", []Part{{"CH4", 1}}, 2, 1,
			map[string]float64{"CO2": 1, "H2O": 2, "O2": 2, "N2": 15.04}},
		{"stoichiometric methane", []Part{{"CH4", 1}}, 2, 0,
			map[string]float64{"CO2": 1, "H2O": 2, "N2": 7.52}},
		{"ammonia: its nitrogen becomes N2", []Part{{"NH3", 1}}, 0.75, 0,
			map[string]float64{"H2O": 1.5, "N2": 0.5 + 0.75*3.76}},
		{"hydrogen sulphide", []Part{{"H2S", 1}}, 1.5, 1,
			map[string]float64{"H2O": 1, "SO2": 1, "O2": 1.5, "N2": 3 * 3.76}},
		{"carbonyl sulphide", []Part{{"COS", 1}}, 1.5, 0.5,
			map[string]float64{"CO2": 1, "SO2": 1, "O2": 0.75, "N2": 2.25 * 3.76}},
		{"ethanol brings oxygen", []Part{{"C2H5OH", 1}}, 3, 0.2,
			map[string]float64{"CO2": 2, "H2O": 3, "O2": 0.6, "N2": 3.6 * 3.76}},
		{"carbon monoxide", []Part{{"CO", 1}}, 0.5, 2,
			map[string]float64{"CO2": 1, "O2": 1, "N2": 1.5 * 3.76}},
		{"hydrogen", []Part{{"H2", 1}}, 0.5, 1,
			map[string]float64{"H2O": 1, "O2": 0.5, "N2": 3.76}},
		{"natural gas", []Part{{"CH4", 0.90}, {"C2H6", 0.07}, {"CO2", 0.01}, {"N2", 0.02}},
			0.90*2 + 0.07*3.5, 2.5, map[string]float64{
				"CO2": 0.90 + 2*0.07 + 0.01, "H2O": 2*0.90 + 3*0.07, "O2": 2.5 * 2.045, "N2": 0.02 + 3.5*2.045*3.76}},
		{"biogas with argon", []Part{{"CH4", 0.6}, {"CO2", 0.35}, {"Ar", 0.05}}, 1.2, 0,
			map[string]float64{"CO2": 0.95, "H2O": 1.2, "Ar": 0.05, "N2": 1.2 * 3.76}},
	} {
		gas, err := MixtureOn(Formation, "fuel", Mole, c.parts)
		if err != nil {
			t.Fatal(err)
		}
		fuel, err := GasFuel(gas)
		if err != nil {
			t.Fatal(err)
		}
		r := mustReact(t, fuel, air)
		near(t, c.name+": mol of fuel per mol of air", r.MolarRatio(r.Stoichiometric()), 1/(4.76*c.oxygen), 1e-14)
		b := mustBurn(t, r, ZeroKelvin, Amount{ExcessAir, c.excess})
		near(t, c.name+": f", b.Ratio, gas.M()/((1+c.excess)*4.76*c.oxygen*air.M()), 1e-14)
		near(t, c.name+": f stoichiometric", b.Stoichiometric, gas.M()/(4.76*c.oxygen*air.M()), 1e-14)
		near(t, c.name+": phi", b.Phi, 1/(1+c.excess), 1e-14)
		near(t, c.name+": products per oxidant", b.PerOxidant, 1+b.Ratio, 0)
		var total float64
		for _, n := range c.product {
			total += n
		}
		got := b.Fluid.Components()
		if len(got) != len(c.product) {
			t.Errorf("%s: components %v", c.name, got)
		}
		for _, p := range got {
			near(t, c.name+": "+p.Gas, p.Mole, c.product[p.Gas]/total, 1e-14)
		}
	}
}

// Source: textbook examples MS-13.1 and MS-13.2 of worked_examples.json, read in
// third-party reworks, with their O2 + 3.76 N2 and, for ratios by mass, their
// molar masses 28.97, 114.22 and 16.04.
func TestPublishedAirFuelRatios(t *testing.T) {
	air := bookAir(t)
	ran := 0
	check := func(e example, name string, got float64) {
		t.Helper()
		ran++
		want := e.Answers[name].Value
		t.Logf("%s: %.7g, printed %g, %+.4f %%", name, got, want, 100*(got/want-1))
		if !(math.Abs(got-want) <= e.ToleranceRel*want) {
			t.Errorf("%s: %.7g, printed %g", name, got, want)
		}
	}
	e := readExample(t, "MS-13.1")
	byMass := e.Given["M_air"].Value / e.Given["M_fuel"].Value
	octane := mustReact(t, mustFuel(t, "nC8H18"), air)
	for suffix, theoretical := range map[string]float64{"": 1, "_150": 1.5} {
		ratio, err := octane.Ratio(Amount{TheoreticalAir, theoretical})
		if err != nil {
			t.Fatal(err)
		}
		check(e, "AF_molar"+suffix, 1/octane.MolarRatio(ratio))
		check(e, "AF_mass"+suffix, byMass/octane.MolarRatio(ratio))
	}
	// With the database's air and molar masses throughout; its O2 is 20.95 %, not
	// 21.01 %, which makes 0.28 %.
	near(t, "octane in real air", 1/mustReact(t, mustFuel(t, "nC8H18"), mustLookup(t, "air")).Stoichiometric(),
		e.Answers["AF_mass"].Value, 4e-3*e.Answers["AF_mass"].Value)

	// Dry products 9.7 CO2, 0.5 CO, 2.95 O2, 86.85 N2: the carbon gives the fuel,
	// the nitrogen the air. (The CO makes it incomplete; the ratios hold all the same.)
	e = readExample(t, "MS-13.2")
	g := func(name string) float64 { return e.Given[name].Value }
	fuelPerAir := (g("CO2") + g("CO")) / (g("N2") / 3.76 * 4.76)
	methane := mustReact(t, mustFuel(t, "CH4"), air)
	far := fuelPerAir * mustLookup(t, "CH4").M() / air.M()
	near(t, "molar ratio", methane.MolarRatio(far), fuelPerAir, 1e-15)
	check(e, "AF_molar", 1/methane.MolarRatio(far))
	check(e, "AF_mass", g("M_air")/g("M_fuel")/methane.MolarRatio(far))
	theoretical, err := methane.Convert(Amount{FuelOxidantRatio, far}, TheoreticalAir)
	if err != nil {
		t.Fatal(err)
	}
	check(e, "theoretical_air", theoretical.Value)
	phi, err := methane.Convert(Amount{FuelOxidantRatio, far}, EquivalenceRatio)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "phi, printed in the note", phi.Value, 0.883, 0.0005)
	counted(t, "air–fuel ratios", ran, 7)
}

// A fuel of the database and the same given by its elements and its own heating
// value are one fuel.
func TestElementalFuelIsTheGas(t *testing.T) {
	air := mustLookup(t, "air")
	for _, gas := range []string{"CH4", "JetA", "C2H5OH", "NH3", "H2S", "CS2", "H2"} {
		fuel := mustFuel(t, gas)
		for _, higher := range []bool{false, true} {
			d := FuelData{Name: gas + " by elements", HeatingValue: fuel.HeatingValue(!higher), Higher: higher, Source: "the database"}
			for _, e := range fuel.Elements() {
				*map[string]*float64{"C": &d.C, "H": &d.H, "O": &d.O, "N": &d.N, "S": &d.S}[e.Symbol] = e.Mass
			}
			same, err := ElementalFuel(d)
			if err != nil {
				t.Errorf("%s: %v", gas, err)
				continue
			}
			near(t, gas+" lower", same.HeatingValue(true), fuel.HeatingValue(true), 1e-6*fuel.HeatingValue(true))
			near(t, gas+" higher", same.HeatingValue(false), fuel.HeatingValue(false), 1e-6*fuel.HeatingValue(false))
			a, b := mustReact(t, fuel, air), mustReact(t, same, air)
			near(t, gas+" stoichiometric", b.Stoichiometric(), a.Stoichiometric(), 1e-7*a.Stoichiometric())
			if !math.IsNaN(b.MolarRatio(0.01)) {
				t.Errorf("%s by elements has a molar ratio", gas)
			}
			at := Firing{500, StandardTemperature, 1}
			ta, err := a.FlameTemperature(Amount{EquivalenceRatio, 0.4}, at)
			if err != nil {
				t.Fatal(err)
			}
			tb, err := b.FlameTemperature(Amount{EquivalenceRatio, 0.4}, at)
			if err != nil {
				t.Fatal(err)
			}
			near(t, gas+" flame", tb, ta, 1e-3)
		}
	}
}

// Hand-derived heating values of mixtures and data sheets: those of the parts, by
// mass; the difference of higher and lower is the water, 8.9366 kg per kg of
// hydrogen, times its heat of vaporisation at 25 °C, 44 004 J/mol.
func TestHeatingValueOfMixtures(t *testing.T) {
	gas := mustMix(t, Mass, Part{"CH4", 0.8}, Part{"H2", 0.1}, Part{"N2", 0.1})
	fuel, err := GasFuel(gas)
	if err != nil {
		t.Fatal(err)
	}
	for _, lower := range []bool{true, false} {
		near(t, "mixture", fuel.HeatingValue(lower),
			0.8*mustFuel(t, "CH4").HeatingValue(lower)+0.1*mustFuel(t, "H2").HeatingValue(lower), 1)
	}
	kerosene, err := ElementalFuel(keroseneData())
	if err != nil {
		t.Fatal(err)
	}
	near(t, "lower as given", kerosene.HeatingValue(true), 43.1e6, 1e-6)
	near(t, "water", kerosene.HeatingValue(false)-43.1e6, 0.138/0.00201588*44004, 1e-5*2e6)
	// 1 kg: C 0.862/12.0107 and H 0.138/1.00794 kmol, of which O2 takes C + H/4.
	near(t, "stoichiometric in oxygen", mustReact(t, kerosene, mustLookup(t, "O2")).Stoichiometric(),
		1/((0.862/12.0107+0.138/1.00794/4)*31.9988), 1e-12)
	h, err := kerosene.H(350)
	if err != nil {
		t.Fatal(err)
	}
	h25, err := kerosene.H(StandardTemperature)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "sensible", h-h25, 2000*(350-298.15), 1e-6)
	if kerosene.Source() != "invented data sheet" || kerosene.Name() != "kerosene" {
		t.Error("the fuel forgets where it is from")
	}
}

// On the 0 K datum every product stands for itself; on formation all add up.
func TestProductsDatum(t *testing.T) {
	air := mustLookup0(t, "air")
	r := mustReact(t, mustFuel(t, "CH4"), air)
	lean, rich := Amount{ExcessAir, 3}, Amount{ExcessAir, 0.5}
	g1, err := r.Products("g1", ZeroKelvin, lean)
	if err != nil {
		t.Fatal(err)
	}
	g2, err := r.Products("g2", ZeroKelvin, rich)
	if err != nil {
		t.Fatal(err)
	}
	again, err := r.Products("g1", ZeroKelvin, lean)
	if err != nil {
		t.Fatal(err)
	}
	other, err := r.Products("g1", ZeroKelvin, rich)
	if err != nil {
		t.Fatal(err)
	}
	ids := map[string]bool{air.DatumID(): true, g1.Fluid.DatumID(): true, g2.Fluid.DatumID(): true, other.Fluid.DatumID(): true}
	if len(ids) != 4 || again.Fluid.DatumID() != g1.Fluid.DatumID() {
		t.Errorf("datum of products: %v", ids)
	}
	if g1.Fluid.EntropyDatumID() != air.EntropyDatumID() {
		t.Error("entropy of products does not count from absolute zero")
	}
	onFormation, err := g1.Fluid.WithDatum(Formation)
	if err != nil {
		t.Fatal(err)
	}
	if onFormation.DatumID() != mustLookup(t, "air").DatumID() {
		t.Errorf("on formation: %s", onFormation.DatumID())
	}
	back, err := onFormation.WithDatum(ZeroKelvin)
	if err != nil {
		t.Fatal(err)
	}
	if back.DatumID() != g1.Fluid.DatumID() || back.Source() != g1.Fluid.Source() {
		t.Error("to formation and back is another fluid")
	}
	near(t, "h there and back", back.HFast(1500), g1.Fluid.HFast(1500), 1e-6)
	for _, word := range []string{"CH4", "air", "fuel–oxidant mass ratio", "CO2: "} {
		if !strings.Contains(g1.Fluid.Source().Note, word) {
			t.Errorf("source note %q lacks %q", g1.Fluid.Source().Note, word)
		}
	}
	// Reheat: the products of one combustion are the oxidant of the next.
	reheat := mustBurn(t, mustReact(t, mustFuel(t, "CH4"), g1.Fluid), ZeroKelvin, Amount{EquivalenceRatio, 0.9})
	once := mustBurn(t, r, ZeroKelvin, Amount{FuelOxidantRatio, g1.Ratio + reheat.Ratio*(1+g1.Ratio)})
	for i, c := range once.Fluid.Components() {
		near(t, "reheat "+c.Gas, reheat.Fluid.Components()[i].Mole, c.Mole, 1e-14)
	}
	_, err = r.Products("g", Own, lean)
	as[*DatumError](t, "own datum", err)
}

func TestCombustionErrors(t *testing.T) {
	air := mustLookup(t, "air")
	methane := mustFuel(t, "CH4")
	r := mustReact(t, methane, air)
	st := r.Stoichiometric()

	for _, a := range []Amount{{ExcessAir, -0.5}, {TheoreticalAir, 0.5}, {EquivalenceRatio, 2}, {FuelOxidantRatio, 2 * st}} {
		_, err := r.Products("g", ZeroKelvin, a)
		e := as[*RichError](t, a.Kind.String(), err)
		near(t, a.Kind.String()+": phi", e.Phi, 2, 1e-14)
		near(t, a.Kind.String()+": f", e.Ratio, 2*st, 1e-14)
		if !strings.Contains(e.Error(), "φ = 2:") {
			t.Errorf("no phi in %q", e.Error())
		}
	}
	for _, a := range []Amount{
		{ExcessAir, -1}, {ExcessAir, -2}, {TheoreticalAir, 0}, {TheoreticalAir, -1}, {EquivalenceRatio, -0.1},
		{FuelOxidantRatio, -1e-9}, {FuelOxidantRatio, nan}, {ExcessAir, math.Inf(1)}, {EquivalenceRatio, math.Inf(-1)}, {9, 1},
	} {
		_, err := r.Ratio(a)
		as[*AmountError](t, a.Kind.String(), err)
	}
	_, err := r.Convert(Amount{FuelOxidantRatio, 0}, ExcessAir)
	as[*AmountError](t, "excess air without fuel", err)
	_, err = r.Convert(Amount{FuelOxidantRatio, 0.01}, 9)
	as[*AmountError](t, "unknown amount", err)

	for _, gas := range []string{"N2", "CO2", "Cl2", "D2", "HF", "O2"} {
		_, err := GasFuel(mustLookup(t, gas))
		as[*FuelError](t, gas, err)
	}
	cold, err := Perfect("cold", map[Property]float64{K: 1.4, Cp: 1005})
	if err != nil {
		t.Fatal(err)
	}
	_, err = GasFuel(cold)
	as[*FuelError](t, "perfect gas", err)
	water := mustLookup0(t, "water")
	_, err = GasFuel(water)
	as[*FuelError](t, "water", err)
	_, err = React(methane, water)
	as[*OxidantError](t, "water", err)
	_, err = GasFuel(nil)
	as[*FuelError](t, "no fluid", err)
	_, err = React(nil, air)
	as[*FuelError](t, "no fuel", err)
	for _, oxidant := range []*Fluid{nil, cold, mustLookup(t, "N2"), mustLookup(t, "NO"), mustMix(t, Mole, Part{"O2", 0.5}, Part{"CO", 0.5})} {
		_, err := React(methane, oxidant)
		as[*OxidantError](t, "oxidant", err)
		_, err = Products("g", ZeroKelvin, methane, oxidant, Amount{ExcessAir, 1})
		as[*OxidantError](t, "oxidant", err)
	}

	for what, change := range map[string]func(*FuelData){
		"negative":       func(d *FuelData) { d.C = -0.1 },
		"not a number":   func(d *FuelData) { d.S = nan },
		"no fuel":        func(d *FuelData) { d.C, d.H, d.O = 0, 0, 1 },
		"kJ/kg for J/kg": func(d *FuelData) { d.HeatingValue = 43100 },
		"too much":       func(d *FuelData) { d.HeatingValue = 43.1e9 },
		"infinite":       func(d *FuelData) { d.HeatingValue = math.Inf(1) },
		"cp negative":    func(d *FuelData) { d.Cp = -1 },
		"cp NaN":         func(d *FuelData) { d.Cp = nan },
	} {
		d := keroseneData()
		change(&d)
		_, err := ElementalFuel(d)
		as[*FuelError](t, what, err)
	}
	d := keroseneData()
	d.H = 0.13
	_, err = ElementalFuel(d)
	near(t, "sum", as[*FractionSumError](t, "sum", err).Sum, 0.992, 1e-15)

	d = keroseneData()
	d.Cp = 0
	fuel, err := ElementalFuel(d)
	if err != nil {
		t.Fatal(err)
	}
	_, err = fuel.H(300)
	as[*FuelError](t, "no cp", err)
	_, err = fuel.H(nan)
	as[*ValueError](t, "T", err)
	d.Cp = 2000
	fuel, err = ElementalFuel(d)
	if err != nil {
		t.Fatal(err)
	}
	_, err = fuel.H(900)
	as[*RangeError](t, "hot", err)
}
