package lang

import (
	"fmt"

	"github.com/expr-lang/expr/ast"
	exprparser "github.com/expr-lang/expr/parser"

	"workings/runner/diag"
	"workings/units"
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
				if (t.text == "/" || t.text == "*") && p.halfSpaced(i, hi) {
					return false
				}
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
	sign := ""
	for k := i - 1; k > j; k-- {
		sign = p.toks[k].text + sign
	}
	at := p.toks[j+1].at.Join(n.Loc)
	if p.toks[j].op("/") {
		p.fail(at, CodeUnitBracket, "a quantity with a unit needs brackets after `/`", "is the unit divided by too?",
			fmt.Sprintf("write /(%s)", sign+FormatExpr(n)))
		return false
	}
	if u, err := units.Parse(n.Unit.Text); err == nil && u.Dimension().IsNone() {
		p.fail(at, CodeUnitBracket, "a quantity with a unit needs brackets after `^`", "is the unit the exponent too?",
			fmt.Sprintf("write ^(%s)", sign+FormatExpr(n)))
		return false
	}
	base, power := p.spelled(&p.toks[j-1]), sign+n.Text
	hint := fmt.Sprintf("write %s^%s*(1 %s)", base, power, n.Unit.Text)
	if p.toks[j-1].kind == tNumber {
		hint += fmt.Sprintf(", or (%s %s)^%s to raise the unit too", base, n.Unit.Text, power)
	}
	p.fail(at, CodeUnitBracket, "an exponent has no unit", "the unit cannot stand after this power", hint)
	return false
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
	root := p.shapes[string(p.buf)]
	if root == nil {
		tree, err := new(exprparser.Parser).Parse(string(p.buf), &p.config)
		if err != nil {
			// row has checked what expr could object to.
			p.fail(p.extent(items), CodeUnexpected, "this expression cannot be read", "expected operands and operators in turn", "")
			return nil
		}
		root = tree.Node
		if len(p.buf) <= longShape {
			p.shapes[string(p.buf)] = root
		}
	}
	return p.convert(root, items)
}

// longShape is how long a shape may be, in bytes, that others are likely to have as well.
const longShape = 80

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
