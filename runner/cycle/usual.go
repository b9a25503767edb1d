package cycle

import (
	"math"
	"strconv"

	"workings/propsdb"
)

// Usual ranges. Common practice, no source; values seen in studies and exercises lie inside them
// with few exceptions. They never block.
const (
	compressorLo, compressorHi = 0.75, 0.92 // isentropic efficiency
	turbineLo, turbineHi       = 0.75, 0.94
	effectiveLo, effectiveHi   = 0.40, 0.92 // of a regenerator
	lossHi                     = 0.05       // of the pressure, each component of a gas
	ratioWithRegenerator       = 20.0
	uncooled                   = 1300.0 // K, inlet of a turbine without cooled blades
	backLo, backHi             = 0.25, 0.80
	approachLo                 = 10.0 // K
	ratioLo, ratioHi           = 1.0, 50.0
	pressureLo, pressureHi     = 10e3, 10e6 // Pa, of a gas
	ideal                      = 1e-6       // how far from 1 an efficiency counts as ideal
	constantCpTolerance        = 0.05       // of cp
)

func gas(s propsdb.State) bool { return s.Fluid().Kind() != propsdb.Water }

func (f *finder) usual() {
	for i := range f.Parts {
		t := &f.Parts[i]
		c := t.Component
		switch {
		case f.found(i, CodeIsentropic) || f.found(i, CodeWorkSign):
		case c.Kind == Compressor:
			f.efficiency(i, compressorLo, compressorHi)
		case c.Kind == Turbine:
			f.efficiency(i, turbineLo, turbineHi)
			f.inlet(i)
		}
		f.scale(i)
		f.loss(i)
	}
	for i := range f.Pairs {
		f.usualExchanger(&f.Pairs[i])
	}
	f.noLoss()
	f.usualPlant()
}

func (f *finder) efficiency(i int, lo, hi float64) {
	t := &f.Parts[i]
	e := t.Isentropic
	switch {
	case !known(e) || e >= lo && e <= hi:
	case math.Abs(e-1) < ideal:
		if !f.Plant.assumed("isentropic", "ideal", "reversible", "no loss", "without loss") {
			f.unusual(i, CodeUsual, "%s: the machine is isentropic, and no assumption says so; usual are %s .. %s (common practice)", t.Component.Title, share(lo), share(hi)).
				hint("state it in an assumption, such as ideal: the machines are isentropic // …, and cite it as [ideal] beside the outlet; or give an efficiency")
		}
	default:
		f.unusual(i, CodeUsual, "%s: the isentropic efficiency that the states imply is %s, outside the usual %s .. %s (common practice)", t.Component.Title, share(e), share(lo), share(hi)).
			hint("look at the pressures and temperatures of the two states; a machine of another kind may be right")
	}
}

func (f *finder) inlet(i int) {
	c := f.Parts[i].Component
	for _, s := range c.In {
		if s.State.T() > uncooled && gas(s.State) && !f.Plant.assumed("cool") {
			f.unusual(i, CodeUsual, "%s: the gas enters at %s, above the %s or so that blades bear without cooling (common practice)", c.Title, f.t(s.State.T()), f.t(uncooled)).
				hint("ask how the blades are cooled: cooling air passes by the combustor and costs work. If it is left out, say so in an assumption and cite that as [label] beside this temperature")
		}
	}
}

// scale looks at pressures and ratios that hint at gauge readings, or at bar taken for kPa.
func (f *finder) scale(i int) {
	c := f.Parts[i].Component
	for _, s := range c.Out { // every state of a cycle is some component's outlet
		if p := pressure(s.State); gas(s.State) && known(p) && (p < pressureLo || p > pressureHi) {
			f.unusual(i, CodeScale, "%s: the pressure at %s is %s, outside the %s .. %s in which gas turbines work (common practice)", c.Title, s.Label, f.p(p), f.p(pressureLo), f.p(pressureHi)).
				hint("look at the unit, and whether a gauge reading was taken for an absolute pressure")
		}
	}
	if (c.Kind != Compressor && c.Kind != Turbine) || !c.single() || !gas(c.In[0].State) {
		return
	}
	r := pressure(c.Out[0].State) / pressure(c.In[0].State)
	if c.Kind == Turbine {
		r = 1 / r
	}
	if known(r) && (r < ratioLo || r > ratioHi) && !f.found(i, CodeWorkSign) {
		f.unusual(i, CodeScale, "%s: its pressure ratio is %s, outside the %s .. %s of one machine (common practice)", c.Title, number(r, 4), number(ratioLo, 4), number(ratioHi, 4)).
			hint("the ratio is taken between absolute pressures: look whether one of %s and %s is a gauge reading or in another unit", f.p(pressure(c.In[0].State)), f.p(pressure(c.Out[0].State)))
	}
}

func (f *finder) loss(i int) {
	t := &f.Parts[i]
	c := t.Component
	if c.Kind.works() || c.Kind.joined() || !known(t.Loss) || !gas(c.In[0].State) || t.Loss <= lossHi {
		return
	}
	f.unusual(i, CodeUsual, "%s: it loses %s of its pressure; 2 %% .. 5 %% in each component are usual (common practice)", c.Title, percent(t.Loss)).
		hint("look at the pressures of %s and %s", c.In[0].Label, c.Out[0].Label)
}

