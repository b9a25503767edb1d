package sheet

import (
	"slices"
	"strings"

	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/notebook"
	"workings/runner/resolve"
)

// fence is what stands in the place of an evaluated fence, with what a list or quote around it needs
// before every line.
func (m *markdown) fence(b *notebook.Block) string {
	var lines []*resolve.Line
	for i, have := range m.doc.Blocks {
		if have == b && i < len(m.blocks) {
			lines = m.blocks[i]
		}
	}
	text := m.fenceText(b, lines)
	src := m.doc.Source
	start := m.doc.File.LineSpan(m.doc.File.Line(b.Span.Start))
	prefix := []rune(string(src[start.Start:b.Span.Start]))
	for i, r := range prefix {
		if r != '>' && r != '\t' {
			prefix[i] = ' '
		}
	}
	if m.touches(m.doc.File.Line(b.Span.Start) - 1) {
		text = "\n" + text
	}
	if below := m.doc.File.Line(max(b.Span.Start, b.Span.End-1)) + 1; m.touches(below) && !m.fenceAtLine(below) {
		text += "\n"
	}
	rows := strings.Split(text, "\n")
	for i, l := range rows[1:] {
		if l != "" {
			rows[i+1] = string(prefix) + l
		} else {
			rows[i+1] = strings.TrimRight(string(prefix), " \t")
		}
	}
	return strings.Join(rows, "\n")
}

// touches reports a line of the notebook that is there and is not blank: a table beside it would be
// taken for a part of its paragraph.
func (m *markdown) touches(no int) bool {
	if no < 1 || no > m.doc.File.Lines() {
		return false
	}
	return strings.Trim(m.doc.File.LineSpan(no).In(m.doc.File), " \t>\r") != ""
}

// fenceAtLine reports a line that the next fence begins on, which sets itself apart.
func (m *markdown) fenceAtLine(no int) bool {
	return slices.ContainsFunc(m.doc.Blocks, func(b *notebook.Block) bool { return m.doc.File.Line(b.Span.Start) == no })
}

func (m *markdown) fenceText(b *notebook.Block, lines []*resolve.Line) string {
	switch b.Kind {
	case "inputs":
		return m.inputs(lines)
	case "assume":
		return m.assumptions(lines)
	case "calc":
		var out []string
		for _, l := range lines {
			if h, ok := l.Stmt.(*lang.Heading); ok && h.Caption.Text != "" {
				out = append(out, "\n**"+m.captionText(l.File, h.Caption)+"**\n")
			} else if e := m.entry(l); e != nil {
				out = m.entryLines(out, e, "")
			}
		}
		return strings.TrimSpace(strings.Join(out, "\n"))
	case "answers":
		return m.answers(lines)
	case "study":
		var out []string
		for _, l := range lines {
			out = append(out, m.study(l))
		}
		return strings.Join(out, "\n\n")
	case "table", "data":
		var out []string
		for _, l := range lines {
			if b.Kind == "table" {
				out = append(out, m.table(l))
			} else {
				out = append(out, m.data(l))
			}
		}
		return strings.Join(out, "\n\n")
	}
	return m.asTyped(b, lines)
}

// asTyped shows a fence that has no values of its own: a method's definition, or what only the page
// draws.
func (m *markdown) asTyped(b *notebook.Block, lines []*resolve.Line) string {
	var out []string
	for _, l := range lines {
		if l.Problem != nil {
			out = append(out, "**"+problemText(l.Problem)+"**\n")
		}
	}
	if b.Kind != "method" {
		out = append(out, "The "+b.Kind+" is drawn on the HTML sheet.\n")
	}
	ticks := "```"
	for _, l := range b.Lines {
		for strings.Contains(l.Text, ticks) {
			ticks += "`"
		}
	}
	out = append(out, ticks+strings.TrimSpace(b.Kind+" "+b.Info))
	for _, l := range b.Lines {
		out = append(out, l.Text)
	}
	return strings.Join(append(out, ticks), "\n")
}

// entryLines adds an entry of the ledger: its number, the line as it is typed, the result; below it
// the values put in, and the lines that work for it.
func (m *markdown) entryLines(out []string, e *eval.Entry, indent string) []string {
	if m.depth++; m.depth > maxDepth {
		m.depth--
		return out
	}
	defer func() { m.depth-- }()
	l := e.Line
	if h, ok := l.Stmt.(*lang.Heading); ok {
		if h.Caption.Text != "" {
			out = append(out, indent+"* **"+m.captionText(l.File, h.Caption)+"**")
		}
		return out
	}
	text := indent + "* **" + e.Number + "** "
	var below []string
	switch {
	case e.Status != eval.Done && l.Kind != resolve.Check:
		text += code(sourceText(l)) + " **no value**: " + m.why(e)
	case l.Kind == resolve.Define, l.Kind == resolve.Input:
		text += m.equation(e)
		if s := m.substituted(e); s != "" {
			below = append(below, "with "+code(s))
		}
	case l.Kind == resolve.Check:
		text += m.verdictText(e)
	default:
		text += code(typedHead(l))
		if s := m.substituted(e); s != "" {
			below = append(below, "with "+code(s))
		}
		if l.Kind == resolve.Solve && e.Solve != nil && e.Status == eval.Done {
			below = append(below, m.solution(e))
		}
		if v := m.results(e); v != "" {
			below = append(below, v)
		}
	}
	if c := m.captionText(l.File, lang.CaptionOf(l.Stmt)); c != "" {
		text += ": " + c
	}
	out = append(out, text)
	for i, s := range below {
		if i < len(below)-1 {
			s += ";" // a viewer runs the lines together
		}
		out = append(out, indent+"  "+s)
	}
	if l.Kind == resolve.Use {
		return out // its lines are on its own sheet
	}
	for _, c := range e.Children {
		out = m.entryLines(out, c, indent+"  ")
	}
	return out
}

