package chart

import (
	"slices"
	"strings"
)

// Schematic is the plan of a plant: its components, the streams and the shafts between them.
type Schematic struct {
	Title string
	Parts []Part // in the order of the flow, as far as it has one
}

// Part is a component, or one pass of a heat exchanger.
type Part struct {
	Kind    string   // the trade's word: compressor, turbine, pump, fan, heater, combustor, boiler, cooler, condenser, valve, mixer, splitter, regenerator, exchanger
	Caption string   // what it is called; may be empty
	In, Out []string // labels of the states that flow in and out
	// Exchanger is what the passes of one heat exchanger have in common: its name, unique among the
	// exchangers; "" for every other part.
	Exchanger string
	Hot       bool   // of a pass: its stream gives heat
	Shaft     string // that the machine stands on; "" for none
	Fluid     string // that flows through it
}

// machine reports a part that is drawn along a shaft.
func (p *Part) machine() bool { return p.Kind == "compressor" || p.Kind == "turbine" }

// fires reports a part by which heat enters.
func (p *Part) fires() bool { return p.Kind == "heater" || p.Kind == "combustor" || p.Kind == "boiler" }

// node is what is placed: a symbol, or an open end of a stream. Its place counts in steps of the
// routing grid.
type node struct {
	kind  string
	parts []int // a symbol has one; an exchanger has one for each of its passes, from the top
	x, y  int   // the middle; of an exchanger the middle of its top pass
	w, h  int
	flip  bool // a machine with its inlet on the right
	label []string
}

const openEnd = "open end"

func (n *node) left() int { return n.x - n.w/2 }
func (n *node) top() int {
	if n.passes() {
		return n.y - 2
	}
	return n.y - n.h/2
}
func (n *node) right() int   { return n.left() + n.w }
func (n *node) bottom() int  { return n.top() + n.h }
func (n *node) passes() bool { return n.kind == "regenerator" || n.kind == "exchanger" }

// link is a stream or a shaft.
type link struct {
	from, to         int // nodes
	fromPart, toPart int // parts; -1 at an open end
	state            string
	shaft, heavy     bool
}

// plan is a schematic that is being laid out.
type plan struct {
	s         *Schematic
	nodes     []node
	links     []link
	nodeOf    []int // of each part
	circuitOf []int // of each part
}

const (
	passStep  = 4 // between the passes of an exchanger
	labelWide = 96.0
)

func (s *Schematic) plan() *plan {
	p := &plan{s: s, nodeOf: make([]int, len(s.Parts))}
	exchangers := map[string]int{}
	for i := range s.Parts {
		part := &s.Parts[i]
		n, known := 0, false
		if part.Exchanger != "" {
			n, known = exchangers[part.Exchanger]
		}
		if !known {
			n = len(p.nodes)
			p.nodes = append(p.nodes, node{kind: part.Kind, w: 4, h: 4})
			if part.Exchanger != "" {
				exchangers[part.Exchanger] = n
			}
		}
		p.nodeOf[i] = n
		p.nodes[n].parts = append(p.nodes[n].parts, i)
	}
	for i := range p.nodes {
		p.size(&p.nodes[i])
	}
	p.streams()
	p.shafts()
	return p
}

// size gives a symbol its size and its label.
func (p *plan) size(n *node) {
	first := &p.s.Parts[n.parts[0]]
	legs := len(first.In) + len(first.Out)
	const most = 2
	words := first.Caption
	if words == "" {
		words = n.kind
	}
	switch {
	case n.passes():
		n.h = 4 + passStep*(len(n.parts)-1)
		words = first.Exchanger
		// Heat goes down: the passes that give it come first.
		slices.SortStableFunc(n.parts, func(a, b int) int {
			switch ha, hb := p.s.Parts[a].Hot, p.s.Parts[b].Hot; {
			case ha == hb:
				return 0
			case ha:
				return -1
			}
			return 1
		})
	case n.kind == "valve":
		n.w, n.h = 2, 2
	case legs > 4:
		n.w, n.h = 4*((legs+3)/2), 4
	case n.kind == "mixer" || n.kind == "splitter":
		n.w, n.h = 0, 0
		if first.Caption == "" {
			return // the dot says it
		}
	}
	n.label = wrap(words, labelWide, most)
	if whole := wrap(words, labelWide, 9); len(whole) > most {
		// The head of a long caption, or else the trade's word.
		if i := strings.IndexAny(words, ",;:("); i > 0 {
			words = words[:i]
		}
		if n.label = wrap(words, labelWide, 9); len(n.label) > most {
			n.label = wrap(n.kind, labelWide, most)
		}
	}
}

// wrap breaks a text into lines; what does not fit is cut.
func wrap(s string, wide float64, most int) []string {
	var out []string
	line := ""
	for _, word := range strings.Fields(short(s, 200)) {
		for n := 24; width(word, textSize) > wide && n > 1; n-- {
			word = short(word, n)
		}
		switch {
		case line == "":
			line = word
		case width(line+" "+word, textSize) <= wide:
			line += " " + word
		default:
			out = append(out, line)
			line = word
		}
	}
	if line != "" {
		out = append(out, line)
	}
	if len(out) > most {
		out = out[:most]
		out[most-1] += " …"
	}
	return out
}

