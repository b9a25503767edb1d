package sheet

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"workings/runner/notebook"
)

// tex writes the TeX maths of the prose: the part of TeX that a sentence about an equation uses.
// What lies outside it stands as it was typed, whole, rather than half typeset.
func (p *page) tex(n *notebook.MathNode) {
	t := texReader{rest: n.TeX}
	t.row("")
	if t.failed || t.rest != "" {
		p.raw(`<code class="tex">`)
		p.text(n.TeX)
		p.raw("</code>")
		return
	}
	if n.Display {
		p.raw(`<math display="block"><mrow>`)
	} else {
		p.raw("<math><mrow>")
	}
	p.b = append(p.b, t.b...)
	p.raw("</mrow></math>")
}

// texReader turns TeX into MathML.
type texReader struct {
	buf
	rest   string
	depth  int
	failed bool
}

// texDepth bounds groups within groups.
const texDepth = 64

func (t *texReader) fail() { t.failed = true }

func (t *texReader) space() { t.rest = strings.TrimLeft(t.rest, " \t\n\r") }

// row reads terms up to end: "" for the end of the text, "}" of a group, `\right` of a bracket.
func (t *texReader) row(end string) {
	if t.depth++; t.depth > texDepth {
		t.fail()
	}
	defer func() { t.depth-- }()
	for !t.failed {
		t.space()
		switch {
		case t.rest == "":
			if end != "" {
				t.fail()
			}
			return
		case end != "" && strings.HasPrefix(t.rest, end):
			t.rest = t.rest[len(end):]
			return
		}
		t.term()
	}
}

// term is an atom with what is raised or lowered beside it.
func (t *texReader) term() {
	start := len(t.b)
	t.atom()
	base := string(t.b[start:])
	var sub, sup string
	for !t.failed {
		t.space()
		switch {
		case strings.HasPrefix(t.rest, "_") && sub == "":
			sub = t.script(start)
		case strings.HasPrefix(t.rest, "^") && sup == "":
			sup = t.script(start)
		case strings.HasPrefix(t.rest, "_"), strings.HasPrefix(t.rest, "^"):
			t.fail()
			return
		default:
			t.b = t.b[:start]
			switch {
			case sub != "" && sup != "":
				t.raw("<msubsup>", base, sub, sup, "</msubsup>")
			case sub != "":
				t.raw("<msub>", base, sub, "</msub>")
			case sup != "":
				t.raw("<msup>", base, sup, "</msup>")
			default:
				t.raw(base)
			}
			return
		}
	}
}

func (t *texReader) script(start int) string {
	t.rest = t.rest[1:]
	t.b = t.b[:start]
	t.argument()
	s := string(t.b[start:])
	t.b = t.b[:start]
	return s
}

// argument is a group or a single atom, in one element.
func (t *texReader) argument() {
	t.space()
	t.raw("<mrow>")
	if strings.HasPrefix(t.rest, "{") {
		t.rest = t.rest[1:]
		t.row("}")
	} else {
		t.atom()
	}
	t.raw("</mrow>")
}

func (t *texReader) atom() {
	t.space()
	if t.rest == "" {
		t.fail()
		return
	}
	r, n := utf8.DecodeRuneInString(t.rest)
	switch {
	case r == '{':
		t.argument()
	case r == '\\':
		t.command()
	case r >= '0' && r <= '9':
		end := strings.IndexFunc(t.rest, func(r rune) bool { return (r < '0' || r > '9') && r != '.' })
		if end < 0 {
			end = len(t.rest)
		}
		t.raw("<mn>", t.rest[:end], "</mn>")
		t.rest = t.rest[end:]
	case unicode.IsLetter(r):
		t.raw("<mi>")
		t.text(string(r))
		t.raw("</mi>")
		t.rest = t.rest[n:]
	case strings.ContainsRune("+-*/=<>,.;:!?|()[]'", r):
		s := string(r)
		switch r {
		case '-':
			s = "−"
		case '\'':
			s = "′"
		}
		t.raw(`<mo stretchy="false">`)
		t.text(s)
		t.raw("</mo>")
		t.rest = t.rest[n:]
	case r >= utf8.RuneSelf && !hidden(r):
		t.raw("<mo>")
		t.text(string(r))
		t.raw("</mo>")
		t.rest = t.rest[n:]
	default:
		t.fail()
	}
}

func (t *texReader) command() {
	name := t.rest[1:]
	end := strings.IndexFunc(name, func(r rune) bool { return (r|0x20 < 'a' || r|0x20 > 'z') })
	if end < 0 {
		end = len(name)
	}
	if end == 0 && name != "" {
		_, end = utf8.DecodeRuneInString(name)
	}
	name, t.rest = name[:end], name[end:]
	switch name {
	case "frac", "dfrac", "tfrac":
		t.raw("<mfrac>")
		t.argument()
		t.argument()
		t.raw("</mfrac>")
	case "sqrt":
		t.root()
	case "dot", "bar", "hat", "vec", "overline", "ddot", "tilde":
		t.accent(name)
	case "mathrm", "text", "mathit", "operatorname", "mathsf":
		t.words()
	case "left":
		t.fence()
	case "Delta", "Gamma", "Theta", "Lambda", "Xi", "Pi", "Sigma", "Phi", "Psi", "Omega":
		t.raw(`<mi mathvariant="normal">`, texSymbol(name), "</mi>")
	case "ln", "log", "exp", "sin", "cos", "tan", "min", "max", "lim":
		t.raw("<mi>", name, "</mi><mo>&#x2061;</mo>")
	case ",", ":", ";", " ", "quad", "qquad", "!", "~":
		t.raw(`<mspace width="`, texSpace(name), `"/>`)
	default:
		s := texSymbol(name)
		if s == "" {
			t.fail()
			return
		}
		if r, _ := utf8.DecodeRuneInString(s); unicode.IsLetter(r) {
			t.raw("<mi>", s, "</mi>")
		} else {
			t.raw("<mo>")
			t.text(s)
			t.raw("</mo>")
		}
	}
}

