package sheet

import (
	"slices"
	"strings"

	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
)

// inputsTable writes an `inputs` fence.
func (p *page) inputsTable(lines []*resolve.Line) {
	spread := slices.ContainsFunc(lines, hasSpread) // else its column is left out
	p.raw(`<table class="tab inputs"><caption class="vh">Inputs</caption><thead><tr><th scope="col" class="no">entry</th>`,
		`<th scope="col" class="sy">symbol</th><th scope="col" class="nv">value</th><th scope="col" class="un">unit</th>`)
	if spread {
		p.raw(`<th scope="col" class="sp"><abbr title="standard uncertainty">±</abbr></th>`)
	}
	p.raw(`<th scope="col" class="de">what it is</th><th scope="col" class="rg">allowed</th><th scope="col" class="so">source</th><th scope="col" class="us">used in</th>`,
		`<th scope="col" class="ck">tick</th></tr></thead><tbody>`, "\n")
	columns := 9
	if spread {
		columns++
	}
	for _, l := range lines {
		if p.full() {
			break
		}
		e := p.entry(l)
		switch {
		case l.Kind == resolve.Heading:
			if h, ok := l.Stmt.(*lang.Heading); ok && h.Caption.Text != "" {
				p.raw(`<tr class="run"><th scope="colgroup" colspan="`, itoa(columns), `">`)
				p.caption(l.File, h.Caption.Loc)
				p.raw("</th></tr>\n")
			}
		case e == nil:
		case l.Kind == resolve.CorrelationLine && e.Status == eval.Done && l.X != nil:
			p.correlationRow(l, spread)
		case e.Status != eval.Done || l.Kind != resolve.Input || len(l.Defines) == 0:
			p.brokenInput(l, e, columns-2)
		default:
			p.inputRow(l, e, spread)
		}
	}
	p.raw("</tbody></table>\n")
}

func hasSpread(l *resolve.Line) bool {
	in, ok := l.Stmt.(*lang.Input)
	return ok && in.Spread != nil
}

func (p *page) inputRow(l *resolve.Line, e *eval.Entry, spread bool) {
	p.raw(`<tr id="e`)
	p.attr(e.Number)
	p.raw(`"`)
	p.trailData(e)
	p.raw(">")
	p.inputCells(l, e, spread)
	p.raw(`<td class="us">`)
	p.entryLinks(inOrder(e.UsedBy))
	p.raw(`</td><td class="ck"></td></tr>`, "\n")
}

// inputCells writes an input from its number to its source.
func (p *page) inputCells(l *resolve.Line, e *eval.Entry, spread bool) {
	s := l.Defines[0]
	in, _ := l.Stmt.(*lang.Input)
	p.raw(`<th class="no" scope="row">`)
	p.entryLink(e.Number)
	p.raw(`</th><td class="sy">`)
	p.mathSymbol(s)
	p.raw(`</td><td class="nv"><b>`)
	f, _ := p.result(s)
	p.text(f.num)
	p.raw(`</b></td><td class="un">`)
	if !f.unit.IsNone() {
		p.text(f.unit.String())
		p.seen(f.unit)
	}
	if spread {
		p.raw(`</td><td class="sp">`)
	}
	if hasSpread(l) {
		p.raw("± ")
		p.refs.bind(l.Spread)
		p.mathSource(in.Spread, false, "")
	}
	p.raw(`</td><td class="de">`)
	if c := lang.CaptionOf(l.Stmt); c.Text != "" {
		p.noMarks = true // they have a column of their own
		p.caption(l.File, c.Loc)
		p.noMarks = false
	}
	if l.X != nil {
		if _, _, ok := literal(l.X.Src); !ok {
			p.raw(` <span class="from">`)
			p.refs.bind(l.X)
			p.math(l.X, false, leadEquals)
			p.raw("</span>")
			p.basis(l.X)
		}
	}
	if l.Overridden {
		p.raw(" ")
		p.overridden(l)
	}
	p.raw(`</td><td class="rg">`)
	if in != nil && in.Between != nil {
		p.allowed(l, in.Between)
	}
	p.raw(`</td><td class="so">`)
	p.sourceMarks(l)
	p.raw("</td>")
}

// allowed writes the range that an input must lie in: 1.5 to 6, 0 to 3 %.
func (p *page) allowed(l *resolve.Line, r *lang.Range) {
	lo, minus, ok1 := literal(r.Lo)
	hi, sign, ok2 := literal(r.Hi)
	if !ok1 || !ok2 {
		p.refs.bind(l.Lo, l.Hi)
		p.mathSource(r.Lo, false, "")
		p.raw(" to ")
		p.mathSource(r.Hi, false, "")
		return
	}
	unitText := func(n *lang.Number) string {
		if n.Unit == nil {
			return ""
		}
		return "\u00a0" + n.Unit.Text
	}
	p.text(minus + typed(lo.Text))
	if a, b := unitText(lo), unitText(hi); a != b {
		p.text(a)
	}
	p.raw(" to ")
	p.text(sign + typed(hi.Text) + unitText(hi))
}

