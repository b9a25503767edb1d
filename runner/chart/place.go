package chart

import "math"

// placer finds room for labels. It knows what is drawn already: curves that a label should not
// cross, marks that it must not hide, other labels.
type placer struct {
	area  box
	segs  []segment
	marks []box
	taken []box
}

type segment struct {
	p, q   pt
	weight float64 // 1 a curve of the figure, less in the background
	of     int     // the isoline it belongs to, counted from 1; 0 for all else
}

func (pl *placer) curve(line []pt, weight float64) { pl.isoline(line, weight, 0) }

func (pl *placer) isoline(line []pt, weight float64, of int) {
	for i := 1; i < len(line); i++ {
		pl.segs = append(pl.segs, segment{line[i-1], line[i], weight, of})
	}
}

// beside is a place for a label along an isoline that lies close to it and to no other one, on
// one side of it, then on the other; false where there is none without touching something.
func (pl *placer) beside(line []pt, of int, w, h float64) (box, bool) {
	const close, apart = 3.0, 9.0
	for _, f := range []float64{0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2, 0.1} {
		at, dx, dy, length := alongside(line, f)
		n := math.Hypot(dx, dy)
		if n == 0 || length < w {
			continue
		}
		nx, ny := -dy/n, dx/n
		far := math.Abs(nx)*w/2 + math.Abs(ny)*h/2 + close
		for _, way := range []float64{1, -1} {
			cx, cy := at.x+way*nx*far, at.y+way*ny*far
			b := box{cx - w/2, cy - h/2, cx + w/2, cy + h/2}
			if b.inside(pl.area) && !pl.hits(b.grown(apart)) && pl.spoils(b.grown(clearance)) == 0 && !pl.nearOther(b.grown(apart), of) {
				return b, true
			}
		}
	}
	return box{}, false
}

// nearOther reports another isoline in a box.
func (pl *placer) nearOther(b box, of int) bool {
	for _, s := range pl.segs {
		if s.of != 0 && s.of != of {
			if _, _, ok := b.cut(s.p, s.q); ok {
				return true
			}
		}
	}
	return false
}

func (pl *placer) mark(b box) { pl.marks = append(pl.marks, b) }

// costs of what a label may do wrong; what is cheaper is chosen.
const (
	costMark  = 120.0 // hides part of a mark
	costCross = 60.0  // crosses a curve
	costCover = 2.0   // for each unit of length of a curve that lies under it
	costFar   = 1.0   // for each unit of distance from what it names
	costTurn  = 0.35  // for each place further in the order of directions
	clearance = 1.5   // free room around a label
	nearest   = 4.0   // from the thing to its label
)

// compass are the directions that are tried, in the order in which a reader expects them: upper
// right first, then around.
var compass = [...]pt{
	{0.7, -0.7}, {-0.7, -0.7}, {0, -1}, {0.7, 0.7}, {-0.7, 0.7}, {1, 0}, {-1, 0}, {0, 1},
	{0.38, -0.92}, {-0.38, -0.92}, {0.92, -0.38}, {-0.92, -0.38}, {0.38, 0.92}, {-0.38, 0.92}, {0.92, 0.38}, {-0.92, 0.38},
}

// reach are the distances that are tried, in units of the picture.
var reach = [...]float64{0, 5, 11, 18, 27, 38, 52, 70, 95, 130, 180, 250, 350}

// candidates calls yield with each place for a label of this size beside the thing at p.
func candidates(p pt, w, h, gap float64, yield func(b box, far float64, turn int)) {
	for _, r := range reach {
		for turn, c := range compass {
			// The label touches a small circle about p in this direction.
			cx := p.x + c.x*(gap+r) + side(c.x)*w/2
			cy := p.y + c.y*(gap+r) + side(c.y)*h/2
			yield(box{cx - w/2, cy - h/2, cx + w/2, cy + h/2}, r, turn)
		}
	}
}

// side is how far a label lies to one side for a direction: wholly for a clear one.
func side(c float64) float64 {
	return min(1, max(-1, c/0.7))
}

// place finds the cheapest place; false where every one would hide another label or leave the area.
func (pl *placer) place(p pt, w, h, gap float64) (box, bool) {
	best, found, cost := box{}, false, math.Inf(1)
	candidates(p, w, h, gap, func(b box, far float64, turn int) {
		c := costFar*far + costTurn*float64(turn)
		if c >= cost || !b.inside(pl.area) || pl.hits(b.grown(clearance)) {
			return
		}
		if c += pl.spoils(b.grown(clearance)); c < cost {
			best, found, cost = b, true, c
		}
	})
	return best, found
}

// put is place, and takes what it found.
func (pl *placer) put(p pt, w, h, gap float64) (box, bool) {
	b, ok := pl.place(p, w, h, gap)
	if ok {
		pl.taken = append(pl.taken, b)
	}
	return b, ok
}

// hits reports a label or a fixed text in the way.
func (pl *placer) hits(b box) bool {
	for _, t := range pl.taken {
		if b.overlaps(t) {
			return true
		}
	}
	return false
}

// spoils is the cost of the curves and marks under a label.
func (pl *placer) spoils(b box) float64 {
	c := 0.0
	for _, m := range pl.marks {
		if b.overlaps(m) {
			c += costMark
		}
	}
	for i := range pl.segs {
		s := &pl.segs[i]
		if max(s.p.x, s.q.x) < b.x1 || min(s.p.x, s.q.x) > b.x2 || max(s.p.y, s.q.y) < b.y1 || min(s.p.y, s.q.y) > b.y2 {
			continue
		}
		if p, q, ok := b.cut(s.p, s.q); ok {
			c += s.weight * (costCross + costCover*math.Hypot(q.x-p.x, q.y-p.y))
		}
	}
	return c
}

// tag is a label that waits for its place.
type tag struct {
	at   pt
	w, h float64
}

// settle places labels one after the other, those with the least room first, then lets each move
// once more now that all the others stand. Places that were not found have found false.
func (pl *placer) settle(tags []tag, gap float64) (places []box, found []bool) {
	places, found = make([]box, len(tags)), make([]bool, len(tags))
	order := crowded(tags)
	for _, i := range order {
		places[i], found[i] = pl.place(tags[i].at, tags[i].w, tags[i].h, gap)
		if found[i] {
			pl.taken = append(pl.taken, places[i])
		}
	}
	for _, i := range order {
		if found[i] {
			pl.drop(places[i])
		}
		b, ok := pl.place(tags[i].at, tags[i].w, tags[i].h, gap)
		if ok {
			places[i], found[i] = b, true
		}
		if found[i] {
			pl.taken = append(pl.taken, places[i])
		}
	}
	return places, found
}

// drop gives back the room of a label.
func (pl *placer) drop(b box) {
	for i, t := range pl.taken {
		if t == b {
			pl.taken = append(pl.taken[:i], pl.taken[i+1:]...)
			return
		}
	}
}

// crowded is the order of the tags by how many others are near, most first; equals as they came.
func crowded(tags []tag) []int {
	const near = 50.0
	n := make([]int, len(tags))
	for i := range tags {
		for j := range tags {
			if math.Hypot(tags[i].at.x-tags[j].at.x, tags[i].at.y-tags[j].at.y) < near {
				n[i]++
			}
		}
	}
	order := make([]int, 0, len(tags))
	for most := len(tags); most >= 0; most-- {
		for i := range tags {
			if n[i] == most {
				order = append(order, i)
			}
		}
	}
	return order
}
