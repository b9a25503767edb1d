package runner

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"slices"
	"strings"

	"workings/propsdb"
	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/notebook"
)

// Case is a notebook read as a verification case: what its checks compared, and with what.
type Case struct {
	Number   string       `json:"number"`
	Title    string       `json:"title"`
	File     string       `json:"file"`
	SHA256   string       `json:"sha256"`   // of the notebook
	Verifies string       `json:"verifies"` // its first paragraph
	Verdict  CaseVerdict  `json:"verdict"`
	Checks   []CaseCheck  `json:"checks"`
	Sources  []CaseSource `json:"sources"`
	Fluids   []string     `json:"fluids"`   // of the database, that enter it; a mixture by its gases
	Problems []string     `json:"problems"` // errors and cautions, failed checks left out
}

// CaseVerdict is what a case came to.
type CaseVerdict string

// The verdicts of a case; the worst of its lines counts.
const (
	CaseHolds CaseVerdict = "holds"
	CaseFails CaseVerdict = "fails"
	CaseError CaseVerdict = "error" // a line without a value, or nothing that is checked
)

// CaseCheck is one comparison. What does not apply is nil or empty: of `a < b` there is no
// tolerance that could be used up, of a check without a value nothing but what was asked.
type CaseCheck struct {
	ID        string      `json:"id"`   // entry number on the sheet
	Text      string      `json:"text"` // as asked
	Op        string      `json:"op"`
	Verdict   string      `json:"verdict"`   // holds, fails or waits
	Published bool        `json:"published"` // against a cited source; otherwise one route of the tool against another
	Computed  *CaseFigure `json:"computed"`
	Expected  *CaseFigure `json:"expected"`  // the published figure; of a range its middle
	Deviation *CaseFigure `json:"deviation"` // computed less expected
	Relative  *float64    `json:"relative"`  // deviation over the expected figure's size, in SI
	Allowed   *CaseFigure `json:"allowed"`   // largest deviation that passes
	Used      *float64    `json:"used"`      // size of the deviation over what is allowed
	Reason    string      `json:"reason"`    // the caption
	Sources   []string    `json:"sources"`   // labels
}

// CaseFigure is a value: in SI, in its unit, and as printed.
type CaseFigure struct {
	SI    float64 `json:"si"`
	Value float64 `json:"value"`
	Unit  string  `json:"unit"`
	Text  string  `json:"text"`
}

// CaseSource is a footnote as plain text: what the figures are from, and where they were read.
type CaseSource struct {
	Label string `json:"label"`
	Text  string `json:"text"`
	Read  string `json:"read"` // empty where the footnote does not say
}

// FromMemory tells figures that were not read anywhere.
func (s CaseSource) FromMemory() bool {
	where := s.Read
	if where == "" {
		where = s.Text
	}
	return strings.Contains(strings.ToLower(where), "from memory")
}

// Case reads the evaluated notebook as a verification case. file is the name to show it by.
func (r *Result) Case(file string) *Case {
	sum := sha256.Sum256(r.Doc.File.Text)
	c := &Case{
		Number: r.Doc.Front.Number.Text, Title: r.Doc.Front.Title.Text, File: file, SHA256: hex.EncodeToString(sum[:]),
		Verifies: r.verifies(), Verdict: CaseHolds, Checks: []CaseCheck{}, Sources: []CaseSource{}, Fluids: []string{}, Problems: []string{},
	}
	captions := r.Doc.Captions()
	for _, e := range r.Trace.Checks {
		if e.Check == nil || !e.Check.Caution {
			c.Checks = append(c.Checks, r.caseCheck(e, captions))
		}
	}
	for _, n := range r.Doc.Footnotes {
		text, read := splitSource(oneLine(notebook.PlainText(n.Node, r.Doc.Source)))
		c.Sources = append(c.Sources, CaseSource{n.Label, text, read})
	}
	for _, f := range r.Trace.Fluids {
		c.Fluids = append(c.Fluids, entering(f.Fluid)...)
	}
	slices.Sort(c.Fluids)
	c.Fluids = slices.Compact(c.Fluids)
	for _, p := range r.Problems() {
		if p.Severity < diag.Caution || IsFailedCheck(p) {
			continue
		}
		line, _ := p.Position()
		c.Problems = append(c.Problems, fmt.Sprintf("line %d: %s: %s", line, p.Severity, p.Message))
	}
	switch r.ExitCode() {
	case ExitChecks:
		c.Verdict = CaseFails
	case ExitErrors:
		c.Verdict = CaseError
	}
	if len(c.Checks) == 0 {
		c.Verdict = CaseError
		c.Problems = append(c.Problems, "error: the notebook checks nothing")
	}
	return c
}

// standing is the sentence of every verification notebook that a report says once for all.
const standing = "A pass says that the tool meets the published figures within the tolerances stated. It approves no design."

