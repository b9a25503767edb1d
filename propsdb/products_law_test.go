package propsdb

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func fuelGases() []string {
	return []string{"CH4", "C2H6", "C3H8", "nC4H10", "C2H4", "C2H2", "C6H6", "nC8H18", "JetA", "JP10", "H2", "CO", "CH3OH", "C2H5OH", "NH3", "H2S", "CS2", "COS", "HCN"}
}

// drawFuel is a gas, a mixture of gases with ballast, or elements by mass.
func drawFuel(t *rapid.T) *Fuel {
	if rapid.IntRange(0, 2).Draw(t, "by elements") == 0 {
		d := FuelData{Name: "fuel", Source: "random",
			C: rapid.Float64Range(0.1, 1).Draw(t, "C"), H: rapid.Float64Range(0, 1).Draw(t, "H"),
			O: rapid.Float64Range(0, 0.2).Draw(t, "O"), N: rapid.Float64Range(0, 0.3).Draw(t, "N"), S: rapid.Float64Range(0, 0.3).Draw(t, "S"),
			HeatingValue: rapid.Float64Range(5e6, 5e7).Draw(t, "heating value"), Higher: rapid.Bool().Draw(t, "higher"), Cp: 2000}
		sum := d.C + d.H + d.O + d.N + d.S
		d.C, d.H, d.O, d.N, d.S = d.C/sum, d.H/sum, d.O/sum, d.N/sum, d.S/sum
		fuel, err := ElementalFuel(d)
		if err != nil {
			t.Fatal(err)
		}
		return fuel
	}
	gases := rapid.SliceOfNDistinct(rapid.SampledFrom(fuelGases()), 1, 4, rapid.ID[string]).Draw(t, "gases")
	gases = append(gases, rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"N2", "CO2", "H2O", "Ar", "He"}), 0, 2, rapid.ID[string]).Draw(t, "ballast")...)
	return mustGasFuel(t, drawMixture(t, "fuel", gases))
}

func mustGasFuel(t tester, f *Fluid) *Fuel {
	t.Helper()
	fuel, err := GasFuel(f)
	if err != nil {
		t.Fatal(err)
	}
	return fuel
}

func drawMixture(t *rapid.T, name string, gases []string) *Fluid {
	parts := make([]Part, len(gases))
	var sum float64
	for i, g := range gases {
		parts[i] = Part{g, rapid.Float64Range(0.05, 1).Draw(t, g)}
		sum += parts[i].Fraction
	}
	for i := range parts {
		parts[i].Fraction /= sum
	}
	f, err := MixtureOn(Formation, name, Mole, parts)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func drawOxidant(t *rapid.T) *Fluid {
	switch rapid.IntRange(0, 2).Draw(t, "oxidant") {
	case 0:
		return mustLookup(t, "air")
	case 1:
		f, err := HumidAir("moist", Formation, rapid.Float64Range(0, 0.1).Draw(t, "w"))
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	return drawMixture(t, "oxidant", append([]string{"O2"}, rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"N2", "CO2", "H2O", "Ar", "SO2", "air"}), 0, 4, rapid.ID[string]).Draw(t, "gases")...))
}

// elements of m kg of a fluid, mol.
func elementsOf(f *Fluid, m float64) map[string]float64 {
	db := load()
	out := map[string]float64{}
	for _, c := range f.Components() {
		mol := m * c.Mole / f.M()
		if c.Gas == "air" { // NASA rounds the elements of its air to five digits
			for _, a := range db.air {
				for e, n := range db.gases[db.byKey[a.Gas]].record.Elements {
					out[e] += mol * a.Fraction * n
				}
			}
			continue
		}
		for e, n := range db.gases[db.byKey[key(c.Gas)]].record.Elements {
			out[e] += mol * n
		}
	}
	return out
}

