package cycle

import (
	"math"

	"workings/propsdb"
)

// prop is a property of a state, or NaN where the state has none.
func prop(s propsdb.State, q propsdb.Property) float64 {
	v, err := s.Get(q)
	if err != nil {
		return nan
	}
	return v
}

func pressure(s propsdb.State) float64 {
	if p, ok := s.P(); ok {
		return p
	}
	return nan
}

// enthalpyAt is h at p and s, or NaN.
func enthalpyAt(f *propsdb.Fluid, p, s float64) float64 {
	return f.StateFast(propsdb.P, p, propsdb.S, s).GetFast(propsdb.H)
}

// machine is what the states of a compressor, turbine, pump or fan imply.
type machine struct {
	ideal float64 // enthalpy at the outlet pressure and the inlet entropy, J/kg
	eta   float64 // isentropic efficiency
	poly  float64 // polytropic efficiency
}

// through evaluates a machine from its two states. takes says that it takes work.
func through(in, out propsdb.State, takes bool) machine {
	h1, h2 := prop(in, propsdb.H), prop(out, propsdb.H)
	m := machine{ideal: enthalpyAt(in.Fluid(), pressure(out), prop(in, propsdb.S)), eta: nan, poly: nan}
	dh, ds := h2-h1, m.ideal-h1
	switch {
	case !known(m.ideal) || dh == 0 || ds == 0:
		return m
	case takes:
		m.eta = ds / dh
	default:
		m.eta = dh / ds
	}
	m.poly = polytropic(in, out, takes)
	return m
}

// polytropic is the efficiency of each of many small steps of pressure. For an ideal gas it is
// R·ln(p2/p1) over s°(T2) − s°(T1) for compression and the inverse for expansion (the differential
// dh = v·dp/η of the isentropic efficiency, integrated; derived here). For water the steps are
// taken one by one.
func polytropic(in, out propsdb.State, takes bool) float64 {
	f := in.Fluid()
	p1, p2 := pressure(in), pressure(out)
	if f.Kind() == propsdb.Water {
		return polytropicBySteps(in, out, takes)
	}
	work, rise := f.R()*math.Log(p2/p1), prop(out, propsdb.So)-prop(in, propsdb.So)
	eta := work / rise
	if !takes {
		eta = rise / work
	}
	if math.IsNaN(eta) || math.IsInf(eta, 0) {
		return nan
	}
	return eta
}

// polytropicBySteps takes 40 steps of pressure, and 20, whose difference tells what is left to
// infinitely many: the error of the efficiency is inverse to the number of steps.
func polytropicBySteps(in, out propsdb.State, takes bool) float64 {
	fine, coarse := bySteps(in, out, takes, 40), bySteps(in, out, takes, 20)
	return fine + (fine - coarse)
}

// bySteps finds the efficiency with which so many isentropic steps, equal in the logarithm of the
// pressure, end at the outlet's enthalpy, by the secant method on the enthalpy reached.
func bySteps(in, out propsdb.State, takes bool, steps int) float64 {
	f := in.Fluid()
	p1, h2 := pressure(in), prop(out, propsdb.H)
	ratio := math.Pow(pressure(out)/p1, 1/float64(steps))
	miss := func(eta float64) float64 {
		s, p := in, p1
		for range steps {
			p *= ratio
			h := s.GetFast(propsdb.H)
			dh := enthalpyAt(f, p, s.GetFast(propsdb.S)) - h
			if takes {
				dh /= eta
			} else {
				dh *= eta
			}
			if s = f.StateFast(propsdb.P, p, propsdb.H, h+dh); s.Fluid() == nil {
				return nan
			}
		}
		return s.GetFast(propsdb.H) - h2
	}
	a, b := 0.85, 0.8
	fa, fb := miss(a), miss(b)
	for range 30 {
		if !known(fa) || !known(fb) || fa == fb {
			break
		}
		c := b - fb*(b-a)/(fb-fa)
		if !(c > 0.01 && c < 100) {
			return nan
		}
		a, fa = b, fb
		b, fb = c, miss(c)
		if math.Abs(b-a) < 1e-10 {
			return b
		}
	}
	if math.Abs(fb) < 1e-6*math.Abs(h2-prop(in, propsdb.H)) {
		return b
	}
	return nan
}
