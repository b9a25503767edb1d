package sheet

import (
	"workings/runner/study"
)

// uncertaintySheet has what the inputs do to the answers, one answer below the other.
func (w *workbook) uncertaintySheet() {
	s := w.o.Sensitivities
	if s == nil {
		return
	}
	g := w.grid("Uncertainty", 24, 24, 26, 18, 18, 18, 14, 44)
	g.put("Values of the notebook as it was evaluated: they do not follow when inputs are changed here.")
	g.put(s.Lead())
	for _, note := range s.Notes() {
		g.put(study.Plain(note))
	}
	for _, b := range s.Answers {
		g.put()
		g.put(g.bold(study.Plain(b.Title(s.Method, w.digits, w.ambient))))
		for _, t := range []study.Grid{b.Table(w.digits, w.ambient), b.Methods(s, w.ambient)} {
			if len(t.Rows) == 0 {
				continue
			}
			w.studyHead(g, t.Head)
			g.putRows(t)
		}
		for _, remark := range b.Remarks(s) {
			g.put(remark)
		}
	}
	g.end()
}
