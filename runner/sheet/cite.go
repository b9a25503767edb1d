package sheet

import (
	"bytes"
	"sort"
	"strings"

	"github.com/yuin/goldmark/util"

	"workings/runner/diag"
	"workings/runner/lang"
	"workings/runner/notebook"
	"workings/runner/resolve"
	"workings/units"
)

// unescape resolves Markdown's escapes and entities in text.
func unescape(b []byte) string {
	for _, c := range b {
		if c == '\\' || c == '&' {
			return unescapeAll(b)
		}
	}
	return string(b)
}

// unescaped writes text with Markdown's escapes and entities resolved.
func (p *page) unescaped(b []byte) {
	if bytes.IndexByte(b, '\\') >= 0 || bytes.IndexByte(b, '&') >= 0 {
		p.text(unescapeAll(b))
	} else {
		p.textOf(b)
	}
}

func unescapeAll(b []byte) string {
	return string(util.ResolveEntityNames(util.ResolveNumericReferences(util.UnescapePunctuations(b))))
}

// percent writes as percent codes what may not stand in an address.
func percent(dest string) string { return string(util.URLEscape([]byte(dest), false)) }

// proseValue writes a result in a sentence, linked to the entry it comes from.
func (p *page) proseValue(n *notebook.ValueNode, s *captionSource) {
	source := string(s.doc.Source[n.Span.Start:n.Span.End])
	if n.Problem != nil || !s.own {
		if s.own {
			p.noValue(n.Problem)
		}
		p.raw("<code>")
		p.text(source)
		p.raw("</code>")
		return
	}
	shown := p.proseShown(n.Value)
	if shown == nil || shown.Problem != nil || shown.Symbol == nil {
		var problem *diag.Problem
		if shown != nil {
			problem = shown.Problem
		}
		p.noValue(problem)
		p.raw(" <code>")
		p.text(source)
		p.raw("</code>")
		return
	}
	f, ok := p.asked(shown)
	if !ok {
		p.noValue(nil)
		p.raw(" ")
		p.mathSymbol(shown.Symbol)
		return
	}
	id := p.defined(shown.Symbol)
	if id == "" {
		p.raw(`<span class="val">`)
		p.figure(f)
		p.raw("</span>")
		return
	}
	p.openEntry("val", id)
	p.figure(f)
	p.raw("</a>")
}

// proseShown finds the checked form of a value. resolve keeps those of the prose in the
// notebook's order; one in a caption is looked up here.
func (p *page) proseShown(v *notebook.ProseValue) *resolve.Shown {
	all := p.tr.Sheet.Prose
	i := sort.Search(len(all), func(i int) bool { return all[i].Span.Start >= v.Span.Start })
	if i < len(all) && all[i].Span.Start < v.Span.End {
		return all[i]
	}
	s := p.tr.Sheet.Symbol(lang.Member(v.Name))
	if s == nil {
		return nil
	}
	shown := &resolve.Shown{Symbol: s, Unit: s.Unit, Digits: v.Digits}
	if v.Unit != "" {
		u, err := units.Parse(v.Unit)
		if err != nil || u.Dimension() != s.Unit.Dimension() {
			return nil
		}
		shown.Unit = u
	}
	return shown
}

// asked is a value in the unit and to the digits that an answer, a table or a sentence asks for.
func (p *page) asked(s *resolve.Shown) (figure, bool) {
	if s.Symbol == nil {
		return figure{}, false
	}
	v, ok := p.value(s.Symbol)
	if !ok {
		return figure{}, false
	}
	if s.Digits == 0 && s.Unit.Equal(v.Unit) {
		return p.result(s.Symbol)
	}
	shown := p.valueIn(v.SI, s.Unit)
	shown.Bool = v.Bool
	return p.shownTo(shown, s.Digits), true
}

// noValue stands where a value should: a shape, the words, and the way to the problem.
func (p *page) noValue(problem *diag.Problem) {
	p.raw(`<span class="flag bad">`)
	p.icon("bad")
	p.raw(" ")
	if n := p.problems[problem]; problem != nil && n > 0 {
		p.link("P", itoa(n))
		p.raw("no value</a>")
	} else {
		p.raw("no value")
	}
	p.raw("</span>")
}

// footnoteRef writes a reference to a source.
func (p *page) footnoteRef(n *notebook.FootnoteRef, s *captionSource) {
	if p.noMarks {
		return
	}
	p.raw(`<sup class="ref"`)
	if no := p.notes[n.Label]; s.own && no > 0 && !p.noAnchor {
		p.cited[no]++
		p.raw(` id="S`, itoa(no), ".", itoa(p.cited[no]), `" tabindex="-1"`)
	}
	p.raw(">")
	if no := p.notes[n.Label]; s.own && n.Note != nil && no > 0 {
		p.link("S", itoa(no))
		p.raw("S", itoa(no), "</a>")
	} else {
		p.text("[" + n.Label + "]")
	}
	p.raw("</sup>")
}

// cite writes the citation of an assumption; any other [text] stays as it is.
func (p *page) cite(label string, s *captionSource) {
	no := p.assumed[label]
	if no == 0 || !s.own {
		p.text("[" + label + "]")
		return
	}
	if p.noMarks {
		return
	}
	p.raw(`<span class="ref">`)
	p.link("A", itoa(no))
	p.raw("A", itoa(no), "</a></span>")
}

// entryLink writes an entry number as a link.
func (p *page) entryLink(number string) {
	if figures(number) { // one of many thousands on this page
		p.raw(`<a href="#e`, number, `">`, number, "</a>")
		return
	}
	if strings.HasPrefix(number, "line ") {
		p.text(number) // a line without an entry, which names itself where it stands
		return
	}
	p.openEntry("", number)
	p.text(number)
	p.raw("</a>")
}

// figures reports the number of an entry of the notebook itself that is no other's part.
func figures(number string) bool {
	for i := range len(number) {
		if number[i] < '0' || number[i] > '9' {
			return false
		}
	}
	return number != ""
}

// entryLinks writes entry numbers as links, with spaces between.
func (p *page) entryLinks(numbers []string) {
	for i, n := range numbers {
		if i > 0 {
			p.raw(" ")
		}
		p.entryLink(n)
	}
}

// waitLinks names what a line waits for; a line may wait for thousands.
func (p *page) waitLinks(numbers []string) {
	p.entryLinks(numbers[:min(len(numbers), mostLinks)])
	if n := len(numbers) - mostLinks; n > 0 {
		p.raw(" and ", itoa(n), " more")
	}
}
