package sheet

import "workings/runner/notebook"

// tex writes TeX maths of the prose. What this version cannot typeset stands as it was typed.
func (p *page) tex(n *notebook.MathNode) {
	p.raw(`<code class="tex">`)
	p.text(n.TeX)
	p.raw("</code>")
}
