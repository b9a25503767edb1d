package lang

import (
	"fmt"
	"strconv"

	"workings/runner/diag"
)

type (
	// Study is the whole of a `study` fence: inputs are varied, or sought for, and the sheet is
	// evaluated again for each of their values. It has Vary lines or a Seek.
	Study struct {
		At
		Name    Name
		Vary    []*Vary // one, or two for the product of both
		Family  *Vary   // `for NAME over …`: one series for each value; nil for a single series
		Seek    *Seek   // or nil
		Keep    []Shown
		Marks   []*Mark
		Caption Caption
	}
	// Vary is `vary NAME from A to B in N points [logarithmic]`, `vary NAME over A, B` or
	// `for NAME over A, B`.
	Vary struct {
		At
		Name        Name
		Between     *Range // from A to B; nil where values are listed
		Points      int
		PointsAt    diag.Span
		Logarithmic bool
		Over        []Expr
	}
	// Mark is `mark largest NAME`, `mark smallest NAME` or `mark NAME crossing VALUE`.
	Mark struct {
		At
		Extreme string // largest, smallest, or "" for a crossing
		Shown   Shown
		Value   Expr // of a crossing
	}
	// Seek is `seek largest NAME by A in LO .. HI, B in LO .. HI subject to CONDITION, CONDITION`.
	Seek struct {
		At
		Extreme string // largest or smallest
		Shown   Shown
		By      []By
		Subject []Expr
	}
	// By is an input that is sought for, with the range that it is sought in.
	By struct {
		At
		Name  Name
		Range *Range
	}
)

func (*Study) stmt() {}

// MaxSought is how many inputs a seek looks for.
const MaxSought = 8

const (
	studyForm  = "write ```study NAME"
	varyForm   = "write vary r_p from 2 to 30 in 57 points, or vary eps over 0 %, 60 %, 75 %"
	familyForm = "write for eps over 0 %, 60 %, 75 %"
	markForm   = "write mark largest eta_th, mark smallest T_4, or mark eta_th crossing 40 %"
	seekForm   = "write seek largest eta_th by r_p in 2 .. 30, p_i in 100 kPa .. 900 kPa subject to T_x < 900 K"
)

func studyWords() []string { return []string{"vary", "for", "keep", "mark", "seek"} }

// studyWord reports a word that opens a line of a study.
func studyWord(t *token) bool {
	return t.kind == tName && (t.text == "vary" || t.text == "for" || t.text == "keep" || t.text == "mark" || t.text == "seek")
}

// studyGoesOn reports a line of a study that goes on where a line elsewhere would end: before `by`
// and `subject`, and behind a word that wants something.
func studyGoesOn(last, next *token) bool {
	switch {
	case next.name("by"), next.name("subject"):
		return true
	case last.kind == tName:
		switch last.text {
		case "by", "to", "subject", "over", "from", "largest", "smallest", "crossing":
			return true
		}
	}
	return last.word("in")
}

// study reads a study fence.
func (p *parser) study(src Source) []Stmt {
	s := &Study{At: At{src.Span}}
	name, ok := p.fenceName(src, "study", CodeStudy, studyForm)
	s.Name = name
	lines, bad := p.captioned(&s.At, &s.Caption, func(_, lo, hi int) bool { return p.studyLine(s, lo, hi) })
	bad = bad || !ok
	if !bad {
		bad = !p.studyWhole(s, lines)
	}
	if bad {
		b := &Bad{At: s.At}
		if name.Text != "" {
			b.Spaces = []Name{name}
		}
		return []Stmt{b}
	}
	return []Stmt{s}
}

// studyWhole sees to it that a study has all it needs.
func (p *parser) studyWhole(s *Study, lines int) bool {
	switch {
	case lines == 0, len(s.Vary) == 0 && s.Seek == nil:
		p.fail(s.Loc, CodeStudy, "this study varies nothing", "expected a line vary, or seek", varyForm)
	case s.Seek != nil && len(s.Vary) > 0:
		p.fail(s.Vary[0].Loc, CodeStudy, "a study varies inputs or seeks the best of them, not both", "this study has a seek", "give the two a fence each; `for` makes a series of either")
	case s.Seek != nil && len(s.Marks) > 0:
		p.fail(s.Marks[0].Loc, CodeStudy, "a seek finds one point and marks nothing", "expected no mark", "name what is to be shown there with keep")
	case s.Seek == nil && len(s.Keep) == 0 && len(s.Marks) == 0:
		p.fail(s.Loc, CodeStudy, "this study keeps nothing", "expected a line keep", "write keep eta_th, w_net")
	default:
		return true
	}
	return false
}

