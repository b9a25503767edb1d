package resolve

import (
	"fmt"
	"math"
	"slices"

	"workings/propsdb"
	"workings/runner/diag"
	"workings/runner/lang"
	"workings/units"
)

// Limits of studies: of the points of one, and of the numbers that all those of a sheet hold.
const (
	MaxStudyPoints = 1_000_000
	MaxStudyValues = 20_000_000
	// MaxStudyLines bounds the lines that all studies of a sheet evaluate: the lines of the sheet, times
	// the points.
	MaxStudyLines = 2_000_000_000
	// seekPoints is what one input of a seek counts for.
	seekPoints = 50_000
)

// Study varies inputs, or seeks the best of them, and evaluates what depends on them.
type Study struct {
	Name   string
	Sheet  string // the used sheet that it stands on, "" for the page's own
	Line   *Line
	Stmt   *lang.Study
	Vary   []*Varied // one or two; none of a seek
	Family *Varied   // nil for a single series
	Keep   []*Shown  // each symbol once; the marked and sought ones are among them
	Marks  []*Mark
	Seek   *Seek // or nil
	Points int   // of all series; 0 of a seek
	// counted is what it counts for against the limits.
	counted int
}

// Full is the name by which the page knows the study: gt.pressure_ratio for one of a used sheet.
func (s *Study) Full() string {
	if s.Sheet != "" {
		return s.Sheet + "." + s.Name
	}
	return s.Name
}

// Varied is an input, or a fluid, and what it is given in turn.
type Varied struct {
	Input  *Symbol
	Fluid  *Fluid // varied; Input is then nil
	Values []float64
	Fluids []*Fluid
	Unit   units.Unit
	// Lo and Hi are the allowed range of the input, −Inf and +Inf where it has none.
	Lo, Hi      float64
	Logarithmic bool
	Stmt        *lang.Vary
}

// Count is how many values there are.
func (v *Varied) Count() int { return len(v.Values) + len(v.Fluids) }

// Name is that of the input or fluid.
func (v *Varied) Name() string {
	if v.Fluid != nil {
		return v.Fluid.Name
	}
	return v.Input.Full()
}

// Allows reports a value within the allowed range of the input.
func (v *Varied) Allows(value float64) bool { return value >= v.Lo && value <= v.Hi }

// Mark asks for a point of each series.
type Mark struct {
	Extreme string // largest, smallest or "" for a crossing
	Keep    int    // index of the kept symbol
	Value   float64
	Stmt    *lang.Mark
}

// Seek asks for the inputs at which a symbol is largest or smallest.
type Seek struct {
	Extreme string
	Keep    int // index of the kept symbol
	By      []Sought
	Subject []Constraint
	Stmt    *lang.Seek
}

// Sought is an input that is sought between two values.
type Sought struct {
	*Varied
	From, To float64 // SI
}

// Constraint is Left < Right or Left <= Right, each a symbol or a constant.
type Constraint struct {
	Left, Right Side
	Strict      bool
	Stmt        *lang.Compare
	// At is the operator among those of a chain.
	At int
}

// Side is one side of a constraint.
type Side struct {
	Keep  int // index of the kept symbol, −1 for a constant
	Value float64
	Expr  *Expr
}

// study resolves a study, which may look forward like a table.
func (r *resolver) study(line *Line, s *lang.Study) {
	r.scope.ahead = nil // everything is defined by now
	st := &Study{Name: s.Name.Text, Sheet: r.sheet.Name, Line: line, Stmt: s}
	line.Study = st
	for _, v := range s.Vary {
		if w := r.varied(line, v); w != nil {
			if w.Fluid != nil {
				r.fail(line, CodeStudy, v.Name.Loc, "a fluid is varied by a line for").hint("write for %s over %s, …", v.Name.Text, v.Name.Text)
			}
			st.Vary = append(st.Vary, w)
		}
	}
	if s.Family != nil {
		st.Family = r.varied(line, s.Family)
	}
	for _, x := range s.Keep {
		r.kept(line, st, x)
	}
	for _, m := range s.Marks {
		r.mark(line, st, m)
	}
	if s.Seek != nil {
		r.seek(line, st, s.Seek)
	}
	if line.Failed() {
		return
	}
	r.variedTwice(line, st)
	r.studySize(line, st)
	r.sheet.Studies = append(r.sheet.Studies, st)
}

