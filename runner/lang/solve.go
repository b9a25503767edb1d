package lang

import (
	"fmt"

	"workings/runner/diag"
)

// solve reads a solve with its lines and its until. A solve that cannot be read as a whole is one
// Bad that names all that it and its lines would have defined.
func (p *parser) solve() Stmt {
	from := &p.lines[p.at]
	lo, hi, caption := p.statement()
	head := p.span(lo, hi).Loc
	s := &Solve{Head: head, Caption: caption}
	broken := &Bad{At: At{head}, Defines: p.unknowns(lo, hi)}
	if p.solves == MaxNesting {
		p.nesting(p.toks[lo].at) // its lines are read as those of the solve around it
		return broken
	}
	good := p.tidy(lo, hi) && p.solveHead(s, lo, hi)
	untils, around := max(1, len(s.Names)), p.outer
	p.outer = from.indent
	p.solves++
	good = p.solveBody(s, from.indent, untils, good) && good
	p.solves--
	p.outer = around
	good = p.noMoreUntils(s, from.indent, untils, good) && good
	s.Loc = head
	for _, b := range s.Body {
		s.Loc = s.Loc.Join(b.Span())
	}
	for _, u := range s.Until {
		s.Loc = s.Loc.Join(u.Loc)
	}
	if good {
		return s
	}
	broken.Loc = s.Loc
	for _, b := range s.Body {
		broken.also(b)
	}
	return broken
}

// unknowns are the names that a solve is for, read as well as its first line allows.
func (p *parser) unknowns(lo, hi int) []Name {
	var names []Name
	for i := lo + 1; i < hi && !p.toks[i].name("between") && !p.toks[i].name("from"); i++ {
		if p.toks[i].kind == tName && (i == lo+1 || p.toks[i-1].op("(") || p.toks[i-1].op(",")) {
			names = append(names, p.nameAt(i))
		}
	}
	return names
}

// solveBody reads the lines of a solve and as many untils as it has unknowns. Where good is
// false the solve has been reported already, and what is missing is not reported as well.
func (p *parser) solveBody(s *Solve, indent, untils int, good bool) bool {
	complain := good
	ahead := -1 // the next until, once looked for
	followed := func() bool {
		if ahead < p.at {
			ahead = p.untilAhead(indent)
		}
		return ahead >= 0
	}
	for p.at < len(p.lines) && len(s.Until) < untils {
		l := &p.lines[p.at]
		if l.from == l.to {
			if l.heading() && l.indent <= indent && !followed() {
				break
			}
			if b := p.next(); b != nil {
				s.Body = append(s.Body, b)
			}
			continue
		}
		if p.toks[l.from].word("until") {
			lo, hi, caption := p.statement()
			u := p.until(lo, hi, caption)
			if u == nil {
				s.Until = append(s.Until, &Until{At: p.span(lo, hi)})
				good = false
				continue
			}
			if u.Extreme != "" && untils > 1 {
				p.fail(u.Loc, CodeSolve, "several unknowns need equations", "expected LHS == RHS", "write one until a == b for each unknown")
				good = false
			}
			s.Until = append(s.Until, u)
			continue
		}
		if l.indent <= indent {
			if len(s.Until) > 0 || !followed() {
				break
			}
			if complain {
				p.report(&diag.Problem{Code: CodeSolve, Severity: diag.Caution, Span: l.span(),
					Message: "a line of a `solve` is indented", Label: "this is read as one, since an until follows", Hint: "indent every line between solve and until"})
				complain = false
			}
		}
		if len(s.Until) > 0 {
			break
		}
		if b := p.next(); b != nil {
			s.Body = append(s.Body, b)
		}
	}
	if len(s.Until) < untils && good {
		p.failed = false
		message, hint := "this `solve` has no `until`", "end it with until LHS == RHS, or until EXPR is largest"
		if untils > 1 {
			message, hint = fmt.Sprintf("this `solve` has %d unknowns and %s", untils, count(len(s.Until), "until")), "write one until LHS == RHS for each unknown"
		}
		p.fail(s.Head, CodeSolve, message, "expected until after its lines", hint)
		return false
	}
	return good
}

