package runner

import (
	"bytes"
	"regexp"
	"strings"
	"testing"
)

const linked = `# Linked

## Heat "& more"

By [entry](#eta_th), [](#h_1), [](#state-1), [entry](#state-1), [](#T1), [input](#T1), [Table](#states), [](#later),
[figure](#ts), [](#extract), [method](#double), [](#plain), [section](#heat-more), [](#Checks), [](#dry), [source](#log)[^log] and
[any *words*](#states); [](#gt.q), [entry](#gt).

` + "```inputs\nT1 = 300 K // inlet [^log] [dry]\n```\n\n```assume\ndry: dry air // common practice, see [table](#states)\n```\n\n" +
	"```method\ndouble(a) -> b\nb = 2*a\n```\n\n" +
	"```calc\nfluid air\nuse \"gt.md\" as gt\nstate 1 = air(T1, p = 1 bar)\neta_th = double(0.2) // see [table](#later)\nplain = gt.q\ncheck eta_th > 0.3 // [](#eta_th)\n```\n\n" +
	"```table states\n// of [state](#state-1) [^log]\nstates 1\ncolumns T in K\n```\n\n```table\nsymbols eta_th\n```\n\n```table later\nsymbols eta_th\n```\n\n" +
	"```data extract\nT/K, h/(kJ/kg)\n300, 300.19\n310, 310.24\n```\n\n```chart ts\nT against s through 1, 1\n```\n\n## Three\n\n## Four\n\n[^log]: The log.\n"

func body(t *testing.T, r *Result) string {
	t.Helper()
	var page bytes.Buffer
	if err := r.HTML(&page); err != nil {
		t.Fatal(err)
	}
	body, _, _ := strings.Cut(page.String(), `<script type="application/json"`)
	_, body, _ = strings.Cut(body, "<main")
	return body
}

// Links print the word and the number of what they lead to, and lead to a place that is there.
func TestReferencesOnTheSheet(t *testing.T) {
	r := build(t, linked, "gt.md", "## Their own\n\n"+fence("calc", "q = 1 // see [section](#their-own)"))
	for _, p := range r.Problems() {
		t.Errorf("%s: %s", p.Code, p.Message)
	}
	page := body(t, r)
	text := regexp.MustCompile(`<[^>]*>`).ReplaceAllString(page[strings.Index(page, "<p>By"):strings.Index(page, "</p>\n<")], "")
	text = strings.NewReplacer("\u00a0", " ", "\n", " ", "&quot;", `"`, "&amp;", "&").Replace(text)
	want := `By entry 5, entry 4, state 1, entry 4, entry 1, input 1, Table 1, table 3, figure 1, data extract, method double, entry 6, ` +
		`section “Heat "& more"”, section Checks, assumption A1, source S1S1 and any words; entry gt.1, entry 3.`
	if !strings.HasPrefix(text, want) {
		t.Errorf("got  %s\nwant %s", text, want)
	}
	ids := map[string]bool{}
	for _, m := range regexp.MustCompile(` id="([^"]*)"`).FindAllStringSubmatch(page, -1) {
		if ids[m[1]] {
			t.Errorf("the id %s is given twice", m[1])
		}
		ids[m[1]] = true
	}
	links := regexp.MustCompile(`href="#([^"]*)"`).FindAllStringSubmatch(page, -1)
	if len(links) < 40 {
		t.Errorf("only %d links", len(links))
	}
	for _, m := range links {
		if !ids[m[1]] && !strings.HasPrefix(m[1], "I-") {
			t.Errorf("a link to %s, which is nowhere", m[1])
		}
	}
	for _, id := range []string{"Table-states", "Table-2", "Table-later", "Dextract", "Figure-ts", "Method-double"} {
		if !ids[id] {
			t.Errorf("no anchor %s", id)
		}
	}
}

func TestContentsAndWaysBack(t *testing.T) {
	page := body(t, build(t, linked, "gt.md", fence("calc", "q = 1")))
	for _, want := range []string{
		`<nav class="contents short" aria-label="Contents"><details open="">`,
		`<a href="#heat-more">Heat &quot;&amp; more&quot;</a> <span class="quiet">entries <a href="#e1">1</a>–<a href="#e7">7</a></span>`,
		`<p class="back">cited in entry <a href="#e1">1</a>, <a href="#Table-states">table 1</a>, the text: <a href="#S1.1">place 1</a></p>`,
		`<li id="S2" tabindex="-1"><b>S2</b>`, // the gas
	} {
		if !strings.Contains(page, want) {
			t.Errorf("no %s in\n%s", want, page[:3000])
		}
	}
	if two := body(t, build(t, "# A\n\n## B\n\n## C\n")); strings.Contains(two, "<nav") {
		t.Error("contents of two sections")
	}
	long := body(t, build(t, strings.Repeat("## B\n\n", 20)))
	if !strings.Contains(long, `<nav class="contents" aria-label="Contents"><details><summary>`) || !strings.Contains(long, `href="#b-19"`) {
		t.Error("the contents of a long sheet")
	}
}

// In Markdown, where the sheet's places are not, links to them are words.
func TestReferencesInMarkdown(t *testing.T) {
	var out bytes.Buffer
	if err := build(t, linked, "gt.md", fence("calc", "q = 1")).Markdown(&out); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"By entry 5, entry 4, state 1, entry 4,", "Table 1, table 3,\nfigure 1, data extract, method double", "[any *words*](#states)", "see table 3", "see table 1"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("no %q in\n%s", want, out.String())
		}
	}
}
