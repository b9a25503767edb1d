package chart

import (
	"slices"
	"strconv"
	"strings"

	"workings/units"
)

const (
	pictureWidth = 640.0
	tickLong     = 5.0
	lineHigh     = 17.0
	edge         = 6.0 // free room at the edges of a picture
	padding      = 0.06
)

// entry is one line of a legend: how a thing is drawn, and what it is.
type entry struct {
	symbol Name // "ε" of "ε = 75 %"; may be empty
	name   string
	apart  bool                       // name is not the symbol's value
	draw   func(o *svg, x, y float64) // the sample, sampleWide long, about the height y
}

const sampleWide = 30.0

// plane is a picture with two axes.
type plane struct {
	svg
	placer
	x, y    axis
	w, h    float64
	drawn   int  // points so far
	cut     bool // something was left out to keep the picture small
	in      box  // inside the axes
	legend  []entry
	entries []box // where the legend's entries stand
}

// newPlane lays a picture out: the axes' names and the legend above it and below it, so that
// nothing hides a curve.
func newPlane(height float64, x, y axis, right float64, legend []entry) *plane {
	p := &plane{x: x, y: y, w: pictureWidth, h: height, legend: legend}
	left := 0.0
	for _, t := range y.Tick.Marker.Ticks(y.Min, y.Max) {
		left = max(left, width(t.Label, textSize))
	}
	left += edge + tickLong + 4
	top := edge + lineHigh
	at := edge + y.of.labelWidth() + 26
	for _, e := range legend {
		w := sampleWide + 8 + e.width()
		if at+w > p.w-edge && len(p.entries) > 0 || at+w > p.w {
			at, top = left, top+lineHigh
		}
		p.entries = append(p.entries, box{at, top - 13, at + w, top + 4})
		at += w + 18
	}
	right = max(right, edge)
	for _, t := range x.Tick.Marker.Ticks(x.Min, x.Max) {
		if t.Label != "" { // half of the last one may stand beyond the axis
			over := width(t.Label, textSize)/2 - (1-x.Norm(t.Value))*(p.w-left-right)
			right = max(right, over+edge)
		}
	}
	p.in = box{left, top + 9, p.w - right, p.h - 2*lineHigh - tickLong - edge}
	p.area = p.in
	return p
}

func (p *plane) at(v Point) pt {
	return pt{p.in.x1 + p.x.Norm(v.X)*(p.in.x2-p.in.x1), p.in.y2 - p.y.Norm(v.Y)*(p.in.y2-p.in.y1)}
}

// ok reports whether a point can be shown on the axes.
func (p *plane) ok(v Point) bool { return p.x.ok(v.X) && p.y.ok(v.Y) }

// lines turns points into polylines inside the axes, parted where a point cannot be shown.
func (p *plane) lines(points []Point) [][]pt {
	var out [][]pt
	var run []pt
	flush := func() {
		for _, l := range clip(run, p.in) {
			if p.drawn >= mostDrawn {
				p.cut = true
				break
			}
			l = simplify(l)
			p.drawn += len(l)
			out = append(out, l)
		}
		run = nil
	}
	for _, v := range points {
		if !p.ok(v) {
			flush()
			continue
		}
		run = append(run, p.at(v))
	}
	flush()
	return out
}

// finish is the whole picture, with a description in front of what was drawn.
func (p *plane) finish(id, title, desc string) []byte {
	if p.cut {
		desc += " There is more than a picture can hold, and part of it is not drawn."
	}
	var whole svg
	whole.open(id, p.w, p.h, title, desc)
	whole.b = append(whole.b, p.b...)
	return whole.close()
}

