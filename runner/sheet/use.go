package sheet

import (
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/register"
	"workings/runner/resolve"
)

// useEntry writes a used notebook: its name, the inputs given instead of its own, the values
// read from it, and folded under it its lines.
func (p *page) useEntry(e *eval.Entry) {
	stmt, ok := e.Line.Stmt.(*lang.Use)
	if !ok || e.Status == eval.Failed && len(e.Children) == 0 {
		p.brokenEntry(e)
		return
	}
	of := p.useOf(e)
	d := p.draft("")
	d.eq(p, "")
	p.raw(`<span class="tx">use</span>`)
	p.rhs()
	p.used(e, stmt)
	p.blank()
	if of != nil {
		p.readFrom(d, of)
	}
	d.finish(p, e)
	if of != nil && of.Plain() {
		p.end() // its lines stand on its own page
		return
	}
	within := ""
	if e.Line.Sub != nil {
		within = e.Line.Sub.Name
		outer := p.ambient
		p.ambient = p.ambients[e.Line.Sub.Name] // its gauge pressures count from its own
		defer func() { p.ambient = outer }()
	}
	p.fold(e.Children, "Lines of the used sheet, entry "+e.Number, within, anyBroken(e.Children), func() {
		p.raw("Its lines")
		if stmt.As != nil {
			p.raw(": ")
			p.text(stmt.As.Text)
		}
		p.raw(", ")
		p.lineCount(e.Children)
	})
	p.end()
}

func (p *page) used(e *eval.Entry, stmt *lang.Use) {
	switch {
	case stmt.Library != nil:
		p.raw(`<span class="tx">the methods of `)
		p.text(stmt.Library.Text)
		p.raw(", which come with the tool</span>")
	case stmt.Path != nil:
		if of := p.useOf(e); of != nil {
			p.openSheet(of.Used)
			p.raw(`<span class="tx"><b>`)
			p.text(citation(of.Used))
			p.raw("</b>")
			if title := of.Used.Titled(); title != "" {
				p.text(", " + title)
			}
			p.raw("</span></a> ")
		}
		p.raw("<code>")
		p.text(stmt.Path.Value)
		p.raw("</code>")
		if stmt.As != nil {
			p.raw(`<span class="tx"> as </span><b class="tx">`)
			p.text(stmt.As.Text)
			p.raw("</b>")
		}
	}
	if len(e.Line.Inputs) == 0 {
		return
	}
	p.raw(`<span class="tx">, given instead of its own inputs: </span>`)
	for i, b := range e.Line.Inputs {
		if b.Symbol == nil || b.X == nil {
			continue
		}
		if i > 0 {
			p.raw(`<span class="tx">, </span>`)
		}
		p.raw("<math>")
		if stmt.As != nil {
			p.raw("<mtext>")
			p.text(stmt.As.Text + ".")
			p.raw("</mtext>")
		}
		p.raw(p.symbol(b.Symbol), "</math>")
		p.refs.bind(b.X)
		p.math(b.X, false, `<mo>=</mo>`)
		if worthValues(b.X) || b.X.Op == resolve.OpRef {
			p.math(b.X, true, `<mo>=</mo>`)
		}
	}
}

// readFrom lists the values that are read from another sheet, each with the way to its line on that
// sheet's page. With inputs that are given here the value is another, and its lines are folded below.
func (p *page) readFrom(d *draft, u *register.Use) {
	for _, v := range u.Values {
		d.eq(p, "")
		p.mathSymbol(v.Symbol)
		p.rhs()
		p.raw(`<span class="tx quiet">read from it`)
		if !u.Plain() {
			p.raw(" with the inputs given here")
		}
		if v.Entry != "" {
			p.raw(", ")
			p.openEntry("", u.Name+"."+v.Entry)
			p.raw("entry ")
			p.text(v.Entry)
			p.raw("</a>")
		}
		p.raw("</span>")
		p.resultCell(v.Symbol)
	}
}
