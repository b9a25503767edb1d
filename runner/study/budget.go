package study

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"workings/runner/eval"
	"workings/units"
)

// Round is a value that has an uncertainty, both as they are shown, and how many significant digits it is
// given with: down to the second digit of the uncertainty (JCGM 100:2008 (GUM), 7.2.6; as quoted).
func Round(value, u float64) (rounded float64, digits int) {
	const most = 15
	if !(u > 0) || math.IsInf(u, 0) || value == 0 || math.IsNaN(value) || math.IsInf(value, 0) {
		return value, most
	}
	place := lastPlace(u)
	first := exponent(value, most)
	digits = min(most, max(1, first-place+1))
	if e := exponent(value, digits); e > first && digits < most {
		// Rounding brings one more figure before the point: 9.99996 ± 0.0012 is 10.0000.
		return math.Copysign(math.Pow(10, float64(e)), value), digits + 1
	}
	return value, digits
}

func rounded(value, u float64) string { return units.FormatNumber(Round(value, u)) }

// lastPlace is the power of ten of the second digit of an uncertainty, once it is rounded to two.
func lastPlace(u float64) int {
	return exponent(u, UncertaintyDigits) - UncertaintyDigits + 1
}

// exponent is the power of ten of the first figure of a number that is rounded to so many digits.
func exponent(v float64, digits int) int {
	_, e, _ := strings.Cut(strconv.FormatFloat(v, 'e', digits-1, 64), "e")
	n, _ := strconv.Atoi(e) // by the form that FormatFloat writes
	return n
}

// Shown is the answer and its combined standard uncertainty in the unit of the answer; false where it
// has none.
func (b *Budget) Shown(m Method, ambient float64) (value, u string, ok bool) {
	si, ok := b.Combined(m)
	if !ok {
		return "", "", false
	}
	shown := eval.DifferenceIn(si, b.Of.Unit).Shown
	return rounded(b.in(b.Value, ambient), shown), units.FormatNumber(shown, UncertaintyDigits), true
}

// in is a value of the answer in its unit.
func (b *Budget) in(si, ambient float64) float64 {
	u := b.Of.Unit
	if u.Kind() == units.Gauge && ambient == 0 {
		u = u.Difference()
	}
	return u.FromSI(si, ambient)
}

// Lead says what the tables of a sheet hold.
func (s *Sensitivities) Lead() string {
	any := false
	for _, b := range s.Answers {
		for _, f := range b.Rows {
			any = any || f.Uncertain()
		}
	}
	if !any {
		return "What the inputs do to the answers, at the values of this sheet. No input has a standard uncertainty."
	}
	how := "by the law of propagation, to first order"
	switch {
	case s.Method.Samples > 0 && s.Samples != nil && s.Samples.Problem == "":
		how = fmt.Sprintf("by a Monte Carlo of %s samples, seed %d", Thousands(s.Method.Samples), s.Method.Seed)
	case s.Method.Order == 2:
		how = "by the law of propagation, with the terms of second order"
	}
	together := "as not correlated"
	if len(s.Correlations) > 0 {
		together = "correlated as stated and otherwise not"
	}
	return fmt.Sprintf("Combined standard uncertainties %s, from those of the inputs (±), taken as normal and %s.", how, together)
}

// Thousands is a whole number with its thousands apart.
func Thousands(n int) string {
	text := strconv.Itoa(n)
	for i := len(text) - 3; i > 0; i -= 3 {
		text = text[:i] + "," + text[i:]
	}
	return text
}

// Title is an answer with its value and uncertainty.
func (b *Budget) Title(m Method, digits int, ambient float64) []Piece {
	var s sentence
	s.name(b.Of.Symbol.Full())
	unit := ""
	if v := (eval.Value{Unit: b.Of.Unit}); !v.Unit.IsNone() {
		unit = " " + v.Unit.String()
	}
	value, u, ok := b.Shown(m, ambient)
	if !ok {
		s.words(" = %s%s", units.FormatNumber(b.in(b.Value, ambient), digits), unit)
		return s
	}
	text := fmt.Sprintf(" = %s%s ± %s", value, unit, u)
	if d := eval.DifferenceIn(0, b.Of.Unit).Unit; !d.IsNone() {
		text += " " + d.String()
	}
	return append(s, Piece{Words: text})
}

