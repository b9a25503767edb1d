package cycle

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"workings/propsdb"
	"workings/runner/diag"
	"workings/units"
)

// Tolerances, by which an ideal machine or regenerator passes: a temperature cross counts from
// ΔT < −1e-6·T, entropy as destroyed from Δs < −1e-6·cp, energy as out of balance from 1e-6 of the
// heat in (the rules of the project's own audit; practice, no outside source).
const (
	crossTolerance   = 1e-6
	entropyTolerance = 1e-6
	energyTolerance  = 1e-6
)

// finder collects findings.
type finder struct {
	*Report
	wording
}

func (r *Report) find() {
	f := &finder{r, wording{r.Plant.System, r.Plant.Basis}}
	for i := range r.Parts {
		f.pressure(i)
		switch c := r.Parts[i].Component; {
		case c.Kind.works():
			f.machine(i)
		case c.Kind.heats() || c.Kind.cools():
			f.heat(i)
		case c.Kind.joined():
			f.joint(i)
		}
	}
	for i := range r.Pairs {
		f.exchanger(&r.Pairs[i])
	}
	f.plant()
	f.usual()
	r.sort()
}

// sort puts findings in the order of the components.
func (r *Report) sort() {
	slices.SortStableFunc(r.Findings, func(a, b Finding) int {
		switch x, y := a.place(), b.place(); {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
}

// place orders findings by their components, those of the whole plant last.
func (f *Finding) place() int {
	if f.Component < 0 {
		return math.MaxInt
	}
	return f.Component
}

func (r *Report) add(f Finding) *Finding {
	r.Findings = append(r.Findings, f)
	return &r.Findings[len(r.Findings)-1]
}

func (f *finder) impossible(i int, code diag.Code, format string, args ...any) *Finding {
	return f.add(Finding{Code: code, Grade: Impossible, Component: i, Other: -1, States: f.labels(i), Message: fmt.Sprintf(format, args...)})
}

func (f *finder) unusual(i int, code diag.Code, format string, args ...any) *Finding {
	return f.add(Finding{Code: code, Grade: Unusual, Component: i, Other: -1, States: f.labels(i), Message: fmt.Sprintf(format, args...)})
}

// found reports a finding of the code about the component.
func (r *Report) found(i int, code diag.Code) bool {
	return slices.ContainsFunc(r.Findings, func(f Finding) bool { return f.Code == code && (f.Component == i || f.Other == i) })
}

func (r *Report) labels(i int) []string {
	if i < 0 {
		return nil
	}
	var out []string
	for _, s := range append(append([]Stream{}, r.Plant.Components[i].In...), r.Plant.Components[i].Out...) {
		out = append(out, s.Label)
	}
	return out
}

// slack is the specific entropy below which rounding is no destruction of it.
func slack(s propsdb.State) float64 {
	cp := prop(s, propsdb.Cp)
	if !known(cp) {
		cp = 4180 // wet steam has none: that of liquid water, J/(kg·K), from memory
	}
	return entropyTolerance * cp
}

func (f *finder) machine(i int) {
	t := &f.Parts[i]
	c := t.Component
	if !c.single() || c.reacts() {
		return
	}
	in, out := c.In[0], c.Out[0]
	h1, h2, s1, s2 := enthalpy(in.State), enthalpy(out.State), entropy(in.State), entropy(out.State)
	if !known(s1) || !known(s2) {
		return
	}
	destroyed := s2-s1 < -slack(out.State)
	switch {
	case destroyed && c.Kind.takes():
		hs, h := f.ideal(t.Ideal, h2)
		f.impossible(i, CodeIsentropic, "%s: the outlet enthalpy %s lies below the isentropic outlet's %s, so that the machine would take less work than a reversible one and destroy entropy, s(%s) − s(%s) = %s",
			c.Title, h, hs, out.Label, in.Label, f.s(s2-s1)).
			hint("an isentropic efficiency multiplied where it has to divide gives this: h_out = h_in + (h_s − h_in)/eta for a machine that takes work").
			label("implied isentropic efficiency " + share(t.Isentropic))
	case destroyed:
		hs, h := f.ideal(t.Ideal, h2)
		f.impossible(i, CodeIsentropic, "%s: the outlet enthalpy %s lies below the isentropic outlet's %s, so that the turbine would give more work than a reversible one and destroy entropy, s(%s) − s(%s) = %s",
			c.Title, h, hs, out.Label, in.Label, f.s(s2-s1)).
			hint("an isentropic efficiency divided where it has to multiply, or an outlet temperature from another gas model gives this: h_out = h_in − eta*(h_in − h_s)").
			label("implied isentropic efficiency " + share(t.Isentropic))
	case c.Kind.takes() && h2 < h1-tiny(h1, t.Ideal):
		f.impossible(i, CodeWorkSign, "%s: the enthalpy falls from %s to %s, and a %s takes work and raises it", c.Title, f.h(h1), f.h(h2), c.Kind).
			hint("look whether the states stand in the direction of the flow, and whether the work was added")
	case c.Kind.takes() && pressure(out.State) < pressure(in.State)*(1-1e-9):
		f.impossible(i, CodeWorkSign, "%s: it takes work, and the pressure falls from %s to %s, which a %s raises", c.Title, f.p(pressure(in.State)), f.p(pressure(out.State)), c.Kind).
			hint("an efficiency lies between 0 and 1: look whether one of the pressures is a gauge reading, or in another unit").
			label("implied isentropic efficiency " + share(t.Isentropic))
	case c.Kind == Turbine && h2 > h1+tiny(h1, t.Ideal):
		f.impossible(i, CodeWorkSign, "%s: the enthalpy rises from %s to %s, and a turbine gives work and lowers it", c.Title, f.h(h1), f.h(h2)).
			hint("look whether the states stand in the direction of the flow, and whether the work was subtracted")
	}
}

// ideal writes the two outlet enthalpies; outside the data the isentropic one has none.
func (f *finder) ideal(ideal, h float64) (string, string) {
	if !known(ideal) {
		return "(not in the property data)", f.h(h)
	}
	return f.two(units.DimEnergyPerMass(), ideal, h)
}

func tiny(h1, ideal float64) float64 {
	if d := math.Abs(ideal - h1); d > 0 {
		return 1e-9 * d
	}
	return 1e-9 * math.Abs(h1)
}

func (f *Finding) hint(format string, args ...any) *Finding {
	f.Hint = fmt.Sprintf(format, args...)
	return f
}

func (f *Finding) label(text string) *Finding {
	f.Label = text
	return f
}

func (f *finder) heat(i int) {
	t := &f.Parts[i]
	c := t.Component
	if !(t.Total < 0) || math.Abs(t.Total) <= energyTolerance*math.Abs(sum(c.In, enthalpy)) {
		return
	}
	verb, does := "takes heat in", "would give off"
	if c.Kind.cools() {
		verb, does = "gives heat off", "would take in"
	}
	f.impossible(i, CodeHeatSign, "%s: a %s %s, and by its states this one %s %s", c.Title, c.Kind, verb, does, f.q(-t.Total)).
		hint("look whether the states stand in the direction of the flow, and whether %s or %s is the state meant", c.In[0].Label, c.Out[0].Label)
}

func (f *finder) joint(i int) {
	t := &f.Parts[i]
	c := t.Component
	scale := 0.0
	for _, s := range append(append([]Stream{}, c.In...), c.Out...) {
		scale = math.Max(scale, math.Abs(s.Flow*slack(s.State)/entropyTolerance))
	}
	if !known(t.Total) || !known(t.Generated) || !(scale > 0) {
		return
	}
	hot := 0.0
	for _, s := range c.In {
		hot = math.Max(hot, s.State.T())
	}
	switch {
	case math.Abs(t.Total) > energyTolerance*scale*hot:
		f.impossible(i, CodeEnergy, "%s: no work or heat passes in a %s, and the streams leave with %s %s than they bring", c.Title, c.Kind, f.q(math.Abs(t.Total)), moreLess(t.Total)).
			hint("the enthalpy out is the enthalpy in, each with its flow: look at the outlet's enthalpy and at the flows")
	case t.Generated < -entropyTolerance*scale && !f.found(i, CodeRise): // which destroys it, and is said
		f.impossible(i, CodeEntropy, "%s: entropy falls by %s in an adiabatic %s; nothing can destroy it", c.Title, f.sgen(-t.Generated), c.Kind).
			hint("look at the pressures: a stream that meets another, or passes a valve, does not rise in pressure")
	}
}

func moreLess(v float64) string {
	if v > 0 {
		return "more"
	}
	return "less"
}

// pressure looks for a rise through what is no machine.
func (f *finder) pressure(i int) {
	c := &f.Plant.Components[i]
	if c.Kind.works() {
		return
	}
	least := math.Inf(1)
	from := ""
	for _, s := range c.In {
		if p := pressure(s.State); p < least {
			least, from = p, s.Label
		}
	}
	if c.Kind == Mixer { // a jet of the higher pressure may lift the other
		least = 0
		for _, s := range c.In {
			if p := pressure(s.State); p > least {
				least, from = p, s.Label
			}
		}
	}
	for _, s := range c.Out {
		if p := pressure(s.State); p > least*(1+1e-9) {
			a, b := f.two(units.DimPressure(), least, p)
			f.impossible(i, CodeRise, "%s: the pressure rises from %s at %s to %s at %s, and only a compressor, pump or fan can raise it", c.Title, a, from, b, s.Label).
				hint("a loss added instead of taken off gives this: p_out = p_in*(1 − loss)")
			return
		}
	}
}

func (f *finder) exchanger(x *Exchange) {
	hot, cold := x.Pair.Hot[0], x.Pair.Cold[0]
	pair := func(g *Finding) *Finding {
		g.Other = hot
		if g.Component == hot {
			g.Other = cold
		}
		g.States = append(append([]string{}, f.labels(cold)...), f.labels(hot)...)
		return g
	}
	hotIn := f.Plant.Components[hot].In[0]
	coldIn := f.Plant.Components[cold].In[0]
	most := math.Max(math.Abs(x.Given), math.Abs(x.Taken))
	crossed := false
	if p := x.Profile; p != nil && p.Pinch.Difference() < -crossTolerance*p.Pinch.Hot {
		crossed = true
	}
	out := x.balance()
	switch {
	case coldIn.State.T()-hotIn.State.T() > crossTolerance*hotIn.State.T():
		pair(f.impossible(cold, CodeFeed, "%s: the stream to be heated enters at %s, hotter than the %s at which the other enters, so that heat would flow from cold to hot", x.Pair.Title, f.t(coldIn.State.T()), f.t(hotIn.State.T()))).
			hint("T%s − T%s = %s: where the compressor's outlet is hotter than the turbine's exhaust a regenerator harms; look at the pressure ratio, or leave it out", hotIn.Label, coldIn.Label, f.t(hotIn.State.T()-coldIn.State.T()))
	case !(most > 0):
	case x.Given < 0 || x.Taken < 0:
		c := cold
		if x.Taken >= 0 {
			c = hot
		}
		pair(f.impossible(c, CodeEffectiveness, "%s: the hot side gives %s and the cold side takes up %s, so that heat would pass from cold to hot; the effectiveness %s lies outside 0 … 1", x.Pair.Title, f.q(x.Given), f.q(x.Taken), share(x.OnEnthalpy))).
			hint("look which side is hot, and whether its outlet is cooler than its inlet")
	case crossed:
		f.cross(x, pair)
	case x.OnEnthalpy > 1+1e-6:
		pair(f.impossible(cold, CodeEffectiveness, "%s: the effectiveness on enthalpy is %s, and no counterflow exchanger passes more heat than would bring one stream to the inlet temperature of the other", x.Pair.Title, share(x.OnEnthalpy)))
	case x.Generated < -slack(hotIn.State)*flowOf(hotIn) && math.Abs(out) <= energyTolerance*most:
		pair(f.impossible(cold, CodeEntropy, "%s: its two sides together destroy entropy, %s", x.Pair.Title, f.sgen(x.Generated))).
			hint("look at the pressures of both sides and at the direction of the heat")
	}
	switch {
	case !(most > 0) || math.Abs(out) <= energyTolerance*most || !known(out):
	case out > 0:
		pair(f.impossible(cold, CodeEnergy, "%s: the cold side takes up %s, and the hot side gives only %s: %s come from nowhere", x.Pair.Title, f.q(x.Taken), f.q(x.Given), f.q(out))).
			hint("the heat of one side has to be that of the other: give one outlet by the heat balance, with both flows")
	default:
		pair(f.unusual(hot, CodeEnergy, "%s: the hot side gives %s, and the cold side takes up %s; %s must be lost to the surroundings", x.Pair.Title, f.q(x.Given), f.q(x.Taken), f.q(-out))).
			hint("say so in an assumption and accept this, or give one outlet by the heat balance")
	}
}

// balance is by how much the cold side takes up more than the hot one gives.
func (x *Exchange) balance() float64 { return x.Taken - x.Given }

func flowOf(s Stream) float64 {
	if known(s.Flow) && s.Flow > 0 {
		return s.Flow
	}
	return 1
}

func (f *finder) cross(x *Exchange, pair func(*Finding) *Finding) {
	p := x.Profile
	cold := x.Pair.Cold[0]
	last := p.Points[len(p.Points)-1]
	g := pair(f.impossible(cold, CodeCross, "%s: the temperatures cross %s: the hot stream is at %s and the cold one at %s, so that heat would flow from cold to hot", x.Pair.Title, place(p), f.t(p.Pinch.Hot), f.t(p.Pinch.Cold)))
	g.label("least difference " + f.t(p.Pinch.Difference()))
	if p.Where == Inside {
		g.hint("at the ends alone nothing shows, %s at the hot end and %s at the cold one: the specific heats change along the way, or a liquid begins to boil; pass less heat, or change a flow or a pressure", f.t(last.Difference()), f.t(p.Points[0].Difference()))
		return
	}
	g.hint("the effectiveness is %s on enthalpy and %s on temperature; 1 is the most", share(x.OnEnthalpy), share(x.OnTemperature))
}

func (f *finder) plant() {
	t := &f.Totals
	if known(t.Residual) && math.Abs(t.Residual) > energyTolerance && !f.anyCode(CodeEnergy) {
		f.impossible(-1, CodeEnergy, "first law of the whole plant: heat in %s, heat out %s and net work %s leave a residual of %s of the heat in", f.q(t.In), f.q(t.Out), f.q(t.Net), percent(t.Residual)).
			hint("a component is missing between two states, or one stands in the cycle twice")
	}
	brought := f.Plant.brought()
	switch {
	case brought > energyTolerance*math.Abs(t.In) && t.Net > 0 && known(t.Eta):
		f.unusual(-1, CodeStream, "the streams that enter the plant bring %s more than they take away, and the thermal efficiency %s counts only the heat of heaters, %s", f.q(brought), percent(t.Eta), f.q(t.In)).
			hint("add the component that heats the stream, so that its heat counts, or leave the efficiency of this plant alone")
	case t.Eta > t.Carnot*(1+1e-9)+1e-9:
		a, b := f.two(units.Dimension{}, t.Eta, t.Carnot)
		f.impossible(-1, CodeCarnot, "the thermal efficiency %s exceeds Carnot's %s between %s at %s and %s at %s: no engine between these temperatures can", a, b, f.t(t.Hot), t.HotLabel, f.t(t.Cold), t.ColdLabel).
			hint("some component gives work or saves heat that it cannot; the other findings name it where the states show it")
	}
}

func (r *Report) anyCode(code diag.Code) bool {
	return slices.ContainsFunc(r.Findings, func(f Finding) bool { return f.Code == code })
}

// assumed reports an assumption that speaks of one of the words.
func (p *Plant) assumed(words ...string) bool {
	for _, a := range p.Assumed {
		for _, w := range words {
			if strings.Contains(strings.ToLower(a), w) {
				return true
			}
		}
	}
	return false
}
