package resolve

import (
	"maps"
	"strings"

	"workings/propsdb"
	"workings/runner/lang"
)

// method enters a method's definition. Its body is resolved at each call, for the types it is
// given there.
func (r *resolver) method(line *Line, s *lang.Method) {
	line.Kind = MethodLine
	m := &Method{Name: s.Name.Text, Def: s, File: r.sheet.File, Line: line, earlier: maps.Clone(r.scope.methods)}
	line.Method = m
	if functionNamed(s.Name.Text) != nil {
		r.fail(line, CodeReserved, s.Name.Loc, "%s is a function and cannot be a method", s.Name.Text).hint("give the method another name")
		return
	}
	if !r.defineSpace(line, s.Name, "method") {
		return
	}
	for _, b := range s.Body {
		if bad, ok := b.(*lang.Bad); ok {
			m.bad = true
			if line.Problem == nil {
				r.badLine(line, bad)
				line.Kind = MethodLine
				r.forget(bad)
			}
		}
	}
	r.scope.methods[s.Name.Text] = m
}

// forget takes back the names of a bad line of a method, which mean nothing on the sheet.
func (r *resolver) forget(s *lang.Bad) {
	for _, n := range s.Defines {
		delete(r.scope.bad, n.Key())
	}
	for _, n := range s.States {
		delete(r.scope.bad, "state "+n.Text)
		for _, p := range allProperties() {
			delete(r.scope.bad, r.propertySymbol(p, n))
		}
	}
	for _, n := range s.Spaces {
		delete(r.scope.bad, "space "+n.Text)
	}
}

// signature is a method's first line as its author wrote it.
func signature(m *Method) string {
	var ins, outs []string
	for _, p := range m.Def.Params {
		ins = append(ins, paramWord(p)+p.Name.Text)
	}
	for _, o := range m.Def.Outs {
		outs = append(outs, stateWord(o.State)+o.Name.Text)
	}
	return strings.Join(outs, ", ") + " = " + m.Name + "(" + strings.Join(ins, ", ") + ")"
}

func paramWord(p lang.Param) string {
	if p.Fluid {
		return "fluid "
	}
	return stateWord(p.State)
}

func stateWord(state bool) string {
	if state {
		return "state "
	}
	return ""
}

func (r *resolver) callStmt(line *Line, s *lang.CallStmt) {
	line.Kind = Call
	m := r.methodNamed(line, s.Call)
	if m == nil || m.bad {
		if m != nil {
			r.wait(line, m.Line)
		}
		r.badOuts(line, s)
		return
	}
	line.Method = m
	m.called = true
	r.reads(line, m.Line)
	args, ok := r.matchArgs(line, s, m)
	if ok && len(s.Outs) != len(m.Def.Outs) {
		r.fail(line, CodeArguments, s.Call.Fn.Loc, "%s gives %d results, and the line takes %d", m.Name, len(m.Def.Outs), len(s.Outs)).
			hint("write %s", signature(m))
		ok = false
	}
	if ok {
		for i, o := range s.Outs {
			if d := m.Def.Outs[i]; o.State != d.State {
				r.fail(line, CodeArguments, o.Loc, "result %d of %s is %s", i+1, m.Name, kindWord(d.State)).hint("write %s", signature(m))
				ok = false
			}
		}
	}
	if !ok {
		r.badOuts(line, s)
		return
	}
	r.working(line, s, m, args)
	r.resultUnit(line, s)
}

// resultUnit takes `in UNIT` at the end of a call: the unit of its one quantity.
func (r *resolver) resultUnit(line *Line, s *lang.CallStmt) {
	if s.In == nil || line.Failed() {
		return
	}
	var only *Symbol
	for _, b := range line.Outputs {
		if b.Symbol != nil && only != nil {
			r.fail(line, CodeArguments, s.In.Loc, "this call gives several quantities, and one unit cannot show them all").
				hint("leave out `in %s`, and ask for the unit where a result is shown", s.In.Text)
			return
		}
		if b.Symbol != nil {
			only = b.Symbol
		}
	}
	if only == nil {
		r.fail(line, CodeArguments, s.In.Loc, "this call gives no quantity to show in a unit").hint("leave out `in %s`", s.In.Text)
		return
	}
	only.Unit, _ = r.shownIn(line, s.In, only.Type, only.Unit)
}

func kindWord(state bool) string {
	if state {
		return "a state"
	}
	return "a quantity"
}

