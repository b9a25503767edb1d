package lang

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"workings/runner/diag"
)

const byteOrderMark = "\ufeff"

const dataForm = "write ```data NAME, or ```data NAME from \"file.csv\""

// assumptions reads an assume fence: `label: text // basis` lines.
func (p *parser) assumptions() []Stmt {
	var stmts []Stmt
	for i := range p.lines {
		l := &p.lines[i]
		p.failed = false
		body := strings.TrimSpace(l.Text)
		switch {
		case l.refused:
			stmts = append(stmts, &Bad{At: At{l.span()}})
		case body == "":
		case strings.HasPrefix(body, "//"):
			stmts = append(stmts, &Heading{At{l.span()}, p.captionAt(l, strings.Index(l.Text, "//"))})
		default:
			if a := p.assumption(l); a != nil {
				stmts = append(stmts, a)
			} else {
				stmts = append(stmts, &Bad{At: At{l.span()}})
			}
		}
	}
	return stmts
}

// piece is a part of a line without the blanks around it.
func (p *parser) piece(l *sourceLine, from, to int) (diag.Span, string) {
	for from < to && (l.Text[from] == ' ' || l.Text[from] == '\t') {
		from++
	}
	for to > from && (l.Text[to-1] == ' ' || l.Text[to-1] == '\t') {
		to--
	}
	return diag.Span{Start: l.Start + from, End: l.Start + to}, l.Text[from:to]
}

func (p *parser) captionAt(l *sourceLine, slashes int) Caption {
	at, text := p.piece(l, slashes+2, len(l.Text))
	return Caption{At{at}, text}
}

func (p *parser) assumption(l *sourceLine) Stmt {
	const form = "write label: text // basis; a label is letters, digits and hyphens"
	end := noteAt(l.Text)
	a := &Assume{}
	if end < len(l.Text) {
		a.Basis = p.captionAt(l, end)
	}
	a.Loc, _ = p.piece(l, 0, end)
	colon := strings.IndexByte(l.Text[:end], ':')
	if colon < 0 {
		p.fail(a.Loc, CodeAssume, "this assumption has no label", "expected label: before the text", form)
		return nil
	}
	at, label := p.piece(l, 0, colon)
	if !isLabel(label) {
		if label == "" {
			at = diag.Span{Start: l.Start + colon, End: l.Start + colon + 1}
		}
		p.fail(at, CodeAssume, "this is no label", "expected letters, digits and hyphens", form)
		return nil
	}
	a.Label = Name{At{at}, label}
	at, text := p.piece(l, colon+1, end)
	if text == "" || strings.HasPrefix(text, "//") {
		p.fail(a.Loc, CodeAssume, "this assumption says nothing", "expected its text after the label", form)
		return nil
	}
	a.Text = Caption{At{at}, text}
	return a
}

// noteAt is where the // of a note begins: at the start of the line or after a blank, so that an
// address in the text does not end it.
func noteAt(s string) int {
	for i := 0; i+1 < len(s); i++ {
		if s[i] == '/' && s[i+1] == '/' && (i == 0 || s[i-1] == ' ' || s[i-1] == '\t') {
			return i
		}
	}
	return len(s)
}

func isLabel(s string) bool {
	for i, r := range s {
		if !nameLetter(r) && (i == 0 || r != '-' && !(r >= '0' && r <= '9')) {
			return false
		}
	}
	return s != ""
}

// data reads a data fence: its info string, a caption, the heads of the columns, rows.
func (p *parser) data(src Source) []Stmt {
	d := &Data{At: At{src.Span}}
	if !p.dataInfo(d, src) {
		b := &Bad{At: d.At}
		if d.Name.Text != "" {
			b.Spaces = []Name{d.Name}
		}
		return []Stmt{b}
	}
	good, bad := true, badCells{}
	for i := range p.lines {
		if !p.dataLine(d, &p.lines[i], &bad) {
			good = false
			if d.From != nil || d.Columns == nil {
				break // one row too many, or heads that cannot be read, say it all
			}
		}
	}
	p.failed = false
	if bad.n > 0 {
		good = false
		p.moreBadCells(bad)
	}
	if good && d.From == nil && d.Columns == nil {
		p.fail(src.Span, CodeData, "this data fence is empty", "expected the heads of its columns", "write T/K, h/(kJ/kg) and rows of figures below")
		good = false
	}
	if !good {
		return []Stmt{&Bad{At: d.At, Spaces: []Name{d.Name}}}
	}
	return []Stmt{d}
}

