package runner

import (
	"io"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/extension"
)

// BenchmarkHTML writes the page of an evaluated notebook, as BenchmarkSheet has them: once, and with a
// memory, by turns with the page of the same notebook with a line edited, on which nothing rests (late)
// or everything (early). x_goldmark is the ratio to goldmark alone on the same text, of the fastest
// rounds of either, which take turns.
func BenchmarkHTML(b *testing.B) {
	for _, c := range []struct {
		name, text  string
		late, early [2]string // a line, before and after
	}{
		{"1000", bigNotebook(1_000), [2]string{"w_199 = h_199 - h_198", "w_199 = h_198 - h_199"}, [2]string{"T_a = 300 K", "T_a = 305 K"}},
		{"10000", bigNotebook(10_000), [2]string{"w_1999 = h_1999 - h_1998", "w_1999 = h_1998 - h_1999"}, [2]string{"T_a = 300 K", "T_a = 305 K"}},
		{"sections", sectionNotebook(1_000), [2]string{"x_1000 = x_999*k_s", "x_1000 = x_999/k_s"}, [2]string{"x_0 = 300 K", "x_0 = 305 K"}},
	} {
		build := func(o Options, text string) *Result {
			r, err := Build(fstest.MapFS{"a.md": {Data: []byte(text)}}, "a.md", o)
			if err != nil || r.ExitCode() != ExitWell {
				b.Fatal(c.name, err, r.ExitCode())
			}
			return r
		}
		md := goldmark.New(goldmark.WithExtensions(extension.GFM))
		run := func(name string, edit [2]string, o Options) {
			other := strings.Replace(c.text, edit[0], edit[1], 1)
			if edit[0] != "" && other == c.text {
				b.Fatal(c.name, "has no line", edit[0])
			}
			pages := []*Result{build(o, c.text), build(o, other)}
			b.Run(name+"/"+c.name, func(b *testing.B) {
				fastest := func(least *float64, f func() error) {
					begun := time.Now()
					if err := f(); err != nil {
						b.Fatal(err)
					}
					if each := time.Since(begun).Seconds(); *least == 0 || each < *least {
						*least = each
					}
				}
				b.ReportAllocs()
				html, alone, n := 0.0, 0.0, 0
				for b.Loop() {
					fastest(&html, func() error { return pages[n%2].HTML(io.Discard) })
					n++
					b.StopTimer()
					fastest(&alone, func() error { return md.Convert([]byte(c.text), io.Discard) })
					b.StartTimer()
				}
				b.ReportMetric(html/alone, "x_goldmark")
				b.ReportMetric(html*1e3, "ms")
				b.ReportMetric(0, "ns/op")
			})
		}
		run("page", [2]string{}, Options{})
		run("late", c.late, Options{Memory: &Memory{}})
		run("early", c.early, Options{Memory: &Memory{}})
	}
}
