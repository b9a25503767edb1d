package propsdb

import "math"

// What follows from the equations and is needed at every call: corners of the
// regions, and tables from which the iterations start. Results never rest on the
// tables; every one is iterated on the basic equations.

const (
	denseNodes   = 64  // densities of the table of isochores
	denseDegree  = 5   // of p(T) along one of them
	satNodes     = 96  // of the saturation line above 623.15 K
	satNodesLow  = 192 // and below
	criticalBand = 2e-5
)

type edges struct {
	p13       float64    // saturation pressure at 623.15 K
	pTriple   float64    // and at 273.15 K, where the line ends
	s13       float64    // s of region 1 on the line at 623.15 K and saturation
	s23       [2]float64 // least and greatest s on the line between 2 and 3
	sc        float64    // s at the critical point
	isochores [denseNodes][denseDegree + 1]float64
	rhoLiquid [satNodes + 1]float64 // over y = √(Tc − T), from the critical point on
	rhoVapour [satNodes + 1]float64
	rhoBand   [2]float64                          // liquid and vapour at the edge of the critical band
	satLine   [satNodesLow + satNodes + 1]satNode // by rising T
}

// satNode is a point of the saturation line.
type satNode struct{ t, sl, hl, sg, hg float64 }

const (
	rhoLow, rhoHigh = 105.0, 785.0 // wider than region 3, kg/m³
	rhoStep         = (rhoHigh - rhoLow) / (denseNodes - 1)
)

func newEdges(w *if97) *edges {
	e := new(edges)
	w.edges = e
	e.p13, e.pTriple = w.psat(waterT13), w.psat(waterTmin)
	e.s13 = w.liquid.at(e.p13, waterT13).s
	e.sc = w.dense.at(w.rhoc, w.tc).s
	corner := w.steam.at(waterPmax, w.t23(waterPmax))
	e.s23[0], e.s23[1] = corner.s, corner.s
	for i := range 65 {
		t := waterT13 + (waterT23-waterT13)*float64(i)/64
		l := w.steam.at(w.p23(t), t)
		e.s23[0], e.s23[1] = min(e.s23[0], l.s), max(e.s23[1], l.s)
	}
	e.s23[0]-- // the extremes lie between two of them
	e.s23[1]++
	for k := range e.isochores {
		e.isochores[k] = w.isochore(rhoLow + rhoStep*float64(k))
	}

	// The densities of saturation above 623.15 K, each from its neighbour,
	// starting where the liquid is far from the vapour.
	top := math.Sqrt(w.tc - waterT13)
	rl, rg := 574.7, 113.6
	for k := satNodes; k > 0; k-- {
		y := top * float64(k) / satNodes
		t := w.tc - y*y
		p := w.psat(t)
		rl, _ = w.densityFrom(p, t, rl, w.rhoc, rhoHigh)
		rg, _ = w.densityFrom(p, t, rg, rhoLow, w.rhoc-0.5)
		e.rhoLiquid[k], e.rhoVapour[k] = rl, rg
	}
	e.rhoLiquid[0], e.rhoVapour[0] = w.rhoc, w.rhoc
	t := w.tc - 1.01*criticalBand // the band's edge, surely outside it
	e.rhoBand[0], e.rhoBand[1] = w.satDensities(w.psat(t), t)

	for i := range e.satLine {
		t := waterTmin + (waterT13-waterTmin)*float64(i)/satNodesLow
		if k := satNodesLow + satNodes - i; k < satNodes {
			y := top * float64(k) / satNodes
			t = w.tc - y*y
		}
		l, g := w.saturated(w.psat(t), t)
		e.satLine[i] = satNode{t, l.s, l.h, g.s, g.h}
	}
	return e
}

// isochore is p(T) at a density, as a polynomial in u = −1…1 over the
// temperatures of region 3: divided differences at Chebyshev points, expanded.
func (w *if97) isochore(rho float64) (c [denseDegree + 1]float64) {
	const n = denseDegree + 1
	var u, d [n]float64
	for i := range n {
		u[i] = math.Cos(math.Pi * (float64(i) + 0.5) / n)
		d[i] = w.dense.at(rho, isochoreT(u[i])).p
	}
	for k := 1; k < n; k++ {
		for i := n - 1; i >= k; i-- {
			d[i] = (d[i] - d[i-1]) / (u[i] - u[i-k])
		}
	}
	for k := n - 1; k >= 0; k-- { // c = c·(x − u_k) + d_k
		for i := n - 1; i > 0; i-- {
			c[i] = c[i-1] - u[k]*c[i]
		}
		c[0] = d[k] - u[k]*c[0]
	}
	return c
}

func isochoreT(u float64) float64 { return (waterT23+waterT13)/2 + u*(waterT23-waterT13)/2 }
func isochoreU(t float64) float64 {
	return (t - (waterT23+waterT13)/2) / ((waterT23 - waterT13) / 2)
}

