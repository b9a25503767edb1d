package sheet

import (
	"bytes"
	"regexp"
	"sync"

	"github.com/yuin/goldmark/ast"

	"workings/runner/notebook"
)

const (
	leastContents = 3  // headings below which a list of them says nothing
	openContents  = 14 // headings beyond which the list is folded
	longContents  = 8  // headings from which it is printed
)

// heading of the contents: its level on the page, and the entries up to the next heading.
type contentsItem struct {
	node        *ast.Heading
	id          string
	level       int
	first, last string
}

// contents lists the sections, with the entries that each holds. It is a list of links that works
// without script and folds by the browser's own means.
func (p *page) contents() {
	items := p.contentsItems()
	if len(items) < leastContents {
		return
	}
	class, open := "contents", " open=\"\""
	if len(items) < longContents {
		class += " short"
	}
	if len(items) > openContents {
		open = ""
	}
	p.raw(`<nav class="`, class, `" aria-label="Contents"><details`, open, `><summary>Contents</summary><ol>`, "\n")
	own := p.sources[p.doc.File]
	for _, it := range items {
		if p.full() {
			break
		}
		p.raw(`<li class="l`, itoa(it.level), `"><a href="#`)
		p.attr(percent(headingID(it.id)))
		p.raw(`">`)
		start := len(p.b)
		p.noMarks = true
		p.children(it.node, own)
		p.noMarks = false
		if bytes.Contains(p.b[start:], []byte("<a ")) {
			plain := withoutLinks().ReplaceAll(p.b[start:], nil)
			p.b = append(p.b[:start], plain...)
		}
		p.raw("</a>")
		if it.first != "" {
			p.raw(` <span class="quiet">`, plural(map[bool]int{true: 1, false: 2}[it.first == it.last], "entry ", "entries "))
			p.entryLink(it.first)
			if it.last != it.first {
				p.raw("–")
				p.entryLink(it.last)
			}
			p.raw("</span>")
		}
		p.raw("</li>\n")
	}
	p.raw("</ol></details></nav>\n")
}

// withoutLinks finds the tags of links, which a link cannot hold.
var withoutLinks = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`</?a\b[^>]*>`)
})

// contentsItems are the headings of the two highest levels.
func (p *page) contentsItems() []contentsItem {
	var items []contentsItem
	levels := p.heading
	block := 0
	_ = ast.Walk(p.doc.Root, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if !entering {
			return ast.WalkContinue, nil
		}
		switch n := n.(type) {
		case *ast.Heading:
			if n == p.skipTitle {
				break
			}
			level := levels.level(n.Level)
			id, _ := n.AttributeString("id")
			text, _ := id.([]byte)
			if level <= 3 && len(text) > 0 {
				items = append(items, contentsItem{node: n, id: string(text), level: level})
			}
			return ast.WalkSkipChildren, nil
		case *ast.Paragraph, *ast.TextBlock: // hold text only
			return ast.WalkSkipChildren, nil
		case *notebook.BlockNode:
			if block < len(p.blocks) && len(items) > 0 {
				items[len(items)-1].hold(p, block)
			}
			block++
		}
		return ast.WalkContinue, nil
	})
	return items
}

// hold adds the entries of a fence.
func (it *contentsItem) hold(p *page, block int) {
	for _, l := range p.blocks[block] {
		if e := p.entry(l); e != nil && e.Number != "" {
			if it.first == "" {
				it.first = e.Number
			}
			it.last = e.Number
		}
	}
}
