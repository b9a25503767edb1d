package eval

import (
	"math"
	"slices"

	"workings/propsdb"
	"workings/runner/resolve"
)

// Diagram is what a property diagram is drawn from, in SI.
type Diagram struct {
	Paths []DiagramPath
	// Isobars lie behind the paths: at pressures of the states, over all their temperatures. There
	// are none where the paths pass more than one fluid, or water.
	Isobars []Isobar
	// Dome is the boundary of the two-phase region of water, where a path passes water: from the
	// triple point along the liquid to the critical point and back along the vapour.
	Dome     []DiagramPoint
	Critical DiagramPoint
	// Missing are the states that have no value; their legs are left out.
	Missing []*resolve.State
}

// DiagramPath is one of a diagram's rows of states.
type DiagramPath struct {
	Fluids []string // that it passes, by their names on the sheet, in order
	Legs   []DiagramLeg
}

// DiagramLeg joins two neighbouring states.
type DiagramLeg struct {
	From, To   *resolve.State
	Start, End DiagramPoint
	// Between is the isobar, both ends included; nil where the states do not share a pressure (and
	// a fluid), and only the ends are known.
	Between []DiagramPoint
	// Heat says that heat enters in steady flow: the enthalpy rises though the pressure does not, so
	// that nothing was compressed. Between two fluids the temperature stands for the enthalpy.
	Heat bool
}

// DiagramPoint is a pair of properties, in SI.
type DiagramPoint struct{ X, Y float64 }

// Isobar is a curve of constant pressure.
type Isobar struct {
	P      float64 // Pa
	Points []DiagramPoint
}

const (
	samePressure  = 1e-9 // relative
	isobarPoints  = 64
	domePoints    = 40   // of each side
	mostIsobars   = 4    // in the background
	isobarsApart  = 1.25 // ratio of two pressures that are both worth a curve
	beyondStates  = 0.08 // of the range of temperatures: isobars in the background go on so far
	heatTolerance = 1e-9 // relative rise that is only rounding
	// The critical point of water, IAPWS R7-97(2012), section 2: 647.096 K, 322 kg/m³; and its
	// triple point.
	criticalT   = 647.096
	criticalRho = 322.0
	tripleT     = 273.16
)

// Diagram samples what a property diagram shows.
func (t *Trace) Diagram(c *resolve.Chart) *Diagram {
	d := &Diagram{}
	s := sampler{c.X, c.Y}
	var passed []propsdb.State
	for _, path := range c.Paths {
		var dp DiagramPath
		var last propsdb.State
		var lastState *resolve.State
		for _, rs := range path.States {
			now, ok := t.State(rs)
			if !ok {
				if !slices.Contains(d.Missing, rs) {
					d.Missing = append(d.Missing, rs)
				}
				lastState = nil
				continue
			}
			if name := rs.Fluid.Name; !slices.Contains(dp.Fluids, name) {
				dp.Fluids = append(dp.Fluids, name)
			}
			passed = append(passed, now)
			if lastState != nil {
				dp.Legs = append(dp.Legs, s.leg(lastState, rs, last, now))
			}
			last, lastState = now, rs
		}
		d.Paths = append(d.Paths, dp)
	}
	s.background(d, passed)
	return d
}

// sampler reads the two properties of a diagram.
type sampler struct{ x, y propsdb.Property }

func read(s propsdb.State, q propsdb.Property) float64 {
	v, err := s.Get(q)
	if err != nil {
		return math.NaN()
	}
	return v
}

func (s sampler) at(st propsdb.State) DiagramPoint {
	return DiagramPoint{read(st, s.x), read(st, s.y)}
}

// along appends the points of the states that f takes from a pair of properties; what has no state
// has no point.
func (s sampler) along(out []DiagramPoint, f *propsdb.Fluid, a propsdb.Property, va float64, b propsdb.Property, vbs []float64) []DiagramPoint {
	for _, vb := range vbs {
		if st, err := f.State(a, va, b, vb); err == nil {
			out = append(out, s.at(st))
		}
	}
	return out
}

