package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"workings/runner"
	"workings/runner/diag"
)

// packages parts targets into the notebooks of each folder that was given and, between them, those
// that were named themselves.
func packages(ts []target) [][]target {
	var out [][]target
	for from := 0; from < len(ts); {
		to := from + 1
		for to < len(ts) && ts[to].folder == ts[from].folder {
			to++
		}
		out = append(out, ts[from:to])
		from = to
	}
	return out
}

// isPackage reports targets that are the notebooks of one folder.
func isPackage(ts []target) bool {
	return len(ts) > 0 && ts[0].folder != "" && len(packages(ts)) == 1
}

// path of the notebook below the folder that was given.
func (t *target) path() string { return t.page + path.Ext(t.name) }

// buildPackage evaluates the notebooks of a folder, each once. What cannot be read is printed; the
// tally counts each fault once.
func (a *app) buildPackage(ts []target, ev *evaluation) (*runner.Package, tally, error) {
	sum, err := a.each(ts, func(t *target, o *outcome) {
		t.result = t.build(o, ev, false)
		t.unread = o.failed
		o.notebooks, o.errors, o.fails, o.cautions = 0, 0, 0, 0 // counted below
	})
	if err != nil {
		return nil, sum, err
	}
	var members []runner.Member
	for i := range ts {
		t := &ts[i]
		why := t.unread
		if t.err != nil {
			why = t.err
		}
		members = append(members, runner.Member{Path: t.path(), Result: t.result, Err: why})
	}
	pkg := runner.NewPackage(members)
	faults := pkg.Faults()
	for _, s := range pkg.Sheets {
		sum.count(faults[s])
	}
	return pkg, sum, nil
}

// packageFiles are written beside the sheets of a folder, under names of their own.
func packageFiles(f formats, sheets int) []string {
	names := []string{runner.IndexPage}
	if sheets > 1 {
		names = append(names, runner.CombinedPage)
	}
	if f.json {
		names = append(names, runner.PackageFile)
	}
	if f.csv {
		names = append(names, runner.InputsFile)
	}
	if f.pdf && sheets > 1 {
		names = append(names, pdfOf(runner.CombinedPage))
	}
	return names
}

func pdfOf(page string) string { return strings.TrimSuffix(page, path.Ext(page)) + ".pdf" }

// renderPackage writes the sheets of a folder, linked to each other, and then the pages on the package
// as a whole.
func (a *app) renderPackage(ts []target, w *writing, ev *evaluation) error {
	pkg, _, err := a.buildPackage(ts, ev)
	if err != nil {
		return err
	}
	var read []target
	for _, t := range ts {
		if t.result != nil {
			read = append(read, t)
		}
	}
	if len(read) == 0 {
		return nil
	}
	w.pkg = pkg
	if _, err := a.each(read, func(t *target, o *outcome) { w.render(t, o, ev) }); err != nil {
		return err
	}
	// The pages on the whole are printed last: they lead to all that is there by then.
	whole := target{shown: ts[0].folder}
	_, err = a.each([]target{whole}, func(t *target, o *outcome) { w.whole(t, o) })
	return err
}

// whole writes the register of a package, the document that holds all its sheets, and what was asked
// for beside them.
func (w *writing) whole(t *target, o *outcome) {
	names := packageFiles(w.formats, len(w.pkg.Sheets))
	for _, name := range names {
		var b bytes.Buffer
		var err error
		switch name {
		case runner.IndexPage:
			err = w.pkg.Index(&b, slices.Contains(names, runner.CombinedPage))
		case runner.CombinedPage:
			err = w.pkg.Combined(&b, nil)
		case runner.PackageFile:
			err = w.pkg.JSON(&b)
		case runner.InputsFile:
			b.Write(w.pkg.Inputs())
		default:
			pdf, printErr := w.printCombined(o.ctx)
			if errors.Is(printErr, errInterrupted) {
				return
			}
			if printErr != nil {
				o.fail(t, fmt.Errorf("%s is not written: %w", filepath.ToSlash(filepath.Join(w.dir, name)), printErr))
				return
			}
			b.Write(pdf)
		}
		if err != nil { // a limit: memory takes everything
			o.code = max(o.code, runner.ExitErrors)
			fmt.Fprintf(&o.err, "%s: error: %s\n", diag.Visible(t.shown), diag.Visible(err.Error()))
			return
		}
		if !put(t, o, filepath.Join(w.dir, name), b.Bytes()) {
			return
		}
	}
	names[0] = filepath.ToSlash(filepath.Join(w.dir, names[0]))
	io.WriteString(&o.out, diag.Visible(strings.Join(names, ", "))+"  "+plural(len(w.pkg.Sheets), "sheet", "sheets")+"\n")
}

// printCombined prints all sheets as one. Where each begins is known once it is printed, so that it is
// printed again with the numbers in the register.
func (w *writing) printCombined(ctx context.Context) ([]byte, error) {
	begins := make([]int, len(w.pkg.Sheets))
	for {
		var b bytes.Buffer
		if err := w.pkg.Combined(&b, begins); err != nil {
			return nil, err
		}
		pdf, err := printPDF(ctx, w.browser, b.Bytes())
		if err != nil || begins[0] > 0 {
			return pdf, err
		}
		if begins = sheetBegins(pdf, len(begins)); begins == nil {
			return pdf, nil
		}
	}
}
