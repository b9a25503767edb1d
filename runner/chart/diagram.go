package chart

import "strings"

// Diagram is a property diagram.
type Diagram struct {
	Title  string // what it shows, in words
	X, Y   Axis
	Paths  []Path
	Dome   *Dome
	Lines  []Isoline // behind the paths
	Digits int       // of the numbers in the description; 5 where it is 0
}

// Path is a run of states that a fluid passes.
type Path struct {
	Name string // of the fluid or the cycle; needed where there are several
	Legs []Leg
}

// Leg is what lies between two neighbouring states.
type Leg struct {
	From, To State
	// Between are the points of the curve, both states included, where the way is known; without
	// them only its ends are, and it is dashed.
	Between []Point
	Heat    bool // heat enters: drawn heavy
}

// State is a numbered point.
type State struct {
	ID string
	At Point
}

// Dome is the boundary of the two-phase region, from one end through the critical point to the
// other.
type Dome struct {
	Fluid    string
	Points   []Point
	Critical Point
}

// Isoline is a curve in the background on which one property has one value.
type Isoline struct {
	Value  float64
	Unit   string
	Points []Point
}

const isolineDigits = 4

func (l Isoline) label() string {
	if !sane(l.Value) {
		return ""
	}
	return short(quantity(l.Value, isolineDigits, l.Unit), 24)
}

const (
	diagramHigh = 430.0
	mostLabels  = 150 // states that get a ring; a picture has no room for more
	mostPaths   = 8
	mostLegs    = 300  // of one picture
	arrowNeeds  = 46.0 // length of a leg that carries an arrow
	domeMargin  = 0.02
)

// strokes are the classes of a path: known and unknown legs are told apart in each, and the paths
// by dash, marker and hue.
func strokes(path int, known, heat bool) string {
	n := string(rune('1' + path%5))
	s := "c" + n + " d" + n
	if known {
		s = "c" + n + " k" + n
	}
	if heat {
		s += " hv"
	}
	return s
}

// SVG draws the diagram; the ids in it begin with id.
func (d *Diagram) SVG(id string) []byte {
	paths := d.Paths[:min(len(d.Paths), mostPaths)]
	x, y := d.spans(paths)
	var legend []entry
	if len(paths) > 1 {
		for i, p := range paths {
			legend = append(legend, entry{name: short(p.Name, 40), draw: func(o *svg, x, y float64) {
				o.line(strokes(i, true, false), x, y, x+sampleWide, y)
				o.marker(i, "mk "+hue(i), pt{x + sampleWide/2, y})
			}})
		}
	}
	p := newPlane(diagramHigh, newAxis(d.X, x, padding, 7), newAxis(d.Y, y, padding, 6), 0, legend)
	p.axes()
	p.background(d)
	states := p.drawPaths(paths)
	p.rings(states)
	p.isolineLabels(d)
	return p.finish(id, d.Title, d.describe())
}

// spans are the ranges of both axes: the states and what lies between them, and of the dome what
// is no lower than they are.
func (d *Diagram) spans(paths []Path) (x, y span) {
	x, y = noSpan(), noSpan()
	add := func(v Point) {
		if sane(v.X) && sane(v.Y) {
			x.add(v.X)
			y.add(v.Y)
		}
	}
	for _, p := range paths {
		for _, l := range p.Legs {
			add(l.From.At)
			add(l.To.At)
			for _, v := range l.Between {
				add(v)
			}
		}
	}
	if d.Dome != nil {
		lowest := y.lo - domeMargin*(y.hi-y.lo)
		for _, v := range d.Dome.Points {
			if v.Y >= lowest || y.lo > y.hi {
				add(v)
			}
		}
		add(d.Dome.Critical)
	}
	return x, y
}

// background draws the isolines and the dome.
func (p *plane) background(d *Diagram) {
	for i, l := range d.Lines {
		lines := p.lines(l.Points)
		p.path("iso", lines...)
		for _, line := range lines {
			p.isoline(line, 0.12, i+1)
		}
	}
	if d.Dome == nil {
		return
	}
	lines := p.lines(d.Dome.Points)
	p.path("dome", lines...)
	for _, line := range lines {
		p.curve(line, 0.6)
	}
	if c := d.Dome.Critical; p.ok(c) && inside(p.at(c), p.in) {
		at := p.at(c)
		p.cross("dome cp", at)
		p.mark(box{at.x - 4, at.y - 4, at.x + 4, at.y + 4})
	}
}

func inside(v pt, b box) bool { return v.x >= b.x1 && v.x <= b.x2 && v.y >= b.y1 && v.y <= b.y2 }

// shownState is a state with its place and the path that it is on.
type shownState struct {
	State
	path int
	at   pt
}

