package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"syscall"

	"workings/runner"
	"workings/runner/diag"
)

// target is a notebook that an argument means, or why there is none.
type target struct {
	dir   string // the folder below which files may be read
	name  string // of the notebook, slash-separated, below dir
	shown string // as the user typed it
	page  string // of its sheet below the output folder, without .html
	err   error
	// folder is the one that was given, where it was; its notebooks are one package.
	folder string
	result *runner.Result // once it has been evaluated as part of a package
	unread error          // or why it has not
}

// targets finds the notebooks that arguments mean: a file; a folder or FOLDER/..., all below it; a
// pattern that the shell has left alone. What is named twice is taken once.
func targets(args []string, root string) ([]target, error) {
	if root != "" {
		if info, err := os.Stat(root); err != nil || !info.IsDir() {
			return nil, fmt.Errorf("--root %s is not a folder", root)
		}
	}
	var out []target
	seen := map[string]bool{}
	for _, arg := range args {
		for _, t := range expand(arg) {
			if seen[t.shown] {
				continue
			}
			seen[t.shown] = true
			if root != "" && t.err == nil {
				t.widen(root)
			}
			out = append(out, t)
		}
	}
	return out, nil
}

func expand(arg string) []target {
	if dir, ok := strings.CutSuffix(filepath.ToSlash(arg), "..."); ok && (dir == "" || strings.HasSuffix(dir, "/")) {
		if dir == "" {
			dir = "."
		}
		info, err := os.Stat(dir)
		if err != nil || !info.IsDir() {
			return []target{{shown: arg, err: errors.New("there is no such folder")}}
		}
		return below(dir)
	}
	info, err := os.Stat(arg)
	switch {
	case err == nil && info.IsDir():
		return below(arg)
	case err == nil:
		return []target{one(arg)}
	case errors.Is(err, fs.ErrNotExist) && strings.ContainsAny(arg, "*?["):
		return matches(arg)
	}
	return []target{{shown: clean(arg), err: missing(arg, err)}}
}

func clean(name string) string { return filepath.ToSlash(filepath.Clean(name)) }

// one is a notebook that was named itself.
func one(arg string) target {
	t := target{dir: filepath.Dir(arg), name: filepath.Base(arg), shown: clean(arg)}
	t.page = strings.TrimSuffix(t.name, filepath.Ext(t.name))
	if !isNotebook(t.name) {
		t.err = &hinted{"not a notebook", "the name of a notebook ends in .md"}
	}
	return t
}

func isNotebook(name string) bool { return strings.EqualFold(filepath.Ext(name), ".md") }

// below are the notebooks in a folder and the folders in it, but for hidden ones.
func below(dir string) []target {
	var out []target
	filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			out = append(out, target{shown: clean(p), err: errors.New(reason(err))})
			if d != nil && d.IsDir() {
				return fs.SkipDir
			}
		case strings.HasPrefix(d.Name(), ".") && p != dir:
			if d.IsDir() {
				return fs.SkipDir
			}
		case !d.IsDir() && isNotebook(p):
			rel, err := filepath.Rel(dir, p)
			if err != nil {
				rel = d.Name() // p begins with dir
			}
			name := filepath.ToSlash(rel)
			out = append(out, target{dir: dir, name: name, shown: clean(p), page: strings.TrimSuffix(name, path.Ext(name)), folder: dir})
		}
		return nil
	})
	if len(out) == 0 {
		return []target{{shown: clean(dir), err: errors.New("there is no notebook (.md) in this folder")}}
	}
	return out
}

func matches(pattern string) []target {
	names, err := filepath.Glob(pattern)
	if err != nil {
		return []target{{shown: clean(pattern), err: missing(pattern, fs.ErrNotExist)}} // a stray bracket in a name
	}
	var out []target
	for _, n := range names {
		switch info, err := os.Stat(n); {
		case err == nil && info.IsDir():
			out = append(out, below(n)...)
		case isNotebook(n):
			out = append(out, one(n))
		}
	}
	if len(out) == 0 {
		return []target{{shown: pattern, err: errors.New("no notebook matches this pattern")}}
	}
	return out
}

