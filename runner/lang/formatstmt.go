package lang

import (
	"strings"

	"workings/runner/diag"
)

// text is the canonical text of a statement of one line without its caption, its place and its
// caption.
func text(s Stmt) (string, diag.Span, Caption) {
	var w writer
	switch s := s.(type) {
	case *Define:
		w.WriteString(s.Name.Text + " = ")
		w.expr(s.X)
		w.in(s.In)
		return w.String(), s.Loc, s.Caption
	case *Correlation:
		w.WriteString("correlation(")
		w.member(s.A.Of, s.A.Name)
		w.WriteString(", ")
		w.member(s.B.Of, s.B.Name)
		w.WriteString(") = ")
		w.expr(s.R)
		return w.String(), s.Loc, s.Caption
	case *Assume:
		return s.Label.Text + ": " + s.Text.Text, s.Loc, s.Basis
	case *Fluid:
		w.WriteString("fluid " + s.Name.Text)
		if s.Spec != nil {
			w.WriteString(" = ")
			w.expr(s.Spec)
		}
		return w.String(), s.Loc, s.Caption
	case *State:
		w.WriteString("state " + s.ID.Text + " = " + s.Fluid.Text + "(")
		w.args(s.Args)
		w.WriteString(")")
		return w.String(), s.Loc, s.Caption
	case *Check:
		w.WriteString("check ")
		if s.Caution {
			w.Reset()
			w.WriteString("caution ")
		}
		w.expr(s.X)
		if s.Tolerance != nil {
			w.WriteString(" within ")
			w.expr(s.Tolerance)
		}
		w.within(s.Between)
		return w.String(), s.Loc, s.Caption
	case *CallStmt:
		w.outs(s.Outs)
		w.WriteString(" = ")
		w.expr(s.Call)
		w.in(s.In)
		return w.String(), s.Loc, s.Caption
	case *Use:
		w.WriteString("use ")
		if s.Library != nil {
			w.WriteString(s.Library.Text)
		} else {
			w.WriteString(`"` + s.Path.Value + `" as ` + s.As.Text)
		}
		if len(s.With) > 0 {
			w.WriteString(" with ")
			w.args(s.With)
		}
		return w.String(), s.Loc, s.Caption
	case *Accept:
		w.WriteString("accept " + s.Code.Text + " on ")
		if s.State {
			w.WriteString("state ")
		}
		w.member(s.Of, s.On)
		return w.String(), s.Loc, s.Caption
	case *Answer:
		return s.Shown.text(), s.At.Loc, s.Caption
	case *Flow:
		w.WriteString("flow ")
		w.expr(s.X)
		return w.String(), s.Loc, s.Caption
	case *DeadState:
		w.WriteString("dead state ")
		w.states(s.States, ", ")
		return w.String(), s.Loc, s.Caption
	}
	return "", s.Span(), Caption{}
}

func (w *writer) in(u *UnitText) {
	if u != nil {
		w.WriteString(" in " + u.Text)
	}
}

func (w *writer) within(r *Range) {
	if r != nil {
		w.WriteString(" within ")
		w.ends(r, " .. ")
	}
}

func (w *writer) ends(r *Range, between string) {
	w.expr(r.Lo)
	w.WriteString(between)
	w.expr(r.Hi)
}

func (w *writer) outs(outs []Out) {
	for i, o := range outs {
		if i > 0 {
			w.WriteString(", ")
		}
		switch {
		case o.State:
			w.WriteString("state ")
		case o.Fluid:
			w.WriteString("fluid ")
		}
		w.WriteString(o.Name.Text)
	}
}

func (s *Input) value() string {
	var w writer
	w.expr(s.X)
	if s.Spread != nil {
		w.WriteString(" ± ")
		w.expr(s.Spread)
	}
	return w.String()
}

func (s *Input) tail() string {
	var w writer
	w.within(s.Between)
	w.in(s.In)
	return strings.TrimPrefix(w.String(), " ")
}

func (s *Solve) head() string {
	var w writer
	w.WriteString("solve ")
	if s.Between != nil {
		w.WriteString(s.Names[0].Text + " between ")
		w.ends(s.Between, " and ")
		return w.String()
	}
	w.WriteByte('(')
	for i, n := range s.Names {
		if i > 0 {
			w.WriteString(", ")
		}
		w.WriteString(n.Text)
	}
	w.WriteString(") from (")
	for i, x := range s.From {
		if i > 0 {
			w.WriteString(", ")
		}
		w.expr(x)
	}
	w.WriteByte(')')
	return w.String()
}

