package notebook

import (
	"slices"
	"sort"
	"strings"
	"sync"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"

	"workings/runner/diag"
)

// state is what one pass over a text needs beside goldmark's own.
type state struct {
	doc      *Document
	src      []byte
	problems []*diag.Problem

	fences map[ast.Node]*fenceExtent
	notes  []*FootnoteDef
	ids    headings

	values []*ProseValue
	images []*Image
	refs   []*FootnoteRef
	cites  []*CiteNode
	maths  []*MathNode
	// anchors are links to places on the sheet
	anchors []*RefNode
	links   bool

	noMath       [2]ast.Node // the block in which no further $, $$ is closed
	noMathBefore int         // no $ before this byte of the file opens a formula
	brackets     []*bracket  // open in the block being parsed
	inLink       int         // so many of them stand before a link
	openImages   int
	emphasisIn   ast.Node
	emphasisRuns int
	offers       int
	cells, pipes int
	expanded     int
	compared     int
	limits       map[diag.Code]bool
}

var stateKey = parser.NewContextKey()

func stateOf(pc parser.Context) *state { return pc.Get(stateKey).(*state) }

// inlineParsers are those of prose and captions alike; the number is goldmark's priority, a lower
// one is asked first.
func inlineParsers() []util.PrioritizedValue {
	return []util.PrioritizedValue{
		util.Prioritized(extension.NewTaskCheckBoxParser(), 0),
		util.Prioritized(mathParser{}, 90),
		util.Prioritized(valueParser{}, 90),
		util.Prioritized(parser.NewCodeSpanParser(), 100),
		util.Prioritized(footnoteParser{}, 110),
		util.Prioritized(citeParser{}, 120),
		util.Prioritized(linkParser{}, 200),
		util.Prioritized(parser.NewAutoLinkParser(), 300),
		util.Prioritized(parser.NewRawHTMLParser(), 400),
		util.Prioritized(emphasis{parser.NewEmphasisParser()}, 500),
		util.Prioritized(emphasis{extension.NewStrikethroughParser()}, 500),
	}
}

// markdown is goldmark's parser with our parts in it; it is safe for concurrent use.
var markdown = sync.OnceValue(func() parser.Parser {
	return parser.NewParser(
		parser.WithBlockParsers(
			util.Prioritized(mathBlockParser{}, 50),
			util.Prioritized(parser.NewSetextHeadingParser(), 100),
			util.Prioritized(container{extension.NewDefinitionListParser(), false}, 101),
			util.Prioritized(container{extension.NewDefinitionDescriptionParser(), true}, 102),
			util.Prioritized(parser.NewThematicBreakParser(), 200),
			util.Prioritized(container{parser.NewListParser(), false}, 300),
			util.Prioritized(container{parser.NewListItemParser(), true}, 400),
			util.Prioritized(parser.NewCodeBlockParser(), 500),
			util.Prioritized(parser.NewATXHeadingParser(), 600),
			util.Prioritized(fenceParser{parser.NewFencedCodeBlockParser()}, 700),
			util.Prioritized(container{parser.NewBlockquoteParser(), false}, 800),
			util.Prioritized(parser.NewHTMLBlockParser(), 900),
			util.Prioritized(container{footnoteBlockParser{}, false}, 950),
			util.Prioritized(parser.NewParagraphParser(), 1000),
		),
		parser.WithInlineParsers(inlineParsers()...),
		parser.WithParagraphTransformers(
			util.Prioritized(linkDefinitions{}, 100),
			util.Prioritized(newTables(), 200),
		),
		parser.WithASTTransformers(util.Prioritized(extension.NewTableASTTransformer(), 0)),
	)
})

func (d *Document) parseTree(s *state) {
	pc := parser.NewContext()
	pc.Set(stateKey, s)
	s.offers = offersFor(len(s.src))
	d.refs = pc
	d.Root = markdown().Parse(text.NewReader(s.src), parser.WithContext(pc))
	s.finish(d.Root)
	for _, def := range s.notes {
		takeOut(def)
	}
	s.resolve()
	sort.SliceStable(s.values, func(i, j int) bool { return s.values[i].Span.Start < s.values[j].Span.Start })
	d.Values, d.Images, d.Maths, d.Refs = s.values, s.images, s.maths, s.anchors
	for _, r := range s.refs {
		d.Cited = append(d.Cited, r.Label)
	}
	for _, r := range pc.References() {
		d.localRefs = d.localRefs || strings.HasPrefix(resolveDestination(r.Destination()), "#")
	}
	pc.Set(stateKey, nil)
}

// takeOut removes a node, and the quote or list that held nothing else.
func takeOut(n ast.Node) {
	for p := n.Parent(); p != nil; n, p = p, p.Parent() {
		p.RemoveChild(p, n)
		if p.HasChildren() || p.Kind() == ast.KindDocument || p.Kind() == KindFootnoteDef {
			return
		}
	}
}

