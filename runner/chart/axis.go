package chart

import (
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/plot"
)

// Scale is how an axis counts.
type Scale int

const (
	Linear Scale = iota
	Log
	Auto // logarithmic where the values ask for it
)

// Axis says what the values along one side of a picture are.
type Axis struct {
	Symbol Name
	Words  string // the same in words, for the description: "specific entropy"
	Unit   string // as the sheet prints it; empty for plain numbers
	Scale  Scale
}

// Point is a pair of values in the units of the axes.
type Point struct{ X, Y float64 }

const (
	largest    = 1e100 // values beyond it are left out
	smallest   = 1e-100
	logAsks    = 40   // an Auto axis is logarithmic where its values span more
	sameValue  = 1e-9 // relative: a narrower range has no ticks that differ
	maxTicks   = 24
	superDigit = "⁰¹²³⁴⁵⁶⁷⁸⁹"
)

// span collects the values of an axis.
type span struct{ lo, hi float64 }

func noSpan() span { return span{math.Inf(1), math.Inf(-1)} }

func (s *span) add(v float64) {
	if sane(v) {
		s.lo, s.hi = min(s.lo, v), max(s.hi, v)
	}
}

// axis is an Axis with its range and its ticks.
type axis struct {
	plot.Axis
	of  Axis
	log bool
}

// ticker gives plot's axis ticks at round numbers, without a "−0" and without empty decimals.
type ticker struct {
	log  bool
	want int
}

// newAxis fits an axis to its values, with some room at both ends. positive reports whether every
// value is above zero.
func newAxis(a Axis, s span, pad float64, want int) axis {
	ax := axis{of: a}
	ax.Scale = plot.LinearScale{}
	if s.lo > s.hi {
		s = span{0, 1}
	}
	positive := s.lo > smallest
	if positive && (a.Scale == Log || a.Scale == Auto && s.hi > logAsks*s.lo) {
		ax.log, ax.Scale = true, plot.LogScale{}
	}
	size := max(math.Abs(s.lo), math.Abs(s.hi))
	switch {
	case size < smallest:
		s = span{-1, 1}
	case s.hi-s.lo <= sameValue*size:
		s = span{s.lo - 0.05*size, s.hi + 0.05*size}
	case ax.log:
		f := math.Pow(s.hi/s.lo, pad)
		s = span{s.lo / f, s.hi * f}
	default:
		d := pad * (s.hi - s.lo)
		if positive && s.lo < d && s.lo > d/2 {
			d = s.lo // an axis that nearly reaches zero begins there
		}
		s.lo, s.hi = s.lo-d, s.hi+pad*(s.hi-s.lo)
	}
	ax.Min, ax.Max = s.lo, s.hi
	ax.Tick.Marker = ticker{ax.log, want}
	return ax
}

// ok reports whether the axis can show a value.
func (a *axis) ok(v float64) bool { return sane(v) && (!a.log || v > smallest) }

// Ticks are the ticks of an axis: round numbers with labels, on a logarithmic axis also minor
// ones without.
func (t ticker) Ticks(lo, hi float64) []plot.Tick {
	if t.log {
		return logTicks(lo, hi)
	}
	step := roundStep((hi - lo) / float64(t.want))
	if step < smallest {
		return nil
	}
	first := math.Ceil(lo/step - 1e-6)
	decade := int(math.Floor(math.Log10(step) + 1e-9))
	var out []plot.Tick
	for k := range maxTicks {
		v := (first + float64(k)) * step
		if v > hi+1e-6*step {
			break
		}
		out = append(out, plot.Tick{Value: v, Label: tickLabel(v, max(math.Abs(lo), math.Abs(hi)), decade)})
	}
	return out
}

// roundStep is the next of 1, 2, 5 times a power of ten.
func roundStep(v float64) float64 {
	if v < smallest || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0
	}
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, f := range []float64{1, 2, 5} {
		if v <= f*p*1.0001 {
			return f * p
		}
	}
	return 10 * p
}

// tickLabel writes a tick's number with the decimals that its step has; a power of ten where the
// axis reaches far from one.
func tickLabel(v, most float64, decade int) string {
	if v == 0 || math.Abs(v) < 1e-6*most {
		return "0"
	}
	top := int(math.Floor(math.Log10(most) + 1e-9))
	if top < 6 && decade > -5 {
		return minus(strconv.FormatFloat(v, 'f', max(0, -decade), 64))
	}
	m := strconv.FormatFloat(v/math.Pow10(top), 'f', min(max(0, top-decade), 12), 64)
	return minus(m) + "×10" + super(top)
}

// logTicks labels whole decades, between them 2 and 5 where there are few.
func logTicks(lo, hi float64) []plot.Tick {
	first, last := int(math.Floor(math.Log10(lo))), int(math.Ceil(math.Log10(hi)))
	every := max(1, (last-first)/8)
	few := math.Log10(hi/lo) <= 2.2
	var out []plot.Tick
	for d := first; d <= last && len(out) < 200; d++ {
		for m := 1; m <= 9; m++ {
			v := float64(m) * math.Pow10(d)
			if v < lo*(1-1e-9) || v > hi*(1+1e-9) {
				continue
			}
			t := plot.Tick{Value: v}
			switch {
			case m == 1 && (d-first)%every == 0, few && (m == 2 || m == 5):
				t.Label = logLabel(m, d)
			case every > 1:
				continue
			}
			out = append(out, t)
		}
	}
	return out
}

func logLabel(m, d int) string {
	switch {
	case d >= -3 && d < 5:
		return strconv.FormatFloat(float64(m)*math.Pow10(d), 'f', max(0, -d), 64)
	case m == 1:
		return "10" + super(d)
	}
	return strconv.Itoa(m) + "×10" + super(d)
}

func minus(s string) string { return strings.Replace(s, "-", "−", 1) }

func super(n int) string {
	s := ""
	if n < 0 {
		s, n = "⁻", -n
	}
	digits := []rune(superDigit)
	for _, c := range strconv.Itoa(n) {
		s += string(digits[c-'0'])
	}
	return s
}

// phrase is the axis in words.
func (a Axis) phrase() string {
	s := a.Words
	if sym := a.Symbol.String(); sym != "" && sym != s {
		if s != "" {
			s += " "
		}
		s += sym
	}
	if s == "" {
		s = "value"
	}
	if a.Unit != "" {
		s += " in " + a.Unit
	}
	return s
}

func (a Axis) labelWidth() float64 {
	w := a.Symbol.width()
	if a.Symbol.empty() {
		w = width(a.Words, textSize)
	}
	if a.Unit != "" {
		w += width(" in "+a.Unit, textSize)
	}
	return w
}

// axisLabel writes the axis's name: the symbol in italics, its unit upright and quieter.
func (o *svg) axisLabel(x, y float64, at align, a Axis) {
	o.openText(x, y, at, "")
	if a.Symbol.empty() {
		o.text(a.Words)
	} else {
		o.name(a.Symbol)
	}
	if a.Unit != "" {
		o.raw(`<tspan class="u"> in `)
		o.text(a.Unit)
		o.raw("</tspan>")
	}
	o.raw("</text>")
}
