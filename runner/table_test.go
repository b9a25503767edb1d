package runner

import (
	"bytes"
	"encoding/json"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"pgregory.net/rapid"
)

// steamTable is typed in as a textbook has it. Its figures are those of the reference grid of
// IAPWS-IF97 (testdata/reference/if97_grid.csv: 0.5, 1 and 3 MPa, 550 K to 650 K), rounded.
const steamTable = "p/MPa, T/K, v/(m³/kg), h/(kJ/kg), s/(kJ/(kg·K))\n" +
	"0.5, 550, 0.5004, 3016.8, 7.3763\n" +
	"0.5, 600, 0.5482, 3120.1, 7.5561\n" +
	"1, 550, 0.2464, 3001.9, 7.0360\n" +
	"1, 600, 0.2712, 3109.0, 7.2224\n" +
	"1, 650, 0.2955, 3215.2, 7.3924\n" +
	"3, 600, 0.0863, 3060.9, 6.6546\n" +
	"3, 650, 0.0953, 3178.5, 6.8431\n"

// Expected values are hand-derived from the rows above.
func TestTwoKeys(t *testing.T) {
	for _, at := range []struct {
		call string
		want float64 // as tabulated
	}{
		{"steam.h(p = 0.75 MPa, T = 575 K)", (3016.8 + 3120.1 + 3001.9 + 3109.0) / 4},
		{"steam.h(T = 575 K, p = 0.75 MPa)", (3016.8 + 3120.1 + 3001.9 + 3109.0) / 4},
		{"steam.h(p = 1.5 MPa, T = 620 K)", 0.75*(3109.0+0.4*106.2) + 0.25*(3060.9+0.4*117.6)},
		{"steam.h(p = 1 MPa, T = 600 K)", 3109.0},
		{"steam.h(p = 1000 kPa, T = 326.85 °C)", 3109.0}, // tabulated, in other units
		{"steam.h(p = 1 MPa, T = 560 K)", 3001.9 + 0.2*107.1},
		{"steam.h(p = 2 MPa, T = 600 K)", (3109.0 + 3060.9) / 2},
		{"steam.h(p = 3 MPa, T = 650 K)", 3178.5},
		{"steam.h(p = 0.5 MPa, T = 550 K)", 3016.8},
		{"steam.p(p = 0.75 MPa, T = 575 K)", 0.75e3},                             // kPa: the key read back
		{"steam.h(p = 0.5 MPa, T = steam.T(p = 0.5 MPa, h = 3050 kJ/kg))", 3050}, // there and back within a block
	} {
		r := build(t, "```data steam from \"steam.csv\"\n```\n\n"+fence("calc", "y = "+at.call), "steam.csv", steamTable)
		near(t, at.call, value(t, r, "y"), at.want*1e3, 1e-12)
	}
}

// A table that falls from block to block and within its blocks reads the same.
func TestTwoKeysFalling(t *testing.T) {
	lines := strings.Split(strings.TrimSpace(steamTable), "\n")
	falling := []string{lines[0]}
	for i := len(lines) - 1; i > 0; i-- {
		falling = append(falling, lines[i])
	}
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.Float64Range(0.5, 3).Draw(t, "p")
		T := rapid.Float64Range(600, 650).Draw(t, "T")
		if p < 1 {
			T = 550 + (T - 600)
		}
		text := "y = steam.h(p = p, T = T)"
		a, b := tableAt(steamTable, p, T, text), tableAt(strings.Join(falling, "\n"), p, T, text)
		if math.Abs(a-b) > 1e-12*a || !(a > 3001e3 && a < 3216e3) {
			t.Fatalf("%g K, %g MPa: %v rising, %v falling", T, p, a, b)
		}
	})
}

