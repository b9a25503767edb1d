package main

import (
	"fmt"
	"io"
	"strings"

	"workings/runner"
	"workings/runner/diag"
)

// listing prints an evaluated notebook as a person reads it on a terminal.
type listing struct {
	w       io.Writer
	p       paint
	working bool
	text    int // width of the column of lines
	value   int // width of the column of values
}

// Beyond these widths a line pushes what follows it to the right instead of widening the column.
const (
	textLimit  = 46
	valueLimit = 32
)

func (l *listing) print(t *target, r *runner.Result) {
	front := &r.Doc.Front
	var head []string
	if front.Number.Text != "" {
		n := front.Number.Text
		if front.Revision.Text != "" {
			n += " rev " + front.Revision.Text
		}
		head = append(head, n)
	}
	if front.Title.Text != "" {
		head = append(head, front.Title.Text)
	}
	if len(head) > 0 {
		fmt.Fprintln(l.w, l.p.bold()(diag.Visible(strings.Join(head, "  "))))
	}
	fmt.Fprintln(l.w, l.p.dim()(diag.Visible(t.shown)))
	rows := l.visible(r.Listing())
	for len(rows) > 0 {
		n := 1
		for n < len(rows) && (rows[n].Depth > 0 || rows[n].Fence == rows[0].Fence) {
			n++
		}
		fmt.Fprintln(l.w)
		l.fence(rows[:n])
		rows = rows[n:]
	}
	l.answers(r.Answers(), r.Sensitivities)
	for _, rows := range r.Budgets() {
		fmt.Fprintln(l.w)
		l.fence(l.visible(rows))
	}
	l.routes(r.Routes())
	fmt.Fprintf(l.w, "\n%s\n", standing(r)+"; not verified for design use")
}

// visible leaves out folded workings, but for their lines that failed, which other lines and the
// problems below refer to; and it makes all text harmless to a terminal.
func (l *listing) visible(rows []runner.Row) []runner.Row {
	var out []runner.Row
	for _, r := range rows {
		if r.Folded && !l.working && !r.Failed {
			continue
		}
		r.Text, r.Caption, r.Status = diag.Visible(r.Text), diag.Visible(r.Caption), diag.Visible(r.Status)
		for i, v := range r.Values {
			r.Values[i] = runner.RowValue{Symbol: diag.Visible(v.Symbol), Text: diag.Visible(v.Text)}
		}
		for _, cells := range r.Cells {
			for i := range cells {
				cells[i] = diag.Visible(cells[i])
			}
		}
		out = append(out, r)
	}
	return out
}

// inline is what stands in the column of values: the value of a line with a single one, a verdict,
// or why there is none.
func inline(r runner.Row) string {
	switch {
	case r.Status != "":
		return r.Status
	case r.Kind != runner.StateRow && len(r.Values) == 1 && definesOnly(r):
		return "= " + r.Values[0].Text
	}
	return ""
}

// definesOnly tells `w = h2 - h1` from a call, whose result needs its name.
func definesOnly(r runner.Row) bool {
	return strings.HasPrefix(r.Text, r.Values[0].Symbol+" = ")
}

// fence prints the rows of one fence, in columns of its own.
func (l *listing) fence(rows []runner.Row) {
	l.text, l.value = 0, 0
	for _, r := range rows {
		if r.Kind == runner.HeadingRow || r.Kind == runner.TableRow {
			continue
		}
		if w := columns.StringWidth(r.Text) + 2*r.Depth; w <= textLimit {
			l.text = max(l.text, w)
		}
		if w := columns.StringWidth(inline(r)); w <= valueLimit {
			l.value = max(l.value, w)
		}
	}
	for _, r := range rows {
		l.row(r)
	}
}

// margin is what stands left of the lines: the entry number.
const margin = 6

func (l *listing) row(r runner.Row) {
	indent := strings.Repeat(" ", margin+2)
	switch r.Kind {
	case runner.HeadingRow:
		fmt.Fprintf(l.w, "%s%s\n", indent, l.p.bold()(r.Text))
		return
	case runner.TableRow:
		if r.Caption != "" {
			fmt.Fprintf(l.w, "%s%s\n", indent, l.p.bold()(r.Caption))
		}
		table(l.w, indent, r.Cells, func(col int) bool { return col > 0 }, l.p.dim())
		return
	}
	value, caption := inline(r), ""
	if r.Caption != "" {
		caption = "  " + l.p.dim()(r.Caption)
	}
	text := strings.Repeat("  ", r.Depth) + r.Text
	line := l.p.dim()(padLeft(r.Number, margin)) + "  "
	switch {
	case value == "" && caption == "":
		line += text
	case value == "" && l.value == 0:
		line += pad(text, l.text) + caption
	case caption == "":
		line += pad(text, l.text) + "  " + l.tint(r)(value)
	default:
		line += pad(text, l.text) + "  " + l.tint(r)(pad(value, l.value)) + caption
	}
	fmt.Fprintln(l.w, strings.TrimRight(line, " "))
	if value == "" || r.Status != "" && !r.Bad {
		l.values(r)
	}
}

