package units

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestZeroValues(t *testing.T) {
	var u Unit
	if !u.IsNone() || u.String() != "1" || u.ASCII() != "1" || u.Factor() != 1 || u.ToSI(3, 0) != 3 || u.FromSI(3, 0) != 3 {
		t.Errorf("the zero unit is not 1: %s", u)
	}
	if !u.Equal(parseOK(t, "1")) || u.Equal(parseOK(t, "%")) || parseOK(t, "kg/kg").IsNone() {
		t.Error("1 is not one unit")
	}
	var d Dimension
	if !d.IsNone() || d.String() != "dimensionless" || d.Name() != "" || d != (parseOK(t, "rad").Dimension()) {
		t.Errorf("the zero dimension is not dimensionless: %s", d)
	}
}

func TestTemperatures(t *testing.T) {
	// Definitions: SI Brochure, 9th ed., section 2.3.1 (°C); NIST SP 811, appendix B.8 (°F).
	for _, c := range []struct {
		v    float64
		unit string
		si   float64
	}{
		{15, "°C", 288.15}, {-273.15, "°C", 0}, {59, "°F", 288.15}, {32, "°F", 273.15}, {-459.67, "°F", 0},
		{518.67, "°R", 288.15}, {300, "K", 300}, {10, "Δ°C", 10}, {18, "Δ°F", 10},
	} {
		u := parseOK(t, c.unit)
		if got := u.ToSI(c.v, 0); math.Abs(got-c.si) > 1e-12 {
			t.Errorf("%g %s is %.15g K, want %g", c.v, u, got, c.si)
		}
		if got := u.FromSI(c.si, 0); math.Abs(got-c.v) > 1e-12 {
			t.Errorf("%g K is %.15g %s, want %g", c.si, got, u, c.v)
		}
	}
}

func TestGauge(t *testing.T) {
	const ambient = 101325
	for _, c := range []struct{ gauge, absolute string }{
		{"barg", "bar"}, {"mbarg", "mbar"}, {"Pag", "Pa"}, {"kPag", "kPa"}, {"MPag", "MPa"}, {"psig", "psi"},
	} {
		g, a := parseOK(t, c.gauge), parseOK(t, c.absolute)
		if g.Kind() != Gauge || !g.Difference().Equal(a) || g.Factor() != a.Factor() {
			t.Errorf("%s: kind %s, differences in %s", g, g.Kind(), g.Difference())
		}
		if got := g.ToSI(0, ambient); got != ambient {
			t.Errorf("0 %s is %g Pa", g, got)
		}
		got, err := Convert(3, g, a, ambient)
		if want := 3 + ambient/a.Factor(); err != nil || relative(got, want) > 1e-14 {
			t.Errorf("3 %s is %.15g %s, want %.15g (%v)", g, got, a, want, err)
		}
		for _, missing := range []float64{0, -1, math.NaN(), math.Inf(1)} {
			var ae *AmbientError
			for _, pair := range [][2]Unit{{g, a}, {a, g}} {
				if _, err := Convert(3, pair[0], pair[1], missing); !errors.As(err, &ae) || !ae.Unit.Equal(g) || ae.Error() == "" {
					t.Errorf("%s to %s at ambient %g: %v", pair[0], pair[1], missing, err)
				}
			}
		}
	}
	// From gauge to gauge the ambient pressure cancels.
	got, err := Convert(1, parseOK(t, "barg"), parseOK(t, "kPag"), 0)
	if err != nil || got != 100 {
		t.Errorf("1 barg is %g kPag (%v)", got, err)
	}
}

func TestConvertRefuses(t *testing.T) {
	var de *DimensionError
	_, err := Convert(1, parseOK(t, "kJ/kg"), parseOK(t, "kJ/kmol"), 0)
	if !errors.As(err, &de) {
		t.Fatalf("kJ/kg to kJ/kmol: %v", err)
	}
	for _, part := range []string{"kJ/kg is specific enthalpy", "L²·T⁻²", "kJ/kmol is molar enthalpy", "M·L²·T⁻²·N⁻¹"} {
		if !strings.Contains(de.Error(), part) {
			t.Errorf("the message %q does not say %q", de.Error(), part)
		}
	}
	for _, pair := range [][2]string{{"°C", "Δ°C"}, {"Δ°F", "°F"}, {"°F", "Δ°C"}} {
		var ke *KindError
		if _, err := Convert(1, parseOK(t, pair[0]), parseOK(t, pair[1]), 0); !errors.As(err, &ke) || !strings.Contains(ke.Error(), pair[0]) {
			t.Errorf("%s to %s: %v", pair[0], pair[1], err)
		}
	}
	for _, pair := range [][2]string{{"°C", "K"}, {"K", "°F"}, {"Δ°C", "K"}, {"°R", "Δ°F"}, {"°C", "°F"}, {"Δ°C", "Δ°F"}} {
		if _, err := Convert(1, parseOK(t, pair[0]), parseOK(t, pair[1]), 0); err != nil {
			t.Errorf("%s to %s: %v", pair[0], pair[1], err)
		}
	}
}

