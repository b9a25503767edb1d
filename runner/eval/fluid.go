package eval

import (
	"errors"
	"fmt"

	"workings/propsdb"
	"workings/runner/diag"
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/units"
)

// combustion is how a fluid of products was made.
type combustion struct {
	reaction *propsdb.Reaction
	burnt    *propsdb.Burnt
	amount   propsdb.Amount
}

// made is what the line of a fluid has come to.
type made struct {
	fluid *propsdb.Fluid
	fuel  *propsdb.Fuel // of a fuel known by its elements
	burnt *combustion   // of products
}

// built reports a fluid that is ready to be read, on the one lane of a strict machine.
func (m *machine) built(f *resolve.Fluid) bool {
	x := m.fluids[f.Reg]
	return len(x) > 0 && (x[0].fluid != nil || x[0].fuel != nil)
}

// makeFluid makes the fluid of a line from the values of its arguments: one for all lanes, or where
// these differ one for each.
func (m *machine) makeFluid(i *instr, lo, hi int) *fault {
	fl := i.step.line.Fluid
	lanes := len(m.v[i.dst])
	if len(m.fluids[fl.Reg]) < lanes {
		m.fluids[fl.Reg] = make([]made, lanes)
	}
	if lanes == 1 {
		lo, hi = 0, 1
	}
	values := m.args[:len(i.args)]
	for k := lo; k < hi; k++ {
		for j, r := range i.args {
			values[j] = pick(m.v[r], k)
		}
		x, err := m.make(fl, values, k)
		m.fluids[fl.Reg][k] = x
		m.v[i.dst][k] = 1
		if err != nil {
			m.v[i.dst][k] = nan
			if m.strict {
				return fluidFault(i.step.line.Stmt.(*lang.Fluid), err)
			}
		}
	}
	return nil
}

// fluidSymbol reads M, R or the fuel–oxidant ratio of a fluid; NaN where it has none.
func (m *machine) fluidSymbol(i *instr, d []float64, lo int) {
	for k := range d {
		x := m.fluid(i.step.line.Fluid, lo+k)
		d[k] = nan
		switch {
		case i.sym.Ratio && x.burnt != nil:
			d[k] = x.burnt.burnt.Ratio
		case x.fluid == nil || i.sym.Ratio:
		case i.sym.Prop == propsdb.M:
			d[k] = x.fluid.M()
		case i.sym.Prop == propsdb.R:
			d[k] = x.fluid.R()
		}
	}
}

func (m *machine) make(fl *resolve.Fluid, values []float64, lane int) (x made, err error) {
	datum := propsdb.ZeroKelvin
	if fl.OnFormation {
		datum = propsdb.Formation
	}
	switch fl.Kind {
	case resolve.Database:
		x.fluid = fl.Base
	case resolve.PerfectGas:
		given := map[propsdb.Property]float64{}
		for i, a := range fl.Args {
			p, _ := propsdb.PropertyOf(a.Name)
			given[p] = values[i]
		}
		x.fluid, err = propsdb.Perfect(fl.Name, given)
	case resolve.MixtureOf:
		parts := make([]propsdb.Part, len(fl.Args))
		for i, a := range fl.Args {
			parts[i] = propsdb.Part{Gas: a.Name, Fraction: values[i]}
		}
		x.fluid, err = propsdb.MixtureOn(datum, fl.Name, fl.Basis, parts)
	case resolve.HumidAir:
		x.fluid, err = humidAir(fl, values, datum)
	case resolve.FuelOf:
		x.fuel, err = elementalFuel(fl, values)
	case resolve.ProductsOf:
		return m.products(fl, values, datum, lane)
	}
	return x, err
}

func humidAir(fl *resolve.Fluid, values []float64, datum propsdb.Datum) (*propsdb.Fluid, error) {
	by := map[string]float64{}
	for i, a := range fl.Args {
		by[a.Name] = values[i]
	}
	ratio, given := by["ratio"]
	if !given {
		var err error
		if ratio, err = propsdb.HumidityRatio(by["relative"], by["T"], by["p"]); err != nil {
			return nil, err
		}
	}
	return propsdb.HumidAir(fl.Name, datum, ratio)
}

func elementalFuel(fl *resolve.Fluid, values []float64) (*propsdb.Fuel, error) {
	d := propsdb.FuelData{Name: fl.Name, Higher: fl.Higher, Source: "the sheet"}
	for i, a := range fl.Args {
		to := map[string]*float64{"C": &d.C, "H": &d.H, "O": &d.O, "N": &d.N, "S": &d.S, "lower": &d.HeatingValue, "higher": &d.HeatingValue, "cp": &d.Cp}[a.Name]
		*to = values[i]
	}
	return propsdb.ElementalFuel(d)
}

