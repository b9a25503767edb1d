package sheet

import (
	"fmt"
	"strings"

	"github.com/xuri/excelize/v2"

	"workings/runner/eval"
	"workings/runner/resolve"
	"workings/units"
)

// checkSheet writes every check with a verdict that follows the cells of its two sides.
func (w *workbook) checkSheet() {
	g := w.grid("Checks", 8, 10, 44, 14, 14, 14, 12, 14, 16, 11, 16, 16, 16, 16, 14, 12, 12, 12, 20)
	g.freeze(3)
	g.head("entry", "kind", "what was asked", "left side", "allowed from", "allowed to", "unit", "verdict", "when rendered", "stands",
		"left side, SI", "right side, SI", "allowed from, SI", "allowed to, SI", "tolerance, SI", "SI unit", "factor", "offset", "of sheet")
	for _, e := range w.tr.Checks {
		w.checkRow(g, e)
	}
	g.end()
}

func (w *workbook) checkRow(g *grid, e *eval.Entry) {
	asked := strings.TrimSpace(strings.TrimPrefix(sourceText(e.Line), checkWord(e.Line.Stmt)))
	kind := checkWord(e.Line.Stmt)
	c := e.Check
	if c == nil || e.Status != eval.Done {
		g.put(e.Number, kind, asked, nil, nil, nil, nil, "waits", w.noValueText(e), nil, nil, nil, nil, nil, nil, nil, nil, nil, e.Sheet)
		return
	}
	was := string(c.Verdict)
	if c.Accepted != nil {
		was = "accepted: " + c.Accepted.Reason.Text
	}
	k := e.Line.Compare
	if !c.Plain || k == nil {
		verdict := any(string(c.Verdict))
		if k != nil {
			if text, ok := w.translate(k.X); ok {
				verdict = g.live(`=IF(`+text+`,"holds","fails")`, string(c.Verdict), style{})
			}
		}
		g.put(e.Number, kind, asked, nil, nil, nil, nil, verdict, was, w.checkStands(g, e), nil, nil, nil, nil, nil, nil, nil, nil, e.Sheet)
		return
	}
	factor, offset := conversion(c.Left.Unit, w.ambientOf(e))
	row := g.row + 1
	at := func(col string) string { return fmt.Sprintf("$%s$%d", col, row) }
	side := func(x *resolve.Expr, v eval.Value) any {
		if text, ok := w.translate(x); ok {
			return g.live("="+text, v.SI, style{format: g.numberFormat(v.SI)})
		}
		return excelize.Cell{Value: v.SI, StyleID: g.style(style{format: g.numberFormat(v.SI)})}
	}
	shown := func(col string, v eval.Value) any {
		text := "=" + at(col)
		if factor != 1 || offset != 0 {
			text = "=(" + at(col) + "-" + at("R") + ")/" + at("Q")
		}
		return g.live(text, v.Shown, style{format: g.numberFormat(v.Shown)})
	}
	left, right := side(k.Left, c.Left), any(nil)
	var lo, hi, shownLo, shownHi, tolerance any
	limit := func(has bool, formula, col string, v eval.Value, cell, show *any) {
		if has {
			*cell = g.live(formula, v.SI, style{format: g.numberFormat(v.SI)})
			*show = shown(col, v)
		}
	}
	verdict := ""
	switch {
	case c.Op == "within":
		lo, hi = side(e.Line.Lo, c.Lo), side(e.Line.Hi, c.Hi)
		shownLo, shownHi = shown("M", c.Lo), shown("N", c.Hi)
		verdict = "AND(" + at("K") + ">=" + at("M") + "," + at("K") + "<=" + at("N") + ")"
	case c.Op == "==":
		right = side(k.Right, c.Right)
		width := c.Hi.SI - c.Right.SI
		look := style{format: digitFormat(width, 3)}
		tolerance = excelize.Cell{Value: width, StyleID: g.style(look)}
		if text, ok := w.tolerance(k, at); ok {
			tolerance = g.live("="+text, width, look)
		}
		limit(true, "="+at("L")+"-"+at("O"), "M", c.Lo, &lo, &shownLo)
		limit(true, "="+at("L")+"+"+at("O"), "N", c.Hi, &hi, &shownHi)
		verdict = "ABS(" + at("K") + "-" + at("L") + ")<=" + at("O")
	default:
		right = side(k.Right, c.Right)
		limit(c.HasLo, "="+at("L"), "M", c.Lo, &lo, &shownLo)
		limit(c.HasHi, "="+at("L"), "N", c.Hi, &hi, &shownHi)
		op := c.Op
		if op == "!=" {
			op = "<>"
		}
		verdict = at("K") + op + at("L")
	}
	word := g.live(`=IF(`+verdict+`,"holds","fails")`, string(c.Verdict), style{})
	var factorCell, offsetCell any
	if factor != 1 || offset != 0 {
		factorCell, offsetCell = factor, offset
	}
	g.put(e.Number, kind, asked, shown("K", c.Left), shownLo, shownHi, unitText(c.Left), word, was, w.checkStands(g, e),
		left, right, lo, hi, tolerance, divisorless(units.SIUnit(c.Left.Unit.Dimension())), factorCell, offsetCell, e.Sheet)
}

// tolerance is that of an equality as the engine counts it.
func (w *workbook) tolerance(k *resolve.Condition, at func(string) string) (string, bool) {
	if k.Tolerance == nil {
		return "1E-9*MAX(ABS(" + at("K") + "),ABS(" + at("L") + "))", true
	}
	text, ok := w.translate(k.Tolerance)
	if k.Relative {
		return "(" + text + ")*ABS(" + at("L") + ")", ok
	}
	return "(" + text + ")", ok
}

// checkStands says whether a check rests on stale values: that of a side which is no formula, too.
func (w *workbook) checkStands(g *grid, e *eval.Entry) any {
	l := e.Line
	live := true
	parts := []*resolve.Expr{l.Lo, l.Hi}
	if k := l.Compare; k != nil {
		if k.Left == nil {
			parts = append(parts, k.X)
		}
		parts = append(parts, k.Left, k.Right, k.Tolerance)
	}
	var uses []*resolve.Symbol
	for _, x := range parts {
		if x != nil {
			_, ok := w.translate(x)
			live = live && ok
			uses = append(uses, symbolsOf(x)...)
		}
	}
	r := &bookRow{sheet: "Checks", e: e, uses: uses, reads: l.Reads}
	if live {
		r.x = &resolve.Expr{Op: resolve.OpFunc}
		for _, x := range parts {
			if x != nil {
				r.x.Args = append(r.x.Args, x)
			}
		}
	}
	return g.live(w.stands(r, live), "current", style{})
}
