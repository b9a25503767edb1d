package sheet

import (
	"bytes"
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"unicode/utf16"
	"unicode/utf8"

	"workings/propsdb"
	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/notebook"
	"workings/runner/resolve"
	"workings/units"
)

//go:embed schema.json
var schemaText []byte

// Schema is the JSON Schema (2020-12) that every trace keeps to.
func Schema() []byte { return slices.Clone(schemaText) }

// JSON writes the trace of a notebook as one object on one line. The error is what w returned.
func JSON(w io.Writer, doc *notebook.Document, tr *eval.Trace, o Options) error {
	b, err := newPage(doc, tr, o).trace()
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// trace is the object in a form that may stand in a <script>: encoding/json writes <, > and & as
// their codes.
// Characters that a reader would not see are written as theirs here.
func (p *page) trace() ([]byte, error) {
	b, err := json.Marshal(p.traceObject())
	if err != nil || !bytes.ContainsFunc(b, hidden) {
		return b, err
	}
	var out []byte
	for _, r := range string(b) { // outside its strings JSON has no such character
		switch {
		case !hidden(r):
			out = utf8.AppendRune(out, r)
		case r > 0xffff:
			high, low := utf16.EncodeRune(r)
			out = fmt.Appendf(out, `\u%04x\u%04x`, high, low)
		default:
			out = fmt.Appendf(out, `\u%04x`, r)
		}
	}
	return out, nil
}

func hashOf(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// number is a figure in full; what is no finite number is null.
type number float64

func (n number) MarshalJSON() ([]byte, error) {
	if f := float64(n); math.IsNaN(f) || math.IsInf(f, 0) {
		return []byte("null"), nil
	}
	return strconv.AppendFloat(nil, float64(n), 'g', -1, 64), nil
}

// members is an object whose members keep their order.
type members []member

type member struct {
	key   string
	value any
}

func (m members) MarshalJSON() ([]byte, error) {
	b := []byte{'{'}
	for i, x := range m {
		if i > 0 {
			b = append(b, ',')
		}
		k, err := json.Marshal(x.key)
		if err != nil {
			return nil, err
		}
		v, err := json.Marshal(x.value)
		if err != nil {
			return nil, err
		}
		b = append(append(append(b, k...), ':'), v...)
	}
	return append(b, '}'), nil
}

type (
	jsonTrace struct {
		File     string        `json:"file"`
		SHA256   string        `json:"sha256"`
		Tool     string        `json:"tool"`
		Version  string        `json:"version"`
		Title    string        `json:"title"`
		Number   string        `json:"number,omitempty"`
		Revision string        `json:"revision,omitempty"`
		Symbols  members       `json:"symbols"`
		Lines    []jsonLine    `json:"lines"`
		Checks   []jsonCheck   `json:"checks"`
		Answers  []jsonAnswer  `json:"answers"`
		Assumed  []jsonAssume  `json:"assumptions"`
		Studies  []struct{}    `json:"studies"`
		Problems []jsonProblem `json:"problems"`
		Sources  []any         `json:"sources"`
	}
	jsonValue struct {
		SI    number `json:"si"`
		Value number `json:"value"`
		Unit  string `json:"unit"`
	}
	jsonSymbol struct {
		SI     number `json:"si"`
		SIUnit string `json:"si_unit"`
		Value  number `json:"value"`
		Unit   string `json:"unit"`
		Line   int    `json:"line"`
		Entry  string `json:"entry,omitempty"`
	}
	jsonResult struct {
		Symbol string `json:"symbol"`
		jsonValue
	}
	jsonLine struct {
		ID          string       `json:"id"`
		File        string       `json:"file,omitempty"`
		Line        int          `json:"line"`
		Kind        string       `json:"kind"`
		Status      string       `json:"status"`
		Expression  string       `json:"expression"`
		Substituted string       `json:"substituted"`
		Results     []jsonResult `json:"results"`
		Uses        []string     `json:"uses"`
		WaitsFor    []string     `json:"waits_for,omitempty"`
		Caption     string       `json:"caption"`
		Source      []string     `json:"source"`
		Overridden  bool         `json:"overridden,omitempty"`
		State       *jsonState   `json:"state,omitempty"`
		Solve       *jsonSolve   `json:"solve,omitempty"`
		Lookups     []jsonLookup `json:"lookups,omitempty"`
	}
	jsonState struct {
		ID        string         `json:"id"`
		Fluid     string         `json:"fluid"`
		Given     []jsonGiven    `json:"given"`
		Inversion *jsonInversion `json:"inversion,omitempty"`
	}
	jsonGiven struct {
		Property string `json:"property"`
		jsonValue
	}
	jsonInversion struct {
		Of       string `json:"of"`
		From     string `json:"from"`
		Target   number `json:"target"`
		Residual number `json:"residual"`
		Steps    int    `json:"steps"`
	}
	jsonSolve struct {
		Unknowns  []string    `json:"unknowns"`
		Lo        []jsonValue `json:"lo"`
		Hi        []jsonValue `json:"hi"`
		Extreme   string      `json:"extreme,omitempty"`
		Residuals []jsonValue `json:"residuals"`
		Steps     int         `json:"steps"`
		Runs      int         `json:"runs"`
	}
	jsonLookup struct {
		Table  string `json:"table"`
		Key    string `json:"key"`
		Column string `json:"column"`
		At     number `json:"at"`
		Row    int    `json:"row"`
		Value  number `json:"value"`
	}
	jsonCheck struct {
		ID      string     `json:"id"`
		Kind    string     `json:"kind"`
		Sheet   string     `json:"sheet,omitempty"`
		File    string     `json:"file,omitempty"`
		Line    int        `json:"line"`
		Text    string     `json:"text"`
		Op      string     `json:"op,omitempty"`
		Left    *jsonValue `json:"left"`
		Right   *jsonValue `json:"right"`
		Lo      *jsonValue `json:"lo,omitempty"`
		Hi      *jsonValue `json:"hi,omitempty"`
		Passed  *bool      `json:"passed"`
		Verdict string     `json:"verdict"`
		Margin  *jsonValue `json:"margin"`
	}
	jsonAnswer struct {
		Symbol string  `json:"symbol"`
		SI     *number `json:"si"`
		Value  *number `json:"value"`
		Unit   string  `json:"unit"`
		Line   int     `json:"line"`
		Entry  string  `json:"entry,omitempty"`
	}
	jsonAssume struct {
		Label     string   `json:"label"`
		Text      string   `json:"text"`
		Basis     string   `json:"basis"`
		ToConfirm bool     `json:"to_confirm"`
		Line      int      `json:"line"`
		UsedIn    []string `json:"used_in"`
	}
	jsonProblem struct {
		Code     string        `json:"code"`
		Severity string        `json:"severity"`
		File     string        `json:"file,omitempty"`
		Line     int           `json:"line"`
		Column   int           `json:"column"`
		Message  string        `json:"message"`
		Hint     string        `json:"hint"`
		Related  []jsonRelated `json:"related"`
		WaitsFor []string      `json:"waits_for"`
	}
	jsonRelated struct {
		File    string `json:"file,omitempty"`
		Line    int    `json:"line"`
		Column  int    `json:"column"`
		Message string `json:"message"`
	}
)

func (p *page) traceObject() *jsonTrace {
	t := &jsonTrace{
		File: p.doc.File.Name, SHA256: hashOf(p.doc.File.Text), Tool: "workings", Version: p.o.Version, Title: p.title,
		Number: p.doc.Front.Number.Text, Revision: p.doc.Front.Revision.Text,
		Symbols: members{}, Lines: []jsonLine{}, Checks: []jsonCheck{}, Answers: []jsonAnswer{}, Assumed: []jsonAssume{},
		Studies: []struct{}{}, Problems: []jsonProblem{}, Sources: []any{},
	}
	seen := map[string]bool{}
	for _, s := range p.symbols {
		v, ok := p.value[s]
		if key := s.Full(); ok && !seen[key] {
			seen[key] = true
			si := resolveSI(v)
			t.Symbols = append(t.Symbols, member{key, jsonSymbol{number(v.SI), si, number(v.Shown), unitText(v), typedLine(s.Line), p.defined[s]}})
		}
	}
	for _, e := range p.tr.Entries {
		t.Lines = p.jsonLines(t.Lines, e)
	}
	for _, e := range p.tr.Checks {
		t.Checks = append(t.Checks, p.jsonCheck(e))
	}
	for _, l := range p.tr.Sheet.Lines {
		if l.Kind == resolve.AnswerLine {
			t.Answers = append(t.Answers, p.jsonAnswer(l))
		}
	}
	for _, a := range p.tr.Sheet.Assumed {
		j := jsonAssume{Label: a.Label, Text: a.Stmt.Text.Text, Basis: a.Stmt.Basis.Text, ToConfirm: a.Open, Line: typedLine(a.Line), UsedIn: []string{}}
		for _, l := range a.CitedBy {
			if e := p.entry[l]; e != nil && e.Number != "" {
				j.UsedIn = append(j.UsedIn, e.Number)
			}
		}
		t.Assumed = append(t.Assumed, j)
	}
	for _, q := range p.tr.Problems {
		t.Problems = append(t.Problems, p.jsonProblem(q))
	}
	t.Sources = p.jsonSources()
	return t
}

func resolveSI(v eval.Value) string {
	if v.Bool {
		return ""
	}
	return units.SIUnit(v.Unit.Dimension()).String()
}

func unitText(v eval.Value) string {
	if v.Bool || v.Unit.IsNone() {
		return "1"
	}
	return v.Unit.String()
}

func jsonOf(v eval.Value) jsonValue { return jsonValue{number(v.SI), number(v.Shown), unitText(v)} }

func valuesOf(vs []eval.Value) []jsonValue {
	out := make([]jsonValue, len(vs))
	for i, v := range vs {
		out[i] = jsonOf(v)
	}
	return out
}

func kindWord(l *resolve.Line) string {
	switch l.Kind {
	case resolve.Input:
		return "input"
	case resolve.Define:
		return "equation"
	case resolve.FluidLine:
		return "fluid"
	case resolve.StateLine:
		return "state"
	case resolve.Check:
		return checkWord(l.Stmt)
	case resolve.Call:
		return "call"
	case resolve.Solve:
		return "solve"
	case resolve.Until:
		return "until"
	case resolve.Use:
		return "use"
	case resolve.AcceptLine:
		return "accept"
	case resolve.MethodLine:
		return "method"
	case resolve.DataLine:
		return "data"
	}
	return "unread"
}

// jsonLines adds an entry and what is under it.
func (p *page) jsonLines(out []jsonLine, e *eval.Entry) []jsonLine {
	if e.Number != "" {
		out = append(out, p.jsonLine(e))
	}
	for _, c := range e.Children {
		out = p.jsonLines(out, c)
	}
	return out
}

func (p *page) fileOf(f *diag.File) string {
	if f == nil || f == p.doc.File {
		return ""
	}
	return f.Name
}

func (p *page) jsonLine(e *eval.Entry) jsonLine {
	l := e.Line
	j := jsonLine{
		ID: e.Number, File: p.fileOf(l.File), Line: typedLine(l), Kind: kindWord(l), Results: []jsonResult{}, Uses: []string{},
		Caption: captionOf(l.Stmt).Text, Source: []string{}, WaitsFor: e.WaitsFor, Overridden: l.Overridden,
	}
	switch e.Status {
	case eval.Failed:
		j.Status = "failed"
	case eval.Waiting:
		j.Status = "waits"
	default:
		j.Status = "done"
	}
	j.Uses = append(j.Uses, e.Uses...)
	j.Source = append(j.Source, l.Sources...)
	for _, r := range e.Results {
		j.Results = append(j.Results, jsonResult{r.Symbol.Full(), jsonOf(r.Value)})
	}
	p.jsonExpression(&j, e)
	if s := e.State; s != nil && l.State != nil {
		js := &jsonState{ID: l.State.ID, Fluid: fluidName(l.State), Given: []jsonGiven{}}
		for i, g := range s.Given {
			name := ""
			if i < len(s.Names) {
				name = s.Names[i].Symbol()
			}
			js.Given = append(js.Given, jsonGiven{name, jsonOf(g.Value)})
		}
		if s.Inverted {
			in := s.Inversion
			js.Inversion = &jsonInversion{in.Of.Symbol(), in.From.Symbol(), number(in.Target), number(in.Residual), in.Steps}
		}
		j.State = js
	}
	if s := e.Solve; s != nil {
		j.Solve = &jsonSolve{Unknowns: []string{}, Lo: valuesOf(s.Lo), Hi: valuesOf(s.Hi), Extreme: s.Extreme, Residuals: []jsonValue{}, Steps: s.Steps, Runs: s.Runs}
		for _, u := range l.Unknowns {
			j.Solve.Unknowns = append(j.Solve.Unknowns, u.Full())
		}
		for _, r := range s.Residuals {
			j.Solve.Residuals = append(j.Solve.Residuals, jsonOf(p.residual(r)))
		}
	}
	for _, k := range e.Lookups {
		if k.Table == nil || k.Key >= len(k.Table.Columns) || k.Col >= len(k.Table.Columns) {
			continue
		}
		j.Lookups = append(j.Lookups, jsonLookup{k.Table.Name, k.Table.Columns[k.Key].Name, k.Table.Columns[k.Col].Name, number(k.At), k.Row + 1, number(k.Value)})
	}
	return j
}

// residual is what a solve left, counted in the unit of a difference.
func (p *page) residual(v eval.Value) eval.Value {
	v.Shown = v.Unit.FromSI(v.SI, 0)
	return v
}

// jsonExpression sets a line's expression in the notebook's own language, and the same with the
// values put in.
func (p *page) jsonExpression(j *jsonLine, e *eval.Entry) {
	l := e.Line
	if l.X == nil || l.Kind != resolve.Input && l.Kind != resolve.Define {
		j.Expression = sourceText(l)
		return
	}
	j.Expression = lang.FormatExpr(l.X.Src)
	if e.Status != eval.Done || !worthValues(l.X) {
		return
	}
	p.bindNames(l.X)
	missing := false
	text := lang.Substitute(l.X.Src, func(x lang.Expr) (string, bool) {
		ref := p.exprs[x]
		switch {
		case ref == nil:
			return "", false
		case ref.Op == resolve.OpRef:
			f, ok := p.putIn(ref.Sym)
			missing = missing || !ok
			return f.typeable(), ok
		case ref.Op == resolve.OpConst:
			if n, ok := x.(*lang.Number); ok && n.Unit != nil {
				if f := p.converted(n.Value, figure{unit: ref.Unit}); f.num != "" {
					return f.typeable(), true
				}
			}
		}
		return "", false
	})
	if !missing {
		j.Substituted = text
	}
}

func (p *page) jsonCheck(e *eval.Entry) jsonCheck {
	j := jsonCheck{ID: e.Number, Kind: checkWord(e.Line.Stmt), Sheet: e.Sheet, File: p.fileOf(e.Line.File), Line: typedLine(e.Line),
		Text: sourceText(e.Line), Verdict: string(eval.Waits)}
	c := e.Check
	if c == nil || e.Status == eval.Failed {
		return j
	}
	if c.Text != "" {
		j.Text = c.Text
	}
	j.Verdict, j.Op = string(c.Verdict), c.Op
	if c.Verdict == eval.Waits {
		return j
	}
	passed := c.Verdict == eval.Holds
	j.Passed = &passed
	if !c.Plain {
		return j
	}
	set := func(v eval.Value) *jsonValue { x := jsonOf(v); return &x }
	j.Left, j.Margin = set(c.Left), set(c.Margin)
	if c.Op != "within" {
		j.Right = set(c.Right)
	}
	if c.HasLo {
		j.Lo = set(c.Lo)
	}
	if c.HasHi {
		j.Hi = set(c.Hi)
	}
	return j
}

func (p *page) jsonAnswer(l *resolve.Line) jsonAnswer {
	j := jsonAnswer{Line: typedLine(l), Unit: "1"}
	if a, ok := l.Stmt.(*lang.Answer); ok {
		j.Symbol = a.Shown.Name.Text
		if a.Shown.Of != nil {
			j.Symbol = a.Shown.Of.Text + "." + j.Symbol
		}
	}
	s := l.Shown
	if s == nil || s.Symbol == nil {
		return j
	}
	j.Symbol, j.Entry = s.Symbol.Full(), p.defined[s.Symbol]
	if !s.Unit.IsNone() {
		j.Unit = s.Unit.String()
	}
	if v, ok := p.value[s.Symbol]; ok {
		si, shown := number(v.SI), number(s.Unit.FromSI(v.SI, p.ambient))
		j.SI, j.Value = &si, &shown
	}
	return j
}

func (p *page) jsonProblem(q *diag.Problem) jsonProblem {
	line, col := q.Position()
	j := jsonProblem{Code: string(q.Code), Severity: q.Severity.String(), File: p.fileOf(q.File), Line: line, Column: col,
		Message: q.Message, Hint: q.Hint, Related: []jsonRelated{}, WaitsFor: []string{}}
	for _, r := range q.Related {
		if r.File == nil {
			continue
		}
		line, col := r.File.Position(r.Span.Start)
		j.Related = append(j.Related, jsonRelated{p.fileOf(r.File), line, col, r.Message})
	}
	j.WaitsFor = append(j.WaitsFor, q.WaitsFor...)
	return j
}

type (
	jsonFluid struct {
		Kind       string          `json:"kind"`
		Fluid      string          `json:"fluid"`
		Model      string          `json:"model"`
		Data       string          `json:"data,omitempty"`
		Version    string          `json:"version,omitempty"`
		SHA256     string          `json:"sha256,omitempty"`
		Note       string          `json:"note,omitempty"`
		Datum      string          `json:"datum"`
		R          number          `json:"R"`
		M          number          `json:"M,omitempty"`
		Cp         *number         `json:"cp,omitempty"`
		Tmin       *number         `json:"T_min,omitempty"`
		Tmax       *number         `json:"T_max,omitempty"`
		Components []jsonComponent `json:"components,omitempty"`
	}
	jsonComponent struct {
		Gas  string `json:"gas"`
		Mole number `json:"mole"`
		Mass number `json:"mass"`
		M    number `json:"M"`
	}
	jsonFootnote struct {
		Kind  string `json:"kind"`
		Label string `json:"label"`
		Text  string `json:"text"`
		Line  int    `json:"line"`
	}
	jsonNotebook struct {
		Kind   string `json:"kind"`
		File   string `json:"file"`
		As     string `json:"as,omitempty"`
		SHA256 string `json:"sha256,omitempty"`
		Line   int    `json:"line"`
	}
	jsonTable struct {
		Kind    string       `json:"kind"`
		Name    string       `json:"name"`
		File    string       `json:"file,omitempty"`
		Columns []jsonColumn `json:"columns"`
		Rows    [][]number   `json:"rows"` // SI
	}
	jsonColumn struct {
		Symbol string `json:"symbol"`
		Unit   string `json:"unit"`
		SIUnit string `json:"si_unit"`
	}
)

func (p *page) jsonSources() []any {
	out := []any{}
	for _, n := range p.doc.Footnotes {
		line := p.doc.File.Line(n.Span.Start)
		out = append(out, jsonFootnote{"footnote", n.Label, notebook.PlainText(n.Node, p.doc.Source), line})
	}
	for _, f := range p.tr.Fluids {
		if f.Fluid != nil {
			out = append(out, jsonFluidOf(f))
		}
	}
	for _, d := range p.tr.Sheet.Data {
		t := jsonTable{Kind: "data", Name: d.Name, File: p.fileOf(d.File), Columns: []jsonColumn{}, Rows: [][]number{}}
		for _, c := range d.Columns {
			unit := "1"
			if !c.Unit.IsNone() {
				unit = c.Unit.String()
			}
			t.Columns = append(t.Columns, jsonColumn{c.Name, unit, units.SIUnit(c.Unit.Dimension()).String()})
		}
		for _, r := range d.Rows {
			row := make([]number, len(r))
			for i, v := range r {
				row[i] = number(v)
			}
			t.Rows = append(t.Rows, row)
		}
		out = append(out, t)
	}
	for _, e := range p.tr.Entries {
		stmt, ok := e.Line.Stmt.(*lang.Use)
		if !ok {
			continue
		}
		n := jsonNotebook{Kind: "notebook", Line: typedLine(e.Line)}
		switch {
		case stmt.Library != nil:
			n.Kind, n.File = "library", stmt.Library.Text
		case stmt.Path != nil:
			n.File = stmt.Path.Value
		}
		if stmt.As != nil {
			n.As = stmt.As.Text
		}
		if e.Line.Sub != nil && e.Line.Sub.File != nil {
			n.SHA256 = hashOf(e.Line.Sub.File.Text)
		}
		out = append(out, n)
	}
	return out
}

func jsonFluidOf(u eval.FluidUse) jsonFluid {
	f := u.Fluid
	src := f.Source()
	j := jsonFluid{Kind: "property-data", Fluid: u.Name, Model: f.Kind().String(), Data: src.Data, Version: src.Version, SHA256: src.Hash,
		Note: src.Note, Datum: f.Datum().String(), R: number(f.R()), M: number(f.M())}
	if f.Kind() == propsdb.PerfectGas {
		if cp, err := f.Cp(propsdb.StandardTemperature); err == nil {
			n := number(cp)
			j.Cp = &n
		}
		return j
	}
	lo, hi := f.Range()
	tmin, tmax := number(lo), number(hi)
	j.Tmin, j.Tmax = &tmin, &tmax
	for _, c := range f.Components() {
		j.Components = append(j.Components, jsonComponent{c.Gas, number(c.Mole), number(c.Mass), number(c.M)})
	}
	return j
}
