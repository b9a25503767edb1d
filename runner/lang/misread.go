package lang

import (
	"errors"
	"fmt"
	"strings"

	"workings/runner/diag"
	"workings/units"
)

// afterOperand reports token i, which stands where an operator should.
func (p *parser) afterOperand(i, lo int, argument bool) {
	t, before := &p.toks[i], &p.toks[i-1]
	switch t.kind {
	case tName, tNumber, tID:
		p.noOperator(i, argument)
	case tString:
		p.fail(t.at, CodeUnexpected, "a text in quotes cannot stand here", "expected an operator or the end", "")
	case tUnit:
		p.fail(t.at, CodeUnexpected, fmt.Sprintf("the unit `%s` cannot stand here", t.text), "expected an operator or the end", "")
	case tWord:
		p.wordAfter(i)
	default:
		switch t.text {
		case "(":
			p.noOperator(i, argument)
		case "=":
			if argument && i-1 > lo {
				p.fail(t.at, CodeArgument, "only a name can be given a value here", "expected an operator, a comma or a )", "write NAME = value; two values are compared with ==")
				return
			}
			p.fail(t.at, CodeEquals, "`=` defines, it does not compare", "expected == or the end", "two values are compared with ==")
		case ":":
			if argument && i-1 == lo && before.kind == tName {
				p.fail(t.at, CodeArgument, "a named argument is written with `=`", "expected =", fmt.Sprintf("write %s = …", before.text))
				return
			}
			p.fail(t.at, CodeUnexpected, "`:` belongs to a `?` before it", "expected an operator or the end", "write cond ? a : b")
		case ",":
			if p.decimalComma(i) {
				return
			}
			p.fail(t.at, CodeUnexpected, "a comma cannot stand here", "expected an operator or the end", "a comma separates arguments and names only")
		case "±":
			p.fail(t.at, CodeSpread, "a spread belongs to an input", "expected an operator or the end", "write NAME = value ± spread in an inputs fence")
		case "..":
			p.fail(t.at, CodeRange, "a range stands only after `within`", "expected an operator or the end", "write within lo .. hi")
		default:
			p.fail(t.at, CodeUnexpected, fmt.Sprintf("`%s` cannot stand here", t.text), "expected an operator or the end", "")
		}
	}
}

func (p *parser) wordAfter(i int) {
	t := &p.toks[i]
	switch t.text {
	case "in":
		p.fail(t.at, CodeUnexpected, "`in` cannot stand here", "expected an operator or the end", "`in` gives the unit in which a symbol is shown, at the end of the line that defines it")
	case "within":
		p.fail(t.at, CodeUnexpected, "`within` cannot stand here", "expected an operator or the end", "`within` belongs to an input, a check or a caution, once")
	case "not":
		p.fail(t.at, CodeOperator, "`not` stands before a condition", "expected an operator or the end", "unequal is written !=")
	case "state":
		p.noOperator(i, true)
	default:
		p.fail(t.at, CodeUnexpected, fmt.Sprintf("`%s` begins a line", t.text), "expected an operator or the end", "put what follows on a line of its own")
	}
}

