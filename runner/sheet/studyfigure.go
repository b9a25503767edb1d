package sheet

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"workings/runner/chart"
	"workings/runner/resolve"
	"workings/runner/study"
	"workings/units"
)

const (
	figureSamples = 2000 // points of one curve
	figureOthers  = 5    // curves for the values of the other of two inputs
)

// studyFigure writes the curves of a study.
func (p *page) studyFigure(l *resolve.Line) {
	r := p.studyOf(l.Chart.Study.Line)
	if r == nil || r.Problem != "" {
		p.raw(`<p class="flag">`)
		p.icon("wait")
		p.raw(" The study ")
		p.text(l.Chart.Study.Full())
		p.raw(" has no points to draw.</p>\n")
		return
	}
	c := StudyCurves(r, l.Chart, p.digits, p.ambient)
	p.openFigure(l, c.Title)
	if r.Of.Sheet != "" { // its own fence stands on the sheet that is used
		p.raw(`<p class="key">Study `)
		p.text(r.Of.Full())
		p.raw(" of ")
		p.text(r.Of.Line.File.Name)
		p.raw(": ")
		p.pieces(r.Lead())
		p.raw(".</p>\n")
		p.studyFindings(r)
	}
	key := ""
	if len(c.Marks) > 0 {
		key = "Ringed: what the study marks."
	}
	p.picture(l, c.SVG, key)
	g, _ := r.Table(studyRows, p.studyFormat)
	p.studyRowsOf(g)
	p.closeFigure()
}

// StudyCurves are the curves that a chart draws from a study: one for each symbol and series, and for
// each of some values of the other input where two are varied.
func StudyCurves(r *study.Result, c *resolve.Chart, digits int, ambient float64) *chart.Curves {
	st := r.Of
	x := st.Vary[c.Along]
	first := st.Keep[c.Kept[0]]
	shown := func(si float64, u units.Unit) float64 {
		if u.Kind() == units.Gauge && ambient == 0 {
			u = u.Difference()
		}
		return u.FromSI(si, ambient)
	}
	format := func(si float64, u units.Unit) string { return units.FormatNumber(shown(si, u), digits) }
	out := &chart.Curves{Digits: digits, X: studyAxis(x.Name(), x.Unit, c.LogX || x.Logarithmic), Y: studyAxis(first.Symbol.Full(), first.Unit, c.LogY)}
	out.Title = first.Symbol.Full() + " against " + x.Name()
	if len(c.Kept) > 1 {
		var names []string
		out.Y.Symbol.Sub = ""
		for _, k := range c.Kept {
			name := st.Keep[k].Symbol.Full()
			names = append(names, name)
			if fullPrinted(name).Base != out.Y.Symbol.Base {
				out.Y.Symbol = chart.Name{} // no letter in common
			}
		}
		out.Y.Words = strings.Join(names, ", ")
		out.Title = out.Y.Words + " against " + x.Name()
	}
	switch single := len(c.Kept) == 1; {
	case single && st.Family != nil && len(st.Vary) == 1:
		out.Family = printedName(st.Family.Name())
	case single && st.Family == nil && len(st.Vary) == 2:
		out.Family = printedName(st.Vary[1-c.Along].Name())
	}
	stride, others, step := strides(st, c.Along)
	for _, series := range r.Series {
		for _, k := range c.Kept {
			u := first.Unit
			for _, other := range others {
				name, own := "", chart.Name{}
				if len(c.Kept) > 1 {
					own = fullPrinted(st.Keep[k].Symbol.Full())
				}
				if st.Family != nil {
					label := study.WithUnit(r.Label(series, format), st.Family.Unit)
					if out.Family == (chart.Name{}) {
						label = flatName(st.Family.Name()) + " = " + label
					}
					name = joined(name, label)
				}
				if len(st.Vary) == 2 {
					v := st.Vary[1-c.Along]
					label := study.WithUnit(study.Trimmed(format(v.Values[other], v.Unit)), v.Unit)
					if out.Family == (chart.Name{}) || st.Family != nil {
						label = flatName(v.Name()) + " = " + label
					}
					name = joined(name, label)
				}
				curve := chart.Series{Symbol: own, Name: name}
				for _, i := range study.Thinned(len(x.Values), figureSamples) {
					point := i*stride + other*step
					y := series.Kept[k][point]
					curve.Points = append(curve.Points, chart.Sample{X: shown(series.Inputs[c.Along][point], x.Unit), Y: shown(y, u), Failed: math.IsNaN(y), Outside: series.Outside[point]})
				}
				// A list of values may stand in any order; a curve runs along its axis.
				slices.SortStableFunc(curve.Points, func(a, b chart.Sample) int { return cmp.Compare(a.X, b.X) })
				out.Series = append(out.Series, curve)
			}
			for _, m := range series.Marks {
				if m.Of.Keep == k && m.Placed() && len(st.Vary) == 1 {
					at := chart.Point{X: shown(m.At[0], x.Unit), Y: shown(m.Kept[k], u)}
					out.Marks = append(out.Marks, chart.Mark{Series: len(out.Series) - 1, At: at, Words: m.Of.Extreme})
				}
			}
		}
	}
	return out
}

// strides are how far apart the points along one input are, which values of the other have curves
// of their own, and how far apart those are.
func strides(st *resolve.Study, along int) (stride int, others []int, step int) {
	if len(st.Vary) == 1 {
		return 1, []int{0}, 0
	}
	n := len(st.Vary[0].Values)
	if along == 0 {
		return 1, study.Thinned(len(st.Vary[1].Values), figureOthers), n
	}
	return n, study.Thinned(n, figureOthers), 1
}

func joined(a, b string) string {
	if a == "" {
		return b
	}
	return a + ", " + b
}

// flatName is a name as it prints, without markup.
func flatName(name string) string { return fullPrinted(name).String() }

// fullPrinted is a name for a picture, that of a used sheet or cycle with what stands before its dot.
func fullPrinted(name string) chart.Name {
	of, inner, ok := cutLast(name, '.')
	n := printedName(inner)
	if ok {
		n.Base = of + "." + n.Base
	}
	return n
}

func studyAxis(name string, u units.Unit, log bool) chart.Axis {
	a := chart.Axis{Symbol: fullPrinted(name), Words: name, Unit: u.String()}
	if u.IsNone() {
		a.Unit = ""
	}
	if log {
		a.Scale = chart.Log
	}
	return a
}
