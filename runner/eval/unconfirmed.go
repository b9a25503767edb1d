package eval

import (
	"workings/runner/resolve"
)

// Unconfirmed are the assumptions to be confirmed that a result rests on, of this sheet and of those
// it uses.
type Unconfirmed struct {
	// Own are numbered among the sheet's assumptions, from 0; Used names those of used sheets:
	// gt.similar-unit.
	Own  []int
	Used []string
}

// premises finds what the lines of a sheet rest on. Lines of one solve or call count as one: each of
// them may read each other.
type premises struct {
	names []Unconfirmed // of each bit: one assumption
	cites map[*resolve.Line][]int
	group map[*resolve.Line]*resolve.Line
	known map[*resolve.Line]map[int]bool
}

// unconfirmed works out what every answer rests on.
func unconfirmed(t *Trace) map[*resolve.Symbol]Unconfirmed {
	p := &premises{cites: map[*resolve.Line][]int{}, group: map[*resolve.Line]*resolve.Line{}, known: map[*resolve.Line]map[int]bool{}}
	p.gather(t.Sheet, "")
	if len(p.names) == 0 {
		return nil
	}
	out := map[*resolve.Symbol]Unconfirmed{}
	for _, a := range t.Sheet.Answers {
		if a == nil || a.Symbol == nil || a.Symbol.Line == nil {
			continue
		}
		rests := p.under(a.Symbol.Line)
		var u Unconfirmed
		for bit, name := range p.names {
			if rests[bit] {
				u.Own, u.Used = append(u.Own, name.Own...), append(u.Used, name.Used...)
			}
		}
		if len(u.Own)+len(u.Used) > 0 {
			out[a.Symbol] = u
		}
	}
	return out
}

func (p *premises) gather(s *resolve.Sheet, prefix string) {
	for i, a := range s.Assumed {
		if !a.Open {
			continue
		}
		name := Unconfirmed{Own: []int{i}}
		if prefix != "" {
			name = Unconfirmed{Used: []string{prefix + a.Label}}
		}
		for _, l := range a.CitedBy {
			p.cites[l] = append(p.cites[l], len(p.names))
		}
		p.names = append(p.names, name)
	}
	for _, l := range s.Lines {
		switch {
		case l.Kind == resolve.Call || l.Kind == resolve.Solve:
			p.join(l, l)
		case l.Sub != nil:
			p.gather(l.Sub, l.Sub.Name+".") // the name is that of all sheets on the way
		}
	}
}

// join puts a call's or a solve's lines into one group with it.
func (p *premises) join(l, with *resolve.Line) {
	for _, list := range [][]*resolve.Line{l.Body, l.Untils} {
		for _, b := range list {
			p.group[b] = with
			p.join(b, with)
		}
	}
}

// under are the assumptions that a line rests on, directly or not.
func (p *premises) under(l *resolve.Line) map[int]bool {
	if g := p.group[l]; g != nil {
		l = g
	}
	if rests, ok := p.known[l]; ok {
		return rests
	}
	rests := map[int]bool{}
	p.known[l] = rests // a line under itself adds nothing
	var take func(m *resolve.Line)
	take = func(m *resolve.Line) {
		for _, bit := range p.cites[m] {
			rests[bit] = true
		}
		from := func(on *resolve.Line) {
			if on == nil || on == l || p.group[on] == l {
				return
			}
			for bit := range p.under(on) {
				rests[bit] = true
			}
		}
		for _, s := range m.Uses {
			from(s.Line)
		}
		for _, on := range m.Reads {
			from(on)
		}
		for _, in := range m.Inputs {
			if in.State != nil {
				from(in.State.Line)
			}
		}
		for _, list := range [][]*resolve.Line{m.Body, m.Untils} {
			if m.Sub == nil {
				for _, b := range list {
					take(b)
				}
			}
		}
	}
	take(l)
	return rests
}
