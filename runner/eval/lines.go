package eval

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"workings/propsdb"
	"workings/runner/diag"
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/units"
)

// exec runs one line. Its status and fault are kept in the step for the trace.
func (m *machine) exec(st *step) {
	st.fault, st.lookups, st.solve = nil, st.lookups[:0], nil
	switch {
	case st.line.Problem != nil:
		st.status = Failed
		return
	case m.missing(st.line) != nil:
		st.status, st.fault = Failed, m.missing(st.line)
		for _, s := range st.line.Defines {
			m.ok[s.Reg] = false
		}
		m.body(st)
		return
	case len(st.line.Waits) > 0 || m.waiting(st.line):
		st.status = Waiting
		m.body(st) // a used sheet or a working may still show what it can
		return
	}
	outer := m.step
	m.step = st
	st.fault = m.evaluate(st)
	m.step = outer
	st.status = Done
	if st.fault != nil {
		st.status = Failed
		if st.fault.code == codeWaits {
			st.status, st.fault = Waiting, nil
		}
		for _, s := range st.line.Defines {
			m.ok[s.Reg] = false
		}
	}
}

// body runs the lines under a line that itself cannot be evaluated.
func (m *machine) body(st *step) {
	for _, b := range st.body {
		m.exec(b)
	}
}

func (m *machine) waiting(l *resolve.Line) bool {
	for _, s := range l.Uses {
		if !m.ok[s.Reg] && !(l.Kind == resolve.TableLine && m.absent[s] != "") {
			return true
		}
	}
	for _, on := range l.Reads {
		if on.Fluid != nil && on.Kind == resolve.FluidLine && !m.built(on.Fluid) {
			return true
		}
	}
	if l.Total != nil && m.broken(l.Cycle) {
		return true
	}
	return l.State != nil && l.State.Fluid != nil && m.fluids[l.State.Fluid.Reg] == nil
}

func (m *machine) evaluate(st *step) *fault {
	l := st.line
	switch l.Kind {
	case resolve.Input, resolve.Define:
		if l.Total != nil {
			return m.total(st)
		}
		v, f := m.value(st.x)
		if f != nil {
			f.file = l.XFile
		}
		if m.shift != nil && l.Kind == resolve.Input {
			if l.Defines[0] == m.shift {
				v = m.shifted
			}
		} else if f == nil && l.Kind == resolve.Input {
			f = m.inputLimits(st, v)
		}
		if f != nil {
			return f
		}
		for _, s := range l.Defines {
			if s.Type.Kind == resolve.Point && s.Type.IsTemperature() && v < 0 {
				return &fault{code: CodeBelowZero, file: l.XFile, span: l.X.Src.Span(), msg: fmt.Sprintf("%s = %s is below absolute zero", s.Name, m.text(v, l.X)), hint: "check which of the two temperatures is in °C"}
			}
			m.set(s, v)
		}
	case resolve.FluidLine:
		return m.fluid(st)
	case resolve.StateLine:
		return m.state(st)
	case resolve.Check:
		return m.check(st)
	case resolve.Call:
		return m.callMethod(st)
	case resolve.Solve:
		return m.solve(st)
	case resolve.Use, resolve.CycleLine:
		m.body(st)
	case resolve.ComponentLine:
		return m.component(st)
	}
	return nil
}

func (m *machine) inputLimits(st *step, v float64) *fault {
	l := st.line
	if st.spread != nil {
		s, f := m.value(st.spread)
		if f != nil {
			return f
		}
		st.spreadValue = math.Abs(s)
	}
	if st.lo == nil {
		return nil
	}
	lo, f := m.value(st.lo)
	if f != nil {
		return f
	}
	hi, f := m.value(st.hi)
	if f != nil {
		return f
	}
	if v >= lo && v <= hi || m.givenByUse(l) {
		return nil
	}
	in := l.Stmt.(*lang.Input)
	if lo > hi {
		return &fault{code: CodeLimits, span: in.Between.Loc, msg: "this range runs downwards and holds nothing", hint: "write the lower end first"}
	}
	return &fault{code: CodeOutside, file: l.XFile, span: l.X.Src.Span(), msg: fmt.Sprintf("%s = %s is outside its allowed range", in.Name.Text, m.text(v, l.X)),
		label: fmt.Sprintf("allowed: %s .. %s", m.text(lo, l.Lo), m.text(hi, l.Hi)), hint: "correct the value, or widen the range and say why"}
}

// givenByUse: another sheet gives the input its value, which may lie outside and is then only
// cautioned about.
func (m *machine) givenByUse(l *resolve.Line) bool {
	return l.Overridden && len(l.Defines) > 0 && l.Defines[0].Sheet != ""
}

