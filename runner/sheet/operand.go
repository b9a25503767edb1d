package sheet

import (
	"slices"
	"unicode/utf8"
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/units"
)

func (m *maths) number(n *lang.Number, need int, lead bool) {
	f := figure{num: typed(n.Text)}
	if n.Unit != nil {
		u, err := units.Parse(n.Unit.Text)
		if err != nil {
			m.mathText(n.Text + " " + n.Unit.Text)
			return
		}
		f.unit = u
		if m.values {
			f = m.page.converted(n.Value, f)
		}
	}
	m.value(f, need, lead)
}

// value writes a figure. A negative one, and one with a unit under an exponent, needs brackets.
func (m *maths) value(f figure, need int, lead bool) {
	inner := func() {
		m.num(f.num)
		m.width += utf8.RuneCountInString(f.num)
		if !m.bare {
			m.mathUnit(f.unit)
			if !f.unit.IsNone() {
				m.width += 1 + utf8.RuneCountInString(f.unit.String())
			}
		}
	}
	if f.negative() && !lead || need >= precPower && (f.negative() || f.power() || !f.unit.IsNone()) {
		m.brackets(false, inner)
		return
	}
	inner()
}

func (m *maths) ident(id *lang.Ident, need int, lead bool) {
	ref := m.refs.of(id)
	if ref == nil || ref.Op != resolve.OpRef {
		m.constant(id, ref, need, lead)
		return
	}
	if !m.values || slices.Contains(m.bound, ref.Sym) {
		m.raw(m.page.symbol(ref.Sym))
		m.width += m.page.symbolWidth(ref.Sym)
		return
	}
	f, ok := m.page.putIn(ref.Sym)
	if !ok {
		m.failed = true
		return
	}
	m.value(f, need, lead)
}

// constant writes pi, R_u, g_n, or a name that has no symbol behind it (the variable of an
// integral, a gas).
func (m *maths) constant(id *lang.Ident, ref *resolve.Expr, need int, lead bool) {
	if id.Of == nil && id.Name.Text == "pi" {
		m.width++
		m.raw(`<mi mathvariant="normal">π</mi>`)
		return
	}
	if m.values && ref != nil && ref.Op == resolve.OpConst {
		m.value(m.page.constantValue(ref), need, lead)
		return
	}
	base, sub := m.page.typeset(id.Name.Text, "")
	if sub == "" {
		m.raw(base)
	} else {
		m.raw("<msub>", base, sub, "</msub>")
	}
	m.width += utf8.RuneCountInString(id.Name.Text)
}

// mathText writes words inside maths.
func (m *maths) mathText(s string) {
	m.width += utf8.RuneCountInString(s)
	m.raw("<mtext>")
	m.text(s)
	m.raw("</mtext>")
}
