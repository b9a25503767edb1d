package resolve

import (
	"strings"
	"sync"

	"workings/propsdb"
	"workings/runner/lang"
	"workings/units"
)

// standard are the properties every state brings at once.
func standard() []propsdb.Property {
	return []propsdb.Property{propsdb.P, propsdb.T, propsdb.V, propsdb.Rho, propsdb.H, propsdb.S}
}

// condenses tells water from a gas: its state has a dryness fraction.
func (f *Fluid) condenses() bool { return f.model().Fixes(propsdb.P, propsdb.X) }

// brings are the properties that a state of this fluid brings at once: those of every state, and
// the dryness fraction of a fluid that condenses.
func (f *Fluid) brings() []propsdb.Property {
	if f.condenses() {
		return append(standard(), propsdb.X)
	}
	return standard()
}

func allProperties() []propsdb.Property {
	var ps []propsdb.Property
	for p := propsdb.T; p <= propsdb.Prandtl; p++ {
		ps = append(ps, p)
	}
	return ps
}

// late properties come into being when a line reads them.
func lateProperties() []propsdb.Property {
	return []propsdb.Property{propsdb.U, propsdb.Cp, propsdb.Cv, propsdb.K, propsdb.C, propsdb.R, propsdb.M, propsdb.Z, propsdb.So, propsdb.Pr, propsdb.Vr,
		propsdb.Mu, propsdb.Lambda, propsdb.Prandtl}
}

// lateStems finds a late property by the first part of its key.
var lateStems = sync.OnceValue(func() map[string]propsdb.Property {
	m := map[string]propsdb.Property{}
	for _, p := range lateProperties() {
		m[keyStems()[p]] = p
	}
	return m
})

func needsPressure(p propsdb.Property) bool {
	switch p {
	case propsdb.P, propsdb.V, propsdb.Rho, propsdb.S:
		return true
	}
	return false
}

// propertyType is the type of a property of a fluid; the datum is left out where f is nil.
func propertyType(p propsdb.Property, f *Fluid) Type {
	t := Type{Dim: dimensions()[p]}
	if f == nil {
		return t
	}
	switch p {
	case propsdb.H, propsdb.U:
		t.Datum = from(f.Datum)
	case propsdb.S, propsdb.So:
		t.Datum = from(f.EntropyDatum)
	}
	return t
}

// dimensions are those of the properties.
var dimensions = sync.OnceValue(func() map[propsdb.Property]units.Dimension {
	m := map[propsdb.Property]units.Dimension{}
	for _, p := range allProperties() {
		m[p] = mustUnit(p.Unit()).Dimension()
	}
	return m
})

func propertyName(n lang.Name) (propsdb.Property, bool) {
	if lang.Print(n.Text).Delta || lang.Print(n.Text).Dot {
		return 0, false
	}
	return propsdb.PropertyOf(n.Stem())
}

func (r *resolver) state(line *Line, s *lang.State) {
	if r.isMethod(s.Fluid.Text) && r.scope.fluids[s.Fluid.Text] == nil {
		// `state 2 = inlet(p1, T1)` for a method whose one result is a state.
		call := &lang.CallStmt{At: s.At, Outs: []lang.Out{{At: s.ID.At, State: true, Name: s.ID}}, Caption: s.Caption,
			Call: &lang.Call{At: s.At, Fn: s.Fluid, Args: s.Args}}
		line.Stmt = call
		r.callStmt(line, call)
		return
	}
	line.Kind = StateLine
	st := &State{ID: s.ID.Text, Sheet: r.sheet.Name, Line: line, Local: r.scope.local}
	line.State = st
	st.Fluid = r.fluidNamed(line, s.Fluid)
	byArg := map[propsdb.Property]*lang.Ident{} // bare symbols, which the state may adopt
	ok := st.Fluid != nil
	for _, a := range s.Args {
		if !r.stateArg(line, st, a, byArg) {
			ok = false
		}
	}
	if ok {
		ok = r.statePair(line, s.At, "state "+st.ID, st)
	}
	st.bad = !ok
	r.addState(line, s.ID, st, func(p propsdb.Property) bool {
		id := byArg[p]
		return id != nil && id.Of == nil && id.Name.Key() == r.propertySymbol(p, s.ID)
	})
}

// propertySymbol is the key of a state's property: that of h_2s for (h, 2s).
func (r *resolver) propertySymbol(p propsdb.Property, id lang.Name) string {
	return propertyKeys(id.Text)(p)
}

// propertyKeys gives the keys of a state's properties. They differ only in their first part,
// which is worked out once: a state has some twenty of them.
func propertyKeys(id string) func(propsdb.Property) string {
	sub := lang.Print("x_" + id).Sub
	return func(p propsdb.Property) string { return keyStems()[p] + sub }
}

