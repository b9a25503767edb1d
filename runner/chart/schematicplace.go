package chart

import "slices"

// The first placing follows the habits of the trade: machines in a row in the order of the flow,
// what heats between them above, the way back beneath; a cycle that is heated by another one beneath
// that one. Searching then mends what collides.

const (
	column  = 8  // from one symbol to the next
	storey  = 8  // from a row to the next
	mostFor = 60 // more components than these stand in plain rows
)

// layer places the circuits one after the other.
type layer struct {
	*plan
	set []bool // of each node: it has its place
}

func (p *plan) place() {
	l := &layer{p, make([]bool, len(p.nodes))}
	if len(p.s.Parts) > mostFor {
		l.rows()
	} else {
		for _, c := range p.circuits() {
			l.circuit(c)
		}
	}
	l.ends()
}

// circuits are the parts that streams join, each in the order of the flow.
func (p *plan) circuits() [][]int {
	of := make([]int, len(p.s.Parts))
	for i := range of {
		of[i] = i
	}
	root := func(i int) int {
		for of[i] != i {
			i = of[i]
		}
		return i
	}
	for _, l := range p.links {
		if !l.shaft && l.fromPart >= 0 && l.toPart >= 0 {
			a, b := root(l.fromPart), root(l.toPart)
			of[max(a, b)] = min(a, b)
		}
	}
	var out [][]int
	at := map[int]int{}
	for i := range of {
		k, known := at[root(i)]
		if !known {
			k = len(out)
			at[root(i)] = k
			out = append(out, nil)
		}
		out[k] = append(out[k], i)
	}
	return out
}

// rows is the plain grid of a plan that is too large to be searched: rows to and fro.
func (l *layer) rows() {
	const long = 12
	for i := range l.nodes {
		n := &l.nodes[i]
		if n.kind == openEnd {
			continue
		}
		row, at := i/long, i%long
		if row%2 == 1 {
			at = long - 1 - at
		}
		n.x, n.y = at*(column+2), row*2*storey
		n.flip = row%2 == 1
		l.set[i] = true
	}
}

func (l *layer) put(n, x, y int) {
	if !l.set[n] {
		l.nodes[n].x, l.nodes[n].y, l.set[n] = x, y, true
	}
}

func (l *layer) floor() int {
	y := -storey
	for i := range l.nodes {
		if l.set[i] {
			y = max(y, l.nodes[i].bottom()+2)
		}
	}
	return y
}

func (l *layer) circuit(c []int) {
	for _, i := range c {
		if l.set[l.nodeOf[i]] {
			l.beneath(c)
			return
		}
	}
	l.alongShaft(c, l.floor()+storey)
}

// turned begins a closed circuit at its heater, that behind a pump if there is one, unless it has a
// compressor.
func (l *layer) turned(c []int) []int {
	start := -1
	for k, i := range c {
		part := &l.s.Parts[i]
		if part.Kind == "compressor" {
			return c
		}
		pumped := false
		for _, k := range l.links {
			pumped = pumped || !k.shaft && k.toPart == i && k.fromPart >= 0 && l.s.Parts[k.fromPart].Kind == "pump"
		}
		if part.fires() && (start < 0 || pumped) {
			start = k
		}
	}
	if start < 0 {
		return c
	}
	return append(slices.Clone(c[start:]), c[:start]...)
}

// above reports a part that stands over the row of machines.
func above(p *Part) bool {
	switch p.Kind {
	case "mixer", "splitter", "valve", "pump", "condenser":
		return false
	}
	return true
}

// alongShaft places a circuit about its row of machines at y.
func (l *layer) alongShaft(c []int, y int) {
	c = l.turned(c)
	first, last := -1, -1
	for k, i := range c {
		if l.s.Parts[i].machine() {
			if first < 0 {
				first = k
			}
			last = k
		}
	}
	if first < 0 {
		first, last = 0, 0
	}
	x := 0
	for _, i := range c[:first] {
		l.upper(i, x, y)
		x += column
	}
	low := 0
	for k := first; k <= last; k++ {
		i := c[k]
		switch part := &l.s.Parts[i]; {
		case part.machine() || first == last:
			if k > first {
				x += column
				low = x
			}
			l.put(l.nodeOf[i], x, y)
			low = x
		case above(part):
			if !l.set[l.nodeOf[i]] {
				x += column
				l.upper(i, x, y)
			}
		default:
			low += column / 2
			l.put(l.nodeOf[i], low, y+storey)
			low += column / 2
		}
	}
	l.back(c[last+1:], c[first:last+1], x, y)
}

