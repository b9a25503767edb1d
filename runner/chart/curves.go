package chart

import (
	"math"
	"strconv"
	"strings"
)

// Curves is y against x, for one curve or a family of them.
type Curves struct {
	Title  string
	X, Y   Axis
	Family Name // the symbol that differs from curve to curve; empty where the names stand alone
	Series []Series
	Marks  []Mark
	Digits int // of the values at the marks and in the description; 5 where it is 0
}

// Series is one curve.
type Series struct {
	Symbol Name   // of the curve itself, where the curves show different ones; else empty
	Name   string // its value of the family's symbol, "75 %"
	Points []Sample
}

// Sample is one point of a curve.
type Sample struct {
	X, Y    float64
	Failed  bool // no value was found there: the curve has a gap
	Outside bool // an input lay outside its allowed range
}

// Mark is a point that is pointed out, such as an optimum.
type Mark struct {
	Series int    // of the curve it lies on
	At     Point  // where
	Words  string // what it is, "largest"
}

const (
	curvesHigh  = 400.0
	mostSeries  = 12
	mostDirect  = 8 // curves that carry their names at their ends
	mostMarks   = 24
	markersEach = 6  // along one curve of a family
	mostCrosses = 60 // places where one curve has no value, or a value by itself
)

// SVG draws the curves; the ids in it begin with id.
func (c *Curves) SVG(id string) []byte {
	series := c.Series[:min(len(c.Series), mostSeries)]
	x, y := noSpan(), noSpan()
	failed, outside := false, false
	for _, s := range series {
		for _, v := range s.Points {
			switch {
			case v.Failed || !sane(v.Y):
				failed = true
				x.add(v.X)
			case sane(v.X):
				x.add(v.X)
				y.add(v.Y)
				outside = outside || v.Outside
			}
		}
	}
	for _, m := range c.Marks {
		if sane(m.At.X) && sane(m.At.Y) {
			x.add(m.At.X)
			y.add(m.At.Y)
		}
	}
	room := padding
	if len(c.Marks) > 0 {
		room *= 2 // for the marks' values
	}
	ax, ay := newAxis(c.X, x, 0.02, 7), newAxis(c.Y, y, room, 6)
	var notes []entry
	if outside {
		notes = append(notes, entry{name: "outside the allowed range", draw: func(o *svg, x, y float64) { o.line("c1 far", x, y, x+sampleWide, y) }})
	}
	if failed {
		notes = append(notes, entry{name: "no value found", draw: func(o *svg, x, y float64) { o.cross("c1", pt{x + sampleWide/2, y}) }})
	}
	p, ends := c.withNames(series, ax, ay, notes)
	p.axes()
	p.taken = append(p.taken, ends...)
	for i, s := range series {
		p.drawSeries(i, s, len(series) > 1)
	}
	for i, b := range ends {
		p.entry(b.x1, b.y2-3.6, c.entryOf(i, series[i]))
	}
	p.drawMarks(c)
	return p.finish(id, c.Title, c.describe(series))
}

func (c *Curves) entryOf(i int, s Series) entry {
	symbol, apart := c.Family, false
	if !s.Symbol.empty() {
		symbol, apart = s.Symbol, true
	}
	return entry{symbol: symbol, apart: apart, name: short(s.Name, 30), draw: func(o *svg, x, y float64) {
		o.line(strokes(i, true, false), x, y, x+sampleWide, y)
		o.marker(i, "mk "+hue(i), pt{x + sampleWide/2, y})
	}}
}

// withNames lays out a plane that names each curve at its end where there is room for that, and in
// a legend above the curves where there is not. The boxes are those of the names at the ends.
func (c *Curves) withNames(series []Series, x, y axis, notes []entry) (*plane, []box) {
	if len(series) < 2 && (len(series) == 0 || series[0].Name == "" && series[0].Symbol.empty()) {
		return newPlane(curvesHigh, x, y, 0, notes), nil
	}
	if len(series) <= mostDirect {
		wide := 0.0
		for i, s := range series {
			wide = max(wide, c.entryOf(i, s).width())
		}
		p := newPlane(curvesHigh, x, y, wide+12, notes)
		if ends, ok := p.endNames(series, wide); ok {
			return p, ends
		}
	}
	var legend []entry
	for i, s := range series {
		legend = append(legend, c.entryOf(i, s))
	}
	return newPlane(curvesHigh, x, y, 0, append(legend, notes...)), nil
}