// overridden says on the sheet's face that a value is not the notebook's own.
func (p *page) overridden(l *resolve.Line) {
	p.raw(`<span class="flag warn">`)
	p.icon("warn")
	p.raw(" overridden; the notebook says ")
	p.text(l.OwnText)
	p.raw("</span>")
}

// sourceMarks writes what an input rests on, or that it rests on nothing.
func (p *page) sourceMarks(l *resolve.Line) {
	if len(l.Sources) == 0 {
		p.raw(`<span class="flag warn">`)
		p.icon("warn")
		p.raw(" none</span>")
		return
	}
	done := map[string]bool{}
	for _, label := range l.Sources {
		if done[label] {
			continue
		}
		done[label] = true
		if len(done) > 1 {
			p.raw(" ")
		}
		note, isNote := strings.CutPrefix(label, "^")
		switch {
		case label == "link":
			p.raw("link")
		case isNote && p.notes[note] > 0:
			p.link("S", itoa(p.notes[note]))
			p.raw("S", itoa(p.notes[note]), "</a>")
		case p.assumed[label] > 0:
			p.link("A", itoa(p.assumed[label]))
			p.raw("A", itoa(p.assumed[label]), "</a>")
		default:
			p.text(label)
		}
	}
}

func (p *page) brokenInput(l *resolve.Line, e *eval.Entry, across int) {
	p.raw(`<tr class="hot"`)
	if e.Number != "" {
		p.raw(` id="e`)
		p.attr(e.Number)
		p.raw(`"`)
	}
	p.raw(`><th class="no" scope="row">`)
	if e.Number != "" {
		p.entryLink(e.Number)
	}
	p.raw(`</th><td class="sy">`)
	p.leftSide(l)
	p.raw(`</td><td class="nv" colspan="`, itoa(across), `">`)
	if e.Problem != nil {
		p.raw(`<b class="flag bad">`)
		p.icon("bad")
		p.raw(" no value. ")
		p.sentence(e.Problem.Message)
		p.raw("</b>")
		p.excerptOf(e.Problem)
	} else {
		p.raw(`<span class="v v-wait">`)
		p.icon("wait")
		p.raw(" waits for ")
		p.waitLinks(e.WaitsFor)
		p.raw("</span>")
	}
	p.raw("</td></tr>\n")
}

// assumptions writes the lines of an `assume` fence, numbered through the sheet.
func (p *page) assumptions(lines []*resolve.Line) {
	byLine := map[*resolve.Line]*resolve.Assumption{}
	for _, a := range p.tr.Sheet.Assumed {
		byLine[a.Line] = a
	}
	p.raw(`<ol class="list assume">`, "\n")
	for _, l := range lines {
		if p.full() {
			break
		}
		a := byLine[l]
		if a == nil {
			if l.Problem != nil {
				p.raw(`<li class="hot"><b></b><div>`)
				p.problemBox(l.Problem)
				p.raw("</div></li>\n")
			} else if h, ok := l.Stmt.(*lang.Heading); ok && h.Caption.Text != "" {
				p.raw(`<li class="run"><b></b><p>`)
				p.caption(l.File, h.Caption.Loc)
				p.raw("</p></li>\n")
			}
			continue
		}
		p.assumption(a)
	}
	p.raw("</ol>\n")
}

func (p *page) assumption(a *resolve.Assumption) {
	no := itoa(p.assumed[a.Label])
	p.raw(`<li id="A`, no, `" tabindex="-1"><b>A`, no, "</b><p>")
	p.caption(a.Line.File, a.Stmt.Text.Loc)
	p.raw(" ")
	if a.Stmt.Basis.Text != "" {
		p.raw(`<span class="basis">`)
		p.caption(a.Line.File, a.Stmt.Basis.Loc)
		p.raw("</span> ")
	}
	if a.Open {
		p.raw(`<span class="flag warn">`)
		p.icon("open")
		p.raw(" to be confirmed</span> ")
	}
	p.raw(`<span class="us">`)
	n := 0
	for _, l := range a.CitedBy {
		e := p.entry(l)
		if e == nil || e.Number == "" {
			continue
		}
		if n == 0 {
			p.raw("used in")
		}
		n++
		p.raw(" ")
		p.entryLink(e.Number)
	}
	if n == 0 {
		p.raw("not cited by any line")
	}
	p.raw(` <code>[`)
	p.text(a.Label)
	p.raw("]</code></span></p></li>\n")
}

// problemBox is a problem where no entry is to be had.
func (p *page) problemBox(q *diag.Problem) {
	p.raw(`<p class="flag bad">`)
	p.icon("bad")
	p.raw(" <b>")
	p.sentence(q.Message)
	p.raw("</b></p>")
	p.excerptOf(q)
}
