package lang

import (
	"fmt"
	"math"
	"strconv"

	"github.com/expr-lang/expr/ast"
	exprparser "github.com/expr-lang/expr/parser"

	"workings/runner/diag"
)

// item is what expr's parser sees as one token: an operand that was parsed here, or an operator.
type item struct {
	x  Expr
	op *token
}

// expr parses the tokens from lo to hi, brackets matched, as an expression. It returns nil after
// reporting what is wrong; the caller has made sure that there is a token.
//
// Operands are parsed here, brackets and calls by coming back here for what is inside them. What
// remains is a row of operands and operators, and its grammar is expr's: it is handed to expr's
// parser with an x for every operand, and the tree that comes back is turned into ours at once.
func (p *parser) expr(lo, hi int) Expr { return p.exprIn(lo, hi, false) }

func (p *parser) exprIn(lo, hi int, argument bool) Expr {
	base := len(p.items)
	defer func() { p.items = p.items[:base] }()
	if !p.row(lo, hi, argument) {
		return nil
	}
	items := p.items[base:]
	switch {
	case len(items) == 1:
		return items[0].x
	case len(items) == 3 && items[0].op == nil && items[2].op == nil:
		return joined(items[0].x, items[1].op, items[2].x) // one operator applies to all there is
	}
	return p.grammar(items)
}

// row cuts the tokens into operands and operators, checks that they alternate as they should, and
// appends them to p.items.
func (p *parser) row(lo, hi int, argument bool) bool {
	nest, conds, open := 0, 0, 0 // for the limit; `?` that wait for their `:`
	wantOperand := true
	for i := lo; i < hi; {
		t := &p.toks[i]
		if !wantOperand {
			switch {
			case infix(t):
				if t.text == "^" {
					nest++
				} else {
					nest = 0
				}
			case t.op("?"):
				conds++
				open++
				nest = 0
			case t.op(":") && open > 0:
				open--
				nest = 0
			default:
				p.afterOperand(i, lo, argument)
				return false
			}
			p.items = append(p.items, item{op: t})
			wantOperand = true
			i++
			continue
		}
		if t.op("-") || t.op("+") || t.word("not") {
			if t.word("not") && !p.notAllowed(i, lo) {
				return false
			}
			nest++
			p.items = append(p.items, item{op: t})
			i++
			continue
		}
		if p.depth+nest+conds > MaxNesting {
			p.nesting(t.at) // brackets alone have been counted already
			return false
		}
		p.depth += nest + conds
		x, next := p.operand(i, hi)
		p.depth -= nest + conds
		if x == nil {
			return false
		}
		if n, ok := x.(*Number); ok && n.Unit != nil && !p.unitAllowed(i, lo, n) {
			return false
		}
		p.items = append(p.items, item{x: x})
		i = next
		wantOperand = false
	}
	if wantOperand {
		p.operandMissing(hi)
		return false
	}
	if open > 0 {
		p.fail(p.toks[hi-1].at, CodeOperand, "this condition has no second value", "expected : and a value after it", "write cond ? a : b")
		return false
	}
	return true
}

// notAllowed reports a `not` in the middle of arithmetic.
func (p *parser) notAllowed(i, lo int) bool {
	if i == lo {
		return true
	}
	before := &p.toks[i-1]
	if before.kind == tWord || before.op("?") || before.op(":") {
		return true
	}
	p.fail(p.toks[i].at, CodeOperator, "`not` needs brackets here", fmt.Sprintf("it cannot follow %s", before.text), "write (not …)")
	return false
}

// unitAllowed reports a quantity straight after / or ^, where its unit could be taken for a
// further operand.
func (p *parser) unitAllowed(i, lo int, n *Number) bool {
	j := i - 1
	for j > lo && (p.toks[j].op("-") || p.toks[j].op("+")) && goesOn(&p.toks[j-1]) {
		j--
	}
	if j < lo || !p.toks[j].op("/") && !p.toks[j].op("^") {
		return true
	}
	op := p.toks[j].text
	what := "divided by"
	if op == "^" {
		what = "the exponent"
	}
	spelling := FormatExpr(n)
	for k := i - 1; k > j; k-- {
		spelling = p.toks[k].text + spelling
	}
	p.fail(p.toks[j+1].at.Join(n.Loc), CodeUnitBracket, fmt.Sprintf("a quantity with a unit needs brackets after `%s`", op),
		"is the unit "+what+" too?", fmt.Sprintf("write %s(%s)", op, spelling))
	return false
}

