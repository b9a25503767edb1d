package resolve

import (
	"workings/runner/lang"
	"workings/units"
)

func (r *resolver) check(line *Line, s *lang.Check) {
	line.Kind = Check
	c := &Condition{}
	switch x := bare(s.X).(type) {
	case *lang.Compare:
		if len(x.Ops) == 1 {
			c.Op = x.Ops[0]
			c.Left, c.Right = r.expr(line, x.Operands[0]), r.expr(line, x.Operands[1])
			if c.Left == nil || c.Right == nil || !r.truthless(line, c.Left) || !r.truthless(line, c.Right) {
				return
			}
			if c.X = r.comparison(line, x, c.Op, c.Left, c.Right); c.X == nil {
				return
			}
			break
		}
		if c.X = r.compare(line, x); c.X == nil {
			return
		}
	default:
		x2 := r.expr(line, s.X)
		if x2 == nil {
			return
		}
		if s.Between != nil {
			if !r.truthless(line, x2) {
				return
			}
			c.Op, c.Left = "within", x2
			line.Lo, line.Hi = r.limits(line, s.Between, x2)
			if line.Lo == nil {
				return
			}
			c.Unit = r.unitFor(x2)
			line.Compare = c
			return
		}
		if !x2.Type.Bool {
			r.fail(line, CodeTruth, s.X.Span(), "a check asks for a comparison, and this is %s", x2.Type.describe()).
				hint("write check a == b within 0.1 %%, check a < b, or check a within lo .. hi")
			return
		}
		c.X = x2
	}
	if s.Between != nil {
		r.fail(line, CodeTolerance, s.Between.Loc, "a comparison takes a tolerance, not a range").
			hint("write check a == b within 0.1 %%, or check a within lo .. hi")
		return
	}
	if s.Tolerance != nil && !r.tolerance(line, s, c) {
		return
	}
	if c.Left != nil {
		c.Unit = r.unitFor(c.Left)
		if !c.Left.HasU && c.Right.HasU {
			c.Unit = r.unitFor(c.Right)
		}
	}
	line.Compare = c
}

// tolerance types what stands after `a == b within`: a % is relative to the right side, anything
// else absolute.
func (r *resolver) tolerance(line *Line, s *lang.Check, c *Condition) bool {
	at := s.Tolerance.Span()
	if c.Op != "==" {
		r.fail(line, CodeTolerance, at, "only == takes a tolerance").hint("write check a == b within 0.1 %%, or leave the tolerance out")
		return false
	}
	if n, ok := bare(s.Tolerance).(*lang.Number); ok && n.Unit != nil {
		u, err := units.Parse(n.Unit.Text)
		switch {
		case err == nil && (u.String() == "%" || u.IsRelative()):
			c.Relative = true
			c.Tolerance = &Expr{Op: OpConst, Value: u.ToSI(n.Value, 0), Unit: u, HasU: true, Src: n}
			if v, ok := constantOf(c.Right); ok && v == 0 {
				r.fail(line, CodeTolerance, at, "a share of zero is zero: this holds only for exact equality").
					hint("give the tolerance as a quantity: within 0.001%s", unitTail(r.unitFor(c.Left)))
				return false
			}
			return true
		case err == nil && (u.Kind() == units.Point || u.Kind() == units.Gauge):
			code := CodeTemperature
			if u.Kind() == units.Gauge {
				code = CodeGauge
			}
			r.fail(line, code, at, "a tolerance is a difference, and %s is a point on a scale", u).
				hint("write %s %s", n.Text, plainDifference(u))
			return false
		}
	}
	t := r.expr(line, s.Tolerance)
	if t == nil || !r.truthless(line, t) {
		return false
	}
	if t.Type.Dim != c.Left.Type.Dim {
		r.mismatch(line, at, c.Left, t, "the tolerance of %s is given as %s", c.Left.Type.describe(), t.Type.describe())
		return false
	}
	if t.Type.Kind == Point {
		r.fail(line, CodeTolerance, at, "a tolerance is a difference, and this is a point on a scale").hint("give it in K")
		return false
	}
	c.Tolerance = t
	return true
}

func unitTail(u units.Unit) string {
	if u.IsNone() {
		return ""
	}
	return " " + plainDifference(u)
}

func plainDifference(u units.Unit) string {
	if u.String() == "°C" {
		return "K"
	}
	return u.Difference().String()
}

