package resolve

import (
	"errors"
	"strings"
	"sync"

	"workings/propsdb"
	"workings/runner/lang"
)

// absoluteEntropy is propsdb's EntropyDatumID of every gas of the database and every mixture.
const absoluteEntropy = "absolute"

// model answers what fixes a state: a perfect gas or a mixture is not built yet here, and
// behaves as every ideal gas does.
func (f *Fluid) model() *propsdb.Fluid {
	if f != nil && f.Base != nil {
		return f.Base
	}
	return idealGas()
}

var idealGas = sync.OnceValue(func() *propsdb.Fluid {
	g, err := propsdb.Perfect("ideal gas", map[propsdb.Property]float64{propsdb.K: 1.4, propsdb.R: 287})
	if err != nil {
		panic(err) // two constants that make a gas
	}
	return g
})

func (f *Fluid) fixes(a, b propsdb.Property) bool { return f.model().Fixes(a, b) }

func (r *resolver) fluid(line *Line, s *lang.Fluid) {
	line.Kind = FluidLine
	f := &Fluid{Name: s.Name.Text, Line: line}
	line.Fluid = f
	f.bad = !r.fluidModel(line, s, f)
	if !r.defineSpace(line, s.Name, "fluid") {
		return
	}
	f.Reg = r.shared.fluids
	r.shared.fluids++
	r.scope.fluids[s.Name.Text] = f
	r.sheet.Fluids = append(r.sheet.Fluids, f)
	if f.Kind == ProductsOf {
		name := "f_" + s.Name.Text
		if key := (lang.Name{Text: name}).Key(); r.scope.symbols[key] == nil {
			r.scope.late[key] = lateSymbol{fluid: f, ratio: true, name: name}
		}
	}
	for _, p := range []propsdb.Property{propsdb.M, propsdb.R} {
		name := p.Symbol() + "_" + s.Name.Text
		key := lang.Name{Text: name}.Key()
		if _, taken := r.scope.late[key]; r.scope.symbols[key] == nil && !taken {
			r.scope.late[key] = lateSymbol{fluid: f, prop: p, name: name}
		}
	}
}

// fluidModel is the model that the line gives, or that of the sheet's second route.
func (r *resolver) fluidModel(line *Line, s *lang.Fluid, f *Fluid) bool {
	o := r.shared.other
	if o == nil || o.Name != s.Name.Text || r.scope.local {
		return r.fluidSpec(line, s, f)
	}
	r.shared.replaced = true
	// The text of the other model stands elsewhere, and what is wrong with it is said there.
	there := &Line{Kind: FluidLine, File: o.File, Stmt: line.Stmt, Fluid: f}
	ok := r.fluidSpec(there, &lang.Fluid{At: s.At, Name: s.Name, Spec: o.Spec}, f)
	line.Problem, line.Waits = there.Problem, there.Waits
	line.Uses, line.Reads = append(line.Uses, there.Uses...), append(line.Reads, there.Reads...)
	return ok
}

func (r *resolver) noSuchFluid(o *OtherFluid) {
	line := &Line{Kind: BadLine, File: o.File, Stmt: &lang.Bad{At: lang.At{Loc: o.At}}}
	p := r.fail(line, CodeUnknownName, o.At, "the sheet has no fluid called %s to give another model", o.Name)
	if near := r.near(o.Name, sortedKeys(r.scope.fluids)); len(near) > 0 {
		p.hint("did you mean %s?", orList(near))
	} else if len(r.scope.fluids) > 0 {
		p.hint("its fluids are %s", joinList(sortedKeys(r.scope.fluids)))
	}
}

