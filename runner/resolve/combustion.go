package resolve

import (
	"errors"

	"workings/propsdb"
	"workings/runner/lang"
	"workings/units"
)

const productsExample = "for example products(fuel = CH4, oxidant = air, excess = 250 %); theoretical = …, phi = … or far = … say the amount as well"

// productsFluid is products(fuel = CH4, oxidant = air, excess = 250 %): complete lean combustion.
func (r *resolver) productsFluid(line *Line, c *lang.Call, f *Fluid) bool {
	f.Kind = ProductsOf
	f.Datum, f.EntropyDatum = "0 K of the products "+f.Name, absoluteEntropy
	amounts := map[string]propsdb.AmountKind{"excess": propsdb.ExcessAir, "theoretical": propsdb.TheoreticalAir, "phi": propsdb.EquivalenceRatio, "far": propsdb.FuelOxidantRatio}
	ok := true
	for _, a := range c.Args {
		name := ""
		if a.Name != nil {
			name = a.Name.Text
		}
		kind, isAmount := amounts[name]
		switch {
		case name == "fuel":
			f.Fuel = r.fuelNamed(line, a.X)
			ok = ok && f.Fuel != nil
		case name == "oxidant":
			f.Oxidant = r.fluidArg(line, a.X)
			ok = ok && f.Oxidant != nil
		case name == "datum":
			ok = r.formationOnly(line, a, f) && ok
		case isAmount && len(f.Args) > 0:
			r.fail(line, CodeFluid, a.Loc, "the amount of fuel is given twice").hint("give one of excess, theoretical, phi and far")
			ok = false
		case isAmount:
			x := r.pureArg(line, a)
			ok = ok && x != nil
			f.Amount = kind
			f.Args = append(f.Args, FluidArg{Name: name, X: x})
		default:
			r.fail(line, CodeFluid, a.Loc, "products are given a fuel, an oxidant and an amount, by name").hint("%s", productsExample)
			ok = false
		}
	}
	if ok && (f.Fuel == nil || f.Oxidant == nil || len(f.Args) != 1) {
		r.fail(line, CodeFluid, c.Loc, "products are given a fuel, an oxidant and an amount").hint("%s", productsExample)
		return false
	}
	return ok
}

// formationOnly takes `datum = formation`.
func (r *resolver) formationOnly(line *Line, a lang.Arg, f *Fluid) bool {
	if id, ok := bare(a.X).(*lang.Ident); ok && id.Of == nil && id.Name.Text == "formation" {
		f.Datum, f.OnFormation = propsdb.Formation.String(), true
		return true
	}
	r.fail(line, CodeFluid, a.X.Span(), "the datum of a gas is `formation`; without one it counts from 0 K").hint("write datum = formation")
	return false
}

func (r *resolver) pureArg(line *Line, a lang.Arg) *Expr {
	return r.typedArg(line, a, units.Dimension{})
}

// typedArg is an argument of a given dimension.
func (r *resolver) typedArg(line *Line, a lang.Arg, want units.Dimension) *Expr {
	x := r.expr(line, a.X)
	if x == nil || !r.truthless(line, x) {
		return nil
	}
	if x.Type.Dim != want {
		r.fail(line, CodeDimension, a.X.Span(), "%s must be %s, and this is %s", a.Name.Text, Type{Dim: want}.describe(), x.Type.describe()).
			label("%s", r.sideText(x)).hint("check its unit")
		return nil
	}
	if x.Type.Kind == Difference {
		r.fail(line, CodeTemperature, a.X.Span(), "a temperature is needed, and this is a temperature difference").hint("add it to a temperature first")
		return nil
	}
	return x
}

// fluidArg is a fluid of the sheet as an argument.
func (r *resolver) fluidArg(line *Line, x lang.Expr) *Fluid {
	id, ok := bare(x).(*lang.Ident)
	if !ok || id.Of != nil {
		r.fail(line, CodeFluid, x.Span(), "a fluid of the sheet is needed here").hint("name it: fluid air on a line above, then air")
		return nil
	}
	return r.fluidNamed(line, id.Name)
}

