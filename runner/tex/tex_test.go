package tex

import (
	"strings"
	"testing"

	"workings/runner/diag"
)

func formula(source string, display bool) Formula {
	text := "$" + source + "$"
	return Formula{TeX: source, Display: display, File: diag.NewFile("x.md", []byte(text)), Span: diag.Span{End: len(text)},
		Offset: func(i int) int { return i + 1 }}
}

// Ten formulas as texts on gas turbines write them. What is compared is the structure that MathML
// Core gives each construct its meaning by (W3C, MathML Core, section 3: fractions, radicals,
// scripts, under- and overscripts, tables), with the attributes that only space things left out.
func TestThermodynamicFormulas(t *testing.T) {
	for _, c := range []struct{ what, tex, want string }{
		{"thermal efficiency", `\eta_\mathrm{th} = 1 - \frac{q_\mathrm{out}}{q_\mathrm{in}}`,
			`mrow(msub(mi:η mi:th) mo:= mn:1 mo:− mfrac(msub(mi:q mi:out) msub(mi:q mi:in)))`},
		{"isentropic relation", `\frac{T_2}{T_1} = \left(\frac{p_2}{p_1}\right)^{\frac{k-1}{k}}`,
			`mrow(mfrac(msub(mi:T mn:2) msub(mi:T mn:1)) mo:= msup(mrow(mo:( mfrac(msub(mi:p mn:2) msub(mi:p mn:1)) mo:)) mfrac(mrow(mi:k mo:− mn:1) mi:k)))`},
		{"Clausius", `\oint \frac{\delta Q}{T} \le 0`,
			`mrow(mo:∮ mfrac(mrow(mi:δ mi:Q) mi:T) mo:≤ mn:0)`},
		{"specific heat", `c_p = \left(\frac{\partial h}{\partial T}\right)_p`,
			`mrow(msub(mi:c mi:p) mo:= msub(mrow(mo:( mfrac(mrow(mi:∂ mi:h) mrow(mi:∂ mi:T)) mo:)) mi:p))`},
		{"enthalpy from cp", `h_2 - h_1 = \int_{T_1}^{T_2} c_p\,\mathrm{d}T`,
			`mrow(msub(mi:h mn:2) mo:− msub(mi:h mn:1) mo:= msubsup(mo:∫ msub(mi:T mn:1) msub(mi:T mn:2)) msub(mi:c mi:p) mspace mrow(mi:d mspace) mi:T)`},
		{"power", `\dot W = \dot m (h_3 - h_4)`,
			`mrow(mover(mi:W mo:˙) mo:= mover(mi:m mo:˙) mrow(mo:( msub(mi:h mn:3) mo:− msub(mi:h mn:4) mo:)))`},
		{"speed of sound", `c = \sqrt{k R T}`,
			`mrow(mi:c mo:= msqrt(mrow(mi:k mi:R mi:T)))`},
		{"entropy of a mixture", `s = \sum_{i=1}^{n} y_i s_i`,
			`mrow(mi:s mo:= mrow(munderover(mo:∑ mrow(mi:i mo:= mn:1) mi:n)) msub(mi:y mi:i) msub(mi:s mi:i))`},
		{"effectiveness in cases", `\varepsilon = \begin{cases} 0 & T_4 \le T_2 \\ 1 & \text{ideal} \end{cases}`,
			`mrow(mi:ε mo:= mrow(mo:{ mtable(mtr(mtd(mn:0) mtd(mrow(msub(mi:T mn:4) mo:≤ msub(mi:T mn:2)))) mtr(mtd(mn:1) mtd(mtext:ideal))) mo:))`},
		{"a derivation, aligned", `\begin{aligned} w &= h_3 - h_4 \\ &= c_p (T_3 - T_4) \end{aligned}`,
			`mtable(mtr(mtd(mi:w) mtd(mrow(mo:= msub(mi:h mn:3) mo:− msub(mi:h mn:4)))) mtr(mtd(mrow()) mtd(mrow(mo:= msub(mi:c mi:p) mrow(mo:( msub(mi:T mn:3) mo:− msub(mi:T mn:4) mo:))))))`},
	} {
		ts := New(nil)
		markup, p, err := ts.Typeset(formula(c.tex, true))
		if err != nil || p != nil {
			t.Fatalf("%s: %v %+v", c.what, err, p)
		}
		if got := structure(t, markup); got != c.want {
			t.Errorf("%s\n got %s\nwant %s", c.what, got, c.want)
		}
		ts.Close()
	}
}

