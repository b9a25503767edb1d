package sheet

import (
	"bytes"
	"strings"
	"testing"
)

const rememberedSheet = "---\ntitle: t\ndigits: 5\nambient: 1 bar\n---\n\n" +
	"```inputs\nT_1 = 300 K // inlet\np_1 = 2 bar // inlet\nn = 3\nz = 0\np_g = 1 barg\n```\n\n" +
	"```calc\nfluid air\nstate 1 = air(p_1, T_1) // first\nstate 2 = air(p = 2*p_1, s = s_1) // second\n" +
	"w = h_2 - h_1 // work\nq = n*z // nothing\nk = 1.40\nkk = k // the same\nf = (k - 1)/k*n\nt_C = T_2 in °C\np_a = p_g + 1 bar\n" +
	"u = n > 2 ? n : z\nm = w*n in kJ/kg // [A1]\n```\n\n## End\n\n```calc\ng = f*n\n```\n"

// TestMemory: a page is the same whatever page of the notebook was written before, although it takes from
// that one what did not change. Each edit changes one thing that an entry rests on, where the entry's own
// line stays, and as far as can be its value.
func TestMemory(t *testing.T) {
	edits := [][2]string{
		{"n = 3", "n = 4"},                         // the values put in, not the result
		{"n = 3", "n = 3.0"},                       // the author's own figures
		{"k = 1.40", "k = 1.4"},                    // those of another line
		{"z = 0", "z = 0.0"},                       //
		{"digits: 5", "digits: 4"},                 //
		{"ambient: 1 bar", "ambient: 0.9 bar"},     //
		{"title: t", "title: t\nunits: us"},        //
		{"## End", "```answers\nw\n```\n\n## End"}, // an answer is in heavier type
		{"g = f*n", "g = f*n + w/w"},               // who reads a line
		{"g = f*n", "g = f*n + cp_2/cp_2"},         // a property of a state that nothing read
		{"g = f*n", "g = f*k"},                     //
		{"n = 3", "n = 3 // [A1]"},                 // what is cited
		{"T_1 = 300 K", "T_1 = 300 J"},             // what has no value
		{"T_1 = 300 K", "T_1 = 301 K"},             //
		{"T_1 = 300 K", "T_1 = 26.85 °C"},          // the same value in another unit
		{"// first", "// first & *foremost*"},      //
		{"fluid air", "fluid air = perfect(k = 1.4, cp = 1.005 kJ/(kg·K))"},
		{"fluid air", "fluid air = products(CH4, excess = 300 %)"},
		{"state 1 = air(p_1, T_1)", "state 1 = air(p_1, T = T_1)"},
		{"T_1 = 300 K // inlet", "y = 1\nT_1 = 300 K // inlet"}, // numbers and ids move
		{"g = f*n", "gg = f*n"},
		{"g = f*n", "g = f*n + v_2/v_2"}, // the evidence reads v as well
		{"s = s_1", "s = s_1 + 1 J/(kg·K)"},
		{"kk = k", "kk = n"},
		{"q = n*z", "q = z*n"},
		{"n > 2", "n > 4"},
	}
	page := func(text string, m *Memory) string {
		doc, tr := build(text, nil)
		var b bytes.Buffer
		if err := HTML(&b, doc, tr, Options{Memory: m}); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	whole := page(rememberedSheet, nil)
	m := &Memory{}
	for _, e := range edits {
		text := strings.Replace(rememberedSheet, e[0], e[1], 1)
		if text == rememberedSheet {
			t.Fatalf("%q is not there", e[0])
		}
		if page(rememberedSheet, m) != whole {
			t.Errorf("after %q the page is another", e[1])
		}
		if page(rememberedSheet, m) != whole {
			t.Errorf("after %q and itself the page is another", e[1])
		}
		if len(m.entries.kept) < 8 || len(m.lines.kept) < 8 || len(m.sections.kept) != 2 {
			t.Fatalf("%d entries, %d lines and %d sections are kept", len(m.entries.kept), len(m.lines.kept), len(m.sections.kept))
		}
		got, want := page(text, m), page(text, nil)
		if got != want {
			i := 0
			for i < min(len(got), len(want)) && got[i] == want[i] {
				i++
			}
			t.Errorf("%q: with a memory\n%s\nwithout\n%s", e[1], near(got, i), near(want, i))
		}
		if want == whole {
			t.Errorf("%q changes nothing", e[1])
		}
	}
}

func near(s string, i int) string { return s[max(0, i-200):min(len(s), i+200)] }
