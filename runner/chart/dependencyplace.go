package chart

import (
	"math"
	"slices"
)

// The sheets are placed in layers: each below (or right of) all that it uses. An arrow that passes a
// layer takes a place in it, so that it goes between the boxes. The order within the layers is sought
// in which the fewest arrows cross; then each place is moved towards those that it is joined to.

// drawnArrow is an arrow as it is drawn: a point, and three more for each curve.
type drawnArrow struct {
	from, to int
	varied   bool
	at       []pt
}

type layers struct {
	width, height float64
	boxes         []box
	arrows        []drawnArrow
	lines         int     // of a title
	apart         float64 // where the words above sheets without arrows stand; 0 where there are none
}

// slot is a place in a layer: a box, or a bend of an arrow that passes.
type slot struct {
	box        int // -1 of a bend
	layer      int
	size       float64 // across the arrows
	at         float64 // its middle, across
	up, down   []int   // slots that it is joined to, in the layers before and after
	upHop, hop []int   // the same joints, as places in placing.hops
}

// hop joins two slots of neighbouring layers.
type hop struct {
	from, to        int
	leaves, arrives float64 // across, where it touches its ends
}

type placing struct {
	d      *Dependency
	slots  []slot
	hops   []hop
	layers [][]int // slots, in order
	chains [][]int // hops of each arrow, upstream first
	turned []bool  // arrows that close a circle are laid the other way round
	layer  []int   // of each box; -1 where nothing is joined to it
}

func (d *Dependency) layout() *layers {
	if len(d.Boxes) == 0 || len(d.Boxes) > MaxSheetBoxes {
		return nil
	}
	p := &placing{d: d, turned: make([]bool, len(d.Arrows))}
	p.rank()
	if !p.fill() {
		return nil
	}
	p.order()
	const titles = 2
	high := 2*boxPad + linesHigh*(titles+1) + 10
	down := p.spread(sheetWide)
	if down <= pageWide {
		return p.draw(true, sheetWide, high, titles)
	}
	layersWide := float64(len(p.layers))*(sheetWide+layerGap) - layerGap
	if layersWide < down {
		p.spread(high)
		return p.draw(false, sheetWide, high, titles)
	}
	return p.draw(true, sheetWide, high, titles)
}

// ends are those of an arrow as it is laid, upstream first.
func (p *placing) ends(i int) (from, to int) {
	a := p.d.Arrows[i]
	if p.turned[i] {
		return a.To, a.From
	}
	return a.From, a.To
}

// rank gives each box its layer.
func (p *placing) rank() {
	n := len(p.d.Boxes)
	out := make([][]int, n)
	joined := make([]bool, n)
	for i, a := range p.d.Arrows {
		if a.From != a.To {
			out[a.From] = append(out[a.From], i)
			joined[a.From], joined[a.To] = true, true
		}
	}
	state := make([]int, n)
	var post []int
	var visit func(b int)
	visit = func(b int) {
		state[b] = 1
		for _, i := range out[b] {
			switch to := p.d.Arrows[i].To; state[to] {
			case 0:
				visit(to)
			case 1:
				p.turned[i] = true
			}
		}
		state[b] = 2
		post = append(post, b)
	}
	for b := range n {
		if state[b] == 0 {
			visit(b)
		}
	}
	slices.Reverse(post) // upstream before downstream
	p.layer = make([]int, n)
	for _, b := range post {
		for i := range p.d.Arrows {
			if from, to := p.ends(i); from == b && to != b {
				p.layer[to] = max(p.layer[to], p.layer[b]+1)
			}
		}
	}
	// What is used late moves down to its first user, so that its arrows are short.
	for k := len(post) - 1; k >= 0; k-- {
		b, lowest := post[k], math.MaxInt
		fed := false
		for i := range p.d.Arrows {
			from, to := p.ends(i)
			if from == b && to != b {
				lowest = min(lowest, p.layer[to]-1)
			}
			fed = fed || to == b && from != b
		}
		if lowest != math.MaxInt && !fed {
			p.layer[b] = max(p.layer[b], lowest)
		}
		if !joined[b] {
			p.layer[b] = -1
		}
	}
}

