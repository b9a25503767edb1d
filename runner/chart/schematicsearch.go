package chart

import (
	"cmp"
	"math"
	"slices"
)

// layout places the symbols and finds the lines, the same for the same plan always: what bounds the
// search is not time but the places that the router has looked at.
func (p *plan) layout() *laidOut {
	const mostVisits = 1_500_000
	if len(p.nodes) == 0 {
		return &laidOut{}
	}
	p.circuitOf = make([]int, len(p.s.Parts))
	for k, c := range p.circuits() {
		for _, i := range c {
			p.circuitOf[i] = k
		}
	}
	p.place()
	r := &router{p: p}
	best := p.evaluate(r, math.MaxInt)
	if len(p.s.Parts) > mostFor {
		return best
	}
	for again := true; again; {
		again = false
		for _, m := range p.moves() {
			if r.visits > mostVisits {
				return best
			}
			before := p.snapshot()
			if !m() {
				p.restore(before)
				continue
			}
			if d := p.evaluate(r, best.cost); d != nil && d.cost < best.cost {
				best, again = d, true
			} else {
				p.restore(before)
			}
		}
	}
	return best
}

type place struct {
	x, y  int
	flip  bool
	parts []int
}

func (p *plan) snapshot() []place {
	out := make([]place, len(p.nodes))
	for i, n := range p.nodes {
		out[i] = place{n.x, n.y, n.flip, slices.Clone(n.parts)}
	}
	return out
}

func (p *plan) restore(s []place) {
	for i, q := range s {
		n := &p.nodes[i]
		n.x, n.y, n.flip, n.parts = q.x, q.y, q.flip, q.parts
	}
}

// moves are the changes that are tried. Each reports whether what it made is allowed.
func (p *plan) moves() []func() bool {
	var out []func() bool
	shifts := []step{{1, 0}, {-1, 0}, {0, 1}, {0, -1}, {2, 0}, {-2, 0}, {0, 2}, {0, -2}, {4, 0}, {-4, 0}, {0, 4}, {0, -4}, {8, 0}, {-8, 0}, {0, 8}, {0, -8},
		{8, 8}, {-8, 8}, {8, -8}, {-8, -8}, {4, 4}, {-4, 4}, {4, -4}, {-4, -4}, {12, 0}, {-12, 0}, {0, 12}, {0, -12}}
	for i := range p.nodes {
		n := &p.nodes[i]
		if n.kind == "compressor" || n.kind == "turbine" {
			out = append(out, func() bool { n.flip = !n.flip; return true })
		}
		for k := 1; k < len(n.parts); k++ {
			out = append(out, func() bool { n.parts[k-1], n.parts[k] = n.parts[k], n.parts[k-1]; return true })
		}
	}
	for i := range p.nodes {
		n := &p.nodes[i]
		for _, s := range shifts {
			out = append(out, func() bool {
				n.x, n.y = n.x+s.x, n.y+s.y
				return p.clear(i, nil)
			})
		}
	}
	for i := range p.nodes {
		for _, by := range []int{2, -2, 4, -4} {
			out = append(out, func() bool { return p.part(i, by, false) }, func() bool { return p.part(i, by, true) })
		}
		for j := range i {
			if a, b := &p.nodes[i], &p.nodes[j]; a.w == b.w && a.h == b.h {
				out = append(out, func() bool { a.x, b.x, a.y, b.y = b.x, a.x, b.y, a.y; return true })
			}
		}
	}
	return out
}

// part moves a symbol and all that lie to the right of it, or beneath it.
func (p *plan) part(i, by int, down bool) bool {
	x, y := p.nodes[i].x, p.nodes[i].y
	for j := range p.nodes {
		switch n := &p.nodes[j]; {
		case down && n.y >= y:
			n.y += by
		case !down && n.x >= x:
			n.x += by
		}
	}
	for j := range p.nodes {
		if !p.clear(j, nil) {
			return false
		}
	}
	return true
}

