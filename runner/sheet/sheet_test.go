package sheet

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"workings/runner/diag"
)

// element is one start tag of a page.
type element struct {
	name  string
	attrs map[string]string
}

// elements reads a page as XML, which the sheet is besides being HTML: so its nesting is sound and
// everything in it is escaped. It also follows the few rules of HTML that XML does not know.
func elements(t *testing.T, page string) []element {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(page))
	d.Entity = xml.HTMLEntity
	var out []element
	var open []string
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return out
		}
		if err != nil {
			t.Fatalf("not well formed: %v", err)
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			e := element{tok.Name.Local, map[string]string{}}
			for _, a := range tok.Attr {
				e.attrs[a.Name.Local] = a.Value
			}
			for _, o := range open {
				if o == "p" && blocks[e.name] {
					t.Errorf("<%s> inside <p>, which HTML would close", e.name)
				}
				if o == "a" && e.name == "a" {
					t.Error("a link inside a link")
				}
			}
			open = append(open, e.name)
			out = append(out, e)
		case xml.EndElement:
			open = open[:len(open)-1]
		}
	}
}

var blocks = map[string]bool{"p": true, "div": true, "table": true, "ul": true, "ol": true, "dl": true, "pre": true,
	"figure": true, "section": true, "h2": true, "h3": true, "blockquote": true, "details": true, "hr": true}

// pages are the notebooks of testdata and a few more that a page must survive.
func pages(t *testing.T) map[string]string {
	return map[string]string{
		"plant": read(t, "plant.md"), "small": read(t, "small.md"), "expressions": read(t, "expressions.md"),
		"charted":  charted,
		"empty":    "",
		"heading":  "# Only a heading\n\n### and a deep one\n\n###### and a deeper\n\n# back\n",
		"headings": "---\ntitle: T\n---\n# Answers\n\n## e12\n\n## Answers\n\n- # in a list\n\n> ## in a quote\n",
		"broken":   "```inputs\nx = = 3\ny = 4 K within\n```\n\n```calc\nz = y +\nstate 1 = nofluid(p = 1 bar, T = 300 K)\nh2 = h1\ncheck h2 < 3 kJ/kg\nsolve q between 0 and 1\n  r = q^2 + 1\nuntil r == 0\n```\n\n```answers\nz\nnone\n```\n",
		"open":     "```calc\na = 1\n",
		"lists":    "1. a\n\n   ```calc\n   a = 1 K\n   ```\n\n2. b\n\n> - c\n>\n>   ```inputs\n>   b = 2 // in a quote\n>   ```\n\n- [x] done\n- [ ] open\n",
		"perfect":  "```inputs\nk_a = 1.4\n```\n\n```calc\nfluid g = perfect(k = k_a, cp = 1.005 kJ/(kg·K))\nfluid m = mixture(mole, N2 = 0.79, O2 = 0.21)\nstate 1 = g(p = 1 bar, T = 300 K)\nstate 2 = g(p = 8 bar, s = s1)\nw = h2 - h1\nstate 3 = m(p = 1 bar, T = 300 K)\nstate 4 = m(p = 2 bar, s = s3)\nx = h4 - h3\nu_1 = cp_1*T1 + v1*p1 + c_1^2\n```\n",
		"solves":   "```calc\nsolve (a, b) from (1, 2)\n  c = a*b\nuntil c == 6\nuntil a + b == 5\nsolve m between 0.1 and 5\n  f = m*exp(-m)\nuntil f is largest\n```\n",
	}
}

