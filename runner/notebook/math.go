package notebook

import (
	"bytes"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"

	"workings/runner/diag"
)

// mathParser reads $…$ and $$…$$. So that prices stay prices, the opening $ is not followed by a
// space, the closing one neither comes after a space nor before a digit, and no code begins between
// the two. \$ is a dollar sign.
type mathParser struct{}

func (mathParser) Trigger() []byte { return []byte{'$'} }

func (mathParser) Parse(parent ast.Node, block text.Reader, pc parser.Context) ast.Node {
	line, seg := block.PeekLine()
	start := seg.Start
	run := dollars(line)
	if run > 2 {
		block.Advance(run)
		return ast.NewTextSegment(text.NewSegment(start, start+run))
	}
	s := stateOf(pc)
	display := run == 2
	if s.noMath[run-1] == parent || !display && start < s.noMathBefore || len(line) > run && !display && util.IsSpace(line[run]) {
		block.Advance(run)
		return ast.NewTextSegment(text.NewSegment(start, start+run))
	}
	node := &MathNode{Display: display, Span: diag.Span{Start: start}}
	node.SetPos(start)
	saved, pos := block.Position()
	block.Advance(run)
	var tex []byte
	for prev := byte('$'); ; {
		line, seg := block.PeekLine()
		if line == nil {
			// Whatever closes no opener from here closes none further on either.
			s.noMath[run-1] = parent
			break
		}
		i := closeMath(line, run, prev)
		if tick := bytes.IndexByte(line, '`'); !display && tick >= 0 && (i < 0 || tick < i) {
			// No formula holds the beginning of code: "$5, and `$x$`". What closes no opener from
			// here to there closes none in between either.
			s.noMathBefore = seg.Start - seg.Padding + tick
			break
		}
		if i >= 0 {
			node.starts = append(node.starts, texStart{len(tex), seg.Start - seg.Padding})
			tex = append(tex, line[:i]...)
			if len(bytes.TrimSpace(tex)) == 0 {
				break
			}
			block.Advance(i + run)
			trimmed := bytes.TrimSpace(tex)
			for k := range node.starts {
				node.starts[k].tex -= len(tex) - len(bytes.TrimLeft(tex, " \t\r\n"))
			}
			node.TeX, node.Span.End = string(trimmed), seg.Start-seg.Padding+i+run
			return node
		}
		node.starts = append(node.starts, texStart{len(tex), seg.Start - seg.Padding})
		tex = append(tex, line...)
		prev = line[len(line)-1]
		block.AdvanceLine()
	}
	block.SetPosition(saved, pos)
	block.Advance(run)
	return ast.NewTextSegment(text.NewSegment(start, start+run))
}

// dollars counts the dollar signs at the start of b.
func dollars(b []byte) int {
	n := 0
	for n < len(b) && b[n] == '$' {
		n++
	}
	return n
}

// closeMath finds the closing dollar signs in a line; prev is what stands before it.
func closeMath(line []byte, run int, prev byte) int {
	for i := 0; i < len(line); i++ {
		switch line[i] {
		case '\\':
			i++
			if i < len(line) {
				prev = line[i]
			}
			continue
		case '$':
			n := dollars(line[i:])
			after := byte(' ')
			if i+n < len(line) {
				after = line[i+n]
			}
			if n == run && (run == 2 || !util.IsSpace(prev) && (after < '0' || after > '9')) {
				return i
			}
			i += n - 1
		}
		prev = line[i]
	}
	return -1
}

// mathBlockParser keeps the lines between a line that begins with $$ and the one that ends it
// together, so that a line of TeX beginning with - or = does not become a list or a heading.
// A blank line or a fence ends it too: an unclosed $$ never swallows what follows.
type mathBlockParser struct{}

// mathLines is the block while it is open; it becomes a paragraph.
type mathLines struct{ HTMLBlock }

func (mathBlockParser) Trigger() []byte { return []byte{'$'} }

func (mathBlockParser) Open(parent ast.Node, reader text.Reader, pc parser.Context) (ast.Node, parser.State) {
	line, seg := reader.PeekLine()
	pos := pc.BlockOffset()
	if pos < 0 || dollars(line[pos:]) != 2 || bytes.Contains(line[pos+2:], []byte("$$")) {
		return nil, parser.NoChildren
	}
	node := &mathLines{}
	node.Lines().Append(seg)
	reader.AdvanceToEOL()
	return node, parser.NoChildren
}

func (mathBlockParser) Continue(node ast.Node, reader text.Reader, pc parser.Context) parser.State {
	line, seg := reader.PeekLine()
	trimmed := bytes.TrimLeft(line, " \t")
	if util.IsBlank(line) || bytes.HasPrefix(trimmed, []byte("```")) || bytes.HasPrefix(trimmed, []byte("~~~")) {
		return parser.Close
	}
	node.Lines().Append(seg)
	reader.AdvanceToEOL()
	if bytes.Contains(line, []byte("$$")) {
		return parser.Close
	}
	return parser.Continue | parser.NoChildren
}

func (mathBlockParser) Close(node ast.Node, reader text.Reader, pc parser.Context) {
	para := ast.NewParagraph()
	para.SetPos(node.Pos())
	para.SetBlankPreviousLines(node.HasBlankPreviousLines())
	segs := node.Lines()
	for i := range segs.Len() {
		seg := segs.At(i)
		seg = seg.TrimLeftSpace(reader.Source())
		if i == segs.Len()-1 {
			seg = seg.TrimRightSpace(reader.Source())
		}
		para.Lines().Append(seg)
	}
	node.Parent().ReplaceChild(node.Parent(), node, para)
}

func (mathBlockParser) CanInterruptParagraph() bool { return true }

func (mathBlockParser) CanAcceptIndentedLine() bool { return false }
