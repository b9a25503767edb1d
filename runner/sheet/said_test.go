package sheet

import (
	"encoding/json"
	"regexp"
	"strings"
	"testing"
)

var tags = regexp.MustCompile(`<[^>]*>`)

// plain is a page without its head, its tags and its trace.
func plain(page string) string {
	_, page, _ = strings.Cut(page, "<main")
	page, _, _ = strings.Cut(page, "<script")
	page = tags.ReplaceAllString(page, "")
	return strings.NewReplacer("\u00a0", " ", "&#x2062;", "", "&#x2061;", "", "&lt;", "<", "&gt;", ">", "&quot;", `"`).Replace(page)
}

// TestSaid: what a page and its trace say, and what they must not say.
func TestSaid(t *testing.T) {
	const ambient = "---\nambient: 1 bar\n---\n"
	gauge := files{"a.md": "---\nambient: 0.9 bar\n---\n```inputs\np = 1 barg\n```\n\n```calc\nq = max(p, 2 barg) in bar\n```\n"}
	for name, c := range map[string]struct {
		text           string
		want, not      []string
		trace, noTrace []string
	}{
		"strict limits": {
			text: "```calc\na = 2 K\ncheck a < 3 K\ncheck a > 1 K\ncheck a <= 3 K\ncheck a >= 1 K\n```\n",
			want: []string{"below 3.0000 K", "above 1.0000 K"},
			not:  []string{"at most 3.0000 K", "at least 1.0000 K"}, // the right side, as the question says
		},
		"gauge beside absolute": {
			text:  ambient + "```calc\np2 = 7 barg\ncheck p2 == 8 bar\n```\n",
			want:  []string{"7.0000 barg", "8.0000 bar"},
			trace: []string{`"right":{"si":800000,"value":8,"unit":"bar"}`},
		},
		"gauge pressure of a used sheet": {
			text: ambient + "```calc\nuse \"a.md\" as a\nx = a.p\n```\n\nRead: {a.p}\n\n```answers\na.p\n```\n",
			// 1 barg over 0.9 bar is 0.9 barg over 1 bar; within the used sheet 2 barg is 2.9 bar.
			want:  []string{"Read: 0.90000 barg", "x=a.p0.90000 barg", "pas given1 barg", "a.p0.90000barga.p", "2.9000 bar"},
			trace: []string{`"substituted":"max(1.9000 bar, 2.9000 bar)"`, `"answers":[{"symbol":"a.p","si":190000,"value":0.9,"unit":"barg"`},
		},
		"gauge pressure on a sheet without ambient pressure": {
			text:  "```calc\nuse \"a.md\" as a\nx = a.p\n```\n\nRead: {a.p}\n\n```answers\na.p\n```\n",
			want:  []string{"Read: 1.9000 bar", "x=a.p1.9000 bar"},
			not:   []string{"1.9000 barg"},
			trace: []string{`"answers":[{"symbol":"a.p","si":190000,"value":1.9,"unit":"bar"`},
		},
		"accepted caution": {
			text: "```calc\na = 3 K\ncaution a < 2 K\naccept caution on a // meant so\n```\n",
			want: []string{"; accepted: meant so", "accepted: meant so\n"}, not: []string{"does not hold"},
			trace: []string{`"accepted":"meant so"`},
		},
		"Fahrenheit in a data table": {
			text: "```data d\nT/°F, x/1\n60, 1\n70.5, 2\n```\n",
			want: []string{"60", "70.5"}, not: []string{"60.00", "70.50"},
		},
		"solve without a bracket": {
			text: "```calc\nsolve v between 0 and 1 bar\n  y = v*v\nuntil y == 2\n```\n",
			want: []string{"v"}, not: []string{"solved together from"},
		},
		"look-up in the condition of a solve": {
			text: "```data d\nT/K, x/1\n300, 1\n400, 2\n```\n\n```calc\nsolve T between 310 K and 390 K\n  a = 1*1\nuntil d.x(T = T) == 1.5\n```\n",
			want: []string{"between 300 K and 400 K:"},
		},
		"look-up under an integral": {
			text: "```data d\nT/K, x/1\n300, 1\n400, 2\n```\n\n```calc\nA = integrate(d.x(T = t), t, 310 K, 390 K)\nb = d.x(T = 320 K)\n```\n",
			want: []string{"read along the whole integral", "between 300 K and 400 K:"}, trace: []string{`"lookups":[{"table":"d","key":"T","column":"x","at":320,"row":1,"value":1.2}]`}, noTrace: []string{`"at":3[^2]`},
		},
		"heating value": {
			text:  "```calc\nH = heating_value(CH4, lower)\n```\n",
			want:  []string{"lower heating value of CH4 per kg, reactants and products at 25 °C, from heats of formation"},
			trace: []string{`"basis":["lower heating value of CH4 per kg, reactants and products at 25 °C, from heats of formation"]`},
		},
		"heating value of a fuel's own": {
			text: "```calc\nfluid oil = fuel(C = 86 %, H = 14 %, lower = 43 MJ/kg)\nH = heating_value(oil, lower)\n```\n",
			want: []string{"lower heating value of oil per kg, reactants and products at 25 °C, from the heating value given with it"},
		},
		"states": {
			text:  "```calc\nfluid air\np_2 = 8 bar\nstate 1 = air(p = 1 bar, T = 27 °C)\nstate 2 = air(p_2, s1)\n```\n",
			trace: []string{`"substituted":"air(p = 1 bar, T = 300.15 K)"`, `"substituted":"air(p = 8 bar, s = 6.8709 kJ/(kg·K))"`},
		},
		"a line without a value": {
			text:  "```inputs\nx = 1/0\n```\n\n```calc\ny = x + 1\nz = 3 K + 2 m\n```\n",
			trace: []string{`"expression":"1/0","substituted":"","results":[]`, `"expression":"x + 1","substituted":"","results":[]`, `"expression":"3 K + 2 m"`, `"symbols":{}`},
		},
		"a call without a value": {
			text: "```method\nf(state a, p_b, e) -> state b, w\nh_b = h_a + 300 kJ/kg / e\nstate b = fluid_a(p_b, h_b)\nw = h_b - h_a\n```\n\n" +
				"```calc\nfluid air\nstate 1 = air(p = 1 bar, T = 300 K)\nstate 3, w_d = f(state 1, 8 bar, 0.001)\n```\n",
			want: []string{"no value"}, not: []string{"= 0", "found in the working", "p = 0"},
			noTrace: []string{`"symbol":"w_d"`, `"symbol":"T3"`},
		},
	} {
		page, trace := plain(render(t, c.text, gauge, Options{})), string(traceOf(t, c.text, gauge))
		if !json.Valid([]byte(trace)) {
			t.Errorf("%s: the trace is no JSON", name)
		}
		for _, w := range c.want {
			if !strings.Contains(page, w) {
				t.Errorf("%s: the page does not say %q:\n%s", name, w, page)
			}
		}
		for _, w := range c.not {
			if strings.Contains(page, w) {
				t.Errorf("%s: the page says %q:\n%s", name, w, page)
			}
		}
		for _, w := range c.trace {
			if !strings.Contains(trace, w) {
				t.Errorf("%s: the trace lacks %s:\n%s", name, w, trace)
			}
		}
		for _, w := range c.noTrace {
			if regexp.MustCompile(w).MatchString(trace) {
				t.Errorf("%s: the trace has %s:\n%s", name, w, trace)
			}
		}
	}
}
