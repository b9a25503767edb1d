package runner_test

import (
	"math"
	"testing"
)

// tracedWater are the equations of water as the trace has them (IAPWS R7-97(2012); each record names
// its table in the release).
type tracedWater struct {
	Constants                 struct{ R float64 }
	Region1, Region2, Region5 tracedGibbs
	Region3                   struct {
		tracedSeries
		N1      float64
		RhoStar float64 `json:"rhostar_kg_per_m3"`
		TStar   float64 `json:"Tstar_K"`
	}
	Region4, Boundary23 struct{ N []float64 }
}

type tracedSeries struct{ I, J, N []float64 }

type tracedGibbs struct {
	tracedSeries
	PStar  float64 `json:"pstar_MPa"`
	TStar  float64 `json:"Tstar_K"`
	Jo, No []float64
}

// derivatives are those of Σ n·x^I·y^J by x and y: itself, by x, by y, by y twice.
func (s *tracedSeries) derivatives(x, y float64) (f, fx, fy, fyy float64) {
	for k, n := range s.N {
		i, j := s.I[k], s.J[k]
		a, b := math.Pow(x, i), math.Pow(y, j)
		f += n * a * b
		if i != 0 {
			fx += n * i * math.Pow(x, i-1) * b
		}
		if j != 0 {
			fy += n * a * j * math.Pow(y, j-1)
		}
		if j != 0 && j != 1 {
			fyy += n * a * j * (j - 1) * math.Pow(y, j-2)
		}
	}
	return
}

// waterState is what the equations give, SI.
type waterState struct{ p, v, h, s, u, cp float64 }

// gibbs is regions 1, 2 and 5: shifts of π and τ are those of the forms in words.
func (w *tracedWater) gibbs(region int, p, t float64) waterState {
	e, sign, x0, y0 := &w.Region2, 1.0, 0.0, -0.5
	switch region {
	case 1:
		e, sign, x0, y0 = &w.Region1, -1, 7.1, -1.222
	case 5:
		e, y0 = &w.Region5, 0
	}
	pi, tau, r := p/1e6/e.PStar, e.TStar/t, w.Constants.R
	g, gp, gt, gtt := e.derivatives(x0+sign*pi, tau+y0)
	gp *= sign
	if e.No != nil {
		g, gp = g+math.Log(pi), gp+1/pi
		ideal := tracedSeries{make([]float64, len(e.No)), e.Jo, e.No}
		f, _, ft, ftt := ideal.derivatives(1, tau)
		g, gt, gtt = g+f, gt+ft, gtt+ftt
	}
	return waterState{p: p, v: r * t / p * pi * gp, h: r * t * tau * gt, s: r * (tau*gt - g), u: r * t * (tau*gt - pi*gp), cp: -r * tau * tau * gtt}
}

// dense is region 3.
func (w *tracedWater) dense(v, t float64) waterState {
	e, r := &w.Region3, w.Constants.R
	delta, tau := 1/v/e.RhoStar, e.TStar/t
	f, fd, ft, _ := e.derivatives(delta, tau)
	f, fd = f+e.N1*math.Log(delta), fd+e.N1/delta
	return waterState{p: r * t / v * delta * fd, v: v, h: r * t * (tau*ft + delta*fd), s: r * (tau*ft - f), u: r * t * tau * ft, cp: math.NaN()}
}

// saturation is the pressure of region 4.
func (w *tracedWater) saturation(t float64) float64 {
	n := w.Region4.N
	th := t + n[8]/(t-n[9])
	a, b, c := th*th+n[0]*th+n[1], n[2]*th*th+n[3]*th+n[4], n[5]*th*th+n[6]*th+n[7]
	beta := 2 * c / (-b + math.Sqrt(b*b-4*a*c))
	return 1e6 * math.Pow(beta, 4)
}

// restateWater works the properties of water again from the equations of its source. Wet steam above
// 623.15 K, whose two densities the trace does not tell, is left out.
func (tr *traced) restateWater(l *tracedLine, w *tracedWater, all map[string]float64, n *recomputed, say func(string, ...any)) {
	t := all["T"]
	p, knownP := all["p"]
	v, knownV := all["v"]
	if rho, ok := all["rho"]; ok && !knownV {
		v, knownV = 1/rho, true
	}
	x, wet := all["x"]
	var is waterState
	switch {
	case wet && t <= 623.15:
		p := w.saturation(t)
		a, b := w.gibbs(1, p, t), w.gibbs(2, p, t)
		mix := func(l, g float64) float64 { return l + x*(g-l) }
		is = waterState{p: p, v: mix(a.v, b.v), h: mix(a.h, b.h), s: mix(a.s, b.s), u: mix(a.u, b.u), cp: math.NaN()}
	case wet || !knownP:
		return
	case t <= 623.15 && p >= w.saturation(t):
		is = w.gibbs(1, p, t)
	case t <= 863.15 && t > 623.15 && p > 1e6*(w.Boundary23.N[0]+w.Boundary23.N[1]*t+w.Boundary23.N[2]*t*t):
		if !knownV {
			return
		}
		is = w.dense(v, t)
	case t <= 1073.15:
		is = w.gibbs(2, p, t)
	default:
		is = w.gibbs(5, p, t)
	}
	n.waters++
	const scale = 4200.0 // J/(kg·K): h and s pass through zero at the triple point
	for stem, want := range map[string]float64{"p": is.p, "v": is.v, "rho": 1 / is.v, "h": is.h, "s": is.s, "u": is.u, "cp": is.cp} {
		got, ok := all[stem]
		if !ok || math.IsNaN(want) {
			continue
		}
		room := 1e-9 * math.Abs(want)
		switch stem {
		case "h", "u":
			room = math.Max(room, 1e-9*scale*t)
		case "s":
			room = math.Max(room, 1e-9*scale)
		}
		if math.Abs(got-want) > room {
			say("%s: %s of state %s = %.15g by the equations, the page says %.15g", l.ID, stem, l.Expression, want, got)
			continue
		}
		n.water++
	}
}

// A change of one part in a million in a leading coefficient of a region is found.
func TestRecomputeWaterFindsAPlantedChange(t *testing.T) {
	page := pageOf(t, "verification/v44-steam-cycle-superheated.md")
	if n, wrong := recompute(page); len(wrong) > 0 || n.waters == 0 {
		t.Fatalf("%d states of water: %v", n.waters, wrong)
	}
	for _, region := range []string{"region1", "region2", "region4"} {
		changed := rewritten(t, page, func(trace map[string]any) {
			for _, s := range trace["sources"].([]any) {
				if e, ok := s.(map[string]any)["equations"].(map[string]any); ok {
					n := e[region].(map[string]any)["n"].([]any)
					n[2] = n[2].(float64) * (1 + 1e-6)
				}
			}
		})
		if _, wrong := recompute(changed); len(wrong) == 0 {
			t.Errorf("a change of %s is not found", region)
		}
	}
}
