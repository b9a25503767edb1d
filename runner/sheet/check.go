package sheet

import (
	"strings"

	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/units"
)

func checkWord(s lang.Stmt) string {
	if c, ok := s.(*lang.Check); ok && c.Caution {
		return "caution"
	}
	return "check"
}

// checkEntry writes a check in its place: what was asked and the verdict, then the two sides,
// the limits and the margin.
func (p *page) checkEntry(e *eval.Entry) {
	c := e.Check
	if c == nil || e.Status == eval.Failed {
		p.brokenEntry(e)
		return
	}
	class := ""
	if c.Verdict == eval.Fails && !c.Caution {
		class = "hot"
	}
	d := p.draft(class)
	d.eq(p, "")
	p.raw(`<span class="tx">`, checkWord(e.Line.Stmt), "</span>")
	p.rhs()
	p.question(e.Line)
	if c.Verdict == eval.Waits {
		p.raw("</span></td>")
		p.noValueCell(e)
		d.finish(p, e)
		p.end()
		return
	}
	p.raw("</span></td>")
	p.verdictCell(c)
	d.eq(p, "sub")
	p.rhs()
	if c.Plain {
		p.sides(e, c)
		p.limits(e, c)
	} else if stmt, ok := e.Line.Stmt.(*lang.Check); ok {
		p.bindCondition(e.Line)
		p.mathSource(stmt.X, true, "")
	}
	p.acceptedReason(c)
	if c.Plain {
		p.raw(`</span></td><td class="res margin">`)
		p.margin(c)
		p.raw("</td>")
	} else {
		p.blank()
	}
	d.finish(p, e)
	p.end()
}

// acceptedReason prints why the author lets a caution stand.
func (p *page) acceptedReason(c *eval.CheckDetail) {
	if c.Accepted == nil {
		return
	}
	p.raw(`<span class="tx quiet">; accepted: `)
	p.caption(c.Accepted.Line.File, c.Accepted.Reason.Loc)
	p.raw("</span>")
}

func (p *page) bindCondition(l *resolve.Line) {
	var xs []*resolve.Expr
	if c := l.Compare; c != nil {
		xs = append(xs, c.X, c.Left, c.Right, c.Tolerance)
	}
	p.refs.bind(append(xs, l.Lo, l.Hi)...)
}

// question writes what a check asks, as its author put it.
func (p *page) question(l *resolve.Line) {
	stmt, ok := l.Stmt.(*lang.Check)
	if !ok || l.Compare == nil {
		p.raw("<code>")
		p.text(strings.TrimSpace(strings.TrimPrefix(sourceText(l), checkWord(l.Stmt))))
		p.raw("</code>")
		return
	}
	p.bindCondition(l)
	p.mathSource(stmt.X, false, "")
	switch {
	case stmt.Tolerance != nil:
		p.raw(`<span class="tx"> within </span>`)
		p.mathSource(stmt.Tolerance, false, "")
	case stmt.Between != nil:
		p.raw(`<span class="tx"> within </span>`)
		p.mathSource(stmt.Between.Lo, false, "")
		p.raw(`<span class="tx"> to </span>`)
		p.mathSource(stmt.Between.Hi, false, "")
	}
}

// verdictCell says in shape and word what a check came to. That it holds is said in plain ink:
// it is no approval.
func (p *page) verdictCell(c *eval.CheckDetail) {
	icon, word := verdictOf(c)
	p.raw(`<td class="res verdict v-`, icon, `">`)
	p.verdict(icon, word)
	p.raw("</td>")
}

func verdictOf(c *eval.CheckDetail) (icon, word string) {
	switch {
	case c.Verdict == eval.Holds:
		return "ok", "holds"
	case c.Verdict == eval.Waits:
		return "wait", "waits"
	case c.Accepted != nil:
		return "wait", "accepted"
	case c.Caution:
		return "warn", "does not hold"
	}
	return "bad", "fails"
}

// sides writes both sides with the relation that is true of them.
func (p *page) sides(e *eval.Entry, c *eval.CheckDetail) {
	p.raw("<math>")
	p.mathFigure(p.shown(c.Left))
	if c.Op != "within" {
		p.raw("<mo>", trueRelation(c), "</mo>")
		p.mathFigure(p.shown(p.asRight(e, c, c.Right)))
	}
	p.raw("</math>")
}

// asRight shows a value of a check as its right side was written, where the left side is a gauge
// pressure or a temperature of a scale and the right is not, or the other way round: 8 bar is not
// called 7 barg.
func (p *page) asRight(e *eval.Entry, c *eval.CheckDetail, v eval.Value) eval.Value {
	k := e.Line.Compare
	if k == nil || k.Right == nil || !k.Right.HasU {
		return v
	}
	u, ambient := k.Right.Unit, p.ambientOf(e)
	if u.Kind() == c.Left.Unit.Kind() || u.Dimension() != v.Unit.Dimension() || u.Kind() == units.Gauge && ambient == 0 {
		return v
	}
	return eval.Value{SI: v.SI, Unit: u, Shown: u.FromSI(v.SI, ambient)}
}

// limitWord says on which side of its limit the left side has to lie. A strict limit is none of
// the values allowed.
func limitWord(op string) string {
	switch op {
	case "<":
		return "below"
	case ">":
		return "above"
	case ">=":
		return "at least"
	}
	return "at most"
}

