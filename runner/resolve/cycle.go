package resolve

import (
	"workings/propsdb"
	"workings/runner/lang"
)

// Cycle is the components between the states of a plant.
type Cycle struct {
	Name       string
	Sheet      string // name of the used sheet it lives in; "" in the notebook itself
	Stmt       *lang.Cycle
	Line       *Line
	Components []*Component
	Exchangers []*Exchanger // regenerators and exchangers with both their sides, in the order of the text
	Dead       []*State     // the dead states that the author gives: at most one for each fluid
	Flows      FlowKind
	// Inlets and Outlets are the open ends: legs by which a stream enters the plant from outside it or
	// leaves it. Both are empty where the cycle is closed.
	Inlets, Outlets []Leg
	Totals          []*Total // that have a value, in the order shown

	// withheld are the names of totals that have none, with the reason.
	withheld map[string]string
	bad      bool // a line of it failed: there are no totals
}

// FlowKind says what a cycle's flows are measured in.
type FlowKind int

// The kinds of flows.
const (
	NoFlow       FlowKind = iota // none are given: everything is per unit mass of the one stream
	SpecificFlow                 // kg/kg: per unit mass of one of the streams
	MassFlow                     // kg/s
)

// Component is what stands between states.
type Component struct {
	Kind     string // the word of the language: compressor, turbine, …
	From, To []Leg
	Pair     *Exchanger // of a regenerator or exchanger
	Side     string     // of these: hot or cold
	// Fuel is the heat that a fuel sets free in a component in which air and fuel become products,
	// beyond what the enthalpies of its legs say; nil where there is none, or the totals are withheld.
	// In a cooler by which products leave and air comes in it is what they still hold of it.
	Fuel  *Expr
	Shaft string // that a compressor, turbine, pump or fan stands on; "" where none is named
	Stmt  *lang.Component
	Line  *Line
	Cycle *Cycle

	given *lang.Flow // the flow of the line, or nil
}

// Leg is a stream into a component or out of it.
type Leg struct {
	State *State
	// Flow is its mass flow, in SI a share or kg/s; nil where it is not known. Without flows in the
	// cycle every leg's is nil.
	Flow *Expr
	flow lang.Expr
}

// Exchanger is a regenerator or exchanger: a hot and a cold side, each of one or more components.
type Exchanger struct {
	Kind      string // regenerator or exchanger
	Name      string // "" where it has none
	Hot, Cold []*Component
}

// Total is a result of a whole cycle: plant.eta. Its line is one of the cycle's Body, a definition
// like any other.
type Total struct {
	Name   string // without the cycle's: eta
	Symbol *Symbol
	Line   *Line
	// Over is the total that this one is divided by, and that has to be above zero; nil for sums.
	Over *Symbol
}

// Total finds a total by any spelling of its name without the cycle's, or nil.
func (c *Cycle) Total(name string) *Total {
	key := lang.Name{Text: name}.Key()
	for _, t := range c.Totals {
		if (lang.Name{Text: t.Name}).Key() == key {
			return t
		}
	}
	return nil
}

// Full is the cycle's name with its sheet's: gt.plant.
func (c *Cycle) Full() string {
	if c.Sheet != "" {
		return c.Sheet + "." + c.Name
	}
	return c.Name
}

// Withheld is why some totals have no value.
type Withheld struct {
	Names  []string
	Reason string
}

// Without are the totals that have no value, in the order shown, each reason once.
func (c *Cycle) Without() []Withheld {
	var out []Withheld
	at := map[string]int{}
	for _, t := range totalNames {
		for _, name := range []string{t.specific, t.power} {
			reason, ok := c.withheld[name]
			if !ok || name == t.power && t.power == t.specific {
				continue
			}
			i, known := at[reason]
			if !known {
				i = len(out)
				at[reason] = i
				out = append(out, Withheld{Reason: reason})
			}
			out[i].Names = append(out[i].Names, name)
		}
	}
	return out
}

// key is that of a total's symbol.
func (c *Cycle) key(name string) string { return c.Name + "." + lang.Name{Text: name}.Key() }

// Title is the component in words: "turbine 6 → 7", "mixer 4 + 9 → 5".
func (c *Component) Title() string {
	legs := func(ls []Leg) string {
		out := ""
		for i, l := range ls {
			if i > 0 {
				out += " + "
			}
			out += l.State.Label()
		}
		return out
	}
	name := c.Kind
	if c.Pair != nil && c.Pair.Name != "" {
		name += " " + c.Pair.Name
	}
	if c.Side != "" {
		name += " " + c.Side
	}
	return name + " " + legs(c.From) + " → " + legs(c.To)
}

// Label is the state's name with its sheet's: 4, gt.4.
func (s *State) Label() string {
	if s.Sheet != "" {
		return s.Sheet + "." + s.ID
	}
	return s.ID
}

// ChartKind says what a chart shows.
type ChartKind = lang.ChartKind

// Chart is a picture. A chart whose line has failed shows nothing.
type Chart struct {
	Kind ChartKind
	Line *Line
	Stmt *lang.Chart
	// PropertyChart and ProfileChart: the axes. A profile has only Y.
	Y, X       propsdb.Property
	LogY, LogX bool
	Paths      []ChartPath
	Exchanger  *Exchanger // ProfileChart
	Cycle      *Cycle     // ProfileChart, SchematicChart
	Study      *Study     // StudyChart: its kept symbols of indices Kept against the input varied of index Along
	Kept       []int
	Along      int
}

// ChartPath is a row of states in a property diagram.
type ChartPath struct {
	States []*State
}

// Conserves reports a component whose legs are all its streams, so that what flows in flows out. A
// combustor without its fuel does not; nor does a cooler by which products go out and air comes in.
func (c *Component) Conserves() bool { return !c.joins() || len(c.From)+len(c.To) > 2 }

// joins reports a component whose streams are not all of one fluid: air and fuel in, products out.
func (c *Component) joins() bool {
	for _, legs := range [][]Leg{c.From, c.To} {
		for _, l := range legs {
			if !sameFluid(l.State.Fluid, c.From[0].State.Fluid) {
				return true
			}
		}
	}
	return false
}

// sameFluid reports two fluids of one composition that count from one zero. A gas of the database
// may go by several names, in this sheet and in those it uses.
func sameFluid(a, b *Fluid) bool {
	return a == b || a.Kind == Database && b.Kind == Database && a.Base == b.Base && a.Datum == b.Datum
}
