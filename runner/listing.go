package runner

import (
	"fmt"
	"strings"

	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/runner/study"
	"workings/units"
)

// Row is a line of the sheet as plain text, for a terminal. Its text is the author's and not yet
// made safe to print.
type Row struct {
	Kind    RowKind
	Fence   int    // which fence it stands in, so that fences can be set apart
	Depth   int    // of the solves, workings and used sheets that it stands in
	Folded  bool   // in the working of a method or in a used sheet
	Number  string // entry number; assumptions, headings and tables have none
	Text    string // in the notebook's own words: "w_net = w_t - w_c"
	Caption string
	Values  []RowValue // of the symbols it defines; none where Text is already the value
	Status  string     // why it has no value, the verdict of a check, what a solve took
	Bad     bool       // Status tells of an error
	Failed  bool       // the error is of this line itself, which others may name as what they wait for
	Cells   [][]string // Kind Table: the head and the rows
}

// RowKind says how a row is laid out.
type RowKind int

// The kinds of rows.
const (
	LineRow RowKind = iota
	HeadingRow
	StateRow // its values are properties, and there are many
	CheckRow
	CautionRow
	TableRow
)

// RowValue is a symbol and its value with the unit.
type RowValue struct {
	Symbol, Text, Caption string
	// Uncertainty is the combined standard uncertainty of an answer, From the inputs it comes from
	// with their shares of its square; both empty where it has none.
	Uncertainty, From string
}

// Listing is the sheet line by line.
func (r *Result) Listing() []Row {
	var rows []Row
	for _, e := range r.Trace.Entries {
		rows = r.rows(rows, e, 0, false)
	}
	return rows
}

// Answers are what the sheet was asked for; an answer without a value has an empty Text.
func (r *Result) Answers() []RowValue {
	var out []RowValue
	for _, l := range r.Trace.Sheet.Lines {
		a, ok := l.Stmt.(*lang.Answer)
		if !ok {
			continue
		}
		out = append(out, r.shown(l.Shown, a.Shown, a.Caption))
	}
	return out
}

// Route is a second route through the sheet, as a terminal shows it.
type Route struct {
	Title   string // the fluid and its model
	Answers []RouteRow
	Failed  []string // why answers are missing
}

// RouteRow is one answer by both routes.
type RouteRow struct{ Symbol, Here, There, Difference, Remark string }

// Routes are the sheet's second routes.
func (r *Result) Routes() []Route {
	var out []Route
	for _, rt := range r.Trace.Routes {
		x := Route{Title: rt.Fluid + " = " + rt.Model}
		for _, a := range rt.Answers {
			row := RouteRow{Symbol: a.Shown.Symbol.Full()}
			if a.HasHere {
				row.Here = r.text(a.Here, a.Shown.Digits)
			}
			if a.HasThere {
				row.There = r.text(a.There, a.Shown.Digits)
			}
			if a.HasHere && a.HasThere {
				row.Difference = a.Percent()
			}
			switch {
			case a.Accepted != nil:
				row.Remark = "explained: " + a.Accepted.Reason.Text
			case a.Exceeds:
				row.Remark = "more than allowed: to be explained"
			}
			x.Answers = append(x.Answers, row)
		}
		for _, p := range rt.Problems {
			x.Failed = append(x.Failed, p.Message)
		}
		out = append(out, x)
	}
	return out
}

func (r *Result) shown(s *resolve.Shown, typed lang.Shown, c lang.Caption) RowValue {
	v := RowValue{Symbol: typed.Name.Text, Caption: c.Text}
	if typed.Of != nil {
		v.Symbol = typed.Of.Text + "." + v.Symbol
	}
	x, ok := r.Trace.Shown(s)
	if ok {
		v.Text = r.text(x, s.Digits)
	}
	if u, ok := r.Trace.UncertaintyOf(s); ok {
		v.Uncertainty = r.text(u, study.UncertaintyDigits)
		if s.Digits == 0 {
			digits := 0
			x.Shown, digits = study.Round(x.Shown, u.Shown)
			v.Text = r.text(x, digits)
		}
		v.From = sources(r.Trace.Uncertain[s.Symbol].From)
	}
	return v
}

// sources names the inputs that an uncertainty comes from, the largest share first.
func sources(from []eval.Contribution) string {
	const most = 4
	var parts []string
	for i, c := range from {
		if i == most {
			parts = append(parts, "…")
			break
		}
		parts = append(parts, c.Input.Full()+" "+c.Percent()+" %")
	}
	return strings.Join(parts, ", ")
}

func (r *Result) text(v eval.Value, digits int) string {
	if v.Bool {
		return fmt.Sprint(v.SI != 0)
	}
	if digits == 0 {
		digits = r.Trace.Sheet.Digits
	}
	s := units.FormatNumber(v.Shown, digits)
	if !v.Unit.IsNone() {
		s += " " + v.Unit.String()
	}
	return s
}

