package sheet

import (
	"encoding/base64"
	"net/http"
	"path"
	"strings"

	"github.com/yuin/goldmark/ast"
	extension "github.com/yuin/goldmark/extension/ast"

	"workings/runner/diag"
	"workings/runner/notebook"
)

// captionSource is a file whose captions are read: the notebook, a used sheet, a library.
type captionSource struct {
	doc      *notebook.Document
	captions *notebook.Captions
	own      bool // the notebook itself, whose footnotes and assumptions are on this page
}

// source gives the document behind a file. That of another file is read here, for its captions.
func (p *page) source(f *diag.File) *captionSource {
	s := p.sources[f]
	if s == nil {
		doc := notebook.Parse(f)
		s = &captionSource{doc: doc, captions: doc.Captions()}
		p.sources[f] = s
	}
	return s
}

// caption writes the inline Markdown of a span of a file.
func (p *page) caption(f *diag.File, span diag.Span) {
	if f == nil || span.Start >= span.End {
		return
	}
	s := p.source(f)
	if plain, ok := s.captions.Plain(span); ok {
		p.unescaped(plain)
		return
	}
	in := s.captions.Parse(span)
	before := p.noAnchor
	p.noAnchor = true
	p.children(in.Root, s)
	p.noAnchor = before
}

// Title is that of the front matter, else the first heading, else the name of the file.
func Title(doc *notebook.Document) string {
	title, _ := titleOf(doc)
	return title
}

// titleOf also gives the heading that the title was taken from, or nil.
func titleOf(doc *notebook.Document) (title string, from *ast.Heading) {
	if t := doc.Front.Title.Text; t != "" {
		return t, nil
	}
	for n := doc.Root.FirstChild(); n != nil; n = n.NextSibling() {
		if h, ok := n.(*ast.Heading); ok {
			title, from = notebook.PlainText(h, doc.Source), h
			break
		}
	}
	if title == "" {
		title = path.Base(doc.File.Name)
	}
	return title, from
}

func (p *page) findTitle() {
	title, from := titleOf(p.doc)
	p.title, p.skipTitle = title, from
	least := 6
	for n := p.doc.Root.FirstChild(); n != nil; n = n.NextSibling() {
		if h, ok := n.(*ast.Heading); ok && h != from {
			least = min(least, h.Level)
		}
	}
	p.heading = headingLevels{shift: 2 - least, last: 1}
}

// headingLevels maps the notebook's levels to the page's: its highest becomes h2 below the
// title, and no level is left out on the way down.
type headingLevels struct{ shift, last int }

func (h *headingLevels) level(n int) int {
	h.last = max(2, min(n+h.shift, h.last+1, 6))
	return h.last
}

// notebook writes the Markdown tree in reading order.
func (p *page) notebook() {
	p.children(p.doc.Root, p.sources[p.doc.File])
}

func (p *page) children(n ast.Node, s *captionSource) {
	if p.depth++; p.depth > maxDepth {
		p.depth--
		return
	}
	for c := n.FirstChild(); c != nil && !p.over; c = c.NextSibling() {
		p.node(c, s)
	}
	p.depth--
}

func (p *page) element(tag string, n ast.Node, s *captionSource) {
	p.raw("<", tag, ">")
	p.children(n, s)
	p.raw("</", tag, ">")
}

func (p *page) node(n ast.Node, s *captionSource) {
	switch n := n.(type) {
	case *ast.Text:
		p.textNode(n, s)
	case *ast.String:
		p.text(string(n.Value))
	case *ast.CodeSpan:
		p.raw("<code>")
		for c := n.FirstChild(); c != nil; c = c.NextSibling() {
			if t, ok := c.(*ast.Text); ok {
				p.text(strings.ReplaceAll(string(t.Segment.Value(s.doc.Source)), "\n", " "))
			}
		}
		p.raw("</code>")
	case *ast.Emphasis:
		if n.Level == 2 {
			p.element("strong", n, s)
		} else {
			p.emphasis = true
			p.element("em", n, s)
		}
	case *extension.Strikethrough:
		p.element("del", n, s)
	case *ast.Link:
		p.linkNode(n.Destination, n.Title, n, s)
	case *ast.AutoLink:
		p.autoLink(n, s)
	case *ast.Image:
		p.image(n, s)
	case *extension.TaskCheckBox:
		p.raw(`<span class="tick" role="img" aria-label="`)
		if n.IsChecked {
			p.raw(`done">`)
			p.icon("ok")
		} else {
			p.raw(`open">`)
		}
		p.raw("</span> ")
	case *notebook.ValueNode:
		p.proseValue(n, s)
	case *notebook.FootnoteRef:
		p.footnoteRef(n, s)
	case *notebook.CiteNode:
		p.cite(n.Label, s)
	case *notebook.RefNode:
		p.refNode(n, s)
	case *notebook.MathNode:
		p.tex(n, s)
	case *notebook.HTMLInline:
		p.raw("<code>")
		p.text(n.HTML)
		p.raw("</code>")
	default:
		p.block(n, s)
	}
}

