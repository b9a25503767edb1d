package lang

import (
	"bytes"
	"strconv"
	"strings"
	"unicode"
)

// FormatExpr is the canonical text of an expression, in ASCII operators. Parsed again it gives the
// same tree.
func FormatExpr(e Expr) string {
	return string(AppendExpr(nil, e))
}

// AppendExpr appends FormatExpr to b.
func AppendExpr(b []byte, e Expr) []byte { return AppendSubstituted(b, e, nil) }

// AppendSubstituted appends the text of an expression in which every part that value knows is
// replaced by the text it gives, in brackets where a sign or a unit would be misread.
func AppendSubstituted(b []byte, e Expr, value func(e Expr) (text string, ok bool)) []byte {
	w := writer{Buffer: *bytes.NewBuffer(b), value: value}
	w.expr(e)
	return w.Bytes()
}

type writer struct {
	bytes.Buffer
	value func(Expr) (string, bool)
	// unit says that the last thing written is a unit, which would swallow a product sign directly
	// after it.
	unit bool
}

// given is the text that replaces an expression.
func (w *writer) given(e Expr) (string, bool) {
	if w.value == nil {
		return "", false
	}
	return w.value(e)
}

func (w *writer) expr(e Expr) { w.operand(e, false, false) }

// operand writes an expression. A replaced one gets brackets for its sign where an operator stands
// before it, and for its sign or unit where it is tight: raised, or after / or ^.
func (w *writer) operand(x Expr, after, tight bool) {
	text, ok := w.given(x)
	w.put(x, text, ok, after, tight)
}

func (w *writer) put(x Expr, text string, given, after, tight bool) {
	switch {
	case !given:
		w.node(x, tight)
	case signed(text) && (after || tight) || tight && hasUnit(text):
		w.WriteString("(" + text + ")")
		w.unit = false
	default:
		w.WriteString(text)
		w.unit = hasUnit(text)
	}
}

func (w *writer) node(e Expr, tight bool) {
	switch e := e.(type) {
	case *Number:
		w.WriteString(e.Text)
		if e.Unit != nil {
			w.WriteByte(' ')
			w.WriteString(e.Unit.Text)
		}
		w.unit = e.Unit != nil
	case *Ident:
		w.member(e.Of, e.Name)
		w.unit = false
	case *StateRef:
		w.WriteString("state ")
		w.member(e.Of, e.ID)
		w.unit = false
	case *Paren:
		w.WriteByte('(')
		w.expr(e.X)
		w.WriteByte(')')
		w.unit = false
	case *Call:
		w.member(e.Of, e.Fn)
		w.WriteByte('(')
		w.args(e.Args)
		w.WriteByte(')')
		w.unit = false
	case *Unary:
		w.WriteString(e.Op)
		if e.Op == "not" {
			w.WriteByte(' ')
		}
		w.operand(e.X, true, tight)
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

// binary writes a row of operations. It leans to the left and may be long, so that side is followed
// in a loop.
func (w *writer) binary(e *Binary) {
	var few [8]*Binary
	spine := append(few[:0], e)
	x := e.X
	text, given := w.given(x)
	for !given {
		b, ok := x.(*Binary)
		if !ok {
			break
		}
		spine = append(spine, b)
		x = b.X
		text, given = w.given(x)
	}
	w.put(x, text, given, false, spine[len(spine)-1].Op == "^")
	for i := len(spine) - 1; i >= 0; i-- {
		b := spine[i]
		if (b.Op == "*" || b.Op == "/" || b.Op == "^") && !w.unit {
			w.WriteString(b.Op)
		} else {
			w.WriteByte(' ')
			w.WriteString(b.Op)
			w.WriteByte(' ')
		}
		w.operand(b.Y, true, b.Op == "/" || b.Op == "^")
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