// noMoreUntils takes the untils that a solve has beyond its unknowns, and reports them. An until
// behind an inner solve may be that of the outer one, unless it is indented deeper.
func (p *parser) noMoreUntils(s *Solve, indent, untils int, good bool) bool {
	if len(s.Until) < untils {
		return true
	}
	more := 0
	for i := p.at; i < len(p.lines); i++ {
		l := &p.lines[i]
		if l.blank() {
			continue
		}
		if l.from == l.to || !p.toks[l.from].word("until") || p.solves > 0 && (l.indent < indent || l.indent <= p.outer) {
			break
		}
		p.at = i
		lo, hi, _ := p.statement()
		more++
		s.Until = append(s.Until, &Until{At: p.span(lo, hi)})
		i = p.at - 1
	}
	if more == 0 {
		return true
	}
	if good {
		unknowns := "one unknown"
		if untils > 1 {
			unknowns = fmt.Sprintf("%d unknowns", untils)
		}
		p.failed = false
		p.fail(s.Until[untils].Loc, CodeSolve, fmt.Sprintf("this `solve` has %s and %s", unknowns, count(untils+more, "until")),
			"one too many", "each unknown has one until; a condition that must hold as well is a check")
	}
	return false
}

func count(n int, what string) string {
	if n == 1 {
		return "one `" + what + "`"
	}
	return fmt.Sprintf("%d `%s`s", n, what)
}

// untilAhead is the line of the next `until` before another solve of no deeper indentation
// begins, or -1.
func (p *parser) untilAhead(indent int) int {
	for i := p.at; i < len(p.lines); i++ {
		l := &p.lines[i]
		if l.from == l.to {
			continue
		}
		t := &p.toks[l.from]
		if t.word("until") {
			return i
		}
		if t.word("solve") && l.indent <= indent {
			return -1
		}
	}
	return -1
}

func (p *parser) solveHead(s *Solve, lo, hi int) bool {
	i := lo + 1
	form := "write solve NAME between A and B, or solve (a, b) from (a0, b0)"
	if i == hi {
		p.fail(p.toks[lo].at, CodeSolve, "the unknown of this `solve` is missing", "expected a name after this", form)
		return false
	}
	if !p.toks[i].op("(") {
		return p.oneUnknown(s, i, hi, form)
	}
	end := int(p.toks[i].match)
	outs, ok := p.outs(i+1, end, true)
	if !ok {
		return false
	}
	for _, o := range outs {
		if o.State {
			p.fail(o.Loc, CodeSolve, "an unknown is a symbol, not a state", "expected a name", "solve for the property that fixes the state")
			return false
		}
		s.Names = append(s.Names, o.Name)
	}
	if len(s.Names) == 1 {
		p.fail(p.span(lo, hi).Loc, CodeSolve, "one unknown is sought between two values", "expected solve NAME between A and B", form)
		return false
	}
	if end+1 == hi || !p.toks[end+1].name("from") {
		p.fail(p.toks[min(end+1, hi-1)].at, CodeSolve, "several unknowns start from given values", "expected from (…)", form)
		return false
	}
	if end+2 == hi || !p.toks[end+2].op("(") || int(p.toks[end+2].match) != hi-1 {
		p.fail(p.toks[end+1].at, CodeSolve, "the starting values are missing, or are not in brackets", "expected (…) after this", form)
		return false
	}
	for i := end + 3; i < hi; {
		j := p.find(i, hi-1, func(t *token) bool { return t.op(",") })
		if j == i {
			p.operandMissing(i)
			return false
		}
		x := p.expr(i, j)
		if x == nil {
			return false
		}
		s.From = append(s.From, x)
		i = j + 1
	}
	if len(s.From) != len(s.Names) {
		p.fail(p.span(end+2, hi).Loc, CodeSolve, fmt.Sprintf("%d unknowns need %d starting values", len(s.Names), len(s.Names)), fmt.Sprintf("%d given", len(s.From)), form)
		return false
	}
	return true
}