// NothingMoves is said of an answer that follows none of the inputs.
const NothingMoves = "No input that is looked at changes it, close to these values."

// derivativeDigits are shown of a derivative, less where fewer are known.
const derivativeDigits = 4

// Table is what each input does to the answer.
func (b *Budget) Table(digits int, ambient float64) Grid {
	d := eval.DifferenceIn(0, b.Of.Unit).Unit
	shares := b.First > 0 && !math.IsNaN(b.First)
	g := Grid{Head: []Head{{Word: "input"}, {Word: "its value", Number: true}, {Word: "derivative", Number: true}}}
	if shares {
		g.Head = append(g.Head, Head{Word: "contribution", Unit: d, Number: true}, Head{Word: "share of variance", Number: true})
	}
	if g.Bars = len(g.Head); shares {
		g.Bars-- // of the shares; without them, of the changes for one per cent
	}
	g.Head = append(g.Head, Head{Word: "for 1 % more", Unit: d, Number: true}, Head{Word: "relative", Number: true}, Head{Word: "remark"})
	for _, f := range b.Rows {
		in := f.Input.Symbol
		v := in.Unit
		if v.Kind() == units.Gauge && ambient == 0 {
			v = v.Difference()
		}
		value := units.FormatNumber(v.FromSI(f.Input.Value, ambient), digits)
		step := eval.DifferenceIn(0, in.Unit).Unit
		if f.Uncertain() {
			value = WithUnit(Trimmed(value), v) + " ± " + WithUnit(Trimmed(units.FormatNumber(step.FromSI(f.Input.Spread, 0), 3)), step)
		} else {
			value = WithUnit(Trimmed(value), v)
		}
		row := Row{Lead: []Piece{{Name: in.Full()}}, Cells: []string{in.Full(), value, f.slope(d, step)}, Bar: d.FromSI(f.Percent, 0)}
		if shares {
			row.Bar = f.Share
			part, share := "–", "–"
			if f.Uncertain() {
				part = cell(d.FromSI(math.Abs(f.Part), 0), UncertaintyDigits)
				share = percent(f.Share)
			}
			row.Cells = append(row.Cells, part, share)
		}
		change := "–"
		if f.Input.Value != 0 {
			change = cell(d.FromSI(f.Percent, 0), 3)
		}
		row.Cells = append(row.Cells, change, cell(f.Relative, 3), f.remark(d, step))
		g.Rows = append(g.Rows, row)
	}
	return g
}

func cell(v float64, digits int) string {
	if math.IsNaN(v) {
		return "–"
	}
	return units.FormatNumber(v, digits)
}

func percent(share float64) string {
	switch p := 100 * share; {
	case math.IsNaN(p):
		return "–"
	case p != 0 && math.Abs(p) < 0.1:
		return "under 0.1 %"
	default:
		p = math.Round(10*p) / 10
		return units.FormatNumber(p, 2+int(math.Floor(math.Log10(max(1, math.Abs(p)))))) + " %"
	}
}

// slope is the derivative with its unit, to as many digits as are known: answer per input.
func (f *Influence) slope(of, per units.Unit) string {
	if math.IsNaN(f.Derivative) {
		return "no value"
	}
	digits := derivativeDigits
	if f.Error > 0 {
		digits = min(digits, max(1, int(math.Log10(math.Abs(f.Derivative)/f.Error))))
	}
	text := units.FormatNumber(of.FromSI(f.Derivative*per.ToSI(1, 0), 0), digits)
	switch {
	case of.IsNone() && per.IsNone():
		return text
	case of.IsNone():
		return text + " per " + per.String()
	case per.IsNone():
		return text + " " + of.String()
	}
	return text + " " + of.String() + " per " + per.String()
}

