package sheet

import (
	"slices"

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
	if len(r.pkg.Sheets) == 0 {
		r.raw("<p>There is no sheet here yet: that of a notebook (.md) stands here once it is saved in the folder.</p>\n")
		return
	}
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
