package lang

import (
	"fmt"
	"strings"

	"workings/runner/diag"
)

type (
	// Cycle is the whole of a `cycle` fence. Its lines are Component, Flow, DeadState, Heading and
	// Bad, in the order of the text.
	Cycle struct {
		At
		Name    Name
		Lines   []Stmt
		Caption Caption
	}
	// Component is `A -> B word`, `A + B -> C mixer`, `A -> B + C splitter`.
	Component struct {
		At
		From, To []StateRef
		Word     Name
		Pair     Name   // of a regenerator or exchanger: its name, Text "" where it has none
		Side     string // of these: hot or cold; else ""
		Shaft    Name   // after `on`: the shaft that it stands on; Text "" where none is named
		Caption  Caption
	}
	// Flow is `flow EXPR`: the mass flow of the components on the lines after it.
	Flow struct {
		At
		X       Expr
		Caption Caption
	}
	// DeadState is `dead state 0`: where a fluid is in equilibrium with the surroundings.
	DeadState struct {
		At
		States  []StateRef
		Caption Caption
	}
)

func (*Cycle) stmt()     {}
func (*Component) stmt() {}
func (*Flow) stmt()      {}
func (*DeadState) stmt() {}

// Components are the words for what stands between two states, in the order in which messages list
// them.
func Components() []string {
	return []string{"compressor", "turbine", "pump", "fan", "heater", "combustor", "boiler", "cooler", "condenser",
		"valve", "mixer", "splitter", "regenerator", "exchanger"}
}

// sided reports a component of which one stream is the hot and one the cold side.
func sided(word string) bool { return word == "regenerator" || word == "exchanger" }

// turns reports a component that stands on a shaft.
func turns(word string) bool {
	return word == "compressor" || word == "turbine" || word == "pump" || word == "fan"
}

const (
	cycleForm     = "write ```cycle NAME"
	componentForm = "write A -> B compressor, A + B -> C mixer, or A -> B regenerator hot"
)

// cycle reads a cycle fence.
func (p *parser) cycle(src Source) []Stmt {
	c := &Cycle{At: At{src.Span}}
	name, ok := p.fenceName(src, "cycle", CodeCycle, cycleForm)
	c.Name = name
	first := true
	for p.at < len(p.lines) {
		l := &p.lines[p.at]
		switch {
		case l.heading() && first && len(c.Lines) == 0 && c.Caption.Loc.End == 0:
			c.Caption = l.caption
			p.at++
			continue
		case l.blank(), l.heading(), l.refused:
			if s := p.next(); s != nil {
				c.Lines = append(c.Lines, s)
			}
			continue
		}
		first = false
		lo, hi, caption := p.statement()
		s := p.cycleLine(lo, hi, caption)
		if s == nil {
			s = &Bad{At: p.span(lo, hi)}
		}
		c.Lines = append(c.Lines, s)
	}
	p.failed = false
	if !ok {
		b := &Bad{At: c.At}
		if name.Text != "" {
			b.Spaces = []Name{name}
		}
		return []Stmt{b}
	}
	if first {
		p.fail(src.Span, CodeCycle, "this cycle has no components", "expected lines such as 1 -> 2 compressor", componentForm)
		return []Stmt{&Bad{At: c.At, Spaces: []Name{name}}}
	}
	return []Stmt{c}
}

// fenceName reads the name after a fence word that takes one and nothing else.
func (p *parser) fenceName(src Source, kind string, code diag.Code, form string) (Name, bool) {
	at := src.InfoSpan
	if at == (diag.Span{}) {
		at = diag.Span{Start: src.Span.Start, End: src.Span.Start}
	}
	info := src.Info
	if slashes := strings.Index(info, "//"); slashes >= 0 {
		p.failed = false
		p.fail(diag.Span{Start: at.Start + slashes, End: at.End}, CodeCaption, "no caption can stand behind the fence word", "expected the end", "write it on the first line of the fence: // …")
		info = info[:slashes]
	}
	text := strings.TrimRight(info, " \t")
	p.failed = false
	switch n := nameLen(text); {
	case text == "":
		p.fail(at, code, fmt.Sprintf("%s fence needs a name", article(kind)), "expected a name after "+kind, form)
		return Name{}, false
	case n == 0 || reserved(text[:n]):
		p.fail(at, code, fmt.Sprintf("this is no name for %s", article(kind)), "expected a name", form)
		return Name{}, false
	case n < len(text):
		name := Name{At{diag.Span{Start: at.Start, End: at.Start + n}}, text[:n]}
		p.fail(diag.Span{Start: at.Start + n, End: at.Start + len(text)}, code, fmt.Sprintf("%s has a name and nothing more", article(kind)), "expected the end", form)
		return name, false
	}
	return Name{At{diag.Span{Start: at.Start, End: at.Start + len(text)}}, text}, true
}