func (p *parser) studyLine(s *Study, lo, hi int) bool {
	t := &p.toks[lo]
	if !studyWord(t) {
		label := ""
		if t.kind == tName {
			label = nearHint(t.text, studyWords())
		}
		if label == "" {
			label = "expected vary, for, keep, mark or seek"
		}
		p.fail(t.at, CodeStudy, fmt.Sprintf("no line of a study begins with `%s`", p.spelled(t)), label, varyForm)
		return false
	}
	switch t.text {
	case "vary":
		if len(s.Vary) == 2 {
			p.fail(t.at, CodeStudy, "a study varies one or two inputs", "this is the third", "a family of curves is a line `for`")
			return false
		}
		v := p.vary(lo, hi, varyForm)
		s.Vary = append(s.Vary, v)
		return v != nil
	case "for":
		if s.Family != nil {
			p.fail(t.at, CodeStudy, "a study has one family", "this is the second", "make a second study of it, or vary two inputs")
			return false
		}
		s.Family = p.vary(lo, hi, familyForm)
		return s.Family != nil
	case "keep":
		return p.keep(s, lo, hi)
	case "mark":
		m := p.markLine(lo, hi)
		s.Marks = append(s.Marks, m)
		return m != nil
	}
	if s.Seek != nil {
		p.fail(t.at, CodeStudy, "a study seeks one thing", "this is the second", "make a second study of it")
		return false
	}
	s.Seek = p.seek(lo, hi)
	return s.Seek != nil
}

// studyName reads the plain name at i, after the token before it.
func (p *parser) studyName(i, hi int, form string) (Name, bool) {
	switch {
	case i >= hi:
		p.fail(p.toks[hi-1].at, CodeStudy, "a name is missing", "expected the name of an input after this", form)
	case p.toks[i].kind != tName:
		p.fail(p.toks[i].at, CodeStudy, fmt.Sprintf("`%s` is no name", p.spelled(&p.toks[i])), "expected the name of an input", form)
	case i+1 < hi && p.toks[i+1].op("."):
		p.fail(p.toks[i].at.Join(p.toks[min(i+2, hi-1)].at), CodeStudy, "only an input of this sheet is varied", "expected a name without a dot",
			"make it an input of this sheet, and hand it on: use … with NAME = NAME")
	default:
		return p.nameAt(i), true
	}
	return Name{}, false
}

// vary reads a `vary` or a `for`.
func (p *parser) vary(lo, hi int, form string) *Vary {
	v := &Vary{At: p.span(lo, hi)}
	var ok bool
	if v.Name, ok = p.studyName(lo+1, hi, form); !ok {
		return nil
	}
	i := lo + 2
	switch {
	case i < hi && p.toks[i].name("over"):
		if v.Over, ok = p.values(i+1, hi, form); !ok {
			return nil
		}
		return v
	case i < hi && p.toks[i].name("from") && p.toks[lo].text == "vary":
		return p.varyFrom(v, i, hi)
	}
	at, label := p.toks[hi-1].at, "expected from or over"
	if p.toks[lo].text == "for" {
		label = "expected over"
	}
	if i < hi {
		at = p.toks[i].at
		if near := nearHint(p.toks[i].text, []string{"from", "over"}); near != "" && p.toks[lo].text == "vary" {
			label = near
		}
	} else {
		label += " after this"
	}
	p.fail(at, CodeStudy, "this line does not say which values are taken", label, form)
	return nil
}

