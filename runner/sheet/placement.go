package sheet

import (
	"bytes"
	"net/url"
	"path"
	"strings"

	"workings/runner/eval"
	"workings/runner/register"
)

// Placement is the place of a sheet in a package, whose pages it links to.
type Placement struct {
	Sheet *register.Sheet
	// Page that the sheet, or a part of it, is written to: its own, or IndexPage.
	Page string
	// Whole is the trace with all that the sheet rests on. The page shows of that what stands on no
	// other page, and holds all of it as JSON.
	Whole *eval.Trace
	// Combined: all sheets of the package stand in one document, one after another.
	Combined bool
}

// IndexPage and CombinedPage are the pages of a package beside those of its sheets.
const (
	IndexPage    = "index.html"
	CombinedPage = "combined.html"
)

// sheetAnchor is where a sheet begins in the document that holds all of them. No id of a sheet's own
// begins so.
func sheetAnchor(s *register.Sheet) string { return SheetAnchor(s.Position) }

// SheetAnchor is the id of the sheet at a place of the register, from 0.
func SheetAnchor(position int) string { return "Sheet" + itoa(position+1) }

// page is the address of another sheet; home that of its places, to which their ids are added.
func (pl *Placement) page(other *register.Sheet) string {
	if pl.Combined {
		return "#" + sheetAnchor(other)
	}
	return relative(pl.Page, other.Page)
}

func (pl *Placement) home(other *register.Sheet) string {
	if pl.Combined {
		return "#" + sheetAnchor(other) + "."
	}
	return pl.page(other) + "#"
}

// relative is the address of one page of a package from another.
func relative(from, to string) string {
	dir, up := path.Dir(from), ""
	for dir != "." && !strings.HasPrefix(to, dir+"/") {
		dir, up = path.Dir(dir), up+"../"
	}
	if dir != "." {
		to = strings.TrimPrefix(to, dir+"/")
	}
	return (&url.URL{Path: up + to}).String()
}

// useOf is the use of another sheet of the package by a line, or nil.
func (p *page) useOf(e *eval.Entry) *register.Use {
	if p.o.In == nil {
		return nil
	}
	for _, u := range p.o.In.Sheet.Uses {
		if u.Entry.Line == e.Line {
			return u
		}
	}
	return nil
}

// elsewhere is the sheet on whose page an entry of a used sheet stands, and its number there. An entry
// that was evaluated with inputs given here stands on this page alone.
func (p *page) elsewhere(number string) (at *register.Sheet, own string) {
	if p.o.In == nil || strings.IndexByte(number, '.') < 0 {
		return nil, number
	}
	at, own = p.o.In.Sheet, number
next:
	for {
		for _, u := range at.Uses {
			if rest, ok := u.OwnNumber(own); ok && u.Plain() {
				at, own = u.Used, rest
				continue next
			}
		}
		break
	}
	if at == p.o.In.Sheet {
		return nil, number
	}
	return at, own
}

func (p *page) isEntry(number string) bool {
	at, _ := p.elsewhere(number)
	return p.numbers[number] || at != nil
}

// openEntry opens a link to an entry, wherever it stands.
func (p *page) openEntry(class, number string) {
	p.raw("<a")
	if class != "" {
		p.raw(` class="`, class, `"`)
	}
	p.raw(` href="`)
	if at, own := p.elsewhere(number); at != nil {
		p.attr(p.o.In.home(at))
		number = own
	} else {
		p.raw("#")
	}
	p.raw("e")
	p.attr(number)
	p.raw(`">`)
}

// openSheet opens a link to the page of another sheet.
func (p *page) openSheet(other *register.Sheet) {
	p.raw(`<a href="`)
	p.attr(p.o.In.page(other))
	p.raw(`">`)
}

// linkedSheet is the address of the page of a notebook that a link of the text leads to, or "".
func (p *page) linkedSheet(dest string) string {
	if p.o.In == nil {
		return ""
	}
	to, err := url.Parse(dest)
	if err != nil || to.Scheme != "" || to.Host != "" || to.Path == "" {
		return ""
	}
	me := p.o.In.Sheet
	other := me.Package().Sheet(path.Join(path.Dir(me.Path), to.Path))
	if other == nil {
		return ""
	}
	for _, h := range other.Doc.Headings {
		if h.ID == to.Fragment && to.Fragment != "" {
			return p.o.In.home(other) + percent(headingID(h.ID))
		}
	}
	return p.o.In.page(other)
}

// rests names the sheets that this one rests on and that are not well, at its head.
func (p *page) rests() {
	if p.o.In == nil || len(p.o.In.Sheet.Upstream) == 0 {
		return
	}
	p.raw(`<p class="status rests"><b>Rests on</b>`)
	for i, up := range p.o.In.Sheet.Upstream {
		if i == mostLinks {
			p.raw("\n<span>and ", itoa(len(p.o.In.Sheet.Upstream)-mostLinks), " more sheets that are not well</span>")
			break
		}
		p.raw("\n<span>")
		p.icon(standingIcon(&up.Standing))
		p.raw(" ")
		p.openSheet(up)
		p.text(citation(up))
		p.raw("</a>: ")
		p.shortcomings(up, p.o.In.home(up))
		p.raw("</span>")
	}
	p.raw("</p>\n")
}