func (p *parser) cycleLine(lo, hi int, c Caption) Stmt {
	if !p.tidy(lo, hi) {
		return nil
	}
	t := &p.toks[lo]
	arrow := p.find(lo, hi, func(t *token) bool { return t.op("->") })
	switch {
	case arrow == hi && t.text == "flow":
		return p.flow(lo, hi, c)
	case arrow == hi && t.id("dead"):
		return p.deadState(lo, hi, c)
	case arrow < hi:
		return p.component(lo, arrow, hi, c)
	}
	near := nearHint(t.text, []string{"flow", "dead"})
	if near == "" {
		near = "expected A -> B and a word, flow, or dead state"
	}
	p.fail(p.span(lo, hi).Loc, CodeComponent, "this line names no component", near, componentForm)
	return nil
}

func (p *parser) flow(lo, hi int, c Caption) Stmt {
	if lo+1 == hi {
		p.fail(p.toks[lo].at, CodeComponent, "`flow` gives no mass flow", "expected an expression after this", "write flow mdot_s, or flow 0.18")
		return nil
	}
	if in := p.find(lo, hi, func(t *token) bool { return t.word("in") }); in < hi {
		p.fail(p.toks[in].at, CodeUnexpected, "`in` cannot stand here", "expected the end of the line", "name the flow in a calc fence to show it in a unit")
		return nil
	}
	x := p.expr(lo+1, hi)
	if x == nil {
		return nil
	}
	return &Flow{p.span(lo, hi), x, c}
}

func (p *parser) deadState(lo, hi int, c Caption) Stmt {
	if lo+1 == hi || !p.toks[lo+1].id("state") || lo+2 == hi {
		p.fail(p.span(lo, hi).Loc, CodeComponent, "this line names no dead state", "expected dead state ID", "write dead state 0, with one state for each fluid")
		return nil
	}
	d := &DeadState{At: p.span(lo, hi), Caption: c}
	var ok bool
	if d.States, ok = p.idList(lo+2, hi, ",", CodeComponent); !ok {
		return nil
	}
	return d
}

// idList reads states' IDs with one separator between them.
func (p *parser) idList(lo, hi int, separator string, code diag.Code) ([]StateRef, bool) {
	var refs []StateRef
	for i := lo; ; {
		if i >= hi || p.toks[i].kind != tID {
			near, what := i, "instead of"
			if i >= hi {
				near, what = hi-1, "after"
			}
			p.fail(p.toks[near].at, code, "a state is missing", fmt.Sprintf("expected the name of a state %s this", what), "states go by their names: 1, 2s, gt.4")
			return nil, false
		}
		ref := StateRef{At: At{p.toks[i].at}, ID: p.nameAt(i)}
		if i+2 < hi && p.toks[i+1].op(".") && p.toks[i+2].kind == tID {
			of := ref.ID
			ref.Of, ref.ID = &of, p.nameAt(i+2)
			ref.Loc = ref.Loc.Join(ref.ID.Loc)
			i += 2
		}
		refs = append(refs, ref)
		i++
		if i == hi {
			return refs, true
		}
		if !p.toks[i].op(separator) {
			p.fail(p.toks[i].at, code, fmt.Sprintf("`%s` cannot stand between states", p.spelled(&p.toks[i])), "expected `"+separator+"`", "")
			return nil, false
		}
		i++
	}
}

