package sheet

import (
	"bytes"
	"slices"

	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/units"
)

// narrowEntry is how many characters an equation and its values may have together to stand on
// one line of the ledger.
const narrowEntry = 44

// unbroken is how many characters an equation may have that never needs a second line, on a
// telephone neither.
const unbroken = 22

// ledger writes lines as a table of entries. A line without an entry is a row heading or has
// nothing to show here.
func (p *page) ledger(lines []*resolve.Line, caption string) {
	p.raw(`<table class="ledger"><caption class="vh">`)
	p.text(caption)
	p.raw(`</caption><thead><tr><th scope="col" class="no">entry</th><th scope="col" class="cap">what is found</th>`,
		`<th scope="col" class="eq">equation, then with its values</th><th scope="col" class="res">result</th></tr></thead>`)
	for _, l := range lines {
		if p.full() {
			break
		}
		p.line(l)
	}
	p.raw("</table>\n")
}

func (p *page) line(l *resolve.Line) {
	if l.Kind == resolve.Heading {
		p.rowHeading(l)
		return
	}
	if e := p.entry(l); e != nil {
		p.writeEntry(e)
	}
}

// rowHeading is a line of // only.
func (p *page) rowHeading(l *resolve.Line) {
	h, ok := l.Stmt.(*lang.Heading)
	if !ok || h.Caption.Text == "" {
		return
	}
	p.raw(`<tbody class="run"><tr><th scope="rowgroup" colspan="4">`)
	p.caption(l.File, h.Caption.Loc)
	p.raw("</th></tr></tbody>\n")
}

// writeEntry writes one entry with what is under it.
func (p *page) writeEntry(e *eval.Entry) {
	if p.full() {
		return
	}
	if p.depth++; p.depth > maxDepth {
		p.depth--
		return
	}
	defer func() { p.depth-- }()
	switch e.Line.Kind {
	case resolve.Heading:
		p.rowHeading(e.Line)
	case resolve.Input:
		p.defineEntry(e)
	case resolve.Define:
		p.remembered(e, (*page).defineEntry)
	case resolve.FluidLine:
		p.fluidEntry(e)
	case resolve.StateLine:
		p.remembered(e, (*page).stateEntry)
	case resolve.Check:
		p.checkEntry(e)
	case resolve.Call:
		p.callEntry(e)
	case resolve.Solve:
		p.solveEntry(e)
	case resolve.Until:
		// Written with its solve.
	case resolve.Use:
		p.useEntry(e)
	case resolve.CycleLine:
		p.cycleEntry(e)
	case resolve.ComponentLine:
		p.componentEntry(e)
	case resolve.FlowLine:
		p.flowEntry(e)
	case resolve.DeadStateLine:
		p.deadEntry(e)
	case resolve.AcceptLine:
		p.acceptEntry(e)
	case resolve.BadLine:
		p.badEntry(e)
	}
}

// math writes an expression, with lead before it inside its first <math>. It gives an estimate
// of its width in characters, and false, having written nothing, where a value is missing.
func (p *page) math(x *resolve.Expr, values bool, lead string) (int, bool) {
	return p.mathSource(x.Src, values, lead)
}

func (p *page) mathSource(src lang.Expr, values bool, lead string) (int, bool) {
	start := len(p.b)
	p.with = p.with[:0]
	m := maths{buf: &p.buf, page: p, refs: &p.refs, values: values, with: &p.with}
	m.display = src != nil && m.tall(src)
	p.raw(m.begin(), lead)
	if src != nil {
		m.expr(src, free, true)
	}
	p.raw("</math>")
	if m.failed {
		p.b = p.b[:start]
		return 0, false
	}
	if m.breaks && m.width <= unbroken {
		m.onOneLine(start)
	}
	return m.width, true
}

// onOneLine takes the places where a line may end out of the formula that was written from start on.
func (m *maths) onOneLine(start int) {
	to := start
	for rest := m.b[start:]; ; {
		i := bytes.Index(rest, []byte("</math><wbr/>")) // between begins so
		if i < 0 {
			m.b = m.b[:to+copy(m.b[to:], rest)]
			return
		}
		to += copy(m.b[to:], rest[:i])
		rest = rest[i+len(m.between()):]
	}
}

