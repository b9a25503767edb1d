package sheet

import (
	"slices"
	"strings"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/units"
)

// draft is an entry while its rows are written: number and caption span all of them, so they are
// put in front once the rows are counted.
type draft struct {
	start, rows int
	class       string
}

func (p *page) draft(class string) *draft {
	if p.inSolve > 0 {
		class += " in"
	}
	return &draft{start: len(p.b), class: class}
}

// eq begins the next row with its equation cell: symbol begins the left part.
func (d *draft) eq(p *page, class string) {
	if d.rows > 0 {
		p.raw("</tr><tr>")
	}
	d.rows++
	p.raw(`<td class="eq`)
	if class != "" {
		p.raw(" ", class)
	}
	p.raw(`"><span>`)
}

// rhs goes from the symbol to what stands right of it. The style sheet knows the two spans of an
// equation cell by their order: there are too many of them for names.
func (p *page) rhs() { p.raw(`</span><span>`) }

// blank ends a row that has no result.
func (p *page) blank() { p.raw("</span></td><td></td>") }

// resultCell ends a row with a symbol's value.
func (p *page) resultCell(s *resolve.Symbol) {
	f, ok := p.result(s)
	if !ok {
		p.blank()
		return
	}
	p.raw(`</span></td><td class="res">`)
	p.figureCells(f, p.answer(s))
	p.raw("</td>")
}

func (p *page) figureCells(f figure, answer bool) {
	if answer {
		p.raw(`<b class="ans">`)
	} else {
		p.raw("<b>")
	}
	p.text(f.num)
	p.raw("</b>")
	if !f.unit.IsNone() {
		p.raw(" <span>")
		p.text(f.unit.String())
		p.raw("</span>")
		p.seen(f.unit)
	}
}

// seen notes a unit that the list of units may have to define.
func (p *page) seen(u units.Unit) {
	if !u.IsNone() {
		p.unitsSeen[u.String()] = true
		if p.memory != nil {
			p.news.seen = append(p.news.seen, u)
		}
	}
}

// finish puts number, caption and trail in front of the rows and ends the last of them.
func (d *draft) finish(p *page, e *eval.Entry) {
	p.scratch = append(p.scratch[:0], p.b[d.start:]...)
	p.b = p.b[:d.start]
	n := ""
	if d.rows > 1 {
		n = ` rowspan="` + itoa(d.rows) + `"`
	}
	p.raw(`<tbody class="row`)
	if d.class != "" {
		p.raw(" ", strings.TrimSpace(d.class))
	}
	if e.Status == eval.Failed {
		p.raw(" hot")
	}
	p.raw(`"`)
	if e.Number != "" {
		p.raw(` id="e`)
		p.attr(e.Number)
		p.raw(`"`)
	}
	p.trailData(e)
	if d.rows > 1 {
		p.raw(` style="--n:`, itoa(d.rows), `"`)
	}
	p.raw("><tr>")
	if e.Number != "" {
		p.raw(`<th scope="row"`, n, ">")
		p.ownNumber(e.Number)
		p.raw("</th>")
	} else {
		p.raw("<td", n, "></td>")
	}
	p.raw(`<td class="cap"`, n, ">")
	p.say(e)
	p.trail(e)
	p.raw("</td>")
	p.b = append(p.b, p.scratch...)
	p.raw("</tr>")
}

func (p *page) end() { p.raw("</tbody>\n") }

// ownNumber writes the number in front of an entry. Among the lines of a used sheet, whose name
// stands above them, the eye is spared the name.
func (p *page) ownNumber(number string) {
	p.link("e", number)
	if short, ok := strings.CutPrefix(number, p.within); ok && p.within != "" {
		p.spoken(p.within)
		p.text(short)
	} else {
		p.text(number)
	}
	p.raw("</a>")
}

// trailData names the symbols that a row defines, for the page's script.
func (p *page) trailData(e *eval.Entry) {
	first := true
	for _, r := range e.Results {
		id := p.of(r.Symbol).id
		if id < 0 {
			continue
		}
		if first {
			p.raw(` data-def="`)
		} else {
			p.raw(" ")
		}
		first = false
		p.int(id)
	}
	if !first {
		p.raw(`"`)
	}
}

// say writes a line's caption.
func (p *page) say(e *eval.Entry) {
	c := lang.CaptionOf(e.Line.Stmt)
	if c.Text == "" {
		return
	}
	p.lineCaption(e.Line, c)
	p.raw(" ")
}

// lineCaption writes a caption of a line: the author's, or of a cycle's total the sheet's own words.
func (p *page) lineCaption(l *resolve.Line, c lang.Caption) {
	if l.Total != nil {
		p.text(c.Text)
		return
	}
	p.caption(l.File, c.Loc)
}

// trail says where an entry's values come from and what reads it.
func (p *page) trail(e *eval.Entry) {
	uses, usedBy := outside(e.Uses, e.Number), outside(e.UsedBy, e.Number)
	if len(uses) == 0 && len(usedBy) == 0 {
		return
	}
	p.raw(`<span class="trail">`)
	if len(uses) > 0 {
		p.raw("from ")
		for i, n := range uses {
			if i > 0 {
				p.raw(" ")
			}
			if p.broken[n] {
				p.icon("bad")
				p.raw(`<span class="vh">no value </span>`)
			}
			p.entryLink(n)
		}
	}
	if len(usedBy) > 0 {
		if len(uses) > 0 {
			p.raw("\u2003")
		}
		p.raw("into ")
		p.entryLinks(usedBy)
	}
	p.raw("</span>")
}

// outside is a trail in order, without the lines of the entry's own working.
func outside(numbers []string, own string) []string {
	inside := func(n string) bool {
		rest, ok := strings.CutPrefix(n, own)
		return ok && (rest == "" || rest[0] == '.' && own != "")
	}
	if slices.IsSortedFunc(numbers, compareNumbers) && !slices.ContainsFunc(numbers, inside) {
		return numbers
	}
	return slices.DeleteFunc(inOrder(numbers), inside)
}

// inOrder sorts entry numbers as a reader counts.
func inOrder(numbers []string) []string {
	out := slices.Clone(numbers)
	slices.SortStableFunc(out, compareNumbers)
	return out
}

// compareNumbers compares entry numbers as a reader counts: 9, 25, 25.2, 25.10.
func compareNumbers(a, b string) int {
	for {
		x, restA, moreA := strings.Cut(a, ".")
		y, restB, moreB := strings.Cut(b, ".")
		if len(x) != len(y) {
			return len(x) - len(y)
		}
		if c := strings.Compare(x, y); c != 0 || !moreA && !moreB {
			return c
		}
		if !moreA || !moreB {
			return strings.Compare(restA, restB)
		}
		a, b = restA, restB
	}
}
