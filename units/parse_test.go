package units

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

func TestParse(t *testing.T) {
	for _, c := range []struct{ text, want, ascii string }{
		{"1", "1", "1"},
		{"kJ/(kg·K)", "kJ/(kg·K)", "kJ/(kg*K)"},
		{"kJ/(kg K)", "kJ/(kg·K)", "kJ/(kg*K)"},
		{"kJ/( kg * K )", "kJ/(kg·K)", "kJ/(kg*K)"},
		{"kJ/kg/K", "kJ/(kg·K)", "kJ/(kg*K)"},
		{"kJ·kg^-1·K^-1", "kJ/(kg·K)", "kJ/(kg*K)"},
		{"kJ kg⁻¹", "", ""},
		{"kJ/(kg/K)", "kJ·K/kg", "kJ*K/kg"},
		{"(kJ)/(kg)", "kJ/kg", "kJ/kg"},
		{"m^3/s", "m³/s", "m^3/s"},
		{"m·m·m/s", "m³/s", "m^3/s"},
		{"m·m²", "m³", "m^3"},
		{"kg/kg", "kg/kg", "kg/kg"},
		{"1/s", "s⁻¹", "s^-1"},
		{"s^-1", "s⁻¹", "s^-1"},
		{"1/(m·s)", "m⁻¹·s⁻¹", "m^-1*s^-1"},
		{"J^(1/2)", "J^(1/2)", "J^(1/2)"},
		{"J^0.5/K^(-1/2)", "J^(1/2)·K^(1/2)", "J^(1/2)*K^(1/2)"},
		{"K⁻¹", "K⁻¹", "K^-1"},
		{"degC", "°C", "degC"},
		{"℃", "°C", "degC"},
		{"delta_degF", "Δ°F", "delta_degF"},
		{"W/(m²·Δ°C)", "W/(m²·Δ°C)", "W/(m^2*delta_degC)"},
		{"Btu/(lbm·degR)", "Btu/(lbm·°R)", "Btu/(lbm*degR)"},
		{"μm", "µm", "um"},
		{"kohm", "kΩ", "kOhm"},
		{"hr", "h", "h"},
		{"l/min", "L/min", "L/min"},
		{"30", "", ""},
		{"°", "deg", "deg"},
		{"mbarg", "mbarg", "mbarg"},
		{"%rel", "%rel", "%rel"},
		{"kcal_th/(g·K)", "kcal_th/(g·K)", "kcal_th/(g*K)"},
	} {
		u, err := Parse(c.text)
		if c.want == "" {
			if err == nil {
				t.Errorf("%q was read as %s", c.text, u)
			}
			continue
		}
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		if u.String() != c.want || u.ASCII() != c.ascii {
			t.Errorf("%q: got %s and %s, want %s and %s", c.text, u, u.ASCII(), c.want, c.ascii)
		}
	}
}

