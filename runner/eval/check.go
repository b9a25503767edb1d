package eval

import (
	"math"

	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/units"
)

// checkValues are what a check came to, in SI.
type checkValues struct {
	holds        bool
	left, right  float64
	lo, hi       float64
	hasLo, hasHi bool
	margin       float64
}

// defaultTolerance is the relative tolerance of == where the author gives none: room for
// rounding in the last digits, and for nothing else.
const defaultTolerance = 1e-9

func (m *machine) check(st *step) *fault {
	l := st.line
	c := l.Compare
	v := &m.out(st).check
	if c.Left == nil {
		x, f := m.value(st.x)
		v.holds = x != 0
		return f
	}
	var f *fault
	if v.left, f = m.value(st.left); f != nil {
		return f
	}
	if c.Op == "within" {
		if v.lo, f = m.value(st.lo); f != nil {
			return f
		}
		if v.hi, f = m.value(st.hi); f != nil {
			return f
		}
		if v.lo > v.hi {
			return &fault{code: CodeLimits, span: st.line.Stmt.(*lang.Check).Between.Loc, msg: "this range runs downwards and holds nothing", hint: "write the lower end first"}
		}
		v.hasLo, v.hasHi = true, true
		v.margin = math.Min(v.left-v.lo, v.hi-v.left)
		v.holds = v.left >= v.lo && v.left <= v.hi
		return nil
	}
	if v.right, f = m.value(st.right); f != nil {
		return f
	}
	switch c.Op {
	case "<", "<=":
		v.hi, v.hasHi, v.margin = v.right, true, v.right-v.left
		v.holds = v.margin > 0 || c.Op == "<=" && v.margin == 0
	case ">", ">=":
		v.lo, v.hasLo, v.margin = v.right, true, v.left-v.right
		v.holds = v.margin > 0 || c.Op == ">=" && v.margin == 0
	case "!=":
		v.holds, v.margin = v.left != v.right, math.Abs(v.left-v.right)
	default:
		return m.equality(st, v)
	}
	return nil
}

func (m *machine) equality(st *step, v *checkValues) *fault {
	c := st.line.Compare
	tol := defaultTolerance * math.Max(math.Abs(v.left), math.Abs(v.right))
	if st.tolerance != nil {
		t, f := m.value(st.tolerance)
		if f != nil {
			return f
		}
		if c.Relative {
			if v.right == 0 {
				return &fault{code: CodeTolerance, span: st.line.Stmt.(*lang.Check).Tolerance.Span(), msg: "the right side is zero, and a share of zero is zero",
					hint: "give the tolerance as a quantity"}
			}
			t *= math.Abs(v.right)
		}
		if t < 0 {
			return &fault{code: CodeTolerance, span: st.line.Stmt.(*lang.Check).Tolerance.Span(), msg: "a tolerance is not negative", hint: "leave out the sign"}
		}
		tol = t
	}
	v.lo, v.hi, v.hasLo, v.hasHi = v.right-tol, v.right+tol, true, true
	off := math.Abs(v.left - v.right)
	v.margin = tol - off
	v.holds = off <= tol
	return nil
}

// checkDetail shows a check's values in the units of its sides.
func (b *builder) checkDetail(st *step, e *Entry) *CheckDetail {
	s := st.line.Stmt.(*lang.Check)
	d := &CheckDetail{Caution: s.Caution, Text: checkText(s), Verdict: Waits}
	if e.Status != Done {
		return d
	}
	c, v := st.line.Compare, b.m.out(st).check
	d.Verdict = Fails
	if v.holds {
		d.Verdict = Holds
	}
	if c.Left == nil {
		return d
	}
	d.Plain, d.Op = true, c.Op
	show := func(si float64) Value { return show(si, c.Unit, c.Left.Type, b.ambient) }
	d.Left = show(v.left)
	if c.Right != nil {
		d.Right = show(v.right)
	}
	d.HasLo, d.HasHi = v.hasLo, v.hasHi
	d.Lo, d.Hi = show(v.lo), show(v.hi)
	d.Margin = b.trace.show(v.margin, marginUnit(c), resolve.Type{})
	return d
}

// marginUnit is the unit of a difference of two values shown in the check's unit.
func marginUnit(c *resolve.Condition) units.Unit {
	return differenceOf(c.Unit, true)
}

func checkText(s *lang.Check) string {
	t := lang.FormatExpr(s.X)
	switch {
	case s.Between != nil:
		t += " within " + lang.FormatExpr(s.Between.Lo) + " .. " + lang.FormatExpr(s.Between.Hi)
	case s.Tolerance != nil:
		t += " within " + lang.FormatExpr(s.Tolerance)
	}
	return t
}
