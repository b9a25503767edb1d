package lang

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Printed is how a name is typeset.
type Printed struct {
	Delta bool   // a Δ before the stem: DeltaT
	Stem  string // one letter (italic), or several (upright): T, η, bwr, s°
	Dot   bool   // a dot over the stem: mdot
	Sub   string // subscript, its parts separated by commas: "2s", "net", "c,1"
}

const combiningDot = '\u0307'

// Print says how a name is typeset. A Greek letter may be written as a word, a dot as `dot`, Δ as
// `Delta`; the subscript begins at the first digit or underscore. cp and cv print as c with a
// subscript, so as `so` for s°.
func Print(name string) Printed {
	if !ascii(name) {
		name = normalise(name)
	}
	cut := strings.IndexFunc(name, func(r rune) bool { return r == '_' || r >= '0' && r <= '9' })
	if cut < 0 {
		cut = len(name)
	}
	stem, rest := name[:cut], name[cut:]
	var p Printed
	if after, ok := strings.CutPrefix(stem, "Δ"); ok && after != "" {
		p.Delta, stem = true, after
	} else if after, ok := strings.CutPrefix(stem, "Delta"); ok && after != "" {
		p.Delta, stem = true, after
	}
	parts := subscripts(rest)
	stem, parts = heatCapacity(stem, parts)
	if base, ok := strings.CutSuffix(stem, "dot"); ok && single(base) {
		p.Dot, stem = true, base
	} else if base, ok := strings.CutSuffix(stem, string(combiningDot)); ok && single(base) {
		p.Dot, stem = true, base
	}
	switch g := greekLetter(stem); {
	case g != "":
		p.Stem = g
	case stem == "so":
		p.Stem = "s°"
	default:
		p.Stem = stem
	}
	for i, s := range parts {
		if g := greekLetter(s); g != "" {
			parts[i] = g
		}
	}
	p.Sub = strings.Join(parts, ",")
	return p
}

func subscripts(rest string) []string {
	if rest == "" {
		return nil
	}
	var parts []string
	for s := range strings.SplitSeq(rest, "_") {
		if s != "" {
			parts = append(parts, s)
		}
	}
	return parts
}

// heatCapacity brings cp, cp2, cp_2, c_p and c_p2 to one form: c with the subscripts p and 2.
func heatCapacity(stem string, parts []string) (string, []string) {
	if stem == "cp" || stem == "cv" {
		return "c", append([]string{stem[1:]}, parts...)
	}
	if stem == "c" && len(parts) > 0 && (parts[0][0] == 'p' || parts[0][0] == 'v') {
		if tail := parts[0][1:]; tail != "" && tail[0] >= '0' && tail[0] <= '9' {
			return stem, append([]string{parts[0][:1], tail}, parts[1:]...)
		}
	}
	return stem, parts
}

// single reports whether a stem prints as one letter.
func single(stem string) bool {
	return stem != "" && utf8.RuneCountInString(stem) == 1 || greekLetter(stem) != ""
}

// Text is the name in plain text, as a terminal shows it: η_c, ṁ_in, ΔT_lm, s°_2.
func (p Printed) Text() string {
	if !p.Delta && !p.Dot {
		if p.Sub == "" {
			return p.Stem
		}
		return p.Stem + "_" + p.Sub
	}
	var b strings.Builder
	if p.Delta {
		b.WriteString("Δ")
	}
	if r, n := utf8.DecodeRuneInString(p.Stem); p.Dot && n == len(p.Stem) {
		b.WriteString(dotted(r))
	} else {
		b.WriteString(p.Stem)
	}
	if p.Sub != "" {
		b.WriteString("_" + p.Sub)
	}
	return b.String()
}

// Member splits gt.eta_th and gt.plant.eta into what the name belongs to, "" for a plain one, and the
// name itself.
func Member(text string) (of, name string) {
	dot := strings.LastIndexByte(text, '.')
	if dot < 0 {
		return "", text
	}
	return text[:dot], text[dot+1:]
}

// Key is equal for two spellings that print the same, and only for those.
func (n Name) Key() string {
	if plain(n.Text) {
		return n.Text // names are compared more often than anything else is done with them
	}
	return Print(n.Text).Text()
}

// plain reports a name that prints as it is typed: one Latin letter, with one subscript after an
// underscore or none. c is left out, whose subscripts may be run together (cp).
func plain(name string) bool {
	if name == "" || name[0] == 'c' || !(name[0] >= 'a' && name[0] <= 'z' || name[0] >= 'A' && name[0] <= 'Z') {
		return false
	}
	if len(name) == 1 {
		return true
	}
	if len(name) == 2 || name[1] != '_' {
		return false
	}
	for i := 2; i < len(name); i++ {
		if name[i] == '_' || name[i] >= utf8.RuneSelf {
			return false
		}
	}
	return greekLetter(name[2:]) == ""
}

