package sheet

import (
	"strings"

	"workings/propsdb"
	"workings/runner/eval"
	"workings/runner/resolve"
	"workings/units"
)

// outer is the caller's state behind a method's parameter or output.
func (p *page) outer(s *resolve.State) *resolve.State {
	for range maxDepth {
		up := p.stateAlias[s]
		if up == nil || up == s {
			break
		}
		s = up
	}
	return s
}

// stateProp is the symbol of a state's property as MathML, whether the sheet reads it or not.
func (p *page) stateProp(s *resolve.State, q propsdb.Property) string {
	if sym := s.Prop(q); sym != nil {
		return p.symbol(sym)
	}
	out := p.outer(s)
	base, sub := p.typeset(q.Symbol()+"_"+out.ID, p.stateCall[out])
	return "<msub>" + base + sub + "</msub>"
}

// givenName is a property under the name it was given by: s₁ where a state was fixed by s = s₁.
func (p *page) givenName(s *resolve.State, q propsdb.Property) string {
	if x := givenBy(s, q); x != nil && x.Op == resolve.OpRef {
		return p.symbol(x.Sym)
	}
	return p.stateProp(s, q)
}

// stateEntry writes a state: its fluid, what fixes it, and each property the sheet uses.
func (p *page) stateEntry(e *eval.Entry) {
	l, st := e.Line, e.Line.State
	if e.Status != eval.Done || st == nil || e.State == nil {
		p.brokenEntry(e)
		return
	}
	d := p.draft("")
	shown := p.stateRows(e)
	d.eq(p, "")
	p.ring(st)
	p.rhs()
	p.fixedBy(d, l, e.State)
	p.blank()
	for _, r := range shown {
		d.eq(p, "")
		p.mathSymbol(r.Symbol)
		p.rhs()
		p.propertyRow(d, st, e.State, r)
		if h := r.Symbol; (h.Prop == propsdb.H || h.Prop == propsdb.U) && e.State.Fluid != nil && e.State.Fluid.Kind() != propsdb.PerfectGas && e.State.Fluid.Kind() != propsdb.Water {
			if !p.usesPrint {
				p.raw(`<span class="tx quiet"> counted from the zero named under <a href="#Sources">Sources</a>; printed tables differ from it by a constant</span>`)
			}
			p.usesPrint = true
		}
		p.resultCell(r.Symbol)
	}
	p.lookups(d, e)
	d.finish(p, e)
	p.end()
}

// stateRows are the properties that a state's entry shows: T, what was given by a formula, and
// what some line reads. A property given by a bare symbol or a literal stands in the first row.
func (p *page) stateRows(e *eval.Entry) []eval.Result {
	var rows []eval.Result
	for _, r := range e.Results {
		x := givenBy(e.Line.State, r.Symbol.Prop)
		switch {
		case !r.OK: // a property that this state has not
		case r.Symbol.State == nil:
		case x != nil && !worthValues(x):
		case x != nil || r.Read || r.Symbol.Prop == propsdb.T || p.answer(r.Symbol):
			rows = append(rows, r)
		}
	}
	return rows
}

func givenBy(s *resolve.State, q propsdb.Property) *resolve.Expr {
	for _, g := range s.Given {
		if g.Prop == q {
			return g.X
		}
	}
	return nil
}

// fixedBy writes air(p = p₂, s = s₁) and the same with values.
func (p *page) fixedBy(d *draft, l *resolve.Line, detail *eval.StateDetail) {
	st := l.State
	var xs []*resolve.Expr
	literals := true
	for _, g := range st.Given {
		xs = append(xs, g.X)
		_, _, ok := literal(g.X.Src)
		literals = literals && ok
	}
	p.refs.bind(xs...)
	mark := len(p.b)
	width := 0
	if !literals {
		width = p.fluidCall(st, func(i int, m *maths) { m.expr(st.Given[i].X.Src, precCond, true) })
	}
	between := len(p.b)
	width += p.fluidCall(st, func(i int, m *maths) {
		f, ok := p.givenFigure(st, detail, i)
		if !ok {
			m.failed = true
			return
		}
		m.value(f, free, true)
	})
	if literals {
		return
	}
	if width <= narrowEntry+10 {
		p.sideBySide(mark, between)
		return
	}
	p.ontoNextRow(d, between)
}