// varied resolves an input, or a fluid, with its values; nil after reporting what is wrong.
func (r *resolver) varied(line *Line, v *lang.Vary) *Varied {
	w := &Varied{Stmt: v, Logarithmic: v.Logarithmic}
	if f := r.scope.fluids[v.Name.Text]; f != nil && r.inputNamed(v.Name) == nil && v.Between == nil {
		return r.variedFluid(line, w, f)
	}
	if !r.variedInput(line, w, v.Name) {
		return nil
	}
	if v.Between == nil {
		for _, x := range v.Over {
			e := r.studyValue(line, w, x)
			if e == nil {
				continue
			}
			value, _ := constantOf(e)
			if i := slices.Index(w.Values, value); i >= 0 {
				r.fail(line, CodeStudy, x.Span(), "this value stands twice").related(line.File, v.Over[i].Span(), "it is the same as this one").hint("leave it out")
				continue
			}
			w.Values = append(w.Values, value)
		}
		return w
	}
	lo, hi := r.studyValue(line, w, v.Between.Lo), r.studyValue(line, w, v.Between.Hi)
	if lo == nil || hi == nil {
		return nil
	}
	a, _ := constantOf(lo)
	b, _ := constantOf(hi)
	switch {
	case a == b:
		r.fail(line, CodeStudy, v.Between.Loc, "the two ends are the same").hint("give two different values")
	case v.Logarithmic && !(a > 0 && b > 0):
		r.fail(line, CodeStudy, v.Between.Loc, "a logarithmic scale needs two values above zero").hint("leave out logarithmic, or begin above zero")
	case v.Points > MaxStudyPoints:
		r.tooManyPoints(line, v.PointsAt)
	default:
		w.Values = spaced(a, b, v.Points, w.Unit, r.sheet.Ambient, v.Logarithmic)
	}
	return w
}

// spaced are n values from a to b, both included, at equal steps of the unit that they are written
// in, or of its logarithm.
func spaced(a, b float64, n int, u units.Unit, ambient float64, logarithmic bool) []float64 {
	out := make([]float64, n)
	from, to := u.FromSI(a, ambient), u.FromSI(b, ambient)
	for i := range out {
		t := float64(i) / float64(n-1)
		if logarithmic {
			out[i] = a * math.Pow(b/a, t)
		} else {
			out[i] = u.ToSI(from+(to-from)*float64(i)/float64(n-1), ambient)
		}
	}
	out[0], out[n-1] = a, b
	return out
}

// inputNamed is an input of this sheet, or nil.
func (r *resolver) inputNamed(n lang.Name) *Symbol {
	s := r.scope.symbols[n.Key()]
	if s == nil || s.Line == nil || s.Line.Kind != Input || s.Sheet != r.sheet.Name {
		return nil
	}
	return s
}

func (r *resolver) variedInput(line *Line, w *Varied, n lang.Name) bool {
	s := r.inputNamed(n)
	if s == nil {
		r.noInput(line, n)
		return false
	}
	if s.bad || s.Line.Failed() {
		r.wait(line, s.Line)
		return false
	}
	r.uses(line, s)
	w.Input, w.Unit, w.Lo, w.Hi = s, s.Unit, math.Inf(-1), math.Inf(1)
	if s.Line.Lo != nil {
		lo, ok1 := constantOf(s.Line.Lo)
		hi, ok2 := constantOf(s.Line.Hi)
		if ok1 && ok2 {
			w.Lo, w.Hi = lo, hi
		}
	}
	return true
}

// noInput reports a name that is no input.
func (r *resolver) noInput(line *Line, n lang.Name) {
	if l := r.scope.bad[n.Key()]; l != nil && l.Kind != Define {
		r.wait(line, l)
		return
	}
	var names []string
	for _, s := range r.sheet.Symbols {
		if s.Line != nil && s.Line.Kind == Input && s.Sheet == r.sheet.Name {
			names = append(names, s.Name)
		}
	}
	if s := r.scope.symbols[n.Key()]; s != nil {
		r.fail(line, CodeStudy, n.Loc, "%s is calculated, and only an input is varied", n.Text).
			related(s.Line.File, s.Span, "defined here").hint("vary what it is calculated from: %s", joinList(names))
		return
	}
	f := r.fail(line, CodeStudy, n.Loc, "no input of this sheet is called %s", n.Text)
	switch near := r.near(n.Text, append(names, sortedKeys(r.scope.fluids)...)); {
	case len(near) > 0:
		f.hint("did you mean %s?", orList(near))
	case len(names) > 0:
		f.hint("its inputs are %s", joinList(names))
	default:
		f.hint("it has no inputs: give one in an inputs fence")
	}
}

