package chart

// step is a place on the routing grid.
type step struct{ x, y int }

func (a step) plus(d int) step {
	return step{a.x + [4]int{1, 0, -1, 0}[d], a.y + [4]int{0, 1, 0, -1}[d]}
}

// The four directions, clockwise from the right.
const (
	east = iota
	south
	west
	north
)

// port is a place on the edge of a symbol from which a line leads away.
type port struct {
	at  step
	out int // the direction away from the symbol
	fee int // what it costs to use it
}

// taken is a port in use.
type taken struct {
	port
	part int
	in   bool
}

// The costs of a line. They are weighed against each other only.
const (
	perStep     = 2
	perBend     = 16
	perTwist    = 70 // a bend of a shaft
	perUnusual  = 40 // against the usual direction through an exchanger
	perCrossing = 600
	perFailure  = 6000
	perCramped  = 90 // a stream without a straight piece for its number
	perRoom     = 6  // for each step of width and height
	nearSymbol  = 3
	nearLine    = 2
)

// What already lies on a place of the grid.
const (
	across  = 1 // a line from left to right
	upright = 2
	corner  = 4
	symbol  = 8
	margin  = 16 // beside a symbol
)

// router finds lines between symbols without crossings, as far as it can.
type router struct {
	p       *plan
	x0, y0  int
	w, h    int
	field   []uint8
	crowd   []uint8 // beside a line
	ports   [][]taken
	cost    []int32
	from    []int32
	stamp   []int32
	goal    []int32
	fee     []int32 // of a goal
	round   int32
	heap    []uint64 // what has been reached: cost with the guess to the goal, then place*4 + direction
	visits  int      // so far, over all that was routed
	routes  [][]step
	crossed []int // crossings of each link
	total   int
}

func (r *router) reset() {
	const free = 9
	x1, y1 := -1<<30, -1<<30
	r.x0, r.y0 = 1<<30, 1<<30
	for i := range r.p.nodes {
		n := &r.p.nodes[i]
		r.x0, r.y0 = min(r.x0, n.left()-free), min(r.y0, n.top()-free)
		x1, y1 = max(x1, n.right()+free), max(y1, n.bottom()+free)
	}
	r.w, r.h = x1-r.x0+1, y1-r.y0+1
	size := r.w * r.h
	if cap(r.field) < size {
		r.field, r.crowd = make([]uint8, size), make([]uint8, size)
		r.cost, r.from, r.stamp, r.goal, r.fee = make([]int32, 4*size), make([]int32, 4*size), make([]int32, 4*size), make([]int32, 4*size), make([]int32, 4*size)
		r.round = 0
	}
	r.field, r.crowd = r.field[:size], r.crowd[:size]
	r.cost, r.from, r.stamp, r.goal, r.fee = r.cost[:4*size], r.from[:4*size], r.stamp[:4*size], r.goal[:4*size], r.fee[:4*size]
	clear(r.field)
	clear(r.crowd)
	for i := range r.p.nodes {
		n := &r.p.nodes[i]
		for y := n.top() - 1; y <= n.bottom()+1; y++ {
			for x := n.left() - 1; x <= n.right()+1; x++ {
				what := uint8(symbol)
				if y < n.top() || y > n.bottom() || x < n.left() || x > n.right() {
					what = margin
				}
				r.field[r.place(step{x, y})] |= what
			}
		}
	}
	if r.ports == nil {
		r.ports = make([][]taken, len(r.p.nodes))
	}
	for i := range r.ports {
		r.ports[i] = r.ports[i][:0]
	}
	r.routes = make([][]step, len(r.p.links))
	r.crossed = make([]int, len(r.p.links))
	r.total = 0
}

func (r *router) place(s step) int { return (s.y-r.y0)*r.w + s.x - r.x0 }

func (r *router) inside(s step) bool {
	return s.x >= r.x0 && s.y >= r.y0 && s.x < r.x0+r.w && s.y < r.y0+r.h
}

