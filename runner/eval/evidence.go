package eval

import "workings/propsdb"

// FluidEvidence is the property evidence of one fluid: the states of the sheet that were looked up
// in it, in reading order, and how each is read from an extract of its table.
type FluidEvidence struct {
	Name  string
	Fluid *propsdb.Fluid
	// States are the entries that Looks of Evidence belong to.
	States []*Entry
	propsdb.Evidence
}

// Evidence is the property evidence of every state of the sheet, those of workings, solves and used
// sheets included, by fluid in the order of their first states. Fluids that share their data under
// one name share a table.
func (t *Trace) Evidence() []FluidEvidence {
	var out []FluidEvidence
	place := map[*propsdb.Fluid]int{}
	var walk func(es []*Entry)
	walk = func(es []*Entry) {
		for _, e := range es {
			if d := e.State; d != nil && e.Status == Done && d.Fluid != nil && e.Line.State != nil {
				i, ok := place[d.Fluid]
				if !ok {
					i = len(out)
					place[d.Fluid] = i
					out = append(out, FluidEvidence{Name: t.FluidName(e.Line.State.Fluid, d.Fluid), Fluid: d.Fluid})
				}
				out[i].States = append(out[i].States, e)
			}
			walk(e.Children)
		}
	}
	walk(t.Entries)
	for i := range out {
		f := &out[i]
		states := make([]propsdb.State, len(f.States))
		for j, e := range f.States {
			states[j] = e.State.State
		}
		f.Evidence = f.Fluid.Evidence(states, t.Sheet.System, func(j int) bool { return readsVolume(f.States[j]) })
	}
	return out
}

// readsVolume says whether some line reads v or ρ of a state.
func readsVolume(e *Entry) bool {
	for _, r := range e.Results {
		if r.Read && (r.Symbol.Prop == propsdb.V || r.Symbol.Prop == propsdb.Rho) && r.Symbol.State != nil {
			return true
		}
	}
	return false
}