func (p *page) block(n ast.Node, s *captionSource) {
	if p.full() {
		return
	}
	switch n := n.(type) {
	case *ast.Heading:
		if n == p.skipTitle {
			return
		}
		p.headingNode(n, s)
	case *ast.Paragraph:
		p.element("p", n, s)
	case *ast.TextBlock:
		p.children(n, s)
		if n.NextSibling() != nil {
			p.raw("\n")
		}
		return
	case *ast.Blockquote:
		p.element("blockquote", n, s)
	case *ast.List:
		p.list(n, s)
	case *ast.ListItem:
		p.element("li", n, s)
	case *ast.ThematicBreak:
		p.raw("<hr/>")
	case *ast.CodeBlock:
		p.codeLines(n, s, "")
	case *ast.FencedCodeBlock:
		p.codeLines(n, s, string(n.Language(s.doc.Source)))
	case *notebook.HTMLBlock:
		p.codeLines(n, s, "")
	case *extension.Table:
		p.markdownTable(n, s)
	case *extension.DefinitionList:
		p.element("dl", n, s)
	case *extension.DefinitionTerm:
		p.element("dt", n, s)
	case *extension.DefinitionDescription:
		p.element("dd", n, s)
	case *notebook.BlockNode:
		if s.own {
			p.fence(n.Block)
		} else {
			p.listing(n.Block, "")
		}
	default:
		p.children(n, s)
		return
	}
	p.raw("\n")
}

func (p *page) textNode(n *ast.Text, s *captionSource) {
	v := n.Segment.Value(s.doc.Source)
	if n.IsRaw() {
		p.textOf(v)
	} else {
		p.unescaped(v)
	}
	switch {
	case n.HardLineBreak():
		p.raw("<br/>\n")
	case n.SoftLineBreak():
		p.raw("\n")
	}
}

func (p *page) headingNode(n *ast.Heading, s *captionSource) {
	level := itoa(p.heading.level(n.Level))
	p.raw("<h", level)
	if id, ok := n.AttributeString("id"); ok {
		if b, ok := id.([]byte); ok {
			p.raw(` id="`)
			p.attr(headingID(string(b)))
			p.raw(`"`)
		}
	}
	p.raw(">")
	p.children(n, s)
	p.raw("</h", level, ">")
}

// headingID keeps a heading's id off those of entries (e12, e25.1); the page's own other ids
// begin with a capital, which no heading's does.
func headingID(id string) string {
	if rest, ok := strings.CutPrefix(id, "e"); ok && rest != "" && rest[0] >= '0' && rest[0] <= '9' {
		return "heading-" + id
	}
	return id
}

func (p *page) list(n *ast.List, s *captionSource) {
	tag := "ul"
	if n.IsOrdered() {
		tag = "ol"
	}
	p.raw("<", tag)
	if n.IsOrdered() && n.Start != 1 {
		p.raw(` start="`, itoa(n.Start), `"`)
	}
	p.raw(">\n")
	p.children(n, s)
	p.raw("</", tag, ">")
}

// codeLines writes lines as they stand. A box that may be wider than the page scrolls, and can
// be reached by keyboard to be scrolled.
func (p *page) codeLines(n ast.Node, s *captionSource, info string) {
	p.raw(`<pre tabindex="0" role="group" aria-label="`)
	if info == "" {
		p.raw("text")
	} else {
		p.attr(info)
	}
	p.raw(`"><code>`)
	lines := n.Lines()
	for i := range lines.Len() {
		seg := lines.At(i)
		p.text(strings.TrimRight(string(seg.Value(s.doc.Source)), "\r\n"))
		p.raw("\n")
	}
	p.raw("</code></pre>")
}

