package runner

import (
	"bytes"
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

// BenchmarkSheet turns a notebook into its page: 1,000 and 10,000 calculation lines, and goldmark
// alone on the same text as the baseline. The ratio to goldmark and the growth from 1,000 to
// 10,000 lines are what to look at; DEVELOPERS.md shows the last run.
func BenchmarkSheet(b *testing.B) {
	for _, n := range []int{1_000, 10_000} {
		text := bigNotebook(n)
		fsys := fstest.MapFS{"notebook.md": {Data: []byte(text)}}
		b.Run(fmt.Sprintf("whole/%d", n), func(b *testing.B) {
			b.SetBytes(int64(len(text)))
			for b.Loop() {
				r, err := Build(fsys, "notebook.md", Options{})
				if err != nil || r.ExitCode() != ExitWell {
					b.Fatal(err, r.ExitCode(), r.Problems()[0].Message)
				}
				if err := r.HTML(io.Discard); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(fmt.Sprintf("evaluate/%d", n), func(b *testing.B) {
			for b.Loop() {
				if _, err := Build(fsys, "notebook.md", Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(fmt.Sprintf("goldmark/%d", n), func(b *testing.B) {
			md := goldmark.New(goldmark.WithExtensions(extension.GFM))
			for b.Loop() {
				var out bytes.Buffer
				if err := md.Convert([]byte(text), &out); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