// noOperator reports two values side by side.
func (p *parser) noOperator(i int, argument bool) {
	t, before := &p.toks[i], &p.toks[i-1]
	at := before.at.Join(t.at)
	left, right := p.spelled(before), p.spelled(t)
	times := "*"
	if before.kind == tUnit {
		left, times = p.toks[i-2].text+" "+left, " * "
		at = at.Join(p.toks[i-2].at)
	}
	switch {
	case before.name("if") || t.name("then"):
		p.fail(at, CodeNoOperator, "a choice is written with `?` and `:`", "the language has no "+map[bool]string{true: "if", false: "then"}[before.name("if")], "write condition ? a : b")
	case before.kind == tUnit && t.kind == tName && p.spacedUnit(i, at):
	case before.kind == tNumber && t.kind == tNumber && len(t.text) == 3 && !strings.ContainsAny(before.text+t.text, ".eE"):
		whole := before.text
		for ; i < len(p.toks) && p.toks[i].kind == tNumber && len(p.toks[i].text) == 3; i++ {
			whole, at.End = whole+p.toks[i].text, p.toks[i].at.End
		}
		p.fail(at, CodeNumber, "figures are not grouped", "expected figures alone", "write "+whole)
	case before.kind == tNumber && t.text == "1" && i+2 < len(p.toks) && p.toks[i+1].op("/") && p.toks[i+2].kind == tName:
		p.fail(at.Join(p.toks[i+2].at), CodeUnit, "a unit begins with a letter, °, % or Δ", "expected a unit such as s^-1", fmt.Sprintf("write %s %s^-1", left, p.toks[i+2].text))
	case argument:
		p.fail(at, CodeArgument, fmt.Sprintf("a comma is missing between `%s` and `%s`", left, right), "expected a comma between them", fmt.Sprintf("write %s, %s", left, right))
	case before.kind == tName && (t.kind == tName || t.kind == tNumber):
		p.fail(at, CodeNoOperator, fmt.Sprintf("an operator is missing between `%s` and `%s`", left, right), "expected an operator between them",
			fmt.Sprintf("write %s(%s) for a function of it, %s*%s for a product", left, right, left, right))
	default:
		hint := "a product is written " + left + times + right
		if t.kind == tName && unitProblem(t.text, t.at, "") == nil {
			hint += "; a unit stands directly after a number, or after `in`"
		}
		p.fail(at, CodeNoOperator, fmt.Sprintf("an operator is missing between `%s` and `%s`", left, right), "expected an operator between them", hint)
	}
}

// spacedUnit reports a unit that goes on after a space, token i: 287 J/kg K.
func (p *parser) spacedUnit(i int, at diag.Span) bool {
	number, before, t := &p.toks[i-2], &p.toks[i-1], &p.toks[i]
	if _, err := units.Parse(t.text); err != nil || i+1 < len(p.toks) && p.toks[i+1].op("=") {
		return false
	}
	rest := t.text
	if i+2 < len(p.toks) && p.toks[i+1].op("^") {
		j := i + 2
		for ; p.toks[j].op("-") && j+1 < len(p.toks); j++ {
		}
		if p.toks[j].kind == tNumber {
			rest += "^" + strings.Repeat("-", j-i-2) + p.toks[j].text
		}
	}
	hint := fmt.Sprintf("write %s %s·%s", number.text, before.text, rest)
	if pr := unitProblem(before.text+"·"+rest, t.at, number.text); pr != nil {
		hint = pr.Hint
	}
	p.fail(at, CodeUnit, "a unit is written without spaces", fmt.Sprintf("the unit ended before this `%s`", t.text), hint)
	return true
}

// halfSpaced reports an operator at i, after a quantity, that has a space on one side only and a
// unit behind it: 3 kJ /kg. With none it is part of the unit, with two it is not.
func (p *parser) halfSpaced(i, hi int) bool {
	op := &p.toks[i]
	if p.toks[i-1].kind != tUnit || i+1 >= hi || p.toks[i+1].kind != tName || i+2 < hi && (p.toks[i+2].op("(") || p.toks[i+2].op(".")) {
		return false
	}
	number, unit, t := &p.toks[i-2], &p.toks[i-1], &p.toks[i+1]
	if (unit.at.End == op.at.Start) == (op.at.End == t.at.Start) {
		return false
	}
	joined := unit.text + op.text + t.text
	if _, err := units.Parse(joined); err != nil {
		return false
	}
	p.fail(number.at.Join(t.at), CodeUnit, "this can be read in two ways", "a space on one side only",
		fmt.Sprintf("write %s %s for the unit, %s %s %s %s where %s is a symbol", number.text, joined, number.text, unit.text, op.text, t.text, t.text))
	return true
}

// spelled is a token as it may be quoted in a message: a bracket stands for what is in it.
func (p *parser) spelled(t *token) string {
	switch {
	case t.op("(") || t.op(")"):
		return "(…)"
	case t.word("state"):
		return "state …"
	}
	return t.text
}

