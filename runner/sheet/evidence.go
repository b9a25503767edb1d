package sheet

import (
	"math"
	"strings"

	"workings/propsdb"
	"workings/runner/eval"
	"workings/units"
)

// evidence closes the sheet: for each fluid the rows of its table about every state and the
// look-ups done again from them, so that a checker can follow with paper alone.
func (p *page) evidence() {
	fluids := p.tr.Evidence()
	if len(fluids) == 0 {
		return
	}
	p.section("Evidence", "Property evidence")
	p.raw(`<p class="key">Every look-up of this sheet done again by hand: straight lines between the rows of a printed extract, `,
		`in figures as printed. <i>f</i> is the part of the way from the first row to the second. In brackets: by how much the result is off the exact value, `,
		`which is what rounding and the straight line cost. The sheet itself calculates with the exact values.</p>`, "\n")
	for i := range fluids {
		if p.full() {
			break
		}
		p.fluidEvidence(&fluids[i])
	}
	p.raw("</section>\n")
}

func (p *page) fluidEvidence(f *eval.FluidEvidence) {
	p.raw("<h3>")
	p.text(f.Name)
	p.raw("</h3>\n")
	p.zeros(f)
	full := -1
	for i, lk := range f.Looks {
		if full < 0 && len(lk.Steps) > 0 && !lk.Steps[0].Row {
			full = i
		}
	}
	if full >= 0 {
		p.look(f, full, true)
	}
	p.raw(`<details class="ev"><summary>`)
	rows := 0
	for _, x := range f.Tables {
		rows += len(x.Rows)
	}
	n := len(f.Looks)
	if rows > 0 {
		p.raw("extract of the table, ", itoa(rows), plural(rows, " row", " rows"), ", and ")
	}
	p.raw("the look-up of ", itoa(n), plural(n, " state", " states"), "</summary>\n")
	for i := range f.Tables {
		p.extract(f.Name, &f.Tables[i])
	}
	for i := range f.Looks {
		if p.full() {
			break
		}
		if i != full {
			p.look(f, i, false)
		}
	}
	p.raw("</details>\n")
}

// zeros says how the fluid's zeros lie to those of printed tables.
func (p *page) zeros(f *eval.FluidEvidence) {
	p.raw("<p>")
	for _, z := range f.Zeros {
		if z.Common {
			p.raw("The zeros are those of ")
			p.text(z.Table)
			p.raw(": nothing is to be added. ")
			continue
		}
		p.raw("Its <i>h</i> lies ")
		p.apart(z.H)
		if z.S != nil {
			p.raw(" and its <i>s</i>° ")
			p.apart(*z.S)
		}
		p.raw(" that of ")
		p.text(z.Table)
		if z.S != nil {
			p.raw(" (difference at ", units.FormatNumber(z.At, 3), "\u202fK)")
		}
		p.raw(". ")
	}
	switch {
	case f.Fluid.Kind() == propsdb.PerfectGas:
		p.raw("A perfect gas has no table: its properties are closed formulas. ")
	case f.Fluid.Kind() == propsdb.UserGas:
		p.raw("Its zeros are those of the user’s data. ")
	}
	if f.Fluid.Kind() != propsdb.PerfectGas && f.Fluid.Kind() != propsdb.Water {
		p.raw("Of <i>p</i><sub>r</sub> and <i>v</i><sub>r</sub> only ratios mean anything. ")
	}
	p.raw("</p>\n")
}

// apart writes a difference of zeros: 0.28 kJ/kg above.
func (p *page) apart(f propsdb.Figure) {
	size, word := f, " above"
	if f.Value < 0 {
		size.Value, word = -f.Value, " below"
	}
	p.evFigure(size)
	p.raw(word)
}