// free are the ports of a symbol that a link may still use.
func (r *router) free(node, part int, in, shaft bool) []port {
	n := &r.p.nodes[node]
	var all []port
	left, right, top, bottom := n.left(), n.right(), n.top(), n.bottom()
	sides := func() {
		all = append(all, port{step{n.x, top}, north, 0}, port{step{right, n.y}, east, 0}, port{step{n.x, bottom}, south, 0}, port{step{left, n.y}, west, 0})
	}
	ends := []port{{step{left, n.y}, west, 0}, {step{right, n.y}, east, 0}}
	switch {
	case shaft:
		all = ends
	case n.passes():
		for i, q := range n.parts {
			if q == part {
				y := n.y + passStep*i
				// Heat passes best in counterflow: what gives it from the right, what takes it from the left.
				usual, other := 0, perUnusual
				if r.p.s.Parts[part].Hot == in {
					usual, other = other, usual
				}
				all = append(all, port{step{left, y}, west, usual}, port{step{right, y}, east, other})
			}
		}
	case n.kind == "compressor" || n.kind == "turbine":
		x, face := n.x-1, ends[0]
		if in == n.flip {
			x, face = n.x+1, ends[1]
		}
		all = append(all, port{step{x, top}, north, 0}, port{step{x, bottom}, south, 0})
		if r.p.s.Parts[part].Shaft == "" {
			all = append(all, face)
		}
	case n.w > 4:
		for x := left + 1; x < right; x += 2 {
			all = append(all, port{step{x, top}, north, 0}, port{step{x, bottom}, south, 0})
		}
	default:
		sides()
	}
	out := all[:0]
	for _, q := range all {
		ok := true
		for _, t := range r.ports[node] {
			ok = ok && (t.at != q.at || t.out != q.out)
			if n.kind == "valve" && t.part == part && (t.out+2)%4 != q.out {
				ok = false // straight through
			}
		}
		if ok && n.w == 4 && !shaft && !n.passes() && !r.p.s.Parts[part].machine() {
			for _, t := range r.ports[node] {
				if (t.out+2)%4 != q.out {
					q.fee = 4
				}
			}
		}
		if ok {
			out = append(out, q)
		}
	}
	return out
}

// route draws one link.
func (r *router) route(i int) {
	l := &r.p.links[i]
	r.round++
	var goals, starts []port
	bend := int32(perBend)
	if l.shaft {
		bend = perTwist
	}
	if l.fromPart >= 0 || !l.shaft {
		starts = r.free(l.from, l.fromPart, false, l.shaft)
	}
	goals = r.free(l.to, l.toPart, true, l.shaft)
	r.heap = r.heap[:0]
	tx, ty := r.p.nodes[l.to].x, r.p.nodes[l.to].y
	if r.p.nodes[l.to].passes() {
		ty += (r.p.nodes[l.to].h - 4) / 2
	}
	reach := (r.p.nodes[l.to].w + r.p.nodes[l.to].h) / 2
	guess := func(s step) int32 { return int32(perStep * max(0, abs(s.x-tx)+abs(s.y-ty)-reach)) }
	for _, g := range goals {
		at := g.at.plus(g.out)
		if r.inside(at) {
			k := 4*r.place(at) + (g.out+2)%4
			r.goal[k], r.fee[k] = r.round, int32(g.fee)
		}
	}
	push := func(at step, d int, cost int32, from int32) {
		k := int32(4*r.place(at) + d)
		if r.stamp[k] == r.round && r.cost[k] <= cost {
			return
		}
		r.stamp[k], r.cost[k], r.from[k] = r.round, cost, from
		r.up(uint64(cost+guess(at))<<32 | uint64(k))
	}
	for _, s := range starts {
		if at := s.at.plus(s.out); r.inside(at) && r.field[r.place(at)]&^margin == 0 {
			push(at, s.out, int32(s.fee), -1)
		}
	}
	found, least := int32(-1), int32(0)
	const mostVisits = 60000
	for n := 0; len(r.heap) > 0 && n < mostVisits; n++ {
		e := r.down()
		k := int32(e)
		at := step{r.x0 + int(k/4)%r.w, r.y0 + int(k/4)/r.w}
		f := int32(e >> 32)
		if f > r.cost[k]+guess(at) {
			continue
		}
		r.visits++
		d := int(k % 4)
		if found >= 0 && f >= least {
			break
		}
		if all := r.cost[k] + r.fee[k]; r.goal[k] == r.round && r.field[k/4]&^margin == 0 && (found < 0 || all < least) {
			found, least = k, all
		}
		for _, turn := range [3]int{0, 1, 3} {
			nd := (d + turn) % 4
			c := r.cost[k]
			if turn != 0 {
				if r.field[k/4]&(across|upright|corner) != 0 {
					continue
				}
				c += bend
			}
			to := at.plus(nd)
			if !r.inside(to) {
				continue
			}
			f := r.field[r.place(to)]
			along, cross := uint8(across), uint8(upright)
			if nd == south || nd == north {
				along, cross = upright, across
			}
			if f&(symbol|corner|along) != 0 {
				continue
			}
			c += perStep
			if f&cross != 0 {
				c += perCrossing
			}
			if f&margin != 0 {
				c += nearSymbol
			}
			if r.crowd[r.place(to)] != 0 {
				c += nearLine
			}
			push(to, nd, c, k)
		}
	}
	if found < 0 {
		r.total += perFailure
		r.crossed[i] = 100
		return
	}
	r.total += int(least)
	r.settle(i, found, starts, goals)
}

