package lang

import (
	"bytes"
	"sort"
	"strings"
	"unicode"

	"workings/runner/diag"
)

// The canonical form of a block.
const (
	formatWidth = 100 // a longer line is broken after operators and commas
	noteGap     = 3   // blanks before what is aligned: captions, ranges
	noteLimit   = 60  // a wider line does not move the captions of its neighbours
	nameLimit   = 16  // a wider name does not move the = of its neighbours
)

// Format is the canonical text of a block's lines, without the line ending of the last. Parsed
// again it gives the same tree. A line with a problem stays as it is; of a table, data, chart or study fence
// with one, all lines do.
//
// Operators have one spelling and one spacing. Within a run of lines captions are aligned, in an
// inputs fence also equals signs and ranges. Lines of a solve are indented by two, a line that
// goes on by four more. One blank line is kept where there are some.
func Format(src Source) string {
	b, problems := Parse(nil, src)
	f := formatter{src: src}
	switch src.Kind {
	case "table", "data", "chart", "study":
		d, isData := first(b.Stmts).(*Data)
		labelled := isData && d.Labelled // whose labels the tree does not hold
		if len(problems) == 0 && len(b.Stmts) == 1 && !labelled {
			f.whole(b.Stmts[0])
			return strings.Join(f.out, "\n")
		}
	case "inputs", "assume", "calc", "method", "cycle", "answers":
		f.collect(b.Stmts, 0)
		f.lines()
		return strings.Join(f.out, "\n")
	}
	for _, l := range src.Lines {
		f.out = append(f.out, l.Text)
	}
	return strings.Join(f.out, "\n")
}

func first(stmts []Stmt) Stmt {
	if len(stmts) == 0 {
		return nil
	}
	return stmts[0]
}

// Edit is a piece of a file to be replaced.
type Edit struct {
	Span diag.Span
	Text string
}

// FormatEdit is what has to be done to a file to bring a block of it to its canonical form; false
// if nothing. What stands before the lines, of a list or a quote, is kept, and so is the file's
// kind of line ending.
func FormatEdit(file *diag.File, src Source) (Edit, bool) {
	if len(src.Lines) == 0 {
		return Edit{}, false
	}
	first, last := src.Lines[0], src.Lines[len(src.Lines)-1]
	prefix := prefix(file, src)
	ending := "\n"
	if end := file.LineSpan(file.Line(first.Start)).End; bytes.HasPrefix(file.Text[end:], []byte("\r\n")) {
		ending = "\r\n"
	} else if bytes.HasPrefix(file.Text[end:], []byte("\r")) {
		ending = "\r"
	}
	span := diag.Span{Start: file.LineSpan(file.Line(first.Start)).Start, End: last.Start + len(last.Text)}
	text := Format(src)
	lines := strings.Split(text, "\n")
	for i, l := range lines {
		lines[i] = prefix + l
		if l == "" {
			lines[i] = strings.TrimRight(prefix, " \t")
		}
	}
	text = strings.Join(lines, ending)
	return Edit{span, text}, text != span.In(file)
}

// prefix is what has to stand before each line of a block: what belongs to the list or quote that it
// is in.
func prefix(file *diag.File, src Source) string {
	line := src.Lines[len(src.Lines)-1]
	for _, l := range src.Lines {
		if strings.TrimSpace(l.Text) != "" {
			line = l
			break
		}
	}
	before := string(file.Text[file.LineSpan(file.Line(line.Start)).Start:line.Start])
	if strings.HasPrefix(line.Text, "\t") {
		// Some columns of this tab may belong to the list: stand where the fence does.
		fence := string(file.Text[file.LineSpan(file.Line(src.Span.Start)).Start:src.Span.Start])
		before += strings.Repeat(" ", max(0, columns(fence)-columns(before)))
	}
	return before
}

// Apply makes edits that do not overlap.
func Apply(text []byte, edits []Edit) []byte {
	edits = append([]Edit(nil), edits...)
	sort.Slice(edits, func(i, j int) bool { return edits[i].Span.Start < edits[j].Span.Start })
	var out []byte
	from := 0
	for _, e := range edits {
		out = append(out, text[from:e.Span.Start]...)
		out = append(out, e.Text...)
		from = e.Span.End
	}
	return append(out, text[from:]...)
}

