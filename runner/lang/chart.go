package lang

import (
	"fmt"

	"workings/runner/diag"
)

// ChartKind says what a chart shows.
type ChartKind int

// The kinds of charts.
const (
	PropertyChart  ChartKind = iota // `T against s through 1, 2, 3`
	StudyChart                      // `eta_th against r_p from STUDY`
	ProfileChart                    // `T along NAME`: the temperatures along an exchanger
	SchematicChart                  // `schematic of CYCLE`
)

type (
	// Chart is the whole of a `chart` fence.
	Chart struct {
		At
		Name Name // that links refer to it by; may be empty
		Kind ChartKind
		Head diag.Span // of the line that says what is shown
		// Y against X: properties, or symbols of a study, which may be those of a used sheet or a
		// cycle (gt.eta_th, plant.eta). Of ProfileChart only Y.
		Y, X  Name
		More  []Name // StudyChart: further symbols that have a curve each, after Y
		Paths []Path
		Study Name // StudyChart; may be that of a used sheet: gt.pressure_ratio
		// Along is the exchanger of a ProfileChart, AlongOf its cycle where that is named too; of a
		// SchematicChart Along is the cycle. AlongOf may be the name of a used sheet with a dot
		// before the cycle's.
		Along   Name
		AlongOf *Name
		Log     []Name // axes that are divided logarithmically
		Caption Caption
	}
	// Path is a row of states in a property diagram.
	Path struct {
		At
		States []StateRef
	}
)

func (*Chart) stmt() {}

const chartForm = "write T against s through 1, 2, 3; eta_th against r_p from STUDY; T along NAME; or schematic of CYCLE"

// chart reads a chart fence.
func (p *parser) chart(src Source) []Stmt {
	c := &Chart{At: At{src.Span}, Name: p.label(src)}
	lines, bad := p.captioned(&c.At, &c.Caption, func(n, lo, hi int) bool { return p.chartLine(c, n, lo, hi) })
	if lines == 0 && !bad {
		p.fail(src.Span, CodeChart, "this chart shows nothing", "expected a line that says what", chartForm)
		bad = true
	}
	if bad {
		return []Stmt{&Bad{At: c.At}}
	}
	return []Stmt{c}
}

func (p *parser) chartLine(c *Chart, n, lo, hi int) bool {
	t := &p.toks[lo]
	switch {
	case n == 0:
		c.Head = p.span(lo, hi).Loc
		return p.chartHead(c, lo, hi)
	case t.id("through") && c.Kind == PropertyChart && c.Y.Text != "":
		return p.path(c, lo, hi)
	case t.id("logarithmic") && (c.Kind == PropertyChart || c.Kind == StudyChart):
		return p.logarithmic(c, lo, hi)
	case t.id("logarithmic") || t.id("through"):
		p.fail(t.at, CodeChart, fmt.Sprintf("`%s` means nothing in this chart", t.text), "expected the end of the fence", "it belongs to a chart of one quantity against another")
		return false
	}
	label := nearHint(t.text, []string{"through", "logarithmic"})
	if label == "" {
		label = "expected through or logarithmic"
	}
	p.fail(p.span(lo, hi).Loc, CodeChart, "a chart shows one thing", label, "begin another fence ```chart for another picture")
	return false
}

func (p *parser) chartHead(c *Chart, lo, hi int) bool {
	if p.toks[lo].id("schematic") {
		return p.schematic(c, lo, hi)
	}
	i, ok := p.member(&c.Y, lo, hi)
	if !ok {
		return false
	}
	for i < hi && p.toks[i].op(",") {
		var n Name
		if i, ok = p.member(&n, i+1, hi); !ok {
			return false
		}
		c.More = append(c.More, n)
	}
	switch {
	case i < hi && p.toks[i].id("along") && c.More == nil:
		return p.profile(c, i, hi)
	case i < hi && p.toks[i].id("against"):
	default:
		at, label := p.toks[hi-1].at, "expected against or along"
		if i < hi {
			at = p.toks[i].at
		}
		if near := nearHint(p.toks[lo].text, []string{"schematic"}); near != "" {
			at, label = p.toks[lo].at, near
		} else if near := nearHint(p.toks[min(i, hi-1)].text, []string{"against", "along"}); near != "" {
			label = near
		}
		p.fail(at, CodeChart, "this chart cannot be read", label, chartForm)
		return false
	}
	if i, ok = p.member(&c.X, i+1, hi); !ok {
		return false
	}
	if c.More != nil && i < hi && p.toks[i].id("through") {
		p.fail(c.More[0].Loc, CodeChart, "a diagram of states shows one property upwards", "expected against", "begin another fence ```chart for another property")
		return false
	}
	switch {
	case i < hi && p.toks[i].id("through"):
		return p.path(c, i, hi)
	case i < hi && p.toks[i].id("from"):
		c.Kind = StudyChart
		if i, ok = p.member(&c.Study, i+1, hi); !ok {
			return false
		}
		return p.chartEnd(i, hi)
	}
	at, label := p.toks[hi-1].at, "expected through and states, or from STUDY"
	if i < hi {
		at = p.toks[i].at
		if near := nearHint(p.toks[i].text, []string{"through", "from"}); near != "" {
			label = near
		}
	}
	p.fail(at, CodeChart, "this chart does not say what is drawn", label, chartForm)
	return false
}

