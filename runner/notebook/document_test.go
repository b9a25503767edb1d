package notebook

import (
	"errors"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"workings/runner/diag"
)

func TestCheck(t *testing.T) {
	for _, c := range []struct {
		text string
		want *TextError
	}{
		{"", nil},
		{"η — text\r\n", nil},
		{"\ufeffmarked", nil},
		{"a\x00b", &TextError{Offset: 1, NUL: true}},
		{"ηa\xffb\x00", &TextError{Offset: 3}},
		{"a\x00\xff", &TextError{Offset: 1, NUL: true}},
		{"\xed\xa0\x80", &TextError{Offset: 0}},
		{"end \xc3", &TextError{Offset: 4}},
	} {
		err := Check([]byte(c.text))
		var got *TextError
		if err != nil && !errors.As(err, &got) {
			t.Errorf("%q: error %T is not typed", c.text, err)
		}
		if (got == nil) != (c.want == nil) || got != nil && *got != *c.want {
			t.Errorf("%q: %v, want %v", c.text, got, c.want)
		}
	}
}

// TestParseKeepsFile: the text of the file is not touched, and documents may be read at once.
func TestParseKeepsFile(t *testing.T) {
	text := "\ufeff---\r\ntitle: x\r\n---\r\ra\r```calc\rb\r```"
	f := diag.NewFile("x.md", []byte(text))
	var all sync.WaitGroup
	dumps := make([]string, 8)
	for i := range dumps {
		all.Go(func() {
			d := Parse(f)
			dumps[i] = dump(d) + captionsOf(d)
		})
	}
	all.Wait()
	if string(f.Text) != text {
		t.Error("Parse changed the text of the file")
	}
	for _, s := range dumps {
		if s != dumps[0] {
			t.Errorf("two readings differ:\n%s\n%s", s, dumps[0])
		}
	}
}

func FuzzParse(f *testing.F) {
	files, _ := filepath.Glob("testdata/*.md")
	for _, name := range files {
		text, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	for _, s := range []string{"[^a]:\t\tx\n\ty", "-\t```calc\n\t \tx", ">\t```calc\n>\t\ty\n", "$$\n$$\n", "1)\t>\t~~~data x\n   > \ty", "[a]: <b\n'c\n", "a\n:\t```table\n\tx"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		d := Parse(diag.NewFile("fuzz.md", text))
		checkSpans(t, d)
		for _, b := range d.Blocks {
			for _, l := range b.Lines {
				in := d.Captions().Parse(l.Span())
				checkNodes(t, d, in.Root, func(what string, s diag.Span) {
					if s.Start < 0 || s.End < s.Start || s.End > len(text) {
						t.Errorf("caption %s: span %v outside", what, s)
					}
				})
			}
		}
		if again := Parse(diag.NewFile("fuzz.md", text)); dump(again) != dump(d) {
			t.Error("two readings differ")
		}
	})
}
