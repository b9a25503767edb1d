package propsdb

import (
	"crypto/sha256"
	"encoding/hex"
	"math"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// Every gas: a name the language can write, a range without holes, H(298.15 K)
// equal to the heat of formation stated beside it (the reference data say within
// 0.0005 J/mol), cv above the monatomic 3/2 R less what the fits are off, and so
// cp and cv positive, without which nothing could be inverted.
func TestEveryGas(t *testing.T) {
	identifier := regexp.MustCompile(`^[A-Za-z][A-Za-z0-9_]*$`)
	all := Gases()
	if len(all) != 64 {
		t.Errorf("%d gases, want 64", len(all))
	}
	for _, in := range all {
		if !identifier.MatchString(in.Name) {
			t.Errorf("%q is no name of the language", in.Name)
		}
		f := mustLookup(t, in.Name)
		lo, hi := f.Range()
		if want := 200.0; lo != want && in.Name != "JetA" || hi < 6000 || in.Tmin != lo || in.Tmax != hi {
			t.Errorf("%s: range %g to %g", in.Name, lo, hi)
		}
		near(t, in.Name+" Hf", f.HFast(StandardTemperature)*f.M(), in.Hf, 6e-4)
		for i := range 4001 {
			T := min(hi, lo*math.Pow(hi/lo, float64(i)/4000))
			if cv := f.GetFast(Cv, T, nan); !(cv > 1.49*f.R()) {
				t.Fatalf("%s: cv = %g R at %g K", in.Name, cv/f.R(), T)
			}
		}
		var m float64
		for _, iv := range load().gases[load().byKey[key(in.Name)]].intervals {
			if !(iv.lo < iv.hi) || m != 0 && iv.lo != m {
				t.Errorf("%s: interval from %g to %g after %g", in.Name, iv.lo, iv.hi, m)
			}
			m = iv.hi
		}
		if in.Source == "" || in.Formula == "" || len(in.Elements) == 0 {
			t.Errorf("%s: source %q, formula %q, elements %v", in.Name, in.Source, in.Formula, in.Elements)
		}
		for _, name := range append(in.Aliases, in.Name) {
			if g := mustLookup(t, name); g != f {
				t.Errorf("%s leads to %s", name, g.Name())
			}
		}
	}
}

// The molar masses must be those of the formulas. Source of the atomic weights:
// from memory, IUPAC values rounded to what the data use.
func TestMolarMassOfFormula(t *testing.T) {
	weights := map[string]float64{
		"H": 1.00794, "D": 2.0141, "C": 12.0107, "N": 14.0067, "O": 15.9994, "F": 18.9984, "S": 32.065,
		"Cl": 35.453, "Ar": 39.948, "He": 4.0026, "Ne": 20.1797, "Kr": 83.8, "Xe": 131.293,
	}
	for _, in := range Gases() {
		var m float64
		for _, e := range in.Elements {
			w, ok := weights[e.Symbol]
			if !ok {
				t.Fatalf("%s holds %s", in.Name, e.Symbol)
			}
			m += e.Atoms * w
		}
		near(t, in.Name, in.M*1000, m, 2e-4*m) // the atoms of air are rounded
	}
}

func TestZeroKelvinDatum(t *testing.T) {
	for _, in := range Gases() {
		f, err := LookupOn(in.Name, ZeroKelvin)
		if !in.HasZero {
			e := as[*DatumError](t, in.Name, err)
			if !strings.Contains(e.Error(), "formation") || in.Name != "JetA" {
				t.Errorf("%s: %v", in.Name, e)
			}
			if _, err := mustLookup(t, in.Name).WithDatum(ZeroKelvin); err == nil {
				t.Errorf("%s has a 0 K datum by WithDatum", in.Name)
			}
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		near(t, in.Name+" h(298.15 K)", f.HFast(StandardTemperature)*f.M(), in.H298H0, 1e-9*math.Abs(in.Hf)+1e-6)
		g, err := f.WithDatum(Formation)
		if err != nil || g != mustLookup(t, in.Name) || g.DatumID() == f.DatumID() || g.EntropyDatumID() != f.EntropyDatumID() {
			t.Errorf("%s on the formation datum: %v, %v", in.Name, g, err)
		}
		near(t, in.Name+" so", g.SoFast(400), f.SoFast(400), 0)
	}
	// An atom of a noble gas has only kinetic energy from 0 K up to here:
	// h = 5/2 R T, exact for an ideal monatomic gas without excited states
	// (kinetic theory). The tabulated bracket holds it to its digits.
	for _, gas := range []string{"He", "Ne", "Ar", "Kr", "Xe"} {
		f := mustLookup0(t, gas)
		near(t, gas, f.HFast(300)*f.M(), 2.5*FitGasConstant*300, 2e-3)
	}
	_, err := mustLookup0(t, "air").WithDatum(Own)
	as[*DatumError](t, "air on a perfect gas's datum", err)
}

func TestSource(t *testing.T) {
	file, err := os.ReadFile("data/gases.json")
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(file)
	for _, name := range []string{"air", "JetA"} {
		src := mustLookup(t, name).Source()
		if src.Hash != hex.EncodeToString(sum[:]) {
			t.Errorf("hash %s", src.Hash)
		}
		if !strings.Contains(src.Data, "NASA/TP-2002-211556") || src.Version == "" || src.Note == "" {
			t.Errorf("%+v", src)
		}
	}
	if all := DataSource(); all.Hash != hex.EncodeToString(sum[:]) || all.Data == "" {
		t.Errorf("%+v", all)
	}
	if got := mustLookup(t, "air").Source().Range; got != "200 K to 6000 K" {
		t.Errorf("range %q", got)
	}
}

func TestNearMisses(t *testing.T) {
	for name, want := range map[string]string{
		"nitrogn": "nitrogen", "nirtogen": "nitrogen", "Methane": "methane", "metane": "methane", "n2": "N2",
		"aire": "air", "AIR": "air", "CL2x": "Cl2", "octan": "octane", "JetB": "JetA", "water_vapur": "water_vapour",
		"n-butan": "n-butane",
	} {
		_, err := Lookup(name)
		e := as[*UnknownFluidError](t, name, err)
		if len(e.Near) == 0 || e.Near[0] != want || len(e.Near) > 4 {
			t.Errorf("%s: near it %q, want %s first", name, e.Near, want)
		}
		for _, n := range e.Near {
			if _, err := LookupOn(n, Formation); err != nil {
				t.Errorf("%s: %s is offered and not found", name, n)
			}
		}
	}
	for _, name := range []string{"", "R134a", "unobtainium", "\x00", "日本", strings.Repeat("N2", 1<<16)} {
		_, err := Lookup(name)
		if e := as[*UnknownFluidError](t, "nonsense", err); len(e.Near) != 0 {
			t.Errorf("%.20q: near it %q", name, e.Near)
		}
	}
}

func TestSearch(t *testing.T) {
	names := func(q string) (s []string) {
		for _, in := range Search(q) {
			s = append(s, in.Name)
		}
		return s
	}
	for q, want := range map[string][]string{
		"butane": {"nC4H10", "iC4H10", "iC5H12"}, "C4H10": {"nC4H10", "iC4H10"}, "MONOX": {"CO", "NO", "SO", "N2O"},
		"jet a": {"JetA"}, "nitrogn": {"N2"}, "H2O": {"H2O"}, "zzzzzz": nil,
	} {
		got := names(q)
		if q == "H2O" { // H2O2 holds the letters, too, and comes after
			got = got[:1]
		}
		slices.Sort(got)
		slices.Sort(want)
		if !slices.Equal(got, want) {
			t.Errorf("%s: %v, want %v", q, got, want)
		}
	}
	if len(names("")) != 64 {
		t.Errorf("an empty search finds %d", len(names("")))
	}
}

// What a caller gets is its own: changing it changes nothing in the database.
func TestResultsAreCopies(t *testing.T) {
	f := mustLookup0(t, "CO2")
	f.Joints()[0] = 0
	f.Components()[0].Gas = "x"
	in := Search("CO2")[0]
	in.Aliases[0], in.Elements[0].Atoms = "x", 99
	again := Search("CO2")[0]
	if f.Joints()[0] != 1000 || f.Components()[0].Gas != "CO2" || again.Aliases[0] == "x" || again.Elements[0].Atoms == 99 {
		t.Error("the database was changed through a result")
	}
	e := as[*PairError](t, "pair", func() error { _, err := f.State(T, 300, H, 1); return err }())
	e.Allowed[0] = [2]Property{X, X}
	e = as[*PairError](t, "pair", func() error { _, err := f.State(T, 300, H, 1); return err }())
	if e.Allowed[0] != [2]Property{T, P} {
		t.Error("the pairs were changed through an error")
	}
}

func TestProperties(t *testing.T) {
	want := "T p v rho h s u cp cv k c R M Z so pr vr x mu lambda Pr"
	var got []string
	for p := T; p <= Prandtl; p++ {
		got = append(got, p.Symbol())
		if q, ok := PropertyOf(p.Symbol()); !ok || q != p {
			t.Errorf("PropertyOf(%s) = %v, %v", p.Symbol(), q, ok)
		}
		if p.Name() == "" || p.Unit() == "" || p.Name() == Property(200).Name() {
			t.Errorf("%s: name %q, unit %q", p, p.Name(), p.Unit())
		}
	}
	if s := strings.Join(got, " "); s != want {
		t.Errorf("symbols %s", s)
	}
	for _, stem := range []string{"", "t", "P", "ρ", "w"} {
		if p, ok := PropertyOf(stem); ok {
			t.Errorf("%q is %s", stem, p)
		}
	}
}
