package sheet

import (
	"math"
	"slices"

	"workings/runner/chart"
	"workings/runner/resolve"
	"workings/runner/study"
	"workings/units"
)

const (
	studyRows   = 25 // of a series on the page
	studySeries = 12
)

// study writes a study: what is varied, what its points came to, the marks and a table.
func (p *page) study(l *resolve.Line) {
	r := p.studyOf(l)
	if l.Study == nil || r == nil {
		p.failedBlock(l)
		return
	}
	st := r.Of
	p.raw(`<figure class="data"`)
	p.anchor(l)
	p.raw(`><figcaption><b>Study `)
	p.text(st.Name)
	p.raw("</b> ")
	if c := st.Stmt.Caption; c.Text != "" {
		p.caption(l.File, c.Loc)
		p.raw(". ")
	}
	p.raw(`<span class="quiet">`)
	p.pieces(r.Lead())
	p.raw(".</span></figcaption>\n")
	p.studyFindings(r)
	if st.Seek == nil && r.Problem == "" {
		p.studyTable(r)
	}
	p.raw("</figure>\n")
}

// studyFindings writes what the points came to, and the marks.
func (p *page) studyFindings(r *study.Result) {
	for _, note := range r.Notes() {
		p.raw(`<p class="flag">`)
		p.icon("open")
		p.raw(" ")
		p.sentence(note)
		p.raw("</p>\n")
	}
	if marks := r.Marks(p.studyFormat); len(marks.Rows) > 0 {
		p.studyGrid("Marks of study "+r.Of.Full(), marks)
	}
}

func (p *page) studyOf(l *resolve.Line) *study.Result {
	for _, r := range p.o.Studies {
		if r.Of == l.Study {
			return r
		}
	}
	return nil
}

func (p *page) studyFormat(si float64, u units.Unit) string {
	return units.FormatNumber(p.valueIn(si, u).Shown, p.digits)
}

// studyTable writes the points, fewer where they are many, folded where they are long.
func (p *page) studyTable(r *study.Result) {
	g, all := r.Table(studyRows, p.studyFormat)
	series := 0
	for i, row := range g.Rows {
		if row.Ahead {
			series++
		}
		if series > studySeries {
			g.Rows = g.Rows[:i]
			break
		}
	}
	p.raw("<details><summary>")
	if len(g.Rows) < all {
		p.raw(itoa(len(g.Rows)), " of the ", study.Thousands(all), " points; all of them are in the files that <code>render --csv</code> and <code>--json</code> write")
	} else {
		p.raw("The ", study.Thousands(all), " points")
	}
	p.raw("</summary>")
	p.studyGrid("Points of study "+r.Of.Full(), g)
	p.raw("</details>\n")
}

// studyGrid writes a table of a study in a place of its own.
func (p *page) studyGrid(title string, g study.Grid) {
	p.raw(`<div class="scroll" tabindex="0" role="region" aria-label="`)
	p.attr(title)
	p.raw(`">`)
	p.studyRowsOf(g)
	p.raw("</div>\n")
}

// studyRowsOf writes the table itself; a column without any remark is left out.
func (p *page) studyRowsOf(g study.Grid) {
	last := len(g.Head)
	if g.Head[last-1].Word == "remark" && !slices.ContainsFunc(g.Rows, func(row study.Row) bool { return row.Cells[last-1] != "" }) {
		last--
	}
	bars, lo, hi := g.Bars, 0.0, 0.0
	if len(g.Rows) < leastBars {
		bars = 0
	}
	for _, row := range g.Rows {
		if !math.IsNaN(row.Bar) {
			lo, hi = min(lo, row.Bar), max(hi, row.Bar)
		}
	}
	p.raw(`<table class="tab states"><thead><tr>`)
	for k, h := range g.Head[:last] {
		switch {
		case bars > 0 && k == bars:
			p.raw(`<th scope="col" class="n" colspan="2">`, h.Word)
		case h.Number:
			p.raw(`<th scope="col" class="n">`, h.Word)
		case h.Name == "":
			p.raw(`<th scope="col">`, h.Word, "</th>")
			continue
		default:
			p.raw(`<th scope="col" class="n">`)
			p.fullName(h.Name)
		}
		p.inUnit(h.Unit)
		p.raw("</th>")
	}
	p.raw("</tr></thead><tbody>\n")
	for i, row := range g.Rows {
		if p.full() {
			break
		}
		if row.Ahead && i > 0 {
			p.raw("</tbody><tbody>\n")
		}
		p.raw("<tr>")
		for k, cell := range row.Cells[:last] {
			if g.Head[k].Name == "" && !g.Head[k].Number {
				p.raw("<td>")
			} else {
				p.raw(`<td class="n">`)
			}
			if k == 0 && row.Lead != nil {
				p.pieces(row.Lead)
			} else {
				p.text(cell)
			}
			p.raw("</td>")
			if bars > 0 && k == bars {
				p.raw("<td>")
				p.b = append(p.b, chart.Bar(row.Bar, lo, hi)...)
				p.raw("</td>")
			}
		}
		p.raw("</tr>\n")
	}
	p.raw("</tbody></table>")
}

// pieces writes words with names in them.
func (p *page) pieces(pieces []study.Piece) {
	for _, piece := range pieces {
		p.text(piece.Words)
		if piece.Name != "" {
			p.fullName(piece.Name)
		}
	}
}

// fullName writes a name as maths, that of a used sheet or cycle with what stands before its dot.
func (p *page) fullName(name string) {
	if of, inner, ok := cutLast(name, '.'); ok {
		p.raw("<math><mtext>")
		p.text(of + ".")
		p.raw("</mtext></math>")
		name = inner
	}
	p.headSymbol(name)
}

func cutLast(s string, at byte) (before, after string, ok bool) {
	for i := len(s) - 1; i >= 0; i-- {
		if s[i] == at {
			return s[:i], s[i+1:], true
		}
	}
	return "", s, false
}