// The text at fault, and the readings or near misses offered.
func TestRefusals(t *testing.T) {
	for _, c := range []struct {
		text, at string
		offers   []string
	}{
		{"J/kg·K", "·", []string{"J/(kg·K)", "J·K/kg"}},
		{"J/kg*K", "*", []string{"J/(kg·K)", "J·K/kg"}},
		{"kJ/kg-K", "-", []string{"kJ/(kg·K)", "kJ·K/kg"}},
		{"Btu/(lbm-°R)", "-", []string{"Btu/(lbm·°R)"}},
		{"kJ/kg·°C", "·", []string{"kJ/(kg·K)", "kJ·K/kg"}},
		{"W/(m/s·K)", "·", []string{"W·s·K/m", "W·s/(m·K)"}},
		{"ft-lbf", "-", []string{"ft·lbf"}},
		{"kJ/(kg·°C)", "°C", []string{"kJ/(kg·K)"}},
		{"Btu/(lbm·°F)", "°F", []string{"Btu/(lbm·°R)"}},
		{"°C²", "°C²", []string{"K²"}},
		{"barg·m³", "barg", []string{"bar·m³"}},
		{"psig/s", "psig", []string{"psi/s"}},
		{"in", "in", []string{"inch"}},
		{"lbf/in^2", "in", []string{"lbf/inch^2"}},
		{"C", "C", []string{"°C", "coulomb"}},
		{"lb/s", "lb", []string{"lbm/s", "lbf/s"}},
		{"ton", "ton", []string{"t", "ton_short", "ton_long", "ton_refrigeration"}},
		{"K/T3", "T3", []string{"K / T3"}},
		{"K*x", "x", []string{"K * x"}},
		{"kg/(x + 1)", "x", []string{"kg / (x + 1)"}},
		{"kg/(x", "x", nil},
		{"kg/(s", "(", nil},
		{"m^x", "^x", []string{"m ^ x"}},
		{"kj/kg", "kj", []string{"kJ/kg"}},
		{"Kpa", "Kpa", []string{"kPa"}},
		{"degc", "degc", []string{"degC"}},
		{"PSI", "PSI", []string{"psi"}},
		{"kg/m3", "m3", []string{"kg / m3", "kg/m³"}},
		{"kg*h2", "h2", []string{"kg * h2", "kg*h²"}},
		{"K/T", "T", []string{"K/tesla", "K / T"}},
		{"kNm", "kNm", []string{"kN·m"}},
		{"J/kgK", "kgK", []string{"J / kgK", "J/(kg·K)"}},
		{"W/m2K", "m2K", []string{"W / m2K", "W/(m²·K)"}},
		{"Kj/Kg", "Kj", []string{"kJ/kg"}},
		{"kgf/cm2", "cm2", []string{"kgf / cm2", "kgf/cm²"}},
		{"Celsius", "Celsius", []string{"°C"}},
		{"percent", "percent", []string{"%"}},
		{"psid", "psid", []string{"psi"}},
		{"at", "at", []string{"kgf/cm²"}},
		{"yr", "yr", nil},
		{"Nm³/h", "Nm", nil},
		{"scfm", "scfm", nil},
		{"knots", "knots", []string{"knot"}},
		{"slgu", "slgu", []string{"slug"}},
		{"mpa", "mpa", []string{"MPa", "mPa"}},
		{"", "", nil},
		{" kJ", " ", nil},
		{"kJ kg", " ", nil},
		{"kJ/", "/", nil},
		{"kJ/kg)", ")", nil},
		{"kJ/()", ")", nil},
		{"m²s", "s", []string{"m²·s"}},
		{"m^0", "m^0", nil},
		{"m^(1/0)", "^(1/0)", nil},
		{"m^12345", "^12345", nil},
		{"(m·s)^2", "^2", nil},
		{"Gm^50", "Gm^50", nil},
		{"m^101", "m^101", nil},
		{"m^60·J^60", "m^60·J^60", nil},
		{"2·m", "2", nil},
		{"m·2", "2", nil},
		{"%²·", "·", nil},
		{strings.Repeat("m*", 40) + "m", "m", nil},
		{strings.Repeat("(", 40) + "m" + strings.Repeat(")", 40), "(", nil},
		{"\xff", "\xff", nil},
	} {
		u, err := Parse(c.text)
		var pe *ParseError
		if !errors.As(err, &pe) {
			t.Errorf("%q was read as %s", c.text, u)
			continue
		}
		if pe.Text != c.text || pe.Reason == "" {
			t.Errorf("%q: error without its text or a reason: %#v", c.text, pe)
		}
		if at := pe.Text[pe.Offset : pe.Offset+pe.Len]; at != c.at {
			t.Errorf("%q: fault at %q, want %q", c.text, at, c.at)
		}
		if offers := append(slices.Clone(pe.Readings), pe.Near...); !slices.Equal(offers, c.offers) {
			t.Errorf("%q: offers %q, want %q", c.text, offers, c.offers)
		}
		for _, r := range pe.Readings {
			if !strings.Contains(pe.Error(), r) {
				t.Errorf("%q: the message %q leaves out %s", c.text, pe.Error(), r)
			}
		}
	}
}

func TestNear(t *testing.T) {
	for _, c := range []struct {
		text string
		want []string
	}{
		{"kj/kg", []string{"kJ/kg"}},
		{"kj/(KG·k)", []string{"kJ/(kg·K)"}},
		{"Nm", []string{"N·m", "nm"}},
		{"btu/lb", []string{"Btu/lbm", "Btu/lbf"}},
		{"kPa", nil},
		{"xyzzy", nil},
		{"kJ/kg-K", nil},
		{"BARG", []string{"barg"}},
	} {
		if got := Near(c.text); !slices.Equal(got, c.want) {
			t.Errorf("%q: got %q, want %q", c.text, got, c.want)
		}
	}
}

