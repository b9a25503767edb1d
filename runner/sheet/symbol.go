package sheet

import (
	"strings"
	"unicode/utf8"

	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
)

// typeset is a name as MathML: its stem with Δ and dot, and its subscript or "". mark is added
// to the subscript: the number of the call whose working a local symbol belongs to.
func (p *page) typeset(text, mark string) (base, sub string) {
	key := [2]string{text, mark}
	n, ok := p.typeSet[key]
	if !ok {
		printed := lang.Print(text)
		var o buf
		o.stem(printed)
		stem := len(o.b)
		o.subscript(printed, mark)
		n = [2]string{string(o.b[:stem]), string(o.b[stem:])}
		p.typeSet[key] = n
	}
	return n[0], n[1]
}

// stem writes a name without its subscript.
func (o *buf) stem(n lang.Printed) {
	if n.Delta {
		// As an operator: Firefox puts a gap after an identifier Δ.
		o.raw(`<mrow><mo form="prefix" lspace="0" rspace="0">Δ</mo>`)
	}
	stem, degree := strings.CutSuffix(n.Stem, "°")
	if degree {
		o.raw("<mrow>")
	}
	if n.Dot {
		o.raw(`<mover accent="true" class="dot">`)
	}
	o.raw("<mi>")
	o.text(stem)
	o.raw("</mi>")
	if n.Dot {
		o.raw(`<mo stretchy="false">˙</mo></mover>`)
	}
	if degree {
		o.raw(`<mo lspace="0" rspace="0">°</mo></mrow>`)
	}
	if n.Delta {
		o.raw("</mrow>")
	}
}

// subscript writes a name's subscript, if it has one.
func (o *buf) subscript(n lang.Printed, mark string) {
	if n.Sub == "" && mark == "" {
		return
	}
	first, rest, several := strings.Cut(n.Sub, ",")
	italic := n.Stem == "c" && (first == "p" || first == "v")
	if italic {
		// A subscript that is itself a quantity is italic: constant pressure, constant volume.
		if !several && mark == "" {
			o.raw("<mi>", first, "</mi>")
			return
		}
		o.raw("<mrow><mi>", first, "</mi><mtext>")
		if several {
			o.raw(",")
			o.text(rest)
		}
	} else {
		o.raw("<mtext>")
		o.text(n.Sub)
	}
	if mark != "" {
		if n.Sub != "" {
			o.raw(",\u2009")
		}
		o.text(mark)
	}
	o.raw("</mtext>")
	if italic {
		o.raw("</mrow>")
	}
}

// name is a symbol with its typeset form.
type name struct {
	base, sub string // sub may be ""
	math      string // the whole, with the mark by which the trail finds it
	width     int
}

func (p *page) named(s *resolve.Symbol) *name {
	if s == nil {
		return &name{base: "<mtext>?</mtext>", math: "<mtext>?</mtext>", width: 1}
	}
	no := p.of(s).no
	if no < 0 {
		n := p.typesetSymbol(s)
		return &n
	}
	if p.names == nil {
		p.names = make([]name, p.size())
	}
	n := &p.names[no]
	if n.math == "" {
		*n = p.typesetSymbol(s)
	}
	return n
}

func (p *page) typesetSymbol(s *resolve.Symbol) (n name) {
	s = p.callers(s)
	k := p.of(s)
	text, call := s.Name, k.call
	if s.Local && s.State != nil {
		// A property that the caller does not read has no symbol there, but has a name.
		if st := p.outer(s.State); st != s.State {
			text, call = s.Prop.Symbol()+"_"+st.ID, p.stateCall[st]
		}
	}
	printed := lang.Print(text)
	scripted := printed.Sub != "" || call != ""
	of := ""
	if s.Sheet != "" && !s.Local {
		of = s.Sheet
	}
	// The parts are slices of the whole, which is written once.
	o := buf{b: p.nameSpace[:0]}
	row := of != "" || !scripted
	if row {
		o.raw("<mrow")
	} else {
		o.raw("<msub")
	}
	if k.id >= 0 {
		o.raw(` data-s="`)
		o.int(k.id)
		o.raw(`"`)
	}
	o.raw(">")
	if of != "" {
		o.raw("<mtext>")
		o.text(of + ".")
		o.raw("</mtext>")
		if scripted {
			o.raw("<msub>")
		}
	}
	start := len(o.b)
	o.stem(printed)
	middle := len(o.b)
	o.subscript(printed, call)
	end := len(o.b)
	if scripted {
		o.raw("</msub>")
	}
	if row {
		o.raw("</mrow>")
	}
	p.nameSpace = o.b
	n.math = string(o.b)
	n.base, n.sub = n.math[start:middle], n.math[middle:end]
	n.width = 1 + utf8.RuneCountInString(s.Name)*2/3 + len(of)
	return n
}

// callers is the caller's symbol behind one of a method's working, if there is one: a parameter
// prints as what was passed, a property of a state under the name the caller gives that state.
func (p *page) callers(s *resolve.Symbol) *resolve.Symbol {
	for range maxDepth {
		up := p.of(s).alias
		if up == nil && s.Local && s.State != nil {
			if st := p.outer(s.State); st != s.State {
				up = st.Prop(s.Prop)
			}
		}
		if up == nil || up == s {
			break
		}
		s = up
	}
	return s
}

// valueOf is a symbol's value; that of a method's parameter or state is its caller's.
func (p *page) valueOf(s *resolve.Symbol) (eval.Value, bool) {
	if v, ok := p.value(s); ok {
		return v, true
	}
	if v, ok := p.value(p.callers(s)); ok {
		return v, true
	}
	return p.tr.Value(s)
}

func (p *page) symbol(s *resolve.Symbol) string   { return p.named(s).math }
func (p *page) symbolWidth(s *resolve.Symbol) int { return p.named(s).width }

// scripts gives base and subscript of a symbol that can carry an exponent above its subscript.
func (m *maths) scripts(id *lang.Ident) (base, sub string, ok bool) {
	ref := m.refs.of(id)
	if ref == nil || ref.Op != resolve.OpRef || id.Of != nil {
		return "", "", false
	}
	n := m.page.named(ref.Sym)
	if n.sub == "" || ref.Sym.Sheet != "" && !ref.Sym.Local {
		return "", "", false
	}
	m.width += n.width
	return n.base, n.sub, true
}

// mathSymbol writes a symbol as maths of its own.
func (p *page) mathSymbol(s *resolve.Symbol) {
	p.raw("<math>", p.symbol(s), "</math>")
}

// spoken writes words that are heard, not seen: a header that is nothing but maths would be none
// to a program that reads headers aloud.
func (p *page) spoken(s string) {
	p.raw(`<span class="vh">`)
	p.text(s)
	p.raw("</span>")
}

// stateName is a state's ID, with the sheet it comes from and, inside a call, the call's number.
func (p *page) stateName(s *resolve.State) string {
	if s == nil {
		return "?"
	}
	s = p.outer(s)
	id := s.ID
	if s.Sheet != "" && !s.Local {
		id = s.Sheet + "." + id
	}
	if n := p.stateCall[s]; n != "" {
		id += ",\u2009" + n
	}
	return id
}

// ring writes the ringed number of a state.
func (p *page) ring(s *resolve.State) {
	p.raw(`<span class="ring">`)
	p.text(p.stateName(s))
	p.raw("</span>")
}
