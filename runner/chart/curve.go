package chart

import "math"

// pt is a place in the picture: x to the right, y downwards.
type pt struct{ x, y float64 }

// box is a rectangle in the picture.
type box struct{ x1, y1, x2, y2 float64 }

func (b box) overlaps(c box) bool {
	return b.x1 < c.x2 && c.x1 < b.x2 && b.y1 < c.y2 && c.y1 < b.y2
}

func (b box) inside(c box) bool {
	return b.x1 >= c.x1 && b.x2 <= c.x2 && b.y1 >= c.y1 && b.y2 <= c.y2
}

func (b box) grown(d float64) box { return box{b.x1 - d, b.y1 - d, b.x2 + d, b.y2 + d} }

// cut is the part of a segment that lies in the box (Liang and Barsky's way).
func (b box) cut(p, q pt) (pt, pt, bool) {
	t0, t1 := 0.0, 1.0
	dx, dy := q.x-p.x, q.y-p.y
	for _, e := range [4][2]float64{{-dx, p.x - b.x1}, {dx, b.x2 - p.x}, {-dy, p.y - b.y1}, {dy, b.y2 - p.y}} {
		d, r := e[0], e[1]
		switch {
		case d == 0:
			if r < 0 {
				return pt{}, pt{}, false
			}
		case d < 0:
			t0 = max(t0, r/d)
		default:
			t1 = min(t1, r/d)
		}
	}
	if t0 > t1 {
		return pt{}, pt{}, false
	}
	return pt{p.x + t0*dx, p.y + t0*dy}, pt{p.x + t1*dx, p.y + t1*dy}, true
}

// clip cuts a polyline at the edges of a box.
func clip(line []pt, b box) [][]pt {
	var out [][]pt
	var run []pt
	for i := 1; i < len(line); i++ {
		p, q, ok := b.cut(line[i-1], line[i])
		if !ok {
			continue
		}
		if len(run) == 0 || run[len(run)-1] != p {
			if len(run) > 1 {
				out = append(out, run)
			}
			run = []pt{p}
		}
		run = append(run, q)
	}
	if len(run) > 1 {
		out = append(out, run)
	}
	return out
}

const (
	fine      = 0.15 // a curve leaves its points by no more: less than an eye sees
	mostLine  = 900  // points of one curve; above it the tolerance grows
	mostDrawn = 6000 // points of all curves of a picture
)

// simplify leaves out the points of a polyline that nobody would miss: each one lies within the
// tolerance of the line that is drawn, except where a curve has more detail than a picture holds.
func simplify(line []pt) []pt {
	for tol := fine; tol < 50; tol *= 2 {
		if out := within(line, tol); len(out) <= mostLine {
			return out
		}
	}
	every := len(line)/mostLine + 1 // a scribble all over the picture
	var out []pt
	for i := 0; i < len(line); i += every {
		out = append(out, line[i])
	}
	return append(out, line[len(line)-1])
}

// within keeps, from each point, the farthest that can be reached in a straight line passing all
// between them within tol: the directions in which each may be reached are a cone, and a point
// outside the cone of those before it begins a new line.
func within(line []pt, tol float64) []pt {
	if len(line) < 3 {
		return line
	}
	out := []pt{line[0]}
	a, last := line[0], line[0]
	lo, hi, far, axis, open := 0.0, 0.0, 0.0, 0.0, false
	for i := 1; i < len(line); i++ {
		p := line[i]
		dx, dy := p.x-a.x, p.y-a.y
		d := math.Hypot(dx, dy)
		if d <= tol && !open {
			last = p
			continue
		}
		if open {
			turn := math.Remainder(math.Atan2(dy, dx)-axis, 2*math.Pi)
			half := math.Asin(min(1, tol/max(d, tol)))
			if d < far-tol || turn < lo || turn > hi {
				out = append(out, last)
				a, open = last, false
				i-- // the same point again, from the new start
				continue
			}
			lo, hi, far = max(lo, turn-half), min(hi, turn+half), max(far, d)
		} else {
			axis, far, open = math.Atan2(dy, dx), d, true
			half := math.Asin(min(1, tol/d))
			lo, hi = -half, half
		}
		last = p
	}
	return append(out, line[len(line)-1])
}

// alongside is the place and the direction at a fraction of a polyline's length.
func alongside(line []pt, fraction float64) (p pt, dx, dy, length float64) {
	for i := 1; i < len(line); i++ {
		length += math.Hypot(line[i].x-line[i-1].x, line[i].y-line[i-1].y)
	}
	rest := fraction * length
	for i := 1; i < len(line); i++ {
		dx, dy = line[i].x-line[i-1].x, line[i].y-line[i-1].y
		d := math.Hypot(dx, dy)
		if d > 0 && (rest <= d || i == len(line)-1) {
			t := min(1, rest/d)
			return pt{line[i-1].x + t*dx, line[i-1].y + t*dy}, dx, dy, length
		}
		rest -= d
	}
	if len(line) > 0 {
		p = line[0]
	}
	return p, 0, 0, length
}
