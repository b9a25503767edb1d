package sheet

import (
	"slices"
	"strings"

	"workings/runner/register"
)

// inputs are those of all sheets, by sheet.
func (r *registerPage) inputs() {
	if len(r.pkg.Inputs) == 0 {
		return
	}
	spread := slices.ContainsFunc(r.pkg.Inputs, func(in *register.Input) bool { return hasSpread(in.Line) })
	given := slices.ContainsFunc(r.pkg.Inputs, func(in *register.Input) bool { return len(in.Given) > 0 })
	columns := 7
	r.section("Inputs", "Inputs of all sheets")
	r.raw(`<table class="tab inputs"><caption class="vh">Inputs of all sheets</caption><thead><tr><th scope="col" class="no">entry</th>`,
		`<th scope="col" class="sy">symbol</th><th scope="col" class="nv">value</th><th scope="col" class="un">unit</th>`)
	if spread {
		columns++
		r.raw(`<th scope="col" class="sp"><abbr title="standard uncertainty">±</abbr></th>`)
	}
	r.raw(`<th scope="col" class="de">what it is</th><th scope="col" class="rg">allowed</th><th scope="col" class="so">source</th>`)
	if given {
		columns++
		r.raw(`<th scope="col" class="of">given instead</th>`)
	}
	r.raw("</tr></thead><tbody>\n")
	var at *register.Sheet
	for _, in := range r.pkg.Inputs {
		if len(r.b) > MaxPage {
			break
		}
		if in.Sheet != at {
			at = in.Sheet
			r.groupRow(at, columns)
		}
		r.raw("<tr>")
		if in.OK {
			r.in(at, func(p *page) { p.inputCells(in.Line, in.Entry, spread) })
		} else {
			r.brokenInput(in, columns)
		}
		if given {
			r.raw(`<td class="of">`)
			r.given(in)
			r.raw("</td>")
		}
		r.raw("</tr>\n")
	}
	r.raw("</tbody></table></section>\n")
}

func (r *registerPage) brokenInput(in *register.Input, columns int) {
	across := columns - 2
	if slices.ContainsFunc(r.pkg.Inputs, func(in *register.Input) bool { return len(in.Given) > 0 }) {
		across--
	}
	r.in(in.Sheet, func(p *page) {
		p.raw(`<th class="no" scope="row">`)
		p.entryLink(in.Entry.Number)
		p.raw(`</th><td class="sy">`)
		p.leftSide(in.Line)
		p.raw(`</td><td class="nv" colspan="`, itoa(across), `">`)
		p.noValue(in.Entry.Problem)
		p.raw("</td>")
	})
}

// given lists the values that other sheets give to an input, and which they are.
func (r *registerPage) given(in *register.Input) {
	for i, g := range in.Given {
		if i > 0 {
			r.raw("<br/>")
		}
		user := g.Use.User
		if g.OK {
			r.in(user, func(p *page) {
				f, _ := p.result(g.Symbol)
				p.figure(f)
			})
		} else {
			r.raw("no value")
		}
		r.raw(" by ")
		r.entryAt(user, g.Use.Entry.Number, user.Name())
		r.raw(`, <span class="quiet">as `)
		r.text(g.Use.Name)
		r.raw("</span>")
	}
}

// differences are names with several values.
func (r *registerPage) differences() {
	if len(r.pkg.Differences) == 0 {
		return
	}
	r.section("Names", "One name, several values")
	r.raw(`<p class="key">Inputs that are printed alike and have different values on different sheets. Often both are right; where one was changed and the other forgotten, only this shows it.</p>`, "\n")
	r.scroll("One name, several values")
	r.raw(`<table class="tab flows"><caption class="vh">One name, several values</caption><thead><tr><th scope="col" class="sy">symbol</th><th scope="col" class="nv">value</th><th scope="col" class="un">unit</th>`,
		`<th scope="col">sheet</th><th scope="col">what it is</th><th scope="col">source</th></tr></thead>`, "\n")
	for _, d := range r.pkg.Differences {
		r.raw("<tbody>")
		for _, in := range d.Inputs {
			r.raw("<tr>")
			r.in(in.Sheet, func(p *page) {
				p.raw(`<th scope="row" class="sy">`)
				p.mathSymbol(in.Symbol)
				p.raw("</th>")
				f, _ := p.result(in.Symbol)
				p.valueCells(f)
			})
			r.raw("<td>")
			r.entryAt(in.Sheet, in.Entry.Number, in.Sheet.Name()+", entry "+in.Entry.Number)
			r.raw("</td><td>")
			r.text(in.Described())
			r.raw("</td><td>")
			r.in(in.Sheet, func(p *page) { p.sourceMarks(in.Line) })
			r.raw("</td></tr>\n")
		}
		r.raw("</tbody>")
	}
	r.raw("</table></div></section>\n")
}

