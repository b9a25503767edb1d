package eval

import (
	"workings/runner/diag"
	"workings/runner/resolve"
)

// Plan says what a study varies and what it wants to know.
type Plan struct {
	Vary []*resolve.Symbol // inputs of the sheet or of the sheets it uses
	Keep []*resolve.Symbol // any symbols
	// Replace gives a fluid of the sheet the place of another: whatever reads the key reads the
	// value.
	Replace map[*resolve.Fluid]*resolve.Fluid
}

// Batch is a sheet made ready to be evaluated at many points. Only the lines that what is kept
// depends on and that what is varied changes are evaluated at a point; in these, only what differs
// from point to point. A Batch is not changed by running it, and several may run it at once.
type Batch struct {
	plan Plan
	ran  *machine // strict: the sheet at its own point, whose values stand for all that does not vary
	// steps are the lines that are evaluated at a point, in their order: those of calls and solves
	// with them.
	steps   []*step
	studied map[*step]bool
	once    *machine // of one lane: what is the same at every point
	program schedule
}

// PlanError says why a plan cannot be studied.
type PlanError struct {
	Of     string // the symbol or fluid
	Reason string
}

func (e *PlanError) Error() string { return e.Of + " " + e.Reason }

// Batch makes the sheet of the trace ready to be evaluated at many points. The error is a *PlanError.
func (t *Trace) Batch(plan Plan) (*Batch, error) { return t.machine.batch(plan) }

func (ran *machine) batch(plan Plan) (*Batch, error) {
	b := &Batch{plan: plan, ran: ran}
	for _, s := range plan.Vary {
		if s.Line == nil || s.Line.Kind != resolve.Input || b.ran.prog.byLine[s.Line] == nil {
			return nil, &PlanError{s.Full(), "is no input, and only inputs are varied"}
		}
	}
	d := newDependence(b.ran.prog, plan)
	for _, s := range plan.Keep {
		d.needs(d.stepOf(s))
	}
	d.spread()
	for f, by := range plan.Replace {
		if d.affected[b.ran.prog.byLine[by.Line]] {
			return nil, &PlanError{by.Name, "depends itself on what is varied, and cannot take the place of " + f.Name}
		}
	}
	b.studied = map[*step]bool{}
	for st := range d.affected {
		b.studied[st] = d.needed[st]
	}
	b.steps = b.pointLines(b.ran.prog.lines, nil)
	b.schedule(d)
	return b, nil
}

// pointLines are the lines that are evaluated at a point, those of used sheets among them.
func (b *Batch) pointLines(lines, out []*step) []*step {
	for _, st := range lines {
		switch {
		case holdsLines(st.line):
			out = b.pointLines(st.body, out)
		case b.studied[st]:
			out = append(out, st)
		}
	}
	return out
}

// holdsLines: the lines under this one are lines of the sheet like others, each evaluated by itself.
func holdsLines(l *resolve.Line) bool { return l.Kind == resolve.Use || l.Kind == resolve.CycleLine }

// dependence is which lines others need, and which are affected by what is varied.
type dependence struct {
	prog     *Program
	plan     Plan
	needed   map[*step]bool
	order    []*step // those needed
	affected map[*step]bool
}

func newDependence(p *Program, plan Plan) *dependence {
	return &dependence{prog: p, plan: plan, needed: map[*step]bool{}, affected: map[*step]bool{}}
}

func (d *dependence) stepOf(s *resolve.Symbol) *step { return d.prog.byLine[s.Line] }

// needs marks a line and all it depends on. A chain of lines may be long: the lines to look at
// wait in a list.
func (d *dependence) needs(st *step) {
	wait := []*step{st}
	for len(wait) > 0 {
		st, wait = wait[len(wait)-1], wait[:len(wait)-1]
		if st == nil || d.needed[st] {
			continue
		}
		d.needed[st] = true
		d.order = append(d.order, st)
		wait = append(wait, d.on(st)...)
		if u := st.under; u != nil && !holdsLines(u.line) {
			wait = append(wait, u)
		}
		wait = append(wait, d.inside(st)...)
	}
}