// unmarked are the lines of a table without the byte order mark that a file of its own may begin with.
func unmarked(lines []Line) []Line {
	if len(lines) == 0 || lines[0].Start > 0 || !strings.HasPrefix(lines[0].Text, byteOrderMark) {
		return lines
	}
	first := Line{lines[0].Text[len(byteOrderMark):], len(byteOrderMark)}
	return append([]Line{first}, lines[1:]...)
}

// dataLine reads a line of a data fence: its caption, the heads, or a row.
func (p *parser) dataLine(d *Data, l *sourceLine, bad *badCells) bool {
	p.failed = false
	if l.refused {
		return false
	}
	end := len(l.Text)
	if slashes := strings.Index(l.Text, "//"); slashes >= 0 {
		end = slashes
		if c := p.captionAt(l, end); d.Columns == nil {
			d.Caption = joinCaptions(d.Caption, c)
		} else {
			p.captionHere(c)
		}
	}
	at, body := p.piece(l, 0, end)
	switch {
	case body == "":
		return true
	case d.From != nil:
		p.fail(at, CodeData, "a data fence with a file has no rows of its own", "these would come from "+d.From.Value, "delete the rows, or the from of the fence")
		return false
	case strings.HasPrefix(body, "#"):
		p.fail(at, CodeCharacter, "`#` means nothing here", "neither heads nor figures", "a comment begins with //, above the heads")
		return false
	case d.Columns == nil:
		return p.heads(d, l, end)
	}
	d.Rows = append(d.Rows, p.dataRow(l, end, d, bad))
	return true
}

// dataInfo reads NAME or NAME from "file".
func (p *parser) dataInfo(d *Data, src Source) bool {
	at := src.InfoSpan
	if at == (diag.Span{}) {
		at = diag.Span{Start: src.Span.Start, End: src.Span.Start}
	}
	l := Line{src.Info, src.InfoSpan.Start}
	if p.invisible(l) {
		return false
	}
	lx := &lexer{file: p.file}
	lx.line(l)
	p.toks, p.bads = lx.toks, lx.bads
	if len(p.toks) == 0 {
		p.fail(at, CodeData, "a data fence needs a name", "expected a name after data", dataForm)
		return false
	}
	if !p.tidy(0, len(p.toks)) {
		return false
	}
	if p.toks[0].kind != tName {
		p.fail(p.toks[0].at, CodeData, "this is no name for data", "expected a name", dataForm)
		return false
	}
	d.Name = p.nameAt(0)
	if len(p.toks) == 1 {
		return true
	}
	if len(p.toks) != 3 || !p.toks[1].name("from") || p.toks[2].kind != tString {
		p.fail(p.span(1, len(p.toks)).Loc, CodeData, "this data fence cannot be read", "expected from \"file.csv\", or the end", dataForm)
		return false
	}
	d.From = &StringLit{At{p.toks[2].at}, p.toks[2].text}
	return true
}

// heads reads the heads of the columns.
func (p *parser) heads(d *Data, l *sourceLine, end int) bool {
	if p.otherSeparator(l, end) {
		return false
	}
	good := true
	var columns []Column
	first := true
	p.cells(l, end, func(at diag.Span, text string) {
		p.failed = false
		if first && text == labelHead {
			d.Labelled, first = true, false
			return
		}
		first = false
		c, ok := p.head(at, text)
		columns = append(columns, c)
		good = good && ok
	})
	p.failed = false
	if good {
		d.Columns = columns
	}
	return good
}

// labelHead is the head of a first column that names the rows. It has no unit and is not read: the
// tables of states that a sheet writes as CSV begin with it.
const labelHead = "state"

// otherSeparator reports heads that are parted by something else than commas.
func (p *parser) otherSeparator(l *sourceLine, end int) bool {
	at, text := p.piece(l, 0, end)
	if strings.Contains(text, ",") {
		return false
	}
	for _, s := range []struct{ mark, name string }{{";", "semicolons"}, {"\t", "tabs"}, {"|", "bars"}} {
		if strings.Contains(text, s.mark) {
			p.fail(at, CodeData, "the columns of a data table are parted by commas", "here are "+s.name,
				"write T/K, h/(kJ/kg) and rows such as 300, 300.2, with a decimal point")
			return true
		}
	}
	return false
}

// head reads symbol/unit; the unit may stand in brackets.
func (p *parser) head(at diag.Span, text string) (Column, bool) {
	c, pr := ParseHead(at, text)
	if pr != nil {
		p.failed = true
		p.report(pr)
		return c, false
	}
	return c, true
}

