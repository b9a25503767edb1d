package sheet

import (
	"slices"
	"strings"

	"workings/propsdb"
	"workings/runner/chart"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/notebook"
	"workings/runner/resolve"
	"workings/units"
)

// chartFence writes what stands in the place of a chart: the picture with its caption and, folded,
// the numbers it is drawn from. A kind of chart that this version does not draw stays as typed.
func (p *page) chartFence(b *notebook.Block, lines []*resolve.Line) {
	for _, l := range lines {
		c := l.Chart
		switch {
		case c == nil || l.Problem != nil || l.Failed():
			p.failedBlock(l)
		case c.Kind == lang.PropertyChart:
			p.propertyFigure(l, p.tr.Diagram(c))
		case c.Kind == lang.StudyChart:
			p.studyFigure(l)
		case c.Kind == lang.ProfileChart:
			p.profileFigure(l)
		case c.Kind == lang.SchematicChart && c.Cycle != nil:
			p.schematicFigure(l, c.Cycle)
		default:
			p.notEvaluated(b, nil)
		}
	}
	if len(lines) == 0 {
		p.notEvaluated(b, nil)
	}
}

// openFigure begins a numbered figure; its caption is the author's, or what it says of itself.
func (p *page) openFigure(l *resolve.Line, own string) {
	p.raw(`<figure class="picture"`)
	p.anchor(l)
	p.raw(`><figcaption><b>Figure `, p.figureNo(l), "</b> ")
	if c := l.Chart.Stmt.Caption; c.Text != "" {
		p.caption(l.File, c.Loc)
	} else {
		p.text(own)
	}
	p.raw("</figcaption>")
}

func (p *page) figureNo(l *resolve.Line) string { return itoa(p.places[l].number) }

// picture writes a drawing, what explains its lines, and the head of the table of its numbers,
// which is folded.
func (p *page) picture(l *resolve.Line, draw func(id string) []byte, key string) {
	no := p.figureNo(l)
	p.raw(`<div class="scroll" tabindex="0" role="region" aria-label="Figure `, no, `">`)
	p.b = append(p.b, draw("Figure"+no)...)
	p.raw("</div>")
	if key != "" {
		p.raw(`<p class="key">`, key, "</p>")
	}
	p.raw("<details><summary>The numbers of figure ", no, `</summary><div class="scroll" tabindex="0" role="region" aria-label="Numbers of figure `, no, `">`)
}

func (p *page) closeFigure() { p.raw("</div></details></figure>\n") }

// axisUnit is the unit in which a property is shown: that of the author's table of states, else
// that of the first state that has one, else the usual one.
func (p *page) axisUnit(states []*resolve.State, q propsdb.Property) units.Unit {
	for _, t := range p.tr.Sheet.Tables {
		for _, col := range t.Columns {
			if col.Prop == q && col.Set {
				return col.Unit
			}
		}
	}
	for _, s := range states {
		if sym := s.Prop(q); sym != nil {
			return sym.Unit
		}
	}
	return p.usualUnit(q.Unit())
}

// usualUnit is the unit that the sheet's system prefers to another of its dimension.
func (p *page) usualUnit(text string) units.Unit {
	u, err := units.Parse(text)
	if err != nil {
		return units.Unit{}
	}
	if preferred, ok := units.Preferred(u.Dimension(), p.tr.Sheet.System); ok {
		return preferred
	}
	return u
}

// printedName is a symbol for a picture, where there is no MathML.
func printedName(text string) chart.Name {
	n := lang.Print(text)
	base := n.Stem
	if n.Dot {
		base += "\u0307"
	}
	if n.Delta {
		base = "Δ" + base
	}
	return chart.Name{Base: base, Sub: n.Sub}
}

func propertyAxis(q propsdb.Property, u units.Unit, log bool) chart.Axis {
	a := chart.Axis{Symbol: printedName(q.Symbol()), Words: q.Name(), Unit: u.String()}
	if u.IsNone() {
		a.Unit = ""
	}
	switch {
	case log:
		a.Scale = chart.Log
	case q == propsdb.P || q == propsdb.V:
		a.Scale = chart.Auto
	}
	return a
}

