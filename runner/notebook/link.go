package notebook

import (
	"bytes"
	"net/url"
	"strings"
	"unicode"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/util"

	"workings/runner/diag"
)

const (
	// MaxDestination bounds a link destination and a link title, in bytes.
	MaxDestination = 2048
	// MaxExpansion bounds the bytes that link references of one notebook put into its sheet.
	MaxExpansion = 1 << 20
)

// SafeDestination reports whether a link may lead to dest: an http, https or mailto address, a
// place on the page (#…) or a relative address. dest is as written in Markdown; escapes and
// entities in it are resolved first, percent signs are looked through, and what a browser would
// read differently from a person (control characters, backslashes, //host) is refused.
func SafeDestination(dest []byte) bool {
	d := strings.Trim(resolveDestination(dest), " ")
	for range 4 {
		if !safeAddress(d) {
			return false
		}
		plain, err := url.PathUnescape(d)
		if err != nil || plain == d {
			return true // a stray percent sign is no trick
		}
		d = plain
	}
	return false // no honest address is escaped four times over
}

// resolveDestination is dest as the renderer will understand it.
func resolveDestination(dest []byte) string {
	d := util.UnescapePunctuations(dest)
	d = util.ResolveNumericReferences(d)
	return string(util.ResolveEntityNames(d))
}

func safeAddress(d string) bool {
	for _, r := range d {
		if unicode.IsControl(r) || unicode.Is(unicode.Cf, r) || r == '\\' || r == unicode.ReplacementChar ||
			r == '\u2028' || r == '\u2029' {
			return false
		}
	}
	if strings.HasPrefix(d, "//") {
		return false
	}
	first := d
	if i := strings.IndexAny(d, "/?#"); i >= 0 {
		first = d[:i]
	}
	scheme, _, found := strings.Cut(first, ":")
	if !found {
		return true
	}
	switch strings.ToLower(scheme) {
	case "http", "https":
		rest := d[len(scheme)+1:]
		return len(rest) > 2 && strings.HasPrefix(rest, "//") && rest[2] != '/'
	case "mailto":
		return true
	}
	return false
}

// link checks a link; where it is not to be followed its text takes its place.
func (s *state) link(n *ast.Link) (removed bool) {
	if n.Reference != nil && !s.expand(len(n.Destination)+len(n.Title), s.linkSpan(n)) {
		unlink(n)
		return true
	}
	if SafeDestination(n.Destination) {
		return false
	}
	s.unsafe(s.destinationSpan(n))
	unlink(n)
	return true
}

// anchor turns a link to a place on the sheet into a RefNode.
func (s *state) anchor(n *ast.Link) {
	target, local := strings.CutPrefix(resolveDestination(n.Destination), "#")
	if !local {
		return
	}
	if plain, err := url.PathUnescape(target); err == nil {
		target = plain
	}
	ref := &RefNode{Target: target, Words: strings.TrimSpace(PlainText(n, s.src)), Span: s.destinationSpan(n)}
	ref.SetPos(n.Pos())
	if end := ref.Span.End; n.Reference == nil && end < len(s.src) && s.src[end] == ')' {
		ref.Whole = diag.Span{Start: max(0, n.Pos()), End: end + 1}
	}
	for c := n.FirstChild(); c != nil; {
		next := c.NextSibling()
		ref.AppendChild(ref, c)
		c = next
	}
	n.Parent().ReplaceChild(n.Parent(), n, ref)
	s.anchors = append(s.anchors, ref)
}

func (s *state) unsafe(span diag.Span) {
	s.report(&diag.Problem{
		Code: CodeLink, Severity: diag.Caution, Span: span,
		Message: "this link is shown as text, because it may not be followed from a sheet",
		Label:   "not a safe address",
		Hint:    "links go to http, https and mailto addresses, to #places on the page and to relative addresses",
	})
}

// expand counts what link references put into the sheet: a kilobyte of definition can be used
// in every third byte of a notebook.
func (s *state) expand(size int, span diag.Span) bool {
	if s.expanded += size; s.expanded <= MaxExpansion {
		return true
	}
	s.limit(codeLinkExpand, span, "link references expand to more than 1,048,576 bytes",
		"this link and those after it are shown as text")
	return false
}

// unlink puts the children of a node in its place.
func unlink(n ast.Node) {
	parent := n.Parent()
	for c := n.FirstChild(); c != nil; {
		next := c.NextSibling()
		parent.InsertBefore(parent, n, c)
		c = next
	}
	parent.RemoveChild(parent, n)
}

// linkSpan is the link from its bracket to the end of its text.
func (s *state) linkSpan(n ast.Node) diag.Span {
	start := max(0, n.Pos())
	end := min(max(start+1, s.lastByte(n)), len(s.src))
	if end < len(s.src) && s.src[end] == ']' {
		end++
	}
	return diag.Span{Start: start, End: end}
}

// destinationSpan is where the destination is written, or the link where that is elsewhere.
func (s *state) destinationSpan(n *ast.Link) diag.Span {
	span := s.linkSpan(n)
	near := s.src[span.End:min(len(s.src), span.End+len(n.Destination)+64)]
	if i := bytes.Index(near, n.Destination); i >= 0 && n.Reference == nil && len(n.Destination) > 0 {
		return diag.Span{Start: span.End + i, End: span.End + i + len(n.Destination)}
	}
	return span
}

// image records an image; its description, not being a link's text, stays as it is.
func (s *state) image(n *ast.Image) (removed bool) {
	span := s.linkSpan(n)
	if n.Reference != nil && !s.expand(len(n.Destination)+len(n.Title), span) {
		unlink(n)
		return true
	}
	s.images = append(s.images, &Image{Dest: resolveDestination(n.Destination), Span: span, Node: n})
	return false
}