func TestDefinition(t *testing.T) {
	for _, c := range []struct {
		text  string
		parts []string
	}{
		{"Btu/(lbm·°R)", []string{"Btu = 1055.05585262 J", "International Table", "NIST SP 811"}},
		{"Btu/(hp·h)", []string{"Btu = ", "; hp = ", "mechanical"}},
		{"kcal/kg", []string{"cal = 4.1868 J"}},
		{"therm", []string{"1.054804e8 J", "US"}},
		{"mmHg", []string{"conventional", "133.322387415 Pa"}},
		{"ton_refrigeration", []string{"12 000 Btu/h"}},
		{"PS", []string{"metric"}},
		{"kJ/kg", nil}, {"psi", nil}, {"1", nil},
	} {
		got := parseOK(t, c.text).Definition()
		if c.parts == nil && got != "" {
			t.Errorf("%s has one definition only, got %q", c.text, got)
		}
		for _, part := range c.parts {
			if !strings.Contains(got, part) {
				t.Errorf("%s: %q does not say %q", c.text, got, part)
			}
		}
	}
}

func TestTheTableIsComplete(t *testing.T) {
	all := All()
	closed := map[string]bool{}
	last := ""
	for _, e := range all {
		if e.Symbol == "" || e.Name == "" || e.Quantity == "" || e.Definition == "" || e.Source == "" || e.Unit.String() != e.Symbol {
			t.Errorf("entry %+v is incomplete", e)
		}
		if e.Quantity != last {
			closed[last] = true
			if last = e.Quantity; closed[last] {
				t.Errorf("the group %s is torn apart", last)
			}
		}
	}
	if len(all) < 80 {
		t.Errorf("only %d entries", len(all))
	}
	// What a caller does to his copy stays with him.
	all[0].Symbol = "?"
	for i := range all {
		for j := range all[i].Aliases {
			all[i].Aliases[j] = "?"
		}
	}
	for _, e := range All() {
		for _, s := range append([]string{e.Symbol}, e.Aliases...) {
			if s == "?" {
				t.Error("All hands out its own table")
			}
		}
	}
}

func TestPreferences(t *testing.T) {
	for _, sys := range []System{SI, US} {
		seen := map[Dimension]Unit{}
		for _, u := range PreferenceList(sys) {
			if v, taken := seen[u.Dimension()]; taken {
				t.Errorf("%s: %s and %s are both preferred", sys, u, v)
			}
			seen[u.Dimension()] = u
			if got, ok := Preferred(u.Dimension(), sys); !ok || !got.Equal(u) {
				t.Errorf("%s: %s is listed and %s preferred", sys, u, got)
			}
			if u.Kind() != Scale {
				t.Errorf("%s: %s is preferred", sys, u)
			}
		}
		if u, ok := Preferred(Dimension{}, sys); !ok || !u.IsNone() {
			t.Errorf("%s: a number is printed in %s", sys, u)
		}
		if _, ok := Preferred(dim(7, 0, 0, 0, 0, 0), sys); ok {
			t.Errorf("%s: kg⁷ has a preferred unit", sys)
		}
	}
	// language.md, "Quantities and units": the printed preference list and its US counterpart.
	for _, c := range []struct {
		d      Dimension
		si, us string
	}{
		{DimEnergyPerMass(), "kJ/kg", "Btu/lbm"}, {DimEntropyPerMass(), "kJ/(kg·K)", "Btu/(lbm·°R)"}, {DimEnergy(), "kJ", "Btu"},
		{DimPower(), "kW", "hp"}, {DimPressure(), "kPa", "psia"}, {DimTemperature(), "K", "°R"}, {DimMassFlow(), "kg/s", "lbm/s"},
		{DimSpecificVolume(), "m³/kg", "ft³/lbm"}, {DimVelocity(), "m/s", "ft/s"},
	} {
		si, _ := Preferred(c.d, SI)
		us, _ := Preferred(c.d, US)
		if si.String() != c.si || us.String() != c.us {
			t.Errorf("%s: %s and %s, want %s and %s", c.d.Name(), si, us, c.si, c.us)
		}
	}
}

