package sheet

import (
	"unicode/utf8"

	"workings/runner/lang"
	"workings/runner/resolve"
)

// Binding strengths, weakest first. An operand that binds more weakly than its place asks for
// gets brackets, whether its author wrote them or not.
const (
	free = iota
	precCond
	precOr
	precAnd
	precNot
	precCompare
	precSum
	precProduct
	precSign
	precPower
	precAtom
)

// maths typesets one expression as MathML: as written, or with the sheet's values put in.
//
// Nothing inside one <math> breaks across lines, so at the outermost level a new <math> begins
// before every operator at which a line may end.
type maths struct {
	*buf
	page    *page
	refs    *bindings
	values  bool // put the values in
	bare    bool // without units: they follow once, after the bracket
	small   int  // inside so many exponents: fractions become a solidus
	nest    int  // inside so many MathML elements, where no line can break
	width   int  // characters so far, to estimate the width
	display bool // fractions at their full size
	breaks  bool // it has places where a line may end
	failed  bool // a value to be put in is missing
	// bound are the variables of the integrals around, which have no value.
	bound []*resolve.Symbol
	// with are exponents too wide to be read as such: they stand in symbols, and with their
	// values on a line below.
	with  *[]lang.Expr
	depth int
}

// operator writes an operator between two operands.
func (m *maths) operator(op string) {
	m.width += 2
	m.raw("<mo>", op, "</mo>")
}

// infix writes an operator before which a line may break.
func (m *maths) infix(op string) {
	if m.nest > 0 {
		m.operator(op)
		return
	}
	m.width += 2
	m.breaks = true
	m.raw(m.between())
	if op == "+" || op == "−" {
		m.raw(`<mo form="infix">`, op, "</mo>") // else taken for a sign
		return
	}
	m.raw("<mo>", op, "</mo>")
}

// begin opens a <math>; only what holds a fraction asks for the large style.
func (m *maths) begin() string {
	if m.display {
		return `<math displaystyle="true">`
	}
	return "<math>"
}

// between ends one <math> and begins the next, with a place between them where a line may end.
func (m *maths) between() string {
	if m.display {
		return `</math><wbr/><math displaystyle="true">`
	}
	return "</math><wbr/><math>"
}

// times writes the sign of a product: nothing but a thin space between symbols, a cross between
// numbers, which would run together.
func (m *maths) times(right lang.Expr) {
	if m.values {
		m.infix("×")
		return
	}
	if n, ok := strip(right).(*lang.Number); ok && n != nil {
		m.operator("·")
		return
	}
	m.width++
	m.raw(times)
}

// times is a product's sign between symbols: a thin space, which is heard as "times". applied
// stands between a function and its argument.
const (
	times   = "<mo rspace=\".16em\">\u2062</mo>"
	applied = "<mo>\u2061</mo>"
)

// word writes the name of a function or a method upright; MathML slants a single letter.
func (m *maths) word(name string) {
	if utf8.RuneCountInString(name) == 1 {
		m.raw(`<mi mathvariant="normal">`)
	} else {
		m.raw("<mi>")
	}
	m.text(name)
	m.raw("</mi>")
}

func (m *maths) open(element string) { m.nest++; m.raw("<", element, ">") }

func (m *maths) close(element string) { m.nest--; m.raw("</", element, ">") }

// brackets writes ( … ). They grow only around a fraction; elsewhere browsers would space them.
func (m *maths) brackets(tall bool, inside func()) {
	m.width += 2
	if tall {
		m.open("mrow")
		m.raw("<mo>(</mo>")
		inside()
		m.raw("<mo>)</mo>")
		m.close("mrow")
		return
	}
	m.raw(`<mo stretchy="false">(</mo>`)
	inside()
	m.raw(`<mo stretchy="false">)</mo>`)
}

// strip takes the author's own brackets off, where the layout shows the grouping.
func strip(e lang.Expr) lang.Expr {
	for {
		p, ok := e.(*lang.Paren)
		if !ok {
			return e
		}
		e = p.X
	}
}

