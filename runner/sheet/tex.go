package sheet

import (
	"workings/runner/notebook"
	"workings/runner/tex"
)

// tex writes a formula of the prose or of a caption. One that cannot be typeset stands as it was
// typed, with the way to its problem.
func (p *page) tex(n *notebook.MathNode, s *captionSource) {
	m := p.o.Maths[tex.Place{File: s.doc.File, At: n.Span.Start}]
	if m.Markup != "" {
		p.raw(m.Markup)
		return
	}
	if m.Problem != nil {
		p.raw(`<span class="flag bad">`)
		p.icon("bad")
		p.raw(" ")
		p.link("P", itoa(p.problems[m.Problem]))
		p.raw("not typeset</a></span> ")
	}
	p.raw(`<code class="tex">`)
	p.text(n.TeX)
	p.raw("</code>")
}
