package cycle

import (
	"math"
	"slices"

	"workings/propsdb"
)

// Segment is a part of one side of an exchanger: a stream between two states.
type Segment struct {
	In, Out propsdb.State
	Flow    float64 // kg/s, or a share; 1 where none is given
}

// heat is what the segment takes up, W or J/kg; negative where it gives.
func (g Segment) heat() float64 {
	return g.Flow * (prop(g.Out, propsdb.H) - prop(g.In, propsdb.H))
}

// Side is the stream through one side, inlet to outlet.
type Side []Segment

func (s Side) heat() float64 {
	q := 0.0
	for _, g := range s {
		q += g.heat()
	}
	return q
}

func (s Side) inlet() propsdb.State  { return s[0].In }
func (s Side) outlet() propsdb.State { return s[len(s)-1].Out }

// Profile is the temperature along a counterflow heat exchanger: both streams at the same share of
// the heat passed, counted from the cold end, where the cold stream enters and the hot one leaves.
// Between the ends of a segment the pressure is taken as linear in the heat, since nothing says
// where along it the loss arises. Heat is that which each side passes by its own states, so that an
// exchanger out of balance is drawn between its four states nonetheless.
type Profile struct {
	Points []Point
	// Pinch is the least temperature difference, anywhere along the exchanger.
	Pinch Point
	Where Place
	// UA is the conductance that the heat needs at these temperatures, W/K or J/(kg·K): the integral
	// of dQ/ΔT; NaN where the streams meet.
	UA float64
}

// Point is a place along an exchanger.
type Point struct {
	Share     float64 // of the heat, from 0 at the cold end to 1 at the hot end
	Heat      float64 // passed between the cold end and here, of the hot side, W or J/kg
	Hot, Cold float64 // temperature, K
}

// Difference is the temperature difference, K.
func (p Point) Difference() float64 { return p.Hot - p.Cold }

// Place says in words where the least difference lies.
type Place string

// The places.
const (
	ColdEnd Place = "cold end"
	HotEnd  Place = "hot end"
	Inside  Place = "inside"
)

// profilePoints are equally spaced in heat; more are added where a phase changes and about the
// least difference.
const profilePoints = 41

// NewProfile follows both streams; false where a state along one of them is outside its data.
func NewProfile(hot, cold Side) (*Profile, bool) {
	shares := make([]float64, 0, profilePoints+8)
	for i := range profilePoints {
		shares = append(shares, float64(i)/(profilePoints-1))
	}
	shares = append(shares, hot.corners(true)...)
	shares = append(shares, cold.corners(false)...)
	slices.Sort(shares)
	shares = slices.Compact(shares)
	total := -hot.heat()
	at := func(x float64) Point {
		return Point{Share: x, Heat: x * total, Hot: hot.temperature(1 - x), Cold: cold.temperature(x)}
	}
	p := &Profile{}
	for _, x := range shares {
		pt := at(x)
		if !known(pt.Hot) || !known(pt.Cold) {
			return nil, false
		}
		p.Points = append(p.Points, pt)
	}
	p.refine(at)
	p.pinch()
	p.UA = p.conductance()
	return p, true
}

// temperature along a side, at the share x of its own heat from its inlet.
func (s Side) temperature(x float64) float64 {
	switch { // the ends are the states themselves
	case x <= 0:
		return s.inlet().T()
	case x >= 1:
		return s.outlet().T()
	}
	left := x * s.heat()
	for i, g := range s {
		q := g.heat()
		if i == len(s)-1 || math.Abs(left) <= math.Abs(q) {
			return g.at(left / q).T()
		}
		left -= q
	}
	return nan
}

// at is the state at the share y of the segment's heat.
func (g Segment) at(y float64) propsdb.State {
	if !known(y) {
		return propsdb.State{}
	}
	h1, h2 := prop(g.In, propsdb.H), prop(g.Out, propsdb.H)
	p1, p2 := pressure(g.In), pressure(g.Out)
	h := h1 + y*(h2-h1)
	f := g.In.Fluid()
	if known(p1) && known(p2) {
		return f.StateFast(propsdb.P, p1+y*(p2-p1), propsdb.H, h)
	}
	s, err := f.StateH(h)
	if err != nil {
		return propsdb.State{}
	}
	return s
}

