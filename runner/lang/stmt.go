package lang

import (
	"fmt"

	"workings/runner/diag"
)

// block reads the lines of a fence whose lines stand for themselves.
func (p *parser) block() []Stmt {
	var stmts []Stmt
	for p.at < len(p.lines) {
		if s := p.next(); s != nil {
			stmts = append(stmts, s)
		}
	}
	return stmts
}

// next reads the statement, heading or blank line at p.at; nil for a blank one.
func (p *parser) next() Stmt {
	l := &p.lines[p.at]
	switch {
	case l.blank():
		p.at++
		return nil
	case l.refused:
		p.at++
		return &Bad{At: At{l.span()}}
	case l.heading():
		p.at++
		return &Heading{At{l.span()}, l.caption}
	}
	if p.toks[l.from].word("solve") && p.kind != "inputs" && p.kind != "answers" {
		return p.solve()
	}
	lo, hi, caption := p.statement()
	if !p.tidy(lo, hi) {
		return p.bad(lo, hi)
	}
	s := p.line(lo, hi, caption)
	if s == nil || p.failed {
		return p.bad(lo, hi)
	}
	return s
}

func (p *parser) line(lo, hi int, c Caption) Stmt {
	switch p.kind {
	case "inputs":
		return p.input(lo, hi, c)
	case "answers":
		s, ok := p.shown(lo, hi)
		if !ok {
			return nil
		}
		return &Answer{p.span(lo, hi), s, c}
	}
	return p.calc(lo, hi, c)
}

func (p *parser) span(lo, hi int) At { return At{p.toks[lo].at.Join(p.toks[hi-1].at)} }

// calc reads a line of a calc fence, or of a method.
func (p *parser) calc(lo, hi int, c Caption) Stmt {
	t := &p.toks[lo]
	if t.kind == tWord && lo+1 < hi && p.toks[lo+1].op("=") {
		p.wordAsName(t)
		return nil
	}
	switch t.text {
	case "fluid":
		return p.fluid(lo, hi, c)
	case "check", "caution":
		return p.check(lo, hi, c)
	case "use":
		return p.use(lo, hi, c)
	case "accept":
		return p.accept(lo, hi, c)
	case "until":
		p.fail(t.at, CodeSolve, "this `until` ends no `solve`", "no solve is open here", "write solve NAME between A and B above it")
		return nil
	}
	// What is left defines something: outputs, an equals sign, and what they are.
	outs, eq, ok := p.defined(lo, hi)
	if !ok {
		return nil
	}
	if eq+1 == hi {
		p.operandMissing(hi)
		return nil
	}
	if len(outs) == 1 && !p.takesState(eq+1, hi) {
		if outs[0].State {
			return p.state(outs[0].Name, lo, eq, hi, c)
		}
		return p.define(outs[0].Name, lo, eq, hi, c)
	}
	return p.callLine(outs, lo, eq, hi, c)
}

func (p *parser) wordAsName(t *token) {
	p.fail(t.at, CodeWord, fmt.Sprintf("`%s` is a word of the language and cannot be a name", t.text), "expected another name", fmt.Sprintf("choose another name, such as %s_1", t.text))
}

// defined reads what a line defines, up to the equals sign at eq.
func (p *parser) defined(lo, hi int) (outs []Out, eq int, ok bool) {
	eq = p.find(lo, hi, func(t *token) bool { return t.op("=") })
	if eq == hi {
		p.noDefinition(lo, hi)
		return nil, eq, false
	}
	if eq == lo {
		p.fail(p.toks[lo].at, CodeName, "a name is missing before `=`", "expected a name before this", "")
		return nil, eq, false
	}
	outs, ok = p.outs(lo, eq, false)
	return outs, eq, ok && p.noFluids(outs)
}

// noFluids refuses `fluid f` where results stand: only a method's parameter may be a fluid.
func (p *parser) noFluids(outs []Out) bool {
	for _, o := range outs {
		if o.Fluid {
			p.fail(o.Loc, CodeMethod, "a fluid is no result", "expected a symbol or a state", "the fluid of a state that comes back is fluid_"+"ID, such as fluid_b")
			return false
		}
	}
	return true
}

