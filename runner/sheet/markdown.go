package sheet

import (
	"bytes"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/yuin/goldmark/ast"

	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/notebook"
	"workings/runner/resolve"
)

// markdown is a notebook being filled in: its prose stays as the author wrote it, and what was
// evaluated takes the place of the fences and of the values in the prose.
type markdown struct {
	*page
	out   strings.Builder
	edits []lang.Edit
}

// Markdown writes the notebook with its results filled in, as plain Markdown with tables and
// footnotes, for a report or a review. The error is a *LimitError, or what w returned.
func Markdown(w io.Writer, doc *notebook.Document, tr *eval.Trace, o Options) error {
	m := &markdown{page: newPage(doc, tr, o)}
	m.filled()
	if m.out.Len() > MaxPage {
		return &LimitError{File: doc.File.Name, Max: MaxPage}
	}
	_, err := io.WriteString(w, m.out.String())
	return err
}

// filled writes the whole: head, answers, the notebook, and what is collected after it.
func (m *markdown) filled() {
	doc := m.doc
	if s := doc.Front.Span; s.End > s.Start {
		m.replace(diag.Span{Start: s.Start, End: endOfLine(doc.Source, s.End)}, "")
	}
	m.prose(doc.Root)
	for _, n := range doc.Footnotes {
		m.prose(n.Node)
	}
	m.addresses(doc.Problems, doc.Images)
	slices.SortStableFunc(m.edits, func(a, b lang.Edit) int { return a.Span.Start - b.Span.Start })
	text := strings.TrimPrefix(string(lang.Apply(doc.File.Text, m.edits)), "\ufeff")
	text = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text)
	m.head()
	m.line(strings.TrimSpace(text))
	m.line("")
	m.checks()
	m.uncertainties()
	m.used()
	m.problemsFound()
	whole := strings.TrimRight(m.out.String(), "\n") + "\n"
	m.out.Reset()
	m.out.WriteString(seen(whole))
}

// seen shows by its code what a reader would not see.
func seen(s string) string {
	var o buf
	for _, r := range s {
		if r != '\n' && r != '\t' && (r < ' ' || hidden(r)) {
			o.code(r)
			continue
		}
		o.b = utf8.AppendRune(o.b, r)
	}
	return string(o.b)
}

func (m *markdown) line(parts ...string) {
	for _, s := range parts {
		m.out.WriteString(s)
	}
	m.out.WriteByte('\n')
}

// section begins a part of the sheet that is collected.
func (m *markdown) section(title string) { m.line("## ", title, "\n") }

func (m *markdown) replace(span diag.Span, text string) {
	m.edits = append(m.edits, lang.Edit{Span: span, Text: text})
}

func endOfLine(src []byte, at int) int {
	if i := bytes.IndexByte(src[at:], '\n'); i >= 0 {
		return at + i + 1
	}
	return len(src)
}

// prose notes what has to be replaced in a tree of the notebook.
func (m *markdown) prose(root ast.Node) {
	_ = ast.Walk(root, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if !entering {
			return ast.WalkContinue, nil
		}
		switch n := n.(type) {
		case *notebook.ValueNode:
			m.replace(n.Span, m.valueText(n))
		case *notebook.HTMLInline:
			m.replace(n.Span, entities.Replace(n.Span.In(m.doc.File)))
		case *notebook.HTMLBlock:
			for i := range n.Lines().Len() {
				seg := n.Lines().At(i)
				m.replace(diag.Span{Start: seg.Start, End: seg.Stop}, entities.Replace(string(seg.Value(m.doc.Source))))
			}
		case *notebook.RefNode:
			if text := m.refText(n); text != "" {
				m.replace(n.Whole, text)
				return ast.WalkSkipChildren, nil
			}
		case *notebook.MathNode:
			if tex := n.Span.In(m.doc.File); strings.Contains(tex, "<") {
				m.replace(n.Span, strings.ReplaceAll(tex, "<", `\lt `)) // or a viewer may take it for HTML
			}
		case *notebook.BlockNode:
			m.replace(n.Block.Span, m.fence(n.Block))
		case *ast.Heading:
			if n == m.skipTitle && n.Lines().Len() > 0 {
				m.replace(m.headingSpan(n), "")
				return ast.WalkSkipChildren, nil
			}
		}
		return ast.WalkContinue, nil
	})
}

// entities shows raw HTML as text.
var entities = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;")

// headingSpan is all of a heading's lines, the rule under it included.
func (m *markdown) headingSpan(n *ast.Heading) diag.Span {
	src := m.doc.Source
	first, last := n.Lines().At(0), n.Lines().At(n.Lines().Len()-1)
	start := bytes.LastIndexByte(src[:first.Start], '\n') + 1
	end := endOfLine(src, max(last.Start, last.Stop-1))
	if !bytes.HasPrefix(bytes.TrimLeft(src[start:first.Start], " "), []byte("#")) {
		end = endOfLine(src, min(end, len(src)))
	}
	return diag.Span{Start: start, End: end}
}

