package lang

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"workings/runner/diag"
	"workings/units"
)

// Line is one source line. File.Text[Start+i] is Text[i] for every byte of Text.
type Line struct {
	Text  string
	Start int
}

// lexer cuts lines into tokens, which it appends to one list.
type lexer struct {
	file *diag.File
	toks []token
	bads []*diag.Problem // of the tBad tokens, in order

	text  string // the present line
	start int    // its offset in the file
	pos   int
	first int  // index of the line's first token
	gap   bool // a blank stands before pos
	table bool // of a table fence, where a line may begin with `states`
	ids   bool // after `states`: words separated by commas are states' IDs
	words bool // of a cycle or chart fence: all words of a line are IDs, but for the flows
	cycle bool // of a cycle fence, where a line of `flow` holds an expression
	study bool // of a study fence, where words stand after numbers: 57 points
	flow  int  // 1 + the first token of the flow that the line belongs to, or 0
}

// line lexes one line and returns its caption.
func (lx *lexer) line(l Line) Caption {
	lx.text, lx.start, lx.pos, lx.gap = l.Text, l.Start, 0, false
	lx.first = len(lx.toks)
	lx.ids = lx.ids && lx.toks[lx.first-1].op(",") && !tableWord(strings.TrimSpace(l.Text))
	if flowLine(l.Text) && lx.cycle {
		lx.flow = 1 + lx.first
	} else if lx.flow > 0 && !lx.flowGoesOn(l.Text) {
		lx.flow = 0
	}
	for lx.pos < len(lx.text) {
		c := lx.text[lx.pos]
		switch {
		case c == ' ' || c == '\t':
			lx.pos++
			lx.gap = true
			continue
		case c >= utf8.RuneSelf && lx.blanks(): // spaces of fixed width, pasted from elsewhere
			lx.gap = true
			continue
		case c == '/' && strings.HasPrefix(lx.text[lx.pos:], "//"):
			return lx.caption(lx.pos + 2)
		case lx.words && lx.flow == 0:
			lx.word()
		case lx.ids && c != ',':
			lx.state()
		case c >= '0' && c <= '9' || c == '.' && lx.pos+1 < len(lx.text) && digit(lx.text[lx.pos+1]):
			lx.number()
		default:
			if n := nameLen(lx.text[lx.pos:]); n > 0 {
				lx.name(n)
			} else if !lx.operator() {
				lx.odd()
			}
		}
		lx.gap = false
	}
	return Caption{}
}

// tableWord reports a line that begins with a word of a table fence.
func tableWord(s string) bool {
	word := s[:nameLen(s)]
	return word == "states" || word == "columns" || word == "symbols"
}

func digit(c byte) bool { return c >= '0' && c <= '9' }

func (lx *lexer) caption(from int) Caption {
	body := lx.text[from:]
	trimmed := strings.TrimSpace(body)
	at := lx.start + from + strings.Index(body, trimmed)
	return Caption{At: At{diag.Span{Start: at, End: at + len(trimmed)}}, Text: trimmed}
}

// add appends a token of n bytes at pos.
func (lx *lexer) add(k kind, n int, text string) {
	at := lx.start + lx.pos
	lx.toks = append(lx.toks, token{text: text, at: diag.Span{Start: at, End: at + n}, kind: k, gap: lx.gap})
	lx.pos += n
}

// bad appends a token of n bytes at pos that carries its own problem.
func (lx *lexer) bad(n int, code diag.Code, message, label, hint string) {
	lx.add(tBad, n, lx.text[lx.pos:lx.pos+n])
	t := &lx.toks[len(lx.toks)-1]
	t.match = int32(len(lx.bads))
	lx.bads = append(lx.bads, &diag.Problem{Code: code, Severity: diag.Error, File: lx.file, Span: t.at,
		Message: message, Label: label, Hint: hint})
}

// blanks skips blanks and says whether there were any.
func (lx *lexer) blanks() bool {
	from := lx.pos
	for lx.pos < len(lx.text) {
		r, n := utf8.DecodeRuneInString(lx.text[lx.pos:])
		if r != '\t' && !unicode.Is(unicode.Zs, r) {
			break
		}
		lx.pos += n
	}
	return lx.pos > from
}

func (lx *lexer) name(n int) {
	word := lx.text[lx.pos : lx.pos+n]
	if !reserved(word) {
		lx.ids = lx.table && word == "states" && len(lx.toks) == lx.first
		lx.add(tName, n, word)
		return
	}
	lx.add(tWord, n, word)
	switch word {
	case "in":
		lx.gap = lx.blanks()
		if n := inUnitLen(lx.text[lx.pos:]); n > 0 && !(lx.study && lx.text[lx.pos:lx.pos+n] == "1") { // in 1 .. 30
			lx.unit(n)
		}
	case "state":
		lx.gap = lx.blanks()
		lx.state()
	case "accept":
		if len(lx.toks)-lx.first == 1 {
			lx.gap = lx.blanks()
			if n := codeLen(lx.text[lx.pos:]); n > 0 {
				lx.add(tID, n, lx.text[lx.pos:lx.pos+n])
			}
		}
	}
}

