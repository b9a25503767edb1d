package sheet

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	gtext "github.com/yuin/goldmark/text"
)

func markdownOf(t *testing.T, notebook string, o Options) string {
	t.Helper()
	doc, tr := build(notebook, nil)
	o.Sensitivities = sensitive(t, tr)
	var b bytes.Buffer
	if err := Markdown(&b, doc, tr, o); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// TestMarkdown compares with what was read through by hand: testdata/small.markdown.golden.
func TestMarkdown(t *testing.T) {
	for _, name := range []string{"small", "filled"} {
		source, err := os.ReadFile("testdata/" + name + ".md")
		if err != nil {
			t.Fatal(err)
		}
		golden(t, name+".markdown.golden", markdownOf(t, string(source), Options{Version: "test"}))
	}
}

// Whatever stands in a notebook, the Markdown holds no raw HTML, no link that a sheet would not
// follow, no picture from elsewhere and no character that cannot be seen. It is read here by
// goldmark alone, which knows nothing of notebooks.
func TestHostileMarkdown(t *testing.T) {
	notebooks := map[string]string{
		"references": "A [link][a], ![picture][b], [a].\n\n[a]: javascript:alert(1)\n[b]: https://evil.example/x.png\n",
	}
	for _, h := range hostile {
		notebooks[h] = hostileNotebook(h)
	}
	for h, text := range notebooks {
		filled := markdownOf(t, text, Options{Version: "test"})
		for _, r := range filled {
			if r != '\n' && r != '\t' && hidden(r) {
				t.Errorf("%q: %U in the Markdown", h, r)
			}
		}
		src := []byte(filled)
		root := goldmark.New(goldmark.WithExtensions(extension.GFM, extension.Footnote)).Parser().Parse(gtext.NewReader(src))
		address := func(dest []byte) {
			d := strings.ToLower(strings.TrimSpace(unescapeAll(dest)))
			if i := strings.IndexByte(d, ':'); strings.HasPrefix(d, "//") || i >= 0 && !strings.HasPrefix(d, "http") && !strings.HasPrefix(d, "mailto") && !strings.HasPrefix(d, "#") {
				t.Errorf("%q: the Markdown links to %s", h, d)
			}
		}
		_ = ast.Walk(root, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
			switch n := n.(type) {
			case *ast.RawHTML, *ast.HTMLBlock:
				if entering {
					t.Errorf("%q: raw HTML in the Markdown, around %q", h, around(src, n))
				}
			case *ast.Link:
				address(n.Destination)
			case *ast.AutoLink:
				address(n.URL(src))
			case *ast.Image:
				if strings.Contains(string(n.Destination), ":") {
					t.Errorf("%q: a picture from %s", h, n.Destination)
				}
			}
			return ast.WalkContinue, nil
		})
	}
}

func around(src []byte, n ast.Node) string {
	for p := n; p != nil; p = p.Parent() {
		if p.Type() == ast.TypeBlock && p.Lines() != nil && p.Lines().Len() > 0 {
			s := p.Lines().At(0)
			return string(s.Value(src))
		}
	}
	return ""
}