// givenFigure is what a state was given as its i-th property, as it enters a formula.
func (p *page) givenFigure(st *resolve.State, detail *eval.StateDetail, i int) (figure, bool) {
	if i >= len(detail.Given) {
		return figure{}, false
	}
	x, v := st.Given[i].X, detail.Given[i].Value
	if x.Op == resolve.OpRef {
		if f, ok := p.putIn(x.Sym); ok {
			return f, true
		}
	}
	if abs, ok := p.absolute(v); ok {
		return p.shown(abs), true
	}
	if n, sign, ok := literal(x.Src); ok && n.Unit != nil && n.Unit.Text == v.Unit.String() {
		return figure{sign + typed(n.Text), v.Unit}, true
	}
	return p.shown(v), true
}

// fluidCall writes `= air(p = …, s = …)`, each argument by arg.
func (p *page) fluidCall(st *resolve.State, arg func(i int, m *maths)) int {
	m := maths{buf: &p.buf, page: p, refs: &p.refs}
	name := "?"
	if st.Fluid != nil {
		name = st.Fluid.Name
	}
	p.raw("<math>", leadEquals)
	m.word(name)
	p.raw(applied, `<mo stretchy="false">(</mo>`)
	m.width = len(name) + 4
	for i, g := range st.Given {
		if i > 0 {
			p.raw(`<mo>,</mo></math> <math>`)
		}
		base, sub := p.typeset(g.Prop.Symbol(), "")
		m.subscripted(base, sub)
		m.operator("=")
		arg(i, &m)
	}
	p.raw(`<mo stretchy="false">)</mo></math>`)
	return m.width
}

// propertyRow says how a property of a state was found.
func (p *page) propertyRow(d *draft, st *resolve.State, detail *eval.StateDetail, r eval.Result) {
	if x := givenBy(st, r.Symbol.Prop); x != nil {
		p.formula(d, x, r.Value, true)
		return
	}
	if detail.Inverted && r.Symbol.Prop == detail.Inversion.Of {
		p.inversion(st, detail)
		return
	}
	relation := p.relation(st, detail.Fluid, r.Symbol.Prop)
	m := maths{display: strings.Contains(relation, "<mfrac>")}
	p.raw(m.begin(), leadEquals, relation, "</math>")
}

