package sheet

import (
	"encoding/binary"
	"math"
	"strings"

	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/units"
)

// key is everything that a part of a page is made of, one after another.
type key []byte

func (k *key) whole(n int) { *k = binary.AppendVarint(*k, int64(n)) }

func (k *key) number(f float64) { *k = binary.LittleEndian.AppendUint64(*k, math.Float64bits(f)) }

func (k *key) text(s string) {
	k.whole(len(s))
	*k = append(*k, s...)
}

func (k *key) yes(b bool) {
	if b {
		*k = append(*k, 1)
	} else {
		*k = append(*k, 0)
	}
}

func (k *key) unit(u units.Unit) { k.text(u.String()) }

func (k *key) value(v eval.Value) {
	k.number(v.SI)
	k.number(v.Shown)
	k.unit(v.Unit)
	k.yes(v.Bool)
}

// entryKey makes the key of an entry and of its line in the trace. It is false for an entry that is
// written anew on every page: all but plain definitions and states of the notebook itself which have
// their values, with captions of text alone. What those are made of is the text of their line, the
// names in it with their values, their results, and who reads them.
func (p *page) entryKey(e *eval.Entry) bool {
	l := e.Line
	if e.Status != eval.Done || e.Number == "" || e.Sheet != "" || l.File != p.doc.File || l.Total != nil || l.Overridden ||
		len(e.Lookups) > 0 || len(e.WaitsFor) > 0 || p.inSolve > 0 || p.within != "" {
		return false
	}
	k := &p.key
	*k = (*k)[:0]
	k.whole(p.digits)
	k.number(p.ambient)
	k.whole(int(p.tr.Sheet.System))
	k.yes(p.usesPrint)
	k.whole(int(l.Kind))
	k.text(e.Number)
	span := l.Stmt.Span()
	*k = append(*k, l.File.Text[span.Start:span.End]...)
	if c := lang.CaptionOf(l.Stmt); c.Text != "" {
		plain, ok := p.sources[l.File].captions.Plain(c.Loc)
		if !ok {
			return false
		}
		k.whole(len(plain))
		*k = append(*k, plain...)
		k.text(c.Text)
	}
	for _, numbers := range [...][]string{e.Uses, e.UsedBy, l.Sources} {
		k.whole(len(numbers))
		for _, n := range numbers {
			if p.o.In != nil && strings.IndexByte(n, '.') >= 0 {
				return false // may lead to another page
			}
			k.text(n)
			k.yes(p.broken[n])
		}
	}
	for _, r := range e.Results {
		if !p.symbolKey(r.Symbol) || l.Kind == resolve.StateLine && r.Symbol.Adopted {
			return false
		}
		k.yes(r.OK)
		k.yes(r.Read)
		k.yes(p.answer(r.Symbol))
		k.value(r.Value)
	}
	switch l.Kind {
	case resolve.Define:
		if l.X == nil || len(l.Defines) != 1 {
			return false
		}
		p.refs.bind(l.X)
		p.literalKey(l.Defines[0])
		return plainOps(l.X) && p.bindingsKey(span.Start)
	case resolve.StateLine:
		return e.State != nil && p.stateKey(l.State, e.State) && p.bindingsKey(span.Start)
	}
	return false
}

// symbolKey adds a symbol as it is printed; false where that depends on more than its name.
func (p *page) symbolKey(s *resolve.Symbol) bool {
	known := p.of(s)
	if s.Local || s.Sheet != "" || known.id < 0 || known.alias != nil || known.call != "" || s.Unit.Kind() == units.Gauge {
		return false
	}
	p.key.text(s.Name)
	p.key.whole(known.id)
	p.key.whole(int(s.Prop))
	p.key.yes(s.State != nil)
	p.key.yes(s.Adopted)
	return true
}

// literalKey adds the author's own figures for a symbol, perhaps of another line.
func (p *page) literalKey(s *resolve.Symbol) {
	f, ok := p.literalOf(s)
	p.key.yes(ok)
	if ok {
		p.key.text(f.num)
		p.key.unit(f.unit)
	}
}

