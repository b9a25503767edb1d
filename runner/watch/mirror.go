package watch

import (
	"bytes"
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
)

// mirror holds the files that sheets are made of as they were when they were last looked at, so that
// all sheets of one moment are made of the same bytes, and a change is told from a touch.
type mirror struct {
	dir   string // absolute
	limit int64  // no file is read further
	open  func() (fs.FS, func() error, error)
	mu    sync.Mutex
	files map[string]*file
	// emptied are files in which there was something, and is nothing now: an editor may be about to
	// write them anew.
	emptied map[string]bool
}

// refill is how long a file that has been emptied may stay so before that is shown. Between the two
// steps of a save a busy machine may do something else.
const refill = 250 * time.Millisecond

// file is one file or folder, or that there is none.
type file struct {
	info  fs.FileInfo
	data  []byte
	names []fs.DirEntry // of a folder
	err   error
	// Through a link a file changes without an event under its own name.
	linked bool
}

// same reports that a reader could not tell two files apart.
func (f *file) same(g *file) bool {
	if f.err != nil || g.err != nil {
		return f.err != nil && g.err != nil && f.err.Error() == g.err.Error()
	}
	return f.info.Mode() == g.info.Mode() && (f.data == nil) == (g.data == nil) && bytes.Equal(f.data, g.data) &&
		slices.EqualFunc(f.names, g.names, func(a, b fs.DirEntry) bool { return a.Name() == b.Name() && a.Type() == b.Type() })
}

// get is a file as it was first seen.
func (m *mirror) get(name string) *file {
	m.mu.Lock()
	defer m.mu.Unlock()
	f := m.files[name]
	if f == nil {
		fsys, closed, err := m.open()
		if err != nil {
			return &file{err: err}
		}
		defer closed()
		f = m.read(fsys, name)
		m.files[name] = f
	}
	return f
}

func (m *mirror) read(fsys fs.FS, name string) *file {
	f := &file{linked: m.throughLink(name)}
	h, err := fsys.Open(name)
	if err != nil {
		f.err = err
		return f
	}
	defer h.Close()
	if f.info, f.err = h.Stat(); f.err != nil {
		return f
	}
	switch {
	case f.info.IsDir():
		if d, ok := h.(fs.ReadDirFile); ok {
			f.names, f.err = d.ReadDir(-1)
			slices.SortFunc(f.names, func(a, b fs.DirEntry) int { return strings.Compare(a.Name(), b.Name()) })
		}
	case f.info.Mode().IsRegular() && f.info.Size() <= m.limit:
		if f.data, f.err = io.ReadAll(io.LimitReader(h, m.limit+1)); f.data == nil {
			f.data = []byte{}
		}
	}
	return f
}

// throughLink reports a name that leads through a symbolic link.
func (m *mirror) throughLink(name string) bool {
	for p := name; p != "." && p != "/"; p = path.Dir(p) {
		if info, err := os.Lstat(filepath.Join(m.dir, filepath.FromSlash(p))); err == nil && info.Mode()&fs.ModeSymlink != 0 {
			return true
		}
	}
	return false
}

// settle waits for files that have been emptied to be written anew, but not for long; ctx ends when one
// changes.
func (m *mirror) settle(ctx context.Context) {
	m.mu.Lock()
	n := len(m.emptied)
	m.mu.Unlock()
	if n == 0 {
		return
	}
	select {
	case <-time.After(refill):
		m.mu.Lock()
		defer m.mu.Unlock()
		clear(m.emptied)
	case <-ctx.Done():
	}
}

// behind are the places that links lead to, relative to the folder, where they are in it.
func (m *mirror) behind() []string {
	m.mu.Lock()
	defer m.mu.Unlock()
	root, err := filepath.EvalSymlinks(m.dir)
	if err != nil {
		return nil
	}
	var out []string
	for name, f := range m.files {
		if !f.linked {
			continue
		}
		if real, err := filepath.EvalSymlinks(filepath.Join(m.dir, filepath.FromSlash(name))); err == nil {
			if rel, err := filepath.Rel(root, real); err == nil && filepath.IsLocal(rel) {
				out = append(out, filepath.ToSlash(rel))
			}
		}
	}
	return out
}