// extract writes the rows of a table.
func (p *page) extract(fluid string, x *propsdb.Extract) {
	title := fluid
	if x.Title != "" {
		title += ", " + x.Title
	}
	p.raw(`<div class="scroll" tabindex="0" role="region" aria-label="Extract of the table of `)
	p.attr(title)
	p.raw(`"><table class="ext"><caption>`)
	p.text(title)
	p.raw("</caption><thead><tr>")
	for _, c := range x.Columns {
		p.raw(`<th scope="col">`)
		p.column(c)
		if !c.Unit.IsNone() {
			p.raw(` <span class="u">`)
			p.text(c.Unit.String())
			p.raw("</span>")
		}
		p.raw("</th>")
	}
	p.raw("</tr></thead><tbody>\n")
	for _, r := range x.Rows {
		if p.full() {
			break
		}
		p.raw("<tr>")
		for i, v := range r {
			p.raw("<td>")
			p.printed(x.Columns[i], v)
			p.raw("</td>")
		}
		p.raw("</tr>\n")
	}
	p.raw("</tbody></table></div>\n")
}

// column is the symbol of a column: h, s°, p_r, v_g.
func (p *page) column(c propsdb.Column) {
	stem, sub := c.Property.Symbol(), c.Phase
	switch c.Property {
	case propsdb.So:
		p.raw("<i>s</i>°")
		return
	case propsdb.Pr:
		stem, sub = "p", "r"
	case propsdb.Vr:
		stem, sub = "v", "r"
	case propsdb.Cp:
		stem, sub = "c", "p"
	}
	p.raw("<i>", stem, "</i>")
	if sub != "" {
		p.raw("<sub>", sub, "</sub>")
	}
}

// printed writes a number as a column prints it; there is nothing in it to be escaped.
func (p *page) printed(c propsdb.Column, v float64) { p.b = c.AppendText(p.b, v) }

// bracketed is printed with a negative number in brackets, for after a minus sign.
func (p *page) bracketed(c propsdb.Column, v float64) {
	start := len(p.b)
	p.printed(c, v)
	if figures := string(p.b[start:]); strings.HasPrefix(figures, "−") {
		p.b = p.b[:start]
		p.raw("(", figures, ")")
	}
}

func (p *page) evFigure(f propsdb.Figure) {
	p.printed(f.Column, f.Value)
	p.unitAfter(f.Unit)
}

// look writes how one state is read. In full, the straight lines stand as fractions.
func (p *page) look(f *eval.FluidEvidence, i int, full bool) {
	e, lk := f.States[i], &f.Looks[i]
	p.raw(map[bool]string{true: `<p class="ev full">`, false: `<p class="ev">`}[full])
	p.ring(e.Line.State)
	p.raw(" ")
	if e.Number != "" {
		p.raw("entry ")
		p.entryLink(e.Number)
		p.raw(": ")
	}
	if lk.Why != "" {
		p.raw("no straight line to be drawn: ")
		p.text(lk.Why)
		p.raw(".</p>\n")
		return
	}
	if w := lk.Perfect; w != nil {
		p.perfect(w)
	}
	if lk.To != nil {
		p.raw("<i>s</i>° = <i>s</i> + ")
		p.logTerm(lk.To, lk.To.S, "+")
		p.evFigure(lk.To.So)
		p.raw("; ")
	}
	for n := range lk.Steps {
		if n > 0 {
			p.raw("; ")
		}
		p.step(&lk.Steps[n], full && n == 0)
	}
	if w := lk.From; w != nil {
		p.raw(map[bool]string{true: "<br/>", false: "; "}[full], "<i>s</i> = <i>s</i>° − ")
		p.logTerm(w, w.So, "−")
		p.evFigure(w.S)
		p.off(w.S.Column, w.S.Value, w.Exact)
	}
	if w := lk.Ratio; w != nil {
		p.raw("; or by <i>p</i><sub>r</sub> from ")
		p.ring(f.States[w.From].Line.State)
		p.raw(", of the same <i>s</i>: ")
		p.text(w.Pr1.Text(w.Pr1.Value) + " × " + w.P2.Text(w.P2.Value) + "/" + w.P1.Text(w.P1.Value) + " = " + w.Pr2.Text(w.Pr2.Value))
		p.raw(", ")
		p.step(&w.Step, false)
	}
	p.raw(".</p>\n")
}