// citation is a sheet's number with its revision, as it is cited.
func citation(s *register.Sheet) string {
	if s.Revision() == "" {
		return s.Name()
	}
	return s.Name() + " revision " + s.Revision()
}

// shortcomings are what keeps a sheet from being well, with ways to the places on its page.
func (o *buf) shortcomings(s *register.Sheet, home string) {
	st := &s.Standing
	sep := ""
	part := func(n int, words, place string) {
		if n == 0 {
			return
		}
		o.raw(sep, itoa(n), " ")
		sep = ", "
		if place == "" {
			o.raw(words)
			return
		}
		o.raw(`<a href="`)
		o.attr(home + place)
		o.raw(`">`, words, "</a>")
	}
	part(st.Errors, plural(st.Errors, "error", "errors"), "Problems")
	part(st.Fails, plural(st.Fails, "check fails", "checks fail"), "Checks")
	part(st.Waits, plural(st.Waits, "check waits", "checks wait"), "Checks")
	part(st.Cautions, plural(st.Cautions, "caution", "cautions"), "Problems")
	if st.Open > 0 {
		first := 0
		for i, a := range s.Trace.Sheet.Assumed {
			if a.Open {
				first = i + 1
				break
			}
		}
		part(st.Open, plural(st.Open, "assumption", "assumptions")+" to be confirmed", "A"+itoa(first))
	}
	part(st.Overridden, plural(st.Overridden, "input overridden", "inputs overridden"), "")
	if sep == "" {
		o.raw(checksHold(st))
	}
}

// standingIcon is the shape for how a sheet stands.
func standingIcon(st *register.Standing) string {
	switch {
	case st.Errors+st.Fails > 0:
		return "bad"
	case st.Waits > 0:
		return "wait"
	case st.Cautions+st.Overridden > 0:
		return "warn"
	case st.Open > 0:
		return "open"
	}
	return "ok"
}

// checksHold says how a sheet's own checks stand, where none fails.
func checksHold(st *register.Standing) string {
	switch {
	case st.Checks == 0:
		return "no checks"
	case st.Holds < st.Checks:
		return itoa(st.Holds) + " of " + itoa(st.Checks) + plural(st.Checks, " check holds", " checks hold")
	}
	return plural(st.Checks, "the check holds", "all "+itoa(st.Checks)+" checks hold")
}

// replaced gives a sheet's markup its place in another document: links to places of the page lead to
// home, ids begin with ids, and regions that a reader goes through by name begin with label. What
// leads to another sheet, or to a shape that all share, stays.
func replaced(markup []byte, home, ids, label string) []byte {
	out := make([]byte, 0, len(markup)+len(markup)/16)
	for {
		i := bytes.IndexByte(markup, '<') // in text it is escaped
		if i < 0 {
			return append(out, markup...)
		}
		out, markup = append(out, markup[:i]...), markup[i:]
		tag := tagEnd(markup)
		out, markup = replaceInTag(out, markup[:tag], home, ids, label), markup[tag:]
	}
}

// tagEnd is the length of the tag that markup begins with. A > may stand in the value of an attribute.
func tagEnd(markup []byte) int {
	quoted := false
	for i, c := range markup {
		switch {
		case c == '"':
			quoted = !quoted
		case c == '>' && !quoted:
			return i + 1
		}
	}
	return len(markup)
}

func replaceInTag(out, tag []byte, home, ids, label string) []byte {
	region := bytes.HasPrefix(tag, []byte("<nav"))
	for {
		i := bytes.IndexByte(tag, '"')
		if i < 0 {
			return append(out, tag...)
		}
		before, value := tag[:i+1], tag[i+1:]
		end := max(bytes.IndexByte(value, '"'), 0)
		value, tag = value[:end], value[end:]
		out = append(out, before...)
		is := func(attribute string) bool { return bytes.HasSuffix(before, []byte(attribute)) }
		switch {
		case is(` href="`):
			if len(value) > 0 && value[0] == '#' && !bytes.HasPrefix(value, []byte("#I-")) && !bytes.HasPrefix(value, []byte("#Sheet")) {
				out, value = append(out, home...), value[1:]
			}
		case is(` id="`):
			out = append(out, ids...)
		case is(` aria-labelledby="`), is(` aria-describedby="`):
			value = []byte(ids + strings.ReplaceAll(string(value), " ", " "+ids))
		case is(` role="`):
			region = region || string(value) == "region"
		case is(` aria-label="`) && region:
			out = append(out, label...)
		}
		out = append(out, value...)
		if len(tag) == 0 {
			return out
		}
		out, tag = append(out, '"'), tag[1:]
	}
}