func (p *parser) define(n Name, lo, eq, hi int, c Caption) Stmt {
	in := p.find(eq+1, hi, func(t *token) bool { return t.word("in") })
	d := &Define{At: p.span(lo, hi), Name: n, Caption: c}
	if in < hi {
		var ok bool
		if d.In, ok = p.lastIn(in, hi); !ok {
			return nil
		}
	}
	if in == eq+1 {
		p.operandMissing(in)
		return nil
	}
	if d.X = p.expr(eq+1, in); d.X == nil {
		return nil
	}
	return d
}

// lastIn reads `in UNIT` that ends a line.
func (p *parser) lastIn(in, hi int) (*UnitText, bool) {
	u, ok := p.unitAfterIn(in, hi)
	if ok && in+2 < hi {
		p.leftOver(in + 2)
		return nil, false
	}
	return u, ok
}

// leftOver reports token i, which stands where the line should have ended.
func (p *parser) leftOver(i int) {
	t := &p.toks[i]
	p.fail(t.at, CodeUnexpected, fmt.Sprintf("`%s` cannot stand here", p.spelled(t)), "expected the end of the line", "")
}

// outs reads names and states, separated by commas: what stands before an equals sign or, where
// listed is set, in the first line of a method or solve.
func (p *parser) outs(lo, hi int, listed bool) ([]Out, bool) {
	var outs []Out
	for start := lo; lo <= hi; {
		end := p.find(lo, hi, func(t *token) bool { return t.op(",") })
		switch {
		case end == lo && lo == start:
			p.fail(p.toks[lo].at, CodeName, fmt.Sprintf("a name is missing before `%s`", p.toks[lo].text), "expected a name before this", "")
			return nil, false
		case end == lo:
			p.fail(p.toks[lo-1].at, CodeName, fmt.Sprintf("a name is missing after `%s`", p.toks[lo-1].text), "expected a name after this", "")
			return nil, false
		}
		o, ok := p.out(lo, end, listed)
		if !ok {
			return nil, false
		}
		outs = append(outs, o)
		lo = end + 1
	}
	return outs, true
}

func (p *parser) out(lo, hi int, listed bool) (Out, bool) {
	t := &p.toks[lo]
	switch {
	case t.word("state"):
		ref, next := p.stateRef(lo, hi)
		switch {
		case ref == nil:
			return Out{}, false
		case ref.Of != nil:
			p.fail(ref.Loc, CodeState, "a state of another sheet cannot be defined here", "it belongs to "+ref.Of.Text, "choose a name of this sheet")
			return Out{}, false
		case next == hi:
			return Out{At: p.span(lo, hi), State: true, Name: ref.ID}, true
		case listed:
			p.noComma(next)
		default:
			p.fail(p.toks[next].at, CodeState, "this state line cannot be read", "expected = after the state's name", fmt.Sprintf("write state %s = FLUID(p = …, T = …)", ref.ID.Text))
		}
		return Out{}, false
	case t.word("fluid") && lo+1 < hi && p.toks[lo+1].kind == tName:
		if lo+2 < hi {
			p.noComma(lo + 2)
			return Out{}, false
		}
		return Out{At: p.span(lo, hi), Fluid: true, Name: p.nameAt(lo + 1)}, true
	case t.kind == tWord:
		p.wordAsName(t)
		return Out{}, false
	case t.kind != tName:
		label := "expected a name before ="
		if listed {
			label = "expected a name"
		}
		p.fail(t.at, CodeName, fmt.Sprintf("`%s` is no name", p.spelled(t)), label, "a name begins with a letter")
		return Out{}, false
	case hi == lo+1:
		return Out{At: p.span(lo, hi), Name: p.nameAt(lo)}, true
	case listed:
		p.noComma(lo + 1)
		return Out{}, false
	}
	p.notAName(lo, hi)
	return Out{}, false
}

// noComma reports token i, which follows a name of a list.
func (p *parser) noComma(i int) {
	t := &p.toks[i]
	if t.kind == tName || t.word("state") {
		p.fail(p.toks[i-1].at.Join(t.at), CodeArgument, fmt.Sprintf("a comma is missing between `%s` and `%s`", p.toks[i-1].text, p.spelled(t)), "expected a comma between them", "")
		return
	}
	p.fail(t.at, CodeName, "only names stand here", "expected a comma or the end of the list", "")
}