// Stem is the name without its subscript in plain letters, as properties are looked up: "T",
// "rho", "so", "cp", "mdot", "DeltaT".
func (n Name) Stem() string {
	p := Print(n.Text)
	stem := p.Stem
	switch first, _, _ := strings.Cut(p.Sub, ","); {
	case stem == "s°":
		stem = "so"
	case stem == "c" && (first == "p" || first == "v"):
		stem += first
	default:
		if w := greekWord(stem); w != "" {
			stem = w
		}
	}
	if p.Dot {
		stem += "dot"
	}
	if p.Delta {
		stem = "Delta" + stem
	}
	return stem
}

func ascii(s string) bool {
	for i := 0; i < len(s); i++ {
		if s[i] >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// normalise brings the spellings of one character to one: µ and μ, ∆ and Δ, ṁ in one or two
// characters, subscript figures and letters.
func normalise(name string) string {
	var b strings.Builder
	inStem := true
	for _, r := range name {
		switch sub := subscriptRune(r); {
		case sub >= '0' && sub <= '9':
			inStem = false
			b.WriteRune(sub)
		case sub != 0:
			if inStem {
				b.WriteByte('_')
				inStem = false
			}
			b.WriteRune(sub)
		default:
			if r == '_' || r >= '0' && r <= '9' {
				inStem = false
			}
			if base := undotted(r); base != 0 {
				b.WriteRune(base)
				b.WriteRune(combiningDot)
				continue
			}
			b.WriteRune(oneForm(r))
		}
	}
	return b.String()
}

// oneForm maps characters that print alike to one of them.
func oneForm(r rune) rune {
	switch r {
	case 'µ':
		return 'μ'
	case '∆':
		return 'Δ'
	case '\u2126': // ohm sign
		return 'Ω'
	case '\u212A': // kelvin sign
		return 'K'
	case '\u212B': // ångström sign
		return 'Å'
	case 'ϵ':
		return 'ε'
	case 'ϕ':
		return 'φ'
	case 'ϑ':
		return 'θ'
	case 'ϱ':
		return 'ρ'
	case 'ϰ':
		return 'κ'
	case 'ϖ':
		return 'π'
	case 'ϐ':
		return 'β'
	}
	return r
}

const (
	subscriptForms = "₀₁₂₃₄₅₆₇₈₉ₐₑₒₓₕₖₗₘₙₚₛₜᵢᵣᵤᵥⱼ"
	subscriptPlain = "0123456789aeoxhklmnpstiruvj"
	dottedForms    = "ȧḃċḋėḟġḣṁṅȯṗṙṡṫẇẋẏżȦḂĊḊĖḞĠḢİṀṄȮṖṘṠṪẆẊẎŻ"
	dottedPlain    = "abcdefghmnoprstwxyzABCDEFGHIMNOPRSTWXYZ"
)

// subscriptRune is the plain form of a subscript character, or 0.
func subscriptRune(r rune) rune {
	if r < 0x1D62 {
		return 0
	}
	return mapped(r, subscriptForms, subscriptPlain)
}

// undotted is the base letter of a letter with a dot above, or 0.
func undotted(r rune) rune { return mapped(r, dottedForms, dottedPlain) }

func mapped(r rune, from, to string) rune {
	at := strings.IndexRune(from, r)
	if at < 0 {
		return 0
	}
	return rune(to[utf8.RuneCountInString(from[:at])])
}

// dotted is a letter with a dot above, in one character where there is one.
func dotted(r rune) string {
	if at := strings.IndexRune(dottedPlain, r); at >= 0 {
		return string([]rune(dottedForms)[at])
	}
	return string(r) + string(combiningDot)
}

// nameLetter reports a Latin or Greek letter that a name may hold.
func nameLetter(r rune) bool {
	switch {
	case r < utf8.RuneSelf:
		return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z'
	case r == 'µ' || r == '∆' || r == '\u2126' || r == '\u212A' || r == '\u212B':
		return true
	case r >= 0x00C0 && r <= 0x024F, r >= 0x1E00 && r <= 0x1EFF, r >= 0x1F00 && r <= 0x1FFF:
		return unicode.IsLetter(r)
	case r >= 0x0370 && r <= 0x03E1, r >= 0x03F0 && r <= 0x03FF:
		return unicode.IsLetter(r) && !unicode.Is(unicode.Lm, r)
	}
	return false
}

// nameRune reports a character that may stand in a name after its first letter.
func nameRune(r rune) bool {
	return r == '_' || r >= '0' && r <= '9' || nameLetter(r) || r == combiningDot || subscriptRune(r) != 0
}

// nameLen is the length of the name at the start of s, or 0.
func nameLen(s string) int {
	i := 0
	for i < len(s) {
		if c := s[i]; c < utf8.RuneSelf {
			if !(c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || i > 0 && (c == '_' || c >= '0' && c <= '9')) {
				return i
			}
			i++
			continue
		}
		r, n := utf8.DecodeRuneInString(s[i:])
		if !nameLetter(r) && (i == 0 || !nameRune(r)) {
			return i
		}
		i += n
	}
	return i
}

// wordLen is the length of the word at the start of s that names a state: a name that may begin
// with a figure.
func wordLen(s string) int {
	i := 0
	for i < len(s) {
		r, n := utf8.DecodeRuneInString(s[i:])
		if !nameRune(r) || r == combiningDot && i == 0 {
			return i
		}
		i += n
	}
	return i
}
