package cycle

import (
	"workings/runner/diag"
	"workings/runner/resolve"
)

// Report is what the states of a plant come to.
type Report struct {
	Plant    *Plant
	Parts    []Part
	Pairs    []Exchange
	Totals   Totals
	Findings []Finding
}

// Part is a component with what its states imply. Work is positive in the useful direction: into a
// compressor, pump or fan, out of a turbine. Heat is positive into a heater, combustor or boiler
// and the cold side of an exchanger, out of a cooler, condenser and the hot side.
type Part struct {
	Component *Component
	// Specific is work or heat per kilogram of the component's stream, J/kg; NaN where several
	// streams meet.
	Specific float64
	// Total is the same of the whole stream, in the unit of Plant.Basis.
	Total float64
	// Ideal is h at the outlet's pressure and the inlet's entropy, J/kg; of a machine.
	Ideal float64
	// Isentropic and Polytropic are the efficiencies of a machine.
	Isentropic, Polytropic float64
	// Loss is the share of the pressure that is lost between inlet and outlet, of a component
	// other than a machine.
	Loss float64
	// Generated is the entropy generated, W/K or J/(kg·K) by Plant.Basis. Of a heat exchanger it
	// is that of both sides, and stands in its Exchange.
	Generated float64
	// Exergy is by how much the streams' exergy rises, W or J/kg; Destroyed the exergy destroyed.
	// Both need a dead state.
	Exergy, Destroyed float64
	// Why says what keeps the entropy generated from being known; empty where it is known.
	Why string
}

// Exchange is a heat exchanger, both sides together.
type Exchange struct {
	Pair *Pair
	// Given is the heat of the hot side, Taken that of the cold one, in the unit of Plant.Basis.
	Given, Taken float64
	// OnEnthalpy is the heat taken over the most that could pass: with either stream leaving at the
	// temperature and its own pressure at which the other enters. OnTemperature is the greater of
	// the two changes of temperature over the difference of the inlet temperatures.
	OnEnthalpy, OnTemperature float64
	Generated, Destroyed      float64
	Profile                   *Profile // nil where there is none
	Why                       string   // what keeps a profile from being known
}

// Totals are those of the whole plant, in the unit of Plant.Basis.
type Totals struct {
	In, Out, Net float64 // heat in, heat out, net work
	Eta          float64 // thermal efficiency
	Back         float64 // back work ratio
	// Residual is heat in, less heat out, less net work, plus what streams bring in and less what
	// they take away, over the heat in: zero by the first law.
	Residual float64
	// Cold and Hot are the lowest and highest temperatures, K, and the Carnot efficiency of them.
	Cold, Hot           float64
	ColdLabel, HotLabel string
	Carnot              float64
	Generated           float64 // by all components for which it is known
	Destroyed           float64
	Why                 string // what keeps totals from being known
}

// Grade says how serious a finding is.
type Grade int

// The grades.
const (
	Unusual    Grade = iota // outside what is usual: a caution
	Impossible              // the states cannot be: an error
)

// Finding is something that the audit has to say.
type Finding struct {
	Code      diag.Code
	Grade     Grade
	Component int // index in Plant.Components; -1 for the whole plant
	Other     int // the other side of an exchanger; -1 for none
	Label     string
	Message   string
	Hint      string
	States    []string // labels of the states it is about
	// Line is the author's line that causes it, where that is not the component's own; Subject what
	// `accept` names it by, where that is not the component's outlet.
	Line    *resolve.Line
	Subject string
	Related []diag.Related
}