// Every atom that goes in comes out, and so does the mass; the four ways of giving
// the amount say the same; the energy balance closes with the h of the fluids
// themselves, and f comes back from the flame temperature.
func TestCombustionLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		fuel, oxidant := drawFuel(t), drawOxidant(t)
		r := mustReact(t, fuel, oxidant)
		phi := rapid.OneOf(rapid.Float64Range(0.001, 1), rapid.Just(1.0)).Draw(t, "phi")
		b := mustBurn(t, r, Formation, Amount{EquivalenceRatio, phi})

		in := elementsOf(oxidant, 1)
		for _, e := range fuel.Elements() {
			db := load()
			in[e.Symbol] += b.Ratio * e.Mass / db.gases[db.byKey[e.Symbol]].m
		}
		out := elementsOf(b.Fluid, b.PerOxidant)
		for e, n := range in {
			near(t, "atoms of "+e, out[e], n, 2e-8*n+1e-14)
		}
		var mass float64
		for _, e := range fuel.Elements() {
			mass += e.Mass
		}
		near(t, "mass of the fuel", mass, 1, 1e-9)
		var fractions float64
		for _, c := range b.Fluid.Components() {
			fractions += c.Mass
			if c.Gas == "O2" && phi == 1 {
				t.Errorf("oxygen left in a stoichiometric mixture: %g", c.Mole)
			}
		}
		near(t, "mass fractions", fractions, 1, 1e-12)

		for _, kind := range []AmountKind{ExcessAir, TheoreticalAir, EquivalenceRatio, FuelOxidantRatio} {
			a, err := r.Convert(Amount{EquivalenceRatio, phi}, kind)
			if err != nil {
				t.Fatal(err)
			}
			same := mustBurn(t, r, Formation, a)
			near(t, kind.String(), same.Ratio, b.Ratio, 1e-14*b.Ratio)
			back, err := r.Convert(a, EquivalenceRatio)
			if err != nil {
				t.Fatal(err)
			}
			near(t, kind.String()+" and back", back.Value, phi, 1e-14)
		}

		at := Firing{
			OxidantT:   rapid.Float64Range(250, 1200).Draw(t, "T oxidant"),
			FuelT:      rapid.Float64Range(280, 500).Draw(t, "T fuel"),
			Efficiency: rapid.Float64Range(0.8, 1).Draw(t, "efficiency"),
		}
		T, err := r.FlameTemperature(Amount{EquivalenceRatio, phi}, at)
		if err != nil {
			as[*RangeError](t, "flame", err) // in oxygen, undissociated, beyond 6000 K
			return
		}
		hFuel, err := fuel.H(at.FuelT)
		if err != nil {
			t.Fatal(err)
		}
		supplied := oxidant.HFast(at.OxidantT) + b.Ratio*hFuel
		leaves := b.PerOxidant*b.Fluid.HFast(T) + b.Ratio*(1-at.Efficiency)*fuel.HeatingValue(true)
		near(t, "energy", leaves, supplied, 1e-8*(math.Abs(supplied)+5e6))
		f, err := r.RatioFor(T, at)
		if err != nil {
			if math.Abs(T-at.OxidantT) < 1e-6 {
				return
			}
			t.Fatal(err)
		}
		// Near the joint at 1000 K the gap in h (some mJ/kg) is a gap in f.
		near(t, "f from the flame temperature", f, b.Ratio, 1e-8*r.Stoichiometric())
	})
}

// The heat of the fuel is that of its parts, by mass: LHV adds up.
func TestHeatingValuesAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mix := drawMixture(t, "fuel", rapid.SliceOfNDistinct(rapid.SampledFrom(fuelGases()), 1, 5, rapid.ID[string]).Draw(t, "gases"))
		for _, lower := range []bool{true, false} {
			var sum float64
			for _, c := range mix.Components() {
				v, err := HeatingValue(c.Gas, lower)
				if err != nil {
					t.Fatal(err)
				}
				sum += c.Mass * v
			}
			near(t, "heating value", mustGasFuel(t, mix).HeatingValue(lower), sum, 1e-11*sum)
		}
	})
}