// upper places a part over the row of machines: a heater in the first row, an exchanger in the one
// above that.
func (l *layer) upper(i, x, y int) {
	n := l.nodeOf[i]
	if l.nodes[n].passes() {
		l.put(n, x, y-2*storey-passStep*(len(l.nodes[n].parts)-1))
		return
	}
	l.put(n, x, y-storey)
}

// back places the way back from the last machine at x: above, where it leads through an exchanger
// that stands there, and else beneath the machines from right to left.
func (l *layer) back(rest, run []int, x, y int) {
	over, shared := -1, false
	for _, i := range rest {
		if l.set[l.nodeOf[i]] {
			over = i
		}
		shared = shared || l.nodes[l.nodeOf[i]].passes() && !l.set[l.nodeOf[i]]
	}
	if over >= 0 {
		n := &l.nodes[l.nodeOf[over]]
		lane := n.y + passStep*slices.Index(n.parts, over)
		left := n.x
		for _, i := range run {
			if m := &l.nodes[l.nodeOf[i]]; m.passes() {
				left = min(left, m.x)
			}
		}
		for _, i := range rest {
			if !l.set[l.nodeOf[i]] {
				left -= column
				l.put(l.nodeOf[i], left, lane)
			}
		}
		return
	}
	at := x + 1
	if !shared && len(rest) < 3 && len(run) > 1 && above(&l.s.Parts[firstOf(rest)]) {
		at = (x+l.nodes[l.nodeOf[run[0]]].x)/2 + column/2*(len(rest)-1)
	}
	low := y + storey + 2
	for _, i := range run {
		if n := l.nodeOf[i]; l.nodes[n].y > y && !above(&l.s.Parts[i]) {
			low = y + 2*storey - 2
		}
	}
	before := -1
	for _, i := range rest {
		n := l.nodeOf[i]
		if before >= 0 && l.nodes[n].passes() && l.nodes[before].passes() {
			at -= column * len(l.between(n, before))
		}
		if !l.set[n] {
			l.put(n, at, low)
			at -= column
		}
		before = n
	}
}

func firstOf(list []int) int {
	if len(list) == 0 {
		return 0
	}
	return list[0]
}

// between are the parts by which streams lead from one exchanger to another without a third, in the
// order of the flow.
func (l *layer) between(from, to int) []int {
	var reach []int
	next := func(node, part int) {
		for _, k := range l.links {
			if k.shaft || k.toPart < 0 || k.from != node || part >= 0 && k.fromPart != part || l.s.Parts[k.fromPart].Hot {
				continue
			}
			if n := &l.nodes[k.to]; !n.passes() && !l.s.Parts[k.toPart].machine() && !slices.Contains(reach, k.toPart) {
				reach = append(reach, k.toPart)
			}
		}
	}
	next(from, -1)
	for i := 0; i < len(reach); i++ {
		next(l.nodeOf[reach[i]], reach[i])
	}
	ends := map[int]bool{to: true}
	for range reach {
		for _, k := range l.links {
			if !k.shaft && ends[k.to] && slices.Contains(reach, k.fromPart) {
				ends[k.from] = true
			}
		}
	}
	return slices.DeleteFunc(reach, func(i int) bool { return !ends[l.nodeOf[i]] })
}

