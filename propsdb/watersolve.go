package propsdb

import "math"

// A state of water from two properties. First the region is found, by the values
// at its edges, then the state, by a backward equation where the formulation has
// one and Newton steps on the basic equation. The steps stop where what they
// leave is below rounding, so that forward and backward agree.

// fixed is a state as the solvers find it. Region 0 is none.
type fixed struct {
	region uint8 // 1, 2, 3, 5; 4 on the saturation line or between its ends
	steps  uint8 // evaluations of the basic equations that the iteration took
	t, p   float64
	v      float64 // of region 3
	x      float64 // of region 4
}

// onLine is how close to the saturation pressure, as a part of it, p counts as
// lying on it: there (p,T) cannot tell liquid from vapour.
const onLine = 1e-9

// solve takes a pair in the order of the constants.
func (w *if97) solve(a Property, va float64, b Property, vb float64) fixed {
	switch uint16(a)<<8 | uint16(b) {
	case uint16(T)<<8 | uint16(P):
		return w.fromPT(vb, va)
	case uint16(T)<<8 | uint16(V):
		return w.fromTemperature(V, va, vb)
	case uint16(T)<<8 | uint16(S):
		return w.fromTemperature(S, va, vb)
	case uint16(T)<<8 | uint16(X):
		return w.fromTX(va, vb)
	case uint16(P)<<8 | uint16(V):
		return w.fromPressure(V, va, vb)
	case uint16(P)<<8 | uint16(H):
		return w.fromPressure(H, va, vb)
	case uint16(P)<<8 | uint16(S):
		return w.fromPressure(S, va, vb)
	case uint16(P)<<8 | uint16(U):
		return w.fromPressure(U, va, vb)
	case uint16(P)<<8 | uint16(X):
		return w.fromPX(va, vb)
	case uint16(H)<<8 | uint16(S):
		return w.fromHS(va, vb)
	}
	return fixed{}
}

func (w *if97) fromPT(p, t float64) fixed {
	if !(p >= PressureMin && p <= waterPmax && t >= waterTmin && t <= waterTmax) {
		return fixed{}
	}
	f := fixed{t: t, p: p}
	switch {
	case t > waterT25:
		if p <= waterPmax5 {
			f.region = 5
		}
	case t <= waterT13:
		ps := w.psat(t)
		switch {
		case math.Abs(p-ps) <= onLine*ps:
		case p > ps:
			f.region = 1
		default:
			f.region = 2
		}
	case t > waterT23 || p <= w.p23(t):
		f.region = 2
	case t < w.tc && math.Abs(p-w.psat(t)) <= onLine*p:
	default:
		rho, n := w.density(p, t)
		f.region, f.v, f.steps = 3, 1/rho, n
	}
	return f
}

func (w *if97) fromPX(p, x float64) fixed {
	if !(p >= w.edges.pTriple && p <= w.pc && x >= 0 && x <= 1) {
		return fixed{}
	}
	return fixed{region: 4, t: max(waterTmin, min(w.tsat(p), w.tc)), p: p, x: x}
}

func (w *if97) fromTX(t, x float64) fixed {
	if !(t >= waterTmin && t <= w.tc && x >= 0 && x <= 1) {
		return fixed{}
	}
	return fixed{region: 4, t: t, p: w.psat(t), x: x}
}

// of reads h, s, v or u.
func (l *local) of(q Property) float64 {
	switch q {
	case H:
		return l.h
	case S:
		return l.s
	case V:
		return l.v
	}
	return l.u()
}

// byT is the derivative of h, s, v or u by T at constant p.
func (l *local) byT(q Property) float64 {
	switch q {
	case H:
		return l.cp
	case S:
		return l.cp / l.t
	case V:
		return l.vt
	}
	return l.cp - l.p*l.vt
}

