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
		if p.memory != nil {
			p.news.named = append(p.news.named, named{text, u})
		}
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
	p.refs.bind(xs...)
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
				ref := p.refs.of(n)
				if ref == nil || ref.Op != resolve.OpRef || ref.Sym == nil {
					break
				}
				if sheet == ref.Sym.Sheet && n.Of == nil && n.Name.Text == ref.Sym.Name {
					break
				}
				written, want := lang.FormatExpr(n), ref.Sym.Full()
				if own := inSheet(sheet, written); own != want && !slices.ContainsFunc(out, func(m member) bool { return m.key == written }) {
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