// ParseHead reads the head of a column of data, symbol/unit such as T/K, h/(kJ/kg) or k/1, that
// stands at a place. A missing unit is left to the caller: Unit.Text is "".
func ParseHead(at diag.Span, text string) (Column, *diag.Problem) {
	c := Column{At: At{at}}
	fail := func(span diag.Span, code diag.Code, message, label string) (Column, *diag.Problem) {
		return c, &diag.Problem{Code: code, Severity: diag.Error, Span: span, Message: message, Label: label, Hint: "write symbol/unit: T/K, h/(kJ/kg); without dimension k/1"}
	}
	name, unit, slash := strings.Cut(text, "/")
	name = strings.TrimRight(name, " \t")
	if name == "" || nameLen(name) != len(name) || reserved(name) {
		return fail(at, CodeData, "the head of a column is a symbol and its unit", "expected symbol/unit")
	}
	c.Name = Name{At{diag.Span{Start: at.Start, End: at.Start + len(name)}}, name}
	if !slash {
		return c, nil
	}
	from := at.End - len(unit)
	trimmed := strings.TrimSpace(unit)
	from += strings.Index(unit, trimmed)
	if strings.HasPrefix(trimmed, "(") && strings.HasSuffix(trimmed, ")") {
		trimmed = trimmed[1 : len(trimmed)-1]
		from++
	}
	c.Unit = UnitText{At{diag.Span{Start: from, End: from + len(trimmed)}}, trimmed}
	if trimmed == "" {
		return c, nil
	}
	if pr := unitProblem(trimmed, c.Unit.Loc, ""); pr != nil {
		return c, pr
	}
	return c, nil
}

// cells cuts a line at its commas. A cell may stand in quotes, as programs write it.
func (p *parser) cells(l *sourceLine, end int, cell func(at diag.Span, text string)) {
	for from := 0; from <= end; {
		if open, to, ok := quotedCell(l.Text[:end], from); ok {
			at, text := p.piece(l, open+1, to)
			cell(at, text)
			from = to + 1
			for from < end && l.Text[from] != ',' {
				from++
			}
			from++
			continue
		}
		to := strings.IndexByte(l.Text[from:end], ',')
		if to < 0 {
			to = end
		} else {
			to += from
		}
		at, text := p.piece(l, from, to)
		cell(at, text)
		from = to + 1
	}
}

// quotedCell finds the quotes around the cell that begins at from; false where it is not in quotes
// as a whole.
func quotedCell(text string, from int) (open, end int, ok bool) {
	body := strings.TrimLeft(text[from:], " \t")
	open = len(text) - len(body)
	if !strings.HasPrefix(body, `"`) {
		return 0, 0, false
	}
	n := strings.IndexByte(body[1:], '"')
	if n < 0 {
		return 0, 0, false
	}
	rest := strings.TrimLeft(body[n+2:], " \t")
	return open, open + 1 + n, rest == "" || rest[0] == ','
}

// badCells counts the cells of a table that hold no number. A slip that runs through a long table
// is told for the first ones only.
type badCells struct {
	n    int
	last diag.Span
}

const maxBadCells = 10

func (p *parser) dataRow(l *sourceLine, end int, d *Data, bad *badCells) DataRow {
	at, _ := p.piece(l, 0, end)
	row := DataRow{At: At{at}}
	label := d.Labelled
	p.cells(l, end, func(at diag.Span, text string) {
		if label {
			label = false
			return
		}
		v, ok := ParseFigure(text)
		row.Cells = append(row.Cells, Cell{At{at}, text, v, ok})
		if !ok && len(row.Cells) <= len(d.Columns) { // one more than there are columns is another fault
			p.badCell(at, text, bad)
		}
	})
	return row
}

func (p *parser) badCell(at diag.Span, text string, bad *badCells) {
	bad.last = at
	if bad.n++; bad.n > maxBadCells {
		return
	}
	p.failed = false
	if text == "" {
		p.fail(at, CodeNumber, "a figure is missing", "this cell is empty", "a data table has a figure in every cell")
		return
	}
	hint := "figures are written 1234.5 or 1.2e-3; the unit stands in the column's head"
	if strings.Contains(text, ",") {
		hint = "write it with a decimal point, without grouping"
	}
	p.fail(at, CodeNumber, fmt.Sprintf("`%s` is no number", text), "expected a figure", hint)
}

func (p *parser) moreBadCells(bad badCells) {
	if more := bad.n - maxBadCells; more > 0 {
		p.failed = false
		p.fail(bad.last, CodeNumber, fmt.Sprintf("%d more cells of this table hold no number", more), "the last of them", "")
	}
}

// ParseFigure reads a figure of a data table: a decimal number, finite, perhaps with a sign.
func ParseFigure(text string) (float64, bool) {
	s := text
	if r, n := utf8.DecodeRuneInString(s); r == '−' {
		s = "-" + s[n:]
	}
	if s == "" || strings.ContainsAny(s, "xX_iInNpP") { // forms of Go, not of a printed table
		return 0, false
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0, false
	}
	return v, true
}