// on are the lines that a line reads.
func (d *dependence) on(st *step) []*step {
	l := st.line
	var out []*step
	symbols := func(ss []*resolve.Symbol) {
		for _, s := range ss {
			out = append(out, d.stepOf(s))
		}
	}
	fluid := func(f *resolve.Fluid) {
		if f == nil {
			return
		}
		if f.Line != l {
			out = append(out, d.prog.byLine[f.Line])
		}
		if by := d.plan.Replace[f]; by != nil {
			out = append(out, d.prog.byLine[by.Line])
		}
	}
	symbols(l.Uses)
	for _, on := range l.Reads {
		out = append(out, d.prog.byLine[on])
	}
	if l.Total != nil { // which a component that has failed withholds
		for _, c := range l.Cycle.Components {
			out = append(out, d.prog.byLine[c.Line])
		}
	}
	if l.State != nil {
		fluid(l.State.Fluid)
	}
	if f := l.Fluid; f != nil {
		fluid(f)
		fluid(f.Oxidant)
		if f.Fuel != nil {
			fluid(f.Fuel.Fluid)
		}
	}
	for _, in := range l.Inputs {
		fluid(in.Fluid)
		if in.State != nil {
			out = append(out, d.prog.byLine[in.State.Line])
			fluid(in.State.Fluid)
		}
	}
	return out
}

// inside are the lines under a call or a solve without which it has no result: those that make the
// results of a call, and all of a solve's, which a trial cannot do without.
func (d *dependence) inside(st *step) []*step {
	var out []*step
	switch st.line.Kind {
	case resolve.Call:
		for _, o := range st.line.Outputs {
			if o.From != nil {
				out = append(out, d.stepOf(o.From))
			}
			if o.Local != nil {
				out = append(out, d.prog.byLine[o.Local.Line])
			}
		}
	case resolve.Solve:
		for _, b := range st.body {
			if b.line.Kind != resolve.Check {
				out = append(out, b)
			}
		}
		out = append(out, st.untils...)
	}
	return out
}

// spread finds which of the lines needed are affected by what is varied.
func (d *dependence) spread() {
	readers := map[*step][]*step{}
	for _, st := range d.order {
		for _, on := range d.on(st) {
			if on != nil && on != st {
				readers[on] = append(readers[on], st)
			}
		}
	}
	var wait []*step
	for _, s := range d.plan.Vary {
		wait = append(wait, d.stepOf(s))
	}
	for f := range d.plan.Replace {
		wait = append(wait, d.prog.byLine[f.Line])
	}
	for len(wait) > 0 {
		st := wait[len(wait)-1]
		wait = wait[:len(wait)-1]
		if st == nil || d.affected[st] {
			continue
		}
		d.affected[st] = true
		wait = append(wait, readers[st]...)
		// A call or a solve is evaluated as a whole.
		if u := st.under; u != nil && !holdsLines(u.line) {
			wait = append(wait, u)
		}
		if k := st.line.Kind; k == resolve.Call || k == resolve.Solve {
			for _, b := range st.body {
				if d.needed[b] {
					wait = append(wait, b)
				}
			}
			wait = append(wait, st.untils...)
		}
	}
}

// Reason is why points have failed, and which.
type Reason struct {
	Line    *resolve.Line // at fault
	Code    diag.Code
	Message string // of the first of the points
	Hint    string
	Points  []int // in their order
	first   int
}

// reasonFor is why a symbol has no value, on a strict machine: the line at fault among those it
// depends on.
func (m *machine) reasonFor(s *resolve.Symbol) *Reason {
	seen := map[*step]bool{}
	var look func(st *step) *Reason
	symbols := func(ss []*resolve.Symbol) *Reason {
		for _, s := range ss {
			if !m.has(s) {
				if r := look(m.prog.byLine[s.Line]); r != nil {
					return r
				}
			}
		}
		return nil
	}
	look = func(st *step) *Reason {
		if st == nil || seen[st] {
			return nil
		}
		seen[st] = true
		out := m.out(st)
		switch {
		case out.status == Done:
			return nil
		case st.line.Problem != nil:
			p := st.line.Problem
			return &Reason{Line: st.line, Code: p.Code, Message: p.Message, Hint: p.Hint}
		case out.fault != nil:
			return &Reason{Line: st.line, Code: out.fault.code, Message: out.fault.msg, Hint: out.fault.hint}
		}
		if r := symbols(st.line.Uses); r != nil {
			return r
		}
		for _, l := range append(append([]*resolve.Line{}, st.line.Waits...), st.line.Reads...) {
			if r := look(m.prog.byLine[l]); r != nil {
				return r
			}
		}
		for _, b := range st.body {
			if r := look(b); r != nil {
				return r
			}
		}
		return look(st.under)
	}
	r := look(m.prog.byLine[s.Line])
	if r == nil {
		why := m.absent[s]
		if why == "" {
			why = s.Full() + " has no value"
		}
		r = &Reason{Line: s.Line, Code: CodeNoProperty, Message: why}
	}
	return r
}
