package eval

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"workings/propsdb"
	"workings/runner/diag"
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/units"
)

// Run evaluates a checked sheet. What is accepted in it is settled by Settle, once everything that
// may be accepted has been found.
func Run(s *resolve.Sheet) *Trace {
	p := compile(s)
	m := newMachine(p)
	for _, st := range p.lines {
		m.exec(st)
	}
	b := newBuilder(m)
	b.build(p)
	b.trace.Unconfirmed = unconfirmed(b.trace)
	return b.trace
}

// At is the sheet evaluated again with other values, in SI, of some of its inputs; they may lie outside
// their allowed ranges. It has no uncertainties, and nothing in it is settled.
func (t *Trace) At(inputs []*resolve.Symbol, values []float64) *Trace {
	m := newMachine(t.machine.prog)
	m.given, m.studied = map[*resolve.Symbol]float64{}, map[*step]bool{}
	for i, s := range inputs {
		m.given[s] = values[i]
		m.studied[m.prog.byLine[s.Line]] = true
	}
	for _, st := range m.prog.lines {
		m.exec(st)
	}
	b := newBuilder(m)
	b.build(m.prog)
	return b.trace
}

func newBuilder(m *machine) *builder {
	b := &builder{m: m, fluidCall: map[*resolve.Fluid]string{}, trace: &Trace{Sheet: m.sheet, machine: m, values: make(map[*resolve.Symbol]float64, m.prog.base), entries: make(map[*resolve.Line]*Entry, m.prog.steps)},
		read: map[*resolve.Symbol]bool{}, seen: map[problemKey]bool{}, waits: map[*resolve.Line][]string{}, cautions: map[*diag.Problem]*CheckDetail{}}
	b.trace.Problems = append(b.trace.Problems, m.sheet.Problems...)
	return b
}

func (m *machine) unitOf(e *resolve.Expr) units.Unit { return unitOf(e, m.sheet.System) }

// unitOf is the unit that an expression is shown in.
func unitOf(e *resolve.Expr, system units.System) units.Unit {
	if e.HasU && e.Unit.Dimension() == e.Type.Dim {
		return e.Unit
	}
	if u, ok := units.Preferred(e.Type.Dim, system); ok {
		return u
	}
	return units.SIUnit(e.Type.Dim)
}

// differenceOf is the unit of a difference of two values in u.
func differenceOf(u units.Unit, difference bool) units.Unit {
	if !difference {
		return u
	}
	switch u.String() {
	case "°C":
		return units.SIUnit(units.DimTemperature())
	case "%":
		if pt, err := units.Parse("%pt"); err == nil {
			return pt // a difference of two percentages is in percentage points
		}
	}
	return u.Difference()
}

type problemKey struct {
	file *diag.File
	span diag.Span
	code diag.Code
	call diag.Span // of the call it showed in
	// sheet is the name of the used sheet it showed in: variants of one sheet fail for
	// themselves.
	sheet string
}

// builder turns what the machine left into a trace.
type builder struct {
	m       *machine
	trace   *Trace
	read    map[*resolve.Symbol]bool
	seen    map[problemKey]bool
	accepts []acceptance
	calls   []*resolve.Line // whose workings are being looked at
	refused []string        // by call: the number of its check that does not hold
	sheet   string          // the used sheet that is being looked at
	ambient float64         // of that sheet
	waits   map[*resolve.Line][]string
	// fluidCall is the number of the call whose working makes a fluid.
	fluidCall map[*resolve.Fluid]string
	// cautions finds the check that a reported caution belongs to.
	cautions map[*diag.Problem]*CheckDetail
}

func (b *builder) build(p *Program) {
	t := b.trace
	b.reads(t.Sheet)
	b.accepts, b.ambient = accepts(t.Sheet), t.Sheet.Ambient
	t.Entries = b.entries(p.lines, "", "", 0)
	b.link(t.Entries, nil)
	b.fluids(t.Sheet)
	t.accepts, t.cautions = b.accepts, b.cautions
	b.note(p)
}

// reads notes which symbols anything reads.
func (b *builder) reads(s *resolve.Sheet) {
	var lines func([]*resolve.Line)
	lines = func(ls []*resolve.Line) {
		for _, l := range ls {
			for _, u := range l.Uses {
				b.read[u] = true
			}
			if l.Kind == resolve.Call {
				for _, o := range l.Outputs {
					if o.From != nil {
						b.read[o.From] = true
					}
				}
			}
			lines(l.Body)
			lines(l.Untils)
		}
	}
	lines(s.Lines)
	for _, list := range [][]*resolve.Shown{s.Answers, s.Prose} {
		for _, sh := range list {
			if sh != nil && sh.Symbol != nil {
				b.read[sh.Symbol] = true
			}
		}
	}
	for _, tb := range s.Tables {
		for _, sh := range tb.Symbols {
			if sh != nil && sh.Symbol != nil {
				b.read[sh.Symbol] = true
			}
		}
	}
}