func TestAttributesOnThePage(t *testing.T) {
	for tex, want := range map[string]string{
		`(a)`:               `<mo form="prefix" stretchy="false">(</mo>`, // else Chromium gives plain brackets room to grow
		`\left(a\right)`:    `<mo form="prefix" stretchy="true">(</mo>`,
		`\dot m`:            `<mo stretchy="false" class="acc">˙</mo>`,
		`h`:                 `<mi>h</mi>`, // italic by the browser: U+210E, which the page's font holds
		`\mathrm{d}`:        `<mi mathvariant="normal">d</mi>`,
		`\Bigl( x`:          `<mo symmetric="true" minsize="1.8em" maxsize="1.8em">(</mo>`,
		`\boxed{x}`:         `style="padding:3pt;border:1px solid"`,
		`\text{a < b}`:      "<mtext>a\u00a0&lt;\u00a0b</mtext>",
		`10\,\mathrm{kJ}`:   `<mspace width="0.1667em"></mspace>`,
		`\rule{999em}{1em}`: `<mspace width="20em" height="1em"></mspace>`,
	} {
		ts := New(nil)
		markup, p, err := ts.Typeset(formula(tex, false))
		if err != nil || p != nil {
			t.Fatalf("%s: %v %+v", tex, err, p)
		}
		if !strings.HasPrefix(markup, "<math>") || !strings.Contains(markup, want) {
			t.Errorf("%s: %s, want %s in it", tex, markup, want)
		}
		ts.Close()
	}
}

// What is wrong is marked where it stands, in words, with what to do.
func TestFaults(t *testing.T) {
	for _, c := range []struct{ tex, marked, label, hint string }{
		{`\froc{a}{b}`, `\froc`, `Unsupported function name: \froc`, `did you mean \frac`},
		{`\frac{a}{b`, `$`, `Unexpected end of input`, "close the brace"},
		{`a^b^c`, `^`, `Double superscript`, "put braces"},
		{`é+\foo`, `\foo`, `Unsupported function name`, `\text{…}`},
		{`𝑥+\foo`, `\foo`, `Unsupported function name`, `\text{…}`}, // two UTF-16 units, four bytes
		{`a\def\b{c}`, `\def`, "not typeset", "write the formula out"},
		{`\href{https://example.org}{x}`, `\href`, "not typeset", "put the link into the text"},
		{`\eta = 85%`, `%`, "a percent sign", `write \%`},
		{`\begin{align}a\end{align}`, `\begin`, "not typeset", `\begin{aligned}`},
		{`\cancel{x}`, `$\cancel{x}$`, "no element for", "more simply"},
		{`x^`, `$x^$`, "a part of it is missing", "nothing after it"},
		{strings.Repeat("{", 60), `{`, "one too many", "a symbol of its own"},
		{strings.Repeat("x", MaxFormula+1), "", "too long", "formulas of a line each"},
	} {
		ts := New(nil)
		f := formula(c.tex, false)
		_, p, err := ts.Typeset(f)
		if err != nil || p == nil {
			t.Fatalf("%s: %v %v, want a problem", c.tex, err, p)
		}
		if c.marked != "" && p.Span.In(f.File) != c.marked || !strings.Contains(p.Label, c.label) || !strings.Contains(p.Hint, c.hint) {
			t.Errorf("%s: %q marked, %q, %q", c.tex, p.Span.In(f.File), p.Label, p.Hint)
		}
		ts.Close()
	}
}

func TestEngineStartsWithTheFirstFormulaOnly(t *testing.T) {
	ts := New(nil)
	defer ts.Close()
	if ts.Started() {
		t.Error("started by nothing")
	}
	if _, p, _ := ts.Typeset(formula(`\href{a}{b}`, false)); p == nil || ts.Started() {
		t.Error("started by a formula that is refused as it stands")
	}
	a, _, _ := ts.Typeset(formula("x", false))
	vm, steps := ts.vm, ts.steps
	b, _, _ := ts.Typeset(formula("x", false))
	if !ts.Started() || a != b || ts.vm != vm || ts.steps != steps {
		t.Error("a formula that was typeset before is typeset again")
	}
}

func TestNotebookLimits(t *testing.T) {
	ts := New(nil)
	defer ts.Close()
	ts.steps = 300 // what is left after many formulas
	if _, p, err := ts.Typeset(formula(strings.Repeat("a+", 400)+"b", false)); err != nil || p == nil || p.Code != CodeLimit {
		t.Errorf("%v %v, want a limit", p, err)
	}
	if _, p, _ := ts.Typeset(formula("y", false)); p == nil || p.Code != CodeLimit || !strings.Contains(p.Hint, "split the notebook") {
		t.Errorf("%v, want the limit of the notebook", p)
	}
	ts = New(nil)
	defer ts.Close()
	ts.markup = 10
	if _, p, _ := ts.Typeset(formula("y", false)); p == nil || p.Code != CodeLimit {
		t.Errorf("%v, want the limit of the notebook", p)
	}
}

// BenchmarkTypeset gives what the first formula costs, which starts the engine, and each further one.
func BenchmarkTypeset(b *testing.B) {
	const tex = `\frac{T_2}{T_1} = \left(\frac{p_2}{p_1}\right)^{\frac{k-1}{k}}`
	b.Run("first", func(b *testing.B) {
		for range b.N {
			ts := New(nil)
			if _, _, err := ts.Typeset(formula(tex, false)); err != nil {
				b.Fatal(err)
			}
			ts.Close()
		}
	})
	b.Run("further", func(b *testing.B) {
		ts := New(nil)
		defer ts.Close()
		for range b.N {
			clear(ts.done)
			ts.steps, ts.markup = MaxAllSteps, MaxAllMarkup
			if _, _, err := ts.Typeset(formula(tex, false)); err != nil {
				b.Fatal(err)
			}
		}
	})
}
