package notebook

import (
	"bytes"
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"

	"workings/runner/diag"
)

// The problems of files of the user's own fluids. The runner finds those that need units or the
// database.
const (
	CodeFluidsFile   = diag.Code("fluids-file")   // not read, or not YAML of the kind it should be
	CodeFluidsKey    = diag.Code("fluids-key")    // unknown, given twice or missing
	CodeFluidsValue  = diag.Code("fluids-value")  // of the wrong kind or unit
	CodeFluidsData   = diag.Code("fluids-data")   // figures that make no fluid
	CodeFluidsTwice  = diag.Code("fluids-twice")  // two fluids of one name
	CodeFluidsShadow = diag.Code("fluids-shadow") // a name that the database has as well
)

// Bounds of a file of fluids: bytes, bytes of a line, and keys, for whose number and for the columns
// of long lines goccy/go-yaml and finding its tokens take quadratic time.
const (
	MaxFluids     = 128 << 10
	maxFluidsLine = 2000
	maxFluidsKeys = 4000
)

// OwnFluid is a fluid of a file that front matter names under `fluids`, with its values as typed.
type OwnFluid struct {
	Name, MolarMass, Source Entry
	// Cp or Table.
	Cp        []OwnPiece
	Table     []Line // heads and rows as in a data fence
	DataSpan  diag.Span
	Reference *OwnReference
	Span      diag.Span     // of its name, or of what stands first
	Problem   *diag.Problem // the first error in it; then it makes no fluid
}

// OwnPiece is a polynomial of cp in T over a range.
type OwnPiece struct {
	From, To, Unit Entry
	Coefficients   []Entry
}

// OwnReference is the state at which h and s have given values.
type OwnReference struct{ T, P, H, S Entry }

// Fluids reads a file of fluids. Every error but those of the file as a whole is in the fluid that
// it belongs to as well.
func Fluids(file *diag.File) ([]*OwnFluid, []*diag.Problem) {
	f := &fluidsReader{}
	first := file.LineSpan(1)
	f.yamlText = yamlText{file: file, base: 1, whole: first}
	f.refuse = func(span diag.Span, message, label, hint string) {
		f.fail(CodeFluidsValue, span, message, label, hint)
	}
	text := trimLines(bytes.TrimPrefix(file.Text, []byte("\ufeff")))
	switch {
	case len(file.Text) > MaxFluids:
		f.fail(CodeFluidsFile, first, "this file of fluids is longer than 131,072 bytes", "not read", "split it into several files")
		return nil, f.problems
	case bytes.Count(text, []byte{':'})+bytes.Count(text, []byte{'?'}) > maxFluidsKeys:
		f.fail(CodeFluidsFile, first, "this file of fluids has more than 4000 keys", "not read", "split it into several files")
		return nil, f.problems
	case longest(text) > maxFluidsLine:
		f.fail(CodeFluidsFile, first, "this file of fluids has a line longer than 2000 bytes", "not read", "break it into several")
		return nil, f.problems
	case nestsDeep(text):
		f.fail(CodeFluidsFile, first, "this file of fluids is nested more than 16 deep", "not read", fluidsForm)
		return nil, f.problems
	}
	tree, err := parser.ParseBytes(text, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		f.syntax(err)
		return nil, f.problems
	}
	for _, doc := range tree.Docs {
		if doc.Body != nil {
			f.top(doc.Body)
		}
	}
	if len(f.fluids) == 0 && len(f.problems) == 0 {
		f.fail(CodeFluidsFile, first, "this file holds no fluids", "", fluidsForm)
	}
	return f.fluids, f.problems
}

func longest(text []byte) (n int) {
	for line := range bytes.Lines(text) {
		n = max(n, len(line))
	}
	return n
}

const fluidsForm = "it begins with `fluids:`, and below it each fluid begins with `- name: NAME`"

type fluidsReader struct {
	yamlText
	fluids   []*OwnFluid
	fluid    *OwnFluid // being read
	problems []*diag.Problem
}

func (f *fluidsReader) fail(code diag.Code, span diag.Span, message, label, hint string) *diag.Problem {
	p := &diag.Problem{Code: code, Severity: diag.Error, File: f.file, Span: span, Message: message, Label: label, Hint: hint}
	f.problems = append(f.problems, p)
	if f.fluid != nil && f.fluid.Problem == nil {
		f.fluid.Problem = p
	}
	return p
}

