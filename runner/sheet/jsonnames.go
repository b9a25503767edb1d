package sheet

import (
	"maps"
	"slices"

	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/units"
)

// jsonUnit is what a unit of the trace means: si = factor·value + offset, and for a gauge pressure
// the sheet's ambient pressure on top.
type jsonUnit struct {
	SIUnit string `json:"si_unit"`
	Factor number `json:"factor"`
	Offset number `json:"offset,omitempty"`
	Gauge  bool   `json:"gauge,omitempty"`
}

// noteUnit keeps a unit that the trace names, under the spelling it has there.
func (p *page) noteUnit(text string, u units.Unit) {
	if !u.IsNone() {
		p.traceUnits[text] = u
	}
}

// jsonUnits are the units that the trace names.
func (p *page) jsonUnits() members {
	out := members{}
	for _, text := range slices.Sorted(maps.Keys(p.traceUnits)) {
		u := p.traceUnits[text]
		j := jsonUnit{SIUnit: units.SIUnit(u.Dimension()).String(), Factor: number(u.Difference().ToSI(1, 0)), Gauge: u.Kind() == units.Gauge}
		if u.Kind() == units.Point {
			j.Offset = number(u.ToSI(0, 0))
		}
		out = append(out, member{text, j})
	}
	return out
}

// jsonNames gives the symbol behind each name of expressions whose spelling is not that of the
// symbol, and notes the units of their literals.
func (p *page) jsonNames(sheet string, xs ...*resolve.Expr) members {
	var out members
	seen := map[string]bool{}
	p.bindNames(xs...)
	for _, x := range xs {
		if x == nil {
			continue
		}
		lang.Walk(x.Src, func(n lang.Node) bool {
			switch n := n.(type) {
			case *lang.Number:
				if n.Unit != nil {
					if u, err := units.Parse(n.Unit.Text); err == nil {
						p.noteUnit(n.Unit.Text, u)
					}
				}
			case *lang.Ident:
				ref := p.exprs[n]
				if ref == nil || ref.Op != resolve.OpRef || ref.Sym == nil {
					break
				}
				written, want := lang.FormatExpr(n), ref.Sym.Full()
				if own := inSheet(sheet, written); own != want && !seen[written] {
					seen[written] = true
					out = append(out, member{written, want})
				}
			}
			return true
		})
	}
	return out
}

func inSheet(sheet, name string) string {
	if sheet == "" {
		return name
	}
	return sheet + "." + name
}

// jsonParameters are the values that a call hands to its working, as far as the working reads them.
func (p *page) jsonParameters(l *resolve.Line) []jsonResult {
	read := map[*resolve.Symbol]bool{}
	var walk func(ls []*resolve.Line)
	walk = func(ls []*resolve.Line) {
		for _, b := range ls {
			for _, s := range b.Uses {
				read[s] = true
			}
			walk(b.Body)
		}
	}
	walk(l.Body)
	var out []jsonResult
	add := func(s *resolve.Symbol) {
		if v, ok := p.tr.Value(s); ok && read[s] {
			out = append(out, jsonResult{s.Full(), p.jsonOf(v)})
		}
	}
	for _, b := range l.Inputs {
		switch {
		case b.Local != nil:
			for _, s := range b.Local.Props {
				add(s)
			}
		case b.Symbol != nil:
			add(b.Symbol)
		}
	}
	return out
}

// traceUnit is the unit of a value as the trace names it.
func (p *page) traceUnit(v eval.Value) string {
	text := unitText(v)
	if text != "1" {
		p.noteUnit(text, v.Unit)
	}
	return text
}

func unitText(v eval.Value) string {
	if v.Bool || v.Unit.IsNone() {
		return "1"
	}
	return v.Unit.String()
}
