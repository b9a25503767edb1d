package resolve

import (
	"math"
	"sort"

	"workings/runner/diag"
	"workings/runner/lang"
	"workings/units"
)

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
}

func (r *resolver) input(line *Line, s *lang.Input) {
	line.Kind = Input
	literal := r.literal(line, s.X, "move the line to a `calc` fence")
	var x *Expr
	if literal {
		x = r.expr(line, s.X)
	}
	if x != nil && !r.truthless(line, x) {
		x = nil
	}
	if g := r.given[s.Name.Key()]; g != nil {
		x = r.override(line, s, g, x)
	}
	if x == nil {
		r.defineBad(line, s.Name)
		return
	}
	unit, ok := r.shownIn(line, s.In, x.Type, r.unitFor(x))
	line.X = x
	sym := r.define(line, s.Name, x.Type, unit)
	if sym == nil {
		return
	}
	sym.bad = !ok
	if s.Spread != nil {
		line.Spread = r.spread(line, s, x)
	}
	if s.Between != nil {
		line.Lo, line.Hi = r.limits(line, s.Between, x)
	}
}

// literal refuses an input that reads a symbol.
func (r *resolver) literal(line *Line, e lang.Expr, remedy string) bool {
	ok := true
	lang.Walk(e, func(n lang.Node) bool {
		id, isIdent := n.(*lang.Ident)
		if _, isCall := n.(*lang.Call); isCall {
			return false // its names are a built-in's own business
		}
		if !isIdent {
			return true
		}
		if _, isConst := constantNamed(id.Name.Key()); isConst && id.Of == nil {
			return true
		}
		if ok {
			r.fail(line, CodeInputExpr, id.Loc, "an input is a quantity of its own and reads no symbol").
				hint("%s", remedy)
		}
		ok = false
		return true
	})
	return ok
}

// override puts a value from outside in the place of an input's own.
func (r *resolver) override(line *Line, s *lang.Input, g *given, own *Expr) *Expr {
	g.used = true
	line.Overridden = true
	line.OwnText = lang.FormatExpr(s.X)
	line.XFile = g.file
	x := g.x
	if g.set != nil {
		at := &Line{Kind: BadLine, File: g.set.File, Stmt: &lang.Bad{}}
		if r.literal(at, g.set.X, "give a quantity, such as "+g.name+"=12") {
			x = r.expr(at, g.set.X)
		}
		if x == nil {
			line.Problem = at.Problem
			return nil
		}
	}
	if x == nil {
		return nil
	}
	x.Symbols(func(s *Symbol) { r.uses(line, s) })
	if own != nil && (own.Type.Dim != x.Type.Dim || own.Type.Bool != x.Type.Bool) {
		at, span := &Line{Kind: BadLine, File: g.file, Stmt: &lang.Bad{}}, x.Src.Span()
		f := r.fail(at, CodeOverride, span, "the input %s is %s, and it is given %s", s.Name.Text, own.Type.describe(), x.Type.describe())
		f.hint("give it a unit of the same kind, such as %s", r.unitFor(own))
		line.Problem = at.Problem
		if g.line != nil && g.line.Problem == nil {
			g.line.Problem = at.Problem
		}
		return nil
	}
	return x
}

func (r *resolver) unknownInput(file *diag.File, span diag.Span, name string) {
	var names []string
	for _, s := range r.sheet.Symbols {
		if s.Line != nil && s.Line.Kind == Input && s.Sheet == r.sheet.Name {
			names = append(names, s.Name)
		}
	}
	at := &Line{Kind: BadLine, File: file, Stmt: &lang.Bad{}}
	f := r.fail(at, CodeOverride, span, "the sheet %s has no input called %s", r.sheet.File.Name, name)
	if near := r.near(name, names); len(near) > 0 {
		f.hint("did you mean %s?", orList(near))
	} else if len(names) > 0 {
		f.hint("its inputs are %s", joinList(names))
	} else {
		f.hint("it has no inputs")
	}
}

// spread types the standard uncertainty after ±.
func (r *resolver) spread(line *Line, s *lang.Input, x *Expr) *Expr {
	if n, ok := bare(s.Spread).(*lang.Number); ok && n.Unit != nil {
		u, err := units.Parse(n.Unit.Text)
		if err == nil && u.IsRelative() {
			if k := r.unitFor(x).Kind(); k == units.Point || k == units.Gauge {
				r.shareOfScale(line, s, u.ToSI(n.Value, 0), x)
				return nil
			}
			share := &Expr{Op: OpConst, Value: u.ToSI(n.Value, 0), Unit: u, HasU: true, Src: n}
			return &Expr{Op: OpMul, Args: []*Expr{share, x}, Type: Type{Dim: x.Type.Dim, Kind: Difference}, Unit: r.spreadUnit(x), HasU: true, Src: s.Spread}
		}
	}
	y := r.expr(line, s.Spread)
	if y == nil || !r.truthless(line, y) {
		return nil
	}
	switch {
	case y.Type.Dim != x.Type.Dim:
		r.mismatch(line, s.Spread.Span(), x, y, "the uncertainty of %s is given as %s", x.Type.describe(), y.Type.describe())
		return nil
	case y.Type.Kind == Point:
		r.fail(line, CodeSpread, s.Spread.Span(), "an uncertainty is a difference, and %s is a point on a scale", y.Unit).
			hint("write it in %s", y.Unit.Difference())
		return nil
	}
	if v, ok := constantOf(y); ok && v < 0 {
		r.fail(line, CodeSpread, s.Spread.Span(), "a standard uncertainty is not negative").hint("leave out the sign")
		return nil
	}
	return y
}