// tint colours a status by what it says.
func (l *listing) tint(r runner.Row) func(string) string {
	switch {
	case r.Status == "":
		return l.p.bold()
	case r.Kind == runner.CautionRow && r.Bad:
		return l.p.warn()
	case r.Bad:
		return l.p.bad()
	case r.Kind == runner.CheckRow || r.Kind == runner.CautionRow:
		return l.p.good()
	}
	return l.p.warn()
}

// values prints the values of a line with several, three to a line.
func (l *listing) values(r runner.Row) {
	const perLine, width = 3, 25
	indent := strings.Repeat(" ", margin+4+2*r.Depth)
	for i := 0; i < len(r.Values); i += perLine {
		var b strings.Builder
		for _, v := range r.Values[i:min(i+perLine, len(r.Values))] {
			b.WriteString(pad(v.Symbol+" = "+v.Text, width) + "  ")
		}
		fmt.Fprintln(l.w, indent+strings.TrimRight(b.String(), " "))
	}
}

func (l *listing) answers(as []runner.RowValue, s *runner.Sensitivities) {
	if len(as) == 0 {
		return
	}
	fmt.Fprintf(l.w, "\n%s\n", l.p.bold()("Answers"))
	rows := make([][]string, len(as))
	uncertain := false
	for _, v := range as {
		uncertain = uncertain || v.Uncertainty != ""
	}
	for i, v := range as {
		text := "= " + v.Text
		if v.Text == "" {
			text = "no value"
		}
		rows[i] = []string{diag.Visible(v.Symbol), diag.Visible(text)}
		if uncertain {
			pm, from := "", ""
			if v.Uncertainty != "" {
				pm = "± " + v.Uncertainty
			}
			if v.From != "" {
				from = "from " + v.From
			}
			rows[i] = append(rows[i], diag.Visible(pm), diag.Visible(from))
		}
		rows[i] = append(rows[i], diag.Visible(v.Caption))
	}
	table(l.w, "  ", rows, func(int) bool { return false }, nil)
	if uncertain {
		fmt.Fprintln(l.w, l.p.dim()("  "+diag.Visible(s.Lead())+" The shares are of the variance."))
		for _, note := range s.NotesText() {
			fmt.Fprintln(l.w, l.p.dim()("  "+diag.Visible(note)))
		}
	}
}

// standing is one line on how the sheet stands.
func standing(r *runner.Result) string {
	holds, fails, waits := 0, 0, 0
	for _, c := range r.Trace.Checks {
		switch {
		case c.Check == nil || c.Check.Caution:
		case c.Check.Verdict == "holds":
			holds++
		case c.Check.Verdict == "fails":
			fails++
		default:
			waits++
		}
	}
	var count tally
	count.count(r.Problems())
	open := 0
	for _, a := range r.Trace.Sheet.Assumed {
		if a.Open {
			open++
		}
	}
	return sheetStanding(runner.Standing{Checks: holds + fails + waits, Holds: holds, Fails: fails, Waits: waits,
		Errors: count.errors, Cautions: count.cautions, Open: open, Overridden: overridden(r)})
}

// sheetStanding is the same in counts.
func sheetStanding(s runner.Standing) string {
	var parts []string
	add := func(n int, one, many string) {
		if n > 0 {
			parts = append(parts, plural(n, one, many))
		}
	}
	add(s.Errors, "error", "errors")
	add(s.Fails, "check fails", "checks fail")
	add(s.Waits, "check waits", "checks wait")
	add(s.Holds, "check holds", "checks hold")
	if s.Checks == 0 {
		parts = append(parts, "no checks")
	}
	add(s.Cautions, "caution", "cautions")
	add(s.Open, "assumption to confirm", "assumptions to confirm")
	add(s.Overridden, "input set from outside", "inputs set from outside")
	return strings.Join(parts, ", ")
}

func overridden(r *runner.Result) int {
	n := 0
	for _, e := range r.Trace.Entries {
		if e.Line.Overridden && e.Sheet == "" {
			n++
		}
	}
	return n
}

// routes prints the answers of second routes beside the sheet's own.
func (l *listing) routes(rs []runner.Route) {
	for _, r := range rs {
		fmt.Fprintf(l.w, "\n%s\n", l.p.bold()("Second route, with "+diag.Visible(r.Title)))
		rows := [][]string{{"", "here", "second route", "difference", ""}}
		for _, a := range r.Answers {
			row := []string{a.Symbol, a.Here, a.There, a.Difference, a.Remark}
			for i := range row {
				row[i] = diag.Visible(row[i])
				if row[i] == "" && (i == 1 || i == 2) {
					row[i] = "no value"
				}
			}
			rows = append(rows, row)
		}
		table(l.w, "  ", rows, func(int) bool { return false }, nil)
		for _, why := range r.Failed {
			fmt.Fprintln(l.w, l.p.dim()("  "+diag.Visible(why)))
		}
	}
}
