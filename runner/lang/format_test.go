package lang

import (
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"workings/runner/diag"
)

func TestFormat(t *testing.T) {
	for _, path := range files(t, filepath.Join("testdata", "format", "*.md")) {
		t.Run(filepath.Base(path), func(t *testing.T) {
			golden(t, strings.TrimSuffix(path, ".md")+".golden", formatted(t, read(t, path)))
		})
	}
}

// formatted brings a Markdown text to its canonical form, and checks that this changes no meaning
// and is done for good.
func formatted(t interface {
	Helper()
	Errorf(string, ...any)
}, text string) string {
	t.Helper()
	file, sources := fences("x.md", text)
	var edits []Edit
	for _, src := range sources {
		sameMeaning(t, src)
		if e, ok := FormatEdit(file, src); ok {
			edits = append(edits, e)
		}
	}
	return string(Apply(file.Text, edits))
}

func sameMeaning(t interface {
	Helper()
	Errorf(string, ...any)
}, src Source) {
	t.Helper()
	once := Format(src)
	_, again := fence(strings.TrimSpace(src.Kind+" "+src.Info), once)
	if twice := Format(again); twice != once {
		t.Errorf("formatted again, this changes:\n%s", short(difference(once, twice)))
	}
	before, p1 := Parse(nil, src)
	after, p2 := Parse(nil, again)
	if a, b := tree(before.Stmts), tree(after.Stmts); a != b {
		t.Errorf("formatting changes the meaning of\n%s\nto\n%s\n%s", short(lines(src)), short(once), short(difference(a, b)))
	}
	if a, b := codes(p1), codes(p2); a != b {
		t.Errorf("formatting changes the problems of\n%s\nfrom %s to %s\n%s", short(lines(src)), a, b, short(once))
	}
}

// short keeps a failure readable.
func short(s string) string { return s[:min(len(s), 2000)] }

func lines(src Source) string {
	var s []string
	for _, l := range src.Lines {
		s = append(s, l.Text)
	}
	return strings.Join(s, "\n")
}

func codes(ps []*diag.Problem) string {
	var s []string
	for _, p := range ps {
		if p.Severity == diag.Error { // formatting indents what a caution says is not
			s = append(s, string(p.Code)+": "+p.Message)
		}
	}
	return strings.Join(s, ", ")
}

// All other test files are formatted without loss as well.
func TestFormatCorpus(t *testing.T) {
	for _, path := range files(t, filepath.Join("testdata", "trees", "*.md")) {
		formatted(t, read(t, path))
	}
	for _, body := range []string{"\r\n\r", "a\u200b\n\u200bb", "x = 3\n\x01"} { // found by FuzzParse, and their like
		for _, kind := range kinds {
			_, src := fence(kind, body)
			sameMeaning(t, src)
		}
	}
	for _, path := range files(t, filepath.Join("testdata", "errors", "*.txt")) {
		var b strings.Builder
		for l := range strings.SplitSeq(read(t, path), "\n") {
			if strings.HasPrefix(l, "== ") {
				b.WriteString("```\n\n```" + unescape(l[3:]) + "\n")
			} else if strings.HasPrefix(l, "|") {
				b.WriteString(unescape(strings.TrimPrefix(l[1:], " ")) + "\n")
			}
		}
		formatted(t, strings.TrimPrefix(b.String(), "```\n"))
	}
}

