package lang

import (
	"fmt"
	"strings"

	"workings/runner/diag"
	"workings/units"
)

// input reads a line of an inputs fence: NAME = value, then ± spread, within lo .. hi and
// in UNIT in any order.
func (p *parser) input(lo, hi int, c Caption) Stmt {
	t := &p.toks[lo]
	if t.kind == tWord && opening(t.text) && !(lo+1 < hi && p.toks[lo+1].op("=")) {
		p.fail(t.at, CodeFence, fmt.Sprintf("%s line belongs into a calc fence", article(t.text)), "an inputs fence holds inputs only", "begin a fence ```calc")
		return nil
	}
	if t.kind == tWord && lo+1 < hi && p.toks[lo+1].op("=") {
		p.wordAsName(t)
		return nil
	}
	if t.kind == tName && t.text == "correlation" && lo+1 < hi && p.toks[lo+1].op("(") {
		return p.correlation(lo, hi, c)
	}
	outs, eq, ok := p.defined(lo, hi)
	if !ok {
		return nil
	}
	if len(outs) > 1 || outs[0].State {
		p.fail(p.span(lo, eq).Loc, CodeFence, "an input is a single symbol", "expected one name before =", "states and calls belong into a calc fence")
		return nil
	}
	in := &Input{At: p.span(lo, hi), Name: outs[0].Name, Caption: c}
	end := p.find(eq+1, hi, clause)
	if end == eq+1 {
		p.operandMissing(end)
		return nil
	}
	for i := eq + 2; i+1 < end; i++ {
		// 1300 K +- 10 K is no sum: nobody subtracts by adding.
		if p.toks[i].op("+") && p.toks[i+1].op("-") && !p.toks[i+1].gap && p.toks[i-1].kind != tOp {
			p.fail(p.span(i, i+2).Loc, CodeSpread, "`+-` may be meant as a spread or as a sum", "which of them?", "write ± or +/- for a standard uncertainty, + (-x) for a sum")
			return nil
		}
	}
	if in.X = p.expr(eq+1, end); in.X == nil {
		return nil
	}
	for end < hi {
		from := end
		end = p.find(from+1, hi, clause)
		if !p.clause(in, from, end) {
			return nil
		}
	}
	if !p.spreadFits(in) {
		return nil
	}
	return in
}

// clause reports a token that begins one of the parts after an input's value.
func clause(t *token) bool { return t.op("±") || t.word("within") || t.word("in") }

func (p *parser) clause(in *Input, from, end int) bool {
	t := &p.toks[from]
	twice := t.op("±") && in.Spread != nil || t.word("within") && in.Between != nil || t.word("in") && in.In != nil
	if twice {
		p.fail(t.at, CodeUnexpected, fmt.Sprintf("`%s` stands twice in this line", t.text), "expected the end of the line", "")
		return false
	}
	switch t.text {
	case "in":
		u, ok := p.unitAfterIn(from, end)
		if !ok {
			return false
		}
		if from+2 < end {
			p.leftOver(from + 2)
			return false
		}
		in.In = u
	case "within":
		in.Between = p.between(from, end)
		return in.Between != nil
	default:
		if from+1 == end {
			p.fail(t.at, CodeSpread, "the spread is missing after `±`", "expected a value after this", "write ± 10 K, for example")
			return false
		}
		in.Spread = p.expr(from+1, end)
		return in.Spread != nil
	}
	return true
}

// between reads `within lo .. hi`, from being the index of `within`.
func (p *parser) between(from, hi int) *Range {
	dots := p.find(from+1, hi, func(t *token) bool { return t.op("..") })
	if dots == hi {
		at, label := p.toks[from].at, "expected lo .. hi after this"
		if from+1 < hi {
			at, label = p.span(from+1, hi).Loc, "expected lo .. hi"
		}
		p.fail(at, CodeRange, "a range has two ends", label, "write within 4 .. 16, for example")
		return nil
	}
	return p.ends(from+1, dots, hi)
}

// ends reads the two ends of a range, parted by token mid.
func (p *parser) ends(lo, mid, hi int) *Range {
	if lo == mid {
		p.fail(p.toks[mid].at, CodeRange, fmt.Sprintf("the lower end is missing before `%s`", p.toks[mid].text), "expected a value before this", "")
		return nil
	}
	if mid+1 == hi {
		p.fail(p.toks[mid].at, CodeRange, fmt.Sprintf("the upper end is missing after `%s`", p.toks[mid].text), "expected a value after this", "")
		return nil
	}
	a := p.expr(lo, mid)
	if a == nil {
		return nil
	}
	b := p.expr(mid+1, hi)
	if b == nil {
		return nil
	}
	return &Range{At{a.Span().Join(b.Span())}, a, b}
}

