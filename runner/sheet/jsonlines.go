package sheet

import (
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
)

// jsonLines is the list of all lines that have a number, in reading order.
func (p *page) jsonLines(o *encoder) {
	o.open('[')
	for _, e := range p.tr.Entries {
		p.addLines(o, e)
	}
	o.shut(']')
}

// addLines adds an entry and what is under it.
func (p *page) addLines(o *encoder, e *eval.Entry) {
	if e.Number != "" {
		o.next()
		p.rememberedLine(o, e)
	}
	if e.Line.Sub != nil {
		outer := p.ambient
		p.ambient = e.Line.Sub.Ambient
		defer func() { p.ambient = outer }()
	}
	for _, c := range e.Children {
		p.addLines(o, c)
	}
}

func (p *page) jsonLine(o *encoder, e *eval.Entry) {
	l := e.Line
	o.open('{')
	o.textMember("id", e.Number)
	if file := p.fileOf(l.File); file != "" {
		o.textMember("file", file)
	}
	o.wholeMember("line", typedLine(l))
	o.textMember("kind", kindWord(l))
	o.textMember("status", statusWord(e.Status))
	o.key("expression")
	o.b = append(o.b, '"')
	start := len(o.b)
	o.b = appendExpression(o.b, l)
	o.endText(start)
	o.key("substituted")
	o.b = append(o.b, '"')
	start = len(o.b)
	o.b = p.appendSubstituted(o.b, e)
	o.endText(start)
	if basis := lineBases(l); len(basis) > 0 {
		o.textsMember("basis", basis)
	}
	if names := p.jsonNames(e.Sheet, expressions(l)...); len(names) > 0 {
		o.key("names")
		o.object(names)
	}
	o.key("results")
	o.open('[')
	for _, r := range e.Results {
		if r.OK {
			p.jsonResult(o, r.Symbol, r.Value)
		}
	}
	o.shut(']')
	if l.Kind == resolve.Call {
		p.jsonParameters(o, l)
	}
	o.textsMember("uses", e.Uses)
	if len(e.WaitsFor) > 0 {
		o.textsMember("waits_for", e.WaitsFor)
	}
	o.textMember("caption", lang.CaptionOf(l.Stmt).Text)
	o.textsMember("source", l.Sources)
	if l.Overridden {
		o.key("overridden")
		o.b = append(o.b, "true"...)
	}
	if e.State != nil && l.State != nil {
		p.jsonState(o, l.State, e.State)
	}
	if e.Solve != nil {
		o.recordMember("solve", p.jsonSolve(e))
	}
	if single, _ := readings(e); len(single) > 0 {
		o.key("lookups")
		o.open('[')
		for _, k := range single {
			o.next()
			o.record(p.jsonLookup(k))
		}
		o.shut(']')
	}
	o.shut('}')
}

// jsonResult is a symbol with its value.
func (p *page) jsonResult(o *encoder, s *resolve.Symbol, v eval.Value) {
	o.next()
	o.open('{')
	o.textMember("symbol", s.Full())
	p.jsonValue(o, v)
	o.shut('}')
}

// jsonValue are the members of a value.
func (p *page) jsonValue(o *encoder, v eval.Value) {
	o.twoNumbers("si", v.SI, "", "", "value", v.Shown)
	o.textMember("unit", p.traceUnit(v))
}

func (p *page) jsonState(o *encoder, st *resolve.State, d *eval.StateDetail) {
	o.key("state")
	o.open('{')
	o.textMember("id", st.ID)
	o.textMember("fluid", p.tr.FluidName(st.Fluid, d.Fluid))
	o.key("given")
	o.open('[')
	for i, g := range d.Given {
		name := ""
		if i < len(d.Names) {
			name = d.Names[i].Symbol()
		}
		o.next()
		o.open('{')
		o.textMember("property", name)
		p.jsonValue(o, g.Value)
		o.shut('}')
	}
	o.shut(']')
	if d.Inverted {
		o.key("inversion")
		o.open('{')
		o.textMember("of", d.Inversion.Of.Symbol())
		o.textMember("from", d.Inversion.From.Symbol())
		o.numberMember("target", d.Inversion.Target)
		o.numberMember("residual", d.Inversion.Residual)
		o.wholeMember("steps", d.Inversion.Steps)
		o.shut('}')
	}
	o.shut('}')
}

