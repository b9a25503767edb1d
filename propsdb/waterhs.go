package propsdb

import "math"

// Water from h and s. SR4-04 gives equations for the lines that bound the regions
// in h and s; the tool has not their coefficients, and decides by the basic
// equations and the saturation line instead: a table of it tells on which side a
// state lies, and close to it the state itself, once found, does.

const nearSaturation = 100 // J/kg, wider than what the table leaves open

func (w *if97) fromHS(h, s float64) fixed {
	e := w.edges
	first, last := &e.satLine[0], &e.satLine[len(e.satLine)-1]
	unsure := false
	if s >= first.sl && s <= first.sg {
		line := last.hl
		if i := e.below(s); i < len(e.satLine)-1 {
			a, b := &e.satLine[i], &e.satLine[i+1]
			if s <= e.sc {
				line = a.hl + (b.hl-a.hl)*(s-a.sl)/(b.sl-a.sl)
			} else {
				line = a.hg + (b.hg-a.hg)*(s-a.sg)/(b.sg-a.sg)
			}
		}
		if h < line-nearSaturation {
			return w.mixedHS(h, s)
		}
		unsure = h < line+nearSaturation
	}
	f := w.singleHS(h, s)
	if unsure && (f.region == 0 || w.metastable(&f)) {
		if m := w.mixedHS(h, s); m.region != 0 {
			return m
		}
	}
	return f
}

