package sheet

import (
	_ "embed"
	"io"
	"strings"

	"workings/runner/chart"
	"workings/runner/register"
)

// PackageOptions is what the caller knows beside the package.
type PackageOptions struct {
	// Version of the tool, shown at the foot of the pages.
	Version string
	// Of gives the options of a sheet; In is filled in here.
	Of func(*register.Sheet) Options
}

// registerPage is a page on a package as a whole: its index, or the document that holds all sheets.
type registerPage struct {
	buf
	pkg      *register.Package
	o        PackageOptions
	place    Placement
	pages    []*page // by position: they print the symbols and values of their sheets
	emphasis bool
	combined bool  // the index leads to the document that holds all sheets
	begins   []int // the printed sheet on which each sheet begins, for the document that is printed
}

//go:embed register.css
var registerStyle string

func newRegisterPage(pkg *register.Package, o PackageOptions, combined bool) *registerPage {
	r := &registerPage{pkg: pkg, o: o, place: Placement{Page: IndexPage, Combined: combined}}
	for _, s := range pkg.Sheets {
		r.pages = append(r.pages, r.pageOf(s))
	}
	return r
}

func (r *registerPage) pageOf(s *register.Sheet) *page {
	o, place := r.o.Of(s), r.place
	place.Sheet, place.Whole = s, s.Trace
	o.In = &place
	return newPage(s.Doc, s.Own(), o)
}

// Index writes the page that leads to all sheets of a package; combined says that there is a document
// of all of them too. The error is a *LimitError, or what w returned.
func Index(w io.Writer, pkg *register.Package, o PackageOptions, combined bool) error {
	r := newRegisterPage(pkg, o, false)
	r.combined = combined
	r.open("")
	r.cover()
	r.raw("</main>\n")
	r.foot()
	return r.write(w, IndexPage)
}

// Combined writes all sheets of a package as one document, with the register in front. Its pages are
// numbered through when it is printed.
//
// begins are the numbers of the printed sheets at which the sheets begin, in their order: 0 where that
// is not known yet, and none at all for a document that nobody prints.
func Combined(w io.Writer, pkg *register.Package, o PackageOptions, begins []int) error {
	r := newRegisterPage(pkg, o, true)
	r.begins = begins
	edges := &buf{}
	for _, s := range pkg.Sheets {
		revision := ""
		if s.Revision() != "" {
			revision = "revision " + s.Revision()
		}
		edges.pageRule(sheetAnchor(s), strings.TrimSpace(s.Number()+"  "+s.Title), revision)
	}
	r.open(string(edges.b))
	r.cover()
	for _, s := range pkg.Sheets {
		if len(r.b) > MaxPage {
			break
		}
		r.article(s)
	}
	r.raw("</main>\n")
	return r.write(w, CombinedPage)
}

// article is a sheet in the document that holds all of them.
func (r *registerPage) article(s *register.Sheet) {
	p := r.pageOf(s)
	p.head()
	p.content()
	p.appendix()
	p.sheetFoot("The trace as JSON lies in the sheet’s own page. ")
	r.emphasis = r.emphasis || p.emphasis
	anchor := sheetAnchor(s)
	label := &buf{}
	label.attr(s.Name() + ", ")
	r.raw(`<article id="`, anchor, `" class="sheet" style="page:`, anchor, `" tabindex="-1">`, "\n")
	r.b = append(r.b, replaced(p.b, "#"+anchor+".", anchor+".", string(label.b))...)
	r.raw("</article>\n")
}

// open writes the page up to its content.
func (r *registerPage) open(edges string) {
	a := parts()
	r.raw("<!DOCTYPE html>\n<html lang=\"", r.language(), "\">\n<head>\n<meta charset=\"utf-8\"/>\n",
		"<meta http-equiv=\"Content-Security-Policy\" content=\"", a.policy, "\"/>\n",
		"<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n<title>")
	r.text(r.title())
	if r.pkg.Project != "" {
		r.text(": " + r.pkg.Project)
	}
	// The contents of a sheet are laid out below main; here each has an article of its own.
	r.raw("</title>\n<style>\n", a.style, strings.ReplaceAll(tight(articleRules(styleText)), "main>", "article>"), chart.Style, tight(registerStyle))
	r.pageRule("", strings.TrimSpace(r.title()+"  "+r.pkg.Project), "")
	r.raw("@page Across{size:A4 landscape}\n", edges, "</style>\n</head>\n<body>\n", icons, `<a class="skip" href="#Content">Skip to the register</a>`, "\n")
}

// articleRules are those lines of the style sheet that lay out what stands directly below main.
func articleRules(style string) string {
	var out []string
	for line := range strings.Lines(style) {
		if strings.Contains(line, "main>") {
			out = append(out, line)
		}
	}
	return strings.Join(out, "")
}

func (r *registerPage) title() string {
	if r.place.Combined {
		return "Calculation package"
	}
	return "Register of sheets"
}

// language is that of the sheets, where they share one.
func (r *registerPage) language() string {
	out := ""
	for _, s := range r.pkg.Sheets {
		switch l := language(s.Doc.Front.Language.Text); {
		case out == "":
			out = l
		case out != l:
			return "en"
		}
	}
	return language(out)
}

