package eval

import (
	"errors"
	"fmt"

	"workings/propsdb"
	"workings/runner/diag"
	"workings/runner/resolve"
	"workings/units"
)

// fluid is that of a lane.
func (m *machine) fluid(f *resolve.Fluid, lane int) *made {
	switch x := m.fluids[f.Reg]; len(x) {
	case 0:
		return &made{} // its line has made nothing
	case 1:
		return &x[0]
	default:
		return &x[lane]
	}
}

// gas is the fluid where it is the same ideal gas in every lane: then T and p are its state, and
// many points are computed at once.
func (m *machine) gas(f *resolve.Fluid) *propsdb.Fluid {
	if x := m.fluids[f.Reg]; len(x) == 1 && x[0].fluid != nil && x[0].fluid.Kind() != propsdb.Water {
		return x[0].fluid
	}
	return nil
}

// fixStates finds the states that pairs of properties fix; T is NaN where they fix none.
func (m *machine) fixStates(i *instr, a, b []float64, lo, hi int) {
	st := i.st
	t, p := m.v[st.t][lo:hi], []float64(nil)
	if st.findsP {
		p = m.v[st.p][lo:hi]
	}
	g := m.gas(st.fluid)
	switch {
	case g == nil:
		m.fixOneByOne(st, a, b, t, p, lo)
	case len(st.given) == 2:
		for k := range t {
			x, y := g.SolveFast(st.given[0], pick(a, k), st.given[1], pick(b, k))
			t[k] = x
			if p != nil {
				p[k] = y
			}
		}
	default:
		for k := range t {
			t[k] = nan
			if s := alone(g, st.given[0], pick(a, k)); s.Fluid() != nil {
				t[k] = s.T()
			}
		}
	}
}

// alone is the state of a gas given T or h only; the zero state where there is none.
func alone(g *propsdb.Fluid, q propsdb.Property, v float64) propsdb.State {
	var s propsdb.State
	if q == propsdb.T {
		s, _ = g.StateT(v)
	} else {
		s, _ = g.StateH(v)
	}
	return s
}

func (m *machine) fixOneByOne(st *stateCode, a, b, t, p []float64, lo int) {
	s := m.slot(st, len(m.v[st.t]))
	for k := range t {
		var x propsdb.State
		switch g := m.fluid(st.fluid, lo+k).fluid; {
		case g == nil:
		case len(st.given) == 2:
			x = g.StateFast(st.given[0], pick(a, k), st.given[1], pick(b, k))
		default:
			x = alone(g, st.given[0], pick(a, k))
		}
		s[lo+k], t[k] = x, nan
		if x.Fluid() != nil {
			t[k] = x.T()
		}
		if p != nil {
			p[k] = x.GetFast(propsdb.P)
		}
	}
}

// slot holds the states of a line at every lane, made when one is first needed.
func (m *machine) slot(st *stateCode, lanes int) []propsdb.State {
	if len(m.states[st.slot]) < lanes {
		m.states[st.slot] = make([]propsdb.State, lanes)
	}
	return m.states[st.slot]
}

// property reads a property of states from T and p; NaN where there is none.
func (m *machine) property(i *instr, d, t, p []float64, lo int) {
	if g := m.gas(i.st.fluid); g != nil {
		for k := range d {
			d[k] = g.GetFast(i.prop, pick(t, k), pick(p, k))
		}
		return
	}
	s := m.states[i.st.slot]
	for k := range d {
		switch {
		case len(s) == 0:
			d[k] = nan
		case len(s) == 1:
			d[k] = s[0].GetFast(i.prop)
		default:
			d[k] = s[lo+k].GetFast(i.prop)
		}
	}
}

// ofGiven hands on a property by which states were given, where there is a state.
func ofGiven(d, v, t []float64) {
	for k := range d {
		d[k] = pick(v, k)
		if t := pick(t, k); t != t {
			d[k] = t
		}
	}
}

