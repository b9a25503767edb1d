package sheet

import (
	"strconv"

	"workings/runner/resolve"
	"workings/runner/study"
	"workings/units"
)

// The records of studies. Columns of figures are in SI.
type (
	jsonStudy struct {
		Name    string            `json:"name"`
		Line    int               `json:"line"`
		File    string            `json:"file,omitempty"` // of a used sheet
		Caption string            `json:"caption,omitempty"`
		Vary    []jsonVaried      `json:"vary"`
		Family  *jsonVaried       `json:"family,omitempty"`
		Keep    []jsonVaried      `json:"keep"`
		Seek    string            `json:"seek,omitempty"`
		Points  int               `json:"points"`
		Failed  int               `json:"failed"`
		Outside int               `json:"outside"`
		Audited int               `json:"audited"`
		Faulty  int               `json:"faulty"`
		Reasons []jsonStudyReason `json:"reasons"`
		Problem string            `json:"problem,omitempty"`
		Series  []jsonSeries      `json:"series"`
		Thinned bool              `json:"thinned,omitempty"` // not all points are here
	}
	jsonVaried struct {
		Symbol string `json:"symbol"`
		SIUnit string `json:"si_unit"`
		Unit   string `json:"unit"`
	}
	jsonStudyReason struct {
		Line    int    `json:"line"`
		File    string `json:"file,omitempty"`
		Message string `json:"message"`
		Points  int    `json:"points"`
	}
	jsonSeries struct {
		Value   *number      `json:"value,omitempty"`
		Fluid   string       `json:"fluid,omitempty"`
		Inputs  [][]number   `json:"inputs"`
		Kept    [][]number   `json:"kept"`
		Outside []int        `json:"outside"`
		Audit   []int        `json:"audit,omitempty"`
		Marks   []jsonMark   `json:"marks"`
		Optimum *jsonOptimum `json:"optimum,omitempty"`
	}
	jsonMark struct {
		Mark     string   `json:"mark"`
		Standing string   `json:"standing"`
		At       []number `json:"at"`
		Accuracy []number `json:"accuracy"`
		Kept     []number `json:"kept"`
		Outside  bool     `json:"outside"`
		More     bool     `json:"more,omitempty"`
	}
	jsonOptimum struct {
		Problem     string   `json:"problem,omitempty"`
		At          []number `json:"at"`
		Kept        []number `json:"kept"`
		Limits      []string `json:"limits"`
		Idle        []string `json:"idle,omitempty"`
		Evaluations int      `json:"evaluations"`
		Starts      int      `json:"starts"`
		Agreeing    int      `json:"agreeing"`
		Others      []number `json:"others"`
		Elsewhere   bool     `json:"elsewhere,omitempty"`
		Outside     bool     `json:"outside"`
	}
)

// pagePoints is how many points of a study the trace in a page holds: a page is to be read, not a
// store of figures.
const pagePoints = 1000

func (p *page) jsonStudies() []jsonStudy {
	out := []jsonStudy{}
	for _, r := range p.o.Studies {
		out = append(out, p.jsonStudy(r))
	}
	return out
}

func (p *page) jsonStudy(r *study.Result) jsonStudy {
	st := r.Of
	j := jsonStudy{Name: st.Full(), Line: typedLine(st.Line), Caption: st.Stmt.Caption.Text, Vary: []jsonVaried{}, Keep: []jsonVaried{}, Reasons: []jsonStudyReason{}, Series: []jsonSeries{},
		Points: r.Points, Failed: r.Failed, Outside: r.Outside, Audited: r.Audited, Faulty: r.Faulty, Problem: r.Problem}
	if st.Line.File != p.doc.File && st.Sheet != "" {
		j.File = st.Line.File.Name
	}
	of := func(name string, u units.Unit) jsonVaried {
		return jsonVaried{name, units.SIUnit(u.Dimension()).String(), u.String()}
	}
	for _, v := range st.Vary {
		j.Vary = append(j.Vary, of(v.Name(), v.Unit))
	}
	if st.Seek != nil {
		j.Seek = st.Seek.Extreme + " " + st.Keep[st.Seek.Keep].Symbol.Full()
		for _, b := range st.Seek.By {
			j.Vary = append(j.Vary, of(b.Input.Name, b.Unit))
		}
	}
	if f := st.Family; f != nil {
		v := of(f.Name(), f.Unit)
		j.Family = &v
	}
	for _, k := range st.Keep {
		j.Keep = append(j.Keep, of(k.Symbol.Full(), k.Unit))
	}
	for _, why := range r.Reasons {
		reason := jsonStudyReason{Line: typedLine(why.Line), Message: why.Message, Points: why.Points}
		if why.Line.File != p.doc.File {
			reason.File = why.Line.File.Name
		}
		j.Reasons = append(j.Reasons, reason)
	}
	j.Thinned = p.inPage && r.Points > pagePoints
	for _, x := range r.Series {
		j.Series = append(j.Series, p.jsonSeries(r, x, j.Thinned))
	}
	return j
}

func (p *page) jsonSeries(r *study.Result, x *study.Series, thin bool) jsonSeries {
	j := jsonSeries{Inputs: [][]number{}, Kept: [][]number{}, Outside: []int{}, Marks: []jsonMark{}}
	switch {
	case x.Fluid != nil:
		j.Fluid = x.Fluid.Name
	case r.Of.Family != nil:
		v := number(x.Value)
		j.Value = &v
	}
	points := r.Shown(resolve.MaxStudyPoints)
	if thin {
		points = r.Shown(studyRows)
	}
	for k, columns := range [][][]float64{x.Inputs, x.Kept} {
		for _, c := range columns {
			column := make([]number, len(points))
			for i, point := range points {
				column[i] = number(c[point])
			}
			*[]*[][]number{&j.Inputs, &j.Kept}[k] = append(*[]*[][]number{&j.Inputs, &j.Kept}[k], column)
		}
	}
	for i, point := range points {
		if x.Outside != nil && x.Outside[point] {
			j.Outside = append(j.Outside, i)
		}
		if x.Audit != nil {
			j.Audit = append(j.Audit, x.Audit[point])
		}
	}
	for _, m := range x.Marks {
		what := m.Of.Extreme + " " + r.Of.Keep[m.Of.Keep].Symbol.Full()
		if m.Of.Extreme == "" {
			what = r.Of.Keep[m.Of.Keep].Symbol.Full() + " crossing " + strconv.FormatFloat(m.Of.Value, 'g', -1, 64)
		}
		j.Marks = append(j.Marks, jsonMark{what, m.Standing.String(), numbers(m.At), numbers(m.Accuracy), numbers(m.Kept), m.Outside, m.More})
	}
	if o := x.Optimum; o != nil {
		j.Optimum = &jsonOptimum{o.Problem, numbers(o.At), numbers(o.Kept), []string{}, nil, o.Evaluations, o.Starts, o.Agreeing, numbers(o.Others), o.Elsewhere, o.Outside}
		for _, a := range o.Active {
			j.Optimum.Limits = append(j.Optimum.Limits, r.Limit(a))
		}
		for _, i := range o.Idle {
			j.Optimum.Idle = append(j.Optimum.Idle, r.Of.Seek.By[i].Input.Name)
		}
	}
	return j
}

func numbers(vs []float64) []number {
	out := make([]number, len(vs))
	for i, v := range vs {
		out[i] = number(v)
	}
	return out
}
