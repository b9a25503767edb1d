package sheet

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/notebook"
	"workings/runner/resolve"
	"workings/units"
)

// bookRow is a row of the workbook's Inputs or Lines: a value, or a line that has none.
type bookRow struct {
	sheet   string
	no      int // of the row
	e       *eval.Entry
	sym     *resolve.Symbol // nil for a line without a value
	v       eval.Value
	ambient float64
	x       *resolve.Expr // what gives the value, where an expression does
	text    string        // the line as it is typed
	how     string        // where not a formula
	caption string
	head    bool // a row heading
	// What a value that is no formula rests on: if one of these changes it is stale.
	uses  []*resolve.Symbol
	reads []*resolve.Line
	state *bookRow // the row of the state that a looked-up property belongs to
}

// The columns of Inputs and Lines.
const (
	colValue  = "D"
	colSI     = "F"
	colFactor = "H"
	colOffset = "I"
	colStands = "K"
)

func (r *bookRow) cell(col string) string { return "$" + col + "$" + strconv.Itoa(r.no) }
func (r *bookRow) at(col string) string   { return r.sheet + "!" + r.cell(col) }
func (r *bookRow) si() string             { return r.at(colSI) }

// add appends a row to the sheet it belongs to.
func (w *workbook) add(r *bookRow) *bookRow {
	r.sheet = "Lines"
	to := &w.lines
	if r.e.Line.Kind == resolve.Input {
		r.sheet, to = "Inputs", &w.inputs
	}
	r.no = len(*to) + 2 // below the head
	r.ambient = w.ambient
	*to = append(*to, r)
	if w.entryRow[r.e] == nil {
		w.entryRow[r.e] = r
	}
	if r.sym != nil {
		w.rows[r.sym] = r
		w.name(r)
	}
	return r
}

// collect lays out an entry and what is under it, in reading order: one row for each value.
func (w *workbook) collect(e *eval.Entry) {
	l := e.Line
	row := &bookRow{e: e, text: typedHead(l), caption: w.plain(l, lang.CaptionOf(l.Stmt))}
	switch l.Kind {
	case resolve.Heading:
		if h, ok := l.Stmt.(*lang.Heading); ok && h.Caption.Text != "" {
			w.add(&bookRow{e: e, head: true, text: w.plain(l, h.Caption)})
		}
		return
	case resolve.AnswerLine, resolve.TableLine, resolve.Assume, resolve.CorrelationLine:
		return
	case resolve.Input, resolve.Define:
		if v, ok := w.fresh(l.Defines, 0); ok && e.Status == eval.Done {
			row.sym, row.v, row.x, row.uses, row.reads = w.callers(l.Defines[0]), v, l.X, l.Uses, l.Reads
		} else {
			row.how = w.noValueText(e)
		}
		if l.X != nil {
			row.text = l.Defines[0].Name + " = " + lang.FormatExpr(l.X.Src)
		}
		w.add(row)
		return
	case resolve.Check:
		row.how = checkWord(l.Stmt)
		w.add(row)
		return
	case resolve.Solve, resolve.Call, resolve.Use:
		row.how = kindWord(l)
	case resolve.FluidLine, resolve.StateLine:
		row.how = kindWord(l)
		row.uses, row.reads = l.Uses, l.Reads
	case resolve.MethodLine:
		row.text = methodText(l)
		row.how = "method"
	case resolve.DataLine:
		row.text = "data " + dataName(l)
		row.how = "data"
	default:
		row.how = kindWord(l)
	}
	if e.Status != eval.Done {
		row.how = w.noValueText(e)
	}
	w.add(row)
	if l.Kind == resolve.Solve {
		row.uses, row.reads = readFromOutside(l)
		w.results(e, row)
	}
	if l.Kind == resolve.Call {
		w.parameters(e)
		row.uses, row.reads = l.Uses, l.Reads
	}
	if l.Sub != nil {
		outer := w.ambient
		w.ambient = l.Sub.Ambient
		defer func() { w.ambient = outer }()
	}
	for _, c := range e.Children {
		w.collect(c)
	}
	if l.Kind != resolve.Use && l.Kind != resolve.Solve {
		w.results(e, row) // what a call's own lines have not shown
	}
}

// results adds a row for each value of a line that has several. A property that a state was given
// by an expression follows from it; the others were looked up.
func (w *workbook) results(e *eval.Entry, head *bookRow) {
	l := e.Line
	for _, r := range e.Results {
		sym := w.callers(r.Symbol)
		if !r.OK || w.rows[sym] != nil || r.Symbol.Adopted && r.Symbol.Line != l {
			continue
		}
		row := &bookRow{e: e, sym: sym, v: r.Value, how: "value", state: head}
		switch l.Kind {
		case resolve.StateLine:
			row.how = "looked up"
			row.x = givenBy(l.State, r.Symbol.Prop)
			if row.x == nil && !r.Read && sym.Prop.Symbol() != "T" && !w.answer(sym) {
				continue // the sheet States has it
			}
		case resolve.FluidLine:
			if !r.Read {
				continue
			}
		case resolve.Solve:
			row.how = "solved"
		}
		if row.x != nil {
			row.text = sym.Name + " = " + lang.FormatExpr(row.x.Src)
			row.uses, row.reads, row.state = symbolsOf(row.x), nil, nil
		}
		w.add(row)
	}
	if l.Kind == resolve.StateLine {
		w.addState(l.State, head)
	}
}

