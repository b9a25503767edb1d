package notebook

import (
	"sort"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"

	"workings/runner/diag"
)

// linkParser reads links and images as CommonMark does. goldmark's own needs quadratic time for
// `[a](b` repeated, and gives up links after a bracket that nothing closes, as in [0, 1).
type linkParser struct{}

// bracket stands for a [ or ![ until it is known what it opens.
type bracket struct {
	ast.BaseInline
	seg    text.Segment
	image  bool
	bottom ast.Node // the last mark of emphasis before it; nil if none
	nested bool     // another bracket came after it: what it encloses is no label
}

var kindBracket = ast.NewNodeKind("WorkingsBracket")

// Kind implements ast.Node.
func (b *bracket) Kind() ast.NodeKind { return kindBracket }

// Dump implements ast.Node.
func (b *bracket) Dump(src []byte, level int) { ast.DumpHelper(b, src, level, nil, nil) }

func (linkParser) Trigger() []byte { return []byte{'!', '[', ']'} }

func (linkParser) Parse(parent ast.Node, block text.Reader, pc parser.Context) ast.Node {
	line, seg := block.PeekLine()
	s := stateOf(pc)
	n := 1
	switch {
	case line[0] == ']':
		return s.closeBracket(parent, block, pc)
	case line[0] == '!' && (len(line) < 2 || line[1] != '['):
		return nil
	case line[0] == '!':
		if s.openImages >= MaxImageNesting {
			s.limit(codeNesting, diag.Span{Start: seg.Start, End: seg.Start + 1},
				"images are nested more than 32 deep in their descriptions", "from here on they are text")
			return nil
		}
		s.openImages++
		n = 2
	}
	b := &bracket{seg: seg.WithStop(seg.Start + n), image: n == 2}
	if last := pc.LastDelimiter(); last != nil {
		b.bottom = last
	}
	if k := len(s.brackets); k > 0 {
		s.brackets[k-1].nested = true
	}
	s.brackets = append(s.brackets, b)
	block.Advance(n)
	return b
}

// CloseBlock implements parser.CloseBlocker: brackets still open are text.
func (linkParser) CloseBlock(parent ast.Node, block text.Reader, pc parser.Context) {
	s := stateOf(pc)
	for _, b := range s.brackets {
		b.toText()
	}
	s.brackets, s.inLink, s.openImages = nil, 0, 0
}

func (b *bracket) toText() { ast.MergeOrReplaceTextSegment(b.Parent(), b, b.seg) }

// closeBracket makes the link or image that ends at the ] before which block stands, or text of
// the bracket that the ] belongs to.
func (s *state) closeBracket(parent ast.Node, block text.Reader, pc parser.Context) ast.Node {
	k := len(s.brackets) - 1
	if k < 0 {
		return nil
	}
	b := s.brackets[k]
	s.brackets = s.brackets[:k]
	if b.image {
		s.openImages--
	}
	dead := k < s.inLink && !b.image // a link was made after it, and no link holds another
	s.inLink = min(s.inLink, k)
	if dead {
		b.toText()
		return nil
	}
	link := s.linkAfter(b, parent, block, pc)
	if link == nil {
		b.toText()
		return nil
	}
	parser.ProcessDelimiters(b.bottom, pc)
	for c := b.NextSibling(); c != nil; c = b.NextSibling() {
		link.AppendChild(link, c)
	}
	parent.RemoveChild(parent, b)
	var node ast.Node = link
	if b.image {
		node = ast.NewImage(link)
	} else {
		s.inLink = k
	}
	node.(interface{ SetPos(int) }).SetPos(b.seg.Start)
	return node
}

// linkAfter reads what makes [text] a link and moves block behind it: (destination), [label], []
// or, where the text is a label itself, nothing.
func (s *state) linkAfter(b *bracket, parent ast.Node, block text.Reader, pc parser.Context) *ast.Link {
	rest, seg := block.PeekLine()
	lines := parent.Lines()
	line, pos := block.Position()
	in := &lineText{src: s.src, lines: lines, line: line, rest: rest[1:]}
	start := *in
	if len(in.rest) > 0 && in.rest[0] == '(' {
		dest, title, ok := in.tail()
		if in.long {
			s.limitLink(diag.Span{Start: seg.Start + 1, End: seg.Start + 2})
		}
		if ok {
			in.moveTo(block, line, pos)
			link := ast.NewLink()
			link.Destination, link.Title = dest, title
			return link
		}
		*in = start
	}
	kind, label := ast.ReferenceLinkShortcut, []byte(nil)
	if in.take('[') {
		if given, ok := in.until('[', ']', maxLabel); !ok {
			*in = start
		} else if kind = ast.ReferenceLinkCollapsed; !util.IsBlank(given) {
			kind, label = ast.ReferenceLinkFull, given
		}
	}
	if kind != ast.ReferenceLinkFull {
		if b.nested {
			return nil
		}
		label = between(s.src, lines, b.seg.Stop, seg.Start)
	}
	if len(label) > maxLabel || len(label) == 0 {
		return nil
	}
	ref, ok := pc.Reference(util.ToLinkReference(label))
	if !ok {
		return nil
	}
	in.moveTo(block, line, pos)
	link := ast.NewLink()
	link.Destination, link.Title = ref.Destination(), ref.Title()
	link.Reference = ast.NewReferenceLink(kind, label)
	return link
}

// moveTo puts block, which is at pos in the given line, where in has read to.
func (in *lineText) moveTo(block text.Reader, line int, pos text.Segment) {
	for ; line < in.line && line < in.lines.Len()-1; line++ {
		block.AdvanceLine()
		_, pos = block.Position()
	}
	block.Advance(pos.Stop - len(in.rest) - pos.Start)
}

// between is the text of a paragraph from start to stop, at most a little more than a label.
func between(src []byte, lines *text.Segments, start, stop int) []byte {
	n := lines.Len()
	i := sort.Search(n, func(i int) bool { return lines.At(i).Start > start }) - 1
	if stop-start > 4*maxLabel {
		return src[start:stop] // too long whatever it holds
	}
	var out []byte
	for i = max(i, 0); i < n; i++ {
		seg := lines.At(i)
		from, to := max(start, seg.Start), min(stop, seg.Stop)
		if from >= stop {
			break
		}
		if from < to {
			out = append(out, src[from:to]...)
		}
	}
	return out
}

func (s *state) limitLink(span diag.Span) {
	s.limit(codeLinkLength, span, "a link destination or title is longer than 2,048 bytes", "the link is shown as text")
}
