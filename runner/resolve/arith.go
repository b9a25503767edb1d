package resolve

import (
	"math"
	"strconv"

	"workings/runner/diag"
	"workings/runner/lang"
	"workings/units"
)

func (r *resolver) binary(line *Line, e *lang.Binary) *Expr {
	// Datums are settled once for a whole chain of + and −, at its top.
	top := !r.inChain
	chain := isSum(e)
	r.inChain = chain && isSum(bare(e.X))
	x := r.expr(line, e.X)
	r.inChain = chain && isSum(bare(e.Y))
	y := r.expr(line, e.Y)
	r.inChain = false
	if x == nil || y == nil {
		return nil
	}
	if e.Op == "and" || e.Op == "or" {
		okx, oky := r.truth(line, x), r.truth(line, y)
		if !okx || !oky {
			return nil
		}
		op := OpAnd
		if e.Op == "or" {
			op = OpOr
		}
		return &Expr{Op: op, Args: []*Expr{x, y}, Type: Type{Bool: true}, Src: e}
	}
	okx, oky := r.truthless(line, x), r.truthless(line, y)
	if !okx || !oky {
		return nil
	}
	switch e.Op {
	case "+", "-":
		out := r.sum(line, e, x, y)
		if out == nil || !top {
			return out
		}
		datum, lone := out.Type.Datum.settle()
		if lone != "" {
			r.datumFault(line, e.Loc, lone, "this subtracts an absolute value counted from %s, and nothing that is added counts from there", lone)
			return nil
		}
		out.Type.Datum = datum
		return out
	case "*", "/":
		return r.product(line, e, x, y)
	}
	return r.power(line, e, x, y)
}

// sum types x + y and x − y.
func (r *resolver) sum(line *Line, e *lang.Binary, x, y *Expr) *Expr {
	if x.Type.Dim != y.Type.Dim {
		verb := "added to"
		a, b := y, x
		if e.Op == "-" {
			verb = "subtracted from"
		}
		r.fail(line, CodeDimension, e.Loc, "%s cannot be %s %s", a.Type.describe(), verb, b.Type.describe()).
			label("%s; %s", r.sideText(x), r.sideText(y)).
			hint("%s", r.dimensionHint(x, y))
		return nil
	}
	kind, ok := r.sumScale(line, e, x, y)
	if !ok {
		return nil
	}
	out := r.shared.newExprs.add(Expr{Op: OpAdd, Args: []*Expr{x, y}, Type: Type{Dim: x.Type.Dim, Kind: kind}, Src: e})
	sign := 1
	if e.Op == "-" {
		out.Op, sign = OpSub, -1
	}
	out.Type.Datum = x.Type.Datum.add(y.Type.Datum, sign)
	if kind == Difference || kind == Plain && (x.Type.Kind == Point || y.Type.Kind == Point) {
		out.Unit, out.HasU = differenceUnit(x, y)
	} else if kind == Point {
		out.Unit, out.HasU = x.Unit, x.HasU
	} else {
		out.Unit, out.HasU = commonUnit(x, y)
	}
	return out
}

func isSum(e lang.Expr) bool {
	b, ok := e.(*lang.Binary)
	return ok && (b.Op == "+" || b.Op == "-")
}

// sumScale applies the rules of points and differences to a sum.
func (r *resolver) sumScale(line *Line, e *lang.Binary, x, y *Expr) (Scale, bool) {
	a, b := x.Type.Kind, y.Type.Kind
	temp := x.Type.IsTemperature()
	if b == Point && (y.Op == OpMul || y.Op == OpDiv) {
		// Arithmetic runs in kelvin: x*T1 + (1 - x)*T2 and dT - T1*ln(r) are right as they
		// stand, and only a bare point may have been meant as a difference.
		b = Plain
	}
	if e.Op == "+" {
		if b == Point {
			r.addedPoint(line, e, x, y)
			return 0, false
		}
		if a == Difference && b == Plain {
			return Plain, true
		}
		return a, true // point + anything is a point, kelvin + difference kelvin
	}
	switch {
	case b == Point && a == Difference:
		r.pointFault(line, y, e.Y.Span(), "%s cannot be subtracted from a difference", pointName(y.Type))
		return 0, false
	case a == Point && b == Point:
		if temp {
			return Difference, true
		}
		return Plain, true
	case b == Point: // kelvin − point
		if temp {
			return Difference, true
		}
		return Plain, true
	case a == Point: // point − kelvin may be either: nothing it may do later is ruled out
		if b == Difference {
			return Point, true
		}
		if _, lit := bare(y.Src).(*lang.Number); lit {
			return Point, true
		}
		return Plain, true
	case a == Plain && b == Plain && temp:
		if _, lit := bare(y.Src).(*lang.Number); lit {
			return Plain, true // T_4 - 10 K is still a temperature
		}
		return Difference, true
	}
	return a, true // kelvin − difference, difference − difference, difference − kelvin
}