// fromPressure finds T from h, s, u or v at p. All but v rise with T throughout.
// v of the liquid is least near 4 °C: of two temperatures it gives the warmer.
func (w *if97) fromPressure(q Property, p, y float64) fixed {
	e := w.edges
	if !(p >= PressureMin && p <= waterPmax) || y != y {
		return fixed{}
	}
	if p < e.pTriple {
		edge := w.steam.at(p, waterTmin)
		if y < edge.of(q) {
			return fixed{}
		}
		return w.steamAt(q, p, y, &edge)
	}
	if p <= e.p13 {
		ts := w.tsat(p)
		l := w.liquid.at(p, ts)
		yl := l.of(q)
		if q == V && y < yl && y > yl*(1-1e-14) {
			yl = y // rounding; below 4 °C no liquid is left at this p
		}
		if y < yl {
			return w.liquidAt(q, p, y, &l)
		}
		g := w.steam.at(p, ts)
		if yg := g.of(q); y <= yg {
			return fixed{region: 4, t: ts, p: p, x: (y - yl) / (yg - yl)}
		}
		return w.steamAt(q, p, y, &g)
	}
	l := w.liquid.at(p, waterT13)
	if y <= l.of(q) {
		return w.liquidAt(q, p, y, &l)
	}
	g := w.steam.at(p, w.t23(p))
	if y >= g.of(q) {
		return w.steamAt(q, p, y, &g)
	}
	return w.denseAt(q, p, y)
}

// newtonT solves q(T) = y at p from t; NaN where it does not rise there or where
// the root lies beyond the bounds.
func (g *gibbs) newtonT(q Property, p, y, t, lo, hi float64) (float64, uint8) {
	within := 2e-8 // of T; what one more step would change is its square
	if q == V {
		within = 1e-9
	}
	for n := uint8(1); n < 60; n++ {
		l := g.at(p, t)
		miss := y - l.of(q)
		rise := l.byT(q)
		if !(rise > 0) {
			break
		}
		step := miss / rise
		next := t + step
		if math.Abs(step) <= within*t || math.Abs(miss) <= 2e-16*math.Abs(y) {
			return next, n
		}
		next = max(lo, min(next, hi))
		if next == t { // wants further out
			break
		}
		t = next
	}
	return nan, 0
}

// inRange lets in what rounding has put outside by its last digits.
func waterInRange(t float64) float64 {
	switch {
	case t < waterTmin && t >= waterTmin*(1-onLine):
		return waterTmin
	case t > waterTmax && t <= waterTmax*(1+onLine):
		return waterTmax
	case t >= waterTmin && t <= waterTmax:
		return t
	}
	return nan
}

func single(region uint8, p, t float64, steps uint8) fixed {
	t = waterInRange(t)
	if t != t {
		return fixed{}
	}
	return fixed{region: region, t: t, p: p, steps: steps}
}

func (w *if97) liquidAt(q Property, p, y float64, edge *local) fixed {
	t := edge.t
	switch q {
	case H:
		t = w.tph.r1.at(p, y)
	case S:
		t = w.tps.r1.at(p, y)
	case U:
		t = w.tph.r1.at(p, y+p*edge.v)
	}
	t = max(waterTmin, min(t, edge.t))
	t, n := w.liquid.newtonT(q, p, y, t, waterTmin-1, edge.t+1)
	return single(1, p, t, n)
}

// steamAt is region 2 or 5: y is at least that of the edge.
func (w *if97) steamAt(q Property, p, y float64, edge *local) fixed {
	// The least h at 1073.15 K is 3.715 MJ/kg, the greatest 4.161 MJ/kg.
	t := nan
	switch {
	case q == H && y > 4.2e6:
	case q == H:
		t = w.steamTph(p, y)
	case q == S:
		t = w.steamTps(p, y)
	case q == V:
		t = p * y / w.r // Z < 1 nearly everywhere
	default:
		t = edge.t + (y-edge.of(q))/edge.byT(q)
	}
	if !(t > waterTmin && t < waterT25-15) {
		end := w.steam.at(p, waterT25)
		if y > end.of(q) {
			return w.hotAt(q, p, y, &end)
		}
		t = min(t, waterT25)
	}
	if !(t > edge.t) {
		t = edge.t
	}
	t, n := w.steam.newtonT(q, p, y, t, edge.t-1, waterT25+5)
	if !(t <= waterT25*(1+onLine)) {
		// A start beyond the range of its equation can look as if it were in it.
		if end := w.steam.at(p, waterT25); y > end.of(q) {
			return w.hotAt(q, p, y, &end)
		}
	}
	return single(2, p, t, n)
}

// hotAt is region 5; end is region 2 at 1073.15 K.
func (w *if97) hotAt(q Property, p, y float64, end *local) fixed {
	if p > waterPmax5 {
		return fixed{}
	}
	var t float64
	miss := y - end.of(q)
	switch q {
	case S:
		t = end.t * math.Exp(miss/(end.cp*1.1))
	case V:
		t = end.t + miss/end.vt
	default:
		t = end.t + miss/(end.byT(q)*1.1)
	}
	t, n := w.hot.newtonT(q, p, y, min(t, waterTmax), waterT25-5, waterTmax+5)
	return single(5, p, t, n)
}