// entry is one line of the canonical text, and the source lines that it stands for.
type entry struct {
	from, to int // source lines; to is the first after them
	depth    int // solves that it stands in
	keep     bool
	heading  bool
	whole    bool   // one line however long: words, not an expression
	lead     string // of a component: its states, which stand in a column before the code
	name     string // of an input
	code     string // of an input, the value
	tail     string // of an input, what follows the value
	caption  string
}

type formatter struct {
	src     Source
	entries []entry
	out     []string
}

func (f *formatter) lineOf(offset int) int {
	return max(0, sort.Search(len(f.src.Lines), func(i int) bool { return f.src.Lines[i].Start > offset })-1)
}

func (f *formatter) add(e entry, at diag.Span, c Caption) {
	if c.Loc.End > 0 {
		at = at.Join(c.Loc)
	}
	e.from, e.to, e.caption = f.lineOf(at.Start), f.lineOf(max(at.Start, at.End-1))+1, c.Text
	f.entries = append(f.entries, e)
}

// collect makes the entries of statements, in the order of the text.
func (f *formatter) collect(stmts []Stmt, depth int) {
	for _, s := range stmts {
		e := entry{depth: depth}
		switch s := s.(type) {
		case *Bad:
			e.keep = true
			f.add(e, s.Loc, Caption{})
		case *Heading:
			e.heading = true
			f.add(e, s.Loc, s.Caption)
		case *Input:
			e.name, e.code, e.tail = s.Name.Text, s.value(), s.tail()
			f.add(e, s.Loc, s.Caption)
		case *Solve:
			e.code = s.head()
			f.add(e, s.Head, s.Caption)
			// The lines of a solve may stand between its untils only as headings, so sorting by
			// place keeps them where they are.
			f.collect(s.Body, depth+1)
			for _, u := range s.Until {
				f.add(entry{depth: depth, code: u.text()}, u.Loc, u.Caption)
			}
		case *Method:
			e.code = s.head()
			f.add(e, s.Head, s.Caption)
			f.collect(s.Body, depth)
		case *Cycle:
			if s.Caption.Loc.End > 0 {
				f.add(entry{heading: true}, s.Caption.Loc, s.Caption)
			}
			f.collect(s.Lines, depth)
		case *Component:
			e.whole = true
			e.lead, e.code = s.states(), s.word()
			f.add(e, s.Loc, s.Caption)
		default:
			code, at, c := text(s)
			e.code = code
			_, e.whole = s.(*Assume)
			f.add(e, at, c)
		}
	}
}

// lines writes the entries and what no statement stands for: blank lines, and lines kept as they
// are.
func (f *formatter) lines() {
	sort.SliceStable(f.entries, func(i, j int) bool { return f.entries[i].from < f.entries[j].from })
	blank, at := false, 0
	var run []entry
	flush := func() {
		f.run(run)
		run = run[:0]
	}
	gap := func() {
		if blank && len(f.out) > 0 {
			f.out = append(f.out, "")
		}
		blank = false
	}
	next := 0
	for at < len(f.src.Lines) {
		if next < len(f.entries) && f.entries[next].from <= at {
			e := f.entries[next]
			next++
			if blank || e.keep || e.heading {
				flush()
				gap()
			}
			at = max(at, e.to)
			switch {
			case e.keep:
				f.verbatim(e)
			case e.heading:
				f.out = append(f.out, indentBy(e.depth)+strings.TrimRight("// "+e.caption, " "))
			default:
				run = append(run, e)
			}
			continue
		}
		if isBlank(f.src.Lines[at].Text) {
			blank = true
		} else {
			// No statement stands for it: it belongs to what could not be read.
			flush()
			gap()
			f.out = append(f.out, f.src.Lines[at].Text)
		}
		at++
	}
	flush()
}

func isBlank(s string) bool {
	return strings.TrimLeftFunc(s, func(r rune) bool { return r == '\t' || unicode.Is(unicode.Zs, r) }) == ""
}

func indentBy(depth int) string { return strings.Repeat("  ", depth) }