func (r *Result) rows(rows []Row, e *eval.Entry, depth int, folded bool) []Row {
	l := e.Line
	row := Row{Fence: l.Block, Depth: depth, Folded: folded, Number: e.Number}
	row.Text, row.Caption = lineText(l)
	literal := false
	switch s := l.Stmt.(type) {
	case *lang.Answer:
		return rows
	case *lang.Heading:
		row.Kind, row.Text, row.Caption = HeadingRow, s.Caption.Text, ""
	case *lang.Input:
		if l.X != nil {
			row.Text, literal = s.Name.Text+" = "+lang.FormatExpr(l.X.Src), s.In == nil && isLiteral(l.X.Src)
		} else {
			break // the text is the whole line
		}
		if s.Spread != nil {
			row.Text += " ± " + lang.FormatExpr(s.Spread)
		}
		if s.Between != nil {
			row.Text += " within " + lang.FormatExpr(s.Between.Lo) + " .. " + lang.FormatExpr(s.Between.Hi)
		}
	case *lang.Define:
		if l.X != nil {
			row.Text, literal = s.Name.Text+" = "+lang.FormatExpr(l.X.Src), s.In == nil && isLiteral(l.X.Src)
		}
	case *lang.State:
		row.Kind = StateRow
	case *lang.Check:
		if row.Kind = CheckRow; s.Caution {
			row.Kind = CautionRow
		}
	case *lang.Table:
		row.Kind, row.Text, row.Cells = TableRow, "", r.cells(l.Table)
	case *lang.Study:
		if x := r.studyOf(l.Study); x != nil && l.Study != nil {
			return append(rows, r.studyRows(row, x)...)
		}
	case *lang.Chart:
		if c := l.Chart; c != nil && c.Study != nil && c.Study.Sheet != "" && !l.Failed() {
			if x := r.studyOf(c.Study); x != nil { // its own fence stands on the sheet that is used
				return append(append(rows, row), r.studyRows(row, x)...)
			}
		}
	}
	if !literal {
		row.Values = r.values(e)
	}
	r.status(&row, e)
	rows = append(rows, row)
	switch l.Kind {
	case resolve.Call, resolve.Use:
		folded = true
	}
	for _, c := range e.Children {
		rows = r.rows(rows, c, depth+1, folded)
	}
	if l.Kind == resolve.CycleLine {
		rows = r.auditRows(rows, l, depth+1, folded)
	}
	return rows
}

// auditRows are the audit of a cycle as a table, and what is known of its heat exchangers.
func (r *Result) auditRows(rows []Row, l *resolve.Line, depth int, folded bool) []Row {
	for _, a := range r.Audits {
		if a.Cycle != l.Cycle || a.Report == nil {
			continue
		}
		t := a.Table()
		table := Row{Kind: TableRow, Fence: l.Block, Depth: depth, Folded: folded, Cells: [][]string{append([]string{"audit of " + a.Cycle.Name}, t.Heads...)}}
		for _, x := range t.Rows {
			table.Cells = append(table.Cells, append([]string{x.Name}, x.Cells...))
		}
		rows = append(rows, table)
	}
	return rows
}

// values are those of the symbols that a line defines. What an author wrote as an argument of a
// state stands there already, and of a fluid's M and R only what some line reads is of interest.
func (r *Result) values(e *eval.Entry) []RowValue {
	var out []RowValue
	for _, x := range e.Results {
		if _, ok := r.Trace.Value(x.Symbol); !ok || x.Symbol.Adopted && x.Symbol.Line != e.Line {
			continue
		}
		if e.Line.Kind == resolve.FluidLine && !x.Read {
			continue
		}
		name := x.Symbol.Name
		if c := e.Line.Cycle; c != nil {
			name = c.Name + "." + name
		}
		out = append(out, RowValue{Symbol: name, Text: r.text(x.Value, 0)})
	}
	return out
}

func (r *Result) status(row *Row, e *eval.Entry) {
	switch {
	case e.Problem != nil && e.Status == eval.Failed:
		row.Status, row.Bad, row.Failed = e.Problem.Severity.String()+": "+e.Problem.Message, true, true
	case e.Status == eval.Waiting:
		row.Status, row.Bad = strings.TrimSpace("waits for "+strings.Join(e.WaitsFor, ", ")), true
	case e.Check != nil:
		row.Status, row.Bad = r.verdict(e.Check)
		row.Failed = e.Check.Verdict == eval.Fails && !e.Check.Caution
	case e.Solve != nil && len(e.Solve.Residuals) > 0:
		row.Status = solveText(r, e.Solve)
	case e.Line.Overridden && e.Sheet == "":
		row.Status = "set from outside; the notebook says " + e.Line.OwnText
	case e.Line.Overridden:
		row.Status = "given by the sheet above; its own value is " + e.Line.OwnText
	}
}

