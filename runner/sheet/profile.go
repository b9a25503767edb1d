package sheet

import (
	"strings"

	"workings/propsdb"
	"workings/runner/chart"
	"workings/runner/cycle"
	"workings/runner/resolve"
	"workings/units"
)

// exchange is what the audit found about a chart's exchanger, and the unit that its heat counts in.
func (p *page) exchange(c *resolve.Chart) (*cycle.Exchange, units.Unit) {
	for _, a := range p.o.Audits {
		x := a.Exchange(c.Exchanger)
		if a.Cycle != c.Cycle || x == nil {
			continue
		}
		text := "kJ/kg"
		if a.Report.Plant.Basis == cycle.PerTime {
			text = "kW"
		}
		return x, p.usualUnit(text)
	}
	return nil, units.Unit{}
}

// profileFigure writes the temperatures along a heat exchanger against the heat passed, counted
// from the cold end.
func (p *page) profileFigure(l *resolve.Line) {
	c := l.Chart
	x, uq := p.exchange(c)
	if x == nil || x.Profile == nil {
		why := "its cycle has no values"
		if x != nil {
			why = x.Why
		}
		p.openFigure(l, "Temperatures along "+c.Stmt.Along.Text)
		p.raw(`<p class="flag warn">`)
		p.icon("warn")
		p.raw(" There is no picture: ")
		p.text(why + ".")
		p.raw("</p></figure>\n")
		return
	}
	coldIn, coldOut := ends(c.Exchanger.Cold)
	hotIn, hotOut := ends(c.Exchanger.Hot)
	ut := p.axisUnit([]*resolve.State{hotIn, coldIn}, propsdb.T)
	at := func(k float64) float64 { return p.valueIn(k, ut).Shown }
	heat := func(q float64) float64 { return uq.FromSI(q, 0) }
	pic := chart.Exchange{
		Title:      "Temperatures along the " + x.Pair.Title,
		X:          chart.Axis{Words: "heat passed from the cold end", Unit: uq.String()},
		T:          propertyAxis(propsdb.T, ut, false),
		Hot:        chart.Stream{Name: hotIn.Fluid.Name, Left: p.stateName(hotOut), Right: p.stateName(hotIn), Leftwards: true},
		Cold:       chart.Stream{Name: coldIn.Fluid.Name, Left: p.stateName(coldIn), Right: p.stateName(coldOut)},
		Difference: ut.Difference().String(),
		Digits:     p.digits,
	}
	for _, v := range x.Profile.Points {
		pic.Hot.Points = append(pic.Hot.Points, chart.Point{X: heat(v.Heat), Y: at(v.Hot)})
		pic.Cold.Points = append(pic.Cold.Points, chart.Point{X: heat(v.Heat), Y: at(v.Cold)})
	}
	gap := func(v cycle.Point, name string, where cycle.Place) {
		if where == x.Profile.Where {
			name = strings.TrimSuffix("pinch, "+name, ", ")
		}
		pic.Gaps = append(pic.Gaps, chart.Gap{Name: name, X: heat(v.Heat), Hot: at(v.Hot), Cold: at(v.Cold)})
	}
	points := x.Profile.Points
	gap(points[0], "cold end", cycle.ColdEnd)
	if x.Profile.Where == cycle.Inside {
		gap(x.Profile.Pinch, "", cycle.Inside)
	}
	gap(points[len(points)-1], "hot end", cycle.HotEnd)

	p.openFigure(l, pic.Title)
	p.picture(l, pic.SVG, "Heavy: the stream that gives the heat; arrows: the direction of flow; dotted: temperature differences.")
	p.profileTable(x.Profile, uq, ut)
	p.closeFigure()
}

// ends are the states at which one side of an exchanger enters and leaves.
func ends(side []*resolve.Component) (in, out *resolve.State) {
	last := side[len(side)-1]
	return side[0].From[0].State, last.To[len(last.To)-1].State
}

// profileTable writes every few of a profile's points, the last and the pinch.
func (p *page) profileTable(f *cycle.Profile, uq, ut units.Unit) {
	const every = 4
	difference := ut.Difference()
	p.raw(`<table class="tab states"><thead><tr><th scope="col">heat passed`)
	p.inUnit(uq)
	p.raw(`</th><th scope="col" class="n">hot`)
	p.inUnit(ut)
	p.raw(`</th><th scope="col" class="n">cold`)
	p.inUnit(ut)
	p.raw(`</th><th scope="col" class="n">difference`)
	p.inUnit(difference)
	p.raw("</th></tr></thead><tbody>\n")
	row := func(v cycle.Point) {
		p.raw(`<tr><th scope="row">`)
		p.text(units.FormatNumber(uq.FromSI(v.Heat, 0), p.digits))
		if v == f.Pinch {
			p.raw(" (pinch)")
		}
		p.raw("</th>")
		for _, n := range []float64{p.valueIn(v.Hot, ut).Shown, p.valueIn(v.Cold, ut).Shown, difference.FromSI(v.Difference(), 0)} {
			p.raw(`<td class="n">`)
			p.text(units.FormatNumber(n, p.digits))
			p.raw("</td>")
		}
		p.raw("</tr>\n")
	}
	for i, v := range f.Points {
		if i%every == 0 || i == len(f.Points)-1 || v == f.Pinch {
			row(v)
		}
	}
	p.raw("</tbody></table>")
}