// verbatim keeps the lines of an entry. Inside a solve they are moved, so that they stay inside.
func (f *formatter) verbatim(e entry) {
	lines := f.src.Lines[e.from:e.to]
	by := 2*e.depth - indent(lines[0].Text)
	for _, l := range lines {
		text := l.Text
		if e.depth > 0 {
			text = strings.Repeat(" ", max(0, indent(text)+by)) + strings.TrimLeft(text, " \t")
		}
		f.out = append(f.out, text)
	}
}

// run writes lines that stand together, aligned.
func (f *formatter) run(run []entry) {
	leads, names, values, captions := 0, 0, 0, 0
	for _, e := range run {
		if w := width(e.lead); w <= noteLimit {
			leads = max(leads, w)
		}
		if w := width(e.name); w <= nameLimit {
			names = max(names, w)
		}
		if w := width(e.code); e.tail != "" && w <= noteLimit {
			values = max(values, w)
		}
	}
	codes := make([]string, len(run))
	for i, e := range run {
		code := e.code
		if e.tail != "" {
			code = pad(code, values) + strings.Repeat(" ", noteGap) + e.tail
		}
		if e.lead != "" {
			code = pad(e.lead, leads) + strings.Repeat(" ", noteGap) + code
		}
		if e.name != "" {
			code = pad(e.name, names) + " = " + code
		}
		code = indentBy(e.depth) + code
		codes[i] = code
		if w := width(code); e.caption != "" && w <= noteLimit {
			captions = max(captions, w)
		}
	}
	for i, e := range run {
		lines := []string{codes[i]}
		if width(codes[i]) > formatWidth && !e.whole {
			lines = broken(codes[i], e.depth)
			if len(lines) > MaxLines {
				lines = []string{codes[i]}
			}
		}
		if e.caption != "" {
			last := &lines[len(lines)-1]
			if len(lines) == 1 {
				*last = pad(*last, captions)
			}
			*last += strings.Repeat(" ", noteGap) + "// " + e.caption
		}
		f.out = append(f.out, lines...)
	}
}

// columns is how wide a text is that begins a line; a tab goes to the next multiple of four.
func columns(s string) int {
	n := 0
	for _, r := range s {
		if r == '\t' {
			n += 4 - n%4
		} else {
			n++
		}
	}
	return n
}

// width is how many columns a text takes in a fixed-width font; marks above letters take none.
func width(s string) int {
	n := 0
	for _, r := range s {
		if !unicode.Is(unicode.Mn, r) {
			n++
		}
	}
	return n
}

func pad(s string, to int) string { return s + strings.Repeat(" ", max(0, to-width(s))) }

// broken breaks a long line where it goes on by itself: after an operator, a comma, an equals sign
// or an open bracket, and of these at the least nested.
func broken(code string, depth int) []string {
	lx := &lexer{table: strings.HasPrefix(code, "states ")}
	lx.line(Line{Text: code})
	var lines []string
	from, indent := 0, 0
	level := 0
	type cut struct{ at, level int } // where the next line would begin; the lower the level the better
	var cuts []cut
	for i := range lx.toks {
		t := &lx.toks[i]
		if t.op("(") {
			level++
		} else if t.op(")") {
			level--
		}
		if goesOn(t) && i+1 < len(lx.toks) && !t.op("?") && !t.op(":") {
			c := cut{lx.toks[i+1].at.Start, 2 * level}
			if level > 0 && t.op("=") {
				c.level++ // rather before the name of an argument than after it
			}
			cuts = append(cuts, c)
		}
	}
	rest := strings.Repeat(" ", 2*depth+4)
	for {
		room := formatWidth - indent
		if width(code[from:]) <= room {
			break
		}
		best := -1
		for i, c := range cuts {
			if c.at <= from {
				continue
			}
			w := width(strings.TrimRight(code[from:c.at], " "))
			if w > room && best >= 0 {
				break
			}
			if best < 0 || c.level <= cuts[best].level || width(code[from:cuts[best].at]) < room/3 {
				best = i
			}
			if w > room {
				break
			}
		}
		if best < 0 {
			break
		}
		lines = append(lines, strings.Repeat(" ", indent)+strings.TrimRight(code[from:cuts[best].at], " "))
		from, indent = cuts[best].at, len(rest)
	}
	return append(lines, strings.Repeat(" ", indent)+code[from:])
}
