package lang

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"workings/runner/diag"
)

// operator lexes an operator, a bracket, a separator or a text in quotes.
func (lx *lexer) operator() bool {
	s := lx.text[lx.pos:]
	c := s[0]
	var next byte
	if len(s) > 1 {
		next = s[1]
	}
	if c >= utf8.RuneSelf {
		return lx.sign(s)
	}
	switch c {
	case '+':
		switch {
		case strings.HasPrefix(s, "+/-"):
			lx.add(tOp, 3, "±")
		case next == '=':
			lx.wrongOperator(2, "a symbol is defined once: there is no `+=`", "give the sum a name of its own")
		default:
			lx.add(tOp, 1, "+")
		}
	case '-':
		switch next {
		case '>':
			lx.add(tOp, 2, "->")
		case '=':
			lx.wrongOperator(2, "a symbol is defined once: there is no `-=`", "give the difference a name of its own")
		default:
			lx.add(tOp, 1, "-")
		}
	case '*':
		if next == '*' {
			lx.wrongOperator(2, "a power is written with `^`", "write ^ instead of **")
			break
		}
		lx.add(tOp, 1, "*")
	case '/', '^', ',', '(', ')', '?':
		lx.add(tOp, 1, s[:1])
	case '=':
		switch next {
		case '=':
			if len(s) > 2 && s[2] == '=' {
				lx.wrongOperator(3, "equal is written with two signs", "write ==")
				break
			}
			lx.add(tOp, 2, "==")
		case '<':
			lx.wrongOperator(2, "less or equal is written `<=`", "write <= instead of =<")
		case '>':
			lx.wrongOperator(2, "greater or equal is written `>=`", "write >= instead of =>")
		default:
			lx.add(tOp, 1, "=")
		}
	case '<', '>':
		switch {
		case next == '=':
			lx.add(tOp, 2, s[:2])
		case c == '<' && next == '>':
			lx.wrongOperator(2, "not equal is written `!=`", "write != instead of <>")
		default:
			lx.add(tOp, 1, s[:1])
		}
	case '!':
		if next == '=' {
			lx.add(tOp, 2, "!=")
			break
		}
		if lx.afterValue() && !lx.gap {
			lx.wrongOperator(1, "the language has no factorial", "write the product out")
			break
		}
		lx.wrongOperator(1, "negation is written `not`", "write not instead of !")
	case '&':
		lx.wrongOperator(run(s, '&'), "both conditions at once are joined by `and`", "write and instead of "+s[:run(s, '&')])
	case '|':
		if next != '|' && !lx.afterValue() {
			inside := "…"
			if end := strings.IndexByte(s[1:], '|'); end > 0 {
				inside = strings.TrimSpace(s[1 : end+1])
			}
			lx.wrongOperator(1, "an absolute value is written with `abs`", "write abs("+inside+")")
			break
		}
		lx.wrongOperator(run(s, '|'), "alternatives are joined by `or`", "write or instead of "+s[:run(s, '|')])
	case ':':
		if next == '=' {
			lx.bad(2, CodeEquals, "a definition is written with `=`", "expected =", "write = instead of :=")
			break
		}
		lx.add(tOp, 1, ":")
	case '.':
		switch {
		case strings.HasPrefix(s, "..."):
			lx.wrongOperator(run(s, '.'), "a range has two points", "write lo .. hi")
		case next == '.':
			lx.add(tOp, 2, "..")
		default:
			lx.add(tOp, 1, ".")
		}
	case '"':
		lx.quoted(s)
	case '[', ']', '{', '}':
		lx.bad(1, CodeBracket, "only round brackets group", "expected a round bracket", "write ( ) instead of "+map[byte]string{'[': "[ ]", ']': "[ ]", '{': "{ }", '}': "{ }"}[c])
	default:
		return false
	}
	return true
}

// afterValue reports that what stands before ends a value, so that an operator is due here.
func (lx *lexer) afterValue() bool {
	if len(lx.toks) == lx.first {
		return false
	}
	t := &lx.toks[len(lx.toks)-1]
	return t.kind == tName || t.kind == tID || t.kind == tNumber || t.kind == tUnit || t.op(")")
}

// behindName reports that a name ends directly before, without a blank.
func (lx *lexer) behindName() bool {
	if len(lx.toks) == lx.first || lx.gap {
		return false
	}
	t := &lx.toks[len(lx.toks)-1]
	return t.kind == tName || t.kind == tID
}

func run(s string, c byte) int {
	n := 0
	for n < len(s) && s[n] == c {
		n++
	}
	return n
}

func (lx *lexer) wrongOperator(n int, message, hint string) {
	lx.bad(n, CodeOperator, message, "this is no operator here", hint)
}

func (lx *lexer) quoted(s string) {
	end := strings.IndexByte(s[1:], '"')
	if end < 0 {
		n := len(strings.TrimRight(s, " \t"))
		lx.bad(n, CodeString, "this text in quotes does not end", "expected a closing \"", `put a " at its end`)
		return
	}
	lx.add(tString, end+2, s[1:end+1])
}

const superscripts = "⁰¹²³⁴⁵⁶⁷⁸⁹"

// superscript is the plain form of a superscript figure or sign, or 0.
func superscript(r rune) rune {
	switch r {
	case '⁻':
		return '-'
	case '⁺':
		return '+'
	}
	return mapped(r, superscripts, "0123456789")
}