func tableAt(table string, p, T float64, line string) float64 {
	fsys := fstest.MapFS{"notebook.md": {Data: []byte("```data steam from \"steam.csv\"\n```\n\n" + fence("inputs", "p = 1 MPa", "T = 600 K") + fence("calc", line))},
		"steam.csv": {Data: []byte(table)}}
	o := options()
	o.Set = []string{"p=" + strconv.FormatFloat(p, 'g', -1, 64) + " MPa", "T=" + strconv.FormatFloat(T, 'g', -1, 64) + " K"}
	r, err := Build(fsys, "notebook.md", o)
	if err != nil {
		return math.NaN()
	}
	v, ok := r.Trace.Value(r.Trace.Sheet.Symbol("", "y"))
	if !ok {
		return math.NaN()
	}
	return v.SI
}

var tags = regexp.MustCompile(`<[^>]*>`)

// The four corners, their lines in the file and both steps stand on the sheet and in the trace, and
// the trace's corners give the value again.
func TestCornersInTheOpen(t *testing.T) {
	r := build(t, "```data steam from \"steam.csv\"\n```\n\n"+fence("calc", "y = steam.h(p = 1.5 MPa, T = 620 K)"), "steam.csv", steamTable)
	var page, trace bytes.Buffer
	if err := r.HTML(&page); err != nil {
		t.Fatal(err)
	}
	if err := r.JSON(&trace); err != nil {
		t.Fatal(err)
	}
	validate(t, compileSchema(t), trace.Bytes())
	text := tags.ReplaceAllString(page.String(), "")
	for _, want := range []string{"steam.csv, lines 5 and 6", "steam.csv, lines 7 and 8", "3109+620.00−600650−600×(3215.2−3109)=3151.5", "3060.9+620.00−600650−600×(3178.5−3060.9)=3107.9",
		"3151.5+1.5000−13−1×(3107.9−3151.5)=3140.6"} {
		if !strings.Contains(text, want) {
			t.Errorf("the sheet does not show %q", want)
		}
	}
	var got struct {
		Lines []struct {
			Lookups []struct {
				At, Value float64
				Between   struct {
					Key    string
					At     float64
					Blocks []struct {
						At, Value float64
						Corners   []struct {
							Row, Line int
							File      string
							At, Value float64
						}
					}
				}
			}
		}
	}
	if err := json.Unmarshal(trace.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	k := got.Lines[0].Lookups[0]
	if len(k.Between.Blocks) != 2 || k.Between.Key != "p" {
		t.Fatalf("%+v", k)
	}
	var y [2]float64
	for i, b := range k.Between.Blocks {
		c := b.Corners
		if len(c) != 2 || c[0].Line != c[0].Row+1 || c[0].File != "steam.csv" {
			t.Fatalf("%+v", c)
		}
		y[i] = c[0].Value + (k.At-c[0].At)/(c[1].At-c[0].At)*(c[1].Value-c[0].Value)
		near(t, "block", b.Value, y[i], 1e-14)
	}
	x0, x1 := k.Between.Blocks[0].At, k.Between.Blocks[1].At
	near(t, "value", k.Value, y[0]+(k.Between.At-x0)/(x1-x0)*(y[1]-y[0]), 1e-14)
}

// A look-up by one property that meets a figure of the table reads its row, however the value came
// about, and is never refused for the rounding of a change of unit.
func TestTabulatedIsRead(t *testing.T) {
	table := "T/°C, h/(kJ/kg)\n0.1, 1\n0.7, 2\n1.3, 3\n"
	r := build(t, "```data d from \"d.csv\"\n```\n\n"+fence("calc", "a = d.h(T = 273.25 K)", "b = d.h(T = 274.45 K)", "c = d.h(T = 33.26 °F)"), "d.csv", table)
	for name, want := range map[string]float64{"a": 1e3, "b": 3e3, "c": 2e3} {
		if got := value(t, r, name); got != want {
			t.Errorf("%s = %v, want %v", name, got, want)
		}
	}
	for _, e := range r.Trace.Entries {
		for _, k := range e.Lookups {
			if !k.Exact {
				t.Errorf("entry %s: %+v", e.Number, k.Between)
			}
		}
	}
}