// propertyFigure writes a property diagram.
func (p *page) propertyFigure(l *resolve.Line, d *eval.Diagram) {
	c := l.Chart
	var states []*resolve.State
	for _, path := range c.Paths {
		states = append(states, path.States...)
	}
	ux, uy := p.axisUnit(states, c.X), p.axisUnit(states, c.Y)
	point := func(v eval.DiagramPoint) chart.Point {
		return chart.Point{X: p.valueIn(v.X, ux).Shown, Y: p.valueIn(v.Y, uy).Shown}
	}
	points := func(vs []eval.DiagramPoint) []chart.Point {
		out := make([]chart.Point, len(vs))
		for i, v := range vs {
			out[i] = point(v)
		}
		return out
	}
	if len(d.Missing) > 0 {
		p.raw(`<p class="flag">`)
		p.icon("wait")
		p.raw(" The figure below waits for ")
		var missing []string
		for _, s := range d.Missing {
			missing = append(missing, p.stateName(s))
		}
		p.text("state " + orderedList(missing) + ", and leaves out what leads there.")
		p.raw("</p>\n")
	}
	title := p.diagramTitle(c, d)
	pic := chart.Diagram{Title: title, X: propertyAxis(c.X, ux, c.LogX), Y: propertyAxis(c.Y, uy, c.LogY), Digits: p.digits}
	var shown keyed
	for i, path := range d.Paths {
		out := chart.Path{Name: p.pathName(d, i)}
		for _, g := range path.Legs {
			leg := chart.Leg{From: chart.State{ID: p.stateName(g.From), At: point(g.Start)}, To: chart.State{ID: p.stateName(g.To), At: point(g.End)},
				Between: points(g.Between), Heat: g.Heat}
			out.Legs = append(out.Legs, leg)
			shown.heat = shown.heat || g.Heat
			shown.known = shown.known || g.Between != nil
			shown.ends = shown.ends || g.Between == nil
		}
		pic.Paths = append(pic.Paths, out)
	}
	if d.Dome != nil {
		pic.Dome = &chart.Dome{Fluid: "water", Points: points(d.Dome), Critical: point(d.Critical)}
	}
	up := p.axisUnit(states, propsdb.P)
	for _, iso := range d.Isobars {
		pic.Lines = append(pic.Lines, chart.Isoline{Value: p.valueIn(iso.P, up).Shown, Unit: up.String(), Points: points(iso.Points)})
	}
	shown.isobars, shown.dome, shown.several = len(pic.Lines) > 0, pic.Dome != nil, len(pic.Paths) > 1

	p.openFigure(l, title)
	p.picture(l, pic.SVG, shown.words())
	p.diagramTable(c, ux, uy)
	p.closeFigure()
}

// pathName names a path by the fluids it passes, and by its states where another passes the same.
func (p *page) pathName(d *eval.Diagram, i int) string {
	path := d.Paths[i]
	name := orderedList(path.Fluids)
	for j, other := range d.Paths {
		if j != i && orderedList(other.Fluids) == name && len(path.Legs) > 0 {
			return name + " " + p.wayOf(path.Legs)
		}
	}
	return name
}

// wayOf names the states of a path, the first and the last where there are many: 1–2s–3.
func (p *page) wayOf(legs []eval.DiagramLeg) string {
	const most = 6
	way := p.stateName(legs[0].From)
	if len(legs) > most {
		return way + " to " + p.stateName(legs[len(legs)-1].To)
	}
	for _, g := range legs {
		way += "–" + p.stateName(g.To)
	}
	return way
}

// keyed is what there is to explain about the lines of a diagram.
type keyed struct{ heat, known, ends, isobars, dome, several bool }

func (k keyed) words() string {
	var w []string
	if k.several {
		w = append(w, "each path in its own hue, dash and marker")
	}
	if k.heat {
		w = append(w, "heavy where heat enters")
	}
	if k.known && k.ends {
		w = append(w, "the curve itself where the pressure stays the same")
	}
	if k.ends {
		w = append(w, "dashed and straight where only the ends are known")
	}
	if k.isobars {
		w = append(w, "thin lines at constant pressure")
	}
	if k.dome {
		w = append(w, "thin, the boundary between water, steam and both")
	}
	if len(w) == 0 {
		return ""
	}
	s := strings.Join(w, "; ") + "."
	return strings.ToUpper(s[:1]) + s[1:]
}

// diagramTitle names what a diagram shows: "temperature against specific entropy of air, states 1 to 10".
func (p *page) diagramTitle(c *resolve.Chart, d *eval.Diagram) string {
	var fluids []string
	for _, path := range d.Paths {
		for _, f := range path.Fluids {
			if !slices.Contains(fluids, f) {
				fluids = append(fluids, f)
			}
		}
	}
	s := c.Y.Name() + " against " + c.X.Name()
	if len(fluids) > 0 {
		s += " of " + orderedList(fluids)
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// orderedList joins words as a sentence does.
func orderedList(words []string) string {
	if n := len(words); n > 1 {
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
	return strings.Join(words, "")
}

// diagramTable writes the states of a diagram with the two properties it shows, each state once.
func (p *page) diagramTable(c *resolve.Chart, ux, uy units.Unit) {
	p.raw(`<table class="tab states"><thead><tr><th scope="col">state</th>`)
	columns := []struct {
		q propsdb.Property
		u units.Unit
	}{{c.Y, uy}, {c.X, ux}}
	for _, col := range columns {
		p.raw(`<th scope="col" class="n">`)
		p.headSymbol(col.q.Symbol())
		p.inUnit(col.u)
		p.raw("</th>")
	}
	p.raw(`<th scope="col" class="us">entry</th></tr></thead><tbody>`, "\n")
	seen := map[*resolve.State]bool{}
	for _, path := range c.Paths {
		for _, st := range path.States {
			if seen[st] {
				continue
			}
			seen[st] = true
			p.raw(`<tr><th scope="row">`)
			p.ring(st)
			p.raw("</th>")
			for _, col := range columns {
				p.raw(`<td class="n">`)
				p.tableCell(&resolve.Shown{Symbol: st.Prop(col.q), Unit: col.u})
				p.raw("</td>")
			}
			p.raw(`<td class="us">`)
			if e := p.entry(st.Line); e != nil && e.Number != "" {
				p.entryLink(e.Number)
			}
			p.raw("</td></tr>\n")
		}
	}
	p.raw("</tbody></table>")
}
