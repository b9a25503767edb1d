package propsdb

// Why two properties fix no state of water, or a state lacks a property.

// waterWhyNot is whyNot for water; the pair is one of waterPairs and the values
// are finite, and positive where they must be.
func (f *Fluid) waterWhyNot(a Property, va float64, b Property, vb float64) error {
	w := f.water
	density := a == Rho || b == Rho
	a, va, b, vb = ordered(a, va, b, vb)
	if b == X && !(vb >= 0 && vb <= 1) {
		return &RangeError{X, vb, 0, 1, "a mixture of liquid and vapour"}
	}
	tmax, pmin, pmax, of := waterTmax, PressureMin, waterPmax, f.name
	if b == X {
		tmax, pmin, pmax, of = w.tc, w.edges.pTriple, w.pc, saturationLine
	}
	if a == T && !(va >= waterTmin && va <= tmax) {
		return &RangeError{T, va, waterTmin, tmax, of}
	}
	for i, q := range [2]Property{a, b} {
		if p := [2]float64{va, vb}[i]; q == P && !(p >= pmin && p <= pmax) {
			return &RangeError{P, p, pmin, pmax, of}
		}
	}
	if a == T && b == P {
		if va > waterT25 {
			return &RangeError{P, vb, pmin, waterPmax5, f.name + " above 1073.15 K"}
		}
		return &SaturationError{f.name, va, vb}
	}
	q, y := b, vb
	var lo, hi float64
	switch {
	case a == H:
		if lo, hi = w.rangeOfS(); !(vb >= lo && vb <= hi) {
			return &RangeError{S, vb, lo, hi, f.name}
		}
		q, y, of = H, va, f.name+" at this entropy"
		lo, hi = w.rangeOfH(vb)
	case a == P:
		of = f.name + " at this pressure"
		lo, hi = w.rangeAtP(b, va)
	default:
		of = f.name + " at this temperature"
		lo, hi = w.rangeAtT(b, va)
	}
	if density {
		return &RangeError{Rho, 1 / y, 1 / hi, 1 / lo, of}
	}
	return &RangeError{q, y, lo, hi, of}
}

// rangeAtP is the span of h, s, v or u at p.
func (w *if97) rangeAtP(q Property, p float64) (lo, hi float64) {
	if p <= waterPmax5 {
		l := w.hot.at(p, waterTmax)
		hi = l.of(q)
	} else {
		l := w.steam.at(p, waterT25)
		hi = l.of(q)
	}
	g := &w.liquid
	if p < w.edges.pTriple {
		g = &w.steam
	}
	l := g.at(p, waterTmin)
	lo = l.of(q)
	if q == V && g == &w.liquid {
		// The least v of the liquid: where it stops falling with T.
		end := waterT13
		if p < w.edges.p13 {
			end = w.tsat(p)
		}
		a, b := waterTmin, min(end, 285)
		for range 40 {
			mid := (a + b) / 2
			if l = g.at(p, mid); l.vt < 0 {
				a = mid
			} else {
				b = mid
			}
		}
		l = g.at(p, a)
		lo = l.v
	}
	return lo, hi
}

// rangeAtT is the span of v or s at t.
func (w *if97) rangeAtT(q Property, t float64) (lo, hi float64) {
	f := fixed{t: t, p: PressureMin, region: 2}
	top := fixed{t: t, p: waterPmax, region: 2}
	switch {
	case t > waterT25:
		f.region, top.region, top.p = 5, 5, waterPmax5
	case t <= waterT13:
		top.region = 1
	case t <= waterT23:
		rho, _ := w.density(waterPmax, t)
		top.region, top.v = 3, 1/rho
	}
	return w.get(q, &top), w.get(q, &f)
}

func (w *if97) rangeOfS() (lo, hi float64) {
	l := w.liquid.at(waterPmax, waterTmin)
	g := w.hot.at(PressureMin, waterTmax)
	return l.s, g.s
}

// rangeOfH is the span of h at s: from 273.15 K up to the greatest pressure or
// temperature.
func (w *if97) rangeOfH(s float64) (lo, hi float64) {
	bottom := w.fromTemperature(S, waterTmin, s)
	corner := w.steam.at(waterPmax, waterT25)
	corner5, end5 := w.hot.at(waterPmax5, waterT25), w.hot.at(waterPmax5, waterTmax)
	var top fixed
	switch {
	case s <= corner.s:
		top = w.fromPressure(S, waterPmax, s)
	case s <= corner5.s:
		top = w.fromTemperature(S, waterT25, s)
	case s <= end5.s:
		top = w.fromPressure(S, waterPmax5, s)
	default:
		top = w.fromTemperature(S, waterTmax, s)
	}
	return w.get(H, &bottom), w.get(H, &top)
}

// whyNoProperty says why a state of water lacks a property that get has not.
func (s *State) whyNoProperty(q Property) error {
	no := func(reason string) error { return &NoPropertyError{s.fluid.name, q, reason} }
	wet := s.region == 4 && s.x > 0 && s.x < 1
	switch q {
	case X:
		return no("it exists only from saturated liquid to saturated vapour, and this state is " + s.Phase())
	case So, Pr, Vr:
		return no("it belongs to ideal gases")
	case Cp, Cv, K, C, Mu, Lambda, Prandtl:
		switch {
		case wet:
			return no("wet steam is two phases, each with its own; it is defined for saturated liquid (x = 0) and saturated vapour (x = 1)")
		case (q == Mu || q == Lambda || q == Prandtl) && s.t > transportTmax:
			return &RangeError{T, s.t, waterTmin, transportTmax, "the " + q.Name() + " of water"}
		}
		return no("it has no finite value at the critical point")
	}
	return no("")
}
