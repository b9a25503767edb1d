package notebook

import (
	"bytes"

	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"
)

// lineText reads links over the lines of a paragraph; line is the one that rest is the end of.
type lineText struct {
	src   []byte
	lines *text.Segments
	line  int
	rest  []byte
	long  bool // a destination or title was longer than MaxDestination
}

func trimmed(seg text.Segment, src []byte) []byte {
	return bytes.TrimLeft(src[seg.Start:seg.Stop], " \t")
}

// skipSpace passes over space and line ends.
func (in *lineText) skipSpace() (skipped bool) {
	before, line := len(in.rest), in.line
	in.rest = bytes.TrimLeft(in.rest, " \t\r\n")
	for len(in.rest) == 0 && in.nextLine() {
		in.rest = bytes.TrimLeft(in.rest, " \t\r\n")
	}
	return in.line > line || len(in.rest) < before
}

func (in *lineText) take(c byte) bool {
	if len(in.rest) == 0 || in.rest[0] != c {
		return false
	}
	in.rest = in.rest[1:]
	return true
}

// tail reads `(destination "title")`.
func (in *lineText) tail() (dest, title []byte, ok bool) {
	in.take('(')
	in.skipSpace()
	if in.take(')') {
		return nil, nil, true
	}
	if dest, ok = in.destinationInBrackets(); !ok {
		return nil, nil, false
	}
	if in.skipSpace() && len(in.rest) > 0 && in.rest[0] != ')' {
		if title, ok = in.title(); !ok {
			return nil, nil, false
		}
		in.skipSpace()
	}
	return dest, title, in.take(')')
}

// destinationInBrackets reads a destination that ends at a space or an unmatched ).
func (in *lineText) destinationInBrackets() ([]byte, bool) {
	b := in.rest
	if len(b) > 0 && b[0] == '<' {
		return in.destination()
	}
	opened, i := 0, 0
loop:
	for ; i < len(b); i++ {
		switch c := b[i]; {
		case i > MaxDestination:
			in.long = true
			return nil, false
		case c == '\\' && i+1 < len(b) && util.IsPunct(b[i+1]):
			i++
		case c == '(':
			opened++
		case c == ')':
			if opened--; opened < 0 {
				break loop
			}
		case util.IsSpace(c):
			break loop
		}
	}
	in.rest = b[i:]
	return b[:i], i > 0
}

func (in *lineText) nextLine() bool {
	if in.line++; in.line >= in.lines.Len() {
		in.rest = nil
		return false
	}
	in.rest = trimmed(in.lines.At(in.line), in.src)
	return true
}

// until takes what comes before the closer, over line ends, where no opener comes first.
func (in *lineText) until(opener, closer byte, most int) ([]byte, bool) {
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
			return out, false
		}
	}
}

func (in *lineText) destination() ([]byte, bool) {
	b := in.rest
	if len(b) > 0 && b[0] == '<' {
		for i := 1; i < len(b) && b[i] != '<' && b[i] != '\n'; i++ {
			if i > MaxDestination+1 {
				in.long = true
				return nil, false
			}
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
		if i++; i > MaxDestination {
			in.long = true
			return nil, false
		}
	}
	in.rest = b[i:]
	return b[:i], i > 0
}

func (in *lineText) title() ([]byte, bool) {
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
	title, ok := in.until(opener, closer, MaxDestination)
	in.long = in.long || len(title) > MaxDestination
	return title, ok
}
