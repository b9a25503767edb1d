package sheet

import (
	"slices"
	"strings"

	"workings/propsdb"
	"workings/runner/chart"
	"workings/runner/eval"
	"workings/runner/register"
	"workings/runner/resolve"
)

// picture draws which sheet uses which.
func (r *registerPage) picture() {
	if len(r.pkg.Sheets) < 2 {
		return
	}
	d := &chart.Dependency{Title: "Which sheet uses which"}
	varied := false
	for _, s := range r.pkg.Sheets {
		d.Boxes = append(d.Boxes, r.box(s))
		var drawn []*register.Sheet
		for _, u := range s.Uses {
			with := slices.ContainsFunc(s.Uses, func(o *register.Use) bool { return o.Used == u.Used && len(o.With) > 0 })
			if !slices.Contains(drawn, u.Used) {
				drawn = append(drawn, u.Used)
				d.Arrows = append(d.Arrows, chart.Arrow{From: u.Used.Position, To: s.Position, Varied: with})
			}
			varied = varied || with
		}
	}
	svg, wide := d.SVG("Dependence-picture")
	if wide {
		r.raw(`<div class="across">`)
		defer r.raw("</div>\n")
	}
	r.section("Dependence", "Which sheet uses which")
	if svg == nil {
		r.raw(`<p class="key">The package is too large for a picture; the register names what each sheet uses.</p></section>`, "\n")
		return
	}
	r.raw(`<figure class="picture">`)
	r.scroll("Which sheet uses which")
	r.b = append(r.b, svg...)
	r.raw(`</div><p class="key">An arrow leads from a sheet to one that uses it.`)
	if varied {
		r.raw(" Dashed: used with inputs that are given there.")
	}
	r.raw("</p></figure></section>\n")
}

// box is a sheet as the picture takes it.
func (r *registerPage) box(s *register.Sheet) chart.SheetBox {
	b := chart.SheetBox{Name: s.Name(), Title: s.Titled(), Href: r.place.page(s)}
	if s.Revision() != "" {
		b.Detail = "revision " + s.Revision()
	}
	st := &s.Standing
	var said []string
	part := func(n int, one, many string) {
		if n > 0 {
			said = append(said, itoa(n)+" "+plural(n, one, many))
		}
	}
	part(st.Errors, "error", "errors")
	part(st.Fails, "check fails", "checks fail")
	restsOn := slices.ContainsFunc(s.Upstream, func(up *register.Sheet) bool { return up.Standing.Errors+up.Standing.Fails > 0 })
	switch {
	case len(said) > 0:
		b.Sign = chart.BadSign
	case restsOn:
		b.Sign, said = chart.CautionSign, []string{"rests on a sheet that fails"}
	case st.Cautions+st.Overridden+st.Waits > 0:
		b.Sign = chart.CautionSign
		part(st.Waits, "check waits", "checks wait")
		part(st.Cautions, "caution", "cautions")
		part(st.Overridden, "input overridden", "inputs overridden")
	case st.Open > 0:
		b.Sign = chart.OpenSign
		part(st.Open, "to be confirmed", "to be confirmed")
	case st.Checks > 0:
		b.Sign = chart.TickSign
	}
	if len(said) == 0 {
		said = append(said, checksHold(st))
	}
	b.Status = strings.Join(said, ", ")
	return b
}

// handed lists every value that a sheet takes from another, and every one that it gives it.
func (r *registerPage) handed() {
	if !slices.ContainsFunc(r.pkg.Sheets, func(s *register.Sheet) bool { return len(s.Uses) > 0 }) {
		return
	}
	r.section("Handed", "What is handed from sheet to sheet")
	r.scroll("What is handed from sheet to sheet")
	r.raw(`<table class="tab flows"><caption class="vh">What is handed from sheet to sheet</caption><thead><tr><th scope="col">from</th><th scope="col">to</th><th scope="col" class="sy">symbol</th>`,
		`<th scope="col" class="nv">value</th><th scope="col" class="un">unit</th><th scope="col">what it is</th></tr></thead><tbody>`, "\n")
	for _, s := range r.pkg.Sheets {
		for _, u := range s.Uses {
			r.handedBy(u)
		}
	}
	r.raw("</tbody></table></div></section>\n")
}

