package runner_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"go/parser"
	"go/token"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"workings/runner"
)

// The recomputation: a program of its own reads the trace out of the page and works every line
// again. It imports nothing of the tool but Build, which makes the page.

type (
	tracedValue struct {
		SI    float64
		Value float64
		Unit  string
	}
	traced struct {
		Ambient float64
		Symbols map[string]tracedValue
		Units   map[string]struct {
			Factor, Offset float64
			Gauge          bool
		}
		Lines   []tracedLine
		Checks  []tracedCheck
		Sources []tracedSource
	}
	tracedLine struct {
		ID, Kind, Status, Expression string
		Names                        map[string]string
		Results, Parameters          []tracedResult
		State                        *struct {
			Fluid string
			Given []struct {
				Property string
				SI       float64
			}
		}
	}
	tracedResult struct {
		Symbol string
		SI     float64
		Value  float64
		Unit   string
	}
	tracedCheck struct {
		ID, Kind, Verdict, Op string
		Left, Right           *tracedValue
		Lo, Hi                *tracedValue
		Margin                *tracedValue
	}
	tracedSource struct {
		Kind, Fluid, Model, Name string
		As                       string
		Also                     []string
		Ambient                  float64
		R                        float64
		Cp                       *float64
		Intervals                []struct {
			Tmin float64 `json:"T_min"`
			Tmax float64 `json:"T_max"`
			A    [7]float64
			B    [2]float64
		}
		Columns   []struct{ Symbol string }
		Rows      [][]float64
		Equations *tracedWater
	}
)

var traceElement = regexp.MustCompile(`(?s)<script type="application/json" id="Trace">(.*?)</script>`)

func traceOf(page []byte) (*traced, error) {
	m := traceElement.FindSubmatch(page)
	if m == nil {
		return nil, errors.New("the page holds no trace")
	}
	var tr traced
	return &tr, json.Unmarshal(m[1], &tr)
}

// recomputed counts what was worked again.
type recomputed struct{ lines, apart, figures, sides, properties, states, water, waters int }

func (n *recomputed) add(m recomputed) {
	n.lines += m.lines
	n.apart += m.apart
	n.figures += m.figures
	n.sides += m.sides
	n.properties += m.properties
	n.states += m.states
	n.water += m.water
	n.waters += m.waters
}

// recompute works a page's lines again and says what does not agree.
func recompute(page []byte) (n recomputed, wrong []string) {
	tr, err := traceOf(page)
	if err != nil {
		return n, []string{err.Error()}
	}
	say := func(format string, a ...any) { wrong = append(wrong, fmt.Sprintf(format, a...)) }
	// The working of each call: its parameters, and what its lines came to.
	working := map[string]map[string]float64{}
	kinds := map[string]string{}
	for i := range tr.Lines {
		l := &tr.Lines[i]
		kinds[l.ID] = l.Kind
		if l.Kind == "call" {
			working[l.ID] = map[string]float64{}
			for _, r := range l.Parameters {
				working[l.ID][r.Symbol] = r.SI
			}
		}
	}
	for i := range tr.Lines {
		l := &tr.Lines[i]
		if c := callAbove(l.ID, kinds); c != "" {
			for _, r := range l.Results {
				working[c][r.Symbol] = r.SI
			}
		}
	}
	for i := range tr.Lines {
		l := &tr.Lines[i]
		if l.Status != "done" {
			continue
		}
		env := tr.environment(l, working[callAbove(l.ID, kinds)])
		for _, r := range l.Results {
			si, err := tr.si(r.Unit, r.Value, l.ID)
			if err != nil || !near(si, r.SI, 0) && math.Abs(si-r.SI) > 1e-12*tr.offset(r.Unit, l.ID) {
				say("%s %s: %g %s is not %g in SI (%v)", l.ID, r.Symbol, r.Value, r.Unit, r.SI, err)
			}
			n.figures++
		}
		switch l.Kind {
		case "input", "equation":
			if len(l.Results) != 1 {
				say("%s: %d results", l.ID, len(l.Results))
				continue
			}
			got, loss, err := evaluate(l.Expression, env)
			switch {
			case errors.Is(err, errApart):
				n.apart++
			case err != nil:
				say("%s: %s: %v", l.ID, l.Expression, err)
			case !near(got, l.Results[0].SI, loss):
				say("%s: %s = %.17g, the page says %.17g", l.ID, l.Expression, got, l.Results[0].SI)
			default:
				n.lines++
			}
		case "state":
			tr.restate(l, &n, say)
		}
	}
	byID := map[string]*tracedCheck{}
	for i := range tr.Checks {
		byID[tr.Checks[i].ID] = &tr.Checks[i]
	}
	for i := range tr.Lines {
		l := &tr.Lines[i]
		if c := byID[l.ID]; c != nil && l.Status == "done" && c.Left != nil {
			tr.recheck(l, c, tr.environment(l, working[callAbove(l.ID, kinds)]), &n, say)
		}
	}
	return n, wrong
}

