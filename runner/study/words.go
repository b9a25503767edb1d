package study

import (
	"fmt"
	"math"
	"strings"

	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/units"
)

// Piece is a part of a sentence: words, or a name that a page typesets.
type Piece struct{ Words, Name string }

// Plain is a sentence as one text.
func Plain(pieces []Piece) string {
	var b strings.Builder
	for _, p := range pieces {
		b.WriteString(p.Words + p.Name)
	}
	return b.String()
}

type sentence []Piece

func (s *sentence) words(format string, args ...any) {
	*s = append(*s, Piece{Words: fmt.Sprintf(format, args...)})
}
func (s *sentence) name(name string) { *s = append(*s, Piece{Name: name}) }

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return Thousands(n) + " " + many
}

// Lead says what is varied or sought, and how many points there are.
func (r *Result) Lead() []Piece {
	var s sentence
	st := r.Of
	for i, v := range st.Vary {
		if i > 0 {
			s.words(" and ")
		}
		s.varied(v)
	}
	if k := st.Seek; k != nil {
		s.words("the %s ", k.Extreme)
		s.name(st.Keep[k.Keep].Symbol.Full())
		s.words(" by ")
		for i, b := range k.By {
			if i > 0 {
				s.words(", ")
			}
			s.name(b.Input.Name)
			ends := k.Stmt.By[i].Range
			s.words(" in %s .. %s", lang.FormatExpr(ends.Lo), lang.FormatExpr(ends.Hi))
		}
		for i, x := range k.Stmt.Subject {
			s.words([]string{" subject to ", ", "}[min(i, 1)]+"%s", lang.FormatExpr(x))
		}
	}
	if f := st.Family; f != nil {
		s.words(", for ")
		s.varied(f)
	}
	simple := len(st.Vary) == 1 && st.Family == nil && st.Vary[0].Stmt.Between != nil // which says it already
	if st.Seek == nil && r.Problem == "" && !simple {
		s.words("; %s", plural(r.Points, "point", "points"))
	}
	return s
}

func (s *sentence) varied(v *resolve.Varied) {
	s.name(v.Name())
	if b := v.Stmt.Between; b != nil {
		s.words(" from %s to %s in %s points", lang.FormatExpr(b.Lo), lang.FormatExpr(b.Hi), Thousands(v.Stmt.Points))
		if v.Logarithmic {
			s.words(" on a logarithmic scale")
		}
		return
	}
	const most = 8
	for i, x := range v.Stmt.Over {
		switch {
		case i == most:
			s.words(", …")
			return
		case i == 0:
			s.words(" over ")
		default:
			s.words(", ")
		}
		s.words("%s", lang.FormatExpr(x))
	}
}

// Notes say what there is to know about the points beside their values.
func (r *Result) Notes() []string {
	var out []string
	if r.Problem != "" {
		return []string{"it could not be evaluated: " + r.Problem}
	}
	if r.Failed > 0 {
		out = append(out, plural(r.Failed, "point has no value", "points have no value"))
	}
	for _, why := range r.Reasons {
		text := plural(why.Points, "point", "points") + ": " + why.Message
		if l := why.Line; l != nil && l.File != nil && l.Stmt != nil {
			text += fmt.Sprintf(" (line %d", l.File.Line(l.Stmt.Span().Start))
			if l.File != r.Of.Line.File {
				text += " of " + l.File.Name
			}
			text += ")"
		}
		out = append(out, text)
	}
	if r.Outside > 0 {
		out = append(out, plural(r.Outside, "point lies", "points lie")+" outside the allowed range of an input")
	}
	if r.Audited > 0 {
		text := "the audit of the cycles finds no error at " + plural(r.Audited, "point", "points")
		if r.Faulty > 0 {
			text = fmt.Sprintf("the audit of the cycles finds errors at %d of %s", r.Faulty, plural(r.Audited, "point", "points"))
		}
		out = append(out, text)
	}
	if r.Unaudited {
		out = append(out, "the cycles are not audited at the points of this study")
	}
	return out
}

// Head is the head of a column: a symbol with its unit, or a word. Number says that numbers stand
// under the word.
type Head struct {
	Name   string
	Unit   units.Unit
	Word   string
	Number bool
}

// Grid is a table of a study.
type Grid struct {
	Head []Head
	Rows []Row
	// Bars is the column beside which a page draws Row.Bar, 0 where there is none.
	Bars int
}

// Row is a row of a Grid. Ahead says that a series begins with it. Lead, where it is set, is the first
// cell with its names apart.
type Row struct {
	Cells []string
	Lead  []Piece
	Ahead bool
	Flag  bool // there is something the matter with it
	Bar   float64
}

// Format prints a value, SI, in a unit.
type Format func(si float64, u units.Unit) string