func (p *parser) oneUnknown(s *Solve, i, hi int, form string) bool {
	t := &p.toks[i]
	if t.kind != tName {
		p.fail(t.at, CodeSolve, "the unknown of this `solve` is no name", "expected a name", form)
		return false
	}
	if i+1 < hi && p.toks[i+1].op(",") {
		p.fail(p.span(i, hi).Loc, CodeSolve, "several unknowns stand in brackets", "expected (a, b) from (a0, b0)", form)
		return false
	}
	s.Names = []Name{p.nameAt(i)}
	if i+1 == hi || !p.toks[i+1].name("between") {
		p.fail(p.toks[min(i+1, hi-1)].at, CodeSolve, "one unknown is sought between two values", "expected between A and B", form)
		return false
	}
	and := p.find(i+2, hi, func(t *token) bool { return t.word("and") })
	if and == hi {
		at := p.toks[hi-1].at
		if dots := p.find(i+2, hi, func(t *token) bool { return t.op("..") || t.op(",") || t.name("to") }); dots < hi {
			at = p.toks[dots].at
		}
		p.fail(at, CodeSolve, "the two ends of the search are joined by `and`", "expected between A and B", form)
		return false
	}
	s.Between = p.ends(i+2, and, hi)
	return s.Between != nil
}

// until reads `until LHS == RHS` or `until EXPR is largest`.
func (p *parser) until(lo, hi int, c Caption) *Until {
	if !p.tidy(lo, hi) {
		return nil
	}
	u := &Until{At: p.span(lo, hi), Caption: c}
	is := p.find(lo+1, hi, func(t *token) bool { return t.name("is") })
	if is == lo+1 {
		p.fail(p.toks[lo].at, CodeSolve, "`until` needs a condition", "expected LHS == RHS after this", "write until LHS == RHS, or until EXPR is largest")
		return nil
	}
	if !p.compares(lo+1, is) {
		return nil
	}
	if u.X = p.expr(lo+1, is); u.X == nil {
		return nil
	}
	if is < hi {
		if is+2 != hi || !p.toks[is+1].name("largest") && !p.toks[is+1].name("smallest") {
			p.fail(p.span(is, hi).Loc, CodeSolve, "an extreme is `largest` or `smallest`", "expected is largest, or is smallest", "")
			return nil
		}
		if !value(u.X) {
			p.fail(u.X.Span(), CodeSolve, "a condition has no extreme", "expected a value", "write until EXPR is largest")
			return nil
		}
		u.Extreme = p.toks[is+1].text
		return u
	}
	if c, ok := u.X.(*Compare); !ok || len(c.Ops) != 1 || c.Ops[0] != "==" {
		p.fail(u.X.Span(), CodeSolve, "`until` needs one equation", "expected LHS == RHS", "write until LHS == RHS, or until EXPR is largest")
		return nil
	}
	return u
}

// also adds what a line defines, or would have defined.
func (b *Bad) also(s Stmt) {
	switch s := s.(type) {
	case *Define:
		b.Defines = append(b.Defines, s.Name)
	case *State:
		b.States = append(b.States, s.ID)
	case *Fluid:
		b.Spaces = append(b.Spaces, s.Name)
	case *Use:
		if n := s.name(); n != nil {
			b.Spaces = append(b.Spaces, *n)
		}
	case *CallStmt:
		for _, o := range s.Outs {
			if o.State {
				b.States = append(b.States, o.Name)
			} else {
				b.Defines = append(b.Defines, o.Name)
			}
		}
	case *Solve:
		b.Defines = append(b.Defines, s.Names...)
		for _, inner := range s.Body {
			b.also(inner)
		}
	case *Bad:
		b.Defines = append(b.Defines, s.Defines...)
		b.States = append(b.States, s.States...)
		b.Spaces = append(b.Spaces, s.Spaces...)
	}
}

func (s *Use) name() *Name {
	if s.As != nil {
		return s.As
	}
	return s.Library
}
