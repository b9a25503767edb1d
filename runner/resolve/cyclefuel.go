package resolve

import "workings/runner/lang"

// Where air and fuel become products, the enthalpies on the formation datum say nothing of a heat: an
// adiabatic combustor balances without any. The heat that a fuel sets free is counted as the trade
// counts it, by the lower heating value at 25 °C; a balance of both gives, for a fuel flow m that is
// none of the legs, heat in = Σ m·h out − Σ m·h in + m·(LHV − h of the fuel at 25 °C), on the
// formation datum. A fuel that is a leg brings its own h, and the last term falls away.

// addFuel adds the fuel's part of a component to a sum, or takes it off.
func (t *totalling) addFuel(e lang.Expr, x *Component, sign int) lang.Expr {
	plus, minus := t.fuel(x)
	if plus != nil && x.Fuel == nil {
		t.burns = true
		x.Fuel = t.r.expr(x.Line, plus[0])
		if rest := difference(x.Stmt.Loc, minus, nil); rest != nil && x.Fuel != nil {
			if y := t.r.expr(x.Line, rest); y != nil {
				x.Fuel = &Expr{Op: OpSub, Args: []*Expr{x.Fuel, y}, Type: x.Fuel.Type, Src: plus[0]}
			}
		}
	}
	if sign < 0 {
		plus, minus = minus, plus
	}
	for _, f := range plus {
		e = join(x.Stmt.Loc, e, "+", f)
	}
	for _, f := range minus {
		e = join(x.Stmt.Loc, e, "-", f)
	}
	return e
}

// fuel is what a component adds that changes air and fuel into products, or lets products go for
// air: the heat set free, counted from 25 °C, beyond what the enthalpies on the formation datum
// hold. It withholds the totals where that cannot be known.
func (t *totalling) fuel(x *Component) (plus, minus []lang.Expr) {
	if !x.joins() || x.does() == neither {
		return nil, nil
	}
	legs := append(append([]Leg{}, x.From...), x.To...)
	for _, l := range legs {
		if !l.State.Fluid.OnFormation {
			t.withhold("the %s joins %s and %s, whose enthalpies count from different zeros: give all its fluids datum = formation", x.Title(), x.From[0].State.Fluid.Name, other(x).Name)
			return nil, nil
		}
	}
	if t.c.Flows == NoFlow {
		t.withhold("the %s joins %s and %s, whose flows differ: write `flow EXPR` above the lines of each", x.Title(), x.From[0].State.Fluid.Name, other(x).Name)
		return nil, nil
	}
	products, air := x.To, x.From
	if x.does() == heatOut {
		products, air = x.From, x.To
	}
	if len(products) != 1 || x.does() == workIn || x.does() == workOut {
		t.withhold("the %s joins %s and %s, as only a combustor or a cooler can", x.Title(), x.From[0].State.Fluid.Name, other(x).Name)
		return nil, nil
	}
	burnt := products[0].State.Fluid
	name := t.fuelName(burnt)
	if name == nil {
		t.withhold("the %s turns %s into %s, and which fuel burns is not known: make %s by products(fuel = …), of a fuel that this sheet names", x.Title(), x.From[0].State.Fluid.Name, burnt.Name, burnt.Name)
		return nil, nil
	}
	at := lang.At{Loc: x.Stmt.Loc}
	call := func(fn string, second lang.Expr) lang.Expr {
		return &lang.Call{At: at, Fn: lang.Name{At: at, Text: fn}, Args: []lang.Arg{{At: at, X: &lang.Ident{At: at, Name: lang.Name{At: at, Text: name.Text}}}, {At: at, X: second}}}
	}
	heat := call("heating_value", &lang.Ident{At: at, Name: lang.Name{At: at, Text: "lower"}})
	// A fuel that is a leg of the component brings its own enthalpy; one that is not is taken to
	// enter at 25 °C.
	flows := []lang.Expr{products[0].flow}
	for _, l := range air {
		if burns(burnt.Fuel, l.State.Fluid) {
			if l.flow == nil {
				return nil, nil // withheld by rise
			}
			return []lang.Expr{t.times(x.Stmt.Loc, l.flow, heat)}, nil
		}
		flows = append(flows, l.flow)
	}
	for _, f := range flows {
		if f == nil {
			return nil, nil
		}
	}
	burning := difference(x.Stmt.Loc, flows[:1], flows[1:])
	zero := call("fuel_enthalpy", &lang.Number{At: at, Text: "25", Value: 25, Unit: &lang.UnitText{At: at, Text: "°C"}})
	return []lang.Expr{t.times(x.Stmt.Loc, burning, heat)}, []lang.Expr{t.times(x.Stmt.Loc, burning, zero)}
}

// other is a fluid of a component beside that of its first inlet.
func other(x *Component) *Fluid {
	for _, legs := range [][]Leg{x.To, x.From} {
		for _, l := range legs {
			if !sameFluid(l.State.Fluid, x.From[0].State.Fluid) {
				return l.State.Fluid
			}
		}
	}
	return x.From[0].State.Fluid
}

func burns(fuel *FuelRef, f *Fluid) bool {
	if fuel.Fluid != nil {
		return fuel.Fluid == f
	}
	return f.Kind == Database && f.Base == fuel.Base
}

// fuelName is how this sheet names the fuel of products, wherever they were made: on this sheet, or
// by a method that was given the fuel. It is nil where the sheet has no name for it.
func (t *totalling) fuelName(f *Fluid) *lang.Name {
	if f.Kind != ProductsOf || f.Fuel == nil {
		return nil
	}
	named := t.r.scope.fluids
	if f.Fuel.Fluid == nil {
		gas := f.Fuel.Base.Name()
		if named[gas] != nil {
			return nil // another fluid has taken the name
		}
		return &lang.Name{Text: gas}
	}
	for _, name := range sortedKeys(named) {
		if named[name] == f.Fuel.Fluid {
			return &lang.Name{Text: name}
		}
	}
	return nil
}