func TestSIUnit(t *testing.T) {
	root, err := DimEnergyPerMass().Pow(1, 4)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		d    Dimension
		want string
	}{
		{Dimension{}, "1"}, {DimPressure(), "Pa"}, {DimPower(), "W"}, {DimForce(), "N"}, {DimEnergyPerMass(), "J/kg"},
		{DimEntropyPerAmount(), "J/(mol·K)"}, {DimMassFlow(), "kg/s"}, {DimFrequency(), "s⁻¹"}, {dim(1, -2, -1, 0, 0, 0), "kg/(m²·s)"},
		{DimPower().Mul(DimLength()), "kg·m³/s³"}, {root, "m^(1/2)/s^(1/2)"},
	} {
		if got := SIUnit(c.d); got.String() != c.want {
			t.Errorf("%s: %s, want %s", c.d, got, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		d := anyDimension().Draw(t, "dimension")
		u := SIUnit(d)
		if u.Dimension() != d || u.Factor() != 1 {
			t.Fatalf("%s: %s has the dimension %s and the factor %g", d, u, u.Dimension(), u.Factor())
		}
		checkReadsBack(t, u)
	})
}

func TestRoundTripThroughSI(t *testing.T) {
	all := All()
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom(all).Draw(t, "entry").Unit
		v := rapid.Float64Range(-1e6, 1e6).Draw(t, "value")
		const ambient = 98000
		// A point or gauge value is exact to the last digit of its offset, not of itself.
		limit := 1e-14*math.Abs(v) + 1e-12
		if u.Kind() == Gauge {
			limit += 1e-15 * ambient / u.Factor()
		}
		if got := u.FromSI(u.ToSI(v, ambient), ambient); math.Abs(got-v) > limit {
			t.Fatalf("%g %s comes back as %g", v, u, got)
		}
	})
}

// Decimal factors are applied exactly: 300 mm is the float nearest to 0.3.
func TestDecimalFactorsAreExact(t *testing.T) {
	for _, c := range []struct {
		v    float64
		unit string
		want float64
	}{
		{300, "mm", 0.3}, {1013.25, "mbar", 101325}, {85, "%", 0.85}, {7, "µm", 7e-6}, {18.015, "kg/kmol", 0.018015}, {0.287, "kJ/(kg·K)", 287}, {3, "cSt", 3e-6},
	} {
		if got := parseOK(t, c.unit).ToSI(c.v, 0); got != c.want {
			t.Errorf("%g %s: %.17g, want %.17g", c.v, c.unit, got, c.want)
		}
	}
}

func anyDimension() *rapid.Generator[Dimension] {
	return rapid.Custom(func(t *rapid.T) Dimension {
		var d Dimension
		for i := range d.exps {
			r, ok := newRatio(rapid.IntRange(-4, 4).Draw(t, "num"), rapid.SampledFrom([]int{1, 1, 1, 2, 3}).Draw(t, "den"))
			if !ok {
				t.Fatal("a small exponent was refused")
			}
			d.exps[i] = r
		}
		return d
	})
}

func TestDimensionAlgebra(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := anyDimension().Draw(t, "a"), anyDimension().Draw(t, "b"), anyDimension().Draw(t, "c")
		n, m := rapid.IntRange(1, 5).Draw(t, "n"), rapid.IntRange(1, 5).Draw(t, "m")
		pow := func(d Dimension, num, den int) Dimension {
			p, err := d.Pow(num, den)
			if err != nil {
				t.Fatal(err)
			}
			return p
		}
		for _, law := range []struct {
			name        string
			left, right Dimension
		}{
			{"commutes", a.Mul(b), b.Mul(a)},
			{"associates", a.Mul(b).Mul(c), a.Mul(b.Mul(c))},
			{"divides", a.Mul(b).Div(b), a},
			{"inverts", Dimension{}.Div(a), pow(a, -1, 1)},
			{"has a one", a.Mul(Dimension{}), a},
			{"cancels", a.Div(a), Dimension{}},
			{"raises a product", pow(a.Mul(b), n, m), pow(a, n, m).Mul(pow(b, n, m))},
			{"takes roots", pow(pow(a, n, m), m, n), a},
			{"squares", a.Mul(a), pow(a, 2, 1)},
			{"raises to nought", pow(a, 0, n), Dimension{}},
			{"reduces", pow(a, 2*n, 2*m), pow(a, n, m)},
			{"takes signs", pow(a, -n, -m), pow(a, n, m)},
		} {
			if law.left != law.right {
				t.Fatalf("%s: %s and %s", law.name, law.left, law.right)
			}
		}
	})
}