// evaluate finds the lines for the symbols where they stand. A line that found no way, or none
// without crossing, is given the first choice in the next attempt. It returns nil where no attempt
// stays below the cost most.
func (p *plan) evaluate(r *router, most int) *laidOut {
	p.orderShafts()
	order := make([]int, len(p.links))
	for i := range order {
		order[i] = i
	}
	length := func(l *link) int {
		a, b := &p.nodes[l.from], &p.nodes[l.to]
		far := abs(a.x-b.x) + abs(a.y-b.y)
		if l.shaft {
			far -= 100000
		}
		return far
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(length(&p.links[a]), length(&p.links[b])) })
	var best *laidOut
	for range 4 {
		r.reset()
		r.total = p.unevenness()
		sure := p.atLeast(order) // what the lines and the size will cost, however they turn out
		routed := 0
		for routed < len(order) && r.total+sure[routed] < most {
			r.route(order[routed])
			routed++
		}
		if r.total+sure[routed] < most {
			if d := p.draw(r); best == nil || d.cost < best.cost {
				best = d
			}
		}
		var first, then []int
		for _, i := range order {
			if r.crossed[i] > 0 {
				first = append(first, i)
			} else {
				then = append(then, i)
			}
		}
		if len(first) == 0 || len(then) == 0 || len(p.s.Parts) > mostFor {
			break
		}
		order = append(first, then...)
	}
	return best
}

// atLeast is what is sure to be added to the cost when so many lines of an order have been found:
// the way between the symbols of the others, and the room that the symbols take.
func (p *plan) atLeast(order []int) []int {
	x1, y1, x2, y2 := math.MaxInt, math.MaxInt, math.MinInt, math.MinInt
	for i := range p.nodes {
		n := &p.nodes[i]
		x1, y1, x2, y2 = min(x1, n.left()), min(y1, n.top()), max(x2, n.right()), max(y2, n.bottom())
	}
	sure := make([]int, len(order)+1)
	sure[len(order)] = perRoom * (x2 - x1 + y2 - y1)
	for k := len(order) - 1; k >= 0; k-- {
		l := &p.links[order[k]]
		a, b := &p.nodes[l.from], &p.nodes[l.to]
		apart := max(0, a.left()-b.right(), b.left()-a.right()) + max(0, a.top()-b.bottom(), b.top()-a.bottom())
		sure[k] = sure[k+1] + perStep*max(0, apart-2)
	}
	return sure
}

// unevenness is the cost of machines of one circuit that do not stand in one row, shaft or none.
func (p *plan) unevenness() int {
	const uneven = 60
	cost := 0
	last := map[int]int{}
	for i := range p.s.Parts {
		if !p.s.Parts[i].machine() {
			continue
		}
		c, n := p.circuitOf[i], p.nodeOf[i]
		if before, ok := last[c]; ok && p.nodes[before].y != p.nodes[n].y {
			cost += uneven
		}
		last[c] = n
	}
	return cost
}

// orderShafts joins the machines of each shaft as they stand from left to right.
func (p *plan) orderShafts() {
	on := map[string][]int{}
	for i := range p.s.Parts {
		if part := &p.s.Parts[i]; part.Shaft != "" && part.Exchanger == "" {
			on[part.Shaft] = append(on[part.Shaft], i)
		}
	}
	for _, list := range on {
		slices.SortStableFunc(list, func(a, b int) int { return cmp.Compare(p.nodes[p.nodeOf[a]].x, p.nodes[p.nodeOf[b]].x) })
	}
	used := map[string]int{}
	for i := range p.links {
		if l := &p.links[i]; l.shaft {
			k := used[l.state]
			used[l.state]++
			l.fromPart, l.toPart = on[l.state][k], on[l.state][k+1]
			l.from, l.to = p.nodeOf[l.fromPart], p.nodeOf[l.toPart]
		}
	}
}