// numbered kinds have an entry number.
func numbered(k resolve.Kind) bool {
	switch k {
	case resolve.Input, resolve.Define, resolve.FluidLine, resolve.StateLine, resolve.Check, resolve.Call, resolve.Solve, resolve.Until, resolve.Use, resolve.BadLine,
		resolve.CycleLine, resolve.ComponentLine:
		return true
	}
	return false
}

// entries makes the entries of some lines; prefix stands before their numbers, counting from
// first+1.
func (b *builder) entries(steps []*step, prefix, sheet string, first int) []*Entry {
	out := make([]*Entry, 0, len(steps))
	n := first
	for _, st := range steps {
		came := b.m.out(st)
		e := &Entry{Line: st.line, Sheet: sheet, Status: came.status, Lookups: came.lookups}
		if numbered(st.line.Kind) {
			n++
			e.Number = prefix + strconv.Itoa(n)
		}
		b.trace.entries[st.line] = e
		out = append(out, e)
		b.entry(st, e)
	}
	return out
}

func (b *builder) entry(st *step, e *Entry) {
	l := st.line
	if st.line.Problem != nil {
		e.Problem = st.line.Problem
	}
	if f := b.m.out(st).fault; f != nil {
		if by := b.refusedBy(); by != "" {
			// The method says itself that it is not for these values: what then fails is no fault
			// of its own.
			e.Status, b.waits[l] = Waiting, []string{by}
		} else {
			e.Problem = b.problem(l, f)
		}
	}
	e.Results = make([]Result, 0, len(l.Defines))
	for _, s := range l.Defines {
		r := Result{Symbol: s, Read: b.read[s]}
		if b.m.has(s) && e.Status == Done {
			b.trace.values[s] = b.m.val(s)
			r.OK = true
			r.Value = show(b.m.val(s), s.Unit, s.Type, b.ambient)
		}
		e.Results = append(e.Results, r)
	}
	switch l.Kind {
	case resolve.FluidLine:
		if n := len(b.calls); n > 0 && l.Fluid != nil {
			b.fluidCall[l.Fluid] = b.trace.entries[b.calls[n-1]].Number
		}
	case resolve.Input:
		b.input(st, e)
	case resolve.Define:
		b.hotFlame(st, e)
	case resolve.StateLine:
		b.state(st, e)
		b.dissociation(st, e)
		b.coldWater(st, e)
	case resolve.Check:
		if by := b.refusedBy(); by != "" && e.Status == Done && b.calculated(l) {
			e.Status, b.waits[l] = Waiting, []string{by}
		}
		e.Check = b.checkDetail(st, e)
		b.trace.Checks = append(b.trace.Checks, e)
		b.checkProblem(st, e)
	case resolve.Call:
		for _, in := range l.Inputs {
			if in.Symbol != nil && b.m.has(in.Symbol) {
				b.trace.values[in.Symbol] = b.m.val(in.Symbol)
			}
			if in.Local != nil {
				for _, s := range in.Local.Props {
					if b.m.has(s) {
						b.trace.values[s] = b.m.val(s)
					}
				}
			}
		}
		b.calls, b.refused = append(b.calls, l), append(b.refused, "")
		e.Children = b.entries(st.body, e.Number+".", e.Sheet, 0)
		b.calls, b.refused = b.calls[:len(b.calls)-1], b.refused[:len(b.refused)-1]
	case resolve.Solve:
		e.Solve = b.m.out(st).solve
		if e.Solve != nil {
			for i := range e.Solve.Residuals {
				r := &e.Solve.Residuals[i]
				r.Shown = r.Unit.FromSI(r.SI, b.trace.Sheet.Ambient)
			}
		}
		e.Children = b.entries(st.body, e.Number+".", e.Sheet, 0)
		if st.untils == nil {
			for _, u := range l.Untils {
				e.Children = append(e.Children, b.untilEntry(u, e))
			}
		}
		e.Children = append(e.Children, b.entries(st.untils, e.Number+".", e.Sheet, countNumbered(e.Children))...)
	case resolve.CycleLine:
		e.Children = b.entries(st.body, e.Number+".", e.Sheet, 0)
	case resolve.Use:
		if l.Sub != nil {
			sheet, ambient := b.sheet, b.ambient
			b.sheet, b.ambient = l.Sub.Name, l.Sub.Ambient
			e.Children = b.entries(st.body, l.Sub.Name+".", l.Sub.Name, 0)
			b.sheet, b.ambient = sheet, ambient
			b.fluids(l.Sub)
		}
	}
}

