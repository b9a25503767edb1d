package sheet

import (
	"strconv"
	"unicode"
	"unicode/utf8"

	"workings/runner/diag"
)

// buf collects markup. Text reaches it only through text and attr, which escape.
type buf struct{ b []byte }

// raw appends markup.
func (o *buf) raw(parts ...string) {
	for _, s := range parts {
		o.b = append(o.b, s...)
	}
}

func (o *buf) int(n int) { o.b = strconv.AppendInt(o.b, int64(n), 10) }

// text appends text from outside, escaped. Characters that cannot be seen, or that change the
// direction of what stands around them, are shown as their code.
func (o *buf) text(s string) { o.escape(s, true) }

// attr appends the value of an attribute, escaped for double quotes.
func (o *buf) attr(s string) { o.escape(s, false) }

func (o *buf) escape(s string, breaks bool) {
	from := 0
	for i := 0; i < len(s); {
		c := s[i]
		if c < utf8.RuneSelf {
			rep := ""
			switch {
			case c == '&':
				rep = "&amp;"
			case c == '<':
				rep = "&lt;"
			case c == '>':
				rep = "&gt;"
			case c == '"':
				rep = "&quot;"
			case c == '\n' || c == '\t':
				if breaks {
					i++
					continue
				}
				rep = " "
			case c < ' ' || c == 0x7f:
				o.raw(s[from:i])
				o.code(rune(c))
				i++
				from = i
				continue
			default:
				i++
				continue
			}
			o.raw(s[from:i], rep)
			i++
			from = i
			continue
		}
		r, n := utf8.DecodeRuneInString(s[i:])
		if hidden(r) {
			o.raw(s[from:i])
			o.code(r)
			from = i + n
		}
		i += n
	}
	o.raw(s[from:])
}

// code shows a character by its code.
func (o *buf) code(r rune) {
	o.raw(`\u`)
	hex := strconv.FormatInt(int64(r), 16)
	for range 4 - len(hex) {
		o.raw("0")
	}
	o.raw(hex)
}

// hidden reports a character that a reader would not see or that XML does not allow.
func hidden(r rune) bool {
	if r == '\u00ad' {
		return false // a soft hyphen only breaks words
	}
	return unicode.IsControl(r) || diag.Bidi(r) || r == unicode.ReplacementChar ||
		r&0xfffe == 0xfffe || r > 0x7f && unicode.Is(unicode.Cf, r)
}

// link opens an <a> to a place on the page.
func (o *buf) link(prefix, id string) {
	o.raw(`<a href="#`, prefix)
	o.attr(id)
	o.raw(`">`)
}
