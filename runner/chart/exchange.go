package chart

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Exchange is the temperature along a heat exchanger.
type Exchange struct {
	Title     string
	X, T      Axis
	Hot, Cold Stream
	Gaps      []Gap // differences that are pointed out: both ends and the pinch
	// Difference is the unit of a difference of two temperatures on T: "K" for K and °C.
	Difference string
	Digits     int
}

// Stream is one side of the exchanger: its temperatures in the order of rising X.
type Stream struct {
	Name        string
	Points      []Point
	Left, Right string // the states at its ends; may be empty
	Leftwards   bool   // it flows from right to left
}

// Gap is the difference between the two sides at one place.
type Gap struct {
	Name         string // "pinch"; may be empty
	X, Hot, Cold float64
}

const (
	exchangeHigh = 390.0
	mostGaps     = 6
)

// SVG draws the exchanger; the ids in it begin with id.
func (e *Exchange) SVG(id string) []byte {
	x, y := noSpan(), noSpan()
	for _, s := range []Stream{e.Hot, e.Cold} {
		for _, v := range finite(s.Points) {
			x.add(v.X)
			y.add(v.Y)
		}
	}
	p := newPlane(exchangeHigh, newAxis(e.X, x, 0.06, 7), newAxis(e.T, y, 0.1, 6), 0, nil)
	p.axes()
	gaps := e.Gaps[:min(len(e.Gaps), mostGaps)]
	for _, g := range gaps {
		if hot, cold := (Point{g.X, g.Hot}), (Point{g.X, g.Cold}); p.ok(hot) && p.ok(cold) {
			line := []pt{p.at(hot), p.at(cold)}
			p.path("gap", line)
			p.curve(line, 1)
		}
	}
	p.stream(e.Hot, "c1 thick")
	p.stream(e.Cold, "c1")
	p.ends(e.Hot)
	p.ends(e.Cold)
	p.gapLabels(e, gaps)
	p.streamName(e.Hot)
	p.streamName(e.Cold)
	return p.finish(id, e.Title, e.describe())
}

// stream draws one side with the arrows of its flow.
func (p *plane) stream(s Stream, class string) {
	for _, l := range p.lines(s.Points) {
		p.path(class, l)
		p.curve(l, 1)
		for _, f := range []float64{0.3, 0.7} {
			at, dx, dy, length := alongside(l, f)
			if s.Leftwards {
				dx, dy = -dx, -dy
			}
			if length > 2*arrowNeeds {
				p.mark(p.arrowhead("ar f1", at, dx, dy, strings.Contains(class, "thick")))
			}
		}
	}
}

// ends draws the states at both ends of a stream.
func (p *plane) ends(s Stream) {
	points := finite(s.Points)
	if len(points) == 0 {
		return
	}
	var tags []tag
	var ids []string
	for i, id := range []string{s.Left, s.Right} {
		v := points[i*(len(points)-1)]
		if id = short(id, 12); id == "" || !p.ok(v) {
			continue
		}
		at := p.at(v)
		p.marker(0, "mk c1", at)
		p.mark(box{at.x - 4, at.y - 4, at.x + 4, at.y + 4})
		w, h := ringBox(id)
		tags = append(tags, tag{at, w, h})
		ids = append(ids, id)
	}
	places, found := p.settle(tags, nearest+3)
	for i, b := range places {
		if found[i] {
			p.tie(tags[i].at, b)
			p.ring(b, ids[i])
		}
	}
}

// gapLabels writes each difference beside its line.
func (p *plane) gapLabels(e *Exchange, gaps []Gap) {
	for _, g := range gaps {
		hot, cold := Point{g.X, g.Hot}, Point{g.X, g.Cold}
		if !p.ok(hot) || !p.ok(cold) {
			continue
		}
		a, b := p.at(hot), p.at(cold)
		s := strings.TrimSpace(short(g.Name, 30) + " " + quantity(g.Hot-g.Cold, e.Digits, e.Difference))
		if !e.atEnd(g.X) {
			s += " at " + quantity(g.X, e.Digits, e.X.Unit)
		}
		if at, ok := p.put(pt{(a.x + b.x) / 2, (a.y + b.y) / 2}, width(s, textSize), 15, nearest); ok {
			p.tie(pt{(a.x + b.x) / 2, (a.y + b.y) / 2}, at)
			p.label(at.x1, at.y2-3.6, start, "", s)
		}
	}
}

// atEnd reports a place at one of the ends of the exchanger, which needs no number to be found.
func (e *Exchange) atEnd(x float64) bool {
	points := finite(e.Hot.Points)
	return len(points) == 0 || x <= points[0].X || x >= points[len(points)-1].X
}

// streamName writes a side's name beside its curve, where there is most room.
func (p *plane) streamName(s Stream) {
	lines := p.lines(s.Points)
	name := short(s.Name, 40)
	if len(lines) == 0 || name == "" {
		return
	}
	var spots []pt
	for _, f := range []float64{0.5, 0.42, 0.58, 0.2, 0.8} {
		at, _, _, _ := alongside(lines[0], f)
		spots = append(spots, at)
	}
	p.quietLabel(name, spots, nearest)
}

// describe says in words what the picture shows, with its numbers.
func (e *Exchange) describe() string {
	var b strings.Builder
	b.WriteString("Upwards: " + e.T.phrase() + ". To the right: " + e.X.phrase() + ".")
	for _, s := range []Stream{e.Hot, e.Cold} {
		points := finite(s.Points)
		if len(points) == 0 {
			continue
		}
		first, last, from, to := points[0], points[len(points)-1], s.Left, s.Right
		if s.Leftwards {
			first, last, from, to = last, first, to, from
		}
		state := func(id string) string {
			if id == "" {
				return ""
			}
			return "state " + short(id, 12) + ", "
		}
		b.WriteString(" " + short(s.Name, 40) + ": from " + state(from) + quantity(first.Y, e.Digits, e.T.Unit) +
			", to " + state(to) + quantity(last.Y, e.Digits, e.T.Unit) + ".")
	}
	for _, g := range e.Gaps[:min(len(e.Gaps), mostGaps)] {
		name := short(g.Name, 30)
		if name == "" {
			name = "difference"
		}
		first, n := utf8.DecodeRuneInString(name)
		b.WriteString(" " + string(unicode.ToUpper(first)) + name[n:] + ": " + quantity(g.Hot-g.Cold, e.Digits, e.Difference) +
			" at " + quantity(g.X, e.Digits, e.X.Unit) + ", between " + quantity(g.Hot, e.Digits, e.T.Unit) + " and " + quantity(g.Cold, e.Digits, e.T.Unit) + ".")
	}
	return b.String()
}
