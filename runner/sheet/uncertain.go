package sheet

import (
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/runner/study"
	"workings/units"
)

// anyUncertain reports whether one of the answers has an uncertainty, and with it its column.
func (p *page) anyUncertain(lines []*resolve.Line) bool {
	for _, l := range lines {
		if _, ok := p.tr.UncertaintyOf(l.Shown); ok {
			return true
		}
	}
	return false
}

// uncertaintyCell writes the combined standard uncertainty of an answer.
func (p *page) uncertaintyCell(s *resolve.Shown) {
	p.raw(`<td class="pm">`)
	if v, ok := p.tr.UncertaintyOf(s); ok {
		p.raw("± ")
		p.text(units.FormatNumber(v.Shown, study.UncertaintyDigits))
		if !v.Unit.IsNone() {
			p.raw(` <span class="u">`)
			p.text(v.Unit.String())
			p.raw("</span>")
		}
	}
	p.raw("</td>")
}

// mostParts is how many inputs are named as what an uncertainty comes from.
const mostParts = 4

// uncertaintyFrom names the inputs that an answer's uncertainty comes from, the largest part
// first, with their shares of its square.
func (p *page) uncertaintyFrom(s *resolve.Shown) {
	if _, ok := p.tr.UncertaintyOf(s); !ok {
		return
	}
	p.raw(`<span class="from">`)
	if p.o.Sensitivities != nil {
		p.raw(`<a href="#Uncertainty">uncertainty</a>`)
	} else {
		p.raw("uncertainty")
	}
	if len(p.tr.Uncertain[s.Symbol].From) > 0 {
		p.raw(" from ")
	}
	for i, c := range p.tr.Uncertain[s.Symbol].From {
		if i == mostParts {
			p.raw(" …")
			break
		}
		if i > 0 {
			p.raw(", ")
		}
		p.mathSymbol(c.Input)
		p.raw(" ", c.Percent(), " %")
	}
	p.raw("</span>")
}

// answered is the figure of an answer: one with an uncertainty ends where that does.
func (p *page) answered(s *resolve.Shown) (figure, bool) {
	f, ok := p.asked(s)
	if u, uncertain := p.tr.UncertaintyOf(s); ok && uncertain && s.Digits == 0 {
		own, _ := p.value(s.Symbol)
		v := p.valueIn(own.SI, s.Unit)
		digits := 0
		v.Shown, digits = study.Round(v.Shown, u.Shown)
		f = p.shownTo(v, digits)
	}
	return f, ok
}

// correlationRow writes a correlation in the table of inputs.
func (p *page) correlationRow(l *resolve.Line, spread bool) {
	c, ok := l.Stmt.(*lang.Correlation)
	if !ok {
		return
	}
	p.raw(`<tr><td class="no"></td><td class="sy"><math><mi>r</mi></math></td><td class="nv"><b>`)
	p.text(study.Coefficient(l.X.Value))
	p.raw(`</b></td><td class="un">`)
	if spread {
		p.raw(`</td><td class="sp">`)
	}
	p.raw(`</td><td class="de">correlation of `)
	p.fullName(c.A.Full())
	p.raw(" and ")
	p.fullName(c.B.Full())
	if c.Caption.Text != "" {
		p.raw("; ")
		p.noMarks = true // they have a column of their own
		p.caption(l.File, c.Caption.Loc)
		p.noMarks = false
	}
	p.raw(`</td><td class="rg"></td><td class="so">`)
	if len(l.Sources) > 0 {
		p.sourceMarks(l)
	}
	p.raw(`</td><td class="us"></td><td class="ck"></td></tr>`, "\n")
}

// uncertainties writes what the inputs do to the answers: a table for each answer, with bars that rank them.
func (p *page) uncertainties() {
	s := p.o.Sensitivities
	if s == nil {
		return
	}
	p.section("Uncertainty", "Uncertainty and sensitivity")
	p.raw(`<p class="quiet">`)
	p.text(s.Lead())
	p.raw("</p>\n")
	if notes := s.Notes(); len(notes) > 0 {
		p.raw("<ul>")
		for _, n := range notes {
			p.raw("<li>")
			p.pieces(n)
			p.raw("</li>")
		}
		p.raw("</ul>\n")
	}
	for _, b := range s.Answers {
		if p.full() {
			break
		}
		p.budget(s, b)
	}
	p.raw(`<p class="key">`, budgetKey, "</p></section>\n")
}

// budgetKey says what stands in the columns.
const budgetKey = "The derivative is the change of the answer for one unit of the input, at the values of this sheet, from differences between evaluations of the whole sheet close by. " +
	"The contribution is the derivative times the standard uncertainty of the input; its square, with what correlation adds, is the share of the variance. " +
	"Relative is the relative change of the answer for a relative change of the input. In both, and in the change for 1 % more, a temperature counts from absolute zero and a pressure is absolute."

// mostBudgetRows bounds the inputs of one answer on a page.
const mostBudgetRows = 40

func (p *page) budget(s *study.Sensitivities, b *study.Budget) {
	p.raw(`<figure class="data"><figcaption>`)
	p.pieces(b.Title(s.Method, p.digits, p.ambient))
	p.raw("</figcaption>\n")
	if len(b.Rows) == 0 {
		p.raw("<p>", study.NothingMoves, "</p></figure>\n")
		return
	}
	title := "What " + b.Of.Symbol.Full() + " owes to each input"
	g := b.Table(p.digits, p.ambient)
	more := len(g.Rows) - mostBudgetRows
	g.Rows = g.Rows[:min(len(g.Rows), mostBudgetRows)]
	p.studyGrid(title, g)
	if more > 0 {
		p.raw(`<p class="flag">`, itoa(more), plural(more, " more input changes", " more inputs change"), " it less; all are in the files that <code>render --csv</code> and <code>--json</code> write.</p>\n")
	}
	if g := b.Methods(s, p.ambient); len(g.Rows) > 0 {
		p.studyGrid("Uncertainty of "+b.Of.Symbol.Full()+" by method", g)
	}
	for _, remark := range b.Remarks(s) {
		p.raw(`<p class="key">`)
		p.text(remark)
		p.raw("</p>\n")
	}
	p.raw("</figure>\n")
}

// leastBars are rows below which bars show nothing.
const leastBars = 2

// drawsBars reports a page with bars in a table.
func (p *page) drawsBars() bool {
	if p.o.Sensitivities != nil {
		for _, b := range p.o.Sensitivities.Answers {
			if len(b.Rows) >= leastBars {
				return true
			}
		}
	}
	return false
}