// typedHead is a line as it is typed, of a solve the first one: the others follow.
func typedHead(l *resolve.Line) string {
	if s, ok := l.Stmt.(*lang.Solve); ok {
		return s.Head.In(l.File)
	}
	return sourceText(l)
}

// equation is `h2 = h1 + (h2s - h1)/eta_c` = **567.75 kJ/kg**, or a literal alone.
func (m *markdown) equation(e *eval.Entry) string {
	l := e.Line
	if len(l.Defines) == 0 || l.X == nil {
		return code(sourceText(l))
	}
	text := code(l.Defines[0].Name + " = " + lang.FormatExpr(l.X.Src))
	f, ok := m.result(l.Defines[0])
	if !ok {
		return text
	}
	if _, same := m.literalOf(l.Defines[0]); same && isLiteral(l.X.Src) {
		return text
	}
	return text + " = **" + f.plain() + "**"
}

// substituted is the line with its values, as the trace has it.
func (m *markdown) substituted(e *eval.Entry) string {
	return string(m.appendSubstituted(nil, e))
}

// results are the values of a line that has several.
func (m *markdown) results(e *eval.Entry) string {
	shown := readResults(e)
	if e.Line.Kind == resolve.StateLine {
		shown = m.stateRows(e)
	}
	var parts []string
	for _, r := range shown {
		if r.Symbol.Adopted && r.Symbol.Line != e.Line {
			continue
		}
		if f, ok := m.result(r.Symbol); ok {
			parts = append(parts, code(r.Symbol.Full())+" = **"+f.plain()+"**")
		}
	}
	return strings.Join(parts, ", ")
}

func (m *markdown) solution(e *eval.Entry) string {
	var left []string
	for _, v := range e.Solve.Residuals {
		left = append(left, m.shownTo(v, 3).plain())
	}
	what := "residual "
	if e.Solve.Extreme != "" {
		what = e.Solve.Extreme + " "
	}
	return "found in " + itoa(e.Solve.Steps) + plural(e.Solve.Steps, " step, ", " steps, ") + what + strings.Join(left, " and ")
}

func (m *markdown) verdictText(e *eval.Entry) string {
	asked := strings.TrimSpace(strings.TrimPrefix(sourceText(e.Line), checkWord(e.Line.Stmt)))
	text := checkWord(e.Line.Stmt) + " " + code(asked)
	c := e.Check
	if c == nil || e.Status != eval.Done || c.Verdict == eval.Waits {
		return text + " **no verdict**, " + m.why(e)
	}
	_, word := verdictOf(c)
	text += " **" + word + "**"
	if c.Plain {
		text += ", " + m.marginText(c)
	}
	return text
}

// used lists where property data come from and which notebooks were used. The author's own sources
// are footnotes, and stay where they are.
func (m *markdown) used() {
	var out []string
	for _, s := range m.jsonSources() {
		switch s := s.(type) {
		case jsonFluid:
			text := "* " + code(s.Fluid) + ": " + escaped(s.Model)
			for _, part := range []string{s.Data, s.Version} {
				if part != "" {
					text += "; " + escaped(part)
				}
			}
			if s.SHA256 != "" {
				text += "; SHA-256 " + code(s.SHA256)
			}
			out = append(out, text)
		case jsonNotebook:
			text := "* notebook " + code(s.File)
			if s.Kind == "library" {
				text = "* methods of " + code(s.File) + ", which come with the tool"
			}
			if s.SHA256 != "" {
				text += "; SHA-256 " + code(s.SHA256)
			}
			out = append(out, text)
		}
	}
	m.section("Sources")
	for _, s := range out {
		m.line(s)
	}
	m.line("* this notebook: ", code(m.doc.File.Name), ", SHA-256 ", code(Hash(m.doc.File.Text)), ", evaluated by workings ", m.o.Version, "\n")
}

// problemsFound lists every problem with its place.
func (m *markdown) problemsFound() {
	if len(m.tr.Problems) == 0 {
		return
	}
	m.section("Problems")
	for _, q := range m.tr.Problems {
		line, col := q.Position()
		place := ""
		if q.File != nil {
			place = ", " + code(q.File.Name) + " line " + itoa(line) + ", column " + itoa(col)
		}
		m.line("* **", q.Severity.String(), "** ", escaped(q.Message), place, ", ", code(string(q.Code)))
		if q.Hint != "" {
			m.line("  ", escaped(q.Hint))
		}
	}
}
