package resolve

import (
	"sync"

	"workings/propsdb"
	"workings/runner/lang"
)

// builtins and constantsByKey are built once and never written again.
var builtins = sync.OnceValue(Functions)

var constantsByKey = sync.OnceValue(func() map[string]Constant {
	m := map[string]Constant{}
	for _, c := range Constants() {
		m[lang.Name{Text: c.Name}.Key()] = c
	}
	return m
})

func (r *resolver) unknownFunction(line *Line, e *lang.Call) {
	name := e.Fn.Text
	if m := r.scope.methods[name]; m != nil {
		r.fail(line, CodeArguments, e.Loc, "%s is a method and stands on a line of its own", name).
			hint("write its outputs first: %s", signature(m))
		return
	}
	if r.scope.fluids[name] != nil {
		r.fail(line, CodeArguments, e.Loc, "%s is a fluid and gives a state, not a number", name).
			hint("write `state 1 = %s(…)` and then read h_1, T_1, …", name)
		return
	}
	if l := r.scope.bad["space "+name]; l != nil {
		r.wait(line, l)
		return
	}
	if d := r.scope.data[name]; d != nil && len(d.Columns) > 1 {
		r.fail(line, CodeArguments, e.Loc, "%s is a data table with several columns", name).
			hint("say which is read: %s.%s(%s = …)", name, d.Columns[1].Name, d.Columns[0].Name)
		return
	}
	if r.comesLater(line, e.Fn, "the method") {
		return
	}
	if s := r.scope.symbols[e.Fn.Key()]; s != nil {
		r.fail(line, CodeArguments, e.Fn.Loc, "%s is a symbol, not a function", name).
			hint("a product is written with *: %s*(…)", name)
		return
	}
	names := append([]string{"integrate", "smallest", "largest", "heating_value"}, sortedKeys(fluidFunctions())...)
	for _, f := range builtins() {
		names = append(names, f.Name)
	}
	p := r.fail(line, CodeUnknownName, e.Fn.Loc, "no function is called %s", name)
	if name == "log" {
		p.hint("write ln for the natural logarithm or log10 for base 10")
	} else if near := r.near(name, names); len(near) > 0 {
		p.hint("did you mean %s?", orList(near))
	} else {
		p.hint("the functions are sqrt, exp, ln, log10, sin, cos, tan, asin, acos, atan, sinh, cosh, tanh, abs, min, max, mean, sum, integrate, smallest, largest and heating_value")
	}
}

// overInterval is integrate(expr, x, a, b), the integral of expr over x from a to b, or smallest
// and largest, its least and greatest value there. x is a name of its own, known only inside.
func (r *resolver) overInterval(line *Line, e *lang.Call, op Op) *Expr {
	example := "for example " + e.Fn.Text + "(x^2, x, 0, 3)"
	if len(e.Args) != 4 {
		r.fail(line, CodeArguments, e.Loc, "%s takes an expression, its variable and two limits, and this gives %d arguments", e.Fn.Text, len(e.Args)).hint("%s", example)
		return nil
	}
	id, ok := e.Args[1].X.(*lang.Ident)
	if !ok || id.Of != nil {
		r.fail(line, CodeArguments, e.Args[1].Loc, "the second argument names the variable of `%s`", e.Fn.Text).hint("%s", example)
		return nil
	}
	key := id.Name.Key()
	if old := r.scope.symbols[key]; old != nil {
		r.fail(line, CodeTwice, id.Loc, "%s is a symbol of the sheet and cannot be the variable of `%s` too", id.Name.Text, e.Fn.Text).
			related(old.Line.File, old.Span, "defined here").hint("choose another letter for the variable")
		return nil
	}
	lo, hi := r.expr(line, e.Args[2].X), r.expr(line, e.Args[3].X)
	if lo == nil || hi == nil || !r.truthless(line, lo) || !r.truthless(line, hi) || !r.comparable(line, lo, hi, e.Loc) {
		return nil
	}
	v := &Symbol{Name: id.Name.Text, Sheet: r.sheet.Name, Type: Type{Dim: lo.Type.Dim}, Unit: r.preferred(Type{Dim: lo.Type.Dim}), Span: id.Loc, Line: line, Local: true}
	v.Reg = r.shared.registers
	r.shared.registers++
	r.scope.symbols[key] = v
	f := r.expr(line, e.Args[0].X)
	delete(r.scope.symbols, key)
	if f == nil || !r.truthless(line, f) {
		return nil
	}
	if op != OpIntegrate {
		return &Expr{Op: op, Args: []*Expr{f, lo, hi}, Sym: v, Type: f.Type, Unit: f.Unit, HasU: f.HasU, Src: e}
	}
	if f.Type.Kind == Point {
		r.pointFault(line, f, f.Src.Span(), "%s cannot be integrated", pointName(f.Type))
		return nil
	}
	return &Expr{Op: OpIntegrate, Args: []*Expr{f, lo, hi}, Sym: v, Type: Type{Dim: f.Type.Dim.Mul(lo.Type.Dim)}, Src: e}
}

// heatingValue is heating_value(CH4, lower): a figure of the database, per kg of fuel at 25 °C.
func (r *resolver) heatingValue(line *Line, e *lang.Call) *Expr {
	example := "for example heating_value(CH4, lower): per kg of fuel, reactants and products at 25 °C"
	if len(e.Args) != 2 {
		r.fail(line, CodeArguments, e.Loc, "heating_value takes a fuel and `lower` or `higher`").hint("%s", example)
		return nil
	}
	gas, ok1 := e.Args[0].X.(*lang.Ident)
	which, ok2 := e.Args[1].X.(*lang.Ident)
	if !ok1 || !ok2 || which.Name.Text != "lower" && which.Name.Text != "higher" {
		r.fail(line, CodeArguments, e.Loc, "heating_value takes a fuel and `lower` or `higher`").hint("%s", example)
		return nil
	}
	fuel := r.fuelNamed(line, gas)
	if fuel == nil {
		return nil
	}
	u := mustUnit("kJ/kg")
	out := &Expr{Type: Type{Dim: u.Dimension()}, Unit: u, HasU: true, Src: e}
	if fuel.Fluid != nil {
		out.Op, out.Fluid, out.FluidFn = OpFluid, fuel.Fluid, HigherHeatingValue
		if which.Name.Text == "lower" {
			out.FluidFn = LowerHeatingValue
		}
		return out
	}
	v, err := propsdb.HeatingValue(gas.Name.Text, which.Name.Text == "lower")
	if err != nil {
		r.fail(line, CodeFluid, gas.Loc, "%s", err)
		return nil
	}
	out.Op, out.Value = OpConst, v
	return out
}
