package sheet

import (
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"io"
	"reflect"
	"slices"
	"strings"

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
	_, err := w.Write(append(newPage(doc, tr, o).trace(nil), '\n'))
	return err
}

// trace appends the object in a form that may stand in a <script>.
func (p *page) trace(to []byte) []byte {
	e := encoder{b: to, plans: map[reflect.Type][]field{}}
	e.value(reflect.ValueOf(p.traceObject()))
	return e.b
}

// Hash is the SHA-256 of a text, in hexadecimal, by which sheets and traces name the files they rest on.
func Hash(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// number is a figure in full; what is no finite number is null.
type number float64

// members is an object whose members keep their order.
type members []member

type member struct {
	key   string
	value any
}

func (p *page) traceObject() *jsonTrace {
	t := &jsonTrace{
		File: p.doc.File.Name, SHA256: Hash(p.doc.File.Text), Tool: "workings", Version: p.o.Version, Title: p.title,
		Number: p.doc.Front.Number.Text, Revision: p.doc.Front.Revision.Text,
		Ambient: number(p.tr.Sheet.Ambient), Symbols: members{}, Lines: []jsonLine{}, Checks: []jsonCheck{}, Answers: []jsonAnswer{}, Assumed: []jsonAssume{},
		Studies: p.jsonStudies(), Problems: []jsonProblem{}, Sources: []any{},
	}
	seen := map[string]bool{}
	for _, s := range p.symbols {
		v, ok := p.value[s]
		if key := s.Full(); ok && !seen[key] {
			seen[key] = true
			si := resolveSI(v)
			t.Symbols = append(t.Symbols, member{key, jsonSymbol{number(v.SI), si, number(v.Shown), p.traceUnit(v), typedLine(s.Line), p.defined[s]}})
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
	t.Cycles = p.jsonCycles()
	for _, r := range p.tr.Routes {
		t.Routes = append(t.Routes, p.jsonRouteOf(r))
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
	t.Units = p.jsonUnits()
	return t
}

func resolveSI(v eval.Value) string {
	if v.Bool {
		return ""
	}
	return units.SIUnit(v.Unit.Dimension()).String()
}

func (p *page) jsonOf(v eval.Value) jsonValue {
	return jsonValue{number(v.SI), number(v.Shown), p.traceUnit(v)}
}

func (p *page) valuesOf(vs []eval.Value) []jsonValue {
	out := make([]jsonValue, len(vs))
	for i, v := range vs {
		out[i] = p.jsonOf(v)
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
	case resolve.CycleLine:
		return "cycle"
	case resolve.ComponentLine:
		return "component"
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
	if e.Line.Sub != nil {
		outer := p.ambient
		p.ambient = e.Line.Sub.Ambient
		defer func() { p.ambient = outer }()
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
		Caption: lang.CaptionOf(l.Stmt).Text, Source: []string{}, WaitsFor: e.WaitsFor, Overridden: l.Overridden,
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
		if r.OK {
			j.Results = append(j.Results, jsonResult{r.Symbol.Full(), p.jsonOf(r.Value)})
		}
	}
	p.jsonExpression(&j, e)
	if s := e.State; s != nil && l.State != nil {
		js := &jsonState{ID: l.State.ID, Fluid: p.tr.FluidName(l.State.Fluid, s.Fluid), Given: []jsonGiven{}}
		for i, g := range s.Given {
			name := ""
			if i < len(s.Names) {
				name = s.Names[i].Symbol()
			}
			js.Given = append(js.Given, jsonGiven{name, p.jsonOf(g.Value)})
		}
		if s.Inverted {
			in := s.Inversion
			js.Inversion = &jsonInversion{in.Of.Symbol(), in.From.Symbol(), number(in.Target), number(in.Residual), in.Steps}
		}
		j.State = js
	}
	if s := e.Solve; s != nil {
		j.Solve = &jsonSolve{Unknowns: []string{}, Lo: p.valuesOf(s.Lo), Hi: p.valuesOf(s.Hi), Extreme: s.Extreme, Residuals: []jsonValue{}, Steps: s.Steps, Runs: s.Runs}
		for _, u := range l.Unknowns {
			j.Solve.Unknowns = append(j.Solve.Unknowns, u.Full())
		}
		for _, r := range s.Residuals {
			j.Solve.Residuals = append(j.Solve.Residuals, p.jsonOf(p.residual(r)))
		}
	}
	j.Names = p.jsonNames(e.Sheet, expressions(l)...)
	if l.Kind == resolve.Call {
		j.Parameters = p.jsonParameters(l)
	}
	single, _ := readings(e)
	for _, k := range single {
		j.Lookups = append(j.Lookups, p.jsonLookup(k))
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
	switch s := l.Stmt.(type) {
	case *lang.Input:
		j.Expression = lang.FormatExpr(s.X)
	case *lang.Define:
		j.Expression = lang.FormatExpr(s.X)
	default:
		j.Expression = sourceText(l)
		if l.Kind == resolve.StateLine && e.Status == eval.Done && e.State != nil {
			j.Substituted = p.stateText(l.State, e.State)
		}
		return
	}
	if l.X == nil {
		return
	}
	j.Expression = lang.FormatExpr(l.X.Src) // that of an input may come from outside
	j.Basis = bases(l.X)
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

// stateText is what fixes a state, with its values: air(p = 8 bar, s = 6.8704 kJ/(kg·K)).
func (p *page) stateText(st *resolve.State, detail *eval.StateDetail) string {
	var given []string
	for i, g := range st.Given {
		f, ok := p.givenFigure(st, detail, i)
		if !ok {
			return ""
		}
		given = append(given, g.Prop.Symbol()+" = "+f.typeable())
	}
	return fluidName(st) + "(" + strings.Join(given, ", ") + ")"
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
	set := func(v eval.Value) *jsonValue { x := p.jsonOf(v); return &x }
	j.Left, j.Margin = set(c.Left), set(c.Margin)
	if c.Op != "within" {
		j.Right = set(p.asRight(e, c, c.Right))
	}
	if c.Accepted != nil {
		j.Accepted = c.Accepted.Reason.Text
	}
	if c.HasLo {
		j.Lo = set(p.asRight(e, c, c.Lo))
	}
	if c.HasHi {
		j.Hi = set(p.asRight(e, c, c.Hi))
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
	if u, ok := p.tr.Unconfirmed[s.Symbol]; ok {
		for _, i := range u.Own {
			j.Unconfirmed = append(j.Unconfirmed, p.tr.Sheet.Assumed[i].Label)
		}
		j.Unconfirmed = append(j.Unconfirmed, u.Used...)
	}
	if !s.Unit.IsNone() {
		j.Unit = s.Unit.String()
	}
	if v, ok := p.tr.Shown(s); ok {
		si, shown := number(v.SI), number(v.Shown)
		j.SI, j.Value, j.Unit = &si, &shown, p.traceUnit(v)
	}
	if v, ok := p.tr.UncertaintyOf(s); ok {
		u := &jsonUncertainty{jsonValue: p.jsonOf(v), From: []jsonPart{}}
		for _, c := range p.tr.Uncertain[s.Symbol].From {
			u.From = append(u.From, jsonPart{c.Input.Full(), number(c.Part.SI), number(c.Share)})
		}
		j.Uncertainty = u
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
