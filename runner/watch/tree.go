package watch

import (
	"bytes"
)

// node is an element of a page, with its place in the text.
type node struct {
	// The element is text[start:end]; its contents are text[open:close]; up to next it is followed by
	// white space that belongs to it.
	start, open, close, end, next int
	// kids are its elements, where it is large and holds nothing but elements and white space. Paths
	// into a page count them, and the browser's tree has the same.
	kids []node
}

// small is the size, in bytes, below which an element is exchanged as one.
const small = 1 << 10

// deepest bounds how elements of a page lie in one another.
const deepest = 1 << 10

// frame is an element that is still open.
type frame struct {
	name        []byte
	start, open int
	kids        int  // where its elements begin on the stack of nodes
	mixed       bool // it holds text of its own
}

// parse finds the elements of a page, its html element on top. The page's own writer closes every
// element that it opens, so that nothing has to be guessed; nil where it did not.
func parse(text []byte) *node {
	var open []frame
	var done []node // elements that are complete, of all that are open
	for at := 0; ; {
		i := bytes.IndexByte(text[at:], '<')
		if i < 0 {
			return nil // it ends within its html element, or has none
		}
		if len(open) > 0 && len(bytes.TrimSpace(text[at:at+i])) > 0 {
			open[len(open)-1].mixed = true
		}
		if n := len(done); n > 0 && len(open) > 0 && n > open[len(open)-1].kids {
			done[n-1].next = at + i
		}
		at += i
		j := bytes.IndexByte(text[at:], '>')
		if j < 0 {
			return nil
		}
		tag := text[at+1 : at+j]
		after := at + j + 1
		switch {
		case len(tag) == 0:
			return nil
		case tag[0] == '!':
		case tag[0] == '/':
			if len(open) == 0 {
				return nil
			}
			f := open[len(open)-1]
			if !bytes.Equal(f.name, tag[1:]) {
				return nil
			}
			open = open[:len(open)-1]
			n := node{start: f.start, open: f.open, close: at, end: after, next: after}
			if !f.mixed && after-f.start >= small && len(done) > f.kids {
				n.kids = append([]node(nil), done[f.kids:]...)
			}
			done = append(done[:f.kids], n)
			if len(open) == 0 {
				return &n
			}
		default:
			name := tag
			if k := bytes.IndexAny(tag, " \n/"); k >= 0 {
				name = tag[:k]
			}
			switch {
			case tag[len(tag)-1] == '/' || void(name):
				if len(open) == 0 {
					return nil
				}
				done = append(done, node{start: at, open: after, close: after, end: after, next: after})
			case string(name) == "script" || string(name) == "style":
				k := bytes.Index(text[after:], []byte("</"+string(name)+">"))
				if k < 0 || len(open) == 0 {
					return nil
				}
				end := after + k + len(name) + 3
				done = append(done, node{start: at, open: after, close: after + k, end: end, next: end})
				after = end
			case len(open) == deepest:
				return nil
			default:
				open = append(open, frame{name: name, start: at, open: after, kids: len(done)})
			}
		}
		at = after
	}
}

// void are the elements of HTML that have no end.
func void(name []byte) bool {
	switch string(name) {
	case "area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr":
		return true
	}
	return false
}