// axis reads the name at i.
func (p *parser) axis(n *Name, i, hi int) bool {
	if i >= hi {
		p.fail(p.toks[hi-1].at, CodeChart, "a name is missing", "expected a name after this", chartForm)
		return false
	}
	t := &p.toks[i]
	if t.kind != tID || nameLen(t.text) != len(t.text) {
		p.fail(t.at, CodeChart, fmt.Sprintf("`%s` is no name", p.spelled(t)), "expected a name", chartForm)
		return false
	}
	*n = p.nameAt(i)
	return true
}

func (p *parser) chartEnd(i, hi int) bool {
	if i == hi {
		return true
	}
	p.fail(p.toks[i].at, CodeChart, fmt.Sprintf("`%s` cannot stand here", p.spelled(&p.toks[i])), "expected the end of the line", chartForm)
	return false
}

func (p *parser) path(c *Chart, lo, hi int) bool {
	if lo+1 == hi {
		p.fail(p.toks[lo].at, CodeChart, "`through` names no states", "expected states after this", "write through 1, 2, 3, 1")
		return false
	}
	refs, ok := p.idList(lo+1, hi, ",", CodeChart)
	if !ok {
		return false
	}
	c.Paths = append(c.Paths, Path{p.span(lo, hi), refs})
	return true
}

func (p *parser) logarithmic(c *Chart, lo, hi int) bool {
	for i := lo + 1; ; i++ {
		var n Name
		var ok bool
		if i, ok = p.member(&n, i, hi); !ok {
			return false
		}
		c.Log = append(c.Log, n)
		if i == hi {
			return true
		}
		if !p.toks[i].op(",") {
			return p.chartEnd(i, hi)
		}
	}
}

// member reads NAME, A.NAME or A.B.NAME as one name.
func (p *parser) member(n *Name, i, hi int) (next int, ok bool) {
	of, name, next, ok := p.dotted(i, hi)
	if ok && of != nil {
		name = Name{At{of.Loc.Join(name.Loc)}, of.Text + "." + name.Text}
	}
	*n = name
	return next, ok
}

// dotted reads NAME, A.NAME or A.B.NAME.
func (p *parser) dotted(i, hi int) (of *Name, n Name, next int, ok bool) {
	if !p.axis(&n, i, hi) {
		return nil, n, i, false
	}
	for i++; i+1 < hi && p.toks[i].op("."); i += 2 {
		before := n
		if of != nil {
			before = Name{At{of.Loc.Join(n.Loc)}, of.Text + "." + n.Text}
		}
		of = &before
		if !p.axis(&n, i+1, hi) {
			return nil, n, i, false
		}
	}
	return of, n, i, true
}

func (p *parser) profile(c *Chart, i, hi int) bool {
	c.Kind = ProfileChart
	var ok bool
	if c.AlongOf, c.Along, i, ok = p.dotted(i+1, hi); !ok {
		return false
	}
	return p.chartEnd(i, hi)
}

func (p *parser) schematic(c *Chart, lo, hi int) bool {
	c.Kind = SchematicChart
	if lo+1 == hi || !p.toks[lo+1].id("of") {
		p.fail(p.toks[lo].at, CodeChart, "this chart does not say of which cycle", "expected of CYCLE after this", chartForm)
		return false
	}
	var ok bool
	if c.AlongOf, c.Along, lo, ok = p.dotted(lo+2, hi); !ok {
		return false
	}
	return p.chartEnd(lo, hi)
}
