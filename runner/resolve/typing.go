package resolve

import (
	"errors"
	"strings"

	"workings/runner/diag"
	"workings/runner/lang"
	"workings/units"
)

// expr types an expression. It returns nil where that failed: the line then has a problem, or
// waits for another.
func (r *resolver) expr(line *Line, e lang.Expr) *Expr {
	if r.depth++; r.depth > maxDepth {
		r.depth--
		r.fail(line, CodeNesting, e.Span(), "this is nested deeper than %d", maxDepth).hint("split it into several lines")
		return nil
	}
	defer func() { r.depth-- }()
	switch e := e.(type) {
	case *lang.Number:
		return r.number(line, e)
	case *lang.Paren:
		x := r.expr(line, e.X)
		if x == nil {
			return nil
		}
		y := *x // the brackets are in the source tree only
		y.Src = e
		return &y
	case *lang.Ident:
		return r.ident(line, e)
	case *lang.Unary:
		return r.unary(line, e)
	case *lang.Binary:
		return r.binary(line, e)
	case *lang.Compare:
		return r.compare(line, e)
	case *lang.Cond:
		return r.cond(line, e)
	case *lang.Call:
		return r.callExpr(line, e)
	case *lang.StateRef:
		r.fail(line, CodeArguments, e.Loc, "a state is no number").
			hint("write one of its properties, such as h_%s; whole states are passed to methods", e.ID.Text)
	}
	return nil
}

// maxDepth bounds recursion over a tree. A sum of n terms is a tree n deep.
const maxDepth = 25_000

// truthless reports a truth value where a number is needed.
func (r *resolver) truthless(line *Line, x *Expr) bool {
	if x.Type.Bool {
		r.fail(line, CodeTruth, x.Src.Span(), "this is true or false, not a number").
			hint("use it as a condition: condition ? a : b")
		return false
	}
	return true
}

func (r *resolver) truth(line *Line, x *Expr) bool {
	if !x.Type.Bool {
		r.fail(line, CodeTruth, x.Src.Span(), "a condition is needed here, and this is %s", x.Type.describe()).
			hint("compare it with something: a < b, a == b")
		return false
	}
	return true
}

// unit looks up a unit as typed.
func (r *resolver) unit(line *Line, t *lang.UnitText) (units.Unit, bool) {
	u, err := units.Parse(t.Text)
	if err == nil {
		if u.Kind() == units.Gauge && !r.hasAmbient {
			r.fail(line, CodeAmbient, t.Loc, "%s counts from the ambient pressure, which this sheet does not state", t.Text).
				hint("add `ambient: 101.325 kPa` (your site's value) to the front matter, or give the absolute pressure")
			return u, false
		}
		return u, true
	}
	var pe *units.ParseError
	span := t.Loc
	if errors.As(err, &pe) {
		if pe.Len > 0 && t.Loc.Start+pe.Offset+pe.Len <= t.Loc.End {
			span = diag.Span{Start: t.Loc.Start + pe.Offset, End: t.Loc.Start + pe.Offset + pe.Len}
		}
		f := r.fail(line, CodeUnit, span, "%s is no unit: %s", t.Text, pe.Reason)
		switch {
		case len(pe.Readings) > 0:
			f.hint("write %s", orList(pe.Readings))
		case len(pe.Near) > 0:
			f.hint("did you mean %s?", orList(pe.Near))
		default:
			f.hint("`workings units` lists the units; a product of symbols needs spaces around its operators")
		}
		return u, false
	}
	r.fail(line, CodeUnit, span, "%s is no unit: %s", t.Text, err)
	return u, false
}

func (r *resolver) number(line *Line, n *lang.Number) *Expr {
	x := r.shared.newExprs.add(Expr{Op: OpConst, Value: n.Value, Src: n})
	if n.Unit == nil {
		return x
	}
	u, ok := r.unit(line, n.Unit)
	if !ok {
		return nil
	}
	if u.IsRelative() {
		r.fail(line, CodeUnit, n.Unit.Loc, "%%rel is a share of the value it stands beside, not a quantity").
			hint("write %% here; %%rel belongs after ± only")
		return nil
	}
	x.Value = u.ToSI(n.Value, r.sheet.Ambient)
	x.Unit, x.HasU = u, true
	x.Type = Type{Dim: u.Dimension(), Kind: scaleOf(u)}
	if u.Kind() == units.Point && x.Value < 0 {
		r.fail(line, CodeTemperature, n.Loc, "%s %s is below absolute zero", n.Text, n.Unit.Text)
		return nil
	}
	r.unitOrSymbol(line, n)
	return x
}

func scaleOf(u units.Unit) Scale {
	switch u.Kind() {
	case units.Point, units.Gauge:
		return Point
	case units.Difference:
		return Difference
	}
	return Plain
}

// unitOrSymbol cautions where a symbol of the sheet has the name of part of a unit: 5 m/s beside
// a symbol s.
func (r *resolver) unitOrSymbol(line *Line, n *lang.Number) {
	words := strings.FieldsFunc(n.Unit.Text, func(c rune) bool { return strings.ContainsRune("/*·() ^", c) })
	if len(words) < 2 || r.scope.local {
		return
	}
	for _, w := range words[1:] {
		key := lang.Name{Text: w}.Key()
		if _, ahead := r.scope.ahead.find(key); r.scope.symbols[key] != nil || ahead {
			r.caution(line, CodeUnitOrSymbol, n.Unit.Loc, "%s was read as a unit, and the sheet has a symbol %s", n.Unit.Text, w).
				hint("with spaces around the operator it would be the symbol; settle this with accept unit-or-symbol on %s", w).about(w)
			return
		}
	}
}

