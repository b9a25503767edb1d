package runner

import (
	"io"
	"os"
	"strings"
	"testing"
	"testing/fstest"
)

// BenchmarkEdit is what a running process does after one line of a notebook was edited: build is from
// the bytes to the trace, of which evaluate runs the checked lines; page is from the trace to the HTML.
func BenchmarkEdit(b *testing.B) {
	demo, err := os.ReadFile("../notebooks/demos/reheated-plant.md")
	if err != nil {
		b.Fatal(err)
	}
	for _, c := range []struct{ name, text, line, edited string }{
		{"1000", bigNotebook(1000), "T_a = 300 K", "T_a = 305 K"},
		{"1000 shifted", bigNotebook(1000), "T_a = 300 K", "T_a = 300.5 K"},
		{"reheated-plant", string(demo), "1300 K", "1310 K"},
	} {
		other := strings.Replace(c.text, c.line, c.edited, 1)
		if other == c.text {
			b.Fatal(c.name, "has no such line")
		}
		fsys := fstest.MapFS{"a.md": {Data: []byte(c.text)}}
		o := options()
		o.Memory = &Memory{}
		versions := []string{other, c.text}
		n := 0
		build := func() *Result {
			fsys["a.md"] = &fstest.MapFile{Data: []byte(versions[n%2])}
			n++
			r, err := Build(fsys, "a.md", o)
			if err != nil {
				b.Fatal(err)
			}
			return r
		}
		if err := build().HTML(io.Discard); err != nil {
			b.Fatal(err)
		}
		b.Run("build/"+c.name, func(b *testing.B) {
			for b.Loop() {
				build()
			}
		})
		b.Run("page/"+c.name, func(b *testing.B) {
			for b.Loop() {
				b.StopTimer()
				r := build()
				b.StartTimer()
				if err := r.HTML(io.Discard); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