// drawPaths draws legs, arrows and the states' marks.
func (p *plane) drawPaths(paths []Path) []shownState {
	var states []shownState
	seen := map[State]bool{}
	var arrows svg
	legs := 0
	for i, path := range paths {
		for _, l := range path.Legs {
			if legs++; legs > mostLegs {
				p.cut = true
				break
			}
			points := l.Between
			known := len(points) >= 2
			if !known {
				points = []Point{l.From.At, l.To.At}
			}
			lines := p.lines(points)
			p.path(strokes(i, known, l.Heat), lines...)
			for _, line := range lines {
				p.curve(line, 1)
			}
			if len(lines) == 1 {
				at, dx, dy, length := alongside(lines[0], 0.54)
				if length >= arrowNeeds {
					p.mark(arrows.arrowhead("ar f"+string(rune('1'+i%5)), at, dx, dy, l.Heat))
				}
			}
			for _, s := range []State{l.From, l.To} {
				if p.ok(s.At) && !seen[s] {
					seen[s] = true
					states = append(states, shownState{s, i, p.at(s.At)})
				}
			}
		}
	}
	p.raw(string(arrows.b))
	drawn := map[shownState]bool{}
	for _, s := range states {
		key := shownState{path: s.path, at: pt{float64(tenths(s.at.x)), float64(tenths(s.at.y))}}
		if drawn[key] {
			continue
		}
		drawn[key] = true
		p.marker(s.path, "mk "+hue(s.path), s.at)
		p.mark(box{s.at.x - 4, s.at.y - 4, s.at.x + 4, s.at.y + 4})
	}
	return states
}

// rings places the states' numbers where they hide nothing; one that had to go far is tied to its
// state by a thin line.
func (p *plane) rings(states []shownState) {
	if len(states) > mostLabels {
		states, p.cut = states[:mostLabels], true
	}
	tags := make([]tag, len(states))
	for i, s := range states {
		w, h := ringBox(short(s.ID, 12))
		tags[i] = tag{s.at, w, h}
	}
	places, found := p.settle(tags, nearest+3)
	for i, b := range places {
		if found[i] {
			p.tie(states[i].at, b)
		}
	}
	for i, b := range places {
		if found[i] {
			p.ring(b, short(states[i].ID, 12))
		}
	}
}

// tie draws a thin line from a thing to its label where the label is not beside it.
func (p *plane) tie(at pt, b box) {
	const beside = 13.0
	near := pt{min(max(at.x, b.x1), b.x2), min(max(at.y, b.y1), b.y2)}
	if dx, dy := near.x-at.x, near.y-at.y; dx*dx+dy*dy > beside*beside {
		p.line("tie", at.x, at.y, near.x, near.y)
	}
}

// isolineLabels writes each isoline's value beside it, as far out as there is room, and the name
// of the critical point. What has no room that hides nothing is left out.
func (p *plane) isolineLabels(d *Diagram) {
	if d.Dome != nil && p.ok(d.Dome.Critical) && inside(p.at(d.Dome.Critical), p.in) {
		p.quietLabel("critical point", []pt{p.at(d.Dome.Critical)}, 5)
	}
	for i, l := range d.Lines {
		lines := p.lines(l.Points)
		s := l.label()
		if len(lines) == 0 || s == "" {
			continue
		}
		if b, ok := p.beside(lines[len(lines)-1], i+1, width(s, textSize), 14); ok {
			p.taken = append(p.taken, b)
			p.label(b.x1, b.y2-3.2, start, "u", s)
		}
	}
}

// quietLabel writes a label at the first of the spots where it hides nothing.
func (p *plane) quietLabel(s string, spots []pt, gap float64) {
	const good, most = 40.0, 12.0
	w := width(s, textSize)
	for _, at := range spots {
		b, ok := p.place(at, w, 14, gap)
		near := box{at.x - most, at.y - most, at.x + most, at.y + most}
		if ok && p.spoils(b) < good && b.overlaps(near) {
			p.taken = append(p.taken, b)
			p.label(b.x1, b.y2-3.2, start, "u", s)
			return
		}
	}
}

// describe says in words what the diagram shows, with its numbers.
func (d *Diagram) describe() string {
	const mostStates = 24
	var b strings.Builder
	b.WriteString("Upwards: " + d.Y.phrase() + ". To the right: " + d.X.phrase() + ".")
	for _, p := range d.Paths[:min(len(d.Paths), mostPaths)] {
		if len(p.Legs) == 0 {
			continue
		}
		b.WriteString(" ")
		if p.Name != "" {
			b.WriteString(short(p.Name, 60) + ": ")
		}
		at := func(s State) string {
			return "state " + short(s.ID, 12) + " at " + quantity(s.At.X, d.Digits, d.X.Unit) + ", " + quantity(s.At.Y, d.Digits, d.Y.Unit)
		}
		words := []string{at(p.Legs[0].From)}
		for i, l := range p.Legs {
			how := "; by a way of which only the ends are known to "
			if len(l.Between) >= 2 {
				how = "; along the curve drawn to "
			}
			if l.Heat {
				how = "; heat entering, " + strings.TrimPrefix(how, "; ")
			}
			if i == mostStates {
				words = append(words, "; and on through further states")
				break
			}
			words = append(words, how+at(l.To))
		}
		b.WriteString(strings.Join(words, "") + ".")
	}
	if d.Dome != nil {
		b.WriteString(" The boundary of the two-phase region of " + short(d.Dome.Fluid, 40) + ", with the critical point at " +
			quantity(d.Dome.Critical.X, d.Digits, d.X.Unit) + ", " + quantity(d.Dome.Critical.Y, d.Digits, d.Y.Unit) + ".")
	}
	if len(d.Lines) > 0 {
		var labels []string
		for _, l := range d.Lines {
			labels = append(labels, l.label())
		}
		b.WriteString(" In the background, lines of " + list(labels, 12) + ".")
	}
	return b.String()
}
