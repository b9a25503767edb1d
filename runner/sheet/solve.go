package sheet

import (
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/units"
)

// solveEntry writes a solve: its bracket, the lines that were repeated, once, at the solution,
// what was asked, the residual and the steps, and last what was found.
func (p *page) solveEntry(e *eval.Entry) {
	stmt, ok := e.Line.Stmt.(*lang.Solve)
	if !ok || e.Solve == nil && len(e.Children) == 0 {
		p.brokenEntry(e)
		return
	}
	d := p.draft("solve")
	d.eq(p, "")
	if len(e.Line.Unknowns) > 0 && (e.Line.Lo != nil && e.Line.Hi != nil || len(e.Line.From) > 0) {
		for i, s := range e.Line.Unknowns {
			if i > 0 {
				p.raw(" ")
			}
			p.mathSymbol(s)
		}
		p.rhs()
		p.bracket(e)
	} else {
		p.solveAsTyped(e, stmt)
	}
	if e.Status != eval.Done {
		p.raw("</span></td>")
		p.noValueCell(e)
	} else {
		p.blank()
	}
	d.finish(p, e)
	if e.Status == eval.Failed && e.Problem != nil {
		p.foot(e.Problem)
	}
	p.end()
	until := 0
	for _, c := range e.Children {
		if c.Line.Kind == resolve.Until {
			p.untilEntry(e, c, until)
			until++
			continue
		}
		p.inSolve++
		p.writeEntry(c)
		p.inSolve--
	}
	if e.Solve != nil && e.Status == eval.Done {
		p.solution(e)
	}
}

// solveAsTyped is the head of a solve whose bracket or starting values could not be read.
func (p *page) solveAsTyped(e *eval.Entry, stmt *lang.Solve) {
	for i, n := range stmt.Names {
		if i > 0 {
			p.raw(" ")
		}
		base, sub := p.typeset(n.Text, "")
		p.raw("<math>")
		(&maths{buf: &p.buf, page: p}).subscripted(base, sub)
		p.raw("</math>")
	}
	p.rhs()
	if e.Status == eval.Failed && e.Problem != nil {
		p.raw(`<b class="flag bad">`)
		p.sentence(e.Problem.Message)
		p.raw("</b>")
		return
	}
	p.raw("<code>")
	p.text(trimSource(stmt.Head.In(e.Line.File)))
	p.raw("</code>")
}

// bracket says between which values, or from which, the unknowns were looked for.
func (p *page) bracket(e *eval.Entry) {
	l := e.Line
	bound := func(x *resolve.Expr, v *eval.Value) {
		p.refs.bind(x)
		p.math(x, false, "")
		if _, _, ok := literal(x.Src); ok || v == nil {
			return
		}
		f := p.shown(*v)
		if x.Op == resolve.OpRef {
			if given, ok := p.result(x.Sym); ok && given.unit.Equal(v.Unit) {
				f = given
			}
		}
		p.raw(`<math><mo>=</mo>`)
		p.mathFigure(f)
		p.raw("</math>")
	}
	at := func(vs []eval.Value, i int) *eval.Value {
		if i < len(vs) {
			return &vs[i]
		}
		return nil
	}
	var lo, hi []eval.Value
	if e.Solve != nil {
		lo, hi = e.Solve.Lo, e.Solve.Hi
	}
	switch {
	case l.Lo != nil && l.Hi != nil:
		p.raw(`<span class="tx">solved between </span>`)
		bound(l.Lo, at(lo, 0))
		p.raw(`<span class="tx"> and </span>`)
		bound(l.Hi, at(hi, 0))
	default:
		p.raw(`<span class="tx">solved together from </span>`)
		for i, x := range l.From {
			if i > 0 {
				p.raw(", ")
			}
			bound(x, at(lo, i))
		}
	}
}

// untilEntry writes a condition of a solve with the residual it left, or the value at an extreme.
func (p *page) untilEntry(solve, e *eval.Entry, n int) {
	stmt, ok := e.Line.Stmt.(*lang.Until)
	if !ok || e.Status == eval.Failed {
		p.brokenEntry(e)
		return
	}
	d := p.draft("until")
	d.eq(p, "")
	p.raw(`<span class="tx">until</span>`)
	p.rhs()
	p.bindUntil(e.Line)
	p.mathSource(stmt.X, false, "")
	if e.Line.Extreme != "" {
		p.raw(`<span class="tx"> is `, e.Line.Extreme, "</span>")
	}
	if found := solve.Solve; found != nil && solve.Status == eval.Done {
		p.raw(`<span class="tx quiet">`)
		if n < len(found.Residuals) {
			r := p.residual(found.Residuals[n])
			if e.Line.Extreme != "" {
				p.raw(", there ")
				p.figure(p.shown(r))
			} else {
				p.raw(", residual ")
				p.figure(figure{units.FormatNumber(r.Shown, 2), r.Unit})
			}
		}
		if n == 0 {
			p.raw(", ", itoa(found.Steps), plural(found.Steps, " step", " steps"))
		}
		p.raw("</span>")
	}
	p.blank()
	if solve.Status == eval.Done {
		p.lookups(d, e)
	}
	d.finish(p, e)
	p.end()
}

// solution writes the values that a solve found.
func (p *page) solution(e *eval.Entry) {
	n := itoa(max(1, len(e.Line.Unknowns)))
	p.raw(`<tbody class="row solved" style="--n:`, n, `"><tr><td rowspan="`, n, `"></td><td class="cap" rowspan="`, n, `"></td>`)
	d := p.draft("")
	for _, s := range e.Line.Unknowns {
		d.eq(p, "")
		p.mathSymbol(s)
		p.rhs()
		p.raw(`<span class="tx">at the solution</span>`)
		p.resultCell(s)
	}
	p.raw("</tr></tbody>\n")
}

func (p *page) bindUntil(u *resolve.Line) {
	xs := []*resolve.Expr{u.X}
	if u.Compare != nil {
		xs = append(xs, u.Compare.X, u.Compare.Left, u.Compare.Right)
	}
	p.refs.bind(xs...)
}