// near is agreement to 1e-12, and to the rounding that a difference of far larger terms has left.
func near(got, want, loss float64) bool {
	return math.Abs(got-want) <= math.Max(1e-12, 1e-15*loss)*math.Abs(want)
}

// callAbove is the call whose working a line belongs to.
func callAbove(id string, kinds map[string]string) string {
	for {
		i := strings.LastIndexByte(id, '.')
		if i < 0 {
			return ""
		}
		if id = id[:i]; kinds[id] == "call" {
			return id
		}
	}
}

// sheetOf is the used sheet a line belongs to: "gt." of gt.12.3.
func sheetOf(id string) string {
	prefix := ""
	for {
		head, rest, found := strings.Cut(id, ".")
		if !found || head == "" || head[0] >= '0' && head[0] <= '9' {
			return prefix
		}
		prefix, id = prefix+head+".", rest
	}
}

// ambientOf is the pressure that gauge pressures of a line count from.
func (tr *traced) ambientOf(id string) float64 {
	sheet := sheetOf(id)
	for _, s := range tr.Sources {
		if sheet != "" && s.As+"." == sheet && s.Kind == "notebook" {
			return s.Ambient
		}
	}
	return tr.Ambient
}

func (tr *traced) offset(unit, id string) float64 {
	if u := tr.Units[unit]; u.Gauge {
		return tr.ambientOf(id)
	}
	return math.Abs(tr.Units[unit].Offset)
}

func (tr *traced) si(unit string, v float64, id string) (float64, error) {
	if unit == "1" {
		return v, nil
	}
	u, ok := tr.Units[unit]
	if !ok {
		return 0, fmt.Errorf("the trace does not say what %q is", unit)
	}
	v = v*u.Factor + u.Offset
	if u.Gauge {
		v += tr.ambientOf(id)
	}
	return v, nil
}

func (tr *traced) environment(l *tracedLine, working map[string]float64) *environment {
	sheet := sheetOf(l.ID)
	return &environment{
		unit: func(text string, v float64) (float64, error) { return tr.si(text, v, l.ID) },
		value: func(name string) (float64, error) {
			key, ok := l.Names[name]
			if !ok {
				key = sheet + name
			}
			if v, ok := working[key]; ok {
				return v, nil
			}
			if v, ok := tr.Symbols[key]; ok {
				return v.SI, nil
			}
			switch name { // NIST, CODATA 2018: exact by definition
			case "pi", "π":
				return math.Pi, nil
			case "R_u":
				return 8.31446261815324, nil
			case "g_n":
				return 9.80665, nil
			case "true":
				return 1, nil
			case "false":
				return 0, nil
			}
			return 0, fmt.Errorf("nothing says what %s is", name)
		},
		table: func(name, column string, keys []string, at []float64) (float64, error) {
			for i := range tr.Sources {
				s := &tr.Sources[i]
				if s.Kind == "data" && (s.Name == sheet+name || slices.Contains(s.Also, sheet+name)) {
					return s.lookUp(column, keys, at)
				}
			}
			return 0, errApart // a property of a fluid
		},
	}
}

