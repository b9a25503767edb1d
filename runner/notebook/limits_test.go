package notebook

import (
	"fmt"
	"strings"
	"testing"

	"github.com/yuin/goldmark/ast"

	"workings/runner/diag"
)

func parse(t testing.TB, text string) *Document {
	t.Helper()
	return Parse(diag.NewFile("test.md", []byte(text)))
}

func codes(d *Document) []diag.Code {
	var out []diag.Code
	for _, p := range d.Problems {
		out = append(out, p.Code)
	}
	return out
}

// depth is how deep the tree is and how many nodes it has.
func depth(n ast.Node) (deep, count int) {
	count = 1
	for c := n.FirstChild(); c != nil; c = c.NextSibling() {
		d, k := depth(c)
		deep, count = max(deep, d), count+k
	}
	return deep + 1, count
}

// TestLimits: each limit is reported once, by its own code, and just below it nothing is.
func TestLimits(t *testing.T) {
	table := func(columns, rows int) string {
		return strings.Repeat("a|", columns) + "b\n" + strings.Repeat("-|", columns) + "-\n" + strings.Repeat("x|\n", rows-2)
	}
	definition := "[r]: /" + strings.Repeat("d", 1023) + "\n\n"
	cases := []struct {
		name         string
		code         diag.Code
		within, past string
	}{
		{"quotes", codeNesting, strings.Repeat(">", MaxNesting-1) + " a", strings.Repeat(">", MaxNesting+10) + " a"},
		{"lists", codeNesting, strings.Repeat("- ", MaxNesting/2-1) + " a", strings.Repeat("- ", MaxNesting/2+1) + " a"},
		{"deep list, long file", codeNesting, strings.Repeat("- ", 100) + "a\n" + strings.Repeat("\n", 400) + "b",
			strings.Repeat("- ", 100) + "a\n" + strings.Repeat("\n", 4000) + "b"},
		{"emphasis", codeEmphasis, strings.Repeat("*a ", MaxEmphasis), strings.Repeat("*a ", MaxEmphasis+1)},
		{"images", codeNesting, strings.Repeat("![", MaxImageNesting) + strings.Repeat("](a)", MaxImageNesting),
			strings.Repeat("![", MaxImageNesting+1) + strings.Repeat("](a)", MaxImageNesting+1)},
		{"destination", codeLinkLength, "[a](" + strings.Repeat("b", MaxDestination) + ")", "[a](" + strings.Repeat("b", MaxDestination+1) + ")"},
		{"definition", codeLinkLength, "[a]: " + strings.Repeat("b", MaxDestination), "[a]: " + strings.Repeat("b", MaxDestination+1)},
		{"title", codeLinkLength, "[a]: b '" + strings.Repeat("b", MaxDestination) + "'", "[a]: b '" + strings.Repeat("b", MaxDestination+1) + "'"},
		{"references", codeLinkExpand, definition + strings.Repeat("[r] ", 1024), definition + strings.Repeat("[r] ", 1030)},
		{"image references", codeLinkExpand, definition + strings.Repeat("![r] ", 1024), definition + strings.Repeat("![r] ", 1030)},
		{"table", codeTableSize, table(99, 2000), table(99, 2001)},
		{"escaped bars", codeTableSize, table(1, 2) + strings.Repeat("`\\|`\n", 2000), table(1, 2) + strings.Repeat("`\\|`\n", 2001)},
		{"front matter length", codeFrontLimit, "---\ntitle: " + strings.Repeat("x", MaxFront-8) + "\n---\n", "---\ntitle: " + strings.Repeat("x", MaxFront) + "\n---\n"},
		{"front matter nesting", codeFrontLimit, "---\nalso: [a, b]\n---\n", "---\nalso: " + strings.Repeat("[", 20) + "\n---\n"},
		{"front matter dashes", codeFrontLimit, "---\nalso:\n- a\n- b\n---\n", "---\nalso:\n" + strings.Repeat("- ", 20) + "a\n---\n"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d := parse(t, c.within)
			if len(d.Problems) != 0 {
				t.Errorf("within the limit: %v", codes(d))
			}
			checkSpans(t, d)
			d = parse(t, c.past)
			if len(d.Problems) != 1 || d.Problems[0].Code != c.code || d.Problems[0].Severity != diag.Error {
				t.Errorf("past the limit: %v, want %s once", codes(d), c.code)
			}
			checkSpans(t, d)
		})
	}
}