// fill makes the slots; false where there would be too many.
func (p *placing) fill() bool {
	deepest := -1
	for _, l := range p.layer {
		deepest = max(deepest, l)
	}
	p.layers = make([][]int, deepest+1)
	slotOf := make([]int, len(p.layer))
	add := func(box, layer int) int {
		s := len(p.slots)
		p.slots = append(p.slots, slot{box: box, layer: layer})
		p.layers[layer] = append(p.layers[layer], s)
		return s
	}
	for b, l := range p.layer {
		if l >= 0 {
			slotOf[b] = add(b, l)
		}
	}
	p.chains = make([][]int, len(p.d.Arrows))
	bends := 0
	for i := range p.d.Arrows {
		from, to := p.ends(i)
		if from == to {
			continue
		}
		at := slotOf[from]
		for l := p.layer[from] + 1; l <= p.layer[to]; l++ {
			next := slotOf[to]
			if l < p.layer[to] {
				if bends++; bends > maxBends {
					return false
				}
				next = add(-1, l)
			}
			h := len(p.hops)
			p.hops = append(p.hops, hop{from: at, to: next})
			p.chains[i] = append(p.chains[i], h)
			p.slots[at].down, p.slots[at].hop = append(p.slots[at].down, next), append(p.slots[at].hop, h)
			p.slots[next].up, p.slots[next].upHop = append(p.slots[next].up, at), append(p.slots[next].upHop, h)
			at = next
		}
	}
	return true
}

// spread finds the middles across, for boxes of that size, and returns the room taken.
func (p *placing) spread(size float64) float64 {
	for i := range p.slots {
		s := &p.slots[i]
		s.size = 0
		if s.box >= 0 {
			s.size = size
		}
	}
	for _, l := range p.layers {
		at := 0.0
		for i, id := range l {
			if i > 0 {
				at += p.apart(l[i-1], id)
			}
			p.slots[id].at = at
		}
	}
	const sweeps = 24
	for s := range sweeps {
		for k := range p.layers {
			if s%2 == 1 {
				k = len(p.layers) - 1 - k
			}
			p.settle(p.layers[k])
		}
	}
	least, most := math.Inf(1), math.Inf(-1)
	for _, s := range p.slots {
		least, most = min(least, s.at-s.size/2), max(most, s.at+s.size/2)
	}
	for i := range p.slots {
		p.slots[i].at -= least
	}
	return max(0, most-least)
}

// apart is the least distance between the middles of neighbours.
func (p *placing) apart(a, b int) float64 {
	x, y := &p.slots[a], &p.slots[b]
	gap := laneGap
	if x.box >= 0 && y.box >= 0 {
		gap = boxGap
	}
	return x.size/2 + gap + y.size/2
}

// settle moves the slots of a layer as near as they can come to the middle of those they are joined
// to, in the sense of least squares, without a change of order (pooling of adjacent violators).
func (p *placing) settle(layer []int) {
	type block struct{ sum, weight, n float64 }
	var blocks []block
	offset := make([]float64, len(layer))
	for i, id := range layer {
		if i > 0 {
			offset[i] = offset[i-1] + p.apart(layer[i-1], id)
		}
		s := &p.slots[id]
		want, weight := 0.0, 0.0
		for _, t := range slices.Concat(s.up, s.down) {
			w := 1.0
			if s.box < 0 && p.slots[t].box < 0 {
				w = 6 // an arrow that passes several layers passes them straight
			}
			want, weight = want+w*p.slots[t].at, weight+w
		}
		if weight == 0 {
			want, weight = s.at, 0.1
		}
		b := block{want - offset[i]*weight, weight, 1}
		for len(blocks) > 0 && blocks[len(blocks)-1].sum/blocks[len(blocks)-1].weight > b.sum/b.weight {
			last := blocks[len(blocks)-1]
			blocks = blocks[:len(blocks)-1]
			b = block{b.sum + last.sum, b.weight + last.weight, b.n + last.n}
		}
		blocks = append(blocks, b)
	}
	i := 0
	for _, b := range blocks {
		for range int(b.n) {
			p.slots[layer[i]].at = b.sum/b.weight + offset[i]
			i++
		}
	}
}