func (u *Until) text() string {
	var w writer
	w.WriteString("until ")
	w.expr(u.X)
	if u.Extreme != "" {
		w.WriteString(" is " + u.Extreme)
	}
	return w.String()
}

func (s *Method) head() string {
	var w writer
	w.WriteString(s.Name.Text + "(")
	outs := make([]Out, len(s.Params))
	for i, p := range s.Params {
		outs[i] = Out(p)
	}
	w.outs(outs)
	w.WriteString(") -> ")
	w.outs(s.Outs)
	return w.String()
}

func (w *writer) states(refs []StateRef, separator string) {
	for i, r := range refs {
		if i > 0 {
			w.WriteString(separator)
		}
		w.member(r.Of, r.ID)
	}
}

// states is the first column of a component.
func (s *Component) states() string {
	var w writer
	w.states(s.From, " + ")
	w.WriteString(" -> ")
	w.states(s.To, " + ")
	return w.String()
}

// word is what stands behind a component's states.
func (s *Component) word() string {
	out := s.Word.Text
	if s.Pair.Text != "" {
		out += " " + s.Pair.Text
	}
	if s.Side != "" {
		out += " " + s.Side
	}
	if s.Shaft.Text != "" {
		out += " on " + s.Shaft.Text
	}
	return out
}

// lines are the canonical lines of a chart, without its caption.
func (s *Chart) lines() []string {
	var w writer
	var lines []string
	through := func(p Path) string {
		var w writer
		w.WriteString("through ")
		w.states(p.States, ", ")
		return w.String()
	}
	switch s.Kind {
	case PropertyChart:
		lines = append(lines, s.Y.Text+" against "+s.X.Text+" "+through(s.Paths[0]))
		for _, p := range s.Paths[1:] {
			lines = append(lines, through(p))
		}
	case StudyChart:
		ys := s.Y.Text
		for _, n := range s.More {
			ys += ", " + n.Text
		}
		lines = append(lines, ys+" against "+s.X.Text+" from "+s.Study.Text)
	case ProfileChart:
		w.member(s.AlongOf, s.Along)
		lines = append(lines, s.Y.Text+" along "+w.String())
	case SchematicChart:
		w.member(s.AlongOf, s.Along)
		lines = append(lines, "schematic of "+w.String())
	}
	if len(s.Log) > 0 {
		axes := make([]string, len(s.Log))
		for i, n := range s.Log {
			axes[i] = n.Text
		}
		lines = append(lines, "logarithmic "+strings.Join(axes, ", "))
	}
	return lines
}

// whole writes a table, data, chart or study fence, which is one statement.
func (f *formatter) whole(s Stmt) {
	caption := func(c Caption) {
		if c.Text != "" {
			f.out = append(f.out, "// "+c.Text)
		}
	}
	switch s := s.(type) {
	case *Table:
		caption(s.Caption)
		var states, columns, symbols []string
		for _, r := range s.States {
			var w writer
			w.member(r.Of, r.ID)
			states = append(states, w.String())
		}
		for _, c := range s.Columns {
			columns = append(columns, Shown{Name: c.Name, In: c.In}.text())
		}
		for _, x := range s.Symbols {
			symbols = append(symbols, x.text())
		}
		f.list("states ", states)
		f.list("columns ", columns)
		f.list("symbols ", symbols)
	case *Chart:
		caption(s.Caption)
		f.out = append(f.out, s.lines()...)
	case *Study:
		caption(s.Caption)
		f.study(s)
	case *Data:
		caption(s.Caption)
		heads := make([]string, len(s.Columns))
		for i, c := range s.Columns {
			heads[i] = c.text()
		}
		if len(heads) > 0 {
			f.out = append(f.out, strings.Join(heads, ", "))
		}
		for _, r := range s.Rows {
			cells := make([]string, len(r.Cells))
			for i, c := range r.Cells {
				cells[i] = c.Text
				if strings.Contains(c.Text, ",") {
					cells[i] = `"` + c.Text + `"`
				}
			}
			f.out = append(f.out, strings.Join(cells, ", "))
		}
	}
}

func (f *formatter) list(word string, parts []string) {
	if len(parts) == 0 {
		return
	}
	code := word + strings.Join(parts, ", ")
	if width(code) > formatWidth {
		f.out = append(f.out, broken(code, 0)...)
		return
	}
	f.out = append(f.out, code)
}

// text is a head of a column; a unit of several parts stands in brackets.
func (c Column) text() string {
	switch {
	case c.Unit.Text == "":
		return c.Name.Text
	case strings.ContainsAny(c.Unit.Text, "/*·⋅ "):
		return c.Name.Text + "/(" + c.Unit.Text + ")"
	}
	return c.Name.Text + "/" + c.Unit.Text
}
