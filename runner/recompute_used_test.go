package runner_test

import (
	"bytes"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"workings/runner"
)

// The lines of used sheets can be computed again from the page alone as well: their tables are among
// its sources, once for all variants, with the hash of a file.
func TestRecomputeTablesOfUsedSheets(t *testing.T) {
	files := fstest.MapFS{}
	for name, text := range map[string]string{
		"page.md": "```calc\n" + `use "used.md" as a
use "used.md" as b with T = 305 K
d = b.h - a.h + b.k - a.k
` + "```\n",
		"used.md": "```inputs\nT = 302 K\n```\n\n```data printed\nT/K, h/(kJ/kg)\n300, 300.19\n310, 310.24\n```\n\n```data other from \"k.csv\"\n```\n\n" +
			"```calc\nh = printed.h(T = T)\nk = 1 kJ/kg * other.k(T = T)\n```\n",
		"k.csv": "T/K, k/1\n300, 1.4\n400, 1.395\n",
	} {
		files[name] = &fstest.MapFile{Data: []byte(text)}
	}
	r, err := runner.Build(files, "page.md", runner.Options{Version: "test"})
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range r.Problems() {
		if p.Severity.String() == "error" {
			t.Errorf("%s: %s", p.Code, p.Message)
		}
	}
	var page bytes.Buffer
	if err := r.HTML(&page); err != nil {
		t.Fatal(err)
	}
	n, wrong := recompute(page.Bytes())
	if len(wrong) > 0 || n.apart > 0 || n.lines < 7 {
		t.Errorf("%d lines computed again, %d set apart: %v", n.lines, n.apart, wrong)
	}
	tr, err := traceOf(page.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, s := range tr.Sources {
		if s.Kind == "data" {
			names = append(names, s.Name+" "+strings.Join(s.Also, " "))
		}
	}
	if !slices.Equal(names, []string{"a.printed b.printed", "a.other b.other"}) {
		t.Errorf("tables %q", names)
	}
	if !strings.Contains(page.String(), "<b>a.other, b.other</b>: file <code>k.csv</code>") {
		t.Error("the page's sources lack the file of a used sheet")
	}
}
