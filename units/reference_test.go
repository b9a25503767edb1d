package units

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// readReference returns the rows of a file in testdata/reference, each by column name. Its README says where they come from.
func readReference(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "testdata", "reference", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	for _, rec := range records[1:] {
		row := map[string]string{}
		for i, head := range records[0] {
			row[head] = rec[i]
		}
		rows = append(rows, row)
	}
	if len(rows) == 0 {
		t.Fatalf("%s: no row ran", name)
	}
	return rows
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func relative(got, want float64) float64 {
	if got == want {
		return 0
	}
	return math.Abs(got-want) / math.Max(math.Abs(got), math.Abs(want))
}

func parseOK(t *testing.T, text string) Unit {
	t.Helper()
	u, err := Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return u
}

// gnuNames maps the names of units_check.csv to this package's spellings, where they differ.
var gnuNames = map[string]string{
	"BTU_IT": "Btu", "BTU_th": "Btu_th", "MMBTU_IT": "MMBtu", "cal_IT": "cal", "kcal_IT": "kcal", "therm_US": "therm",
	"hp_metric": "PS", "in": "inch", "lb": "lbm", "P": "poise", "g0": "g_n",
	"degC_diff": "Δ°C", "degF_diff": "Δ°F", "degR_diff": "°R",
}

var (
	gnuWord = regexp.MustCompile(`[A-Za-z][A-Za-z_0-9]*`)
	gnuTail = regexp.MustCompile(`^(.*[A-Za-z])([23])$`)
)

// fromGNU spells a unit of units_check.csv as this package does. Inside a compound degF and degC are differences.
func fromGNU(name string, point bool) string {
	return gnuWord.ReplaceAllStringFunc(name, func(w string) string {
		power := ""
		if _, own := symbols()[w]; !own {
			if m := gnuTail.FindStringSubmatch(w); m != nil {
				w, power = m[1], "^"+m[2]
			}
		}
		if !point && (w == "degF" || w == "degC") {
			return "Δ" + w
		}
		if ours, ok := gnuNames[w]; ok {
			w = ours
		}
		return w + power
	})
}

// Reference: GNU units 2.22 (units database 3.15, Sept 2022), 15 significant digits; see testdata/reference/README.md.
func TestConversionsAgainstGNUUnits(t *testing.T) {
	for i, row := range readReference(t, "units_check.csv") {
		point := row["quantity"] == "temperature (absolute)"
		from := parseOK(t, fromGNU(row["from_unit"], point))
		to := parseOK(t, fromGNU(row["to_unit"], point))
		got, err := Convert(number(t, row["from_value"]), from, to, 0)
		if err != nil {
			t.Errorf("row %d: %v", i+2, err)
			continue
		}
		want := number(t, row["to_value"])
		if math.Abs(want) < 1e-12 && point {
			// The one row in which exact arithmetic gives 0 and the reference rounding noise.
			if math.Abs(got-want) > 1e-9 {
				t.Errorf("row %d: %s %s is %.15g %s, want 0", i+2, row["from_value"], from, got, to)
			}
			continue
		}
		if relative(got, want) > 1e-13 {
			t.Errorf("row %d: %s %s is %.15g %s, want %.15g", i+2, row["from_value"], from, got, to, want)
		}
	}
}

// ucumAtoms maps UCUM codes to a figure and this package's spelling. Only [ly] and [mu_0] are no units here: the light year
// has no use in the trade and the magnetic constant is no unit; they stand for their defined values in metres and N/A².
var ucumAtoms = map[string]struct {
	figure float64
	ours   string
}{
	"[pi]": {math.Pi, ""}, "[ly]": {9460730472580800, "m"}, "[mu_0]": {4 * math.Pi * 1e-7, "N*A^-2"},
	"m[Hg]": {1000, "mmHg"}, "mm[Hg]": {1, "mmHg"}, "[in_i'Hg]": {1, "inHg"}, "[in_i'H2O]": {1, "inH2O"}, "[psi]": {1, "psi"},
	"att": {1, "kgf*cm^-2"}, "[Btu_IT]": {1, "Btu"}, "[Btu_th]": {1, "Btu_th"}, "cal_IT": {1, "cal"}, "[HP]": {1, "hp"},
	"[lb_av]": {1, "lbm"}, "[oz_av]": {1, "oz"}, "[lton_av]": {1, "ton_long"}, "[ston_av]": {1, "ton_short"},
	"[lbf_av]": {1, "lbf"}, "[in_i]": {1, "inch"}, "[ft_i]": {1, "ft"}, "[yd_i]": {1, "yd"}, "[mi_i]": {1, "mi"},
	"[nmi_i]": {1, "nmi"}, "[sft_i]": {1, "ft^2"}, "[cft_i]": {1, "ft^3"}, "[gal_us]": {1, "gal_US"}, "[gal_br]": {1, "gal_UK"},
	"[bbl_us]": {1, "bbl"}, "[kn_i]": {1, "knot"}, "[degR]": {1, "degR"}, "[g]": {1, "g_n"}, "circ": {1, "rev"},
	"S": {1, "siemens"}, "C": {1, "coulomb"}, "P": {1, "poise"},
}

var ucumPart = regexp.MustCompile(`^(\[[^\]]*\]|[a-zA-Z_]+(?:\[[^\]]*\])?|10\*|[0-9]+)(-?[0-9]+)?$`)

// fromUCUM translates a UCUM case-sensitive code to a figure times a unit. UCUM reads strictly from left to right.
func fromUCUM(t *testing.T, code string) (float64, Unit) {
	t.Helper()
	figure := 1.0
	var parts []string
	sign := 1
	for code != "" {
		end := strings.IndexAny(code, "./")
		if end < 0 {
			end = len(code)
		}
		m := ucumPart.FindStringSubmatch(code[:end])
		if m == nil {
			t.Fatalf("UCUM code %q is not understood", code)
		}
		atom, exp := m[1], sign
		if m[2] != "" {
			exp *= int(number(t, m[2]))
		}
		switch entry, ok := ucumAtoms[atom]; {
		case ok:
			figure *= math.Pow(entry.figure, float64(exp))
			if entry.ours != "" {
				for _, part := range strings.Split(entry.ours, "*") {
					name, own, _ := strings.Cut(part, "^")
					power := 1
					if own != "" {
						power = int(number(t, own))
					}
					parts = append(parts, name+"^"+strconv.Itoa(power*exp))
				}
			}
		case atom == "10*":
			figure *= math.Pow(10, float64(exp))
		case atom[0] >= '0' && atom[0] <= '9':
			figure *= math.Pow(number(t, atom), float64(sign))
		default:
			parts = append(parts, atom+"^"+strconv.Itoa(exp))
		}
		sign = 1
		if end < len(code) {
			if code[end] == '/' {
				sign = -1
			}
			end++
		}
		code = code[end:]
	}
	if len(parts) == 0 {
		return figure, Unit{}
	}
	return figure, parseOK(t, strings.Join(parts, "*"))
}

// halfDigit is half a unit in the last significant digit of a printed figure; zeros at the end of a whole number do not count.
func halfDigit(t *testing.T, printed string) float64 {
	t.Helper()
	mantissa, exponent, _ := strings.Cut(printed, "e")
	exp := 0
	if exponent != "" {
		exp = int(number(t, exponent))
	}
	if _, decimals, found := strings.Cut(mantissa, "."); found {
		exp -= len(decimals)
	} else {
		exp += len(mantissa) - len(strings.TrimRight(mantissa, "0"))
	}
	return 0.5 * math.Pow(10, float64(exp))
}

// Reference: the UCUM functional tests (history to 3-Feb 2021); see testdata/reference/README.md. Their outcomes carry only
// the significant digits of the input.
func TestUCUMFunctionalCases(t *testing.T) {
	for _, row := range readReference(t, "ucum_cases.csv") {
		si := func(value, unit string) (float64, Dimension) {
			figure, u := fromUCUM(t, unit)
			return u.ToSI(figure*number(t, value), 0), u.Dimension()
		}
		got, d := si(row["value1"], row["unit1"])
		switch row["kind"] {
		case "multiplication":
			v2, d2 := si(row["value2"], row["unit2"])
			got, d = got*v2, d.Mul(d2)
		case "division":
			v2, d2 := si(row["value2"], row["unit2"])
			got, d = got/v2, d.Div(d2)
		case "conversion":
		default:
			t.Fatalf("%s: unknown kind %q", row["id"], row["kind"])
		}
		figure, to := fromUCUM(t, row["result_unit"])
		if d != to.Dimension() {
			t.Errorf("%s: %s is not %s", row["id"], d, to.Dimension())
			continue
		}
		got = to.FromSI(got, 0) / figure
		want := number(t, row["result_value"])
		if math.Abs(got-want) > halfDigit(t, row["result_value"])*(1+1e-9)+1e-14*math.Abs(want) {
			t.Errorf("%s: got %.15g %s, want %s", row["id"], got, to, row["result_value"])
		}
	}
}

// Reference: UCUM (npm @lhncbc/ucum-lhc 7.1.10) beside GNU units 2.22; see testdata/reference/README.md. UCUM rounds the
// definition of three units, and only of these.
func TestFactorsAgainstUCUM(t *testing.T) {
	rounded := map[string]float64{"mm[Hg]": 3e-6, "[in_i'Hg]": 3e-6, "[Btu_th]": 3e-7}
	met := 0
	for _, row := range readReference(t, "units_ucum_cross.csv") {
		figure, from := fromUCUM(t, row["ucum_from"])
		_, to := fromUCUM(t, row["ucum_to"])
		got, err := Convert(figure, from, to, 0)
		if err != nil {
			t.Errorf("%s: %v", row["ucum_from"], err)
			continue
		}
		if want := number(t, row["gnu_value"]); relative(got, want) > 1e-13 {
			t.Errorf("%s: got %.15g %s, GNU units has %.15g", row["ucum_from"], got, to, want)
		}
		limit := 1e-13
		if l, ok := rounded[row["ucum_from"]]; ok {
			limit = l
			met++
		}
		if want := number(t, row["ucum_value"]); relative(got, want) > limit {
			t.Errorf("%s: got %.15g %s, UCUM has %.15g", row["ucum_from"], got, to, want)
		}
	}
	if met != len(rounded) {
		t.Errorf("%d of the %d rounded rows were met", met, len(rounded))
	}
}

// Every unit of the table is met in a reference file, or stands here with its factor.
func TestEveryUnitIsHeldAgainstAReference(t *testing.T) {
	met := map[string]bool{}
	see := func(text string) {
		for text != "" {
			n := symbolLen(text)
			if n == 0 {
				text = text[1:]
				continue
			}
			if sym, ok := symbols()[text[:n]]; ok {
				met[sym.text] = true
			}
			text = text[n:]
		}
	}
	for _, row := range readReference(t, "units_check.csv") {
		point := row["quantity"] == "temperature (absolute)"
		see(fromGNU(row["from_unit"], point))
		see(fromGNU(row["to_unit"], point))
	}
	// SI Brochure, 9th ed., tables 4 and 5, and NIST SP 811 (2008), Appendix B.8: figures from memory.
	// The gauge units are the factors of their absolute counterparts.
	others := map[string]struct {
		factor float64
		si     string
	}{
		"Hz": {1, "s^-1"}, "cfm": {4.719474432e-4, "m^3/s"}, "gpm": {6.30901964e-5, "m^3/s"}, "gf": {9.80665e-3, "N"},
		"stokes": {1e-4, "m^2/s"}, "psia": {6894.75729316836, "Pa"}, "ftH2O": {2989.06692, "Pa"}, "Pag": {1, "Pa"},
		"barg": {1e5, "Pa"}, "psig": {6894.75729316836, "Pa"}, "kBtu": {1055055.85262, "J"}, "erg": {1e-7, "J"},
		"hp_electric": {746, "W"}, "%": {0.01, "1"}, "%pt": {0.01, "1"}, "%rel": {0.01, "1"}, "ppm": {1e-6, "1"}, "ppb": {1e-9, "1"},
		"A": {1, "A"}, "coulomb": {1, "A*s"}, "V": {1, "W/A"}, "Ω": {1, "V/A"}, "siemens": {1, "A/V"}, "farad": {1, "coulomb/V"},
		"weber": {1, "V*s"}, "tesla": {1, "weber/m^2"}, "henry": {1, "weber/A"},
	}
	for _, e := range All() {
		o, listed := others[e.Symbol]
		switch {
		case !listed && !met[e.Symbol] && !metWithPrefix(met, e):
			t.Errorf("%s is in no reference file and not listed here", e.Symbol)
		case listed:
			if relative(e.Unit.Factor(), o.factor) > 1e-13 {
				t.Errorf("%s: factor %.15g, want %.15g", e.Symbol, e.Unit.Factor(), o.factor)
			}
			if d := parseOK(t, o.si).Dimension(); d != e.Unit.Dimension() {
				t.Errorf("%s: dimension %s, want that of %s, %s", e.Symbol, e.Unit.Dimension(), o.si, d)
			}
		}
	}
}

func metWithPrefix(met map[string]bool, e Entry) bool {
	for _, p := range prefixes() {
		if e.Prefixes && met[p.text+e.Symbol] {
			return true
		}
	}
	return false
}
