package runner

import (
	"bytes"
	"strings"
	"testing"
	"testing/fstest"
)

// pages are notebooks that use each other; the first is built.
func buildPages(t testing.TB, page string, used map[string]string) *Result {
	t.Helper()
	fsys := fstest.MapFS{"x.md": {Data: []byte(strings.ReplaceAll(page, "'''", "```"))}}
	for name, text := range used {
		fsys[name] = &fstest.MapFile{Data: []byte(strings.ReplaceAll(text, "'''", "```"))}
	}
	r, err := Build(fsys, "x.md", options())
	if err != nil {
		t.Fatal(err)
	}
	return r
}

const usedCycle = plainCycle + `
'''cycle plant
1 -> 2 compressor
2 -> 3 heater
3 -> 4 turbine
4 -> 1 cooler
'''
'''study ratio
vary r_p from 2 to 30 in 8 points
keep eta_th, w_net, plant.eta
mark largest w_net
'''
'''study machines
vary eta_c over 0.8, 0.9, 1, 1.1
keep eta_th
'''
'''study fluids
vary r_p from 2 to 30 in 8 points
for gas over gas, air
keep eta_th
'''
'''study best
seek largest w_net by r_p in 2 .. 30
'''
`

// A study of a used sheet belongs to that sheet: it is evaluated on this one only where a chart draws
// it, and then with the inputs that this sheet hands on, as on a sheet of its own with these inputs.
func TestStudyOfUsedSheet(t *testing.T) {
	const page = `
'''inputs
T_hot = 1500 K
'''
'''calc
use "gt.md" as gt
use "gt.md" as hot with T3 = T_hot, eta_c = 0.9
'''
'''study ratio
vary T_hot from 1300 K to 1500 K in 3 points
keep hot.eta_th, gt.eta_th, hot.plant.eta
'''
'''chart
eta_th, plant.eta against r_p from hot.ratio
'''
'''chart
hot.w_net against hot.r_p from hot.ratio
logarithmic hot.r_p
'''
'''chart
hot.eta_th, gt.eta_th, hot.plant.eta against T_hot from ratio
'''
'''chart
eta_th against eta_c from gt.machines
'''
'''chart
eta_th against r_p from hot.fluids
'''
`
	r := wellBuilt(t, buildPages(t, page, map[string]string{"gt.md": usedCycle}))
	alone := wellBuilt(t, buildText(t, usedCycle, func(o *Options) { o.Set = []string{"T3=1500 K", "eta_c=0.9"} }))
	var names []string
	for _, s := range r.Studies {
		names = append(names, s.Of.Full())
	}
	if got := strings.Join(names, " "); got != "ratio hot.ratio gt.machines hot.fluids" {
		t.Fatalf("the studies of the page are %s", got)
	}
	for _, pair := range [][2]int{{1, 0}, {3, 2}} {
		here, there := r.Studies[pair[0]], alone.Studies[pair[1]]
		for i, s := range here.Series {
			for k, column := range s.Kept {
				for point, v := range column {
					if v != there.Series[i].Kept[k][point] {
						t.Fatalf("%s, series %d, point %d: %v here and %v on the sheet itself", here.Of.Full(), i, point, v, there.Series[i].Kept[k][point])
					}
				}
			}
		}
	}
	if here, there := r.Studies[1].Series[0].Marks[0].At[0], alone.Studies[0].Series[0].Marks[0].At[0]; here != there {
		t.Errorf("marked at %v here, at %v on the sheet itself", here, there)
	}
	// Its own cycle is audited: the other variant's compressor is not touched.
	if s := r.Studies[2]; s.Audited != 4 || s.Faulty != 1 {
		t.Errorf("%d points audited, %d of them faulty", s.Audited, s.Faulty)
	}
	var b bytes.Buffer
	if err := r.HTML(&b); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), "Study hot.ratio of gt.md: ") || !strings.Contains(b.String(), "Marks of study hot.ratio") {
		t.Error("the page does not say where the study stands and what it marks")
	}
	files := ""
	for _, f := range r.Tables() {
		files += f.Name + " "
	}
	if files != "study-ratio study-hot.ratio study-gt.machines study-hot.fluids " {
		t.Errorf("files %s", files)
	}
}

