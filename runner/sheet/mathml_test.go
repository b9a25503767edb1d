package sheet

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"workings/runner/resolve"
	"workings/units"
)

func read(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// golden compares with testdata/name, or writes it where UPDATE_GOLDEN is set.
func golden(t *testing.T, name, got string) {
	t.Helper()
	if os.Getenv("UPDATE_GOLDEN") != "" {
		if err := os.WriteFile("testdata/"+name, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want := read(t, name)
	if got == want {
		return
	}
	g, w := strings.Split(got, "\n"), strings.Split(want, "\n")
	for i := range g {
		if i >= len(w) || g[i] != w[i] {
			line := ""
			if i < len(w) {
				line = w[i]
			}
			t.Fatalf("%s, line %d:\ngot  %s\nwant %s", name, i+1, g[i], line)
		}
	}
	t.Fatalf("%s: shorter than before", name)
}

// TestExpressions writes every line of expressions.md as MathML, as written and with its values.
func TestExpressions(t *testing.T) {
	doc, tr := build(read(t, "expressions.md"), nil)
	for _, p := range tr.Problems {
		t.Errorf("line %d: %s", p.Line(), p.Message)
	}
	p := newPage(doc, tr, Options{})
	var b strings.Builder
	for _, e := range tr.Entries {
		l := e.Line
		if l.Kind != resolve.Define {
			continue
		}
		fmt.Fprintf(&b, "%s\n", sourceText(l))
		p.b = p.b[:0]
		d := p.draft("")
		d.eq(p, "")
		p.mathSymbol(l.Defines[0])
		p.rhs()
		v, _ := p.value(l.Defines[0])
		p.formula(d, l.X, v, true)
		p.resultCell(l.Defines[0])
		b.WriteString("  " + strings.ReplaceAll(string(p.b), "</tr><tr>", "\n  ") + "\n\n")
	}
	golden(t, "expressions.golden", b.String())
}

// TestValuesPutInGiveTheResult evaluates what stands in `substituted` as a line of its own: with
// 15 digits shown it must give the line's own result.
func TestValuesPutInGiveTheResult(t *testing.T) {
	for _, name := range []string{"expressions.md", "plant.md"} {
		text := strings.Replace(read(t, name), "---\n", "---\ndigits: 15\n", 1)
		text = strings.Replace(text, "digits: 5\n", "", 1)
		var first struct {
			Lines []struct {
				ID, Kind, Substituted string
				Results               []struct {
					Symbol, Unit string
					SI           float64
				}
			}
		}
		if err := json.Unmarshal(traceOf(t, text, plantFiles(t)), &first); err != nil {
			t.Fatal(err)
		}
		var again strings.Builder
		again.WriteString("---\nambient: 98 kPa\n---\n\n```data air_printed\n" +
			"T/K, h/(kJ/kg), so/(kJ/(kg·K))\n280, 280.13, 1.63279\n290, 290.16, 1.66802\n300, 300.19, 1.70203\n310, 310.24, 1.73498\n```\n\n```calc\n")
		want := map[string]float64{}
		for i, l := range first.Lines {
			if l.Kind == "equation" && l.Substituted != "" && len(l.Results) == 1 && !strings.Contains(l.ID, ".") {
				sym := fmt.Sprintf("y_%d", i)
				want[sym] = l.Results[0].SI
				fmt.Fprintf(&again, "%s = %s\n", sym, l.Substituted)
			}
		}
		again.WriteString("```\n")
		if len(want) < 15 {
			t.Fatalf("%s: only %d lines have values to put in", name, len(want))
		}
		_, tr := build(again.String(), nil)
		for _, p := range tr.Problems {
			line := strings.Split(again.String(), "\n")[p.Line()-1]
			t.Errorf("%s: %s\n  %s", name, line, p.Message)
		}
		for _, e := range tr.Entries {
			for _, r := range e.Results {
				if w, ok := want[r.Symbol.Name]; ok && math.Abs(r.Value.SI-w) > 1e-9*math.Abs(w)+1e-9 {
					t.Errorf("%s: %s gives %v, the line gave %v", name, sourceText(e.Line), r.Value.SI, w)
				}
			}
		}
	}
}

func plantFiles(t *testing.T) files {
	return files{"gas_turbine": read(t, "gas_turbine.md"), "small.md": read(t, "small.md")}
}

func TestTyped(t *testing.T) {
	for in, want := range map[string]string{
		"0.88": "0.88", "300": "300", "1.2e5": "1.2×10⁵", "6E-3": "6×10⁻³", "1e+12": "1×10¹²", "2e0": "2", "1.50": "1.50",
	} {
		if got := typed(in); got != want {
			t.Errorf("typed(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestTypeable(t *testing.T) {
	for in, want := range map[string]string{"−6.5": "-6.5", "1.2×10⁵": "1.2e5", "−3.5×10⁻¹³": "-3.5e-13", "0": "0"} {
		if got := (figure{num: in}).typeable(); got != want {
			t.Errorf("typeable(%q) = %q, want %q", in, got, want)
		}
	}
}

// TestTableNumber: a figure of a data table survives its way to SI and back.
func TestTableNumber(t *testing.T) {
	for _, unit := range []string{"K", "°F", "°C", "kJ/kg", "barg", "kPa", "%", "mm"} {
		u, err := units.Parse(unit)
		if err != nil {
			t.Fatal(err)
		}
		for _, want := range []string{"300.19", "1.70203", "0.1", "60", "0.5", "−12.35", "280", "100000", "123456.789", "0.00025"} {
			v, err := strconv.ParseFloat(strings.Replace(want, "−", "-", 1), 64)
			if err != nil {
				t.Fatal(err)
			}
			if got := tableNumber(u.ToSI(v, 90e3), u, 90e3); got != want {
				t.Errorf("%s %s: got %q", want, unit, got)
			}
		}
	}
}

// TestLongSum: a sum of thousands of terms is one line, in time that grows with its length.
func TestLongSum(t *testing.T) {
	text := "```inputs\na = 1 K\n```\n\n```calc\nx = a" + strings.Repeat(" + a", 5000) + "\n```\n"
	page := render(t, text, nil, Options{})
	if n := strings.Count(page, `<mo form="infix">+</mo>`); n != 10000 {
		t.Errorf("%d plus signs that a line can break before, want 5000 as written and 5000 with values", n)
	}
	if !bytes.Contains([]byte(page), []byte("5001")) {
		t.Error("the result is missing")
	}
}