// notAName reports what stands before `=` where a single name should.
func (p *parser) notAName(lo, hi int) {
	t, next := &p.toks[lo], &p.toks[lo+1]
	at := p.span(lo, hi).Loc
	switch {
	case next.op(".") && lo+2 < hi:
		p.fail(at, CodeName, "a symbol of another sheet cannot be defined here", "it belongs to "+t.text, "choose a name of this sheet")
	case next.op("(") && t.text == "correlation":
		p.fail(at, CodeFence, "a correlation line belongs into an inputs fence", "it stands beside the inputs that it concerns", "begin a fence ```inputs")
	case next.op("(") && int(next.match) == hi-1:
		p.fail(at, CodeLine, "a function cannot be defined in a line", "expected a name before =", "write a method fence for lines that are used again")
	case next.kind == tName || next.kind == tNumber:
		p.nearWord(lo, next.at, "a name has no blanks in it", "expected = or the end of the name", fmt.Sprintf("write %s_%s", t.text, next.text))
	default:
		p.fail(at, CodeName, "only a single name stands before `=`", "expected a name", "solve the equation for one symbol, or write a solve")
	}
}

// nearWord reports at a place, with a better hint where the line begins with a slip of one of
// the words that open lines.
func (p *parser) nearWord(lo int, at diag.Span, message, label, hint string) {
	if near := diag.Near(p.toks[lo].text, openings()); len(near) > 0 {
		p.fail(p.toks[lo].at, CodeLine, fmt.Sprintf("no line begins with `%s`", p.toks[lo].text), "did you mean "+near[0]+"?", "")
		return
	}
	p.fail(at, CodeLine, message, label, hint)
}

// takesState reports a call one of whose arguments is a state, which only a method has.
func (p *parser) takesState(lo, hi int) bool {
	if hi-lo < 3 || p.toks[lo].kind != tName || !p.toks[lo+1].op("(") {
		return false
	}
	end := int(p.toks[lo+1].match)
	for i := lo + 2; i < end; i++ {
		switch t := &p.toks[i]; {
		case t.op("("):
			i = int(t.match)
		case t.word("state"):
			return true
		}
	}
	return false
}

func (p *parser) callLine(outs []Out, lo, eq, hi int, c Caption) Stmt {
	call, next := p.callAt(eq+1, hi)
	if call == nil {
		p.fail(p.span(eq+1, hi).Loc, CodeLine, "several outputs come from a method", "expected METHOD(…)", "write state 2, w = METHOD(state 1, …), or one line for each name")
		return nil
	}
	if p.failed {
		return nil
	}
	s := &CallStmt{At: p.span(lo, hi), Outs: outs, Call: call, Caption: c}
	switch {
	case next == hi:
		return s
	case !p.toks[next].word("in"):
		p.afterCall(outs, call, next)
		return nil
	case len(outs) > 1 || outs[0].State:
		p.fail(p.toks[next].at, CodeUnexpected, "`in` cannot stand here", "expected the end of the line", "show an output in a unit where it is an answer, or in a line of its own")
		return nil
	}
	var ok bool
	if s.In, ok = p.lastIn(next, hi); !ok {
		return nil
	}
	return s
}

// afterCall reports token i, which goes on after the call of a method.
func (p *parser) afterCall(outs []Out, call *Call, i int) {
	t := &p.toks[i]
	if !infix(t) && !t.op("?") {
		p.leftOver(i)
		return
	}
	hint := "write the call alone, and calculate with its outputs in lines below"
	if len(outs) == 1 && !outs[0].State {
		hint = fmt.Sprintf("write y = %s(…) above, then %s = y %s …", call.Fn.Text, outs[0].Name.Text, t.text)
	}
	p.fail(t.at, CodeUnexpected, "a method is called on a line of its own", "expected the end of the line", hint)
}