// streams joins the parts by their states. A state that nothing gives comes from outside the plant,
// one that nothing takes goes out of it.
func (p *plan) streams() {
	type leg struct{ part, order int }
	takers := map[string][]int{}
	for i := range p.s.Parts {
		for _, id := range p.s.Parts[i].In {
			takers[id] = append(takers[id], i)
		}
	}
	taken := map[leg]bool{}
	for i := range p.s.Parts {
		for _, id := range p.s.Parts[i].Out {
			if q := takers[id]; len(q) > 0 {
				takers[id] = q[1:]
				at := slices.Index(p.s.Parts[q[0]].In, id)
				for taken[leg{q[0], at}] {
					at++
				}
				taken[leg{q[0], at}] = true
				p.links = append(p.links, link{from: p.nodeOf[i], to: p.nodeOf[q[0]], fromPart: i, toPart: q[0], state: id})
				continue
			}
			p.links = append(p.links, link{from: p.nodeOf[i], to: p.open("to surroundings"), fromPart: i, toPart: -1, state: id})
		}
	}
	for i := range p.s.Parts {
		for j, id := range p.s.Parts[i].In {
			if !taken[leg{i, j}] {
				p.links = append(p.links, link{from: p.open("from surroundings"), to: p.nodeOf[i], fromPart: -1, toPart: i, state: id})
			}
		}
	}
	p.heat()
}

func (p *plan) open(words string) int {
	p.nodes = append(p.nodes, node{kind: openEnd, label: wrap(words, labelWide, 2)})
	return len(p.nodes) - 1
}

// heat marks the streams that are drawn heavy: from where heat enters to where it has been given.
func (p *plan) heat() {
	for changed := true; changed; {
		changed = false
		for i := range p.links {
			l := &p.links[i]
			if l.heavy {
				continue
			}
			giver := func(part int) bool { return part >= 0 && p.s.Parts[part].Exchanger != "" && p.s.Parts[part].Hot }
			l.heavy = giver(l.toPart)
			if l.fromPart >= 0 && !l.heavy {
				switch from := &p.s.Parts[l.fromPart]; {
				case from.fires():
					l.heavy = true
				case from.Kind == "turbine" || from.Kind == "valve" || from.Kind == "splitter":
					for j := range p.links {
						l.heavy = l.heavy || p.links[j].toPart == l.fromPart && p.links[j].heavy
					}
				}
			}
			changed = changed || l.heavy
		}
	}
}

// shafts joins the machines of each shaft in the order of the parts; placing them puts them in order.
func (p *plan) shafts() {
	last := map[string]int{}
	for i := range p.s.Parts {
		part := &p.s.Parts[i]
		if part.Shaft == "" || part.Exchanger != "" {
			continue
		}
		if before, ok := last[part.Shaft]; ok {
			p.links = append(p.links, link{from: p.nodeOf[before], to: p.nodeOf[i], fromPart: before, toPart: i, state: part.Shaft, shaft: true})
		}
		last[part.Shaft] = i
	}
}

// describe tells the whole chain in words.
func (p *plan) describe() string {
	var b strings.Builder
	b.WriteString("Components, with the states before and after them: ")
	for i := range p.s.Parts {
		part := &p.s.Parts[i]
		if i > 0 {
			b.WriteString("; ")
		}
		if b.Len() > 6000 {
			b.WriteString("and so on")
			break
		}
		b.WriteString(part.Kind)
		if part.Exchanger != "" {
			if part.Exchanger != part.Kind {
				b.WriteString(" " + short(part.Exchanger, 40))
			}
			if part.Hot {
				b.WriteString(" hot side")
			} else {
				b.WriteString(" cold side")
			}
		}
		if part.Caption != "" {
			b.WriteString(" (" + short(part.Caption, 60) + ")")
		}
		b.WriteString(" from " + ids(part.In) + " to " + ids(part.Out))
		if part.Fluid != "" && (i == 0 || p.s.Parts[i-1].Fluid != part.Fluid) {
			b.WriteString(", " + short(part.Fluid, 40))
		}
		if part.Shaft != "" {
			b.WriteString(", shaft " + short(part.Shaft, 20))
		}
	}
	b.WriteString(".")
	var in, out []string
	for _, l := range p.links {
		switch {
		case l.fromPart < 0:
			in = append(in, l.state)
		case l.toPart < 0:
			out = append(out, l.state)
		}
	}
	if len(in) > 0 {
		b.WriteString(" From the surroundings: " + ids(in) + ".")
	}
	if len(out) > 0 {
		b.WriteString(" To the surroundings: " + ids(out) + ".")
	}
	return b.String()
}

func ids(list []string) string {
	var out []string
	for _, id := range list[:min(len(list), 20)] {
		out = append(out, short(id, 12))
	}
	return strings.Join(out, " and ")
}
