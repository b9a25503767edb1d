package chart

import (
	"strings"
)

// Dependency is the picture of a package: its sheets, and which hands values to which.
type Dependency struct {
	Title  string
	Boxes  []SheetBox
	Arrows []Arrow
}

// SheetBox is one sheet.
type SheetBox struct {
	Name   string // its number, or the name of its file
	Detail string // beside the name, quieter: revision B
	Title  string
	Sign   Sign
	Status string // how it stands, in a few words
	Href   string // of its page; "" where there is none
}

// Sign is the shape before a status.
type Sign string

// The signs; a word always stands beside one.
const (
	NoSign      Sign = ""
	TickSign    Sign = "tick"     // all checks hold
	BadSign     Sign = "octagon"  // an error or a failing check
	CautionSign Sign = "triangle" // a caution
	OpenSign    Sign = "lozenge"  // something is to be confirmed
)

// Arrow leads from a sheet to one that uses it.
type Arrow struct {
	From, To int  // of Boxes
	Varied   bool // used with other inputs, at least once
}

// Bounds of the picture: beyond them a table of the same says more.
const (
	MaxSheetBoxes = 120
	maxBends      = 1500 // places where arrows pass sheets between their ends
)

const (
	sheetWide = 196.0
	linesHigh = 15.5 // from line to line of a box
	boxPad    = 9.0
	layerGap  = 52.0 // between layers, along the arrows
	boxGap    = 20.0 // between boxes of a layer
	laneGap   = 14.0 // between an arrow that passes and its neighbour
	pageWide  = 980.0
)

// SVG draws the package, upstream above or left; wide says that it needs more room than a page has
// across. Nil where it is too large to draw.
func (d *Dependency) SVG(id string) (picture []byte, wide bool) {
	l := d.layout()
	if l == nil {
		return nil, false
	}
	o := &svg{}
	o.raw(`<svg class="chart deps" style="--w:`)
	o.num(l.width)
	o.raw(`px" viewBox="0 0 `)
	o.num(l.width)
	o.raw(" ")
	o.num(l.height)
	o.raw(`" role="group" aria-labelledby="`, id, `-t" aria-describedby="`, id, `-d"><title id="`, id, `-t">`)
	o.text(short(d.Title, 200))
	o.raw(`</title><desc id="`, id, `-d">`)
	o.text(d.describe())
	o.raw("</desc>")
	for _, a := range l.arrows {
		o.flow(a)
	}
	if l.apart > 0 {
		o.label(1, l.apart, start, "u", "Not linked to any other sheet:")
	}
	for i := range d.Boxes {
		o.sheet(&d.Boxes[i], l.boxes[i], l.lines)
	}
	return o.close(), l.width > pageWide
}

// describe is the picture in words.
func (d *Dependency) describe() string {
	var said []string
	for i, b := range d.Boxes {
		var from []string
		for _, a := range d.Arrows {
			if a.To == i {
				from = append(from, d.Boxes[a.From].Name)
			}
		}
		if len(from) > 0 {
			said = append(said, b.Name+" uses "+strings.Join(from, ", "))
		}
	}
	if len(said) == 0 {
		return "No sheet uses another."
	}
	return short(strings.Join(said, "; "), 2000) + "."
}

// flow draws an arrow along its curves.
func (o *svg) flow(a drawnArrow) {
	o.raw(`<path class="fl`)
	if a.varied {
		o.raw(" d1")
	}
	o.raw(`" d="M`)
	o.point(a.at[0])
	for i := 1; i+2 < len(a.at); i += 3 {
		o.raw("C")
		o.point(a.at[i])
		o.raw(" ")
		o.point(a.at[i+1])
		o.raw(" ")
		o.point(a.at[i+2])
	}
	o.raw(`"/>`)
	tip, before := a.at[len(a.at)-1], a.at[len(a.at)-2]
	dx, dy := tip.x-before.x, tip.y-before.y
	if dx == 0 && dy == 0 {
		return
	}
	o.arrowhead("ar f1", tip, dx, dy, false)
}