// lookUp reads a data table along a straight line, or along two.
func (s *tracedSource) lookUp(column string, keys []string, at []float64) (float64, error) {
	place := func(symbol string) int {
		for i, c := range s.Columns {
			if c.Symbol == symbol {
				return i
			}
		}
		return -1
	}
	col := place(column)
	line := func(rows [][]float64, key int, x float64, value func([]float64) float64) (float64, error) {
		for i, r := range rows {
			if r[key] == x {
				return value(r), nil
			}
			if i+1 < len(rows) && (r[key] < x) != (rows[i+1][key] <= x) && rows[i+1][key] != x {
				a, b := value(r), value(rows[i+1])
				return a + (x-r[key])/(rows[i+1][key]-r[key])*(b-a), nil
			}
		}
		return 0, fmt.Errorf("%g is outside %s", x, s.Name)
	}
	read := func(r []float64) float64 { return r[col] }
	switch {
	case col < 0 || place(keys[0]) < 0:
		return 0, errApart
	case len(keys) == 1:
		return line(s.Rows, place(keys[0]), at[0], read)
	}
	if place(keys[1]) == 0 {
		keys[0], keys[1], at[0], at[1] = keys[1], keys[0], at[1], at[0]
	}
	inner := place(keys[1])
	if place(keys[0]) != 0 || inner < 0 {
		return 0, errApart
	}
	var blocks [][][]float64
	for i, r := range s.Rows {
		if i == 0 || r[0] != s.Rows[i-1][0] {
			blocks = append(blocks, nil)
		}
		blocks[len(blocks)-1] = append(blocks[len(blocks)-1], r)
	}
	for i, b := range blocks {
		x := b[0][0]
		if x == at[0] {
			return line(b, inner, at[1], read)
		}
		if i+1 < len(blocks) && (x < at[0]) != (blocks[i+1][0][0] <= at[0]) && blocks[i+1][0][0] != at[0] {
			v0, err0 := line(b, inner, at[1], read)
			v1, err1 := line(blocks[i+1], inner, at[1], read)
			return v0 + (at[0]-x)/(blocks[i+1][0][0]-x)*(v1-v0), errors.Join(err0, err1)
		}
	}
	return 0, fmt.Errorf("%g is outside %s", at[0], s.Name)
}

// gasAt is cp, h and so of a gas from the nine coefficients of each interval (NASA/TP-2002-211556,
// the form that the schema states), or of a perfect gas.
func (s *tracedSource) gasAt(t float64) (cp, h, so float64, ok bool) {
	if s.Cp != nil {
		return *s.Cp, *s.Cp * t, *s.Cp * math.Log(t/298.15), true
	}
	for i := len(s.Intervals) - 1; i >= 0; i-- {
		iv := &s.Intervals[i]
		if t < iv.Tmin && i > 0 {
			continue
		}
		a, b := iv.A, iv.B
		cp = a[0]/(t*t) + a[1]/t + a[2] + a[3]*t + a[4]*t*t + a[5]*t*t*t + a[6]*t*t*t*t
		h = -a[0]/t + a[1]*math.Log(t) + a[2]*t + a[3]*t*t/2 + a[4]*t*t*t/3 + a[5]*t*t*t*t/4 + a[6]*t*t*t*t*t/5 + b[0]
		so = -a[0]/(t*t)/2 - a[1]/t + a[2]*math.Log(t) + a[3]*t + a[4]*t*t/2 + a[5]*t*t*t/3 + a[6]*t*t*t*t/4 + b[1]
		return cp * s.R, h * s.R, so * s.R, true
	}
	return 0, 0, 0, false
}