// untilEntry stands for a condition of a solve that was never lowered.
func (b *builder) untilEntry(u *resolve.Line, solve *Entry) *Entry {
	e := &Entry{Line: u, Sheet: solve.Sheet, Status: Waiting, Problem: u.Problem, Number: fmt.Sprintf("%s.%d", solve.Number, countNumbered(solve.Children)+1)}
	if u.Problem != nil {
		e.Status = Failed
	}
	b.trace.entries[u] = e
	return e
}

func countNumbered(es []*Entry) int {
	n := 0
	for _, e := range es {
		if e.Number != "" {
			n++
		}
	}
	return n
}

// fluids lists those of a sheet. A working's fluid goes by its name and the number of its call; one
// that the tool carries is listed once.
func (b *builder) fluids(s *resolve.Sheet) {
	for _, f := range s.Fluids {
		g := b.fluid(f)
		if g == nil || f.Line.Failed() {
			continue
		}
		use := FluidUse{Name: f.Name, Fluid: g, Of: f}
		if s.Name != "" {
			use.Name = s.Name + "." + f.Name
		}
		if call := b.fluidCall[f]; call != "" {
			if b.listed(g, use.Name) {
				continue
			}
			use.Name += ", " + call
		}
		b.trace.Fluids = append(b.trace.Fluids, use)
	}
}

func (b *builder) listed(g *propsdb.Fluid, name string) bool {
	return slices.ContainsFunc(b.trace.Fluids, func(u FluidUse) bool { return u.Fluid == g && u.Name == name })
}

// fluid is what the line of a fluid has made, nil for nothing.
func (b *builder) fluid(f *resolve.Fluid) *propsdb.Fluid {
	if len(b.m.fluids[f.Reg]) == 0 {
		return nil
	}
	return b.m.fluids[f.Reg][0].fluid
}

// problem reports a fault found while evaluating.
func (b *builder) problem(l *resolve.Line, f *fault) *diag.Problem {
	file := l.File
	if f.file != nil {
		file = f.file
	}
	p := &diag.Problem{Code: f.code, Severity: diag.Error, File: file, Span: f.span, Message: f.msg, Label: f.label, Hint: f.hint}
	if b.sheet != "" {
		p.Message += " (in the used sheet " + b.sheet + ")"
	}
	b.inCall(p)
	b.add(p)
	return p
}

// refusedBy is the number of a check that does not hold in a call which is being looked at.
func (b *builder) refusedBy() string {
	for _, by := range slices.Backward(b.refused) {
		if by != "" {
			return by
		}
	}
	return ""
}

// calculated: a line of a method reads what the method has calculated, and not only what it was given.
func (b *builder) calculated(l *resolve.Line) bool {
	call := b.calls[len(b.calls)-1]
	return slices.ContainsFunc(l.Uses, func(s *resolve.Symbol) bool { return s.Line != call })
}

// inCall says in which call a problem with a line of a method shows.
func (b *builder) inCall(p *diag.Problem) {
	if n := len(b.calls); n > 0 {
		resolve.InCall(p, b.calls[n-1])
	}
}

// add keeps one report of one fault: a line of a method may fail the same way in every call.
func (b *builder) add(p *diag.Problem) {
	k := problemKey{p.File, p.Span, p.Code, diag.Span{}, b.sheet}
	if len(p.Related) > 0 {
		k.call = p.Related[0].Span
	}
	if b.seen[k] {
		return
	}
	b.seen[k] = true
	b.trace.Problems = append(b.trace.Problems, p)
}

func (b *builder) input(st *step, e *Entry) {
	l := st.line
	if e.Status == Done && st.spread != nil {
		u, v := differenceOf(l.Defines[0].Unit, true), b.m.out(st).spread
		e.Spread = &Value{SI: v, Unit: u, Shown: u.FromSI(v, 0)}
	}
	if e.Status != Done || !givenByUse(l) || st.lo == nil {
		return
	}
	v := b.m.val(l.Defines[0])
	lo, f1 := b.m.value(st.lo)
	hi, f2 := b.m.value(st.hi)
	if f1 != nil || f2 != nil || v >= lo && v <= hi {
		return
	}
	in := l.Stmt.(*lang.Input)
	b.add(&diag.Problem{Code: CodeOutside, Severity: diag.Caution, File: l.File, Span: in.Name.Loc, Subject: l.Defines[0].Full(),
		Message: fmt.Sprintf("%s is given the value %s by the sheet that uses this one, outside its allowed range", in.Name.Text, b.m.text(v, l.X)),
		Label:   fmt.Sprintf("allowed: %s .. %s", b.m.text(lo, l.Lo), b.m.text(hi, l.Hi)), Hint: "check the value that is handed on, or accept it with a reason"})
}