// sign lexes an operator outside ASCII.
func (lx *lexer) sign(s string) bool {
	r, n := utf8.DecodeRuneInString(s)
	if superscript(r) != 0 {
		lx.exponent(s)
		return true
	}
	text := ""
	switch r {
	case '·', '⋅', '×', '∙':
		text = "*"
	case '−':
		text = "-"
	case '±':
		text = "±"
	case '≤':
		text = "<="
	case '≥':
		text = ">="
	case '≠':
		text = "!="
	case '→':
		text = "->"
	}
	if text != "" {
		lx.add(tOp, n, text)
		return true
	}
	return false
}

// exponent lexes superscripts: x², x⁻¹.
func (lx *lexer) exponent(s string) {
	n, plain := 0, ""
	for n < len(s) {
		r, size := utf8.DecodeRuneInString(s[n:])
		p := superscript(r)
		if p == 0 {
			break
		}
		plain += string(p)
		n += size
	}
	figures := strings.TrimLeft(plain, "+-")
	if len(plain)-len(figures) > 1 || figures == "" || strings.ContainsAny(figures, "+-") {
		lx.bad(n, CodeNumber, "this superscript is no number", "expected an exponent", "write ^ and the exponent")
		return
	}
	at := diag.Span{Start: lx.start + lx.pos, End: lx.start + lx.pos + n}
	lx.toks = append(lx.toks, token{text: "^", at: at, kind: tOp})
	if sign := plain[:len(plain)-len(figures)]; sign != "" {
		lx.toks = append(lx.toks, token{text: sign, at: at, kind: tOp})
	}
	lx.toks = append(lx.toks, token{text: figures, at: at, kind: tNumber})
	lx.pos += n
}

// odd reports a character that the language has no use for.
func (lx *lexer) odd() {
	s := lx.text[lx.pos:]
	r, n := utf8.DecodeRuneInString(s)
	if (r == '\'' || r == '’') && lx.behindName() {
		r = '′'
	}
	switch r {
	case '%':
		lx.bad(n, CodeUnit, "`%` stands only directly after a number, or after `in`", "no number stands before it",
			"write x in % to show a value in per cent; a fraction needs no %")
	case '°':
		lx.bad(n, CodeUnit, "`°` stands only in a unit directly after a number, or after `in`", "no number stands before it", "")
	case '÷':
		lx.wrongOperator(n, "a division is written with `/`", "write / instead of ÷")
	case '√':
		lx.wrongOperator(n, "a root is written with `sqrt`", "write sqrt(…)")
	case '∧', '∨', '¬':
		word := map[rune]string{'∧': "and", '∨': "or", '¬': "not"}[r]
		lx.wrongOperator(n, "this is written `"+word+"`", "write "+word)
	case '–', '—', '‐', '‑':
		lx.wrongOperator(n, "this is a dash, not a minus sign", "write - instead of "+string(r))
	case '…':
		lx.wrongOperator(n, "a range has two points", "write lo .. hi")
	case '“', '”', '„', '«', '»', '‘', '’', '\'', '`':
		lx.smartQuotes(s, r, n)
	case '′', '″':
		lx.bad(n, CodeName, "a name holds letters, figures and `_`, no primes", "a prime", "write a subscript, such as h_f")
	case ';':
		lx.bad(n, CodeCharacter, "a line holds one statement", "nothing is separated by ;", "put what follows on a line of its own")
	case '#':
		lx.bad(n, CodeCharacter, "`#` means nothing here", "not part of the language", "a comment begins with //")
	case combiningDot:
		lx.bad(n, CodeName, "a dot above needs a letter before it", "no letter stands before it", "")
	default:
		lx.strange(s, r, n)
	}
}

func (lx *lexer) smartQuotes(s string, r rune, n int) {
	closing := map[rune]string{'“': "“”\"", '”': "“”\"", '„': "“”\"", '«': "»", '»': "«", '‘': "’", '’': "’", '\'': "'", '`': "`"}[r]
	if end := strings.IndexAny(s[n:], closing); end >= 0 {
		inside := s[n : n+end]
		_, m := utf8.DecodeRuneInString(s[n+end:])
		lx.bad(n+end+m, CodeString, "a text stands in straight double quotes", "expected \" on both sides", `write "`+inside+`"`)
		return
	}
	lx.bad(n, CodeString, "a text stands in straight double quotes", "expected \"", `write " on both sides`)
}

// strange reports a character by its number, together with the rest of the word it stands in.
func (lx *lexer) strange(s string, r rune, n int) {
	if r == utf8.RuneError && n == 1 {
		lx.bad(n, CodeCharacter, "this is no UTF-8 text", "a broken character", "save the file as UTF-8")
		return
	}
	if !unicode.IsLetter(r) && !unicode.IsMark(r) {
		lx.bad(n, CodeCharacter, fmt.Sprintf("`%c` means nothing here", r), "not part of the language", "")
		return
	}
	for n < len(s) {
		next, size := utf8.DecodeRuneInString(s[n:])
		if !unicode.IsLetter(next) && !unicode.IsMark(next) && !nameRune(next) {
			break
		}
		n += size
	}
	hint := "use a Latin or Greek letter"
	if alike := skeleton(string(r)); alike != string(r) {
		hint = fmt.Sprintf("type the Latin or Greek %s, which looks like it", alike)
	}
	what := fmt.Sprintf("a letter of another script, U+%04X", r)
	if unicode.IsMark(r) {
		what, hint = fmt.Sprintf("a mark that is added to the letter before, U+%04X", r), "only the dot above is (ṁ); write a letter that is one character"
	} else if unicode.Is(unicode.Latin, r) || unicode.Is(unicode.Greek, r) {
		what = fmt.Sprintf("a special form of a letter, U+%04X", r)
	}
	lx.bad(n, CodeName, "a name is written in Latin or Greek letters", what, hint)
}
