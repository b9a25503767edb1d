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
func (o *buf) text(s string) { escape(o, s, true) }

// textOf is text of bytes.
func (o *buf) textOf(s []byte) { escape(o, s, true) }

// attr appends the value of an attribute, escaped for double quotes.
func (o *buf) attr(s string) { escape(o, s, false) }

func escape[T string | []byte](o *buf, s T, breaks bool) {
	from := 0
	for i := 0; i < len(s); {
		c := s[i]
		if c < utf8.RuneSelf {
			i++
			if plainByte(c) {
				continue
			}
			rep := ""
			switch c {
			case '&':
				rep = "&amp;"
			case '<':
				rep = "&lt;"
			case '>':
				rep = "&gt;"
			case '"':
				rep = "&quot;"
			case '\n', '\t':
				if breaks {
					continue
				}
				rep = " "
			}
			o.b = append(append(o.b, s[from:i-1]...), rep...)
			if rep == "" {
				o.code(rune(c))
			}
			from = i
			continue
		}
		var next [utf8.UTFMax]byte
		r, n := utf8.DecodeRune(next[:copy(next[:], s[i:])])
		if hidden(r) {
			o.b = append(o.b, s[from:i]...)
			o.code(r)
			from = i + n
		}
		i += n
	}
	o.b = append(o.b, s[from:]...)
}

// plainByte reports an ASCII character that stands for itself in markup: all but & < > " and controls.
func plainByte(c byte) bool {
	const not = 1<<32 - 1 | 1<<'&' | 1<<'<' | 1<<'>' | 1<<'"'
	return c >= 64 && c < 0x7f || c < 64 && uint64(not)>>c&1 == 0
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
	switch {
	case r < 0x600: // no format characters but the soft hyphen, which only breaks words
		return r < ' ' || r >= 0x7f && r < 0xa0
	case r >= 0x2070 && r < 0xd800: // nor any here: exponents, arrows, operators
		return false
	}
	return unicode.IsControl(r) || diag.Bidi(r) || r == unicode.ReplacementChar || r&0xfffe == 0xfffe || unicode.Is(unicode.Cf, r)
}

// link opens an <a> to a place on the page.
func (o *buf) link(prefix, id string) {
	o.raw(`<a href="#`, prefix)
	o.attr(id)
	o.raw(`">`)
}