// missing says why a named file cannot be had, and which one may have been meant.
func missing(arg string, err error) error {
	if !errors.Is(err, fs.ErrNotExist) {
		return errors.New(reason(err))
	}
	dir, base := filepath.Split(arg)
	if dir == "" {
		dir = "."
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		return errors.New("there is no such folder")
	}
	var names []string
	for _, e := range entries {
		if isNotebook(e.Name()) {
			if e.Name() == base+".md" {
				return &hinted{"there is no such file", "did you mean " + clean(arg) + ".md?"}
			}
			names = append(names, e.Name())
		}
	}
	if near := diag.Near(base, names); len(near) > 0 {
		return &hinted{"there is no such file", "did you mean " + clean(filepath.Join(filepath.Dir(arg), near[0])) + "?"}
	}
	return errors.New("there is no such file")
}

// reason is an error of the operating system without the path that it names.
func reason(err error) string {
	var pe *fs.PathError
	var le *os.LinkError
	switch {
	case errors.Is(err, fs.ErrPermission):
		return "permission denied"
	case errors.Is(err, fs.ErrNotExist):
		return "no such file or folder"
	case errors.Is(err, syscall.ENOTDIR):
		return "a file is where a folder is needed"
	case errors.As(err, &pe):
		return pe.Err.Error()
	case errors.As(err, &le):
		return le.Err.Error()
	}
	return err.Error()
}

// widen lets files be read from root on, which must be above the notebook.
func (t *target) widen(root string) {
	name, err := within(root, filepath.Join(t.dir, filepath.FromSlash(t.name)))
	if err != nil {
		t.err = fmt.Errorf("not below the folder of --root %s", root)
		return
	}
	t.dir, t.name = root, name
}

// within is the path of file below root, with the links above the file itself resolved in both.
func within(root, file string) (string, error) {
	real := func(p string) (string, error) {
		p, err := filepath.Abs(p)
		if err != nil {
			return "", err
		}
		return filepath.EvalSymlinks(p)
	}
	top, err := real(root)
	if err != nil {
		return "", err
	}
	dir, err := real(filepath.Dir(file))
	if err != nil {
		return "", err
	}
	rel, err := filepath.Rel(top, filepath.Join(dir, filepath.Base(file)))
	if err == nil && !filepath.IsLocal(rel) {
		err = fs.ErrInvalid
	}
	return filepath.ToSlash(rel), err
}

// folder reads files below a directory. Links that lead out of it are refused by os.Root, and a
// pipe that nobody writes to does not hold the program up.
type folder struct{ root *os.Root }

// Open implements fs.FS.
func (f folder) Open(name string) (fs.File, error) {
	if !fs.ValidPath(name) {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrInvalid}
	}
	file, err := f.root.OpenFile(filepath.FromSlash(name), os.O_RDONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		if leadsOut(err) {
			err = &fs.PathError{Op: "open", Path: name, Err: errors.New("a link that leads out of the folder")}
		}
		return nil, err
	}
	return file, nil
}

// leadsOut recognises the error of os.Root that has no name of its own.
func leadsOut(err error) bool {
	var pe *fs.PathError
	return errors.As(err, &pe) && pe.Err.Error() == "path escapes from parent"
}

// open gives what Build needs of a notebook's folder.
func (t *target) open() (folder, func() error, error) {
	root, err := os.OpenRoot(t.dir)
	if err != nil {
		return folder{}, nil, errors.New(reason(err))
	}
	return folder{root}, root.Close, nil
}

// renamed shows a problem's files as the user would type them; they are relative to the folder
// that the notebook is in.
func (t *target) renamed(p *diag.Problem) *diag.Problem {
	q := *p
	q.File = t.renamedFile(p.File)
	q.Related = append([]diag.Related(nil), p.Related...)
	for i := range q.Related {
		q.Related[i].File = q.File
		if p.Related[i].File != p.File {
			q.Related[i].File = t.renamedFile(p.Related[i].File)
		}
	}
	return &q
}

func (t *target) renamedFile(f *diag.File) *diag.File {
	if f == nil || f.Name == runner.SetFile || f.Name == runner.AlsoFile || f.Name == runner.StudyFile || strings.HasPrefix(f.Name, runner.LibraryPrefix) {
		return f
	}
	g := *f
	g.Name = path.Join(path.Dir(t.shown), f.Name)
	return &g
}
