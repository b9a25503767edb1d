package resolve

import (
	"fmt"

	"workings/propsdb"
	"workings/runner/diag"
	"workings/runner/lang"
	"workings/units"
)

// energy is what a kind of component does: the sign of its enthalpy rise in a total.
type energy int

const (
	neither energy = iota // adiabatic, without work: valves, mixers, splitters, exchangers
	workIn
	workOut
	heatIn
	heatOut
)

// does says what a component exchanges with the surroundings.
func (c *Component) does() energy {
	switch c.Kind {
	case "compressor", "pump", "fan":
		return workIn
	case "turbine":
		return workOut
	case "heater", "combustor", "boiler":
		return heatIn
	case "cooler", "condenser":
		return heatOut
	}
	return neither
}

// totalNames are the totals, specific and as powers. eta, bwr and residual have one name.
var totalNames = [...]struct{ specific, power string }{
	{"w_in", "Wdot_in"}, {"w_out", "Wdot_out"}, {"w_net", "Wdot_net"}, {"q_in", "Qdot_in"}, {"q_out", "Qdot_out"},
	{"eta", "eta"}, {"bwr", "bwr"}, {"residual", "residual"},
}

// The indices of totalNames.
const (
	totalWIn = iota
	totalWOut
	totalWNet
	totalQIn
	totalQOut
	totalEta
	totalBwr
	totalResidual
)

// totals makes a cycle's totals: definitions like an author's own, of sums over its components.
func (r *resolver) totals(c *Cycle) {
	t := &totalling{r: r, c: c, at: c.Stmt.Name.Loc}
	t.streams()
	work := "work"
	if c.Flows == MassFlow {
		work = "power"
	}
	t.add(totalWIn, t.sum(workIn), work+" into "+kinds(c, workIn), "no compressor, pump or fan takes up work")
	t.add(totalWOut, t.sum(workOut), work+" out of "+kinds(c, workOut), "no turbine gives work")
	t.add(totalWNet, difference(t.at, t.refs(totalWOut), t.refs(totalWIn)), "net "+work, "no component takes up or gives work")
	qIn := t.sum(heatIn)
	basis := ""
	if t.burns {
		basis = ", on the lower heating value of the fuel"
	}
	t.add(totalQIn, qIn, "heat in, by "+kinds(c, heatIn)+basis, "no heater, combustor or boiler takes in heat")
	t.add(totalQOut, t.heatOut(), t.outText(), "no cooler or condenser gives up heat, and nothing leaves the plant")
	t.share(totalEta, difference(t.at, t.refs(totalWNet), nil), totalQIn, "thermal efficiency"+basis)
	t.share(totalBwr, difference(t.at, t.refs(totalWIn), nil), totalWOut, "back work ratio: "+work+" in over "+work+" out")
	t.share(totalResidual, difference(t.at, t.refs(totalQIn), append(t.refs(totalQOut), t.refs(totalWNet)...)), totalQIn, "first-law residual, of the heat in")
}

// totalling is the totals of one cycle in the making.
type totalling struct {
	r  *resolver
	c  *Cycle
	at diag.Span
	// reason is why every energy total is withheld.
	reason string
	burns  bool // a fuel's heat is among them
	made   [len(totalNames)]*Total
}

func (t *totalling) name(i int) string {
	if t.c.Flows == MassFlow {
		return totalNames[i].power
	}
	return totalNames[i].specific
}

// streams finds what keeps all totals of a cycle from having a value.
func (t *totalling) streams() {
	c := t.c
	if c.Flows == NoFlow {
		for _, x := range c.Components {
			if len(x.From)+len(x.To) > 2 {
				t.reason = fmt.Sprintf("streams join or divide at the %s, and no line says how much flows in each: write `flow EXPR` above the lines of every branch", x.Title())
				return
			}
		}
		if a, b := c.separate(); b != nil {
			t.reason = fmt.Sprintf("%s and %s lie in streams of their own, and no line says how much flows in each: write `flow EXPR` above the lines of every stream", a.Title(), b.Title())
		}
	}
}

// separate finds two components that no row of states connects, or nil.
func (c *Cycle) separate() (a, b *Component) {
	group := map[*State]*State{}
	find := func(s *State) *State {
		for group[s] != nil {
			if next := group[group[s]]; next != nil {
				group[s] = next // halve the way, so that long chains stay short
			}
			s = group[s]
		}
		return s
	}
	for _, x := range c.Components {
		if from, to := find(x.From[0].State), find(x.To[0].State); from != to {
			group[from] = to
		}
	}
	first := c.Components[0]
	for _, x := range c.Components {
		if find(x.From[0].State) != find(first.From[0].State) {
			return first, x
		}
	}
	return nil, nil
}

