package cycle

import (
	"fmt"
	"math"
	"strings"

	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/resolve"
)

// Audit is a cycle of a sheet with what its states come to.
type Audit struct {
	Cycle  *resolve.Cycle
	Sheet  string  // name of the used sheet that it stands in; "" for the notebook itself
	Report *Report // nil where the cycle has no values
	// Problems are the findings as they are reported, in the order of Report.Findings.
	Problems []*diag.Problem
}

// Part is the part of the report about a component, or nil.
func (a *Audit) Part(c *resolve.Component) *Part {
	if a.Report == nil {
		return nil
	}
	for i, x := range a.Cycle.Components {
		if x == c {
			return &a.Report.Parts[i]
		}
	}
	return nil
}

// Exchange is the part of the report about a heat exchanger, or nil.
func (a *Audit) Exchange(x *resolve.Exchanger) *Exchange {
	if a.Report == nil {
		return nil
	}
	for i, p := range a.Cycle.Exchangers {
		if p == x {
			return &a.Report.Pairs[i]
		}
	}
	return nil
}

// Run audits every cycle of a sheet and of the sheets it uses, in reading order, and gives the
// findings as problems of the sheet.
func Run(t *eval.Trace) ([]*Audit, []*diag.Problem) {
	r := &reader{trace: t}
	r.sheet(t.Sheet)
	return r.audits, r.problems
}

type reader struct {
	trace    *eval.Trace
	audits   []*Audit
	problems []*diag.Problem
}

func (r *reader) sheet(s *resolve.Sheet) {
	for _, l := range s.Lines {
		switch {
		case l.Sub != nil:
			r.sheet(l.Sub)
		case l.Kind == resolve.CycleLine && l.Cycle != nil:
			r.cycle(s, l.Cycle)
		}
	}
}

func (r *reader) cycle(s *resolve.Sheet, c *resolve.Cycle) {
	a := &Audit{Cycle: c, Sheet: s.Name}
	r.audits = append(r.audits, a)
	p, ok := r.plant(s, c)
	if !ok {
		return
	}
	a.Report = Examine(p)
	r.totals(c, a.Report)
	author := &author{finder: &finder{a.Report, wording{p.System, p.Basis}}, trace: r.trace, sheet: s, cycle: c}
	author.find()
	a.Report.sort()
	for i := range a.Report.Findings {
		problem := problemOf(a, &a.Report.Findings[i])
		a.Problems = append(a.Problems, problem)
		r.problems = append(r.problems, problem)
	}
}

// plant puts the evaluated states together; false where one of them has no value.
func (r *reader) plant(s *resolve.Sheet, c *resolve.Cycle) (*Plant, bool) {
	p := &Plant{System: s.System, Assumed: assumptions(s)}
	switch c.Flows {
	case resolve.SpecificFlow:
		p.Basis = PerShare
	case resolve.MassFlow:
		p.Basis = PerTime
	}
	if c.Line.Failed() || len(c.Components) == 0 {
		return nil, false
	}
	index := map[*resolve.Component]int{}
	for i, x := range c.Components {
		k := Component{Kind: Kind(x.Kind), Title: x.Title(), Pair: -1, Hot: x.Side == "hot", Fuel: r.trace.Fuel(x)}
		var ok1, ok2 bool
		k.In, ok1 = r.streams(c, x, x.From)
		k.Out, ok2 = r.streams(c, x, x.To)
		if !ok1 || !ok2 {
			return nil, false
		}
		if x.Fuel == nil && k.reacts() && (k.Kind.heats() || k.Kind.cools()) {
			k.Fuel = nan // which fuel burns is not known: the totals say why, and enthalpies alone are no heat
		}
		index[x] = i
		p.Components = append(p.Components, k)
	}
	for i, x := range c.Exchangers {
		pair := Pair{Kind: Kind(x.Kind), Hot: inFlow(p, x.Hot, index), Cold: inFlow(p, x.Cold, index)}
		if len(pair.Hot) == 0 || len(pair.Cold) == 0 {
			return nil, false
		}
		pair.Title = x.Kind
		if x.Name != "" {
			pair.Title += " " + x.Name
		}
		pair.Title += " " + p.span(pair.Cold) + ", " + p.span(pair.Hot)
		for _, j := range append(append([]int{}, pair.Hot...), pair.Cold...) {
			p.Components[j].Pair = i
		}
		p.Pairs = append(p.Pairs, pair)
	}
	for _, d := range c.Dead {
		if st, ok := r.trace.State(d); ok {
			p.Dead = append(p.Dead, st)
		}
	}
	ends := func(legs []resolve.Leg) []Stream {
		out, _ := r.streams(c, nil, legs)
		return out
	}
	p.In, p.Out = ends(c.Inlets), ends(c.Outlets)
	return p, true
}

// span is the way of one side: "4 → 5".
func (p *Plant) span(side []int) string {
	first, last := &p.Components[side[0]], &p.Components[side[len(side)-1]]
	return first.In[0].Label + " → " + last.Out[0].Label
}

