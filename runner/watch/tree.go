package watch

import (
	"bytes"
)

// node is an element of a page, with its place in the text.
type node struct {
	// The element is text[start:end]; its contents begin at open; up to next it is followed by white
	// space that belongs to it.
	start, open, end, next int
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
// element that it opens, so that nothing has to be guessed; nil where it did not. It is run for every
// change of a page of megabytes, so that it looks no further into an element than it must.
func parse(text []byte) *node {
	var open []frame
	var done []node // elements that are complete, of all that are open
	for at := 0; ; {
		i := bytes.IndexByte(text[at:], '<')
		if i < 0 {
			return nil // it ends within its html element, or has none
		}
		if n := len(open); i > 0 && n > 0 {
			if f := &open[n-1]; !f.mixed && len(bytes.TrimSpace(text[at:at+i])) > 0 {
				f.mixed = true
			}
			if len(done) > open[n-1].kids {
				done[len(done)-1].next = at + i
			}
		}
		at += i
		j := bytes.IndexByte(text[at:], '>')
		if j < 2 {
			return nil
		}
		tag, after := text[at+1:at+j], at+j+1
		name := tagName(tag)
		end := 0 // of an element that is not looked into
		switch {
		case tag[0] == '!':
			at = after
			continue
		case tag[0] == '/':
			if len(open) == 0 || !bytes.Equal(open[len(open)-1].name, tag[1:]) {
				return nil
			}
			f := open[len(open)-1]
			open = open[:len(open)-1]
			n := node{start: f.start, open: f.open, end: after, next: after}
			if !f.mixed && after-f.start >= small && len(done) > f.kids {
				n.kids = append([]node(nil), done[f.kids:]...)
			}
			done = append(done[:f.kids], n)
			if len(open) == 0 {
				return &n
			}
			at = after
			continue
		case len(open) > 0:
			end = endOf(text, at, after)
		}
		switch {
		case end < 0 || len(open) == deepest:
			return nil
		case end > 0:
			done = append(done, node{start: at, open: after, end: end, next: end})
			after = end
		default:
			open = append(open, frame{name: name, start: at, open: after, kids: len(done)})
		}
		at = after
	}
}

func tagName(tag []byte) []byte {
	for i, c := range tag {
		if i > 0 && (c == ' ' || c == '/' || c == '\n') {
			return tag[:i]
		}
	}
	return tag
}

// void are the elements of HTML that have no end.
func void(name []byte) bool {
	switch string(name) {
	case "area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr":
		return true
	}
	return false
}

// whole are elements that are exchanged as one, however large, unless they hold another of their kind.
func whole(name []byte) bool {
	switch string(name) {
	case "p", "tr", "li", "math", "pre", "script", "style":
		return true
	}
	return false
}

// endOf is where the element at a place ends, whose contents begin at from, if it is exchanged as one: 0
// where it must be looked into, -1 where it has no end.
func endOf(text []byte, at, from int) int {
	name := tagName(text[at+1 : from-1])
	if text[from-2] == '/' || void(name) {
		return from
	}
	if !whole(name) && !bytes.HasPrefix(text[at:], rowTag) {
		return 0
	}
	i := bytes.Index(text[from:], append(append([]byte("</"), name...), '>'))
	if i < 0 {
		return -1
	}
	inner := text[from : from+i]
	if string(name) != "script" && string(name) != "style" {
		begin := append([]byte{'<'}, name...)
		for {
			k := bytes.Index(inner, begin)
			if k < 0 {
				break
			}
			if inner = inner[k+len(begin):]; len(inner) == 0 || inner[0] == ' ' || inner[0] == '>' {
				return 0
			}
		}
	}
	return from + i + len(name) + len("</>")
}

// moved is an element, and all in it, so much further on.
func (n node) moved(by int) node {
	if by == 0 {
		return n
	}
	n.start, n.open, n.end, n.next = n.start+by, n.open+by, n.end+by, n.next+by
	if n.kids != nil {
		kids := make([]node, len(n.kids))
		for i, k := range n.kids {
			kids[i] = k.moved(by)
		}
		n.kids = kids
	}
	return n
}
