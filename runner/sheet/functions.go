package sheet

import (
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/units"
)

// call writes a function, or a look-up in a data table.
func (m *maths) call(e *lang.Call) {
	bare := m.bare
	m.bare = false
	defer func() { m.bare = bare }()
	if e.Of == nil && len(e.Args) == 1 && e.Args[0].Name == nil {
		x := e.Args[0].X
		switch e.Fn.Text {
		case "sqrt":
			m.width++
			m.open("msqrt")
			m.expr(strip(x), free, true)
			m.close("msqrt")
			return
		case "abs":
			m.width += 2
			m.open("mrow")
			m.raw(`<mo form="prefix">|</mo>`)
			m.expr(strip(x), free, true)
			m.raw(`<mo form="postfix">|</mo>`)
			m.close("mrow")
			return
		case "exp":
			m.open("msup")
			m.raw(`<mi mathvariant="normal">e</mi>`)
			m.width++
			m.exponent(x)
			m.close("msup")
			return
		}
	}
	if overInterval(e) {
		m.interval(e)
		return
	}
	m.functionName(e)
	tall := false
	for _, a := range e.Args {
		tall = tall || m.tall(a.X)
	}
	m.brackets(tall, func() {
		for i, a := range e.Args {
			if i > 0 {
				m.raw(`<mo>,</mo><mspace width=".17em"/>`)
				m.width++
			}
			if a.Name != nil {
				base, sub := m.page.typeset(a.Name.Text, "")
				m.subscripted(base, sub)
				m.operator("=")
			}
			m.expr(a.X, precCond, true)
		}
	})
}

func (m *maths) functionName(e *lang.Call) {
	switch {
	case e.Of != nil:
		m.mathText(e.Of.Text + ".")
		base, sub := m.page.typeset(e.Fn.Text, "")
		m.subscripted(base, sub)
		m.width++
	case e.Fn.Text == "log10":
		m.raw("<msub><mi>log</mi><mn>10</mn></msub>")
		m.width += 4
	default:
		m.word(e.Fn.Text)
		m.width += len(e.Fn.Text)
	}
	m.raw(applied)
}

func (m *maths) subscripted(base, sub string) {
	m.width++
	if sub == "" {
		m.raw(base)
		return
	}
	m.raw("<msub>", base, sub, "</msub>")
}

// overInterval reports integrate(expr, x, a, b), smallest and largest.
func overInterval(e *lang.Call) bool {
	if e.Of != nil || len(e.Args) != 4 {
		return false
	}
	return e.Fn.Text == "integrate" || e.Fn.Text == "smallest" || e.Fn.Text == "largest"
}

// interval writes an integral with its sign, the smallest or largest value with the interval under
// its name.
func (m *maths) interval(e *lang.Call) {
	m.open("mrow")
	m.width += 4
	if e.Fn.Text == "integrate" {
		m.open("msubsup")
		m.raw("<mo>∫</mo>")
		m.small++
		m.part(e.Args[2].X)
		m.part(e.Args[3].X)
		m.small--
		m.close("msubsup")
	} else {
		m.open("munder")
		m.raw(`<mi mathvariant="normal">`, map[string]string{"smallest": "min", "largest": "max"}[e.Fn.Text], "</mi>")
		m.small++
		m.open("mrow")
		m.part(e.Args[2].X)
		m.raw("<mo>≤</mo>")
		m.variable(e.Args[1].X)
		m.raw("<mo>≤</mo>")
		m.part(e.Args[3].X)
		m.close("mrow")
		m.small--
		m.close("munder")
		m.raw(`<mspace width=".17em"/>`)
	}
	if ref := m.refs.of(e); ref != nil && ref.Sym != nil {
		m.bound = append(m.bound, ref.Sym)
		defer func() { m.bound = m.bound[:len(m.bound)-1] }()
	}
	m.expr(e.Args[0].X, precProduct, true)
	if e.Fn.Text == "integrate" {
		m.raw(`<mspace width=".17em"/><mi mathvariant="normal">d</mi>`)
		m.variable(e.Args[1].X)
	}
	m.close("mrow")
}

// variable writes the variable of an interval, which has no value.
func (m *maths) variable(x lang.Expr) {
	values := m.values
	m.values = false
	m.expr(x, precAtom, true)
	m.values = values
}

// constantValue is the figure of a built-in constant.
func (p *page) constantValue(e *resolve.Expr) figure {
	return figure{units.FormatNumber(e.Unit.FromSI(e.Value, p.ambient), p.digits), e.Unit}
}

// converted is a literal as it enters a formula: a °C or gauge literal as its absolute value.
func (p *page) converted(value float64, f figure) figure {
	switch f.unit.Kind() {
	case units.Point, units.Gauge:
	default:
		return f
	}
	if abs, ok := p.absolute(p.valueIn(f.unit.ToSI(value, p.ambient), f.unit)); ok {
		return p.shown(abs)
	}
	return f
}

// likeBudget bounds the look for a common unit: a longer sum has each unit written out.
const likeBudget = 64

// groupUnit reports a sum whose terms all show the same unit, which then stands once, after a
// bracket: (1004.9 − 424.71) kJ/kg.
func (m *maths) groupUnit(e lang.Expr) bool {
	if !m.values || m.bare {
		return false
	}
	b, ok := strip(e).(*lang.Binary)
	if !ok || b.Op != "+" && b.Op != "-" {
		return false
	}
	left := likeBudget
	u, ok := m.likeUnit(b, &left)
	return ok && !u.IsNone()
}

func (m *maths) likeUnit(e lang.Expr, left *int) (units.Unit, bool) {
	if *left--; *left < 0 {
		return units.Unit{}, false
	}
	switch e := e.(type) {
	case *lang.Paren:
		return m.likeUnit(e.X, left)
	case *lang.Unary:
		if e.Op == "-" {
			return m.likeUnit(e.X, left)
		}
	case *lang.Binary:
		if e.Op != "+" && e.Op != "-" {
			break
		}
		x, ok := m.likeUnit(e.X, left)
		if !ok {
			return x, false
		}
		y, ok := m.likeUnit(e.Y, left)
		return x, ok && x.Equal(y)
	case *lang.Number:
		if e.Unit == nil {
			return units.Unit{}, true
		}
		u, err := units.Parse(e.Unit.Text)
		if err != nil {
			return u, false
		}
		return m.page.converted(e.Value, figure{unit: u}).unit, true
	case *lang.Ident:
		ref := m.refs.of(e)
		if ref == nil || ref.Op != resolve.OpRef {
			return units.Unit{}, false
		}
		f, ok := m.page.putIn(ref.Sym)
		return f.unit, ok
	}
	return units.Unit{}, false
}

// group writes such a sum.
func (m *maths) group(e *lang.Binary, need int) {
	left := likeBudget
	u, _ := m.likeUnit(e, &left)
	write := func() {
		m.brackets(false, func() {
			m.bare = true
			m.spine(e, true)
			m.bare = false
		})
		m.mathUnit(u)
		m.width += 1 + len(u.String())
	}
	if need >= precPower {
		m.brackets(false, write)
		return
	}
	write()
}
