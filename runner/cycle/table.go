package cycle

import (
	"strings"

	"workings/runner/diag"
	"workings/runner/resolve"
	"workings/units"
)

// Table is an audit as a reader sees it: a row for each component, for each heat exchanger as a
// whole, and for the plant. Cells are empty where a quantity has no place, and say nothing where it
// is not known; Notes say why.
type Table struct {
	Heads []string
	Rows  []Row
	Notes []string
}

// Row is a row of the table with the findings that belong under it.
type Row struct {
	Name     string
	Line     *resolve.Line // of the component; nil for a heat exchanger and the plant
	Cells    []string      // one for each of Table.Heads
	Total    bool          // of the plant
	Findings []*diag.Problem
}

// EfficiencyCell is the cell that holds words as well as figures.
const EfficiencyCell = 2

// unknown stands where a quantity cannot be known from the states.
const unknown = "–"

// Table lays the audit out. The audit has to have a report.
func (a *Audit) Table() Table {
	r := a.Report
	w := wording{r.Plant.System, r.Plant.Basis}
	energy, entropy := w.unit(units.DimEnergyPerMass()), w.unit(units.DimEntropyPerMass())
	if w.basis == PerTime {
		energy, entropy = w.unit(units.DimPower()), w.unit(units.DimPower().Div(units.DimTemperature()))
	}
	exergy := len(r.Plant.Dead) > 0
	t := Table{Heads: []string{"work, " + energy.String(), "heat, " + energy.String(), "efficiency or effectiveness", "pressure lost", "entropy generated, " + entropy.String()}}
	if exergy {
		t.Heads = append(t.Heads, "exergy gained, "+energy.String(), "exergy destroyed, "+energy.String())
	}
	in := func(u units.Unit, v float64) string {
		if !known(v) {
			return unknown
		}
		return number(u.FromSI(v, 0), 5)
	}
	cells := func(work, heat, eta, loss, generated string, gained, destroyed float64) []string {
		out := []string{work, heat, eta, loss, generated}
		if exergy {
			out = append(out, in(energy, gained), in(energy, destroyed))
		}
		return out
	}
	reasons := map[string]bool{}
	for i := range r.Parts {
		p := &r.Parts[i]
		c := p.Component
		work, heat, loss, generated := "", "", "", in(entropy, p.Generated)
		switch {
		case c.Kind.works():
			work = in(energy, p.Total)
		case !c.Kind.joined():
			heat = in(energy, p.Total)
		}
		if !c.Kind.works() && c.single() && known(p.Loss) {
			loss = percent(p.Loss)
		}
		if c.Kind.sided() {
			generated = ""
		} else if p.Why != "" && !reasons[p.Why] {
			reasons[p.Why] = true
			t.Notes = append(t.Notes, "The entropy generated in the "+c.Title+" is not known: "+p.Why+".")
		}
		t.Rows = append(t.Rows, Row{Name: c.Title, Line: a.Cycle.Components[i].Line, Cells: cells(work, heat, p.efficiency(), loss, generated, p.Exergy, p.Destroyed), Findings: a.about(i)})
	}
	for i := range r.Pairs {
		x := &r.Pairs[i]
		eta := ""
		if known(x.OnEnthalpy) {
			eta = share(x.OnEnthalpy) + " on enthalpy, " + share(x.OnTemperature) + " on temperature"
		}
		row := Row{Name: x.Pair.Title, Cells: cells("", in(energy, x.Taken), eta, "", in(entropy, x.Generated), nan, x.Destroyed)}
		if exergy {
			row.Cells[5] = ""
		}
		t.Rows = append(t.Rows, row)
		switch {
		case x.Profile != nil:
			p := x.Profile
			note := "The least temperature difference of the " + x.Pair.Title + " is " + w.t(p.Pinch.Difference()) + ", " + place(p) + ": " + w.t(p.Pinch.Hot) + " against " + w.t(p.Pinch.Cold) +
				" (from properties at " + number(float64(len(p.Points)), 5) + " points, the pressures taken as linear in the heat)"
			if known(p.UA) {
				note += "; the heat needs UA = " + w.conductance(p.UA)
			}
			t.Notes = append(t.Notes, note+".")
		case x.Why != "":
			t.Notes = append(t.Notes, "The temperatures along the "+x.Pair.Title+" are not known: "+x.Why+".")
		}
	}
	if without := r.Plant.withoutDead(); exergy && len(without) > 0 {
		t.Notes = append(t.Notes, "The exergy at "+strings.Join(without, ", ")+" is not known: no dead state is given for the fluid there.")
	}
	if left := r.undestroyed(); exergy && known(r.Totals.Destroyed) && len(left) > 0 {
		t.Notes = append(t.Notes, "The exergy destroyed in all leaves out the "+strings.Join(left, ", the ")+", where it is not known.")
	}
	t.Rows = append(t.Rows, a.plantRow(in, energy, entropy, exergy))
	if x := &r.Totals; known(x.Residual) {
		t.Notes = append(t.Notes, "First law: heat in less heat out less net work leaves "+percent(x.Residual)+" of the heat in. The entropy generated sums up what is known of it.")
	}
	if x := &r.Totals; known(x.Eta) {
		t.Notes = append(t.Notes, "Between "+w.t(x.Hot)+" at "+x.HotLabel+" and "+w.t(x.Cold)+" at "+x.ColdLabel+" Carnot's efficiency is "+share(x.Carnot)+"; to stay below it proves little.")
	} else if x.Why != "" {
		t.Notes = append(t.Notes, "Totals are withheld: "+x.Why+".")
	}
	return t
}

// undestroyed are the components and exchangers of which it is not known how much exergy they destroy.
func (r *Report) undestroyed() []string {
	var out []string
	for i := range r.Parts {
		if p := &r.Parts[i]; !p.Component.Kind.sided() && !known(p.Destroyed) {
			out = append(out, p.Component.Title)
		}
	}
	for i := range r.Pairs {
		if x := &r.Pairs[i]; !known(x.Destroyed) {
			out = append(out, x.Pair.Title)
		}
	}
	return out
}

// plantRow sums the plant up.
func (a *Audit) plantRow(in func(units.Unit, float64) string, energy, entropy units.Unit, exergy bool) Row {
	x := &a.Report.Totals
	eta := ""
	if known(x.Eta) {
		eta = share(x.Eta)
	}
	if known(x.Eta) && known(x.Back) { // turbines that give no work leave no ratio to theirs
		eta += ", back work " + share(x.Back)
	}
	cells := []string{in(energy, x.Net), in(energy, x.In), eta, "", in(entropy, x.Generated)}
	if exergy {
		cells = append(cells, "", in(energy, x.Destroyed))
	}
	return Row{Name: a.Cycle.Name + ": net work, heat in", Cells: cells, Total: true, Findings: a.about(-1)}
}

// efficiency is what the states of a component imply.
func (p *Part) efficiency() string {
	if !p.Component.Kind.works() || !known(p.Isentropic) {
		return ""
	}
	out := share(p.Isentropic) + " isentropic"
	if known(p.Polytropic) {
		out += ", " + share(p.Polytropic) + " polytropic"
	}
	return out
}

// about are the problems about a component, or with −1 about the whole plant.
func (a *Audit) about(i int) []*diag.Problem {
	var out []*diag.Problem
	for k := range a.Report.Findings {
		if a.Report.Findings[k].Component == i {
			out = append(out, a.Problems[k])
		}
	}
	return out
}

// conductance is UA in the plant's basis.
func (w wording) conductance(v float64) string { return w.sgen(v) }