func TestAbsurdExponents(t *testing.T) {
	var ee *ExponentError
	d := DimLength()
	for range 40 {
		d = d.Mul(d)
	}
	if err := d.Err(); !errors.As(err, &ee) || ee.Error() == "" {
		t.Errorf("length^(2^40) is %s (%v)", d, err)
	}
	if d.IsNone() || d == DimLength() || d.Div(d).Err() == nil || !SIUnit(d).IsNone() || d.Name() != "" {
		t.Errorf("an absurd dimension passes for a good one: %s", d)
	}
	if err := DimPressure().Err(); err != nil {
		t.Error(err)
	}
	for _, p := range [][2]int{{101, 1}, {1, 101}, {-101, 1}, {1, 0}, {math.MaxInt, 1}, {math.MinInt, 1}, {1, math.MinInt}, {math.MaxInt, math.MaxInt - 1}} {
		if e, err := DimEnergy().Pow(p[0], p[1]); !errors.As(err, &ee) || ee.Error() == "" {
			t.Errorf("energy^(%d/%d) is %s", p[0], p[1], e)
		}
	}
	if e, err := DimLength().Pow(100, 1); err != nil || e.Exponents()[1] != (Exponent{100, 1}) {
		t.Errorf("length^100: %s, %v", e, err)
	}
}

func TestDimensionPrints(t *testing.T) {
	half, err := DimPower().Pow(1, 2)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		d             Dimension
		formula, name string
	}{
		{DimPower(), "M·L²·T⁻³", "power"},
		{DimEntropyPerMass(), "L²·T⁻²·Θ⁻¹", "specific entropy or specific heat capacity"},
		{DimEnergyPerMass(), "L²·T⁻²", "specific enthalpy or specific work"},
		{DimMassFlow(), "M·T⁻¹", "mass flow"},
		{DimMolarMass(), "M·N⁻¹", "molar mass"},
		{half, "M^(1/2)·L·T^(-3/2)", ""},
		{parseOK(t, "V").Dimension(), "M·L²·T⁻³·I⁻¹", "voltage"},
	} {
		if c.d.String() != c.formula || c.d.Name() != c.name {
			t.Errorf("got %s %q, want %s %q", c.d, c.d.Name(), c.formula, c.name)
		}
	}
}

func TestFormatNumber(t *testing.T) {
	for _, c := range []struct {
		v           float64
		digits      int
		text, ascii string
	}{
		{300, 5, "300.00", "300.00"},
		{0.85, 5, "0.85000", "0.85000"},
		{-45.6, 3, "−45.6", "-45.6"},
		{0.00125, 4, "0.001250", "0.001250"},
		{0.0001, 2, "0.00010", "0.00010"},
		{0.00009999, 3, "0.000100", "0.000100"}, // rounds up into the range
		{0.00009, 2, "9.0×10⁻⁵", "9.0e-5"},
		{101325, 5, "1.0132×10⁵", "1.0132e5"}, // a tie
		{101325, 6, "101325", "101325"},
		{101325, 7, "101325.0", "101325.0"},
		{1300, 3, "1300", "1300"},
		{45678, 3, "45700", "45700"},
		{99999.6, 5, "1.0000×10⁵", "1.0000e5"},
		{-1234567, 7, "−1234567", "-1234567"},
		{12345678, 8, "1.2345678×10⁷", "1.2345678e7"},
		{6.02214076e23, 4, "6.022×10²³", "6.022e23"},
		{0.5, 1, "0.5", "0.5"},
		{2.5, 1, "2", "2"}, {3.5, 1, "4", "4"}, {0.125, 2, "0.12", "0.12"}, {0.375, 2, "0.38", "0.38"}, // exact ties go to even
		{2.675, 3, "2.67", "2.67"}, // the float lies below the tie
		{0, 5, "0", "0"}, {math.Copysign(0, -1), 5, "0", "0"},
		{1.0 / 3, 0, "0.3", "0.3"}, {1.0 / 3, 99, "0.33333333333333331", "0.33333333333333331"},
		{math.NaN(), 5, "NaN", "NaN"}, {math.Inf(1), 5, "∞", "Inf"}, {math.Inf(-1), 5, "−∞", "-Inf"},
		{math.MaxFloat64, 3, "1.80×10³⁰⁸", "1.80e308"}, {math.SmallestNonzeroFloat64, 1, "5×10⁻³²⁴", "5e-324"},
	} {
		if got, ascii := FormatNumber(c.v, c.digits), FormatNumberASCII(c.v, c.digits); got != c.text || ascii != c.ascii {
			t.Errorf("%g to %d digits: %s and %s, want %s and %s", c.v, c.digits, got, ascii, c.text, c.ascii)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.OneOf(rapid.Float64Range(-1e300, 1e300), rapid.Float64Range(-1, 1), rapid.Float64Range(-1e8, 1e8)).Draw(t, "value")
		digits := rapid.IntRange(1, 17).Draw(t, "digits")
		got := parseFloat(t, FormatNumberASCII(v, digits))
		if math.Abs(v) > 1e-290 && math.Abs(got-v) > 0.5000001*math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-float64(digits)+1)+1e-15*math.Abs(v) {
			t.Fatalf("%g to %d digits is %s", v, digits, FormatNumberASCII(v, digits))
		}
	})
}

func parseFloat(t *rapid.T, s string) float64 {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
