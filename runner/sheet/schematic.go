package sheet

import (
	"strings"

	"workings/runner/chart"
	"workings/runner/lang"
	"workings/runner/resolve"
)

// schematicAsked reports a cycle that a chart of the sheet draws where the author wants it.
func schematicAsked(lines []*resolve.Line, c *resolve.Cycle) bool {
	for _, l := range lines {
		if l.Chart != nil && l.Chart.Kind == lang.SchematicChart && l.Chart.Cycle == c && l.Problem == nil {
			return true
		}
	}
	return false
}

// schematicFigure draws a cycle: in the place of a chart, or at the cycle's own fence.
func (p *page) schematicFigure(l *resolve.Line, c *resolve.Cycle) {
	if len(c.Components) == 0 {
		return
	}
	s := p.schematic(c)
	p.raw(`<figure class="picture"`)
	p.anchor(l)
	p.raw(`><figcaption><b>Figure `, p.figureNo(l), "</b> ")
	if l.Chart != nil && l.Chart.Stmt.Caption.Text != "" {
		p.caption(l.File, l.Chart.Stmt.Caption.Loc)
	} else {
		p.text(s.Title)
	}
	no := p.figureNo(l)
	p.raw(`</figcaption><div class="scroll" tabindex="0" role="region" aria-label="Figure `, no, `">`)
	p.b = append(p.b, p.rememberedSchematic(s, "Figure"+no)...)
	p.raw(`</div><p class="key">An arrow through a symbol: heat added or taken away. Not to scale, and no layout of the plant.</p></figure>`, "\n")
}

// schematic is a cycle as the chart takes it.
func (p *page) schematic(c *resolve.Cycle) *chart.Schematic {
	s := &chart.Schematic{Title: "Schematic of " + c.Full()}
	names := exchangerNames(c)
	for _, part := range c.Components {
		out := chart.Part{Kind: part.Kind, Shaft: part.Shaft, Exchanger: names[part.Pair], Hot: part.Side == "hot"}
		if part.Stmt != nil {
			out.Caption = plainCaption(part.Stmt.Caption.Text)
		}
		for _, leg := range part.From {
			out.In = append(out.In, p.stateName(leg.State))
		}
		for _, leg := range part.To {
			out.Out = append(out.Out, p.stateName(leg.State))
		}
		if len(part.From) > 0 && part.From[0].State.Fluid != nil {
			out.Fluid = part.From[0].State.Fluid.Name
		}
		s.Parts = append(s.Parts, out)
	}
	return s
}

// exchangerNames tells the exchangers of a cycle apart.
func exchangerNames(c *resolve.Cycle) map[*resolve.Exchanger]string {
	out := map[*resolve.Exchanger]string{}
	used := map[string]bool{}
	for _, part := range c.Components {
		x := part.Pair
		if x == nil || out[x] != "" {
			continue
		}
		name := x.Name
		if name == "" {
			name = x.Kind
		}
		if used[name] {
			name = x.Kind + " " + name
		}
		for n := 2; used[name]; n++ {
			name = x.Kind + " " + itoa(n)
		}
		used[name] = true
		out[x] = name
	}
	return out
}

// plainCaption is a caption for a picture, which has room for plain words only: what stands before
// any mark-up, value or note.
func plainCaption(s string) string {
	if i := strings.IndexAny(s, "[{<`*$"); i >= 0 {
		s = s[:i]
	}
	return strings.TrimSpace(s)
}