// valueCells are a number and its unit, in cells of their own.
func (p *page) valueCells(f figure) {
	p.raw(`<td class="nv"><b>`)
	p.text(f.num)
	p.raw(`</b></td><td class="un">`)
	if !f.unit.IsNone() {
		p.text(f.unit.String())
	}
	p.raw("</td>")
}

// sources lists what the inputs rest on, each document once, with all that rests on it.
func (r *registerPage) sources() {
	type group struct {
		source register.Source
		inputs []*register.Input
	}
	var groups []*group
	var bare []*register.Input
	byText := map[string]*group{}
	for _, in := range r.pkg.Inputs {
		if len(in.Sources) == 0 {
			bare = append(bare, in)
		}
		for _, s := range in.Sources {
			key := s.Text
			if !strings.HasPrefix(s.Label, "^") { // an assumption is its own sheet's
				key = itoa(in.Sheet.Position) + " " + s.Label
			}
			if byText[key] == nil {
				byText[key] = &group{source: s}
				groups = append(groups, byText[key])
			}
			byText[key].inputs = append(byText[key].inputs, in)
		}
	}
	if len(groups)+len(bare) == 0 {
		return
	}
	r.section("Sources", "Sources, and the inputs that rest on them")
	r.raw(`<ol class="list on">`, "\n")
	if len(bare) > 0 {
		r.raw(`<li><p><span class="flag warn">`)
		r.icon("warn")
		r.raw(" no source</span></p>")
		r.restOn(bare)
		r.raw("</li>\n")
	}
	for _, g := range groups {
		if len(r.b) > MaxPage {
			break
		}
		first := g.inputs[0]
		r.raw("<li>")
		r.in(first.Sheet, func(p *page) { p.sourceText(g.source.Label) })
		r.restOn(g.inputs)
		r.raw("</li>\n")
	}
	r.raw("</ol></section>\n")
}

// sourceText writes a footnote, or the assumption that stands for one.
func (p *page) sourceText(label string) {
	if note, ok := strings.CutPrefix(label, "^"); ok {
		for _, n := range p.doc.Footnotes {
			if n.Label == note {
				p.children(n.Node, p.sources[p.doc.File])
				return
			}
		}
	}
	p.raw("<p>")
	defer p.raw("</p>")
	for _, a := range p.tr.Sheet.Assumed {
		if a.Label == label {
			p.raw("Assumption ")
			p.link("A", itoa(p.assumed[label]))
			p.raw("A", itoa(p.assumed[label]), "</a>: ")
			p.caption(a.Line.File, a.Stmt.Text.Loc)
			if a.Open {
				p.raw(` <span class="flag warn">`)
				p.icon("open")
				p.raw(" to be confirmed</span>")
			}
			return
		}
	}
	if label == "link" {
		p.raw("The link in its description")
		return
	}
	p.text(label)
}

// restOn lists inputs with their values, by sheet.
func (r *registerPage) restOn(inputs []*register.Input) {
	r.raw(`<p class="rest">`)
	var at *register.Sheet
	for _, in := range inputs {
		if in.Sheet != at {
			if at != nil {
				r.raw("<br/>")
			}
			at = in.Sheet
			r.raw("<span>")
			r.sheetLink(at)
			r.raw("</span> ")
		}
		r.raw("<span>")
		r.in(at, func(p *page) {
			p.mathSymbol(in.Symbol)
			p.raw(" = ")
			if f, ok := p.result(in.Symbol); ok {
				p.figure(f)
			} else {
				p.raw("no value")
			}
		})
		r.raw(`, <span class="quiet">entry `)
		r.entryAt(at, in.Entry.Number, in.Entry.Number)
		r.raw("</span></span> ")
	}
	r.raw("</p>")
}
