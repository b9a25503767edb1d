package sheet

import (
	"strings"
	"testing"

	"workings/runner/notebook"
)

func TestTeX(t *testing.T) {
	for in, want := range map[string]string{
		`\eta = \frac{w}{q_\mathrm{in}}`:      `<mi>η</mi><mo stretchy="false">=</mo><mfrac><mrow><mi>w</mi></mrow><mrow><msub><mi>q</mi><mrow><mtext>in</mtext></mrow></msub></mrow></mfrac>`,
		`p_2^{k-1}`:                           `<msubsup><mi>p</mi><mrow><mn>2</mn></mrow><mrow><mi>k</mi><mo stretchy="false">−</mo><mn>1</mn></mrow></msubsup>`,
		`\dot m`:                              `<mover accent="true" class="dot"><mrow><mi>m</mi></mrow><mo stretchy="false">˙</mo></mover>`,
		`\left(\frac{a}{b}\right)^2`:          `<msup><mrow><mo form="prefix">(</mo><mfrac><mrow><mi>a</mi></mrow><mrow><mi>b</mi></mrow></mfrac><mo form="postfix">)</mo></mrow><mrow><mn>2</mn></mrow></msup>`,
		`\sqrt[3]{x}`:                         `<mroot><mrow><mi>x</mi></mrow><mrow><mn>3</mn></mrow></mroot>`,
		`\Delta T \le 10\,\text{K}`:           `<mi mathvariant="normal">Δ</mi><mi>T</mi><mo>≤</mo><mn>10</mn><mspace width=".17em"/><mtext>K</mtext>`,
		`a < b`:                               `<mi>a</mi><mo stretchy="false">&lt;</mo><mi>b</mi>`,
		`\begin{cases}a\end{cases}`:           "",
		`\frac{a}`:                            "",
		`{{{`:                                 "",
		`a^b^c`:                               "",
		`\text{</math><script>}`:              `<mtext>&lt;/math&gt;&lt;script&gt;</mtext>`,
		`\href{javascript:x}{y}`:              "",
		strings.Repeat("{", 200) + "a":        "",
		strings.Repeat(`\sqrt[`, 200) + "3]a": "",
	} {
		p := &page{}
		p.tex(&notebook.MathNode{TeX: in})
		got := string(p.b)
		if want == "" {
			if !strings.HasPrefix(got, `<code class="tex">`) {
				t.Errorf("%s: %s, want it as it was typed", in, got)
			}
			continue
		}
		if want = "<math><mrow>" + want + "</mrow></math>"; got != want {
			t.Errorf("%s\ngot  %s\nwant %s", in, got, want)
		}
	}
}
