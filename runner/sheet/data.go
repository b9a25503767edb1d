package sheet

import (
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/units"
)

// dataTable writes a `data` fence with all its rows.
func (p *page) dataTable(l *resolve.Line) {
	t := l.Data
	if t == nil || l.Problem != nil || len(t.Columns) == 0 {
		p.failedBlock(l)
		return
	}
	stmt, _ := l.Stmt.(*lang.Data)
	read := p.rowsRead[t]
	p.raw(`<figure class="data" id="D`)
	p.attr(t.Name)
	p.raw(`" tabindex="-1"><figcaption><b>Data `)
	p.text(t.Name)
	p.raw("</b> ")
	if stmt != nil && stmt.Caption.Text != "" {
		p.caption(l.File, stmt.Caption.Loc)
		p.raw(" ")
	}
	if stmt != nil && stmt.From != nil {
		p.raw(`<span class="quiet">from <code>`)
		p.text(stmt.From.Value)
		p.raw("</code></span> ")
	}
	if len(read) > 0 {
		p.raw(`<span class="quiet">Rows in heavier type were read.</span>`)
	}
	p.raw(`</figcaption><div class="scroll" tabindex="0" role="region" aria-label="Data `)
	p.attr(t.Name)
	p.raw(`"><table class="tab states"><thead><tr>`)
	for _, c := range t.Columns {
		p.raw(`<th scope="col" class="n">`)
		p.headSymbol(c.Name)
		if !c.Unit.IsNone() {
			p.raw(" in ")
			p.text(c.Unit.String())
			p.seen(c.Unit)
		}
		p.raw("</th>")
	}
	p.raw("</tr></thead><tbody>\n")
	for i, row := range t.Rows {
		if p.full() {
			break
		}
		if read[i] {
			p.raw(`<tr class="read">`)
		} else {
			p.raw("<tr>")
		}
		for j, v := range row {
			p.raw(`<td class="n">`)
			p.text(tableNumber(v, t.Columns[j].Unit, p.ambient))
			p.raw("</td>")
		}
		p.raw("</tr>\n")
	}
	p.raw("</tbody></table></div></figure>\n")
}

// headSymbol writes a name in a table's head as maths.
func (p *page) headSymbol(text string) {
	base, sub := p.typeset(text, "")
	p.raw("<math>")
	(&maths{buf: &p.buf, page: p}).subscripted(base, sub)
	p.raw("</math>")
	p.spoken(text)
}

// summaryTable writes a `table` fence.
func (p *page) summaryTable(l *resolve.Line) {
	t := l.Table
	if t == nil || l.Problem != nil {
		p.failedBlock(l)
		return
	}
	no := itoa(p.places[l].number)
	p.raw(`<figure class="data"`)
	p.anchor(l)
	p.raw(`><figcaption><b>Table `, no, "</b> ")
	if t.Caption.Text != "" {
		p.caption(l.File, t.Caption.Loc)
	}
	p.raw(`</figcaption><div class="scroll" tabindex="0" role="region" aria-label="Table `, no, `">`)
	if len(t.States) > 0 {
		p.stateTable(t)
	}
	if len(t.Symbols) > 0 {
		p.symbolTable(t)
	}
	p.raw("</div></figure>\n")
}

func (p *page) stateTable(t *resolve.Table) {
	p.raw(`<table class="tab states"><thead><tr><th scope="col">state</th>`)
	for _, c := range t.Columns {
		p.raw(`<th scope="col" class="n">`)
		p.headSymbol(c.Name)
		p.inUnit(c.Unit)
		p.raw("</th>")
	}
	p.raw(`<th scope="col" class="us">entry</th></tr></thead><tbody>`, "\n")
	for i, st := range t.States {
		p.raw(`<tr><th scope="row">`)
		p.ring(st)
		p.raw("</th>")
		for j, c := range t.Columns {
			p.raw(`<td class="n">`)
			if i < len(t.Cells) && j < len(t.Cells[i]) {
				p.tableCell(&resolve.Shown{Symbol: t.Cells[i][j], Unit: c.Unit})
			}
			p.raw("</td>")
		}
		p.raw(`<td class="us">`)
		if e := p.entry(st.Line); e != nil && e.Number != "" {
			p.entryLink(e.Number)
		}
		p.raw("</td></tr>\n")
	}
	p.raw("</tbody></table>")
}

// inUnit writes the unit of a column in its head.
func (p *page) inUnit(u units.Unit) {
	if !u.IsNone() {
		p.raw(" in ")
		p.text(u.String())
		p.seen(u)
	}
}

// tableCell writes a number without its unit, which stands in the head of its column.
func (p *page) tableCell(s *resolve.Shown) {
	if s.Symbol == nil {
		p.raw(`<span class="quiet">–</span>`)
		return
	}
	f, ok := p.asked(s)
	if e := p.definedBy(s.Symbol); !ok && e != nil && e.Status == eval.Done {
		p.raw(`<span class="quiet">–</span>`) // its state has no such property
		return
	}
	if !ok {
		p.noValue(nil)
		return
	}
	p.text(f.num)
}

func (p *page) symbolTable(t *resolve.Table) {
	p.raw(`<table class="tab states"><thead><tr><th scope="col">symbol</th><th scope="col" class="n">value</th><th scope="col">unit</th><th scope="col" class="us">entry</th></tr></thead><tbody>`, "\n")
	for _, s := range t.Symbols {
		p.raw(`<tr><th scope="row">`)
		if s.Symbol == nil {
			p.raw("?</th><td class=\"n\">")
			p.noValue(s.Problem)
			p.raw("</td><td></td><td></td></tr>\n")
			continue
		}
		p.mathSymbol(s.Symbol)
		p.spoken(s.Symbol.Full())
		p.raw(`</th><td class="n">`)
		f, ok := p.asked(s)
		if ok {
			p.text(f.num)
		} else {
			p.noValue(s.Problem)
		}
		p.raw(`</td><td>`)
		if ok && !f.unit.IsNone() {
			p.raw(`<span class="u">`)
			p.text(f.unit.String())
			p.raw("</span>")
			p.seen(f.unit)
		}
		p.raw(`</td><td class="us">`)
		if n := p.defined(s.Symbol); n != "" {
			p.entryLink(n)
		}
		p.raw("</td></tr>\n")
	}
	p.raw("</tbody></table>")
}

// failedBlock stands where a whole block has no value.
func (p *page) failedBlock(l *resolve.Line) {
	if l.Problem != nil {
		p.raw(`<div class="broken">`)
		p.problemBox(l.Problem)
		p.raw("</div>\n")
		return
	}
	p.raw(`<p class="flag">`)
	p.icon("wait")
	p.raw(" waits for ")
	p.waitLinks(p.failedEntries(l.Waits))
	p.raw("</p>\n")
}
