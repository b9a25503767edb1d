package chart

import "math"

const (
	dotRadius = 4.0
	wideHalf  = 24.0 // of a machine at its end of low pressure
	slimHalf  = 12.0
)

// halfHeight is that of a machine, so far right of its middle: the flow is wide where its pressure
// is low, before a compressor and after a turbine.
func (n *node) halfHeight(dx float64) float64 {
	slope := (wideHalf - slimHalf) / (4 * stepLong)
	if (n.kind == "compressor") != n.flip {
		slope = -slope
	}
	return (wideHalf+slimHalf)/2 + slope*dx
}

// radius is how far the outline of a symbol lies from its middle where streams meet it.
func (n *node) radius() float64 {
	switch n.kind {
	case "pump", "fan":
		return 17
	case "combustor", "condenser":
		return 22
	}
	return 20
}

// SVG draws the plan; the ids in it begin with id. Streams that give heat are heavy, those that take
// it up light; a shaft is a double line.
func (s *Schematic) SVG(id string) []byte {
	p := s.plan()
	return p.layout().svg(p, id)
}

const (
	pageEdge    = 8.0
	leastWide   = 640.0 // a small plan is not blown up
	legendWide  = 34.0
	legendBelow = 26.0
)

func (d *laidOut) svg(p *plan, id string) []byte {
	w, h := d.area.x2-d.area.x1+2*pageEdge, d.area.y2-d.area.y1+2*pageEdge+legendBelow
	dx, dy := pageEdge-d.area.x1, pageEdge-d.area.y1
	if w < leastWide {
		dx += (leastWide - w) / 2
		w = leastWide
	}
	d.move(dx, dy)
	const wide = 720
	o := &svg{wide: w > wide}
	o.open(id, w, h, p.s.Title, p.describe())
	var light, heavy, shafts [][]pt
	for i, l := range d.lines {
		switch {
		case d.links[i].shaft:
			shafts = append(shafts, l)
		case d.links[i].heavy:
			heavy = append(heavy, l)
		default:
			light = append(light, l)
		}
	}
	o.path("sh", shafts...)
	o.path("si", shafts...)
	o.path("", light...)
	o.path("thick", heavy...)
	for i := range d.nodes {
		d.symbol(o, p, i, dx, dy)
	}
	for i, l := range d.lines {
		if d.links[i].shaft {
			continue
		}
		a, b := l[len(l)-2], l[len(l)-1]
		ux, uy := float64(sgn(b.x-a.x)), float64(sgn(b.y-a.y))
		back := 4.5
		if n := &d.nodes[d.links[i].to]; n.w == 0 && n.kind != openEnd {
			back += dotRadius
		}
		o.arrowhead("ar f1", pt{b.x - ux*back, b.y - uy*back}, ux, uy, false)
		o.ring(d.rings[i], short(d.links[i].state, 12))
	}
	for _, t := range d.labels {
		x := t.box.x1
		switch t.anchor {
		case middle:
			x = (t.box.x1 + t.box.x2) / 2
		case end:
			x = t.box.x2
		}
		for k, s := range t.lines {
			o.label(x, t.box.y1+labelHigh*float64(k)+11.5, t.anchor, "", s)
		}
	}
	legend(o, h-pageEdge, len(light) > 0, len(heavy) > 0, len(shafts) > 0)
	return o.close()
}

// legend says what the lines mean.
func legend(o *svg, y float64, light, heavy, shafts bool) {
	x := pageEdge
	for _, row := range []struct {
		shown bool
		class []string
		words string
	}{{heavy, []string{"thick"}, "hot stream"}, {light, []string{""}, "cold stream"}, {shafts, []string{"sh", "si"}, "shaft"}} {
		if !row.shown {
			continue
		}
		for _, c := range row.class {
			o.line(c, x, y-4, x+legendWide, y-4)
		}
		o.label(x+legendWide+6, y, start, "u", row.words)
		x += legendWide + 24 + width(row.words, textSize)
	}
}

// move shifts the drawing to its place in the picture.
func (d *laidOut) move(dx, dy float64) {
	by := func(b box) box { return box{b.x1 + dx, b.y1 + dy, b.x2 + dx, b.y2 + dy} }
	for _, l := range d.lines {
		for j := range l {
			l[j].x, l[j].y = l[j].x+dx, l[j].y+dy
		}
	}
	for i := range d.rings {
		d.rings[i] = by(d.rings[i])
	}
	for i := range d.labels {
		d.labels[i].box = by(d.labels[i].box)
	}
	d.area = by(d.area)
}