func (r *resolver) addedPoint(line *Line, e *lang.Binary, x, y *Expr) {
	if !y.Type.IsTemperature() {
		r.fail(line, CodeGauge, e.Y.Span(), "a gauge pressure is added, which adds the ambient pressure with it").
			hint("a pressure difference is written without the g: kPa, bar, psi")
		return
	}
	f := r.fail(line, CodeTemperature, e.Y.Span(), "a temperature in °C or °F is a point on a scale and cannot be added")
	if n, ok := bare(y.Src).(*lang.Number); ok {
		d := y.Unit.Difference()
		kelvin := ""
		if y.Unit.String() == "°C" {
			kelvin = n.Text + " K or "
		}
		f.hint("a difference is written %s%s %s", kelvin, n.Text, d)
		return
	}
	if x.Type.Kind != Point {
		f.hint("where %s is meant as a difference, define it in K or %s; a temperature stands first: %s + %s", lang.FormatExpr(y.Src), y.Unit.Difference(), lang.FormatExpr(y.Src), lang.FormatExpr(x.Src))
		return
	}
	if x.Op == OpRef && y.Op == OpRef && x.Type.Kind == y.Type.Kind {
		f.hint("the middle of two temperatures is mean(%s, %s); if %s is meant as a difference, define it in K or %s", lang.FormatExpr(x.Src), lang.FormatExpr(y.Src), lang.FormatExpr(y.Src), y.Unit.Difference())
		return
	}
	f.hint("%s was read in %s and is a temperature, not a difference; define it in K or %s", lang.FormatExpr(y.Src), y.Unit, y.Unit.Difference())
}

// product types x·y and x/y.
func (r *resolver) product(line *Line, e *lang.Binary, x, y *Expr) *Expr {
	for _, z := range []*Expr{x, y} {
		if isPointLiteral(z) {
			r.pointFault(line, z, z.Src.Span(), "%s in a product or quotient counts from an arbitrary zero", pointName(z.Type))
			return nil
		}
	}
	r.divisorOrSymbol(line, e, x, y)
	out := r.shared.newExprs.add(Expr{Op: OpMul, Args: []*Expr{x, y}, Src: e})
	if e.Op == "/" {
		out.Op = OpDiv
		out.Type.Dim = x.Type.Dim.Div(y.Type.Dim)
	} else {
		out.Type.Dim = x.Type.Dim.Mul(y.Type.Dim)
	}
	if out.Type.Dim.Err() != nil {
		r.fail(line, CodeExponent, e.Loc, "the dimension of this product is beyond any use: %s", out.Type.Dim.Err())
		return nil
	}
	// A product with a pure number keeps the other's kind, unit and zero.
	keep := (*Expr)(nil)
	switch {
	case y.Type.Dim.IsNone():
		keep = x
	case x.Type.Dim.IsNone() && e.Op == "*":
		keep = y
	}
	if x.Type.Datum == nil || y.Type.Datum == nil {
		// A flow, a mass or a molar mass times h still counts from h's zero; T·s does not.
		if whole := x.Type.Datum; whole != nil && extensive(y.Type.Dim) {
			out.Type.Datum = whole.scaled()
		} else if whole := y.Type.Datum; whole != nil && e.Op == "*" && extensive(x.Type.Dim) {
			out.Type.Datum = whole.scaled()
		}
	}
	if keep != nil && !keep.Type.Dim.IsNone() {
		out.Type.Kind = keep.Type.Kind
		out.Unit, out.HasU = keep.Unit, keep.HasU
		if keep.Type.Kind == Point && !keep.Type.IsTemperature() {
			// r·p with p read in barg: an absolute pressure, shown as one.
			out.Type.Kind = Plain
			out.Unit = keep.Unit.Difference()
		}
	}
	return out
}

