package lang

import (
	"strconv"
	"strings"
	"unicode"
)

// FormatExpr is the canonical text of an expression, in ASCII operators. Parsed again it gives the
// same tree.
func FormatExpr(e Expr) string {
	var w writer
	w.expr(e)
	return w.String()
}

// Substitute is the text of an expression in which every part that value knows is replaced by the
// text it gives, in brackets where a sign or a unit would be misread.
func Substitute(e Expr, value func(e Expr) (text string, ok bool)) string {
	w := writer{value: value}
	w.expr(e)
	return w.String()
}

type writer struct {
	strings.Builder
	value func(Expr) (string, bool)
}

// given is the text that replaces an expression.
func (w *writer) given(e Expr) (string, bool) {
	if w.value == nil {
		return "", false
	}
	return w.value(e)
}

func (w *writer) expr(e Expr) {
	if text, ok := w.given(e); ok {
		w.WriteString(text)
		return
	}
	switch e := e.(type) {
	case *Number:
		w.WriteString(e.Text)
		if e.Unit != nil {
			w.WriteString(" " + e.Unit.Text)
		}
	case *Ident:
		w.member(e.Of, e.Name)
	case *StateRef:
		w.WriteString("state ")
		w.member(e.Of, e.ID)
	case *Paren:
		w.WriteByte('(')
		w.expr(e.X)
		w.WriteByte(')')
	case *Call:
		w.member(e.Of, e.Fn)
		w.WriteByte('(')
		w.args(e.Args)
		w.WriteByte(')')
	case *Unary:
		w.unary(e, false)
	case *Binary:
		w.binary(e)
	case *Compare:
		for i, x := range e.Operands {
			if i > 0 {
				w.WriteString(" " + e.Ops[i-1] + " ")
			}
			w.operand(x, i > 0, false)
		}
	case *Cond:
		w.expr(e.If)
		w.WriteString(" ? ")
		w.expr(e.Then)
		w.WriteString(" : ")
		w.expr(e.Else)
	}
}

func (w *writer) member(of *Name, n Name) {
	if of != nil {
		w.WriteString(of.Text + ".")
	}
	w.WriteString(n.Text)
}

func (w *writer) args(args []Arg) {
	for i, a := range args {
		if i > 0 {
			w.WriteString(", ")
		}
		if a.Name != nil {
			w.WriteString(a.Name.Text + " = ")
		}
		w.expr(a.X)
	}
}

// unary writes -X or not X; tight where it stands after / or ^, so that a unit needs brackets.
func (w *writer) unary(e *Unary, tight bool) {
	w.WriteString(e.Op)
	if e.Op == "not" {
		w.WriteByte(' ')
	}
	w.operand(e.X, true, tight)
}

func (w *writer) binary(e *Binary) {
	// A row of sums leans to the left and may be long: follow it in a loop.
	var spine []*Binary
	var x Expr = e
	for {
		b, ok := x.(*Binary)
		if !ok {
			break
		}
		if _, ok := w.given(b); ok && b != e {
			break
		}
		spine = append(spine, b)
		x = b.X
	}
	w.operand(x, false, spine[len(spine)-1].Op == "^")
	for i := len(spine) - 1; i >= 0; i-- {
		b := spine[i]
		product := b.Op == "*" || b.Op == "/" || b.Op == "^"
		if product && !w.endsInUnit(b.X) {
			w.WriteString(b.Op)
		} else {
			w.WriteString(" " + b.Op + " ")
		}
		w.operand(b.Y, true, b.Op == "/" || b.Op == "^")
	}
}

// operand writes an operand. A replaced one gets brackets for its sign where an operator stands
// before it, and for its sign or unit where it is tight: raised, or after / or ^.
func (w *writer) operand(x Expr, after, tight bool) {
	text, ok := w.given(x)
	switch {
	case !ok:
		if u, isUnary := x.(*Unary); isUnary {
			w.unary(u, tight)
			return
		}
		w.expr(x)
	case signed(text) && (after || tight) || tight && hasUnit(text):
		w.WriteString("(" + text + ")")
	default:
		w.WriteString(text)
	}
}

func signed(text string) bool {
	return strings.HasPrefix(text, "-") || strings.HasPrefix(text, "−") || strings.HasPrefix(text, "+")
}

// hasUnit reports a value's text that is more than a number.
func hasUnit(text string) bool {
	return strings.ContainsFunc(text, func(r rune) bool {
		return unicode.IsSpace(r) || r == '%' || r == '°' || unicode.IsLetter(r) && r != 'e' && r != 'E'
	})
}

// endsInUnit reports that the last thing written of an expression is a unit, which would swallow
// a product sign directly after it.
func (w *writer) endsInUnit(e Expr) bool {
	for {
		if text, ok := w.given(e); ok {
			return hasUnit(text)
		}
		switch x := e.(type) {
		case *Number:
			return x.Unit != nil
		case *Unary:
			e = x.X
		case *Binary:
			e = x.Y
		default:
			return false
		}
	}
}

func (s Shown) text() string {
	var w writer
	w.member(s.Of, s.Name)
	if s.In != nil {
		w.WriteString(" in " + s.In.Text)
	}
	if s.Digits > 0 {
		w.WriteString(", " + strconv.Itoa(s.Digits) + " digit")
		if s.Digits > 1 {
			w.WriteByte('s')
		}
	}
	return w.String()
}