func (p *parser) component(lo, arrow, hi int, c Caption) Stmt {
	s := &Component{At: p.span(lo, hi), Caption: c}
	if arrow == lo {
		p.fail(p.toks[arrow].at, CodeComponent, "the state before `->` is missing", "expected a state before this", componentForm)
		return nil
	}
	var ok bool
	if s.From, ok = p.idList(lo, arrow, "+", CodeComponent); !ok {
		return nil
	}
	// The states behind the arrow end where two words follow each other.
	end := arrow + 1
	if end < hi && p.toks[end].kind == tID {
		end++
		for end+1 < hi && (p.toks[end].op(".") || p.toks[end].op("+")) && p.toks[end+1].kind == tID {
			end += 2
		}
	}
	if end < hi && p.toks[end].op("+") {
		end++
	}
	if s.To, ok = p.idList(arrow+1, end, "+", CodeComponent); !ok {
		return nil
	}
	if end == hi {
		label := "expected a word such as compressor after this"
		p.fail(p.toks[hi-1].at, CodeComponent, "this line does not say which component it is", label, "the words are "+strings.Join(Components(), ", "))
		return nil
	}
	if p.toks[end].op("->") {
		p.fail(p.toks[end].at, CodeComponent, "a line holds one component", "expected the word for it", "write one line for each: 1 -> 2 compressor, then 2 -> 3 heater below")
		return nil
	}
	if !p.componentWord(s, end, hi) {
		return nil
	}
	return s
}

// componentWord reads what stands behind the states: the word, the name and side of an exchanger,
// the shaft.
func (p *parser) componentWord(s *Component, i, hi int) bool {
	t := &p.toks[i]
	s.Word = p.nameAt(i)
	if t.kind != tID || !known(t.text) {
		f := func(label, hint string) {
			p.fail(t.at, CodeComponent, fmt.Sprintf("`%s` is no component", p.spelled(t)), label, hint)
		}
		if near := nearHint(t.text, Components()); near != "" && t.kind == tID {
			f(near, "the words are "+strings.Join(Components(), ", "))
			return false
		}
		f("expected a word such as compressor", "the words are "+strings.Join(Components(), ", "))
		return false
	}
	i++
	if sided(s.Word.Text) {
		var ok bool
		if i, ok = p.side(s, i, hi); !ok {
			return false
		}
	}
	if i < hi && p.toks[i].id("on") {
		if !turns(s.Word.Text) {
			p.fail(p.toks[i].at, CodeComponent, fmt.Sprintf("%s stands on no shaft", article(s.Word.Text)), "expected the end of the line", "compressors, turbines, pumps and fans do")
			return false
		}
		if i+1 == hi || p.toks[i+1].kind != tID {
			p.fail(p.toks[i].at, CodeComponent, "the shaft has no name", "expected a word after this", "write on A, or on high")
			return false
		}
		s.Shaft = p.nameAt(i + 1)
		i += 2
	}
	if i == hi {
		return true
	}
	label := "expected the end of the line"
	if turns(s.Word.Text) {
		label = "expected on SHAFT, or the end of the line"
	}
	p.fail(p.toks[i].at, CodeComponent, fmt.Sprintf("`%s` cannot stand here", p.spelled(&p.toks[i])), label, "what there is to say about a component stands in its caption: // …")
	return false
}

func known(word string) bool {
	for _, w := range Components() {
		if w == word {
			return true
		}
	}
	return false
}

// side reads `[NAME] hot` or `[NAME] cold`.
func (p *parser) side(s *Component, i, hi int) (int, bool) {
	form := fmt.Sprintf("write %s hot, or %s NAME cold", s.Word.Text, s.Word.Text)
	isSide := func(i int) bool { return i < hi && (p.toks[i].id("hot") || p.toks[i].id("cold")) }
	if i < hi && p.toks[i].kind == tID && !(isSide(i) && !isSide(i+1)) {
		s.Pair = p.nameAt(i)
		if nameLen(s.Pair.Text) != len(s.Pair.Text) {
			p.fail(s.Pair.Loc, CodeName, fmt.Sprintf("`%s` is no name", s.Pair.Text), "expected a name", "a name begins with a letter")
			return i, false
		}
		i++
	}
	if !isSide(i) {
		at, label := p.toks[i-1].at, "expected hot or cold after this"
		if near := nearHint(s.Pair.Text, []string{"hot", "cold"}); s.Pair.Text != "" && near != "" {
			at, label = s.Pair.Loc, near
		}
		p.fail(at, CodeComponent, fmt.Sprintf("this line does not say which side of the %s it is", s.Word.Text), label, form)
		return i, false
	}
	s.Side = p.toks[i].text
	return i + 1, true
}