// stateKey adds a state, and makes known what its properties are bound to.
func (p *page) stateKey(st *resolve.State, d *eval.StateDetail) bool {
	if st == nil || st.Local || st.Sheet != "" || st.Alias != nil || p.outer(st) != st || p.stateCall[st] != "" || st.Fluid == nil || d.Fluid == nil {
		return false
	}
	k := &p.key
	k.text(st.ID)
	k.text(st.Fluid.Name)
	k.text(p.tr.FluidName(st.Fluid, d.Fluid))
	k.whole(int(d.Fluid.Kind()))
	k.yes(isWater(st.Fluid.Base))
	for _, s := range st.Props {
		if !p.symbolKey(s) {
			return false
		}
		k.yes(p.has(s))
	}
	var xs []*resolve.Expr
	for i, g := range st.Given {
		if g.X == nil || i >= len(d.Given) || i >= len(d.Names) || !plainOps(g.X) {
			return false
		}
		xs = append(xs, g.X)
		k.whole(int(g.Prop))
		k.whole(int(d.Names[i]))
		k.value(d.Given[i].Value)
	}
	k.yes(d.Inverted)
	if in := d.Inversion; d.Inverted {
		k.whole(int(in.Of))
		k.whole(int(in.From))
		k.number(in.Target)
		k.number(in.Residual)
		k.whole(in.Steps)
	}
	p.refs.bind(xs...)
	return true
}

// bindingsKey adds the names and constants of the line at hand, by their places in it, with what they
// are bound to and how that is put into a formula.
func (p *page) bindingsKey(start int) bool {
	if p.refs.many != nil {
		return false
	}
	k := &p.key
	for _, b := range p.refs.few {
		k.whole(b.src.Span().Start - start)
		k.whole(int(b.to.Op))
		switch b.to.Op {
		case resolve.OpConst:
			k.number(b.to.Value)
			k.unit(b.to.Unit)
		case resolve.OpRef:
			v, ok := p.valueOf(b.to.Sym)
			if !ok || !p.symbolKey(b.to.Sym) {
				return false
			}
			k.value(v)
			p.literalKey(b.to.Sym)
		}
	}
	return true
}

// plainOps reports an expression of nothing but names, constants and arithmetic.
func plainOps(x *resolve.Expr) bool {
	switch x.Op {
	case resolve.OpData, resolve.OpFluid, resolve.OpIntegrate, resolve.OpSmallest, resolve.OpLargest:
		return false
	}
	for _, a := range x.Args {
		if !plainOps(a) {
			return false
		}
	}
	return true
}

// symbolsKey makes the key of the index of symbols: their names, where they are defined and who reads
// them. It is false where names depend on calls, or numbers may lead to another page.
func (p *page) symbolsKey(uses [][]string) bool {
	k := &p.key
	*k = (*k)[:0]
	number := func(n string) bool {
		k.text(n)
		return p.o.In == nil || strings.IndexByte(n, '.') < 0
	}
	for _, s := range p.listed {
		if s.alias != nil || s.call != "" || !number(s.by.Number) {
			return false
		}
		k.text(s.Name)
		k.text(s.Sheet)
		k.yes(s.State != nil)
		k.yes(s.Adopted)
		k.whole(int(s.Prop))
		k.whole(len(uses[s.no]))
		for _, n := range uses[s.no] {
			if !number(n) {
				return false
			}
		}
	}
	return true
}

// evidenceKey makes the key of the property evidence: all states that were looked up, by whose numbers.
// It is false where those may lead to another page.
func (p *page) evidenceKey() bool {
	k := &p.key
	*k = (*k)[:0]
	k.whole(int(p.tr.Sheet.System))
	p.news.fluids = nil
	here := true
	var walk func(es []*eval.Entry)
	walk = func(es []*eval.Entry) {
		for _, e := range es {
			if d := e.State; d != nil && e.Status == eval.Done && d.Fluid != nil && e.Line.State != nil {
				here = here && (p.o.In == nil || strings.IndexByte(e.Number, '.') < 0)
				p.news.fluids = append(p.news.fluids, d.Fluid, d.State.Fluid())
				k.text(p.tr.FluidName(e.Line.State.Fluid, d.Fluid))
				k.text(p.stateName(e.Line.State))
				k.text(e.Number)
				*k = d.State.AppendKey(*k)
				k.whole(len(e.Results))
				for _, r := range e.Results {
					k.yes(r.Read)
					k.whole(int(r.Symbol.Prop))
					k.yes(r.Symbol.State != nil)
				}
			}
			walk(e.Children)
		}
	}
	walk(p.tr.Entries)
	return here
}