func trueRelation(c *eval.CheckDetail) string {
	holds := c.Verdict == eval.Holds
	switch c.Op {
	case "==":
		switch {
		case !holds:
			return "≠"
		case c.Left.SI == c.Right.SI:
			return "="
		}
		return "≈"
	case "!=":
		if holds {
			return "≠"
		}
		return "="
	case "<", ">=":
		if holds == (c.Op == "<") {
			return "&lt;"
		}
		return "≥"
	case ">", "<=":
		if holds == (c.Op == ">") {
			return "&gt;"
		}
		return "≤"
	}
	return c.Op
}

// limits writes what the left side had to keep to, where the question does not already say it.
func (p *page) limits(e *eval.Entry, c *eval.CheckDetail) {
	if c.Op != "==" && c.Op != "within" || !c.HasLo || !c.HasHi {
		return
	}
	p.raw(`<span class="tx quiet">, allowed </span>`)
	p.range2(p.asRight(e, c, c.Lo), p.asRight(e, c, c.Hi))
}

// range2 writes two limits, with enough digits to tell them apart.
func (p *page) range2(lo, hi eval.Value) {
	digits := p.digits
	a, b := p.shownTo(lo, digits), p.shownTo(hi, digits)
	for a.num == b.num && digits < 17 && lo.Shown != hi.Shown {
		digits++
		a, b = p.shownTo(lo, digits), p.shownTo(hi, digits)
	}
	if a.unit.Equal(b.unit) {
		a.unit = units.Unit{}
	}
	p.raw(`<span class="tx quiet">`)
	p.figure(a)
	p.raw(" to ")
	p.figure(b)
	p.raw("</span>")
}

// limit writes the one limit of a check; a strict one always, for the margin cannot tell it.
func (p *page) limit(e *eval.Entry, c *eval.CheckDetail, limit eval.Value) {
	if limit.SI == c.Right.SI && (c.Op == "<=" || c.Op == ">=") {
		return // the right side, as the question says
	}
	p.raw(limitWord(c.Op), " ")
	p.figure(p.shown(p.asRight(e, c, limit)))
}

// margin says how far the left side is inside its nearest limit, or outside.
func (p *page) margin(c *eval.CheckDetail) {
	const digits = 3
	word := "to spare"
	shown := c.Margin.Shown
	if shown < 0 || c.Verdict == eval.Fails {
		word = "too far"
	}
	num := strings.TrimPrefix(units.FormatNumber(shown, digits), "−")
	p.raw("<span>")
	p.text(num)
	p.raw("</span> <span>")
	if !c.Margin.Unit.IsNone() {
		p.text(c.Margin.Unit.String())
		p.raw(" ")
	}
	p.raw(word, "</span>")
}

// checkTable collects every check, those of methods and used sheets included.
func (p *page) checkTable() {
	if len(p.tr.Checks) == 0 {
		return
	}
	p.section("Checks", "Checks")
	p.raw(`<p class="key">What was asked of the results on this sheet. That a check holds approves nothing.</p>`,
		`<div class="scroll" tabindex="0" role="region" aria-label="Checks"><table class="tab checks"><caption class="vh">Checks</caption><thead><tr>`,
		`<th scope="col" class="no">entry</th><th scope="col">what was asked</th><th scope="col" class="n">left side</th>`,
		`<th scope="col" class="n">right side</th><th scope="col">allowed</th><th scope="col" class="n">margin</th><th scope="col">verdict</th></tr></thead><tbody>`, "\n")
	for _, e := range p.tr.Checks {
		if p.full() {
			break
		}
		p.checkRow(e)
	}
	p.raw("</tbody></table></div></section>\n")
}

func (p *page) checkRow(e *eval.Entry) {
	p.raw("<tr><td>")
	if e.Number != "" {
		p.entryLink(e.Number)
	}
	p.raw(`</td><th scope="row" class="ask">`)
	if checkWord(e.Line.Stmt) == "caution" {
		p.raw(`<span class="tx">caution unless </span>`)
	}
	p.question(e.Line)
	p.spoken(sourceText(e.Line))
	if e.Sheet != "" {
		p.raw(` <span class="tx quiet">in `)
		p.text(e.Sheet)
		p.raw("</span>")
	}
	p.raw("</th>")
	c := e.Check
	if c == nil || !c.Plain || c.Verdict == eval.Waits || e.Status != eval.Done {
		p.raw(`<td></td><td></td><td></td><td></td>`)
	} else {
		p.raw(`<td class="n">`)
		p.figure(p.shown(c.Left))
		p.raw(`</td><td class="n">`)
		if c.Op != "within" {
			p.figure(p.shown(p.asRight(e, c, c.Right)))
		}
		p.raw(`</td><td>`)
		switch {
		case c.HasLo && c.HasHi:
			p.range2(p.asRight(e, c, c.Lo), p.asRight(e, c, c.Hi))
		case c.HasLo:
			p.limit(e, c, c.Lo)
		case c.HasHi:
			p.limit(e, c, c.Hi)
		}
		p.raw(`</td><td class="n margin">`)
		p.margin(c)
		p.raw("</td>")
	}
	icon, word := "bad", "no verdict"
	if c != nil && e.Status != eval.Failed {
		icon, word = verdictOf(c)
	}
	p.raw(`<td class="v-`, icon, `">`)
	p.icon(icon)
	p.raw(" ", word)
	if c != nil && c.Accepted != nil && word == "accepted" {
		p.raw(": ")
		p.caption(c.Accepted.Line.File, c.Accepted.Reason.Loc)
	}
	if icon == "wait" && len(e.WaitsFor) > 0 {
		p.raw(" for ")
		p.waitLinks(e.WaitsFor)
	}
	p.raw("</td></tr>\n")
}