// unit reads token i as a unit. number is what stands before it, "" after `in`.
func (p *parser) unit(i int, number string) *UnitText {
	t := &p.toks[i]
	if pr := unitProblem(t.text, t.at, number); pr != nil {
		if !p.failed {
			p.failed = true
			p.report(pr)
		}
		return nil
	}
	return &UnitText{At{t.at}, t.text}
}

// unitProblem says what is wrong with the unit text at a place; nil if nothing is.
func unitProblem(text string, at diag.Span, number string) *diag.Problem {
	_, err := units.Parse(text)
	if err == nil {
		return nil
	}
	pr := &diag.Problem{Code: CodeUnit, Severity: diag.Error, Span: at, Message: fmt.Sprintf("`%s` is no unit", text)}
	var e *units.ParseError
	if !errors.As(err, &e) {
		return pr
	}
	pr.Label = e.Reason
	if e.Len > 0 && e.Offset+e.Len <= len(text) {
		pr.Span = diag.Span{Start: at.Start + e.Offset, End: at.Start + e.Offset + e.Len}
	}
	before := ""
	if number != "" {
		before = number + " "
	}
	var ways []string
	if product, ok := gravity(text, e); ok && number != "" {
		ways = append(ways, before+product)
	}
	for _, r := range e.Readings {
		if number == "" && strings.Contains(r, " ") {
			continue // arithmetic, which cannot follow `in`
		}
		ways = append(ways, before+r)
	}
	switch {
	case len(ways) > 0 && len(e.Near) > 0: // the sheet's own symbol, or a unit misspelt
		at := text[e.Offset : e.Offset+e.Len]
		pr.Hint = fmt.Sprintf("write %s%s for the unit, %s where %s is a symbol", before, strings.Join(e.Near, " or "+before), strings.Join(ways, " or "), at)
		return pr
	case len(ways) > 0:
		pr.Hint = "write " + strings.Join(ways, " or ")
		return pr
	case len(e.Near) > 0:
		pr.Hint = "did you mean " + strings.Join(e.Near, " or ") + "?"
	}
	if number != "" && nameLen(text) == len(text) && !e.Known {
		if pr.Hint == "" {
			pr.Hint = fmt.Sprintf("a product is written %s*%s", number, text)
		} else {
			pr.Hint += fmt.Sprintf(" A product is written %s*%s", number, text)
		}
	}
	return pr
}

// gravity reads a refused unit as a product with the constant g_n, where the operator at fault stands
// before it: kg/m³*g_n.
func gravity(text string, e *units.ParseError) (string, bool) {
	if e.Offset+e.Len > len(text) || !strings.HasPrefix(text[e.Offset+e.Len:], "g_n") {
		return "", false
	}
	unit, rest := text[:e.Offset], text[e.Offset+e.Len:]
	if _, err := units.Parse(unit); err != nil {
		return "", false
	}
	return unit + " * " + rest, true
}

// unitAfterIn reads the unit that ends the tokens from lo, which is `in`.
func (p *parser) unitAfterIn(lo, hi int) (*UnitText, bool) {
	if lo+1 == hi || p.toks[lo+1].kind != tUnit {
		at, label := p.toks[lo].at, "expected a unit after this"
		if lo+1 < hi {
			at, label = p.toks[lo+1].at, "expected a unit"
		}
		p.fail(at, CodeUnit, "a unit is missing after `in`", label, "write in kJ/kg, for example; the length is called inch")
		return nil, false
	}
	u := p.unit(lo+1, "")
	if u == nil {
		return nil, false
	}
	if lo+2 < hi {
		t := &p.toks[lo+2]
		if t.op("/") || t.op("*") || t.op("^") {
			p.fail(t.at, CodeUnit, "a unit is written without spaces", fmt.Sprintf("the unit ended before this `%s`", t.text), "write in kJ/(kg·K), for example")
			return nil, false
		}
		return u, true
	}
	return u, true
}
