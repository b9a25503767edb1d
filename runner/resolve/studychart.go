package resolve

import (
	"workings/runner/lang"
)

// studyNamed finds a study of this sheet.
func (r *resolver) studyNamed(line *Line, n lang.Name, y, x lang.Name) *Study {
	if l := r.scope.bad["space "+n.Text]; l != nil {
		r.wait(line, l)
		return nil
	}
	var names []string
	for _, l := range r.sheet.Lines {
		if l.Study == nil {
			continue
		}
		if l.Study.Name == n.Text {
			if l.Failed() {
				r.wait(line, l)
				return nil
			}
			return l.Study
		}
		names = append(names, l.Study.Name)
	}
	f := r.fail(line, CodeUnknownName, n.Loc, "no study on this sheet is called %s", n.Text)
	if near := r.near(n.Text, names); len(near) > 0 {
		f.hint("did you mean %s?", orList(near))
	} else {
		f.hint("a curve comes from a study; a diagram of properties is drawn through states: %s against %s through 1, 2", y.Text, x.Text)
	}
	return nil
}

// studyChart binds the axes of a chart to what its study keeps and varies.
func (r *resolver) studyChart(line *Line, c *Chart, s *lang.Chart) {
	st := r.studyNamed(line, s.Study, s.Y, s.X)
	if st == nil {
		return
	}
	if st.Seek != nil {
		r.fail(line, CodeStudy, s.Study.Loc, "%s seeks one point and has no curve", st.Name).hint("vary an input in a study of its own")
		return
	}
	r.reads(line, st.Line)
	c.Study, c.Along = st, -1
	for _, y := range append([]lang.Name{s.Y}, s.More...) {
		r.studyCurve(line, c, st, y)
	}
	var varied []string
	for i, v := range st.Vary {
		varied = append(varied, v.Name())
		if (lang.Name{Text: v.Name()}).Key() == s.X.Key() {
			c.Along = i
		}
	}
	if c.Along < 0 {
		r.fail(line, CodeStudy, s.X.Loc, "the study %s does not vary %s", st.Name, s.X.Text).related(st.Line.File, st.Stmt.Name.Loc, "the study").
			hint("it varies %s", orList(varied))
	}
	for _, n := range s.Log {
		switch n.Key() {
		case s.Y.Key():
			c.LogY = true
		case s.X.Key():
			c.LogX = true
		default:
			r.fail(line, CodeArguments, n.Loc, "%s is on no axis of this chart", n.Text).hint("its axes are %s and %s", s.Y.Text, s.X.Text)
		}
	}
}

// studyCurve binds one symbol of a chart to what its study keeps. All of a chart share an axis.
func (r *resolver) studyCurve(line *Line, c *Chart, st *Study, y lang.Name) {
	var kept []string
	for i, k := range st.Keep {
		kept = append(kept, k.Symbol.Full())
		if k.Symbol.Sheet != r.sheet.Name || (lang.Name{Text: k.Symbol.Name}).Key() != y.Key() {
			continue
		}
		if len(c.Kept) > 0 && st.Keep[c.Kept[0]].Symbol.Type.Dim != k.Symbol.Type.Dim {
			first := st.Keep[c.Kept[0]].Symbol
			r.fail(line, CodeDimension, y.Loc, "%s is %s and %s %s: they have no axis in common", first.Name, first.Type.describe(), k.Symbol.Name, k.Symbol.Type.describe()).
				hint("draw them in charts of their own")
			return
		}
		c.Kept = append(c.Kept, i)
		return
	}
	f := r.fail(line, CodeStudy, y.Loc, "the study %s does not keep %s", st.Name, y.Text).related(st.Line.File, st.Stmt.Name.Loc, "the study")
	if near := r.near(y.Text, kept); len(near) > 0 {
		f.hint("did you mean %s?", orList(near))
	} else {
		f.hint("it keeps %s: add %s to its line keep", joinList(kept), y.Text)
	}
}
