package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"math"
	"os"
	"os/exec"
	"os/signal"
	"path"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"workings/notebooks"
	"workings/runner"
	"workings/runner/diag"
	"workings/runner/watch"
)

// usualPort is where the sheets are unless the user says otherwise or another program is there.
const usualPort = 7310

// watching is the watch command at work.
type watching struct {
	*app
	dir    string // as the user typed it
	output string // the folder for the sheets, or empty
	format bool   // notebooks are brought to their canonical form when they are saved
	short  bool
	paint  paint

	mu       sync.Mutex
	memories map[string]*runner.Memory // by notebook
	pkg      *runner.Package           // that the pages were last made of
	printed  map[string]string         // the problems of each notebook that were printed last
	owed     map[string][]byte         // the pages whose files could not be written; nil to be removed
}

func newWatching(a *app) *watching {
	return &watching{app: a, memories: map[string]*runner.Memory{}, printed: map[string]string{}, owed: map[string][]byte{}}
}

func newWatch(a *app) *cobra.Command {
	w := newWatching(a)
	var port int
	var open bool
	cmd := &cobra.Command{
		Use:   "watch [DIR]",
		Short: "Keep the sheets of a folder current in a browser while you write",
		Long: `Evaluate all notebooks below a folder, this one where none is named, show their sheets to a browser
on this machine, and keep both current: whenever a file is saved, the sheets that depend on it are
made anew, and an open page changes in place. Rows whose values moved say from where and how far.

Only this machine can read the sheets. Nothing is written but with -o, which keeps DIR/NAME.html
current as well, and with --fmt. Each line that is printed is a sheet that was made anew; what is
wrong with it stands below, as FILE:LINE:COLUMN: SEVERITY: MESSAGE [CODE] with the line, which --short
leaves out. Ctrl-C ends it, with exit code 0.`,
		Example: `  workings watch
  workings watch notebooks --open
  workings watch plant -o sheets --fmt
  workings watch --port 0 --short                  for an editor that reads problems`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return errors.New("one folder at a time is watched")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			w.dir = "."
			if len(args) == 1 {
				w.dir = args[0]
			}
			ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
			defer stop()
			w.paint = a.paintFor(a.out)
			if !cmd.Flags().Changed("port") {
				port = -1
			} else if port < 0 || port > math.MaxUint16 {
				return &hinted{fmt.Sprintf("there is no port %d", port), fmt.Sprintf("ports go from 1 to %d; --port 0 takes any that is free", math.MaxUint16)}
			}
			return w.run(ctx, port, open)
		},
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return nil, cobra.ShellCompDirectiveFilterDirs
		},
	}
	cmd.Flags().IntVar(&port, "port", usualPort, "serve at `PORT`; 0 is any that is free")
	cmd.Flags().BoolVar(&open, "open", false, "open the list of sheets in a browser")
	cmd.Flags().StringVarP(&w.output, "output", "o", "", "write the sheets to `DIR` as well, as HTML, and keep them current there")
	cmd.MarkFlagDirname("output")
	cmd.Flags().BoolVar(&w.format, "fmt", false, "bring a notebook to its canonical form when it is saved and can be read")
	cmd.Flags().BoolVar(&w.short, "short", false, "print each problem on one line")
	return cmd
}

// run watches until ctx ends. A port below 0 is the usual one, or any where that is taken.
func (w *watching) run(ctx context.Context, port int, open bool) error {
	site, server, err := w.start(port)
	if err != nil {
		return err
	}
	w.printf("%s is watched; its sheets are at %s (Ctrl-C ends this)\n", diag.Visible(clean(w.dir)), server.URL())
	if len(below(w.dir)) == 0 {
		w.printf("there is no notebook (.md) in it yet; one that is saved there is shown\n")
	}
	if open {
		if err := openBrowser(server.URL()); err != nil {
			fmt.Fprintf(w.err, "--open: no browser could be started: %s\n", err)
		}
	}
	err = site.Run(ctx)
	return errors.Join(err, server.Close())
}

func (w *watching) start(port int) (*watch.Site, *watch.Server, error) {
	info, err := os.Stat(w.dir)
	switch {
	case err != nil:
		return nil, nil, fmt.Errorf("%s: %s", w.dir, reason(err))
	case !info.IsDir():
		return nil, nil, &hinted{w.dir + " is not a folder", "name the folder that it is in: workings watch " + clean(filepath.Dir(w.dir))}
	}
	ts := below(w.dir)
	if err := collisions(ts, w.output, packageFiles(formats{}, 2)); err != nil {
		return nil, nil, err
	}
	if w.output != "" {
		if err := os.MkdirAll(w.output, 0o777); err != nil {
			return nil, nil, fmt.Errorf("-o %s: %s", w.output, reason(err))
		}
		sweepFor(ts, w.output)
	}
	if w.format {
		sweepBeside(ts)
	}
	site, err := watch.OpenSite(w.maker())
	if err != nil {
		return nil, nil, fmt.Errorf("%s cannot be watched: %s", w.dir, reason(err))
	}
	usual := port < 0
	if usual {
		port = usualPort
	}
	server, err := watch.Serve(site, port)
	if usual && errors.Is(err, syscall.EADDRINUSE) {
		server, err = watch.Serve(site, 0)
	}
	if err != nil {
		site.Close()
		why := reason(err)
		if errors.Is(err, syscall.EADDRINUSE) {
			why = "another program is there"
		}
		return nil, nil, &hinted{fmt.Sprintf("port %d cannot be had: %s", port, why), "--port 0 takes any that is free"}
	}
	return site, server, nil
}