// doubtful is the error of a derivative, as a share of it, from which on a reader is told.
const doubtful = 1e-3

func (f *Influence) remark(of, per units.Unit) string {
	slope := func(v float64) string { return units.FormatNumber(of.FromSI(v*per.ToSI(1, 0), 0), 2) }
	var out []string
	switch {
	case f.Jump:
		out = append(out, "the answer jumps here")
	case math.IsNaN(f.Derivative):
		out = append(out, "a little beside this input the answer has no value")
	case f.Corner:
		out = append(out, "a corner: the derivative jumps by "+slope(2*f.Error))
	case f.Flat:
		out = append(out, "no slope here, as at an extreme")
	case f.Derivative != 0 && f.Error > doubtful*math.Abs(f.Derivative):
		out = append(out, "derivative known to ± "+slope(f.Error))
	case f.OneSided:
		out = append(out, "derivative from one side")
	}
	if f.Near {
		out = append(out, "a kink, a jump or an end is near")
	}
	// 1 % of what is shown would be another of a point on a scale, and is taken for a %pt of a share.
	if u := f.Input.Symbol.Unit; f.Input.Value != 0 && (u.Kind() == units.Point || u.Kind() == units.Gauge || u.String() == "%") {
		out = append(out, "1 % is "+WithUnit(units.FormatNumber(per.FromSI(f.Input.Value/100, 0), 3), per))
	}
	return strings.Join(out, "; ")
}

// coverageFactor is of a normal distribution for Coverage.
const coverageFactor = 1.959963985

// Methods compares what the methods that were asked for say of an answer; it has no rows where only
// first order was.
func (b *Budget) Methods(s *Sensitivities, ambient float64) Grid {
	g := Grid{}
	if b.Second == nil || s.Method.Order != 2 && b.Sample == nil {
		return g
	}
	size, any := b.Combined(s.Method)
	if !any && !math.IsNaN(size) {
		return g // no uncertainty by any of them
	}
	u, d := b.Of.Unit, eval.DifferenceIn(0, b.Of.Unit).Unit
	g.Head = []Head{{Word: "method"}, {Word: "mean", Unit: u, Number: true}, {Word: "standard uncertainty", Unit: d, Number: true},
		{Word: "95 % from", Unit: u, Number: true}, {Word: "to", Unit: u, Number: true}}
	sampled := b.Sample != nil
	if sampled {
		g.Head = append(g.Head, Head{Word: "shortest 95 % from", Unit: u, Number: true}, Head{Word: "to", Unit: u, Number: true})
	}
	add := func(name string, mean, spread float64, ends ...float64) {
		row := Row{Cells: []string{name, b.beside(mean, size, ambient), cell(d.FromSI(spread, 0), UncertaintyDigits)}}
		for _, e := range ends {
			row.Cells = append(row.Cells, b.beside(e, size, ambient))
		}
		for len(row.Cells) < len(g.Head) {
			row.Cells = append(row.Cells, "–")
		}
		g.Rows = append(g.Rows, row)
	}
	k := coverageFactor
	add("first order", b.Value, b.First, b.Value-k*b.First, b.Value+k*b.First)
	add("second order", b.Value+b.Second.Shift, b.Second.U)
	if x := b.Sample; sampled {
		add("Monte Carlo", x.Mean, x.U, x.Lo, x.Hi, x.ShortLo, x.ShortHi)
	}
	return g
}

// Remarks are what there is to be said of the methods, a sentence each.
func (b *Budget) Remarks(s *Sensitivities) []string {
	var out []string
	if b.Cancels() {
		out = append(out, "What the inputs contribute cancels, for their errors go together.")
	}
	if b.Second == nil || s.Method.Order != 2 && b.Sample == nil {
		return out
	}
	if b.Sample != nil {
		if agreement := b.agreement(); agreement != "" {
			out = append(out, agreement)
		}
		switch lost := s.Method.Samples - b.Sample.N; {
		case b.Sample.N < 2:
			out = append(out, "There is no Monte Carlo: no sample has a value.")
		case lost > 0:
			out = append(out, plural(lost, "sample of the Monte Carlo has no value.", "samples of the Monte Carlo have no value."))
		}
	}
	switch two := b.Second; {
	case math.IsNaN(b.First) || math.IsInf(b.First, 0):
		out = append(out, b.missing()+".")
	case two.Missing != nil:
		out = append(out, "There is no second order: the sheet has no value where "+two.Missing.Full()+" is moved by its uncertainty.")
	case math.IsNaN(two.U):
		out = append(out, "The terms of second order are larger than those of first.")
	case !two.Mixed:
		out = append(out, "Second order is without the terms of two inputs together, for these are many.")
	}
	return out
}

