package tex

import (
	"encoding/xml"
	"fmt"
	"io"
	"regexp"
	"strings"
	"sync"
	"unicode"

	"workings/runner/diag"
)

// elements are those of MathML Core that a formula may come to.
var elements = sync.OnceValue(func() map[string]bool {
	m := map[string]bool{}
	for _, e := range strings.Fields(`math mrow mi mn mo mtext mspace mfrac msqrt mroot mstyle mpadded mphantom
		msub msup msubsup munder mover munderover mmultiscripts mprescripts mtable mtr mtd`) {
		m[e] = true
	}
	return m
})

// attributes are those that are kept, each with the form its value must have. All others are
// dropped: they say how temml's own style sheet would draw what ours draws.
var attributes = sync.OnceValue(func() map[string]*regexp.Regexp {
	boolean := regexp.MustCompile(`^(true|false)$`)
	length := regexp.MustCompile(`^[+-]?([0-9]{1,3}(\.[0-9]{0,6})?|\.[0-9]{1,6})(em|ex|px|pt|mm|cm|in|%)?$`)
	return map[string]*regexp.Regexp{
		"mathvariant": regexp.MustCompile(`^normal$`),
		"form":        regexp.MustCompile(`^(prefix|infix|postfix)$`),
		"scriptlevel": regexp.MustCompile(`^[+-]?[0-3]$`),
		"columnspan":  regexp.MustCompile(`^[1-9][0-9]?$`),
		"rowspan":     regexp.MustCompile(`^[1-9][0-9]?$`),
		"stretchy":    boolean, "symmetric": boolean, "largeop": boolean, "movablelimits": boolean,
		"accent": boolean, "accentunder": boolean, "displaystyle": boolean,
		"lspace": length, "rspace": length, "minsize": length, "maxsize": length, "linethickness": length,
		"width": length, "height": length, "depth": length, "voffset": length,
	}
})

// styles are the declarations that are kept of a style attribute: the space and the rules of tables
// and boxes, and the side on which cells stand.
var styles = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^(padding(-left|-right|-top|-bottom)?:[0-9.]{1,8}(em|ex|pt|px)?|padding:0|` +
		`border(-left|-right|-top|-bottom)?:[0-9.]{1,8}(em|px|pt) (solid|dashed)|text-align:(left|right|center))$`)
})

// clean reads the markup that temml has made and writes it anew. Nothing gets onto the page that
// is not named in this file; an element that is not is an error, since without it the formula
// would say something else.
func clean(markup string, display bool) (string, error) {
	if len(markup) > MaxMarkup {
		return "", fmt.Errorf("it comes to more than %d bytes of MathML", MaxMarkup)
	}
	d := xml.NewDecoder(strings.NewReader(markup))
	w := &writer{}
	for {
		tok, err := d.RawToken()
		if err == io.EOF {
			break
		}
		if err != nil {
			return "", fmt.Errorf("it holds a character that no formula has")
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			if err := w.open(tok, display); err != nil {
				return "", err
			}
		case xml.EndElement:
			if err := w.close(tok.Name.Local); err != nil {
				return "", err
			}
		case xml.CharData:
			if err := w.text(string(tok)); err != nil {
				return "", err
			}
		default:
			return "", fmt.Errorf("it comes to more than MathML")
		}
	}
	if len(w.stack) > 0 || !w.math {
		return "", fmt.Errorf("it comes to no whole formula")
	}
	return w.b.String(), nil
}

type writer struct {
	b     strings.Builder
	stack []string
	math  bool
}

func (w *writer) open(e xml.StartElement, display bool) error {
	name := e.Name.Local
	if e.Name.Space != "" || !elements()[name] || (name == "math") != (len(w.stack) == 0) || name == "math" && w.math {
		return fmt.Errorf("it draws what MathML Core has no element for (%s)", plain(name))
	}
	if token(w.top()) {
		return fmt.Errorf("a formula stands inside a word of it")
	}
	w.stack = append(w.stack, name)
	w.b.WriteString("<" + name)
	if name == "math" {
		w.math = true
		if display {
			w.b.WriteString(` display="block"`)
		}
		w.b.WriteString(">")
		return nil
	}
	seen := map[string]bool{}
	for _, a := range e.Attr {
		key, value := a.Name.Local, a.Value
		switch {
		case a.Name.Space != "" || seen[key]:
			continue
		case key == "class":
			if value = classes(value); value == "" {
				continue
			}
		case key == "style":
			if value = declarations(value); value == "" {
				continue
			}
		case attributes()[key] == nil || !attributes()[key].MatchString(value):
			continue
		}
		seen[key] = true
		w.b.WriteString(` ` + key + `="` + value + `"`) // every form above is free of what needs escaping
	}
	w.b.WriteString(">")
	return nil
}

func (w *writer) close(name string) error {
	if w.top() != name {
		return fmt.Errorf("it comes to no whole formula")
	}
	w.stack = w.stack[:len(w.stack)-1]
	w.b.WriteString("</" + name + ">")
	return nil
}

func (w *writer) top() string {
	if len(w.stack) == 0 {
		return ""
	}
	return w.stack[len(w.stack)-1]
}

// token reports an element that holds text and nothing else.
func token(name string) bool { return name == "mi" || name == "mn" || name == "mo" || name == "mtext" }

func (w *writer) text(s string) error {
	if !token(w.top()) {
		if strings.TrimSpace(s) == "" {
			return nil
		}
		return fmt.Errorf("it holds text that stands nowhere")
	}
	for _, r := range s {
		switch {
		case r == '&':
			w.b.WriteString("&amp;")
		case r == '<':
			w.b.WriteString("&lt;")
		case r == '>':
			w.b.WriteString("&gt;")
		case r == '"':
			w.b.WriteString("&quot;")
		case r >= '\u2061' && r <= '\u2064': // function application and the like, which MathML knows
			w.b.WriteRune(r)
		case unicode.IsControl(r) || diag.Bidi(r) || r == unicode.ReplacementChar || unicode.Is(unicode.Cf, r) || r&0xfffe == 0xfffe:
			return fmt.Errorf("it holds a character that cannot be seen (U+%04X)", r)
		default:
			w.b.WriteRune(r)
		}
	}
	return nil
}

// classes are those of temml's that the style sheet of the page knows.
func classes(value string) string {
	var out []string
	for _, c := range strings.Fields(value) {
		switch c {
		case "tml-left":
			out = append(out, "left")
		case "tml-right":
			out = append(out, "right")
		case "wbk-acc", "wbk-sml-acc":
			out = append(out, "acc")
		}
	}
	return strings.Join(out, " ")
}

func declarations(value string) string {
	var out []string
	for _, d := range strings.Split(value, ";") {
		if d = strings.TrimSpace(d); styles().MatchString(d) {
			out = append(out, d)
		}
	}
	return strings.Join(out, ";")
}
