package lang

import "fmt"

const useForm = "write use \"file.md\" as NAME, with inputs perhaps: … with eps = 0 %; or use LIBRARY"

// use reads `use "file.md" as NAME [with a = v, …]` or `use LIBRARY`.
func (p *parser) use(lo, hi int, c Caption) Stmt {
	if lo+1 == hi {
		p.fail(p.toks[lo].at, CodeUse, "what to use is missing", "expected a file in quotes, or a name", useForm)
		return nil
	}
	u := &Use{At: p.span(lo, hi), Caption: c}
	t := &p.toks[lo+1]
	switch t.kind {
	case tName:
		n := p.nameAt(lo + 1)
		u.Library = &n
		switch {
		case lo+2 == hi:
			return u
		case p.toks[lo+2].op("."):
			p.fail(p.span(lo+1, hi).Loc, CodeUse, "the name of a file stands in quotes", "expected \"…\"", useForm)
		default:
			p.fail(p.span(lo+2, hi).Loc, CodeUse, "a notebook that comes with the tool is used by its bare name", "expected the end of the line", useForm)
		}
		return nil
	case tString:
		u.Path = &StringLit{At{t.at}, t.text}
	default:
		p.fail(t.at, CodeUse, "what to use is a file in quotes, or a name", "expected a file in quotes, or a name", useForm)
		return nil
	}
	if lo+2 == hi || !p.toks[lo+2].name("as") {
		p.fail(p.toks[min(lo+2, hi-1)].at, CodeUse, "a used notebook needs a name", "expected as NAME after the file", useForm)
		return nil
	}
	if lo+3 == hi || p.toks[lo+3].kind != tName {
		p.fail(p.toks[lo+2].at, CodeUse, "a name is missing after `as`", "expected a name after this", useForm)
		return nil
	}
	n := p.nameAt(lo + 3)
	u.As = &n
	if lo+4 == hi {
		return u
	}
	if !p.toks[lo+4].name("with") {
		p.fail(p.toks[lo+4].at, CodeUse, "this use line cannot be read", "expected with, or the end", useForm)
		return nil
	}
	if lo+5 == hi {
		p.fail(p.toks[lo+4].at, CodeUse, "inputs are missing after `with`", "expected NAME = value after this", useForm)
		return nil
	}
	args, ok := p.arguments(lo+5, hi)
	if !ok {
		return nil
	}
	for _, a := range args {
		if a.Name == nil {
			p.fail(a.Loc, CodeUse, "an input of the used notebook is given by its name", "expected NAME = value", useForm)
			return nil
		}
		if _, ok := a.X.(*StateRef); ok {
			p.fail(a.X.Span(), CodeUse, "a state is no input", "expected a value", useForm)
			return nil
		}
	}
	u.With = args
	return u
}

// accept reads `accept CODE on SYMBOL`, or on SHEET.SYMBOL, or on state ID: the component that leads
// to that state.
func (p *parser) accept(lo, hi int, c Caption) Stmt {
	const form = "write accept CODE on SYMBOL // reason, or on state ID for the component that leads to it"
	if lo+1 == hi || p.toks[lo+1].kind != tID {
		p.fail(p.toks[lo].at, CodeAccept, "the code of the caution is missing", "expected a code such as pressure-ratio after this", form)
		return nil
	}
	a := &Accept{At: p.span(lo, hi), Code: p.nameAt(lo + 1), Caption: c}
	first, kind := lo+3, tName
	if first < hi && p.toks[first].word("state") {
		a.State, first, kind = true, first+1, tID
	}
	if first >= hi || !p.toks[lo+2].name("on") || p.toks[first].kind != kind {
		p.fail(p.toks[min(lo+2, hi-1)].at, CodeAccept, "what the caution is on is missing", "expected on SYMBOL", form)
		return nil
	}
	a.On = p.nameAt(first)
	next := first + 1
	if next+1 < hi && p.toks[next].op(".") && p.toks[next+1].kind == kind {
		of := a.On
		a.Of, a.On = &of, p.nameAt(next+1)
		next = p.ofCycle(next+2, hi, a.Of, &a.On)
	}
	if next < hi {
		p.fail(p.toks[next].at, CodeAccept, "this accept line cannot be read", "expected the end, or // and the reason", form)
		return nil
	}
	if c.Text == "" {
		p.fail(a.Loc, CodeAccept, "a caution is accepted with a reason", "expected // and the reason after this", fmt.Sprintf("write accept %s on %s // why it is right here", a.Code.Text, a.On.Text))
		return nil
	}
	return a
}
