package runner

import (
	"errors"
	"io/fs"
	"path"
	"sort"
	"strings"

	"workings/runner/diag"
	"workings/runner/lang"
	"workings/runner/notebook"
	"workings/runner/resolve"
	"workings/runner/tex"
)

// loader hands the files that notebooks name to resolve. It reads below the root of fsys only.
type loader struct {
	fsys, library fs.FS
	parsed        map[string]*resolve.Source
	at            map[*diag.File]string // where each file lies in fsys
	dir           string                // the notebook's own folder in fsys
	shown         string                // the name it is shown by
	memory        *Memory
	tex           *tex.Typesetter
	maths         map[tex.Place]tex.Typeset
	failed        error // the engine for TeX does not start
}

func newLoader(fsys fs.FS, name string, o Options) *loader {
	var formulas *tex.Memory
	if o.Memory != nil {
		formulas = &o.Memory.tex
	}
	l := &loader{fsys: fsys, library: o.Library, memory: o.Memory, parsed: map[string]*resolve.Source{}, at: map[*diag.File]string{}, dir: path.Dir(name), shown: o.Shown,
		tex: tex.New(formulas), maths: map[tex.Place]tex.Typeset{}}
	if l.shown == "" {
		l.shown = path.Base(name)
	}
	return l
}

// file names a text as problems and the trace show it: relative to the folder of the name that
// the notebook itself is shown by.
func (l *loader) file(p string, text []byte) *diag.File {
	f := diag.NewFile(l.name(p), text)
	l.at[f] = p
	return f
}

func (l *loader) name(p string) string {
	from, up := l.dir, ""
	for from != "." && !strings.HasPrefix(p, from+"/") {
		from, up = path.Dir(from), up+"../"
	}
	name := p
	if from != "." {
		name = strings.TrimPrefix(p, from+"/")
	}
	return path.Join(path.Dir(l.shown), up+name)
}

// joined is where a file lies that another names.
func (l *loader) joined(from *diag.File, name string) (string, bool) {
	p, ours := l.at[from]
	if !ours {
		return "", false // a notebook that comes with the tool has no files beside it
	}
	return joined(p, name)
}

// LibraryPrefix stands before the names of files that come with the tool. A notebook cannot name
// such a file, so that it is never taken for one of its own.
const LibraryPrefix = "library:"

func isNotExist(err error) bool { return errors.Is(err, fs.ErrNotExist) }

// fileProblem is why a named file is not read, for the line that names it.
func (l *loader) fileProblem(from *diag.File, name string, err error) error {
	var fe *FileError
	if errors.As(err, &fe) {
		e := &resolve.FileError{Reason: name + " is not read: " + fe.Reason}
		if fe.Reason == "no such file" {
			if near := diag.Near(path.Base(name), l.beside(from, name)); len(near) > 0 {
				e.Hint = "did you mean " + strings.Join(near, " or ") + "?"
			} else {
				e.Hint = "the path counts from the notebook's own folder"
			}
		}
		return e
	}
	return err
}

// beside lists the files in the folder that a name points into.
func (l *loader) beside(from *diag.File, name string) []string {
	p, ok := l.joined(from, name)
	if !ok {
		return nil
	}
	entries, err := fs.ReadDir(l.fsys, path.Dir(p))
	if err != nil {
		return nil
	}
	var out []string
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

func outside(name string) error {
	return &resolve.FileError{Reason: name + " is not read: only files below the notebook's folder are",
		Hint: "move the file there, or give the folder above both with --root DIR; nothing is ever fetched"}
}

// Notebook implements resolve.Files.
func (l *loader) Notebook(from *diag.File, name string) (*resolve.Source, error) {
	p, ok := l.joined(from, name)
	if !ok {
		return nil, outside(name)
	}
	if src := l.parsed[p]; src != nil {
		return src, nil
	}
	text, err := readFile(l.fsys, p)
	if err != nil {
		return nil, l.fileProblem(from, name, err)
	}
	if notebook.Check(text) != nil {
		return nil, &resolve.FileError{Reason: name + " is not read: it is not a UTF-8 text", Hint: "save it as UTF-8"}
	}
	src := l.other(l.name(p), p, text)
	l.parsed[p] = src
	return src, nil
}

// Library implements resolve.Files.
func (l *loader) Library(name string) (*resolve.Source, error) {
	key := LibraryPrefix + name + ".md"
	if src := l.parsed[key]; src != nil {
		return src, nil
	}
	if l.library == nil {
		return nil, fs.ErrNotExist
	}
	text, err := fs.ReadFile(l.library, name+".md")
	if err != nil {
		return nil, err
	}
	src := l.other(key, "", text)
	l.parsed[key] = src
	return src, nil
}

// LibraryNames implements resolve.Files.
func (l *loader) LibraryNames() []string {
	if l.library == nil {
		return nil
	}
	files, err := fs.Glob(l.library, "*.md")
	if err != nil {
		return nil
	}
	for i, f := range files {
		files[i] = strings.TrimSuffix(f, ".md")
	}
	sort.Strings(files)
	return files
}

// Data implements resolve.Files.
func (l *loader) Data(from *diag.File, d *lang.Data) (*lang.Data, *diag.File, []*diag.Problem, error) {
	name := d.From.Value
	p, ok := l.joined(from, name)
	if !ok {
		return nil, nil, nil, outside(name)
	}
	text, err := readFile(l.fsys, p)
	if err != nil {
		return nil, nil, nil, l.fileProblem(from, name, err)
	}
	if notebook.Check(text) != nil {
		return nil, nil, nil, &resolve.FileError{Reason: name + " is not read: it is not a UTF-8 text", Hint: "save it as UTF-8"}
	}
	file := l.file(p, text)
	src := lang.Source{Kind: "data", Info: d.Name.Text, Span: diag.Span{End: len(text)}}
	for i := 1; i <= file.Lines(); i++ {
		s := file.LineSpan(i)
		if i == file.Lines() && s.Start == s.End {
			break
		}
		src.Lines = append(src.Lines, lang.Line{Text: s.In(file), Start: s.Start})
	}
	block, ps := lang.Parse(file, src)
	for _, s := range block.Stmts {
		if rows, ok := s.(*lang.Data); ok {
			return rows, file, ps, nil
		}
	}
	return nil, file, ps, nil
}

// source turns a document into what resolve takes, the user's own fluids included. own is the
// notebook itself, which is shown whole; of others only lines are shown.
func (l *loader) source(doc *notebook.Document, own bool) *resolve.Source {
	src := parse(doc, l.memory)
	l.userFluids(doc, src)
	captions := inlines(doc, src)
	l.typeset(doc, src, captions, own)
	references(doc, src, captions)
	return src
}

// images reads the pictures of the prose, so that the page holds them itself.
func (l *loader) images(doc *notebook.Document) map[string][]byte {
	out := map[string][]byte{}
	total := 0
	for _, im := range doc.Images {
		p, ok := l.joined(doc.File, im.Dest)
		if _, done := out[im.Dest]; done || !ok {
			continue
		}
		data, err := readFile(l.fsys, p)
		if total += len(data); err != nil || total > MaxFile {
			continue // the sheet shows its description and says that it is missing
		}
		out[im.Dest] = data
	}
	return out
}