func (p *page) linkNode(dest, title []byte, n ast.Node, s *captionSource) {
	if !notebook.SafeDestination(dest) {
		p.children(n, s)
		return
	}
	address := percent(unescapeAll(dest))
	if sheet := p.linkedSheet(address); sheet != "" && s.own {
		address = sheet
	}
	p.raw(`<a href="`)
	p.attr(address)
	if len(title) > 0 {
		p.raw(`" title="`)
		p.attr(unescape(title))
	}
	p.raw(`" rel="noopener noreferrer">`)
	p.children(n, s)
	p.raw("</a>")
}

func (p *page) autoLink(n *ast.AutoLink, s *captionSource) {
	dest := n.URL(s.doc.Source)
	if n.AutoLinkType == ast.AutoLinkEmail && !strings.HasPrefix(strings.ToLower(string(dest)), "mailto:") {
		dest = append([]byte("mailto:"), dest...)
	}
	if !notebook.SafeDestination(dest) {
		p.text(string(n.Label(s.doc.Source)))
		return
	}
	p.raw(`<a href="`)
	p.attr(percent(string(dest)))
	p.raw(`" rel="noopener noreferrer">`)
	p.text(string(n.Label(s.doc.Source)))
	p.raw("</a>")
}

// image embeds a picture, or shows its description where there is none to be had.
func (p *page) image(n *ast.Image, s *captionSource) {
	dest := unescapeAll(n.Destination)
	alt := notebook.PlainText(n, s.doc.Source)
	data, ok := p.o.Images[dest]
	kind := ""
	if ok && s.own {
		kind = pictureType(data)
	}
	if kind == "" {
		p.raw(`<span class="flag warn">`)
		p.icon("warn")
		p.raw(" picture not shown: ")
		p.text(alt)
		p.raw(" (")
		p.text(dest)
		p.raw(")</span>")
		return
	}
	p.raw(`<img src="data:`, kind, ";base64,")
	if base64.StdEncoding.EncodedLen(len(data))+len(p.b) > MaxPage {
		p.over = true
	} else {
		p.b = base64.StdEncoding.AppendEncode(p.b, data)
	}
	p.raw(`" alt="`)
	p.attr(alt)
	if len(n.Title) > 0 {
		p.raw(`" title="`)
		p.attr(unescape(n.Title))
	}
	p.raw(`"/>`)
}

// pictureType is the media type of a picture that a page may show, by its content; "" for
// anything else. An SVG inside <img> runs no script and fetches nothing.
func pictureType(data []byte) string {
	switch t := http.DetectContentType(data); t {
	case "image/png", "image/jpeg", "image/gif", "image/webp":
		return t
	}
	head := string(data[:min(len(data), 1024)])
	if strings.HasPrefix(strings.TrimLeft(head, "\ufeff \t\r\n"), "<") && strings.Contains(head, "<svg") {
		return "image/svg+xml"
	}
	return ""
}

func (p *page) markdownTable(t *extension.Table, s *captionSource) {
	p.proseTables++
	p.raw(`<div class="scroll" tabindex="0" role="region" aria-label="Table in the text, `, itoa(p.proseTables), `"><table class="tab prose">`)
	for r := t.FirstChild(); r != nil; r = r.NextSibling() {
		_, head := r.(*extension.TableHeader)
		if head {
			p.raw("<thead>")
		} else if _, ok := r.PreviousSibling().(*extension.TableHeader); ok {
			p.raw("<tbody>")
		}
		p.raw("<tr>")
		for c := r.FirstChild(); c != nil; c = c.NextSibling() {
			cell, ok := c.(*extension.TableCell)
			if !ok {
				continue
			}
			tag, scope := "td", ""
			if head {
				tag, scope = "th", ` scope="col"`
			}
			if head && !c.HasChildren() {
				tag, scope = "td", "" // a header cell must say something
			}
			p.raw("<", tag, scope)
			switch cell.Alignment {
			case extension.AlignRight:
				p.raw(` class="n"`)
			case extension.AlignCenter:
				p.raw(` class="mid"`)
			}
			p.raw(">")
			p.children(c, s)
			p.raw("</", tag, ">")
		}
		p.raw("</tr>")
		if head {
			p.raw("</thead>")
		} else if r.NextSibling() == nil {
			p.raw("</tbody>")
		}
	}
	p.raw("</table></div>")
}
