package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"workings/runner"
	"workings/runner/diag"
)

// formats are what is written beside the HTML sheet.
type formats struct{ pdf, xlsx, csv, json, markdown bool }

func newRender(a *app) *cobra.Command {
	var ev evaluation
	var dir string
	var f formats
	cmd := &cobra.Command{
		Use:   "render FILE... -o DIR",
		Short: "Evaluate notebooks and write their sheets as HTML, and in other forms",
		Long: "Evaluate notebooks and write one HTML file each to DIR, which is made if need be. Below a folder\n" +
			"that was given, the sheets keep its subfolders. A sheet with an error is written too, with the\n" +
			"error in its place. Each file is replaced whole or not at all.\n\n" +
			"One folder alone is a package: its sheets link to each other, index.html is their register, and\n" +
			"combined.html holds all of them for print, with one run of sheet numbers. --pdf prints that to\n" +
			"combined.pdf as well, --csv writes all inputs to inputs.csv, --json the register to package.json.\n\n" +
			"--pdf needs a Chromium: chromium, chromium-browser, google-chrome or chrome on the PATH, or the\n" +
			"program that " + browserVariable + " names. Where there is none the rest is written, and the exit\n" +
			"code is 3. The browser runs without a network and, for root, without its sandbox.\n\n" + filesHelp,
		Example: `  workings render plant.md -o sheets               writes sheets/plant.html
  workings render notebooks/... -o sheets          and sheets/index.html, sheets/combined.html
  workings render plant.md --set r_p=12 -o variant
  workings render plant.md --pdf --xlsx -o sheets  and sheets/plant.pdf, sheets/plant.xlsx
  workings render plant.md --csv -o sheets         and sheets/plant-table-1.csv, …
  workings render plant.md --markdown --json -o sheets`,
		Args: atLeastOne("a notebook or a folder of them", "plant.md -o sheets"),
		RunE: func(_ *cobra.Command, args []string) error {
			if dir == "" {
				return &hinted{"say where the sheets go", "for example: -o sheets, or -o . for this folder"}
			}
			ts, err := targets(args, ev.root)
			if err != nil {
				return err
			}
			var whole []string
			if isPackage(ts) {
				whole = packageFiles(f, len(ts))
			}
			if err := collisions(ts, dir, whole); err != nil {
				return err
			}
			if err := os.MkdirAll(dir, 0o777); err != nil {
				return fmt.Errorf("-o %s: %s", dir, reason(err))
			}
			sweepFor(ts, dir)
			w := writing{formats: f, dir: dir, paint: a.paintFor(a.err)}
			var noBrowser error
			if f.pdf {
				if w.browser, noBrowser = findBrowser(); noBrowser != nil {
					w.pdf = false
				}
			}
			if isPackage(ts) {
				err = a.renderPackage(ts, &w, &ev)
			} else {
				_, err = a.each(ts, func(t *target, o *outcome) { w.render(t, o, &ev) })
			}
			if err != nil {
				return err
			}
			return noBrowser
		},
	}
	ev.flags(cmd, false)
	ev.sureness(cmd)
	cmd.Flags().StringVarP(&dir, "output", "o", "", "the folder for the sheets, `DIR`")
	cmd.MarkFlagDirname("output")
	cmd.Flags().BoolVar(&f.pdf, "pdf", false, "print each sheet to NAME.pdf as well")
	cmd.Flags().BoolVar(&f.xlsx, "xlsx", false, "write NAME.xlsx as well, a workbook with live formulas")
	cmd.Flags().BoolVar(&f.csv, "csv", false, "write each table to NAME-table-1.csv, … as well")
	cmd.Flags().BoolVar(&f.json, "json", false, "write the trace to NAME.json as well")
	cmd.Flags().BoolVar(&f.markdown, "markdown", false, "write NAME.markdown as well, the notebook with its results filled in")
	return cmd
}

// sheetFile is a file of a notebook's sheet, without its suffix.
func (t *target) sheetFile(dir string) string {
	return filepath.Join(dir, filepath.FromSlash(t.page))
}

// sweepFor sweeps the folders for the sheets of notebooks.
func sweepFor(ts []target, dir string) {
	dirs := []string{dir}
	for i := range ts {
		if ts[i].err == nil {
			dirs = append(dirs, filepath.Dir(ts[i].sheetFile(dir)))
		}
	}
	sweep(dirs...)
}

// sweepBeside sweeps the folders that notebooks are in.
func sweepBeside(ts []target) {
	for i := range ts {
		if ts[i].err == nil {
			sweep(filepath.Dir(filepath.Join(ts[i].dir, filepath.FromSlash(ts[i].name))))
		}
	}
}

