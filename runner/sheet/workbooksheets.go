package sheet

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"workings/propsdb"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/runner/study"
	"workings/units"
)

// digitFormat is the number format that shows a value with so many significant digits.
func digitFormat(v float64, digits int) string {
	if v == 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return "General"
	}
	power := int(math.Floor(math.Log10(math.Abs(v))))
	switch decimals := digits - 1 - power; {
	case power > digits+2 || power < -4:
		return "0." + strings.Repeat("0", max(1, digits-1)) + "E+00"
	case decimals > 0:
		return "0." + strings.Repeat("0", min(decimals, 30))
	}
	return "0"
}

func (w *workbook) summarySheet() {
	g := w.grid("Summary", 26, 18, 16, 18, 60)
	front := &w.doc.Front
	g.put(excelize.Cell{Value: w.title, StyleID: w.style(style{bold: true, big: true})})
	g.put(g.bold("Not verified for design use"))
	if front.Number.Text != "" {
		g.put("number", front.Number.Text)
	}
	if front.Revision.Text != "" {
		g.put("revision", front.Revision.Text)
	}
	for _, who := range []struct{ role, name string }{{"prepared", front.Prepared.Text}, {"checked", front.Checked.Text}, {"approved", front.Approved.Text}} {
		if who.name != "" {
			g.put(who.role, who.name)
		}
	}
	g.put("notebook", w.doc.File.Name)
	g.put("SHA-256 of the notebook", Hash(w.doc.File.Text))
	g.put("made by", strings.TrimSpace("workings "+w.o.Version))
	g.put("errors in the notebook", w.errors)
	g.put()
	g.put(g.bold("As the workbook stands"))
	holds, checks := 0, len(w.tr.Checks)
	for _, e := range w.tr.Checks {
		if e.Check != nil && e.Status == eval.Done && e.Check.Verdict == eval.Holds {
			holds++
		}
	}
	count := func(what, sheet, col string, rows int, of string, was int) {
		g.put(what, g.live(fmt.Sprintf(`=COUNTIF(%s!$%s$2:$%s$%d,"%s")`, sheet, col, col, max(2, rows+1), of), was, style{}))
	}
	g.put("checks and cautions", checks)
	count("that hold", "Checks", "H", checks, "holds", holds)
	count("inputs changed", "Inputs", colStands, len(w.inputs), "changed", 0)
	count("stale values", "Lines", colStands, len(w.lines), "stale", 0)
	g.put()
	for _, s := range []string{
		"Inputs: the boxed values may be changed. What follows from them by formulas follows at once.",
		"What was looked up in property data, solved or integrated is a value. It does not follow, and is marked stale when what it rests on has changed; so is all that rests on it. Evaluate the notebook again for those.",
		"Formulas run over the columns in SI units; factor and offset convert to the unit of the sheet: SI value = value × factor + offset.",
	} {
		g.put(s)
	}
	g.put()
	g.put(g.bold("Answers"), g.bold("value"), g.bold("unit"), g.bold("std. uncertainty"), g.bold("what was asked"))
	for _, l := range w.answerLines() {
		w.answerRow(g, l)
	}
	if len(w.tr.Problems) > 0 {
		g.put()
		g.put(g.bold("Problems"), g.bold("where"), g.bold("code"), nil, g.bold("what"))
	}
	for _, q := range w.tr.Problems {
		line, col := q.Position()
		file := ""
		if q.File != nil {
			file = q.File.Name
		}
		g.put(q.Severity.String(), fmt.Sprintf("%s, line %d, column %d", file, line, col), string(q.Code), nil, strings.TrimSuffix(q.Message+"; "+q.Hint, "; "))
	}
	g.end()
}

func (w *workbook) answerRow(g *grid, l *resolve.Line) {
	s := l.Shown
	words := w.plain(l, lang.CaptionOf(l.Stmt))
	if words == "" && s.Symbol.Line != nil && s.Symbol.State == nil {
		words = w.plain(s.Symbol.Line, lang.CaptionOf(s.Symbol.Line.Stmt))
	}
	v, ok := w.valueOf(s.Symbol)
	if !ok {
		g.put(s.Symbol.Full(), "no value", nil, nil, words)
		return
	}
	shown := w.valueIn(v.SI, s.Unit)
	shown.Bool = v.Bool
	value := g.fixed(shown)
	if r := w.rowOf(s.Symbol); r != nil {
		value = g.converted(r.si(), shown, w.ambient)
	}
	var spread any
	if u, ok := w.tr.UncertaintyOf(s); ok {
		rounded, digits := study.Round(shown.Shown, u.Shown)
		value.StyleID = w.style(style{format: digitFormat(rounded, digits)})
		spread = excelize.Cell{Value: u.Shown, StyleID: w.style(style{format: digitFormat(u.Shown, 2)})}
	}
	g.put(s.Symbol.Full(), value, unitText(shown), spread, words)
}

