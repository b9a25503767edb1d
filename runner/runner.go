package runner

import (
	"context"
	"fmt"
	"io"
	"io/fs"
	"path"
	"strings"

	"workings/runner/cycle"
	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/notebook"
	"workings/runner/resolve"
	"workings/runner/sheet"
	"workings/runner/study"
	"workings/runner/tex"
	"workings/units"
)

// MaxFile bounds a notebook or data file, in bytes.
const MaxFile = 8 << 20

// Options are what a caller may choose.
type Options struct {
	// Library holds the notebooks that come with the tool, by name with .md.
	Library fs.FS
	// Set gives inputs other values: "r_p=12", "T1=15 °C".
	Set []string
	// Also asks for second routes, "air = perfect(k = 1.4, cp = 1.005 kJ/(kg·K)) within 2 %": the
	// whole sheet again with another model for a fluid, beside those of its front matter.
	Also []string
	// Study is the text of a study that the notebook does not hold, such as
	// "vary r_p from 2 to 30 in 57 points" and "keep eta_th" on lines of their own.
	Study string
	// Uncertainty says how the uncertainties of the inputs are carried to the answers, as the front
	// matter key does, in the place of which it stands: "second order", "monte carlo 200000 seed 7".
	Uncertainty string
	// Sensitivity asks for what every input does to the answers, not only those with an uncertainty.
	Sensitivity bool
	// Progress, which may be nil, is told how far a study is.
	Progress func(name string, done, total int)
	// Version of the tool, as the sheet prints it.
	Version string
	// Shown is the name that problems and the trace give the notebook, such as the path that was
	// typed; files that it names are shown relative to the same folder. Without it the notebook
	// has its bare file name, so that a sheet is the same wherever the tool was started.
	Shown string
	// Memory, which may be nil, makes the next build of the same notebook faster.
	Memory *Memory
}

// Result is one notebook, evaluated.
type Result struct {
	Doc    *notebook.Document
	Trace  *eval.Trace
	Audits []*cycle.Audit // of its cycles and those of the sheets it uses
	// Studies are those of the notebook, in reading order, without those that have a problem.
	Studies []*study.Result
	// Sensitivities are how the answers follow the inputs; nil where no input has an uncertainty and
	// nobody has asked.
	Sensitivities *Sensitivities
	images        map[string][]byte
	maths         map[tex.Place]tex.Typeset
	tex           *tex.Typesetter // closed
	opts          Options
}

// Build reads, checks and evaluates the notebook at name in fsys. Files that it names are read
// from fsys as well and from nowhere else. What is wrong with the notebook is in the result's
// problems; an error means that it could not be read at all.
func Build(fsys fs.FS, name string, o Options) (*Result, error) {
	return BuildContext(context.Background(), fsys, name, o)
}

// BuildContext is Build that ends, with the error of the context, when that ends while a study runs.
func BuildContext(ctx context.Context, fsys fs.FS, name string, o Options) (*Result, error) {
	text, err := readFile(fsys, name)
	if err != nil {
		return nil, err
	}
	if err := notebook.Check(text); err != nil {
		return nil, &FileError{name, err.Error()}
	}
	set, err := overrides(o.Set)
	if err != nil {
		return nil, err
	}
	method, err := methodOf(o.Uncertainty)
	if err != nil {
		return nil, err
	}
	l := newLoader(fsys, name, o)
	defer l.tex.Close()
	if o.Memory != nil {
		defer o.Memory.settle()
	}
	doc := notebook.Parse(l.file(name, text)) // notebook: bytes → prose and fences
	src := l.source(doc, true)                // lang: fences → syntax trees; tex: formulas of the text
	src.Given = givenStudy(o.Study)
	checked := resolve.Resolve(src, l, set) // resolve: names, dimensions, kinds
	if l.failed != nil {
		return nil, l.failed
	}
	trace := eval.Run(checked)                                    // eval: values
	audits, found := cycle.Run(trace)                             // cycle: the states by first and second law
	r := &Result{Doc: doc, Trace: trace, Audits: audits, opts: o} // sheet: HTML and JSON, when asked for
	if r.Studies, err = studies(ctx, trace, o); err != nil {      // study: the same at many points
		return nil, err
	}
	uncertain, err := r.sensitivities(ctx, method) // study: derivatives, uncertainties
	if err != nil {
		return nil, err
	}
	found = append(found, uncertain...)
	found = append(found, document(doc, trace)...)               // what a document lacks
	trace.Settle(append(found, l.routes(src, trace, r, set)...)) // second routes; cautions that the author accepts
	r.images, r.maths, r.tex = l.images(doc), l.maths, l.tex
	return r, nil
}

