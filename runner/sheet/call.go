package sheet

import (
	"unicode/utf8"

	"workings/propsdb"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
)

// callEntry writes the call of a method: what it gives, and folded under it every line of its
// working with this call's own values.
func (p *page) callEntry(e *eval.Entry) {
	stmt, ok := e.Line.Stmt.(*lang.CallStmt)
	if !ok || e.Line.Method == nil {
		p.brokenEntry(e)
		return
	}
	if e.Status != eval.Done && len(e.Results) == 0 && len(e.Children) == 0 {
		p.brokenEntry(e)
		return
	}
	d := p.draft("")
	shown := p.callRows(e)
	d.eq(p, "")
	p.outputs(e.Line, stmt)
	p.rhs()
	p.methodCall(d, e, stmt)
	if len(shown) == 0 && e.Status != eval.Done {
		p.raw("</span></td>")
		p.noValueCell(e)
	} else {
		p.blank()
	}
	for _, r := range shown {
		d.eq(p, "")
		p.mathSymbol(r.Symbol)
		p.rhs()
		p.raw(`<span class="tx quiet">`)
		p.found(e.Line, r.Symbol)
		p.raw("</span>")
		p.resultCell(r.Symbol)
	}
	d.finish(p, e)
	if e.Status == eval.Failed && e.Problem != nil {
		p.foot(e.Problem)
	}
	p.fold(e.Children, "Working of entry "+e.Number, "", anyBroken(e.Children), func() {
		p.raw("Working of this call: ")
		p.text(stmt.Call.Fn.Text)
		p.raw(", ")
		p.lineCount(e.Children)
	})
	p.end()
}

// anyBroken reports a line without a value, or a check that fails, among entries.
func anyBroken(es []*eval.Entry) bool {
	for _, e := range es {
		if e.Status != eval.Done || e.Check != nil && e.Check.Verdict == eval.Fails && !e.Check.Caution || anyBroken(e.Children) {
			return true
		}
	}
	return false
}

// found says what a result of a call is: in the words of the line that found it, if it has any.
func (p *page) found(l *resolve.Line, s *resolve.Symbol) {
	if s.State != nil {
		p.text(s.Prop.Name())
		return
	}
	for _, b := range l.Outputs {
		if b.Symbol == s && b.From != nil && b.From.Line != nil && b.From.State == nil {
			if c := lang.CaptionOf(b.From.Line.Stmt); c.Text != "" {
				p.caption(b.From.Line.File, c.Loc)
				return
			}
		}
	}
	p.raw("found in the working")
}

func (p *page) lineCount(es []*eval.Entry) {
	n := 0
	for _, e := range es {
		if e.Number != "" {
			n++
		}
	}
	p.raw(itoa(n), plural(n, " line", " lines"))
}

// callRows are the results of a call that its entry shows: the symbols it returns, and of the
// states T and what some line reads.
func (p *page) callRows(e *eval.Entry) []eval.Result {
	var rows []eval.Result
	for _, r := range e.Results {
		s := r.Symbol
		if !r.OK && e.Status != eval.Done {
			continue // what a failed call would have given is said once, by its problem
		}
		if s.State == nil || r.Read || p.answer(s) || s.Prop == propsdb.T {
			rows = append(rows, r)
		}
	}
	return rows
}

// outputs writes what a call gives: ringed states and symbols.
func (p *page) outputs(l *resolve.Line, stmt *lang.CallStmt) {
	for i, o := range stmt.Outs {
		if i > 0 {
			p.raw(" ")
		}
		if o.State {
			p.raw(`<span class="ring">`)
			p.text(o.Name.Text)
			p.raw("</span>")
			continue
		}
		if s := definedAs(l, o.Name); s != nil {
			p.mathSymbol(s)
			continue
		}
		base, sub := p.typeset(o.Name.Text, "")
		p.raw("<math>")
		(&maths{buf: &p.buf, page: p}).subscripted(base, sub)
		p.raw("</math>")
	}
}

func definedAs(l *resolve.Line, n lang.Name) *resolve.Symbol {
	key := n.Key()
	for _, b := range l.Outputs {
		if b.Symbol != nil && (lang.Name{Text: b.Symbol.Name}).Key() == key {
			return b.Symbol
		}
	}
	for _, s := range l.Defines {
		if (lang.Name{Text: s.Name}).Key() == key {
			return s
		}
	}
	return nil
}