// operand parses one operand at i and returns it with the index of what follows.
func (p *parser) operand(i, hi int) (Expr, int) {
	t := &p.toks[i]
	switch t.kind {
	case tNumber:
		return p.number(i, hi)
	case tName:
		return p.named(i, hi)
	case tOp:
		if t.text != "(" {
			break
		}
		end := int(t.match)
		if end == i+1 {
			p.fail(t.at.Join(p.toks[end].at), CodeOperand, "these brackets are empty", "expected a value", "")
			return nil, i
		}
		p.depth++
		x := p.expr(i+1, end)
		p.depth--
		if x == nil {
			return nil, i
		}
		return &Paren{At{t.at.Join(p.toks[end].at)}, x}, end + 1
	case tString:
		p.fail(t.at, CodeUnexpected, "a text in quotes is no value", "expected a value", "")
		return nil, i
	case tUnit, tID:
		p.fail(t.at, CodeUnexpected, fmt.Sprintf("`%s` is no value", t.text), "expected a value", "")
		return nil, i
	case tWord:
		p.wordAsValue(i, hi)
		return nil, i
	}
	p.operandMissing(i)
	return nil, i
}

func (p *parser) wordAsValue(i, hi int) {
	t := &p.toks[i]
	switch {
	case t.text == "state" && i+1 < hi && p.toks[i+1].kind == tID:
		id := &p.toks[i+1]
		p.fail(t.at.Join(id.at), CodeState, "a state is no number", "expected a value",
			fmt.Sprintf("read a property of it, such as T_%s", id.text))
	case i > 0 && (infix(t) || t.text == "in" || t.text == "within" || t.text == "and"):
		p.operandMissing(i)
	default:
		p.fail(t.at, CodeWord, fmt.Sprintf("`%s` is a word of the language and cannot be a name", t.text), "expected a value",
			fmt.Sprintf("choose another name, such as %s_1", t.text))
	}
}

// operandMissing reports that a value should stand before token i, which is not one.
func (p *parser) operandMissing(i int) {
	if i < len(p.toks) {
		t := &p.toks[i]
		if i == 0 || (p.toks[i-1].op("(") || p.toks[i-1].op(",")) && !t.op(")") {
			p.fail(t.at, CodeOperand, fmt.Sprintf("a value is missing before `%s`", t.text), "expected a value before this", "")
			return
		}
	}
	before := &p.toks[i-1]
	p.fail(before.at, CodeOperand, fmt.Sprintf("a value is missing after `%s`", before.text), "expected a value after this", "")
}

func (p *parser) number(i, hi int) (Expr, int) {
	t := &p.toks[i]
	v, err := strconv.ParseFloat(t.text, 64)
	switch {
	case err != nil && math.IsInf(v, 0):
		p.fail(t.at, CodeNumber, "this number is too large", "the largest is about 1.8e308", "")
		return nil, i
	case err != nil:
		p.fail(t.at, CodeNumber, fmt.Sprintf("`%s` is no number", t.text), "expected a number", "")
		return nil, i
	case v == 0 && nonzero(t.text):
		p.fail(t.at, CodeNumber, "this number is too small to be told from zero", "the smallest is about 5e-324", "write 0 if that is meant")
		return nil, i
	}
	n := &Number{At: At{t.at}, Text: t.text, Value: v}
	if i+1 == hi || p.toks[i+1].kind != tUnit {
		return n, i + 1
	}
	if n.Unit = p.unit(i+1, t.text); n.Unit == nil {
		return nil, i
	}
	n.Loc.End = n.Unit.Loc.End
	return n, i + 2
}

// nonzero reports a figure other than 0 before the exponent.
func nonzero(s string) bool {
	for i := 0; i < len(s) && s[i] != 'e' && s[i] != 'E'; i++ {
		if s[i] >= '1' && s[i] <= '9' {
			return true
		}
	}
	return false
}

