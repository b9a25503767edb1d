package sheet

import (
	"strings"

	"workings/runner/eval"
	"workings/runner/resolve"
)

// sourceList writes every source once, numbered, with the way back to what rests on it: footnotes,
// property data, files of data and used notebooks.
func (p *page) sourceList() {
	used := p.uses()
	var files []listedTable
	for _, d := range dataTables(p.tr.Sheet) {
		if d.File != nil && d.File != d.Line.File { // its rows stand in no notebook
			files = append(files, d)
		}
	}
	if len(p.doc.Footnotes)+len(p.tr.Fluids)+len(used)+len(files) == 0 {
		return
	}
	p.section("Sources", "Sources")
	p.raw(`<ol class="list src">`, "\n")
	own := p.sources[p.doc.File]
	citing := p.citing()
	no := 0
	open := func() {
		no++
		n := itoa(no)
		p.raw(`<li id="S`, n, `" tabindex="-1"><b>S`, n, "</b><div>")
	}
	for _, n := range p.doc.Footnotes {
		if p.full() {
			break
		}
		open()
		p.noAnchor = true
		p.children(n.Node, own)
		p.noAnchor = false
		p.citedBy(no, citing["^"+n.Label])
		p.raw("</div></li>\n")
	}
	for _, f := range p.tr.Fluids {
		open()
		p.raw("<p>")
		p.fluidSource(f)
		p.raw("</p></div></li>\n")
	}
	for _, d := range files {
		open()
		p.raw("<p>Data <b>")
		p.text(strings.Join(append([]string{d.Full()}, d.also...), ", "))
		p.raw("</b>: file <code>")
		p.text(d.File.Name)
		p.raw(`</code> <span class="code">sha256 `, Hash(d.File.Text), "</span></p></div></li>\n")
	}
	for _, e := range used {
		open()
		p.raw("<p>")
		p.usedSource(e)
		p.raw("</p></div></li>\n")
	}
	p.raw("</ol>\n")
	if p.usesPrint {
		p.raw(`<p class="key">Printed tables of gases count h and u from slightly different zeros, so an absolute value from one may differ from this sheet’s by a constant. Differences between two states do not.</p>`, "\n")
	}
	p.raw("</section>\n")
}

// uses are the entries that use another notebook, those of used notebooks included.
func (p *page) uses() []*eval.Entry {
	var out []*eval.Entry
	var walk func(es []*eval.Entry)
	walk = func(es []*eval.Entry) {
		for _, e := range es {
			if e.Line.Kind == resolve.Use {
				out = append(out, e)
				walk(e.Children)
			}
		}
	}
	walk(p.tr.Entries)
	return out
}

// citers are the lines whose captions cite a source.
type citers struct {
	entries []string
	places  []place
	data    []string
}

// citing lists by footnote what cites it.
func (p *page) citing() map[string]*citers {
	out := map[string]*citers{}
	for _, l := range p.tr.Sheet.Lines {
		if l.File != p.doc.File {
			continue
		}
		last := ""
		for _, label := range l.Sources {
			if !strings.HasPrefix(label, "^") || label == last {
				continue
			}
			last = label
			c := out[label]
			if c == nil {
				c = &citers{}
				out[label] = c
			}
			if at, ok := p.places[l]; ok {
				c.places = append(c.places, at)
			} else if l.Data != nil {
				c.data = append(c.data, l.Data.Name)
			} else if e := p.entry(l); e != nil && e.Number != "" {
				c.entries = append(c.entries, e.Number)
			}
		}
	}
	return out
}

// citedBy writes the links back from a footnote.
func (p *page) citedBy(no int, c *citers) {
	marks := p.cited[no]
	if c == nil && marks == 0 {
		return
	}
	p.raw(`<p class="back">cited in `)
	gap := ""
	next := func() {
		p.raw(gap)
		gap = ", "
	}
	if c != nil {
		if n := len(c.entries); n > 0 {
			next()
			p.raw(plural(n, "entry ", "entries "))
			p.waitLinks(c.entries)
		}
		for _, at := range c.places {
			next()
			p.link("", at.id)
			p.raw(strings.ToLower(at.word), " ", itoa(at.number), "</a>")
		}
		for _, name := range c.data {
			next()
			p.link("D", name)
			p.raw("data ")
			p.text(name)
			p.raw("</a>")
		}
	}
	for i := range min(marks, mostLinks) {
		if i == 0 {
			next()
			p.raw("the text:")
		}
		p.raw(" ")
		p.link("S", itoa(no)+"."+itoa(i+1))
		p.raw("place ", itoa(i+1), "</a>")
	}
	p.raw("</p>")
}
