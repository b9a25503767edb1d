package propsdb

import (
	"math"
	"strings"
	"testing"
)

func mustMix(t tester, basis Basis, parts ...Part) *Fluid {
	t.Helper()
	f, err := Mixture("mix", basis, parts)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// A mixture of one gas is that gas, to the last bit, air included.
func TestMixtureOfOne(t *testing.T) {
	for _, in := range Gases() {
		if !in.HasZero {
			continue
		}
		for _, basis := range []Basis{Mole, Mass} {
			f, g := mustMix(t, basis, Part{in.Name, 1}), mustLookup0(t, in.Name)
			for _, T := range []float64{in.Tmin, 298.15, 1000, 1234.5, in.Tmax} {
				if f.HFast(T) != g.HFast(T) || f.SoFast(T) != g.SoFast(T) || f.CpFast(T) != g.CpFast(T) || f.R() != g.R() {
					t.Errorf("%s by %s differs at %g K", in.Name, basis, T)
				}
			}
		}
	}
}

// Hand-derived: half a mole each of N2 and O2. M and the mass fractions are
// sums of the stated molar masses 28.0134 and 31.9988; the entropy of mixing of
// an equimolar pair is R ln 2 per mole (any text on ideal mixtures).
func TestMixtureByHand(t *testing.T) {
	f := mustMix(t, Mole, Part{"N2", 0.5}, Part{"O2", 0.5})
	n2, o2 := mustLookup0(t, "N2"), mustLookup0(t, "O2")
	near(t, "M", f.M(), 0.0300061, 1e-15)
	c := f.Components()
	if len(c) != 2 || c[0].Gas != "N2" || c[1].Gas != "O2" {
		t.Fatalf("components %v", c)
	}
	near(t, "mass of N2", c[0].Mass, 28.0134/60.0122, 1e-15)
	near(t, "mass fractions", c[0].Mass+c[1].Mass, 1, 1e-15)
	for _, T := range []float64{200, 500, 1000, 3000, 6000, 12000} {
		sum := (n2.SoFast(T)*n2.M() + o2.SoFast(T)*o2.M()) / 2
		near(t, "so", f.SoFast(T)*f.M()-sum, FitGasConstant*math.Ln2, 1e-10)
		near(t, "h", f.HFast(T)*f.M(), (n2.HFast(T)*n2.M()+o2.HFast(T)*o2.M())/2, 1e-9*f.HFast(T)*f.M())
		near(t, "cp", f.CpFast(T)*f.M(), (n2.CpFast(T)*n2.M()+o2.CpFast(T)*o2.M())/2, 1e-10)
	}
	g := mustMix(t, Mass, Part{"N2", 28.0134 / 60.0122}, Part{"O2", 31.9988 / 60.0122})
	near(t, "by mass", g.HFast(700), f.HFast(700), 1e-9)
	near(t, "by mass", g.SoFast(700), f.SoFast(700), 1e-9)
	if f.DatumID() != n2.DatumID() || f.EntropyDatumID() != n2.EntropyDatumID() {
		t.Error("a mixture on the 0 K datum does not add up with its parts")
	}
}

// The range is what the parts share, divided at every joint of any of them.
func TestMixtureRangeAndJoints(t *testing.T) {
	f, err := MixtureOn(Formation, "fuel", Mole, []Part{{"JetA", 0.1}, {"N2", 0.9}})
	if err != nil {
		t.Fatal(err)
	}
	if lo, hi := f.Range(); lo != 273.15 || hi != 6000 || f.Source().Range != "273.15 K to 6000 K" {
		t.Errorf("range %g to %g", lo, hi)
	}
	if j := f.Joints(); len(j) != 1 || j[0] != 1000 {
		t.Errorf("joints %v", j)
	}
	if j := mustMix(t, Mole, Part{"N2", 0.5}, Part{"He", 0.5}).Joints(); len(j) != 2 || j[1] != 6000 {
		t.Errorf("joints %v", j)
	}
	for _, word := range []string{"JetA: ", "N2: ", "McBride,1996"} {
		if !strings.Contains(f.Source().Note, word) {
			t.Errorf("source %q lacks %q", f.Source().Note, word)
		}
	}
}

// No gas of the database has a joint elsewhere than at 1000 K and 6000 K, so the
// merging of unlike joints is tried on gases made for it: cutting a range in two
// with the same coefficients on both sides changes nothing but the joints.
func TestMixtureOfUnlikeJoints(t *testing.T) {
	db := load()
	cut := func(g *gas, bounds ...float64) *gas {
		c := *g
		c.intervals = nil
		for i, lo := range bounds[:len(bounds)-1] {
			iv := *g.over(lo)
			iv.lo, iv.hi = lo, bounds[i+1]
			c.intervals = append(c.intervals, iv)
		}
		return &c
	}
	n2, co2 := &db.gases[db.byKey["N2"]], &db.gases[db.byKey["CO2"]]
	whole := db.newMixed("whole", GasMixture, Formation, []component{{n2, 0.3}, {co2, 0.7}})
	parts := []component{
		{cut(n2, 250, 400, 1000, 1700, 3000), 0.3},
		{cut(co2, 220, 555, 1000, 2000, 2500, 5000), 0.7},
	}
	f := db.newMixed("cut", GasMixture, Formation, parts)
	if lo, hi := f.Range(); lo != 250 || hi != 3000 {
		t.Errorf("range %g to %g", lo, hi)
	}
	want := []float64{400, 555, 1000, 1700, 2000, 2500}
	if got := f.Joints(); len(got) != len(want) {
		t.Fatalf("joints %v, want %v", got, want)
	}
	for i, j := range f.Joints() {
		if j != want[i] {
			t.Errorf("joints %v, want %v", f.Joints(), want)
		}
	}
	for T := 250.0; T <= 3000; T += 2.5 {
		if f.HFast(T) != whole.HFast(T) || f.SoFast(T) != whole.SoFast(T) || f.CpFast(T) != whole.CpFast(T) {
			t.Fatalf("differs at %g K", T)
		}
		if T != 1000 { // the one joint with a gap
			near(t, "T of h", f.TofHFast(f.HFast(T)), T, 1e-12*T)
			near(t, "T of so", f.TofSoFast(f.SoFast(T)), T, 1e-12*T)
		}
	}
}

// Air beside another gas enters as its four gases: enriching it with nitrogen
// is the same whether nitrogen or more of its own nitrogen is meant.
func TestAirInMixture(t *testing.T) {
	f := mustMix(t, Mole, Part{"air", 0.5}, Part{"N2", 0.5})
	g := mustMix(t, Mole, Part{"N2", 0.5 + 0.5*0.78084}, Part{"O2", 0.5 * 0.209476}, Part{"Ar", 0.5 * 0.009365}, Part{"CO2", 0.5 * 0.000319})
	near(t, "so", f.SoFast(800), g.SoFast(800), 1e-9)
	near(t, "h", f.HFast(800), g.HFast(800), 1e-6)
	if len(f.Components()) != 4 {
		t.Errorf("components %v", f.Components())
	}
	// Humid air: the entropy of mixing reaches down to the gases of the air.
	h := mustMix(t, Mole, Part{"air", 0.98}, Part{"H2O", 0.02})
	if len(h.Components()) != 5 {
		t.Errorf("components %v", h.Components())
	}
	if f := mustMix(t, Mole, Part{"air", 1}, Part{"H2O", 0}); len(f.Components()) != 1 {
		t.Errorf("a part of zero stays: %v", f.Components())
	}
}

func TestMixtureErrors(t *testing.T) {
	try := func(parts ...Part) error { _, err := Mixture("g", Mole, parts); return err }
	e := as[*FractionSumError](t, "0.99", try(Part{"N2", 0.78}, Part{"O2", 0.21}))
	near(t, "sum", e.Sum, 0.99, 1e-15)
	as[*FractionSumError](t, "standard atmosphere without its traces", try(Part{"N2", 0.78084}, Part{"O2", 0.209476}, Part{"Ar", 0.00934}, Part{"CO2", 0.000314}))
	as[*FractionSumError](t, "two", try(Part{"N2", 1}, Part{"O2", 1}))
	for what, parts := range map[string][]Part{
		"none": nil, "twice": {{"N2", 0.5}, {"nitrogen", 0.5}}, "negative": {{"N2", 1.5}, {"O2", -0.5}},
		"NaN": {{"N2", math.NaN()}}, "Inf": {{"N2", math.Inf(1)}},
	} {
		as[*MixtureError](t, what, try(parts...))
	}
	as[*UnknownFluidError](t, "unknown", try(Part{"N2", 0.5}, Part{"phlogiston", 0.5}))
	as[*DatumError](t, "Jet-A", try(Part{"N2", 0.5}, Part{"JetA", 0.5}))
	_, err := mustMix(t, Mole, Part{"N2", 1}).WithDatum(Own)
	as[*DatumError](t, "own", err)

	// Figures rounded as people write them are taken, and divided by their sum.
	f := mustMix(t, Mole, Part{"N2", 0.333333}, Part{"O2", 0.333333}, Part{"Ar", 0.333334 - 5e-7})
	var sum float64
	for _, c := range f.Components() {
		sum += c.Mole
	}
	near(t, "sum", sum, 1, 1e-15)
}

func TestMixtureDatums(t *testing.T) {
	f := mustMix(t, Mass, Part{"CH4", 0.05}, Part{"air", 0.95})
	g, err := f.WithDatum(Formation)
	if err != nil {
		t.Fatal(err)
	}
	if g.Name() != f.Name() || g.Datum() != Formation || g.Kind() != GasMixture {
		t.Errorf("%s", g.Describe())
	}
	// The two datums differ by a constant, and s not at all.
	shift := g.HFast(300) - f.HFast(300)
	for _, T := range []float64{250, 999, 1000, 2222} {
		near(t, "shift", g.HFast(T)-f.HFast(T), shift, 1e-8*math.Abs(shift))
		near(t, "so", g.SoFast(T), f.SoFast(T), 1e-9)
	}
	back, err := g.WithDatum(ZeroKelvin)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "back", back.HFast(777), f.HFast(777), 1e-9*f.HFast(777))
}
