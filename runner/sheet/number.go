package sheet

import (
	"math"
	"strconv"
	"strings"

	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/units"
)

// figure is a number as the sheet prints it, with its unit.
type figure struct {
	num  string // with − (U+2212) and, for powers of ten, ×10 and superscripts
	unit units.Unit
}

func (f figure) negative() bool { return strings.HasPrefix(f.num, "−") }
func (f figure) power() bool    { return strings.Contains(f.num, "×") }

// typed prints a literal as its author wrote it: 0.88 stays 0.88, 1.2e5 becomes 1.2×10⁵.
func typed(text string) string {
	if strings.IndexByte(text, 'e') < 0 && strings.IndexByte(text, 'E') < 0 {
		return text
	}
	mantissa, power, found := strings.Cut(strings.ToLower(text), "e")
	n, err := strconv.Atoi(power)
	switch {
	case !found || err != nil:
		return text
	case n == 0:
		return mantissa
	}
	return mantissa + "×10" + superscripts.Replace(strconv.Itoa(n))
}

var superscripts = strings.NewReplacer("0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴", "5", "⁵",
	"6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹", "-", "⁻")

// plainDigits turns superscripts back into digits, for MathML's own powers.
var plainDigits = strings.NewReplacer("⁰", "0", "¹", "1", "²", "2", "³", "3", "⁴", "4", "⁵", "5",
	"⁶", "6", "⁷", "7", "⁸", "8", "⁹", "9", "⁻", "−")

// literal is the number in an expression that is nothing but a literal, as typed.
func literal(e lang.Expr) (n *lang.Number, sign string, ok bool) {
	for range 4 {
		switch x := e.(type) {
		case *lang.Number:
			return x, sign, true
		case *lang.Paren:
			e = x.X
		case *lang.Unary:
			if x.Op != "-" || sign != "" {
				return nil, "", false
			}
			sign, e = "−", x.X
		default:
			return nil, "", false
		}
	}
	return nil, "", false
}

func isLiteral(e lang.Expr) bool {
	_, _, ok := literal(e)
	return ok
}

// shown is a value with the sheet's digits.
func (p *page) shown(v eval.Value) figure { return p.shownTo(v, 0) }

func (p *page) shownTo(v eval.Value, digits int) figure {
	if v.Bool {
		if v.SI != 0 {
			return figure{num: "true"}
		}
		return figure{num: "false"}
	}
	if digits == 0 {
		digits = p.digits
	}
	return figure{units.FormatNumber(v.Shown, digits), v.Unit}
}

// result is a symbol's value in its own unit; a literal input keeps the author's figures.
func (p *page) result(s *resolve.Symbol) (figure, bool) {
	v, ok := p.value(s)
	if !ok {
		return figure{}, false
	}
	if s.Unit.Kind() == units.Gauge && s.Sheet != strings.TrimSuffix(p.within, ".") {
		return p.shown(p.valueIn(v.SI, s.Unit)), true // counted from the ambient pressure of this sheet
	}
	if f, ok := p.literalOf(s); ok {
		return f, true
	}
	if l := s.Line; l != nil && l.Total != nil && l.Total.Name == "residual" {
		return p.shownTo(v, 2), true // what rounding leaves: its size is all it says
	}
	return p.shown(v), true
}

// literalOf is the figure that the author typed for a symbol, where its line is only that.
func (p *page) literalOf(s *resolve.Symbol) (figure, bool) { return p.literalAt(s, 8) }

// literalAt follows a line that only names another symbol, such as an input that another sheet
// gives its own.
func (p *page) literalAt(s *resolve.Symbol, hops int) (figure, bool) {
	if hops == 0 || s.Line == nil || s.Line.X == nil || s.State != nil && !s.Adopted || (s.Line.Kind != resolve.Input && s.Line.Kind != resolve.Define) {
		return figure{}, false
	}
	if len(s.Line.Defines) != 1 || s.Line.Defines[0] != s {
		return figure{}, false
	}
	if x := s.Line.X; x.Op == resolve.OpRef && x.Sym != s {
		f, ok := p.literalAt(x.Sym, hops-1)
		// Another sheet's gauge pressure counts from that sheet's ambient pressure.
		return f, ok && f.unit.Equal(s.Unit) && (f.unit.Kind() != units.Gauge || x.Sym.Sheet == s.Sheet)
	}
	n, sign, ok := literal(s.Line.X.Src)
	if !ok {
		return figure{}, false
	}
	unit := units.Unit{}
	if n.Unit != nil {
		u, err := units.Parse(n.Unit.Text)
		if err != nil {
			return figure{}, false
		}
		unit = u
	}
	if !unit.Equal(s.Unit) {
		return figure{}, false // `in` asked for another unit, so the figure was converted
	}
	return figure{sign + typed(n.Text), unit}, true
}