func (r *resolver) solve(line *Line, s *lang.Solve) {
	line.Kind = Solve
	r.nesting++
	defer func() { r.nesting-- }()
	if r.nesting > maxUses {
		r.fail(line, CodeNesting, s.Loc, "solves are nested deeper than %d", maxUses)
		return
	}
	starts := s.From
	if s.Between != nil {
		starts = []lang.Expr{s.Between.Lo}
	}
	for i, n := range s.Names {
		if i >= len(starts) {
			r.defineBad(line, n)
			continue
		}
		x := r.expr(line, starts[i])
		if x != nil && !r.truthless(line, x) {
			x = nil
		}
		if x == nil {
			r.defineBad(line, n)
			continue
		}
		if s.Between != nil {
			hi := r.expr(line, s.Between.Hi)
			if hi == nil || !r.truthless(line, hi) || !r.comparable(line, x, hi, s.Between.Loc) {
				if hi != nil {
					r.fail(line, CodeDimension, s.Between.Loc, "the two ends of the bracket do not go together")
				}
				r.defineBad(line, n)
				continue
			}
			line.Lo, line.Hi = x, hi
		} else {
			line.From = append(line.From, x)
		}
		ty := Type{Dim: x.Type.Dim, Kind: x.Type.Kind}
		if sym := r.define(line, n, ty, r.unitFor(x)); sym != nil {
			line.Unknowns = append(line.Unknowns, sym)
		}
	}
	outer := r.lines
	r.lines = &line.Body
	for _, b := range s.Body {
		r.stmt(b)
	}
	r.lines = outer
	for _, u := range s.Until {
		line.Untils = append(line.Untils, r.until(line, u))
	}
	r.untilsFit(line, s)
	r.solveFails(line)
	if line.Failed() {
		for _, sym := range line.Defines {
			sym.bad = true
		}
		for _, b := range line.Body {
			if !b.Failed() {
				r.wait(b, line)
			}
		}
	}
}

// untilsFit wants one condition for each unknown, and equalities for several.
func (r *resolver) untilsFit(line *Line, s *lang.Solve) {
	if len(s.Until) != len(s.Names) {
		r.fail(line, CodeArguments, s.Loc, "this solve has %d unknowns and %d conditions", len(s.Names), len(s.Until)).
			hint("write one `until` for each unknown, below the indented lines")
		return
	}
	for _, u := range s.Until {
		if u.Extreme != "" && len(s.Names) > 1 {
			r.fail(line, CodeArguments, u.Loc, "an extreme is sought over one unknown only").
				hint("write until a == b for each of the unknowns")
			return
		}
	}
	if len(s.Names) > 1 && len(s.From) != len(s.Names) {
		r.fail(line, CodeArguments, s.Loc, "%d unknowns need %d starting values", len(s.Names), len(s.Names)).hint("solve (a, b) from (a0, b0)")
	}
}

func (r *resolver) until(line *Line, u *lang.Until) *Line {
	l := &Line{Kind: Until, File: line.File, Block: line.Block, Stmt: u, Extreme: u.Extreme}
	if u.Extreme != "" {
		l.X = r.expr(l, u.X)
		if l.X != nil {
			r.truthless(l, l.X)
		}
		return l
	}
	c, ok := bare(u.X).(*lang.Compare)
	if !ok || len(c.Ops) != 1 || c.Ops[0] != "==" {
		r.fail(l, CodeTruth, u.X.Span(), "a solve ends at an equality or an extreme").
			hint("write until a == b, until a is largest, or until a is smallest")
		return l
	}
	left, right := r.expr(l, c.Operands[0]), r.expr(l, c.Operands[1])
	if left == nil || right == nil || !r.truthless(l, left) || !r.truthless(l, right) || !r.comparable(l, left, right, c.Loc) {
		return l
	}
	l.Compare = &Condition{Op: "==", Left: left, Right: right}
	return l
}

// solveFails carries a failure in the body or an until over to the solve: none of its lines has
// a value without all of them.
func (r *resolver) solveFails(line *Line) {
	if line.Problem != nil {
		return
	}
	for _, l := range append(append([]*Line{}, line.Body...), line.Untils...) {
		switch {
		case l.Problem != nil:
			r.wait(line, l)
		case l.Kind == Check: // a check that waits does not stop the solve
		default:
			for _, w := range l.Waits {
				if w != line {
					r.wait(line, w)
				}
			}
		}
		for _, s := range l.Uses {
			if !inBody(line, s.Line) {
				r.uses(line, s)
			}
		}
	}
}

func inBody(line, l *Line) bool {
	if l == line {
		return true
	}
	for _, b := range line.Body {
		if b == l || inBody(b, l) {
			return true
		}
	}
	return false
}
