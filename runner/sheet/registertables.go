package sheet

import (
	"slices"
	"strings"

	"workings/runner/diag"
	"workings/runner/register"
	"workings/runner/resolve"
)

// scroll opens a box for a table that may be wider than the page.
func (r *registerPage) scroll(label string) {
	r.raw(`<div class="scroll" tabindex="0" role="region" aria-label="`, label, `">`)
}

// groupRow is a row above those of one sheet.
func (r *registerPage) groupRow(s *register.Sheet, columns int) {
	r.raw(`<tr class="run"><th scope="colgroup" colspan="`, itoa(columns), `"><a href="`)
	r.attr(r.place.page(s))
	r.raw(`">`)
	r.text(citation(s))
	r.raw("</a>")
	if s.Titled() != "" {
		r.text(", " + s.Titled())
	}
	r.raw("</th></tr>\n")
}

// sheetTable is the register proper.
func (r *registerPage) sheetTable() {
	r.section("Register", "Sheets")
	any := func(has func(s *register.Sheet) string) bool {
		return slices.ContainsFunc(r.pkg.Sheets, func(s *register.Sheet) bool { return has(s) != "" })
	}
	date := any(func(s *register.Sheet) string { return s.Doc.Front.Date.Text })
	approved := any(func(s *register.Sheet) string { return s.Doc.Front.Approved.Text })
	r.scroll("Register")
	r.raw(`<table class="tab reg"><caption class="vh">Register of sheets</caption><thead><tr>`)
	if r.begins != nil {
		r.raw(`<th scope="col">at sheet</th>`)
	}
	r.raw(`<th scope="col">number</th><th scope="col">revision</th><th scope="col">title</th>`)
	if date {
		r.raw(`<th scope="col">date</th>`)
	}
	r.raw(`<th scope="col">prepared, checked`)
	if approved {
		r.raw(", approved")
	}
	r.raw(`</th><th scope="col">how it stands</th><th scope="col">uses</th><th scope="col">is used by</th></tr></thead><tbody>`, "\n")
	for _, s := range r.pkg.Sheets {
		f := &s.Doc.Front
		r.raw("<tr>")
		if s.Position < len(r.begins) {
			r.raw(`<td class="n">`, itoa(r.begins[s.Position]), "</td>")
		}
		r.raw(`<th scope="row" class="nu">`)
		r.sheetLink(s)
		r.raw(`</th><td class="re">`)
		r.text(f.Revision.Text)
		r.raw(`</td><td class="ti">`)
		if t := s.Titled(); t != "" || s.Number() == "" { // else its file has not been named yet
			r.text(t)
		} else {
			r.text(s.Path)
		}
		r.raw("</td>")
		if date {
			r.raw(`<td class="da">`)
			r.text(f.Date.Text)
			r.raw("</td>")
		}
		r.raw("<td>")
		r.who("not prepared", f.Prepared.Text)
		r.raw("<br/>")
		r.who("not checked", f.Checked.Text)
		if approved {
			r.raw("<br/>")
			r.who("not approved", f.Approved.Text)
		}
		r.raw(`</td><td class="st">`)
		r.standing(s)
		r.raw(`</td><td class="ub">`)
		r.sheetLinks(s.Uses, func(u *register.Use) *register.Sheet { return u.Used })
		r.raw(`</td><td class="by">`)
		r.sheetLinks(s.UsedBy, func(u *register.Use) *register.Sheet { return u.User })
		r.raw("</td></tr>\n")
	}
	r.raw("</tbody></table></div>\n")
	for _, u := range r.pkg.Unread {
		r.raw(`<p><span class="flag bad">`)
		r.icon("bad")
		r.raw(" not read: ")
		r.text(u.Path + ", " + u.Reason)
		r.raw("</span></p>\n")
	}
	r.raw("</section>\n")
}

func (r *registerPage) who(none, name string) {
	if name == "" {
		r.raw(`<span class="quiet">`, none, "</span>")
		return
	}
	r.raw("<span>")
	r.text(name)
	r.raw("</span>")
}

// standing says how a sheet stands by itself, and on what it rests that is not well.
func (r *registerPage) standing(s *register.Sheet) {
	r.icon(standingIcon(&s.Standing))
	r.raw(" ")
	r.shortcomings(s, r.place.home(s))
	if st := &s.Standing; !st.Well() && st.Checks > 0 && st.Fails+st.Waits == 0 {
		r.raw("; ", checksHold(st))
	}
	if len(s.Upstream) == 0 {
		return
	}
	var fail, open []*register.Sheet
	for _, up := range s.Upstream {
		if up.Standing.Errors+up.Standing.Fails > 0 {
			fail = append(fail, up)
		} else {
			open = append(open, up)
		}
	}
	r.restingOn("warn", fail, plural(len(fail), "which fails", "which fail"))
	r.restingOn("open", open, "with open points")
}

