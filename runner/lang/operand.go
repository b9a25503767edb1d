package lang

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

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
	case i > 0 && i+1 < len(p.toks) && !infix(t) && (p.toks[i-1].op("(") || p.toks[i-1].op(",")) && (p.toks[i+1].op(")") || p.toks[i+1].op(",")):
		p.fail(t.at, CodeWord, fmt.Sprintf("`%s` is a word of the language and no value", t.text), "expected a value",
			fmt.Sprintf("if the state is meant, write state %s", t.text))
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
		i = p.ofCycle(i, hi, of, &n)
		loc = loc.Join(n.Loc)
		if i+1 < hi && p.toks[i].op(".") && p.toks[i+1].kind == tName {
			p.fail(loc.Join(p.toks[i+1].at), CodeName, "one sheet and one cycle are named before a symbol, not more", "expected SHEET.NAME or SHEET.CYCLE.NAME",
				fmt.Sprintf("use the notebook of %s on this sheet too", n.Text))
			return nil, i
		}
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

// ofCycle reads the last part of gt.plant.eta: the sheet and its cycle are then one name in of.
func (p *parser) ofCycle(i, hi int, of, n *Name) int {
	if i+1 < hi && p.toks[i].op(".") && p.toks[i+1].kind == tName {
		*of = Name{At{of.Loc.Join(n.Loc)}, of.Text + "." + n.Text}
		*n = p.nameAt(i + 1)
		i += 2
	}
	return i
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
			if p.toks[next].op("=") && a.Name == nil {
				p.fail(p.span(lo, next+1).Loc, CodeArgument, "an argument is named by its name alone", "expected "+ref.ID.Text+" =", fmt.Sprintf("write %s = state …", ref.ID.Text))
				return a, false
			}
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
		if t.op("(") && int(t.match) > i { // an unclosed bracket has no match
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
	at, grouped, groups := a.at.Join(b.at), a.text, 0
	for i := comma; i+1 < len(p.toks) && p.toks[i].op(",") && p.toks[i+1].kind == tNumber && p.toks[i].at.End == p.toks[i+1].at.Start; i += 2 {
		whole, _, _ := strings.Cut(p.toks[i+1].text, ".")
		if p.toks[i-1].at.End != p.toks[i].at.Start || len(whole) != 3 {
			break
		}
		grouped, at.End = grouped+p.toks[i+1].text, p.toks[i+1].at.End
		groups++
	}
	switch {
	case groups == 0 || len(a.text) > 3 || a.text[0] == '0' || strings.ContainsAny(a.text, ".eE"):
		p.fail(a.at.Join(b.at), CodeNumber, "a number is written with a decimal point", "a comma separates things", "write "+a.text+"."+b.text)
	case groups > 1 || strings.Contains(b.text, "."):
		p.fail(at, CodeNumber, "figures are not grouped", "a comma separates things", "write "+grouped)
	default:
		p.fail(at, CodeNumber, "this number can be read in two ways", "a comma separates things",
			fmt.Sprintf("write %s if the comma groups figures, %s.%s if it is the decimal sign", grouped, a.text, b.text))
	}
	return true
}