// parse turns a document into what resolve takes.
func parse(doc *notebook.Document, m *Memory) *resolve.Source {
	src := &resolve.Source{File: doc.File, Digits: doc.Front.Digits}
	if src.Digits == 0 {
		src.Digits = 5
	}
	if doc.Front.Units.Text == "us" {
		src.System = units.US
	}
	if a := doc.Front.Ambient; a.Text != "" {
		src.Ambient = &lang.Caption{At: lang.At{Loc: a.Span}, Text: a.Text}
	}
	src.Problems = append(src.Problems, doc.Problems...)
	reader := lang.NewReader(doc.File)
	for _, b := range doc.Blocks {
		block, ps := m.block(reader, b)
		src.Blocks = append(src.Blocks, block)
		src.Problems = append(src.Problems, ps...)
	}
	for _, v := range doc.Values {
		src.Prose = append(src.Prose, proseValue(doc.File, v))
	}
	for _, f := range doc.Footnotes {
		src.Footnotes = append(src.Footnotes, f.Label)
	}
	return src
}

func langSource(b *notebook.Block) lang.Source {
	lines := make([]lang.Line, len(b.Lines))
	for i, l := range b.Lines {
		lines[i] = lang.Line(l)
	}
	return lang.Source{Kind: b.Kind, Info: b.Info, InfoSpan: b.InfoSpan, Span: b.Span, Lines: lines}
}

func proseValue(file *diag.File, v *notebook.ProseValue) lang.Shown {
	s := lang.Shown{At: lang.At{Loc: v.Span}, Digits: v.Digits}
	name := lang.Name{At: lang.At{Loc: v.NameSpan}, Text: v.Name}
	if of, rest := lang.Member(v.Name); of != "" {
		s.Of = &lang.Name{At: lang.At{Loc: diag.Span{Start: v.NameSpan.Start, End: v.NameSpan.Start + len(of)}}, Text: of}
		name.Text = rest
		name.Loc.Start += len(of) + 1
	}
	s.Name = name
	if v.Unit != "" {
		s.In = &lang.UnitText{At: lang.At{Loc: v.UnitSpan}, Text: v.Unit}
	}
	return s
}

// SetFile is the file name of problems with a value given by Options.Set.
const SetFile = "--set"

// WrongArgument reports a --set or --also that could not be used at all: no such input or fluid, or a
// quantity of another kind. A value outside the range that the notebook allows is a problem of the
// sheet.
func WrongArgument(p *diag.Problem) bool {
	return p.File != nil && (p.File.Name == SetFile || p.File.Name == AlsoFile || p.File.Name == StudyFile) && p.Code != eval.CodeOutside
}

// overrides reads `NAME=VALUE` texts.
func overrides(set []string) ([]resolve.Override, error) {
	var out []resolve.Override
	for _, s := range set {
		name, value, ok := strings.Cut(s, "=")
		name, value = strings.TrimSpace(name), strings.TrimSpace(value)
		if !ok || name == "" || value == "" {
			return nil, &UsageError{fmt.Sprintf("--set %q: write --set NAME=VALUE, such as --set r_p=12 or --set \"T1=15 °C\"", s)}
		}
		file := diag.NewFile(SetFile, []byte(name+" = "+value))
		x, ps := lang.ParseExpr(file, lang.Line{Text: value, Start: len(name) + 3})
		if len(ps) > 0 || x == nil {
			msg := "this is no quantity"
			if len(ps) > 0 {
				msg = ps[0].Message
				if ps[0].Hint != "" {
					msg += "; " + ps[0].Hint
				}
			}
			return nil, &UsageError{fmt.Sprintf("--set %q: %s", s, msg)}
		}
		out = append(out, resolve.Override{Name: name, File: file, X: x, Text: value})
	}
	return out, nil
}

// UsageError is a wrong argument of the caller.
type UsageError struct{ Msg string }

func (e *UsageError) Error() string { return e.Msg }

