package runner

import (
	"io"
	"path"
	"strings"

	"workings/runner/register"
	"workings/runner/sheet"
)

// Package is the notebooks of a folder as one calculation package.
type Package struct {
	*register.Package
	results map[*register.Sheet]*Result
	version string
}

// Standing is how a sheet of a package stands by itself, used sheets aside.
type Standing = register.Standing

// Member is a notebook of a folder, evaluated, or the reason why it could not be read.
type Member struct {
	// Path of the notebook below the folder, slash-separated; that of its page is the same with
	// .html.
	Path   string
	Result *Result
	Err    error // where Result is nil
}

// NewPackage puts results together. Nothing is evaluated again.
func NewPackage(members []Member) *Package {
	p := &Package{results: map[*register.Sheet]*Result{}}
	var sheets []*register.Sheet
	var unread []register.Unread
	for _, m := range members {
		if m.Result == nil {
			why := "not read"
			if m.Err != nil {
				why = m.Err.Error()
			}
			unread = append(unread, register.Unread{Path: m.Path, Reason: why})
			continue
		}
		s := &register.Sheet{Path: m.Path, Page: PagePath(m.Path), Title: sheet.Title(m.Result.Doc), Doc: m.Result.Doc, Trace: m.Result.Trace}
		sheets = append(sheets, s)
		p.results[s] = m.Result
		p.version = m.Result.opts.Version
	}
	p.Package = register.New(sheets, unread)
	return p
}

// HTML writes the page of a sheet, with links to the pages of the others.
func (p *Package) HTML(w io.Writer, s *register.Sheet) error {
	o := p.results[s].sheetOptions()
	o.In = &sheet.Placement{Sheet: s, Page: s.Page, Whole: s.Whole()}
	return sheet.HTML(w, s.Doc, s.Own(), o)
}

// Trace writes the trace that lies in the page of a sheet.
func (p *Package) Trace(w io.Writer, s *register.Sheet) error {
	return sheet.JSON(w, s.Doc, s.Whole(), p.results[s].sheetOptions())
}

// JSON writes the register, who uses what, and all inputs, as one object on one line.
func (p *Package) JSON(w io.Writer) error { return sheet.PackageJSON(w, p.Package, p.options()) }

// Inputs writes every input of the package with its sources, as comma-separated values.
func (p *Package) Inputs() []byte { return sheet.PackageInputs(p.Package) }

// PackageSchema is the JSON Schema that it keeps to.
func PackageSchema() []byte { return sheet.PackageSchema() }

// Index writes the page that leads to all sheets, and to the document of all of them where there is one.
func (p *Package) Index(w io.Writer, combined bool) error {
	return sheet.Index(w, p.Package, p.options(), combined)
}

// Combined writes all sheets as one document. For print, begins are the numbers of the printed sheets at
// which the sheets begin, each 0 until they are known; else it is nil.
func (p *Package) Combined(w io.Writer, begins []int) error {
	return sheet.Combined(w, p.Package, p.options(), begins)
}

// SheetAnchor is the id, in that document, of the sheet at a place of the register, from 0.
func SheetAnchor(position int) string { return sheet.SheetAnchor(position) }

// IndexPage and CombinedPage are what the pages on the package as a whole are called.
const (
	IndexPage    = sheet.IndexPage
	CombinedPage = sheet.CombinedPage
	PackageFile  = "package.json"
	InputsFile   = "inputs.csv"
)

func (p *Package) options() sheet.PackageOptions {
	return sheet.PackageOptions{Version: p.version, Of: func(s *register.Sheet) sheet.Options { return p.results[s].sheetOptions() }}
}

// PagePath is where the page of a notebook lies below the output folder.
func PagePath(notebook string) string {
	return strings.TrimSuffix(notebook, path.Ext(notebook)) + ".html"
}
