package propsdb

import "math"

// The basic equations of R7-97: g(p,T) in regions 1, 2 and 5, f(ρ,T) in region 3.

func fourthRoot(x float64) float64 { return math.Sqrt(math.Sqrt(x)) }

// local is a single-phase state with the derivatives that everything else is
// made of. Newton steps and properties alike use it.
type local struct {
	t, p   float64
	v      float64 // m³/kg
	h, s   float64 // J/kg, J/(kg·K)
	cp     float64 // J/(kg·K)
	vt, vp float64 // ∂v/∂T at p, ∂v/∂p at T
}

func (l *local) u() float64 { return l.h - l.p*l.v }

func (l *local) cv() float64 { return l.cp + l.t*l.vt*l.vt/l.vp }

// sound is the speed of sound: w² = −v²/(∂v/∂p)ₛ.
func (l *local) sound() float64 {
	return l.v / math.Sqrt(-(l.vp + l.t*l.vt*l.vt/l.cp))
}

// shift turns π into the variable of the sum: by + sign·π.
type shift struct{ by, sign float64 }

// gibbs is a region with an equation g(p,T): Table 3, 12 or 40.
type gibbs struct {
	r, pStar, tStar float64
	pi              shift
	tau             float64 // what is added to τ
	hasIdeal        bool
	ideal           [idealTerms]float64 // coefficient of τ^(k−5)
	rest            series
}

const idealTerms, idealLowest = 9, -5

func newGibbs(rec *gibbsRecord, r float64, pi shift, tau float64) gibbs {
	g := gibbs{r: r, pStar: rec.PStar * 1e6, tStar: rec.TStar, pi: pi, tau: tau, rest: newSeries(&rec.seriesRecord)}
	g.hasIdeal = len(rec.No) > 0
	for k, n := range rec.No {
		g.ideal[int(rec.Jo[k])-idealLowest] = n
	}
	return g
}

// reduced is γ = g/(RT) with its derivatives by π and τ.
func (g *gibbs) reduced(pi, tau float64) slopes {
	d := g.rest.at(g.pi.by+g.pi.sign*pi, tau+g.tau)
	d.x *= g.pi.sign
	d.xy *= g.pi.sign
	if !g.hasIdeal {
		return d
	}
	// The ideal part is τ⁻⁵ times a polynomial q.
	q, q1, q2 := 0.0, 0.0, 0.0
	for k := idealTerms - 1; k >= 0; k-- {
		q2 = q2*tau + q1
		q1 = q1*tau + q
		q = q*tau + g.ideal[k]
	}
	q2 *= 2
	it := 1 / tau
	it2 := it * it
	it5 := it2 * it2 * it
	d.f += ln(pi) + it5*q
	d.y += it5 * (q1 - 5*it*q)
	d.yy += it5 * (q2 - 10*it*q1 + 30*it2*q)
	d.x += 1 / pi
	d.xx -= 1 / (pi * pi)
	return d
}

// at is the state at p and t; the equation's formulas hold a little beyond its
// region, too, which the solvers use.
func (g *gibbs) at(p, t float64) local {
	tau := g.tStar / t
	d := g.reduced(p/g.pStar, tau)
	rt := g.r * t / g.pStar
	return local{
		t: t, p: p,
		v:  rt * d.x,
		h:  g.r * g.tStar * d.y,
		s:  g.r * (tau*d.y - d.f),
		cp: -g.r * tau * tau * d.yy,
		vt: g.r / g.pStar * (d.x - tau*d.xy),
		vp: rt / g.pStar * d.xx,
	}
}

// helmholtz is region 3: Table 31.
type helmholtz struct {
	r, rhoStar, tStar, n1 float64
	rest                  series
}

// dense is a state of region 3 in its own variables.
type dense struct {
	rho, t float64
	p      float64
	h, s   float64
	cv     float64
	pr, pt float64 // ∂p/∂ρ at T, ∂p/∂T at ρ
}

func (z *helmholtz) at(rho, t float64) dense {
	delta, tau := rho/z.rhoStar, z.tStar/t
	d := z.rest.at(delta, tau)
	d.f += z.n1 * ln(delta)
	dx := delta*d.x + z.n1 // δ φ_δ
	dxx := delta*delta*d.xx - z.n1
	rt := z.r * t
	ty := tau * d.y
	return dense{
		rho: rho, t: t,
		p:  rho * rt * dx,
		h:  rt * (ty + dx),
		s:  z.r * (ty - d.f),
		cv: -z.r * tau * tau * d.yy,
		pr: rt * (2*dx + dxx),
		pt: z.r * rho * (dx - delta*tau*d.xy),
	}
}

// local turns the derivatives by ρ and T into those by p and T.
func (d *dense) local() local {
	v := 1 / d.rho
	vp := -v * v / d.pr
	vt := -vp * d.pt
	return local{t: d.t, p: d.p, v: v, h: d.h, s: d.s, cp: d.cv + d.t*vt*d.pt, vt: vt, vp: vp}
}
