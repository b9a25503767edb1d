package runner

import (
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

// PagePath is where the page of a notebook lies below the output folder.
func PagePath(notebook string) string {
	return strings.TrimSuffix(notebook, path.Ext(notebook)) + ".html"
}
