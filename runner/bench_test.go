package runner

import (
	"fmt"
	"io"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/extension"
)

// bigNotebook has n calculation lines in sections of twenty: a chain of states of air with prose
// between, as a long package has.
func bigNotebook(n int) string {
	var b strings.Builder
	b.WriteString("---\ntitle: A long sheet\n---\n\n" + fence("inputs", "T_a = 300 K // inlet temperature", "p_a = 100 kPa // inlet pressure", "r_s = 1.02 // ratio of a stage", "eta_s = 0.9 // efficiency of a stage"))
	b.WriteString(fence("calc", "fluid air", "p_0 = p_a", "state 0 = air(p_0, T = T_a)"))
	for i := 1; i*5 <= n; i++ {
		if i%4 == 1 {
			fmt.Fprintf(&b, "## Section %d\n\nStage %d takes in air at {p_%d} and {T_%d in °C}; the [inlet](#p_a) is above *at once*.\n\n```calc\n", i, i, i-1, i-1)
		}
		from := i - 1
		if i%100 == 0 {
			from = 0 // back to ambient, so that pressures stay within use
		}
		fmt.Fprintf(&b, "p_%d = p_%d*r_s // pressure after stage %d\n", i, from, i)
		fmt.Fprintf(&b, "state %ds = air(p = p_%d, s = s_%d) // isentropic outlet\n", i, i, from)
		fmt.Fprintf(&b, "h_%d = h_%d + (h_%ds - h_%d)/eta_s // isentropic efficiency\n", i, from, i, from)
		fmt.Fprintf(&b, "state %d = air(p_%d, h_%d) // outlet of stage %d\n", i, i, i, i)
		fmt.Fprintf(&b, "w_%d = h_%d - h_%d in kJ/kg // work of stage %d\n", i, i, from, i)
		if i%4 == 0 || (i+1)*5 > n {
			b.WriteString("```\n\n")
		}
	}
	return b.String()
}

// sectionNotebook has n sections of five lines and one calculation line each, 170 bytes a section.
func sectionNotebook(n int) string {
	var b strings.Builder
	b.WriteString("---\ntitle: Many sections\n---\n\n" + fence("inputs", "x_0 = 300 K // where it begins", "k_s = 1.0001 // what each step adds"))
	for i := 1; i <= n; i++ {
		fmt.Fprintf(&b, "## Section %d\n\nStep %d goes *on* from the [one before](#x_%d),\nwith a line of text below it,\nand a third one.\n\n%s", i, i, i-1,
			fence("calc", fmt.Sprintf("x_%d = x_%d*k_s + 1 mK // after step %d", i, i-1, i)))
	}
	return b.String()
}

// BenchmarkSheet turns a notebook into its page: of 1,000 and of 10,000 calculation lines, and of 1,000
// sections of prose with one such line each. The baseline is goldmark alone on the same text, in the
// same run; x_goldmark, the ratio to it, is what to look at. whole begins with nothing; again is what a
// running process does after one line was edited, by turns between two versions.
func BenchmarkSheet(b *testing.B) {
	for _, c := range []struct{ name, text, line, edited string }{
		{"1000", bigNotebook(1_000), "T_a = 300 K", "T_a = 305 K"},
		{"10000", bigNotebook(10_000), "T_a = 300 K", "T_a = 305 K"},
		{"sections", sectionNotebook(1_000), "x_0 = 300 K", "x_0 = 305 K"},
	} {
		baseline := 0.0
		run := func(name string, f func()) float64 {
			each := 0.0
			b.Run(name+"/"+c.name, func(b *testing.B) {
				n := 0
				for b.Loop() {
					f()
					n++
				}
				each = b.Elapsed().Seconds() / float64(n)
				if baseline > 0 {
					b.ReportMetric(each/baseline, "x_goldmark")
				}
				b.ReportMetric(each*1e3, "ms")
				b.ReportMetric(0, "ns/op")
			})
			return each
		}
		md := goldmark.New(goldmark.WithExtensions(extension.GFM))
		baseline = run("goldmark", func() {
			if err := md.Convert([]byte(c.text), io.Discard); err != nil {
				b.Fatal(err)
			}
		})
		versions, n := []string{strings.Replace(c.text, c.line, c.edited, 1), c.text}, 0
		if versions[0] == c.text {
			b.Fatal(c.name, "has no line", c.line)
		}
		page := func(o Options) {
			r, err := Build(fstest.MapFS{"a.md": {Data: []byte(versions[n%2])}}, "a.md", o)
			n++
			if err != nil || r.ExitCode() != ExitWell {
				b.Fatal(err, r.ExitCode(), r.Problems()[0].Message)
			}
			if err := r.HTML(io.Discard); err != nil {
				b.Fatal(err)
			}
		}
		run("whole", func() { page(Options{}) })
		memory := &Memory{}
		page(Options{Memory: memory})
		run("again", func() { page(Options{Memory: memory}) })
	}
}
