package lang

import (
	"fmt"
	"strings"
	"testing"

	"workings/runner/diag"
)

// Each limit is reached without harm and reported by its name one step beyond.
func TestLimits(t *testing.T) {
	many := strings.Repeat
	for _, c := range []struct {
		name string
		text func(n int) string
		code diag.Code
		at   int // the n at the limit
	}{
		{"brackets", func(n int) string { return "x = " + many("(", n) + "1" + many(")", n) }, CodeNesting, MaxNesting},
		{"calls", func(n int) string { return "x = " + many("f(", n) + "1" + many(")", n) }, CodeNesting, MaxNesting},
		{"named arguments", func(n int) string { return "x = " + many("f(a = ", n) + "1" + many(")", n) }, CodeNesting, MaxNesting},
		{"signs", func(n int) string { return "x = " + many("-", n) + "1" }, CodeNesting, MaxNesting},
		{"not", func(n int) string { return "x = " + many("not ", n) + "a" }, CodeNesting, MaxNesting},
		{"powers", func(n int) string { return "x = 2" + many("^2", n) }, CodeNesting, MaxNesting},
		{"signed powers", func(n int) string { return "x = 2" + many("^-2", n/2) }, CodeNesting, MaxNesting},
		{"conditionals", func(n int) string { return "x = " + many("a ? b : ", n) + "c" }, CodeNesting, MaxNesting},
		{"conditionals in conditions", func(n int) string { return "x = " + many("a ? ", n) + "b" + many(" : c", n) }, CodeNesting, MaxNesting},
		{"brackets and signs", func(n int) string { return "x = " + many("-(", n/2) + "1" + many(")", n/2) }, CodeNesting, MaxNesting},
		{"terms", func(n int) string { return "x = 1" + many("+1", (n-3)/2) + many(" ", n%2) }, CodeLength, MaxParts},
		{"lines", func(n int) string { return "x = 1 +" + many("\n1 +", n-2) + "\n1" }, CodeOperand, MaxLines},
		{"solves", func(n int) string {
			var b strings.Builder
			for i := range n {
				fmt.Fprintf(&b, "%ssolve x between 1 and 2\n", many(" ", min(i, 2*MaxNesting)))
			}
			for i := n - 1; i >= 0; i-- {
				fmt.Fprintf(&b, "%suntil x == 1\n", many(" ", min(i, 2*MaxNesting)))
			}
			return b.String()
		}, CodeNesting, MaxNesting},
	} {
		_, src := fence("calc", c.text(c.at))
		if _, problems := Parse(nil, src); len(problems) > 0 {
			t.Errorf("%s: at the limit: %s", c.name, problems[0].Message)
		}
		sameMeaning(t, src)
		_, src = fence("calc", c.text(c.at+2))
		_, problems := Parse(nil, src)
		if len(problems) == 0 || problems[0].Code != c.code {
			t.Errorf("%s: beyond the limit: %v", c.name, codes(problems))
		}
		sameMeaning(t, src)
		_, src = fence("calc", c.text(5*c.at))
		if _, problems := Parse(nil, src); len(problems) == 0 {
			t.Errorf("%s: far beyond the limit: no problem", c.name)
		}
	}
}

// typical is the text of a calc fence as people write it.
func typical(lines int) string {
	const ten = `state 1  = air(p1, T1)                         // compressor inlet
p2 = r_p*p1                                    // [no-loss]
state 2s = air(p2, s1)                         // isentropic outlet [adiabatic]
h2 = h1 + (h2s - h1)/eta_c                     // isentropic efficiency
state 4  = air(p = p1, h = h3 - eta_t*(h3 - h4s))
h_x = h2 + eps*(h4 - h2)                       // regenerator effectiveness
w_net  = (h3 - h4) - (h2 - h1)
eta_th = w_net/q_in in %                       // thermal efficiency
check eta_th within 30 % .. 55 %
dp = 1.5 kPa + 0.03*(12 kPa)                   // invented
`
	return strings.TrimSuffix(strings.Repeat(ten, lines/10), "\n")
}

func BenchmarkParse(b *testing.B) {
	for _, n := range []int{1000, 10000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			file, src := fence("calc", typical(n))
			if _, problems := Parse(file, src); len(problems) > 0 {
				b.Fatal(problems[0].Message)
			}
			b.ReportAllocs()
			for b.Loop() {
				Parse(file, src)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/line")
		})
	}
}

// BenchmarkParseHostile shows that texts made to be slow are not: each is about 100 kB.
func BenchmarkParseHostile(b *testing.B) {
	for _, c := range []struct{ name, text string }{
		{"open brackets", strings.Repeat("x = f(\n", 15000)},
		{"open brackets, commas", strings.Repeat("x = f(a,\n", 12000)},
		{"solves", strings.Repeat("solve x between 1 and 2\n", 4000)},
		{"indented solves", "solve x between 1 and 2\n" + strings.Repeat(" solve x between 1 and 2\n", 4000)},
		{"solve without indentation", "solve x between 1 and 2\n" + strings.Repeat("y = 3\n", 14000) + "until x == 1"},
		{"headings in solves", "solve x between 1 and 2\n solve x between 1 and 2\n  solve x between 1 and 2\n" + strings.Repeat("//\n", 30000)},
		{"commas", strings.Repeat("a,\n", 33000)},
		{"one line of brackets", strings.Repeat("(", 100000)},
		{"quotes", strings.Repeat("\"", 100000)},
		{"unit brackets", "x = 1 " + strings.Repeat("kg/(", 25000)},
		{"numbers", "x = " + strings.Repeat("1 ", 50000)},
		{"figures", "x = " + strings.Repeat("1", 100000)},
		{"arguments", "x = f(" + strings.Repeat("a,", 9000) + "a)"},
	} {
		b.Run(c.name, func(b *testing.B) {
			file, src := fence("calc", c.text)
			for b.Loop() {
				Parse(file, src)
			}
		})
	}
}

func BenchmarkFormat(b *testing.B) {
	_, src := fence("calc", typical(1000))
	b.ReportAllocs()
	for b.Loop() {
		Format(src)
	}
}

func BenchmarkKey(b *testing.B) {
	for _, name := range []string{"h_x", "eta_c", "T2s", "Q̇_in"} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				Name{Text: name}.Key()
			}
		})
	}
}
