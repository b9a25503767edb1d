package chart

import "math"

const stepLong = 12.0 // of the grid, in units of the picture

// laidOut is a plan with every line and every text in its place.
type laidOut struct {
	nodes  []node
	links  []link
	lines  [][]pt
	rings  []box // of each link; empty where there is none
	labels []labelAt
	area   box
	cost   int
}

type labelAt struct {
	box    box
	lines  []string
	anchor align
}

func onPage(s step) pt { return pt{float64(s.x) * stepLong, float64(s.y) * stepLong} }

// symbolBox is the room that a symbol takes.
func (n *node) box() box {
	a, b := onPage(step{n.left(), n.top()}), onPage(step{n.right(), n.bottom()})
	if n.w == 0 {
		return box{a.x - dotRadius, a.y - dotRadius, a.x + dotRadius, a.y + dotRadius}
	}
	return box{a.x, a.y, b.x, b.y}
}

// draw turns what the router found into lines and finds room for the texts.
func (p *plan) draw(r *router) *laidOut {
	d := &laidOut{cost: r.total, links: make([]link, len(p.links)), lines: make([][]pt, len(p.links)), rings: make([]box, len(p.links))}
	copy(d.links, p.links)
	for i := range p.nodes {
		n := p.nodes[i]
		n.parts = append([]int(nil), n.parts...)
		d.nodes = append(d.nodes, n)
	}
	for i, route := range r.routes {
		if len(route) < 2 { // no way was found: straight, as the last resort
			l := &p.links[i]
			route = []step{{p.nodes[l.from].x, p.nodes[l.from].y}, {p.nodes[l.to].x, p.nodes[l.to].y}}
		}
		for _, s := range route {
			d.lines[i] = append(d.lines[i], onPage(s))
		}
		l := &d.links[i]
		d.lines[i][0] = d.touch(l.from, d.lines[i][0], l.shaft)
		last := len(d.lines[i]) - 1
		d.lines[i][last] = d.touch(l.to, d.lines[i][last], l.shaft)
	}
	d.placeRings()
	d.texts()
	d.bounds()
	const wide = 62 * stepLong
	d.cost += int((d.area.x2 - d.area.x1 + d.area.y2 - d.area.y1) / stepLong * perRoom)
	d.cost += int(max(0, d.area.x2-d.area.x1-wide))
	return d
}

// touch moves the end of a line from the box of a symbol to its outline.
func (d *laidOut) touch(i int, at pt, shaft bool) pt {
	n := &d.nodes[i]
	m := onPage(step{n.x, n.y})
	switch {
	case n.kind == "compressor" || n.kind == "turbine":
		if !shaft && at.x != m.x-2*stepLong && at.x != m.x+2*stepLong {
			high := n.halfHeight(at.x - m.x)
			if at.y < m.y {
				return pt{at.x, m.y - high}
			}
			return pt{at.x, m.y + high}
		}
	case n.kind == openEnd || n.w <= 2 || n.w > 4 || n.passes():
	default:
		inset := 2*stepLong - n.radius()
		return pt{at.x - float64(sgn(at.x-m.x))*inset, at.y - float64(sgn(at.y-m.y))*inset}
	}
	return at
}

func sgn(v float64) int {
	switch {
	case v > 0:
		return 1
	case v < 0:
		return -1
	}
	return 0
}

// placeRings puts the number of each stream on one of its straight pieces, beside the arrow: amid
// the longest, unless something else is in its way there.
func (d *laidOut) placeRings() {
	const collides, half, apart = 400, 2.0, 2.0
	type piece struct {
		box  box
		link int
	}
	var full []piece
	for i := range d.nodes {
		full = append(full, piece{d.nodes[i].box(), -1})
	}
	for i, l := range d.lines {
		for j := 1; j < len(l); j++ {
			a, b := l[j-1], l[j]
			full = append(full, piece{box{min(a.x, b.x) - half, min(a.y, b.y) - half, max(a.x, b.x) + half, max(a.y, b.y) + half}, i})
		}
	}
	for i, line := range d.lines {
		if d.links[i].shaft {
			continue
		}
		best, least := box{}, math.Inf(1)
		w, h := ringBox(short(d.links[i].state, 12))
		for j := 1; j < len(line); j++ {
			a, b := straight(line, j)
			long := math.Abs(b.x-a.x) + math.Abs(b.y-a.y)
			need := h
			if a.y == b.y {
				need = w
			}
			for k, f := range []float64{0.5, 0.3, 0.7, 0.15, 0.85} {
				at := pt{a.x + f*(b.x-a.x), a.y + f*(b.y-a.y)}
				c := box{at.x - w/2, at.y - h/2, at.x + w/2, at.y + h/2}
				fee := 4*float64(k) - min(long-need, 60)/10
				if free := 2*min(f, 1-f)*long - need; free < 8 {
					fee += perCramped - 4*free
				}
				for _, o := range full {
					if o.link != i && c.x1-apart < o.box.x2 && o.box.x1 < c.x2+apart && c.y1-apart < o.box.y2 && o.box.y1 < c.y2+apart {
						fee += collides
					}
				}
				if fee < least {
					best, least = c, fee
				}
			}
		}
		d.rings[i] = best
		d.cost += int(max(0, least))
		full = append(full, piece{best, -1})
	}
}

