package sheet

import (
	"strings"
	"unicode/utf8"

	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/units"
)

// pipes is a Markdown table that is also one to look at: its columns are filled up with blanks, as
// long as they are not too wide. A head that begins with > stands over numbers. Columns that are
// empty throughout are left out.
func pipes(head []string, rows [][]string) string {
	const widest = 48
	width := make([]int, len(head))
	used := make([]bool, len(head))
	for _, row := range rows {
		for i, c := range row {
			row[i] = strings.ReplaceAll(c, "|", `\|`)
			used[i] = used[i] || c != ""
		}
	}
	for i, h := range head {
		width[i] = max(3, utf8.RuneCountInString(strings.TrimPrefix(h, ">")))
		for _, row := range rows {
			if n := utf8.RuneCountInString(row[i]); n <= widest {
				width[i] = max(width[i], n)
			}
		}
	}
	var b strings.Builder
	write := func(cells []string) {
		for i, c := range cells {
			if !used[i] {
				continue
			}
			gap := strings.Repeat(" ", max(0, width[i]-utf8.RuneCountInString(c)))
			if strings.HasPrefix(head[i], ">") {
				b.WriteString("| " + gap + c + " ")
			} else {
				b.WriteString("| " + c + gap + " ")
			}
		}
		b.WriteString("|\n")
	}
	names, rule := make([]string, len(head)), make([]string, len(head))
	for i, h := range head {
		names[i] = strings.TrimPrefix(h, ">")
		rule[i] = strings.Repeat("-", width[i])
		if h != names[i] {
			rule[i] = strings.Repeat("-", width[i]-1) + ":"
		}
	}
	write(names)
	write(rule)
	for _, row := range rows {
		write(row)
	}
	return strings.TrimRight(b.String(), "\n")
}

func (m *markdown) answers(lines []*resolve.Line) string {
	var rows [][]string
	for _, l := range lines {
		stmt, ok := l.Stmt.(*lang.Answer)
		if !ok {
			continue
		}
		row := []string{code(stmt.Name.Text), "**no value**", "", "", m.captionText(l.File, stmt.Caption)}
		if s := l.Shown; s != nil && s.Symbol != nil {
			row[0] = code(s.Symbol.Full())
			if f, ok := m.answered(s); ok && s.Problem == nil {
				row[1] = "**" + f.plain() + "**"
			}
			if u, ok := m.tr.UncertaintyOf(s); ok {
				row[2] = "± " + m.shownTo(u, 2).plain()
			}
			row[3] = m.defined(s.Symbol)
			if def := s.Symbol.Line; row[4] == "" && def != nil && s.Symbol.State == nil {
				row[4] = m.captionText(def.File, lang.CaptionOf(def.Stmt))
			}
		}
		rows = append(rows, row)
	}
	return pipes([]string{"symbol", ">value", "standard uncertainty", "entry", "what was asked"}, rows)
}

func (m *markdown) inputs(lines []*resolve.Line) string {
	var rows [][]string
	for _, l := range lines {
		if h, ok := l.Stmt.(*lang.Heading); ok {
			if h.Caption.Text != "" {
				rows = append(rows, []string{"", "", "", "", "", "**" + m.captionText(l.File, h.Caption) + "**"})
			}
			continue
		}
		e := m.entry(l)
		if e == nil {
			continue
		}
		row := []string{e.Number, "", "", "", "", m.captionText(l.File, lang.CaptionOf(l.Stmt))}
		if c, ok := l.Stmt.(*lang.Correlation); ok && e.Status == eval.Done {
			row[2], row[5] = lang.FormatExpr(c.R), join("correlation of "+code(c.A.Full())+" and "+code(c.B.Full()), row[5])
			rows = append(rows, row)
			continue
		}
		rows = append(rows, row)
		in, ok := l.Stmt.(*lang.Input)
		if !ok || len(l.Defines) == 0 || e.Status != eval.Done {
			row[1], row[2], row[5] = code(sourceText(l)), "**no value**", join(row[5], m.why(e))
			continue
		}
		row[1] = code(in.Name.Text)
		if f, ok := m.result(l.Defines[0]); ok {
			row[2] = f.plain()
		}
		if in.Spread != nil {
			row[3] = lang.FormatExpr(in.Spread)
		}
		if in.Between != nil {
			row[4] = lang.FormatExpr(in.Between.Lo) + " to " + lang.FormatExpr(in.Between.Hi)
		}
		if l.X != nil && !isLiteral(l.X.Src) {
			row[5] = join(row[5], "from "+code(lang.FormatExpr(l.X.Src)))
		}
		if l.Overridden {
			row[5] = join(row[5], "**overridden**: the notebook says "+code(l.OwnText))
		}
		if len(l.Sources) == 0 {
			row[5] = join(row[5], "(no source)")
		}
	}
	return pipes([]string{"entry", "symbol", ">value", "±", "allowed", "what it is"}, rows)
}