// maker is what watch needs to know of notebooks.
func (w *watching) maker() watch.Maker {
	m := watch.Maker{
		Dir:      w.dir,
		Limit:    runner.MaxFile,
		Notebook: isNotebook,
		Home:     runner.IndexPage,
		Open: func() (fs.FS, func() error, error) {
			t := target{dir: w.dir}
			return t.open()
		},
		Make:  w.evaluate,
		Pages: w.pages,
		Shown: w.shown,
		Told:  w.told,
	}
	if w.format {
		m.Saved = w.saved
	}
	return m
}

func (w *watching) target(name string) *target {
	return &target{dir: w.dir, name: name, shown: clean(filepath.Join(w.dir, filepath.FromSlash(name))), page: strings.TrimSuffix(name, path.Ext(name))}
}

// evaluated is a notebook, or why it could not be read.
type evaluated struct {
	result *runner.Result
	err    error
}

// evaluate is the one place where the watch has a notebook evaluated.
func (w *watching) evaluate(ctx context.Context, fsys fs.FS, name string) (made watch.Made) {
	defer func() {
		if bug := recover(); bug != nil {
			made = &evaluated{err: fault(bug)}
		}
	}()
	w.mu.Lock()
	memory := w.memories[name]
	if memory == nil {
		memory = &runner.Memory{}
		w.memories[name] = memory
	}
	w.mu.Unlock()
	r, err := runner.BuildContext(ctx, fsys, name, runner.Options{Library: notebooks.Library(), Version: version, Memory: memory})
	switch {
	case ctx.Err() != nil:
		return nil
	case err != nil:
		return &evaluated{err: unread(err)}
	}
	return &evaluated{result: r}
}

// pages are those that rendering the folder writes.
func (w *watching) pages(made map[string]watch.Made) []watch.Page {
	var members []runner.Member
	for _, name := range slices.Sorted(maps.Keys(made)) {
		e := made[name].(*evaluated)
		members = append(members, runner.Member{Path: name, Result: e.result, Err: e.err})
	}
	w.payOwed()
	pkg := runner.NewPackage(members)
	w.pkg = pkg
	whole := packageFiles(formats{}, len(pkg.Sheets))
	var pages []watch.Page
	for _, s := range pkg.Sheets {
		if e := made[s.Path].(*evaluated); slices.Contains(whole, s.Page) {
			e.err = fmt.Errorf("its sheet would be %s, which leads to all others: give the notebook another name", s.Page)
			continue
		}
		pages = append(pages, watch.Page{Address: s.Page, Notebook: s.Path, Text: w.text(s.Path, func(to io.Writer) error { return pkg.HTML(to, s) })})
	}
	for _, name := range whole {
		if name == runner.CombinedPage {
			pages = append(pages, watch.Page{Address: name, Later: w.output == "", Text: w.text(name, func(to io.Writer) error { return pkg.Combined(to, nil) })})
			continue
		}
		combined := slices.Contains(whole, runner.CombinedPage)
		pages = append(pages, watch.Page{Address: name, Text: w.text(name, func(to io.Writer) error { return pkg.Index(to, combined) })})
	}
	return pages
}

// text makes a page, or prints why there is none.
func (w *watching) text(name string, write func(io.Writer) error) func() []byte {
	return func() (text []byte) {
		defer func() {
			if bug := recover(); bug != nil {
				text = nil
				w.note(name, fault(bug))
			}
		}()
		var b bytes.Buffer
		if err := write(&b); err != nil {
			w.note(name, err)
			return nil
		}
		return b.Bytes()
	}
}

// note prints what is wrong with a sheet and no problem of its notebook.
func (w *watching) note(name string, err error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.printf("%s: error: %s\n", diag.Visible(clean(filepath.Join(w.dir, filepath.FromSlash(name)))), diag.Visible(err.Error()))
}