// What a used sheet does not evaluate here counts for nothing: two studies of 600,000 points of it, each
// within the limits, and used twenty times, do not make this sheet too long.
func TestStudiesOfUsedSheetsAreFree(t *testing.T) {
	used := plainCycle + "'''study a\nvary r_p from 2 to 30 in 600000 points\nkeep w_net\n'''\n'''study b\nvary T3 from 1200 K to 1500 K in 600000 points\nkeep w_net\n'''\n"
	page := "'''calc\n"
	for _, c := range "abcdefghijklmnopqrst" {
		page += "use \"gt.md\" as " + string(c) + "\n"
	}
	r := wellBuilt(t, buildPages(t, page+"'''\n", map[string]string{"gt.md": used}))
	if len(r.Studies) != 0 {
		t.Errorf("%d studies are evaluated", len(r.Studies))
	}
}

func TestStudyOfUsedSheetRefused(t *testing.T) {
	for _, c := range []struct{ chart, message, hint string }{
		{"eta_th against r_p from ratio", "no study on this sheet is called ratio", "did you mean gt.ratio?"},
		{"eta_th against r_p from gt.ratios", "no study on the sheet gt.md is called ratios", "did you mean ratio?"},
		{"eta_th against r_p from gt.x", "no study on the sheet gt.md is called x", "vary an input of this sheet in a study of its own, and hand it on: use … with NAME = NAME"},
		{"eta_th against r_p from gz.ratio", "no used sheet and no cycle is called gz", "did you mean gt?"},
		{"eta_th against p1 from gt.ratio", "the study gt.ratio does not vary p1", "it varies gt.r_p"},
		{"gas.eta_th against r_p from gt.ratio", "the study gt.ratio does not keep gas.eta_th", "did you mean gt.eta_th?"},
		{"w_net against r_p from gt.best", "gt.best seeks one point and has no curve", "vary an input in a study of its own"},
		{"eta_th, w_net against r_p from gt.ratio", "gt.eta_th is a dimensionless number and gt.w_net a specific enthalpy or specific work: they have no axis in common", "draw them in charts of their own"},
		{"gt.T against gt.s through 1, 2", "gt.T is no property of a state", "the properties are p, T, v, rho, h, s and u, cp, cv, k, c, R, M, Z, so, pr, vr"},
	} {
		t.Run(c.chart, func(t *testing.T) {
			r := buildPages(t, "'''calc\nuse \"gt.md\" as gt\n'''\n'''chart\n"+c.chart+"\n'''\n", map[string]string{"gt.md": usedCycle})
			for _, p := range r.Problems() {
				if p.Severity.String() == "error" && p.Message == c.message {
					if p.Hint != c.hint {
						t.Errorf("hint %q", p.Hint)
					}
					return
				}
			}
			for _, p := range r.Problems() {
				t.Errorf("%s: %s (%s)", p.Code, p.Message, p.Hint)
			}
		})
	}
}

// A name that is no symbol tells what it is.
func TestNamesThatAreNoSymbols(t *testing.T) {
	for name, hint := range map[string]string{
		"gt.ratio": "gt.ratio is a study, which has no single value: a chart draws it, … against … from gt.ratio",
		"gt.plant": "gt.plant is a cycle: its totals are gt.plant.eta, …",
		"gt.gas":   "gt.gas is a fluid and has no value",
		"mine":     "mine is a study, which has no single value: a chart draws it, … against … from mine",
		"printed":  "printed is a data table: write printed.column(key = value)",
	} {
		r := buildPages(t, "'''inputs\na = 1\n'''\n'''calc\nuse \"gt.md\" as gt\nb = 2*a\n'''\n'''study mine\nvary a from 1 to 2 in 3 points\nkeep b\n'''\n'''data printed\nT/K, h/(kJ/kg)\n300, 1\n310, 2\n'''\nIt is {"+name+"}.\n",
			map[string]string{"gt.md": usedCycle})
		found := ""
		for _, p := range r.Problems() {
			if p.Code == "unknown-symbol" {
				found = p.Hint
			}
		}
		if found != hint {
			t.Errorf("{%s}: hint %q", name, found)
		}
	}
}