// restate works the properties of a gas again from the coefficients of its source.
func (tr *traced) restate(l *tracedLine, n *recomputed, say func(string, ...any)) {
	var source *tracedSource
	for i := range tr.Sources {
		if s := &tr.Sources[i]; s.Kind == "property-data" && s.Fluid == l.State.Fluid {
			source = s
		}
	}
	if source == nil {
		say("%s: no source for the fluid %s", l.ID, l.State.Fluid)
		return
	}
	have := map[string]float64{}
	for _, g := range l.State.Given {
		have[g.Property] = g.SI
	}
	shown := map[string]float64{}
	for _, r := range l.Results {
		shown[stemOf(r.Symbol, sheetOf(l.ID))] = r.SI
	}
	all := map[string]float64{}
	for k, v := range shown {
		all[k] = v
	}
	for k, v := range have {
		if at, ok := shown[k]; ok && !near(at, v, 0) {
			say("%s: given %s = %.17g, shown %.17g", l.ID, k, v, at)
		}
		all[k] = v
	}
	t, ok := all["T"]
	if !ok {
		say("%s: T is nowhere", l.ID)
		return
	}
	if source.Equations != nil {
		tr.restateWater(l, source.Equations, all, n, say)
		return
	}
	cp, h, so, ok := source.gasAt(t)
	if !ok {
		say("%s: %g K is in no interval of %s", l.ID, t, source.Fluid)
		return
	}
	r := source.R
	want := map[string]float64{"h": h, "so": so, "cp": cp, "cv": cp - r, "u": h - r*t, "k": cp / (cp - r), "R": r, "c": math.Sqrt(cp / (cp - r) * r * t)}
	p, known := all["p"]
	if !known {
		if v, ok := all["v"]; ok {
			p, known = r*t/v, true
		}
	}
	if known {
		want["p"], want["v"], want["rho"] = p, r*t/p, p/(r*t)
		want["s"] = so - r*math.Log(p/1e5)
	}
	scale := map[string]float64{"h": cp * t, "u": cp * t, "s": cp, "so": cp} // h and s may pass through zero
	n.states++
	for stem, value := range all {
		expected, ok := want[stem]
		if !ok {
			continue
		}
		if math.Abs(value-expected) > 1e-10*math.Max(math.Abs(expected), scale[stem]) {
			say("%s: %s of state %s = %.15g by the coefficients, the page says %.15g", l.ID, stem, l.Expression, expected, value)
			continue
		}
		n.properties++
	}
}

// stemOf is the property that a symbol of a state names: rho of rho_2s, h of gt.h3.
func stemOf(symbol, sheet string) string {
	symbol = strings.TrimPrefix(symbol, sheet)
	for _, stem := range []string{"rho", "so", "cp", "cv", "pr", "vr"} {
		if rest, ok := strings.CutPrefix(symbol, stem); ok && (rest == "" || rest[0] == '_' || rest[0] >= '0' && rest[0] <= '9') {
			return stem
		}
	}
	if i := strings.IndexFunc(symbol, func(r rune) bool { return r == '_' || r >= '0' && r <= '9' }); i >= 0 {
		return symbol[:i]
	}
	return symbol
}

// recheck works the sides of a check again, and its verdict from its limits.
func (tr *traced) recheck(l *tracedLine, c *tracedCheck, env *environment, n *recomputed, say func(string, ...any)) {
	_, text, _ := strings.Cut(l.Expression, " ")
	text, _, _ = strings.Cut(text, " within ")
	sides := regexp.MustCompile(` *(==|!=|<=|>=|<|>) *`).Split(text, -1)
	for i, want := range []*tracedValue{c.Left, c.Right} {
		if i >= len(sides) || want == nil {
			break
		}
		got, loss, err := evaluate(sides[i], env)
		switch {
		case errors.Is(err, errApart):
		case err != nil:
			say("%s: %s: %v", l.ID, sides[i], err)
		case !near(got, want.SI, loss):
			say("%s: %s = %.17g, the page says %.17g", l.ID, sides[i], got, want.SI)
		default:
			n.sides++
		}
	}
	holds := (c.Lo == nil || c.Left.SI >= c.Lo.SI) && (c.Hi == nil || c.Left.SI <= c.Hi.SI)
	if (c.Lo != nil || c.Hi != nil) && c.Op != "!=" && holds != (c.Verdict == "holds") && math.Abs(c.Margin.SI) > 1e-12*math.Abs(c.Left.SI) {
		say("%s: %s is said to be %s", l.ID, l.Expression, c.Verdict)
	}
}

