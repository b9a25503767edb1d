package runner

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/notebook"
	"workings/runner/register"
	"workings/runner/resolve"
	"workings/units"
)

// The codes of what a document lacks. All are cautions.
const (
	CodeNoSource diag.Code = "no-source"            // inputs without a source
	CodeUncited  diag.Code = "assumption-unused"    // an assumption that no line cites
	CodeLiteral  diag.Code = "number-in-formula"    // a figure that belongs among the inputs
	CodeNowhere  diag.Code = register.CodeNowhere   // a value that nothing reads
	CodeNoBasis  diag.Code = "basis-not-said"       // a heat rate or efficiency on fuel without its basis
	CodeByHand   diag.Code = "result-typed-by-hand" // a number in prose that repeats a result
)

// document looks at a sheet as a checker does who gets it on paper. Only a notebook with a number,
// inputs and answers is a calculation that others check; a draft without a number, a table of
// figures and a page of examples are left alone.
func document(doc *notebook.Document, t *eval.Trace) []*diag.Problem {
	has := map[string]bool{}
	for _, b := range doc.Blocks {
		has[b.Kind] = true
	}
	if doc.Front.Number.Text == "" || !has["inputs"] || !has["answers"] {
		return nil
	}
	d := &documents{doc: doc, trace: t}
	d.sources()
	d.assumptions()
	for _, e := range t.Entries {
		d.line(e)
	}
	if d.more > mostRelated {
		d.literal.Message += fmt.Sprintf("; so do figures of %d more lines", d.more)
	}
	d.basis()
	d.prose()
	return d.found
}

type documents struct {
	doc     *notebook.Document
	trace   *eval.Trace
	found   []*diag.Problem
	literal *diag.Problem // the one report of figures in formulas
	more    int           // lines with one beside the first
}

func (d *documents) add(code diag.Code, span diag.Span, subject, hint, format string, args ...any) *diag.Problem {
	if subject != "" {
		hint += fmt.Sprintf("; or settle it by accept %s on %s // reason", code, subject)
	}
	p := &diag.Problem{Code: code, Severity: diag.Caution, File: d.doc.File, Span: span, Subject: subject, Message: fmt.Sprintf(format, args...), Hint: hint}
	d.found = append(d.found, p)
	return p
}

// sources speaks once of all inputs without a source.
func (d *documents) sources() {
	var p *diag.Problem
	n := 0
	for _, l := range d.trace.Sheet.Lines {
		in, ok := l.Stmt.(*lang.Input)
		if !ok || l.Kind != resolve.Input || len(l.Sources) > 0 || len(l.Defines) != 1 || l.Problem != nil {
			continue
		}
		n++
		switch {
		case p == nil:
			p = d.add(CodeNoSource, in.Name.Loc, l.Defines[0].Full(), "name it in the description: a footnote, a link, or an assumption's label in brackets", "%s has no source, so that nobody can check it", in.Name.Text)
		case n <= 1+mostRelated:
			p.Related = append(p.Related, diag.Related{File: l.File, Span: in.Name.Loc, Message: in.Name.Text + " has none either"})
		}
	}
	if n > 1+mostRelated {
		p.Message += fmt.Sprintf("; nor have %d more inputs", n-1)
	}
}

func (d *documents) assumptions() {
	for _, a := range d.trace.Sheet.Assumed {
		if len(a.CitedBy) == 0 && a.Stmt != nil {
			d.add(CodeUncited, a.Stmt.Label.Loc, "", fmt.Sprintf("cite it as [%s] where it is used, or take it out", a.Label), "no line cites the assumption %s: what rests on it cannot be told", a.Label)
		}
	}
}

func (d *documents) line(e *eval.Entry) {
	l := e.Line
	if e.Status != eval.Done || l.Stmt == nil {
		return
	}
	switch l.Kind {
	case resolve.Define, resolve.StateLine, resolve.Call:
		d.figure(e)
	}
	s, ok := l.Stmt.(*lang.Define)
	if ok && l.Kind == resolve.Define && len(e.Results) == 1 && !e.Results[0].Read && e.Results[0].Symbol.State == nil {
		d.add(CodeNowhere, s.Name.Loc, e.Results[0].Symbol.Full(), "report it in answers, a table or the text, check it, or take it out", "%s leads nowhere: no line, check, table, answer or text reads it", s.Name.Text)
	}
}