// TestHostile feeds a megabyte of what makes Markdown parsers slow. That it ends is the test: a
// quadratic step in any of them takes minutes. Depth and size of the tree are checked as counts.
func TestHostile(t *testing.T) {
	const size = 1 << 20
	rep := func(s string) string { return strings.Repeat(s, size/len(s)) }
	half := func(s string) string { return strings.Repeat(s, size/2/len(s)) }
	cases := map[string]string{
		"brackets": rep("["), "closing brackets": rep("]"), "bracket pairs": half("[") + half("]"), "images": rep("!["),
		"links without end": rep("[a](b"), "pointed links": rep("[a](<b"), "links": rep("[a](b) "), "nested images": half("![") + half("](a)"),
		"images in brackets": strings.Repeat("[", 900) + strings.Repeat("![](a)", size/6) + strings.Repeat("]", 900),
		"emphasis in links":  rep("[a*](b) "), "references over lines": rep("[a\n]"), "references": rep("[a]\n"), "full references": rep("[a][b]\n"),
		"definitions": rep("[a]: b\n"), "definition titles": rep("[a]: b \"c\n"), "definition brackets": "x\n\n" + rep("[a]: (\n"),
		"nested pairs": rep(strings.Repeat("[", 400) + strings.Repeat("]", 400)),
		"stars":        rep("*"), "stars in text": "a" + rep("*"), "openers": rep("*a "), "openers and closers": half("_a ") + half("b* "),
		"mixed": rep("*a_ "), "thirds": half("**a ") + half("b*c* "), "nested emphasis": half("*a ") + half("a* "),
		"tildes": "a" + rep("~"), "tilde pairs": rep("~~a "), "underscores": rep("_"),
		"braces": rep("{"), "open values": rep("{a"), "values": rep("{a}"), "bad values": rep("{a b}"), "value lines": rep("{a\n"),
		"dollars": rep("$"), "open maths": rep("$a "), "open display": rep("$$a "), "maths": rep("$a$ "), "display lines": rep("$$\n"), "price": rep("$5$6"),
		"footnote openers": rep("[^"), "footnote references": rep("[^a] "), "footnote definitions": rep("[^a]: b\n"), "citations": rep("[a]"),
		"citation pairs": rep("[a][b]"), "long citation": rep("[aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa"),
		"unknown footnotes": unknownFootnotes(size),
		"backticks":         rep("`"), "growing backticks": growing(size), "fences": rep("```\n"), "open fence": "```calc\n" + rep("a\n"),
		"quotes": rep(">"), "quote lines": rep(">\n"), "deep quote lines": rep(strings.Repeat(">", 500) + "\n"),
		"deep quote, blank lines": strings.Repeat(">", 900) + "a\n" + rep(">\n"),
		"dashes":                  rep("- "), "dashes and text": rep("- ") + "x", "deep list, blank lines": strings.Repeat("- ", 400) + "a\n" + rep("\n"),
		"staircase": staircase(size), "numbers": rep("1. "), "list items": rep("- a\n"), "definitions of terms": rep("a\n: b\n\n"), "colons": rep(": "),
		"nested footnotes": rep("[^a]: "),
		"wide table":       half("a|") + "\n" + half("-|") + "\n" + rep("a\n"), "table lines": "a|b\n-|-\n" + rep("a|b\n"), "delimiter rows": rep("-|-\n"),
		"bars in code": "a\n-\n" + rep("`\\|`\n"), "plain lines": rep("a\n"), "headings": rep("# a\n"), "underlined": rep("a\n=\n"),
		"tags": rep("<a "), "tag quotes": rep("<a b='"), "comments": rep("<!-- "), "instructions": "a" + rep("<?"), "declarations": "a" + rep("<!A "), "cdata": "a" + rep("<![CDATA["),
		"html blocks": rep("<div>\n\n"), "autolinks": rep("<a:b>"), "open autolinks": rep("<http://a"), "mails": rep("<a@b"),
		"spaces": rep(" "), "tabs": rep("\t"), "newlines": rep("\n"), "returns": rep("\r"), "backslashes": rep("\\"), "entities": rep("&amp;"), "hard breaks": rep("a  \n"),
		"tabs in quotes": rep(">\t"), "front matter": "---\n" + rep("a: b\n"), "front matter never ends": "---\n" + rep("[") + "\n", "rules": rep("---\n"),
	}
	for name, text := range cases {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			d := parse(t, text)
			// Each list is two nodes, and text stands in a paragraph.
			deep, count := depth(d.Root)
			if most := MaxNesting + MaxEmphasis + 2*MaxImageNesting; deep > most {
				t.Errorf("the tree is %d deep, more than %d", deep, most)
			}
			if most := 2*len(text) + 2*MaxCells; count > most {
				t.Errorf("the tree has %d nodes for %d bytes", count, len(text))
			}
			if len(d.Problems) > len(text) {
				t.Errorf("%d problems", len(d.Problems))
			}
		})
	}
}

// growing is runs of backticks each longer than the last, so that none is closed.
func growing(size int) string {
	var b strings.Builder
	for n := 1; b.Len() < size; n++ {
		b.WriteString(strings.Repeat("`", n) + "a")
	}
	return b.String()
}

// staircase is a list in which every line goes one level deeper.
func staircase(size int) string {
	var b strings.Builder
	for n := 0; b.Len() < size; n++ {
		b.WriteString(strings.Repeat("  ", n) + "- a\n")
	}
	return b.String()
}

func unknownFootnotes(size int) string {
	var b strings.Builder
	for n := 0; b.Len() < size; n++ {
		fmt.Fprintf(&b, "[^a%d]: x[^b%d]\n", n, n)
	}
	return b.String()
}
