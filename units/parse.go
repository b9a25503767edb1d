package units

import (
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// A unit is short. These bounds keep a hostile text from costing anything.
const (
	maxTerms = 32
	maxDepth = 16
)

// Parse reads a whole string as a unit; "1" is the dimensionless unit. The error is a *ParseError.
//
// `*` and `·` multiply, `/` divides, inside brackets a space multiplies; ², ^2, ^-1, ^(1/2) raise. What could be
// read in two ways is refused with both readings.
func Parse(s string) (Unit, error) {
	if sym, ok := symbols()[s]; ok {
		return sym.unit, nil
	}
	if u, ok := common()[s]; ok {
		return u, nil
	}
	return parse(s)
}

// term is one symbol of a unit with its exponent. Where a product follows a solidus the exponent depends on
// who reads it: literal goes strictly from left to right, denominator puts all that follows under the bar.
type term struct {
	sym         *symbol
	literal     ratio
	denominator ratio
	offset, len int
}

type parser struct {
	text   string
	pos    int
	depth  int
	open   int // where the outermost open bracket stands
	terms  [maxTerms]term
	n      int
	factor int // factors read, the number 1 included
	// the first operator that made the text ambiguous: its place, 0-length where there is none
	doubtAt, doubtLen int
	hyphen            bool
}

func parse(s string) (Unit, error) {
	p := parser{text: s}
	if err := p.all(); err != nil {
		return Unit{}, err
	}
	if p.doubtLen > 0 {
		return Unit{}, p.doubt()
	}
	return p.unit()
}

func (p *parser) fail(offset, length int, reason string, readings ...string) *ParseError {
	return &ParseError{Text: p.text, Offset: offset, Len: length, Reason: reason, Readings: readings}
}

func (p *parser) all() error {
	if p.text == "" {
		return p.fail(0, 0, "it is empty")
	}
	if err := p.product(1, 1); err != nil {
		return err
	}
	if p.pos < len(p.text) {
		return p.unexpected()
	}
	return nil
}

// product reads factors joined by operators, up to the end or to the bracket that closes it.
func (p *parser) product(literal, denominator int) error {
	lit, den := literal, denominator
	slash := false
	for {
		if err := p.oneFactor(lit, den); err != nil {
			return err
		}
		at := p.pos
		op := p.operator()
		switch op {
		case 0:
			return nil
		case '/':
			slash = true
			lit, den = -literal, -denominator
		default:
			lit = literal
			if (slash || op == '-') && p.doubtLen == 0 {
				p.doubtAt, p.doubtLen, p.hyphen = at, p.pos-at, op == '-'
			}
			if slash {
				den = -denominator
			}
		}
		if p.depth > 0 {
			p.spaces()
		}
	}
}

// operator takes an operator and returns '/', '*' or, for a hyphen between units, '-'; 0 where none stands here.
func (p *parser) operator() byte {
	start := p.pos
	if p.depth > 0 {
		p.spaces()
	}
	rest := p.text[p.pos:]
	if n := operatorLen(rest); n > 0 {
		p.pos += n
		if rest[0] == '/' {
			return '/'
		}
		return '*'
	}
	if len(rest) > 1 && rest[0] == '-' && startsSymbol(rest[1:]) {
		p.pos++
		return '-'
	}
	if p.pos > start && startsFactor(rest) {
		return '*'
	}
	return 0
}

func (p *parser) spaces() {
	for p.pos < len(p.text) && p.text[p.pos] == ' ' {
		p.pos++
	}
}

func (p *parser) oneFactor(literal, denominator int) error {
	p.factor++
	rest := p.text[p.pos:]
	if strings.HasPrefix(rest, "(") {
		return p.bracket(literal, denominator)
	}
	if p.factor == 1 && p.depth == 0 && strings.HasPrefix(rest, "1") && !startsSymbol(rest[1:]) && !startsNumber(rest[1:]) {
		p.pos++ // the 1 of 1/s
		return nil
	}
	n := symbolLen(rest)
	if n == 0 {
		return p.unexpected()
	}
	start := p.pos
	name := rest[:n]
	sym, ok := symbols()[name]
	if !ok {
		return p.unknown(start, n)
	}
	p.pos += n
	num, den, err := p.exponent()
	if err != nil {
		return err
	}
	lit, ok1 := newRatio(literal*num, den)
	alt, ok2 := newRatio(denominator*num, den)
	if !ok1 || !ok2 {
		return p.fail(start, p.pos-start, "the exponent is beyond any physical quantity")
	}
	if num == 0 {
		return p.fail(start, p.pos-start, "the exponent 0 leaves no unit")
	}
	if p.n == maxTerms {
		return p.fail(start, p.pos-start, "it has too many factors")
	}
	p.terms[p.n] = term{sym, lit, alt, start, p.pos - start}
	p.n++
	return nil
}

func (p *parser) bracket(literal, denominator int) error {
	open := p.pos
	if p.depth == maxDepth {
		return p.fail(open, 1, "its brackets are nested too deeply")
	}
	if p.depth == 0 {
		p.open = open
	}
	p.depth++
	p.pos++
	p.spaces()
	if err := p.product(literal, denominator); err != nil {
		return err
	}
	p.spaces()
	if p.pos == len(p.text) {
		return p.fail(open, 1, "this bracket is not closed")
	}
	if p.text[p.pos] != ')' {
		return p.unexpected()
	}
	p.pos++
	p.depth--
	if _, length := scanExponent(p.text[p.pos:]); length > 0 {
		return p.fail(p.pos, length, "raise each unit inside the bracket instead")
	}
	return nil
}

// exponent reads ², ^2, ^-1, ^0.5 or ^(1/2) after a symbol; without one it is 1.
func (p *parser) exponent() (num, den int, err error) {
	text, length := scanExponent(p.text[p.pos:])
	if length == 0 {
		return 1, 1, nil
	}
	num, den, ok := exponentValue(text)
	if !ok {
		e := p.fail(p.pos, length, "an exponent is a small number such as ², ^-1 or ^(1/2)")
		if strings.ContainsFunc(text, unicode.IsLetter) {
			e.Readings = p.spaced(p.pos + 1)
		}
		return 0, 0, e
	}
	p.pos += length
	return num, den, nil
}

// spaced returns the text with spaces around the operator that ends at offset, or, inside a bracket, around the
// one before the bracket: that is arithmetic, not a unit. It has nothing to offer where there is no operator.
func (p *parser) spaced(offset int) []string {
	if p.depth > 0 {
		offset = p.open
	}
	if strings.Count(p.text, "(") != strings.Count(p.text, ")") {
		return nil
	}
	for _, op := range []string{"/", "*", "·", "⋅", "^"} {
		if before, ok := strings.CutSuffix(p.text[:offset], op); ok && before != "" {
			return []string{before + " " + op + " " + p.text[offset:]}
		}
	}
	return nil
}

// unexpected reports what stands at the present place.
func (p *parser) unexpected() error {
	if p.pos >= len(p.text) {
		_, n := utf8.DecodeLastRuneInString(p.text)
		return p.fail(len(p.text)-n, n, "a unit is missing after this")
	}
	rest := p.text[p.pos:]
	r, n := utf8.DecodeRuneInString(rest)
	switch {
	case r == ')' && p.depth > 0:
		return p.fail(p.pos, n, "a unit is missing before this")
	case r == ')':
		return p.fail(p.pos, n, "this bracket was never opened")
	case r == ' ' && p.depth == 0:
		return p.fail(p.pos, n, "a space is a product only inside brackets")
	case startsSymbol(rest) || r == '(':
		reading := p.text[:p.pos] + "·" + rest
		if strings.Contains(p.text[:p.pos], "/") {
			return p.fail(p.pos, n, "an operator is missing here")
		}
		return p.fail(p.pos, n, "an operator is missing here", reading)
	case startsNumber(rest):
		return p.fail(p.pos, n, "a number is no part of a unit")
	}
	return p.fail(p.pos, n, "this is no part of a unit")
}

// doubt reports a product after a solidus, or a hyphen, with what either reading would be.
func (p *parser) doubt() error {
	under, literal := make([]factor, p.n), make([]factor, p.n)
	for i, t := range p.terms[:p.n] {
		// A °C in here would be refused next, so the readings are given in K at once.
		sym := symbols()[absoluteText(t.sym.text)]
		under[i], literal[i] = factor{sym, t.denominator}, factor{sym, t.literal}
	}
	a, b := canonical(merge(under), false), canonical(merge(literal), false)
	reason := "it can be read in two ways"
	if p.hyphen {
		reason = "a hyphen between units is no operator (a subtraction has spaces around it)"
	}
	if a == b {
		return p.fail(p.doubtAt, p.doubtLen, reason, a)
	}
	return p.fail(p.doubtAt, p.doubtLen, reason, a, b)
}

// unknown reports a symbol that is in no table: a unit refused on purpose, a misspelt one, or the sheet's own symbol
// (2 kg*h2) that wants spaces around its operator.
func (p *parser) unknown(start, n int) error {
	name := p.text[start : start+n]
	whole := func(part string) string {
		if strings.HasSuffix(p.text[:start], "/") && strings.Contains(part, "·") {
			part = "(" + part + ")" // what was run together stood under the bar
		}
		return p.text[:start] + part + p.text[start+n:]
	}
	err := p.fail(start, n, name+" is not the symbol of a unit")
	h, refused := hintFor(name)
	if name == "Nm" && cubed(p.text[start+n:]) {
		h, refused = hintFor("Nm³")
	}
	if refused {
		err.Reason, err.Known = h.reason, true
		for _, r := range h.readings {
			err.Readings = append(err.Readings, whole(r))
		}
	} else if allKnown(p.text[start+n:]) {
		for _, near := range nearSymbols(name) {
			err.Near = append(err.Near, whole(near))
		}
	} else {
		err.Near = mended(p.text)
	}
	if name != "in" { // a keyword is no symbol of the sheet
		err.Readings = append(err.Readings, p.spaced(start)...)
	}
	return err
}

// cubed reports a third power at the start of s.
func cubed(s string) bool {
	text, _ := scanExponent(s)
	num, den, ok := exponentValue(text)
	return ok && num == 3 && den == 1
}

// unit builds the unit from the terms read.
func (p *parser) unit() (Unit, error) {
	if p.n == 0 {
		if p.text == "1" {
			return Unit{}, nil
		}
		return Unit{}, p.fail(0, len(p.text), "it holds no unit")
	}
	if p.n == 1 && p.terms[0].literal == (ratio{num: 1}) {
		return p.terms[0].sym.unit, nil
	}
	if err := p.pointInside(); err != nil {
		return Unit{}, err
	}
	merged := merge(p.factors())
	d := &def{num: 1, den: 1}
	e10 := 0
	var notes []string
	for _, f := range merged {
		power, err := f.sym.dim.Pow(int(f.exp.num), f.exp.den())
		if err == nil {
			d.dim = d.dim.Mul(power)
			err = d.dim.Err()
		}
		if err != nil {
			return Unit{}, p.fail(0, len(p.text), "its dimension is beyond any physical quantity")
		}
		e10 += d.raise(f)
		if f.sym.note != "" && !slices.Contains(notes, f.sym.note) {
			notes = append(notes, f.sym.note)
		}
	}
	d.note = strings.Join(notes, "; ")
	d.num, d.den = shift(d.num, d.den, e10)
	if f := d.num / d.den; !(f > 1e-200 && f < 1e200 && d.num < 1e200 && d.den < 1e200) {
		return Unit{}, p.fail(0, len(p.text), "its size is beyond any physical quantity")
	}
	d.text, d.ascii = canonical(merged, false), canonical(merged, true)
	if sym, ok := symbols()[d.text]; ok {
		return sym.unit, nil
	}
	return Unit{d}, nil
}

func (p *parser) factors() []factor {
	fs := make([]factor, p.n)
	for i, t := range p.terms[:p.n] {
		fs[i] = factor{t.sym, t.literal}
	}
	return fs
}

// pointInside refuses °C and gauge pressures that are multiplied, divided or raised: only what counts from the
// quantity's own zero can be.
func (p *parser) pointInside() error {
	for _, t := range p.terms[:p.n] {
		if t.sym.kind != Point && t.sym.kind != Gauge {
			continue
		}
		fs := p.factors()
		for i := range fs {
			fs[i].sym = symbols()[absoluteText(fs[i].sym.text)]
		}
		reason := t.sym.text + " is a point on a scale, and cannot be multiplied or divided"
		if t.sym.kind == Gauge {
			reason = t.sym.text + " counts from the ambient pressure, and cannot be multiplied or divided"
		}
		return p.fail(t.offset, t.len, reason, canonical(merge(fs), false))
	}
	return nil
}

// raise multiplies d by a factor to its power and returns the power of ten to be folded in at the end.
func (d *def) raise(f factor) int {
	n := int(f.exp.num)
	if den := f.exp.den(); den != 1 {
		num, q := shift(f.sym.num, f.sym.den, f.sym.e10)
		d.num *= math.Pow(num/q, float64(n)/float64(den))
		return 0
	}
	num, den := f.sym.num, f.sym.den
	if n < 0 {
		num, den = den, num
	}
	for range max(n, -n) {
		d.num *= num
		d.den *= den
	}
	return n * f.sym.e10
}
