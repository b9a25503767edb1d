package notebook

import (
	"bytes"
	"strings"
	"sync"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"

	"workings/runner/diag"
)

// Captions reads the captions of one notebook's lines. It counts what link references expand to,
// so each rendering needs one of its own; it is not safe for concurrent use.
type Captions struct {
	doc      *Document
	expanded int
	limits   map[diag.Code]bool
}

// Inline is a caption as inline Markdown.
type Inline struct {
	Root      ast.Node // a block node whose children are the caption
	Footnotes []*FootnoteRef
	Cites     []*CiteNode // each [label]; whether there is such an assumption is for others to say
	Values    []*ProseValue
	Images    []*Image
	Maths     []*MathNode
	Refs      []*RefNode
	HasLink   bool // a link that is followed, which counts as a source
	Problems  []*diag.Problem
}

// Captions begins a pass over captions of the notebook.
func (d *Document) Captions() *Captions {
	return &Captions{doc: d, limits: map[diag.Code]bool{}}
}

// Parse reads the bytes that span covers as inline Markdown by the rules of the prose: emphasis,
// code, links, footnotes, values, citations, maths. Offsets are those of the file, footnotes and
// link references those of the notebook.
func (c *Captions) Parse(span diag.Span) *Inline {
	src := c.doc.Source
	if span.Start < 0 || span.End > len(src) || span.Start >= span.End {
		return &Inline{Root: ast.NewTextBlock()}
	}
	if _, plain := c.Plain(span); plain {
		root := ast.NewTextBlock()
		root.AppendChild(root, ast.NewTextSegment(text.NewSegment(span.Start, span.End)))
		return &Inline{Root: root}
	}
	s := &state{doc: c.doc, src: src, expanded: c.expanded, limits: c.limits}
	pc := &captionContext{parser.NewContext(), c.doc.refs}
	pc.Set(stateKey, s)
	reader := captionReader{text.NewReader(src[:span.End])}
	reader.SetPosition(0, text.NewSegment(span.Start, span.End))
	root := inlineMarkdown().Parse(reader, parser.WithContext(pc))
	s.finish(root)
	s.resolve()
	c.expanded = s.expanded
	diag.Sort(s.problems)
	block := root.FirstChild()
	if block == nil {
		block = ast.NewTextBlock() // nothing but space
	}
	return &Inline{Root: block, Footnotes: s.refs, Cites: s.cites, Values: s.values, Images: s.images,
		Maths: s.maths, Refs: s.anchors,
		HasLink: s.links, Problems: s.problems}
}

// Plain is the caption that span covers where it is text alone, which may still hold entities.
func (c *Captions) Plain(span diag.Span) (text []byte, plain bool) {
	if span.Start < 0 || span.End > len(c.doc.Source) || span.Start >= span.End {
		return nil, false
	}
	text = c.doc.Source[span.Start:span.End]
	return text, !bytes.ContainsAny(text, "`*_[]!<{$~\\\n")
}

// MayRefer reports whether a caption may hold a link to a place on the sheet, so that one without is
// not read for it.
func (d *Document) MayRefer(caption string) bool {
	return strings.Contains(caption, "](") || d.localRefs && strings.Contains(caption, "[")
}

// captionContext looks link references up in the notebook.
type captionContext struct {
	parser.Context
	refs parser.Context
}

// Reference implements parser.Context.
func (c *captionContext) Reference(label string) (parser.Reference, bool) {
	return c.refs.Reference(label)
}

// captionReader spares goldmark the count of columns from the start of the file.
type captionReader struct{ text.Reader }

// LineOffset implements text.Reader.
func (captionReader) LineOffset() int { return 0 }

// inlineMarkdown reads a single line as text, whatever block it looks like.
var inlineMarkdown = sync.OnceValue(func() parser.Parser {
	return parser.NewParser(
		parser.WithBlockParsers(util.Prioritized(captionParser{}, 100)),
		parser.WithInlineParsers(inlineParsers()...),
	)
})

type captionParser struct{}

func (captionParser) Trigger() []byte { return nil }

func (captionParser) Open(parent ast.Node, reader text.Reader, pc parser.Context) (ast.Node, parser.State) {
	_, seg := reader.PeekLine()
	node := ast.NewTextBlock()
	seg = seg.TrimLeftSpace(reader.Source())
	node.Lines().Append(seg.TrimRightSpace(reader.Source()))
	reader.AdvanceToEOL()
	return node, parser.NoChildren
}

func (captionParser) Continue(ast.Node, text.Reader, parser.Context) parser.State {
	return parser.Close
}

func (captionParser) Close(ast.Node, text.Reader, parser.Context) {}

func (captionParser) CanInterruptParagraph() bool { return true }

func (captionParser) CanAcceptIndentedLine() bool { return true }
