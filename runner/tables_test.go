package runner

import (
	"encoding/csv"
	"fmt"
	"strings"
	"testing"
)

const tabulated = `---
ambient: 100 kPa
---
` + "```calc\nfluid air\nstate 1 = air(p = 0 kPag, T = 15 °C)\nstate 2s = air(p = 7 barg, s = s1)\nstate x = air(p = 812345.678 Pa, T = 1/3*1000 K)\ncv_x = u_x/T_x\n```\n\n" +
	"```table\nstates 1, 2s, x\ncolumns p in barg, T in °C, h in Btu/lbm, s in kJ/(kg·K), rho\n```\n\n```table\nsymbols cv_x, h2s in kJ/kg\n```\n"

// The file of a table of states, read by a data fence, gives the numbers of the sheet again.
func TestTableReadBack(t *testing.T) {
	r := build(t, tabulated)
	for _, p := range r.Problems() {
		t.Errorf("%s", p.Message)
	}
	files := r.Tables()
	if len(files) != 2 || files[0].Name != "table-1" || files[1].Name != "table-2" {
		t.Fatalf("files %+v", files)
	}
	text := string(files[0].Text)
	if head, _, _ := strings.Cut(text, "\r\n"); head != "state,row/1,p/barg,T/°C,h/(Btu/lbm),s/(kJ/(kg·K)),rho/(kg/m³)" {
		t.Errorf("head %q", head)
	}
	back := "---\nambient: 100 kPa\n---\n```data again from \"states.csv\"\n```\n```calc\n"
	ids := []string{"1", "2s", "x"}
	for i, id := range ids {
		for _, q := range []string{"p", "T", "h", "s", "rho"} {
			back += fmt.Sprintf("%s_%s = again.%s(row = %d)\n", q, id, q, i+1)
		}
	}
	b := build(t, back+"```\n", "states.csv", text)
	n := 0
	for _, id := range ids {
		for _, q := range []string{"p", "T", "h", "s", "rho"} {
			name := q + "_" + id
			near(t, name, value(t, b, name), value(t, r, name), 2.3e-16)
			n++
		}
	}
	if n != 15 {
		t.Errorf("%d figures compared", n)
	}
}

// A table of symbols is read by any program: one row each, the value unrounded.
func TestSymbolTableFile(t *testing.T) {
	r := build(t, tabulated)
	rows, err := csv.NewReader(strings.NewReader(string(r.Tables()[1].Text))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if got := fmt.Sprint(rows[0]); got != "[symbol value unit]" {
		t.Errorf("head %s", got)
	}
	if len(rows) != 3 || rows[2][0] != "h2s" || rows[2][2] != "kJ/kg" {
		t.Errorf("rows %q", rows)
	}
}