// shareOfScale refuses a share of a value on a scale whose zero is not the quantity's: 1 % of 20 °C is 2.9 K
// counted from absolute zero and 0.2 K by what is written.
func (r *resolver) shareOfScale(line *Line, s *lang.Input, share float64, x *Expr) {
	u := r.unitFor(x)
	f := r.fail(line, lang.CodePercent, s.Spread.Span(), "this spread can be read in two ways").label("of what is written in %s, or of the absolute value?", u)
	if v, ok := constantOf(x); ok && (u.Kind() != units.Gauge || r.sheet.Ambient > 0) {
		d, digits := u.Difference(), 3
		f.hint("write ± %s %s for a share of what is written, or ± %s %s for one of the absolute value", units.FormatNumber(math.Abs(share*u.FromSI(v, r.sheet.Ambient)), digits), d,
			units.FormatNumber(math.Abs(d.FromSI(share*v, 0)), digits), d)
		return
	}
	f.hint("give it in %s", u.Difference())
}

func (r *resolver) spreadUnit(x *Expr) units.Unit {
	u := r.unitFor(x)
	if u.Kind() == units.Point || u.Kind() == units.Gauge {
		return u.Difference()
	}
	return u
}

// limits types `within lo .. hi` against x.
func (r *resolver) limits(line *Line, b *lang.Range, x *Expr) (lo, hi *Expr) {
	lo, hi = r.expr(line, b.Lo), r.expr(line, b.Hi)
	for _, e := range []*Expr{lo, hi} {
		if e == nil || !r.truthless(line, e) || !r.comparable(line, x, e, e.Src.Span()) {
			return nil, nil
		}
	}
	return lo, hi
}

func (r *resolver) defineStmt(line *Line, s *lang.Define) {
	if c, ok := bare(s.X).(*lang.Call); ok && c.Of == nil && r.isMethod(c.Fn.Text) {
		r.singleCall(line, s, c)
		return
	}
	line.Kind = Define
	x := r.expr(line, s.X)
	if x == nil {
		r.defineBad(line, s.Name)
		return
	}
	unit, _ := r.shownIn(line, s.In, x.Type, r.unitFor(x))
	line.X = x
	ty := x.Type
	ty.Datum, _ = ty.Datum.settle()
	if s.In != nil && ty.Kind == Plain && unit.Kind() == units.Point && !ty.IsTemperature() {
		ty.Kind = Point
	}
	r.define(line, s.Name, ty, unit)
}

// isMethod: a method with one result may be called like a function, on a line of its own.
func (r *resolver) isMethod(name string) bool {
	return r.scope.methods[name] != nil || r.call != nil && r.scope.local && r.call.Method.Name == name
}

// singleCall is `y = twice(x)` for a method twice.
func (r *resolver) singleCall(line *Line, s *lang.Define, c *lang.Call) {
	call := &lang.CallStmt{At: s.At, Outs: []lang.Out{{At: s.Name.At, Name: s.Name}}, Call: c, In: s.In, Caption: s.Caption}
	line.Stmt = call
	r.callStmt(line, call)
}

// defineBad makes the symbol of a line that failed, so that its readers wait for the line.
func (r *resolver) defineBad(line *Line, n lang.Name) {
	if old := r.scope.symbols[n.Key()]; old != nil {
		r.twice(line, n, old)
		return
	}
	s := &Symbol{Name: n.Text, Sheet: r.sheet.Name, Span: n.Loc, Line: line, Local: r.scope.local, bad: true}
	r.addSymbol(n.Key(), s)
	line.Defines = append(line.Defines, s)
}

func (r *resolver) assume(line *Line, s *lang.Assume) {
	line.Kind = Assume
	for _, a := range r.sheet.Assumed {
		if a.Label == s.Label.Text {
			r.fail(line, CodeTwice, s.Label.Loc, "the assumption %s is stated twice", s.Label.Text).
				related(a.Line.File, a.Stmt.Label.Loc, "first stated here").hint("give one of them another label")
			return
		}
	}
	r.sheet.Assumed = append(r.sheet.Assumed, &Assumption{Label: s.Label.Text, Stmt: s, Line: line, Open: toConfirm(s.Basis.Text)})
}

func joinList(names []string) string {
	out := ""
	for i, n := range names {
		if i > 0 {
			out += ", "
		}
		if i == 12 {
			return out + "…"
		}
		out += n
	}
	return out
}