// extensive factors turn a specific enthalpy into one of a mass, a flow or an amount, or back.
func extensive(d units.Dimension) bool {
	switch d {
	case units.Dimension{}, units.DimMass(), units.DimMassFlow(), units.DimMolarMass(), units.DimAmount(), units.DimMolarFlow(), units.DimTime():
		return true
	}
	return false
}

// divisorOrSymbol cautions at `5 m / s`, which divides by the symbol s.
func (r *resolver) divisorOrSymbol(line *Line, e *lang.Binary, x, y *Expr) {
	n, ok := e.X.(*lang.Number)
	id, ok2 := e.Y.(*lang.Ident)
	if !ok || !ok2 || n.Unit == nil || id.Of != nil || r.scope.local {
		return
	}
	if _, err := units.Parse(n.Unit.Text + e.Op + id.Name.Text); err == nil {
		r.caution(line, CodeUnitOrSymbol, e.Loc, "%s was read as the symbol, not the unit", id.Name.Text).
			hint("as a unit it is written without spaces: %s %s%s%s", n.Text, n.Unit.Text, e.Op, id.Name.Text).about(id.Name.Text)
	}
}

// power types x^y.
func (r *resolver) power(line *Line, e *lang.Binary, x, y *Expr) *Expr {
	for _, z := range []*Expr{x, y} {
		if isPointLiteral(z) {
			r.pointFault(line, z, z.Src.Span(), "%s in a power counts from an arbitrary zero", pointName(z.Type))
			return nil
		}
	}
	if !y.Type.Dim.IsNone() {
		r.fail(line, CodeExponent, y.Src.Span(), "an exponent must be dimensionless, and this is %s", y.Type.describe()).
			label("%s", r.sideText(y)).hint("divide it by a quantity of its own kind first")
		return nil
	}
	out := &Expr{Op: OpPow, Args: []*Expr{x, y}, Src: e}
	if x.Type.Dim.IsNone() {
		return out
	}
	v, ok := constantOf(y)
	if !ok {
		r.fail(line, CodeExponent, y.Src.Span(), "%s can be raised only to a fixed number, since its dimension follows from it", x.Type.describe()).
			hint("make the base dimensionless first, as in (p2/p1)^((k - 1)/k)")
		return nil
	}
	num, den, ok := rational(v)
	if ok {
		d, err := x.Type.Dim.Pow(num, den)
		if err == nil && d.Err() == nil {
			out.Type.Dim = d
			if num == den {
				out.Type.Kind = x.Type.Kind
				out.Unit, out.HasU = x.Unit, x.HasU
			}
			return out
		}
	}
	r.fail(line, CodeExponent, y.Src.Span(), "%s cannot be raised to %s: the dimension would have no simple exponents", x.Type.describe(), trimNumber(v)).
		hint("make the base dimensionless first, as in (p2/p1)^((k - 1)/k)")
	return nil
}

// constantOf is the value of an expression that is literal throughout.
func constantOf(x *Expr) (float64, bool) {
	if x.Op == OpConst {
		return x.Value, true
	}
	var v [2]float64
	if len(x.Args) == 0 || len(x.Args) > 2 {
		return 0, false
	}
	for i, a := range x.Args {
		c, ok := constantOf(a)
		if !ok {
			return 0, false
		}
		v[i] = c
	}
	switch x.Op {
	case OpNeg:
		return -v[0], true
	case OpAdd:
		return v[0] + v[1], true
	case OpSub:
		return v[0] - v[1], true
	case OpMul:
		return v[0] * v[1], true
	case OpDiv:
		return v[0] / v[1], v[1] != 0
	case OpPow:
		p := math.Pow(v[0], v[1])
		return p, !math.IsNaN(p) && !math.IsInf(p, 0)
	}
	return 0, false
}