// collisions refuses two notebooks whose sheets would be one file, or one whose sheet would be a file
// of the whole folder.
func collisions(ts []target, dir string, whole []string) error {
	from := map[string]string{}
	for _, name := range whole {
		if name == runner.InputsFile {
			continue // no sheet has a file of that form
		}
		stem := strings.TrimSuffix(name, filepath.Ext(name))
		from[filepath.ToSlash(filepath.Join(dir, stem))+".html"] = name + " of the whole folder"
	}
	for _, t := range ts {
		if t.err != nil {
			continue
		}
		file := filepath.ToSlash(t.sheetFile(dir)) + ".html"
		if other, taken := from[file]; taken {
			hint := "render them to folders of their own, or give the folder above both"
			if len(whole) > 0 {
				hint = "give the notebook another name"
			}
			return &hinted{fmt.Sprintf("%s and %s would both be written to %s", other, t.shown, file), hint}
		}
		from[file] = t.shown
	}
	return nil
}

// writing is what is made of each notebook, and where it goes.
type writing struct {
	formats
	dir     string
	browser string // the program that prints to PDF
	paint   paint
	pkg     *runner.Package // that the sheets are linked in; nil of notebooks that were named themselves
}

// output is one file of a sheet.
type output struct {
	suffix string // of the notebook's name
	text   []byte
}

// render evaluates a notebook and writes what was asked for. All of it is in memory before the
// first file is written; a PDF, which takes the longest and may fail, comes last.
func (w *writing) render(t *target, o *outcome, ev *evaluation) {
	r, problems := t.result, []*diag.Problem(nil)
	form, stands := forms{}, ""
	if w.pkg != nil {
		s := w.pkg.Sheet(t.path())
		problems, stands = s.Problems, sheetStanding(s.Standing)
		form.html = func(to io.Writer) error { return w.pkg.HTML(to, s) }
		form.json = func(to io.Writer) error { return w.pkg.Trace(to, s) }
	} else {
		if r = t.build(o, ev, false); r == nil {
			return
		}
		problems, stands = r.Problems(), standing(r)
		form.html, form.json = r.HTML, r.JSON
	}
	t.printProblems(&o.err, problems, diag.Caution, w.paint)
	outputs, err := w.outputs(r, form)
	if err != nil { // a limit: memory takes everything
		o.code = max(o.code, runner.ExitErrors)
		fmt.Fprintf(&o.err, "%s: error: %s\n", diag.Visible(t.shown), diag.Visible(err.Error()))
		return
	}
	if o.ctx.Err() != nil {
		return // nothing of this sheet is written
	}
	stem := t.sheetFile(w.dir)
	if err := os.MkdirAll(filepath.Dir(stem), 0o777); err != nil {
		o.fail(t, errors.New(filepath.ToSlash(filepath.Dir(stem))+" cannot be made: "+reason(err)))
		return
	}
	var written []string
	for _, out := range outputs {
		if !put(t, o, stem+out.suffix, out.text) {
			return
		}
		written = append(written, filepath.Base(stem)+out.suffix)
	}
	if w.pdf {
		pdf, err := printPDF(o.ctx, w.browser, outputs[0].text)
		if err != nil {
			o.fail(t, fmt.Errorf("%s is not written: %w", filepath.ToSlash(stem)+".pdf", err))
			return
		}
		if !put(t, o, stem+".pdf", pdf) {
			return
		}
		written = append(written, filepath.Base(stem)+".pdf")
	}
	written[0] = filepath.ToSlash(stem) + ".html"
	fmt.Fprintf(&o.out, "%s  %s\n", diag.Visible(strings.Join(written, ", ")), stands)
}

// forms are what a sheet in a package differs in from one that stands alone.
type forms struct{ html, json func(io.Writer) error }

// outputs are the files of a sheet, the HTML first.
func (w *writing) outputs(r *runner.Result, form forms) ([]output, error) {
	var out []output
	add := func(wanted bool, suffix string, to func(io.Writer) error) error {
		if !wanted {
			return nil
		}
		var b bytes.Buffer
		err := to(&b)
		out = append(out, output{suffix, b.Bytes()})
		return err
	}
	err := errors.Join(
		add(true, ".html", form.html),
		add(w.json, ".json", form.json),
		add(w.xlsx, ".xlsx", r.Workbook),
		add(w.markdown, ".markdown", r.Markdown),
	)
	if w.csv {
		for _, t := range r.Tables() {
			out = append(out, output{"-" + t.Name + ".csv", t.Text})
		}
	}
	return out, err
}

// put writes a file that a notebook came to, unless the user has stopped the command meanwhile. It does not
// write over the notebook.
func put(t *target, o *outcome, file string, text []byte) bool {
	if o.ctx.Err() != nil {
		return false
	}
	if own, err := os.Stat(filepath.Join(t.dir, filepath.FromSlash(t.name))); err == nil {
		if there, err := os.Stat(file); err == nil && os.SameFile(own, there) {
			o.fail(t, &hinted{filepath.ToSlash(file) + " is the notebook itself, and is not written over", "name another file"})
			return false
		}
	}
	if err := replace(file, text, 0o666); err != nil {
		o.fail(t, errors.New(filepath.ToSlash(file)+" cannot be written: "+reason(err)))
		return false
	}
	return true
}