// fuelNamed is a fluid of the sheet, or a gas of the database.
func (r *resolver) fuelNamed(line *Line, x lang.Expr) *FuelRef {
	id, ok := bare(x).(*lang.Ident)
	if !ok || id.Of != nil {
		r.fail(line, CodeFluid, x.Span(), "a fuel is a gas of the database or a fluid of the sheet").hint("%s", productsExample)
		return nil
	}
	if r.scope.fluids[id.Name.Text] != nil || r.scope.bad["space "+id.Name.Text] != nil {
		if f := r.fluidNamed(line, id.Name); f != nil {
			return &FuelRef{Fluid: f}
		}
		return nil
	}
	g, err := propsdb.LookupOn(id.Name.Text, propsdb.Formation)
	var unknown *propsdb.UnknownFluidError
	if errors.As(err, &unknown) {
		r.unknownGas(line, id.Name, unknown)
		return nil
	}
	if err != nil {
		r.fail(line, CodeFluid, id.Loc, "%s", err)
		return nil
	}
	return &FuelRef{Base: g}
}

// humidAir is humid_air(relative = 60 %, T = 15 °C, p = 101.325 kPa), or humid_air(ratio = 0.01).
func (r *resolver) humidAir(line *Line, c *lang.Call, f *Fluid) bool {
	f.Kind = HumidAir
	f.Datum, f.EntropyDatum = propsdb.ZeroKelvin.String(), absoluteEntropy
	example := "for example humid_air(relative = 60 %, T = 15 °C, p = 101.325 kPa), or humid_air(ratio = 0.0064)"
	want := map[string]units.Dimension{"relative": {}, "ratio": {}, "T": units.DimTemperature(), "p": units.DimPressure()}
	ok := true
	have := map[string]bool{}
	for _, a := range c.Args {
		if a.Name == nil {
			r.fail(line, CodeFluid, a.Loc, "humid air is given its humidity by name").hint("%s", example)
			return false
		}
		if a.Name.Text == "datum" {
			ok = r.formationOnly(line, a, f) && ok
			continue
		}
		dim, known := want[a.Name.Text]
		if !known || have[a.Name.Text] {
			r.fail(line, CodeFluid, a.Loc, "humid air has no use for %s here", a.Name.Text).hint("%s", example)
			ok = false
			continue
		}
		have[a.Name.Text] = true
		x := r.typedArg(line, a, dim)
		ok = ok && x != nil
		f.Args = append(f.Args, FluidArg{Name: a.Name.Text, X: x})
	}
	byRatio := have["ratio"] && len(have) == 1
	byRelative := have["relative"] && have["T"] && have["p"] && len(have) == 3
	if ok && !byRatio && !byRelative {
		r.fail(line, CodeFluid, c.Loc, "humid air is given a relative humidity with T and p, or a humidity ratio").hint("%s", example)
		return false
	}
	return ok
}

// elementalFuel is fuel(C = 86 %, H = 14 %, lower = 43.1 MJ/kg): a fuel as its data sheet states it.
func (r *resolver) elementalFuel(line *Line, c *lang.Call, f *Fluid) bool {
	f.Kind = FuelOf
	f.Datum, f.EntropyDatum, f.OnFormation = propsdb.Formation.String(), absoluteEntropy, true
	example := "for example fuel(C = 86 %, H = 14 %, lower = 43.1 MJ/kg): elements by mass and the lower or higher heating value at 25 °C; cp = … where it is not fired at 25 °C"
	want := map[string]units.Dimension{"C": {}, "H": {}, "O": {}, "N": {}, "S": {}, "lower": units.DimEnergyPerMass(), "higher": units.DimEnergyPerMass(), "cp": units.DimEntropyPerMass()}
	ok, values := true, 0
	have := map[string]bool{}
	for _, a := range c.Args {
		name := ""
		if a.Name != nil {
			name = a.Name.Text
		}
		dim, known := want[name]
		if !known || have[name] {
			r.fail(line, CodeFluid, a.Loc, "a fuel is given its elements by mass and a heating value, by name").hint("%s", example)
			ok = false
			continue
		}
		have[name] = true
		if name == "lower" || name == "higher" {
			values++
			f.Higher = name == "higher"
		}
		x := r.typedArg(line, a, dim)
		ok = ok && x != nil
		f.Args = append(f.Args, FluidArg{Name: name, X: x})
	}
	if ok && values != 1 {
		r.fail(line, CodeFluid, c.Loc, "a fuel is given one heating value, lower or higher").hint("%s", example)
		return false
	}
	return ok
}
