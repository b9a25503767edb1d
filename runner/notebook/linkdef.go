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
	in := &definitionText{src: reader.Source(), lines: lines}
	taken := 0
	for taken < lines.Len() {
		in.line, in.rest = taken, trimmed(lines.At(taken), in.src)
		label, dest, title, ok := in.definition()
		if !ok {
			break
		}
		if len(dest) > MaxDestination || len(title) > MaxDestination {
			at := lines.At(taken).Start
			stateOf(pc).limit(codeLinkLength, diag.Span{Start: at, End: at + 1},
				"a link destination or title is longer than 2,048 bytes", "it is left out")
		} else {
			pc.AddReference(parser.NewReference(label, dest, title))
		}
		taken = in.line
	}
	if taken == lines.Len() {
		node.Parent().RemoveChild(node.Parent(), node)
		return
	}
	lines.SetSliced(taken, lines.Len())
}

func trimmed(seg text.Segment, src []byte) []byte {
	return bytes.TrimLeft(src[seg.Start:seg.Stop], " \t")
}

// definitionText reads over the lines of a paragraph; line is the one that rest comes from.
type definitionText struct {
	src   []byte
	lines *text.Segments
	line  int
	rest  []byte
}

func (in *definitionText) nextLine() bool {
	if in.line++; in.line >= in.lines.Len() {
		in.rest = nil
		return false
	}
	in.rest = trimmed(in.lines.At(in.line), in.src)
	return true
}

// definition reads one definition and leaves line at the line after it.
func (in *definitionText) definition() (label, dest, title []byte, ok bool) {
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
	*in = after // no title, or a title with something after it: is there a definition without it?
	if !util.IsBlank(in.rest) {
		return nil, nil, nil, false
	}
	in.line++
	return label, dest, nil, true
}

// until takes what comes before the closer, over line ends, where no opener comes first.
func (in *definitionText) until(opener, closer byte, most int) ([]byte, bool) {
	var out []byte
	for {
		for i := 0; i < len(in.rest); i++ {
			switch c := in.rest[i]; {
			case c == '\\' && i+1 < len(in.rest):
				i++
			case c == closer:
				out = append(out, in.rest[:i]...)
				in.rest = in.rest[i+1:]
				return out, len(out) <= most
			case c == opener:
				return nil, false
			}
		}
		if out = append(out, in.rest...); len(out) > most || !in.nextLine() {
			return nil, false
		}
	}
}

func (in *definitionText) destination() ([]byte, bool) {
	b := in.rest
	if len(b) > 0 && b[0] == '<' {
		for i := 1; i < len(b) && b[i] != '<' && b[i] != '\n'; i++ {
			if b[i] == '\\' && i+1 < len(b) {
				i++
			} else if b[i] == '>' {
				in.rest = b[i+1:]
				return b[1:i], true
			}
		}
		return nil, false
	}
	i := 0
	for i < len(b) && !util.IsSpace(b[i]) {
		i++
	}
	in.rest = b[i:]
	return b[:i], i > 0
}

func (in *definitionText) title() ([]byte, bool) {
	if len(in.rest) == 0 {
		return nil, false
	}
	opener := in.rest[0]
	closer := opener
	switch opener {
	case '"', '\'':
	case '(':
		closer = ')'
	default:
		return nil, false
	}
	in.rest = in.rest[1:]
	if closer == opener {
		opener = closer // the closer is looked for first, so an opener never ends the search
	}
	return in.until(opener, closer, len(in.src))
}