// blockLines draws lines of a calc fence, good and bad, with solves in solves.
func blockLines(depth int) *rapid.Generator[[]string] {
	return rapid.Custom(func(t *rapid.T) []string {
		var out []string
		for range rapid.IntRange(0, 5).Draw(t, "lines") {
			x := func() string { return expressions(2).Draw(t, "x") }
			caption := rapid.SampledFrom([]string{"", "", "  // a caption", "// [label] *x*", " //"}).Draw(t, "caption")
			switch kind := rapid.IntRange(0, 9).Draw(t, "kind"); {
			case kind == 0:
				out = append(out, rapid.SampledFrom([]string{"", "  ", "// heading", "//", " //x  "}).Draw(t, "blank"))
			case kind == 1:
				out = append(out, rapid.SampledFrom([]string{"x = 3 3", "y =", "?", "until", "x = (a", "solve x", "check q", "a\u200bb = 3"}).Draw(t, "bad")+caption)
			case kind == 2 && depth > 0:
				pad := rapid.SampledFrom([]string{"  ", " ", "\t", "      "}).Draw(t, "indent")
				out = append(out, "solve T_m between 300 K  and "+x()+caption)
				for _, l := range blockLines(depth-1).Draw(t, "body") {
					out = append(out, pad+l)
				}
				out = append(out, rapid.SampledFrom([]string{"", pad}).Draw(t, "until")+"until "+drawn(t, 1, levelSum)+" == 3"+caption)
			case kind == 3:
				out = append(out, "state "+rapid.SampledFrom([]string{"1", "2s", "x"}).Draw(t, "id")+" = air(p = "+x()+", T1)"+caption)
			case kind == 4:
				out = append(out, "x = "+drawn(t, 2, levelSum)+" + "+caption, "   "+drawn(t, 2, levelSum)+caption)
			case kind == 5:
				out = append(out, "h = f(", "  k = "+x()+",", x()+")"+caption)
			case kind == 6:
				out = append(out, "check "+drawn(t, 2, levelSum)+"  within 3 ..4 kg"+caption)
			default:
				out = append(out, "y_1  ="+x()+rapid.SampledFrom([]string{"", " in kJ/kg", "  in  %"}).Draw(t, "in")+caption)
			}
		}
		return out
	})
}

func TestFormatProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, src := fence("calc", strings.Join(blockLines(2).Draw(t, "lines"), "\n"))
		sameMeaning(t, src)
	})
}

// What is around a fence stays as it is, byte for byte: quotes, lists, line endings.
func TestFormatEdit(t *testing.T) {
	for _, c := range []struct {
		name, before, after string
		prefix              int // bytes of each line that belong to the container
	}{
		{"quote", "> ```calc\n> x=3//a\n>\n>\n> y  =4 // b\n> ```\n", "> ```calc\n> x = 3   // a\n>\n> y = 4   // b\n> ```\n", 2},
		{"list", "1. ```calc\n   x=3\n\n\n   yy=4\n   ```\n", "1. ```calc\n   x = 3\n\n   yy = 4\n   ```\n", 3},
		{"crlf", "a\r\n```calc\r\nx=3\r\n\r\ny=4\r\n```\r\n", "a\r\n```calc\r\nx = 3\r\n\r\ny = 4\r\n```\r\n", 0},
		{"clean", "```calc\nx = 3\n```\n", "```calc\nx = 3\n```\n", 0},
		{"grows", "> ```calc\n> h = f(first_argument = 300 K, second_argument = 400 K, third_argument = 500 K, fourth_argument = 600 K)\n> ```\n",
			"> ```calc\n> h = f(first_argument = 300 K, second_argument = 400 K, third_argument = 500 K,\n>     fourth_argument = 600 K)\n> ```\n", 2},
		{"blank", "```calc\n\n\n```\n", "```calc\n\n```\n", 0},
	} {
		file := diag.NewFile("x.md", []byte(c.before))
		src := Source{Kind: "calc"}
		inside := false
		for n := 1; n <= file.Lines(); n++ {
			at := file.LineSpan(n)
			if strings.Contains(at.In(file), "```") {
				if !inside {
					src.Span = diag.Span{Start: at.Start + strings.Index(at.In(file), "```"), End: at.End}
				}
				inside = !inside
				continue
			}
			if inside {
				start := min(at.Start+c.prefix, at.End)
				src.Lines = append(src.Lines, Line{string(file.Text[start:at.End]), start})
			}
		}
		e, changed := FormatEdit(file, src)
		got := c.before
		if changed {
			got = string(Apply(file.Text, []Edit{e}))
		}
		if got != c.after {
			t.Errorf("%s:\n%q, want\n%q", c.name, got, c.after)
		}
		if changed == (c.before == c.after) {
			t.Errorf("%s: changed is %v", c.name, changed)
		}
	}
	// A tab of which the list takes some columns: what replaces the line stays in the list.
	text := "- ```calc\n\tx=3\n  ```\n"
	file := diag.NewFile("x.md", []byte(text))
	e, _ := FormatEdit(file, Source{Kind: "calc", Span: diag.Span{Start: 2, End: 20}, Lines: []Line{{"\tx=3", 10}}})
	if got, want := string(Apply(file.Text, []Edit{e})), "- ```calc\n  x = 3\n  ```\n"; got != want {
		t.Errorf("tab: %q, want %q", got, want)
	}
	if _, ok := FormatEdit(file, Source{Kind: "calc"}); ok {
		t.Error("a fence without lines is changed")
	}
}
