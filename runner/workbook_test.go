package runner

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/xuri/excelize/v2"
)

// workbook renders a result as a workbook and reads it back.
func workbook(t *testing.T, r *Result) *excelize.File {
	t.Helper()
	var b bytes.Buffer
	if err := r.Workbook(&b); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(&b)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

// traced are the symbols of the trace in SI.
func traced(t *testing.T, r *Result) map[string]float64 {
	t.Helper()
	var b bytes.Buffer
	if err := r.JSON(&b); err != nil {
		t.Fatal(err)
	}
	var trace struct {
		Symbols map[string]struct{ SI float64 }
	}
	if err := json.Unmarshal(b.Bytes(), &trace); err != nil {
		t.Fatal(err)
	}
	out := map[string]float64{}
	for name, s := range trace.Symbols {
		out[name] = s.SI
	}
	return out
}

func calculated(t *testing.T, f *excelize.File, sheet, cell string) string {
	t.Helper()
	v, err := f.CalcCellValue(sheet, cell, excelize.Options{RawCellValue: true})
	if err != nil {
		t.Errorf("%s!%s: %v", sheet, cell, err)
	}
	return v
}

// The calculation engine of excelize, which knows nothing of ours, finds the figures of the trace
// from the formulas of the workbook: in every notebook that comes with the tool, from its inputs and
// what was looked up.
func TestWorkbookRecomputes(t *testing.T) {
	formulas, values := 0, 0
	for _, name := range shipped(t) {
		t.Run(name, func(t *testing.T) {
			r, err := Build(os.DirFS("../notebooks"), name, options())
			if err != nil {
				t.Fatal(err)
			}
			want := traced(t, r)
			f := workbook(t, r)
			for _, sheet := range []string{"Inputs", "Lines"} {
				rows, err := f.GetRows(sheet, excelize.Options{RawCellValue: true})
				if err != nil {
					t.Fatal(err)
				}
				for i, row := range rows[1:] {
					if len(row) < 11 || row[1] == "" {
						continue
					}
					cell := "F" + strconv.Itoa(i+2)
					if stands := calculated(t, f, sheet, "K"+strconv.Itoa(i+2)); stands != "current" && stands != "as rendered" {
						t.Errorf("%s!K%d: %q before anything is changed", sheet, i+2, stands)
					}
					formula, err := f.GetCellFormula(sheet, cell)
					if err != nil {
						t.Fatal(err)
					}
					si, known := want[row[1]]
					if !known { // local to a method: as rendered
						si, err = strconv.ParseFloat(row[5], 64)
						if err != nil {
							continue // true or false
						}
					}
					if formula == "" {
						values++
						continue
					}
					formulas++
					got := calculated(t, f, sheet, cell)
					x, err := strconv.ParseFloat(got, 64)
					if got == "TRUE" || got == "FALSE" {
						x, err = map[string]float64{"TRUE": 1, "FALSE": 0}[got], nil
					}
					// A first-law residual is the rounding of its terms and nothing else.
					if err != nil || math.Abs(x-si) > 1e-12*math.Abs(si)+1e-14 {
						t.Errorf("%s!%s %s = %s gives %s, the trace has %v", sheet, cell, row[1], formula, got, si)
					}
				}
			}
			checks, err := f.GetRows("Checks")
			if err != nil {
				t.Fatal(err)
			}
			for i, row := range checks[1:] {
				cell := "H" + strconv.Itoa(i+2)
				if formula, _ := f.GetCellFormula("Checks", cell); formula != "" {
					formulas++
					if got := calculated(t, f, "Checks", cell); got != row[8] && !strings.HasPrefix(row[8], "accepted") {
						t.Errorf("check %s %s: %s gives %s, the sheet says %s", row[0], row[2], formula, got, row[8])
					}
				}
			}
		})
	}
	t.Logf("%d formulas, %d values", formulas, values)
	if formulas < 1000 {
		t.Errorf("only %d formulas were computed", formulas)
	}
}

const gasHeater = `---
title: "=HYPERLINK(\"http://example.invalid\")"
ambient: 100 kPa
---
` + "```inputs\n" + `T_1 = 20 °C ± 2 K       // =1+1 [^log]
p1 = 0.5 barg           // +inlet
R = 287 J/(kg·K)        // @gas constant
r_p = 8 within 4 .. 16
lossy = 3 %
` + "```\n\n```assume\n-x: no\ndry: the gas is dry // -to confirm\n```\n\n```calc\n" + `rho = p1/(R*T_1)
p2 = r_p*p1*(1 - lossy) in barg
big = p2 > 5 bar and r_p >= 2 ? -(r_p - 1)^2 : ln(r_p)
deep = 2^3^2 - (4 - (3 - sqrt(r_p)))/2/3 + mean(1, r_p, 3) - abs(-r_p)
warm = T_1 + 5 K in °C
fluid air
state 1 = air(p1, T_1)
state 2 = air(p = p2, h = h1 + r_p*10 kJ/kg)
dh = h2 - h1
w = T2*(1 kJ/(kg·K))
check dh == r_p*10 kJ/kg within 0.1 %
check p2 within 5 barg .. 20 barg
caution rho < 1 kg/m^3
` + "```\n\n```answers\np2 in barg\nw in kJ/kg\n```\n\n[^log]: =cmd|' /C calc'!A0\n"

// An input changed in the workbook gives what the notebook gives with that input; what cannot
// follow is called stale.
func TestWorkbookFollows(t *testing.T) {
	r := build(t, gasHeater)
	f := workbook(t, r)
	row := map[string][2]string{} // symbol → sheet and row
	for _, sheet := range []string{"Inputs", "Lines"} {
		rows, err := f.GetRows(sheet)
		if err != nil {
			t.Fatal(err)
		}
		for i, cells := range rows {
			if len(cells) > 1 && cells[1] != "" {
				row[cells[1]] = [2]string{sheet, strconv.Itoa(i + 1)}
			}
		}
	}
	at := func(symbol, col string) string { return calculated(t, f, row[symbol][0], col+row[symbol][1]) }
	set := func(symbol string, v float64) {
		if err := f.SetCellFloat("Inputs", "D"+row[symbol][1], v, -1, 64); err != nil {
			t.Fatal(err)
		}
	}
	set("r_p", 12)
	set("T_1", 35)
	opts := options()
	opts.Set = []string{"r_p=12", "T_1=35 °C"}
	again, err := Build(fstest.MapFS{"notebook.md": {Data: []byte(gasHeater)}}, "notebook.md", opts)
	if err != nil {
		t.Fatal(err)
	}
	want := traced(t, again)
	for _, s := range []string{"T_1", "p1", "rho", "p2", "big", "deep", "warm"} {
		x, err := strconv.ParseFloat(at(s, "F"), 64)
		if err != nil || math.Abs(x-want[s]) > 1e-12*math.Abs(want[s]) {
			t.Errorf("%s is %s in the workbook, %v in the notebook", s, at(s, "F"), want[s])
		}
	}
	if got, _ := strconv.ParseFloat(at("p2", "D"), 64); math.Abs(got-(want["p2"]-1e5)/1e5) > 1e-12 {
		t.Errorf("p2 shows as %v barg", got)
	}
	for s, stands := range map[string]string{"r_p": "changed", "R": "as rendered", "rho": "current", "p2": "current", "T2": "stale", "w": "stale", "h1": "stale", "dh": "stale"} {
		if got := at(s, "K"); got != stands {
			t.Errorf("%s stands as %q, want %q", s, got, stands)
		}
	}
	for i, verdict := range []string{"holds", "holds", "fails"} {
		cell := "H" + strconv.Itoa(i+2)
		if got := calculated(t, f, "Checks", cell); got != verdict {
			t.Errorf("check %d: %s", i+1, got)
		}
	}
}

// Text of a notebook is text in the workbook, whatever it begins with, and the workbook names
// neither a person nor a time.
func TestWorkbookIsText(t *testing.T) {
	f := workbook(t, build(t, gasHeater))
	n := 0
	for _, sheet := range f.GetSheetList() {
		rows, err := f.GetRows(sheet)
		if err != nil {
			t.Fatal(err)
		}
		for i, cells := range rows {
			for j, text := range cells {
				cell, _ := excelize.CoordinatesToCellName(j+1, i+1)
				formula, _ := f.GetCellFormula(sheet, cell)
				if strings.ContainsAny(formula, "|!\"") && strings.Contains(formula, "cmd") || strings.Contains(formula, "HYPERLINK") {
					t.Errorf("%s!%s is the formula %s", sheet, cell, formula)
				}
				if text != "" && strings.ContainsAny(text[:1], "=+@") {
					n++
					if kind, _ := f.GetCellType(sheet, cell); formula != "" || kind != excelize.CellTypeInlineString && kind != excelize.CellTypeSharedString {
						t.Errorf("%s!%s %q is no text (%v, %s)", sheet, cell, text, kind, formula)
					}
				}
			}
		}
	}
	if n < 5 {
		t.Errorf("only %d such texts", n)
	}
	p, err := f.GetDocProps()
	if err != nil || p.Creator != "Workings" || p.LastModifiedBy != "Workings" || !strings.HasPrefix(p.Created, "1980-") {
		t.Errorf("properties %+v, %v", p, err)
	}
	summary, _ := f.GetRows("Summary")
	text := ""
	for _, cells := range summary {
		text += strings.Join(cells, " ") + "\n"
	}
	for _, want := range []string{"Not verified for design use", "SHA-256 of the notebook " + fmt.Sprintf("%x", sha256.Sum256([]byte(gasHeater)))} {
		if !strings.Contains(text, want) {
			t.Errorf("the summary does not say %q:\n%s", want, text)
		}
	}
}

// What the inputs do to an answer stands in the workbook as numbers, as far as it is numbers.
func TestWorkbookOfUncertainties(t *testing.T) {
	r, _ := sensitivitiesOf(t, "monte carlo 1000", fence("inputs", "a = 1e-5 ± 1e-6", "b = 2 ± 0.5")+fence("calc", "y = a - 3*a*b")+fence("answers", "y"))
	f := workbook(t, r)
	rows, err := f.GetRows("Uncertainty", excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	found := map[string][]string{}
	for i, row := range rows {
		if len(row) > 3 {
			found[row[0]] = row
			if kind, _ := f.GetCellType("Uncertainty", "D"+strconv.Itoa(i+1)); row[0] == "b" && kind != excelize.CellTypeUnset && kind != excelize.CellTypeNumber {
				t.Errorf("the contribution of b is of kind %v", kind)
			}
		}
	}
	for name, want := range map[string][]float64{"b": {-3e-5, 1.5e-5}, "first order": {-5e-5, 1.6e-5}} {
		for i, column := range []int{map[string]int{"b": 2, "first order": 1}[name], map[string]int{"b": 3, "first order": 2}[name]} {
			if v, err := strconv.ParseFloat(found[name][column], 64); err != nil || math.Abs(v-want[i]) > 1e-12 {
				t.Errorf("%s: %q, want %g", name, found[name], want[i])
			}
		}
	}
}