// mostRelated is how many further places one report points at.
const mostRelated = 4

// figure looks for a number with a decimal or a unit in a formula that cites no source. All of a
// sheet make one report.
func (d *documents) figure(e *eval.Entry) {
	l := e.Line
	if len(l.Sources) > 0 {
		return
	}
	var at *lang.Number
	lang.Walk(l.Stmt, func(n lang.Node) bool {
		if x, ok := n.(*lang.Number); ok && at == nil && inFormula(x) {
			at = x
		}
		return at == nil
	})
	switch {
	case at == nil:
	case d.literal == nil:
		subject := ""
		if len(l.Defines) > 0 {
			subject = l.Defines[0].Full()
			if s := l.Defines[0].State; s != nil {
				subject = "state " + s.ID
			}
		}
		d.literal = d.add(CodeLiteral, at.Loc, subject, "give it a name and a source among the inputs, or cite a source in the line's description", "a figure stands in a formula, with no name and no source")
	default:
		if d.more++; d.more <= mostRelated {
			d.literal.Related = append(d.literal.Related, diag.Related{File: l.File, Span: at.Loc, Message: "so does this one"})
		}
	}
}

// inFormula reports a number that is no factor of a formula's own: 0, 1, 2, ½ and other whole
// numbers are.
func inFormula(x *lang.Number) bool {
	if x.Text == "298.15" { // the temperature of standard heats of formation
		return false
	}
	if x.Unit != nil {
		return x.Value != 0 && !(x.Value == 100 && x.Unit.Text == "%") && !strings.Contains(x.Unit.Text, "°")
	}
	return x.Value != math.Trunc(x.Value) && x.Value != 0.5
}

// basis looks at answers that are heat rates, or efficiencies of a sheet that burns fuel.
func (d *documents) basis() {
	fuel := regexp.MustCompile(`heating_value\(`).Match(d.doc.File.Text)
	for _, l := range d.trace.Sheet.Lines {
		a, ok := l.Stmt.(*lang.Answer)
		if !ok || l.Shown == nil || l.Shown.Symbol == nil {
			continue
		}
		said := strings.ToLower(a.Caption.Text + " " + captionOf(l.Shown.Symbol))
		rate := strings.Contains(said, "heat rate")
		if !rate && !(fuel && strings.Contains(said, "efficiency") && l.Shown.Symbol.Type.Dim == units.Dimension{}) {
			continue
		}
		// Heat given to the gas, or a component's own efficiency, is no fuel's.
		if says(said, "heat given", "heat added", "isentropic", "polytropic", "mechanical", "exergetic", "same basis") {
			continue
		}
		if !says(said, "lower heating", "higher heating", "lhv", "hhv") {
			d.add(CodeNoBasis, a.Shown.Name.Loc, l.Shown.Symbol.Full(), "say in its description: on the lower heating value, net at the coupling", "%s does not say on which heating value it is; the two differ by a tenth for natural gas", a.Shown.Name.Text)
		} else if !says(said, "net", "gross", "coupling", "terminal", "shaft") {
			d.add(CodeNoBasis, a.Shown.Name.Loc, l.Shown.Symbol.Full(), "say in its description: net at the coupling, or gross", "%s does not say whether it is net or gross", a.Shown.Name.Text)
		}
	}
}

func captionOf(s *resolve.Symbol) string {
	if s.Line == nil || s.Line.Stmt == nil {
		return ""
	}
	return lang.CaptionOf(s.Line.Stmt).Text
}

func says(text string, words ...string) bool {
	for _, w := range words {
		if strings.Contains(text, w) {
			return true
		}
	}
	return false
}

