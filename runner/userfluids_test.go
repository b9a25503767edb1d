package runner

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"workings/runner/notebook"
)

const ownFluids = `fluids:
  - name: exhaust
    molar_mass: 28.6 kg/kmol
    source: Data sheet ES-12 of an invented engine
    cp:
      - {from: 250 K, to: 1800 K, unit: kJ/(kg·K), coefficients: [1, 1e-4]}
    reference: {T: 300 K, p: 2 bar, h: 10 kJ/kg, s: 1 kJ/(kg·K)}
  - name: air
    molar_mass: 0.0290 kg/mol
    source: "A printed table, typed in"
    table: |
      // Invented figures.
      T/°F, cp/(Btu/(lbm·Δ°F))
      0, 0.24
      500, 0.25
      1000, 0.27
`

const named = "---\nfluids: own.yaml\n---\n\n"

// The integrals of cp = 1000 + 0.1·T J/(kg·K) in closed form; hand-derived.
func TestOwnFluid(t *testing.T) {
	r := build(t, named+fence("calc", "fluid g = exhaust", "state 1 = g(p = 2 bar, T = 300 K)", "state 2 = g(p = 6 bar, T = 900 K)",
		"state 3 = g(p = p2, h = h2)", "state 4 = g(p = p2, s = s2)", "state 5 = g(h = h2, s = s2)", "r_g = R_g", "cp_m = cp_2",
		"fluid air", "state 6 = air(p = 1 bar, T = 250 °F)", "cp_a = cp_6", "accept fluids-shadow on air // figures of the printed table are wanted"), "own.yaml", ownFluids)
	R := 8.31446261815324 / 0.0286
	near(t, "R", value(t, r, "r_g"), R, 1e-12)
	near(t, "h1", value(t, r, "h1"), 10e3, 1e-10)
	near(t, "s1", value(t, r, "s1"), 1e3, 1e-10)
	near(t, "h2", value(t, r, "h2"), 10e3+1000*600+0.05*(900*900-300*300), 1e-12)
	near(t, "s2", value(t, r, "s2"), 1e3+1000*math.Log(3)+0.1*600-R*math.Log(3), 1e-12)
	near(t, "cp2", value(t, r, "cp_m"), 1090, 1e-12)
	for _, s := range []string{"T3", "T4", "T5"} {
		near(t, s, value(t, r, s), 900, 1e-10)
	}
	near(t, "p5", value(t, r, "p5"), 6e5, 1e-9)
	near(t, "cp of the table", value(t, r, "cp_a"), 0.245*4186.8, 1e-9) // Btu of the International Table: 1 Btu/(lbm·°F) = 4186.8 J/(kg·K)
	if r.ExitCode() != ExitWell || !strings.Contains(string(printed(t, r)), "accepted") {
		t.Errorf("problems:\n%s", printed(t, r))
	}
	var page, trace bytes.Buffer
	if err := r.HTML(&page); err != nil {
		t.Fatal(err)
	}
	if err := r.JSON(&trace); err != nil {
		t.Fatal(err)
	}
	validate(t, compileSchema(t), trace.Bytes())
	if text := page.String(); !strings.Contains(text, "Data sheet ES-12 of an invented engine; typed in own.yaml") || !strings.Contains(text, "A printed table, typed in; typed in own.yaml") {
		t.Error("the sheet does not show the sources of the fluids")
	}
	if text := trace.String(); !strings.Contains(text, `Data sheet ES-12 of an invented engine","version":"typed in own.yaml"`) || !strings.Contains(text, `A printed table, typed in","version":"typed in own.yaml"`) {
		t.Error("the trace does not give the sources of the fluids")
	}
}