func (r *resolver) ident(line *Line, e *lang.Ident) *Expr {
	if e.Of != nil {
		return r.member(line, e)
	}
	if c, ok := constantNamed(e.Name.Key()); ok {
		return &Expr{Op: OpConst, Value: c.Value, Type: Type{Dim: c.Unit.Dimension()}, Unit: c.Unit, HasU: false, Src: e}
	}
	s := r.lookup(line, e.Name)
	if s == nil {
		return nil
	}
	return r.refTo(s, e)
}

func (r *resolver) refTo(s *Symbol, src lang.Expr) *Expr {
	return r.shared.newExprs.add(Expr{Op: OpRef, Sym: s, Type: s.Type, Unit: s.Unit, HasU: !s.Type.Bool, Src: src})
}

// member is gt.eta_th: a symbol of a used sheet, or a total of a cycle.
func (r *resolver) member(line *Line, e *lang.Ident) *Expr {
	s := r.memberOf(line, *e.Of, e.Name)
	if s == nil {
		return nil
	}
	return r.refTo(s, e)
}

func (r *resolver) unary(line *Line, e *lang.Unary) *Expr {
	x := r.expr(line, e.X)
	if x == nil {
		return nil
	}
	if e.Op == "not" {
		if !r.truth(line, x) {
			return nil
		}
		return &Expr{Op: OpNot, Args: []*Expr{x}, Type: x.Type, Src: e}
	}
	if !r.truthless(line, x) {
		return nil
	}
	if e.Op == "+" {
		y := *x
		y.Src = e
		return &y
	}
	if isPointLiteral(x) {
		// −40 °C is a sign and a literal: the point at minus forty, not minus the point at forty.
		n := bare(x.Src).(*lang.Number)
		if _, brackets := e.X.(*lang.Paren); !brackets {
			v := x.Unit.ToSI(-n.Value, r.sheet.Ambient)
			if v < 0 {
				r.fail(line, CodeTemperature, e.Loc, "-%s %s is below %s", n.Text, n.Unit.Text, zeroOf(x.Type))
				return nil
			}
			return &Expr{Op: OpConst, Value: v, Type: x.Type, Unit: x.Unit, HasU: true, Src: e}
		}
	}
	if x.Type.Kind == Point {
		r.pointFault(line, x, e.Loc, "the negative of %s means nothing", pointName(x.Type))
		return nil
	}
	y := &Expr{Op: OpNeg, Args: []*Expr{x}, Type: x.Type, Unit: x.Unit, HasU: x.HasU, Src: e}
	y.Type.Datum = Datum(nil).add(x.Type.Datum, -1)
	return y
}

func zeroOf(t Type) string {
	if t.IsTemperature() {
		return "absolute zero"
	}
	return "vacuum"
}

func pointName(t Type) string {
	if t.IsTemperature() {
		return "a temperature in °C or °F"
	}
	return "a gauge pressure"
}

// pointFault reports a point on a scale where the scale's zero would falsify the result.
func (r *resolver) pointFault(line *Line, x *Expr, at diag.Span, format string, args ...any) {
	code := CodeTemperature
	if !x.Type.IsTemperature() {
		code = CodeGauge
	}
	f := r.fail(line, code, at, format, args...)
	if n, ok := bare(x.Src).(*lang.Number); ok && x.Type.IsTemperature() {
		f.hint("write it in kelvin: %s K", trimNumber(x.Value))
		_ = n
	} else if ok {
		f.hint("write the absolute pressure: %s kPa", trimNumber(x.Value/1000))
	}
}

func isPointLiteral(x *Expr) bool {
	if x.Type.Kind != Point {
		return false
	}
	_, ok := bare(x.Src).(*lang.Number)
	return ok
}

// bare strips the author's brackets.
func bare(e lang.Expr) lang.Expr {
	for {
		p, ok := e.(*lang.Paren)
		if !ok {
			return e
		}
		e = p.X
	}
}

func (r *resolver) cond(line *Line, e *lang.Cond) *Expr {
	c, a, b := r.expr(line, e.If), r.expr(line, e.Then), r.expr(line, e.Else)
	if c == nil || a == nil || b == nil || !r.truth(line, c) {
		return nil
	}
	if a.Type.Bool != b.Type.Bool || a.Type.Dim != b.Type.Dim {
		r.mismatch(line, e.Loc, a, b, "the two outcomes of a condition must be of one dimension")
		return nil
	}
	if !r.sameScale(line, a, b, e.Loc) {
		return nil
	}
	y := &Expr{Op: OpCond, Args: []*Expr{c, a, b}, Type: a.Type, Src: e}
	y.Type.Kind = joinScale(a.Type.Kind, b.Type.Kind)
	if d := a.Type.Datum.other(b.Type.Datum); d != "" {
		r.datumFault(line, e.Loc, d, "the two outcomes count from different zeros")
		return nil
	}
	y.Unit, y.HasU = commonUnit(a, b)
	return y
}