func (m *machine) state(st *step) *fault {
	s := st.line.State
	g := m.fluids[s.Fluid.Reg]
	var v [2]float64
	for i, c := range st.given {
		x, f := m.value(c)
		if f != nil {
			return f
		}
		v[i] = x
	}
	var ps propsdb.State
	var err error
	switch {
	case len(st.given) == 2:
		ps, err = g.State(s.Given[0].Prop, v[0], s.Given[1].Prop, v[1])
	case s.Given[0].Prop == propsdb.T:
		ps, err = g.StateT(v[0])
	default:
		ps, err = g.StateH(v[0])
	}
	if err != nil {
		return m.stateFault(st.line.Stmt.Span(), st.line.State, err)
	}
	m.states[st.state] = ps
	st.hot = s.Fluid.Kind == resolve.ProductsOf && ps.T() > propsdb.DissociationTemperature
	return m.readProps(ps, st.props, st)
}

func (m *machine) readProps(ps propsdb.State, props []*resolve.Symbol, st *step) *fault {
	for _, s := range props {
		v, err := ps.Get(s.Prop)
		var none *propsdb.NoPropertyError
		if errors.As(err, &none) {
			// The state is there; the line that reads this property of it is at fault.
			m.ok[s.Reg], m.absent[s] = false, err.Error()
			continue
		}
		if err != nil {
			return m.stateFault(st.line.Stmt.Span(), st.line.State, err)
		}
		m.set(s, v)
	}
	return nil
}

// missing is the fault of a line that reads a property which its state does not have.
func (m *machine) missing(l *resolve.Line) *fault {
	if l.Kind == resolve.TableLine {
		return nil // its cell stays empty
	}
	for _, s := range l.Uses {
		if why, ok := m.absent[s]; ok && !m.ok[s.Reg] {
			return &fault{code: CodeNoProperty, span: firstUse(l, s), msg: why, hint: "read another property, or another state"}
		}
	}
	return nil
}

// firstUse is where a line first reads a symbol.
func firstUse(l *resolve.Line, s *resolve.Symbol) diag.Span {
	span := l.Stmt.Span()
	found := false
	lang.Walk(l.Stmt, func(n lang.Node) bool {
		if id, ok := n.(*lang.Ident); ok && !found && id.Name.Key() == (lang.Name{Text: s.Name}).Key() {
			span, found = id.Loc, true
		}
		return !found
	})
	return span
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

// callMethod gives the parameters their values, runs the working and names its results.
func (m *machine) callMethod(st *step) *fault {
	l := st.line
	n := 0
	for i, b := range l.Inputs {
		if b.Fluid != nil {
			continue
		}
		if b.State != nil {
			c := st.inputs[n]
			n++
			m.states[c.to] = m.states[c.from]
			if f := m.readProps(m.states[c.to], c.props, st); f != nil {
				return f
			}
			continue
		}
		v, f := m.value(st.params[i])
		if f != nil {
			return f
		}
		m.set(b.Symbol, v)
	}
	m.body(st)
	n = 0
	for _, b := range l.Outputs {
		if b.State != nil {
			c := st.outputs[n]
			n++
			if inner := m.prog.byLine[b.Local.Line]; inner != nil && inner != st && inner.status != Done {
				return &fault{code: codeWaits}
			}
			m.states[c.to] = m.states[c.from]
			if f := m.readProps(m.states[c.to], c.props, st); f != nil {
				return f
			}
			continue
		}
		if !m.ok[b.From.Reg] {
			return &fault{code: codeWaits}
		}
		m.set(b.Symbol, m.regs[b.From.Reg])
	}
	return nil
}

// codeWaits marks a call whose working has failed: the fault is reported there.
const codeWaits diag.Code = "waits"

// text shows a value in an expression's unit, for messages.
func (m *machine) text(si float64, e *resolve.Expr) string {
	u := e.Unit
	if !e.HasU || u.Dimension() != e.Type.Dim {
		var ok bool
		if u, ok = units.Preferred(e.Type.Dim, m.sheet.System); !ok {
			u = units.SIUnit(e.Type.Dim)
		}
	}
	return formatValue(u.FromSI(si, m.sheet.Ambient), u)
}

// formatValue is a number with its unit, for messages: six digits, and none that say nothing.
func formatValue(v float64, u units.Unit) string {
	s := units.FormatNumber(v, 6)
	s, power, scaled := strings.Cut(s, "×")
	if strings.Contains(s, ".") {
		s = strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
	}
	if scaled {
		s += "×" + power
	}
	if u.IsNone() {
		return s
	}
	return s + " " + u.String()
}
