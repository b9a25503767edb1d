package chart

import (
	"math"
	"strings"
	"testing"

	"workings/propsdb"
)

// The pictures of the tests: an invented plant with real properties, so that curves, dome and
// states crowd each other as they do on a sheet.

type plant struct {
	t     testing.TB
	fluid *propsdb.Fluid
	x, y  propsdb.Property
}

func fluidNamed(t testing.TB, name string) *propsdb.Fluid {
	t.Helper()
	f, err := propsdb.Lookup(name)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func axisOf(q propsdb.Property) Axis {
	switch q {
	case propsdb.T:
		return Axis{Symbol: Name{Base: "T"}, Words: "temperature", Unit: "K"}
	case propsdb.P:
		return Axis{Symbol: Name{Base: "p"}, Words: "pressure", Unit: "kPa", Scale: Auto}
	case propsdb.V:
		return Axis{Symbol: Name{Base: "v"}, Words: "specific volume", Unit: "m³/kg", Scale: Auto}
	case propsdb.H:
		return Axis{Symbol: Name{Base: "h"}, Words: "specific enthalpy", Unit: "kJ/kg"}
	}
	return Axis{Symbol: Name{Base: "s"}, Words: "specific entropy", Unit: "kJ/(kg·K)"}
}

func (p *plant) at(s propsdb.State) Point {
	get := func(q propsdb.Property) float64 {
		v, err := s.Get(q)
		if err != nil {
			p.t.Fatal(err)
		}
		if q == propsdb.T || q == propsdb.V {
			return v
		}
		return v / 1e3
	}
	return Point{get(p.x), get(p.y)}
}

func (p *plant) state(a propsdb.Property, va float64, b propsdb.Property, vb float64) propsdb.State {
	p.t.Helper()
	s, err := p.fluid.State(a, va, b, vb)
	if err != nil {
		p.t.Fatal(err)
	}
	return s
}

// isobar is the way from one enthalpy to another at one pressure.
func (p *plant) isobar(pa, h1, h2 float64) []Point {
	const n = 40
	var out []Point
	for i := range n + 1 {
		out = append(out, p.at(p.state(propsdb.P, pa, propsdb.H, h1+(h2-h1)*float64(i)/n)))
	}
	return out
}

// stop is a state by its pressure and a second property.
type stop struct {
	id   string
	pa   float64
	with propsdb.Property
	v    float64
}

// path joins stops; those at one pressure by the isobar, heavy where the enthalpy rises.
func (p *plant) path(name string, stops ...stop) Path {
	out := Path{Name: name}
	var last propsdb.State
	for i, s := range stops {
		now := p.state(propsdb.P, s.pa, s.with, s.v)
		if i > 0 {
			before := stops[i-1]
			l := Leg{From: State{before.id, p.at(last)}, To: State{s.id, p.at(now)}}
			h1, _ := last.Get(propsdb.H)
			h2, _ := now.Get(propsdb.H)
			if math.Abs(before.pa-s.pa) < 0.06*s.pa {
				l.Between = p.isobar(s.pa, h1, h2)
				l.Between[0], l.Between[len(l.Between)-1] = l.From.At, l.To.At
				l.Heat = h2 > h1
			}
			out.Legs = append(out.Legs, l)
		}
		last = now
	}
	return out
}

func (p *plant) gas() Path {
	const T = propsdb.T
	return p.path("air", stop{"1", 100e3, T, 285}, stop{"2", 300e3, T, 412}, stop{"3", 296e3, T, 300}, stop{"4", 990e3, T, 442},
		stop{"5", 970e3, T, 880}, stop{"6", 940e3, T, 1240}, stop{"7", 330e3, T, 1010}, stop{"8", 320e3, T, 1220}, stop{"9", 106e3, T, 968}, stop{"10", 103e3, T, 540})
}

func (p *plant) steam() Path {
	const h, x = propsdb.H, propsdb.X
	return p.path("water and steam", stop{"20", 5e3, x, 0}, stop{"21", 6e6, h, 144e3}, stop{"22", 6e6, x, 0}, stop{"23", 6e6, x, 1}, stop{"24", 6e6, propsdb.T, 790},
		stop{"25", 5e3, x, 0.9}, stop{"20", 5e3, x, 0})
}

func (p *plant) dome() *Dome {
	d := &Dome{Fluid: "water"}
	const n = 40
	saturated := func(f float64) float64 { return 275 + (647.09-275)*(1-(1-f)*(1-f)) } // closer near the top
	for i := range n {
		d.Points = append(d.Points, p.at(p.state(propsdb.T, saturated(float64(i)/n), propsdb.X, 0)))
	}
	for i := range n {
		d.Points = append(d.Points, p.at(p.state(propsdb.T, saturated(float64(n-1-i)/n), propsdb.X, 1)))
	}
	// The critical point by IAPWS R7-97: 647.096 K, 22.064 MPa.
	d.Critical = p.at(p.state(propsdb.P, 22.064e6, propsdb.T, 647.0959))
	return d
}

func diagrams(t testing.TB) map[string]*Diagram {
	air, water := fluidNamed(t, "air"), fluidNamed(t, "water")
	out := map[string]*Diagram{}
	p := &plant{t: t, fluid: air, x: propsdb.S, y: propsdb.T}
	w := &plant{t: t, fluid: water, x: propsdb.S, y: propsdb.T}
	d := &Diagram{Title: "Temperature against entropy of the gas turbine", X: axisOf(p.x), Y: axisOf(p.y), Paths: []Path{p.gas()}}
	for _, pa := range []float64{100e3, 300e3, 1000e3} {
		lo, _ := p.state(propsdb.P, pa, propsdb.T, 270).Get(propsdb.H)
		hi, _ := p.state(propsdb.P, pa, propsdb.T, 1350).Get(propsdb.H)
		d.Lines = append(d.Lines, Isoline{Value: pa / 1e3, Unit: "kPa", Points: p.isobar(pa, lo, hi)})
	}
	out["ts-gas"] = d
	out["ts-steam"] = &Diagram{Title: "Temperature against entropy of the steam cycle", X: axisOf(w.x), Y: axisOf(w.y), Paths: []Path{w.steam()}, Dome: w.dome()}
	out["ts-both"] = &Diagram{Title: "Temperature against entropy of both cycles", X: axisOf(w.x), Y: axisOf(w.y), Paths: []Path{p.gas(), w.steam()}, Dome: w.dome()}
	p.x, p.y = propsdb.V, propsdb.P
	out["pv-gas"] = &Diagram{Title: "Pressure against volume of the gas turbine", X: axisOf(p.x), Y: axisOf(p.y), Paths: []Path{p.gas()}}
	w.x, w.y = propsdb.H, propsdb.P
	out["ph-steam"] = &Diagram{Title: "Pressure against enthalpy of the steam cycle", X: axisOf(w.x), Y: axisOf(w.y), Paths: []Path{w.steam()}, Dome: w.dome()}
	w.x, w.y = propsdb.S, propsdb.H
	out["hs-steam"] = &Diagram{Title: "Enthalpy against entropy of the steam cycle", X: axisOf(w.x), Y: axisOf(w.y), Paths: []Path{w.steam()}, Dome: w.dome()}
	w.x, w.y = propsdb.V, propsdb.P
	out["pv-steam"] = &Diagram{Title: "Pressure against volume of the steam cycle", X: axisOf(w.x), Y: axisOf(w.y), Paths: []Path{w.steam()}, Dome: w.dome()}
	return out
}

func studies() map[string]*Curves {
	x := Axis{Symbol: Name{"r", "p"}, Words: "pressure ratio"}
	y := Axis{Symbol: Name{"η", "th"}, Words: "thermal efficiency", Unit: "%"}
	// The air-standard cycle with constant specific heats, as every textbook has it.
	eta := func(r, eps float64) float64 {
		const k, t1, t3, ec, et = 1.4, 300.0, 1300.0, 0.85, 0.88
		f := math.Pow(r, (k-1)/k)
		t2 := t1 * (1 + (f-1)/ec)
		t4 := t3 * (1 - et*(1-1/f))
		t5 := t2 + eps*max(0, t4-t2)
		return 100 * ((t3 - t4) - (t2 - t1)) / (t3 - t5)
	}
	family := &Curves{Title: "Thermal efficiency against the pressure ratio", X: x, Y: y, Family: Name{"ε", ""}}
	for i, eps := range []float64{0, 0.6, 0.75} {
		s := Series{Name: []string{"0 %", "60 %", "75 %"}[i]}
		best := Point{Y: -1}
		for n := range 57 {
			r := 2 + 0.5*float64(n)
			v := Sample{X: r, Y: eta(r, eps), Outside: r < 4 || r > 16, Failed: i == 2 && n > 40 && n < 44}
			s.Points = append(s.Points, v)
			if v.Y > best.Y && !v.Failed {
				best = Point{v.X, v.Y}
			}
		}
		family.Series = append(family.Series, s)
		family.Marks = append(family.Marks, Mark{i, best, "largest"})
	}
	single := &Curves{Title: "Thermal efficiency against the pressure ratio", X: x, Y: y,
		Series: []Series{{Points: family.Series[0].Points}}, Marks: family.Marks[:1]}
	crowd := &Curves{Title: "Many curves", X: x, Y: y, Family: Name{"ε", ""}}
	for i := range 11 {
		s := Series{Name: number(float64(i)/20, 2)}
		for n := range 30 {
			r := 2 + float64(n)
			s.Points = append(s.Points, Sample{X: r, Y: eta(r, float64(i)/20)})
		}
		crowd.Series = append(crowd.Series, s)
	}
	apart := &Curves{Title: "Work against the pressure ratio", X: x, Y: Axis{Symbol: Name{"w", "net"}, Words: "specific work", Unit: "kJ/kg"}, Family: Name{"T", "3"}}
	for i, t3 := range []float64{1100, 1200, 1300, 1400} {
		s := Series{Name: number(t3, 4) + " K"}
		best := Point{}
		for n := range 40 {
			r := 2 + 0.7*float64(n)
			f := math.Pow(r, 0.4/1.4)
			w := 1.005 * (t3*0.88*(1-1/f) - 300*(f-1)/0.85)
			s.Points = append(s.Points, Sample{X: r, Y: w})
			if w > best.Y {
				best = Point{r, w}
			}
		}
		apart.Series = append(apart.Series, s)
		apart.Marks = append(apart.Marks, Mark{i, best, "largest"})
	}
	return map[string]*Curves{"study-apart": apart, "study-family": family, "study-single": single, "study-crowd": crowd}
}

func exchanges() map[string]*Exchange {
	t := Axis{Symbol: Name{Base: "T"}, Words: "temperature", Unit: "K"}
	regenerator := &Exchange{Title: "Temperatures along the regenerator", T: t, Difference: "K",
		X:    Axis{Words: "heat passed", Unit: "kJ/kg"},
		Hot:  Stream{Name: "exhaust", Left: "10", Right: "9", Leftwards: true},
		Cold: Stream{Name: "air", Left: "4", Right: "5"}}
	for i := range 31 {
		f := float64(i) / 30
		regenerator.Hot.Points = append(regenerator.Hot.Points, Point{455 * f, 540 + 428*f - 14*f*(1-f)})
		regenerator.Cold.Points = append(regenerator.Cold.Points, Point{455 * f, 442 + 438*f - 20*f*(1-f)})
	}
	regenerator.Gaps = []Gap{{"cold end", 0, 540, 442}, {"pinch, hot end", 455, 968, 880}}
	boiler := &Exchange{Title: "Temperatures along the boiler", T: t, Difference: "K", X: Axis{Words: "fraction of the heat passed"},
		Hot:  Stream{Name: "gas", Left: "8", Right: "4", Leftwards: true},
		Cold: Stream{Name: "water and steam", Left: "21", Right: "29"}}
	for i := range 41 {
		f := float64(i) / 40
		boiler.Hot.Points = append(boiler.Hot.Points, Point{f, 430 + 400*f})
		boiler.Cold.Points = append(boiler.Cold.Points, Point{f, 320 + min(f/0.35, 1)*230 + max(0, (f-0.725)/0.275)*240})
	}
	boiler.Gaps = []Gap{{"", 0, 430, 320}, {"pinch", 0.35, 570, 550}, {"", 1, 830, 790}}
	return map[string]*Exchange{"exchange-regenerator": regenerator, "exchange-boiler": boiler}
}

// demos are all pictures of the tests.
func demos(t testing.TB) map[string]string {
	out := map[string]string{}
	for name, d := range diagrams(t) {
		out[name] = string(d.SVG(name))
	}
	for name, c := range studies() {
		out[name] = string(c.SVG(name))
	}
	for name, e := range exchanges() {
		out[name] = string(e.SVG(name))
	}
	for name, s := range out {
		if !strings.HasPrefix(s, "<svg ") {
			t.Errorf("%s: no picture", name)
		}
	}
	return out
}
