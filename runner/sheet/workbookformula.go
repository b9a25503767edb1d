package sheet

import (
	"regexp"
	"strconv"
	"strings"

	"workings/runner/lang"
	"workings/runner/resolve"
)

// What spreadsheets take of one formula: 8192 characters and 64 levels of functions (ECMA-376 leaves
// it open; the figures are those that common programs state, from memory).
const (
	longestFormula = 8000
	deepestFormula = 60
)

// formula is a formula of a spreadsheet under construction.
type formula struct {
	*workbook
	depth int
}

// The order in which a spreadsheet binds: a sign more tightly than a power, and powers to the left,
// so that both are always put in brackets.
const (
	bindCompare = iota
	bindSum
	bindProduct
	bindAtom
)

// translate writes an expression as a formula in SI over the cells of its symbols; false where a
// part of it has no counterpart in a spreadsheet, such as a look-up of a property.
func (w *workbook) translate(x *resolve.Expr) (string, bool) {
	if x == nil {
		return "", false
	}
	f := formula{workbook: w}
	text, _, ok := f.expr(x)
	return text, ok && len(text) <= longestFormula
}

func (f *formula) expr(x *resolve.Expr) (text string, bind int, ok bool) {
	if f.depth++; f.depth > 4*deepestFormula && x.Op != resolve.OpAdd && x.Op != resolve.OpSub && x.Op != resolve.OpMul {
		return "", 0, false
	}
	defer func() { f.depth-- }()
	switch x.Op {
	case resolve.OpConst:
		s := strconv.FormatFloat(x.Value, 'G', -1, 64)
		if x.Value < 0 {
			return "(" + s + ")", bindAtom, true
		}
		return s, bindAtom, true
	case resolve.OpRef:
		s, ok := f.reference(x.Sym)
		return s, bindAtom, ok
	case resolve.OpNeg:
		s, ok := f.within(x.Args[0], bindAtom)
		return "-" + s, bindSum, ok
	case resolve.OpAdd:
		return f.binary(x, "+", bindSum, bindSum, bindProduct)
	case resolve.OpSub:
		return f.binary(x, "-", bindSum, bindSum, bindProduct)
	case resolve.OpMul:
		return f.binary(x, "*", bindProduct, bindProduct, bindAtom)
	case resolve.OpDiv:
		return f.binary(x, "/", bindProduct, bindProduct, bindAtom)
	case resolve.OpPow:
		a, ok := f.within(x.Args[0], bindAtom)
		b, ok2 := f.within(x.Args[1], bindAtom)
		return "(" + a + "^" + b + ")", bindAtom, ok && ok2
	case resolve.OpLess:
		return f.binary(x, "<", bindCompare, bindSum, bindSum)
	case resolve.OpLessEq:
		return f.binary(x, "<=", bindCompare, bindSum, bindSum)
	case resolve.OpEqual:
		return f.binary(x, "=", bindCompare, bindSum, bindSum)
	case resolve.OpNotEqual:
		return f.binary(x, "<>", bindCompare, bindSum, bindSum)
	case resolve.OpNot:
		return f.call("NOT", x.Args)
	case resolve.OpAnd, resolve.OpOr:
		// IF leaves the right side alone where the left decides, as the language does: AND would not.
		a, ok := f.within(x.Args[0], bindCompare)
		b, ok2 := f.within(x.Args[1], bindCompare)
		if x.Op == resolve.OpAnd {
			return "IF(" + a + "," + b + ",FALSE)", bindAtom, ok && ok2
		}
		return "IF(" + a + ",TRUE," + b + ")", bindAtom, ok && ok2
	case resolve.OpCond:
		return f.call("IF", x.Args)
	case resolve.OpFunc:
		if name := spreadsheetFunction(x.Fn.Name); name != "" {
			return f.call(name, x.Args)
		}
	}
	return "", 0, false
}

// within writes an operand, in brackets where it binds less tightly than it must.
func (f *formula) within(x *resolve.Expr, least int) (string, bool) {
	text, bind, ok := f.expr(x)
	if !ok || len(text) > longestFormula {
		return "", false
	}
	if bind < least {
		text = "(" + text + ")"
	}
	return text, true
}

func (f *formula) binary(x *resolve.Expr, op string, bind, left, right int) (string, int, bool) {
	a, ok := f.within(x.Args[0], left)
	if !ok {
		return "", 0, false
	}
	b, ok := f.within(x.Args[1], right)
	return a + op + b, bind, ok
}

func (f *formula) call(name string, args []*resolve.Expr) (string, int, bool) {
	parts := make([]string, len(args))
	for i, a := range args {
		s, ok := f.within(a, bindCompare)
		if !ok {
			return "", 0, false
		}
		parts[i] = s
	}
	return name + "(" + strings.Join(parts, ",") + ")", bindAtom, true
}

// spreadsheetFunction is the name under which spreadsheets know a function of the language, or "".
func spreadsheetFunction(name string) string {
	switch name {
	case "sqrt", "exp", "ln", "log10", "sin", "cos", "tan", "asin", "acos", "atan", "sinh", "cosh", "tanh", "abs", "min", "max", "sum":
		return strings.ToUpper(name)
	case "mean":
		return "AVERAGE"
	}
	return ""
}

// reference is how a formula names a symbol: by its own name where a spreadsheet allows it, else by
// its cell.
func (w *workbook) reference(s *resolve.Symbol) (string, bool) {
	at := w.rowOf(s)
	if at == nil {
		return "", false
	}
	if n := w.nameOf[at]; n != "" {
		return n, true
	}
	return at.si(), true
}

// rowOf is the row that holds a symbol's value, or nil.
func (w *workbook) rowOf(s *resolve.Symbol) *bookRow {
	if s == nil {
		return nil
	}
	if r := w.rows[s]; r != nil {
		return r
	}
	return w.rows[w.callers(s)]
}

// name gives a row a defined name. A spreadsheet's names know no case, and what looks like a cell
// is none, so that T1 is called T_1; the second of two that would be the same has none.
func (w *workbook) name(r *bookRow) {
	text := strings.ReplaceAll(r.sym.Full(), ".", "_")
	if r.sym.Local || len(w.names) == mostNames || !plainName.MatchString(text) {
		return
	}
	if cellLike.MatchString(text) {
		p := lang.Print(r.sym.Name)
		stem := text[:len(text)-len(strings.TrimLeft(text, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"))]
		text = stem + "_" + text[len(stem):]
		if p.Sub == "" || cellLike.MatchString(text) {
			return
		}
	}
	key := strings.ToLower(text)
	if w.taken[key] {
		return
	}
	w.taken[key] = true
	w.nameOf[r] = text
	w.names = append(w.names, r)
}

// mostNames bounds the defined names: excelize compares each new one with all before it.
const mostNames = 4000

var (
	plainName = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9_]*$`)
	// cellLike are the two forms of a cell's address, A1 and R1C1, and the words for truth.
	cellLike = regexp.MustCompile(`(?i)^([a-z]{1,3}[0-9]+|r[0-9]*(c[0-9]*)?|c[0-9]*|true|false)$`)
)