// steamTph is T(p,h) of region 2: a start.
func (w *if97) steamTph(p, h float64) float64 {
	switch {
	case p <= 4e6:
		return w.tph.r2a.at(max(p, 611), h) // below, h depends on T alone
	case p <= 6.5467e6 || h >= w.h2bc(p):
		return w.tph.r2b.at(p, h)
	}
	return w.tph.r2c.at(p, h)
}

// steamTps is T(p,s) of region 2: a start.
func (w *if97) steamTps(p, s float64) float64 {
	switch {
	case p < 611:
		return w.tps.r2a.at(611, s+w.r*ln(p/611)) // an ideal gas
	case p <= 4e6:
		return w.tps.r2a.at(p, s)
	case s >= 5850:
		return w.tps.r2b.at(p, s)
	}
	return w.tps.r2c.at(p, s)
}

// fromTemperature finds p from v or s at t. v falls with p throughout. s does so
// but below 4 °C, where compression of the liquid first raises it: there
// liquid is what lies beyond that, and an s between saturated liquid and vapour
// is a mixture of these.
func (w *if97) fromTemperature(q Property, t, y float64) fixed {
	if !(t >= waterTmin && t <= waterTmax) || y != y || q == V && !(y > 0) {
		return fixed{}
	}
	if t > waterT25 {
		edge := w.hot.at(waterPmax5, t)
		return w.newtonP(&w.hot, 5, q, y, &edge)
	}
	if t > waterT23 {
		edge := w.steam.at(waterPmax, t)
		return w.newtonP(&w.steam, 2, q, y, &edge)
	}
	if t > waterT13 {
		edge := w.steam.at(w.p23(t), t)
		if y >= edge.of(q) {
			return w.newtonP(&w.steam, 2, q, y, &edge)
		}
		return w.denseAtT(q, t, y)
	}
	ps := w.psat(t)
	l := w.liquid.at(ps, t)
	yl := l.of(q)
	if y < yl {
		return w.compress(q, y, &l)
	}
	g := w.steam.at(ps, t)
	if yg := g.of(q); y <= yg {
		return fixed{region: 4, t: t, p: ps, x: (y - yl) / (yg - yl)}
	}
	return w.newtonP(&w.steam, 2, q, y, &g)
}

// newtonP finds p of steam at the temperature of the edge, its greatest p: in
// 1/v, which is nearly proportional to p, or in s over ln p.
func (w *if97) newtonP(g *gibbs, region uint8, q Property, y float64, edge *local) fixed {
	if y < edge.of(q) {
		return fixed{}
	}
	t, p := edge.t, edge.p
	if q == V {
		p = min(p, w.r*t/y)
	}
	for n := uint8(1); n < 60; n++ {
		if !(p >= PressureMin*1e-3) {
			break
		}
		l := g.at(p, t)
		var step float64 // as a part of p
		if q == V {
			step = (1/y - 1/l.v) / (-l.vp / (l.v * l.v)) / p
		} else {
			step = (y - l.s) / (-l.vt * p)
		}
		switch {
		case math.Abs(step) <= 1e-8:
			p *= 1 + step
			if p > edge.p {
				p = edge.p
			}
			if p < PressureMin*(1-onLine) {
				return fixed{}
			}
			return fixed{region: region, t: t, p: max(p, PressureMin), steps: n}
		case q == V:
			p *= max(0.1, 1+step)
		default:
			p *= math.Exp(max(-5, step))
		}
		p = min(p, edge.p)
	}
	return fixed{}
}

// compress finds p of the liquid from v or s below that of saturation.
func (w *if97) compress(q Property, y float64, sat *local) fixed {
	p := sat.p
	if q == S && sat.t < 300 {
		p = waterPmax // s(p) bends down: from this end the steps do not overshoot
	}
	for n := uint8(1); n < 60; n++ {
		l := w.liquid.at(p, sat.t)
		slope := l.vp
		if q == S {
			slope = -l.vt
		}
		if !(slope < 0) {
			break
		}
		step := (y - l.of(q)) / slope
		next := p + step
		if math.Abs(step) <= 1e-7*p+0.1 {
			if next > waterPmax*(1+onLine) {
				break
			}
			return fixed{region: 1, t: sat.t, p: max(sat.p, min(next, waterPmax)), steps: n}
		}
		next = max(sat.p, min(next, waterPmax))
		if next == p {
			break
		}
		p = next
	}
	return fixed{}
}