// studyValue types a value that an input is given.
func (r *resolver) studyValue(line *Line, w *Varied, x lang.Expr) *Expr {
	if !r.literal(line, x, "give a quantity, such as 300 K") {
		return nil
	}
	e := r.expr(line, x)
	if e == nil || !r.truthless(line, e) {
		return nil
	}
	of := *w.Input.Line.X
	of.Src = &lang.Ident{At: lang.At{Loc: x.Span()}, Name: lang.Name{Text: w.Input.Name}}
	of.Unit, of.HasU, of.Type = w.Input.Unit, true, w.Input.Type
	if !r.comparable(line, &of, e, x.Span()) {
		return nil
	}
	v, ok := constantOf(e)
	if !ok || math.IsNaN(v) || math.IsInf(v, 0) {
		r.fail(line, CodeStudy, x.Span(), "this is no plain quantity").hint("give a quantity, such as 300 K, or simple arithmetic on quantities")
		return nil
	}
	if e.HasU && e.Unit.Dimension() == w.Input.Type.Dim && (e.Unit.Kind() == units.Difference) == (w.Unit.Kind() == units.Difference) {
		w.Unit = e.Unit
	}
	return e
}

func (r *resolver) variedFluid(line *Line, w *Varied, f *Fluid) *Varied {
	w.Fluid = f
	if f.bad || f.Line.Failed() {
		r.wait(line, f.Line)
		return nil
	}
	r.reads(line, f.Line)
	for _, x := range w.Stmt.Over {
		id, ok := x.(*lang.Ident)
		if !ok || id.Of != nil {
			r.fail(line, CodeStudy, x.Span(), "%s is a fluid, and this is none", f.Name).hint("name fluids of this sheet: %s", joinList(sortedKeys(r.scope.fluids)))
			continue
		}
		by := r.scope.fluids[id.Name.Text]
		if by == nil {
			if l := r.scope.bad["space "+id.Name.Text]; l != nil {
				r.wait(line, l)
				continue
			}
			p := r.fail(line, CodeUnknownName, id.Loc, "no fluid of this sheet is called %s", id.Name.Text)
			if near := r.near(id.Name.Text, sortedKeys(r.scope.fluids)); len(near) > 0 {
				p.hint("did you mean %s?", orList(near))
			} else {
				p.hint("define it: fluid %s = …", id.Name.Text)
			}
			continue
		}
		switch {
		case by.bad || by.Line.Failed():
			r.wait(line, by.Line)
			continue
		case slices.Contains(w.Fluids, by):
			r.fail(line, CodeStudy, id.Loc, "this fluid stands twice").hint("leave it out")
			continue
		case by != f && !r.interchangeable(line, id, f, by):
			continue
		}
		r.reads(line, by.Line)
		w.Fluids = append(w.Fluids, by)
	}
	return w
}

// interchangeable: one fluid can take another's place only where whatever was checked for the one
// holds for the other: both are gases, and no third fluid counts from the zero of the first.
func (r *resolver) interchangeable(line *Line, at *lang.Ident, f, by *Fluid) bool {
	if f.isWater() != by.isWater() || f.Kind == FuelOf || by.Kind == FuelOf {
		r.fail(line, CodeStudy, at.Loc, "%s cannot take the place of %s: a gas and steam are given by different properties", by.Name, f.Name).
			hint("take a fluid of the same kind")
		return false
	}
	if f.Datum == by.Datum {
		return true
	}
	for _, other := range r.sheet.Fluids {
		if other == f || other == by || other.Datum != f.Datum || !r.hasStates(other) {
			continue
		}
		r.fail(line, CodeStudy, at.Loc, "%s cannot take the place of %s: its enthalpies count from another zero, and those of %s from the same as those of %s", by.Name, f.Name, other.Name, f.Name).
			hint("give %s the datum of %s", by.Name, f.Name)
		return false
	}
	return true
}

func (r *resolver) hasStates(f *Fluid) bool {
	return slices.ContainsFunc(r.sheet.States, func(s *State) bool { return s.Fluid == f })
}

func (f *Fluid) isWater() bool { return f.Base != nil && f.Base.Kind() == propsdb.Water }

// kept is the index of a symbol among those kept, which it joins; −1 after a fault.
func (r *resolver) kept(line *Line, st *Study, s lang.Shown) int {
	x := r.shown(line, s)
	if x.Symbol == nil {
		return -1
	}
	if x.Symbol.Type.Bool {
		r.fail(line, CodeTruth, s.At.Loc, "%s is true or false, and a study keeps numbers", x.Symbol.Full()).hint("make a number of it: %s ? 1 : 0", x.Symbol.Full())
		return -1
	}
	for i, k := range st.Keep {
		if k.Symbol == x.Symbol {
			return i
		}
	}
	st.Keep = append(st.Keep, x)
	return len(st.Keep) - 1
}

func (r *resolver) mark(line *Line, st *Study, m *lang.Mark) {
	k := r.kept(line, st, m.Shown)
	if k < 0 {
		return
	}
	mark := &Mark{Extreme: m.Extreme, Keep: k, Stmt: m}
	if m.Value != nil {
		if len(st.Stmt.Vary) > 1 {
			r.fail(line, CodeStudy, m.Loc, "with two inputs varied a value is crossed along a line, not at a point").hint("vary one input, and make a family of the other: for NAME over …")
			return
		}
		x := r.constantLike(line, st.Keep[k].Symbol, m.Value)
		if x == nil {
			return
		}
		mark.Value, _ = constantOf(x)
	}
	st.Marks = append(st.Marks, mark)
}