// settle keeps the line that has been found.
func (r *router) settle(i int, found int32, starts, goals []port) {
	l := &r.p.links[i]
	var line []step
	for k := found; k >= 0; k = r.from[k] {
		line = append(line, step{r.x0 + int(k/4)%r.w, r.y0 + int(k/4)/r.w})
	}
	first := line[len(line)-1]
	firstDir := func() int {
		k := found
		for r.from[k] >= 0 {
			k = r.from[k]
		}
		return int(k % 4)
	}()
	for a, b := 0, len(line)-1; a < b; a, b = a+1, b-1 {
		line[a], line[b] = line[b], line[a]
	}
	last, lastDir := line[len(line)-1], int(found%4)
	full := make([]step, 0, len(line)+2)
	for _, s := range starts {
		if s.out == firstDir && s.at.plus(s.out) == first {
			full = append(full, s.at)
			r.ports[l.from] = append(r.ports[l.from], taken{s, l.fromPart, false})
			break
		}
	}
	full = append(full, line...)
	for _, g := range goals {
		if (g.out+2)%4 == lastDir && g.at.plus(g.out) == last {
			full = append(full, g.at)
			r.ports[l.to] = append(r.ports[l.to], taken{g, l.toPart, true})
			break
		}
	}
	for j := 1; j < len(full); j++ {
		k := r.place(full[j])
		turns := j+1 < len(full) && (full[j+1].x-full[j].x != full[j].x-full[j-1].x)
		if j+1 < len(full) {
			if r.field[k]&(across|upright) != 0 {
				r.crossed[i]++
			}
			switch {
			case turns:
				r.field[k] |= corner
			case full[j].y == full[j-1].y:
				r.field[k] |= across
			default:
				r.field[k] |= upright
			}
			for d := range 4 {
				if to := full[j].plus(d); r.inside(to) {
					r.crowd[r.place(to)] = 1
				}
			}
		}
	}
	r.routes[i] = corners(full)
}

// corners keeps the ends of a line and the places where it turns.
func corners(line []step) []step {
	out := line[:1:1]
	for j := 1; j < len(line); j++ {
		if j+1 < len(line) && line[j+1].x-line[j].x == line[j].x-line[j-1].x && line[j+1].y-line[j].y == line[j].y-line[j-1].y {
			continue
		}
		out = append(out, line[j])
	}
	return out
}

func abs(v int) int { return max(v, -v) }

func (r *router) up(e uint64) {
	r.heap = append(r.heap, e)
	i := len(r.heap) - 1
	for i > 0 {
		q := (i - 1) / 2
		if r.heap[q] <= e {
			break
		}
		r.heap[i] = r.heap[q]
		i = q
	}
	r.heap[i] = e
}

func (r *router) down() uint64 {
	least := r.heap[0]
	n := len(r.heap) - 1
	e, heap := r.heap[n], r.heap[:n]
	r.heap = heap
	i := 0
	for {
		c := 2*i + 1
		if c >= n {
			break
		}
		if c+1 < n && heap[c+1] < heap[c] {
			c++
		}
		if heap[c] >= e {
			break
		}
		heap[i] = heap[c]
		i = c
	}
	if n > 0 {
		heap[i] = e
	}
	return least
}