func join(a, b string) string {
	switch {
	case a == "":
		return b
	case b == "":
		return a
	}
	return a + "; " + b
}

// why says why an entry has no value.
func (m *markdown) why(e *eval.Entry) string {
	switch {
	case e.Status == eval.Waiting && len(e.WaitsFor) > 0:
		return "waits for " + strings.Join(e.WaitsFor, ", ")
	case e.Problem != nil:
		return problemText(e.Problem)
	}
	return "no value"
}

func problemText(q *diag.Problem) string {
	text := q.Severity.String() + ": " + escaped(q.Message)
	if q.Hint != "" {
		text += " (" + escaped(q.Hint) + ")"
	}
	return text
}

func (m *markdown) assumptions(lines []*resolve.Line) string {
	var out []string
	for _, l := range lines {
		a, ok := l.Stmt.(*lang.Assume)
		if !ok {
			if l.Problem != nil {
				out = append(out, "* "+code(sourceText(l))+" **"+problemText(l.Problem)+"**")
			}
			continue
		}
		text := "* **A" + itoa(m.assumed[a.Label.Text]) + "** " + m.captionText(l.File, a.Text)
		if basis := m.captionText(l.File, a.Basis); basis != "" {
			text += " (" + basis + ")"
		}
		out = append(out, text+" "+code("["+a.Label.Text+"]"))
	}
	return strings.Join(out, "\n")
}

// table writes a `table` fence.
func (m *markdown) table(l *resolve.Line) string {
	t := l.Table
	if t == nil || l.Problem != nil {
		return m.failed(l)
	}
	title := strings.TrimSpace("**Table " + itoa(m.places[l].number) + "** " + m.captionText(l.File, t.Caption))
	out := []string{title}
	if len(t.States) > 0 {
		head := []string{"state"}
		for _, c := range t.Columns {
			name := ">" + code(c.Name)
			if !c.Unit.IsNone() {
				name += " in " + c.Unit.String()
			}
			head = append(head, name)
		}
		var rows [][]string
		for i, st := range t.States {
			row := []string{m.stateName(st)}
			for j, c := range t.Columns {
				text := "–"
				if i < len(t.Cells) && j < len(t.Cells[i]) && t.Cells[i][j] != nil {
					if f, ok := m.asked(&resolve.Shown{Symbol: t.Cells[i][j], Unit: c.Unit}); ok {
						text = f.num
					}
				}
				row = append(row, text)
			}
			rows = append(rows, row)
		}
		out = append(out, pipes(head, rows))
	}
	if len(t.Symbols) > 0 {
		var rows [][]string
		for _, s := range t.Symbols {
			row := []string{"?", "**no value**", ""}
			if s.Symbol != nil {
				row[0], row[2] = code(s.Symbol.Full()), m.defined(s.Symbol)
				if f, ok := m.asked(s); ok {
					row[1] = f.plain()
				}
			}
			rows = append(rows, row)
		}
		out = append(out, pipes([]string{"symbol", ">value", "entry"}, rows))
	}
	return strings.Join(out, "\n\n")
}

