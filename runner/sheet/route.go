package sheet

import (
	"strconv"

	"workings/runner/eval"
	"workings/units"
)

// secondRoutes sets the answers of the sheet beside those of the same lines with another model for a
// fluid: an alternate calculation, whose differences are to be explained.
func (p *page) secondRoutes() {
	if len(p.tr.Routes) == 0 {
		return
	}
	p.section("Second-route", "Second route")
	for _, r := range p.tr.Routes {
		p.raw("<p>The whole sheet was evaluated again with <b>")
		p.text(r.Fluid + " = " + r.Model)
		p.raw("</b>.")
		if r.Tolerance > 0 {
			p.raw(" A difference above ", strconv.FormatFloat(100*r.Tolerance, 'g', 6, 64), " % is to be explained.")
		}
		p.raw("</p>\n", `<div class="scroll" tabindex="0" role="region" aria-label="Second route"><table class="tab"><caption class="vh">Answers by both routes</caption><thead><tr><th scope="col">answer</th>`,
			`<th scope="col" class="nv">here</th><th scope="col" class="nv">second route</th><th scope="col" class="nv">difference</th><th scope="col" class="de">remark</th></tr></thead><tbody>`, "\n")
		for i := range r.Answers {
			p.routeRow(&r.Answers[i])
		}
		p.raw("</tbody></table></div>\n")
		for _, q := range r.Problems {
			p.raw("<p>Without a value there: ")
			p.sentence(q.Message)
			p.raw("</p>\n")
		}
	}
	p.raw("</section>\n")
}

func (p *page) routeRow(a *eval.RouteAnswer) {
	p.raw(`<tr><th scope="row">`)
	p.mathSymbol(a.Shown.Symbol)
	p.raw("</th>")
	p.routeCell(a, a.Here, a.HasHere)
	p.routeCell(a, a.There, a.HasThere)
	p.raw(`<td class="nv">`)
	if a.HasHere && a.HasThere {
		p.text(a.Percent())
	}
	p.raw(`</td><td class="de">`)
	switch {
	case a.Accepted != nil:
		p.caption(a.Accepted.Line.File, a.Accepted.Reason.Loc)
	case a.Exceeds:
		p.raw(`<b class="flag warn">`)
		p.icon("warn")
		p.raw(" to be explained</b>")
	}
	p.raw("</td></tr>\n")
}

func (p *page) routeCell(a *eval.RouteAnswer, v eval.Value, ok bool) {
	p.raw(`<td class="nv">`)
	if !ok {
		p.raw("no value</td>")
		return
	}
	digits := a.Shown.Digits
	if digits == 0 {
		digits = p.digits
	}
	p.text(units.FormatNumber(v.Shown, digits))
	if !v.Unit.IsNone() {
		p.raw(` <span class="u">`)
		p.text(v.Unit.String())
		p.raw("</span>")
	}
	p.raw("</td>")
}

func (p *page) jsonRouteOf(r *eval.Route) jsonRoute {
	figure := func(v float64) *number { n := number(v); return &n }
	out := jsonRoute{Fluid: r.Fluid, Model: r.Model, Answers: []jsonRouteAnswer{}}
	if r.Tolerance > 0 {
		out.Tolerance = figure(r.Tolerance)
	}
	for _, a := range r.Answers {
		j := jsonRouteAnswer{Symbol: a.Shown.Symbol.Full(), Unit: "1", Exceeds: a.Exceeds}
		if a.HasThere {
			j.SI, j.Value, j.Unit = figure(a.There.SI), figure(a.There.Shown), p.traceUnit(a.There)
		}
		if a.HasHere && a.HasThere {
			j.Relative = figure(a.Relative)
		}
		if a.Accepted != nil {
			j.Accepted = a.Accepted.Reason.Text
		}
		out.Answers = append(out.Answers, j)
	}
	return out
}