// methodCall writes = compressor(①, p₂, η_c), and the same with values.
func (p *page) methodCall(d *draft, e *eval.Entry, stmt *lang.CallStmt) {
	var xs []*resolve.Expr
	for _, b := range e.Line.Inputs {
		xs = append(xs, b.X)
	}
	p.refs.bind(xs...)
	mark := len(p.b)
	width, _ := p.arguments(stmt, false)
	values := false
	for _, x := range xs {
		values = values || x != nil && (x.Op == resolve.OpRef || worthValues(x))
	}
	if !values || e.Status != eval.Done {
		return
	}
	between := len(p.b)
	w, ok := p.arguments(stmt, true)
	if !ok {
		p.b = p.b[:between]
		return
	}
	if width+w <= narrowEntry {
		p.sideBySide(mark, between)
		return
	}
	second := string(p.b[between:])
	p.b = p.b[:between]
	p.blank()
	d.eq(p, "sub")
	p.rhs()
	p.raw(second)
}

func (p *page) arguments(stmt *lang.CallStmt, values bool) (width int, ok bool) {
	m := maths{buf: &p.buf, page: p, refs: &p.refs, values: values, width: len(stmt.Call.Fn.Text) + 4}
	p.raw("<math>", leadEquals)
	m.word(stmt.Call.Fn.Text)
	p.raw(applied, `<mo stretchy="false">(</mo></math>`)
	for i, a := range stmt.Call.Args {
		if i > 0 {
			p.raw(", ")
		}
		if ref, isState := strip(a.X).(*lang.StateRef); isState {
			p.raw(`<span class="ring">`)
			if ref.Of != nil {
				p.text(ref.Of.Text + ".")
			}
			p.text(ref.ID.Text)
			p.raw("</span>")
			m.width += 3
			continue
		}
		p.raw("<math>")
		if a.Name != nil {
			base, sub := p.typeset(a.Name.Text, "")
			m.subscripted(base, sub)
			m.operator("=")
		}
		m.expr(a.X, precCond, true)
		p.raw("</math>")
	}
	p.raw(")")
	return m.width, !m.failed
}

// fold writes entries under a line that opens and closes. On paper it is open; it is open too
// where something in it went wrong. within is the name of a used sheet, which its lines' numbers
// then need not repeat.
func (p *page) fold(children []*eval.Entry, caption, within string, open bool, summary func()) {
	if len(children) == 0 {
		return
	}
	p.raw(`<tr><td class="fold" colspan="4"><details`)
	if open {
		p.raw(` open=""`)
	}
	p.raw("><summary>")
	summary()
	p.raw("</summary>")
	class := "ledger inner"
	if within != "" {
		class = "ledger inner used\" style=\"--long:" + itoa(min(utf8.RuneCountInString(within), 24))
	}
	p.raw(`<table class="`, class, `"><caption class="vh">`)
	p.text(caption)
	p.raw("</caption>")
	inSolve, outer := p.inSolve, p.within
	p.inSolve = 0
	if within != "" {
		p.within = within + "."
	}
	defer func() { p.inSolve, p.within = inSolve, outer }()
	for _, c := range children {
		if a, ok := c.Line.Stmt.(*lang.Assume); ok {
			p.usedAssumption(c.Line, a)
			continue
		}
		p.writeEntry(c)
	}
	p.raw("</table></details></td></tr>")
}

// usedAssumption is an assumption of a used sheet, among its lines.
func (p *page) usedAssumption(l *resolve.Line, a *lang.Assume) {
	p.raw(`<tbody class="row aside"><tr><td></td><td class="cap wide" colspan="3"><span class="tx quiet">assumes </span>`)
	p.caption(l.File, a.Text.Loc)
	if a.Basis.Text != "" {
		p.raw(` <span class="basis">`)
		p.caption(l.File, a.Basis.Loc)
		p.raw("</span>")
	}
	if p.open[l] {
		p.raw(` <span class="flag warn">`)
		p.icon("open")
		p.raw(" to be confirmed</span>")
	}
	p.raw("</td></tr></tbody>\n")
}
