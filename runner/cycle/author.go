package cycle

import (
	"math"
	"strings"

	"workings/propsdb"
	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/units"
)

// author looks for mistakes that show only where the states meet the author's own lines.
type author struct {
	*finder
	trace *eval.Trace
	sheet *resolve.Sheet
	cycle *resolve.Cycle
}

func (a *author) find() {
	a.partners()
	a.leftOut()
	for _, l := range a.sheet.Lines {
		if l.Kind == resolve.Input && len(l.Defines) == 1 {
			a.input(l)
		}
	}
	a.shifts()
}

// partners looks at states named like an outlet with an s behind it: the isentropic outlet.
func (a *author) partners() {
	for i, x := range a.cycle.Components {
		c := &a.Plant.Components[i]
		if !c.Kind.works() || !c.single() {
			continue
		}
		out := x.To[0].State
		for _, s := range a.sheet.States {
			st, ok := a.trace.State(s)
			if s.ID != out.ID+"s" || out.Sheet != s.Sheet || !ok || !same(st.Fluid(), c.In[0].State.Fluid()) ||
				!near(pressure(st), pressure(c.Out[0].State)) {
				continue
			}
			const limit = 1.0 // J/(kg·K)
			d := entropy(st) - entropy(c.In[0].State)
			if math.Abs(d) <= limit {
				continue
			}
			f := a.impossible(i, CodePartner, "%s: state %s stands for its isentropic outlet, and s(%s) − s(%s) is %s, not zero", c.Title, s.Label(), s.Label(), c.In[0].Label, a.s(d)).
				hint("a temperature ratio with a constant k, put into enthalpies of variable specific heat, gives this: write state %s = %s(p%s, s%s)", s.ID, s.Fluid.Name, out.ID, x.From[0].State.ID)
			f.Line = s.Line
		}
	}
}

// input looks at a literal that a state of the cycle takes over.
func (a *author) input(l *resolve.Line) {
	sym := l.Defines[0]
	v, ok := a.trace.Value(sym)
	if !ok {
		return
	}
	caption := strings.ToLower(lang.CaptionOf(l.Stmt).Text)
	switch sym.Type.Dim {
	case units.DimTemperature():
		a.reduced(l, sym, v)
	case units.DimPressure():
		if sym.Unit.Kind() == units.Gauge && !mentions(caption, "gauge", "manometer", "reading", "overpressure") {
			a.gauge(l, sym, v)
		}
	case units.Dimension{}:
		if !mentions(caption, "temperature") {
			a.basis(l, sym, v)
		}
	}
}

func mentions(text string, words ...string) bool {
	for _, w := range words {
		if strings.Contains(text, w) {
			return true
		}
	}
	return false
}

// reduced looks for a temperature such as 1126.85 K: what is left of a round number of kelvins when
// 273.15 has been taken off. A round number of degrees Celsius has .15 in kelvin, never .85.
func (a *author) reduced(l *resolve.Line, sym *resolve.Symbol, v eval.Value) {
	full := v.SI + 273.15
	if v.Unit.String() != "K" || math.Abs(full-5*math.Round(full/5)) > 1e-6 {
		return
	}
	for i := range a.Plant.Components {
		for _, s := range a.Plant.Components[i].Out {
			if near(s.State.T(), v.SI) {
				f := a.unusual(i, CodeKelvin, "%s: state %s takes its temperature from %s = %s, which is %s less 273.15 K; was it reduced although it was in kelvin already", a.Plant.Components[i].Title, s.Label, sym.Name, number(v.SI, 7)+" K", number(full, 7)+" K").
					hint("degrees Celsius are written as such, 1126.85 °C, and the tool turns them into kelvin")
				f.Line, f.Subject = l, sym.Full()
				return
			}
		}
	}
}

