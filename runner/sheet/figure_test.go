package sheet

import (
	"regexp"
	"strings"
	"testing"
)

const charted = "```calc\nfluid air\nfluid water\nstate 1 = air(p = 100 kPa, T = 300 K)\nstate 2 = air(p = 800 kPa, T = 600 K)\nstate 3 = air(p = 800 kPa, T = 1300 K)\n" +
	"state 4 = air(p = 1 bar, T = 800 K)\nstate 5 = air(p = 100 kPa, T = 1 K)\nstate a = water(p = 10 kPa, x = 0)\nstate b = water(p = 10 kPa, x = 1)\n```\n\n" +
	"```chart\n// The *cycle* of air & gas\nT against s through 1, 2, 3, 4, 1\n```\n\n" +
	"```chart\np against v through 1, 2, 3\nthrough a, b\nlogarithmic p, v\n```\n\n" +
	"```chart\nT against h through 1, 5, 3, 4\n```\n\n" +
	"```table\n// States\nstates 1, 2\ncolumns p in bar, T in °C, s in kJ/(kg·K)\n```\n\n" +
	"```chart\nT against q through 1, 2\n```\n"

// Figures are numbered in the order of reading, each with its caption, its picture and its numbers.
func TestFigures(t *testing.T) {
	page := render(t, charted, nil, Options{})
	figures := regexp.MustCompile(`(?s)<figure class="picture".*?</figure>`).FindAllString(page, -1)
	if len(figures) != 3 {
		t.Fatalf("%d figures, want 3", len(figures))
	}
	for i, want := range [][]string{
		{`id="Figure-1"`, "<b>Figure 1</b> The <em>cycle</em> of air &amp; gas", `<title id="Figure1-t">Temperature against specific entropy of air</title>`,
			"state 3 at ", "heat entering, along the curve drawn", `> in °C<`, "1026.8"}, // 1300 K; the table asks for °C
		{`id="Figure-2"`, "<b>Figure 2</b> Pressure against specific volume of air and water", "air", "water", "critical point", "in bar"},
		{`id="Figure-3"`, "<b>Figure 3</b> Temperature against specific enthalpy of air"},
	} {
		for _, w := range want {
			if !strings.Contains(figures[i], w) {
				t.Errorf("figure %d lacks %q", i+1, w)
			}
		}
		if !strings.Contains(figures[i], "<details><summary>The numbers of figure") || !strings.Contains(figures[i], `<div class="scroll" tabindex="0"`) {
			t.Errorf("figure %d has no table of numbers, or no box to scroll in", i+1)
		}
	}
	if !strings.Contains(page, "waits for state 5, and leaves out what leads there") {
		t.Error("nothing says that state 5 is missing")
	}
	if strings.Count(page, "--c1:") != 1 {
		t.Error("the style of pictures should stand on the page once")
	}
	if strings.Contains(render(t, "```calc\na = 1\n```\n", nil, Options{}), "--c1:") {
		t.Error("the style of pictures stands on a page without any")
	}
	if strings.Contains(page, "as it was typed") {
		t.Error("a chart that was drawn is shown as typed as well")
	}
}

// A picture says what its table says: every state in the description has the table's number.
func TestFigureAgreesWithItsTable(t *testing.T) {
	page := render(t, charted, nil, Options{})
	figure := regexp.MustCompile(`(?s)<figure class="picture" id="Figure-1".*?</figure>`).FindString(page)
	desc := regexp.MustCompile(`(?s)<desc.*?</desc>`).FindString(figure)
	rows := regexp.MustCompile(`<span class="ring">(\w+)</span></th><td class="n">([^<]*)</td><td class="n">([^<]*)</td>`).FindAllStringSubmatch(figure, -1)
	if len(rows) != 4 {
		t.Fatalf("%d rows, want 4:\n%s", len(rows), figure)
	}
	short := func(s string) string { return strings.TrimSuffix(strings.TrimRight(s, "0"), ".") }
	for _, r := range rows {
		want := "state " + r[1] + " at " + short(r[3]) + "\u00a0kJ/(kg·K), " + short(r[2]) + "\u00a0°C"
		if !strings.Contains(desc, want) {
			t.Errorf("the description lacks %q", want)
		}
	}
}

// A schematic stands at its cycle, or where a chart asks for it, and then only there.
func TestSchematicStandsOnce(t *testing.T) {
	const states = "```calc\nstate 1 = air(p = 100 kPa, T = 300 K)\nstate 2 = air(p = 800 kPa, T = 600 K)\nstate 3 = air(p = 780 kPa, T = 1300 K)\nstate 4 = air(p = 105 kPa, T = 850 K)\n```\n\n"
	const cycle = "```cycle plant\n1 -> 2   compressor on A\n2 -> 3   heater   // furnace\n3 -> 4   turbine on A\n```\n\n"
	for name, c := range map[string]struct{ text, caption string }{
		"at the cycle": {states + cycle, "Schematic of plant"},
		"asked for":    {states + cycle + "```chart\n// The plant\nschematic of plant\n```\n", "The plant"},
		"before it":    {states + "```chart\n// The plant\nschematic of plant\n```\n\n" + cycle, "The plant"},
	} {
		html := render(t, "```calc\nfluid air\n```\n\n"+c.text, nil, Options{})
		if n := strings.Count(html, ">Schematic of plant</title>"); n != 1 {
			t.Errorf("%s: %d drawings, want 1", name, n)
		}
		for _, want := range []string{"<b>Figure 1</b> " + c.caption, ">furnace</text>", "compressor from 1 to 2, "} {
			if !strings.Contains(html, want) {
				t.Errorf("%s: no %q", name, want)
			}
		}
	}
}
