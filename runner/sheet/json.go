package sheet

import (
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"io"
	"slices"

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
	o := newEncoder(to)
	o.open('{')
	o.fields(p.traceHead())
	o.key("symbols")
	p.jsonSymbols(o)
	o.key("lines")
	p.jsonLines(o)
	o.fields(p.traceTail())
	o.shut('}')
	return o.b
}

// Hash is the SHA-256 of a text, in hexadecimal, by which sheets and traces name the files they rest on.
func Hash(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// number is a figure in full; what is no finite number is null.
type number float64

// encoded is JSON already.
type encoded []byte

// members is an object whose members keep their order.
type members []member

type member struct {
	key   string
	value any
}

func (p *page) traceHead() jsonHead {
	return jsonHead{
		File: p.doc.File.Name, SHA256: Hash(p.doc.File.Text), Tool: "workings", Version: p.o.Version, Title: p.title,
		Number: p.doc.Front.Number.Text, Revision: p.doc.Front.Revision.Text, Ambient: number(p.tr.Sheet.Ambient),
	}
}

// traceTail comes last, since it holds the units that the rest has named.
func (p *page) traceTail() jsonTail {
	t := jsonTail{Checks: []jsonCheck{}, Answers: []jsonAnswer{}, Assumed: []jsonAssume{}, Studies: p.jsonStudies(), Sensitivities: p.jsonSensitivities(), Problems: []jsonProblem{}}
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
			if e := p.entry(l); e != nil && e.Number != "" {
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

// jsonSymbols is an object of every symbol that has a value.
func (p *page) jsonSymbols(o *encoder) {
	seen := make(map[string]bool, len(p.listed))
	o.open('{')
	var of *resolve.Line
	line := 0
	for _, k := range p.listed {
		v, name := k.value, k.Full()
		if !k.ok || seen[name] {
			continue
		}
		seen[name] = true
		o.next()
		o.text(name)
		o.b = append(o.b, ':')
		o.open('{')
		o.twoNumbers("si", v.SI, "si_unit", p.siUnit(v), "value", v.Shown)
		o.textMember("unit", p.traceUnit(v))
		if k.Line != of { // those of one line follow each other
			of, line = k.Line, typedLine(k.Line)
		}
		o.wholeMember("line", line)
		if k.by.Number != "" {
			o.textMember("entry", k.by.Number)
		}
		o.shut('}')
	}
	o.shut('}')
}

// siUnit is the SI unit of a value, "" for a truth value.
func (p *page) siUnit(v eval.Value) string {
	if v.Bool {
		return ""
	}
	si, ok := p.siUnits[v.Unit]
	if !ok {
		si = units.SIUnit(v.Unit.Dimension()).String()
		p.siUnits[v.Unit] = si
	}
	return si
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

func (p *page) fileOf(f *diag.File) string {
	if f == nil || f == p.doc.File {
		return ""
	}
	return f.Name
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
	j.Symbol, j.Entry = s.Symbol.Full(), p.defined(s.Symbol)
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