// withhold notes the first reason why energies have no value.
func (t *totalling) withhold(format string, args ...any) {
	if t.reason == "" {
		t.reason = fmt.Sprintf(format, args...)
	}
}

// sum is the work or heat of all components of a kind, nil where there are none.
func (t *totalling) sum(kind energy) lang.Expr {
	var e lang.Expr
	for _, x := range t.c.Components {
		if x.does() != kind {
			continue
		}
		to, from := x.To, x.From
		if kind == workOut || kind == heatOut {
			to, from = from, to
		}
		if term := t.rise(x, to, from); term != nil {
			e = join(x.Stmt.Loc, e, "+", term)
		}
		e = t.addFuel(e, x, 1)
	}
	return e
}

// rise is the enthalpy that legs carry more than others.
func (t *totalling) rise(x *Component, to, from []Leg) lang.Expr {
	if len(to) == 1 && len(from) == 1 && to[0].flow == from[0].flow {
		d := difference(x.Stmt.Loc, []lang.Expr{t.h(x, to[0])}, []lang.Expr{t.h(x, from[0])})
		if to[0].flow == nil {
			if t.c.Flows != NoFlow {
				t.withhold("no line says how much flows through the %s", x.Title())
			}
			return &lang.Paren{At: lang.At{Loc: x.Stmt.Loc}, X: d}
		}
		return t.times(x.Stmt.Loc, to[0].flow, &lang.Paren{At: lang.At{Loc: x.Stmt.Loc}, X: d})
	}
	terms := func(legs []Leg) (out []lang.Expr) {
		for _, l := range legs {
			if l.flow == nil {
				t.withhold("no line says how much flows at state %s", l.State.Label())
				continue
			}
			out = append(out, t.times(x.Stmt.Loc, l.flow, t.h(x, l)))
		}
		return out
	}
	return difference(x.Stmt.Loc, terms(to), terms(from))
}

// times is flow·h.
func (t *totalling) times(at diag.Span, flow, h lang.Expr) lang.Expr {
	if n, ok := flow.(*lang.Number); ok && n.Text == "1" && n.Unit == nil {
		return h
	}
	switch flow.(type) {
	case *lang.Binary, *lang.Cond, *lang.Unary, *lang.Compare:
		flow = &lang.Paren{At: lang.At{Loc: flow.Span()}, X: flow}
	}
	return &lang.Binary{At: lang.At{Loc: at}, Op: "*", OpAt: at, X: flow, Y: h}
}

// h is a leg's enthalpy.
func (t *totalling) h(x *Component, l Leg) lang.Expr {
	at := lang.At{Loc: x.Stmt.Loc}
	s := l.State
	id := &lang.Ident{At: at, Name: lang.Name{At: at, Text: "h_" + s.ID}}
	if sym := s.Prop(propsdb.H); sym != nil {
		id.Name.Text = sym.Name
	}
	if own := t.r.sheet.Name; s.Sheet != own {
		of := s.Sheet
		if own != "" {
			of = of[len(own)+1:]
		}
		id.Of = &lang.Name{At: at, Text: of}
	}
	return id
}

// heatOut is the heat of coolers and condensers, and what leaves the plant less what enters it.
func (t *totalling) heatOut() lang.Expr {
	e := t.sum(heatOut)
	c := t.c
	if len(c.Inlets)+len(c.Outlets) == 0 {
		return e
	}
	ends := &Component{Kind: "plant", From: c.Inlets, To: c.Outlets, Stmt: &lang.Component{At: lang.At{Loc: t.at}}, Cycle: c}
	if len(c.Inlets) == 0 || len(c.Outlets) == 0 {
		t.withhold("a stream enters the plant and none leaves it, or the other way round: the states at the ends are %s", ends.ends())
		return nil
	}
	if ends.joins() {
		// Where streams of several fluids cross the border, each has to leave as it came, or all count
		// from the formation datum.
		if !t.balanced(ends) {
			return e
		}
	}
	if rest := t.rise(ends, c.Outlets, c.Inlets); rest != nil {
		e = join(t.at, e, "+", rest)
	}
	for _, x := range c.Components {
		if x.does() == heatIn {
			e = t.addFuel(e, x, 1)
		} else {
			e = t.addFuel(e, x, -1)
		}
	}
	return e
}