func (r *registerPage) restingOn(icon string, sheets []*register.Sheet, how string) {
	if len(sheets) == 0 {
		return
	}
	r.raw("<br/>")
	r.icon(icon)
	r.raw(" rests on ")
	for _, s := range sheets {
		r.sheetLink(s)
		r.raw(", ")
	}
	r.raw(how)
}

// sheetLinks names sheets, each once.
func (r *registerPage) sheetLinks(uses []*register.Use, of func(*register.Use) *register.Sheet) {
	var done []*register.Sheet
	for _, u := range uses {
		s := of(u)
		if slices.Contains(done, s) {
			continue
		}
		if len(done) > 0 {
			r.raw("<br/>")
		}
		done = append(done, s)
		r.sheetLink(s)
	}
	if len(done) == 0 {
		r.raw("–")
	}
}

// findings are what only shows where the sheets are together.
func (r *registerPage) findings() {
	n := 0
	for _, s := range r.pkg.Sheets {
		n += len(s.Found)
	}
	if n == 0 {
		return
	}
	r.section("Findings", "What shows only where the sheets are together")
	r.raw(`<ol class="findings">`, "\n")
	for _, s := range r.pkg.Sheets {
		for _, q := range s.Found {
			r.raw(`<li class="warn"><span class="fno">`)
			r.icon("warn")
			r.raw(" ", diag.Caution.String(), "<br/>")
			r.sheetLink(s)
			r.raw("</span><div><p><b>")
			r.in(s, func(p *page) { p.sentence(q.Message) })
			r.raw("</b></p>")
			r.in(s, func(p *page) { p.excerptOf(q) })
			r.raw("</div></li>\n")
		}
	}
	r.raw("</ol></section>\n")
}

// answers are those of all sheets.
func (r *registerPage) answers() {
	lines := map[*register.Sheet][]*resolve.Line{}
	uncertain := false
	for _, s := range r.pkg.Sheets {
		for _, l := range s.Trace.Sheet.Lines {
			if l.Kind == resolve.AnswerLine {
				lines[s] = append(lines[s], l)
			}
		}
		uncertain = uncertain || r.pages[s.Position].anyUncertain(lines[s])
	}
	if len(lines) == 0 {
		return
	}
	columns := 5
	r.section("Answers", "Answers")
	r.raw(`<table class="tab answers again"><caption class="vh">Answers of all sheets</caption><thead><tr><th scope="col" class="sy">symbol</th>`,
		`<th scope="col" class="nv">value</th><th scope="col" class="un">unit</th>`)
	if uncertain {
		columns++
		r.raw(`<th scope="col" class="pm">standard uncertainty</th>`)
	}
	r.raw(`<th scope="col" class="de">what was asked</th><th scope="col" class="us">entry</th></tr></thead><tbody>`, "\n")
	for _, s := range r.pkg.Sheets {
		if len(lines[s]) == 0 {
			continue
		}
		r.groupRow(s, columns)
		for _, l := range lines[s] {
			r.in(s, func(p *page) { p.answerRow(l, uncertain) })
		}
	}
	r.raw("</tbody></table></section>\n")
}

// assumptions lists those to be confirmed.
func (r *registerPage) assumptions() {
	n := 0
	for _, s := range r.pkg.Sheets {
		n += s.Standing.Open
	}
	if n == 0 {
		return
	}
	r.section("Assumptions", "Assumptions to be confirmed")
	r.raw(`<ol class="list">`, "\n")
	for _, s := range r.pkg.Sheets {
		for i, a := range s.Trace.Sheet.Assumed {
			if !a.Open {
				continue
			}
			r.raw(`<li><span class="at">`)
			r.icon("open")
			r.raw(` <a href="`)
			r.attr(r.place.home(s) + "A" + itoa(i+1))
			r.raw(`">`)
			r.text(s.Name())
			r.raw(" A", itoa(i+1), "</a></span><p>")
			r.in(s, func(p *page) {
				p.caption(a.Line.File, a.Stmt.Text.Loc)
				if a.Stmt.Basis.Text != "" {
					p.raw(` <span class="basis">`)
					p.caption(a.Line.File, a.Stmt.Basis.Loc)
					p.raw("</span>")
				}
			})
			r.raw("</p></li>\n")
		}
	}
	r.raw("</ol></section>\n")
}

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