// corners are the shares of heat at which water begins or ceases to boil, and those at which one
// segment gives way to the next; counted from the cold end.
func (s Side) corners(hot bool) []float64 {
	var out []float64
	total, before := s.heat(), 0.0
	add := func(x float64) {
		if hot {
			x = 1 - x
		}
		if x > 0 && x < 1 {
			out = append(out, x)
		}
	}
	for _, g := range s {
		q := g.heat()
		for _, x := range []float64{0, 1} {
			y, ok := g.saturation(x)
			if ok {
				add((before + y*q) / total)
			}
		}
		before += q
		add(before / total)
	}
	return out
}

// saturation is the share of the segment's heat at which water is saturated, liquid for x = 0 and
// vapour for x = 1; false where that lies outside the segment.
func (g Segment) saturation(x float64) (float64, bool) {
	f := g.In.Fluid()
	p1, p2 := pressure(g.In), pressure(g.Out)
	if f.Kind() != propsdb.Water || !known(p1) || !known(p2) {
		return 0, false
	}
	h1, h2 := prop(g.In, propsdb.H), prop(g.Out, propsdb.H)
	beyond := func(y float64) float64 {
		sat := f.StateFast(propsdb.P, p1+y*(p2-p1), propsdb.X, x)
		return h1 + y*(h2-h1) - sat.GetFast(propsdb.H)
	}
	lo, hi := 0.0, 1.0
	a, b := beyond(lo), beyond(hi)
	if !known(a) || !known(b) || a*b >= 0 {
		return 0, false
	}
	for range 60 {
		mid := (lo + hi) / 2
		if c := beyond(mid); (c < 0) == (a < 0) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2, true
}

// refine adds points about each local least difference inside, by golden sections.
func (p *Profile) refine(at func(float64) Point) {
	var found []Point
	for i := 1; i+1 < len(p.Points); i++ {
		d := p.Points[i].Difference()
		if d > p.Points[i-1].Difference() || d > p.Points[i+1].Difference() {
			continue
		}
		lo, hi := p.Points[i-1].Share, p.Points[i+1].Share
		const golden = 0.6180339887498949
		a, b := at(hi-golden*(hi-lo)), at(lo+golden*(hi-lo))
		for range 40 {
			if !known(a.Difference()) || !known(b.Difference()) {
				break
			}
			if a.Difference() < b.Difference() {
				hi, b = b.Share, a
				a = at(hi - golden*(hi-lo))
			} else {
				lo, a = a.Share, b
				b = at(lo + golden*(hi-lo))
			}
		}
		if least := at((lo + hi) / 2); least.Difference() < d {
			found = append(found, least)
		}
	}
	p.Points = append(p.Points, found...)
	slices.SortStableFunc(p.Points, func(a, b Point) int {
		switch {
		case a.Share < b.Share:
			return -1
		case a.Share > b.Share:
			return 1
		}
		return 0
	})
}

func (p *Profile) pinch() {
	last := len(p.Points) - 1
	p.Pinch = p.Points[0]
	for _, pt := range p.Points[1:] {
		if pt.Difference() < p.Pinch.Difference() {
			p.Pinch = pt
		}
	}
	// Rounding makes any point of two parallel lines the least: an end is named where it is as close.
	slack := 1e-9 * p.Pinch.Hot
	switch least := p.Pinch.Difference(); {
	case p.Points[last].Difference() <= least+slack:
		p.Pinch, p.Where = p.Points[last], HotEnd
	case p.Points[0].Difference() <= least+slack:
		p.Pinch, p.Where = p.Points[0], ColdEnd
	default:
		p.Where = Inside
	}
}

// conductance integrates dQ/ΔT with the logarithmic mean of each step, which is exact where both
// temperatures are linear in the heat.
func (p *Profile) conductance() float64 {
	sum := 0.0
	for i := 1; i < len(p.Points); i++ {
		a, b := p.Points[i-1], p.Points[i]
		d1, d2 := a.Difference(), b.Difference()
		if d1 <= 0 || d2 <= 0 {
			return nan
		}
		mean := d1
		if math.Abs(d2-d1) > 1e-6*d1 {
			mean = (d2 - d1) / math.Log(d2/d1)
		}
		sum += (b.Heat - a.Heat) / mean
	}
	return sum
}
