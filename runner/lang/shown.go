package lang

import (
	"fmt"
	"strconv"
	"strings"

	"workings/runner/diag"
)

// MaxDigits is the most digits that a result can be shown with: what a float64 holds for certain.
const MaxDigits = 15

const shownForm = "write NAME, NAME in UNIT or NAME in UNIT, 3 digits"

// shown reads NAME [in UNIT] [, N digits].
func (p *parser) shown(lo, hi int) (Shown, bool) {
	s := Shown{At: p.span(lo, hi)}
	t := &p.toks[lo]
	if t.kind == tWord {
		p.fail(t.at, CodeShown, fmt.Sprintf("`%s` is no symbol", t.text), "expected a symbol", shownForm)
		return s, false
	}
	if t.kind != tName {
		p.fail(t.at, CodeShown, fmt.Sprintf("`%s` is no symbol", p.spelled(t)), "expected a symbol", shownForm)
		return s, false
	}
	s.Name = p.nameAt(lo)
	lo++
	if lo+1 < hi && p.toks[lo].op(".") && p.toks[lo+1].kind == tName {
		of := s.Name
		s.Of, s.Name = &of, p.nameAt(lo+1)
		lo = p.ofCycle(lo+2, hi, s.Of, &s.Name)
	}
	if lo < hi && p.toks[lo].word("in") {
		var ok bool
		if s.In, ok = p.unitAfterIn(lo, hi); !ok {
			return s, false
		}
		lo += 2
	}
	if p.digitsAt(lo, hi) {
		n, err := strconv.Atoi(p.toks[lo+1].text)
		if err != nil || n < 1 || n > MaxDigits {
			p.fail(p.toks[lo+1].at, CodeShown, fmt.Sprintf("a result is shown with 1 to %d digits", MaxDigits), "expected a whole number in this range", "")
			return s, false
		}
		s.Digits = n
		lo += 3
	}
	if lo == hi {
		return s, true
	}
	p.shownLeft(lo)
	return s, false
}

// digitsAt reports `, N digits` at lo.
func (p *parser) digitsAt(lo, hi int) bool {
	return lo+2 < hi && p.toks[lo].op(",") && p.toks[lo+1].kind == tNumber && (p.toks[lo+2].name("digits") || p.toks[lo+2].name("digit"))
}

func (p *parser) shownLeft(i int) {
	t := &p.toks[i]
	switch {
	case t.op("="):
		p.fail(t.at, CodeFence, "a definition belongs into a calc fence", "expected the end, or in UNIT", "define it in a calc fence and name it here")
	case t.op(",") && i+1 < len(p.toks) && p.toks[i+1].kind == tNumber:
		p.fail(p.toks[i+1].at, CodeShown, "the word `digits` is missing", "expected digits after this", shownForm)
	case t.op(","):
		p.fail(t.at, CodeShown, "one symbol stands on a line", "expected the end, or in UNIT", "put the next on a line of its own")
	case infix(t) || t.op("("):
		p.fail(t.at, CodeShown, "only a symbol is shown, not a calculation", "expected the end, or in UNIT", "define it in a calc fence and name it here")
	default:
		p.fail(t.at, CodeShown, fmt.Sprintf("`%s` cannot stand here", p.spelled(t)), "expected the end, or in UNIT", shownForm)
	}
}

// table reads a table fence: states with columns, or symbols. Lines of one kind add up.
func (p *parser) table(src Source) []Stmt {
	tab := &Table{At: At{src.Span}, Name: p.label(src)}
	lines, bad := p.captioned(&tab.At, &tab.Caption, func(_, lo, hi int) bool { return p.tableLine(tab, lo, hi) })
	if lines == 0 && !bad {
		return nil
	}
	if !bad && len(tab.Symbols) == 0 && (len(tab.States) == 0 || len(tab.Columns) == 0) {
		what := "columns p in kPa, T in K"
		if len(tab.States) == 0 {
			what = "states 1, 2"
		}
		p.fail(tab.Loc, CodeTable, "a table of states needs `states` and `columns`", "expected both", "add a line "+what)
		return []Stmt{&Bad{At: tab.At}}
	}
	if len(tab.Symbols) == 0 && (len(tab.States) == 0 || len(tab.Columns) == 0) {
		return []Stmt{&Bad{At: tab.At}}
	}
	return []Stmt{tab}
}

// label reads the name that links refer to a table or chart by, which may be left out.
func (p *parser) label(src Source) Name {
	if strings.TrimSpace(src.Info) == "" {
		return Name{}
	}
	name, _ := p.fenceName(src, src.Kind, CodeInfo, "write "+src.Kind+" NAME, for links in the text, or leave it out")
	p.failed = false
	return name
}

func (p *parser) captionHere(c Caption) {
	p.report(&diag.Problem{Code: CodeCaption, Severity: diag.Error, Span: c.Loc,
		Message: "a caption stands on the first line", Label: "it cannot stand here", Hint: "move it to the first line of the fence"})
}

func (p *parser) tableLine(tab *Table, lo, hi int) bool {
	t := &p.toks[lo]
	form := "write states 1, 2s, 2 and columns p in kPa, T in K; or symbols eta_th, w_net in kJ/kg"
	switch {
	case t.name("states"), t.name("columns"), t.name("symbols"):
	default:
		if near := nearHint(t.text, []string{"states", "columns", "symbols"}); near != "" {
			p.fail(t.at, CodeTable, fmt.Sprintf("no line of a table begins with `%s`", t.text), near, form)
			return false
		}
		p.fail(t.at, CodeTable, fmt.Sprintf("no line of a table begins with `%s`", p.spelled(t)), "expected states, columns or symbols", form)
		return false
	}
	if lo+1 == hi {
		p.fail(t.at, CodeTable, fmt.Sprintf("`%s` lists nothing", t.text), "expected a list after this", form)
		return false
	}
	for i := lo + 1; i <= hi; {
		end := i
		for end < hi && (!p.toks[end].op(",") || p.digitsAt(end, hi)) {
			end++
		}
		if end == i {
			p.fail(p.toks[i-1].at, CodeTable, fmt.Sprintf("something is missing after `%s`", p.toks[i-1].text), "expected one more after this", form)
			return false
		}
		if !p.tableEntry(tab, t.text, i, end, form) {
			return false
		}
		i = end + 1
	}
	return true
}

func (p *parser) tableEntry(tab *Table, list string, lo, hi int, form string) bool {
	if list == "states" {
		id := p.nameAt(lo)
		ref := StateRef{At: id.At, ID: id}
		next := lo + 1
		if next+1 < hi && p.toks[next].op(".") && p.toks[next+1].kind == tID {
			ref.Of, ref.ID = &id, p.nameAt(next+1)
			ref.Loc = ref.Loc.Join(ref.ID.Loc)
			next += 2
		}
		if p.toks[lo].kind != tID || next < hi {
			p.fail(p.toks[min(next, hi-1)].at, CodeTable, "states are listed by their names", "expected a comma between them", form)
			return false
		}
		tab.States = append(tab.States, ref)
		return true
	}
	s, ok := p.shown(lo, hi)
	if !ok {
		return false
	}
	if list == "symbols" {
		tab.Symbols = append(tab.Symbols, s)
		return true
	}
	if s.Of != nil || s.Digits != 0 {
		p.fail(s.Loc, CodeTable, "a column is a property, perhaps in a unit", "expected a property such as h in kJ/kg", form)
		return false
	}
	tab.Columns = append(tab.Columns, ShownColumn{s.At, s.Name, s.In})
	return true
}
