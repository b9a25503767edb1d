package notebook

import (
	"strings"
	"testing"

	"github.com/yuin/goldmark/ast"

	"workings/runner/diag"
)

// captionsOf parses the text after // of each line of a document's blocks and dumps it.
func captionsOf(d *Document) string {
	var b strings.Builder
	at := func(sp diag.Span) string { return sp.In(d.File) }
	c := d.Captions()
	for _, block := range d.Blocks {
		for _, l := range block.Lines {
			_, caption, found := strings.Cut(l.Text, "//")
			if !found {
				continue
			}
			end := l.Span().End
			in := c.Parse(diag.Span{Start: end - len(caption), End: end})
			dumpNode(&b, d, in.Root, 0, at)
			if in.HasLink {
				b.WriteString("  links\n")
			}
			for _, f := range in.Footnotes {
				b.WriteString("  footnote " + f.Label + "\n")
			}
			for _, f := range in.Cites {
				b.WriteString("  cites " + f.Label + "\n")
			}
			for _, f := range in.Values {
				b.WriteString("  value " + f.Name + "\n")
			}
			for _, f := range in.Images {
				b.WriteString("  image " + f.Dest + "\n")
			}
			dumpProblems(&b, in.Problems, at)
		}
	}
	return b.String()
}

func TestCaptions(t *testing.T) {
	d := parse(t, strings.Join([]string{
		"> - ```calc",
		">   a = 1 // plain, with: (brackets) / a slash & more",
		">   b = 1 // source [^site], *light* and `x_1` $x^2$ [adiabatic]",
		">   c = 1 // # no heading [a link](https://example.org) {eta in %}",
		">   d = 1 // [ref] [bad](javascript:x) [^siet] {x in }",
		">   e = 1 //   - no list   ",
		">   f = 1 //",
		">   g = 1 // ![p](p.png) <b>x</b> a\\*b\\",
		">   h = 1 //   ",
		">   i = 1 // [with[^site]](x.md) ``` ~~~",
		">   ```",
		"",
		"[ref]: https://example.org/ref",
		"",
		"[^site]: Site data",
	}, "\n"))
	if len(d.Problems) > 0 {
		t.Fatalf("unexpected: %v", codes(d))
	}
	want := `TextBlock
  Text " plain, with: (brackets) / a slash & more"
TextBlock
  Text "source "
  WorkingsFootnoteRef [^site] known=true
  Text ", "
  Emphasis
    Text "light"
  Text " and "
  CodeSpan
    Text "x_1"
  Text " "
  WorkingsMath "x^2" display=false $x^2$
  Text " "
  WorkingsCite [adiabatic]
  footnote site
  cites adiabatic
TextBlock
  Text "# no heading "
  Link to "https://example.org" ""
    Text "a link"
  Text " "
  WorkingsValue {eta in %} bad=false
  links
  value eta
TextBlock
  Link to "https://example.org/ref" ""
    Text "ref"
  Text " "
  Text "bad"
  Text " "
  WorkingsFootnoteRef [^siet] known=false
  Text " "
  WorkingsValue {x in } bad=true
  links
  footnote siet
caution unsafe-link at javascript:x: this link is shown as text, because it may not be followed from a sheet (not a safe address; links go to http, https and mailto addresses, to #places on the page and to relative addresses)
error unknown-footnote at [^siet]: there is no footnote ` + "`siet`" + ` (not defined in this notebook; did you mean [^site]?)
error prose-value at }: no unit follows ` + "`in`" + ` (expected a unit; a value is {name}, {name in UNIT} or {name in UNIT, 3 digits}; \{ is a brace that is only text)
TextBlock
  Text "   - no list   "
TextBlock
TextBlock
  Image
    Text "p"
  Text " "
  WorkingsHTMLInline "<b>"
  Text "x"
  WorkingsHTMLInline "</b>"
  Text " a\\*b\\"
  image p.png
TextBlock
  Text "   "
TextBlock
  Link to "x.md" ""
    Text "with"
  WorkingsFootnoteRef [^site] known=true
  Text " "
  Text "` + "``` ~~" + `"
  Text "~"
  links
  footnote site
`
	if got := captionsOf(d); got != want {
		t.Errorf("got\n%s", got)
	}
}

// TestCaptionReferences: link references count over all captions of one pass, and anew in the next.
func TestCaptionReferences(t *testing.T) {
	d := parse(t, "[r]: /"+strings.Repeat("d", 2000)+"\n\n```calc\n"+strings.Repeat("a = 1 // [r]\n", 1000)+"```\n")
	for range 2 {
		c, links, problems := d.Captions(), 0, 0
		for _, l := range d.Blocks[0].Lines {
			in := c.Parse(diag.Span{Start: l.Start + 8, End: l.Span().End})
			problems += len(in.Problems)
			if in.HasLink {
				links++
			}
		}
		if want := MaxExpansion / 2001; links != want || problems != 1 {
			t.Errorf("%d links and %d problems, want %d and 1", links, problems, want)
		}
	}
}

// TestCaptionOutside: a span that is no place in the file gives an empty caption.
func TestCaptionOutside(t *testing.T) {
	c := parse(t, "abc").Captions()
	for _, s := range []diag.Span{{Start: -1, End: 2}, {Start: 2, End: 1}, {Start: 0, End: 9}, {Start: 3, End: 3}} {
		if in := c.Parse(s); in.Root == nil || in.Root.HasChildren() || in.Root.Kind() != ast.KindTextBlock {
			t.Errorf("%v gives %v", s, in.Root)
		}
	}
}

func BenchmarkCaption(b *testing.B) {
	plain, rich := "compressor inlet temperature", "isentropic outlet [adiabatic], *light* [^site]"
	d := parse(b, strings.Repeat("text that stands before\n\n", 5000)+"```calc\n"+plain+"\n"+rich+"\n```\n\n[^site]: x\n")
	for i, name := range []string{"plain", "rich"} {
		span := d.Blocks[0].Lines[i].Span()
		b.Run(name, func(b *testing.B) {
			c := d.Captions()
			b.ReportAllocs()
			for b.Loop() {
				c.Parse(span)
			}
		})
	}
}

func BenchmarkParse(b *testing.B) {
	var s strings.Builder
	s.WriteString("---\ntitle: x\n---\n")
	for range 100 {
		s.WriteString("Some prose with *emphasis* and a value {eta_th in %} [^a].\n\n```calc\n")
		for range 10 {
			s.WriteString("h2 = h1 + (h2s - h1)/eta_c                     // isentropic efficiency of the first compressor, [adiabatic]\n")
		}
		s.WriteString("```\n\n")
	}
	s.WriteString("[^a]: Note.\n")
	f := diag.NewFile("b.md", []byte(s.String()))
	b.SetBytes(int64(s.Len()))
	b.ReportAllocs()
	for b.Loop() {
		Parse(f)
	}
}