// A used notebook has its own files of fluids, below its own folder; one fluid's zero is no other's.
func TestOwnFluidOfUsedSheet(t *testing.T) {
	used := named + fence("calc", "fluid exhaust", "state 1 = exhaust(p = 2 bar, T = 300 K)", "h_u = h1")
	r := build(t, fence("calc", `use "sub/used.md" as u`, "y = u.h_u + 1 kJ/kg", "fluid exhaust"), "sub/used.md", used, "sub/own.yaml", ownFluids)
	near(t, "y", value(t, r, "y"), 11e3, 1e-10)
	if !has(r, "unknown-gas") { // of the using sheet, which names no file
		t.Errorf("problems:\n%s", printed(t, r))
	}
	r = build(t, named+fence("calc", "fluid exhaust", "fluid N2", "state 1 = exhaust(p = 2 bar, T = 300 K)", "state 2 = N2(p = 2 bar, T = 300 K)", "y = h1 - h2"), "own.yaml", ownFluids)
	if !has(r, "datum") {
		t.Errorf("a difference of two zeros was taken:\n%s", printed(t, r))
	}
}

// Files made to take quadratic time or deep recursion are refused, or read, at once: without the
// bounds this test takes some twenty seconds.
func TestOwnFluidsBounded(t *testing.T) {
	n := notebook.MaxFluids - 100
	row := func(s string) string { return strings.Repeat(s, n/len(s)) }
	var deep strings.Builder
	for i := 0; deep.Len()+2*i < n; i++ {
		deep.WriteString(strings.Repeat(" ", i) + "a:\n")
	}
	var table strings.Builder
	table.WriteString("fluids:\n  - name: g\n    molar_mass: 29 kg/kmol\n    source: invented\n    table: |\n      T/K, cp/(J/(kg·K))\n")
	for i := range 5000 {
		fmt.Fprintf(&table, "      %d, 1000\n", 200+i)
	}
	for name, text := range map[string]string{
		"brackets": row("["), "braces": row("{a: "), "list": "fluids:\n" + row("  - a\n"), "keys": row("a: 1\n"), "fluids": "fluids:\n" + row("  - name: a\n"),
		"deep": deep.String(), "dashes": row("- "), "anchors": row("&a "), "quotes": row("\"a"), "colons": row(": "), "blanks": row(" "), "lines": row("\n"),
		"comment": row("# a\n"), "table": table.String(), "literal": "fluids:\n  - table: |\n" + row("      a\n"), "coefficients": "fluids:\n - cp:\n   - coefficients: [" + row("1, ") + "]",
		"documents": row("---\n"), "long": row("a"), "rows": "fluids:\n - cp:\n   - coefficients:\n" + row("      - 1\n"), "long lines": "fluids:\n - cp:\n   - coefficients: [" + row(strings.Repeat("1, ", 600)+"\n      ") + "]", "question": row("? a\n"), "commas": "fluids: {" + row("a: b, ") + "}", "too long": strings.Repeat("a\n", notebook.MaxFluids),
	} {
		r := build(t, named+fence("calc", "fluid g", "x = 1"), "own.yaml", text)
		if !has(r, "fluids-file") && !has(r, "fluids-key") && !has(r, "fluids-value") && !has(r, "fluids-data") {
			t.Errorf("%s: %s", name, head(printed(t, r)))
		}
	}
}

// FuzzOwnFluids: whatever a file of fluids holds, nothing panics and every place lies in its file.
func FuzzOwnFluids(f *testing.F) {
	f.Add(ownFluids)
	for _, name := range []string{"own-fluids.yaml", "own-fluids-list.yaml", "own-fluids-syntax.yaml"} {
		text, err := os.ReadFile(problemDir + "/" + name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(text))
	}
	f.Fuzz(func(t *testing.T, text string) {
		fsys := fstest.MapFS{"notebook.md": {Data: []byte(named + fence("calc", "fluid exhaust", "state 1 = exhaust(p = 1 bar, T = 300 K)", "y = h1"))}, "own.yaml": {Data: []byte(text)}}
		r, err := Build(fsys, "notebook.md", options())
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range r.Problems() {
			checkProblem(t, p)
		}
		printed(t, r)
		if v, ok := r.Trace.Value(r.Trace.Sheet.Symbol("", "y")); !ok && len(r.Problems()) == 0 || ok && math.IsNaN(v.SI) {
			t.Fatalf("no value and no problem: %v", v)
		}
	})
}