func (r *resolver) fluidSpec(line *Line, s *lang.Fluid, f *Fluid) bool {
	if s.Spec == nil {
		return r.databaseFluid(line, s.Name, f, propsdb.ZeroKelvin)
	}
	switch x := bare(s.Spec).(type) {
	case *lang.Ident:
		if x.Of == nil {
			return r.databaseFluid(line, x.Name, f, propsdb.ZeroKelvin)
		}
	case *lang.Call:
		if x.Of != nil {
			break
		}
		switch x.Fn.Text {
		case "perfect":
			return r.perfectFluid(line, x, f)
		case "mixture":
			return r.mixtureFluid(line, x, f)
		case "products":
			return r.productsFluid(line, x, f)
		case "humid_air":
			return r.humidAir(line, x, f)
		case "fuel":
			return r.elementalFuel(line, x, f)
		}
		if len(x.Args) == 1 && x.Args[0].Name != nil && x.Args[0].Name.Text == "datum" {
			if id, ok := x.Args[0].X.(*lang.Ident); ok && id.Name.Text == "formation" {
				return r.databaseFluid(line, x.Fn, f, propsdb.Formation)
			}
			r.fail(line, CodeFluid, x.Args[0].X.Span(), "the datum of a gas is `formation`; without one it counts from 0 K").
				hint("write %s(datum = formation)", x.Fn.Text)
			return false
		}
	}
	r.fail(line, CodeFluid, s.Spec.Span(), "this does not make a fluid").
		hint("write fluid %s = perfect(k = 1.4, cp = 1.005 kJ/(kg·K)), mixture(mole, N2 = 0.79, O2 = 0.21) or a gas of the database", s.Name.Text)
	return false
}

func (r *resolver) databaseFluid(line *Line, n lang.Name, f *Fluid, datum propsdb.Datum) bool {
	if own, ok := r.ownFluid(line, n, f, datum); own {
		return ok
	}
	lookup := func() (*propsdb.Fluid, error) { return propsdb.LookupOn(n.Text, datum) }
	if datum == propsdb.ZeroKelvin {
		// Without a datum asked for, a fluid has its usual one: water that of the triple point.
		lookup = func() (*propsdb.Fluid, error) { return propsdb.Lookup(n.Text) }
	}
	g, err := lookup()
	var unknown *propsdb.UnknownFluidError
	switch {
	case errors.As(err, &unknown):
		r.unknownGas(line, n, unknown)
		return false
	case err != nil:
		r.fail(line, CodeFluid, n.Loc, "%s", err).hint("write fluid %s = %s(datum = formation)", f.Name, n.Text)
		return false
	}
	f.Base, f.Datum, f.EntropyDatum = g, g.DatumID(), g.EntropyDatumID()
	f.OnFormation = datum == propsdb.Formation
	return true
}

func (r *resolver) unknownGas(line *Line, n lang.Name, e *propsdb.UnknownFluidError) {
	if r.mayBeOwn(line, n) {
		return
	}
	f := r.fail(line, CodeUnknownGas, n.Loc, "the database has no gas called %s", n.Text)
	switch {
	case len(e.Near) > 0:
		f.hint("did you mean %s? `workings gases` lists them all", orList(e.Near))
	default:
		f.hint("`workings gases` lists them all; a gas of your own is perfect(…) or mixture(…)")
	}
}

// perfectFluid takes any two of k, cp, cv, R and M.
func (r *resolver) perfectFluid(line *Line, c *lang.Call, f *Fluid) bool {
	f.Kind, f.Datum = PerfectGas, "the zero of "+f.Name
	f.EntropyDatum = f.Datum
	ok := true
	for _, a := range c.Args {
		prop, known := propsdb.Property(0), false
		if a.Name != nil {
			prop, known = propertyName(*a.Name)
		}
		switch prop {
		case propsdb.K, propsdb.Cp, propsdb.Cv, propsdb.R, propsdb.M:
		default:
			known = false
		}
		if !known {
			r.fail(line, CodeFluid, a.Loc, "a perfect gas is given two of k, cp, cv, R and M, by name").
				hint("for example perfect(k = 1.4, cp = 1.005 kJ/(kg·K))")
			ok = false
			continue
		}
		x := r.expr(line, a.X)
		if x == nil || !r.truthless(line, x) {
			ok = false
			continue
		}
		want := propertyType(prop, nil)
		if x.Type.Dim != want.Dim {
			r.fail(line, CodeDimension, a.X.Span(), "%s must be %s, and this is %s", prop.Symbol(), article(prop.Name()), x.Type.describe()).
				label("%s", r.sideText(x)).hint("it is counted in %s", r.preferred(want))
			ok = false
			continue
		}
		f.Args = append(f.Args, FluidArg{Name: prop.Symbol(), X: x})
	}
	if ok && len(f.Args) != 2 {
		r.fail(line, CodeFluid, c.Loc, "a perfect gas is given two of k, cp, cv, R and M, and this gives %d", len(f.Args)).
			hint("for example perfect(k = 1.4, cp = 1.005 kJ/(kg·K))")
		return false
	}
	return ok
}