// addresses takes the address out of a link that may not be followed from a sheet, and shows a
// picture that a viewer would fetch from elsewhere as text.
func (m *markdown) addresses(problems []*diag.Problem, images []*notebook.Image) {
	for _, im := range images {
		if strings.Contains(im.Dest, ":") || strings.HasPrefix(im.Dest, "//") {
			m.replace(diag.Span{Start: im.Span.Start, End: im.Span.Start + len("![")}, `\!\[`)
			m.unreferenced(im.Span.End)
		}
	}
	for _, q := range problems {
		if q.Code != notebook.CodeLink || q.File != m.doc.File {
			continue
		}
		if strings.HasPrefix(q.Span.In(q.File), "[") { // its address stands elsewhere
			m.replace(diag.Span{Start: q.Span.Start, End: q.Span.Start}, `\`)
			m.unreferenced(q.Span.End)
			continue
		}
		m.replace(q.Span, "#address-left-out")
	}
}

// unreferenced makes the label after a link's text no link of its own.
func (m *markdown) unreferenced(at int) {
	src := m.doc.Source
	if at < len(src) && src[at] == ']' {
		at++
	}
	if at < len(src) && src[at] == '[' {
		m.replace(diag.Span{Start: at, End: at}, `\`)
	}
}

// valueText is a value of the prose.
func (m *markdown) valueText(n *notebook.ValueNode) string {
	if n.Problem == nil {
		if shown := m.proseShown(n.Value); shown != nil && shown.Problem == nil {
			if f, ok := m.asked(shown); ok {
				return f.plain()
			}
		}
	}
	return "**no value** " + code(n.Span.In(m.doc.File))
}

// plain is a figure as text: 567.75 kJ/kg.
func (f figure) plain() string {
	if f.unit.IsNone() {
		return f.num
	}
	return f.num + " " + f.unit.String()
}

// code is a text as Markdown's code, whatever ticks are in it.
func code(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	fence := "`"
	for strings.Contains(s, fence) {
		fence += "`"
	}
	if strings.HasPrefix(s, "`") || strings.HasSuffix(s, "`") {
		s = " " + s + " "
	}
	return fence + s + fence
}

// escaped is a text that is not Markdown.
func escaped(s string) string {
	var b strings.Builder
	for _, r := range strings.Join(strings.Fields(s), " ") {
		if strings.ContainsRune("\\`*_[]<>#|~$&!{}", r) {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
	}
	return b.String()
}

// captionText is a caption as Markdown on one line. In another file's the footnotes and values are
// not those of this sheet, so that its plain text stands.
func (m *markdown) captionText(f *diag.File, c lang.Caption) string {
	if c.Text == "" || f == nil {
		return ""
	}
	s := m.source(f)
	in := s.captions.Parse(c.Loc)
	if !s.own {
		return escaped(notebook.PlainText(in.Root, s.doc.Source))
	}
	outer := m.edits
	m.edits = nil
	m.prose(in.Root)
	m.addresses(in.Problems, in.Images)
	edits := m.edits
	m.edits = outer
	// The edits count from the start of the file.
	for i := range edits {
		edits[i].Span.Start -= c.Loc.Start
		edits[i].Span.End -= c.Loc.Start
	}
	text := string(lang.Apply(s.doc.Source[c.Loc.Start:c.Loc.End], edits))
	return strings.Join(strings.Fields(text), " ")
}

// head writes what this is, how it stands, and the answers.
func (m *markdown) head() {
	front := &m.doc.Front
	m.line("# ", escaped(m.title), "\n")
	var ids []string
	for _, p := range []struct{ word, text string }{
		{"", front.Number.Text}, {"revision ", front.Revision.Text}, {"", front.Project.Text}, {"", front.Date.Text},
		{"prepared by ", front.Prepared.Text}, {"checked by ", front.Checked.Text}, {"approved by ", front.Approved.Text},
	} {
		if p.text != "" {
			ids = append(ids, p.word+escaped(p.text))
		}
	}
	if len(ids) > 0 {
		m.line(strings.Join(ids, ", "), "\n")
	}
	m.line("**Not verified for design use.** ", m.standing(), "\n")
	var lines []*resolve.Line
	for _, l := range m.tr.Sheet.Lines {
		if l.Kind == resolve.AnswerLine {
			lines = append(lines, l)
		}
	}
	if len(lines) > 0 {
		m.section("Answers")
		m.line(m.answers(lines), "\n")
	}
}

// standing is how the sheet stands, in a sentence.
func (m *markdown) standing() string {
	total, holds := 0, 0
	for _, e := range m.tr.Checks {
		if c := e.Check; c == nil || !c.Caution {
			total++
			if c != nil && e.Status == eval.Done && c.Verdict == eval.Holds {
				holds++
			}
		}
	}
	var parts []string
	switch {
	case total == 0:
		parts = append(parts, "No checks")
	case holds == total:
		parts = append(parts, plural(total, "The check holds", "All "+itoa(total)+" checks hold"))
	default:
		parts = append(parts, itoa(holds)+" of "+itoa(total)+plural(total, " check holds", " checks hold"))
	}
	count := func(n int, one, many string) {
		if n > 0 {
			parts = append(parts, itoa(n)+" "+plural(n, one, many))
		}
	}
	count(m.errors, "error", "errors")
	count(m.cautions, "caution", "cautions")
	open, bare, set := 0, 0, 0
	for _, a := range m.tr.Sheet.Assumed {
		if a.Open {
			open++
		}
	}
	for _, l := range m.tr.Sheet.Lines {
		if l.Kind == resolve.Input {
			if len(l.Sources) == 0 {
				bare++
			}
			if l.Overridden {
				set++
			}
		}
	}
	count(open, "assumption to be confirmed", "assumptions to be confirmed")
	count(bare, "input without a source", "inputs without a source")
	count(set, "input overridden", "inputs overridden")
	return strings.Join(parts, "; ") + "."
}
