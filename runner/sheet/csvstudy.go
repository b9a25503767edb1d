package sheet

import (
	"math"
	"strconv"

	"workings/runner/eval"
	"workings/runner/notebook"
	"workings/runner/study"
)

// csvStudy has all points of a study, a row each: the family, the inputs, what is kept (empty where it
// has no value), and whether an input lies outside its allowed range.
func (p *page) csvStudy(r *study.Result) []byte {
	st := r.Of
	var head []string
	if f := st.Family; f != nil {
		name := f.Name()
		if f.Fluid == nil {
			name += "/" + divisor(f.Unit)
		}
		head = append(head, name)
	}
	for _, v := range st.Vary {
		head = append(head, v.Name()+"/"+divisor(v.Unit))
	}
	if st.Seek != nil {
		for _, b := range st.Seek.By {
			head = append(head, b.Input.Name+"/"+divisor(b.Unit))
		}
	}
	for _, k := range st.Keep {
		head = append(head, k.Symbol.Full()+"/"+divisor(k.Unit))
	}
	rows := [][]string{append(head, "outside/1")}
	for _, x := range r.Series {
		if o := x.Optimum; o != nil {
			if o.Problem == "" {
				rows = append(rows, p.csvPoint(r, x, o.At, o.Kept, o.Outside))
			}
			continue
		}
		if x.Inputs == nil {
			continue
		}
		for point := range x.Inputs[0] {
			var inputs, kept []float64
			for _, c := range x.Inputs {
				inputs = append(inputs, c[point])
			}
			for _, c := range x.Kept {
				kept = append(kept, c[point])
			}
			rows = append(rows, p.csvPoint(r, x, inputs, kept, x.Outside[point]))
		}
	}
	return commaSeparated(rows)
}

func (p *page) csvPoint(r *study.Result, x *study.Series, inputs, kept []float64, outside bool) []string {
	st := r.Of
	var row []string
	switch {
	case x.Fluid != nil:
		row = append(row, x.Fluid.Name)
	case st.Family != nil:
		row = append(row, exactNumber(x.Value, p.valueIn(x.Value, st.Family.Unit).Unit, p.ambient))
	}
	for i, v := range inputs {
		u := r.InputUnit(i)
		row = append(row, exactNumber(v, p.valueIn(v, u).Unit, p.ambient))
	}
	for i, v := range kept {
		text := ""
		if !math.IsNaN(v) {
			text = exactNumber(v, p.valueIn(v, st.Keep[i].Unit).Unit, p.ambient)
		}
		row = append(row, text)
	}
	flag := 0
	if outside {
		flag = 1
	}
	return append(row, strconv.Itoa(flag))
}

// StudyTable has all points of one study.
func StudyTable(doc *notebook.Document, tr *eval.Trace, o Options, r *study.Result) []byte {
	return newPage(doc, tr, o).csvStudy(r)
}