// tall reports whether an expression holds a fraction that stands on the line.
func (m *maths) tall(e lang.Expr) bool {
	if m.small > 0 {
		return false
	}
	switch e := e.(type) {
	case *lang.Paren:
		return m.tall(e.X)
	case *lang.Unary:
		return m.tall(e.X)
	case *lang.Binary:
		for { // along the left spine, which may be as long as the line
			if e.Op == "/" || e.Op != "^" && m.tall(e.Y) {
				return true
			}
			left, ok := e.X.(*lang.Binary)
			if !ok {
				return m.tall(e.X)
			}
			e = left
		}
	case *lang.Cond:
		return true
	case *lang.Compare:
		for _, x := range e.Operands {
			if m.tall(x) {
				return true
			}
		}
	case *lang.Call:
		return overInterval(e)
	}
	return false
}

func prec(e lang.Expr, small bool) int {
	switch e := e.(type) {
	case *lang.Cond:
		return precCond
	case *lang.Compare:
		return precCompare
	case *lang.Unary:
		if e.Op == "not" {
			return precNot
		}
		return precSign
	case *lang.Binary:
		switch e.Op {
		case "or":
			return precOr
		case "and":
			return precAnd
		case "+", "-":
			return precSum
		case "*":
			return precProduct
		case "/":
			if small {
				return precProduct
			}
			return precAtom
		case "^":
			return precPower
		}
	}
	return precAtom
}

// expr writes e where its surroundings bind as strongly as need. lead says that nothing stands
// before it, so that a negative number needs no brackets.
func (m *maths) expr(e lang.Expr, need int, lead bool) {
	if m.depth++; m.depth > maxDepth {
		m.failed = true
		m.depth--
		return
	}
	defer func() { m.depth-- }()
	if p, ok := e.(*lang.Paren); ok {
		if need == free {
			m.expr(p.X, free, true)
			return
		}
		if sum, ok := strip(p).(*lang.Binary); ok && m.groupUnit(sum) {
			m.group(sum, need)
			return
		}
		m.brackets(m.tall(p.X), func() { m.expr(p.X, free, true) })
		return
	}
	if sum, ok := e.(*lang.Binary); ok && m.groupUnit(sum) {
		m.group(sum, need)
		return
	}
	if prec(e, m.small > 0) < need {
		m.brackets(m.tall(e), func() { m.expr(e, free, true) })
		return
	}
	switch e := e.(type) {
	case *lang.Number:
		m.number(e, need, lead)
	case *lang.Ident:
		m.ident(e, need, lead)
	case *lang.Unary:
		m.unary(e)
	case *lang.Binary:
		m.binary(e, lead)
	case *lang.Compare:
		for i, x := range e.Operands {
			if i > 0 {
				m.infix(relation(e.Ops[i-1]))
			}
			m.expr(x, precSum, true)
		}
	case *lang.Cond:
		m.cases(e)
	case *lang.Call:
		m.call(e)
	case *lang.StateRef:
		m.raw("<mtext>")
		m.text(e.ID.Text)
		m.raw("</mtext>")
	}
}

// maxDepth keeps a page from ending in a stack overflow; it is above every depth that the
// language's own limit of nesting lets through.
const maxDepth = 4000

func relation(op string) string {
	switch op {
	case "==":
		return "="
	case "!=":
		return "≠"
	case "<":
		return "&lt;"
	case "<=":
		return "≤"
	case ">":
		return "&gt;"
	case ">=":
		return "≥"
	}
	return op
}

func (m *maths) unary(e *lang.Unary) {
	switch e.Op {
	case "not":
		m.width += 4
		m.raw(`<mi mathvariant="normal">not</mi><mspace width=".25em"/>`)
		m.expr(e.X, precNot, true)
		return
	case "+":
		m.raw(`<mo form="prefix">+</mo>`)
	default:
		m.raw(`<mo form="prefix">−</mo>`)
	}
	m.width++
	m.expr(e.X, precSign, false)
}