// endNames are the places of the curves' names at the right, moved apart so that they do not
// touch; false where a curve ends elsewhere or a name would stand too far from its curve.
func (p *plane) endNames(series []Series, wide float64) ([]box, bool) {
	const high, farthest = 16.0, 22.0
	last := math.Inf(-1)
	ends := make([]pt, len(series))
	for i, s := range series {
		found := false
		for j := len(s.Points) - 1; j >= 0 && !found; j-- {
			if v := s.Points[j]; !v.Failed && p.ok(Point{v.X, v.Y}) {
				ends[i], found = p.at(Point{v.X, v.Y}), true
			}
		}
		if !found {
			return nil, false
		}
		last = max(last, ends[i].x)
	}
	order := make([]int, len(series)) // from the top of the picture down
	for i := range order {
		order[i] = i
		for j := i; j > 0 && ends[order[j]].y < ends[order[j-1]].y; j-- {
			order[j], order[j-1] = order[j-1], order[j]
		}
	}
	at := make([]float64, len(series))
	for n, i := range order {
		at[i] = ends[i].y
		if n > 0 {
			at[i] = max(at[i], at[order[n-1]]+high)
		}
	}
	for n := len(order) - 1; n >= 0; n-- { // and back up from the bottom
		limit := p.in.y2
		if n < len(order)-1 {
			limit = at[order[n+1]] - high
		}
		at[order[n]] = min(at[order[n]], limit)
	}
	out := make([]box, len(series))
	for i := range series {
		if last-ends[i].x > 4 || math.Abs(at[i]-ends[i].y) > farthest || at[i] < p.in.y1-high {
			return nil, false
		}
		out[i] = box{p.in.x2 + 8, at[i] - high/2, p.in.x2 + 8 + wide, at[i] + high/2}
	}
	return out, true
}

// piece is a run of points that is drawn in one way.
type piece struct {
	points  []Point
	outside bool
}

// pieces parts a curve where points failed and where it enters or leaves the allowed range. What
// joins two points is inside the range only where both of them are.
func (p *plane) pieces(points []Sample) []piece {
	var out []piece
	var last *Sample // the point before, where it has a value
	for i := range points {
		v := &points[i]
		at := Point{v.X, v.Y}
		if v.Failed || !p.ok(at) {
			last = nil
			continue
		}
		if last == nil {
			out = append(out, piece{points: []Point{at}, outside: v.Outside})
			last = v
			continue
		}
		now := &out[len(out)-1]
		outside := v.Outside || last.Outside
		switch {
		case len(now.points) == 1:
			now.outside = outside
		case now.outside != outside:
			out = append(out, piece{points: []Point{{last.X, last.Y}}, outside: outside})
			now = &out[len(out)-1]
		}
		now.points = append(now.points, at)
		last = v
	}
	return out
}

// drawSeries draws one curve: gaps and crosses where points failed, dotted where an input lies
// outside its allowed range, and of a family each with its own marker.
func (p *plane) drawSeries(i int, s Series, family bool) {
	var inRange, outside [][]pt
	var marks []pt
	usable := 0
	for _, piece := range p.pieces(s.Points) {
		usable += len(piece.points)
		if len(piece.points) == 1 {
			marks = append(marks, p.at(piece.points[0]))
		}
		for _, l := range p.lines(piece.points) {
			p.curve(l, 1)
			if piece.outside {
				outside = append(outside, l)
			} else {
				inRange = append(inRange, l)
			}
		}
	}
	p.path(strokes(i, true, false), inRange...)
	p.path(hue(i)+" far", outside...)
	p.crosses(i, s)
	if family {
		marks = append(marks, p.spaced(i, s, usable)...)
	}
	for _, at := range marks[:min(len(marks), mostCrosses)] {
		p.marker(i, "mk "+hue(i), at)
		p.mark(box{at.x - 4, at.y - 4, at.x + 4, at.y + 4})
	}
}

// crosses stand on the x axis, where a point has no value to stand at.
func (p *plane) crosses(i int, s Series) {
	last, n := math.Inf(-1), 0
	for _, v := range s.Points {
		if !v.Failed && sane(v.Y) || !p.x.ok(v.X) || n == mostCrosses {
			continue
		}
		at := pt{p.in.x1 + p.x.Norm(v.X)*(p.in.x2-p.in.x1), p.in.y2 - 5}
		if math.Abs(at.x-last) < 2 {
			continue
		}
		p.cross(hue(i), at)
		p.mark(box{at.x - 4, at.y - 4, at.x + 4, at.y + 4})
		last = at.x
		n++
	}
}