// draw turns places into coordinates: layers from the top, or from the left.
func (p *placing) draw(down bool, wide, high float64, titles int) *layers {
	const edge = 3.0
	out := &layers{boxes: make([]box, len(p.d.Boxes)), lines: titles}
	long, across := high, wide
	if !down {
		long, across = wide, high
	}
	along := func(layer int) float64 { return edge + float64(layer)*(long+layerGap) }
	point := func(u, v float64) pt {
		if down {
			return pt{v + edge, u}
		}
		return pt{u, v + edge}
	}
	for _, s := range p.slots {
		if s.box >= 0 {
			a, b := point(along(s.layer), s.at-across/2), point(along(s.layer)+long, s.at+across/2)
			out.boxes[s.box] = box{a.x, a.y, b.x, b.y}
			out.width, out.height = max(out.width, b.x), max(out.height, b.y)
		} else {
			b := point(along(s.layer), s.at+laneGap)
			out.width, out.height = max(out.width, b.x), max(out.height, b.y)
		}
	}
	p.ports(across)
	for i, a := range p.d.Arrows {
		if len(p.chains[i]) == 0 {
			continue
		}
		drawn := drawnArrow{from: a.From, to: a.To, varied: a.Varied}
		for _, h := range p.chains[i] {
			hop := &p.hops[h]
			from, to := &p.slots[hop.from], &p.slots[hop.to]
			u1, u2 := along(from.layer)+long, along(to.layer)
			if to.box >= 0 {
				u2 -= 5 // the head of the arrow ends at the box
			}
			if len(drawn.at) == 0 {
				drawn.at = append(drawn.at, point(u1, hop.leaves))
			} else { // past the boxes of the layer it comes through
				u0 := along(from.layer)
				drawn.at = append(drawn.at, point(u0+(u1-u0)/3, hop.leaves), point(u0+(u1-u0)*2/3, hop.leaves), point(u1, hop.leaves))
			}
			mid := (u1 + u2) / 2
			drawn.at = append(drawn.at, point(mid, hop.leaves), point(mid, hop.arrives), point(u2, hop.arrives))
		}
		if p.turned[i] {
			slices.Reverse(drawn.at)
		}
		out.arrows = append(out.arrows, drawn)
	}
	p.aside(out, wide, high, edge)
	out.width, out.height = out.width+edge, out.height+edge
	return out
}

// ports spread the ends of the arrows along the sides of their boxes, in the order of their other ends.
func (p *placing) ports(across float64) {
	for i := range p.slots {
		s := &p.slots[i]
		set := func(hops []int, other func(h *hop) int, put func(h *hop, v float64)) {
			hops = slices.Clone(hops)
			slices.SortStableFunc(hops, func(a, b int) int {
				x, y := p.slots[other(&p.hops[a])].at, p.slots[other(&p.hops[b])].at
				switch {
				case x < y:
					return -1
				case x > y:
					return 1
				}
				return 0
			})
			step := 0.0
			if n := len(hops); s.box >= 0 && n > 1 {
				step = min(24, (across-24)/float64(n-1))
			}
			for k, h := range hops {
				put(&p.hops[h], s.at+step*(float64(k)-float64(len(hops)-1)/2))
			}
		}
		set(s.hop, func(h *hop) int { return h.to }, func(h *hop, v float64) { h.leaves = v })
		set(s.upHop, func(h *hop) int { return h.from }, func(h *hop, v float64) { h.arrives = v })
	}
}

// aside places the sheets that no arrow joins, in rows below the others.
func (p *placing) aside(out *layers, wide, high, edge float64) {
	var alone []int
	for b, l := range p.layer {
		if l < 0 {
			alone = append(alone, b)
		}
	}
	if len(alone) == 0 {
		return
	}
	top := edge
	if out.height > 0 {
		out.apart = out.height + 34
		top = out.apart + 10
	}
	room := max(out.width, min(pageWide, float64(len(alone))*(wide+boxGap)))
	columns := max(1, int((room-edge+boxGap)/(wide+boxGap)))
	for i, b := range alone {
		x, y := edge+float64(i%columns)*(wide+boxGap), top+float64(i/columns)*(high+boxGap)
		out.boxes[b] = box{x, y, x + wide, y + high}
		out.width, out.height = max(out.width, x+wide), max(out.height, y+high)
	}
}
