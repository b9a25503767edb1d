package resolve

import (
	"slices"
	"strings"

	"workings/runner/lang"
)

// studyNamed finds a study of this sheet, or of one it uses (gt.pressure_ratio), which is then
// evaluated on this sheet too.
func (r *resolver) studyNamed(line *Line, n lang.Name, y, x lang.Name) *Study {
	of, name := lang.Member(n.Text)
	sheet, scope := r.sheet, r.scope
	if of != "" {
		sub := r.usedSheet(line, lang.Name{At: n.At, Text: of})
		if sub == nil {
			return nil
		}
		sheet, scope = sub, sub.scope.scope
	}
	if l := scope.bad["space "+name]; l != nil {
		r.wait(line, l)
		return nil
	}
	var names []string
	for _, l := range sheet.Lines {
		if l.Study == nil {
			continue
		}
		if l.Study.Name == name {
			if l.Failed() {
				r.wait(line, l)
				return nil
			}
			if of != "" && !r.drawn(line, l.Study, n) {
				return nil
			}
			return l.Study
		}
		names = append(names, l.Study.Name)
	}
	if of != "" {
		f := r.fail(line, CodeUnknownName, n.Loc, "no study on the sheet %s is called %s", sheet.File.Name, name)
		if near := r.near(name, names); len(near) > 0 {
			f.hint("did you mean %s?", orList(near))
		} else {
			f.hint("vary an input of this sheet in a study of its own, and hand it on: use … with NAME = NAME")
		}
		return nil
	}
	f := r.fail(line, CodeUnknownName, n.Loc, "no study on this sheet is called %s", n.Text)
	switch near := r.near(n.Text, names); {
	case len(near) > 0:
		f.hint("did you mean %s?", orList(near))
	case len(r.usedStudies(name)) > 0:
		f.hint("did you mean %s?", orList(r.usedStudies(name)))
	default:
		f.hint("a curve comes from a study; a diagram of properties is drawn through states: %s against %s through 1, 2", y.Text, x.Text)
	}
	return nil
}

// usedStudies are the studies of that name on the sheets that this one uses.
func (r *resolver) usedStudies(name string) []string {
	var out []string
	for _, of := range sortedKeys(r.scope.used) {
		for _, st := range r.scope.used[of].Studies {
			if st.Name == name {
				out = append(out, of+"."+name)
			}
		}
	}
	return out
}

// drawn enters a study of a used sheet among those that this sheet evaluates, once; false where they
// become too many.
func (r *resolver) drawn(line *Line, st *Study, at lang.Name) bool {
	if r.sheet.Name != "" || slices.Contains(r.sheet.Studies, st) {
		return true // only the page itself draws
	}
	r.countStudy(line, st, at.Loc)
	if line.Failed() {
		return false
	}
	r.sheet.Studies = append(r.sheet.Studies, st)
	return true
}

// memberKey is equal for two names that mean one symbol, those of used sheets and cycles included.
func memberKey(text string) string {
	of, name := lang.Member(text)
	key := lang.Name{Text: name}.Key()
	if of != "" {
		key = of + "." + key
	}
	return key
}

// isNamed reports that a name on this sheet is that of a symbol which a study keeps or varies: its own
// name on this sheet, or its name on the sheet that the study stands on.
func (st *Study) isNamed(full string, n lang.Name) bool {
	if memberKey(full) == memberKey(n.Text) {
		return true
	}
	relative, below := strings.CutPrefix(full, st.Sheet+".")
	return st.Sheet != "" && below && memberKey(relative) == memberKey(n.Text)
}

// studyChart binds the axes of a chart to what its study keeps and varies.
func (r *resolver) studyChart(line *Line, c *Chart, s *lang.Chart) {
	st := r.studyNamed(line, s.Study, s.Y, s.X)
	if st == nil {
		return
	}
	if st.Seek != nil {
		r.fail(line, CodeStudy, s.Study.Loc, "%s seeks one point and has no curve", st.Full()).hint("vary an input in a study of its own")
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
		if st.isNamed(v.Name(), s.X) {
			c.Along = i
		}
	}
	if c.Along < 0 {
		r.fail(line, CodeStudy, s.X.Loc, "the study %s does not vary %s", st.Full(), s.X.Text).related(st.Line.File, st.Stmt.Name.Loc, "the study").
			hint("it varies %s", orList(varied))
	}
	for _, n := range s.Log {
		switch memberKey(n.Text) {
		case memberKey(s.Y.Text):
			c.LogY = true
		case memberKey(s.X.Text):
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
		if !st.isNamed(k.Symbol.Full(), y) {
			continue
		}
		if len(c.Kept) > 0 && st.Keep[c.Kept[0]].Symbol.Type.Dim != k.Symbol.Type.Dim {
			first := st.Keep[c.Kept[0]].Symbol
			r.fail(line, CodeDimension, y.Loc, "%s is %s and %s %s: they have no axis in common", first.Full(), first.Type.describe(), k.Symbol.Full(), k.Symbol.Type.describe()).
				hint("draw them in charts of their own")
			return
		}
		c.Kept = append(c.Kept, i)
		return
	}
	f := r.fail(line, CodeStudy, y.Loc, "the study %s does not keep %s", st.Full(), y.Text).related(st.Line.File, st.Stmt.Name.Loc, "the study")
	if near := r.near(y.Text, kept); len(near) > 0 {
		f.hint("did you mean %s?", orList(near))
	} else {
		f.hint("it keeps %s: add %s to its line keep", joinList(kept), y.Text)
	}
}
