package runner

import (
	"bytes"
	"strings"
	"testing"
)

// A sheet without maths does not start the engine that typesets it, whatever it costs.
func TestNoFormulaNoEngine(t *testing.T) {
	plain := fence("calc", `a = 2 // costs $5 to $6, or \$7`) + "Prices from $5 to $6, and `$x$` in code.\n\n```text\n$x$\n```\n"
	if r := build(t, plain); r.tex.Started() || len(r.maths) > 0 {
		t.Error("started without a formula")
	}
	r := build(t, plain+"The sum $a + 1$.\n")
	if !r.tex.Started() || len(r.maths) != 1 {
		t.Error("not started by a formula")
	}
}

// Formulas of prose, footnotes, captions and headings stand on the page; those in the captions of a
// used sheet too, while its prose is not shown and not typeset.
func TestFormulasOnTheSheet(t *testing.T) {
	r := build(t, "# Of $\\alpha$\n\n## With $\\beta$\n\nText $\\gamma$[^n].\n\n"+
		fence("method", "twice(a) -> b", "b = 2*a // by $\\zeta$")+
		fence("calc", "x = 1 // caption $\\delta$", "y = twice(x)", `use "b.md" as gt`, "z = gt.q")+
		"[^n]: Note $\\epsilon$.\n",
		"b.md", "Prose $\\theta$ and a bad $\\foo$.\n\n"+fence("calc", "q = 1 // its $\\kappa$"))
	for _, p := range r.Problems() {
		t.Errorf("%s: %s", p.Code, p.Message)
	}
	var page bytes.Buffer
	if err := r.HTML(&page); err != nil {
		t.Fatal(err)
	}
	body, _, _ := strings.Cut(page.String(), `<script type="application/json"`)
	for _, letter := range []string{"β", "γ", "δ", "ϵ", "ζ", "κ"} {
		if !strings.Contains(body, "<math><mi>"+letter+"</mi></math>") {
			t.Errorf("no %s on the sheet", letter)
		}
	}
	if strings.Contains(body, `<code class="tex">`) || strings.Contains(body, "θ") {
		t.Error("a formula as typed, or one of the used sheet's prose")
	}
}
