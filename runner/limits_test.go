package runner

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/sheet"
)

// build evaluates a notebook given as text, with other files beside it.
func build(t testing.TB, text string, files ...string) *Result {
	t.Helper()
	fsys := fstest.MapFS{"notebook.md": {Data: []byte(text)}}
	for i := 0; i+1 < len(files); i += 2 {
		fsys[files[i]] = &fstest.MapFile{Data: []byte(files[i+1])}
	}
	o := options()
	r, err := Build(fsys, "notebook.md", o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func fence(kind string, lines ...string) string {
	return "```" + kind + "\n" + strings.Join(lines, "\n") + "\n```\n\n"
}

func has(r *Result, code string) bool {
	for _, p := range r.Problems() {
		if string(p.Code) == code {
			return true
		}
	}
	return false
}

// TestLimits provokes every limit: each is an error that names itself, and the sheet is there.
func TestLimits(t *testing.T) {
	methods := fence("method", "m0(a) -> b", "b = a + 1")
	for i := 1; i <= 4; i++ {
		lines := []string{fmt.Sprintf("m%d(a) -> b", i)}
		for j := range 40 {
			lines = append(lines, fmt.Sprintf("x_%d = m%d(a)", j, i-1))
		}
		methods += fence("method", append(lines, "b = x_0")...)
	}
	deepList := strings.Repeat("> ", 3000) + "x\n"
	manyRefs := "[a]: https://example.org/" + strings.Repeat("a", 1900) + "\n\n" + strings.Repeat("[a] ", 2000) + "\n"
	wide := "|" + strings.Repeat("a|", 2000) + "\n|" + strings.Repeat("-|", 2000) + "\n" + strings.Repeat("|a\n", 200)
	solves := []string{}
	indent := ""
	for i := range 5 {
		solves = append(solves, fmt.Sprintf("%ssolve x_%d between 0 and 2", indent, i))
		indent += "  "
	}
	solves = append(solves, indent+"y = x_0 + x_1 + x_2 + x_3 + x_4")
	for i := 4; i >= 0; i-- {
		indent = strings.Repeat("  ", i)
		solves = append(solves, fmt.Sprintf("%suntil (x_%d - 1)^2 is smallest", indent, i))
	}
	for _, c := range []struct {
		code  string
		text  string
		files []string
	}{
		{code: "limit-expansion", text: methods + fence("calc", "y = 1", "z = m4(y)")},
		{code: "limit-nesting", text: fence("calc", "x = "+strings.Repeat("(", 3000)+"1"+strings.Repeat(")", 3000))},
		{code: "limit-nesting", text: deepList},
		{code: "limit-nesting", text: fence("calc", "x = "+strings.Repeat("-", 3000)+"1")},
		{code: "limit-nesting", text: fence("calc", "x = "+strings.Repeat("2^", 3000)+"1")},
		{code: "limit-line", text: fence("calc", "x = 1"+strings.Repeat(" + 1", 30000))},
		{code: "limit-solve-steps", text: fence("calc", solves...)},
		{code: "limit-tex", text: "$" + strings.Repeat("x+", 6000) + "y$\n"},
		{code: "limit-tex", text: "$" + strings.Repeat("{", 60) + strings.Repeat("}", 60) + "$\n"},
		{code: "limit-components", text: fence("calc", "fluid air", "state 1 = air(p = 1 bar, T = 300 K)", "state 2 = air(p = 2 bar, T = 400 K)") +
			"```cycle plant\n" + strings.Repeat("1 -> 2 compressor\n", 1001) + "```\n"},
		{code: "limit-correlations", text: correlatedInputs(202)},
		{code: "limit-sensitivity", text: uncertainSums(300, 200)},
		{code: "limit-sensitivity", text: uncertainSums(15_000, 1)},
		{code: "limit-references", text: manyRefs},
		{code: "limit-emphasis", text: strings.Repeat("*a **b ", 2000) + "\n"},
		{code: "limit-link-length", text: "[a](https://example.org/" + strings.Repeat("a", 5000) + ")\n"},
		{code: "limit-table", text: wide},
		{code: "front-matter-limit", text: "---\ntitle: " + strings.Repeat("a", 20000) + "\n---\n"},
	} {
		t.Run(c.code, func(t *testing.T) {
			r := build(t, c.text, c.files...)
			if !has(r, c.code) {
				t.Errorf("no %s among %d problems:\n%s", c.code, len(r.Problems()), head(printed(t, r)))
			}
			writeAll(t, r)
		})
	}
}

// correlatedInputs are so many inputs, each correlated with the first.
func correlatedInputs(n int) string {
	lines := []string{"x_0 = 1 ± 0.1"}
	for i := 1; i < n; i++ {
		lines = append(lines, fmt.Sprintf("x_%d = 1 ± 0.1", i), fmt.Sprintf("correlation(x_0, x_%d) = 0.01", i))
	}
	return fence("inputs", lines...)
}

// uncertainSums are sums over so many uncertain inputs, of which so many are asked for.
func uncertainSums(n, answers int) string {
	inputs, sums, asked := []string{}, []string{"y_0 = x_0"}, []string{}
	for i := range n {
		inputs = append(inputs, fmt.Sprintf("x_%d = 1 ± 0.1", i))
		if i > 0 {
			sums = append(sums, fmt.Sprintf("y_%d = y_%d + x_%d", i, i-1, i))
		}
	}
	for i := range answers {
		asked = append(asked, fmt.Sprintf("y_%d", n-1-i))
	}
	return fence("inputs", inputs...) + fence("calc", sums...) + fence("answers", asked...)
}

func head(b []byte) string { return string(b[:min(len(b), 1500)]) }

// writeAll renders the sheet and the trace of whatever came out.
func writeAll(t testing.TB, r *Result) {
	t.Helper()
	n := &counter{}
	var big *sheet.LimitError
	if err := r.HTML(n); err != nil && !errors.As(err, &big) {
		t.Errorf("HTML: %v", err)
	}
	if err := r.JSON(n); err != nil {
		t.Errorf("JSON: %v", err)
	}
	if n.n == 0 {
		t.Error("nothing was written")
	}
}

type counter struct{ n int }

func (c *counter) Write(p []byte) (int, error) {
	c.n += len(p)
	return len(p), nil
}

func TestFileSize(t *testing.T) {
	fsys := fstest.MapFS{"big.md": {Data: make([]byte, MaxFile+1)}}
	_, err := Build(fsys, "big.md", Options{})
	if err == nil || !strings.Contains(err.Error(), "limit") {
		t.Errorf("a file beyond the limit gave %v", err)
	}
	r := build(t, fence("calc", `use "big.md" as b`), "big.md", strings.Repeat("a", MaxFile+1))
	if !has(r, "use") || !strings.Contains(string(printed(t, r)), "limit") {
		t.Errorf("a used file beyond the limit: %s", printed(t, r))
	}
}

// Sheets that use each other twice would double at every step.
func TestUseDoubling(t *testing.T) {
	var files []string
	for i := range 30 {
		next := fmt.Sprintf("n%d.md", i+1)
		files = append(files, fmt.Sprintf("n%d.md", i), fence("calc", fmt.Sprintf("use %q as a", next), fmt.Sprintf("use %q as b", next), "x = 1"))
	}
	files = append(files, "n30.md", fence("calc", "x = 1"))
	r := build(t, fence("calc", `use "n0.md" as n`), files...)
	if !has(r, "limit-expansion") {
		t.Errorf("problems: %s", head(printed(t, r)))
	}
}

func TestUnreadable(t *testing.T) {
	for name, text := range map[string]string{"nul.md": "a\x00b", "latin.md": "caf\xe9"} {
		if _, err := Build(fstest.MapFS{name: {Data: []byte(text)}}, name, Options{}); err == nil {
			t.Errorf("%s was read", name)
		}
	}
}

// One fault is reported once, and what depends on it waits.
func TestOneFaultOneReport(t *testing.T) {
	r := build(t, fence("calc", "a = b + 1", "c = a + 1", "d = c + a", "check d > 0", "e = 2"))
	if len(r.Problems()) != 1 {
		t.Errorf("%d problems:\n%s", len(r.Problems()), printed(t, r))
	}
	var got []string
	for _, e := range r.Trace.Entries {
		got = append(got, fmt.Sprint(e.Number, ":", e.Status, e.WaitsFor))
	}
	want := "[1:1 [] 2:2 [1] 3:2 [1] 4:2 [1] 5:0 []]"
	if fmt.Sprint(got) != want {
		t.Errorf("entries %v, want %v", got, want)
	}
	if r.Trace.Checks[0].Check.Verdict != eval.Waits {
		t.Errorf("the check %s", r.Trace.Checks[0].Check.Verdict)
	}
	if w, _ := diag.Worst(r.Problems()); w != diag.Error || r.ExitCode() != ExitErrors {
		t.Errorf("worst %v, exit %d", w, r.ExitCode())
	}
}

func mapFile(text string) fstest.MapFS {
	return fstest.MapFS{"notebook.md": {Data: []byte(text)}}
}

// A sheet of nothing but unknown names takes time in proportion to its length.
func TestManyUnknownNames(t *testing.T) {
	var lines []string
	for i := range 4000 {
		lines = append(lines, fmt.Sprintf("name_%d = unknown_%d + 1", i, i))
	}
	r := build(t, fence("calc", lines...))
	if n := len(r.Problems()); n != 4000 {
		t.Errorf("%d problems", n)
	}
}