func (f *fluidsReader) syntax(err error) {
	span := f.fault(err, f.whole)
	line := f.file.LineSpan(f.file.Line(span.Start)).In(f.file)
	label, hint := "cannot be read", "each line is `key: value`; put a value that holds a colon, or begins with a sign such as * & [ {, in quotation marks"
	switch _, value, _ := strings.Cut(line, ":"); {
	case strings.Contains(line, "\t"):
		hint = "the file is indented with spaces, not tabs"
	case strings.Contains(value, ": ") && !strings.Contains(value, "{"):
		label, hint = "a second colon", "put the value in quotation marks: `key: \"value\"`"
	case strings.Count(line, `"`)%2 == 1:
		label = "a quotation mark without its partner"
	}
	f.fail(CodeFluidsFile, span, "this line of a file of fluids cannot be read", label, hint)
}

// mapping is a node's keys and values, in their order; false, and reported, where it has none.
func (f *fluidsReader) mapping(n ast.Node, what, hint string) ([]*ast.MappingValueNode, bool) {
	switch n := n.(type) {
	case *ast.MappingNode:
		return n.Values, true
	case *ast.MappingValueNode:
		return []*ast.MappingValueNode{n}, true
	}
	f.fail(CodeFluidsValue, f.span(n), what+" is given by keys", "expected `key: value`", hint)
	return nil, false
}

// keys hands each known key of a mapping to set, and reports those unknown or given twice. It
// returns those it saw; nil where one was misspelt, so that none can be said to be missing.
func (f *fluidsReader) keys(values []*ast.MappingValueNode, what string, known []string, set func(key string, at diag.Span, v *ast.MappingValueNode)) map[string]diag.Span {
	seen, misspelt := map[string]diag.Span{}, false
	for _, v := range values {
		key, span := f.key(v)
		if !slices.Contains(known, key) {
			hint := "its keys are " + strings.Join(known, ", ")
			if near := diag.Near(key, known); len(near) > 0 {
				hint = "did you mean " + near[0] + "?"
				misspelt = true
			}
			f.fail(CodeFluidsKey, span, what+" has no key "+quote(shortened(key)), "", hint)
			continue
		}
		if first, twice := seen[key]; twice {
			p := f.fail(CodeFluidsKey, span, "the key "+quote(key)+" is given twice", "second time", "remove one of the two")
			p.Related = []diag.Related{{File: f.file, Span: first, Message: "first given here"}}
			continue
		}
		seen[key] = span
		set(key, span, v)
	}
	if misspelt {
		return nil
	}
	return seen
}

func shortened(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:39]) + "…"
	}
	return s
}

// missing reports the first of the required keys that is not there.
func (f *fluidsReader) missing(seen map[string]diag.Span, at diag.Span, what, hint string, required ...string) {
	if seen == nil {
		return
	}
	for _, key := range required {
		if _, ok := seen[key]; !ok {
			f.fail(CodeFluidsKey, at, what+" lacks the key "+quote(key), "", hint)
			return
		}
	}
}

func (f *fluidsReader) top(n ast.Node) {
	if _, ok := n.(*ast.CommentGroupNode); ok {
		return
	}
	values, ok := f.mapping(n, "a file of fluids", fluidsForm)
	if !ok {
		return
	}
	f.keys(values, "a file of fluids", []string{"fluids"}, func(_ string, at diag.Span, v *ast.MappingValueNode) {
		list, ok := v.Value.(*ast.SequenceNode)
		if !ok {
			f.fail(CodeFluidsValue, at, "`fluids` is a list", "", fluidsForm)
			return
		}
		for _, item := range list.Values {
			f.fluid = &OwnFluid{Span: f.span(item)}
			f.one(item)
			f.fluids = append(f.fluids, f.fluid)
			f.fluid = nil
		}
	})
}

func (f *fluidsReader) entry(key string, v *ast.MappingValueNode, at diag.Span) Entry {
	before := len(f.problems)
	e, ok := f.text(key, v.Value)
	if !ok && len(f.problems) == before {
		f.fail(CodeFluidsValue, at, quote(key)+" has no value", "", "write it after the colon")
	}
	e.KeySpan = at
	return e
}

func (f *fluidsReader) one(n ast.Node) {
	const form = "a fluid has a name, molar_mass, source, and cp or a table"
	values, ok := f.mapping(n, "a fluid", form)
	if !ok {
		return
	}
	if len(values) > 0 {
		_, f.fluid.Span = f.key(values[0])
	}
	known := []string{"name", "molar_mass", "source", "cp", "table", "reference"}
	seen := f.keys(values, "a fluid", known, func(key string, at diag.Span, v *ast.MappingValueNode) {
		switch key {
		case "name":
			f.fluid.Name = f.entry(key, v, at)
			if f.fluid.Name.Text != "" {
				f.fluid.Span = f.fluid.Name.Span
			}
		case "molar_mass":
			f.fluid.MolarMass = f.entry(key, v, at)
		case "source":
			f.fluid.Source = f.entry(key, v, at)
		case "cp":
			f.fluid.DataSpan = at
			f.polynomials(v.Value, at)
		case "table":
			f.fluid.DataSpan = at
			f.table(v, at)
		case "reference":
			f.reference(v.Value, at)
		}
	})
	if seen == nil {
		return
	}
	f.missing(seen, f.fluid.Span, "this fluid", form, "name", "molar_mass")
	if _, ok := seen["source"]; !ok {
		f.fail(CodeFluidsKey, f.fluid.Span, "this fluid lacks the key `source`", "", "say where the figures are from: a data sheet with its number, a book with its table")
	}
	_, cp := seen["cp"]
	at, table := seen["table"]
	switch {
	case cp && table:
		f.fail(CodeFluidsKey, at, "cp is given both by polynomials and by a table", "", "remove one of the two")
	case !cp && !table:
		f.fail(CodeFluidsKey, f.fluid.Span, "this fluid has no cp", "", "give its polynomials under `cp` or its figures under `table`")
	}
}