const leadEquals = `<mo lspace="0">=</mo>`

// worthValues reports an expression that reads differently with its values put in.
func worthValues(x *resolve.Expr) bool {
	if _, _, ok := literal(x.Src); ok {
		return false
	}
	if _, ok := strip(x.Src).(*lang.Ident); ok {
		return false
	}
	found := false
	var walk func(*resolve.Expr)
	walk = func(e *resolve.Expr) {
		switch e.Op {
		case resolve.OpRef:
			found = true
		case resolve.OpConst:
			k := e.Unit.Kind()
			found = found || k == units.Point || k == units.Gauge
		}
		for _, a := range e.Args {
			if found {
				return
			}
			walk(a)
		}
	}
	walk(x)
	return found
}

// formula writes `= expression`, and the same with values, in the row at hand or in two. The
// last row is left open for its result.
func (p *page) formula(d *draft, x *resolve.Expr, v eval.Value, ok bool) {
	if n, _, isLiteral := literal(x.Src); isLiteral && n != nil {
		p.raw(`<span class="tx quiet">as given</span>`)
		return
	}
	p.refs.bind(x)
	values := ok && worthValues(x)
	mark := len(p.b)
	width, _ := p.math(x, false, leadEquals)
	if !values {
		return
	}
	between := len(p.b)
	w, ok := p.math(x, true, leadEquals)
	if !ok {
		return
	}
	with := slices.Clone(p.with)
	if abs, ok := p.absolute(v); ok {
		// What the arithmetic gives, before it is shown on its own scale.
		p.raw(`<wbr/><math><mo>=</mo>`)
		p.mathFigure(p.shown(abs))
		p.raw("</math>")
		w += 10
	}
	if width+w <= narrowEntry {
		p.sideBySide(mark, between)
		return
	}
	p.ontoNextRow(d, between)
	for _, e := range with {
		p.blank()
		d.eq(p, "sub with")
		p.rhs()
		p.raw(`<span class="tx">with the exponent</span> `)
		p.mathSource(e, false, "")
		p.mathSource(e, true, `<mo>=</mo>`)
	}
}

// ontoNextRow puts what was written from between on into a row of its own.
func (p *page) ontoNextRow(d *draft, between int) {
	p.scratch = append(p.scratch[:0], p.b[between:]...)
	p.b = p.b[:between]
	p.blank()
	d.eq(p, "sub")
	p.rhs()
	p.b = append(p.b, p.scratch...)
}

// sideBySide puts what was written from mark on and from between on onto one line.
func (p *page) sideBySide(mark, between int) {
	p.b = slices.Insert(p.b, between, []byte("</span><span>")...)
	p.b = slices.Insert(p.b, mark, []byte(`<span class="both"><span>`)...)
	p.raw("</span></span>")
}

// defineEntry writes name = expression.
func (p *page) defineEntry(e *eval.Entry) {
	l := e.Line
	if e.Status != eval.Done || len(l.Defines) == 0 || l.X == nil {
		p.brokenEntry(e)
		return
	}
	s := l.Defines[0]
	d := p.draft("")
	d.eq(p, "")
	p.mathSymbol(s)
	p.rhs()
	v, ok := p.value(s)
	p.formula(d, l.X, v, ok)
	p.basis(l.X)
	if l.Kind == resolve.Input && l.Overridden {
		p.raw(" ")
		p.overridden(l)
	}
	p.resultCell(s)
	p.lookups(d, e)
	d.finish(p, e)
	p.end()
}

// brokenEntry is an entry without a value: the problem stands in its place, or what it waits for.
func (p *page) brokenEntry(e *eval.Entry) {
	d := p.draft("")
	d.eq(p, "")
	p.leftSide(e.Line)
	p.rhs()
	if e.Status == eval.Waiting || e.Problem == nil {
		p.asWritten(e.Line)
	} else {
		p.raw(`<b class="flag bad">`)
		p.sentence(e.Problem.Message)
		p.raw("</b>")
	}
	p.raw("</span></td>")
	p.noValueCell(e)
	d.finish(p, e)
	if e.Problem != nil && e.Status == eval.Failed {
		p.foot(e.Problem)
	}
	p.end()
}