// balanced reports open ends whose enthalpies may be set against each other.
func (t *totalling) balanced(ends *Component) bool {
	sides := map[string]int{}
	for side, legs := range [][]Leg{ends.From, ends.To} {
		for _, l := range legs {
			sides[l.State.Fluid.Datum] |= 1 << side
		}
	}
	for _, datum := range sortedKeys(sides) {
		if sides[datum] != 3 {
			t.withhold("the streams that enter the plant and those that leave it (%s) count from different zeros: give them datum = formation", ends.ends())
			return false
		}
	}
	if t.c.Flows == NoFlow {
		t.withhold("the streams that enter the plant and those that leave it (%s) are of different fluids, and no line says how much flows in each", ends.ends())
		return false
	}
	return true
}

// ends lists states at open ends.
func (c *Component) ends() string {
	var names []string
	for _, legs := range [][]Leg{c.From, c.To} {
		for _, l := range legs {
			names = append(names, l.State.Label())
		}
	}
	return joinList(names)
}

// kinds lists the words of the components that do something, each once.
func kinds(c *Cycle, what energy) string {
	var words []string
	seen := map[string]bool{}
	for _, x := range c.Components {
		if x.does() == what && !seen[x.Kind] {
			seen[x.Kind] = true
			words = append(words, x.Kind)
		}
	}
	switch len(words) {
	case 0:
		return ""
	case 1:
		return words[0]
	}
	return joinList(words[:len(words)-1]) + " and " + words[len(words)-1]
}

func (t *totalling) outText() string {
	words := kinds(t.c, heatOut)
	switch {
	case len(t.c.Outlets) == 0:
		return "heat out, by " + words
	case words == "":
		return "heat out, with " + t.leaving() + ", less what enters"
	}
	return "heat out, by " + words + ", and with " + t.leaving() + ", less what enters"
}

func (t *totalling) leaving() string {
	var names []string
	for _, l := range t.c.Outlets {
		names = append(names, l.State.Label())
	}
	if len(names) == 1 {
		return "state " + names[0]
	}
	return "states " + joinList(names)
}

// refs is a reference to a total, in a list that is empty where it has none.
func (t *totalling) refs(i int) []lang.Expr {
	if t.made[i] == nil {
		return nil
	}
	at := lang.At{Loc: t.at}
	return []lang.Expr{&lang.Ident{At: at, Of: &lang.Name{At: at, Text: t.c.Name}, Name: lang.Name{At: at, Text: t.name(i)}}}
}

// add makes a total, or notes why it has no value.
func (t *totalling) add(i int, x lang.Expr, caption, none string) *Total {
	name := t.name(i)
	if t.reason != "" {
		t.c.withheld[name] = t.reason
		return nil
	}
	if x == nil {
		t.c.withheld[name] = none
		return nil
	}
	if p, ok := x.(*lang.Paren); ok {
		x = p.X
	}
	r := t.r
	at := lang.At{Loc: t.at}
	full := t.c.Name + "." + name
	def := &lang.Define{At: at, Name: lang.Name{At: at, Text: full}, X: x, Caption: lang.Caption{Text: caption}}
	l := r.bodyLine(t.c.Line, def)
	if l == nil {
		return nil
	}
	total := &Total{Name: name, Line: l}
	l.Kind, l.Total = Define, total
	l.X = r.expr(l, x)
	ty, unit := Type{}, units.Unit{}
	if l.X != nil {
		ty = l.X.Type
		ty.Datum = nil
		unit = r.unitFor(l.X)
		if ty.Dim.IsNone() {
			unit = mustUnit("%")
		}
	}
	total.Symbol = &Symbol{Name: name, Sheet: t.c.Full(), Type: ty, Unit: unit, Span: t.at, Line: l, Local: r.scope.local, bad: l.Failed()}
	r.addSymbol(t.c.key(name), total.Symbol)
	l.Defines = append(l.Defines, total.Symbol)
	t.c.Totals = append(t.c.Totals, total)
	t.made[i] = total
	return total
}

// share makes a total that is a share of another.
func (t *totalling) share(i int, x lang.Expr, of int, caption string) {
	if t.reason == "" && t.made[of] == nil {
		t.c.withheld[t.name(i)] = "it is a share of " + t.c.Name + "." + t.name(of) + ", which has no value: " + t.c.withheld[t.name(of)]
		return
	}
	if x != nil && t.made[of] != nil {
		if isSum(x) {
			x = &lang.Paren{At: lang.At{Loc: t.at}, X: x}
		}
		x = &lang.Binary{At: lang.At{Loc: t.at}, Op: "/", OpAt: t.at, X: x, Y: t.refs(of)[0]}
	}
	if total := t.add(i, x, caption, "the cycle has no work to set against it"); total != nil {
		total.Over = t.made[of].Symbol
	}
}
