package sheet

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/notebook"
	"workings/runner/resolve"
	"workings/runner/study"
)

// files are the notebooks that a test's notebook names.
type files map[string]string

func (f files) source(name string) (*resolve.Source, error) {
	text, ok := f[name]
	if !ok {
		return nil, &resolve.FileError{Reason: "no such file"}
	}
	_, src := parse(name, text)
	return src, nil
}

func (f files) Notebook(_ *diag.File, path string) (*resolve.Source, error) { return f.source(path) }
func (f files) Library(name string) (*resolve.Source, error)                { return f.source(name) }
func (f files) LibraryNames() []string                                      { return nil }
func (f files) Data(*diag.File, *lang.Data) (*lang.Data, *diag.File, []*diag.Problem, error) {
	return nil, nil, nil, &resolve.FileError{Reason: "no such file"}
}

// parse is the stages before resolve, as the runner joins them.
func parse(name, text string) (*notebook.Document, *resolve.Source) {
	doc := notebook.Parse(diag.NewFile(name, []byte(text)))
	src := &resolve.Source{File: doc.File, Digits: doc.Front.Digits, Problems: doc.Problems}
	if src.Digits == 0 {
		src.Digits = 5
	}
	if a := doc.Front.Ambient; a.Text != "" {
		src.Ambient = &lang.Caption{At: lang.At{Loc: a.Span}, Text: a.Text}
	}
	for _, b := range doc.Blocks {
		lines := make([]lang.Line, len(b.Lines))
		for i, l := range b.Lines {
			lines[i] = lang.Line(l)
		}
		block, ps := lang.Parse(doc.File, lang.Source{Kind: b.Kind, Info: b.Info, InfoSpan: b.InfoSpan, Span: b.Span, Lines: lines})
		src.Blocks = append(src.Blocks, block)
		src.Problems = append(src.Problems, ps...)
	}
	for _, v := range doc.Values {
		s := lang.Shown{At: lang.At{Loc: v.Span}, Digits: v.Digits, Name: lang.Name{At: lang.At{Loc: v.NameSpan}, Text: v.Name}}
		if of, rest, ok := strings.Cut(v.Name, "."); ok {
			s.Of, s.Name.Text = &lang.Name{Text: of}, rest
		}
		if v.Unit != "" {
			s.In = &lang.UnitText{At: lang.At{Loc: v.UnitSpan}, Text: v.Unit}
		}
		src.Prose = append(src.Prose, s)
	}
	for _, f := range doc.Footnotes {
		src.Footnotes = append(src.Footnotes, f.Label)
	}
	return doc, src
}

func build(text string, more files) (*notebook.Document, *eval.Trace) {
	doc, src := parse("test.md", text)
	tr := eval.Run(resolve.Resolve(src, more, nil))
	tr.Settle(nil)
	return doc, tr
}

// sensitive finds the uncertainties of the answers.
func sensitive(t *testing.T, tr *eval.Trace) *study.Sensitivities {
	t.Helper()
	s, err := study.Sensitive(context.Background(), tr, study.Method{Order: 1}, false, nil)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func render(t *testing.T, text string, more files, o Options) string {
	t.Helper()
	doc, tr := build(text, more)
	o.Sensitivities = sensitive(t, tr)
	var b bytes.Buffer
	if err := HTML(&b, doc, tr, o); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func traceOf(t *testing.T, text string, more files) []byte {
	t.Helper()
	doc, tr := build(text, more)
	var b bytes.Buffer
	if err := JSON(&b, doc, tr, Options{Version: "test", Sensitivities: sensitive(t, tr)}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