// fuelOf is the fuel that a line names.
func (m *machine) fuelOf(ref *resolve.FuelRef, lane int) (*propsdb.Fuel, error) {
	if ref.Base != nil {
		return propsdb.GasFuel(ref.Base)
	}
	x := m.fluid(ref.Fluid, lane)
	switch {
	case x.fuel != nil:
		return x.fuel, nil
	case x.fluid == nil:
		return nil, fmt.Errorf("%s has not been made", ref.Fluid.Name)
	}
	return propsdb.GasFuel(x.fluid)
}

func (m *machine) products(fl *resolve.Fluid, values []float64, datum propsdb.Datum, lane int) (x made, err error) {
	fuel, err := m.fuelOf(fl.Fuel, lane)
	if err != nil {
		return x, err
	}
	oxidant := m.fluid(fl.Oxidant, lane).fluid
	if oxidant == nil {
		return x, fmt.Errorf("%s has not been made", fl.Oxidant.Name)
	}
	r, err := propsdb.React(fuel, oxidant)
	if err != nil {
		return x, err
	}
	amount := propsdb.Amount{Kind: fl.Amount, Value: values[0]}
	b, err := r.Products(fl.Name, datum, amount)
	if err != nil {
		return x, err
	}
	return made{fluid: b.Fluid, burnt: &combustion{r, b, amount}}, nil
}

func fluidFault(s *lang.Fluid, err error) *fault {
	f := &fault{code: CodeFluid, span: s.Name.Loc, msg: err.Error(), hint: "check the figures that make the fluid"}
	if s.Spec != nil {
		f.span = s.Spec.Span()
	}
	var sum *propsdb.FractionSumError
	var rich *propsdb.RichError
	switch {
	case errors.As(err, &sum):
		f.hint = "fractions are never scaled for you: correct them so that they add up to 1"
	case errors.As(err, &rich):
		f.code, f.hint = CodeRich, "complete combustion needs oxygen to spare: give less fuel or more air; CO and H2 of a rich flame are out of range"
	}
	return f
}

// ofFluid computes a built-in that is asked of a fluid.
func (m *machine) ofFluid(i *instr, d []float64, lo, hi int) *fault {
	e := i.src
	args := m.args[:len(i.args)]
	for k := range d {
		for j, r := range i.args {
			args[j] = pick(m.in(r, lo, hi), k)
		}
		v, err := m.fluidValue(e, args, lo+k)
		switch {
		case err == nil:
		case !m.strict:
			v = nan
		case e.FluidFn == resolve.PropertyAt:
			return m.stateFault(e.Src.Span(), nil, err)
		default:
			return &fault{code: CodeFluid, span: e.Src.Span(), msg: err.Error(), hint: "check the fluid and the values it is asked at"}
		}
		d[k] = v
	}
	return nil
}

func (m *machine) fluidValue(e *resolve.Expr, args []float64, lane int) (float64, error) {
	if e.FluidFn == resolve.FuelEnthalpy {
		fuel, err := m.fuelOf(e.Fuel, lane)
		if err != nil {
			return 0, err
		}
		return fuel.H(args[0])
	}
	x := m.fluid(e.Fluid, lane)
	switch e.FluidFn {
	case resolve.LowerHeatingValue, resolve.HigherHeatingValue:
		fuel, err := m.fuelOf(&resolve.FuelRef{Fluid: e.Fluid}, lane)
		if err != nil {
			return 0, err
		}
		return fuel.HeatingValue(e.FluidFn == resolve.LowerHeatingValue), nil
	case resolve.FlameTemperature:
		if b := x.burnt; b != nil {
			return b.reaction.FlameTemperature(b.amount, propsdb.Firing{OxidantT: args[0], FuelT: args[1], Efficiency: 1})
		}
	}
	if x.fluid == nil {
		return 0, fmt.Errorf("%s is a fuel known by its elements and has no such property", e.Fluid.Name)
	}
	switch e.FluidFn {
	case resolve.PropertyAt:
		return propertyAt(x.fluid, e, args)
	case resolve.DewPoint:
		return propsdb.DewPoint(x.fluid, args[0])
	case resolve.RelativeHumidity:
		return propsdb.RelativeHumidity(x.fluid, args[0], args[1])
	}
	return propsdb.HumidityRatioOf(x.fluid), nil
}