// rational finds the fraction with a denominator to 12 that a float64 stands for.
func rational(v float64) (num, den int, ok bool) {
	for den = 1; den <= 12; den++ {
		n := math.Round(v * float64(den))
		if math.Abs(n) < 1000 && math.Abs(v*float64(den)-n) < 1e-12*math.Max(1, math.Abs(n)) {
			return int(n), den, true
		}
	}
	return 0, 0, false
}

func (r *resolver) compare(line *Line, e *lang.Compare) *Expr {
	xs := make([]*Expr, len(e.Operands))
	for i, o := range e.Operands {
		xs[i] = r.expr(line, o)
	}
	for _, x := range xs {
		if x == nil || !r.truthless(line, x) {
			return nil
		}
	}
	var all *Expr
	for i, op := range e.Ops {
		c := r.comparison(line, e, op, xs[i], xs[i+1])
		if c == nil {
			return nil
		}
		if all == nil {
			all = c
		} else {
			all = &Expr{Op: OpAnd, Args: []*Expr{all, c}, Type: Type{Bool: true}, Src: e}
		}
	}
	return all
}

func (r *resolver) comparison(line *Line, src lang.Expr, op string, a, b *Expr) *Expr {
	if !r.alike(line, a, b, src.Span(), "cannot be compared with") {
		return nil
	}
	out := &Expr{Args: []*Expr{a, b}, Type: Type{Bool: true}, Src: src}
	switch op {
	case "<", ">":
		out.Op = OpLess
	case "<=", ">=":
		out.Op = OpLessEq
	case "==":
		out.Op = OpEqual
	default:
		out.Op = OpNotEqual
	}
	if op == ">" || op == ">=" {
		out.Args = []*Expr{b, a}
	}
	return out
}

// comparable checks dimension, scale and datum of two values that belong together.
func (r *resolver) comparable(line *Line, a, b *Expr, at diag.Span) bool {
	return r.alike(line, a, b, at, "does not go with")
}

func (r *resolver) alike(line *Line, a, b *Expr, at diag.Span, verb string) bool {
	if a.Type.Dim != b.Type.Dim {
		r.mismatch(line, at, a, b, "%s %s %s", a.Type.describe(), verb, b.Type.describe())
		return false
	}
	if !r.sameScale(line, a, b, at) {
		return false
	}
	if d := a.Type.Datum.other(b.Type.Datum); d != "" && a.Type.Datum != nil && b.Type.Datum != nil {
		r.datumFault(line, at, d, "the two sides count from different zeros")
		return false
	}
	return true
}

// sameScale refuses a difference beside a point.
func (r *resolver) sameScale(line *Line, a, b *Expr, at diag.Span) bool {
	x, y := a, b
	if x.Type.Kind != Difference {
		x, y = y, x
	}
	if x.Type.Kind == Difference && y.Type.Kind == Point {
		f := r.fail(line, CodeTemperature, y.Src.Span(), "a temperature difference stands beside a temperature in °C or °F")
		if n, ok := bare(y.Src).(*lang.Number); ok {
			f.hint("a difference is written %s %s", n.Text, y.Unit.Difference())
		} else {
			f.hint("write differences in K or Δ°C")
		}
		return false
	}
	return true
}

func joinScale(a, b Scale) Scale {
	if a == b {
		return a
	}
	if a == Point || b == Point {
		return Point
	}
	return Plain
}

func commonUnit(a, b *Expr) (units.Unit, bool) {
	switch {
	case a.HasU && b.HasU && a.Unit.Equal(b.Unit):
		return a.Unit, true
	case a.HasU && !b.HasU && b.Op == OpConst && b.Value == 0:
		return a.Unit, true
	case b.HasU && !a.HasU && a.Op == OpConst && a.Value == 0:
		return b.Unit, true
	}
	return units.Unit{}, false
}

// differenceUnit is what a difference of points is shown in: Δ°F for two temperatures in °F, K
// for °C, bar for barg.
func differenceUnit(a, b *Expr) (units.Unit, bool) {
	u, ok := commonUnit(a, b)
	if !ok {
		return u, false
	}
	if u.Kind() == units.Point && u.String() == "°C" {
		return units.SIUnit(units.DimTemperature()), true
	}
	return u.Difference(), true
}

func trimNumber(v float64) string { return strconv.FormatFloat(v, 'g', 8, 64) }