// cover is all but the sheets themselves.
func (r *registerPage) cover() {
	r.raw("<header class=\"head\">\n<p class=\"ids\">")
	if r.pkg.Project != "" {
		r.raw("<b>")
		r.text(r.pkg.Project)
		r.raw("</b>")
	}
	n := len(r.pkg.Sheets)
	r.raw("<span>", itoa(n), plural(n, " sheet", " sheets"), "</span>")
	if r.combined {
		r.raw(`<span class="screen"><a href="`, CombinedPage, `">All sheets as one document, for print</a></span>`)
	}
	r.raw("</p>\n<h1>", r.title(), "</h1>\n")
	if r.place.Combined {
		r.raw(`<dl class="sign">`)
		for _, role := range []string{"Prepared", "Checked", "Approved"} {
			r.raw("<div><dt>", role, `</dt><dd></dd><dd class="sg">signature, date</dd></div>`)
		}
		r.raw("</dl>\n")
	}
	r.status()
	r.raw("</header>\n<main id=\"Content\" tabindex=\"-1\">\n<div class=\"cover\">\n")
	r.sheetTable()
	r.findings()
	r.answers()
	r.picture()
	r.handed()
	r.assumptions()
	r.inputs()
	r.differences()
	r.sources()
	r.files()
	if r.place.Combined {
		r.foot()
	}
	r.raw("</div>\n")
}

func (r *registerPage) foot() {
	r.raw("<footer><p>Workings")
	if r.o.Version != "" {
		r.raw(" ")
		r.text(r.o.Version)
	}
	r.raw(". Not verified for design use.</p></footer>\n")
}

func (r *registerPage) write(w io.Writer, name string) error {
	r.raw("</body>\n</html>\n")
	for _, p := range r.pages {
		r.emphasis = r.emphasis || p.emphasis
	}
	a := parts()
	fonts := a.fewFonts(r.emphasis, r.b)
	if len(r.b)+len(fonts) > MaxPage {
		return &LimitError{File: name, Max: MaxPage}
	}
	head, rest, _ := strings.Cut(string(r.b), "<style>\n")
	for _, part := range [...]string{head, "<style>\n", fonts, rest} {
		if _, err := io.WriteString(w, part); err != nil {
			return err
		}
	}
	return nil
}

// in lets the page of a sheet write something that stands here.
func (r *registerPage) in(s *register.Sheet, write func(p *page)) {
	p := r.pages[s.Position]
	p.b, p.noAnchor = p.b[:0], true
	write(p)
	r.b = append(r.b, replaced(p.b, r.place.home(s), "", "")...)
}

func (r *registerPage) section(id, title string) {
	r.raw(`<section id="`, id, `" tabindex="-1"><h2>`, title, "</h2>\n")
}

// sheetLink leads to a sheet by its number; entryAt to an entry on it.
func (r *registerPage) sheetLink(s *register.Sheet) {
	r.raw(`<a href="`)
	r.attr(r.place.page(s))
	r.raw(`">`)
	r.text(s.Name())
	r.raw("</a>")
}

func (r *registerPage) entryAt(s *register.Sheet, number, words string) {
	r.raw(`<a href="`)
	r.attr(r.place.home(s) + "e" + number)
	r.raw(`">`)
	r.text(words)
	r.raw("</a>")
}

// status is one line on how the package stands.
func (r *registerPage) status() {
	sum := register.Standing{}
	var broken, failing, open []*register.Sheet
	for _, s := range r.pkg.Sheets {
		st := &s.Standing
		sum.Checks, sum.Holds = sum.Checks+st.Checks, sum.Holds+st.Holds
		sum.Fails, sum.Waits, sum.Errors = sum.Fails+st.Fails, sum.Waits+st.Waits, sum.Errors+st.Errors
		sum.Cautions, sum.Open, sum.Assumptions = sum.Cautions+st.Cautions, sum.Open+st.Open, sum.Assumptions+st.Assumptions
		sum.Inputs, sum.Unsourced, sum.Overridden = sum.Inputs+st.Inputs, sum.Unsourced+st.Unsourced, sum.Overridden+st.Overridden
		if st.Errors > 0 {
			broken = append(broken, s)
		}
		if st.Fails > 0 {
			failing = append(failing, s)
		}
		if st.Open > 0 {
			open = append(open, s)
		}
	}
	part := func(icon string, n int, one, many string, at []*register.Sheet) {
		if n == 0 {
			return
		}
		r.raw("\n<span>")
		r.icon(icon)
		r.raw(" ", itoa(n), " ", plural(n, one, many))
		for i, s := range at {
			r.raw([]string{", on ", " "}[min(i, 1)])
			if i == mostLinks {
				r.raw("…")
				break
			}
			r.sheetLink(s)
		}
		r.raw("</span>")
	}
	r.raw(`<p class="status"><b class="stamp">Not verified for design use</b>`, "\n<span>")
	if sum.Fails+sum.Waits == 0 && sum.Checks > 0 {
		r.icon("ok")
		r.raw(" ")
	}
	r.raw(checksHold(&sum), "</span>")
	part("bad", sum.Errors, "error", "errors", broken)
	part("bad", sum.Fails, "check fails", "checks fail", failing)
	part("wait", sum.Waits, "check waits", "checks wait", nil)
	part("warn", sum.Cautions, "caution", "cautions", nil)
	if sum.Open == 0 && sum.Assumptions > 0 {
		r.raw("\n<span>", itoa(sum.Assumptions), plural(sum.Assumptions, " assumption", " assumptions"), ", none to be confirmed</span>")
	}
	part("open", sum.Open, "assumption to be confirmed", "assumptions to be confirmed", open)
	part("warn", sum.Unsourced, "of "+itoa(sum.Inputs)+" inputs without a source", "of "+itoa(sum.Inputs)+" inputs without a source", nil)
	part("warn", sum.Overridden, "input overridden", "inputs overridden", nil)
	part("bad", len(r.pkg.Unread), "notebook not read", "notebooks not read", nil)
	r.raw("</p>\n")
}
