package resolve

import (
	"fmt"
	"strings"

	"workings/runner/diag"
	"workings/runner/lang"
	"workings/units"
)

// sideText is one operand for a message: "p1 is a pressure (kPa)".
func (r *resolver) sideText(x *Expr) string {
	text := lang.FormatExpr(x.Src)
	if len([]rune(text)) > 40 {
		text = string([]rune(text)[:39]) + "…"
	}
	unit := r.unitFor(x)
	if unit.IsNone() {
		return fmt.Sprintf("%s is %s", text, x.Type.describe())
	}
	return fmt.Sprintf("%s is %s in %s", text, x.Type.describe(), unit)
}

// mismatch reports two sides of different dimension.
func (r *resolver) mismatch(line *Line, at diag.Span, a, b *Expr, format string, args ...any) {
	code := CodeDimension
	if a.Type.Bool != b.Type.Bool {
		code = CodeTruth
	}
	r.fail(line, code, at, format, args...).
		label("%s; %s", r.sideText(a), r.sideText(b)).
		hint("%s", r.dimensionHint(a, b))
}

// dimensionHint says what usually joins two dimensions.
func (r *resolver) dimensionHint(a, b *Expr) string {
	molar := map[units.Dimension]units.Dimension{
		units.DimEnergyPerAmount():  units.DimEnergyPerMass(),
		units.DimEntropyPerAmount(): units.DimEntropyPerMass(),
		units.DimAmount():           units.DimMass(),
		units.DimMolarFlow():        units.DimMassFlow(),
	}
	x, y := a.Type.Dim, b.Type.Dim
	if molar[x] == y && !y.IsNone() || molar[y] == x && !x.IsNone() {
		return "one side counts per mole, the other per mass: a molar mass (M_g of a fluid g) turns one into the other"
	}
	if x.Mul(units.DimMassFlow()) == y || y.Mul(units.DimMassFlow()) == x {
		return "one side is per unit mass, the other a rate: a mass flow turns one into the other"
	}
	if x.IsNone() && a.Op == OpConst && !a.HasU {
		return fmt.Sprintf("does %s lack its unit?", lang.FormatExpr(a.Src))
	}
	if y.IsNone() && b.Op == OpConst && !b.HasU {
		return fmt.Sprintf("does %s lack its unit?", lang.FormatExpr(b.Src))
	}
	return fmt.Sprintf("the dimensions are %s and %s; check the symbols and the brackets", x, y)
}

// datumFault reports enthalpies that count from different zeros.
func (r *resolver) datumFault(line *Line, at diag.Span, datum, format string, args ...any) {
	f := r.fail(line, CodeDatum, at, format, args...)
	if strings.HasPrefix(datum, "the zero of ") {
		f.hint("a perfect gas counts from a zero of its own: take differences within one fluid, or one fluid for both states")
		return
	}
	if strings.Contains(datum, "triple point") {
		f.hint("water counts from its triple point and no gas does: take differences within each fluid, and add those")
		return
	}
	f.hint("take differences within one fluid, or give both fluids one datum, as in `fluid g = air(datum = formation)`; a value counted from %s balances only against another", datum)
}

func usualUnit(u units.Unit) string {
	if u.IsNone() {
		return "leave the unit out, or write `in %`"
	}
	return "it is usually shown in " + u.String()
}

// preferred is the unit of the printed preference list for a type.
func (r *resolver) preferred(t Type) units.Unit {
	if t.Bool {
		return units.Unit{}
	}
	if u, ok := units.Preferred(t.Dim, r.sheet.System); ok {
		return u
	}
	return units.SIUnit(t.Dim)
}

// unitFor is the unit in which an expression's value is shown.
func (r *resolver) unitFor(x *Expr) units.Unit {
	if x.HasU && x.Unit.Dimension() == x.Type.Dim {
		if x.Type.Kind != Difference || x.Unit.Kind() != units.Point {
			return x.Unit
		}
	}
	return r.preferred(x.Type)
}

// shownIn checks the unit after `in` against what it is to show.
func (r *resolver) shownIn(line *Line, t *lang.UnitText, ty Type, otherwise units.Unit) (units.Unit, bool) {
	if t == nil {
		return otherwise, true
	}
	u, ok := r.unit(line, t)
	if !ok {
		return otherwise, false
	}
	switch {
	case ty.Bool:
		r.fail(line, CodeTruth, t.Loc, "true or false has no unit").hint("leave out `in %s`", t.Text)
		return otherwise, false
	case u.Dimension() != ty.Dim:
		what := u.Dimension().Name()
		if what == "" {
			what = u.Dimension().String()
		}
		r.fail(line, CodeDimension, t.Loc, "%s cannot be shown in %s", ty.describe(), t.Text).
			label("%s is a unit of %s", t.Text, what).hint("%s", usualUnit(r.preferred(ty)))
		return otherwise, false
	case u.IsRelative():
		r.fail(line, CodeUnit, t.Loc, "%%rel belongs after ± only").hint("write `in %%`")
		return otherwise, false
	case ty.Kind == Difference && u.Kind() == units.Point:
		r.fail(line, CodeTemperature, t.Loc, "a temperature difference is never shown in %s", u).
			hint("write `in K` or `in %s`", u.Difference())
		return otherwise, false
	case ty.Kind == Point && u.Kind() == units.Difference:
		r.fail(line, CodeTemperature, t.Loc, "a temperature is no difference and is not shown in %s", u).hint("write `in K` or `in °C`")
		return otherwise, false
	}
	return u, true
}