// spreadFits refuses spreads that can be read in two ways, or not at all.
func (p *parser) spreadFits(in *Input) bool {
	if in.Spread == nil {
		return true
	}
	if u, ok := in.Spread.(*Unary); ok && u.Op == "-" {
		p.fail(u.Loc, CodeSpread, "a spread is not negative", "expected a positive value", "")
		return false
	}
	n, ok := in.Spread.(*Number)
	if !ok || n.Unit == nil {
		return true
	}
	if p.degrees(n, "a spread") {
		return false
	}
	if v, ok := bare(in.X).(*Number); ok && n.Unit.Text == "%" && (v.Unit == nil || v.Unit.Text == "%") {
		p.fail(n.Loc, CodePercent, "this spread can be read in two ways", "percentage points, or per cent of the value?",
			fmt.Sprintf("write ± %s %%pt for percentage points or ± %s %%rel for per cent of the value", n.Text, n.Text))
		return false
	}
	return true
}

// bare is an expression without its sign and brackets.
func bare(x Expr) Expr {
	for {
		switch y := x.(type) {
		case *Paren:
			x = y.X
		case *Unary:
			x = y.X
		default:
			return x
		}
	}
}

// degrees reports a difference given in °C or °F, which are points on a scale.
func (p *parser) degrees(n *Number, what string) bool {
	u, err := units.Parse(n.Unit.Text)
	if err != nil || u.Kind() != units.Point {
		return false
	}
	hint := fmt.Sprintf("write %s %s", n.Text, u.Difference())
	if strings.Contains(u.ASCII(), "C") {
		hint = fmt.Sprintf("write %s K or %s %s", n.Text, n.Text, u.Difference())
	}
	p.fail(n.Unit.Loc, CodeDegrees, fmt.Sprintf("%s is a difference, and %s a point on a scale", what, n.Unit.Text), "expected K, or a unit of differences", hint)
	return true
}

// check reads `check CONDITION`, `check a == b within tolerance`, `check a within lo .. hi`; the
// same with caution.
func (p *parser) check(lo, hi int, c Caption) Stmt {
	word := p.toks[lo].text
	k := &Check{At: p.span(lo, hi), Caution: word == "caution", Caption: c}
	within := p.find(lo+1, hi, func(t *token) bool { return t.word("within") })
	if lo+1 == within {
		p.fail(p.toks[lo].at, CodeCheck, fmt.Sprintf("`%s` needs a condition", word), "expected a condition after this", fmt.Sprintf("write %s a < b, %s a == b within 0.1 %% or %s a within lo .. hi", word, word, word))
		return nil
	}
	if !p.compares(lo+1, within) {
		return nil
	}
	if k.X = p.expr(lo+1, within); k.X == nil {
		return nil
	}
	if within == hi {
		if value(k.X) {
			p.fail(k.X.Span(), CodeCheck, fmt.Sprintf("this %s compares nothing", word), "expected a condition", fmt.Sprintf("write %s a < b, %s a == b within 0.1 %% or %s a within lo .. hi", word, word, word))
			return nil
		}
		return k
	}
	cmp, isCompare := k.X.(*Compare)
	if dots := p.find(within+1, hi, func(t *token) bool { return t.op("..") }); dots < hi {
		if k.Between = p.between(within, hi); k.Between == nil {
			return nil
		}
		if !value(k.X) {
			p.fail(p.span(within, hi).Loc, CodeCheck, "a range bounds a value, not a condition", "expected a tolerance after a comparison", fmt.Sprintf("write %s a within lo .. hi, or a == b within 0.1 %%", word))
			return nil
		}
		return k
	}
	if within+1 == hi {
		p.fail(p.toks[within].at, CodeRange, "a tolerance or a range is missing after `within`", "expected 0.1 %, or lo .. hi", "")
		return nil
	}
	if k.Tolerance = p.expr(within+1, hi); k.Tolerance == nil {
		return nil
	}
	if !isCompare || len(cmp.Ops) != 1 || cmp.Ops[0] != "==" {
		hint := "write a == b within 0.1 %"
		if value(k.X) {
			hint = "write within lo .. hi for a range"
		}
		p.fail(p.span(within, hi).Loc, CodeCheck, "a tolerance belongs to `==`", "nothing is compared with == here", hint)
		return nil
	}
	if n, ok := k.Tolerance.(*Number); ok && n.Unit != nil && p.degrees(n, "a tolerance") {
		return nil
	}
	return k
}

// compares reports a single = where a comparison is meant.
func (p *parser) compares(lo, hi int) bool {
	if eq := p.find(lo, hi, func(t *token) bool { return t.op("=") }); eq < hi {
		p.fail(p.toks[eq].at, CodeEquals, "`=` defines, it does not compare", "expected ==", "two values are compared with ==")
		return false
	}
	return true
}

// value reports an expression that is a number by its form, and so no condition.
func value(x Expr) bool {
	switch x := x.(type) {
	case *Compare:
		return false
	case *Unary:
		return x.Op != "not"
	case *Binary:
		return x.Op != "and" && x.Op != "or"
	case *Paren:
		return value(x.X)
	case *Cond:
		return value(x.Then) && value(x.Else)
	}
	return true
}

// nearHint suggests what a word may have meant.
func nearHint(word string, words []string) string {
	if near := diag.Near(word, words); len(near) > 0 {
		return "did you mean " + near[0] + "?"
	}
	return ""
}