// putIn is a symbol's value as it enters a formula: a point of a temperature scale or a gauge
// pressure as the absolute quantity the arithmetic runs in, so that a reader can do it again.
func (p *page) putIn(s *resolve.Symbol) (figure, bool) {
	if p.inFormula == nil {
		p.inFormula = make([]figure, p.size())
	}
	no := p.of(s).no
	if no >= 0 && p.inFormula[no].num != "" {
		return p.inFormula[no], true
	}
	v, ok := p.valueOf(s)
	if !ok {
		return figure{}, false
	}
	f, isLiteral := p.literalOf(p.callers(s))
	if !isLiteral {
		f = p.shown(v)
	}
	if abs, ok := p.absolute(v); ok {
		f = p.shown(abs)
	}
	if no >= 0 {
		p.inFormula[no] = f
	}
	return f, true
}

// ambientOf is the pressure that the gauge pressures of an entry count from.
func (p *page) ambientOf(e *eval.Entry) float64 {
	if e.Sheet != "" {
		return p.ambients[e.Sheet]
	}
	return p.tr.Sheet.Ambient
}

// absolute is v in kelvin, degrees Rankine or as an absolute pressure; false where it is already.
func (p *page) absolute(v eval.Value) (eval.Value, bool) {
	var u units.Unit
	switch v.Unit.Kind() {
	case units.Point:
		u = units.SIUnit(units.DimTemperature())
		if strings.HasSuffix(v.Unit.String(), "F") {
			if r, err := units.Parse("°R"); err == nil {
				u = r
			}
		}
	case units.Gauge:
		u = v.Unit.Difference()
	default:
		return v, false
	}
	return eval.Value{SI: v.SI, Unit: u, Shown: u.FromSI(v.SI, p.ambient)}, true
}

// num writes a figure's number as MathML.
func (o *buf) num(n string) {
	mantissa, exp, found := strings.Cut(n, "×10")
	o.raw("<mn>")
	o.text(mantissa)
	o.raw("</mn>")
	if found {
		o.raw("<mo>×</mo><msup><mn>10</mn><mn>")
		o.text(plainDigits.Replace(exp))
		o.raw("</mn></msup>")
	}
}

// unitGap stands between a number and its unit: a no-break space that MathML does not take off
// the edge of a text, as it would an ordinary one.
const unitGap = "\u00a0"

// mathUnit writes a unit after a number in MathML; the unit 1 is not written.
func (o *buf) mathUnit(u units.Unit) {
	if u.IsNone() {
		return
	}
	o.raw("<mtext>", unitGap)
	o.text(u.String())
	o.raw("</mtext>")
}

// figure writes a figure as text, with a no-break space before the unit.
func (o *buf) figure(f figure) {
	o.text(f.num)
	o.unitAfter(f.unit)
}

// unitAfter writes a unit after a number in text; the unit 1 is not written.
func (o *buf) unitAfter(u units.Unit) {
	if !u.IsNone() {
		o.raw("\u00a0", `<span class="u">`)
		o.text(u.String())
		o.raw("</span>")
	}
}

// mathFigure writes a figure as MathML.
func (o *buf) mathFigure(f figure) {
	o.num(f.num)
	o.mathUnit(f.unit)
}

// typeable is the figure as the notebook's language takes it: -6.5 K/km, 1.2e5 Pa.
func (f figure) typeable() string {
	mantissa, power, found := strings.Cut(f.num, "×10")
	text := strings.Replace(mantissa, "−", "-", 1)
	if found {
		text += "e" + strings.Replace(plainDigits.Replace(power), "−", "-", 1)
	}
	if f.unit.IsNone() {
		return text
	}
	return text + " " + f.unit.String()
}

// tableNumber prints a figure of a data table as it was typed: the shortest number that gives the
// same SI value. Converted to SI and back it may have moved in the last place of a float64.
func tableNumber(si float64, u units.Unit, ambient float64) string {
	const most = 15 // digits that any float64 keeps
	v := u.FromSI(si, ambient)
	var s string
	for digits := 1; digits <= most; digits++ {
		s = strconv.FormatFloat(v, 'g', digits, 64)
		if x, err := strconv.ParseFloat(s, 64); err == nil && u.ToSI(x, ambient) == si {
			break
		}
	}
	if strings.ContainsAny(s, "e") {
		if size := math.Abs(v); size >= 1e-4 && size < 1e15 {
			x, _ := strconv.ParseFloat(s, 64)
			return strings.Replace(strconv.FormatFloat(x, 'f', -1, 64), "-", "−", 1)
		}
		return typed(s)
	}
	return strings.Replace(s, "-", "−", 1)
}
