package runner

import (
	"fmt"
	"testing"
	"testing/fstest"

	"workings/runner/eval"
	"workings/runner/notebook"
	"workings/runner/resolve"
)

// BenchmarkCompile is what a line costs until the sheet has been evaluated at its own point: by
// stage, for notebooks of 1,000 and of 10,000 calculation lines. The stages: parse reads the fences
// (lang), check binds names and units (resolve), evaluate lowers the lines, runs them and builds the
// trace (eval).
func BenchmarkCompile(b *testing.B) {
	for _, n := range []int{1_000, 10_000} {
		text := []byte(bigNotebook(n))
		l := newLoader(fstest.MapFS{}, "notebook.md", options())
		doc := notebook.Parse(l.file("notebook.md", text))
		src := l.source(doc, true)
		perLine := func(b *testing.B) {
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n)/1e3, "µs/line")
			b.ReportMetric(0, "ns/op")
		}
		b.Run(fmt.Sprintf("parse/%d", n), func(b *testing.B) {
			for b.Loop() {
				src = l.source(doc, true)
			}
			perLine(b)
		})
		b.Run(fmt.Sprintf("check/%d", n), func(b *testing.B) {
			for b.Loop() {
				resolve.Resolve(src, l, nil)
			}
			perLine(b)
		})
		checked := resolve.Resolve(src, l, nil)
		b.Run(fmt.Sprintf("evaluate/%d", n), func(b *testing.B) {
			for b.Loop() {
				eval.Run(checked)
			}
			perLine(b)
		})
	}
}