// values reads expressions with commas between them.
func (p *parser) values(lo, hi int, form string) ([]Expr, bool) {
	var out []Expr
	for i := lo; ; {
		end := p.find(i, hi, func(t *token) bool { return t.op(",") })
		if i >= end {
			p.fail(p.toks[i-1].at, CodeStudy, fmt.Sprintf("a value is missing after `%s`", p.toks[i-1].text), "expected a value after this", form)
			return nil, false
		}
		if p.decimalComma(end) {
			return nil, false
		}
		x := p.expr(i, end)
		if x == nil {
			return nil, false
		}
		out = append(out, x)
		if end == hi {
			return out, true
		}
		i = end + 1
	}
}

// varyFrom reads `from A to B in N points [logarithmic]`; from is the index of `from`.
func (p *parser) varyFrom(v *Vary, from, hi int) *Vary {
	to := p.find(from+1, hi, func(t *token) bool { return t.name("to") })
	in := p.find(from+1, hi, func(t *token) bool { return t.word("in") })
	switch {
	case to == hi:
		p.fail(p.toks[hi-1].at, CodeStudy, "this line does not say how far the values go", "expected to and a value", varyForm)
		return nil
	case in < to:
		p.fail(p.toks[in].at, CodeStudy, "`in` cannot stand here", "expected to and a value first", varyForm)
		return nil
	}
	if v.Between = p.ends(from+1, to, in); v.Between == nil {
		return nil
	}
	if in == hi {
		p.fail(p.toks[hi-1].at, CodeStudy, "this line does not say how many points are taken", "expected in N points after this", varyForm)
		return nil
	}
	i := in + 1
	if i == hi || p.toks[i].kind != tNumber {
		at := p.toks[min(i, hi-1)].at
		p.fail(at, CodeStudy, "the number of points is missing", "expected in N points", varyForm)
		return nil
	}
	n, err := strconv.Atoi(p.toks[i].text)
	if v.Points, v.PointsAt = n, p.toks[i].at; err != nil || n < 2 {
		p.fail(v.PointsAt, CodeStudy, "this is no number of points", "expected a whole number, 2 or more", varyForm)
		return nil
	}
	i++
	if i == hi || !p.toks[i].name("points") {
		at, label := p.toks[i-1].at, "expected points after this"
		if i < hi {
			at, label = p.toks[i].at, "expected points"
		}
		p.fail(at, CodeStudy, "the word `points` is missing", label, varyForm)
		return nil
	}
	i++
	if i < hi && p.toks[i].name("logarithmic") {
		v.Logarithmic = true
		i++
	}
	if i < hi {
		label := "expected the end of the line"
		if near := nearHint(p.toks[i].text, []string{"logarithmic"}); near != "" {
			label = near
		}
		p.fail(p.toks[i].at, CodeStudy, fmt.Sprintf("`%s` cannot stand here", p.spelled(&p.toks[i])), label, varyForm)
		return nil
	}
	return v
}

func (p *parser) keep(s *Study, lo, hi int) bool {
	for i := lo + 1; ; {
		end := p.find(i, hi, func(t *token) bool { return t.op(",") })
		if i >= end {
			p.fail(p.toks[i-1].at, CodeStudy, fmt.Sprintf("a symbol is missing after `%s`", p.toks[i-1].text), "expected a symbol after this", "write keep eta_th, w_net in kJ/kg")
			return false
		}
		x, ok := p.shown(i, end)
		if !ok {
			return false
		}
		s.Keep = append(s.Keep, x)
		if end == hi {
			return true
		}
		i = end + 1
	}
}

func extremeWord(t *token) bool { return t.name("largest") || t.name("smallest") }

func (p *parser) markLine(lo, hi int) *Mark {
	m := &Mark{At: p.span(lo, hi)}
	from, end := lo+1, hi
	if from < hi && extremeWord(&p.toks[from]) && from+1 < hi {
		m.Extreme = p.toks[from].text
		from++
	} else {
		end = p.find(from, hi, func(t *token) bool { return t.name("crossing") })
		if end == hi || end == from {
			at, label := p.toks[hi-1].at, "expected largest NAME, smallest NAME, or NAME crossing VALUE"
			if from < hi {
				at = p.span(from, hi).Loc
				for _, i := range []int{from, hi - 1} {
					if near := nearHint(p.toks[i].text, []string{"largest", "smallest", "crossing"}); near != "" {
						at, label = p.toks[i].at, near
						break
					}
				}
			}
			p.fail(at, CodeStudy, "this line does not say what is marked", label, markForm)
			return nil
		}
		if end+1 == hi {
			p.fail(p.toks[end].at, CodeStudy, "a value is missing after `crossing`", "expected a value after this", markForm)
			return nil
		}
		if m.Value = p.expr(end+1, hi); m.Value == nil {
			return nil
		}
	}
	var ok bool
	if m.Shown, ok = p.plainShown(from, end, markForm); !ok {
		return nil
	}
	return m
}