// gauge looks for a machine between a gauge reading and an absolute pressure.
func (a *author) gauge(l *resolve.Line, sym *resolve.Symbol, v eval.Value) {
	for i := range a.Plant.Components {
		c := &a.Plant.Components[i]
		if !c.Kind.works() || !c.single() {
			continue
		}
		from, to := c.In[0], c.Out[0]
		if near(pressure(from.State), v.SI) {
			from, to = to, from
		}
		if !near(pressure(to.State), v.SI) {
			continue
		}
		other := a.absolute(pressure(from.State))
		if other == nil {
			continue
		}
		ov, _ := a.trace.Value(other)
		f := a.unusual(i, CodeMixedGauge, "%s: %s = %s %s is a gauge pressure, %s absolute, and %s = %s %s at its other end is absolute; the ratio is %s by these, and %s by the figures as written",
			c.Title, sym.Name, number(v.Shown, 5), v.Unit, a.p(v.SI), other.Name, number(ov.Shown, 5), ov.Unit, number(v.SI/ov.SI, 4), number(v.Unit.Difference().ToSI(v.Shown, 0)/ov.SI, 4)).
			hint("look which kind the source gives, and say gauge in the description of %s where it is right", sym.Name)
		f.Line, f.Subject = l, sym.Full()
		return
	}
}

// absolute is an input of an absolute pressure of that value, or nil.
func (a *author) absolute(p float64) *resolve.Symbol {
	for _, l := range a.sheet.Lines {
		if l.Kind != resolve.Input || len(l.Defines) != 1 {
			continue
		}
		s := l.Defines[0]
		if v, ok := a.trace.Value(s); ok && s.Type.Dim == units.DimPressure() && s.Unit.Kind() != units.Gauge && near(v.SI, p) {
			return s
		}
	}
	return nil
}

// basis looks for an effectiveness that an exchanger has on temperature and not on enthalpy.
func (a *author) basis(l *resolve.Line, sym *resolve.Symbol, v eval.Value) {
	const limit = 0.005
	for i := range a.Pairs {
		x := &a.Pairs[i]
		if !(math.Abs(v.SI-x.OnTemperature) < 1e-6 && math.Abs(v.SI-x.OnEnthalpy) > limit) {
			continue
		}
		f := a.unusual(x.Pair.Cold[0], CodeBasis, "%s: its effectiveness is %s = %s on temperature, and %s on enthalpy, the heat passed over the most that could pass", x.Pair.Title, sym.Name, share(v.SI), share(x.OnEnthalpy)).
			hint("where specific heats change the two differ: take h_cold_in + %s*(h_hot_in − h_cold_in), or say in the description of %s that it is on temperature", sym.Name, sym.Name)
		f.Line, f.Subject = l, sym.Full()
		return
	}
}

// shifts looks for 273.15 taken off, or put on, a temperature that a state takes.
func (a *author) shifts() {
	seen := map[*resolve.Line]bool{}
	for i, x := range a.cycle.Components {
		for _, leg := range x.To {
			for _, g := range leg.State.Given {
				if g.Prop != propsdb.T {
					continue
				}
				line, op := shifted(g.X, leg.State.Line, 0)
				if line == nil || seen[line] {
					continue
				}
				seen[line] = true
				words := "taken off"
				if op == resolve.OpAdd {
					words = "put on"
				}
				f := a.impossible(i, CodeKelvin, "%s: 273.15 K is %s a temperature on its way to state %s, and every temperature is in kelvin already", a.Plant.Components[i].Title, words, leg.State.Label()).
					hint("write 1400 K or 1126.85 °C as it is; `in °C` behind a line shows a temperature in degrees Celsius")
				f.Line = line
			}
		}
	}
}

// shifted finds a sum with 273.15 K behind an expression, and the line that it stands on.
func shifted(x *resolve.Expr, line *resolve.Line, depth int) (*resolve.Line, resolve.Op) {
	if x == nil || depth > 20 {
		return nil, 0
	}
	if (x.Op == resolve.OpAdd || x.Op == resolve.OpSub) && len(x.Args) == 2 && x.Args[1].Op == resolve.OpConst &&
		(math.Abs(x.Args[1].Value-273.15) < 1e-9 || x.Args[1].Value == 273) {
		return line, x.Op
	}
	if x.Op == resolve.OpRef {
		if d := x.Sym.Line; d != nil && (d.Kind == resolve.Define || d.Kind == resolve.Input) && d.Total == nil {
			return shifted(d.X, d, depth+1)
		}
		return nil, 0
	}
	for _, arg := range x.Args {
		if l, op := shifted(arg, line, depth+1); l != nil {
			return l, op
		}
	}
	return nil, 0
}

