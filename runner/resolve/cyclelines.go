package resolve

import (
	"workings/propsdb"
	"workings/runner/diag"
	"workings/runner/lang"
	"workings/units"
)

// cycle resolves a cycle fence: its lines and, where all of them are sound, its totals. Both stand
// in the body of its line.
func (r *resolver) cycle(line *Line, s *lang.Cycle) {
	line.Kind = CycleLine
	c := &Cycle{Name: s.Name.Text, Sheet: r.sheet.Name, Stmt: s, Line: line, withheld: map[string]string{}}
	line.Cycle = c
	free := r.defineSpace(line, s.Name, "cycle")
	outer := r.lines
	r.lines = &line.Body
	var flow *lang.Flow
	n := 0
	for _, b := range s.Lines {
		if _, ok := b.(*lang.Component); ok {
			if n++; n > MaxComponents {
				r.fail(line, CodeComponents, b.Span(), "a cycle has at most %d components", MaxComponents).
					hint("divide the plant into several cycles")
				break
			}
		}
		l := r.bodyLine(line, b)
		if l == nil {
			break // the sheet is over its limit
		}
		switch b := b.(type) {
		case *lang.Flow:
			flow = b
			r.cycleFlow(l, c, b)
		case *lang.Component:
			r.component(l, c, b, flow)
		case *lang.DeadState:
			r.deadState(l, c, b)
		case *lang.Bad:
			r.badLine(l, b)
		}
		r.noteCites(l)
	}
	defer func() { r.lines = outer }()
	for _, l := range line.Body {
		if l.Failed() {
			r.wait(line, l)
		}
	}
	c.bad = line.Failed()
	if !c.bad {
		r.conditions(line, c)
		c.bad = line.Failed()
	}
	if c.bad || !free {
		r.scope.bad["space "+c.Name] = line
	}
	if !free {
		return
	}
	r.scope.cycles[c.Name] = c
	r.sheet.Cycles = append(r.sheet.Cycles, c)
	if !c.bad {
		r.totals(c)
	}
}

// bodyLine is a line of a cycle, nil beyond the limit of lines.
func (r *resolver) bodyLine(cycle *Line, s lang.Stmt) *Line {
	if r.tooLong(cycle, s) {
		return nil
	}
	l := &Line{Kind: Heading, Stmt: s, File: cycle.File, Block: cycle.Block, Cycle: cycle.Cycle}
	*r.lines = append(*r.lines, l)
	r.inChain = false
	return l
}

func (r *resolver) cycleFlow(line *Line, c *Cycle, s *lang.Flow) {
	line.Kind = FlowLine
	x := r.expr(line, s.X)
	if x == nil || !r.truthless(line, x) {
		return
	}
	kind := MassFlow
	switch x.Type.Dim {
	case units.DimMassFlow():
	case units.Dimension{}:
		kind = SpecificFlow
	default:
		f := r.fail(line, CodeDimension, s.X.Span(), "a flow is kg/s, or a share in kg/kg, and this is %s", x.Type.describe()).label("%s", r.sideText(x))
		if x.Type.Dim == units.DimMolarFlow() || x.Type.Dim == units.DimVolumeFlow() {
			f.hint("a molar mass or a density turns it into a mass flow")
		} else {
			f.hint("write flow mdot_s for a mass flow, or flow 0.18 for a share of the main stream")
		}
		return
	}
	line.X = x
	if c.Flows != NoFlow && c.Flows != kind {
		r.fail(line, CodeCycle, s.X.Span(), "this cycle has flows in kg/s and in kg/kg").label("%s", r.sideText(x)).
			hint("give all of them in kg/s, and the totals are powers; or all as shares of one stream, and the totals are per unit mass of it")
		return
	}
	c.Flows = kind
}

func (r *resolver) component(line *Line, c *Cycle, s *lang.Component, flow *lang.Flow) {
	line.Kind = ComponentLine
	x := &Component{Kind: s.Word.Text, Side: s.Side, Shaft: s.Shaft.Text, Stmt: s, Line: line, Cycle: c, given: flow}
	line.Component = x
	legs := func(refs []lang.StateRef) (out []Leg) {
		for i := range refs {
			if st := r.stateNamed(line, &refs[i]); st != nil {
				r.propertyOf(line, st, propsdb.H)
				out = append(out, Leg{State: st})
			}
		}
		return out
	}
	x.From, x.To = legs(s.From), legs(s.To)
	r.shape(line, x, s)
	if line.Failed() {
		return
	}
	for i, leg := range x.From {
		if leg.State == x.To[0].State || i > 0 && leg.State == x.From[0].State {
			r.fail(line, CodeCycle, s.Loc, "state %s stands twice in this component", leg.State.Label()).
				hint("a component lies between different states")
			return
		}
	}
	r.outlets(line, c, x)
	if x.Side != "" {
		c.pair(x, s.Pair.Text)
	}
	c.Components = append(c.Components, x)
}