// A passing fluid finds T as any mixture of the same gases does.
func TestProductsStates(t *testing.T) {
	r := mustReact(t, mustFuel(t, "CH4"), mustLookup0(t, "air"))
	rapid.Check(t, func(t *rapid.T) {
		b := mustBurn(t, r, ZeroKelvin, Amount{EquivalenceRatio, rapid.Float64Range(0.05, 1).Draw(t, "phi")})
		var parts []Part
		for _, c := range b.Fluid.Components() {
			parts = append(parts, Part{c.Gas, c.Mole})
		}
		mix := mustMix(t, Mole, parts...)
		T := drawT(t, mix)
		p := drawP(t)
		for _, q := range []Property{H, S, U} {
			y := mix.GetFast(q, T, p)
			got, want := mustState(t, b.Fluid, P, p, q, y), mustState(t, mix, P, p, q, y)
			near(t, "T of (p,"+q.Symbol()+")", got.T(), want.T(), 1e-9*T)
			in, ok := got.Inversion()
			if !ok || in.Steps < 1 || in.Steps > 60 {
				t.Errorf("inversion %+v", in)
			}
		}
		v, s := mix.GetFast(V, T, p), mix.GetFast(S, T, p)
		near(t, "T of (s,v)", mustState(t, b.Fluid, S, s, V, v).T(), mustState(t, mix, S, s, V, v).T(), 1e-9*T)
	})
}

// Whatever is asked, the answer is finite or the error is one of ours.
func FuzzCombustion(f *testing.F) {
	f.Add(uint8(0), uint8(0), 0.5, 700.0, 298.15, 1.0, 1500.0, 1e5)
	f.Add(uint8(10), uint8(2), -1.0, 0.0, math.Inf(1), math.NaN(), -5.0, 0.0)
	gases := append(fuelGases(), "N2", "air", "Cl2")
	f.Fuzz(func(t *testing.T, which, kind uint8, amount, tOx, tFuel, efficiency, outlet, p float64) {
		air := mustLookup(t, "air")
		fuel, err := GasFuel(mustLookup(t, gases[int(which)%len(gases)]))
		if err != nil {
			as[*FuelError](t, "fuel", err)
			d := FuelData{Name: "f", C: amount, H: 1 - amount, HeatingValue: outlet * 1e4, Cp: p}
			if fuel, err = ElementalFuel(d); err != nil {
				return
			}
		}
		if moist, err := HumidAir("moist", Formation, amount/10); err == nil && which&128 != 0 {
			air = moist
		}
		r := mustReact(t, fuel, air)
		finite := func(what string, v float64, err error) {
			t.Helper()
			if (err == nil) == (math.IsNaN(v) || math.IsInf(v, 0)) {
				t.Errorf("%s: %g with error %v", what, v, err)
			}
			if err != nil && err.Error() == "" {
				t.Errorf("%s: silent error", what)
			}
		}
		a := Amount{AmountKind(kind % 5), amount}
		b, err := r.Products("g", Datum(kind%4), a)
		if err == nil {
			h, err := b.Fluid.H(outlet)
			finite("h", h, err)
			for _, k := range []AmountKind{ExcessAir, TheoreticalAir, EquivalenceRatio, FuelOxidantRatio} {
				c, err := r.Convert(a, k)
				if err == nil {
					finite("converted", c.Value, nil)
				}
			}
			q, err := DissociationHeat(b.Fluid, outlet, p)
			finite("dissociation", q, err)
			dew, err := DewPoint(b.Fluid, p)
			finite("dew point", dew, err)
			phi, err := RelativeHumidity(b.Fluid, outlet, p)
			finite("relative humidity", phi, err)
		}
		at := Firing{tOx, tFuel, efficiency}
		T, err := r.FlameTemperature(a, at)
		finite("flame", T, err)
		ratio, err := r.RatioFor(outlet, at)
		finite("ratio", ratio, err)
		if err == nil && !(ratio >= 0 && ratio <= r.Stoichiometric()) {
			t.Errorf("ratio %g", ratio)
		}
		w, err := HumidityRatio(amount, outlet, p)
		finite("humidity", w, err)
		atm, err := StandardAtmosphere(outlet)
		if err == nil {
			finite("atmosphere", atm.P*atm.Rho*atm.T*atm.C*atm.Mu, nil)
		}
	})
}

