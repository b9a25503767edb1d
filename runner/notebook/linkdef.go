package notebook

import (
	"bytes"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"

	"workings/runner/diag"
)

// linkDefinitions takes `[label]: destination "title"` off the start of paragraphs. goldmark's
// own transformer copies the rest of the paragraph for each, and sets no bound to their length.
type linkDefinitions struct{}

// Transform implements parser.ParagraphTransformer.
func (linkDefinitions) Transform(node *ast.Paragraph, reader text.Reader, pc parser.Context) {
	lines := node.Lines()
	if first := lines.At(0); first.IsEmpty() || trimmed(first, reader.Source())[0] != '[' {
		return
	}
	in := &lineText{src: reader.Source(), lines: lines}
	taken := 0
	for taken < lines.Len() {
		in.line, in.rest = taken, trimmed(lines.At(taken), in.src)
		label, dest, title, ok := in.definition()
		if in.long {
			at := lines.At(taken).Start
			stateOf(pc).limitLink(diag.Span{Start: at, End: at + 1})
		}
		if !ok {
			break
		}
		pc.AddReference(parser.NewReference(label, dest, title))
		taken = in.line
	}
	if taken > 0 {
		// Stands for them all until the tree is finished: it counts when goldmark decides whether
		// a list is loose.
		mark := ast.NewLinkReferenceDefinition(nil, nil, nil)
		mark.SetBlankPreviousLines(node.HasBlankPreviousLines())
		node.Parent().InsertBefore(node.Parent(), node, mark)
	}
	if taken == lines.Len() {
		node.Parent().RemoveChild(node.Parent(), node)
		return
	}
	lines.SetSliced(taken, lines.Len())
}

// definition reads one definition and leaves line at the line after it.
func (in *lineText) definition() (label, dest, title []byte, ok bool) {
	if len(in.rest) == 0 || in.rest[0] != '[' {
		return nil, nil, nil, false
	}
	in.rest = in.rest[1:]
	if label, ok = in.until('[', ']', maxLabel); !ok || util.IsBlank(label) {
		return nil, nil, nil, false
	}
	if len(in.rest) == 0 || in.rest[0] != ':' {
		return nil, nil, nil, false
	}
	in.rest = bytes.TrimLeft(in.rest[1:], " \t")
	if util.IsBlank(in.rest) && !in.nextLine() {
		return nil, nil, nil, false
	}
	if dest, ok = in.destination(); !ok {
		return nil, nil, nil, false
	}
	after, spaced := *in, len(in.rest) > 0 && util.IsSpace(in.rest[0])
	in.rest = bytes.TrimLeft(in.rest, " \t")
	if util.IsBlank(in.rest) {
		in.nextLine()
	}
	if spaced || in.line > after.line {
		if title, ok = in.title(); ok && util.IsBlank(in.rest) {
			in.line++
			return label, dest, title, true
		}
	}
	after.long = in.long
	*in = after // no title, or a title with something after it: is there a definition without it?
	if !util.IsBlank(in.rest) {
		return nil, nil, nil, false
	}
	in.line++
	return label, dest, nil, true
}