// named parses what begins with a name: a symbol, a member of a sheet, a call.
func (p *parser) named(i, hi int) (Expr, int) {
	n := p.nameAt(i)
	loc := n.Loc
	var of *Name
	i++
	if i < hi && p.toks[i].op(".") {
		if i+1 == hi || p.toks[i+1].kind != tName {
			p.fail(p.toks[i].at, CodeName, fmt.Sprintf("a name is missing after `%s.`", n.Text), "expected a name after this", "")
			return nil, i
		}
		whole := n
		of, n = &whole, p.nameAt(i+1)
		loc = loc.Join(n.Loc)
		i += 2
	}
	if i == hi || !p.toks[i].op("(") {
		return &Ident{At{loc}, of, n}, i
	}
	end := int(p.toks[i].match)
	args, ok := p.arguments(i+1, end)
	if !ok {
		return nil, i
	}
	return &Call{At{loc.Join(p.toks[end].at)}, of, n, args}, end + 1
}

func (p *parser) nameAt(i int) Name { return Name{At{p.toks[i].at}, p.toks[i].text} }

// arguments parses what stands between brackets, perhaps nothing.
func (p *parser) arguments(lo, hi int) ([]Arg, bool) {
	if lo == hi {
		return nil, true
	}
	p.depth++
	defer func() { p.depth-- }()
	var args []Arg
	for lo <= hi {
		end := p.find(lo, hi, func(t *token) bool { return t.op(",") })
		if end == lo {
			p.argumentMissing(lo)
			return nil, false
		}
		a, ok := p.argument(lo, end)
		if !ok {
			return nil, false
		}
		if a.Name == nil && len(args) > 0 && args[len(args)-1].Name != nil && p.decimalComma(lo-1) {
			return nil, false
		}
		args = append(args, a)
		lo = end + 1
	}
	return args, true
}

func (p *parser) argumentMissing(i int) {
	before := &p.toks[i-1]
	p.fail(before.at, CodeArgument, fmt.Sprintf("an argument is missing after `%s`", before.text), "expected an argument after this", "")
}

// argument parses X, NAME = X or `state ID`.
func (p *parser) argument(lo, hi int) (Arg, bool) {
	a := Arg{At: At{p.toks[lo].at.Join(p.toks[hi-1].at)}}
	if lo+1 < hi && p.toks[lo+1].op("=") {
		if p.toks[lo].kind != tName {
			p.fail(p.toks[lo].at, CodeName, fmt.Sprintf("an argument cannot be called `%s`", p.toks[lo].text), "expected a name", "")
			return a, false
		}
		n := p.nameAt(lo)
		a.Name = &n
		lo += 2
		if lo == hi {
			p.fail(p.toks[lo-1].at, CodeOperand, fmt.Sprintf("the argument %s has no value", n.Text), "expected a value after this", "")
			return a, false
		}
	}
	if p.toks[lo].word("state") {
		ref, next := p.stateRef(lo, hi)
		if ref == nil {
			return a, false
		}
		if next < hi {
			p.afterOperand(next, lo, true)
			return a, false
		}
		a.X = ref
		return a, true
	}
	a.X = p.exprIn(lo, hi, true)
	return a, a.X != nil
}

// stateRef parses `state ID` or `state SHEET.ID`.
func (p *parser) stateRef(lo, hi int) (*StateRef, int) {
	if lo+1 == hi || p.toks[lo+1].kind != tID {
		p.fail(p.toks[lo].at, CodeState, "the state's name is missing", "expected a name such as 2s after this", "")
		return nil, lo
	}
	id := p.nameAt(lo + 1)
	if lo+3 < hi && p.toks[lo+2].op(".") && p.toks[lo+3].kind == tID {
		of := id
		id = p.nameAt(lo + 3)
		return &StateRef{At{p.toks[lo].at.Join(id.Loc)}, &of, id}, lo + 4
	}
	return &StateRef{At{p.toks[lo].at.Join(id.Loc)}, nil, id}, lo + 2
}

// find is the index of the first token outside brackets that stop accepts, or hi.
func (p *parser) find(lo, hi int, stop func(*token) bool) int {
	for i := lo; i < hi; i++ {
		t := &p.toks[i]
		if stop(t) {
			return i
		}
		if t.op("(") {
			i = int(t.match)
		}
	}
	return hi
}

func (p *parser) decimalComma(comma int) bool {
	if comma < 1 || comma+1 >= len(p.toks) {
		return false
	}
	a, c, b := &p.toks[comma-1], &p.toks[comma], &p.toks[comma+1]
	if !c.op(",") || a.kind != tNumber || b.kind != tNumber || a.at.End != c.at.Start || c.at.End != b.at.Start {
		return false
	}
	p.fail(a.at.Join(b.at), CodeNumber, "a number is written with a decimal point", "a comma separates things", "write "+a.text+"."+b.text)
	return true
}

