package chart

import "slices"

// order seeks the order within the layers: each slot goes to the middle of those it is joined to,
// down and up in turn, and neighbours change places where that undoes crossings. The best is kept.
func (p *placing) order() {
	best, fewest := p.copy(), p.crossings()
	const sweeps = 24
	for s := 0; s < sweeps && fewest > 0; s++ {
		place := p.places()
		down := s%2 == 0
		for k := range p.layers {
			l := k
			if !down {
				l = len(p.layers) - 1 - k
			}
			key := map[int]float64{}
			for _, id := range p.layers[l] {
				to := p.slots[id].up
				if !down {
					to = p.slots[id].down
				}
				key[id] = float64(place[id])
				if len(to) > 0 {
					sum := 0.0
					for _, t := range to {
						sum += float64(place[t])
					}
					key[id] = sum / float64(len(to))
				}
			}
			slices.SortStableFunc(p.layers[l], func(a, b int) int {
				switch d := key[a] - key[b]; {
				case d < 0:
					return -1
				case d > 0:
					return 1
				}
				return 0
			})
			for i, id := range p.layers[l] {
				place[id] = i
			}
		}
		p.exchange()
		if n := p.crossings(); n < fewest {
			best, fewest = p.copy(), n
		}
	}
	p.layers = best
}

func (p *placing) copy() [][]int {
	out := make([][]int, len(p.layers))
	for i, l := range p.layers {
		out[i] = slices.Clone(l)
	}
	return out
}

func (p *placing) places() []int {
	out := make([]int, len(p.slots))
	for _, l := range p.layers {
		for i, id := range l {
			out[id] = i
		}
	}
	return out
}

// exchange lets neighbours change places while that leaves fewer crossings.
func (p *placing) exchange() {
	place := p.places()
	// pairs counts how many joints of a and b cross when a stands before b.
	pairs := func(a, b []int) int {
		n := 0
		for _, x := range a {
			for _, y := range b {
				if place[x] > place[y] {
					n++
				}
			}
		}
		return n
	}
	const rounds = 8
	for range rounds {
		changed := false
		for _, l := range p.layers {
			for i := 0; i+1 < len(l); i++ {
				a, b := &p.slots[l[i]], &p.slots[l[i+1]]
				if pairs(a.up, b.up)+pairs(a.down, b.down) > pairs(b.up, a.up)+pairs(b.down, a.down) {
					l[i], l[i+1] = l[i+1], l[i]
					place[l[i]], place[l[i+1]] = i, i+1
					changed = true
				}
			}
		}
		if !changed {
			return
		}
	}
}

// crossings counts them over all layers.
func (p *placing) crossings() int {
	place := p.places()
	byLayer := make([][]hop, len(p.layers))
	for _, h := range p.hops {
		l := p.slots[h.from].layer
		byLayer[l] = append(byLayer[l], h)
	}
	n := 0
	for _, hops := range byLayer {
		for i, g := range hops {
			for _, h := range hops[:i] {
				if (place[g.from]-place[h.from])*(place[g.to]-place[h.to]) < 0 {
					n++
				}
			}
		}
	}
	return n
}
