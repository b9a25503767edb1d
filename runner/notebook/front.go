package notebook

import (
	"bytes"
	"slices"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"

	"workings/runner/diag"
)

// MaxFront bounds the front matter, in bytes.
const MaxFront = 16 << 10

// maxFrontNesting bounds the brackets and dashes in one another in front matter.
const maxFrontNesting = 16

// Front is the front matter of a notebook. An entry that is missing or empty is the zero Entry.
type Front struct {
	Span     diag.Span // from the opening --- to the end of the closing one
	Title    Entry
	Number   Entry
	Revision Entry
	Date     Entry
	Project  Entry
	Prepared Entry
	Checked  Entry
	Approved Entry
	Language Entry
	Units    Entry // Text is "si" or "us"
	Digits   int   // 1 to 15; 0 where not given
	Ambient  Entry // a quantity, as text
	Fluids   []Entry
	Also     []Entry
	// Uncertainty is of first order where it is not given.
	Uncertainty Uncertainty
	Sensitivity bool // shown for all inputs
}

// Entry is one value as the author typed it: 1.0 stays 1.0.
type Entry struct {
	Text    string
	Span    diag.Span // of the text, without quotation marks where it reads the same without
	KeySpan diag.Span
}

// FrontKeys returns the keys of front matter in the order of the documentation.
func FrontKeys() []string {
	return []string{"title", "number", "revision", "date", "project", "prepared", "checked", "approved",
		"units", "digits", "ambient", "fluids", "also", "uncertainty", "sensitivity", "language"}
}

// readFront reads front matter that begins at start and returns where the Markdown after it does.
func (s *state) readFront(start int) (end int) {
	if !isRule(s.src, start) {
		return start
	}
	open := diag.Span{Start: start, End: start + 3}
	body := nextLine(s.src, start)
	for end = body; end < len(s.src) && !isRule(s.src, end); end = nextLine(s.src, end) {
	}
	stop := end
	if end < len(s.src) {
		s.doc.Front.Span = diag.Span{Start: start, End: end + 3}
		end = nextLine(s.src, end)
	} else {
		s.report(&diag.Problem{Code: codeFrontEnd, Severity: diag.Error, Span: open,
			Message: "the front matter that begins here has no end", Label: "expected another --- on a line of its own",
			Hint: "end it with ---; a rule at the top of a notebook is written ***"})
		end = s.guessFrontEnd(body)
		stop = end
		s.doc.Front.Span = diag.Span{Start: start, End: end}
	}
	s.parseFront(body, stop)
	return end
}

// guessFrontEnd is where front matter without an end stops looking like it.
func (s *state) guessFrontEnd(from int) int {
	for from < len(s.src) {
		line := s.src[from:lineEnd(s.src, from)]
		if len(bytes.TrimSpace(line)) == 0 || bytes.HasPrefix(line, []byte("```")) || bytes.HasPrefix(line, []byte("~~~")) {
			break
		}
		from = nextLine(s.src, from)
	}
	return from
}

// isRule reports whether the line at offset is --- alone.
func isRule(src []byte, offset int) bool {
	line := src[offset:lineEnd(src, offset)]
	return bytes.HasPrefix(line, []byte("---")) && len(bytes.TrimRight(line[3:], " \t")) == 0
}

// nextLine is where the line after the one at offset begins.
func nextLine(src []byte, offset int) int {
	if i := bytes.IndexByte(src[offset:], '\n'); i >= 0 {
		return offset + i + 1
	}
	return len(src)
}

func (s *state) parseFront(start, end int) {
	text := trimLines(s.src[start:end])
	f := &frontReader{state: s, seen: map[string]diag.Span{}}
	f.yamlText = yamlText{file: s.doc.File, base: s.doc.File.Line(start), whole: s.doc.Front.Span,
		refuse: func(span diag.Span, message, label, hint string) {
			f.problem(codeFrontValue, span, message, label, hint)
		}}
	line := diag.Span{Start: start, End: max(start, lineEnd(s.src, start))}
	if len(text) > MaxFront {
		f.problem(codeFrontLimit, line, "the front matter is longer than 16,384 bytes", "not read",
			"what is long belongs below it")
		return
	}
	if nestsDeep(text) {
		f.problem(codeFrontLimit, line, "the front matter is nested more than 16 deep", "not read",
			"a value is a text, or a list of texts")
		return
	}
	file, err := parser.ParseBytes(text, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		f.syntax(err, line)
		return
	}
	for _, doc := range file.Docs {
		f.body(doc.Body)
	}
}

// trimLines drops the space at the ends of lines, which makes goccy/go-yaml miscount columns.
func trimLines(text []byte) []byte {
	var out []byte
	for line := range bytes.Lines(text) {
		out = append(append(out, bytes.TrimRight(line, " \t\r\n")...), '\n')
	}
	return out
}

// nestsDeep keeps goccy/go-yaml from what it needs quadratic time or deep recursion for.
func nestsDeep(text []byte) bool {
	for line := range bytes.Lines(text) {
		open, dashes := 0, 0
		for i, c := range line {
			switch {
			case c == '[' || c == '{':
				open++
			case c == ']' || c == '}':
				open--
			case (c == '-' || c == '?') && i+1 < len(line) && line[i+1] == ' ':
				dashes++
			case c == '&' || c == '*' || c == '!':
				dashes++
			case c != ' ':
				dashes = 0
			}
			if open > maxFrontNesting || dashes > maxFrontNesting {
				return true
			}
		}
	}
	return bytes.Count(text, []byte{'['}) > MaxFront/16 || bytes.Count(text, []byte{'{'}) > MaxFront/16
}