func (m *maths) binary(e *lang.Binary, lead bool) {
	switch e.Op {
	case "+", "-", "*":
		m.spine(e, lead)
	case "/":
		m.fraction(e, lead)
	case "^":
		m.power(e)
	default:
		m.expr(e.X, prec(e, false), true)
		m.width += 4
		if m.nest == 0 {
			m.breaks = true
			m.raw(m.between())
		}
		m.raw("<mtext>&#xA0;", e.Op, "&#xA0;</mtext>")
		m.expr(e.Y, prec(e, false)+1, true)
	}
}

// spine writes a chain of + and −, or of ·, without recursion along its left side: a sum of
// thousands of terms is one line, not thousands of levels.
func (m *maths) spine(e *lang.Binary, lead bool) {
	own := prec(e, m.small > 0)
	var chain []*lang.Binary
	var first lang.Expr = e
	for {
		b, ok := first.(*lang.Binary)
		if !ok || prec(b, m.small > 0) != own || b.Op == "/" {
			break
		}
		chain = append(chain, b)
		first = b.X
	}
	m.expr(first, own, lead)
	for i := len(chain) - 1; i >= 0; i-- {
		b := chain[i]
		switch b.Op {
		case "+":
			m.infix("+")
		case "-":
			m.infix("−")
		default:
			m.times(b.Y)
		}
		m.expr(b.Y, own+1, false)
	}
}

func (m *maths) fraction(e *lang.Binary, lead bool) {
	if m.small > 0 {
		m.expr(e.X, precProduct, lead)
		m.width++
		m.raw(`<mo lspace="0" rspace="0">/</mo>`)
		m.expr(e.Y, precSign, false)
		return
	}
	before := m.width
	m.open("mfrac")
	m.part(e.X)
	numerator := m.width - before
	m.width = before
	m.part(e.Y)
	m.width = before + max(numerator, m.width-before)
	m.close("mfrac")
}

// part is one child of a fraction, a root or a power.
func (m *maths) part(e lang.Expr) {
	m.open("mrow")
	m.expr(strip(e), free, true)
	m.close("mrow")
}

func (m *maths) power(e *lang.Binary) {
	bare := m.bare
	defer func() { m.bare = bare }()
	m.bare = false
	if id, ok := e.X.(*lang.Ident); ok && !m.values {
		if base, sub, ok := m.scripts(id); ok {
			// Index and exponent above one another, as c₁² is printed.
			m.open("msubsup")
			m.raw(base, sub)
			m.exponent(e.Y)
			m.close("msubsup")
			return
		}
	}
	m.open("msup")
	m.open("mrow")
	base := strip(e.X)
	switch base.(type) {
	case *lang.Number, *lang.Ident:
		m.expr(base, precPower, false)
	default:
		if m.groupUnit(base) {
			m.expr(base, precPower, false)
		} else {
			m.brackets(m.tall(base), func() { m.expr(base, free, true) })
		}
	}
	m.close("mrow")
	m.exponent(e.Y)
	m.close("msup")
}

func (m *maths) exponent(e lang.Expr) {
	m.small++
	defer func() { m.small-- }()
	start, width := len(m.b), m.width
	m.part(e)
	if m.width-width <= widestExponent || !m.values || m.with == nil {
		return
	}
	m.b, m.width = m.b[:start], width
	m.values = false
	m.part(e)
	m.values = true
	*m.with = append(*m.with, strip(e))
}

// widestExponent is how many characters an exponent may have with its values put in.
const widestExponent = 26

func (m *maths) cases(e *lang.Cond) {
	m.width += 4
	m.open("mrow")
	m.raw(`<mo>{</mo><mtable class="cases">`)
	for n := 0; ; n++ {
		m.raw("<mtr><mtd>")
		m.expr(e.Then, free, true)
		m.raw(`</mtd><mtd><mtext>if&#xA0;</mtext>`)
		m.expr(e.If, free, true)
		m.raw("</mtd></mtr>")
		next, ok := strip(e.Else).(*lang.Cond)
		if !ok {
			break
		}
		e = next
	}
	m.raw("<mtr><mtd>")
	m.expr(e.Else, free, true)
	m.raw("</mtd><mtd><mtext>otherwise</mtext></mtd></mtr></mtable>")
	m.close("mrow")
}
