package cycle

import (
	"fmt"
	"math"

	"workings/propsdb"
)

// Examine audits a plant.
func Examine(p *Plant) *Report {
	r := &Report{Plant: p}
	for i := range p.Components {
		r.Parts = append(r.Parts, p.part(&p.Components[i]))
	}
	for i := range p.Pairs {
		r.Pairs = append(r.Pairs, p.exchange(&p.Pairs[i]))
	}
	r.Totals = p.totals(r)
	r.find()
	return r
}

// sum adds flow times a property over streams; NaN where one is not known. A single stream without
// a flow counts once.
func sum(streams []Stream, q func(propsdb.State) float64) float64 {
	total := 0.0
	for _, s := range streams {
		total += s.Flow * q(s.State)
	}
	return total
}

func enthalpy(s propsdb.State) float64 { return prop(s, propsdb.H) }
func entropy(s propsdb.State) float64  { return prop(s, propsdb.S) }

// specificExergy is that of a stream at rest, J/kg: h − h0 − T0·(s − s0) (Moran, Shapiro, Boettner,
// Bailey: Fundamentals of Engineering Thermodynamics, Eq. 7.14 without motion and height; the
// number of the equation is from memory).
func (p *Plant) specificExergy(s propsdb.State) float64 {
	d, ok := p.dead(s.Fluid())
	if !ok {
		return nan
	}
	return enthalpy(s) - enthalpy(d) - d.T()*(entropy(s)-entropy(d))
}

// formed reports streams whose enthalpies hold the heat of formation, so that they compare across a
// reaction.
func formed(c *Component) bool {
	for _, s := range append(append([]Stream{}, c.In...), c.Out...) {
		if s.State.Fluid().Datum() != propsdb.Formation {
			return false
		}
	}
	return true
}

// balances reports a component whose enthalpies and flows make an energy balance.
func (c *Component) balances() (bool, string) {
	for _, s := range append(append([]Stream{}, c.In...), c.Out...) {
		if !known(s.Flow) {
			return false, "not every stream's flow is given"
		}
	}
	if c.reacts() && !formed(c) {
		return false, "one fluid becomes another here, and their enthalpies do not count from the formation of the elements"
	}
	return true, ""
}

func (p *Plant) part(c *Component) Part {
	t := Part{Component: c, Specific: nan, Total: nan, Ideal: nan, Isentropic: nan, Polytropic: nan, Loss: nan, Generated: nan, Exergy: nan, Destroyed: nan}
	rise := nan // of the streams' enthalpy, in the unit of the basis
	ok, why := c.balances()
	if ok {
		rise = sum(c.Out, enthalpy) - sum(c.In, enthalpy)
	}
	sign := 1.0
	if c.Kind == Turbine || c.Kind.cools() || c.Kind.sided() && c.Hot {
		sign = -1
	}
	switch {
	case c.Kind.joined():
		t.Total = rise
	default:
		t.Total = sign*rise + c.Fuel
		if c.single() && !c.reacts() {
			t.Specific = sign * (enthalpy(c.Out[0].State) - enthalpy(c.In[0].State))
		}
	}
	if c.single() {
		in, out := c.In[0].State, c.Out[0].State
		if c.Kind.works() && !c.reacts() {
			m := through(in, out, c.Kind.takes())
			t.Ideal, t.Isentropic, t.Polytropic = m.ideal, m.eta, m.poly
		} else if !c.Kind.works() {
			t.Loss = 1 - pressure(out)/pressure(in)
		}
	}
	p.second(c, &t, ok, why)
	return t
}

// second fills in entropy and exergy.
func (p *Plant) second(c *Component, t *Part, ok bool, why string) {
	if !ok {
		t.Why = why
		return
	}
	grown := sum(c.Out, entropy) - sum(c.In, entropy)
	t.Exergy = sum(c.Out, p.specificExergy) - sum(c.In, p.specificExergy)
	switch {
	case c.Kind.works() || c.Kind.joined():
		t.Generated = grown
		if d, ok := p.dead(c.In[0].State.Fluid()); ok {
			t.Destroyed = d.T() * grown
		}
	case c.Kind.sided():
		t.Why = "of both sides together"
	case c.Kind.cools():
		t.Why = "it depends on the temperature at which the heat is taken up"
		if d, ok := p.dead(c.In[0].State.Fluid()); ok {
			// The heat ends in the surroundings, at the temperature of the dead state.
			t.Generated, t.Why = grown+t.Total/d.T(), ""
			t.Destroyed = d.T() * t.Generated
		}
	default:
		t.Why = "it depends on the temperature at which the heat is given"
	}
}

// side is one side of an exchanger as a row of segments; why says where it is none.
func (p *Plant) side(indices []int) (Side, string) {
	var s Side
	for _, i := range indices {
		c := &p.Components[i]
		if !c.single() || c.reacts() {
			return nil, "a side of it has more than one stream"
		}
		g := Segment{In: c.In[0].State, Out: c.Out[0].State, Flow: c.In[0].Flow}
		if !known(g.Flow) {
			return nil, "not every stream's flow is given"
		}
		s = append(s, g)
	}
	for i := 1; i < len(s); i++ {
		a, b := p.Components[indices[i-1]].Out[0].Label, p.Components[indices[i]].In[0].Label
		if a != b {
			return nil, fmt.Sprintf("its sides branch: %s and %s are not one state", a, b)
		}
	}
	return s, ""
}