func (r *Result) verifies() string {
	for n := r.Doc.Root.FirstChild(); n != nil; n = n.NextSibling() {
		if n.Kind().String() != "Paragraph" {
			continue
		}
		text := oneLine(notebook.PlainText(n, r.Doc.Source))
		text = strings.TrimSpace(strings.ReplaceAll(text, standing, ""))
		return strings.TrimSpace(strings.TrimPrefix(text, "What this verifies:"))
	}
	return ""
}

// entering are the fluids of the database that make up a fluid.
func entering(f *propsdb.Fluid) []string {
	switch {
	case f == nil:
		return nil
	case f.Kind() == propsdb.Water:
		return []string{f.Name()}
	}
	var names []string
	for _, c := range f.Components() {
		names = append(names, c.Gas)
	}
	return names
}

// splitSource parts `Book, Ex. 9.4; read in a copy` at its last semicolon that stands in no
// brackets: by the convention of the notebooks, where a figure was read comes last.
func splitSource(s string) (text, read string) {
	at, depth := -1, 0
	for i, c := range s {
		switch {
		case c == '(':
			depth++
		case c == ')':
			depth--
		case c == ';' && depth == 0:
			at = i
		}
	}
	if at < 0 {
		return s, ""
	}
	return s[:at], strings.TrimSpace(s[at+1:])
}

func (r *Result) caseCheck(e *eval.Entry, captions *notebook.Captions) CaseCheck {
	l := e.Line
	text, _ := lineText(l)
	k := CaseCheck{ID: e.Number, Text: strings.TrimPrefix(text, "check "), Verdict: string(eval.Waits), Sources: []string{}}
	stmt, ok := l.Stmt.(*lang.Check)
	if !ok {
		return k
	}
	if l.File == r.Doc.File {
		in := captions.Parse(stmt.Caption.Loc)
		k.Reason = oneLine(notebook.PlainText(in.Root, r.Doc.Source))
		for _, ref := range in.Footnotes {
			k.Sources = append(k.Sources, ref.Label)
		}
	} else {
		k.Reason = stmt.Caption.Text // of a method in another file, whose footnotes are not here
	}
	k.Published = len(k.Sources) > 0
	c := e.Check
	if c == nil || c.Verdict == eval.Waits {
		return k
	}
	k.Verdict = string(c.Verdict)
	if c.Plain {
		r.compare(&k, c, stmt)
	}
	return k
}

// compare fills in the figures of a plain comparison.
func (r *Result) compare(k *CaseCheck, c *eval.CheckDetail, stmt *lang.Check) {
	k.Op = c.Op
	expected, allowed := c.Right, math.NaN()
	switch c.Op {
	case "within":
		expected = eval.Value{SI: (c.Lo.SI + c.Hi.SI) / 2, Unit: c.Lo.Unit, Shown: (c.Lo.Shown + c.Hi.Shown) / 2}
		allowed = (c.Hi.SI - c.Lo.SI) / 2
	case "==":
		allowed = (c.Hi.SI - c.Lo.SI) / 2
	}
	digits := digitsFor(c.Left.SI, allowed)
	k.Computed = r.figure(c.Left, digits)
	k.Expected = r.figure(expected, digits)
	switch x := comparedWith(stmt); {
	case stmt.Between != nil:
		k.Expected.Text = lang.FormatExpr(stmt.Between.Lo) + " .. " + lang.FormatExpr(stmt.Between.Hi)
	case x != nil && isLiteral(x):
		k.Expected.Text = lang.FormatExpr(x) // with the digits that it was published with
	}
	difference := func(si float64) *CaseFigure {
		u := c.Margin.Unit
		return r.figure(eval.Value{SI: si, Unit: u, Shown: u.FromSI(si, 0)}, 3)
	}
	off := c.Left.SI - expected.SI
	k.Deviation = difference(off)
	if expected.SI != 0 {
		rel := off / math.Abs(expected.SI)
		k.Relative = &rel
	}
	if math.IsNaN(allowed) {
		return
	}
	k.Allowed = difference(allowed)
	if used := math.Abs(off) / allowed; allowed > 0 {
		k.Used = &used
	}
}

// comparedWith is the right side of a single comparison as it was typed.
func comparedWith(s *lang.Check) lang.Expr {
	if x, ok := s.X.(*lang.Compare); ok && len(x.Operands) == 2 {
		return x.Operands[1]
	}
	return nil
}

// digitsFor is as many as show a tenth of the tolerance, within reason.
func digitsFor(v, allowed float64) int {
	const least, most = 5, 8
	need := math.Ceil(math.Log10(math.Abs(v)/allowed)) + 2
	if !(need > least) { // or there is no tolerance
		return least
	}
	return int(math.Min(need, most))
}

func (r *Result) figure(v eval.Value, digits int) *CaseFigure {
	unit := "1"
	if !v.Unit.IsNone() {
		unit = v.Unit.String()
	}
	return &CaseFigure{SI: v.SI, Value: v.Shown, Unit: unit, Text: r.text(v, digits)}
}
