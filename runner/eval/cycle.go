package eval

import (
	"fmt"
	"math"

	"workings/propsdb"
	"workings/runner/resolve"
)

// flowTolerance is how far, of the larger side, the flows into a mixer or splitter may differ from
// those out of it.
const flowTolerance = 1e-9

// component evaluates the flows of a component's legs and sees that none is lost between them.
func (m *machine) component(st *step) *fault {
	c := st.line.Component
	legs := append(append([]resolve.Leg{}, c.From...), c.To...)
	flows := make([]float64, len(legs))
	m.out(st).flows = flows
	if st.x != nil {
		v, f := m.value(st.x)
		if f != nil {
			return f
		}
		m.out(st).fuel = v
	}
	in, out, known := 0.0, 0.0, true
	for i, l := range legs {
		if st.given[i] == nil {
			flows[i], known = math.NaN(), false
			continue
		}
		v, f := m.value(st.given[i])
		if f != nil {
			return f
		}
		if v < 0 {
			return &fault{code: CodeFlow, span: c.Stmt.Loc, msg: fmt.Sprintf("the flow at state %s is %s: it runs backwards", l.State.Label(), m.text(v, l.Flow)),
				hint: "write the states in the direction of the flow, A -> B from inlet to outlet"}
		}
		flows[i] = v
		if i < len(c.From) {
			in += v
		} else {
			out += v
		}
	}
	if !known || !c.Conserves() || conserved(in, out) {
		return nil
	}
	x := legs[0].Flow
	return &fault{code: CodeFlow, span: c.Stmt.Loc, msg: fmt.Sprintf("mass is not conserved in the %s: %s flows in and %s out", c.Title(), m.text(in, x), m.text(out, x)),
		hint: "correct the flows above the lines of its branches: a `flow` holds for all the lines after it, up to the next"}
}

func conserved(in, out float64) bool { return math.Abs(in-out) <= flowTolerance*math.Max(in, out) }

// conserve gives up the lanes in which a component loses mass: args are the flows in, as many as val
// says, and then those out.
func (m *machine) conserve(i *instr, lo, hi int) {
	for lane := lo; lane < hi; lane++ {
		in, out := 0.0, 0.0
		for k, r := range i.args {
			if v := pick(m.v[r], lane); k < int(i.val) {
				in += v
			} else {
				out += v
			}
		}
		if !conserved(in, out) {
			m.giveUp(lane)
		}
	}
}

// broken reports a cycle one of whose components has failed or waits: it has no totals.
func (m *machine) broken(c *resolve.Cycle) bool {
	for _, x := range c.Components {
		if m.out(m.prog.byLine[x.Line]).status != Done {
			return true
		}
	}
	return false
}

// total evaluates a total of a cycle. One over a heat or work that is not above zero has no value,
// which is for the lines that read it to say.
func (m *machine) total(st *step) *fault {
	t := st.line.Total
	if t.Over != nil && !(m.val(t.Over) > 0) {
		m.set(t.Symbol, nan)
		m.absent[t.Symbol] = fmt.Sprintf("%s has no value: it is a share of %s, which is not above zero", t.Symbol.Full(), t.Over.Full())
		return nil
	}
	v, f := m.value(st.x)
	if f == nil {
		m.set(t.Symbol, v)
	}
	return f
}

// note keeps what the audit of a cycle and the drawings read: states and flows.
func (b *builder) note(p *Program) {
	t := b.trace
	t.states = map[*resolve.State]propsdb.State{}
	t.flows = map[*resolve.Expr]float64{}
	for s, st := range p.states {
		if e := t.entries[s.Line]; e != nil && e.Status == Done && len(b.m.states[st.slot]) > 0 {
			t.states[s] = b.m.states[st.slot][0]
		}
	}
	for l, st := range p.byLine {
		if l.Kind != resolve.ComponentLine || b.m.out(st).status != Done {
			continue
		}
		for i, leg := range append(append([]resolve.Leg{}, l.Component.From...), l.Component.To...) {
			if leg.Flow != nil {
				t.flows[leg.Flow] = b.m.out(st).flows[i]
			}
		}
		if fuel := l.Component.Fuel; fuel != nil {
			t.flows[fuel] = b.m.out(st).fuel
		}
	}
}

// State is a state as it was evaluated; false where it has failed or waits.
func (t *Trace) State(s *resolve.State) (propsdb.State, bool) {
	if e := t.entries[s.Line]; e == nil || e.Status != Done {
		return propsdb.State{}, false
	}
	for s.Alias != nil { // a name for it, in a working or after a call
		s = s.Alias
	}
	v, ok := t.states[s]
	return v, ok
}

// Fuel is the heat that a fuel sets free in a component, J/kg or W as the totals of its cycle are;
// zero where no fuel burns.
func (t *Trace) Fuel(c *resolve.Component) float64 { return t.flows[c.Fuel] }

// Flow is the mass flow of a leg of a cycle, a share or kg/s; false where the cycle gives none or
// its component has failed.
func (t *Trace) Flow(l resolve.Leg) (Value, bool) {
	v, ok := t.flows[l.Flow]
	if !ok {
		return Value{}, false
	}
	return t.show(v, unitOf(l.Flow, t.Sheet.System), l.Flow.Type), true
}