// beside is a value of the answer rounded to its uncertainty.
func (b *Budget) beside(si, u, ambient float64) string {
	if math.IsNaN(si) {
		return "–"
	}
	return rounded(b.in(si, ambient), eval.DifferenceIn(u, b.Of.Unit).Shown)
}

// Apart is by how much the ends of the interval of first order lie from those of the Monte Carlo, and
// the Tolerance within which the two methods agree (JCGM 101:2008, 8.2; from memory), in SI.
func (b *Budget) Apart() (low, high, tolerance float64) {
	unit := eval.DifferenceIn(1, b.Of.Unit).Shown
	tolerance = Tolerance(b.Sample.U*unit) / unit
	return math.Abs(b.Value - coverageFactor*b.First - b.Sample.Lo), math.Abs(b.Value + coverageFactor*b.First - b.Sample.Hi), tolerance
}

// agreement says in a sentence whether the interval of first order agrees with that of the Monte Carlo.
func (b *Budget) agreement() string {
	if !(b.Sample.U > cancelled*b.Parts) || math.IsNaN(b.First) || math.IsInf(b.First, 0) {
		return ""
	}
	low, high, limit := b.Apart()
	worst, chance := max(low, high), b.Sample.chance()
	switch {
	case worst <= limit:
		return fmt.Sprintf("The interval of first order agrees with that of the Monte Carlo within the %s that two digits of the uncertainty leave.", b.pm(limit))
	case worst <= limit+2*chance:
		return fmt.Sprintf("An end of the interval of first order is off by %s, and two digits of the uncertainty leave %s; with this number of samples, chance alone moves an end by about %s.", b.pm(worst), b.pm(limit), b.pm(chance))
	}
	return fmt.Sprintf("An end of the interval of first order is off by %s, more than the %s that two digits of the uncertainty leave.", b.pm(worst), b.pm(limit))
}

// chance is about the standard error of an end of the interval with equal tails: √(p(1−p)/n) over the density
// there, as if the samples were normal (standard error of a quantile; common practice, no source).
func (x *Sampled) chance() float64 {
	const tail, density = (1 - Coverage) / 2, 0.0584451 // of the standard normal at coverageFactor
	return x.U * math.Sqrt(tail*(1-tail)/float64(x.N)) / density
}

// Coefficient is a correlation as it is shown.
func Coefficient(r float64) string {
	const digits = 4
	return strings.Replace(strconv.FormatFloat(r, 'g', digits, 64), "-", "−", 1)
}

// Notes are what else there is to be said, a sentence each.
func (s *Sensitivities) Notes() [][]Piece {
	var out [][]Piece
	for _, c := range s.Correlations {
		var n sentence
		n.words("The correlation of ")
		n.name(c.Of[0].Full())
		n.words(" and ")
		n.name(c.Of[1].Full())
		n.words(" is %s.", Coefficient(c.R))
		out = append(out, n)
	}
	if x := s.Samples; x != nil && x.Problem == "" {
		for _, o := range x.Outside {
			var n sentence
			n.name(o.Input.Full())
			n.words(" lies outside its allowed range in %s of the samples.", Thousands(o.Samples))
			out = append(out, n)
		}
	}
	return out
}

// NotesText are the Notes as plain text.
func (s *Sensitivities) NotesText() []string {
	var out []string
	for _, n := range s.Notes() {
		out = append(out, Plain(n))
	}
	return out
}