// logTerm writes R·ln(p/1 bar) and the same in figures, after the term it is added to.
func (p *page) logTerm(w *propsdb.EntropyAt, first propsdb.Figure, sign string) {
	p.raw("<i>R</i> ln(<i>p</i>/1 bar) = ")
	p.text(first.Text(first.Value) + " " + sign + " " + w.R.Text(w.R.Value) + " ln " + units.FormatNumber(w.P, 5) + " = ")
}

// step writes a straight line between two rows: between which, how far, and what is read there.
func (p *page) step(s *propsdb.Step, full bool) {
	for _, h := range s.Held {
		p.raw("at ")
		p.column(h.Column)
		p.raw(" = ")
		p.evFigure(h)
		p.raw(" ")
	}
	if s.Row {
		p.raw("in the row ")
		p.column(s.Key)
		p.raw(" = ")
		p.evFigure(propsdb.Figure{Column: s.Key, Value: s.At})
	} else {
		p.raw("between ")
		p.column(s.Key)
		p.raw(" = ")
		p.printed(s.Key, s.Lo)
		p.raw(" and ")
		p.evFigure(propsdb.Figure{Column: s.Key, Value: s.Hi})
		p.raw(", <i>f</i> = (")
		p.printed(s.Key, s.At)
		p.raw(" − ")
		p.bracketed(s.Key, s.Lo)
		p.raw(")/(")
		p.printed(s.Key, s.Hi)
		p.raw(" − ")
		p.bracketed(s.Key, s.Lo)
		p.raw(") = ")
		p.printed(partOfWay, s.Fraction)
	}
	for i := range s.Read {
		p.reading(s, &s.Read[i], i == 0, full && !s.Row)
	}
}

// partOfWay prints the part of the way between two rows.
var partOfWay = propsdb.Column{Property: propsdb.X, Decimals: 4}

// reading writes what one column gives in a step, in full as a straight line with its fraction.
func (p *page) reading(s *propsdb.Step, r *propsdb.Reading, first, full bool) {
	switch {
	case full:
		p.raw("<br/>")
	case first:
		p.raw(": ")
	default:
		p.raw(", ")
	}
	p.column(r.Column)
	p.raw(" = ")
	if full {
		t := s.Key.Text
		p.straightLine(t(s.At), figure{num: t(s.Lo)}, figure{num: t(s.Hi)}, figure{num: r.Text(r.Lo)}, figure{num: r.Text(r.Hi)}, figure{r.Text(r.Value), r.Unit})
	} else {
		if !s.Row && r.Lo != r.Hi {
			p.printed(r.Column, r.Lo)
			p.raw(" + <i>f</i> × (")
			p.printed(r.Column, r.Hi)
			p.raw(" − ")
			p.bracketed(r.Column, r.Lo)
			p.raw(") = ")
		}
		p.evFigure(propsdb.Figure{Column: r.Column, Value: r.Value})
	}
	if !s.Row {
		p.off(r.Column, r.Value, r.Exact)
	}
}

// off writes in brackets by how much a reading is off, where the exact value is known.
func (p *page) off(c propsdb.Column, value, exact float64) {
	if math.IsNaN(exact) {
		return
	}
	p.raw(` <span class="quiet">(`)
	p.b = c.AppendOff(p.b, value, exact)
	p.raw(")</span>")
}

func (p *page) perfect(w *propsdb.PerfectLook) {
	p.raw("<i>h</i> = <i>c</i><sub>p</sub> <i>T</i> = ")
	p.text(w.Cp.Text(w.Cp.Value) + " × " + w.T.Text(w.T.Value) + " = ")
	p.evFigure(w.H)
	if w.S != nil {
		p.raw("; <i>s</i> = <i>c</i><sub>p</sub> ln(<i>T</i>/298.15 K) − <i>R</i> ln(<i>p</i>/1 bar) = ")
		p.text(w.Cp.Text(w.Cp.Value) + " ln " + units.FormatNumber(w.TOver, 6) + " − " + w.R.Text(w.R.Value) + " ln " + units.FormatNumber(w.P, 6) + " = ")
		p.evFigure(*w.S)
	}
}
