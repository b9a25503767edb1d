package chart

import (
	_ "embed"
	"math"
	"strconv"
)

// Style is the style sheet of the pictures. It stands on the page once, however many there are.
//
//go:embed style.css
var Style string

// svg collects markup. Text reaches it only through text and id, numbers only through num and path.
type svg struct {
	b    []byte
	wide bool // a picture that takes more room than others
}

func (o *svg) raw(parts ...string) {
	for _, s := range parts {
		o.b = append(o.b, s...)
	}
}

// tenths is a coordinate as it is written: a tenth of a unit is finer than anybody sees.
func tenths(v float64) int {
	const far = 1e6
	return int(math.Round(10 * min(max(v, -far), far)))
}

func (o *svg) num(v float64) { o.tenth(tenths(v)) }

func (o *svg) tenth(t int) {
	if t < 0 {
		o.raw("-")
		t = -t
	}
	if t >= 10 || t == 0 {
		o.b = strconv.AppendInt(o.b, int64(t/10), 10)
	}
	if t%10 != 0 {
		o.b = append(o.b, '.', byte('0'+t%10))
	}
}

// open begins the picture. Ids begin with id, which the caller keeps unique on the page.
func (o *svg) open(id string, w, h float64, title, desc string) {
	o.raw(`<svg class="chart`)
	if o.wide {
		o.raw(" wide")
	}
	o.raw(`" viewBox="0 0 `)
	o.num(w)
	o.raw(" ")
	o.num(h)
	o.raw(`" role="img" aria-labelledby="`, id, `-t" aria-describedby="`, id, `-d"><title id="`, id, `-t">`)
	o.text(short(title, 200))
	o.raw(`</title><desc id="`, id, `-d">`)
	o.text(desc)
	o.raw("</desc>")
}

func (o *svg) close() []byte {
	o.raw("</svg>")
	return o.b
}

// path draws polylines in one element.
func (o *svg) path(class string, lines ...[]pt) {
	at := len(o.b)
	o.raw(`<path class="`, class, `" d="`)
	drawn := false
	for _, l := range lines {
		drawn = o.polyline(l) || drawn
	}
	if !drawn {
		o.b = o.b[:at]
		return
	}
	o.raw(`"/>`)
}

func (o *svg) polyline(l []pt) bool {
	if len(l) < 2 {
		return false
	}
	x, y := tenths(l[0].x), tenths(l[0].y)
	o.raw("M")
	o.tenth(x)
	o.pair(y)
	o.raw("l")
	first := true
	for _, p := range l[1:] {
		nx, ny := tenths(p.x), tenths(p.y)
		if nx == x && ny == y && len(l) > 2 {
			continue
		}
		if first {
			o.tenth(nx - x)
		} else {
			o.pair(nx - x)
		}
		o.pair(ny - y)
		x, y, first = nx, ny, false
	}
	if first {
		o.raw("0 0")
	}
	return true
}

// pair appends a number after another one; a minus sign parts them by itself.
func (o *svg) pair(t int) {
	if t >= 0 {
		o.raw(" ")
	}
	o.tenth(t)
}

// line draws one straight line.
func (o *svg) line(class string, x1, y1, x2, y2 float64) {
	o.path(class, []pt{{x1, y1}, {x2, y2}})
}

// shape draws a closed figure.
func (o *svg) shape(class string, pts ...pt) {
	o.raw(`<path class="`, class, `" d="`)
	o.polyline(pts)
	o.raw(`z"/>`)
}

// markers are told apart by shape: each series or path has its own.
const markerKinds = 6

func (o *svg) marker(kind int, class string, p pt) {
	const r = 3.2
	switch kind % markerKinds {
	case 0:
		o.raw(`<circle class="`, class, `" cx="`)
		o.num(p.x)
		o.raw(`" cy="`)
		o.num(p.y)
		o.raw(`" r="3"/>`)
	case 1:
		o.shape(class, pt{p.x - 2.9, p.y - 2.9}, pt{p.x + 2.9, p.y - 2.9}, pt{p.x + 2.9, p.y + 2.9}, pt{p.x - 2.9, p.y + 2.9})
	case 2:
		o.shape(class, pt{p.x, p.y - 1.2*r}, pt{p.x + 1.1*r, p.y + 0.8*r}, pt{p.x - 1.1*r, p.y + 0.8*r})
	case 3:
		o.shape(class, pt{p.x, p.y - 1.3*r}, pt{p.x + 1.3*r, p.y}, pt{p.x, p.y + 1.3*r}, pt{p.x - 1.3*r, p.y})
	case 4:
		o.shape(class, pt{p.x, p.y + 1.2*r}, pt{p.x + 1.1*r, p.y - 0.8*r}, pt{p.x - 1.1*r, p.y - 0.8*r})
	default:
		o.raw(`<circle class="`, class, ` open" cx="`)
		o.num(p.x)
		o.raw(`" cy="`)
		o.num(p.y)
		o.raw(`" r="3"/>`)
	}
}

// cross marks a place where there is no value.
func (o *svg) cross(class string, p pt) {
	const r = 3.2
	o.path(class, []pt{{p.x - r, p.y - r}, {p.x + r, p.y + r}}, []pt{{p.x - r, p.y + r}, {p.x + r, p.y - r}})
}

// arrowhead is a filled triangle in the direction of from → to, its middle at p.
func (o *svg) arrowhead(class string, p pt, dx, dy float64, heavy bool) box {
	long, half := 9.0, 3.6
	if heavy {
		long, half = 12, 5
	}
	n := math.Hypot(dx, dy)
	if n == 0 {
		return box{}
	}
	dx, dy = dx/n, dy/n
	tip := pt{p.x + dx*long/2, p.y + dy*long/2}
	back := pt{p.x - dx*long/2, p.y - dy*long/2}
	o.shape(class, tip, pt{back.x - dy*half, back.y + dx*half}, pt{back.x + dy*half, back.y - dx*half})
	return box{p.x - half - 1, p.y - half - 1, p.x + half + 1, p.y + half + 1}
}

// ring is a state's number in the ring that it has in text and tables.
func (o *svg) ring(b box, id string) {
	o.raw(`<rect class="rg" x="`)
	o.num(b.x1)
	o.raw(`" y="`)
	o.num(b.y1)
	o.raw(`" width="`)
	o.num(b.x2 - b.x1)
	o.raw(`" height="`)
	o.num(b.y2 - b.y1)
	o.raw(`" rx="9"/>`)
	o.label((b.x1+b.x2)/2, (b.y1+b.y2)/2+4.2, middle, "rn", id)
}

// ringBox is the size of a ring with this number, about the origin.
func ringBox(id string) (w, h float64) {
	return max(18, width(id, ringSize)+10), 18
}