// leftSide is what a line defines, for a line that has no value.
func (p *page) leftSide(l *resolve.Line) {
	if l.State != nil {
		p.ring(l.State)
		return
	}
	if st, ok := l.Stmt.(*lang.State); ok {
		p.raw(`<span class="ring">`)
		p.text(st.ID.Text)
		p.raw("</span>")
		return
	}
	if l.Kind == resolve.Check {
		p.raw(`<span class="tx">`, checkWord(l.Stmt), "</span>")
		return
	}
	if len(l.Defines) > 0 {
		p.mathSymbol(l.Defines[0])
		return
	}
	name := ""
	switch s := l.Stmt.(type) {
	case *lang.Define:
		name = s.Name.Text
	case *lang.Input:
		name = s.Name.Text
	case *lang.Bad:
		if len(s.Defines) > 0 {
			name = s.Defines[0].Text
		}
	}
	if name == "" {
		return
	}
	base, sub := p.typeset(name, "")
	p.raw("<math>")
	(&maths{buf: &p.buf, page: p}).subscripted(base, sub)
	p.raw("</math>")
}

// asWritten shows a line's source: of a line that waits nothing else is certain.
func (p *page) asWritten(l *resolve.Line) {
	if l.X != nil {
		p.refs.bind(l.X)
		p.math(l.X, false, leadEquals)
		return
	}
	p.raw("<code>")
	p.text(sourceText(l))
	p.raw("</code>")
}

// sourceText is a line as its author typed it, without its caption.
func sourceText(l *resolve.Line) string {
	if l.Stmt == nil || l.File == nil {
		return ""
	}
	span := l.Stmt.Span()
	if c := lang.CaptionOf(l.Stmt); c.Text != "" && c.Loc.Start > span.Start && c.Loc.End <= span.End {
		span.End = c.Loc.Start
	}
	return trimSource(span.In(l.File))
}

// noValueCell stands in the results column of a line that has none.
func (p *page) noValueCell(e *eval.Entry) {
	if e.Status == eval.Waiting || e.Problem == nil {
		p.raw(`<td class="res verdict v-wait">`)
		p.icon("wait")
		p.raw(" <b>waits for ")
		p.waitLinks(e.WaitsFor)
		p.raw("</b></td>")
	} else {
		p.raw(`<td class="res verdict v-bad">`)
		p.verdict("bad", "no value")
		p.raw("</td>")
	}
}

// verdict writes a shape and its word.
func (p *page) verdict(icon, word string) {
	p.icon(icon)
	p.raw(" <b>", word, "</b>")
}

// badEntry is a line that could not be read.
func (p *page) badEntry(e *eval.Entry) {
	if e.Problem == nil {
		e = &eval.Entry{Number: e.Number, Line: e.Line, Status: eval.Failed, Problem: &diag.Problem{
			Severity: diag.Error, Message: "this line could not be read"}}
	}
	p.brokenEntry(e)
}

// acceptEntry is a caution that the author has settled, with the reason.
func (p *page) acceptEntry(e *eval.Entry) {
	a, ok := e.Line.Stmt.(*lang.Accept)
	if !ok || e.Status != eval.Done {
		p.brokenEntry(e)
		return
	}
	d := p.draft("")
	d.eq(p, "")
	p.raw(`<span class="tx">accepted</span>`)
	p.rhs()
	p.raw(`<code>`)
	p.text(a.Code.Text)
	p.raw("</code> ")
	p.raw(`<span class="tx">on </span>`)
	if a.State {
		p.raw(`<span class="tx">state </span>`)
	}
	base, sub := p.typeset(a.On.Text, "")
	p.raw("<math>")
	if a.Of != nil {
		p.raw("<mtext>")
		p.text(a.Of.Text + ".")
		p.raw("</mtext>")
	}
	(&maths{buf: &p.buf, page: p}).subscripted(base, sub)
	p.raw("</math>")
	p.blank()
	d.finish(p, e)
	p.end()
}