// typedFigure is a figure of three digits or more with a unit behind it.
var typedFigure = regexp.MustCompile(`[0-9]+(?:\.[0-9]+)?[ \x{a0}\x{202f}]?(?:%|[A-Za-z°][A-Za-z0-9/·()²³]*)`)

// prose looks for results that are typed into the text: they stay behind when an input changes.
func (d *documents) prose() {
	results, typed := d.results(), d.typed()
	for _, l := range proseLines(d.doc.File.Text) {
		for _, m := range typedFigure.FindAllStringIndex(l.text, -1) {
			if m[0] > 0 {
				if r, _ := utf8.DecodeLastRuneInString(l.text[:m[0]]); strings.ContainsRune(".-−_{^/", r) || r >= '0' && r <= '9' || r >= 'A' && r <= 'z' {
					continue
				}
			}
			text := l.text[m[0]:m[1]]
			n := strings.IndexFunc(text, func(r rune) bool { return r != '.' && (r < '0' || r > '9') })
			figure, unit := text[:n], strings.TrimLeft(text[n:], " \u00a0\u202f")
			if len(strings.TrimLeft(strings.Replace(figure, ".", "", 1), "0")) < 3 {
				continue
			}
			for _, r := range results {
				if r.repeats(figure, unit) && !typed[figure] {
					d.add(CodeByHand, diag.Span{Start: l.start + m[0], End: l.start + m[1]}, r.symbol.Full(), fmt.Sprintf("write {%s} and the sheet fills it in, however the inputs change", r.symbol.Full()), "this repeats the result %s by hand", r.symbol.Full())
					break
				}
			}
		}
	}
}

// result is a value that a line calculates.
type result struct {
	symbol *resolve.Symbol
	value  float64 // in unit
	unit   string
}

// repeats reports a typed figure that is the result, rounded as the figure is.
func (r result) repeats(figure, unit string) bool {
	_, decimals, _ := strings.Cut(figure, ".")
	return unit == r.unit && strconv.FormatFloat(r.value, 'f', len(decimals), 64) == figure
}

// typed are the figures of the sheet's own literals: the text may name what was given.
func (d *documents) typed() map[string]bool {
	out := map[string]bool{}
	for _, l := range d.trace.Sheet.Lines {
		if l.Stmt == nil {
			continue
		}
		lang.Walk(l.Stmt, func(n lang.Node) bool {
			if x, ok := n.(*lang.Number); ok {
				out[x.Text] = true
			}
			return true
		})
	}
	return out
}

// results are those of the notebook's own lines.
func (d *documents) results() []result {
	var out []result
	for _, e := range d.trace.Entries {
		if e.Line.Kind != resolve.Define || e.Status != eval.Done || e.Line.X == nil || e.Line.X.Op == resolve.OpConst {
			continue
		}
		for _, r := range e.Results {
			if r.OK && !r.Value.Bool && !r.Value.Unit.IsNone() {
				out = append(out, result{r.Symbol, r.Value.Shown, r.Value.Unit.String()})
			}
		}
	}
	return out
}

// proseLine is a line of the file's running text.
type proseLine struct {
	text  string
	start int // in the file
}

// proseLines leaves out front matter, fences, tables and footnotes: what they hold is data, code or
// the words of a source.
func proseLines(text []byte) []proseLine {
	var out []proseLine
	fence, front, at := "", false, 0
	for i, line := range strings.SplitAfter(string(text), "\n") {
		bare := strings.TrimSpace(line)
		ticks := bare[:len(bare)-len(strings.TrimLeft(bare, "`~"))]
		switch {
		case i == 0 && bare == "---":
			front = true
		case front:
			front = bare != "---"
		case fence != "":
			if bare == ticks && strings.HasPrefix(bare, fence) {
				fence = ""
			}
		case len(ticks) >= 3:
			fence = ticks
		case strings.HasPrefix(bare, "|"), strings.HasPrefix(bare, "[^"), strings.HasPrefix(line, "    "):
		default:
			out = append(out, proseLine{line, at})
		}
		at += len(line)
	}
	return out
}
