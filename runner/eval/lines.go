package eval

import (
	"fmt"
	"math"
	"strings"

	"workings/runner/diag"
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/units"
)

// exec runs one line on a strict machine, and keeps what it came to for the trace.
func (m *machine) exec(st *step) {
	out := m.out(st)
	*out = outcome{lookups: out.lookups[:0], spread: out.spread}
	switch {
	case st.line.Problem != nil:
		out.status = Failed
		return
	case m.missing(st.line) != nil:
		out.status, out.fault = Failed, m.missing(st.line)
		m.forget(st.line.Defines)
		m.body(st)
		return
	case len(st.line.Waits) > 0 || m.waiting(st.line):
		out.status = Waiting
		m.body(st) // a used sheet or a working may still show what it can
		return
	}
	outer := m.step
	m.step = st
	f := m.evaluate(st)
	m.step = outer
	out.status, out.fault = Done, f
	if f != nil {
		out.status = Failed
		if f.code == codeWaits {
			out.status, out.fault = Waiting, nil
		}
		m.forget(st.line.Defines)
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
		if !m.has(s) && !(l.Kind == resolve.TableLine && m.absent[s] != "") {
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
	return l.State != nil && l.State.Fluid != nil && (!m.built(l.State.Fluid) || m.fluid(l.State.Fluid, 0).fluid == nil)
}

func (m *machine) evaluate(st *step) *fault {
	l := st.line
	switch l.Kind {
	case resolve.Input, resolve.Define:
		if l.Total != nil {
			return m.total(st)
		}
		return m.define(st)
	case resolve.FluidLine:
		if by := m.replace[l.Fluid]; by != nil {
			m.fluids[l.Fluid.Reg] = m.fluids[by.Reg]
			return m.run(fluidSymbols(st.make), 0, 1)
		}
		return m.run(st.make, 0, 1)
	case resolve.StateLine:
		if f := m.run(st.make, 0, 1); f != nil {
			return f
		}
		m.out(st).hot = isHot(l.State.Fluid, m.v[st.state.t][0])
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

// fluidSymbols are what is read of a fluid, not what makes it.
func fluidSymbols(ins []instr) []instr {
	for k := range ins {
		if ins[k].op == opFluidSym {
			return ins[k:]
		}
	}
	return nil
}

// define gives a symbol the value of its expression. What an input is given from outside a study
// stands for its expression.
func (m *machine) define(st *step) *fault {
	l := st.line
	v, outside := 0.0, false
	if l.Kind == resolve.Input {
		v, outside = m.given[l.Defines[0]]
	}
	var f *fault
	if !outside {
		if v, f = m.value(st.x); f != nil {
			f.file = l.XFile
		}
	}
	if f == nil && l.Kind == resolve.Input && !m.studied[st] {
		f = m.inputLimits(st, v)
	}
	if f != nil {
		return f
	}
	for _, s := range l.Defines {
		if isPoint(s) && v < 0 {
			return &fault{code: CodeBelowZero, file: l.XFile, span: l.X.Src.Span(), msg: fmt.Sprintf("%s = %s is below absolute zero", s.Name, m.text(v, l.X)), hint: "check which of the two temperatures is in °C"}
		}
		m.set(s, v)
	}
	return nil
}

// isPoint reports a temperature read on a scale, below whose zero there is nothing.
func isPoint(s *resolve.Symbol) bool { return s.Type.Kind == resolve.Point && s.Type.IsTemperature() }

func (m *machine) inputLimits(st *step, v float64) *fault {
	l := st.line
	if st.spread != nil {
		s, f := m.value(st.spread)
		if f != nil {
			return f
		}
		m.out(st).spread = math.Abs(s)
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
	if v >= lo && v <= hi || givenByUse(l) {
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
func givenByUse(l *resolve.Line) bool {
	return l.Overridden && len(l.Defines) > 0 && l.Defines[0].Sheet != ""
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

// callMethod gives the parameters their values, runs the working and names its results.
func (m *machine) callMethod(st *step) *fault {
	l := st.line
	if f := m.run(st.make, 0, 1); f != nil {
		return f
	}
	n := 0
	for _, b := range l.Inputs {
		if b.Symbol == nil {
			continue
		}
		v, f := m.value(st.given[n])
		if f != nil {
			return f
		}
		n++
		m.set(b.Symbol, v)
	}
	m.body(st)
	n = 0
	for _, b := range l.Outputs {
		if b.State != nil {
			o := st.outputs[n]
			n++
			if inner := m.prog.byLine[o.from]; inner != nil && inner != st && m.out(inner).status != Done {
				return &fault{code: codeWaits}
			}
			if f := m.run(o.read, 0, 1); f != nil {
				return f
			}
			continue
		}
		if !m.has(b.From) {
			return &fault{code: codeWaits}
		}
		m.set(b.Symbol, m.val(b.From))
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