// told prints what became of a notebook.
func (w *watching) told(c watch.Change) {
	t := w.target(c.Name)
	line := w.paint.dim()(time.Now().Format("15:04:05")) + "  " + w.paint.bold()(diag.Visible(t.shown)) + "  "
	if c.Name == "." {
		w.printf("%sis gone; it is watched again once it is back\n", line)
		return
	}
	if c.Made == nil {
		w.printf("%sis gone\n", line)
		w.mu.Lock()
		delete(w.memories, c.Name)
		delete(w.printed, c.Name)
		w.mu.Unlock()
		return
	}
	var what []string
	switch {
	case c.New:
	case c.Same:
		what = append(what, "the same sheet")
	case c.Rows > 0:
		what = append(what, plural(c.Rows, "row changed", "rows changed"))
	default:
		what = append(what, "changed")
	}
	if by := because(c); by != "" {
		what = append(what, "by "+diag.Visible(by))
	}
	e := c.Made.(*evaluated)
	if e.err != nil {
		w.printf("%s%s\n", line, w.paint.bad()("no sheet"))
		w.note(c.Name, e.err)
		return
	}
	// What is wrong with a sheet that this one uses is printed there.
	problems := w.pkg.Sheet(c.Name).Problems
	what = append(what, w.standing(problems), fmt.Sprintf("%d ms", c.Took.Milliseconds()))
	var b bytes.Buffer
	inForm(w.short)(t, &b, problems, diag.Caution, w.paint)
	if c.Beside && w.printed[c.Name] == b.String() {
		return // who uses it is no news of the sheet
	}
	w.printed[c.Name] = b.String()
	w.printf("%s%s\n%s", line, strings.Join(what, ", "), b.Bytes())
}

// because names the files that led to a change, but for the notebook alone. The list of the folder's files
// (".") changes with every new one; it is no cause that a user knows.
func because(c watch.Change) string {
	files := slices.DeleteFunc(slices.Clone(c.Because), func(name string) bool { return name == "." })
	switch n := len(files); {
	case n == 0 && len(c.Because) > 0:
		return "the list of files"
	case n == 0 || n == 1 && files[0] == c.Name:
		return ""
	case n == 1:
		return files[0]
	default:
		return fmt.Sprintf("%s and %d more", files[0], n-1)
	}
}

// standing counts what was found. That nothing was is no approval.
func (w *watching) standing(problems []*diag.Problem) string {
	var n tally
	n.count(problems)
	n.notebooks = 0
	switch {
	case n == tally{}:
		return "no problems"
	case n.errors+n.fails > 0:
		return w.paint.bad()(n.String())
	}
	return w.paint.warn()(n.String())
}

// shown keeps the file of a page current, where -o asks for it.
func (w *watching) shown(address string, text []byte) {
	if w.output == "" {
		return
	}
	err := w.put(address, text)
	w.mu.Lock()
	defer w.mu.Unlock()
	delete(w.owed, address)
	if err != nil {
		w.owed[address] = text
		w.printf("%s cannot be kept current: %s; it is tried again at the next change\n", w.file(address), reason(err))
	}
}

// payOwed tries again to write what could not be written: there may be room now.
func (w *watching) payOwed() {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, address := range slices.Sorted(maps.Keys(w.owed)) {
		if w.put(address, w.owed[address]) == nil {
			delete(w.owed, address)
			w.printf("%s is current again\n", w.file(address))
		}
	}
}

// file is where a page is written, as it is printed.
func (w *watching) file(address string) string {
	return diag.Visible(filepath.ToSlash(filepath.Join(w.output, filepath.FromSlash(address))))
}

// put writes the file of a page; with no text there is none.
func (w *watching) put(address string, text []byte) error {
	file := filepath.Join(w.output, filepath.FromSlash(address))
	if text == nil {
		if err := os.Remove(file); !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		return nil
	}
	if there, err := os.ReadFile(file); err == nil && bytes.Equal(there, text) {
		return nil
	}
	if err := os.MkdirAll(filepath.Dir(file), 0o777); err != nil {
		return err
	}
	return replace(file, text, 0o666)
}

// saved brings notebooks that were saved to their canonical form, where they can be read and are still
// what was read: what an editor writes meanwhile is not overwritten.
func (w *watching) saved(names []string) {
	for _, name := range names {
		t := w.target(name)
		var o outcome
		f := t.format(&o, paint{})
		if f == nil || o.code != runner.ExitWell || bytes.Equal(f.Before, f.After) {
			continue
		}
		now, err := os.ReadFile(filepath.Join(t.dir, filepath.FromSlash(t.name)))
		if err != nil || !bytes.Equal(now, f.Before) {
			continue // it is being written: the next change brings it here again
		}
		if err := t.rewrite(f); err != nil {
			w.printf("%s cannot be written: %s\n", diag.Visible(t.shown), reason(err))
			continue
		}
		w.printf("%s  %s  brought to its canonical form\n", w.paint.dim()(time.Now().Format("15:04:05")), diag.Visible(t.shown))
	}
}

// openBrowser starts the user's browser, and does not wait for it.
func openBrowser(url string) error {
	name, args := "xdg-open", []string{url}
	switch runtime.GOOS {
	case "darwin":
		name = "open"
	case "windows":
		name, args = "rundll32", []string{"url.dll,FileProtocolHandler", url}
	}
	cmd := exec.Command(name, args...)
	if err := cmd.Start(); err != nil {
		return err
	}
	go cmd.Wait() // so that it leaves no trace when it ends
	return nil
}