// propertyAt is air.T(p = …, h = …).
func propertyAt(g *propsdb.Fluid, e *resolve.Expr, args []float64) (float64, error) {
	var s propsdb.State
	var err error
	switch {
	case len(args) == 2:
		s, err = g.State(e.Fixed[0], args[0], e.Fixed[1], args[1])
	case e.Fixed[0] == propsdb.T:
		s, err = g.StateT(args[0])
	default:
		s, err = g.StateH(args[0])
	}
	if err != nil {
		return 0, err
	}
	return s.Get(e.Prop)
}

// isHot reports products so hot that they dissociate.
func isHot(f *resolve.Fluid, t float64) bool {
	return f.Kind == resolve.ProductsOf && t > propsdb.DissociationTemperature
}

// dissociation cautions about products so hot that complete combustion is no longer true of them.
func (b *builder) dissociation(st *step, e *Entry) {
	if !b.m.out(st).hot || e.Status != Done {
		return
	}
	s := st.line.State
	p := &diag.Problem{Code: CodeDissociation, Severity: diag.Caution, File: st.line.File, Span: st.line.Stmt.Span(),
		Message: fmt.Sprintf("state %s is combustion products at %s, where dissociation counts and complete combustion gives too much", s.ID, formatValue(b.m.states[st.state.slot][0].T(), units.SIUnit(units.DimTemperature()))),
		Hint:    fmt.Sprintf("above %g K take the result as a bound, or accept the caution with a reason", propsdb.DissociationTemperature)}
	if t := s.Prop(propsdb.T); t != nil {
		p.Subject = t.Full()
	}
	b.inCall(p)
	b.add(p)
}

// hotFlame is the same caution for a flame temperature.
func (b *builder) hotFlame(st *step, e *Entry) {
	x := st.line.X
	if e.Status != Done || x == nil || x.Op != resolve.OpFluid || x.FluidFn != resolve.FlameTemperature || len(e.Results) == 0 {
		return
	}
	v := e.Results[0].Value
	if v.SI <= propsdb.DissociationTemperature {
		return
	}
	p := &diag.Problem{Code: CodeDissociation, Severity: diag.Caution, File: st.line.File, Span: x.Src.Span(), Subject: e.Results[0].Symbol.Full(),
		Message: fmt.Sprintf("a flame of %s dissociates, and complete combustion gives too much", formatValue(v.Shown, v.Unit)),
		Hint:    fmt.Sprintf("above %g K take the result as a bound, or accept the caution with a reason", propsdb.DissociationTemperature)}
	b.inCall(p)
	b.add(p)
}

// Below these temperatures, K, two states of liquid water share one pair: v at constant p is least
// near 4 °C, so that a v of colder water returns below 282 K, and s at constant T rises with p at
// first below 277.2 K. propsdb then takes the warmer, or that of lower pressure.
const coldVolume, coldEntropy = 282.0, 277.2

// coldWater cautions where the pair that fixes a state of cold liquid may fix another as well.
func (b *builder) coldWater(st *step, e *Entry) {
	d := e.State
	if e.Status != Done || d == nil || d.Fluid == nil || d.Fluid.Kind() != propsdb.Water || len(d.Names) != 2 {
		return
	}
	ps := b.m.states[st.state.slot][0]
	if x, err := ps.Get(propsdb.X); err == nil && (x > 1e-3 || !given(d, propsdb.S)) {
		return // wet: its s and v are far from those of the liquid
	}
	t := ps.T()
	var which string
	switch {
	case given(d, propsdb.P) && (given(d, propsdb.V) || given(d, propsdb.Rho)) && t < coldVolume:
		which = "the warmer"
	case given(d, propsdb.T) && given(d, propsdb.S) && t < coldEntropy:
		which = "that of the lower pressure"
	default:
		return
	}
	s := st.line.State
	p := &diag.Problem{Code: CodeTwoStates, Severity: diag.Caution, File: st.line.File, Span: st.line.Stmt.Span(),
		Message: fmt.Sprintf("(%s, %s) of liquid water this cold may belong to two states, and state %s is %s", d.Names[0].Symbol(), d.Names[1].Symbol(), s.ID, which),
		Hint:    "fix the state by p and T, p and h or p and s, which leave no choice"}
	if sym := s.Prop(propsdb.T); sym != nil {
		p.Subject = sym.Full()
	}
	b.inCall(p)
	b.add(p)
}

func given(d *StateDetail, q propsdb.Property) bool {
	for _, n := range d.Names {
		if n == q {
			return true
		}
	}
	return false
}
