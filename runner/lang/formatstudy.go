package lang

import (
	"strconv"
	"strings"
)

func (v *Vary) text(word string) string {
	var w writer
	w.WriteString(word + " " + v.Name.Text)
	if v.Between == nil {
		w.WriteString(" over ")
		w.exprs(v.Over)
		return w.String()
	}
	w.WriteString(" from ")
	w.expr(v.Between.Lo)
	w.WriteString(" to ")
	w.expr(v.Between.Hi)
	w.WriteString(" in " + strconv.Itoa(v.Points) + " points")
	if v.Logarithmic {
		w.WriteString(" logarithmic")
	}
	return w.String()
}

func (w *writer) exprs(xs []Expr) {
	for i, x := range xs {
		if i > 0 {
			w.WriteString(", ")
		}
		w.unit = false
		w.expr(x)
	}
}

func (m *Mark) text() string {
	if m.Extreme != "" {
		return "mark " + m.Extreme + " " + m.Shown.text()
	}
	var w writer
	w.WriteString("mark " + m.Shown.text() + " crossing ")
	w.expr(m.Value)
	return w.String()
}

// parts are the canonical parts of a seek: one line, or a line each.
func (s *Seek) parts() []string {
	parts := []string{"seek " + s.Extreme + " " + s.Shown.text()}
	var w writer
	for i, b := range s.By {
		if i > 0 {
			w.WriteString(", ")
		}
		w.WriteString(b.Name.Text + " in ")
		w.unit = false
		w.expr(b.Range.Lo)
		w.WriteString(" .. ")
		w.unit = false
		w.expr(b.Range.Hi)
	}
	parts = append(parts, "by "+w.String())
	if len(s.Subject) > 0 {
		w.Reset()
		w.unit = false
		w.exprs(s.Subject)
		parts = append(parts, "subject to "+w.String())
	}
	return parts
}

// study writes a study fence.
func (f *formatter) study(s *Study) {
	line := func(code string) { f.out = append(f.out, f.wrapped(code)...) }
	for _, v := range s.Vary {
		line(v.text("vary"))
	}
	if s.Seek != nil {
		parts := s.Seek.parts()
		if code := strings.Join(parts, " "); width(code) <= formatWidth {
			f.out = append(f.out, code)
		} else {
			line(parts[0])
			for _, part := range parts[1:] {
				for i, l := range f.wrapped(part) {
					if i == 0 {
						l = "    " + l
					}
					f.out = append(f.out, l)
				}
			}
		}
	}
	if s.Family != nil {
		line(s.Family.text("for"))
	}
	if len(s.Keep) > 0 {
		parts := make([]string, len(s.Keep))
		for i, x := range s.Keep {
			parts[i] = x.text()
		}
		line("keep " + strings.Join(parts, ", "))
	}
	for _, m := range s.Marks {
		line(m.text())
	}
}

// wrapped is a line, broken where it is too long.
func (f *formatter) wrapped(code string) []string {
	if width(code) <= formatWidth {
		return []string{code}
	}
	if lines := broken(code, 0); len(lines) <= MaxLines {
		return lines
	}
	return []string{code}
}