// Data of any kind either make a fluid that finds its own T again, or are refused.
func FuzzUserFluid(f *testing.F) {
	f.Add(0.029, 200.0, 1000.0, 500.0, 1100.0, 1500.0, 1200.0, 300.0, 0.0, false)
	f.Add(0.029, 200.0, 1000.0, 0.2, -1e-5, 1500.0, 1200.0, 300.0, 1e9, true)
	f.Add(math.NaN(), math.Inf(1), 0.0, -1.0, 1e308, 5e-324, 0.0, 0.0, 0.0, true)
	f.Fuzz(func(t *testing.T, m, a, b, c, d, e, g, ref, h float64, polynomial bool) {
		spec := UserSpec{Name: "g", M: m, Source: "fuzz", Reference: &UserReference{T: ref, P: 1e5, H: h, S: h / 1e4}}
		if polynomial {
			spec.Pieces = []CpPiece{{a, e, []float64{b, c, d, g / 1e6}}}
		} else {
			spec.Table = []CpPoint{{a, b}, {c, d}, {e, g}}
		}
		fl, err := UserFluid(spec)
		if err != nil {
			as[*UserError](t, "user", err)
			return
		}
		lo, hi := fl.Range()
		for _, u := range []float64{0, 0.1, 0.5, 0.97, 1} {
			T := min(lo+u*(hi-lo), hi)
			cp := fl.CpFast(T)
			if !(cp > fl.R()*(1-1e-6) && cp <= mostUserCp*(1+1e-6)) {
				t.Fatalf("cp %g at %g K, R %g", cp, T, fl.R())
			}
			// h is as exact as its largest term; T as h over cp.
			y := fl.HFast(T)
			scale := math.Abs(y) + math.Abs(fl.HFast(lo)) + math.Abs(fl.HFast(hi)) + mostUserCp*hi
			near(t, "T(h)", fl.TofHFast(y), T, 1e-9*T+1e-12*scale/cp)
			if s := fl.TofSoFast(fl.SoFast(T)); !(s >= lo && s <= hi) {
				t.Fatalf("T(so) = %g", s)
			}
			st, err := fl.StateT(T)
			if err != nil {
				t.Fatal(err)
			}
			for q := H; q < X; q++ {
				if v, err := st.Get(q); err == nil && (v != v || math.IsInf(v, 0)) {
					t.Fatalf("%s = %g", q.Name(), v)
				}
			}
		}
	})
}

func BenchmarkProducts(b *testing.B) {
	r := mustReact(b, mustFuel(b, "CH4"), mustLookup(b, "air"))
	a := Amount{EquivalenceRatio, 0.3}
	at := Firing{700, StandardTemperature, 0.99}
	b.Run("Fluid", func(b *testing.B) {
		for b.Loop() {
			if _, err := r.Products("g", ZeroKelvin, a); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("FluidAndState", func(b *testing.B) {
		for b.Loop() {
			burnt, err := r.Products("g", ZeroKelvin, a)
			if err != nil {
				b.Fatal(err)
			}
			if t, _ := burnt.Fluid.SolveFast(P, 1e6, H, 1.2e6); t != t {
				b.Fatal("no state")
			}
		}
	})
	b.Run("FlameTemperature", func(b *testing.B) {
		for b.Loop() {
			if _, err := r.FlameTemperature(a, at); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("RatioFor", func(b *testing.B) {
		for b.Loop() {
			if _, err := r.RatioFor(1400, at); err != nil {
				b.Fatal(err)
			}
		}
	})
}
