package propsdb

import "math"

// Region 3 from two properties: its equation is f(ρ,T), so that p is one of the
// things to be met. In ρ and T the equations for (p,h), (p,s) and (h,s) stay well
// behaved at the critical point itself.

// slopes2 is a property with its derivatives by ρ and T.
type slopes2 struct{ f, r, t float64 }

func (d *dense) of(q Property) slopes2 {
	i := 1 / d.rho
	i2 := i * i
	switch q {
	case H:
		return slopes2{d.h, d.pr*i - d.t*d.pt*i2, d.cv + d.pt*i}
	case S:
		return slopes2{d.s, -d.pt * i2, d.cv / d.t}
	case U:
		return slopes2{d.h - d.p*i, (d.p - d.t*d.pt) * i2, d.cv}
	}
	return slopes2{d.p, d.pr, d.pt}
}

// newton solves for ρ and T from two of p, h, s and u.
func (z *helmholtz) newton(a Property, ya float64, b Property, yb, rho, t float64) (float64, float64, uint8) {
	for n := uint8(1); n < 40; n++ {
		d := z.at(rho, t)
		fa, fb := d.of(a), d.of(b)
		ea, eb := ya-fa.f, yb-fb.f
		det := fa.r*fb.t - fa.t*fb.r
		dr := (ea*fb.t - eb*fa.t) / det
		dt := (fa.r*eb - fb.r*ea) / det
		if dr != dr || dt != dt {
			break
		}
		if math.Abs(dr) <= 3e-7*rho && math.Abs(dt) <= 1e-7*t {
			return rho + dr, t + dt, n
		}
		// A start too far off must not leave the fluid.
		rho = max(0.7*rho, min(rho+dr, 1.4*rho))
		t = max(t-50, min(t+dt, t+50))
	}
	return nan, nan, 0
}

func (w *if97) denseFixed(rho, t, p float64, steps uint8) fixed {
	if !(rho >= rhoLow*0.9 && rho <= rhoHigh && t >= waterT13-1 && t <= waterT23+1) {
		return fixed{}
	}
	return fixed{region: 3, t: t, p: p, v: 1 / rho, steps: steps}
}

// denseAt finds ρ and T from h, s, u or v at p.
func (w *if97) denseAt(q Property, p, y float64) fixed {
	if p < w.pc && w.perhapsMixed(q, p, y) {
		t := min(w.tsat(p), w.tc)
		l, g := w.saturated(p, t)
		if yl, yg := l.of(q), g.of(q); y >= yl && y <= yg {
			x := 0.0
			if yg > yl {
				x = (y - yl) / (yg - yl)
			}
			return fixed{region: 4, t: t, p: p, x: x}
		}
	}
	var v, t float64
	switch q {
	case V:
		return w.denseAtV(p, y)
	case S:
		sub := 1
		if y <= w.edges.sc {
			sub = 0
			t = w.tps.r3a.at(p, y)
		} else {
			t = w.tps.r3b.at(p, y)
		}
		v = w.vps[sub].at(p, y)
	case H:
		v, t = w.denseStart(p, y)
	default:
		// h = u + p·v, v(p,h): each round leaves about a fifth.
		h := y + p/w.rhoc
		for range 6 {
			v, t = w.denseStart(p, h)
			h = y + p*v
		}
	}
	rho, t, n := w.dense.newton(P, p, q, y, 1/v, t)
	return w.denseFixed(rho, t, p, n)
}

// perhapsMixed spares the saturation densities where psat(h) or psat(s) of
// SR3-03 says that the state lies clearly above the line.
func (w *if97) perhapsMixed(q Property, p, y float64) bool {
	first := &w.edges.satLine[satNodesLow] // 623.15 K
	switch q {
	case H:
		return y > first.hl-100 && y < first.hg+100 && p < 1.0005*w.psatH.at(y, y)
	case S:
		return y > first.sl-1 && y < first.sg+1 && p < 1.0005*w.psatS.at(y, y)
	}
	return true
}

// denseStart is v(p,h) and T(p,h) of SR3-03.
func (w *if97) denseStart(p, h float64) (v, t float64) {
	if h <= w.h3ab(p) {
		return w.vph[0].at(p, h), w.tph.r3a.at(p, h)
	}
	return w.vph[1].at(p, h), w.tph.r3b.at(p, h)
}

// denseAtV finds T from p and v: along an isochore p is nearly straight.
func (w *if97) denseAtV(p, v float64) fixed {
	t := w.tc
	for n := uint8(1); n < 40; n++ {
		d := w.dense.at(1/v, t)
		step := (p - d.p) / d.pt
		if math.Abs(step) <= 1e-7*t {
			f := w.denseFixed(1/v, t+step, p, n)
			f.v = v
			return f
		}
		t = max(t-100, min(t+step, t+100))
	}
	return fixed{}
}

// denseAtT finds p, and with it ρ, from v or s at t.
func (w *if97) denseAtT(q Property, t, y float64) fixed {
	lo, hi := rhoLow, rhoHigh
	if t < w.tc {
		ps := w.psat(t)
		l, g := w.saturated(ps, t)
		yl, yg := l.of(q), g.of(q)
		switch {
		case y >= yl && y <= yg:
			return fixed{region: 4, t: t, p: ps, x: (y - yl) / (yg - yl)}
		case y < yl:
			lo = 1 / l.v
		default:
			hi = 1 / g.v
		}
	}
	rho, n := 1/y, uint8(0)
	if q == S {
		rho, n = w.dense.newtonS(t, y, lo, hi)
	}
	if !(rho >= rhoLow*0.9 && rho <= rhoHigh) {
		return fixed{}
	}
	d := w.dense.at(rho, t)
	if !(d.p <= waterPmax*(1+onLine)) {
		return fixed{}
	}
	return fixed{region: 3, t: t, p: min(d.p, waterPmax), v: 1 / rho, steps: n}
}

// newtonS solves s(ρ) = s at t between two densities: s falls with ρ.
func (z *helmholtz) newtonS(t, s, lo, hi float64) (float64, uint8) {
	rho := math.Sqrt(lo * hi)
	lo, hi = lo*(1-onLine), hi*(1+onLine)
	for n := uint8(1); n < 60; n++ {
		d := z.at(rho, t)
		step := (d.s - s) / d.pt * rho // of ρ
		if math.Abs(step) <= 3e-8 {
			return rho * (1 + step), n
		}
		if d.s > s {
			lo = rho
		} else {
			hi = rho
		}
		next := rho * (1 + step)
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		rho = next
	}
	return nan, 0
}