// fixed is a value that no formula finds.
func (g *grid) fixed(v eval.Value) excelize.Cell {
	if v.Bool {
		return excelize.Cell{Value: v.SI != 0}
	}
	return excelize.Cell{Value: v.Shown, StyleID: g.style(style{format: g.numberFormat(v.Shown)})}
}

// converted is a cell in SI shown in the unit of a value.
func (g *grid) converted(cell string, v eval.Value, ambient float64) excelize.Cell {
	if v.Bool {
		return g.live("="+cell, v.SI != 0, style{})
	}
	factor, offset := conversion(v.Unit, ambient)
	text := "=" + cell
	if offset != 0 {
		text = "=(" + cell + "-" + excelNumber(offset) + ")"
	}
	if factor != 1 {
		text += "/" + excelNumber(factor)
	}
	return g.live(text, v.Shown, style{format: g.numberFormat(v.Shown)})
}

var rowHead = []string{"entry", "symbol", "line", "value", "unit", "SI value", "SI unit", "factor", "offset", "how", "stands", "caption"}

func (w *workbook) inputSheet() {
	g := w.grid("Inputs", 8, 14, 34, 14, 12, 14, 12, 12, 12, 11, 11, 40, 12, 20, 24, 30)
	g.freeze(2)
	g.head(append(append([]string{}, rowHead...), "± (standard)", "allowed", "source", "note")...)
	for _, r := range w.inputs {
		if r.head {
			g.put(nil, nil, g.bold(r.text))
			continue
		}
		extra := make([]any, 4)
		if in, ok := r.e.Line.Stmt.(*lang.Input); ok {
			if in.Spread != nil {
				extra[0] = lang.FormatExpr(in.Spread)
			}
			if in.Between != nil {
				extra[1] = lang.FormatExpr(in.Between.Lo) + " .. " + lang.FormatExpr(in.Between.Hi)
			}
		}
		extra[2] = strings.Join(r.e.Line.Sources, ", ")
		if r.e.Line.Overridden {
			extra[3] = "overridden; the notebook says " + r.e.Line.OwnText
		}
		w.valueRow(g, r, extra)
	}
	g.end()
}

func (w *workbook) lineSheet() {
	g := w.grid("Lines", 8, 16, 44, 14, 12, 16, 12, 12, 12, 14, 11, 50)
	g.freeze(2)
	g.head(rowHead...)
	for _, r := range w.lines {
		if r.head {
			g.put(nil, nil, g.bold(r.text))
			continue
		}
		w.valueRow(g, r, nil)
	}
	g.end()
}

// valueRow writes a row of Inputs or Lines.
func (w *workbook) valueRow(g *grid, r *bookRow, extra []any) {
	if r.sym == nil {
		stands := any(nil)
		switch r.e.Line.Kind {
		case resolve.StateLine, resolve.FluidLine, resolve.Solve, resolve.Call: // their values refer to it
			stands = g.live(w.stands(r, false), "current", style{})
		}
		g.put(append([]any{r.e.Number, nil, r.text, nil, nil, nil, nil, nil, nil, r.how, stands, r.caption}, extra...)...)
		return
	}
	var symbol any = r.sym.Full()
	if call := w.of(r.sym).call; r.sym.Local && call != "" {
		symbol = r.sym.Name + " of " + call
	}
	factor, offset := conversion(r.v.Unit, r.ambient)
	var factorCell, offsetCell any
	if factor != 1 || offset != 0 {
		factorCell, offsetCell = factor, offset
	}
	si := any(excelize.Cell{Value: r.v.SI, StyleID: g.style(style{format: g.numberFormat(r.v.SI)})})
	if r.v.Bool {
		si = r.v.SI != 0
	}
	value, how, stands := any(nil), r.how, any(nil)
	text, live := w.translate(r.x)
	switch {
	case r.sheet == "Inputs" && len(symbolsOf(r.x)) == 0 && !r.v.Bool:
		value = excelize.Cell{Value: r.v.Shown, StyleID: g.style(style{box: true})}
		how = "input"
		formula := "=" + r.cell(colValue)
		if factorCell != nil {
			formula += "*" + r.cell(colFactor) + "+" + r.cell(colOffset)
		}
		si = g.live(formula, r.v.SI, style{format: g.numberFormat(r.v.SI)})
		stands = g.live(fmt.Sprintf(`=IF(ABS(%s-%s)>%s,"changed","as rendered")`, r.cell(colSI), excelNumber(r.v.SI), excelNumber(1e-9*math.Abs(r.v.SI))), "as rendered", style{})
	case live:
		how = "formula"
		var was any = r.v.SI
		if r.v.Bool {
			was = r.v.SI != 0
		}
		si = g.live("="+text, was, style{format: g.numberFormat(r.v.SI)})
		fallthrough
	default:
		if how == "" {
			how = "value"
		}
		if how == "value" && r.x != nil && !live {
			r.state = nil
		}
		stands = g.live(w.stands(r, live), "current", style{})
		value = w.shownCell(g, r, factorCell != nil)
	}
	siUnit := "1"
	if !r.v.Bool {
		siUnit = divisorless(units.SIUnit(r.v.Unit.Dimension()))
	} else {
		siUnit = ""
	}
	unit := unitText(r.v)
	if r.v.Bool {
		unit = ""
	}
	g.put(append([]any{r.e.Number, symbol, r.text, value, unit, si, siUnit, factorCell, offsetCell, how, stands, r.caption}, extra...)...)
}