func (f Format) cell(si float64, u units.Unit) string {
	if math.IsNaN(si) {
		return "–"
	}
	return f(si, u)
}

func (r *Result) heads(words ...string) []Head {
	var out []Head
	for _, w := range words {
		out = append(out, Head{Word: w})
	}
	st := r.Of
	if f := st.Family; f != nil {
		out = append(out, Head{Name: f.Name(), Unit: f.Unit})
	}
	for _, v := range st.Vary {
		out = append(out, Head{Name: v.Name(), Unit: v.Unit})
	}
	if st.Seek != nil {
		for _, b := range st.Seek.By {
			out = append(out, Head{Name: b.Input.Name, Unit: b.Unit})
		}
	}
	for _, k := range st.Keep {
		out = append(out, Head{Name: k.Symbol.Full(), Unit: k.Unit})
	}
	return append(out, Head{Word: "remark"})
}

// Label is the value of the family that a series is for; "" where there is no family.
func (r *Result) Label(x *Series, f Format) string {
	switch family := r.Of.Family; {
	case family == nil:
		return ""
	case x.Fluid != nil:
		return x.Fluid.Name
	default:
		return Trimmed(f.cell(x.Value, family.Unit))
	}
}

// Trimmed is a number without the zeros at the end of its decimals: one that was chosen.
func Trimmed(number string) string {
	number, power, scaled := strings.Cut(number, "×")
	if strings.Contains(number, ".") {
		number = strings.TrimRight(strings.TrimRight(number, "0"), ".")
	}
	if scaled {
		number += "×" + power
	}
	return number
}

// InputUnit is the unit in which the i-th input varied or sought is shown.
func (r *Result) InputUnit(i int) units.Unit {
	if r.Of.Seek != nil {
		return r.Of.Seek.By[i].Unit
	}
	return r.Of.Vary[i].Unit
}

func (r *Result) row(x *Series, f Format, inputs, kept []float64, words ...string) []string {
	cells := words
	if r.Of.Family != nil {
		cells = append(cells, r.Label(x, f))
	}
	for i, v := range inputs {
		cells = append(cells, f.cell(v, r.InputUnit(i)))
	}
	for i, v := range kept {
		cells = append(cells, f.cell(v, r.Of.Keep[i].Unit))
	}
	return cells
}

// Table has the points of all series, at most so many of each: where there are more, some at equal
// distances with the first and the last. all is how many there are.
func (r *Result) Table(most int, f Format) (g Grid, all int) {
	g.Head = r.heads()
	for _, x := range r.Series {
		if x.Inputs == nil {
			continue
		}
		all += len(x.Inputs[0])
		for n, point := range r.Shown(most) {
			inputs, kept := x.point(point)
			remark := x.Remark(point)
			g.Rows = append(g.Rows, Row{Cells: append(r.row(x, f, inputs, kept), remark), Ahead: n == 0, Flag: remark != ""})
		}
	}
	return g, all
}

func (x *Series) point(point int) (inputs, kept []float64) {
	for _, c := range x.Inputs {
		inputs = append(inputs, c[point])
	}
	for _, c := range x.Kept {
		kept = append(kept, c[point])
	}
	return inputs, kept
}

// Remark says what is the matter with a point; "" where nothing is.
func (x *Series) Remark(point int) string {
	var out []string
	if !x.Ok(point) {
		out = append(out, "no value")
	}
	if x.Outside[point] {
		out = append(out, "outside the allowed range")
	}
	if x.Audit != nil && x.Audit[point] > 0 {
		out = append(out, "audit: "+plural(x.Audit[point], "error", "errors"))
	}
	return strings.Join(out, ", ")
}

// Shown are the points of a series that a table of at most so many rows has.
func (r *Result) Shown(most int) []int {
	per := most
	if len(r.Of.Vary) == 2 {
		per = max(2, int(math.Sqrt(float64(most))))
	}
	out := []int{0}
	repeat := 1
	for _, v := range r.Of.Vary {
		var next []int
		for _, i := range Thinned(len(v.Values), per) {
			for _, o := range out {
				next = append(next, o+i*repeat)
			}
		}
		out = next
		repeat *= len(v.Values)
	}
	return out
}

// Thinned are at most so many of n, two or more, at equal steps, with the first and the last.
func Thinned(n, most int) []int {
	step := max(1, (n-1+most-2)/(most-1))
	var out []int
	for i := 0; i < n-1; i += step {
		out = append(out, i)
	}
	return append(out, n-1)
}

