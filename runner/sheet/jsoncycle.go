package sheet

import (
	"math"

	"workings/runner/cycle"
)

// The records of the audit of a cycle. Every quantity is in SI; null where it cannot be known, and
// absent where it has no place.
type (
	jsonCycle struct {
		Name       string          `json:"name"`
		Sheet      string          `json:"sheet,omitempty"`
		Line       int             `json:"line"`
		Basis      string          `json:"basis"`
		Components []jsonMachine   `json:"components"`
		Exchangers []jsonExchanger `json:"exchangers"`
		Totals     jsonTotals      `json:"totals"`
		Notes      []string        `json:"notes"`
	}
	jsonMachine struct {
		Kind       string   `json:"kind"`
		From       []string `json:"from"`
		To         []string `json:"to"`
		Entry      string   `json:"entry,omitempty"`
		Energy     number   `json:"energy"`
		Isentropic *number  `json:"isentropic,omitempty"`
		Polytropic *number  `json:"polytropic,omitempty"`
		Loss       *number  `json:"pressure_lost,omitempty"`
		Generated  number   `json:"entropy_generated"`
		Exergy     *number  `json:"exergy_gained,omitempty"`
		Destroyed  *number  `json:"exergy_destroyed,omitempty"`
		Findings   []string `json:"findings"`
	}
	jsonExchanger struct {
		Title         string      `json:"title"`
		Given         number      `json:"heat_given"`
		Taken         number      `json:"heat_taken"`
		OnEnthalpy    number      `json:"effectiveness"`
		OnTemperature number      `json:"effectiveness_on_temperature"`
		Generated     number      `json:"entropy_generated"`
		Least         number      `json:"least_difference"`
		Share         number      `json:"at_share_of_heat"`
		UA            number      `json:"conductance"`
		Profile       []jsonPlace `json:"profile"`
	}
	jsonPlace struct {
		Share number `json:"share"`
		Heat  number `json:"heat"`
		Hot   number `json:"hot"`
		Cold  number `json:"cold"`
	}
	jsonTotals struct {
		In        number   `json:"heat_in"`
		Out       number   `json:"heat_out"`
		Net       number   `json:"net_work"`
		Eta       number   `json:"efficiency"`
		Back      number   `json:"back_work_ratio"`
		Residual  number   `json:"residual"`
		Carnot    number   `json:"carnot"`
		Generated number   `json:"entropy_generated"`
		Findings  []string `json:"findings"`
	}
)

// jsonCycles are the audits of the notebook's cycles and of those it uses.
func (p *page) jsonCycles() []jsonCycle {
	var out []jsonCycle
	for _, a := range p.o.Audits {
		if a.Report != nil {
			out = append(out, p.jsonCycleOf(a))
		}
	}
	return out
}

func (p *page) jsonCycleOf(a *cycle.Audit) jsonCycle {
	r := a.Report
	basis := [...]string{cycle.PerMass: "J/kg", cycle.PerShare: "J/kg", cycle.PerTime: "W"}[r.Plant.Basis]
	j := jsonCycle{Name: a.Cycle.Name, Sheet: a.Sheet, Line: typedLine(a.Cycle.Line), Basis: basis, Components: []jsonMachine{}, Exchangers: []jsonExchanger{}, Notes: a.Table().Notes}
	if j.Notes == nil {
		j.Notes = []string{}
	}
	codes := func(i int) []string {
		out := []string{}
		for _, f := range r.Findings {
			if f.Component == i {
				out = append(out, string(f.Code))
			}
		}
		return out
	}
	labels := func(ss []cycle.Stream) []string {
		out := []string{}
		for _, s := range ss {
			out = append(out, s.Label)
		}
		return out
	}
	for i := range r.Parts {
		x := &r.Parts[i]
		c := jsonMachine{Kind: string(x.Component.Kind), From: labels(x.Component.In), To: labels(x.Component.Out), Energy: number(x.Total), Isentropic: known(x.Isentropic),
			Polytropic: known(x.Polytropic), Loss: known(x.Loss), Generated: number(x.Generated), Exergy: known(x.Exergy), Destroyed: known(x.Destroyed), Findings: codes(i)}
		if e := p.entry(a.Cycle.Components[i].Line); e != nil {
			c.Entry = e.Number
		}
		j.Components = append(j.Components, c)
	}
	for i := range r.Pairs {
		x := &r.Pairs[i]
		e := jsonExchanger{Title: x.Pair.Title, Given: number(x.Given), Taken: number(x.Taken), OnEnthalpy: number(x.OnEnthalpy), OnTemperature: number(x.OnTemperature), Generated: number(x.Generated), Profile: []jsonPlace{}}
		if x.Profile != nil {
			e.Least, e.Share, e.UA = number(x.Profile.Pinch.Difference()), number(x.Profile.Pinch.Share), number(x.Profile.UA)
			for _, pt := range x.Profile.Points {
				e.Profile = append(e.Profile, jsonPlace{number(pt.Share), number(pt.Heat), number(pt.Hot), number(pt.Cold)})
			}
		}
		j.Exchangers = append(j.Exchangers, e)
	}
	t := &r.Totals
	j.Totals = jsonTotals{number(t.In), number(t.Out), number(t.Net), number(t.Eta), number(t.Back), number(t.Residual), number(t.Carnot), number(t.Generated), codes(-1)}
	return j
}

// known is a figure that has a place, or nil.
func known(v float64) *number {
	if math.IsNaN(v) {
		return nil
	}
	n := number(v)
	return &n
}