func pageOf(t *testing.T, name string) []byte {
	t.Helper()
	r, err := runner.Build(os.DirFS("../notebooks"), name, runner.Options{Library: os.DirFS("../notebooks/library"), Version: "test"})
	if err != nil {
		t.Fatal(err)
	}
	var page bytes.Buffer
	if err := r.HTML(&page); err != nil {
		t.Fatal(err)
	}
	return page.Bytes()
}

// Every line of every notebook that comes with the tool can be computed again from its page alone.
func TestRecompute(t *testing.T) {
	names, err := filepath.Glob("../notebooks/*/*.md")
	if err != nil || len(names) < 80 {
		t.Fatalf("%d notebooks, %v", len(names), err)
	}
	var all recomputed
	for _, name := range names {
		name = strings.TrimPrefix(filepath.ToSlash(name), "../notebooks/")
		n, wrong := recompute(pageOf(t, name))
		for i, w := range wrong {
			if i == 8 {
				t.Errorf("%s: and %d more", name, len(wrong)-i)
				break
			}
			t.Errorf("%s: %s", name, w)
		}
		least := 3 // lines, sides of checks and properties
		switch {
		case strings.HasPrefix(name, "demos/"):
			least = 20
		case strings.HasPrefix(name, "library/"), strings.HasPrefix(name, "explain/"), name == "guide/14-problems.md", name == "guide/16-commands.md": // methods and messages alone
			least = 0
		}
		if got := n.lines + n.sides + n.properties + n.water; got < least {
			t.Errorf("%s: only %d figures recomputed", name, got)
		}
		all.add(n)
	}
	for what, n := range map[string][2]int{
		"lines": {all.lines, 1540}, "sides of checks": {all.sides, 2250}, "properties of gases": {all.properties, 2140},
		"states of gases": {all.states, 430}, "properties of water": {all.water, 1000}, "states of water": {all.waters, 200}, "figures in their units": {all.figures, 6380},
	} {
		if n[0] < n[1] {
			t.Errorf("only %d %s recomputed, of %d or more", n[0], what, n[1])
		}
	}
	if all.apart > all.lines/8 {
		t.Errorf("%d lines were left out as no ordinary ones, %d recomputed", all.apart, all.lines)
	}
}

// A change of one part in a thousand million in any one result of a page, carried through all the
// places that state it, is found.
func TestRecomputeFindsAPlantedChange(t *testing.T) {
	page := pageOf(t, "guide/09-methods.md")
	if _, wrong := recompute(page); len(wrong) > 0 {
		t.Fatal(wrong)
	}
	tr, err := traceOf(page)
	if err != nil {
		t.Fatal(err)
	}
	planted := 0
	for i, l := range tr.Lines {
		if l.Kind != "input" && l.Kind != "equation" && l.Kind != "state" || l.Status != "done" {
			continue
		}
		for k, r := range l.Results {
			changed := rewritten(t, page, func(trace map[string]any) {
				bump := func(record any) {
					m := record.(map[string]any)
					si := m["si"].(float64)
					m["si"] = si + 1e-9*math.Abs(si)
					m["value"] = m["value"].(float64) + (m["si"].(float64)-si)/tr.factor(r.Unit)
				}
				bump(trace["lines"].([]any)[i].(map[string]any)["results"].([]any)[k])
				if s, ok := trace["symbols"].(map[string]any)[r.Symbol]; ok && callAbove(l.ID, map[string]string{}) == "" {
					bump(s)
				}
			})
			if _, wrong := recompute(changed); len(wrong) == 0 {
				t.Errorf("%s: a change of %s went unseen", l.ID, r.Symbol)
			}
			planted++
		}
	}
	if planted < 80 {
		t.Errorf("only %d changes planted", planted)
	}
	for what, change := range map[string]func(trace map[string]any){
		"a coefficient": func(trace map[string]any) {
			for _, s := range trace["sources"].([]any) {
				if ivs, ok := s.(map[string]any)["intervals"].([]any); ok {
					a := ivs[0].(map[string]any)["a"].([]any)
					a[2] = a[2].(float64) * (1 + 1e-7)
				}
			}
		},
		"a factor of a unit": func(trace map[string]any) {
			trace["units"].(map[string]any)["kJ/kg"].(map[string]any)["factor"] = 1000.000001
		},
		"a parameter": func(trace map[string]any) {
			for _, l := range trace["lines"].([]any) {
				if ps, ok := l.(map[string]any)["parameters"].([]any); ok {
					r := ps[len(ps)-1].(map[string]any)
					r["si"] = r["si"].(float64) * (1 + 1e-9)
					return
				}
			}
		},
		"an expression": func(trace map[string]any) {
			for _, l := range trace["lines"].([]any) {
				if m := l.(map[string]any); m["expression"] == "4*p1" {
					m["expression"] = "4.001*p1"
				}
			}
		},
		"the trace": func(trace map[string]any) { trace["lines"] = []any{} },
	} {
		n, wrong := recompute(rewritten(t, page, change))
		if len(wrong) == 0 && n.lines > 0 {
			t.Errorf("a change of %s went unseen", what)
		}
	}
}

