package cycle

import (
	"slices"

	"workings/propsdb"
	"workings/units"
)

// Kind is the word of the language for what stands between states.
type Kind string

// The kinds of components.
const (
	Compressor  Kind = "compressor"
	Turbine     Kind = "turbine"
	Pump        Kind = "pump"
	Fan         Kind = "fan"
	Heater      Kind = "heater"
	Combustor   Kind = "combustor"
	Boiler      Kind = "boiler"
	Cooler      Kind = "cooler"
	Condenser   Kind = "condenser"
	Valve       Kind = "valve"
	Mixer       Kind = "mixer"
	Splitter    Kind = "splitter"
	Regenerator Kind = "regenerator"
	Exchanger   Kind = "exchanger"
)

// works reports a machine that takes or gives work and is taken as adiabatic.
func (k Kind) works() bool {
	return k == Compressor || k == Turbine || k == Pump || k == Fan
}

// takes reports a machine that takes work.
func (k Kind) takes() bool { return k == Compressor || k == Pump || k == Fan }

// heats reports a component by which heat enters the plant.
func (k Kind) heats() bool { return k == Heater || k == Combustor || k == Boiler }

// cools reports a component by which heat leaves the plant.
func (k Kind) cools() bool { return k == Cooler || k == Condenser }

// sided reports one side of a heat exchanger.
func (k Kind) sided() bool { return k == Regenerator || k == Exchanger }

// joined reports a component without work or heat in which streams meet, part or are throttled.
func (k Kind) joined() bool { return k == Valve || k == Mixer || k == Splitter }

// Stream is a state that flows into a component or out of it.
type Stream struct {
	Label string // of the state: 2s, gt.4
	State propsdb.State
	Flow  float64 // kg/s, or a share; NaN where it is not known
}

// Component is what stands between states.
type Component struct {
	Kind    Kind
	Title   string // "turbine 6 → 7"
	In, Out []Stream
	Pair    int  // of a regenerator or exchanger: index in Plant.Pairs; else -1
	Hot     bool // of these: it is the hot side
	// Fuel is the heat that a fuel sets free in it beyond what the enthalpies of its streams say, in
	// the unit of the basis.
	Fuel float64
}

// single reports a component with one stream through it.
func (c *Component) single() bool { return len(c.In) == 1 && len(c.Out) == 1 }

// reacts reports a component in which one fluid becomes another.
func (c *Component) reacts() bool {
	f := c.In[0].State.Fluid()
	for _, s := range append(append([]Stream{}, c.In...), c.Out...) {
		if !same(s.State.Fluid(), f) {
			return true
		}
	}
	return false
}

// same reports two fluids whose enthalpies count from one zero.
func same(a, b *propsdb.Fluid) bool {
	return a == b || a.Name() == b.Name() && a.Kind() == b.Kind() && a.Datum() == b.Datum() && a.R() == b.R()
}

// Pair is a heat exchanger: a hot and a cold side. Each side is one component, or several that its
// stream passes one after the other, in that order.
type Pair struct {
	Title     string
	Kind      Kind
	Hot, Cold []int // indices in Plant.Components
}

// Basis is what totals are counted per.
type Basis int

// The bases.
const (
	PerMass  Basis = iota // no flows are given: per kilogram of the one stream, J/kg
	PerShare              // flows in kg/kg: per kilogram of the stream whose share is 1, J/kg
	PerTime               // flows in kg/s: W
)

// Plant is what is audited.
type Plant struct {
	Components []Component
	Pairs      []Pair
	Basis      Basis
	Dead       []propsdb.State // dead states, at most one for a fluid
	// In and Out are the streams that enter the plant from outside and leave it; both empty where
	// the cycle is closed.
	In, Out []Stream
	// Assumed are the texts of the assumptions that the plant rests on. What is left out on purpose
	// and said there is not cautioned about.
	Assumed []string
	System  units.System // in whose units findings are worded
}

// dead is the dead state of a fluid.
func (p *Plant) dead(f *propsdb.Fluid) (propsdb.State, bool) {
	for _, d := range p.Dead {
		if same(d.Fluid(), f) {
			return d, true
		}
	}
	return propsdb.State{}, false
}

// withoutDead names the states of fluids that have no dead state, in the order of the components.
func (p *Plant) withoutDead() []string {
	var out []string
	for _, c := range p.Components {
		for _, s := range append(append([]Stream{}, c.In...), c.Out...) {
			if _, ok := p.dead(s.State.Fluid()); !ok && !slices.Contains(out, s.Label) {
				out = append(out, s.Label)
			}
		}
	}
	return out
}