func (p *page) jsonSolve(e *eval.Entry) *jsonSolve {
	s := e.Solve
	j := &jsonSolve{Unknowns: []string{}, Lo: p.valuesOf(s.Lo), Hi: p.valuesOf(s.Hi), Extreme: s.Extreme, Residuals: []jsonValue{}, Steps: s.Steps, Runs: s.Runs}
	for _, u := range e.Line.Unknowns {
		j.Unknowns = append(j.Unknowns, u.Full())
	}
	for _, r := range s.Residuals {
		j.Residuals = append(j.Residuals, p.jsonOf(p.residual(r)))
	}
	return j
}

// residual is what a solve left, counted in the unit of a difference.
func (p *page) residual(v eval.Value) eval.Value {
	v.Shown = v.Unit.FromSI(v.SI, 0)
	return v
}

// jsonParameters are the values that a call hands to its working, as far as the working reads them.
func (p *page) jsonParameters(o *encoder, l *resolve.Line) {
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
	none := true
	add := func(s *resolve.Symbol) {
		v, ok := p.tr.Value(s)
		if !ok || !read[s] {
			return
		}
		if none {
			o.key("parameters")
			o.open('[')
			none = false
		}
		p.jsonResult(o, s, v)
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
	if !none {
		o.shut(']')
	}
}

func kindWord(l *resolve.Line) string {
	switch l.Kind {
	case resolve.Input:
		return "input"
	case resolve.Define:
		return "equation"
	case resolve.FluidLine:
		return "fluid"
	case resolve.StateLine:
		return "state"
	case resolve.Check:
		return checkWord(l.Stmt)
	case resolve.Call:
		return "call"
	case resolve.Solve:
		return "solve"
	case resolve.Until:
		return "until"
	case resolve.Use:
		return "use"
	case resolve.CycleLine:
		return "cycle"
	case resolve.ComponentLine:
		return "component"
	case resolve.AcceptLine:
		return "accept"
	case resolve.MethodLine:
		return "method"
	case resolve.DataLine:
		return "data"
	}
	return "unread"
}

func statusWord(s eval.Status) string {
	switch s {
	case eval.Failed:
		return "failed"
	case eval.Waiting:
		return "waits"
	}
	return "done"
}

// appendExpression appends a line's expression in the notebook's own language.
func appendExpression(b []byte, l *resolve.Line) []byte {
	var x lang.Expr
	switch s := l.Stmt.(type) {
	case *lang.Input:
		x = s.X
	case *lang.Define:
		x = s.X
	default:
		return append(b, sourceText(l)...)
	}
	if l.X != nil {
		x = l.X.Src // that of an input may come from outside
	}
	return lang.AppendExpr(b, x)
}

func lineBases(l *resolve.Line) []string {
	switch l.Stmt.(type) {
	case *lang.Input, *lang.Define:
		return bases(l.X)
	}
	return nil
}

// appendSubstituted appends a line's expression with the values put in; nothing where that would
// say no more, or where a value is missing.
func (p *page) appendSubstituted(b []byte, e *eval.Entry) []byte {
	l := e.Line
	switch l.Stmt.(type) {
	case *lang.Input, *lang.Define:
	default:
		if l.Kind == resolve.StateLine && e.Status == eval.Done && e.State != nil {
			return p.appendState(b, l.State, e.State)
		}
		return b
	}
	if l.X == nil || e.Status != eval.Done || !worthValues(l.X) {
		return b
	}
	p.refs.bind(l.X)
	missing := false
	with := lang.AppendSubstituted(b, l.X.Src, func(x lang.Expr) (string, bool) {
		ref := p.refs.of(x)
		switch {
		case ref == nil:
			return "", false
		case ref.Op == resolve.OpRef:
			f, ok := p.putIn(ref.Sym)
			missing = missing || !ok
			return f.typeable(), ok
		case ref.Op == resolve.OpConst:
			if n, ok := x.(*lang.Number); ok && n.Unit != nil {
				if f := p.converted(n.Value, figure{unit: ref.Unit}); f.num != "" {
					return f.typeable(), true
				}
			}
		}
		return "", false
	})
	if missing {
		return b
	}
	return with
}

// appendState appends what fixes a state, with its values: air(p = 8 bar, s = 6.8704 kJ/(kg·K)).
func (p *page) appendState(b []byte, st *resolve.State, detail *eval.StateDetail) []byte {
	with := append(append(b, fluidName(st)...), '(')
	for i, g := range st.Given {
		f, ok := p.givenFigure(st, detail, i)
		if !ok {
			return b
		}
		if i > 0 {
			with = append(with, ", "...)
		}
		with = append(append(append(with, g.Prop.Symbol()...), " = "...), f.typeable()...)
	}
	return append(with, ')')
}
