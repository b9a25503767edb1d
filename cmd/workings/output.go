package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"

	"github.com/fatih/color"
	"github.com/mattn/go-isatty"
	"github.com/mattn/go-runewidth"

	"workings/notebooks"
	"workings/runner"
	"workings/runner/diag"
)

// printf writes to standard output and keeps the first failure.
func (a *app) printf(format string, args ...any) {
	if _, err := fmt.Fprintf(a.out, format, args...); err != nil && a.writeErr == nil {
		a.writeErr = fmt.Errorf("the output cannot be written: %s", reason(err))
	}
}

// paint wraps text in colours; its zero value leaves text as it is.
type paint struct{ on bool }

func (p paint) with(attrs ...color.Attribute) func(string) string {
	if !p.on {
		return func(s string) string { return s }
	}
	c := color.New(attrs...)
	c.EnableColor()
	return func(s string) string {
		if s == "" {
			return s
		}
		return c.Sprint(s)
	}
}

func (p paint) dim() func(string) string  { return p.with(color.Faint) }
func (p paint) bold() func(string) string { return p.with(color.Bold) }
func (p paint) good() func(string) string { return p.with(color.FgGreen) }
func (p paint) bad() func(string) string  { return p.with(color.FgRed, color.Bold) }
func (p paint) warn() func(string) string { return p.with(color.FgYellow) }

// problems is the style in which problems are printed.
func (p paint) problems() diag.Style {
	if !p.on {
		return diag.Style{}
	}
	return diag.Style{Error: p.bad(), Caution: p.warn(), Note: p.with(color.FgCyan), Place: p.bold(), Marker: p.dim(), Hint: p.good()}
}

// paintFor decides on colour for a stream.
func (a *app) paintFor(w io.Writer) paint {
	terminal := false
	if f, ok := w.(*os.File); ok {
		terminal = isatty.IsTerminal(f.Fd()) || isatty.IsCygwinTerminal(f.Fd())
	}
	return paint{wantsColour(a.colour, terminal, os.Getenv("NO_COLOR"), os.Getenv("TERM"))}
}

// wantsColour: what the user asked for, else only on a terminal that can and where NO_COLOR
// (no-color.org) is not set.
func wantsColour(asked string, terminal bool, noColour, term string) bool {
	switch asked {
	case "always":
		return true
	case "never":
		return false
	}
	return terminal && noColour == "" && term != "dumb"
}

// errInterrupted is the error of a command that the user has stopped.
var errInterrupted = errors.New("interrupted")

// outcome is what the work on one notebook printed and came to.
type outcome struct {
	ctx      context.Context // ends when the user stops the command
	progress func(study string, done, total int)
	out, err bytes.Buffer
	code     int
	usage    error // the command line itself is wrong, whatever the notebook
	failed   error // why the notebook was not read, or its sheet not written
	tally
}

// fail notes a notebook that could not be read or written.
func (o *outcome) fail(t *target, err error) {
	o.code = max(o.code, runner.ExitUsage)
	o.unread++
	o.failed = err
	fmt.Fprintf(&o.err, "%s: %s\n", diag.Visible(t.shown), diag.Visible(err.Error()))
	var hint *hinted
	if errors.As(err, &hint) {
		fmt.Fprintf(&o.err, "  %s\n", diag.Visible(hint.hint))
	}
}

// tally counts over notebooks.
type tally struct {
	notebooks, errors, fails, cautions, unread int
}

func (t *tally) add(u tally) {
	t.notebooks += u.notebooks
	t.errors += u.errors
	t.fails += u.fails
	t.cautions += u.cautions
	t.unread += u.unread
}

// count takes the problems of one notebook.
func (t *tally) count(problems []*diag.Problem) {
	t.notebooks++
	for _, p := range problems {
		switch {
		case p.Severity == diag.Caution:
			t.cautions++
		case p.Severity == diag.Error && runner.IsFailedCheck(p):
			t.fails++
		case p.Severity == diag.Error:
			t.errors++
		}
	}
}

func (t *tally) String() string {
	var parts []string
	part := func(n int, one, many string) {
		switch {
		case n == 1:
			parts = append(parts, "1 "+one)
		case n > 1:
			parts = append(parts, fmt.Sprintf("%d %s", n, many))
		}
	}
	part(t.errors, "error", "errors")
	part(t.fails, "check fails", "checks fail")
	part(t.cautions, "caution", "cautions")
	part(t.unread, "file not read", "files not read")
	if len(parts) == 0 {
		parts = append(parts, "all well")
	}
	text := strings.Join(parts, ", ")
	if t.notebooks > 0 {
		text = plural(t.notebooks, "notebook", "notebooks") + ": " + text
	}
	return text
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// each works on the targets, several at a time, and prints what came of them in their order. A
// panic in one is a bug of the tool: it is reported, and the others go on. When the user stops the
// command, what is finished is printed and the rest left undone; a second time ends it at once.
func (a *app) each(ts []target, work func(*target, *outcome)) (tally, error) {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop)
	shown := newProgress(a.err)
	done := make([]chan *outcome, len(ts))
	for i := range done {
		done[i] = make(chan *outcome, 1)
	}
	next := make(chan int)
	for range min(a.workers, len(ts)) {
		go func() {
			for i := range next {
				o := &outcome{ctx: ctx, progress: shown.of(ts[i].shown)}
				if ctx.Err() == nil {
					attempt(&ts[i], o, work)
				}
				done[i] <- o
			}
		}()
	}
	go func() {
		for i := range ts {
			next <- i
		}
		close(next)
	}()
	var sum tally
	for _, c := range done {
		o := <-c
		if o.usage != nil {
			return sum, o.usage
		}
		a.worse(o.code)
		sum.add(o.tally)
		shown.print(func() {
			a.printf("%s", o.out.Bytes())
			a.err.Write(o.err.Bytes())
		})
	}
	if ctx.Err() != nil {
		return sum, errInterrupted
	}
	return sum, nil
}