func TestScan(t *testing.T) {
	for _, c := range []struct{ text, run string }{
		{"m/s", "m/s"},
		{"m / s", "m"},
		{"kJ/(kg·K)", "kJ/(kg·K)"},
		{"kJ/(kg K) + 3", "kJ/(kg K)"},
		{"kJ/kg/K)", "kJ/kg/K"},
		{"kJ/kg-K", "kJ/kg-K"},
		{"kJ/kg-h1", "kJ/kg"},
		{"kJ/kg - K", "kJ/kg"},
		{"K-T1", "K"},
		{"K+1", "K"},
		{"s^-1-3", "s^-1"},
		{"s⁻¹*2", "s⁻¹"},
		{"J^(1/2)*x", "J^(1/2)*x"},
		{"J^0.5", "J^0.5"},
		{"m^2..3", "m^2"},
		{"m^ 2", "m"},
		{"K^n", "K^n"},
		{"K/T3", "K/T3"},
		{"m/2", "m"},
		{"m/ 2", "m"},
		{"m*", "m"},
		{"kJ/(2 kg)", "kJ"},
		{"kg/(x", "kg/(x"},
		{"kg/(x, 2)", "kg/(x"},
		{"kg/(x + 1) + 3", "kg/(x + 1)"},
		{"kg/(x // (caption)", "kg/(x"},
		{"kg// caption", "kg"},
		{"kg(x)", "kg"},
		{"K<T2", "K"},
		{"K==T2", "K"},
		{"%, 3", "%"},
		{"%..92 %", "%"},
		{"%pt", "%pt"},
		{"Δ°C", "Δ°C"},
		{"°C", "°C"},
		{"m³/s in L/s", "m³/s"},
		{"", ""}, {" m", ""}, {"1/s", ""}, {"(m)", ""}, {"_m", ""}, {"\xff", ""}, {"·m", ""},
	} {
		if got := c.text[:Scan(c.text)]; got != c.run {
			t.Errorf("%q: run %q, want %q", c.text, got, c.run)
		}
	}
}

// Every spelling of every single unit prints as a unit that reads back, and no prefix makes a spelling that means something else.
func TestEverySpelling(t *testing.T) {
	if len(symbols()) < 300 {
		t.Fatalf("only %d spellings", len(symbols()))
	}
	for spelling := range symbols() {
		checkReadsBack(t, parseOK(t, spelling))
		if n := Scan(spelling + " x"); n != len(spelling) {
			t.Errorf("the run of %q is %d bytes long", spelling, n)
		}
	}
	for _, r := range rows() {
		for _, p := range prefixes() {
			for _, base := range append([]string{r.symbol}, r.aliases...) {
				sym := symbols()[p.ascii+base]
				if takesPrefix(r.prefixes, p.ascii) && sym.text != p.text+r.symbol {
					t.Errorf("%s%s is the unit %s", p.ascii, base, sym.text)
				}
			}
		}
	}
	seen := map[string]bool{}
	for _, e := range All() {
		for _, s := range append([]string{e.Symbol}, e.Aliases...) {
			if seen[s] {
				t.Errorf("%s stands twice in the table", s)
			}
			seen[s] = true
			if _, refused := hintFor(s); refused {
				t.Errorf("%s is in the table and among the refusals", s)
			}
		}
	}
}

type failer interface {
	Helper()
	Errorf(format string, args ...any)
}

func checkReadsBack(t failer, u Unit) {
	t.Helper()
	for _, text := range []string{u.String(), u.ASCII()} {
		again, err := Parse(text)
		if err != nil {
			t.Errorf("%s: %v", u, err)
			continue
		}
		// Another order of multiplication may differ in the last digits.
		if !again.Equal(u) || again.ASCII() != u.ASCII() || again.Dimension() != u.Dimension() || again.Kind() != u.Kind() ||
			again.Definition() != u.Definition() || relative(again.Factor(), u.Factor()) > 1e-14 {
			t.Errorf("%s reads back as %s", u, again)
		}
	}
	for _, r := range u.ASCII() {
		if r >= utf8.RuneSelf {
			t.Errorf("%s: %q is not ASCII", u, u.ASCII())
		}
	}
}