// noLoss speaks once of a plant in which no exchanger or heater loses pressure.
func (f *finder) noLoss() {
	first, n := -1, 0
	for i := range f.Parts {
		c := f.Parts[i].Component
		if !c.single() || !known(f.Parts[i].Loss) || !gas(c.In[0].State) || c.Kind.joined() {
			continue
		}
		if math.Abs(f.Parts[i].Loss) > 1e-9 {
			return
		}
		if n++; first < 0 && (c.Kind.heats() || c.Kind.sided()) {
			first = i
		}
	}
	if n == 0 || first < 0 || f.Plant.assumed("pressure") {
		return
	}
	where := "any of the " + strconv.Itoa(n) + " heaters, coolers and exchangers of the gas"
	if n == 1 {
		where = "it"
	}
	f.unusual(first, CodeNoLoss, "no pressure is lost in %s, and no assumption says so; 2 %% .. 5 %% in each are usual (common practice)", where).
		hint("give the losses, or say in an assumption that no pressure is lost and cite it as [label] beside these pressures")
}

func (f *finder) usualExchanger(x *Exchange) {
	cold := x.Pair.Cold[0]
	if f.found(cold, CodeCross) || f.found(cold, CodeFeed) || f.found(cold, CodeEffectiveness) || f.found(x.Pair.Hot[0], CodeEffectiveness) {
		return
	}
	if math.Abs(x.OnEnthalpy) < ideal {
		return // no heat is passed: a variant without the exchanger
	}
	idealised := x.OnEnthalpy > 1-ideal && f.Plant.assumed("ideal", "perfect", "effectiveness")
	if x.Pair.Kind == Regenerator && !idealised && (x.OnEnthalpy < effectiveLo || x.OnEnthalpy > effectiveHi) {
		f.unusual(cold, CodeUsual, "%s: the effectiveness on enthalpy that the states imply is %s, outside the usual %s .. %s (common practice)", x.Pair.Title, share(x.OnEnthalpy), share(effectiveLo), share(effectiveHi)).
			hint("more than that takes much surface and loses pressure; less hardly pays")
	}
	if p := x.Profile; p != nil && p.Pinch.Difference() < approachLo && !idealised {
		f.unusual(cold, CodeApproach, "%s: the least temperature difference is %s, %s; less than %s takes a large exchanger (common practice)", x.Pair.Title, f.t(p.Pinch.Difference()), place(p), f.t(approachLo)).
			hint("the hot stream is at %s there and the cold one at %s", f.t(p.Pinch.Hot), f.t(p.Pinch.Cold))
	}
}

func place(p *Profile) string {
	if p.Where == Inside {
		return "inside, where " + percent(p.Pinch.Share) + " of the heat has passed, counted from the cold end"
	}
	return "at its " + string(p.Where)
}

func (f *finder) usualPlant() {
	regenerator := -1
	gases := true
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range f.Parts {
		c := f.Parts[i].Component
		if c.Kind == Regenerator && regenerator < 0 {
			regenerator = i
		}
		for _, s := range append(append([]Stream{}, c.In...), c.Out...) {
			gases = gases && gas(s.State)
			if p := pressure(s.State); gas(s.State) && known(p) {
				lo, hi = math.Min(lo, p), math.Max(hi, p)
			}
		}
		f.constantCp(i)
	}
	if regenerator >= 0 && hi/lo > ratioWithRegenerator {
		f.unusual(regenerator, CodeUsual, "the pressure ratio of the plant is %s, above the %s beyond which a regenerator rarely pays (common practice)", number(hi/lo, 4), number(ratioWithRegenerator, 4)).
			hint("the hotter the compressor's outlet, the less is left to regenerate")
	}
	if b := f.Totals.Back; gases && known(b) && f.Totals.Net > 0 && (b < backLo || b > backHi) {
		f.unusual(-1, CodeUsual, "the back work ratio is %s, outside the usual %s .. %s of gas cycles (common practice)", share(b), share(backLo), share(backHi)).
			hint("look at the work of compressors and turbines, one by one")
	}
}

// constantCp speaks once of a perfect gas that is used where the specific heat of air is another.
func (f *finder) constantCp(i int) {
	if f.anyCode(CodeConstantCp) || f.Plant.assumed("specific heat", "perfect", "cold air", "cold-air", "constant cp", "constant c_p") {
		return
	}
	for _, s := range append(append([]Stream{}, f.Parts[i].Component.In...), f.Parts[i].Component.Out...) {
		fl := s.State.Fluid()
		if fl.Kind() != propsdb.PerfectGas || math.Abs(fl.R()-287) > 3 { // air, by its gas constant
			continue
		}
		air, err := propsdb.Lookup("air")
		if err != nil {
			return
		}
		real, err := air.StateT(s.State.T())
		if err != nil {
			continue
		}
		cp, of := prop(real, propsdb.Cp), prop(s.State, propsdb.Cp)
		if math.Abs(cp/of-1) <= constantCpTolerance {
			continue
		}
		f.unusual(i, CodeConstantCp, "%s: at %s the specific heat of air is %s, and the perfect gas has %s; no assumption says that it is held constant", f.Parts[i].Component.Title, f.t(s.State.T()), f.s(cp), f.s(of)).
			hint("take the air of the database, or state the cold-air standard in an assumption and cite it as [label] beside the fluid: efficiency moves little by it, work and temperatures do")
		return
	}
}