func (r *registerPage) handedBy(u *register.Use) {
	at := func(s *register.Sheet, entry string) {
		words := s.Name()
		if entry != "" {
			r.entryAt(s, entry, words+", entry "+entry)
		} else {
			r.sheetLink(s)
		}
	}
	as := func() {
		r.raw(` <span class="quiet">as `)
		r.text(u.Name)
		r.raw("</span>")
	}
	value := func(symbol func(p *page), ok bool, v eval.Value, figure func(p *page) (figure, bool)) {
		r.in(u.User, func(p *page) {
			p.raw(`<td class="sy">`)
			symbol(p)
			p.raw("</td>")
			f, known := figure(p)
			if !ok || !known {
				p.raw(`<td class="nv">`)
				p.noValue(nil)
				p.raw(`</td><td class="un"></td>`)
				return
			}
			p.valueCells(f)
		})
	}
	for _, v := range u.Values {
		r.raw("<tr><td>")
		at(u.Used, v.Entry)
		if !u.Plain() {
			r.raw(` <span class="quiet">with other inputs</span>`)
		}
		r.raw("</td><td>")
		at(u.User, u.Entry.Number)
		as()
		r.raw("</td>")
		value(func(p *page) { p.mathSymbol(v.Symbol) }, v.OK, v.Value, func(p *page) (figure, bool) { return p.result(v.Symbol) })
		r.raw("<td>")
		r.in(u.User, func(p *page) {
			p.noMarks = true // they belong to the other sheet
			p.answerWords(&resolve.Shown{Symbol: v.Symbol}, nil, nil)
			p.noMarks = false
		})
		r.raw("</td></tr>\n")
	}
	for _, g := range u.With {
		r.raw("<tr><td>")
		at(u.User, u.Entry.Number)
		r.raw("</td><td>")
		at(u.Used, "")
		as()
		r.raw("</td>")
		value(func(p *page) { p.headSymbol(g.Name) }, g.OK, g.Value, func(p *page) (figure, bool) { return p.result(g.Symbol) })
		r.raw("<td>given instead of its own input</td></tr>\n")
	}
	if len(u.Values)+len(u.With) == 0 {
		r.raw("<tr><td>")
		at(u.Used, "")
		r.raw("</td><td>")
		at(u.User, u.Entry.Number)
		as()
		r.raw(`</td><td class="sy"></td><td class="nv"></td><td class="un"></td><td>no value of it is read</td></tr>`, "\n")
	}
}

// files names what the package was made of: notebooks, files of data, property data.
func (r *registerPage) files() {
	r.section("Files", "Files and property data")
	r.raw(`<table class="tab files"><caption class="vh">Files</caption><thead><tr><th scope="col">file</th><th scope="col">sheet</th><th scope="col">sha256</th></tr></thead><tbody>`, "\n")
	row := func(name string, s *register.Sheet, text []byte) {
		r.raw(`<tr><th scope="row"><code>`)
		r.text(name)
		r.raw("</code></th><td>")
		r.sheetLink(s)
		r.raw(`</td><td class="code">`, Hash(text), "</td></tr>\n")
	}
	for _, s := range r.pkg.Sheets {
		row(s.Path, s, s.Doc.File.Text)
		for _, d := range s.Trace.Sheet.Data {
			if d.File != nil && d.File != s.Doc.File {
				row(s.PathOf(d.File), s, d.File.Text)
			}
		}
	}
	r.raw("</tbody></table>\n")
	r.propertyData()
	r.raw("</section>\n")
}

// propertyData names each set of property data once, with the sheets that use it.
func (r *registerPage) propertyData() {
	type data struct {
		use eval.FluidUse
		by  []*register.Sheet
	}
	var all []*data
	byKey := map[string]*data{}
	for _, s := range r.pkg.Sheets {
		for _, f := range s.Trace.Fluids {
			if f.Fluid == nil || f.Fluid.Source().Hash == "" || f.Fluid.Kind() == propsdb.PerfectGas {
				continue
			}
			key := f.Fluid.Source().Hash + " " + f.Fluid.Name() + " " + datumSentence(f.Fluid)
			if byKey[key] == nil {
				byKey[key] = &data{use: f}
				all = append(all, byKey[key])
			}
			if d := byKey[key]; !slices.Contains(d.by, s) {
				d.by = append(d.by, s)
			}
		}
	}
	if len(all) == 0 {
		return
	}
	r.raw(`<ol class="list src">`, "\n")
	for _, d := range all {
		r.raw(`<li><span class="at">`)
		for i, s := range d.by {
			if i > 0 {
				r.raw("<br/>")
			}
			r.sheetLink(s)
		}
		r.raw("</span><p>")
		r.in(d.by[0], func(p *page) { p.fluidSource(d.use) })
		r.raw("</p></li>\n")
	}
	r.raw("</ol>\n")
}