func TestPagesAreSound(t *testing.T) {
	for name, text := range pages(t) {
		t.Run(name, func(t *testing.T) {
			page := render(t, text, plantFiles(t), Options{Version: "1.0"})
			ids, h1, last := map[string]bool{}, 0, 0
			var targets []string
			for _, e := range elements(t, page) {
				if id, ok := e.attrs["id"]; ok {
					if ids[id] {
						t.Errorf("id %s twice", id)
					}
					ids[id] = true
				}
				if h, ok := strings.CutPrefix(e.attrs["href"], "#"); ok && e.name == "a" {
					targets = append(targets, h)
				}
				if len(e.name) == 2 && e.name[0] == 'h' && e.name[1] >= '1' && e.name[1] <= '6' {
					level := int(e.name[1] - '0')
					if level == 1 {
						h1++
					}
					if level > last+1 {
						t.Errorf("<%s> after <h%d>", e.name, last)
					}
					last = level
				}
				if src := e.attrs["src"]; src != "" && !strings.HasPrefix(src, "data:") {
					t.Errorf("%s reaches outside: %s", e.name, src)
				}
			}
			for _, h := range targets {
				if !ids[h] && h != "checks" { // the plant's own prose names a heading it does not have
					t.Errorf("a link leads to #%s, which is not there", h)
				}
			}
			if h1 != 1 {
				t.Errorf("%d h1", h1)
			}
			if !strings.Contains(page, `<b class="stamp">Not verified for design use</b>`) {
				t.Error("the head does not say that the sheet is not verified")
			}
			if regexp.MustCompile(`url\((?:[^d]|d[^a])|@import|https?://[^"]*\.(?:css|js|woff)`).MatchString(page) {
				t.Error("the page fetches something")
			}
		})
	}
}

func TestSamePageTwice(t *testing.T) {
	for name, text := range pages(t) {
		first := render(t, text, plantFiles(t), Options{Version: "1.0"})
		for range 3 {
			if again := render(t, text, plantFiles(t), Options{Version: "1.0"}); again != first {
				t.Fatalf("%s: two renderings differ", name)
			}
		}
	}
}

func TestTracesKeepToTheSchema(t *testing.T) {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema()))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("trace.json", doc); err != nil {
		t.Fatal(err)
	}
	schema, err := c.Compile("trace.json")
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range pages(t) {
		trace := traceOf(t, text, plantFiles(t))
		if bytes.Count(trace, []byte("\n")) != 1 {
			t.Errorf("%s: the trace is not one line", name)
		}
		v, err := jsonschema.UnmarshalJSON(bytes.NewReader(trace))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if err := schema.Validate(v); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if m, ok := v.(map[string]any); ok {
			m["unexpected"] = true
			if schema.Validate(v) == nil {
				t.Error("the schema lets anything pass")
			}
		}
	}
}

// TestTraceLiesInThePage: another program finds the whole trace in the HTML alone.
func TestTraceLiesInThePage(t *testing.T) {
	text := read(t, "plant.md")
	page := render(t, text, plantFiles(t), Options{Version: "test"})
	_, rest, _ := strings.Cut(page, `<script type="application/json" id="Trace">`)
	inside, _, ok := strings.Cut(rest, "</script>")
	if !ok {
		t.Fatal("no trace in the page")
	}
	var a, b any
	if err := json.Unmarshal([]byte(inside), &a); err != nil {
		t.Fatal(err)
	}
	want := traceOf(t, text, plantFiles(t))
	if err := json.Unmarshal(want, &b); err != nil {
		t.Fatal(err)
	}
	if inside != strings.TrimSuffix(string(want), "\n") {
		t.Error("the trace in the page is not the trace")
	}
}

func TestGoldenPage(t *testing.T) {
	page := render(t, read(t, "small.md"), nil, Options{Version: "1.0"})
	// Style, script, font and trace have tests of their own.
	page = regexp.MustCompile(`(?s)<style>.*?</style>|<script.*?</script>|<svg class="sprite".*?</svg>\n`).ReplaceAllString(page, "")
	page = regexp.MustCompile(`sha256-[^']*`).ReplaceAllString(page, "sha256-…")
	golden(t, "small.golden", page)
}