func (r *resolver) methodNamed(line *Line, c *lang.Call) *Method {
	m := r.scope.methods[c.Fn.Text]
	if m != nil {
		return m
	}
	if l := r.scope.bad["space "+c.Fn.Text]; l != nil {
		r.wait(line, l)
		return nil
	}
	if r.call != nil && r.call.Method.Name == c.Fn.Text {
		r.fail(line, CodeRecursion, c.Fn.Loc, "the method %s calls itself", c.Fn.Text).hint("a method may call only methods defined before it")
		return nil
	}
	if r.comesLater(line, c.Fn, "the method") {
		return nil
	}
	p := r.fail(line, CodeUnknownName, c.Fn.Loc, "no method is called %s", c.Fn.Text)
	near := r.near(c.Fn.Text, sortedKeys(r.scope.methods))
	switch {
	case len(near) > 0:
		p.hint("did you mean %s?", orList(near))
	case c.Fn.Text == "compressor" || c.Fn.Text == "turbine":
		p.hint("add the line `use gas_turbine` above")
	case functionNamed(c.Fn.Text) != nil:
		p.hint("%s is a function: write name = %s(…)", c.Fn.Text, c.Fn.Text)
	default:
		p.hint("a method is defined in a `method` fence above the line that calls it")
	}
	return nil
}

// badOuts defines a failed call's results, so that their readers wait.
func (r *resolver) badOuts(line *Line, s *lang.CallStmt) {
	for _, o := range s.Outs {
		if !o.State {
			r.defineBad(line, o.Name)
			continue
		}
		r.addState(line, o.Name, &State{ID: o.Name.Text, Line: line, Local: r.scope.local, Alias: &State{}, bad: true}, func(propsdb.Property) bool { return true })
	}
}

// matchArgs puts the arguments of a call in the order of the parameters.
func (r *resolver) matchArgs(line *Line, s *lang.CallStmt, m *Method) ([]lang.Arg, bool) {
	args := make([]lang.Arg, len(m.Def.Params))
	have := make([]bool, len(args))
	next := 0
	ok := true
	for _, a := range s.Call.Args {
		i := -1
		if a.Name != nil {
			for j, p := range m.Def.Params {
				if p.Name.Key() == a.Name.Key() {
					i = j
				}
			}
			if i < 0 {
				var names []string
				for _, p := range m.Def.Params {
					names = append(names, p.Name.Text)
				}
				f := r.fail(line, CodeArguments, a.Name.Loc, "%s has no parameter %s", m.Name, a.Name.Text)
				if near := r.near(a.Name.Text, names); len(near) > 0 {
					f.hint("did you mean %s?", orList(near))
				} else {
					f.hint("write %s", signature(m))
				}
				ok = false
				continue
			}
		} else {
			for next < len(args) && have[next] {
				next++
			}
			if next == len(args) {
				r.fail(line, CodeArguments, a.Loc, "%s takes %d arguments, and this is one more", m.Name, len(args)).hint("write %s", signature(m))
				return nil, false
			}
			i = next
		}
		if have[i] {
			r.fail(line, CodeArguments, a.Loc, "%s is given twice", m.Def.Params[i].Name.Text).hint("write %s", signature(m))
			ok = false
			continue
		}
		args[i], have[i] = a, true
	}
	for i, h := range have {
		if !h && ok {
			r.fail(line, CodeArguments, s.Call.Loc, "%s is not given its %s", m.Name, m.Def.Params[i].Name.Text).hint("write %s", signature(m))
			return nil, false
		}
	}
	return args, ok
}

