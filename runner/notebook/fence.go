package notebook

import (
	"bytes"
	"slices"
	"strings"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"

	"workings/runner/diag"
)

// Kinds returns the words that make a fence an evaluated block, in alphabetical order.
func Kinds() []string {
	return []string{"answers", "assume", "calc", "chart", "cycle", "data", "inputs", "method", "study", "table"}
}

// fenceParser is goldmark's fence parser, which forgets where a fence began and whether it ended.
type fenceParser struct{ parser.BlockParser }

// fenceExtent is what it forgets.
type fenceExtent struct {
	start, open, end int // first fence character, end of the opening line, end of the whole
	closed           bool
	starts           []int // of each content line, after what belongs to the container
}

func (p fenceParser) Open(parent ast.Node, reader text.Reader, pc parser.Context) (ast.Node, parser.State) {
	_, seg := reader.PeekLine()
	node, state := p.BlockParser.Open(parent, reader, pc)
	if node != nil {
		s := stateOf(pc)
		if s.fences == nil {
			s.fences = map[ast.Node]*fenceExtent{}
		}
		start := seg.Start + max(0, pc.BlockOffset()-seg.Padding)
		open := lineEnd(s.src, start)
		s.fences[node] = &fenceExtent{start: start, open: open, end: open}
	}
	return node, state
}

func (p fenceParser) Continue(node ast.Node, reader text.Reader, pc parser.Context) parser.State {
	_, seg := reader.PeekLine()
	state := p.BlockParser.Continue(node, reader, pc)
	s := stateOf(pc)
	x := s.fences[node]
	x.end = lineEnd(s.src, seg.Start)
	x.closed = state&parser.Close != 0
	if !x.closed {
		start := seg.Start
		if seg.Padding > 0 {
			start-- // the tab of which the padding is a part
		}
		x.starts = append(x.starts, start)
	}
	return state
}

// lineEnd is where the line that holds the byte at offset ends, its line ending not counted.
func lineEnd(src []byte, offset int) int {
	end := len(src)
	if i := bytes.IndexByte(src[offset:], '\n'); i >= 0 {
		end = offset + i
	}
	if end > offset && src[end-1] == '\r' {
		end--
	}
	return end
}

// fence replaces an evaluated fence by its block and reports what is odd about any.
func (s *state) fence(node *ast.FencedCodeBlock) ast.Node {
	x := s.fences[node]
	var word, rest diag.Span
	if node.Info != nil {
		seg := node.Info.Segment
		word = diag.Span{Start: seg.Start, End: seg.Stop}
		if i := bytes.IndexAny(s.src[seg.Start:seg.Stop], " \t"); i >= 0 {
			word.End = seg.Start + i
		}
		rest = diag.Span{Start: word.End, End: seg.Stop}
		rest.Start += util.TrimLeftSpaceLength(s.src[rest.Start:rest.End])
	}
	kind := word.In(s.doc.File)
	known := slices.Contains(Kinds(), kind)
	if !known {
		s.nearKind(kind, word)
	}
	if !x.closed {
		s.report(&diag.Problem{
			Code: codeFenceOpen, Severity: diag.Caution, Span: diag.Span{Start: x.start, End: x.open},
			Message: "this fence is never closed", Label: "opened here",
			Hint: "end the block with a line of the same fence characters; it was read to the end of the list, quote or file it stands in",
		})
	}
	if !known {
		return node
	}
	b := &Block{
		Kind: kind, KindSpan: word, Info: rest.In(s.doc.File), InfoSpan: rest,
		Span: diag.Span{Start: x.start, End: x.end}, Lines: s.lines(node, x),
	}
	s.doc.Blocks = append(s.doc.Blocks, b)
	n := &BlockNode{Block: b}
	n.SetPos(x.start)
	n.SetBlankPreviousLines(node.HasBlankPreviousLines())
	node.Parent().ReplaceChild(node.Parent(), node, n)
	return n
}

func (s *state) lines(node ast.Node, x *fenceExtent) []Line {
	segs := node.Lines()
	lines := make([]Line, segs.Len())
	for i := range lines {
		seg := segs.At(i)
		start := seg.Start
		// Padding stands for columns of a tab that goldmark has split; the file has only the
		// tab. On a blank line goldmark may also step back into the container.
		if seg.Padding > 0 {
			start--
		}
		start = max(start, x.starts[i])
		end := max(start, lineEnd(s.src, start))
		lines[i] = Line{Text: string(s.src[start:end]), Start: start}
	}
	return lines
}

// nearKind cautions where a fence word was likely meant for one of Kinds. It is stricter than
// diag.Near, since the names of programming languages are short and legitimate.
func (s *state) nearKind(word string, span diag.Span) {
	for _, k := range diag.Near(word, Kinds()) {
		if strings.EqualFold(word[:1], k[:1]) {
			s.report(&diag.Problem{
				Code: codeFenceWord, Severity: diag.Caution, Span: span,
				Message: "a fence of " + quote(word) + " is shown as code, not evaluated",
				Label:   "did you mean " + k + "?",
				Hint:    "evaluated fences are " + strings.Join(Kinds(), ", "),
			})
			return
		}
	}
}