// flowLine reports a line of a cycle that begins with the word flow and is no component.
func flowLine(s string) bool {
	rest, ok := strings.CutPrefix(strings.TrimLeft(s, " \t"), "flow")
	return ok && wordLen(rest) == 0 && !strings.HasPrefix(strings.TrimLeft(rest, " \t"), "->")
}

// flowGoesOn reports a line on which the flow of the lines before it may go on: one of its brackets
// is open, or it ends where a line goes on.
func (lx *lexer) flowGoesOn(next string) bool {
	next = strings.TrimSpace(next)
	if next == "" || strings.HasPrefix(next, "//") {
		return false
	}
	opens := 0
	for i := lx.flow - 1; i < len(lx.toks); i++ {
		if t := &lx.toks[i]; t.op("(") {
			opens++
		} else if t.op(")") {
			opens--
		}
	}
	return opens > 0 || goesOn(&lx.toks[len(lx.toks)-1])
}

// word lexes a word of a cycle or chart fence, or what stands between them.
func (lx *lexer) word() {
	if n := wordLen(lx.text[lx.pos:]); n > 0 {
		lx.add(tID, n, lx.text[lx.pos:lx.pos+n])
	} else if !lx.operator() {
		lx.odd()
	}
}

// state lexes the ID of a state, perhaps of another sheet: 2s, gt.4. Where none stands it takes
// one character, so that lexing goes on.
func (lx *lexer) state() {
	rest := lx.text[lx.pos:]
	n := wordLen(rest)
	if n == 0 {
		if lx.ids && !lx.operator() {
			lx.odd()
		}
		return
	}
	lx.add(tID, n, rest[:n])
	if len(rest) > n+1 && rest[n] == '.' {
		if m := wordLen(rest[n+1:]); m > 0 {
			lx.gap = false
			lx.add(tOp, 1, ".")
			lx.add(tID, m, rest[n+1:n+1+m])
		}
	}
}

func codeLen(s string) int {
	i := 0
	for i < len(s) && (s[i] == '-' || s[i] == '_' || digit(s[i]) || s[i] >= 'a' && s[i] <= 'z' || s[i] >= 'A' && s[i] <= 'Z') {
		i++
	}
	return i
}

// inUnitLen is the length of the unit at the start of s, which may begin with 1: 1/K.
func inUnitLen(s string) int {
	if !strings.HasPrefix(s, "1") {
		return units.Scan(s)
	}
	if strings.HasPrefix(s, "1/") {
		if n := units.Scan(s[2:]); n > 0 {
			return 2 + n
		}
	}
	if len(s) > 1 && (digit(s[1]) || s[1] == '.') {
		return 0
	}
	return 1
}

func (lx *lexer) unit(n int) {
	// A caption never belongs to a unit: kJ//first law.
	if cut := strings.Index(lx.text[lx.pos:lx.pos+n], "//"); cut > 0 {
		n = cut
	}
	lx.add(tUnit, n, lx.text[lx.pos:lx.pos+n])
}

// number lexes a number and the unit directly after it.
func (lx *lexer) number() {
	s := lx.text[lx.pos:]
	n := 0
	figures := func() {
		for n < len(s) && digit(s[n]) {
			n++
		}
	}
	figures()
	if n+1 < len(s) && s[n] == '.' && s[n+1] != '.' {
		n++
		if !digit(s[n]) {
			lx.bad(n, CodeNumber, "a figure is missing after the decimal point", "expected a figure", "write "+s[:n]+"0 or "+s[:n-1])
			return
		}
		figures()
	} else if n+1 == len(s) && s[n] == '.' {
		lx.bad(n+1, CodeNumber, "a figure is missing after the decimal point", "expected a figure", "write "+s[:n]+".0 or "+s[:n])
		return
	}
	if n < len(s) && (s[n] == 'e' || s[n] == 'E') {
		m := n + 1
		if m < len(s) && (s[m] == '+' || s[m] == '-') {
			m++
		}
		if m < len(s) && digit(s[m]) {
			n = m
			figures()
		}
	}
	if n+1 < len(s) && s[n] == '.' && digit(s[n+1]) {
		from := n
		for n < len(s) && (digit(s[n]) || s[n] == '.') {
			n++
		}
		lx.bad(n, CodeNumber, "a number has one decimal point", "this has more", "write "+s[:from]+" or, without grouping, "+strings.ReplaceAll(s[:n], ".", ""))
		return
	}
	if n+1 < len(s) && (s[n] == '_' || s[n] == '\'' || strings.HasPrefix(s[n:], "’")) {
		mark := 1
		if s[n] >= utf8.RuneSelf {
			mark = len("’")
		}
		if n+mark < len(s) && digit(s[n+mark]) {
			group := s[n : n+mark]
			for strings.HasPrefix(s[n:], group) || n < len(s) && digit(s[n]) {
				if digit(s[n]) {
					n++
				} else {
					n += mark
				}
			}
			lx.bad(n, CodeNumber, "figures are not grouped", "expected figures alone", "write "+strings.ReplaceAll(s[:n], group, ""))
			return
		}
	}
	lx.add(tNumber, n, s[:n])
	lx.gap = lx.blanks()
	if u := units.Scan(lx.text[lx.pos:]); u > 0 && !afterNumber(lx.text[lx.pos:lx.pos+u]) && !(lx.study && studyAfterNumber(lx.text[lx.pos:lx.pos+u])) {
		lx.unit(u)
	}
}