// shape sees that a component has as many inlets and outlets as its word says.
func (r *resolver) shape(line *Line, x *Component, s *lang.Component) {
	from, to := len(s.From), len(s.To)
	switch {
	case x.Kind == "mixer" && (from < 2 || to != 1):
		r.fail(line, CodeCycle, s.Loc, "a mixer joins two streams or more to one").hint("write A + B -> C mixer")
	case x.Kind == "splitter" && (from != 1 || to < 2):
		r.fail(line, CodeCycle, s.Loc, "a splitter divides one stream into two or more").hint("write A -> B + C splitter")
	case x.Kind == "mixer" || x.Kind == "splitter":
	case to > 1:
		r.fail(line, CodeCycle, s.Loc, "%s has one outlet", article(x.Kind)).hint("only a splitter divides a stream: write A -> B + C splitter on a line of its own")
	case from > 1 && x.Kind != "combustor":
		r.fail(line, CodeCycle, s.Loc, "%s has one inlet", article(x.Kind)).hint("only a mixer joins streams, and a combustor air and fuel: write A + B -> C mixer on a line of its own")
	}
}

// outlets refuses a state that two components lead into, or that two lead out of.
func (r *resolver) outlets(line *Line, c *Cycle, x *Component) {
	twice := func(mine, theirs []Leg, old *Component, what, way string) {
		for _, a := range mine {
			for _, b := range theirs {
				if a.State == b.State {
					r.fail(line, CodeCycle, x.Stmt.Loc, "state %s is the %s of two components", a.State.Label(), what).
						related(old.Line.File, old.Stmt.Loc, "the first of them").
						hint("%s", way)
				}
			}
		}
	}
	for _, old := range c.Components {
		twice(x.To, old.To, old, "outlet", "streams come together in a mixer: give each its own outlet state and write A + B -> C mixer")
		twice(x.From, old.From, old, "inlet", "a stream is divided in a splitter: write A -> B + C splitter and give each branch its own inlet state")
	}
}

// pair enters a side of an exchanger.
func (c *Cycle) pair(x *Component, name string) {
	for _, p := range c.Exchangers {
		if p.Name == name && (name != "" || p.Kind == x.Kind) {
			x.Pair = p
		}
	}
	if x.Pair == nil {
		x.Pair = &Exchanger{Kind: x.Kind, Name: name}
		c.Exchangers = append(c.Exchangers, x.Pair)
	}
	if x.Side == "hot" {
		x.Pair.Hot = append(x.Pair.Hot, x)
	} else {
		x.Pair.Cold = append(x.Pair.Cold, x)
	}
}

func (r *resolver) deadState(line *Line, c *Cycle, s *lang.DeadState) {
	line.Kind = DeadStateLine
	for i := range s.States {
		st := r.stateNamed(line, &s.States[i])
		if st == nil {
			continue
		}
		for _, old := range c.Dead {
			if sameFluid(old.Fluid, st.Fluid) {
				r.fail(line, CodeCycle, s.States[i].Loc, "%s has two dead states, %s and %s", st.Fluid.Name, old.Label(), st.Label()).
					hint("a fluid has one state in equilibrium with the surroundings: name one for each fluid")
				return
			}
		}
		if len(st.Given) == 1 {
			r.fail(line, CodeCycle, s.States[i].Loc, "state %s is given without a pressure and is no dead state", st.Label()).
				hint("a dead state has the temperature and the pressure of the surroundings")
			return
		}
		c.Dead = append(c.Dead, st)
	}
}

// conditions sees that what the lines of a cycle say goes together, and finds its open ends.
func (r *resolver) conditions(line *Line, c *Cycle) {
	if len(c.Components) == 0 {
		r.fail(line, CodeCycle, c.Stmt.Name.Loc, "this cycle has no components").hint("write lines such as 1 -> 2 compressor")
		return
	}
	for _, p := range c.Exchangers {
		r.twoSides(p)
	}
	if c.Flows == MassFlow {
		for _, x := range c.Components {
			if x.given == nil {
				r.fail(x.Line, CodeCycle, x.Stmt.Loc, "this component has no flow, and others have one in kg/s").
					hint("a `flow` holds for the lines after it: write one above this line")
				break
			}
		}
	}
	for _, x := range c.Components {
		if x.Line.Failed() {
			r.wait(line, x.Line)
		}
	}
	if line.Failed() {
		return
	}
	into, out := map[*State]bool{}, map[*State]bool{}
	for _, x := range c.Components {
		for _, l := range x.From {
			out[l.State] = true
		}
		for _, l := range x.To {
			into[l.State] = true
		}
	}
	r.legFlows(c)
	for _, x := range c.Components {
		for _, l := range x.From {
			if !into[l.State] {
				c.Inlets = append(c.Inlets, l)
			}
		}
		for _, l := range x.To {
			if !out[l.State] {
				c.Outlets = append(c.Outlets, l)
			}
		}
	}
}