// plainShown reads a symbol without a unit or digits.
func (p *parser) plainShown(lo, hi int, form string) (Shown, bool) {
	s, ok := p.shown(lo, hi)
	if ok && (s.In != nil || s.Digits != 0) {
		p.fail(s.Loc, CodeStudy, "a symbol stands here alone", "expected its name only", "say in the line keep in which unit it is shown; "+form)
		return s, false
	}
	return s, ok
}

func (p *parser) seek(lo, hi int) *Seek {
	s := &Seek{At: p.span(lo, hi)}
	by := p.find(lo+1, hi, func(t *token) bool { return t.name("by") })
	subject := p.find(lo+1, hi, func(t *token) bool { return t.name("subject") })
	switch {
	case lo+1 == hi || !extremeWord(&p.toks[lo+1]):
		at, label := p.toks[lo].at, "expected largest or smallest after this"
		if lo+1 < hi {
			at, label = p.toks[lo+1].at, "expected largest or smallest"
			if near := nearHint(p.toks[lo+1].text, []string{"largest", "smallest"}); near != "" {
				label = near
			}
		}
		p.fail(at, CodeStudy, "this line does not say what is sought", label, seekForm)
		return nil
	case lo+2 == by || lo+2 == hi:
		p.fail(p.toks[lo+1].at, CodeStudy, "a symbol is missing", "expected a symbol after this", seekForm)
		return nil
	case by == hi || subject < by:
		p.fail(p.toks[min(subject, hi-1)].at, CodeStudy, "this line does not say which inputs are sought", "expected by and an input", seekForm)
		return nil
	}
	s.Extreme = p.toks[lo+1].text
	var ok bool
	if s.Shown, ok = p.plainShown(lo+2, by, seekForm); !ok || !p.by(s, by, subject) {
		return nil
	}
	if subject == hi {
		return s
	}
	if subject+1 == hi || !p.toks[subject+1].name("to") {
		p.fail(p.toks[subject].at, CodeStudy, "`to` is missing after `subject`", "expected to and a condition", seekForm)
		return nil
	}
	if !p.compares(subject+2, hi) {
		return nil
	}
	if s.Subject, ok = p.values(subject+2, hi, seekForm); !ok {
		return nil
	}
	for _, x := range s.Subject {
		if value(x) {
			p.fail(x.Span(), CodeStudy, "this compares nothing", "expected a condition", seekForm)
			return nil
		}
	}
	return s
}

// by reads the inputs of a seek with their ranges.
func (p *parser) by(s *Seek, by, hi int) bool {
	for i := by + 1; ; {
		end := p.find(i, hi, func(t *token) bool { return t.op(",") })
		n, ok := p.studyName(i, end, seekForm)
		if !ok {
			return false
		}
		if len(s.By) == MaxSought {
			p.fail(n.Loc, CodeStudy, fmt.Sprintf("a seek looks for %d inputs at most", MaxSought), "one too many", "fix the others at the values that they have")
			return false
		}
		dots := p.find(i, end, func(t *token) bool { return t.op("..") })
		if i+1 >= end || !p.toks[i+1].word("in") || dots == end {
			p.fail(p.span(i, end).Loc, CodeStudy, fmt.Sprintf("this does not say between which values %s is sought", n.Text), "expected NAME in LO .. HI", seekForm)
			return false
		}
		r := p.ends(i+2, dots, end)
		if r == nil {
			return false
		}
		s.By = append(s.By, By{p.span(i, end), n, r})
		if end == hi {
			return true
		}
		if i = end + 1; i >= hi {
			p.fail(p.toks[end].at, CodeStudy, "an input is missing after `,`", "expected an input after this", seekForm)
			return false
		}
	}
}