// below is the last node of the saturation line whose liquid and vapour have s
// between them.
func (e *edges) below(s float64) int {
	lo, hi := 0, len(e.satLine)-1
	for hi-lo > 1 {
		mid := (lo + hi) / 2
		if n := &e.satLine[mid]; n.sl <= s && s <= n.sg {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// metastable: beyond the saturation line, as the liquid or vapour it would not
// be there.
func (w *if97) metastable(f *fixed) bool {
	if f.t >= w.tc {
		return false
	}
	ps := w.psat(f.t)
	switch f.region {
	case 1:
		return f.p < ps
	case 2:
		return f.p > ps
	case 3:
		l, g := w.satDensities(ps, f.t)
		return 1/f.v < l && 1/f.v > g
	}
	return false
}

// mixedHS is a mixture of saturated liquid and vapour: along an isentrope h rises
// with T by v·dp, and dp/dT of saturation is Δs/Δv.
func (w *if97) mixedHS(h, s float64) fixed {
	e := w.edges
	at := func(i int) float64 {
		n := &e.satLine[i]
		if n.sg <= n.sl {
			return n.hl
		}
		return n.hl + (n.hg-n.hl)*(s-n.sl)/(n.sg-n.sl)
	}
	if bottom := at(0); !(h >= bottom-1e-9*math.Abs(bottom)-1e-6) {
		return fixed{}
	}
	lo, hi := 0, min(e.below(s)+1, len(e.satLine)-1)
	for hi-lo > 1 {
		mid := (lo + hi) / 2
		if at(mid) <= h {
			lo = mid
		} else {
			hi = mid
		}
	}
	a, b := &e.satLine[lo], &e.satLine[hi]
	ha, hb := at(lo), at(hi)
	t := a.t + (b.t-a.t)*(h-ha)/(hb-ha)
	if s >= e.satLine[satNodesLow].sg && t < waterT13 {
		t = w.sat2.at(h, s) // Tsat(h,s) of SR4-04 holds from here on
	}
	return w.mixedBetween(h, s, t, e.satLine[max(lo-1, 0)].t, e.satLine[min(hi+1, len(e.satLine)-1)].t)
}

// mixedBetween is the iteration of mixedHS, by Newton from t, then by secants, by
// bisection where these leave the bracket.
func (w *if97) mixedBetween(h, s, t, lo, hi float64) fixed {
	lastT, lastMiss := nan, nan
	for n := uint8(1); n < 60; n++ {
		if !(t >= lo && t <= hi) {
			t = (lo + hi) / 2
		}
		p := w.psat(t)
		l, g := w.saturated(p, t)
		dv, ds := g.v-l.v, g.s-l.s
		if !(ds > 0) { // the critical point
			if math.Abs(h-l.h) <= 1e-10*h && math.Abs(s-l.s) <= 1e-10*s {
				return fixed{region: 4, t: t, p: p, steps: n}
			}
			hi, t = t, (lo+t)/2
			continue
		}
		x := (s - l.s) / ds
		dsl, dsg := l.cp/t-l.vt*ds/dv, g.cp/t-g.vt*ds/dv // along the line
		miss := h - l.h - x*(g.h-l.h)
		if x < -1e-13 {
			// Beyond the line h(T) at this s turns down: back to its near side. Where
			// there is none, the state is saturated liquid or no mixture.
			if x > -1e-12 && math.Abs(miss) <= 1e-11*math.Abs(h)+1e-8 {
				return fixed{region: 4, t: t, p: p, steps: n}
			}
			hi = t
			t += (s - l.s - 1e-13*ds) / dsl
			if !(hi-lo > 4e-16*hi) {
				break
			}
			continue
		}
		slope := (l.v + x*dv) * ds / dv
		if secant := (lastMiss - miss) / (t - lastT); n > 3 && secant > 0.2*slope && secant < 5*slope {
			slope = secant
		}
		step := miss / slope
		// Each step leaves some 1e-4 of itself, but for the ends of the region.
		within := 1e-12
		if x > 1e-4 && t < w.tc-1 {
			within = 1e-10
		}
		if math.Abs(step) <= within*t || hi-lo <= 1e-15*t {
			// Too small for another evaluation, but not for x.
			t, x, p = t+step, x-(dsl+x*(dsg-dsl))/ds*step, p+ds/dv*step
			if !(x >= -1e-12 && x <= 1+1e-11) {
				break
			}
			return fixed{region: 4, t: min(t, w.tc), p: p, x: max(0, min(x, 1)), steps: n}
		}
		if miss > 0 {
			lo = t
		} else {
			hi = t
		}
		lastT, lastMiss = t, miss
		t += step
	}
	return fixed{}
}

// singleHS takes the state for liquid, steam or region 3, whichever s allows.
func (w *if97) singleHS(h, s float64) fixed {
	e := w.edges
	switch {
	case s <= e.s13:
		if f := w.liquidHS(h, s); f.region != 0 && f.t <= waterT13 {
			return f
		}
		return w.denseHS(h, s)
	case s < e.s23[0]:
		return w.denseHS(h, s)
	case s <= e.s23[1]:
		f := w.steamHS(h, s)
		if f.region != 0 && (f.p <= e.p13 || f.t >= w.t23(f.p)) {
			return f
		}
		return w.denseHS(h, s)
	}
	return w.steamHS(h, s)
}

func (w *if97) liquidHS(h, s float64) fixed {
	p := w.phs.r1.at(h, s)
	t := w.tph.r1.at(max(0, min(p, waterPmax)), h)
	return w.newtonHS(&w.liquid, 1, h, s, p, t)
}

func (w *if97) steamHS(h, s float64) fixed {
	if h > 4.2e6 {
		return w.hotHS(h, s)
	}
	var p float64
	switch {
	case s < 5850:
		p = w.phs.r2c.at(h, s)
	case h <= w.h2ab(s):
		p = w.phs.r2a.at(h, s)
	default:
		p = w.phs.r2b.at(h, s)
	}
	if !(p > 1500) { // SR2-01 ends at 611 Pa: an ideal gas
		t := w.tph.r2a.at(611, h)
		l := w.steam.at(611, t)
		p = 611 * math.Exp((l.s-s)/w.r)
	}
	p = min(p, waterPmax)
	f := w.newtonHS(&w.steam, 2, h, s, p, w.steamTph(p, h))
	if f.region == 0 || f.t > waterT25*(1+onLine) {
		if hot := w.hotHS(h, s); hot.region != 0 {
			return hot
		}
		if f.t > waterT25*(1+onLine) {
			return fixed{}
		}
	}
	return f
}

// hotHS starts as an ideal gas.
func (w *if97) hotHS(h, s float64) fixed {
	t := waterT25 + (h-4.16e6)/2.8e3
	t = max(waterT25, min(t, waterTmax))
	l := w.hot.at(1e6, t)
	p := 1e6 * math.Exp(max(-40, min((l.s-s)/w.r, 4)))
	f := w.newtonHS(&w.hot, 5, h, s, p, t)
	if f.t < waterT25-1 {
		return fixed{}
	}
	return f
}

// newtonHS solves for p and T. At constant s, h rises with p by v.
func (w *if97) newtonHS(g *gibbs, region uint8, h, s, p, t float64) fixed {
	for n := uint8(1); n < 40; n++ {
		l := g.at(p, t)
		ds := s - l.s
		dp := (h - l.h - t*ds) / l.v
		dt := (ds + l.vt*dp) * t / l.cp
		if dp != dp || dt != dt {
			break
		}
		done := math.Abs(dt) <= 2e-8*t
		if region == 1 {
			done = done && math.Abs(dp) <= 0.1+1e-7*p
			p += dp
		} else {
			step := dp / p
			done = done && math.Abs(step) <= 1e-8
			if done {
				p += dp
			} else {
				p *= math.Exp(max(-3, min(step, 3)))
			}
		}
		t = max(0.8*t, min(t+dt, 1.25*t))
		if !done {
			if !(t > 200 && t < 3000 && p < 1e10) {
				break
			}
			continue
		}
		least, most := PressureMin, waterPmax
		if region == 5 {
			most = waterPmax5
		}
		if !(p >= least*(1-onLine) && p <= most*(1+onLine)) {
			break
		}
		return single(region, max(least, min(p, most)), t, n)
	}
	return fixed{}
}

func (w *if97) denseHS(h, s float64) fixed {
	eq := &w.phs.r3a
	if s > w.edges.sc {
		eq = &w.phs.r3b
	}
	p := max(w.edges.p13, min(eq.at(h, s), waterPmax))
	v, t := w.denseStart(p, h)
	rho, t, n := w.dense.newton(H, h, S, s, 1/v, t)
	f := w.denseFixed(rho, t, 0, n)
	if f.region == 0 {
		return f
	}
	d := w.dense.at(rho, t)
	if !(d.p <= waterPmax*(1+onLine)) {
		return fixed{}
	}
	f.p = min(d.p, waterPmax)
	return f
}