func (t *texReader) root() {
	t.space()
	if !strings.HasPrefix(t.rest, "[") {
		t.raw("<msqrt>")
		t.argument()
		t.raw("</msqrt>")
		return
	}
	end := strings.IndexByte(t.rest, ']')
	if end < 0 {
		t.fail()
		return
	}
	index := texReader{rest: t.rest[1:end], depth: t.depth}
	index.row("")
	t.failed = t.failed || index.failed
	t.rest = t.rest[end+1:]
	t.raw("<mroot>")
	t.argument()
	t.raw("<mrow>", string(index.b), "</mrow></mroot>")
}

func (t *texReader) accent(name string) {
	mark := map[string]string{"dot": "˙", "ddot": "¨", "bar": "‾", "overline": "‾", "hat": "^", "vec": "→", "tilde": "~"}[name]
	class := ""
	if name == "dot" {
		class = ` class="dot"`
	}
	t.raw(`<mover accent="true"`, class, ">")
	t.argument()
	t.raw(`<mo stretchy="false">`)
	t.text(mark)
	t.raw("</mo></mover>")
}

func (t *texReader) words() {
	t.space()
	if !strings.HasPrefix(t.rest, "{") {
		t.fail()
		return
	}
	end := strings.IndexByte(t.rest, '}')
	if end < 0 || strings.ContainsAny(t.rest[1:end], `{\$`) {
		t.fail()
		return
	}
	t.raw("<mtext>")
	t.text(strings.ReplaceAll(t.rest[1:end], " ", "\u00a0"))
	t.raw("</mtext>")
	t.rest = t.rest[end+1:]
}

// fence is \left( … \right), the brackets growing with what they hold.
func (t *texReader) fence() {
	t.raw("<mrow>")
	t.delimiter("prefix")
	t.row(`\right`)
	if !t.failed {
		t.delimiter("postfix")
	}
	t.raw("</mrow>")
}

func (t *texReader) delimiter(form string) {
	t.space()
	t.rest = strings.TrimPrefix(t.rest, `\`)
	if t.rest == "" || !strings.ContainsRune("()[]{}|.", rune(t.rest[0])) {
		t.fail()
		return
	}
	if d := t.rest[:1]; d != "." { // a dot stands for none
		t.raw(`<mo form="`, form, `">`, d, "</mo>")
	}
	t.rest = t.rest[1:]
}

func texSpace(name string) string {
	switch name {
	case ",", "!":
		return ".17em"
	case ":":
		return ".22em"
	case "quad":
		return "1em"
	case "qquad":
		return "2em"
	}
	return ".28em"
}

// texSymbol is the character that a command stands for, or "".
func texSymbol(name string) string {
	switch name {
	case "alpha":
		return "α"
	case "beta":
		return "β"
	case "gamma":
		return "γ"
	case "delta":
		return "δ"
	case "epsilon", "varepsilon":
		return "ε"
	case "zeta":
		return "ζ"
	case "eta":
		return "η"
	case "theta", "vartheta":
		return "θ"
	case "kappa":
		return "κ"
	case "lambda":
		return "λ"
	case "mu":
		return "μ"
	case "nu":
		return "ν"
	case "xi":
		return "ξ"
	case "pi":
		return "π"
	case "rho":
		return "ρ"
	case "sigma":
		return "σ"
	case "tau":
		return "τ"
	case "phi", "varphi":
		return "φ"
	case "chi":
		return "χ"
	case "psi":
		return "ψ"
	case "omega":
		return "ω"
	case "Delta":
		return "Δ"
	case "Gamma":
		return "Γ"
	case "Theta":
		return "Θ"
	case "Lambda":
		return "Λ"
	case "Xi":
		return "Ξ"
	case "Pi":
		return "Π"
	case "Sigma":
		return "Σ"
	case "Phi":
		return "Φ"
	case "Psi":
		return "Ψ"
	case "Omega":
		return "Ω"
	case "cdot":
		return "·"
	case "times":
		return "×"
	case "pm":
		return "±"
	case "le", "leq":
		return "≤"
	case "ge", "geq":
		return "≥"
	case "ne", "neq":
		return "≠"
	case "approx":
		return "≈"
	case "sim":
		return "∼"
	case "equiv":
		return "≡"
	case "to", "rightarrow":
		return "→"
	case "Rightarrow":
		return "⇒"
	case "infty":
		return "∞"
	case "partial":
		return "∂"
	case "int":
		return "∫"
	case "oint":
		return "∮"
	case "sum":
		return "∑"
	case "prod":
		return "∏"
	case "circ":
		return "°"
	case "dots", "ldots", "cdots":
		return "…"
	case "%", "$", "&", "#", "{", "}", "_", "|":
		return name
	}
	return ""
}
