package lang

import "fmt"

const methodForm = "write NAME(state a, p_b, eta) -> state b, w"

// method reads a method fence: a signature, then the lines of its body.
func (p *parser) method() []Stmt {
	m := &Method{}
	var before Caption
	for p.at < len(p.lines) && p.lines[p.at].from == p.lines[p.at].to {
		l := &p.lines[p.at]
		if l.refused {
			break
		}
		before = joinCaptions(before, l.caption)
		p.at++
	}
	if p.at == len(p.lines) {
		return nil // an empty fence defines nothing and harms nobody
	}
	if l := &p.lines[p.at]; l.refused {
		p.at++
		p.block()
		return []Stmt{&Bad{At: At{l.span()}}}
	}
	lo, hi, caption := p.statement()
	m.Head = p.span(lo, hi).Loc
	m.Caption = joinCaptions(before, caption)
	good := p.tidy(lo, hi) && p.signature(m, lo, hi)
	m.Body = p.block()
	m.Loc = m.Head
	for _, s := range m.Body {
		m.Loc = m.Loc.Join(s.Span())
	}
	if !good {
		b := &Bad{At: At{m.Loc}}
		if n, ok := p.called(lo, hi); ok {
			b.Spaces = []Name{n}
		}
		return []Stmt{b}
	}
	return []Stmt{m}
}

// called is the name that a method would have whose first line cannot be read.
func (p *parser) called(lo, hi int) (Name, bool) {
	for i := lo; i+1 < hi; i++ {
		if p.toks[i].kind == tName && p.toks[i+1].op("(") {
			return p.nameAt(i), true
		}
	}
	if p.toks[lo].kind == tName {
		return p.nameAt(lo), true
	}
	return Name{}, false
}

func (p *parser) signature(m *Method, lo, hi int) bool {
	t := &p.toks[lo]
	if t.kind != tName {
		p.fail(t.at, CodeMethod, "a method begins with its name", "expected NAME(…) -> …", methodForm)
		return false
	}
	m.Name = p.nameAt(lo)
	if t.name("method") && lo+2 < hi && p.toks[lo+1].kind == tName {
		p.fail(t.at, CodeMethod, "the word `method` stands at the fence alone", "expected the method's name", methodForm)
		return false
	}
	if lo+1 == hi || !p.toks[lo+1].op("(") {
		p.fail(p.toks[min(lo+1, hi-1)].at, CodeMethod, "the first line of a method says what goes in and out", "expected ( after the name", methodForm)
		return false
	}
	end := int(p.toks[lo+1].match)
	if end > lo+2 {
		outs, ok := p.outs(lo+2, end, true)
		if !ok {
			return false
		}
		for _, o := range outs {
			m.Params = append(m.Params, Param(o))
		}
	}
	if end+1 == hi || !p.toks[end+1].op("->") {
		p.fail(p.toks[min(end+1, hi-1)].at, CodeMethod, "the outputs of this method are missing", "expected -> and the outputs", methodForm)
		return false
	}
	if end+2 == hi {
		p.fail(p.toks[end+1].at, CodeMethod, "the outputs of this method are missing", "expected outputs after this", methodForm)
		return false
	}
	var ok bool
	if m.Outs, ok = p.outs(end+2, hi, true); !ok {
		return false
	}
	return p.noFluids(m.Outs) && p.distinct(m)
}

// distinct reports a parameter or output that is named twice.
func (p *parser) distinct(m *Method) bool {
	seen := map[string]bool{}
	check := func(o Out) bool {
		key := o.Name.Key()
		switch {
		case o.State:
			key = "state " + o.Name.Text
		case o.Fluid:
			key = "fluid " + o.Name.Text
		}
		if seen[key] {
			p.fail(o.Loc, CodeMethod, fmt.Sprintf("`%s` stands twice in this line", o.Name.Text), "expected another name", "")
			return false
		}
		seen[key] = true
		return true
	}
	for _, x := range m.Params {
		if !check(Out(x)) {
			return false
		}
	}
	for _, x := range m.Outs {
		if !check(x) {
			return false
		}
	}
	return true
}
