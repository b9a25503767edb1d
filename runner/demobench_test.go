package runner

import (
	"io"
	"os"
	"testing"
)

// BenchmarkDemo builds and renders the sheets of notebooks/demos, as a person who edits one does all
// the time: build is from its bytes to the trace, page from the trace to the HTML.
func BenchmarkDemo(b *testing.B) {
	fsys := os.DirFS("../notebooks/demos")
	for _, name := range []string{"plain-cycle.md", "reheated-plant.md", "combined-cycle.md"} {
		r, err := Build(fsys, name, options())
		if err != nil {
			b.Fatal(err)
		}
		b.Run("build/"+name, func(b *testing.B) {
			for b.Loop() {
				if _, err := Build(fsys, name, options()); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run("page/"+name, func(b *testing.B) {
			for b.Loop() {
				if err := r.HTML(io.Discard); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