// parameters adds what a method was given as an expression, and properties that only the method
// reads of a state it was given.
func (w *workbook) parameters(e *eval.Entry) {
	for _, b := range e.Line.Inputs {
		if b.State != nil && b.Local != nil {
			for _, s := range b.Local.Props {
				if v, ok := w.tr.Value(s); ok && w.rowOf(s) == nil {
					w.add(&bookRow{e: e, sym: s, v: v, how: "looked up", uses: e.Line.Uses, reads: e.Line.Reads})
				}
			}
		}
		if b.Symbol == nil || b.X == nil || w.rowOf(b.Symbol) != nil {
			continue
		}
		if v, ok := w.tr.Value(b.Symbol); ok {
			w.add(&bookRow{e: e, sym: b.Symbol, v: v, x: b.X, uses: symbolsOf(b.X),
				text: b.Symbol.Name + " = " + lang.FormatExpr(b.X.Src)})
		}
	}
}

// addState notes a state of the sheet, for the table of them all.
func (w *workbook) addState(s *resolve.State, row *bookRow) {
	if s = w.outer(s); s != nil && !s.Local && w.stateRow[s] == nil {
		w.stateRow[s] = row
		w.states = append(w.states, s)
	}
}

// fresh is the value of a line's symbol that has no row yet.
func (w *workbook) fresh(defines []*resolve.Symbol, i int) (eval.Value, bool) {
	if i >= len(defines) || w.rows[w.callers(defines[i])] != nil {
		return eval.Value{}, false
	}
	return w.valueOf(defines[i])
}

// readFromOutside are what a solve reads that it does not define itself.
func readFromOutside(l *resolve.Line) (uses []*resolve.Symbol, reads []*resolve.Line) {
	own, seen := map[*resolve.Line]bool{l: true}, map[*resolve.Symbol]bool{}
	var all []*resolve.Line
	var walk func(ls []*resolve.Line)
	walk = func(ls []*resolve.Line) {
		for _, c := range ls {
			own[c] = true
			all = append(all, c)
			walk(c.Body)
			walk(c.Untils)
		}
	}
	walk(l.Body)
	walk(l.Untils)
	for _, c := range append([]*resolve.Line{l}, all...) {
		for _, s := range c.Uses {
			if s.Line != nil && !own[s.Line] && !seen[s] {
				seen[s] = true
				uses = append(uses, s)
			}
		}
		for _, r := range c.Reads {
			if !own[r] {
				reads = append(reads, r)
			}
		}
	}
	return uses, reads
}

func symbolsOf(x *resolve.Expr) []*resolve.Symbol {
	var out []*resolve.Symbol
	x.Symbols(func(s *resolve.Symbol) { out = append(out, s) })
	return out
}

func methodText(l *resolve.Line) string {
	if m, ok := l.Stmt.(*lang.Method); ok {
		return "method " + trimSource(m.Head.In(l.File))
	}
	return "method"
}

func dataName(l *resolve.Line) string {
	if d, ok := l.Stmt.(*lang.Data); ok {
		return d.Name.Text
	}
	return ""
}

// noValueText says why an entry has no value.
func (w *workbook) noValueText(e *eval.Entry) string {
	switch {
	case e.Status == eval.Waiting && len(e.WaitsFor) > 0:
		return "waits for " + strings.Join(e.WaitsFor, ", ")
	case e.Problem != nil:
		return "no value: " + e.Problem.Message
	}
	return "no value"
}

// plain is a caption as plain text.
func (w *workbook) plain(l *resolve.Line, c lang.Caption) string {
	if c.Text == "" || l.File == nil {
		return c.Text
	}
	s := w.source(l.File)
	return strings.TrimSpace(notebook.PlainText(s.captions.Parse(c.Loc).Root, s.doc.Source))
}

// stands is the formula that says whether a row still goes with the inputs as they now are: a value
// that a spreadsheet cannot find again is stale when what it rests on has moved, and so is all that
// rests on a stale value.
func (w *workbook) stands(r *bookRow, live bool) string {
	if r.state != nil && !live {
		return "=" + r.state.cell(colStands)
	}
	var terms []string
	seen := map[string]bool{}
	term := func(s string) {
		if !seen[s] {
			seen[s] = true
			terms = append(terms, s)
		}
	}
	stale := func(at *bookRow) {
		if at != nil && at != r && at.sheet == "Lines" {
			term(at.at(colStands) + `="stale"`)
		}
	}
	uses := r.uses
	if live {
		uses = symbolsOf(r.x)
	}
	for _, s := range uses {
		at := w.rowOf(s)
		if at == nil || at == r {
			continue
		}
		stale(at)
		if !live && !at.v.Bool {
			term(fmt.Sprintf("ABS(%s-%s)>%s", at.si(), excelNumber(at.v.SI), excelNumber(1e-9*math.Abs(at.v.SI))))
		}
	}
	if !live {
		for _, l := range r.reads {
			if e := w.entry(l); e != nil {
				stale(w.entryRow[e])
			}
		}
	}
	const most = 200 // arguments that every spreadsheet takes
	text := `=IF(OR(` + strings.Join(terms, ",") + `),"stale","current")`
	switch {
	case len(terms) == 0:
		return "current"
	case len(terms) > most || len(text) > longestFormula:
		return "not followed"
	}
	return text
}

func excelNumber(v float64) string {
	s := strconv.FormatFloat(v, 'G', -1, 64)
	if v < 0 {
		return "(" + s + ")"
	}
	return s
}

// conversion is how a value in a unit becomes one in SI: times the factor, plus the offset.
func conversion(u units.Unit, ambient float64) (factor, offset float64) {
	return u.Factor(), u.ToSI(0, ambient)
}
