package sheet

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"workings/runner/diag"
)

// sentence writes a message as a sentence: messages begin small and have no full stop.
func (p *page) sentence(s string) {
	r, n := utf8.DecodeRuneInString(s)
	// A message that begins with a name or a unit keeps it: `h_2 is …`, `eta is defined twice`.
	word, rest, _ := strings.Cut(s, " ")
	next, _, _ := strings.Cut(rest, " ")
	symbol := word == "a" && (next == "is" || next == "was" || next == "has" || next == "cannot")
	if unicode.IsLower(r) && beginsMessage(word) && !symbol {
		p.text(string(unicode.ToUpper(r)))
		s = s[n:]
	}
	p.text(s)
	if !strings.HasSuffix(s, ".") && !strings.HasSuffix(s, "?") {
		p.raw(".")
	}
}

// beginsMessage are the words of ours that messages and hints begin with. Any other first word
// may be an author's name, whose case counts.
func beginsMessage(word string) bool {
	switch word {
	case "a", "an", "the", "this", "that", "these", "there", "no", "one", "two", "both", "only", "what", "where", "with", "while", "outside", "it", "its", "lines",
		"write", "give", "check", "add", "take", "choose", "move", "leave", "look", "put", "define", "divide", "compare", "did", "for", "if", "narrow", "widen", "start",
		"fractions", "state", "front", "links", "figures", "division", "bring", "everything", "zero", "enthalpies", "use", "say", "read", "sort", "split", "correct", "type", "make", "end", "pressure", "temperature", "specific", "density",
		"compressor", "turbine", "pump", "heater", "combustor", "boiler", "cooler", "condenser", "valve", "mixer", "splitter", "regenerator", "exchanger", "more", "some", "ask", "at", "degrees", "first", "every":
		return true
	}
	return false
}

// foot writes a problem under the entry it belongs to.
func (p *page) foot(problem *diag.Problem) {
	p.raw(`<tr><td class="foot" colspan="5">`)
	p.excerptOf(problem)
	p.raw("</td></tr>")
}

// excerptOf writes what follows a problem's sentence: the source line with its marker, what else
// it points at, the hint and the code.
func (p *page) excerptOf(q *diag.Problem) {
	if q.File != nil {
		p.excerpt(q.File, q.Span, q.Label)
	}
	for _, r := range q.Related {
		p.raw(`<p class="hint">`)
		p.sentence(r.Message)
		p.raw("</p>")
		if r.File != nil {
			p.excerpt(r.File, r.Span, "")
		}
	}
	if q.Hint != "" {
		p.raw(`<p class="hint">`)
		p.sentence(q.Hint)
		p.raw("</p>")
	}
	p.raw(`<p class="code">`)
	if q.File != nil {
		line, col := q.Position()
		p.text(q.File.Name)
		p.raw(", line ", itoa(line), ", column ", itoa(col), ", ")
	}
	p.text(string(q.Code))
	p.raw("</p>")
}

// longestExcerpt is how many characters of a source line are shown on each side of its marker.
const longestExcerpt = 70

func (p *page) excerpt(f *diag.File, span diag.Span, label string) {
	line := f.Line(min(max(span.Start, 0), len(f.Text)))
	whole := f.LineSpan(line)
	start := min(max(span.Start, whole.Start), whole.End)
	end := min(max(span.End, start), whole.End)
	before := cutLeft(tabs(f.Text[whole.Start:start]))
	marked := cutRight(tabs(f.Text[start:end]), 2*longestExcerpt)
	after := cutRight(tabs(f.Text[end:whole.End]), longestExcerpt)
	no := itoa(line)
	p.raw(`<pre tabindex="0" role="group" aria-label="source line `, no, `"><span class="ln">`, no, "</span>  ")
	p.text(before)
	p.raw("<mark>")
	p.text(marked)
	p.raw("</mark>")
	p.text(after)
	p.raw("\n", `<span class="ln">`, strings.Repeat(" ", len(no)), "</span>  ", strings.Repeat(" ", utf8.RuneCountInString(before)),
		`<span class="caret">`, strings.Repeat("^", max(1, utf8.RuneCountInString(marked))))
	if label != "" {
		p.raw(" ")
		p.text(label)
	}
	p.raw("</span></pre>")
}

func tabs(b []byte) string { return strings.ReplaceAll(string(b), "\t", "    ") }

func cutLeft(s string) string {
	if r := []rune(s); len(r) > longestExcerpt {
		return "…" + string(r[len(r)-longestExcerpt:])
	}
	return s
}

func cutRight(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}

// problemList collects every problem at the end.
func (p *page) problemList() {
	if len(p.tr.Problems) == 0 {
		return
	}
	p.section("Problems", "Problems")
	p.raw(`<ol class="findings">`, "\n")
	for i, q := range p.tr.Problems {
		if p.full() {
			break
		}
		class, icon := "note", "open"
		switch q.Severity {
		case diag.Error:
			class, icon = "bad", "bad"
		case diag.Caution:
			class, icon = "warn", "warn"
		}
		p.raw(`<li id="P`, itoa(i+1), `" class="`, class, `" tabindex="-1"><span class="fno">`)
		p.icon(icon)
		p.raw(" P", itoa(i+1), ", ", q.Severity.String(), `</span><div><p><b>`)
		p.sentence(q.Message)
		p.raw("</b></p>")
		p.excerptOf(q)
		p.raw("</div></li>\n")
	}
	p.raw("</ol></section>\n")
}

// trimSource is source text on one line, without the // before a caption.
func trimSource(s string) string {
	s = strings.TrimSpace(s)
	s = strings.TrimSpace(strings.TrimSuffix(s, "//"))
	return strings.Join(strings.Fields(s), " ")
}