func TestPageLimit(t *testing.T) {
	picture := append([]byte("\x89PNG\r\n\x1a\n"), make([]byte, MaxPage)...)
	doc, tr := build("![too large](a.png)\n\n```calc\na = 1\n```\n", nil)
	var b bytes.Buffer
	err := HTML(&b, doc, tr, Options{Images: map[string][]byte{"a.png": picture}})
	var limit *LimitError
	if !errors.As(err, &limit) || limit.Max != MaxPage || b.Len() != 0 {
		t.Fatalf("got %v and %d bytes, want a *LimitError and nothing written", err, b.Len())
	}
}

func TestPictures(t *testing.T) {
	text := "![one](a.png) ![two](b.svg) ![three](c.html) ![four](missing.png)\n"
	page := render(t, text, nil, Options{Images: map[string][]byte{
		"a.png":  []byte("\x89PNG\r\n\x1a\n0000"),
		"b.svg":  []byte(`<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg"/>`),
		"c.html": []byte("<!doctype html><script>alert(1)</script>"),
	}})
	for _, want := range []string{`<img src="data:image/png;base64,`, `alt="one"`, `<img src="data:image/svg+xml;base64,`,
		"picture not shown: three (c.html)", "picture not shown: four (missing.png)"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %s", want)
		}
	}
}

func TestLanguage(t *testing.T) {
	for in, want := range map[string]string{"": "en", "de": "de", "en-GB": "en-GB", `x" onload="`: "en", "zh-Hant-TW": "zh-Hant-TW", "1": "en", "de-": "en"} {
		if got := language(in); got != want {
			t.Errorf("language(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestInOrder(t *testing.T) {
	got := strings.Join(inOrder([]string{"25.10", "9", "25", "25.2", "100", "25.2.1"}), " ")
	if want := "9 25 25.2 25.2.1 25.10 100"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

func TestSentence(t *testing.T) {
	for in, want := range map[string]string{"a pressure is": "A pressure is.", "h_2 is unknown": "h_2 is unknown.", "kJ and K": "kJ and K.", "no unit": "No unit.",
		"a is a data table": "a is a data table.", "cp1_ is defined twice": "cp1_ is defined twice.", "bring it in above": "Bring it in above."} {
		p := &page{}
		p.sentence(in)
		if got := string(p.b); got != want {
			t.Errorf("sentence(%q) = %q, want %q", in, got, want)
		}
	}
}

// TestOverridden: what is not the notebook's own value is said on the sheet's face.
func TestProblemsWithoutAFile(t *testing.T) {
	doc, tr := build("x\n", nil)
	tr.Problems = append(tr.Problems, &diag.Problem{Code: "odd", Severity: diag.Error, Message: "this is odd"})
	var b bytes.Buffer
	if err := HTML(&b, doc, tr, Options{}); err != nil {
		t.Fatal(err)
	}
	elements(t, b.String())
	if !strings.Contains(b.String(), "This is odd.") {
		t.Error("the problem is missing")
	}
}

// lines is a notebook of n calculation lines, ten to a fence, each fence under a heading.
func lines(n int) string {
	var b strings.Builder
	b.WriteString("```inputs\nT1 = 300 K // inlet\neta = 0.85 // efficiency\n```\n\n")
	for i := range n {
		if i%10 == 0 {
			fmt.Fprintf(&b, "## Section %d\n\nHere {T1} is *used*.\n\n```calc\n", i)
		}
		from := "T1"
		if i > 0 {
			from = fmt.Sprintf("x_%d", i-1)
		}
		fmt.Fprintf(&b, "x_%d = %s + eta*(T1 - %s)/2   // step %d\n", i, from, from, i)
		if i%10 == 9 {
			b.WriteString("```\n\n")
		}
	}
	return b.String()
}

func BenchmarkHTML(b *testing.B) {
	for _, n := range []int{1000, 10000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			doc, tr := build(lines(n), nil)
			b.ReportAllocs()
			for b.Loop() {
				if err := HTML(io.Discard, doc, tr, Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