// data writes a `data` fence with all its rows.
func (m *markdown) data(l *resolve.Line) string {
	t := l.Data
	if t == nil || l.Problem != nil || len(t.Columns) == 0 {
		return m.failed(l)
	}
	var head []string
	for _, c := range t.Columns {
		name := ">" + code(c.Name)
		if !c.Unit.IsNone() {
			name += " in " + c.Unit.String()
		}
		head = append(head, name)
	}
	rows := make([][]string, len(t.Rows))
	for i, r := range t.Rows {
		for j, v := range r {
			rows[i] = append(rows[i], tableNumber(v, t.Columns[j].Unit, m.ambient))
		}
	}
	return "**Data " + code(t.Name) + "** " + m.captionText(l.File, lang.CaptionOf(l.Stmt)) + "\n\n" + pipes(head, rows)
}

// failed stands where a whole fence has no value.
func (m *markdown) failed(l *resolve.Line) string {
	if l.Problem != nil {
		return "**" + problemText(l.Problem) + "**"
	}
	return "**no value**: waits for " + strings.Join(m.failedEntries(l.Waits), ", ")
}

// checks collects every check.
func (m *markdown) checks() {
	if len(m.tr.Checks) == 0 {
		return
	}
	m.section("All checks")
	m.line("What was asked of the results. That a check holds approves nothing.\n")
	var rows [][]string
	for _, e := range m.tr.Checks {
		asked := strings.TrimSpace(strings.TrimPrefix(sourceText(e.Line), checkWord(e.Line.Stmt)))
		row := []string{e.Number, code(asked), "", "", "", ""}
		rows = append(rows, row)
		if checkWord(e.Line.Stmt) == "caution" {
			row[1] = "caution unless " + row[1]
		}
		if e.Sheet != "" {
			row[1] += " in " + escaped(e.Sheet)
		}
		c := e.Check
		if c == nil || e.Status != eval.Done || c.Verdict == eval.Waits {
			row[5] = m.why(e)
			continue
		}
		_, row[5] = verdictOf(c)
		if c.Accepted != nil && c.Verdict == eval.Fails {
			row[5] += ": " + m.captionText(c.Accepted.Line.File, c.Accepted.Reason)
		}
		if c.Plain {
			row[2] = m.shown(c.Left).plain()
			row[3] = m.allowed(e, c)
			row[4] = m.marginText(c)
		}
	}
	m.line(pipes([]string{"entry", "what was asked", ">left side", "allowed", ">margin", "verdict"}, rows), "\n")
}

// allowed are the limits that the left side of a check has to keep.
func (m *markdown) allowed(e *eval.Entry, c *eval.CheckDetail) string {
	lo, hi := m.asRight(e, c, c.Lo), m.asRight(e, c, c.Hi)
	switch {
	case c.HasLo && c.HasHi:
		digits := m.digits
		a, b := m.shownTo(lo, digits), m.shownTo(hi, digits)
		for a.num == b.num && digits < 17 && lo.Shown != hi.Shown {
			digits++
			a, b = m.shownTo(lo, digits), m.shownTo(hi, digits)
		}
		if a.unit.Equal(b.unit) {
			a.unit = units.Unit{}
		}
		return a.plain() + " to " + b.plain()
	case c.HasLo:
		return limitWord(c.Op) + " " + m.shown(lo).plain()
	case c.HasHi:
		return limitWord(c.Op) + " " + m.shown(hi).plain()
	}
	return "not " + m.shown(m.asRight(e, c, c.Right)).plain()
}

func (m *markdown) marginText(c *eval.CheckDetail) string {
	const digits = 3
	word := "to spare"
	if c.Margin.Shown < 0 || c.Verdict == eval.Fails {
		word = "too far"
	}
	f := figure{strings.TrimPrefix(units.FormatNumber(c.Margin.Shown, digits), "−"), c.Margin.Unit}
	return f.plain() + " " + word
}
