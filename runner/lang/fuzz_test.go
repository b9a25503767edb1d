package lang

import (
	"path/filepath"
	"strings"
	"testing"

	"workings/runner/diag"
)

var kinds = [...]string{"inputs", "assume", "calc", "method", "table", "data air", "data air from \"x.csv\"", "answers", "cycle plant", "data", "cycle", "chart", "study s"}

// FuzzParse: whatever a fence holds, nothing panics, every place lies within the file, every
// problem says something, and formatting keeps the meaning.
func FuzzParse(f *testing.F) {
	add := func(kind, body string) {
		for i, k := range kinds {
			if strings.HasPrefix(k, kind) {
				f.Add(uint8(i), body)
				return
			}
		}
	}
	for _, dir := range []string{"trees", "format"} {
		paths, _ := filepath.Glob(filepath.Join("testdata", dir, "*.md"))
		for _, path := range paths {
			_, sources := fences(path, mustRead(f, path))
			for _, src := range sources {
				add(src.Kind, lines(src))
				for _, l := range src.Lines {
					add(src.Kind, l.Text)
				}
			}
		}
	}
	paths, _ := filepath.Glob(filepath.Join("testdata", "errors", "*.txt"))
	for _, path := range paths {
		kind := ""
		for l := range strings.SplitSeq(mustRead(f, path), "\n") {
			if strings.HasPrefix(l, "== ") {
				kind, _, _ = strings.Cut(l[3:], " ")
			} else if strings.HasPrefix(l, "| ") {
				add(kind, unescape(l[2:]))
			}
		}
	}
	f.Fuzz(func(t *testing.T, which uint8, body string) {
		kind := kinds[int(which)%len(kinds)]
		file, src := fence(kind, body)
		b, problems := Parse(file, src)
		inFile := func(what any, at diag.Span) {
			if at.Start < 0 || at.End > len(file.Text) || at.Start > at.End {
				t.Errorf("%T at %v lies outside the file of %d bytes", what, at, len(file.Text))
			}
		}
		for _, p := range problems {
			inFile(p, p.Span)
			if p.Code == "" || p.Message == "" || p.File != file {
				t.Errorf("problem %+v says too little", p)
			}
		}
		for _, s := range b.Stmts {
			Walk(s, func(n Node) bool {
				inFile(n, n.Span())
				if e, ok := n.(Expr); ok {
					if text := FormatExpr(e); strings.ContainsAny(text, "\n\r") {
						t.Errorf("%q is written over several lines", text)
					}
				}
				return true
			})
		}
		sameMeaning(t, src)
		ParseShown(file, src.Lines[0])
		if x, problems := ParseExpr(file, src.Lines[0]); (x == nil) == (len(problems) == 0) {
			t.Errorf("%q gives %v with problems %v", src.Lines[0].Text, x, problems)
		}
		if e, ok := FormatEdit(file, src); ok {
			inFile(e, e.Span)
		}
		Print(body)
		n := Name{Text: body}
		n.Stem()
		if n.Key() != (Name{Text: normalise(body)}).Key() {
			t.Errorf("%q and its normal form differ", body)
		}
	})
}

func mustRead(f *testing.F, path string) string {
	text, err := readFile(path)
	if err != nil {
		f.Fatal(err)
	}
	return text
}