// leftOut looks at checks of the author's own heat or efficiency against the cycle's that fail, and
// names the heaters that the author's heat never touches.
func (a *author) leftOut() {
	for _, e := range a.trace.Checks {
		c := e.Line.Compare
		if e.Sheet != a.sheet.Name || e.Check == nil || e.Check.Verdict != eval.Fails || c == nil || c.Op != "==" {
			continue
		}
		total, own := a.total(c.Left), c.Right
		if total == nil {
			total, own = a.total(c.Right), c.Left
		}
		if total == nil {
			continue
		}
		t := &touches{states: map[*resolve.State]bool{}, seen: map[*resolve.Symbol]bool{}}
		switch total.Name {
		case "eta":
			t.divisors(own, e.Line)
		case "q_in", "Qdot_in":
			t.sum(own, e.Line)
		}
		if t.line != nil {
			a.untouched(e, t)
		}
	}
}

// total is the total of this cycle that an expression is, or nil.
func (a *author) total(x *resolve.Expr) *resolve.Total {
	if x == nil || x.Op != resolve.OpRef || x.Sym.Line == nil || x.Sym.Line.Cycle != a.cycle {
		return nil
	}
	return x.Sym.Line.Total
}

func (a *author) untouched(check *eval.Entry, t *touches) {
	for i, x := range a.cycle.Components {
		p := &a.Parts[i]
		if !p.Component.Kind.heats() || !known(p.Total) || !(p.Total > 0) || t.has(x) {
			continue
		}
		f := a.impossible(i, CodeLeftOut, "%s takes in %s, and the heat in the author's own answer never touches it: the check `%s` fails", p.Component.Title, a.q(p.Total), check.Check.Text).
			hint("every heater counts in the heat in, the reheaters too: the cycle's own is %s", a.q(a.Totals.In))
		f.Related = append(f.Related,
			diag.Related{File: t.line.File, Span: t.line.Stmt.Span(), Message: "the heat in, as the author adds it up"},
			diag.Related{File: check.Line.File, Span: check.Line.Stmt.Span(), Message: "the check that fails"})
	}
}

// touches are the states whose properties a sum reads, through the lines that define its symbols.
type touches struct {
	states map[*resolve.State]bool
	seen   map[*resolve.Symbol]bool
	line   *resolve.Line // that the sum stands on
}

// has reports a heater both of whose ends the sum reads.
func (t *touches) has(x *resolve.Component) bool {
	for _, legs := range [][]resolve.Leg{x.From, x.To} {
		for _, l := range legs {
			if !t.states[root(l.State)] {
				return false
			}
		}
	}
	return true
}

// root is the state itself, where a name stands for it.
func root(s *resolve.State) *resolve.State {
	for s != nil && s.Alias != nil {
		s = s.Alias
	}
	return s
}

// divisors follows an efficiency to what it divides by.
func (t *touches) divisors(x *resolve.Expr, line *resolve.Line) {
	if x == nil {
		return
	}
	switch x.Op {
	case resolve.OpRef:
		if d := x.Sym.Line; d != nil && d.Kind == resolve.Define && !t.seen[x.Sym] {
			t.seen[x.Sym] = true
			t.divisors(d.X, d)
		}
	case resolve.OpDiv:
		t.sum(x.Args[1], line)
	default:
		for _, a := range x.Args {
			t.divisors(a, line)
		}
	}
}

// sum notes the states that a sum of heats reads.
func (t *touches) sum(x *resolve.Expr, line *resolve.Line) {
	if x == nil {
		return
	}
	if x.Op != resolve.OpRef {
		t.at(line)
		for _, a := range x.Args {
			t.sum(a, line)
		}
		return
	}
	s := x.Sym
	if s.State != nil {
		t.states[root(s.State)] = true
		t.at(line)
		return
	}
	d := s.Line
	if d == nil || t.seen[s] {
		return
	}
	t.seen[s] = true
	switch d.Kind {
	case resolve.Define:
		if d.X != nil && d.X.Op != resolve.OpRef && d.Total == nil {
			t.at(d)
		}
		t.sum(d.X, d)
	case resolve.Call:
		t.at(d)
		for _, b := range append(append([]resolve.Binding{}, d.Inputs...), d.Outputs...) {
			if b.State != nil {
				t.states[root(b.State)] = true
			}
		}
	}
}

// at keeps the first line that the sum stands on.
func (t *touches) at(l *resolve.Line) {
	if t.line == nil {
		t.line = l
	}
}