// symbol draws a component. An arrow across a symbol's edge is heat: inwards where it is added,
// outwards where it is taken away.
func (d *laidOut) symbol(o *svg, p *plan, i int, dx, dy float64) {
	n := &d.nodes[i]
	b := n.box()
	b = box{b.x1 + dx, b.y1 + dy, b.x2 + dx, b.y2 + dy}
	m := onPage(step{n.x, n.y})
	m.x, m.y = m.x+dx, m.y+dy
	r := n.radius()
	switch {
	case n.kind == openEnd:
		d.openMark(o, i)
	case n.passes():
		o.shape("bx", pt{b.x1, b.y1}, pt{b.x2, b.y1}, pt{b.x2, b.y2}, pt{b.x1, b.y2})
		for k, part := range n.parts {
			y := m.y + passStep*stepLong*float64(k)
			class := ""
			if p.s.Parts[part].Hot {
				class = "thick"
			}
			const bend = 7
			o.path(class, []pt{{b.x1, y}, {m.x - 12, y}, {m.x - 6, y - bend}, {m.x + 6, y + bend}, {m.x + 12, y}, {b.x2, y}})
		}
	case n.w == 0:
		o.raw(`<circle class="mk c1" cx="`)
		o.num(m.x)
		o.raw(`" cy="`)
		o.num(m.y)
		o.raw(`" r="3.5"/>`)
	case n.kind == "compressor" || n.kind == "turbine":
		l, q := n.halfHeight(-2*stepLong), n.halfHeight(2*stepLong)
		o.shape("bx", pt{b.x1, m.y - l}, pt{b.x2, m.y - q}, pt{b.x2, m.y + q}, pt{b.x1, m.y + l})
	case n.w > 4:
		o.shape("bx", pt{b.x1, b.y1}, pt{b.x2, b.y1}, pt{b.x2, b.y2}, pt{b.x1, b.y2})
	case n.kind == "valve":
		d.bowTie(o, i, m)
	case n.kind == "pump" || n.kind == "fan":
		o.circle("bx", m, r)
		ux, uy := d.outward(i)
		tip := pt{m.x + ux*r, m.y + uy*r}
		c, s := 0.5*r, math.Sqrt(3)/2*r
		a, e := pt{m.x - ux*c - uy*s, m.y - uy*c + ux*s}, pt{m.x - ux*c + uy*s, m.y - uy*c - ux*s}
		if n.kind == "fan" { // open: two blades
			o.path("", []pt{a, tip, e})
		} else {
			o.shape("", a, tip, e)
		}
	case n.kind == "combustor":
		o.circle("bx", m, r)
		heatMark(o, m, r*0.7, true)
		o.circle("mk c1", pt{m.x + 2, m.y - 2}, 2.5)
	case n.kind == "condenser":
		o.circle("bx", m, r)
		heatMark(o, m, r*0.7, false)
		o.path("", []pt{{m.x - 12, m.y + 2}, {m.x - 5, m.y + 9}, {m.x + 2, m.y + 2}, {m.x + 9, m.y + 9}})
	default:
		o.shape("bx", pt{m.x - r, m.y - r}, pt{m.x + r, m.y - r}, pt{m.x + r, m.y + r}, pt{m.x - r, m.y + r})
		heatMark(o, m, r, !(n.kind == "cooler"))
		if n.kind == "boiler" { // the water's level
			o.path("", []pt{{m.x - r, m.y - 8}, {m.x - 13, m.y - 8}, {m.x - 9, m.y - 12}, {m.x - 1, m.y - 4}, {m.x + 7, m.y - 12}, {m.x + 11, m.y - 8}, {m.x + r, m.y - 8}})
		}
	}
}

// heatMark is an arrow through the lower left of a symbol, whose outline lies so far from its middle.
func heatMark(o *svg, m pt, r float64, in bool) {
	out, inner := pt{m.x - r - 7, m.y + r + 7}, pt{m.x - r + 15, m.y + r - 15}
	if in {
		o.path("", []pt{out, inner})
		o.arrowhead("ar f1", inner, 1, -1, false)
		return
	}
	o.path("", []pt{inner, out})
	o.arrowhead("ar f1", out, -1, 1, false)
}

func (o *svg) circle(class string, m pt, r float64) {
	o.raw(`<circle class="`, class, `" cx="`)
	o.num(m.x)
	o.raw(`" cy="`)
	o.num(m.y)
	o.raw(`" r="`)
	o.num(r)
	o.raw(`"/>`)
}

// outward is the direction in which a stream leaves a symbol.
func (d *laidOut) outward(i int) (x, y float64) {
	for k, l := range d.links {
		if !l.shaft && l.from == i {
			a, b := d.lines[k][0], d.lines[k][1]
			return float64(sgn(b.x - a.x)), float64(sgn(b.y - a.y))
		}
	}
	return 1, 0
}

func (d *laidOut) bowTie(o *svg, i int, m pt) {
	const long, half = stepLong, 8.0
	if _, uy := d.outward(i); uy != 0 {
		o.shape("bx", pt{m.x - half, m.y - long}, pt{m.x + half, m.y - long}, pt{m.x - half, m.y + long}, pt{m.x + half, m.y + long})
		return
	}
	o.shape("bx", pt{m.x - long, m.y - half}, pt{m.x - long, m.y + half}, pt{m.x + long, m.y - half}, pt{m.x + long, m.y + half})
}

// openMark closes the outer end of a stream that comes from outside by a short bar.
func (d *laidOut) openMark(o *svg, i int) {
	for k, l := range d.links {
		if l.from == i {
			a, b := d.lines[k][0], d.lines[k][1]
			ux, uy := float64(sgn(b.x-a.x)), float64(sgn(b.y-a.y))
			o.path("", []pt{{a.x - uy*5, a.y - ux*5}, {a.x + uy*5, a.y + ux*5}})
		}
	}
}