// grammar lets expr's parser find out what each operator of a row applies to.
func (p *parser) grammar(items []item) Expr {
	p.buf, p.where = p.buf[:0], p.where[:0]
	put := func(s string, i int) {
		for j := range len(s) {
			p.buf = append(p.buf, s[j])
			p.where = append(p.where, int32(i))
		}
	}
	nots := 0
	for i, it := range items {
		switch {
		case it.op == nil:
			put("x", i)
			continue
		case it.op.word("not"):
			// expr binds `not` tighter than a comparison, we do not.
			put("!(", i)
			nots++
			continue
		case it.op.kind == tWord || it.op.text == "?" || it.op.text == ":":
			for ; nots > 0; nots-- {
				put(")", i)
			}
		}
		switch {
		case it.op.text == "and":
			put("&&", i)
		case it.op.text == "or":
			put("||", i)
		case comparison(it.op.text):
			put("<", i) // expr chains this one; which comparison it is stays with the item
		default:
			put(it.op.text, i)
		}
	}
	for ; nots > 0; nots-- {
		put(")", 0)
	}
	tree, err := new(exprparser.Parser).Parse(string(p.buf), &p.config)
	if err != nil {
		// row has checked what expr could object to.
		p.fail(p.extent(items), CodeUnexpected, "this expression cannot be read", "expected operands and operators in turn", "")
		return nil
	}
	return p.convert(tree.Node, items)
}

func (p *parser) extent(items []item) diag.Span {
	at := func(it item) diag.Span {
		if it.op != nil {
			return it.op.at
		}
		return it.x.Span()
	}
	return at(items[0]).Join(at(items[len(items)-1]))
}

// convert turns expr's tree into ours. A row of operators of one rank leans to the left and may
// be long, so that side is followed in a loop.
func (p *parser) convert(n ast.Node, items []item) Expr {
	at := func(n ast.Node) *item { return &items[p.where[n.Location().From]] }
	var spine []*ast.BinaryNode
	for {
		b, ok := n.(*ast.BinaryNode)
		if !ok || comparison(at(b).op.text) {
			break
		}
		spine = append(spine, b)
		n = b.Left
	}
	var x Expr
	switch n := n.(type) {
	case *ast.IdentifierNode:
		x = at(n).x
	case *ast.UnaryNode:
		op, y := at(n).op, p.convert(n.Node, items)
		x = &Unary{At{op.at.Join(y.Span())}, op.text, y}
	case *ast.ConditionalNode:
		c := &Cond{If: p.convert(n.Cond, items), Then: p.convert(n.Exp1, items), Else: p.convert(n.Exp2, items)}
		c.Loc = c.If.Span().Join(c.Else.Span())
		x = c
	case *ast.BinaryNode:
		x = p.chain(n, items)
	}
	for i := len(spine) - 1; i >= 0; i-- {
		x = joined(x, at(spine[i]).op, p.convert(spine[i].Right, items))
	}
	return x
}

func joined(x Expr, op *token, y Expr) Expr {
	at := At{x.Span().Join(y.Span())}
	if comparison(op.text) {
		return &Compare{at, []string{op.text}, []diag.Span{op.at}, []Expr{x, y}}
	}
	return &Binary{at, op.text, op.at, x, y}
}

// chain turns a comparison into one node: expr makes (a < b) && (b < c) of a < b < c, with b in
// it twice.
func (p *parser) chain(n *ast.BinaryNode, items []item) Expr {
	var links []*ast.BinaryNode
	for n.Operator == "&&" {
		links = append(links, n.Right.(*ast.BinaryNode))
		n = n.Left.(*ast.BinaryNode)
	}
	links = append(links, n)
	c := &Compare{Operands: []Expr{p.convert(n.Left, items)}}
	for i := len(links) - 1; i >= 0; i-- {
		op := items[p.where[links[i].Location().From]].op
		c.Ops = append(c.Ops, op.text)
		c.OpAt = append(c.OpAt, op.at)
		c.Operands = append(c.Operands, p.convert(links[i].Right, items))
	}
	c.Loc = c.Operands[0].Span().Join(c.Operands[len(c.Operands)-1].Span())
	return c
}