func (r *resolver) mixtureFluid(line *Line, c *lang.Call, f *Fluid) bool {
	f.Kind = MixtureOf
	example := "for example mixture(mole, N2 = 0.79, O2 = 0.21), or mass"
	if len(c.Args) == 0 || c.Args[0].Name != nil {
		r.fail(line, CodeFluid, c.Loc, "a mixture says first whether its parts count by mole or by mass").hint("%s", example)
		return false
	}
	basis, ok := c.Args[0].X.(*lang.Ident)
	switch {
	case ok && basis.Name.Text == "mole":
		f.Basis = propsdb.Mole
	case ok && basis.Name.Text == "mass":
		f.Basis = propsdb.Mass
	default:
		r.fail(line, CodeFluid, c.Args[0].Loc, "a mixture counts its parts by mole or by mass").hint("%s", example)
		return false
	}
	good := true
	datum := propsdb.ZeroKelvin
	for _, a := range c.Args[1:] {
		if a.Name == nil {
			r.fail(line, CodeFluid, a.Loc, "a part of a mixture is a gas and its fraction").hint("%s", example)
			good = false
			continue
		}
		if a.Name.Text == "datum" {
			if id, isID := a.X.(*lang.Ident); isID && id.Name.Text == "formation" {
				datum = propsdb.Formation
				continue
			}
		}
		base, err := propsdb.LookupOn(a.Name.Text, propsdb.Formation)
		var unknown *propsdb.UnknownFluidError
		if errors.As(err, &unknown) {
			r.unknownGas(line, *a.Name, unknown)
			good = false
			continue
		}
		x := r.expr(line, a.X)
		if x == nil || !r.truthless(line, x) {
			good = false
			continue
		}
		if !x.Type.Dim.IsNone() {
			r.fail(line, CodeDimension, a.X.Span(), "a fraction is dimensionless, and this is %s", x.Type.describe()).hint("%s", example)
			good = false
			continue
		}
		f.Args = append(f.Args, FluidArg{Name: a.Name.Text, X: x, Base: base})
	}
	f.Datum, f.EntropyDatum, f.OnFormation = datum.String(), absoluteEntropy, datum == propsdb.Formation
	if good && len(f.Args) == 0 {
		r.fail(line, CodeFluid, c.Loc, "a mixture needs parts").hint("%s", example)
		return false
	}
	return good
}

// fluidNamed finds the fluid of a state: a name of the sheet, or fluid_a for that of state a.
func (r *resolver) fluidNamed(line *Line, n lang.Name) *Fluid {
	f := r.scope.fluids[n.Text]
	if f == nil && len(n.Text) > 6 && n.Text[:6] == "fluid_" {
		st := r.stateNamed(line, &lang.StateRef{At: n.At, ID: lang.Name{At: n.At, Text: n.Text[6:]}})
		if st == nil {
			return nil
		}
		if st.Line != line {
			r.usesState(line, st)
		}
		return st.Fluid
	}
	if f == nil {
		if l := r.scope.bad["space "+n.Text]; l != nil {
			r.wait(line, l)
			return nil
		}
		if r.comesLater(line, n, "the fluid") {
			return nil
		}
		p := r.fail(line, CodeUnknownName, n.Loc, "no fluid is called %s", n.Text)
		near := r.near(n.Text, sortedKeys(r.scope.fluids))
		if len(near) > 0 && strings.EqualFold(near[0], n.Text) {
			p.hint("did you mean %s?", near[0])
		} else if _, err := propsdb.LookupOn(n.Text, propsdb.Formation); err == nil {
			p.hint("it is in the database: add the line `fluid %s` above", n.Text)
		} else if len(near) > 0 {
			p.hint("did you mean %s?", orList(near))
		} else if len(r.scope.fluids) > 0 {
			p.hint("the sheet's fluids are %s", joinList(sortedKeys(r.scope.fluids)))
		} else {
			p.hint("name one above: fluid air")
		}
		return nil
	}
	if f.bad || f.Line.Failed() {
		r.wait(line, f.Line)
		return nil
	}
	r.reads(line, f.Line)
	return f
}