func (p *Plant) exchange(pair *Pair) Exchange {
	x := Exchange{Pair: pair, Given: nan, Taken: nan, OnEnthalpy: nan, OnTemperature: nan, Generated: nan, Destroyed: nan}
	x.Given, x.Taken = 0, 0
	x.Generated = 0
	for _, i := range pair.Hot {
		c := &p.Components[i]
		x.Given -= sum(c.Out, enthalpy) - sum(c.In, enthalpy)
		x.Generated += sum(c.Out, entropy) - sum(c.In, entropy)
	}
	for _, i := range pair.Cold {
		c := &p.Components[i]
		x.Taken += sum(c.Out, enthalpy) - sum(c.In, enthalpy)
		x.Generated += sum(c.Out, entropy) - sum(c.In, entropy)
	}
	if d, ok := p.dead(p.Components[pair.Hot[0]].In[0].State.Fluid()); ok {
		x.Destroyed = d.T() * x.Generated
	}
	hot, why := p.side(pair.Hot)
	if why == "" {
		var cold Side
		if cold, why = p.side(pair.Cold); why == "" {
			x.effectiveness(hot, cold)
			x.Profile, x.Why = profileOf(hot, cold)
			return x
		}
	}
	x.Why = why
	return x
}

func profileOf(hot, cold Side) (*Profile, string) {
	if !(hot.heat() < 0 && cold.heat() > 0) {
		return nil, "the heat does not pass from the hot side to the cold one"
	}
	p, ok := NewProfile(hot, cold)
	if !ok {
		return nil, "a state along it lies outside the property data"
	}
	return p, ""
}

// effectiveness compares the heat with the most that could pass in counterflow.
func (x *Exchange) effectiveness(hot, cold Side) {
	hotIn, coldIn := hot.inlet(), cold.inlet()
	span := hotIn.T() - coldIn.T()
	if !(math.Abs(span) > 0) {
		return
	}
	x.OnTemperature = math.Max(math.Abs(hotIn.T()-hot.outlet().T()), math.Abs(cold.outlet().T()-coldIn.T())) / math.Abs(span)
	if cold.outlet().T() < coldIn.T() {
		x.OnTemperature = -x.OnTemperature
	}
	most := math.Inf(1)
	for _, s := range []struct {
		side Side
		to   float64
	}{{hot, coldIn.T()}, {cold, hotIn.T()}} {
		if q := math.Abs(s.side.most(s.to)); q < most {
			most = q
		}
	}
	if most > 0 && !math.IsInf(most, 1) {
		x.OnEnthalpy = x.Taken / most
	}
}

// most is the heat of a side that leaves at a temperature and its own outlet's pressure; NaN where
// that state is outside the data. A side of water at saturation takes the one it would come to.
func (s Side) most(t float64) float64 {
	for _, g := range s[1:] {
		if g.Flow != s[0].Flow {
			return nan
		}
	}
	f, p := s.outlet().Fluid(), pressure(s.outlet())
	h := nan
	if known(p) {
		h = f.StateFast(propsdb.P, p, propsdb.T, t).GetFast(propsdb.H)
	} else if st, err := f.StateT(t); err == nil {
		h = prop(st, propsdb.H)
	}
	return s[0].Flow * (h - enthalpy(s.inlet()))
}

func (p *Plant) totals(r *Report) Totals {
	t := Totals{Cold: math.Inf(1), Hot: math.Inf(-1)}
	taken, given := 0.0, 0.0 // work
	var all []Stream
	for i := range p.Components {
		c, part := &p.Components[i], &r.Parts[i]
		all = append(append(all, c.In...), c.Out...)
		if !known(part.Total) && t.Why == "" {
			_, why := c.balances()
			if why == "" {
				why = "an enthalpy is not known"
			}
			t.Why = c.Title + ": " + why
		}
		switch {
		case c.Kind.heats():
			t.In += part.Total
		case c.Kind.cools():
			t.Out += part.Total
		case c.Kind.takes():
			taken += part.Total
		case c.Kind == Turbine:
			given += part.Total
		}
		if known(part.Generated) {
			t.Generated += part.Generated
			t.Destroyed += part.Destroyed
		}
	}
	for _, x := range r.Pairs {
		t.Generated += x.Generated
		t.Destroyed += x.Destroyed
	}
	for _, s := range all {
		if v := s.State.T(); v < t.Cold {
			t.Cold, t.ColdLabel = v, s.Label
		}
		if v := s.State.T(); v > t.Hot {
			t.Hot, t.HotLabel = v, s.Label
		}
	}
	t.Net = given - taken
	t.Eta, t.Back, t.Residual = nan, nan, nan
	t.Carnot = 1 - t.Cold/t.Hot
	if t.In > 0 {
		t.Eta = t.Net / t.In
		t.Residual = (t.In - t.Out - t.Net + p.brought()) / t.In
	}
	if given > 0 {
		t.Back = taken / given
	}
	return t
}

// brought is what the streams that enter the plant bring more than those that leave take away. What
// a fuel sets free counts in the heat, and in the enthalpy of products on the formation datum as
// well: here it is taken out again.
func (p *Plant) brought() float64 {
	v := sum(p.In, enthalpy) - sum(p.Out, enthalpy)
	for _, c := range p.Components {
		switch {
		case c.Kind.heats():
			v -= c.Fuel
		case c.Kind.cools():
			v += c.Fuel
		}
	}
	return v
}
