package notebook

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"

	"workings/runner/diag"
)

// ProseValue is a result put into a sentence: {eta_th}, {gt.eta_th}, {w_net in kJ/kg, 3 digits}.
type ProseValue struct {
	Name       string // with the sheet it comes from and a dot, if any
	NameSpan   diag.Span
	Unit       string // "" where none is asked for
	UnitSpan   diag.Span
	Digits     int // 0 where none are asked for
	DigitsSpan diag.Span
	Span       diag.Span // with the braces
}

// maxDigits is what a float64 holds for certain.
const maxDigits = 15

// maxValue bounds the text between the braces, in bytes.
const maxValue = 400

const valueForm = "a value is {name}, {name in UNIT} or {name in UNIT, 3 digits}; \\{ is a brace that is only text"

// valueParser reads {…} where a letter follows the brace.
type valueParser struct{}

func (valueParser) Trigger() []byte { return []byte{'{'} }

func (valueParser) Parse(parent ast.Node, block text.Reader, pc parser.Context) ast.Node {
	line, seg := block.PeekLine()
	if r, _ := decodeRune(line[1:]); !isLetter(r) {
		return nil
	}
	s := stateOf(pc)
	in, closed := gatherValue(block)
	node := &ValueNode{Span: diag.Span{Start: seg.Start, End: in.at[len(in.at)-1] + 1}}
	node.SetPos(seg.Start)
	if !closed {
		node.Span.End = in.at[len(in.at)-1]
		node.Problem = s.valueProblem(diag.Span{Start: seg.Start, End: seg.Start + 1},
			"this brace begins a value and is never closed", "expected a } after it")
		return node
	}
	node.Value, node.Problem = in.parse(s, node.Span)
	return node
}

func (s *state) valueProblem(span diag.Span, message, label string) *diag.Problem {
	return s.report(&diag.Problem{Code: codeValue, Severity: diag.Error, Span: span,
		Message: message, Label: label, Hint: valueForm})
}

// valueText is the text between the braces, a line break in it counted as a space. Byte i of
// buf stands at at[i] in the file; at has one entry more, for what follows the text.
type valueText struct {
	buf []byte
	at  []int
	pos int
}

// gatherValue consumes {…}, or only up to where it becomes clear that there is no }: at the next
// {, the end of the paragraph, or maxValue.
func gatherValue(block text.Reader) (in *valueText, closed bool) {
	in = &valueText{}
	block.Advance(1)
	for {
		line, seg := block.PeekLine()
		if line == nil {
			break
		}
		for i, c := range line {
			at := seg.Start + i - seg.Padding
			if c == '}' || c == '{' || len(in.buf) >= maxValue && utf8.RuneStart(c) {
				in.at = append(in.at, at)
				if c == '}' {
					block.Advance(i + 1)
					return in, true
				}
				block.Advance(i)
				return in, false
			}
			if c == '\n' || c == '\r' {
				c = ' '
			}
			in.buf, in.at = append(in.buf, c), append(in.at, at)
		}
		block.AdvanceLine()
	}
	in.at = append(in.at, in.at[len(in.at)-1]+1)
	return in, false
}

func (in *valueText) span(from, to int) diag.Span {
	if from == to {
		return diag.Span{Start: in.at[from], End: in.at[from] + 1} // what stands there instead
	}
	return diag.Span{Start: in.at[from], End: in.at[to-1] + 1}
}

func (in *valueText) skipSpace() {
	for in.pos < len(in.buf) && (in.buf[in.pos] == ' ' || in.buf[in.pos] == '\t') {
		in.pos++
	}
}

// token takes what runs up to a space, a comma or the end.
func (in *valueText) token() (string, int) {
	from := in.pos
	for in.pos < len(in.buf) && !strings.ContainsRune(" \t,", rune(in.buf[in.pos])) {
		in.pos++
	}
	return string(in.buf[from:in.pos]), from
}

// rest is the span of what is left, without the space around it.
func (in *valueText) rest() diag.Span {
	in.skipSpace()
	end := len(strings.TrimRight(string(in.buf), " \t"))
	return in.span(in.pos, max(in.pos, end))
}

func (in *valueText) parse(s *state, span diag.Span) (*ProseValue, *diag.Problem) {
	v := &ProseValue{Span: span}
	in.name()
	v.Name, v.NameSpan = string(in.buf[:in.pos]), in.span(0, in.pos)
	if strings.HasSuffix(v.Name, ".") {
		return nil, s.valueProblem(in.span(in.pos, in.pos), "no name follows the dot", "expected a name")
	}
	after := in.pos
	in.skipSpace()
	if in.pos < len(in.buf) && in.buf[in.pos] != ',' {
		word, from := in.token()
		if word != "in" || from == after {
			in.pos = from
			return nil, s.valueProblem(in.rest(), "a value cannot be read from what follows "+quote(v.Name),
				"expected `in UNIT`, `, N digits` or }")
		}
		if in.unit(v); v.Unit == "" {
			return nil, s.valueProblem(in.span(in.pos, in.pos), "no unit follows `in`", "expected a unit")
		}
	}
	if in.pos < len(in.buf) {
		in.pos++ // the comma
		in.skipSpace()
		word, from := in.token()
		to := in.pos
		n, err := strconv.Atoi(word)
		if err != nil || n < 1 || n > maxDigits {
			return nil, s.valueProblem(in.span(from, to), "the number of digits is a whole number from 1 to 15",
				"expected for instance `3 digits`")
		}
		v.Digits, v.DigitsSpan = n, in.span(from, to)
		in.skipSpace()
		if word, from = in.token(); word != "digits" && word != "digit" {
			return nil, s.valueProblem(in.span(from, in.pos), "the word `digits` is missing after the number",
				"expected `digits`")
		}
		if in.skipSpace(); in.pos < len(in.buf) {
			return nil, s.valueProblem(in.rest(), "nothing can follow the number of digits", "expected }")
		}
	}
	return v, nil
}

// name takes a name with its dots: the letter at its start has been seen.
func (in *valueText) name() {
	for in.pos < len(in.buf) {
		r, n := utf8.DecodeRune(in.buf[in.pos:])
		if !isLetter(r) && !isDigit(r) && !unicode.IsMark(r) && r != '_' && r != '.' {
			return
		}
		in.pos += n
	}
}

// unit takes a unit: all up to a comma outside brackets.
func (in *valueText) unit(v *ProseValue) {
	in.skipSpace()
	from, depth := in.pos, 0
	for ; in.pos < len(in.buf) && (in.buf[in.pos] != ',' || depth > 0); in.pos++ {
		switch in.buf[in.pos] {
		case '(':
			depth++
		case ')':
			depth--
		}
	}
	to := from + len(strings.TrimRight(string(in.buf[from:in.pos]), " \t"))
	v.Unit, v.UnitSpan = string(in.buf[from:to]), in.span(from, to)
}

func isLetter(r rune) bool { return unicode.IsLetter(r) && r != utf8.RuneError }

func isDigit(r rune) bool { return unicode.IsDigit(r) }

func decodeRune(b []byte) (rune, int) { return utf8.DecodeRune(b) }

func quote(s string) string { return "`" + s + "`" }