const cpForm = "each piece is `- {from: 200 K, to: 1000 K, unit: J/(kg·K), coefficients: [1000, 0.1]}`, for cp = 1000 + 0.1·T with T in K"

func (f *fluidsReader) polynomials(n ast.Node, at diag.Span) {
	list, ok := n.(*ast.SequenceNode)
	if !ok {
		f.fail(CodeFluidsValue, at, "`cp` is a list of pieces", "", cpForm)
		return
	}
	for _, item := range list.Values {
		values, ok := f.mapping(item, "a piece of cp", cpForm)
		if !ok {
			continue
		}
		var p OwnPiece
		first := f.span(item)
		if len(values) > 0 {
			_, first = f.key(values[0])
		}
		seen := f.keys(values, "a piece of cp", []string{"from", "to", "unit", "coefficients"}, func(key string, at diag.Span, v *ast.MappingValueNode) {
			switch key {
			case "from":
				p.From = f.entry(key, v, at)
			case "to":
				p.To = f.entry(key, v, at)
			case "unit":
				p.Unit = f.entry(key, v, at)
			case "coefficients":
				p.Coefficients = f.coefficients(v.Value, at)
			}
		})
		f.missing(seen, first, "this piece of cp", cpForm, "from", "to", "unit", "coefficients")
		f.fluid.Cp = append(f.fluid.Cp, p)
	}
}

func (f *fluidsReader) coefficients(n ast.Node, at diag.Span) []Entry {
	list, ok := n.(*ast.SequenceNode)
	if !ok || len(list.Values) == 0 {
		f.fail(CodeFluidsValue, at, "`coefficients` is a list of numbers", "", cpForm)
		return nil
	}
	var out []Entry
	for _, item := range list.Values {
		before := len(f.problems)
		e, ok := f.text("coefficients", item)
		if !ok && len(f.problems) == before {
			f.fail(CodeFluidsValue, at, "a coefficient is empty", "", cpForm)
		}
		out = append(out, e)
	}
	return out
}

const tableForm = "write `table: |` and below it, indented, T/°C, cp/(kJ/(kg·K)) and rows of figures"

// table takes the lines of a block text as they stand in the file: those indented deeper than its
// key.
func (f *fluidsReader) table(v *ast.MappingValueNode, at diag.Span) {
	if n, ok := v.Value.(*ast.LiteralNode); !ok || n.Start == nil || !strings.HasPrefix(n.Start.Value, "|") {
		f.fail(CodeFluidsValue, at, "`table` is a block of lines", "", tableForm)
		return
	}
	no := f.file.Line(at.Start)
	indent := at.Start - f.file.LineSpan(no).Start
	for no++; no <= f.file.Lines(); no++ {
		span := f.file.LineSpan(no)
		text := span.In(f.file)
		body := strings.TrimLeft(text, " ")
		if body != "" && len(text)-len(body) <= indent {
			break
		}
		f.fluid.Table = append(f.fluid.Table, Line{Text: body, Start: span.Start + len(text) - len(body)})
	}
}

func (f *fluidsReader) reference(n ast.Node, at diag.Span) {
	const form = "write `reference: {T: 298.15 K, p: 1 bar, h: 0 kJ/kg, s: 0 kJ/(kg·K)}`"
	values, ok := f.mapping(n, "a reference", form)
	if !ok {
		return
	}
	ref := &OwnReference{}
	seen := f.keys(values, "a reference", []string{"T", "p", "h", "s"}, func(key string, at diag.Span, v *ast.MappingValueNode) {
		e := f.entry(key, v, at)
		switch key {
		case "T":
			ref.T = e
		case "p":
			ref.P = e
		case "h":
			ref.H = e
		case "s":
			ref.S = e
		}
	})
	f.missing(seen, at, "this reference", form, "T", "p", "h", "s")
	f.fluid.Reference = ref
}
