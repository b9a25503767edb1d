package resolve

import (
	"workings/runner/lang"
)

func (r *resolver) seek(line *Line, st *Study, s *lang.Seek) {
	k := r.kept(line, st, s.Shown)
	if k < 0 {
		return
	}
	out := &Seek{Extreme: s.Extreme, Keep: k, Stmt: s}
	for _, b := range s.By {
		w := &Varied{}
		if !r.variedInput(line, w, b.Name) {
			continue
		}
		lo, hi := r.studyValue(line, w, b.Range.Lo), r.studyValue(line, w, b.Range.Hi)
		if lo == nil || hi == nil {
			continue
		}
		from, _ := constantOf(lo)
		to, _ := constantOf(hi)
		if !(from < to) {
			r.fail(line, CodeStudy, b.Range.Loc, "the first value of a range is the smaller").hint("write %s .. %s", lang.FormatExpr(b.Range.Hi), lang.FormatExpr(b.Range.Lo))
			continue
		}
		out.By = append(out.By, Sought{w, from, to})
	}
	for _, x := range s.Subject {
		r.constraint(line, st, out, x)
	}
	st.Seek = out
}

// constraint resolves a condition that has to hold at what is sought.
func (r *resolver) constraint(line *Line, st *Study, out *Seek, x lang.Expr) {
	c, ok := bare(x).(*lang.Compare)
	if !ok {
		r.fail(line, CodeStudy, x.Span(), "this is no condition for a seek").hint("write conditions such as T_x < 900 K, with a comma between them")
		return
	}
	for i, op := range c.Ops {
		if op == "==" || op == "!=" {
			r.fail(line, CodeStudy, c.OpAt[i], "a seek keeps within limits, and `%s` is none", op).hint("let a solve on the sheet make two values equal")
			return
		}
		left, right, ok := r.sides(line, st, c.Operands[i], c.Operands[i+1])
		if !ok {
			return
		}
		if op == ">" || op == ">=" {
			left, right = right, left
		}
		out.Subject = append(out.Subject, Constraint{Left: left, Right: right, Strict: op == "<" || op == ">", Stmt: c, At: i})
	}
}

func (r *resolver) sides(line *Line, st *Study, a, b lang.Expr) (Side, Side, bool) {
	x, ok1 := r.side(line, st, a)
	y, ok2 := r.side(line, st, b)
	if !ok1 || !ok2 || !r.comparable(line, x.Expr, y.Expr, b.Span()) {
		return x, y, false
	}
	if x.Keep < 0 && y.Keep < 0 {
		r.fail(line, CodeStudy, a.Span().Join(b.Span()), "nothing in this condition depends on what is sought").hint("compare a symbol with a limit: T_x < 900 K")
		return x, y, false
	}
	return x, y, true
}

// side is a symbol or a constant.
func (r *resolver) side(line *Line, st *Study, x lang.Expr) (Side, bool) {
	if id, ok := bare(x).(*lang.Ident); ok && !(id.Of == nil && isConstant(id.Name)) {
		k := r.kept(line, st, lang.Shown{At: id.At, Of: id.Of, Name: id.Name})
		if k < 0 {
			return Side{}, false
		}
		s := st.Keep[k].Symbol
		return Side{Keep: k, Expr: &Expr{Op: OpRef, Sym: s, Type: s.Type, Unit: s.Unit, HasU: true, Src: x}}, true
	}
	reads := false
	lang.Walk(x, func(n lang.Node) bool {
		id, ok := n.(*lang.Ident)
		reads = reads || ok && !isConstant(id.Name)
		return true
	})
	if reads {
		r.fail(line, CodeStudy, x.Span(), "a side of a condition is a symbol or a quantity").hint("give this expression a name in a calc fence, and compare that")
		return Side{}, false
	}
	e := r.expr(line, x)
	if e == nil || !r.truthless(line, e) {
		return Side{}, false
	}
	v, ok := constantOf(e)
	if !ok {
		r.fail(line, CodeStudy, x.Span(), "this is no plain quantity").hint("give a quantity, such as 900 K")
		return Side{}, false
	}
	return Side{Keep: -1, Value: v, Expr: e}, true
}

func isConstant(n lang.Name) bool {
	_, ok := constantNamed(n.Key())
	return ok
}