// refresh looks again at what the changes may concern, and gives the names of what is not what it was.
func (m *mirror) refresh(b Batch) map[string]bool {
	fsys, closed, err := m.open()
	if err == nil {
		defer closed()
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	changed := map[string]bool{}
	concerned := b.concerned()
	for name, old := range m.files {
		if !b.All && !old.linked && !concerned(name) {
			continue
		}
		f := &file{err: err} // the folder itself is gone
		if err == nil {
			f = m.read(fsys, name)
		}
		if !f.same(old) {
			changed[name] = true
		}
		if empty := f.err == nil && f.data != nil && len(f.data) == 0; !empty {
			delete(m.emptied, name)
		} else if len(old.data) > 0 {
			m.emptied[name] = true
		}
		m.files[name] = f
	}
	return changed
}

// concerned tells which names the changes may concern: a change of a file changes the list of its
// folder too, one of a folder what is in it.
func (b *Batch) concerned() func(name string) bool {
	lists := map[string]bool{}
	for p := range b.Paths {
		lists[path.Dir(p)] = true
	}
	return func(name string) bool {
		if lists[name] {
			return true
		}
		for p := name; p != "."; p = path.Dir(p) {
			if b.Paths[p] {
				return true
			}
		}
		return false
	}
}

// knows reports changes that concern a file that a sheet is made of.
func (m *mirror) knows(b Batch) bool {
	m.mu.Lock()
	defer m.mu.Unlock()
	concerned := b.concerned()
	for name, f := range m.files {
		if f.linked || concerned(name) {
			return true
		}
	}
	return b.All
}

// keep forgets the files that no sheet needs any more.
func (m *mirror) keep(needed func(name string) bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for name := range m.files {
		if !needed(name) {
			delete(m.files, name)
		}
	}
}

// view is the mirror as one sheet sees it, and the names that the sheet asked for, those of files that
// do not exist too.
type view struct {
	m     *mirror
	mu    sync.Mutex
	asked map[string]bool
}

// Open implements fs.FS.
func (v *view) Open(name string) (fs.File, error) {
	if !fs.ValidPath(name) {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrInvalid}
	}
	v.mu.Lock()
	v.asked[name] = true
	v.mu.Unlock()
	f := v.m.get(name)
	if f.err != nil {
		return nil, f.err
	}
	return &opened{file: f, Reader: bytes.NewReader(f.data)}, nil
}

// opened is an open file of the mirror.
type opened struct {
	*bytes.Reader
	file *file
	at   int // in the list of a folder
}

func (o *opened) Close() error { return nil }

func (o *opened) Stat() (fs.FileInfo, error) {
	if o.file.data == nil {
		return o.file.info, nil
	}
	return sized{o.file.info, int64(len(o.file.data))}, nil
}

func (o *opened) Read(p []byte) (int, error) {
	if o.file.data == nil {
		return 0, &fs.PathError{Op: "read", Path: o.file.info.Name(), Err: errors.New("no regular file")}
	}
	return o.Reader.Read(p)
}

// ReadDir implements fs.ReadDirFile.
func (o *opened) ReadDir(n int) ([]fs.DirEntry, error) {
	rest := o.file.names[min(o.at, len(o.file.names)):]
	if n <= 0 {
		o.at = len(o.file.names)
		return slices.Clone(rest), nil
	}
	if len(rest) == 0 {
		return nil, io.EOF
	}
	rest = rest[:min(n, len(rest))]
	o.at += len(rest)
	return slices.Clone(rest), nil
}

// sized is a file with the size of what was read of it.
type sized struct {
	fs.FileInfo
	n int64
}

func (s sized) Size() int64        { return s.n }
func (s sized) ModTime() time.Time { return time.Time{} } // a sheet may not depend on it
