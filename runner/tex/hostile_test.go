package tex

import (
	"encoding/xml"
	"io"
	"strings"
	"testing"
	"unicode/utf8"
)

// Whatever a formula says, it ends as MathML of known elements or as a problem, after a bounded
// number of steps.
func TestHostileFormulas(t *testing.T) {
	deep := func(open, in, shut string, n int) string {
		return strings.Repeat(open, n) + in + strings.Repeat(shut, n)
	}
	for name, source := range map[string]string{
		"long":              strings.Repeat("x", 1<<20),
		"longest allowed":   strings.Repeat(`\frac{a}{b}+`, MaxFormula/12),
		"letters":           strings.Repeat("x", MaxFormula),
		"superscripts":      deep("a^{", "b", "}", 45),
		"fractions":         deep(`\frac{`, "b", "}{c}", 45),
		"roots in roots":    deep(`\sqrt[\sqrt{`, "b", "}]{c}", 20),
		"fences":            deep(`\left(`, "b", `\right)`, 45),
		"accents":           strings.Repeat(`\hat`, MaxFormula/4) + "x",
		"accents in groups": deep(`\overbrace{`, "b", "}^{c}", 45),
		"braces":            strings.Repeat("{", 5000),
		"bare superscript":  strings.Repeat("^", 5000),
		"choices":           deep(`\mathchoice{`, "x", "}{y}{z}{w}", 45),
		"choices of four":   strings.Repeat(`\mathchoice`, 900) + "{x}",
		"table":             `\begin{array}{` + strings.Repeat("c", 1000) + "}" + strings.Repeat("&", 2000) + `\end{array}`,
		"rows":              `\begin{matrix}` + strings.Repeat(`\\`, 4000) + `\end{matrix}`,
		"tables in tables":  deep(`\begin{matrix}`, "x", `\end{matrix}`, 40),
		"substack":          deep(`\substack{`, "x", "}", 45),
		"definition":        `\def\a{\a\a}\a`,
		"doubling":          `\edef\a{xx}` + strings.Repeat(`\edef\a{\a\a}`, 40) + `\a`,
		"let":               `\let\frac\relax \frac12`,
		"extensible":        deep(`\xrightarrow{`, "x", "}", 45),
		"stacks":            strings.Repeat(`\overset{a}`, 900) + "b",
		"text in text":      deep(`\text{`, "x", "}", 45),
		"text and maths":    deep(`\text{\(`, "x", `\)}`, 45),
		"dots":              strings.Repeat(`\dots`, 2000),
		"operators":         strings.Repeat(`\operatorname{x}`, 600),
		"cd":                `\begin{CD}` + strings.Repeat(`A @>a>> B \\`, 500) + `\end{CD}`,
		"size":              `\rule{1e999em}{1e999em}\kern-99999em`,
		"unclosed":          strings.Repeat(`\begin{cases}`, 40),
		"ce":                `\ce{` + strings.Repeat("H2O + ", 1000) + `}`,
		"units":             `\pu{` + strings.Repeat("1 m/s ", 1000) + `}`,
		"prescript":         deep(`\prescript{a}{b}{`, "x", "}", 40),
	} {
		t.Run(name, func(t *testing.T) {
			ts := New(nil)
			defer ts.Close()
			checkOutcome(t, ts, source)
			if used := MaxAllSteps - ts.steps; used > MaxSteps+10_000 {
				t.Errorf("%d steps", used)
			}
		})
	}
}

// A formula cannot say anything to the page: no address, no class or style of its own, no element
// but those of MathML.
func TestNothingHostileReachesThePage(t *testing.T) {
	for _, source := range []string{
		`\href{javascript:alert(1)}{x}`, `\url{javascript:alert(1)}`, `\includegraphics{https://example.org/x.png}`,
		`\class{tick}{x}`, `\id{Trace}{x}`, `\style{position:fixed}{x}`, `\data{x=1}{x}`, `\htmlStyle{a}{b}`,
		`\text{</math><script>alert(1)</script>}`, `\color{red;position:fixed}x`, `\textcolor{url(x)}{x}`, `\fcolorbox{red}{blue}{x}`,
		`\mathtip{a}{b}`, `\toggle{a}{b}\endtoggle`, `\char"3C`, `\operatorname{<img src=x onerror=alert(1)>}`, `\tag{<b>}x`, `\verb|<b>|`,
		"\\text{\u202eabc}", "\\text{\u0007}", "\\text{a\u200bb}", `\mathrm{"&<>}`, `\genfrac{(}{)}{9999em;color:red}{}{a}{b}`,
		`\rule[-1em;x:y]{1em}{1em}`, `\begin{array}{c@{</mtd>}c}a&b\end{array}`, `\constructor`, `\__proto__`, `\toString`,
	} {
		ts := New(nil)
		markup := checkOutcome(t, ts, source)
		for _, bad := range []string{"<script", "<img", "href", "src=", "javascript", "position", "url(", "color", "id=", "data-", "\u202e", "\u0007", "<b>", "onerror=alert(1)>"} {
			if strings.Contains(markup, bad) {
				t.Errorf("%s: %s in %s", source, bad, markup)
			}
		}
		ts.Close()
	}
}

// checkOutcome typesets a formula and holds what comes back against what this package promises.
func checkOutcome(t *testing.T, ts *Typesetter, source string) string {
	t.Helper()
	f := formula(source, true)
	markup, p, err := ts.Typeset(f)
	if err != nil {
		t.Fatal(err)
	}
	if p != nil {
		if markup != "" {
			t.Error("both markup and a problem")
		}
		if p.Code != CodeTeX && p.Code != CodeLimit || p.Message == "" || p.Hint == "" {
			t.Errorf("%+v", p)
		}
		if p.Span.Start < 0 || p.Span.End > len(f.File.Text) || p.Span.Start >= p.Span.End {
			t.Errorf("%q: span %v outside %d bytes", source, p.Span, len(f.File.Text))
		}
		if !utf8.ValidString(p.Label) {
			t.Errorf("label %q", p.Label)
		}
		return ""
	}
	d := xml.NewDecoder(strings.NewReader(markup))
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return markup
		}
		if err != nil {
			t.Fatalf("%q: %v in %s", source, err, markup)
		}
		if e, ok := tok.(xml.StartElement); ok && !elements()[e.Name.Local] {
			t.Errorf("%q: element %s", source, e.Name.Local)
		}
	}
}

func FuzzTeX(f *testing.F) {
	for _, s := range []string{`\eta = \frac{w}{q_\mathrm{in}}`, `\begin{cases}a&b\\c\end{cases}`, `\left(\sqrt[3]{x}\right]^2`, `\text{a<b}`, `\dot{m}'`,
		`\overbrace{a}^b_c`, `\begin{array}{c|c}\hline a&b\end{array}`, `\mathbf{\ddot x}\quad\boxed{1}`, `\operatorname*{max}_x`, `é ü 温 𝑥`} {
		f.Add(s)
	}
	ts := New(nil)
	f.Fuzz(func(t *testing.T, source string) {
		if !utf8.ValidString(source) || strings.TrimSpace(source) == "" || strings.ContainsRune(source, 0) {
			return // no notebook holds such a formula
		}
		first := checkOutcome(t, ts, source)
		ts.steps, ts.markup, ts.done = MaxAllSteps, MaxAllMarkup, map[key]outcome{}
		if again := checkOutcome(t, ts, source); again != first {
			t.Errorf("%q: %s, then %s", source, first, again)
		}
	})
}