func (r *resolver) twoSides(p *Exchanger) {
	lone, missing := p.Hot, "cold"
	if len(p.Hot) == 0 {
		lone, missing = p.Cold, "hot"
	} else if len(p.Cold) > 0 {
		return
	}
	name := p.Kind
	if p.Name != "" {
		name += " " + p.Name
	}
	f := r.fail(lone[0].Line, CodeCycle, lone[0].Stmt.Loc, "this exchanger has no %s side", missing)
	f.hint("write a line for the other stream: A -> B %s %s; heat from or to outside the plant is a heater or a cooler", name, missing)
}

// legFlows finds the mass flow of every leg.
func (r *resolver) legFlows(c *Cycle) {
	if c.Flows == NoFlow {
		return
	}
	given := func(x *Component) lang.Expr {
		if x.given != nil {
			return x.given.X
		}
		return &lang.Number{At: lang.At{Loc: x.Stmt.Loc}, Text: "1", Value: 1} // the stream that the others are shares of
	}
	at := map[*State]lang.Expr{}
	through := func(x *Component) bool { return len(x.From) == 1 && len(x.To) == 1 && !x.joins() }
	for _, x := range c.Components {
		if through(x) {
			flow := given(x)
			x.From[0].flow, x.To[0].flow = flow, flow
			for _, l := range []Leg{x.From[0], x.To[0]} {
				if _, ok := at[l.State]; !ok {
					at[l.State] = l.flow
				}
			}
		}
	}
	// Where streams join, divide or change, a leg has the flow of its neighbour, else what the other
	// legs leave it, else, if it is the whole stream, that of the line.
	for pass := range 3 {
		for _, x := range c.Components {
			if !through(x) {
				x.openLegs(at, pass == 2, given(x))
			}
		}
	}
	for _, x := range c.Components {
		typed := map[lang.Expr]*Expr{}
		for _, legs := range [][]Leg{x.From, x.To} {
			for i := range legs {
				l := &legs[i]
				if _, done := typed[l.flow]; l.flow != nil && !done {
					typed[l.flow] = r.expr(x.Line, l.flow)
				}
				l.Flow = typed[l.flow]
			}
		}
	}
}

// openLegs finds the flows of the legs of a component that joins, divides or changes streams. at are
// the flows known by state; in the last pass the whole stream has the flow of the line.
func (x *Component) openLegs(at map[*State]lang.Expr, last bool, given lang.Expr) {
	var open []*Leg
	for _, legs := range [][]Leg{x.From, x.To} {
		for i := range legs {
			l := &legs[i]
			if l.flow == nil {
				l.flow = at[l.State]
			}
			if l.flow == nil && last && len(legs) == 1 {
				l.flow, at[l.State] = given, given
			}
			if l.flow == nil {
				open = append(open, l)
			}
		}
	}
	if len(open) == 1 && x.Conserves() {
		open[0].flow = x.balance(open[0])
		at[open[0].State] = open[0].flow
	}
}

// balance is the flow that the other legs leave to one.
func (x *Component) balance(open *Leg) lang.Expr {
	inlet := false
	others := func(legs []Leg) (flows []lang.Expr) {
		for i := range legs {
			if &legs[i] == open {
				inlet = inlet || &legs[0] == &x.From[0]
			} else {
				flows = append(flows, legs[i].flow)
			}
		}
		return flows
	}
	in, out := others(x.From), others(x.To)
	if inlet {
		in, out = out, in
	}
	return difference(x.Stmt.Loc, in, out)
}

// difference is a + b − c − d.
func difference(at diag.Span, plus, minus []lang.Expr) lang.Expr {
	var e lang.Expr
	for _, x := range plus {
		e = join(at, e, "+", x)
	}
	for _, x := range minus {
		e = join(at, e, "-", x)
	}
	return e
}

// join is `x op y`, with brackets around what needs them; y alone where there is no x yet.
func join(at diag.Span, x lang.Expr, op string, y lang.Expr) lang.Expr {
	if x == nil && op == "+" {
		return y
	}
	if isSum(y) {
		y = &lang.Paren{At: lang.At{Loc: y.Span()}, X: y}
	}
	if x == nil {
		return &lang.Unary{At: lang.At{Loc: at}, Op: op, X: y}
	}
	return &lang.Binary{At: lang.At{Loc: at}, Op: op, OpAt: at, X: x, Y: y}
}