// spaced are the places of a curve's markers: at its own points, some way apart, and beginning
// elsewhere than those of the curve before it.
func (p *plane) spaced(i int, s Series, usable int) []pt {
	every := max(1, usable/markersEach)
	var out []pt
	n := 0
	for _, v := range s.Points {
		at := Point{v.X, v.Y}
		if v.Failed || !p.ok(at) {
			continue
		}
		if n%every == (1+2*i)%every {
			out = append(out, p.at(at))
		}
		n++
	}
	return out
}

// drawMarks draws the marked points with their values.
func (p *plane) drawMarks(c *Curves) {
	marks := c.Marks[:min(len(c.Marks), mostMarks)]
	var tags []tag
	var texts []string
	for _, m := range marks {
		if !p.ok(m.At) {
			continue
		}
		at := p.at(m.At)
		p.raw(`<circle class="best `, hue(max(0, m.Series)), `" cx="`)
		p.num(at.x)
		p.raw(`" cy="`)
		p.num(at.y)
		p.raw(`" r="5"/>`)
		p.mark(box{at.x - 6, at.y - 6, at.x + 6, at.y + 6})
		s := quantity(m.At.Y, c.Digits, c.Y.Unit) + " at " + quantity(m.At.X, c.Digits, c.X.Unit)
		tags = append(tags, tag{at, width(s, textSize), 15})
		texts = append(texts, s)
	}
	places, found := p.settle(tags, nearest+4)
	for i, b := range places {
		if found[i] {
			p.tie(tags[i].at, b)
			p.label(b.x1, b.y2-3.6, start, "", texts[i])
		}
	}
}

// describe says in words what the curves show, with their numbers.
func (c *Curves) describe(series []Series) string {
	var b strings.Builder
	b.WriteString("Upwards: " + c.Y.phrase() + ". To the right: " + c.X.phrase() + ".")
	for i, s := range series {
		name := short(s.Name, 30)
		switch {
		case !s.Symbol.empty():
			name = strings.TrimSuffix(s.Symbol.String()+", "+name, ", ")
		case !c.Family.empty() && name != "":
			name = c.Family.String() + " = " + name
		}
		b.WriteString(" " + c.sentence(name, s))
		for _, m := range c.Marks[:min(len(c.Marks), mostMarks)] {
			if m.Series == i && sane(m.At.X) && sane(m.At.Y) {
				b.WriteString(" " + strings.TrimSpace("Marked: "+short(m.Words, 40)+" "+quantity(m.At.Y, c.Digits, c.Y.Unit)) +
					" at " + quantity(m.At.X, c.Digits, c.X.Unit) + ".")
			}
		}
	}
	if n := len(c.Series) - len(series); n > 0 {
		b.WriteString(" " + strconv.Itoa(n) + " more curves are not drawn.")
	}
	return b.String()
}

// sentence tells the course of one curve by its ends, its extremes and its gaps.
func (c *Curves) sentence(name string, s Series) string {
	var good []Point
	failed, outside := 0, 0
	for _, v := range s.Points {
		switch {
		case v.Failed || !sane(v.X) || !sane(v.Y):
			failed++
		default:
			good = append(good, Point{v.X, v.Y})
			if v.Outside {
				outside++
			}
		}
	}
	if name == "" {
		name = "The curve"
	} else {
		name = "Curve " + name
	}
	if len(good) == 0 {
		return name + " has no values."
	}
	lo, hi := good[0], good[0]
	for _, v := range good {
		if v.Y < lo.Y {
			lo = v
		}
		if v.Y > hi.Y {
			hi = v
		}
	}
	at := func(v Point) string {
		return quantity(v.Y, c.Digits, c.Y.Unit) + " at " + quantity(v.X, c.Digits, c.X.Unit)
	}
	t := name + " goes from " + at(good[0]) + " to " + at(good[len(good)-1]) + "; least " + at(lo) + ", most " + at(hi)
	if failed > 0 {
		t += "; points without a value: " + strconv.Itoa(failed)
	}
	if outside > 0 {
		t += "; points outside the allowed range: " + strconv.Itoa(outside)
	}
	return t + "."
}