func (s *state) resolve() {
	for _, def := range s.notes {
		s.footnote(def)
	}
	for _, ref := range s.refs {
		s.resolveFootnote(ref)
	}
}

// finish turns goldmark's nodes into those of this package, children first. Its depth is bounded
// by MaxNesting, MaxEmphasis and MaxImageNesting.
func (s *state) finish(node ast.Node) {
	for c := node.FirstChild(); c != nil; {
		s.finish(c)
		next := c.NextSibling() // what follows c may have come out of it
		s.finishNode(c)
		c = next
	}
}

func (s *state) finishNode(node ast.Node) {
	switch n := node.(type) {
	case *ast.FencedCodeBlock:
		s.fence(n)
	case *FootnoteDef:
		s.notes = append(s.notes, n)
	case *ast.LinkReferenceDefinition:
		n.Parent().RemoveChild(n.Parent(), n)
	case *ast.HTMLBlock:
		h := &HTMLBlock{}
		h.SetPos(n.Pos())
		h.SetBlankPreviousLines(n.HasBlankPreviousLines())
		h.SetLines(n.Lines())
		if n.HasClosure() {
			h.Lines().Append(n.ClosureLine)
		}
		n.Parent().ReplaceChild(n.Parent(), n, h)
	case *ast.RawHTML:
		h := &HTMLInline{HTML: string(n.Segments.Value(s.src))}
		if last := n.Segments.Len() - 1; last >= 0 {
			h.Span = diag.Span{Start: n.Segments.At(0).Start, End: n.Segments.At(last).Stop}
		}
		h.SetPos(n.Pos())
		n.Parent().ReplaceChild(n.Parent(), n, h)
	case *ast.Heading:
		s.heading(n)
	case *ast.Link:
		if !s.link(n) {
			s.links = true
			s.clearLink(n)
			s.anchor(n)
		}
	case *ast.AutoLink:
		s.autoLink(n)
	case *ast.Image:
		s.image(n)
	case *ValueNode:
		if n.Value != nil {
			s.values = append(s.values, n.Value)
		}
	case *FootnoteRef:
		s.refs = append(s.refs, n)
	case *CiteNode:
		s.cites = append(s.cites, n)
	case *MathNode:
		s.maths = append(s.maths, n)
	}
}

// clearLink takes what is a link itself out of the text of a link.
func (s *state) clearLink(link *ast.Link) {
	var moved []ast.Node
	_ = ast.Walk(link, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if entering && (n.Kind() == KindFootnoteRef || n.Kind() == KindCite) {
			moved = append(moved, n)
		}
		return ast.WalkContinue, nil
	})
	after := ast.Node(link)
	for _, n := range moved {
		switch n := n.(type) {
		case *FootnoteRef:
			n.Parent().RemoveChild(n.Parent(), n)
			link.Parent().InsertAfter(link.Parent(), after, n)
			after = n
		case *CiteNode:
			t := ast.NewTextSegment(text.NewSegment(n.Span.Start, n.Span.End))
			n.Parent().ReplaceChild(n.Parent(), n, t)
			s.cites = slices.DeleteFunc(s.cites, func(c *CiteNode) bool { return c == n })
		}
	}
}

func (s *state) autoLink(n *ast.AutoLink) {
	dest := n.URL(s.src)
	if n.AutoLinkType == ast.AutoLinkEmail || SafeDestination(dest) && !strings.HasPrefix(string(dest), "//") {
		s.links = true
		return
	}
	label := n.Label(s.src)
	start := max(0, n.Pos()) + 1
	span := diag.Span{Start: start, End: start + len(label)}
	s.unsafe(span)
	n.Parent().ReplaceChild(n.Parent(), n, ast.NewTextSegment(text.NewSegment(span.Start, span.End)))
}

// lastByte is the end of the last text in a node.
func (s *state) lastByte(node ast.Node) int {
	last := 0
	_ = ast.Walk(node, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if !entering {
			return ast.WalkContinue, nil
		}
		switch n := n.(type) {
		case *ast.Text:
			last = max(last, n.Segment.Stop)
		case *BlockNode:
			last = max(last, n.Block.Span.End)
		case *ast.FencedCodeBlock:
			last = max(last, s.fences[n].end)
		case *ValueNode:
			last = max(last, n.Span.End)
		case *FootnoteRef:
			last = max(last, n.Span.End)
		case *CiteNode:
			last = max(last, n.Span.End)
		case *MathNode:
			last = max(last, n.Span.End)
		}
		if n.Type() == ast.TypeBlock && n.IsRaw() {
			if l := n.Lines(); l.Len() > 0 {
				last = max(last, lineEnd(s.src, l.At(l.Len()-1).Start))
			}
		}
		return ast.WalkContinue, nil
	})
	return last
}