// callAt parses NAME(…) at lo; nil where something else stands there.
func (p *parser) callAt(lo, hi int) (*Call, int) {
	if hi-lo < 3 || p.toks[lo].kind != tName || !p.toks[lo+1].op("(") {
		return nil, lo
	}
	x, next := p.named(lo, hi)
	if x == nil {
		return &Call{}, next // reported
	}
	return x.(*Call), next
}

func (p *parser) state(id Name, lo, eq, hi int, c Caption) Stmt {
	form := fmt.Sprintf("write state %s = FLUID(p = …, T = …)", id.Text)
	call, next := p.callAt(eq+1, hi)
	if call == nil {
		t := &p.toks[eq+1]
		what := "expected FLUID(…)"
		if t.word("state") {
			p.fail(p.span(eq+1, hi).Loc, CodeState, "a state is given by a fluid and two of its properties", what, form)
			return nil
		}
		if t.kind == tName && hi == eq+2 {
			p.fail(t.at, CodeState, "the properties that fix this state are missing", "expected ( after the fluid", fmt.Sprintf("write state %s = %s(p = …, T = …)", id.Text, t.text))
			return nil
		}
		p.fail(p.span(eq+1, hi).Loc, CodeState, "a state is given by a fluid and two of its properties", what, form)
		return nil
	}
	if p.failed {
		return nil
	}
	if next < hi {
		p.leftOver(next)
		return nil
	}
	return &State{p.span(lo, hi), id, call.Fn, call.Args, c}
}

func (p *parser) fluid(lo, hi int, c Caption) Stmt {
	if lo+1 == hi || p.toks[lo+1].kind != tName {
		p.fail(p.toks[lo].at, CodeFluid, "the fluid's name is missing", "expected a name after this", "write fluid air, or fluid g = perfect(…)")
		return nil
	}
	f := &Fluid{At: p.span(lo, hi), Name: p.nameAt(lo + 1), Caption: c}
	if lo+2 == hi {
		return f
	}
	if !p.toks[lo+2].op("=") {
		p.fail(p.toks[lo+2].at, CodeFluid, "this fluid line cannot be read", "expected = or the end", fmt.Sprintf("write fluid %s = perfect(…), mixture(…), products(…) or the name of a fluid", f.Name.Text))
		return nil
	}
	if lo+3 == hi {
		p.operandMissing(hi)
		return nil
	}
	f.Spec = p.expr(lo+3, hi)
	switch s := f.Spec.(type) {
	case nil:
		return nil
	case *Call:
		if s.Of == nil {
			return f
		}
	case *Ident:
		if s.Of == nil {
			return f
		}
	}
	p.fail(f.Spec.Span(), CodeFluid, "this is no fluid", "expected the name of a fluid, or perfect(…), mixture(…), products(…)", "")
	return nil
}

// noDefinition reports a line without `=`.
func (p *parser) noDefinition(lo, hi int) {
	t := &p.toks[lo]
	at := p.span(lo, hi).Loc
	if cmp := p.find(lo, hi, func(t *token) bool { return t.op("==") }); cmp < hi {
		hint := "a check is written check … == …"
		if cmp == lo+1 && t.kind == tName {
			hint = fmt.Sprintf("a definition is written %s = …, a check check %s == …", t.text, t.text)
		}
		p.fail(p.toks[cmp].at, CodeEquals, "`==` compares, it does not define", "expected =", hint)
		return
	}
	if arrow := p.find(lo, hi, func(t *token) bool { return t.op("->") }); arrow < hi {
		signature := t.name("method") || hi > lo+1 && t.kind == tName && p.toks[lo+1].op("(") && int(p.toks[lo+1].match) == arrow-1
		switch {
		case p.kind == "method":
			p.fail(at, CodeMethod, "a method fence holds one method", "this begins another", "begin another fence ```method")
		case signature:
			p.wrongFence(at, "method")
		default:
			p.wrongFence(at, "cycle")
		}
		return
	}
	switch {
	case t.word("state"):
		if ref, next := p.stateRef(lo, hi); ref != nil {
			if next == hi {
				next--
			}
			p.fail(p.toks[next].at, CodeState, "this state line cannot be read", "expected = after the state's name", fmt.Sprintf("write state %s = FLUID(p = …, T = …)", ref.ID.Text))
		}
	case t.kind == tWord:
		p.fail(t.at, CodeLine, fmt.Sprintf("no line begins with `%s`", t.text), "expected a name, or a word that opens a line", "a line goes on after an operator, a comma, = or an open bracket")
	case hi == lo+1 && p.strayUnit(lo):
		p.fail(t.at, CodeUnit, "a unit stands on the line of its number", "this line holds only the unit "+t.text, "write it directly after the number")
	case infix(t) || t.op(",") || t.op(")"):
		p.fail(t.at, CodeLine, fmt.Sprintf("no line begins with `%s`", t.text), "expected a name, or a word that opens a line", "a line goes on if the operator stands at the end of the line before")
	case t.kind != tName:
		p.fail(at, CodeLine, "this line defines nothing", "expected NAME = …", "a result needs a name")
	case hi > lo+1 && p.otherFence(lo, hi):
	case hi > lo+1 && p.toks[lo+1].kind == tName || hi > lo+1 && p.toks[lo+1].kind == tNumber:
		p.nearWord(lo, p.toks[lo+1].at, fmt.Sprintf("`=` is missing after `%s`", t.text), "expected = before this", fmt.Sprintf("write %s = …", t.text))
	default:
		p.nearWord(lo, at, "this line defines nothing", "expected NAME = …", "give the result a name; to show a symbol, name it in an answers fence")
	}
}