// Marks has the marks of all series, or what a seek has found; without rows where neither is asked for.
func (r *Result) Marks(f Format) Grid {
	if r.Of.Seek != nil {
		return r.optima(f)
	}
	g := Grid{Head: r.heads("mark")}
	for _, x := range r.Series {
		for _, m := range x.Marks {
			name := Piece{Name: r.Of.Keep[m.Of.Keep].Symbol.Full()}
			lead := []Piece{{Words: m.Of.Extreme + " "}, name}
			if m.Of.Extreme == "" {
				lead = []Piece{name, {Words: " crossing " + lang.FormatExpr(m.Of.Stmt.Value)}}
			}
			what := Plain(lead)
			if !m.Placed() {
				cells := r.row(x, f, make([]float64, len(r.Of.Vary)), make([]float64, len(r.Of.Keep)), what)
				for i := len(cells) - len(r.Of.Vary) - len(r.Of.Keep); i < len(cells); i++ {
					cells[i] = "–"
				}
				why := "there is none"
				if m.Standing == Level {
					why = "the same at all points"
				}
				g.Rows = append(g.Rows, Row{Cells: append(cells, why), Lead: lead, Flag: true})
				continue
			}
			g.Rows = append(g.Rows, Row{Cells: append(r.row(x, f, m.At, m.Kept, what), r.markRemark(&m)), Lead: lead, Flag: m.Standing != Refined || m.Outside})
		}
	}
	return g
}

// WithUnit is a printed number with its unit.
func WithUnit(number string, u units.Unit) string {
	if u.IsNone() {
		return number
	}
	return number + " " + u.String()
}

func (r *Result) markRemark(m *Mark) string {
	var out []string
	switch m.Standing {
	case Refined:
		for i, a := range m.Accuracy {
			u := r.Of.Vary[i].Unit.Difference()
			name := "place"
			if len(m.Accuracy) > 1 {
				name = r.Of.Vary[i].Name()
			}
			out = append(out, fmt.Sprintf("%s ± %s", name, WithUnit(units.FormatNumber(u.FromSI(a, 0), 1), u)))
		}
	case AtEnd:
		out = append(out, "at the end of the range: it may go on beyond")
	case BesideGap:
		out = append(out, "the best beside a point without a value")
	case Jumps:
		out = append(out, "the value jumps here")
	}
	if m.Outside {
		out = append(out, "outside the allowed range")
	}
	if m.More {
		out = append(out, "more crossings follow that are not looked for")
	}
	return strings.Join(out, ", ")
}

func (r *Result) optima(f Format) Grid {
	st := r.Of
	g := Grid{Head: r.heads("sought")}
	for _, x := range r.Series {
		o := x.Optimum
		lead := []Piece{{Words: st.Seek.Extreme + " "}, {Name: st.Keep[st.Seek.Keep].Symbol.Full()}}
		what := Plain(lead)
		if o.Problem != "" {
			nothing := make([]float64, len(st.Seek.By))
			without := make([]float64, len(st.Keep))
			for i := range nothing {
				nothing[i] = math.NaN()
			}
			for i := range without {
				without[i] = math.NaN()
			}
			g.Rows = append(g.Rows, Row{Cells: append(r.row(x, f, nothing, without, what), o.Problem), Lead: lead, Flag: true})
			continue
		}
		g.Rows = append(g.Rows, Row{Cells: append(r.row(x, f, o.At, o.Kept, what), r.optimumRemark(o, f)), Lead: lead, Flag: len(o.Others) > 0 || o.Outside})
	}
	return g
}

func (r *Result) optimumRemark(o *Optimum, f Format) string {
	var out []string
	for _, a := range o.Active {
		out = append(out, "limit "+r.Limit(a))
	}
	if o.Outside {
		out = append(out, "outside the allowed range")
	}
	for _, i := range o.Idle {
		out = append(out, r.Of.Seek.By[i].Input.Name+" changes nothing here")
	}
	text := fmt.Sprintf("%d of %s agree", o.Agreeing, plural(o.Starts, "start", "starts"))
	if o.Elsewhere {
		text += " and ended at places apart: the best is at more than one"
	}
	if len(o.Others) > 0 {
		k := r.Of.Keep[r.Of.Seek.Keep]
		var others []string
		for _, v := range o.Others {
			if s := f(v, k.Unit); len(others) == 0 || others[len(others)-1] != s {
				others = append(others, s)
			}
		}
		text += "; the others ended at " + WithUnit(strings.Join(others, ", "), k.Unit) + ": there are several optima"
	}
	return strings.Join(append(out, text, plural(o.Evaluations, "evaluation", "evaluations")), "; ")
}

// Limit names a limit as its author wrote it.
func (r *Result) Limit(a Active) string {
	k := r.Of.Seek
	if a.Condition >= 0 {
		return lang.FormatExpr(k.Subject[a.Condition].Stmt)
	}
	ends := k.Stmt.By[a.Input].Range
	end, sign := ends.Lo, " ≥ "
	if a.Upper {
		end, sign = ends.Hi, " ≤ "
	}
	return k.By[a.Input].Input.Name + sign + lang.FormatExpr(end)
}