// axes draws both axes with light lines at their ticks, their names, and the legend.
func (p *plane) axes() {
	var grid, ticks [][]pt
	var labels svg
	b := p.in
	lastRight := -1e9
	for _, t := range p.x.Tick.Marker.Ticks(p.x.Min, p.x.Max) {
		at := b.x1 + p.x.Norm(t.Value)*(b.x2-b.x1)
		long := tickLong
		if t.Label == "" {
			long = 3
		} else {
			w := width(t.Label, textSize)
			if at-w/2 < lastRight+6 {
				continue // labels would touch
			}
			lastRight = at + w/2
			grid = append(grid, []pt{{at, b.y1}, {at, b.y2}})
			labels.label(at, b.y2+tickLong+13, middle, "", t.Label)
		}
		ticks = append(ticks, []pt{{at, b.y2}, {at, b.y2 + long}})
	}
	lastTop := 1e9
	for _, t := range p.y.Tick.Marker.Ticks(p.y.Min, p.y.Max) {
		at := b.y2 - p.y.Norm(t.Value)*(b.y2-b.y1)
		long := tickLong
		if t.Label == "" {
			long = 3
		} else {
			if at > lastTop-14 {
				continue
			}
			lastTop = at
			grid = append(grid, []pt{{b.x1, at}, {b.x2, at}})
			labels.label(b.x1-tickLong-4, at+4.5, end, "", t.Label)
		}
		ticks = append(ticks, []pt{{b.x1, at}, {b.x1 - long, at}})
	}
	p.path("gr", grid...)
	p.path("ax", append(ticks, []pt{{b.x1, b.y1}, {b.x1, b.y2}, {b.x2, b.y2}})...)
	p.raw(string(labels.b))
	p.axisLabel(edge, edge+11, start, p.y.of)
	p.axisLabel(p.in.x2, p.h-edge-3, end, p.x.of)
	for i, e := range p.legend {
		at := p.entries[i]
		e.draw(&p.svg, at.x1, at.y2-8)
		p.entry(at.x1+sampleWide+8, at.y2-4, e)
	}
}

func (e entry) width() float64 { return e.symbol.width() + width(e.between()+e.name, textSize) }

// between stands between the symbol and the name.
func (e entry) between() string {
	switch {
	case e.symbol.empty() || e.name == "":
		return ""
	case e.apart:
		return ", "
	}
	return " = "
}

// entry writes the words of a legend's entry.
func (o *svg) entry(x, y float64, e entry) {
	o.openText(x, y, start, "")
	if !e.symbol.empty() {
		o.name(e.symbol)
	}
	o.raw(e.between())
	o.text(e.name)
	o.raw("</text>")
}

// hue is the class of the series or path of this number.
func hue(i int) string { return "c" + string(rune('1'+i%5)) }

// number is a value as the sheet prints it, without the zeros at the end of its decimals: a picture
// is read at a glance.
func number(v float64, digits int) string {
	if !sane(v) {
		return "no value"
	}
	if digits == 0 {
		digits = 5
	}
	mantissa, power, found := strings.Cut(units.FormatNumber(v, digits), "×")
	if strings.Contains(mantissa, ".") {
		mantissa = strings.TrimRight(strings.TrimRight(mantissa, "0"), ".")
	}
	if found {
		mantissa += "×" + power
	}
	return mantissa
}

// quantity is a number with its unit.
func quantity(v float64, digits int, unit string) string {
	if unit == "" {
		return number(v, digits)
	}
	return number(v, digits) + "\u00a0" + unit
}

// list joins words as a sentence does, and says how many it left out.
func list(words []string, most int) string {
	more := 0
	if len(words) > most {
		more, words = len(words)-most, words[:most]
	}
	s := strings.Join(words, ", ")
	if more > 0 {
		s += " and " + strconv.Itoa(more) + " more"
	}
	return s
}

// finite are the values of points that can be drawn.
func finite(points []Point) []Point {
	if !slices.ContainsFunc(points, func(v Point) bool { return !sane(v.X) || !sane(v.Y) }) {
		return points
	}
	return slices.DeleteFunc(slices.Clone(points), func(v Point) bool { return !sane(v.X) || !sane(v.Y) })
}