func (b *builder) state(st *step, e *Entry) {
	if e.Status != Done {
		return
	}
	l := st.line
	ps := b.m.states[st.state.slot][0]
	d := &StateDetail{Fluid: b.fluid(l.State.Fluid), State: ps}
	for _, g := range l.State.Given {
		d.Names = append(d.Names, g.Prop)
		sym := l.State.Prop(g.Prop)
		v, err := ps.Get(g.Prop)
		if err != nil {
			continue
		}
		r := Result{Symbol: sym, OK: true, Value: show(v, b.m.unitOf(g.X), resolve.Type{}, b.ambient)}
		d.Given = append(d.Given, r)
	}
	d.Inversion, d.Inverted = ps.Inversion()
	e.State = d
}

// checkProblem reports a check that does not hold, with both sides and by how much.
func (b *builder) checkProblem(st *step, e *Entry) {
	d := e.Check
	if d.Verdict != Fails {
		return
	}
	p := &diag.Problem{Code: CodeCheck, Severity: diag.Error, File: st.line.File, Span: st.line.Stmt.Span(), Message: "this check does not hold: " + d.Text}
	if d.Caution {
		p.Code, p.Severity, p.Message = CodeCaution, diag.Caution, "outside what is usual: "+d.Text
		p.Hint = "look into it, or settle it: accept caution on SYMBOL // reason"
	}
	if l := st.line.Compare.Left; l != nil && l.Op == resolve.OpRef {
		p.Subject = l.Sym.Full()
		if d.Caution {
			p.Hint = fmt.Sprintf("look into it, or settle it: accept caution on %s // reason", l.Sym.Full())
		}
	}
	if !d.Plain {
		p.Label = b.valuesText(st.line)
	}
	if d.Plain {
		p.Label = missText(d, b.trace.Sheet)
		if s := st.line.Stmt.(*lang.Check); s.Between == nil {
			p.Span = s.X.Span()
		}
	}
	if n := len(b.calls); n > 0 {
		b.refusal(p, st.line, b.calls[n-1])
		if !d.Caution && b.refused[n-1] == "" {
			b.refused[n-1] = e.Number
		}
	}
	if e.Sheet != "" {
		p.Message += " (in the used sheet " + e.Sheet + ")"
	}
	b.cautions[p] = d
	b.add(p)
}

// refusal says in which call a check of a method does not hold. One of a method that comes with the tool
// is reported at the argument that it is about, with the values and the reason.
func (b *builder) refusal(p *diag.Problem, l, call *resolve.Line) {
	label := p.Label
	if call.Method.Library != "" {
		p.Label = ""
	}
	if !resolve.InCall(p, call) {
		return
	}
	p.Label = label
	p.Message = strings.Replace(p.Message, ": ", " in "+call.Method.Name+": ", 1)
	if p.Hint == "" {
		p.Hint = strings.TrimSuffix(lang.CaptionOf(l.Stmt).Text, ".")
	}
	if call.Outer() != call {
		return
	}
	for _, s := range l.Uses {
		for _, in := range call.Inputs {
			if in.Symbol == s && in.X != nil && in.X.Src != nil {
				p.Span = in.X.Src.Span()
				return
			}
		}
	}
}

// valuesText gives the values of what a compound check reads, for its message.
func (b *builder) valuesText(l *resolve.Line) string {
	var parts []string
	for _, s := range l.Uses {
		if v, ok := b.trace.Value(s); ok && len(parts) < 6 {
			parts = append(parts, s.Full()+" = "+formatValue(v.Shown, v.Unit))
		}
	}
	return strings.Join(parts, ", ")
}

func missText(d *CheckDetail, s *resolve.Sheet) string {
	show := func(v Value) string { return formatValue(v.Shown, v.Unit) }
	miss := d.Margin
	miss.Shown = -miss.Shown
	text := "the left side is " + show(d.Left)
	switch {
	case d.Op == "!=":
		return text + ", as is the right"
	case d.Op == "==":
		text += ", the right " + show(d.Right) + "; allowed " + show(d.Lo) + " .. " + show(d.Hi)
	case d.HasLo && d.HasHi:
		text += "; allowed " + show(d.Lo) + " .. " + show(d.Hi)
	case d.HasLo:
		text += ", the right " + show(d.Lo)
	default:
		text += ", the right " + show(d.Hi)
	}
	if miss.Shown > 0 {
		text += "; it misses by " + show(miss)
	}
	return text
}