func (tr *traced) factor(unit string) float64 {
	if unit == "1" {
		return 1
	}
	return tr.Units[unit].Factor
}

// rewritten is a page with its trace changed.
func rewritten(t *testing.T, page []byte, change func(trace map[string]any)) []byte {
	t.Helper()
	at := traceElement.FindSubmatchIndex(page)
	var trace map[string]any
	if err := json.Unmarshal(page[at[2]:at[3]], &trace); err != nil {
		t.Fatal(err)
	}
	change(trace)
	text, err := json.Marshal(trace)
	if err != nil {
		t.Fatal(err)
	}
	return slices.Concat(page[:at[2]], text, page[at[3]:])
}

// The units of the trace are those of the documents that define them.
func TestRecomputeUnits(t *testing.T) {
	known := map[string]float64{ // SI Brochure; NIST SP 811, App. B.8 (from memory)
		"kPa": 1e3, "MPa": 1e6, "bar": 1e5, "kJ/kg": 1e3, "kJ/(kg·K)": 1e3, "%": 0.01, "kW": 1e3, "MW": 1e6, "kg/h": 1 / 3600.0,
		"kJ/kWh": 1 / 3600.0, "°C": 1, "K": 1, "atm": 101325, "psia": 6894.757293168361, "°F": 5 / 9.0, "°R": 5 / 9.0, "Btu/lbm": 2326, "km": 1e3,
		"MJ/kg": 1e6, "kg/kmol": 1e-3, "kJ/kmol": 1, "h": 3600, "min": 60, "ft": 0.3048, "lbm": 0.45359237, "hp": 745.69987158227022,
	}
	met := map[string]bool{}
	for _, name := range []string{"demos/reheated-plant.md", "demos/combined-cycle.md", "guide/02-quantities-and-units.md", "guide/02b-us-units.md", "guide/18-combustion.md", "verification/v58-standard-atmosphere-functions.md"} {
		tr, err := traceOf(pageOf(t, name))
		if err != nil {
			t.Fatal(err)
		}
		for text, u := range tr.Units {
			want, ok := known[text]
			if !ok {
				continue
			}
			met[text] = true
			if math.Abs(u.Factor-want) > 1e-14*want {
				t.Errorf("%s: factor %.17g, want %.17g", text, u.Factor, want)
			}
			if offset := map[string]float64{"°C": 273.15, "°F": 459.67 * 5 / 9}[text]; math.Abs(u.Offset-offset) > 1e-12 {
				t.Errorf("%s: offset %.17g", text, u.Offset)
			}
		}
	}
	if len(met) < 18 {
		t.Errorf("only %d units met: %v", len(met), met)
	}
}

// The program above must not lean on what it checks.
func TestRecomputeStandsAlone(t *testing.T) {
	for _, name := range []string{"recompute_test.go", "recompute_parse_test.go"} {
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ImportsOnly)
		if err != nil {
			t.Fatal(err)
		}
		for _, i := range f.Imports {
			if i.Path.Value != `"workings/runner"` && (strings.Contains(i.Path.Value, "workings") || strings.Contains(i.Path.Value, ".")) {
				t.Errorf("%s imports %s", name, i.Path.Value)
			}
		}
	}
}
