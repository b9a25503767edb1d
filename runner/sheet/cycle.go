package sheet

import (
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
)

// cycle writes a `cycle` fence: its components, then its totals, in the form of a ledger.
func (p *page) cycle(l *resolve.Line) {
	if l.Cycle == nil {
		p.failedBlock(l)
		return
	}
	if _, drawn := p.places[l]; drawn {
		p.schematicFigure(l, l.Cycle)
	}
	p.ledger([]*resolve.Line{l}, "Cycle "+l.Cycle.Name)
	p.audit(l.Cycle)
}

// cycleEntry writes a cycle with the lines under it.
func (p *page) cycleEntry(e *eval.Entry) {
	c := e.Line.Cycle
	if c == nil {
		p.brokenEntry(e)
		return
	}
	p.raw(`<tbody class="run" id="e`)
	p.attr(e.Number)
	p.raw(`" tabindex="-1"><tr><th scope="rowgroup" colspan="4">`)
	p.ownNumber(e.Number)
	p.raw(" Cycle ")
	p.text(c.Name)
	if c.Stmt.Caption.Text != "" {
		p.raw(": ")
		p.caption(e.Line.File, c.Stmt.Caption.Loc)
	}
	p.raw("</th></tr></tbody>\n")
	totals := false
	told := p.auditTells(c) && p.within == "" // the audit of a used cycle stands on its own sheet
	for _, b := range e.Children {
		if told && b.Line.Component != nil {
			continue
		}
		if b.Line.Total != nil && !totals {
			totals = true
			p.runHeading("Totals of " + c.Name + ", from the states alone")
		}
		p.writeEntry(b)
	}
	if e.Status == eval.Failed && e.Problem != nil {
		p.raw("<tbody>")
		p.foot(e.Problem)
		p.end()
	}
	p.withheld(c)
}

// runHeading is a heading of rows in words of the sheet's own.
func (p *page) runHeading(text string) {
	p.raw(`<tbody class="run"><tr><th scope="rowgroup" colspan="4">`)
	p.text(text)
	p.raw("</th></tr></tbody>\n")
}

// withheld says which totals have no value, and why, each reason once.
func (p *page) withheld(c *resolve.Cycle) {
	for _, w := range c.Without() {
		p.raw(`<tbody class="row"><tr><td class="no"></td><td class="cap" colspan="3"><span class="quiet">No `)
		for i, name := range w.Names {
			if i > 0 {
				p.raw(", ")
			}
			base, sub := p.typeset(name, "")
			p.raw("<math><mtext>")
			p.text(c.Name + ".")
			p.raw("</mtext>")
			(&maths{buf: &p.buf, page: p}).subscripted(base, sub)
			p.raw("</math>")
		}
		p.raw(": ")
		p.text(w.Reason)
		p.raw(".</span></td></tr></tbody>\n")
	}
}

// flowEntry writes the flow of the components below it.
func (p *page) flowEntry(e *eval.Entry) {
	if e.Status != eval.Done || e.Line.X == nil {
		p.brokenEntry(e)
		return
	}
	p.raw(`<tbody class="run"><tr><th scope="rowgroup" colspan="4"><span class="quiet">flow </span>`)
	p.refs.bind(e.Line.X)
	p.math(e.Line.X, false, "")
	if s, ok := e.Line.Stmt.(*lang.Flow); ok && s.Caption.Text != "" {
		p.raw(" ")
		p.caption(e.Line.File, s.Caption.Loc)
	}
	p.raw("</th></tr></tbody>\n")
}

// deadEntry names the dead states.
func (p *page) deadEntry(e *eval.Entry) {
	s, ok := e.Line.Stmt.(*lang.DeadState)
	if !ok || e.Status != eval.Done {
		p.brokenEntry(e)
		return
	}
	p.raw(`<tbody class="run"><tr><th scope="rowgroup" colspan="4"><span class="quiet">dead state </span>`)
	for i, ref := range s.States {
		if i > 0 {
			p.raw(" ")
		}
		p.raw(`<span class="ring">`)
		if ref.Of != nil {
			p.text(ref.Of.Text + ".")
		}
		p.text(ref.ID.Text)
		p.raw("</span>")
	}
	if s.Caption.Text != "" {
		p.raw(" ")
		p.caption(e.Line.File, s.Caption.Loc)
	}
	p.raw("</th></tr></tbody>\n")
}

// componentEntry writes a component: its states, its word, and what flows through it.
func (p *page) componentEntry(e *eval.Entry) {
	c := e.Line.Component
	if c == nil || e.Status != eval.Done {
		p.brokenEntry(e)
		return
	}
	d := p.draft("")
	d.eq(p, "")
	p.legs(c.From)
	p.raw(" → ")
	p.legs(c.To)
	p.rhs()
	p.raw(`<span class="tx">`)
	p.text(c.Kind)
	if c.Pair != nil && c.Pair.Name != "" {
		p.text(" " + c.Pair.Name)
	}
	if c.Side != "" {
		p.text(", " + c.Side + " side")
	}
	if c.Shaft != "" {
		p.text(", shaft " + c.Shaft)
	}
	p.raw("</span>")
	through := len(c.From) == 1 && len(c.To) == 1 && c.From[0].Flow == c.To[0].Flow
	if !through {
		p.legFlows(c)
	}
	v, ok := p.tr.Flow(c.From[0])
	if ok && through {
		p.raw(`</span></td><td class="res">`)
		p.figureCells(p.shown(v), false)
		p.raw("</td>")
	} else {
		p.blank()
	}
	d.finish(p, e)
	p.end()
}

func (p *page) legs(legs []resolve.Leg) {
	for i, l := range legs {
		if i > 0 {
			p.raw(" + ")
		}
		p.ring(l.State)
	}
}

// legFlows writes what flows where streams join, divide or change: 12 kg/s + 3 kg/s → 15 kg/s.
func (p *page) legFlows(c *resolve.Component) {
	known := false
	for _, legs := range [][]resolve.Leg{c.From, c.To} {
		for _, l := range legs {
			_, ok := p.tr.Flow(l)
			known = known || ok
		}
	}
	if !known {
		return
	}
	p.raw(`<span class="tx quiet">: `)
	for side, legs := range [][]resolve.Leg{c.From, c.To} {
		if side > 0 {
			p.raw(" → ")
		}
		for i, l := range legs {
			if i > 0 {
				p.raw(" + ")
			}
			if v, ok := p.tr.Flow(l); ok {
				f := p.shown(v)
				p.text(f.num)
				if !f.unit.IsNone() {
					p.text(" " + f.unit.String())
					p.seen(f.unit)
				}
			} else {
				p.raw("?")
			}
		}
	}
	p.raw("</span>")
}