// frontReader turns the YAML tree of front matter into a Front.
type frontReader struct {
	*state
	yamlText
	seen map[string]diag.Span
}

func (f *frontReader) problem(code diag.Code, span diag.Span, message, label, hint string) {
	severity := diag.Error
	if code == codeFrontKey {
		severity = diag.Caution
	}
	f.report(&diag.Problem{Code: code, Severity: severity, Span: span, Message: message, Label: label, Hint: hint})
}

// syntax reports what goccy/go-yaml could not parse, in words for somebody who does not know YAML.
func (f *frontReader) syntax(err error, first diag.Span) {
	span, label := f.fault(err, first), "cannot be read"
	hint := "each line is `key: value`; put a value that holds a colon, or begins with a sign such as * & [ {, in quotation marks"
	line := f.doc.File.LineSpan(f.doc.File.Line(span.Start)).In(f.doc.File)
	switch _, value, colon := strings.Cut(line, ":"); {
	case strings.Contains(line, "\t"):
		hint = "front matter is indented with spaces, not tabs"
	case strings.Contains(value, ": "):
		label = "a second colon"
		hint = "put the value in quotation marks: `key: \"value\"`"
	case strings.Count(line, `"`)%2 == 1:
		label = "a quotation mark without its partner"
	case !colon:
		label = "expected `key: value`"
	}
	f.problem(codeFrontSyntax, span, "this line of the front matter cannot be read", label, hint)
}

func (f *frontReader) body(n ast.Node) {
	switch n := n.(type) {
	case *ast.MappingNode:
		for _, v := range n.Values {
			f.entry(v)
		}
	case *ast.MappingValueNode:
		f.entry(n)
	case nil, *ast.CommentGroupNode, *ast.NullNode:
	default:
		f.problem(codeFrontSyntax, f.span(n), "the front matter is no list of keys", "expected `key: value`",
			"each line is `key: value`, for instance `title: Regenerated gas turbine`")
	}
}

func (f *frontReader) entry(v *ast.MappingValueNode) {
	key, span := f.key(v)
	if !slices.Contains(FrontKeys(), key) {
		hint := "the keys are " + strings.Join(FrontKeys(), ", ")
		if near := diag.Near(key, FrontKeys()); len(near) > 0 {
			hint = "did you mean " + near[0] + "?"
		}
		f.problem(codeFrontKey, span, "front matter has no key "+quote(key), "not used", hint)
		return
	}
	if first, twice := f.seen[key]; twice {
		f.report(&diag.Problem{Code: codeFrontTwice, Severity: diag.Error, Span: span,
			Message: "the key " + quote(key) + " is given twice", Label: "second time", Hint: "remove one of the two",
			Related: []diag.Related{{File: f.doc.File, Span: first, Message: "first given here"}}})
		return
	}
	f.seen[key] = span
	f.set(key, span, v.Value)
}

func (f *frontReader) set(key string, keySpan diag.Span, value ast.Node) {
	front := &f.doc.Front
	if key == "fluids" || key == "also" {
		list := &front.Fluids
		if key == "also" {
			list = &front.Also
		}
		nodes := []ast.Node{value}
		if seq, ok := value.(*ast.SequenceNode); ok {
			nodes = seq.Values
		}
		for _, n := range nodes {
			if e, ok := f.text(key, n); ok {
				e.KeySpan = keySpan
				*list = append(*list, e)
			}
		}
		return
	}
	e, ok := f.text(key, value)
	if !ok {
		return
	}
	e.KeySpan = keySpan
	switch key {
	case "title":
		front.Title = e
	case "number":
		front.Number = e
	case "revision":
		front.Revision = e
	case "date":
		front.Date = e
	case "project":
		front.Project = e
	case "prepared":
		front.Prepared = e
	case "checked":
		front.Checked = e
	case "approved":
		front.Approved = e
	case "language":
		front.Language = e
	case "ambient":
		front.Ambient = e
	case "units":
		if e.Text != "si" && e.Text != "us" {
			f.problem(codeFrontValue, e.Span, "units are `si` or `us`", "found "+quote(e.Text), "write `units: si` or leave the key out")
			return
		}
		front.Units = e
	case "digits":
		n, err := strconv.Atoi(e.Text)
		if err != nil || n < 1 || n > maxDigits {
			f.problem(codeFrontValue, e.Span, "digits is a whole number from 1 to 15", "found "+quote(e.Text),
				"it says how many significant digits are printed; 5 where the key is left out")
			return
		}
		front.Digits = n
	case "uncertainty":
		u, wrong := ReadUncertainty(e.Text)
		if wrong != "" {
			f.problem(codeFrontValue, e.Span, wrong, "found "+quote(e.Text), "write for example `uncertainty: monte carlo 200000 seed 7`")
			return
		}
		front.Uncertainty = u
	case "sensitivity":
		if e.Text != "shown" {
			f.problem(codeFrontValue, e.Span, "sensitivity is `shown`, or the key is left out", "found "+quote(e.Text), "it shows what every input does to the answers")
			return
		}
		front.Sensitivity = true
	}
}
