package lang

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/conf"

	"workings/runner/diag"
)

// Source is the text of one fence.
type Source struct {
	Kind     string // the fence word
	Info     string // what follows it: `air_printed from "air.csv"`
	InfoSpan diag.Span
	Span     diag.Span // the whole fence
	Lines    []Line
}

// Reader reads the fences of one file, one after the other: most expressions have a shape that one
// before them had, and are not taken to expr's parser again.
type Reader struct {
	file   *diag.File
	shapes map[string]ast.Node // what expr's parser has made of x*x+x
}

// NewReader has read nothing yet.
func NewReader(file *diag.File) *Reader { return &Reader{file, map[string]ast.Node{}} }

// Parse reads one block by a reader of its own.
func Parse(file *diag.File, src Source) (*Block, []*diag.Problem) { return NewReader(file).Parse(src) }

// Parse reads a block. It never fails: a line that cannot be read is in the problems, and stands
// in the tree as Bad; all others are read.
func (r *Reader) Parse(src Source) (*Block, []*diag.Problem) {
	p := newParser(r.file)
	p.shapes, p.kind = r.shapes, src.Kind
	b := &Block{Kind: src.Kind, Span: src.Span}
	switch src.Kind {
	case "inputs", "calc", "answers":
		p.noInfo(src)
		p.read(src.Lines)
		b.Stmts = p.block()
	case "assume":
		p.noInfo(src)
		p.readRaw(src.Lines)
		b.Stmts = p.assumptions()
	case "method":
		p.noInfo(src)
		p.read(src.Lines)
		b.Stmts = p.method()
	case "table":
		p.read(src.Lines)
		b.Stmts = p.table(src)
	case "data":
		p.readRaw(unmarked(src.Lines))
		b.Stmts = p.data(src)
	case "cycle":
		p.read(src.Lines)
		b.Stmts = p.cycle(src)
	case "chart":
		p.read(src.Lines)
		b.Stmts = p.chart(src)
	case "study":
		p.read(src.Lines)
		b.Stmts = p.study(src)
	default:
		p.readRaw(src.Lines) // for what no fence may hold
	}
	diag.Sort(p.problems)
	return b, p.problems
}

// ParseExpr reads one line as an expression, such as a value given on the command line.
func ParseExpr(file *diag.File, line Line) (Expr, []*diag.Problem) {
	p := newParser(file)
	p.read([]Line{line})
	l := &p.lines[0]
	if l.refused {
		return nil, p.problems
	}
	hi := p.one()
	if !p.tidy(0, hi) {
		return nil, p.problems
	}
	if hi == 0 {
		p.fail(diag.Span{Start: line.Start, End: line.Start + len(line.Text)}, CodeOperand, "a value is missing", "nothing stands here", "")
		return nil, p.problems
	}
	x := p.expr(0, hi)
	return x, p.problems
}

// ParseShown reads a symbol to be shown: eta_th, gt.eta_th, `w_net in kJ/kg, 3 digits`.
func ParseShown(file *diag.File, line Line) (Shown, []*diag.Problem) {
	p := newParser(file)
	p.read([]Line{line})
	if p.lines[0].refused {
		return Shown{}, p.problems
	}
	hi := p.one()
	if !p.tidy(0, hi) {
		return Shown{}, p.problems
	}
	if hi == 0 {
		p.fail(diag.Span{Start: line.Start, End: line.Start + len(line.Text)}, CodeShown, "a symbol is missing", "nothing stands here", "")
		return Shown{}, p.problems
	}
	s, _ := p.shown(0, hi)
	return s, p.problems
}

// sourceLine is a line of the fence after lexing.
type sourceLine struct {
	Line
	from, to int // its tokens
	indent   int // in columns; a tab goes to the next multiple of four
	opens    int // brackets opened less brackets closed
	caption  Caption
	noted    bool // has a caption, perhaps an empty one
	refused  bool // holds a character that cannot be seen
}

func (l *sourceLine) span() diag.Span { return diag.Span{Start: l.Start, End: l.Start + len(l.Text)} }
func (l *sourceLine) blank() bool     { return l.from == l.to && !l.noted && !l.refused }
func (l *sourceLine) heading() bool   { return l.from == l.to && l.noted && !l.refused }

// parser holds what is known of one block.
type parser struct {
	file     *diag.File
	kind     string
	toks     []token
	bads     []*diag.Problem
	lines    []sourceLine
	at       int // the next source line
	solves   int // solves that the present line stands in
	outer    int // indentation of the innermost of them
	problems []*diag.Problem
	failed   bool // the present statement has been reported

	depth  int         // brackets that the present expression stands in
	config conf.Config // of expr's parser: no limit of its own, no functions
	shapes map[string]ast.Node
	buf    []byte  // what is handed to expr's parser
	where  []int32 // for every byte of buf, the item that it stands for
	items  []item
}

