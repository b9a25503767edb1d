package resolve

import (
	"strings"

	"workings/propsdb"
	"workings/runner/lang"
)

// chart resolves a chart, which may look forward.
func (r *resolver) chart(line *Line, s *lang.Chart) {
	c := &Chart{Kind: s.Kind, Line: line, Stmt: s}
	line.Chart = c
	switch s.Kind {
	case lang.PropertyChart:
		r.propertyChart(line, c, s)
	case lang.StudyChart:
		r.studyChart(line, c, s)
	case lang.ProfileChart:
		r.profileChart(line, c, s)
	case lang.SchematicChart:
		of := s.Along
		if s.AlongOf != nil {
			of.Text, of.Loc = s.AlongOf.Text+"."+of.Text, s.AlongOf.Loc.Join(of.Loc)
		}
		c.Cycle = r.cycleNamed(line, of)
	}
	r.sheet.Charts = append(r.sheet.Charts, c)
}

// axisProperty is the property that an axis shows.
func (r *resolver) axisProperty(line *Line, n lang.Name) (propsdb.Property, bool) {
	p, ok := propertyName(n)
	if !ok || n.Text != n.Stem() {
		r.noProperty(line, n)
		return p, false
	}
	return p, true
}

func (r *resolver) propertyChart(line *Line, c *Chart, s *lang.Chart) {
	var ok1, ok2 bool
	c.Y, ok1 = r.axisProperty(line, s.Y)
	c.X, ok2 = r.axisProperty(line, s.X)
	if ok1 && ok2 && c.X == c.Y {
		r.fail(line, CodeArguments, s.X.Loc, "both axes show %s", c.X.Name()).hint("a diagram shows one property against another: T against s")
	}
	for _, n := range s.Log {
		p, ok := r.axisProperty(line, n)
		switch {
		case !ok:
		case p == c.Y:
			c.LogY = true
		case p == c.X:
			c.LogX = true
		default:
			r.fail(line, CodeArguments, n.Loc, "%s is on no axis of this chart", n.Text).hint("its axes are %s and %s", s.Y.Text, s.X.Text)
		}
	}
	for _, p := range s.Paths {
		var path ChartPath
		for i := range p.States {
			if st := r.stateNamed(line, &p.States[i]); st != nil {
				r.axisValues(line, st, &p.States[i], c)
				path.States = append(path.States, st)
			}
		}
		if len(p.States) == 1 {
			r.fail(line, CodeArguments, p.Loc, "a path leads through two states or more").hint("write through 1, 2, 3, 1")
		}
		c.Paths = append(c.Paths, path)
	}
}

// axisValues sees that a state has what the axes show.
func (r *resolver) axisValues(line *Line, st *State, ref *lang.StateRef, c *Chart) {
	alone := len(st.root().Given) == 1
	for _, p := range []propsdb.Property{c.Y, c.X} {
		if alone && needsPressure(p) {
			r.fail(line, CodeStatePair, ref.Loc, "state %s is given without a pressure and has no %s", st.ID, p.Name()).
				hint("give the state a pressure as well: state %s = %s(p, …)", st.ID, fluidText(st))
		}
		r.propertyOf(line, st, p)
	}
}

func (r *resolver) profileChart(line *Line, c *Chart, s *lang.Chart) {
	p, ok := r.axisProperty(line, s.Y)
	if ok && p != propsdb.T {
		r.fail(line, CodeArguments, s.Y.Loc, "along an exchanger the temperature is shown, and this is the %s", p.Name()).hint("write T along %s", s.Along.Text)
	}
	c.Y = p
	cycles := r.sheet.Cycles
	if s.AlongOf != nil {
		of := r.cycleNamed(line, *s.AlongOf)
		if of == nil {
			return
		}
		cycles = []*Cycle{of}
	}
	for _, of := range cycles {
		for _, x := range of.Exchangers {
			if x.called() != s.Along.Text {
				continue
			}
			if c.Exchanger != nil {
				r.fail(line, CodeUnknownName, s.Along.Loc, "several exchangers are called %s", s.Along.Text).
					hint("name their cycle too: T along %s.%s", of.Name, s.Along.Text)
				return
			}
			c.Exchanger, c.Cycle = x, of
		}
	}
	switch {
	case c.Exchanger != nil:
		if c.Cycle.Line.Failed() {
			r.wait(line, c.Cycle.Line)
		}
		return
	case len(cycles) == 0 && len(r.scope.bad) > 0:
		for _, l := range r.sheet.Lines {
			if l.Kind == CycleLine && l.Failed() {
				r.wait(line, l)
				return
			}
		}
	}
	names := map[string]bool{}
	for _, of := range cycles {
		for _, x := range of.Exchangers {
			names[x.called()] = true
		}
	}
	f := r.fail(line, CodeUnknownName, s.Along.Loc, "no exchanger of a cycle is called %s", s.Along.Text)
	switch near := r.near(s.Along.Text, sortedKeys(names)); {
	case len(near) > 0:
		f.hint("did you mean %s?", orList(near))
	case len(names) > 0:
		f.hint("there is %s", joinList(sortedKeys(names)))
	default:
		f.hint("an exchanger is named in a cycle: A -> B exchanger %s hot, and a line for the cold side", s.Along.Text)
	}
}

// called is how an exchanger is named in a chart: by its name, or by its kind where it has none.
func (x *Exchanger) called() string {
	if x.Name == "" {
		return x.Kind
	}
	return x.Name
}

// cycleNamed finds a cycle, of this sheet or of one it uses (gt.plant).
func (r *resolver) cycleNamed(line *Line, n lang.Name) *Cycle {
	sc := r.scope
	name := n.Text
	if outer, inner, deep := strings.Cut(n.Text, "."); deep {
		sub := r.usedSheet(line, lang.Name{At: n.At, Text: outer})
		if sub == nil {
			return nil
		}
		sc, name = sub.scope.scope, inner
	}
	if l := sc.bad["space "+name]; l != nil {
		r.wait(line, l)
		return nil
	}
	c := sc.cycles[name]
	if c == nil {
		f := r.fail(line, CodeUnknownName, n.Loc, "no cycle is called %s", n.Text)
		if near := r.near(name, sortedKeys(sc.cycles)); len(near) > 0 {
			f.hint("did you mean %s?", orList(near))
		} else {
			f.hint("a cycle is a fence of its own: ```cycle %s", name)
		}
	}
	return c
}