// described keeps the state with all that a reader is told of it, on the one lane of a strict
// machine, or says why there is none.
func (m *machine) described(i *instr) *fault {
	st, l := i.st, i.step.line
	var s propsdb.State
	var err error
	switch g := m.fluid(st.fluid, 0).fluid; {
	case len(st.given) == 2:
		s, err = g.State(st.given[0], m.v[i.a][0], st.given[1], m.v[i.b][0])
	case st.given[0] == propsdb.T:
		s, err = g.StateT(m.v[i.a][0])
	default:
		s, err = g.StateH(m.v[i.a][0])
	}
	if err != nil {
		return m.stateFault(l.Stmt.Span(), l.State, err)
	}
	m.slot(st, 1)[0] = s
	return nil
}

// noProperty is why a property has no value. One that the state does not have is no fault of the
// state's line: the line that reads it is at fault.
func (m *machine) noProperty(i *instr) *fault {
	if t := m.v[i.st.t][0]; t != t {
		return &fault{code: codeWaits} // for the state
	}
	_, err := m.states[i.st.slot][0].Get(i.prop)
	var none *propsdb.NoPropertyError
	if err == nil || errors.As(err, &none) {
		m.absent[i.sym] = fmt.Sprint(err)
		return nil
	}
	return m.stateFault(i.step.line.Stmt.Span(), i.step.line.State, err)
}

// missing is the fault of a line that reads a property which its state does not have.
func (m *machine) missing(l *resolve.Line) *fault {
	if l.Kind == resolve.TableLine {
		return nil // its cell stays empty
	}
	for _, s := range l.Uses {
		if why, ok := m.absent[s]; ok && !m.has(s) {
			return &fault{code: CodeNoProperty, span: firstUse(l, s), msg: why, hint: "read another property, or another state"}
		}
	}
	return nil
}

// stateFault puts a property error at the argument it is about, in units a reader knows.
// Of a property that is read without a state, s is nil.
func (m *machine) stateFault(span diag.Span, s *resolve.State, err error) *fault {
	f := &fault{code: CodeState, span: span, msg: err.Error()}
	at := func(p propsdb.Property) {
		if s == nil {
			return
		}
		for _, g := range s.Given {
			if g.Prop == p || p == propsdb.V && g.Prop == propsdb.Rho {
				f.span = g.X.Src.Span()
			}
		}
	}
	var rng *propsdb.RangeError
	var val *propsdb.ValueError
	var need *propsdb.NeedsPressureError
	var saturated *propsdb.SaturationError
	switch {
	case errors.As(err, &rng):
		show := func(v float64) string { return m.showProperty(rng.Property, v) }
		f.code = CodeRange
		f.msg = fmt.Sprintf("%s %s = %s is outside the range of %s", rng.Property.Name(), rng.Property.Symbol(), show(rng.Value), rng.Of)
		f.hint = fmt.Sprintf("its data run from %s to %s; nothing is extrapolated", show(rng.Lo), show(rng.Hi))
		at(rng.Property)
	case errors.As(err, &val):
		f.msg = fmt.Sprintf("%s %s = %s %s", val.Property.Name(), val.Property.Symbol(), m.showProperty(val.Property, val.Value), val.Reason)
		f.hint = "check the sign and the unit of what gives it"
		at(val.Property)
	case errors.As(err, &saturated):
		f.hint = "on the saturation line p and T say the same: give x, h or s with one of them"
	case errors.As(err, &need):
		f.hint = "give the state a pressure as well: state 1 = air(p, T)"
	default:
		f.hint = "check the two properties that fix the state"
	}
	return f
}

// showProperty is a property's SI value in the unit that the preference list gives it.
func (m *machine) showProperty(p propsdb.Property, v float64) string {
	u, err := units.Parse(p.Unit())
	if err != nil {
		return fmt.Sprint(v)
	}
	if pref, ok := units.Preferred(u.Dimension(), m.sheet.System); ok {
		u = pref
	}
	return formatValue(u.FromSI(v, 0), u)
}