// pressureAt is the table's p at node k.
func (e *edges) pressureAt(k int, u float64) float64 {
	c := &e.isochores[k&(denseNodes-1)]
	return c[0] + u*(c[1]+u*(c[2]+u*(c[3]+u*(c[4]+u*c[5]))))
}

// satStart is the start for a saturation density: cubic through four nodes.
func satStart(rho *[satNodes + 1]float64, y, top float64) float64 {
	x := y / top * satNodes
	k := min(max(int(x), 1), satNodes-2)
	u := x - float64(k)
	a, b, c, d := rho[k-1], rho[k], rho[k+1], rho[k+2]
	return b + u*(c-b+(u-1)*((a-2*b+c)/2+(u+1)*(d-3*c+3*b-a)/6))
}

// satDensities are the densities of saturated liquid and vapour above 623.15 K:
// the basic equation at psat. Within 2e-5 K of the critical point psat and the
// basic equation part by more than the loop of the isotherm is deep; there the
// densities run into the critical one with √(Tc − T).
func (w *if97) satDensities(p, t float64) (liquid, vapour float64) {
	top := math.Sqrt(w.tc - waterT13)
	y := math.Sqrt(max(0, w.tc-t))
	e := w.edges
	if w.tc-t < criticalBand {
		f := y / math.Sqrt(criticalBand)
		return w.rhoc + f*(e.rhoBand[0]-w.rhoc), w.rhoc + f*(e.rhoBand[1]-w.rhoc)
	}
	liquid, _ = w.densityFrom(p, t, satStart(&e.rhoLiquid, y, top), w.rhoc, rhoHigh)
	vapour, _ = w.densityFrom(p, t, satStart(&e.rhoVapour, y, top), rhoLow, w.rhoc-0.15)
	return liquid, vapour
}

// densityFrom solves p(ρ,T) = p on a rising part of the isotherm between lo and
// hi, by Newton from a start, by bisection where Newton leaves the bracket. It
// counts the evaluations.
func (w *if97) densityFrom(p, t, rho, lo, hi float64) (float64, uint8) {
	n := uint8(1)
	for ; n < 60; n++ {
		d := w.dense.at(rho, t)
		step := (p - d.p) / (d.pr * rho)
		// What a Newton step leaves is its square times ρ·p''/2p'.
		if d.pr > 0 && step*step <= 1e-14*min(1, d.pr*rho/p) {
			return rho * (1 + step), n
		}
		if d.p < p {
			lo = rho
		} else {
			hi = rho
		}
		next := rho * (1 + step)
		if !(d.pr > 0 && next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		rho = next
	}
	return rho, n
}

// density is ρ of region 3 at p and T: a start between two isochores of the
// table, then densityFrom. Below the critical temperature the side of the
// saturation line decides which branch it is.
func (w *if97) density(p, t float64) (float64, uint8) {
	e := w.edges
	lo, hi := 0, denseNodes-1
	rhoLo, rhoHi := rhoLow, rhoHigh
	u := isochoreU(t)
	pLo, pHi := math.NaN(), math.NaN()
	if t < w.tc {
		ps := w.psat(t)
		l, g := w.satDensities(ps, t)
		if p >= ps {
			rhoLo, pLo = l, ps
			lo = min(int((l-rhoLow)/rhoStep), denseNodes-2)
		} else {
			rhoHi, pHi = g, ps
			hi = int((g-rhoLow)/rhoStep) + 1
		}
	}
	for hi-lo > 1 {
		mid := (lo + hi) / 2
		if e.pressureAt(mid, u) > p {
			hi = mid
		} else {
			lo = mid
		}
	}
	a, b := rhoLow+rhoStep*float64(lo), rhoLow+rhoStep*float64(hi)
	pa, pb := e.pressureAt(lo, u), e.pressureAt(hi, u)
	if a <= rhoLo && pLo == pLo {
		a, pa = rhoLo, pLo
	}
	if b >= rhoHi && pHi == pHi {
		b, pb = rhoHi, pHi
	}
	start := a + (b-a)*min(1, max(0, (p-pa)/(pb-pa)))
	if start != start {
		start = (a + b) / 2
	}
	return w.densityFrom(p, t, start, rhoLo*(1-1e-9), rhoHi*(1+1e-9))
}

// saturated are liquid and vapour at a point (p,T) of the saturation line.
func (w *if97) saturated(p, t float64) (liquid, vapour local) {
	if t <= waterT13 {
		return w.liquid.at(p, t), w.steam.at(p, t)
	}
	l, g := w.satDensities(p, t)
	dl, dg := w.dense.at(l, t), w.dense.at(g, t)
	liquid, vapour = dl.local(), dg.local()
	liquid.p, vapour.p = p, p
	return liquid, vapour
}