// constantLike types a quantity that a symbol is compared with.
func (r *resolver) constantLike(line *Line, s *Symbol, x lang.Expr) *Expr {
	if !r.literal(line, x, "give a quantity") {
		return nil
	}
	e := r.expr(line, x)
	if e == nil || !r.truthless(line, e) {
		return nil
	}
	of := &Expr{Op: OpRef, Sym: s, Type: s.Type, Unit: s.Unit, HasU: true, Src: &lang.Ident{At: lang.At{Loc: x.Span()}, Name: lang.Name{Text: s.Full()}}}
	if !r.comparable(line, of, e, x.Span()) {
		return nil
	}
	if _, ok := constantOf(e); !ok {
		r.fail(line, CodeStudy, x.Span(), "this is no plain quantity").hint("give a quantity, such as 900 K")
		return nil
	}
	return e
}

// variedTwice reports an input that is varied in two lines.
func (r *resolver) variedTwice(line *Line, st *Study) {
	type use struct {
		v  *Varied
		at diag.Span
	}
	var all []use
	for _, v := range st.Vary {
		all = append(all, use{v, v.Stmt.Name.Loc})
	}
	if st.Family != nil {
		all = append(all, use{st.Family, st.Family.Stmt.Name.Loc})
	}
	if st.Seek != nil {
		for i, b := range st.Seek.By {
			all = append(all, use{b.Varied, st.Seek.Stmt.By[i].Name.Loc})
		}
	}
	for i, a := range all {
		for _, b := range all[:i] {
			if a.v.Input == b.v.Input && a.v.Fluid == b.v.Fluid {
				r.fail(line, CodeStudy, a.at, "%s is varied twice", a.v.Name()).related(line.File, b.at, "first here").hint("vary it in one line")
			}
		}
	}
}

// studySize keeps a study, and all of a sheet together, within the limits.
func (r *resolver) studySize(line *Line, st *Study) {
	points := 1
	for _, v := range st.Vary {
		points *= v.Count()
	}
	if st.Family != nil {
		points *= st.Family.Count()
	}
	if st.Seek != nil {
		points *= seekPoints * len(st.Seek.By)
	} else {
		st.Points = points
	}
	if points > MaxStudyPoints {
		r.tooManyPoints(line, st.Stmt.Loc)
		return
	}
	st.counted = points
	if r.sheet.Name == "" { // those of a used sheet are evaluated where a chart draws them
		r.countStudy(line, st, st.Stmt.Loc)
	}
}

// countStudy keeps all studies that are evaluated on a page within the limits.
func (r *resolver) countStudy(line *Line, st *Study, at diag.Span) {
	if r.shared.studied += st.counted * (len(st.Keep) + len(st.Vary)); r.shared.studied > MaxStudyValues {
		r.fail(line, CodeStudyPoints, at, "the studies of this sheet hold more than %d values together", MaxStudyValues).
			hint("take fewer points, or keep fewer symbols")
		return
	}
	if r.shared.studyLines += st.counted * r.shared.lines; r.shared.studyLines > MaxStudyLines {
		r.fail(line, CodeStudyPoints, at, "the studies of this sheet would evaluate more than %d lines", MaxStudyLines).
			hint("take fewer points: this sheet has %d lines, those of methods and used sheets among them", r.shared.lines)
	}
}

func (r *resolver) tooManyPoints(line *Line, at diag.Span) {
	r.fail(line, CodeStudyPoints, at, "a study has %d points at most", MaxStudyPoints).
		hint("take fewer points: marks are refined between them whatever their number; a seek counts as %d for each input", seekPoints)
}

// givenStudy enters the study that stands in a text of its own among the lines.
func (r *resolver) givenStudy() {
	g := r.source.Given
	if g == nil {
		return
	}
	r.sheet.Problems = append(r.sheet.Problems, g.Problems...)
	r.block = -1
	for _, s := range g.Stmts {
		line := &Line{Kind: BadLine, Stmt: s, File: g.File, Block: -1}
		if st, ok := s.(*lang.Study); ok {
			line.Kind = StudyLine
			for n := 2; ; n++ { // the notebook may hold one of that name
				if _, taken := r.scope.spaces[st.Name.Text]; !taken {
					break
				}
				st.Name.Text = fmt.Sprintf("given_%d", n)
			}
			r.defineSpace(line, st.Name, "study")
		}
		*r.lines = append(*r.lines, line)
	}
}
