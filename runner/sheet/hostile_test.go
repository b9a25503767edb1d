package sheet

import (
	"strings"
	"testing"
	"unicode"

	"workings/runner/diag"
)

// hostile are texts that try to leave the place they stand in.
var hostile = []string{
	`<script>alert(1)</script>`,
	`"><img src=x onerror=alert(1)>`,
	`'><svg/onload=alert(1)>`,
	`</title><script>alert(1)</script>`,
	`</style><script>alert(1)</script>`,
	`</script><script>alert(1)</script>`,
	`--><script>alert(1)</script>`,
	`]]><script>alert(1)</script>`,
	`&lt;script&gt;alert(1)&lt;/script&gt;`,
	`&#60;script&#62;alert(1)&#60;/script&#62;`,
	`[click](javascript:alert(1))`,
	`[click](java&#10;script:alert(1))`,
	`[click](data:text/html,<script>alert(1)</script>)`,
	`[click](//evil.example/x)`,
	`[click](https://ok.example/"onmouseover="alert(1))`,
	`<javascript:alert(1)>`,
	`![x](javascript:alert(1))`,
	`![x](https://evil.example/a.png)`,
	"$</script><script>alert(1)</script>$",
	"a\u202egnp.exe\u200b\u2066x",
	"\x01\x07\x1b[31mred",
	`{x} {</script>}`,
	`\"; } body { display:none } @import url(https://evil.example/x)`,
}

// TestHostileText puts each text everywhere that a notebook's text reaches the page, and reads the
// page as a browser would: its own two scripts, no handler, no address but those that are allowed.
func TestHostileText(t *testing.T) {
	for _, h := range hostile {
		page := render(t, hostileNotebook(h), nil, Options{Version: h, Images: map[string][]byte{}})
		checkSafe(t, h, page)
	}
}

// hostileNotebook has a text in every place of a notebook.
func hostileNotebook(h string) string {
	place := strings.Join([]string{
		"---", "title: TEXT-YAML", "number: TEXT-YAML", "revision: TEXT-YAML", "prepared: TEXT-YAML", "project: TEXT-YAML", "language: TEXT-YAML", "---", "",
		"# TEXT", "", "TEXT {x}", "", "- TEXT", "", "> TEXT", "", "| TEXT | b |", "|--|--|", "| TEXT | c |", "", "TEXT", ": TEXT", "",
		"```inputs", "x = 3 K   // TEXT [^n]", "y = 4 K within TEXT", "z TEXT = 4", "u = 1 ± 0.1", "v = 2 ± 0.1", "correlation(u, v) = 0.5 // TEXT", "correlation(u, TEXT) = TEXT", "```", "",
		"```assume", "l: TEXT // TEXT", "m TEXT", "```", "",
		"```calc", "// TEXT", "a = x + 1 K // TEXT", "b = a + TEXT", "uv = u*v // TEXT", "TEXT", "c = 3 TEXT", "check a < 3 K // TEXT", "use \"TEXT\" as q", "fluid TEXT", "state TEXT = air(p1, T1)", "```", "",
		"```data d TEXT", "T/K, h/(kJ/kg)", "1, 2", "3, TEXT", "```", "",
		"```table // TEXT", "symbols a, TEXT", "```", "", "```study TEXT", "TEXT", "```", "", "```TEXT", "TEXT", "```", "",
		"```method", "TEXT(a) -> b", "b = TEXT", "```", "", "```answers", "a // TEXT", "TEXT", "uv // TEXT", "```", "",
		"[^n]: TEXT", "", "    TEXT", "",
	}, "\n")
	text := strings.ReplaceAll(place, "TEXT-YAML", "'"+strings.NewReplacer("'", "''", "\x01", "", "\x07", "", "\x1b", "").Replace(h)+"'")
	return strings.ReplaceAll(text, "TEXT", h)
}

func checkSafe(t *testing.T, what, page string) {
	t.Helper()
	scripts := 0
	for _, e := range elements(t, page) {
		switch e.name {
		case "script":
			scripts++
		case "iframe", "object", "embed", "form", "base", "link":
			t.Errorf("%q: a <%s>", what, e.name)
		}
		for k, v := range e.attrs {
			if strings.HasPrefix(strings.ToLower(k), "on") {
				t.Errorf("%q: an attribute %s", what, k)
			}
			if k != "href" && k != "src" {
				continue
			}
			ok := strings.HasPrefix(v, "#") || strings.HasPrefix(v, "https://") || strings.HasPrefix(v, "http://") ||
				strings.HasPrefix(v, "mailto:") || k == "src" && strings.HasPrefix(v, "data:image/") ||
				k == "href" && !strings.Contains(v, ":") && !strings.HasPrefix(v, "//")
			if !ok || k == "src" && !strings.HasPrefix(v, "data:image/") {
				t.Errorf("%q: %s leads to %s", what, k, v)
			}
		}
	}
	if scripts != 2 {
		t.Errorf("%q: %d scripts, want the trace and the page's own", what, scripts)
	}
	if strings.ContainsAny(page, "\u202e\u200b\u2066\x01\x07\x1b") {
		t.Errorf("%q: a character that cannot be seen reached the page", what)
	}
	_, style, _ := strings.Cut(page, "<style>")
	style, _, _ = strings.Cut(style, "</style>")
	if strings.Contains(style, "evil.example") || strings.Contains(style, "display:none }") {
		t.Errorf("%q: text reached the style sheet", what)
	}
}

func TestEscape(t *testing.T) {
	for in, want := range map[string]string{
		"plain":         "plain",
		`a<b>&"c`:       "a&lt;b&gt;&amp;&quot;c",
		"x\u202ey":      `x\u202ey`,
		"x\u200by":      `x\u200by`,
		"\x00":          `\u0000`,
		"tab\tand\nend": "tab\tand\nend",
		"η₁ – Δ":        "η₁ – Δ",
		"\U000E0041":    `\ue0041`,
		"\ufffe":        `\ufffe`,
	} {
		var o buf
		o.text(in)
		if got := string(o.b); got != want {
			t.Errorf("text(%q) = %q, want %q", in, got, want)
		}
	}
	var o buf
	o.attr("a\nb")
	if got := string(o.b); got != "a b" {
		t.Errorf("attr: %q", got)
	}
}

func FuzzPage(f *testing.F) {
	for _, h := range hostile {
		f.Add("# " + h + "\n\n" + h + "\n\n```calc\na = 1 // " + h + "\n" + h + "\n```\n")
	}
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 1<<12 || strings.ContainsRune(text, 0) {
			return
		}
		page := render(t, strings.ToValidUTF8(text, ""), nil, Options{})
		scripts := strings.Count(page, "<script")
		if scripts != 2 {
			t.Fatalf("%d scripts", scripts)
		}
		elements(t, page)
	})
}

// TestHidden: the short ways through hidden say what Unicode's tables say.
func TestHidden(t *testing.T) {
	for r := rune(0); r <= unicode.MaxRune; r++ {
		want := r != '\u00ad' && (unicode.IsControl(r) || diag.Bidi(r) || r == unicode.ReplacementChar || r&0xfffe == 0xfffe || unicode.Is(unicode.Cf, r))
		if got := hidden(r); got != want {
			t.Fatalf("%U: %t, want %t", r, got, want)
		}
	}
}