func newParser(file *diag.File) *parser { return &parser{file: file, shapes: map[string]ast.Node{}} }

// fail reports what is wrong with the present statement; only the first report of each counts.
func (p *parser) fail(at diag.Span, code diag.Code, message, label, hint string) {
	if p.failed {
		return
	}
	p.failed = true
	p.report(&diag.Problem{Code: code, Severity: diag.Error, Span: at, Message: message, Label: label, Hint: hint})
}

func (p *parser) report(pr *diag.Problem) *diag.Problem {
	pr.File = p.file
	p.problems = append(p.problems, pr)
	return pr
}

// read lexes all lines.
func (p *parser) read(lines []Line) {
	size := 0
	for _, l := range lines {
		size += len(l.Text)
	}
	lx := &lexer{file: p.file, table: p.kind == "table", words: p.kind == "cycle" || p.kind == "chart", cycle: p.kind == "cycle", study: p.kind == "study", toks: make([]token, 0, size/5+8)}
	p.lines = make([]sourceLine, len(lines))
	for i, l := range lines {
		s := &p.lines[i]
		s.Line, s.indent, s.from = l, indent(l.Text), len(lx.toks)
		if s.refused = p.invisible(l); !s.refused {
			s.caption = lx.line(l)
			s.noted = s.caption.Loc.End > 0
		}
		s.to = len(lx.toks)
		for j := s.from; j < s.to; j++ {
			if t := &lx.toks[j]; t.op("(") {
				s.opens++
			} else if t.op(")") {
				s.opens--
			}
		}
	}
	p.toks, p.bads = lx.toks, lx.bads
}

// readRaw takes lines whose text is not made of tokens.
func (p *parser) readRaw(lines []Line) {
	p.lines = make([]sourceLine, len(lines))
	for i, l := range lines {
		p.lines[i] = sourceLine{Line: l, refused: p.invisible(l)}
	}
}

func indent(s string) int {
	n := 0
	for i := 0; i < len(s); i++ {
		switch s[i] {
		case ' ':
			n++
		case '\t':
			n += 4 - n%4
		default:
			return n
		}
	}
	return n
}

// invisible reports a line that holds a character which cannot be seen and could make it read
// differently from what is evaluated.
func (p *parser) invisible(l Line) bool {
	for i := 0; i < len(l.Text); {
		if c := l.Text[i]; c >= ' ' && c < 0x7F || c == '\t' {
			i++
			continue
		}
		r, n := utf8.DecodeRuneInString(l.Text[i:])
		if unicode.IsControl(r) || diag.Bidi(r) || unicode.Is(unicode.Cf, r) || r == '\u2028' || r == '\u2029' {
			what, label := "a character that cannot be seen", fmt.Sprintf("U+%04X", r)
			if r >= 0x202A && r <= 0x202E || r >= 0x2066 && r <= 0x2069 || r == 0x200E || r == 0x200F || r == 0x061C {
				what = "a character that turns the direction of the text"
			}
			at := l.Start + i
			p.report(&diag.Problem{Code: CodeInvisible, Severity: diag.Error, Span: diag.Span{Start: at, End: at + n},
				Message: "this line holds " + what, Label: label,
				Hint: "delete it: the line could be read differently from what is evaluated"})
			return true
		}
		i += n
	}
	return false
}

func (p *parser) noInfo(src Source) {
	if strings.TrimSpace(src.Info) == "" {
		return
	}
	p.report(&diag.Problem{Code: CodeInfo, Severity: diag.Caution, Span: src.InfoSpan,
		Message: fmt.Sprintf("%s fence takes nothing after its word", article(src.Kind)), Label: "this is not read",
		Hint: "say it in the prose, or in a line of // only"})
}

func article(word string) string {
	if word != "" && strings.ContainsRune("aeiou", rune(word[0])) {
		return "an " + word
	}
	return "a " + word
}

// one takes all tokens of a text of a single line; a caption there is no caption.
func (p *parser) one() int {
	if l := &p.lines[0]; l.noted {
		p.fail(diag.Span{Start: l.caption.Loc.Start, End: l.caption.Loc.End}, CodeCaption, "no caption can stand here", "expected the end", "")
	}
	return len(p.toks)
}