// straight is piece j of a line without the room of the arrow at its end.
func straight(line []pt, j int) (a, b pt) {
	const arrow = 11
	a, b = line[j-1], line[j]
	if j == len(line)-1 {
		b.x -= float64(sgn(b.x-a.x)) * arrow
		b.y -= float64(sgn(b.y-a.y)) * arrow
	}
	return a, b
}

const labelHigh = 15.0

// texts finds room for the labels beside their symbols.
func (d *laidOut) texts() {
	var full []box
	for i := range d.nodes {
		full = append(full, d.nodes[i].box())
	}
	for i, l := range d.lines {
		for j := 1; j < len(l); j++ {
			const half = 3
			a, b := l[j-1], l[j]
			full = append(full, box{min(a.x, b.x) - half, min(a.y, b.y) - half, max(a.x, b.x) + half, max(a.y, b.y) + half})
		}
		if !d.links[i].shaft {
			full = append(full, d.rings[i])
		}
	}
	for i := range d.nodes {
		n := &d.nodes[i]
		if len(n.label) == 0 {
			continue
		}
		at, fee := n.settleLabel(full, d.beyond(i))
		d.cost += fee
		d.labels = append(d.labels, at)
		full = append(full, at.box)
	}
}

// beyond is the direction in which an open end leads on, or comes from.
func (d *laidOut) beyond(i int) pt {
	for k, l := range d.links {
		line := d.lines[k]
		a, b := line[0], line[1]
		switch {
		case d.nodes[i].kind != openEnd:
			return pt{}
		case l.to == i:
			b, a = line[len(line)-1], line[len(line)-2]
		case l.from == i:
			a, b = b, a
		default:
			continue
		}
		return pt{float64(sgn(b.x - a.x)), float64(sgn(b.y - a.y))}
	}
	return pt{}
}

// settleLabel tries the places for a label in the order in which a reader looks for it.
func (n *node) settleLabel(full []box, beyond pt) (labelAt, int) {
	const gap, unplaced = 5.0, 1500
	w, h := 0.0, labelHigh*float64(len(n.label))
	for _, s := range n.label {
		w = max(w, width(s, textSize))
	}
	b := n.box()
	mx, my := (b.x1+b.x2)/2, (b.y1+b.y2)/2
	best, least := labelAt{}, 1<<30
	try := func(x, y float64, a align, fee int) {
		c := box{x, y, x + w, y + h}
		hits := 0
		for _, f := range full {
			if c.x1-2 < f.x2 && f.x1 < c.x2+2 && c.y1 < f.y2 && f.y1 < c.y2 {
				hits++
			}
		}
		if away := beyond.x*((c.x1+c.x2)/2-mx) + beyond.y*((c.y1+c.y2)/2-my); n.kind == openEnd && away < gap {
			fee += 60
		}
		if fee += unplaced * hits; fee < least {
			best, least = labelAt{c, n.label, a}, fee
		}
	}
	for k, far := range []float64{0, 4, 8, 14} {
		fee := 12 * k
		g := gap + far
		try(mx-w/2, b.y2+g, middle, fee)
		try(mx-w/2, b.y1-g-h, middle, fee+3)
		try(b.x2+g, my-h/2, start, fee+6)
		try(b.x1-g-w, my-h/2, end, fee+6)
		for _, side := range []float64{7, 12} {
			try(mx+side, b.y2+g, start, fee+8)
			try(mx-side-w, b.y2+g, end, fee+8)
			try(mx+side, b.y1-g-h, start, fee+9)
			try(mx-side-w, b.y1-g-h, end, fee+9)
		}
		for _, side := range []float64{-24, 24} {
			try(mx-w/2+side, b.y2+g, middle, fee+10)
			try(mx-w/2+side, b.y1-g-h, middle, fee+11)
		}
		try(b.x2+g, b.y1-h/2, start, fee+12)
		try(b.x1-g-w, b.y1-h/2, end, fee+12)
		try(b.x2+g, b.y2-h/2, start, fee+12)
		try(b.x1-g-w, b.y2-h/2, end, fee+12)
	}
	return best, least
}

// bounds is the room that everything takes.
func (d *laidOut) bounds() {
	d.area = box{1e9, 1e9, -1e9, -1e9}
	add := func(b box) {
		d.area = box{min(d.area.x1, b.x1), min(d.area.y1, b.y1), max(d.area.x2, b.x2), max(d.area.y2, b.y2)}
	}
	for i := range d.nodes {
		add(d.nodes[i].box())
	}
	for i, l := range d.lines {
		for _, q := range l {
			add(box{q.x - 4, q.y - 4, q.x + 4, q.y + 4})
		}
		if !d.links[i].shaft {
			add(d.rings[i])
		}
	}
	for _, t := range d.labels {
		add(t.box)
	}
	if len(d.nodes) == 0 {
		d.area = box{}
	}
}
