package sheet

import (
	"workings/runner/cycle"
	"workings/runner/diag"
	"workings/runner/lang"
	"workings/runner/resolve"
)

// auditOf finds the audit of a cycle, or nil.
func (p *page) auditOf(c *resolve.Cycle) *cycle.Audit {
	for _, a := range p.o.Audits {
		if a.Cycle == c && a.Report != nil {
			return a
		}
	}
	return nil
}

// auditTells reports a cycle whose components are entries of its audit: without flows there is
// nothing more to say of them.
func (p *page) auditTells(c *resolve.Cycle) bool {
	return c.Flows == resolve.NoFlow && p.auditOf(c) != nil
}

// audit writes what the states of a cycle come to by the first and second law, with the findings
// under the component that they are about.
func (p *page) audit(c *resolve.Cycle) {
	a := p.auditOf(c)
	if a == nil {
		return
	}
	t := a.Table()
	p.raw(`<div class="scroll" tabindex="0" role="region" aria-label="Audit of `)
	p.attr(c.Name)
	p.raw(`"><table class="tab audit"><caption>Audit of `)
	p.text(c.Name)
	p.raw(` by the first and second law, from the states alone</caption><thead><tr><th scope="col">component</th>`)
	for i, h := range t.Heads {
		if i == cycle.EfficiencyCell {
			p.raw(`<th scope="col" class="de">`)
		} else {
			p.raw(`<th scope="col" class="n">`)
		}
		p.text(h)
		p.raw("</th>")
	}
	p.raw("</tr></thead><tbody>\n")
	for _, r := range t.Rows {
		p.auditRow(r, p.auditTells(c))
		for _, q := range r.Findings {
			p.auditFinding(q, 1+len(t.Heads))
		}
	}
	p.raw("</tbody></table></div>\n")
	p.raw(`<p class="key">`)
	for i, n := range t.Notes {
		if i > 0 {
			p.raw(" ")
		}
		p.sentence(n)
	}
	p.raw("</p>\n")
}

// auditRow writes a row; where the audit tells of the components it is their entry as well.
func (p *page) auditRow(r cycle.Row, entries bool) {
	e := p.entry(r.Line)
	numbered := r.Line != nil && e != nil && e.Number != ""
	switch {
	case r.Total:
		p.raw(`<tr class="total"><th scope="row">`)
	case numbered && entries:
		p.raw(`<tr id="e`)
		p.attr(e.Number)
		p.raw(`" tabindex="-1"><th scope="row">`)
		p.ownNumber(e.Number)
		p.raw(" ")
	case numbered:
		p.raw(`<tr><th scope="row">`)
		p.entryLink(e.Number)
		p.raw(" ")
	default:
		p.raw(`<tr><th scope="row">`)
	}
	p.text(r.Name)
	if numbered && entries {
		if c := lang.CaptionOf(r.Line.Stmt); c.Text != "" {
			p.raw(` <span class="quiet">`)
			p.caption(r.Line.File, c.Loc)
			p.raw("</span>")
		}
	}
	p.raw("</th>")
	for i, c := range r.Cells {
		if i == cycle.EfficiencyCell {
			p.raw(`<td class="de">`)
		} else {
			p.raw(`<td class="n">`)
		}
		p.text(c)
		p.raw("</td>")
	}
	p.raw("</tr>\n")
}

// auditFinding is one sentence under a component; the list of problems has the rest.
func (p *page) auditFinding(q *diag.Problem, columns int) {
	class, icon := "warn", "warn"
	switch q.Severity {
	case diag.Error:
		class, icon = "bad", "bad"
	case diag.Note:
		class, icon = "wait", "wait"
	}
	p.raw(`<tr class="finding"><td colspan="`, itoa(columns), `" class="v-`, class, `">`)
	p.icon(icon)
	p.raw(" ")
	for i, other := range p.tr.Problems {
		if other == q {
			p.raw(`<a href="#P`, itoa(i+1), `">P`, itoa(i+1), "</a> ")
			break
		}
	}
	p.sentence(q.Message)
	if q.Severity != diag.Note && q.Hint != "" {
		p.raw(` <span class="quiet">`)
		p.sentence(q.Hint)
		p.raw("</span>")
	}
	p.raw("</td></tr>\n")
}
