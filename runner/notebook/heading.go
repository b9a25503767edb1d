package notebook

import (
	"strconv"
	"strings"
	"unicode"

	"github.com/yuin/goldmark/ast"
)

// headings gives headings their ids, which keep the letters of every script.
type headings struct {
	used map[string]bool
	next map[string]int // the number to try next for a repeated text
}

// id makes an id from the text of a heading: letters and digits in lower case, runs of anything
// else one hyphen; the second of the same text gets -2.
func (h *headings) id(text string) string {
	var b strings.Builder
	gap := false
	for _, r := range strings.ToLower(text) {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) && !unicode.IsMark(r) {
			gap = true
			continue
		}
		if gap && b.Len() > 0 {
			b.WriteByte('-')
		}
		gap = false
		b.WriteRune(r)
	}
	base := b.String()
	if base == "" {
		base = "section"
	}
	if h.used == nil {
		h.used, h.next = map[string]bool{}, map[string]int{}
	}
	id := base
	for h.used[id] {
		h.next[base] = max(2, h.next[base]+1)
		id = base + "-" + strconv.Itoa(h.next[base])
	}
	h.used[id] = true
	return id
}

// heading sets the id attribute of a heading, once its inline content is final.
func (s *state) heading(n *ast.Heading) {
	text := PlainText(n, s.src)
	id := s.ids.id(text)
	n.SetAttributeString("id", []byte(id))
	s.doc.Headings = append(s.doc.Headings, &Heading{ID: id, Text: text, Node: n})
}

// PlainText is the text of a node without its markup; source is the Document's.
func PlainText(node ast.Node, source []byte) string {
	var b strings.Builder
	_ = ast.Walk(node, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if !entering {
			return ast.WalkContinue, nil
		}
		switch n := n.(type) {
		case *ast.Text:
			b.Write(n.Segment.Value(source))
			if n.SoftLineBreak() || n.HardLineBreak() {
				b.WriteByte(' ')
			}
		case *ast.String:
			b.Write(n.Value)
		case *ast.AutoLink:
			b.Write(n.Label(source))
		case *ValueNode:
			b.WriteString(strings.Trim(string(source[n.Span.Start:n.Span.End]), "{}"))
		case *CiteNode:
			b.WriteString("[" + n.Label + "]")
		case *MathNode:
			b.WriteString(n.TeX)
		case *HTMLInline:
			b.WriteString(n.HTML)
		}
		return ast.WalkContinue, nil
	})
	return b.String()
}