// working resolves the method's body for one call, with a scope of its own.
func (r *resolver) working(line *Line, s *lang.CallStmt, m *Method, args []lang.Arg) {
	inner := newScope(true)
	inner.methods = m.earlier
	if inner.methods == nil {
		inner.methods = map[string]*Method{}
	}
	ok := true
	passed := map[string]bool{} // keys of bare symbols that were passed: an output state may adopt them
	for i, p := range m.Def.Params {
		a := args[i]
		if p.Fluid {
			f := r.fluidArg(line, a.X)
			ok = ok && f != nil
			line.Inputs = append(line.Inputs, Binding{Fluid: f})
			continue
		}
		ref, isState := a.X.(*lang.StateRef)
		if isState != p.State {
			r.fail(line, CodeArguments, a.Loc, "%s of %s is %s", p.Name.Text, m.Name, kindWord(p.State)).hint("write %s", signature(m))
			ok = false
			continue
		}
		if p.State {
			st := r.stateNamed(line, ref)
			if st == nil {
				ok = false
				continue
			}
			r.usesState(line, st)
			line.Inputs = append(line.Inputs, Binding{State: st})
			continue
		}
		x := r.expr(line, a.X)
		if x == nil {
			ok = false
			continue
		}
		if id, bareName := bare(a.X).(*lang.Ident); bareName && id.Of == nil {
			passed[id.Name.Key()] = true
		}
		line.Inputs = append(line.Inputs, Binding{X: x})
	}
	if !ok {
		r.badOuts(line, s)
		return
	}
	if r.nesting > maxUses {
		r.fail(line, CodeNesting, s.Loc, "methods call each other deeper than %d", maxUses)
		r.badOuts(line, s)
		return
	}
	outerScope, outerLines, outerCall := r.scope, r.lines, r.call
	line.caller = outerCall
	r.scope, r.lines, r.call = inner, &line.Body, line
	r.nesting++
	for i, p := range m.Def.Params {
		b := &line.Inputs[i]
		if p.Fluid {
			inner.fluids[p.Name.Text] = b.Fluid
			continue
		}
		if p.State {
			b.Local = &State{ID: p.Name.Text, Sheet: r.sheet.Name, Fluid: b.State.Fluid, Alias: b.State, Line: line, Local: true}
			defines := line.Defines
			r.addState(line, p.Name, b.Local, func(propsdb.Property) bool { return false })
			line.Defines = defines // a parameter is not a result of the line
			continue
		}
		ty := b.X.Type
		ty.Datum, _ = ty.Datum.settle()
		sym := &Symbol{Name: p.Name.Text, Sheet: r.sheet.Name, Type: ty, Unit: r.unitFor(b.X), Span: p.Name.Loc, Line: line, Local: true}
		r.addSymbol(p.Name.Key(), sym)
		b.Symbol = sym
	}
	for _, st := range m.Def.Body {
		r.stmt(st)
	}
	locals := r.scope
	r.nesting--
	r.scope, r.lines, r.call = outerScope, outerLines, outerCall
	for i, o := range s.Outs {
		r.output(line, o, m, m.Def.Outs[i], locals, passed)
	}
}

func (r *resolver) usesState(line *Line, st *State) {
	for _, s := range st.Props {
		r.uses(line, s)
		return
	}
}

// output gives a result of the working its name on the caller's side.
func (r *resolver) output(line *Line, o lang.Out, m *Method, d lang.Out, locals *scope, passed map[string]bool) {
	missing := func() {
		at := &Line{Kind: BadLine, File: m.File, Stmt: m.Def}
		r.fail(at, CodeUnknownName, d.Loc, "the method %s never defines its result %s", m.Name, stateWord(d.State)+d.Name.Text).
			hint("add a line to the method that does, or take it out of the first line")
		if line.Problem == nil {
			line.Problem = at.Problem
		}
	}
	if o.State {
		inner := locals.states[d.Name.Text]
		if inner == nil {
			missing()
		} else if inner.bad || inner.Line != line && inner.Line.Failed() {
			r.wait(line, inner.Line)
		}
		st := &State{ID: o.Name.Text, Sheet: r.sheet.Name, Line: line, Local: r.scope.local, Alias: inner}
		if inner != nil {
			st.Fluid = inner.Fluid
		} else {
			st.bad = true
			st.Alias = &State{}
		}
		line.Outputs = append(line.Outputs, Binding{State: st, Local: inner})
		r.addState(line, o.Name, st, func(p propsdb.Property) bool {
			return passed[r.propertySymbol(p, o.Name)]
		})
		return
	}
	inner := locals.symbols[d.Name.Key()]
	if inner == nil {
		if late, ok := locals.lateSymbol(d.Name.Key()); ok {
			outer := r.scope
			r.scope = locals
			inner = r.bring(d.Name, late)
			r.scope = outer
		}
	}
	if inner == nil {
		if l := locals.bad[d.Name.Key()]; l != nil {
			r.wait(line, l)
		} else {
			missing()
		}
		r.defineBad(line, o.Name)
		return
	}
	if inner.bad || inner.Line != line && inner.Line.Failed() {
		r.wait(line, inner.Line)
		r.defineBad(line, o.Name)
		return
	}
	sym := r.define(line, o.Name, inner.Type, inner.Unit)
	if sym != nil {
		line.Outputs = append(line.Outputs, Binding{Symbol: sym, From: inner})
	}
}
