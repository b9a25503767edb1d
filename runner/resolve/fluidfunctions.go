package resolve

import (
	"workings/propsdb"
	"workings/runner/lang"
	"workings/units"
)

// FluidFunction is a built-in whose first argument is a fluid of the sheet.
type FluidFunction int

// The functions of fluids.
const (
	LowerHeatingValue FluidFunction = iota
	HigherHeatingValue
	FuelEnthalpy     // fuel_enthalpy(f, T): on the formation datum
	FlameTemperature // flame_temperature(g, T_oxidant, T_fuel): adiabatic, of products g
	DewPoint         // dew_point(g, p)
	RelativeHumidity // relative_humidity(g, T, p)
	HumidityRatio    // humidity_ratio(g)
	PropertyAt       // air.T(p = …, h = …): a property where two others are given, without a state
)

type fluidSignature struct {
	fn   FluidFunction
	args []units.Dimension
	out  string
	kind FluidKind // that the fluid must be of, where only is set
	only bool
	form string
}

func fluidFunctions() map[string]fluidSignature {
	T, p := units.DimTemperature(), units.DimPressure()
	return map[string]fluidSignature{
		"fuel_enthalpy":     {fn: FuelEnthalpy, args: []units.Dimension{T}, out: "kJ/kg", form: "fuel_enthalpy(fuel, T)"},
		"flame_temperature": {fn: FlameTemperature, args: []units.Dimension{T, T}, out: "K", kind: ProductsOf, only: true, form: "flame_temperature(products, T of the oxidant, T of the fuel)"},
		"dew_point":         {fn: DewPoint, args: []units.Dimension{p}, out: "K", form: "dew_point(fluid, p)"},
		"relative_humidity": {fn: RelativeHumidity, args: []units.Dimension{T, p}, out: "1", form: "relative_humidity(fluid, T, p)"},
		"humidity_ratio":    {fn: HumidityRatio, out: "1", form: "humidity_ratio(fluid)"},
	}
}

// propertyCall is air.T(p = p2, h = h_x): a property of a fluid where others fix it.
func (r *resolver) propertyCall(line *Line, e *lang.Call) *Expr {
	f := r.fluidNamed(line, *e.Of)
	if f == nil {
		return nil
	}
	prop, ok := propertyName(e.Fn)
	if !ok || e.Fn.Text != e.Fn.Stem() {
		var names []string
		for _, q := range allProperties() {
			names = append(names, q.Symbol())
		}
		p := r.fail(line, CodeUnknownName, e.Fn.Loc, "%s is no property of a fluid", e.Fn.Text)
		if near := r.near(e.Fn.Text, names); len(near) > 0 {
			p.hint("did you mean %s?", orList(near))
		} else {
			p.hint("read one of T, p, v, rho, h, s, u, cp, k, …: %s.T(p = …, h = …)", e.Of.Text)
		}
		return nil
	}
	st := &State{ID: e.Of.Text, Fluid: f, Line: line}
	for _, a := range e.Args {
		if !r.stateArg(line, st, a, map[propsdb.Property]*lang.Ident{}) {
			return nil
		}
	}
	if !r.statePair(line, e.At, e.Of.Text+"."+e.Fn.Text, st) {
		return nil
	}
	if len(st.Given) == 1 && needsPressure(prop) {
		r.fail(line, CodeStatePair, e.Loc, "%s needs a pressure as well", prop.Symbol()).hint("write %s.%s(p = …, T = …)", e.Of.Text, e.Fn.Text)
		return nil
	}
	out := &Expr{Op: OpFluid, FluidFn: PropertyAt, Fluid: f, Prop: prop, Type: propertyType(prop, f), Src: e}
	for _, g := range st.Given {
		out.Args, out.Fixed = append(out.Args, g.X), append(out.Fixed, g.Prop)
	}
	return out
}

// fluidCall types a call of one of them.
func (r *resolver) fluidCall(line *Line, e *lang.Call, sig fluidSignature) *Expr {
	if len(e.Args) != len(sig.args)+1 {
		r.fail(line, CodeArguments, e.Loc, "%s takes %d arguments, and this gives %d", e.Fn.Text, len(sig.args)+1, len(e.Args)).hint("write %s", sig.form)
		return nil
	}
	var f *Fluid
	var fuel *FuelRef
	if sig.fn == FuelEnthalpy {
		if fuel = r.fuelNamed(line, e.Args[0].X); fuel == nil {
			return nil
		}
		f = fuel.Fluid
	} else if f = r.fluidArg(line, e.Args[0].X); f == nil {
		return nil
	}
	if sig.only && f.Kind != sig.kind {
		r.fail(line, CodeArguments, e.Args[0].Loc, "%s needs combustion products, and %s is none", e.Fn.Text, f.Name).hint("%s", productsExample)
		return nil
	}
	out := &Expr{Op: OpFluid, FluidFn: sig.fn, Fluid: f, Fuel: fuel, Src: e}
	for i, dim := range sig.args {
		a := e.Args[i+1]
		if a.Name == nil {
			a.Name = &lang.Name{At: a.At, Text: "argument"}
		}
		x := r.typedArg(line, a, dim)
		if x == nil {
			return nil
		}
		out.Args = append(out.Args, x)
	}
	u := mustUnit(sig.out)
	out.Type = Type{Dim: u.Dimension()}
	if sig.fn == FuelEnthalpy {
		out.Type.Datum = from(propsdb.Formation.String())
	}
	return out
}