// keyStems are the keys of the properties up to the state's own name.
var keyStems = sync.OnceValue(func() map[propsdb.Property]string {
	m := map[propsdb.Property]string{}
	for _, p := range allProperties() {
		m[p] = strings.TrimSuffix(lang.Name{Text: p.Symbol() + "_0"}.Key(), "0")
	}
	return m
})

// stateArg takes `p = p2`, or the bare symbol p2 whose stem names a property.
func (r *resolver) stateArg(line *Line, st *State, a lang.Arg, byArg map[propsdb.Property]*lang.Ident) bool {
	id, _ := bare(a.X).(*lang.Ident)
	var prop propsdb.Property
	switch {
	case a.Name != nil:
		p, ok := propertyName(*a.Name)
		if !ok || a.Name.Text != a.Name.Stem() {
			var stems []string
			for _, q := range allProperties() {
				stems = append(stems, q.Symbol())
			}
			f := r.fail(line, CodeStatePair, a.Name.Loc, "%s is no property of a state", a.Name.Text)
			if near := r.near(a.Name.Text, stems); len(near) > 0 {
				f.hint("did you mean %s?", orList(near))
			} else {
				f.hint("a state is fixed by two of p, T, v, h, s")
			}
			return false
		}
		prop = p
	case id != nil:
		p, ok := propertyName(id.Name)
		if !ok {
			r.fail(line, CodeStatePair, a.Loc, "%s does not say which property it is", id.Name.Text).
				hint("name the property: p = %s", id.Name.Text)
			return false
		}
		prop = p
	default:
		r.fail(line, CodeStatePair, a.Loc, "an argument that is no bare symbol must name its property").
			hint("%s", nameIt(a.X))
		return false
	}
	for _, g := range st.Given {
		if g.Prop == prop {
			r.fail(line, CodeStatePair, a.Loc, "%s is given twice", prop.Symbol()).hint("two different properties fix a state")
			return false
		}
	}
	x := r.expr(line, a.X)
	if x == nil || !r.truthless(line, x) {
		return false
	}
	want := propertyType(prop, st.Fluid)
	if x.Type.Dim != want.Dim {
		r.fail(line, CodeDimension, a.X.Span(), "%s must be %s, and this is %s", prop.Symbol(), article(prop.Name()), x.Type.describe()).
			label("%s", r.sideText(x)).hint("%s is counted in %s", prop.Name(), r.preferred(want))
		return false
	}
	if x.Type.Kind == Difference {
		r.fail(line, CodeTemperature, a.X.Span(), "a state needs a temperature, and this is a temperature difference").
			hint("add it to a temperature first; in T1 - dT a dT defined in Δ°C, such as 6 Δ°C, leaves a temperature")
		return false
	}
	if st.Fluid != nil && want.Datum != nil && x.Type.Datum != nil {
		if d := x.Type.Datum.other(want.Datum); d != "" {
			r.datumFault(line, a.X.Span(), d, "this %s counts from %s, and that of %s from %s", prop.Name(), d, st.Fluid.Name, want.Datum.any())
			return false
		}
	}
	st.Given = append(st.Given, Given{prop, x})
	byArg[prop] = id
	return true
}

// nameIt guesses from its unit which property a literal is meant to be.
func nameIt(x lang.Expr) string {
	if n, ok := bare(x).(*lang.Number); ok && n.Unit != nil {
		if u, err := units.Parse(n.Unit.Text); err == nil {
			for _, p := range []propsdb.Property{propsdb.T, propsdb.P, propsdb.H, propsdb.S, propsdb.V, propsdb.Rho} {
				if propertyType(p, nil).Dim == u.Dimension() {
					return "write " + p.Symbol() + " = " + lang.FormatExpr(x)
				}
			}
		}
	}
	return "write p = …, T = … or h = …, as the case may be"
}

// statePair checks that what is given fixes the state, which messages call what.
func (r *resolver) statePair(line *Line, s lang.At, what string, st *State) bool {
	g := st.Given
	switch len(g) {
	case 0:
		r.fail(line, CodeStatePair, s.Loc, "%s has no properties to fix it", what).hint("two fix it: %s = %s(p, T)", what, st.Fluid.Name)
		return false
	case 1:
		if st.Fluid.model().FixesAlone(g[0].Prop) {
			return true
		}
		if st.Fluid.condenses() {
			r.fail(line, CodeStatePair, s.Loc, "%s is given only its %s, which does not fix it", what, g[0].Prop.Name()).
				hint("two properties fix a state of water, such as (p, T), (p, h), (p, s), (p, x), (T, x)")
			return false
		}
		r.fail(line, CodeStatePair, s.Loc, "%s is given only its %s, which does not fix it", what, g[0].Prop.Name()).
			hint("two properties fix a state, such as (p, T), (p, h), (p, s); an ideal gas may be given T or h alone and then has no p, v, s")
		return false
	case 2:
		if st.Fluid.fixes(g[0].Prop, g[1].Prop) {
			return true
		}
		if st.Fluid.condenses() {
			r.fail(line, CodeStatePair, s.Loc, "(%s, %s) does not fix the state of water", g[0].Prop.Symbol(), g[1].Prop.Symbol()).
				hint("these pairs do: (p,T) (p,h) (p,s) (p,v) (p,x) (T,x) (T,s) (T,v) (h,s)")
			return false
		}
		f := r.fail(line, CodeStatePair, s.Loc, "(%s, %s) does not fix the state of an ideal gas", g[0].Prop.Symbol(), g[1].Prop.Symbol())
		if a, b := g[0].Prop, g[1].Prop; onlyTemperature(a) && onlyTemperature(b) {
			f.hint("%s and %s of an ideal gas both follow from T alone; give p as well as one of them", a.Symbol(), b.Symbol())
		} else {
			f.hint("these pairs do: (p,T) (p,h) (p,s) (p,v) (T,v) (T,s) (h,s)")
		}
		return false
	}
	r.fail(line, CodeStatePair, s.Loc, "%s is given %d properties, and two fix it", what, len(g)).
		hint("leave out all but two; read the others from the state and `check` them")
	return false
}