// Problems are all that was found, in the order of the text.
func (r *Result) Problems() []*diag.Problem { return r.Trace.Problems }

// Exit codes of the commands; the highest that applies is given back.
const (
	ExitWell   = 0
	ExitChecks = 1 // a check fails
	ExitErrors = 2 // a sheet has an error
	ExitUsage  = 3 // wrong usage, or a file that cannot be read
)

// ExitCode says how the sheet stands.
func (r *Result) ExitCode() int {
	code := ExitWell
	for _, p := range r.Trace.Problems {
		switch {
		case p.Severity != diag.Error:
		case IsFailedCheck(p):
			code = max(code, ExitChecks)
		default:
			code = max(code, ExitErrors)
		}
	}
	return code
}

// IsFailedCheck tells the error of a check that does not hold from that of a line without a value.
func IsFailedCheck(p *diag.Problem) bool { return p.Code == eval.CodeCheck }

// HTML writes the sheet.
func (r *Result) HTML(w io.Writer) error { return sheet.HTML(w, r.Doc, r.Trace, r.sheetOptions()) }

// JSON writes the trace as one object on one line.
func (r *Result) JSON(w io.Writer) error { return sheet.JSON(w, r.Doc, r.Trace, r.sheetOptions()) }

// Markdown writes the notebook with its results filled in.
func (r *Result) Markdown(w io.Writer) error {
	return sheet.Markdown(w, r.Doc, r.Trace, r.sheetOptions())
}

// Workbook writes the sheet as a spreadsheet workbook.
func (r *Result) Workbook(w io.Writer) error {
	return sheet.Workbook(w, r.Doc, r.Trace, r.sheetOptions())
}

// TableFile is a table as comma-separated values.
type TableFile = sheet.TableFile

// Tables are the sheet's tables, each as a file of its own.
func (r *Result) Tables() []TableFile { return sheet.Tables(r.Doc, r.Trace, r.sheetOptions()) }

// Schema is the JSON Schema that every trace keeps to.
func Schema() []byte { return sheet.Schema() }

func (r *Result) sheetOptions() sheet.Options {
	o := sheet.Options{Version: r.opts.Version, Images: r.images, Maths: r.maths, Audits: r.Audits, Studies: r.Studies, Sensitivities: r.Sensitivities}
	if r.opts.Memory != nil {
		o.Memory = &r.opts.Memory.page
	}
	return o
}

// FileError says why a file was not read.
type FileError struct {
	Name   string
	Reason string
}

func (e *FileError) Error() string { return e.Name + ": " + e.Reason }

// readFile reads a regular file of bounded size below the root of fsys.
func readFile(fsys fs.FS, name string) ([]byte, error) {
	if !fs.ValidPath(name) {
		return nil, &FileError{name, "not a path below the folder"}
	}
	f, err := fsys.Open(name)
	if err != nil {
		return nil, &FileError{name, reason(err)}
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, &FileError{name, reason(err)}
	}
	switch {
	case info.IsDir():
		return nil, &FileError{name, "a folder, not a file"}
	case !info.Mode().IsRegular():
		return nil, &FileError{name, "not a regular file"}
	case info.Size() > MaxFile:
		return nil, &FileError{name, fmt.Sprintf("larger than the limit of %d MB", MaxFile>>20)}
	}
	// A file may grow while it is read, and some kinds do not tell their size.
	text, err := io.ReadAll(io.LimitReader(f, MaxFile+1))
	if err != nil {
		return nil, &FileError{name, reason(err)}
	}
	if len(text) > MaxFile {
		return nil, &FileError{name, fmt.Sprintf("larger than the limit of %d MB", MaxFile>>20)}
	}
	return text, nil
}

// reason is an error without the paths of the machine.
func reason(err error) string {
	if pe, ok := err.(*fs.PathError); ok {
		err = pe.Err
	}
	switch {
	case isNotExist(err):
		return "no such file"
	}
	return err.Error()
}

// joined is the path of a file that the file at from names; ok is false where it leaves the folder.
func joined(from, name string) (string, bool) {
	if name == "" || strings.HasPrefix(name, "/") || strings.Contains(name, "\\") || strings.Contains(name, ":") {
		return "", false
	}
	p := path.Join(path.Dir(from), name)
	return p, fs.ValidPath(p) && p != "."
}