// anyUnit draws a product of scale units with small exponents.
func anyUnit() *rapid.Generator[Unit] {
	var names []string
	for spelling, sym := range symbols() {
		if sym.kind == Scale || sym.kind == Difference {
			names = append(names, spelling)
		}
	}
	slices.Sort(names)
	powers := []string{"", "^2", "^-1", "^(1/2)", "^-3", "²", "⁻²", "^(-2/3)", "^1.5"}
	return rapid.Custom(func(t *rapid.T) Unit {
		var b strings.Builder
		slash := false
		for i := range rapid.IntRange(1, 5).Draw(t, "factors") {
			if i > 0 {
				op := "/"
				if !slash {
					op = rapid.SampledFrom([]string{"*", "·", "/"}).Draw(t, "op")
				}
				slash = op == "/"
				b.WriteString(op)
			}
			slash = slash || strings.Contains(b.String(), "/")
			b.WriteString(rapid.SampledFrom(names).Draw(t, "symbol") + rapid.SampledFrom(powers).Draw(t, "power"))
		}
		u, err := Parse(b.String())
		if err != nil {
			t.Fatalf("%v", err)
		}
		return u
	})
}

func TestUnitsReadBack(t *testing.T) {
	units := anyUnit()
	rapid.Check(t, func(t *rapid.T) { checkReadsBack(t, units.Draw(t, "unit")) })
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"kJ/(kg·K)", "J/kg·K", "kJ/kg-K", "m^(1/2)", "1/s", "°C", "kg/(x + 1)", "((", "m^-", "Δ°F/", "%pt²", "µm⁻¹", "Gm^99", "kj/kg", "m·\xff"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		Near(s)
		u, err := Parse(s)
		if err == nil {
			checkReadsBack(t, u)
			return
		}
		var pe *ParseError
		if !errors.As(err, &pe) {
			t.Fatalf("%q: %T", s, err)
		}
		if pe.Text != s || pe.Offset < 0 || pe.Len < 0 || pe.Offset+pe.Len > len(s) || pe.Len == 0 && s != "" {
			t.Fatalf("%q: fault at %d+%d", s, pe.Offset, pe.Len)
		}
		_ = pe.Error()
	})
}

func FuzzScan(f *testing.F) {
	for _, s := range []string{"m/s", "kJ/(kg K) + 3", "kg/(x", "kg/((x", "s^-1-3", "m^(1", "K//", "°C\xff", "kJ/kg-K", "m^−2"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		n := Scan(s)
		if n < 0 || n > len(s) {
			t.Fatalf("%q: %d", s, n)
		}
		if n > 0 && strings.TrimSpace(s[:n]) == "" {
			t.Fatalf("%q: the run is blank", s)
		}
		// What Parse takes as a unit and prints, Scan takes whole.
		if u, err := Parse(s[:n]); err == nil {
			for _, text := range []string{u.String(), u.ASCII()} {
				if m := Scan(text); m != len(text) {
					t.Fatalf("%q: the run of %q is %d bytes long", s, text, m)
				}
			}
		}
	})
}

func BenchmarkParse(b *testing.B) {
	for _, text := range []string{"kPa", "kJ/(kg·K)", "kJ/(kg K)", "kJ/kg/K", "lbm/(ft·h)", "kcal/(h·m²·K)"} {
		b.Run(strings.ReplaceAll(text, "/", "|"), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Parse(text); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkScan(b *testing.B) {
	for b.Loop() {
		Scan("kJ/(kg·K) // specific heat capacity")
	}
}

// The tables are built once a process, on first use; this is what that costs.
func BenchmarkTables(b *testing.B) {
	b.Run("rows", func(b *testing.B) {
		for b.Loop() {
			rows()
		}
	})
	b.Run("symbols", func(b *testing.B) {
		for b.Loop() {
			buildSymbols()
		}
	})
	b.Run("common", func(b *testing.B) {
		for b.Loop() {
			buildCommon()
		}
	})
}