func onlyTemperature(p propsdb.Property) bool {
	switch p {
	case propsdb.T, propsdb.H, propsdb.U, propsdb.Cp, propsdb.Cv, propsdb.K, propsdb.C, propsdb.So, propsdb.Pr:
		return true
	}
	return false
}

// addState enters a state and the symbols it brings. adopts says whether a symbol that is there
// already may be the state's own property.
func (r *resolver) addState(line *Line, id lang.Name, st *State, adopts func(propsdb.Property) bool) {
	if old := r.scope.states[id.Text]; old != nil {
		r.fail(line, CodeTwice, id.Loc, "state %s is defined twice", id.Text).
			related(old.Line.File, old.Line.Stmt.Span(), "first defined here").hint("give this state another number")
		st.bad = true
		return
	}
	r.scope.states[id.Text] = st
	if st.Alias == nil || !st.Local {
		r.sheet.States = append(r.sheet.States, st)
	}
	keyOf := propertyKeys(id.Text)
	if st.bad {
		r.scope.late[keyOf(propsdb.X)] = lateSymbol{state: st, prop: propsdb.X, name: "x_" + id.Text}
	}
	alone := len(st.Given) == 1 || st.Alias != nil && len(st.root().Given) == 1
	for _, p := range st.Fluid.brings() {
		if alone && needsPressure(p) && !st.bad {
			continue
		}
		key := keyOf(p)
		if old := r.scope.symbols[key]; old != nil {
			if adopts(p) {
				old.Adopted, old.Prop, old.State = true, p, st
				st.Props = append(st.Props, old)
				continue
			}
			if !st.bad {
				r.clash(line, id, st, p, old)
			}
			continue
		}
		name := p.Symbol() + "_" + id.Text
		if id.Text[0] >= '0' && id.Text[0] <= '9' && len(p.Symbol()) == 1 {
			name = p.Symbol() + id.Text
		}
		s := r.stateSymbol(st, p, name)
		r.addSymbol(key, s)
		line.Defines = append(line.Defines, s)
	}
	r.scope.bySub[lang.Print("x_"+id.Text).Sub] = st
}

// root is the state that an alias stands for.
func (s *State) root() *State {
	for s.Alias != nil {
		s = s.Alias
	}
	return s
}

func (r *resolver) clash(line *Line, id lang.Name, st *State, p propsdb.Property, old *Symbol) {
	st.bad = true
	r.fail(line, CodeTwice, id.Loc, "state %s brings its %s %s, and that symbol exists already", id.Text, p.Name(), old.Name).
		related(old.Line.File, old.Span, "%s is defined here", old.Name).
		hint("fix the state by it, as in %s(%s, …), and the state keeps it; or give that quantity another name", fluidText(st), old.Name)
}

func fluidText(st *State) string {
	if st.Fluid == nil {
		return "air"
	}
	return st.Fluid.Name
}

// stateNamed finds a state that a line names.
func (r *resolver) stateNamed(line *Line, ref *lang.StateRef) *State {
	sc := r.scope.states
	if ref.Of != nil {
		sub := r.usedSheet(line, *ref.Of)
		if sub == nil {
			return nil
		}
		sc = sub.states
	}
	st := sc[ref.ID.Text]
	if st == nil {
		if l := r.scope.bad["state "+ref.ID.Text]; l != nil {
			r.wait(line, l)
			return nil
		}
		f := r.fail(line, CodeUnknownName, ref.Loc, "there is no state %s", ref.ID.Text)
		if near := r.near(ref.ID.Text, sortedKeys(sc)); len(near) > 0 {
			f.hint("did you mean state %s?", orList(near))
		} else {
			f.hint("define it above this line: state %s = …", ref.ID.Text)
		}
		return nil
	}
	if st.bad || st.Line.Failed() {
		r.wait(line, st.Line)
		return nil
	}
	return st
}