// beneath places a circuit that takes its heat from exchangers that stand already: through them from
// left to right, and back beneath them.
func (l *layer) beneath(c []int) {
	var boxes []int
	for _, i := range c {
		if n := l.nodeOf[i]; l.nodes[n].passes() && l.set[n] && !slices.Contains(boxes, n) {
			boxes = append(boxes, n)
		}
	}
	slices.SortStableFunc(boxes, func(a, b int) int { return l.nodes[a].x - l.nodes[b].x })
	l.mainPassFirst(boxes)
	low := 0
	for k, n := range boxes {
		low = max(low, l.nodes[n].bottom())
		if k == 0 {
			continue
		}
		between := l.between(boxes[k-1], n)
		for j, i := range between {
			l.put(l.nodeOf[i], l.nodes[boxes[k-1]].x+column*(j+1), l.nodes[n].y+passStep)
		}
	}
	last := 0
	for k, i := range c {
		if l.nodes[l.nodeOf[i]].passes() {
			last = k
		}
	}
	var rest []int
	for _, i := range append(slices.Clone(c[last+1:]), c[:last]...) {
		if !l.set[l.nodeOf[i]] {
			rest = append(rest, i)
		}
	}
	at := (l.nodes[boxes[0]].x+l.nodes[boxes[len(boxes)-1]].x)/2 + column/2*(len(rest)-1)
	for _, i := range rest {
		n, y := l.nodeOf[i], low+storey
		if l.nodes[n].w < 4 { // beside the shaft
			y -= storey / 2
		}
		l.put(n, at, y)
		l.nodes[n].flip = true
		at -= column
	}
}

// mainPassFirst puts the passes of the longest way through the exchangers, from the leftmost on,
// above those of its branches.
func (l *layer) mainPassFirst(boxes []int) {
	const mostSteps = 20_000
	var longest, way []int
	steps := 0
	seen := make([]bool, len(l.s.Parts))
	var follow func(part int)
	follow = func(part int) {
		if steps++; steps > mostSteps || seen[part] {
			return
		}
		seen[part] = true
		way = append(way, part)
		if len(way) > len(longest) {
			longest = slices.Clone(way)
		}
		for _, k := range l.links {
			if !k.shaft && k.fromPart == part && k.toPart >= 0 {
				follow(k.toPart)
			}
		}
		way = way[:len(way)-1]
		seen[part] = false
	}
	for _, part := range l.nodes[boxes[0]].parts {
		if !l.s.Parts[part].Hot {
			follow(part)
		}
	}
	rank := func(part int) int {
		switch {
		case l.s.Parts[part].Hot:
			return 0
		case slices.Contains(longest, part):
			return 1
		}
		return 2
	}
	for _, n := range boxes {
		slices.SortStableFunc(l.nodes[n].parts, func(a, b int) int { return rank(a) - rank(b) })
	}
}

// ends places the open ends beside what they lead to.
func (l *layer) ends() {
	for _, k := range l.links {
		end, at, part, in := k.from, k.to, k.toPart, true
		if k.toPart < 0 {
			end, at, part, in = k.to, k.from, k.fromPart, false
		}
		if l.nodes[end].kind != openEnd || l.set[end] {
			continue
		}
		n := &l.nodes[at]
		x, y := n.x, n.y
		var tries []step
		switch {
		case n.passes():
			y += passStep * slices.Index(n.parts, part)
			tries = []step{{-column, 0}, {column, 0}}
		case n.kind == "compressor" || n.kind == "turbine":
			x++
			if in != n.flip {
				x -= 2
			}
			tries = []step{{0, -column}, {0, column}}
		}
		tries = append(tries, []step{{-column, 0}, {column, 0}, {0, -column}, {0, column}, {-column, -column}, {column, -column}, {-column, column}, {column, column}}...)
		for far := 0; !l.set[end]; far++ {
			for _, t := range tries {
				l.nodes[end].x, l.nodes[end].y = x+t.x+sign(t.x)*far*2, y+t.y+sign(t.y)*far*2
				if l.clear(end) || far > 40 {
					l.set[end] = true
					break
				}
			}
		}
	}
}

func sign(v int) int { return min(max(v, -1), 1) }

// clear reports a symbol that keeps its distance from all others that have their place.
func (l *layer) clear(i int) bool { return l.plan.clear(i, l.set) }

func (p *plan) clear(i int, set []bool) bool {
	const gap = 3
	a := &p.nodes[i]
	for j := range p.nodes {
		if j == i || set != nil && !set[j] {
			continue
		}
		b := &p.nodes[j]
		if a.left()-gap < b.right() && b.left() < a.right()+gap && a.top()-gap < b.bottom() && b.top() < a.bottom()+gap {
			return false
		}
	}
	return true
}
