package units

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// maxBracket is how far Scan looks for the end of a bracket; no unit is as long.
const maxBracket = 256

// Scan returns the length in bytes of the unit run at the start of s, which stands directly after a number (and
// any spaces); 0 if there is none. It judges only where the run ends: Parse says whether it is a unit.
//
// A run starts at a letter, °, % or Δ. It ends at a space outside brackets, a comma, an unmatched ), +, -, or a
// comparison, and before an operator that nothing follows which could start a unit (a space, a digit, a bracket
// that opens on a digit), so that `5 m/2` and `5 kJ/(2 kg)` divide. Two hyphens belong to it: that of an exponent
// (s^-1), and one between units after a solidus (kJ/kg-K), so that Parse can refuse the latter.
func Scan(s string) int {
	if !startsSymbol(s) {
		return 0
	}
	i, slash := 0, false
	for {
		i += symbolLen(s[i:])
		_, n := scanExponent(s[i:])
		i += n
		rest := s[i:]
		if startsSymbol(rest) {
			continue // m²s: no unit, and Parse says so
		}
		if slash && strings.HasPrefix(rest, "-") && startsUnitWord(rest[1:]) {
			i++
			continue
		}
		op := operatorLen(rest)
		if op == 0 {
			return i
		}
		switch after := rest[op:]; {
		case startsSymbol(after):
			i += op
		case strings.HasPrefix(after, "(") && startsFactor(after):
			i += op + bracketLen(after)
		default:
			return i
		}
		slash = slash || rest[0] == '/'
	}
}

// startsUnitWord reports whether s starts with a symbol that is a unit.
func startsUnitWord(s string) bool {
	_, ok := symbols()[s[:symbolLen(s)]]
	return ok
}

// bracketLen is the length of the bracket that opens s. A bracket that is not closed before something no unit
// holds ends there.
func bracketLen(s string) int {
	depth, end := 0, min(len(s), maxBracket)
	for end < len(s) && !utf8.RuneStart(s[end]) {
		end--
	}
loop:
	for i := 0; i < end; i++ {
		switch s[i] {
		case '(':
			depth++
		case ')':
			if depth--; depth == 0 {
				return i + 1
			}
		case ',', '<', '>', '=', '!', '\n', '\r':
			end = i
			break loop
		case '/':
			if strings.HasPrefix(s[i:], "//") { // a caption
				end = i
				break loop
			}
		}
	}
	return len(strings.TrimRight(s[:end], " \t"))
}

// scanExponent returns the exponent at the start of s, without its ^, and its length with it: ⁻¹, ^2, ^-1, ^0.5,
// ^(1/2). A name after ^ is taken along, so that Parse can refuse it. The length is 0 where there is none.
func scanExponent(s string) (text string, length int) {
	if !strings.HasPrefix(s, "^") {
		n := 0
		for n < len(s) {
			r, size := utf8.DecodeRuneInString(s[n:])
			if !strings.ContainsRune(superscriptDigits+"⁺⁻", r) {
				break
			}
			n += size
		}
		return s[:n], n
	}
	rest := s[1:]
	if strings.HasPrefix(rest, "(") {
		n := bracketLen(rest)
		return rest[:n], n + 1
	}
	n := 0
	for _, sign := range []string{"-", "−", "+"} {
		if strings.HasPrefix(rest, sign) {
			n = len(sign)
		}
	}
	start := n
	for n < len(rest) && rest[n] >= '0' && rest[n] <= '9' {
		n++
		if n+1 < len(rest) && rest[n] == '.' && rest[n+1] >= '0' && rest[n+1] <= '9' {
			n++
		}
	}
	n += symbolLen(rest[n:])
	if n == start {
		return "", 0
	}
	return rest[:n], n + 1
}

// exponentValue reads an exponent as scanExponent found it.
func exponentValue(text string) (num, den int, ok bool) {
	if inner, found := strings.CutPrefix(text, "("); found {
		if text, found = strings.CutSuffix(inner, ")"); !found {
			return 0, 0, false
		}
	}
	var b strings.Builder
	for i, r := range text {
		switch {
		case r == '⁻' || r == '−':
			b.WriteByte('-')
		case r == '⁺':
			b.WriteByte('+')
		case r >= utf8.RuneSelf:
			at := strings.IndexRune(superscriptDigits, r)
			if at < 0 {
				return 0, 0, false
			}
			b.WriteByte('0' + byte(utf8.RuneCountInString(superscriptDigits[:at])))
		default:
			b.WriteByte(text[i])
		}
	}
	top, bottom, isFraction := strings.Cut(b.String(), "/")
	whole, decimals, isDecimal := strings.Cut(top, ".")
	if num, ok = smallInt(whole+decimals, true); !ok || isFraction && isDecimal {
		return 0, 0, false
	}
	den = 1
	if isFraction {
		if den, ok = smallInt(bottom, false); !ok || den == 0 {
			return 0, 0, false
		}
	}
	for range decimals {
		den *= 10
	}
	return num, den, true
}

// smallInt reads a whole number of at most four figures.
func smallInt(s string, signed bool) (int, bool) {
	negative := false
	if signed && s != "" && (s[0] == '-' || s[0] == '+') {
		negative, s = s[0] == '-', s[1:]
	}
	if s == "" || len(s) > 4 {
		return 0, false
	}
	n := 0
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return 0, false
		}
		n = n*10 + int(s[i]-'0')
	}
	if negative {
		n = -n
	}
	return n, true
}

// symbolLen is the length of the symbol at the start of s: letters, digits, _, °, % and Δ, no digit first.
func symbolLen(s string) int {
	i := 0
	for i < len(s) {
		c := s[i]
		if c < utf8.RuneSelf {
			if c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c == '%' || i > 0 && (c == '_' || c >= '0' && c <= '9') {
				i++
				continue
			}
			break
		}
		r, n := utf8.DecodeRuneInString(s[i:])
		if !symbolRune(r) && !(i > 0 && unicode.Is(unicode.M, r)) {
			break
		}
		i += n
	}
	return i
}

func symbolRune(r rune) bool {
	return r == '°' || r == '℃' || r == '℉' || unicode.IsLetter(r) && r != utf8.RuneError
}

func startsSymbol(s string) bool { return symbolLen(s) > 0 }

func startsNumber(s string) bool {
	return s != "" && (s[0] >= '0' && s[0] <= '9' || s[0] == '.')
}

// startsFactor reports whether a symbol or a bracket that could hold one stands at the start of s.
func startsFactor(s string) bool {
	s = strings.TrimLeft(s, "( ")
	return startsSymbol(s)
}

// operatorLen is the length of the product or division sign at the start of s, or 0.
func operatorLen(s string) int {
	switch {
	case s == "":
		return 0
	case s[0] == '/' || s[0] == '*':
		return 1
	case strings.HasPrefix(s, "·"):
		return len("·")
	case strings.HasPrefix(s, "⋅"):
		return len("⋅")
	}
	return 0
}
