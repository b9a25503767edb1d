package sheet

import (
	"workings/runner/eval"
	"workings/runner/resolve"
	"workings/units"
)

// uncertaintyDigits: a standard uncertainty is given with two significant digits at most
// (JCGM 100:2008 (GUM), 7.2.6; as quoted).
const uncertaintyDigits = 2

// anyUncertain reports whether one of the answers has an uncertainty, and with it its column.
func (p *page) anyUncertain(lines []*resolve.Line) bool {
	for _, l := range lines {
		if _, ok := p.tr.UncertaintyOf(l.Shown); ok {
			return true
		}
	}
	return false
}

// uncertaintyCell writes the combined standard uncertainty of an answer.
func (p *page) uncertaintyCell(s *resolve.Shown) {
	p.raw(`<td class="pm">`)
	if v, ok := p.tr.UncertaintyOf(s); ok {
		p.raw("± ")
		p.text(units.FormatNumber(v.Shown, uncertaintyDigits))
		if !v.Unit.IsNone() {
			p.raw(` <span class="u">`)
			p.text(v.Unit.String())
			p.raw("</span>")
		}
	}
	p.raw("</td>")
}

// mostParts is how many inputs are named as what an uncertainty comes from.
const mostParts = 4

// uncertaintyFrom names the inputs that an answer's uncertainty comes from, the largest part
// first, with their shares of its square.
func (p *page) uncertaintyFrom(s *resolve.Shown) {
	if _, ok := p.tr.UncertaintyOf(s); !ok {
		return
	}
	p.raw(`<span class="from">uncertainty from `)
	for i, c := range p.tr.Uncertain[s.Symbol].From {
		if i == mostParts {
			p.raw(" …")
			break
		}
		if i > 0 {
			p.raw(", ")
		}
		p.mathSymbol(c.Input)
		p.raw(" ", percentOf(c), " %")
	}
	p.raw("</span>")
}

func percentOf(c eval.Contribution) string {
	if n := int(100*c.Share + 0.5); n > 0 {
		return itoa(n)
	}
	return "under 1"
}