func attempt(t *target, o *outcome, work func(*target, *outcome)) {
	defer func() {
		if bug := recover(); bug != nil {
			*o = outcome{}
			o.fail(t, fault(bug))
		}
	}()
	if t.err != nil {
		o.fail(t, t.err)
		return
	}
	work(t, o)
}

// fault is what a panic comes to.
func fault(bug any) error {
	return fmt.Errorf("internal error (%v): this is a fault of workings, not of the notebook; please report it with the notebook", bug)
}

// build evaluates a target. Its files go by their names relative to the notebook's folder; or, for
// a trace that several notebooks may write to, as typed, unless that leads through folders of this
// machine.
func (t *target) build(o *outcome, ev *evaluation, trace bool) *runner.Result {
	fsys, closed, err := t.open()
	if err != nil {
		o.fail(t, err)
		return nil
	}
	defer closed()
	opts := runner.Options{Library: notebooks.Library(), Set: ev.set, Also: ev.also, Version: version, Study: ev.study, Uncertainty: ev.uncertainty, Sensitivity: ev.sensitivity, Progress: o.progress}
	if trace && filepath.IsLocal(t.shown) {
		opts.Shown = t.shown
	}
	r, err := runner.BuildContext(o.ctx, fsys, t.name, opts)
	var usage *runner.UsageError
	switch {
	case errors.Is(err, context.Canceled):
		return nil // which is said once, for all notebooks
	case errors.As(err, &usage):
		o.usage = usage
		return nil
	case err != nil:
		o.fail(t, unread(err))
		return nil
	}
	o.count(r.Problems())
	o.code = r.ExitCode()
	for _, p := range r.Problems() {
		if runner.WrongArgument(p) {
			o.code = runner.ExitUsage // the fault is not the notebook's
		}
	}
	return r
}

// unread is why a file was not read, without its name.
func unread(err error) error {
	var fe *runner.FileError
	if errors.As(err, &fe) {
		return errors.New(fe.Reason)
	}
	return err
}

// printProblems prints those of at least the severity.
func (t *target) printProblems(w io.Writer, ps []*diag.Problem, from diag.Severity, p paint) {
	for _, q := range ps {
		if q.Severity >= from {
			diag.Print(w, t.renamed(q), p.problems())
		}
	}
}

// printShort prints them on one line each, as editors and other programs read them.
func (t *target) printShort(w io.Writer, ps []*diag.Problem, from diag.Severity, p paint) {
	for _, q := range ps {
		if q.Severity >= from {
			var b bytes.Buffer
			diag.Print(&b, t.renamed(q), p.problems())
			line, _, _ := bytes.Cut(b.Bytes(), []byte("\n"))
			fmt.Fprintf(w, "%s\n", line)
		}
	}
}

// columns measures text as a terminal shows it, whatever the locale.
var columns = runewidth.Condition{StrictEmojiNeutral: true}

// pad fills text up to a width.
func pad(s string, width int) string {
	return s + strings.Repeat(" ", max(0, width-columns.StringWidth(s)))
}

func padLeft(s string, width int) string {
	return strings.Repeat(" ", max(0, width-columns.StringWidth(s))) + s
}

// table sets rows in columns; right says which are numbers.
func table(w io.Writer, indent string, rows [][]string, right func(col int) bool, head func(string) string) {
	var widths []int
	for _, r := range rows {
		for i, c := range r {
			if i == len(widths) {
				widths = append(widths, 0)
			}
			widths[i] = max(widths[i], columns.StringWidth(c))
		}
	}
	for n, r := range rows {
		cells := make([]string, len(r))
		for i, c := range r {
			switch {
			case right(i):
				cells[i] = padLeft(c, widths[i])
			case i == len(r)-1:
				cells[i] = c
			default:
				cells[i] = pad(c, widths[i])
			}
		}
		line := strings.TrimRight(indent+strings.Join(cells, "  "), " ")
		if n == 0 && head != nil {
			line = head(line)
		}
		fmt.Fprintln(w, line)
	}
}