// strayUnit reports a lone unit below a line that ends with a bare number.
func (p *parser) strayUnit(lo int) bool {
	return lo > 0 && p.toks[lo-1].kind == tNumber && unitProblem(p.toks[lo].text, p.toks[lo].at, "") == nil
}

// otherFence reports a line that belongs into another kind of fence.
func (p *parser) otherFence(lo, hi int) bool {
	t, next := &p.toks[lo], &p.toks[lo+1]
	colon := p.find(lo, hi, func(t *token) bool { return t.op(":") || t.op("?") })
	switch {
	case colon < hi && p.toks[colon].op(":") && (next.op(":") || next.op("-")):
		p.wrongFence(p.span(lo, colon).Loc, "assume")
	case t.text == "states" && next.kind != tOp, (t.text == "columns" || t.text == "symbols") && next.kind == tName:
		p.wrongFence(t.at, "table")
	case (t.text == "vary" || t.text == "keep" || t.text == "mark" || t.text == "seek") && next.kind == tName:
		p.wrongFence(t.at, "study")
	case next.word("in"):
		p.wrongFence(t.at, "answers")
	default:
		return false
	}
	return true
}

func (p *parser) wrongFence(at diag.Span, kind string) {
	p.fail(at, CodeFence, fmt.Sprintf("this line belongs into %s fence", article(kind)), fmt.Sprintf("%s fence has no such line", article(p.kind)), "begin a fence ```"+kind)
}

// bad makes of a statement that was reported what it would have defined.
func (p *parser) bad(lo, hi int) *Bad {
	b := &Bad{At: p.span(lo, hi)}
	t := &p.toks[lo]
	switch {
	case t.word("fluid"):
		if lo+1 < hi && p.toks[lo+1].kind == tName {
			b.Spaces = []Name{p.nameAt(lo + 1)}
		}
		return b
	case t.word("use"):
		for i := lo + 1; i < hi; i++ {
			if p.toks[i].kind == tName && (i == lo+1 || p.toks[i-1].name("as")) {
				b.Spaces = []Name{p.nameAt(i)}
				break
			}
		}
		return b
	case t.word("check"), t.word("caution"), t.word("accept"), t.word("until"), p.kind == "answers":
		return b
	case p.find(lo, hi, func(t *token) bool { return t.op("->") }) < hi:
		if n, ok := p.called(lo, hi); ok { // the first line of a method
			b.Spaces = []Name{n}
		}
		return b
	}
	for i := lo; i < hi; i++ {
		switch t := &p.toks[i]; {
		case t.kind == tName && (i == lo || p.toks[i-1].op(",")):
			b.Defines = append(b.Defines, p.nameAt(i))
		case t.kind == tID && p.toks[i-1].word("state"):
			b.States = append(b.States, p.nameAt(i))
		case t.op(","), t.word("state"):
		default:
			return b
		}
	}
	return b
}
