package sheet

import (
	"workings/propsdb"
	"workings/runner/eval"
	"workings/runner/resolve"
)

// readResults are the results of an entry that some line reads.
func readResults(e *eval.Entry) []eval.Result {
	var read []eval.Result
	for _, r := range e.Results {
		if r.Read {
			read = append(read, r)
		}
	}
	return read
}

// fluidEntry writes a fluid: how it was made and what it brings.
func (p *page) fluidEntry(e *eval.Entry) {
	l := e.Line
	f := l.Fluid
	if e.Status != eval.Done || f == nil {
		p.brokenEntry(e)
		return
	}
	shown := readResults(e)
	d := p.draft("")
	d.eq(p, "")
	p.raw(`<span class="tx">fluid</span>`)
	p.rhs()
	if len(f.Args) > 0 {
		p.fluidArgs(f)
		p.raw("<br/>")
	}
	p.raw(`<span class="tx">`)
	if used := p.fluidUsed(f); used != nil {
		p.text(used.Describe())
	} else if f.Base != nil {
		p.text(f.Base.Describe())
	} else {
		p.text(f.Name)
	}
	p.raw("</span>")
	p.blank()
	for _, r := range shown {
		d.eq(p, "")
		p.mathSymbol(r.Symbol)
		p.rhs()
		p.raw(`<span class="tx quiet">of `)
		p.text(f.Name)
		p.raw("</span>")
		p.resultCell(r.Symbol)
	}
	d.finish(p, e)
	p.end()
}

func (p *page) fluidUsed(fluid *resolve.Fluid) *propsdb.Fluid {
	for _, f := range p.tr.Fluids {
		if f.Of == fluid {
			return f.Fluid
		}
	}
	return nil
}

// fluidArgs writes perfect(k = 1.4, …) or mixture(mole, N2 = 0.78, …).
// fluidWord is an argument's name in words, where it is no symbol of the trade.
func fluidWord(name string) string {
	switch name {
	case "excess":
		return "excess air"
	case "theoretical":
		return "theoretical air"
	case "phi":
		return "equivalence ratio"
	case "far":
		return "fuel–oxidant mass ratio"
	case "relative":
		return "relative humidity"
	case "ratio":
		return "humidity ratio"
	case "lower", "higher":
		return name + " heating value"
	}
	return name
}

func fuelName(f *resolve.FuelRef) string {
	if f.Fluid != nil {
		return f.Fluid.Name
	}
	return f.Base.Name()
}

func (p *page) fluidArgs(f *resolve.Fluid) {
	var xs []*resolve.Expr
	for _, a := range f.Args {
		xs = append(xs, a.X)
	}
	p.refs.bind(xs...)
	m := maths{buf: &p.buf, page: p, refs: &p.refs}
	kind := map[resolve.FluidKind]string{resolve.PerfectGas: "perfect", resolve.MixtureOf: "mixture", resolve.ProductsOf: "products",
		resolve.HumidAir: "humid_air", resolve.FuelOf: "fuel"}[f.Kind]
	p.raw("<math><mi>", kind, "</mi>", applied, `<mo stretchy="false">(</mo>`)
	if f.Kind == resolve.MixtureOf {
		p.raw("<mtext>by ", f.Basis.String(), "</mtext><mo>,</mo><mspace width=\".2em\"/>")
	}
	if f.Kind == resolve.ProductsOf {
		p.raw("<mtext>of ")
		p.text(fuelName(f.Fuel))
		p.raw(" in ")
		p.text(f.Oxidant.Name)
		p.raw("</mtext><mo>,</mo></math> <math>")
	}
	for i, a := range f.Args {
		if i > 0 {
			p.raw(`<mo>,</mo></math> <math>`)
		}
		if f.Kind != resolve.PerfectGas && len(a.Name) > 1 || f.Kind == resolve.MixtureOf || f.Kind == resolve.FuelOf {
			m.mathText(fluidWord(a.Name))
		} else {
			base, sub := p.typeset(a.Name, "")
			m.subscripted(base, sub)
		}
		m.operator("=")
		if a.X != nil {
			m.nest++
			m.expr(a.X.Src, precCond, true)
			if a.X.Op != resolve.OpConst {
				m.operator("=")
				m.values = true
				m.expr(a.X.Src, precCond, true)
				m.values = false
			}
			m.nest--
		}
	}
	p.raw(`<mo stretchy="false">)</mo></math>`)
}

func isWater(f *propsdb.Fluid) bool { return f != nil && f.Kind() == propsdb.Water }
