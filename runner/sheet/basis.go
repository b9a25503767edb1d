package sheet

import (
	"slices"

	"workings/runner/lang"
	"workings/runner/resolve"
)

// bases says on what the figures of built-in functions in an expression rest, where their names
// leave it open: a heating value is lower or higher, and counted at some temperature.
func bases(x *resolve.Expr) []string {
	var out []string
	var walk func(*resolve.Expr)
	walk = func(x *resolve.Expr) {
		if s := heatingBasis(x); s != "" && !slices.Contains(out, s) {
			out = append(out, s)
		}
		for _, a := range x.Args {
			walk(a)
		}
	}
	if x != nil {
		walk(x)
	}
	return out
}

// heatingBasis is the basis of heating_value(CH4, lower); that of a fuel known by its elements is
// the heating value that the author gave.
func heatingBasis(x *resolve.Expr) string {
	if x.Op != resolve.OpConst && x.Op != resolve.OpFluid {
		return ""
	}
	call, ok := strip(x.Src).(*lang.Call)
	if !ok || call.Of != nil || call.Fn.Text != "heating_value" || len(call.Args) != 2 {
		return ""
	}
	fuel, ok1 := strip(call.Args[0].X).(*lang.Ident)
	which, ok2 := strip(call.Args[1].X).(*lang.Ident)
	if !ok1 || !ok2 {
		return ""
	}
	from := "from heats of formation"
	if x.Fluid != nil && x.Fluid.Kind == resolve.FuelOf {
		from = "from the heating value given with it"
	}
	return which.Name.Text + " heating value of " + fuel.Name.Text + " per kg, reactants and products at 25 °C, " + from
}

// basis writes them beside a line.
func (p *page) basis(x *resolve.Expr) {
	for _, s := range bases(x) {
		p.raw(` <span class="tx quiet">`)
		p.text(s)
		p.raw("</span>")
	}
}