func (o *svg) point(p pt) {
	o.num(p.x)
	o.raw(" ")
	o.num(p.y)
}

// sheet draws a box with its words. The whole of it is the link.
func (o *svg) sheet(b *SheetBox, at box, lines int) {
	if b.Href != "" {
		o.raw(`<a href="`)
		o.text(b.Href)
		o.raw(`">`)
		defer o.raw("</a>")
	}
	class := "bx"
	if b.Sign == BadSign {
		class = "bx thick"
	}
	o.shape(class, pt{at.x1, at.y1}, pt{at.x2, at.y1}, pt{at.x2, at.y2}, pt{at.x1, at.y2})
	x, y := at.x1+boxPad, at.y1+boxPad+10
	room := sheetWide - 2*boxPad
	name := fit(b.Name, room, ringSize*1.08)
	o.openText(x, y, start, "rn nm")
	o.text(name)
	o.raw("</text> ") // a space parts the words for those who have them read out
	if rest := room - width(name, ringSize*1.08) - 8; b.Detail != "" && rest > 30 {
		o.label(x+room, y, end, "rn u", fit(b.Detail, rest, ringSize))
		o.raw(" ")
	}
	for i, l := range wrapped(b.Title, room, lines) {
		o.label(x, y+float64(i+1)*linesHigh, start, "rn", l)
		o.raw(" ")
	}
	y = at.y2 - boxPad
	if b.Sign != NoSign {
		o.sign(b.Sign, pt{x + 5, y - 4})
		x, room = x+15, room-15
	}
	o.label(x, y, start, "rn", fit(b.Status, room, ringSize))
}

// sign draws a mark about a point.
func (o *svg) sign(m Sign, c pt) {
	switch m {
	case TickSign:
		o.path("", []pt{{c.x - 4.5, c.y + 0.4}, {c.x - 1.4, c.y + 3.6}, {c.x + 4.6, c.y - 4}})
	case BadSign:
		o.shape("sg f", pt{c.x - 2, c.y - 5}, pt{c.x + 2, c.y - 5}, pt{c.x + 5, c.y - 2}, pt{c.x + 5, c.y + 2}, pt{c.x + 2, c.y + 5}, pt{c.x - 2, c.y + 5}, pt{c.x - 5, c.y + 2}, pt{c.x - 5, c.y - 2})
		o.path("sx", []pt{{c.x - 2, c.y - 2}, {c.x + 2, c.y + 2}}, []pt{{c.x - 2, c.y + 2}, {c.x + 2, c.y - 2}})
	case CautionSign:
		o.shape("sg", pt{c.x, c.y - 5}, pt{c.x + 5.4, c.y + 4.6}, pt{c.x - 5.4, c.y + 4.6})
	case OpenSign:
		o.shape("sg", pt{c.x, c.y - 5.2}, pt{c.x + 5.2, c.y}, pt{c.x, c.y + 5.2}, pt{c.x - 5.2, c.y})
	}
}

// fit cuts a text to a width.
func fit(s string, room, size float64) string {
	if width(s, size) <= room {
		return s
	}
	r := []rune(s)
	for n := len(r) - 1; n > 0; n-- {
		if cut := strings.TrimSpace(string(r[:n])) + "…"; width(cut, size) <= room {
			return cut
		}
	}
	return "…"
}

// wrapped breaks a text at its spaces into so many lines at most; the last is cut if need be.
func wrapped(s string, room float64, most int) []string {
	var out []string
	words := strings.Fields(short(s, 400))
	for len(words) > 0 && len(out) < most {
		n := 1
		for n < len(words) && width(strings.Join(words[:n+1], " "), ringSize) <= room {
			n++
		}
		if len(out) == most-1 {
			n = len(words)
		}
		out = append(out, fit(strings.Join(words[:n], " "), room, ringSize))
		words = words[n:]
	}
	return out
}
