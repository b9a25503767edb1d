package sheet

import (
	"strings"

	"workings/runner/diag"
	"workings/runner/resolve"
	"workings/runner/study"
)

// study is a study as text: what is varied, the marks, some of its points.
func (m *markdown) study(l *resolve.Line) string {
	r := m.studyOf(l)
	if l.Study == nil || r == nil {
		if l.Problem != nil {
			return "**" + problemText(l.Problem) + "**"
		}
		return "**no value**"
	}
	title := "**Study " + escaped(r.Of.Full()) + "**"
	if c := m.captionText(l.File, r.Of.Stmt.Caption); c != "" {
		title += " " + c
	}
	out := []string{title + ": " + m.pieces(r.Lead()) + "."}
	for _, note := range r.Notes() {
		out = append(out, "- "+escaped(diag.Visible(note)))
	}
	parts := []string{strings.Join(out, "\n\n")}
	if marks := r.Marks(m.studyFormat); len(marks.Rows) > 0 {
		parts = append(parts, studyPipes(marks))
	}
	if r.Of.Seek == nil && r.Problem == "" {
		g, all := r.Table(studyRows, m.studyFormat)
		if len(g.Rows) < all {
			parts = append(parts, itoa(len(g.Rows))+" of the "+study.Thousands(all)+" points:")
		}
		parts = append(parts, studyPipes(g))
	}
	return strings.Join(parts, "\n\n")
}

// pieces are words with names in them.
func (m *markdown) pieces(of []study.Piece) string {
	var lead strings.Builder
	for _, piece := range of {
		words := strings.TrimLeft(piece.Words, " ")
		lead.WriteString(piece.Words[:len(piece.Words)-len(words)] + escaped(words))
		if words != "" && strings.HasSuffix(words, " ") {
			lead.WriteByte(' ')
		}
		if piece.Name != "" {
			lead.WriteString(code(piece.Name))
		}
	}
	return lead.String()
}

func studyPipes(g study.Grid) string {
	var head []string
	for _, h := range g.Head {
		name := h.Word
		if h.Name != "" {
			name = ">" + escaped(h.Name)
		} else if h.Number {
			name = ">" + name
		}
		if !h.Unit.IsNone() {
			name += " in " + h.Unit.String()
		}
		head = append(head, name)
	}
	var rows [][]string
	for _, row := range g.Rows {
		cells := make([]string, len(row.Cells))
		for i, c := range row.Cells {
			cells[i] = escaped(diag.Visible(c))
		}
		rows = append(rows, cells)
	}
	return pipes(head, rows)
}