func (r *Result) verdict(c *eval.CheckDetail) (text string, bad bool) {
	word := string(c.Verdict)
	bad = c.Verdict != eval.Holds
	if c.Accepted != nil && c.Verdict == eval.Fails {
		return "accepted: " + c.Accepted.Reason.Text, false
	}
	if !c.Plain || c.Verdict == eval.Waits {
		return word, bad
	}
	margin := c.Margin
	if !bad {
		return word + ", margin " + r.text(margin, 3), bad
	}
	margin.SI, margin.Shown = -margin.SI, -margin.Shown
	if margin.Shown <= 0 {
		return word, bad // a < b with both sides equal misses by nothing
	}
	return word + " by " + r.text(margin, 3), bad
}

func solveText(r *Result, s *eval.SolveDetail) string {
	var left []string
	for _, v := range s.Residuals {
		left = append(left, r.text(v, 3))
	}
	what := "residual "
	if s.Extreme != "" {
		what = s.Extreme + " "
	}
	steps := "steps"
	if s.Steps == 1 {
		steps = "step"
	}
	return fmt.Sprintf("found in %d %s, %s%s", s.Steps, steps, what, strings.Join(left, " and "))
}

// cells is a summary table as text.
func (r *Result) cells(t *resolve.Table) [][]string {
	if t == nil {
		return nil
	}
	if len(t.Symbols) > 0 {
		out := [][]string{{"symbol", "value"}}
		for _, s := range t.Symbols {
			if x, ok := r.Trace.Shown(s); ok {
				out = append(out, []string{s.Symbol.Full(), r.text(x, s.Digits)})
			}
		}
		return out
	}
	head := []string{"state"}
	for _, c := range t.Columns {
		name := c.Name
		if !c.Unit.IsNone() {
			name += " / " + divisor(c.Unit)
		}
		head = append(head, name)
	}
	out := [][]string{head}
	for i, s := range t.States {
		if s == nil || i >= len(t.Cells) {
			continue
		}
		id := s.ID
		if s.Sheet != "" {
			id = s.Sheet + "." + id
		}
		line := []string{id}
		for j, sym := range t.Cells[i] {
			text := "–"
			if v, ok := r.Trace.Value(sym); ok && j < len(t.Columns) {
				text = units.FormatNumber(t.Columns[j].Unit.FromSI(v.SI, r.Trace.Sheet.Ambient), r.Trace.Sheet.Digits)
			}
			line = append(line, text)
		}
		out = append(out, line)
	}
	return out
}

// divisor is a unit that stands after a solidus.
func divisor(u units.Unit) string {
	if s := u.String(); strings.ContainsAny(s, "/·") {
		return "(" + s + ")"
	}
	return u.String()
}

// isLiteral reports an expression that is nothing but a typed number.
func isLiteral(e lang.Expr) bool {
	if u, ok := e.(*lang.Unary); ok && u.Op == "-" {
		e = u.X
	}
	_, ok := e.(*lang.Number)
	return ok
}

// lineText is a statement as its author wrote it, on one line, and its caption.
func lineText(l *resolve.Line) (text, caption string) {
	if l.Stmt == nil || l.File == nil {
		return "", ""
	}
	span := l.Stmt.Span()
	c := lang.CaptionOf(l.Stmt)
	switch s := l.Stmt.(type) {
	case *lang.Chart:
		return "chart: " + oneLine(s.Head.In(l.File)), s.Caption.Text
	case *lang.Solve:
		span = s.Head
	case *lang.Method:
		text := s.Head.In(l.File)
		return "method " + oneLine(text), s.Caption.Text
	case *lang.Data:
		n := len(s.Rows)
		if l.Data != nil {
			n = len(l.Data.Rows) // of the file, where the rows stand in one
		}
		if n == 1 {
			return fmt.Sprintf("data %s, 1 row", s.Name.Text), s.Caption.Text
		}
		return fmt.Sprintf("data %s, %d rows", s.Name.Text, n), s.Caption.Text
	case *lang.Study:
		return "study " + s.Name.Text, s.Caption.Text
	case *lang.Cycle:
		return "cycle " + s.Name.Text, s.Caption.Text
	case *lang.Table:
		return "", s.Caption.Text
	case *lang.Bad:
		// Of a fence that could not be read only its first line tells which it is.
		first, _, more := strings.Cut(strings.TrimSpace(span.In(l.File)), "\n")
		if more {
			return oneLine(first) + " …", ""
		}
	}
	if c.Text != "" && c.Loc.Start > span.Start && c.Loc.Start <= span.End {
		span.End = c.Loc.Start
	}
	return oneLine(span.In(l.File)), c.Text
}

func oneLine(s string) string {
	s = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(s), "//"))
	return strings.Join(strings.Fields(s), " ")
}