// inversion says which relation was solved for T, what it left and in how many steps.
func (p *page) inversion(st *resolve.State, detail *eval.StateDetail) {
	in := detail.Inversion
	p.raw(`<span class="tx">from</span> <math>`)
	t := p.stateProp(st, in.Of)
	target := figure{}
	if u, err := units.Parse(in.From.Unit()); err == nil {
		if pref, ok := units.Preferred(u.Dimension(), p.tr.Sheet.System); ok {
			u = pref
		}
		target = p.shown(p.valueIn(in.Target, u))
	}
	base, sub := p.typeset(in.From.Symbol(), "")
	m := maths{buf: &p.buf, page: p}
	m.subscripted(base, sub)
	p.raw(applied, `<mo stretchy="false">(</mo>`, t)
	if in.From == propsdb.S || st.Fluid != nil && isWater(st.Fluid.Base) {
		second := propsdb.P
		for _, g := range st.Given {
			if g.Prop == propsdb.V || g.Prop == propsdb.Rho {
				second = g.Prop
			}
		}
		p.raw(`<mo>,</mo><mspace width=".17em"/>`, p.givenName(st, second))
	}
	p.raw(`<mo stretchy="false">)</mo><mo>=</mo>`)
	if in.From == propsdb.So {
		p.raw(p.givenName(st, propsdb.S), `</math><wbr/><math><mo form="infix">+</mo>`, p.fluidR(st), times, `<mi>ln</mi>`, applied,
			`<mo stretchy="false">(</mo>`, p.givenName(st, propsdb.P), `<mo lspace="0" rspace="0">/</mo>`, standardPressure, `<mo stretchy="false">)</mo></math><wbr/><math><mo>=</mo>`)
	}
	p.mathFigure(target)
	p.raw(`</math><span class="tx quiet">, `)
	switch {
	case in.Steps == 0 && detail.Fluid.Kind() == propsdb.Water:
		p.raw("between saturated liquid and vapour")
	case detail.Fluid.Kind() == propsdb.PerfectGas:
		p.raw("in closed form")
	default:
		p.raw("residual ")
		p.figure(figure{units.FormatNumber(target.unit.FromSI(in.Residual, p.ambient), 2), target.unit})
		if in.Steps == 0 {
			p.raw(", from a table")
		} else {
			p.raw(", ", itoa(in.Steps), plural(in.Steps, " step", " steps"))
		}
	}
	p.raw("</span>")
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

const standardPressure = "<mn>1</mn><mtext>" + unitGap + "bar</mtext>"

const standardTemperature = "<mn>298.15</mn><mtext>" + unitGap + "K</mtext>"

func (p *page) fluidR(st *resolve.State) string {
	name := "R"
	if st.Fluid != nil {
		name = "R_" + st.Fluid.Name
	}
	base, sub := p.typeset(name, "")
	if sub == "" {
		return base
	}
	return "<msub>" + base + sub + "</msub>"
}

// relation is how a property follows from T and p, as MathML: from the polynomials of a gas of
// the database, in closed form for a perfect gas.
func (p *page) relation(st *resolve.State, f *propsdb.Fluid, q propsdb.Property) string {
	t, pr := p.givenName(st, propsdb.T), p.givenName(st, propsdb.P)
	r := p.fluidR(st)
	frac := func(a, b string) string { return "<mfrac><mrow>" + a + "</mrow><mrow>" + b + "</mrow></mfrac>" }
	cp := "<msub><mi>c</mi><mi>p</mi></msub>"
	of := func(args string) string {
		base, sub := p.typeset(q.Symbol(), "")
		if sub != "" {
			base = "<msub>" + base + sub + "</msub>"
		}
		return base + applied + `<mo stretchy="false">(</mo>` + args + `<mo stretchy="false">)</mo>`
	}
	if isWater(f) {
		return of(p.waterPair(st))
	}
	perfect := f != nil && f.Kind() == propsdb.PerfectGas
	switch q {
	case propsdb.V:
		return frac(r+times+t, pr)
	case propsdb.Rho:
		return frac(pr, r+times+t)
	case propsdb.P:
		return frac(r+times+t, p.givenName(st, propsdb.V))
	case propsdb.T:
		return frac(pr+times+p.givenName(st, propsdb.V), r)
	case propsdb.H:
		if perfect {
			return cp + times + t
		}
	case propsdb.U:
		return "<mi>h</mi>" + applied + `<mo stretchy="false">(</mo>` + t + `<mo stretchy="false">)</mo><mo>−</mo>` + r + times + t
	case propsdb.S:
		ln := "<mi>ln</mi>" + applied
		pressure := `</math><wbr/><math><mo form="infix">−</mo>` + r + times + ln + `<mo stretchy="false">(</mo>` + pr + `<mo lspace="0" rspace="0">/</mo>` + standardPressure + `<mo stretchy="false">)</mo>`
		if perfect {
			return cp + times + ln + `<mo stretchy="false">(</mo>` + t + `<mo lspace="0" rspace="0">/</mo>` + standardTemperature + `<mo stretchy="false">)</mo>` + pressure
		}
		return `<mi>s</mi><mo lspace="0" rspace="0">°</mo>` + applied + `<mo stretchy="false">(</mo>` + t + `<mo stretchy="false">)</mo>` + pressure
	case propsdb.Cv:
		return cp + applied + `<mo stretchy="false">(</mo>` + t + `<mo stretchy="false">)</mo><mo>−</mo>` + r
	case propsdb.K:
		return frac(cp, cp+"<mo>−</mo>"+r)
	case propsdb.C:
		return "<msqrt>" + "<mi>k</mi>" + times + r + times + t + "</msqrt>"
	case propsdb.R, propsdb.M, propsdb.Z:
		base, sub := p.typeset(q.Symbol()+"_"+fluidName(st), "")
		if q == propsdb.Z {
			return "<mn>1</mn>"
		}
		return "<msub>" + base + sub + "</msub>"
	}
	return of(t)
}

// waterPair is what a property of water follows from in its formulation: p and T, or, where the
// state is wet or saturated, the pair that was given.
func (p *page) waterPair(st *resolve.State) string {
	const comma = `<mo separator="true">,</mo>`
	if givenBy(st, propsdb.X) != nil || st.Prop(propsdb.X) != nil && p.has(st.Prop(propsdb.X)) {
		if len(st.Given) == 2 {
			return p.givenName(st, st.Given[0].Prop) + comma + p.givenName(st, st.Given[1].Prop)
		}
	}
	return p.givenName(st, propsdb.P) + comma + p.givenName(st, propsdb.T)
}

func (p *page) has(s *resolve.Symbol) bool {
	_, ok := p.value(s)
	return ok
}

func fluidName(st *resolve.State) string {
	if st.Fluid == nil {
		return ""
	}
	return st.Fluid.Name
}

// valueIn is an SI value shown in a unit.
func (p *page) valueIn(si float64, u units.Unit) eval.Value {
	if u.Kind() == units.Gauge && p.ambient == 0 {
		u = u.Difference() // nothing to count from: the absolute pressure
	}
	return eval.Value{SI: si, Unit: u, Shown: u.FromSI(si, p.ambient)}
}