func (r *reader) streams(c *resolve.Cycle, x *resolve.Component, legs []resolve.Leg) ([]Stream, bool) {
	var out []Stream
	for _, l := range legs {
		st, ok := r.trace.State(l.State)
		if !ok {
			return nil, false
		}
		flow := nan
		switch v, given := r.trace.Flow(l); {
		case c.Flows != resolve.NoFlow && given:
			flow = v.SI
		case c.Flows == resolve.NoFlow && x != nil && len(x.From)+len(x.To) == 2 && x.Conserves(), c.Flows == resolve.NoFlow && x == nil:
			flow = 1
		}
		out = append(out, Stream{l.State.Label(), st, flow})
	}
	return out, true
}

// inFlow puts the components of a side in the order in which its stream passes them.
func inFlow(p *Plant, side []*resolve.Component, index map[*resolve.Component]int) []int {
	left := make([]int, len(side))
	for i, x := range side {
		left[i] = index[x]
	}
	fed := func(i int) bool { // by another of them
		for _, j := range left {
			if j != i && p.Components[j].Out[0].Label == p.Components[i].In[0].Label {
				return true
			}
		}
		return false
	}
	var out []int
	for len(left) > 0 {
		next := 0
		for k, i := range left {
			if !fed(i) {
				next = k
				break
			}
		}
		out = append(out, left[next])
		left = append(left[:next:next], left[next+1:]...)
	}
	return out
}

// assumptions are the texts by which the sheet says what it leaves out on purpose.
func assumptions(s *resolve.Sheet) []string {
	var out []string
	for _, a := range s.Assumed {
		out = append(out, strings.ToLower(a.Label+" "+a.Stmt.Text.Text+" "+a.Stmt.Basis.Text))
	}
	return out
}

// totals takes the totals of the sheet's own symbols, which know the heat of a fuel as well.
func (r *reader) totals(c *resolve.Cycle, rep *Report) {
	t := &rep.Totals
	value := func(names ...string) float64 {
		for _, n := range names {
			if total := c.Total(n); total != nil {
				if v, ok := r.trace.Value(total.Symbol); ok {
					return v.SI
				}
			}
		}
		return nan
	}
	t.In, t.Out, t.Net = value("q_in", "Qdot_in"), value("q_out", "Qdot_out"), value("w_net", "Wdot_net")
	t.Eta, t.Back, t.Residual = value("eta"), value("bwr"), value("residual")
	t.Why = ""
	for _, w := range c.Without() {
		t.Why = w.Reason
		break
	}
}

// problemOf words a finding as a problem of the sheet.
func problemOf(a *Audit, f *Finding) *diag.Problem {
	p := &diag.Problem{Code: f.Code, Severity: diag.Caution, File: a.Cycle.Line.File, Span: a.Cycle.Stmt.Name.Loc,
		Message: f.Message, Label: f.Label, Hint: f.Hint, Subject: f.Subject, Related: f.Related}
	if f.Grade == Impossible {
		p.Severity = diag.Error
	}
	prefix := ""
	if a.Sheet != "" {
		prefix = a.Sheet + "."
		p.Message += " (in the used sheet " + a.Sheet + ")"
	}
	if p.Subject == "" {
		p.Subject = prefix + a.Cycle.Name
	}
	if f.Component >= 0 {
		x := a.Cycle.Components[f.Component]
		p.Span = x.Stmt.Loc
		if f.Subject == "" {
			p.Subject = prefix + "state " + x.To[0].State.ID
		}
		p.Related = append(p.Related, stateLines(a.Cycle, f)...)
	}
	if f.Line != nil {
		p.Related = append([]diag.Related{{File: p.File, Span: p.Span, Message: "the component that shows it"}}, f.Related...)
		p.File, p.Span = f.Line.File, f.Line.Stmt.Span()
	}
	if p.Severity == diag.Caution {
		p.Hint = join(p.Hint, fmt.Sprintf("settle it by accept %s on %s // reason", p.Code, strings.TrimPrefix(p.Subject, prefix)))
	}
	return p
}

func join(a, b string) string {
	if a == "" {
		return b
	}
	return a + "; or " + b
}

// stateLines point at the lines of the states that a finding is about, each line once.
func stateLines(c *resolve.Cycle, f *Finding) []diag.Related {
	var out []diag.Related
	seen := map[*resolve.Line]bool{}
	for _, i := range []int{f.Component, f.Other} {
		if i < 0 {
			continue
		}
		x := c.Components[i]
		for _, l := range append(append([]resolve.Leg{}, x.From...), x.To...) {
			line := l.State.Line
			if line == nil || line.Stmt == nil || seen[line] || l.State.Local {
				continue
			}
			seen[line] = true
			out = append(out, diag.Related{File: line.File, Span: line.Stmt.Span(), Message: "state " + l.State.Label()})
		}
	}
	return out
}

// near reports two values that print alike to nine digits.
func near(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Max(math.Abs(a), math.Abs(b)) }