func divisorless(u units.Unit) string {
	if u.IsNone() {
		return "1"
	}
	return u.String()
}

// shownCell is the value of a row in the unit of the sheet.
func (w *workbook) shownCell(g *grid, r *bookRow, converts bool) excelize.Cell {
	st := style{format: g.numberFormat(r.v.Shown)}
	switch {
	case r.v.Bool:
		return g.live("="+r.cell(colSI), r.v.SI != 0, style{})
	case converts:
		return g.live("=("+r.cell(colSI)+"-"+r.cell(colOffset)+")/"+r.cell(colFactor), r.v.Shown, st)
	}
	return g.live("="+r.cell(colSI), r.v.Shown, st)
}

func (w *workbook) stateSheet() {
	props := w.stateProperties()
	widths := []float64{8, 10, 16}
	head := []string{"entry", "state", "fluid"}
	unit := map[propsdb.Property]units.Unit{}
	for _, q := range props {
		for _, s := range w.states {
			if sym := s.Prop(q); sym != nil {
				unit[q] = w.preferred(sym)
				break
			}
		}
		head = append(head, q.Symbol()+"/"+divisor(unit[q]))
		widths = append(widths, 13)
	}
	g := w.grid("States", append(widths, 11)...)
	g.freeze(2)
	g.head(append(head, "stands")...)
	for _, s := range w.states {
		r := w.stateRow[s]
		cells := []any{r.e.Number, w.stateName(s), fluidName(s)}
		for _, q := range props {
			cells = append(cells, w.stateCell(g, s, q, unit[q]))
		}
		stands := any(nil)
		if r.no > 0 {
			stands = g.live("="+r.at(colStands), "current", style{})
		}
		g.put(append(cells, stands)...)
	}
	g.end()
}

func (w *workbook) stateCell(g *grid, s *resolve.State, q propsdb.Property, u units.Unit) any {
	sym := s.Prop(q)
	if sym == nil {
		return nil
	}
	v, ok := w.valueOf(sym)
	if !ok {
		return nil
	}
	v = eval.Value{SI: v.SI, Unit: u, Shown: u.FromSI(v.SI, 0)}
	if r := w.rowOf(sym); r != nil {
		return g.converted(r.si(), v, 0)
	}
	return g.fixed(v)
}

func (w *workbook) assumptionSheet() {
	g := w.grid("Assumptions", 8, 18, 60, 50, 14, 24)
	g.freeze(2)
	g.head("number", "label", "assumption", "basis", "to confirm", "used in")
	for i, a := range w.tr.Sheet.Assumed {
		open := ""
		if a.Open {
			open = "to confirm"
		}
		var used []string
		for _, l := range a.CitedBy {
			if e := w.entry(l); e != nil && e.Number != "" {
				used = append(used, e.Number)
			}
		}
		g.put("A"+itoa(i+1), a.Label, w.plain(a.Line, a.Stmt.Text), w.plain(a.Line, a.Stmt.Basis), open, strings.Join(used, ", "))
	}
	g.end()
}

func (w *workbook) sourceSheet() {
	g := w.grid("Sources", 16, 22, 60, 24, 66, 60)
	g.freeze(2)
	g.head("kind", "name", "source", "version", "SHA-256", "note")
	for _, s := range w.jsonSources() {
		switch s := s.(type) {
		case jsonFootnote:
			g.put("footnote", s.Label, s.Text)
		case jsonFluid:
			g.put("property data", s.Fluid, s.Data, s.Version, s.SHA256, strings.TrimSpace(s.Model+"; datum: "+s.Datum+"; "+s.Note))
		case jsonTable:
			rows := strconv.Itoa(len(s.Rows)) + " rows"
			g.put("data", strings.Join(append([]string{s.Name}, s.Also...), ", "), s.File, nil, s.SHA256, rows)
		case jsonNotebook:
			g.put(s.Kind, s.As, s.File, nil, s.SHA256)
		}
	}
	g.end()
}
