package resolve

import (
	"math"

	"workings/runner/lang"
)

// MaxCorrelated is how many inputs of a sheet may be correlated: what is found out about them grows
// with the cube of their number.
const MaxCorrelated = 200

// settleCorrelations resolves the correlations of a sheet, which may look forward, to inputs of a sheet
// that is used further down.
func (r *resolver) settleCorrelations() {
	for _, line := range r.sheet.Lines {
		if s, ok := line.Stmt.(*lang.Correlation); ok {
			r.block = line.Block
			if c := r.correlation(line, s); c != nil {
				r.sheet.Correlations = append(r.sheet.Correlations, c)
			}
		}
	}
	if len(r.sheet.Correlations) > 0 {
		r.possible()
	}
}

// AllCorrelations are those of a sheet and of the sheets it uses, the latter first. One of an input that
// is given another value has no effect and is left out.
func (s *Sheet) AllCorrelations() []*Correlation {
	var out []*Correlation
	for _, l := range s.Lines {
		if l.Kind == Use && l.Sub != nil {
			out = append(out, l.Sub.AllCorrelations()...)
		}
	}
	for _, c := range s.Correlations {
		if !c.Of[0].Line.Overridden && !c.Of[1].Line.Overridden {
			out = append(out, c)
		}
	}
	return out
}

func (r *resolver) correlation(line *Line, s *lang.Correlation) *Correlation {
	c := &Correlation{Stmt: s, Line: line}
	for i, id := range []*lang.Ident{s.A, s.B} {
		if c.Of[i] = r.correlatedInput(line, id); c.Of[i] == nil {
			return nil
		}
	}
	if c.Of[0] == c.Of[1] {
		r.fail(line, CodeCorrelation, s.B.Loc, "%s is correlated with itself", c.Of[1].Full()).hint("name two different inputs")
		return nil
	}
	for _, have := range r.sheet.AllCorrelations() {
		if have.Of == c.Of || have.Of == [2]*Symbol{c.Of[1], c.Of[0]} {
			r.fail(line, CodeTwice, s.Loc, "the correlation of %s and %s is stated twice", c.Of[0].Full(), c.Of[1].Full()).
				related(have.Line.File, have.Stmt.Loc, "first stated here").hint("leave one of them out")
			return nil
		}
	}
	if !r.literal(line, s.R, "a correlation is a number, such as 0.8") {
		return nil
	}
	x := r.expr(line, s.R)
	if x == nil || !r.truthless(line, x) {
		return nil
	}
	v, ok := constantOf(x)
	switch {
	case !x.Type.Dim.IsNone():
		r.fail(line, CodeDimension, s.R.Span(), "a correlation is a number without a unit, and this is %s", x.Type.describe()).hint("for example correlation(%s, %s) = 0.8", c.Of[0].Full(), c.Of[1].Full())
		return nil
	case !ok || math.IsNaN(v) || math.Abs(v) > 1:
		r.fail(line, CodeCorrelation, s.R.Span(), "a correlation lies between -1 and 1").label("expected a number from -1 to 1").
			hint("1 says that both err together and to the same share of their uncertainties, 0 that neither tells about the other")
		return nil
	}
	c.R, line.X = v, &Expr{Op: OpConst, Value: v, Src: s.R}
	line.Uses = nil // it reads no value of theirs
	return c
}

// correlatedInput is an input that a correlation names, which must have a standard uncertainty of its
// own.
func (r *resolver) correlatedInput(line *Line, id *lang.Ident) *Symbol {
	r.scope.ahead = nil // everything is defined by now
	var s *Symbol
	if id.Of != nil {
		s = r.memberOf(line, *id.Of, id.Name)
	} else {
		s = r.lookup(line, id.Name)
	}
	if s == nil {
		return nil
	}
	if s.Line == nil || s.Line.Kind != Input {
		r.fail(line, CodeCorrelation, id.Loc, "%s is no input, and only inputs are correlated", s.Full()).hint("what is calculated is correlated by itself, through the inputs that it comes from")
		return nil
	}
	in, _ := s.Line.Stmt.(*lang.Input)
	switch {
	case s.Line.Overridden && s.Sheet != r.sheet.Name:
		r.fail(line, CodeCorrelation, id.Loc, "%s is given its value by this sheet and has no uncertainty of its own", s.Full()).
			hint("correlate the input that gives it")
		return nil
	case in == nil || in.Spread == nil:
		r.fail(line, CodeCorrelation, id.Loc, "%s has no standard uncertainty, and so none that is correlated", s.Full()).
			related(s.Line.File, s.Span, "defined here").hint("give it one, such as ± 1 %%rel, or leave the line out")
		return nil
	}
	return s
}

// possible reports the first correlation that cannot be together with those before it and with those of
// used sheets: three inputs cannot each go against both others. The matrix of the coefficients must have no
// negative eigenvalue.
func (r *resolver) possible() {
	all := r.sheet.AllCorrelations()
	index := map[*Symbol]int{}
	for _, c := range all {
		for _, s := range c.Of {
			if _, known := index[s]; known {
				continue
			}
			if index[s] = len(index); len(index) > MaxCorrelated {
				r.fail(c.Line, CodeCorrelations, c.Stmt.Loc, "more than %d inputs are correlated", MaxCorrelated).hint("leave out those of which the answers do not depend")
				r.sheet.Correlations = nil
				return
			}
		}
	}
	holds := func(n int) bool { return semidefinite(all[:n], index) }
	if holds(len(all)) {
		return
	}
	lo, hi := 0, len(all) // the first lo hold together, the first hi do not
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; holds(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	c := all[hi-1]
	f := r.fail(c.Line, CodeCorrelation, c.Stmt.R.Span(), "this correlation cannot be together with the others").label("contradicts others")
	for _, x := range all[:hi-1] {
		if x.Of[0] == c.Of[0] || x.Of[0] == c.Of[1] || x.Of[1] == c.Of[0] || x.Of[1] == c.Of[1] {
			f.related(x.Line.File, x.Stmt.Loc, "one of them")
		}
	}
	f.hint("two inputs that each go with a third go with each other; pairs that no line states count as not correlated")
	r.sheet.Correlations = nil
}

// semidefinite reports a matrix of correlations without a negative eigenvalue, by its Cholesky factor.
func semidefinite(all []*Correlation, index map[*Symbol]int) bool {
	const rounding = 1e-9 // what is left of a pivot that is zero
	n := len(index)
	m := make([][]float64, n)
	for i := range m {
		m[i] = make([]float64, n)
		m[i][i] = 1
	}
	for _, c := range all {
		i, k := index[c.Of[0]], index[c.Of[1]]
		m[i][k], m[k][i] = c.R, c.R
	}
	for k := range n {
		pivot := m[k][k]
		if pivot < -rounding {
			return false
		}
		for i := k + 1; i < n; i++ {
			if pivot <= rounding {
				if math.Abs(m[i][k]) > math.Sqrt(rounding) { // beside a zero pivot only zeros may stand
					return false
				}
				continue
			}
			by := m[i][k] / pivot
			for j := k + 1; j <= i; j++ {
				m[i][j] -= by * m[j][k]
			}
		}
	}
	return true
}