func (s sampler) leg(from, to *resolve.State, a, b propsdb.State) DiagramLeg {
	l := DiagramLeg{From: from, To: to, Start: s.at(a), End: s.at(b)}
	p1, p2 := read(a, propsdb.P), read(b, propsdb.P)
	rises := propsdb.H
	if a.Fluid() != b.Fluid() {
		rises = propsdb.T
	}
	v1, v2 := read(a, rises), read(b, rises)
	l.Heat = p2 <= p1*(1+samePressure) && v2 > v1+heatTolerance*math.Abs(v1)
	if a.Fluid() != b.Fluid() || !(math.Abs(p1-p2) <= samePressure*p1) {
		return l
	}
	h1, h2 := read(a, propsdb.H), read(b, propsdb.H)
	hs := []float64{h1}
	for i := 1; i < isobarPoints; i++ {
		hs = append(hs, h1+(h2-h1)*float64(i)/isobarPoints)
	}
	for _, x := range []float64{0, 1} { // the corners at the boundary of the two-phase region
		if sat, err := a.Fluid().State(propsdb.P, p1, propsdb.X, x); err == nil {
			if h := read(sat, propsdb.H); h > min(h1, h2) && h < max(h1, h2) {
				hs = append(hs, h)
			}
		}
	}
	slices.Sort(hs[1:])
	if h2 < h1 {
		slices.Reverse(hs[1:])
	}
	l.Between = s.along([]DiagramPoint{l.Start}, a.Fluid(), propsdb.P, p1, propsdb.H, hs[1:])
	l.Between = append(l.Between, l.End)
	return l
}

// background adds the isobars of a gas and the dome of water.
func (s sampler) background(d *Diagram, passed []propsdb.State) {
	one := true
	lo, hi := math.Inf(1), math.Inf(-1)
	var water *propsdb.Fluid
	for _, st := range passed {
		f := st.Fluid()
		one = one && f == passed[0].Fluid()
		if f.Kind() == propsdb.Water {
			water = f
		}
		lo, hi = min(lo, read(st, propsdb.T)), max(hi, read(st, propsdb.T))
	}
	if water != nil {
		s.dome(d, water)
		return
	}
	if !one || len(passed) == 0 || s.x == propsdb.P || s.y == propsdb.P {
		return
	}
	f := passed[0].Fluid()
	tmin, tmax := f.Range()
	beyond := beyondStates * (hi - lo)
	lo, hi = max(tmin, lo-beyond), min(tmax, hi+beyond)
	var ts []float64
	for i := range isobarPoints + 1 {
		ts = append(ts, lo+(hi-lo)*float64(i)/isobarPoints)
	}
	for _, p := range levels(passed) {
		d.Isobars = append(d.Isobars, Isobar{p, s.along(nil, f, propsdb.P, p, propsdb.T, ts)})
	}
}

// levels are pressures of the states, from the lowest up, that lie well apart.
func levels(passed []propsdb.State) []float64 {
	var ps []float64
	for _, st := range passed {
		ps = append(ps, read(st, propsdb.P))
	}
	slices.Sort(ps)
	var out []float64
	for _, p := range ps {
		if p > 0 && (len(out) == 0 || p > isobarsApart*out[len(out)-1]) && len(out) < mostIsobars {
			out = append(out, p)
		}
	}
	return out
}

// dome samples the boundary of the two-phase region, closer towards the critical point, where it
// bends.
func (s sampler) dome(d *Diagram, f *propsdb.Fluid) {
	var ts []float64
	for i := range domePoints {
		rest := 1 - float64(i)/domePoints
		ts = append(ts, criticalT-(criticalT-tripleT)*rest*rest)
	}
	st, err := f.State(propsdb.T, criticalT, propsdb.V, 1/criticalRho)
	if err != nil {
		return
	}
	d.Critical = s.at(st)
	for _, t := range ts {
		d.Dome = s.along(d.Dome, f, propsdb.T, t, propsdb.X, []float64{0})
	}
	d.Dome = append(d.Dome, d.Critical)
	slices.Reverse(ts)
	for _, t := range ts {
		d.Dome = s.along(d.Dome, f, propsdb.T, t, propsdb.X, []float64{1})
	}
}
