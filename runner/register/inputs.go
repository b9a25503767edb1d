package register

import (
	"math"
	"regexp"
	"slices"
	"strings"

	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
)

// Input is an input of a sheet of the package.
type Input struct {
	Sheet  *Sheet
	Line   *resolve.Line
	Entry  *eval.Entry
	Symbol *resolve.Symbol
	Value  eval.Value
	OK     bool // it has a value
	// Sources are what its description rests on; none where it names nothing.
	Sources []Source
	// Given are the values that sheets which use this one give it instead.
	Given []Given
}

// Source is what an input rests on.
type Source struct {
	Label string // "^site" of a footnote, "adiabatic" of an assumption, "link"
	// Text is that of the footnote or assumption, as it was typed, on one line.
	Text string
	// Open is set for an assumption that is to be confirmed.
	Open bool
}

// Difference is one name with several values.
type Difference struct {
	Inputs []*Input // two or more, in the package's order
}

func (p *Package) collectInputs() {
	for _, s := range p.Sheets {
		for _, l := range s.Trace.Sheet.Lines {
			e := s.Trace.Entry(l)
			if l.Kind != resolve.Input || len(l.Defines) != 1 || e == nil || l.File != s.Doc.File {
				continue
			}
			in := &Input{Sheet: s, Line: l, Entry: e, Symbol: l.Defines[0]}
			in.Value, in.OK = s.Trace.Value(in.Symbol)
			in.Sources = s.sources(l)
			p.Inputs = append(p.Inputs, in)
		}
	}
	for _, in := range p.Inputs {
		for _, u := range in.Sheet.UsedBy {
			for _, g := range u.With {
				if (lang.Name{Text: g.Name}).Key() == (lang.Name{Text: in.Symbol.Name}).Key() {
					in.Given = append(in.Given, g)
				}
			}
		}
	}
}

func (s *Sheet) sources(l *resolve.Line) []Source {
	var out []Source
	for _, label := range l.Sources {
		if slices.ContainsFunc(out, func(have Source) bool { return have.Label == label }) {
			continue
		}
		src := Source{Label: label}
		if note, ok := strings.CutPrefix(label, "^"); ok {
			for _, n := range s.Doc.Footnotes {
				if n.Label == note {
					_, text, _ := strings.Cut(n.Span.In(s.Doc.File), "]:")
					src.Text = oneLine(text)
				}
			}
		}
		for _, a := range s.Trace.Sheet.Assumed {
			if a.Label == label && a.Stmt != nil {
				src.Text, src.Open = oneLine(a.Stmt.Text.Text), a.Open
			}
		}
		out = append(out, src)
	}
	return out
}

// Assumption is the number of the assumption with a label, from 1; 0 where there is none.
func (s *Sheet) Assumption(label string) int {
	for i, a := range s.Trace.Sheet.Assumed {
		if a.Label == label {
			return i + 1
		}
	}
	return 0
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// Described is the description of the input without its marks, on one line.
func (in *Input) Described() string {
	return strings.TrimSpace(marks.ReplaceAllString(oneLine(lang.CaptionOf(in.Line.Stmt).Text), ""))
}

// marks are footnotes and citations of assumptions in a description.
var marks = regexp.MustCompile(`\s*\[[^\]]*\]`)

// differences looks for inputs of one name and dimension that have several values. Where a sheet
// gives the other its own value, the other's is only what it stands at by itself.
func (p *Package) differences() {
	type key struct {
		name string
		dim  string
	}
	var order []key
	groups := map[key][]*Input{}
	for _, in := range p.Inputs {
		if !in.OK || in.Value.Bool {
			continue
		}
		k := key{lang.Name{Text: in.Symbol.Name}.Key(), in.Symbol.Type.Dim.String()}
		if groups[k] == nil {
			order = append(order, k)
		}
		groups[k] = append(groups[k], in)
	}
	for _, k := range order {
		group := groups[k]
		if !slices.ContainsFunc(group, func(a *Input) bool {
			return slices.ContainsFunc(group, func(b *Input) bool { return a.differs(b) })
		}) {
			continue
		}
		p.Differences = append(p.Differences, Difference{group})
		p.contradictions(group)
	}
}

// contradictions are inputs that are described alike, name one document and have several values: one of
// them was changed and the others forgotten. All of one description make one report.
func (p *Package) contradictions(group []*Input) {
	var told []*Input
	for i, b := range group {
		if b.Described() == "" || slices.ContainsFunc(told, func(t *Input) bool { return t.alike(b) }) {
			continue
		}
		for _, a := range group[:i] {
			if a.alike(b) && a.differs(b) {
				told = append(told, b)
				b.contradicts(group)
				break
			}
		}
	}
}

// alike reports inputs that are described in the same words and rest on the same document.
func (in *Input) alike(other *Input) bool {
	return in.Described() == other.Described() && in.shareDocument(other)
}

// mostRelated is how many further places one report points at.
const mostRelated = 4

// contradicts reports that others of the group are alike and have other values.
func (in *Input) contradicts(group []*Input) {
	var others []*Input
	for _, o := range group {
		if o.alike(in) && o.differs(in) {
			others = append(others, o)
		}
	}
	where := "on " + others[0].Sheet.called()
	if n := len(others) - 1; n > 0 {
		where += " and " + count(n, "sheet more", "sheets more")
	}
	q := in.Sheet.find(CodeDiffers, in.at(), "if both are right, say in their descriptions how they differ; else read the value from one sheet by use",
		"%s is another value %s, and all cite the same source", in.Symbol.Name, where)
	if len(others) == 1 {
		q.Message = strings.Replace(q.Message, "all cite", "both cite", 1)
	}
	for _, o := range others[:min(len(others), mostRelated)] {
		q.Related = append(q.Related, diag.Related{File: o.Sheet.fileFor(in.Sheet), Span: o.at(), Message: "the other value"})
	}
}

// at is where the input's name stands in its notebook.
func (in *Input) at() diag.Span {
	if s, ok := in.Line.Stmt.(*lang.Input); ok {
		return s.Name.Loc
	}
	return in.Line.Stmt.Span()
}

// differs reports two values that are not one, of sheets of which neither gives the other its value.
func (in *Input) differs(other *Input) bool {
	const same = 1e-9 // of the larger: what a change of units leaves
	a, b := in.Value.SI, other.Value.SI
	return in.Sheet != other.Sheet && math.Abs(a-b) > same*max(math.Abs(a), math.Abs(b)) && !in.givenBy(other.Sheet) && !other.givenBy(in.Sheet)
}

func (in *Input) givenBy(s *Sheet) bool {
	return slices.ContainsFunc(in.Given, func(g Given) bool { return g.Use.User == s })
}

// shareDocument reports that a footnote of both names the same document.
func (in *Input) shareDocument(other *Input) bool {
	for _, a := range in.Sources {
		for _, b := range other.Sources {
			if a.document() && a.Text == b.Text && b.document() {
				return true
			}
		}
	}
	return false
}

// document tells a document from an assumption, which two sheets may word alike for two cases.
func (s Source) document() bool { return strings.HasPrefix(s.Label, "^") && s.Text != "" }
