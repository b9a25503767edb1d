package sheet

import (
	"workings/runner/diag"
	"workings/runner/study"
)

// uncertainties are the tables of what the inputs do to the answers.
func (m *markdown) uncertainties() {
	s := m.o.Sensitivities
	if s == nil {
		return
	}
	m.section("Uncertainty and sensitivity")
	m.line(escaped(s.Lead()), "\n")
	for _, n := range s.Notes() {
		m.line("* ", m.pieces(n))
	}
	if len(s.Notes()) > 0 {
		m.line("")
	}
	for _, b := range s.Answers {
		m.line(m.pieces(b.Title(s.Method, m.digits, m.ambient)), "\n")
		if len(b.Rows) == 0 {
			m.line(study.NothingMoves, "\n")
			continue
		}
		m.line(studyPipes(b.Table(m.digits, m.ambient)), "\n")
		if g := b.Methods(s, m.ambient); len(g.Rows) > 0 {
			m.line(studyPipes(g), "\n")
		}
		for _, remark := range b.Remarks(s) {
			m.line(escaped(diag.Visible(remark)), "\n")
		}
	}
}
