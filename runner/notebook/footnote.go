package notebook

import (
	"bytes"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"

	"workings/runner/diag"
)

// maxLabel is CommonMark's limit for link labels, in bytes here.
const maxLabel = 999

// footnoteLabel reads `^label]` at the start of b and gives the length of the label, 0 where
// there is none. A label has no space and no bracket in it.
func footnoteLabel(b []byte) int {
	if len(b) < 3 || b[0] != '^' {
		return 0
	}
	for i := 1; i < len(b) && i <= maxLabel; i++ {
		switch c := b[i]; {
		case c == ']':
			return i - 1
		case c == '[' || util.IsSpace(c):
			return 0
		}
	}
	return 0
}

// footnoteBlockParser reads definitions. Unlike goldmark's it keeps those that no prose refers
// to, because captions in fences refer to them too.
type footnoteBlockParser struct{}

func (footnoteBlockParser) Trigger() []byte { return []byte{'['} }

func (footnoteBlockParser) Open(parent ast.Node, reader text.Reader, pc parser.Context) (ast.Node, parser.State) {
	line, seg := reader.PeekLine()
	pos := pc.BlockOffset()
	if pos < 0 || line[pos] != '[' {
		return nil, parser.NoChildren
	}
	n := footnoteLabel(line[pos+1:])
	colon := pos + n + 3
	if n == 0 || colon >= len(line) || line[colon] != ':' {
		return nil, parser.NoChildren
	}
	at := seg.Start + pos - seg.Padding
	note := &Footnote{
		LabelSpan: diag.Span{Start: at + 2, End: at + 2 + n},
		Span:      diag.Span{Start: at, End: at + n + 4},
	}
	note.Label = note.LabelSpan.In(stateOf(pc).doc.File)
	note.Node = &FootnoteDef{Footnote: note}
	body := line[colon+1:]
	if util.IsBlank(body) {
		reader.AdvanceToEOL()
		return note.Node, parser.NoChildren
	}
	reader.Advance(colon + 1 + util.TrimLeftSpaceLength(body))
	return note.Node, parser.HasChildren
}

func (footnoteBlockParser) Continue(node ast.Node, reader text.Reader, pc parser.Context) parser.State {
	line, _ := reader.PeekLine()
	if util.IsBlank(line) {
		return parser.Continue | parser.HasChildren
	}
	pos, padding := util.IndentPosition(line, reader.LineOffset(), 4)
	if pos < 0 {
		return parser.Close
	}
	reader.AdvanceAndSetPadding(pos, padding)
	return parser.Continue | parser.HasChildren
}

func (footnoteBlockParser) Close(ast.Node, text.Reader, parser.Context) {}

func (footnoteBlockParser) CanInterruptParagraph() bool { return true }

func (footnoteBlockParser) CanAcceptIndentedLine() bool { return false }

// footnote records a definition and takes its content out of the prose.
func (s *state) footnote(def *FootnoteDef) {
	d, note := s.doc, def.Footnote
	note.Span.End = max(note.Span.End, s.lastByte(def))
	if first, twice := d.labels[note.Label]; twice {
		s.report(&diag.Problem{
			Code: codeFootnoteDup, Severity: diag.Error, Span: note.LabelSpan,
			Message: "footnote " + quote(note.Label) + " is defined twice", Label: "second definition",
			Hint:    "give one of them another label",
			Related: []diag.Related{{File: d.File, Span: first.LabelSpan, Message: "first defined here"}},
		})
	} else {
		d.labels[note.Label] = note
		d.names = append(d.names, note.Label)
		d.Footnotes = append(d.Footnotes, note)
	}
}

// footnoteParser reads references. It is also asked at `!`, or `Warning![^1]` would begin an image.
type footnoteParser struct{}

func (footnoteParser) Trigger() []byte { return []byte{'!', '['} }

func (footnoteParser) Parse(parent ast.Node, block text.Reader, pc parser.Context) ast.Node {
	line, seg := block.PeekLine()
	pos := 0
	if line[0] == '!' {
		if pos = 1; len(line) < 2 || line[1] != '[' {
			return nil
		}
	}
	n := footnoteLabel(line[pos+1:])
	if n == 0 {
		return nil
	}
	start := seg.Start + pos
	if pos == 1 {
		ast.MergeOrAppendTextSegment(parent, text.NewSegment(start-1, start))
	}
	block.Advance(pos + n + 3)
	span := diag.Span{Start: start, End: start + n + 3}
	ref := &FootnoteRef{Span: span, Label: string(bytes.Clone(line[pos+2 : pos+2+n]))}
	ref.SetPos(start)
	return ref
}

// resolveFootnote ties a reference to its definition; all are known before the tree is walked.
func (s *state) resolveFootnote(ref *FootnoteRef) {
	if ref.Note = s.doc.labels[ref.Label]; ref.Note != nil {
		return
	}
	p := &diag.Problem{
		Code: codeFootnote, Severity: diag.Error, Span: ref.Span,
		Message: "there is no footnote " + quote(ref.Label), Label: "not defined in this notebook",
		Hint: "define it on a line of its own: [^" + ref.Label + "]: text",
	}
	if near := s.near(ref.Label); len(near) > 0 {
		p.Hint = "did you mean [^" + near[0] + "]?"
	}
	s.report(p)
}

// near finds labels like the one given. The comparisons of one notebook are limited: a file of
// nothing but unknown footnotes is told so once a line all the same, without a suggestion.
func (s *state) near(label string) []string {
	const most = 100_000
	if s.compared += len(s.doc.names); s.compared > most || len(label) > 64 {
		return nil
	}
	return diag.Near(label, s.doc.names)
}

// citeParser reads [label] where it is no link, as captions cite assumptions.
type citeParser struct{}

func (citeParser) Trigger() []byte { return []byte{'['} }

func (citeParser) Parse(parent ast.Node, block text.Reader, pc parser.Context) ast.Node {
	line, seg := block.PeekLine()
	n := citeLabel(line[1:])
	if n == 0 {
		return nil
	}
	label, rest := line[1:1+n], line[n+2:]
	if len(rest) > 0 {
		switch rest[0] {
		case '(', ':':
			return nil
		case '[':
			// [text][ref], [text][] : a link if the reference is defined.
			end := bytes.IndexByte(rest[:min(len(rest), maxLabel)], ']')
			if end > 1 && isReference(pc, rest[1:end]) {
				return nil
			}
		}
	}
	if isReference(pc, label) {
		return nil
	}
	block.Advance(n + 2)
	start := seg.Start
	cite := &CiteNode{Label: string(bytes.Clone(label)), Span: diag.Span{Start: start, End: start + n + 2}}
	cite.SetPos(start)
	return cite
}

func isReference(pc parser.Context, label []byte) bool {
	_, ok := pc.Reference(util.ToLinkReference(label))
	return ok
}

// citeLabel reads `label]` (letters, digits, hyphens) and gives the length of the label or 0.
func citeLabel(b []byte) int {
	n := 0
	for n < len(b) && n <= 64 {
		r, size := decodeRune(b[n:])
		if !isLetter(r) && !isDigit(r) && r != '-' {
			break
		}
		n += size
	}
	if n < len(b) && b[n] == ']' {
		return n
	}
	return 0
}
