package register

import (
	"path"
	"slices"
	"strings"

	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/notebook"
	"workings/runner/resolve"
)

// Package is the sheets of one folder.
type Package struct {
	// Sheets are in the order of their numbers; those without a number follow, by path.
	Sheets []*Sheet
	// Unread are the notebooks of the folder that could not be read.
	Unread []Unread
	// Inputs are those of all sheets, in their order.
	Inputs []*Input
	// Differences are the names under which inputs of several sheets have several values.
	Differences []Difference
	// Project is what the front matter of the sheets names, where they agree on it.
	Project string
}

// Unread is a notebook that could not be read.
type Unread struct{ Path, Reason string }

// Sheet is an evaluated notebook and its place in the package.
type Sheet struct {
	// Path of the notebook below the folder, slash-separated.
	Path string
	// Page is the path of its HTML sheet below the output folder.
	Page  string
	Title string
	Doc   *notebook.Document
	Trace *eval.Trace

	// What follows is filled in by New.

	// Position in Package.Sheets, from 0.
	Position int
	// Problems are those to report at this sheet: its own, those that a used sheet has only with the
	// inputs that it is given here, and what the package as a whole brings up.
	Problems []*diag.Problem
	// Found are those of Problems that the package as a whole brings up.
	Found    []*diag.Problem
	Uses     []*Use // in reading order
	UsedBy   []*Use // by the users' order
	Standing Standing
	// Upstream are the sheets that it rests on, directly or not, and that are not well; the nearest
	// first.
	Upstream []*Sheet

	pkg       *Package
	above     []*Sheet // upstream, once it has been found
	top       []*Sheet // the same, by rank
	rank      int
	allFaults map[fault]bool
}

// Package is the one that the sheet is part of.
func (s *Sheet) Package() *Package { return s.pkg }

// Number is what the sheet is cited by, or "".
func (s *Sheet) Number() string { return s.Doc.Front.Number.Text }

// Revision is that of the front matter, or "".
func (s *Sheet) Revision() string { return s.Doc.Front.Revision.Text }

// Name is the number of the sheet, or the path of its notebook where it has none.
func (s *Sheet) Name() string {
	if n := s.Number(); n != "" {
		return n
	}
	return s.Path
}

// Titled is the title of a sheet, or "" where that is no more than the name of its file.
func (s *Sheet) Titled() string {
	if s.Title == path.Base(s.Path) {
		return ""
	}
	return s.Title
}

// Use is a line of User that brings Used in.
type Use struct {
	User, Used *Sheet
	Name       string // that it goes by there: gt
	Entry      *eval.Entry
	// With are the inputs given instead of the used sheet's own.
	With []Given
	// Values are those that the user reads from it.
	Values []Value
}

// Given is the value that a user gives to an input of a used sheet.
type Given struct {
	Use    *Use
	Name   string          // of the input
	Symbol *resolve.Symbol // of the used sheet, as the user's trace holds it
	Value  eval.Value
	OK     bool // it has a value
}

// Value is a value that a user reads from a used sheet.
type Value struct {
	Symbol *resolve.Symbol // of the used sheet, as the user's trace holds it
	Value  eval.Value
	OK     bool // it has a value
	// Entry is the number of the entry on the used sheet's own page, or "".
	Entry string
}

// New makes the package of evaluated notebooks; of a sheet only the first block of fields is given.
func New(sheets []*Sheet, unread []Unread) *Package {
	p := &Package{Sheets: slices.Clone(sheets), Unread: unread}
	slices.SortStableFunc(p.Sheets, inOrder)
	byPath := map[string]*Sheet{}
	for i, s := range p.Sheets {
		s.Position = i
		s.Problems, s.Found, s.Uses, s.UsedBy, s.Upstream = nil, nil, nil, nil, nil
		s.Standing = Standing{Overridden: s.overridden()}
		s.pkg, s.above, s.top, s.allFaults = p, nil, nil, nil
		byPath[s.Path] = s
	}
	for _, s := range p.Sheets {
		s.findUses(byPath)
	}
	p.rank()
	p.project()
	p.collectInputs()
	p.differences()
	p.own()
	p.rests()
	p.numbers()
	p.superseded()
	for _, s := range p.Sheets {
		s.Problems = append(s.Problems, s.Found...)
		diag.Sort(s.Problems)
		s.stand()
	}
	for _, s := range p.Sheets {
		for _, up := range s.upstream() {
			if !up.Standing.Well() {
				s.Upstream = append(s.Upstream, up)
			}
		}
	}
	return p
}

// Sheet is that of a notebook, or nil.
func (p *Package) Sheet(path string) *Sheet {
	for _, s := range p.Sheets {
		if s.Path == path {
			return s
		}
	}
	return nil
}

// inOrder is the order of a register: by number as a reader counts, GT-9 before GT-10.
func inOrder(a, b *Sheet) int {
	m, n := a.Number(), b.Number()
	switch {
	case (m == "") != (n == ""):
		if m == "" {
			return 1
		}
		return -1
	case m != n:
		return natural(m, n)
	}
	return natural(a.Path, b.Path)
}

// natural compares runs of digits by their value and the rest by its bytes.
func natural(a, b string) int {
	x, y := a, b
	for x != "" && y != "" {
		var m, n string
		m, x = run(x)
		n, y = run(y)
		if isDigit(m[0]) && isDigit(n[0]) {
			v, w := strings.TrimLeft(m, "0"), strings.TrimLeft(n, "0")
			if len(v) != len(w) {
				return len(v) - len(w)
			}
			m, n = v, w
		}
		if c := strings.Compare(m, n); c != 0 {
			return c
		}
	}
	if c := len(x) - len(y); c != 0 {
		return c
	}
	return strings.Compare(a, b)
}

// run cuts off the leading run of digits, or of anything else.
func run(s string) (first, rest string) {
	i := 1
	for i < len(s) && isDigit(s[i]) == isDigit(s[0]) {
		i++
	}
	return s[:i], s[i:]
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

func (p *Package) project() {
	for _, s := range p.Sheets {
		switch name := s.Doc.Front.Project.Text; {
		case name == "":
		case p.Project == "":
			p.Project = name
		case p.Project != name:
			p.Project = ""
			return
		}
	}
}

// PathOf is where a file lies below the folder that a problem or line of the sheet names. A file is
// named relative to the folder of the notebook that was evaluated.
func (s *Sheet) PathOf(f *diag.File) string {
	if f == nil {
		return ""
	}
	return path.Join(path.Dir(s.Path), f.Name)
}

// fileFor is the notebook's text under the name by which the problems of another sheet know it.
func (s *Sheet) fileFor(reader *Sheet) *diag.File {
	f := *s.Doc.File
	from, up := path.Dir(reader.Path), ""
	for from != "." && !strings.HasPrefix(s.Path, from+"/") {
		from, up = path.Dir(from), up+"../"
	}
	f.Name = up + strings.TrimPrefix(s.Path, from+"/")
	if from == "." {
		f.Name = up + s.Path
	}
	return &f
}