// statement gathers the tokens of the statement that begins on line p.at, which has some, from
// as many lines as it goes on over, and moves p.at behind them.
func (p *parser) statement() (lo, hi int, caption Caption) {
	p.failed = false
	first := p.at
	l := &p.lines[first]
	lo, hi = l.from, l.to
	caption = l.caption
	depth := l.opens
	equals := p.hasEquals(l.from, l.to)
	suspect := 0 // the first line that looks like a definition of its own inside an open bracket
	for p.at++; p.at < len(p.lines); p.at++ {
		last, next := &p.toks[hi-1], &p.lines[p.at]
		if next.from == next.to {
			break
		}
		if !goesOn(last) && !(depth > 0 && carriesOn(&p.toks[next.from])) && !(p.kind == "study" && studyGoesOn(last, &p.toks[next.from])) {
			break
		}
		if p.begins(next, depth, last, equals) {
			break
		}
		if suspect == 0 && depth > 0 && p.defines(next) {
			suspect = p.at
		}
		if next.to-lo > MaxParts || p.at-first >= MaxLines {
			break
		}
		hi = next.to
		depth += next.opens
		equals = equals || p.hasEquals(next.from, next.to)
		if next.caption.Text != "" {
			caption = joinCaptions(caption, next.caption)
		}
	}
	if depth > 0 && suspect > 0 {
		// The bracket was most likely forgotten: what follows is read for itself.
		p.at, hi, caption = suspect, p.lines[suspect-1].to, Caption{}
		for i := first; i < suspect; i++ {
			caption = joinCaptions(caption, p.lines[i].caption)
		}
	}
	return lo, hi, caption
}

func joinCaptions(a, b Caption) Caption {
	switch {
	case b.Text == "":
		return a
	case a.Text == "":
		return b
	}
	return Caption{At: At{a.Loc.Join(b.Loc)}, Text: a.Text + " " + b.Text}
}

func (p *parser) hasEquals(lo, hi int) bool {
	for i := lo; i < hi; i++ {
		if p.toks[i].op("=") {
			return true
		}
	}
	return false
}

// defines reports a line of the form NAME = …
func (p *parser) defines(l *sourceLine) bool {
	return l.to-l.from >= 2 && p.toks[l.from].kind == tName && p.toks[l.from+1].op("=")
}

// begins reports a line that is a statement of its own although the one before is not complete.
func (p *parser) begins(l *sourceLine, depth int, last *token, equals bool) bool {
	t := &p.toks[l.from]
	switch {
	case p.kind == "table":
		return t.name("states") || t.name("columns") || t.name("symbols")
	case p.kind == "study":
		return studyWord(t)
	case t.word("state"):
		named := l.to-l.from >= 3 && p.toks[l.from+2].op("=")
		if depth > 0 || last.op(",") && !equals {
			return depth > 0 && named // an argument, or a further output
		}
		return true
	case t.kind == tWord && opening(t.text):
		return true
	}
	return depth <= 0 && !last.op(",") && p.defines(l)
}

// tidy checks what has to hold of the tokens of any statement: none is bad, their number and
// nesting are within limits, brackets match. It reports the first fault.
func (p *parser) tidy(lo, hi int) bool {
	if p.failed {
		return false
	}
	if hi-lo > MaxParts {
		p.fail(p.toks[lo].at.Join(p.toks[lo+MaxParts-1].at), CodeLength,
			fmt.Sprintf("this line has more than %d parts", MaxParts), "too long", "break it into lines with names of their own")
		return false
	}
	var open []int
	for i := lo; i < hi; i++ {
		t := &p.toks[i]
		switch {
		case t.kind == tBad:
			p.failed = true
			p.problems = append(p.problems, p.bads[t.match])
			return false
		case t.op("("):
			if len(open) == MaxNesting {
				p.nesting(t.at)
				return false
			}
			open = append(open, i)
		case t.op(")"):
			if len(open) == 0 {
				p.fail(t.at, CodeBracket, "this bracket was never opened", "expected no )", "")
				return false
			}
			o := open[len(open)-1]
			open = open[:len(open)-1]
			p.toks[o].match, t.match = int32(i), int32(o)
		}
	}
	if len(open) > 0 {
		o := &p.toks[open[len(open)-1]]
		p.fail(o.at, CodeBracket, "this bracket is not closed", "expected a ) for it", "")
		return false
	}
	return true
}

func (p *parser) nesting(at diag.Span) {
	p.fail(at, CodeNesting, fmt.Sprintf("this is nested more than %d deep", MaxNesting), "one too many", "give an inner part a line and a name of its own")
}
