package watch

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"github.com/fsnotify/fsnotify"
)

// An editor that saves writes several times within a few milliseconds. Changes that come so closely are
// told together; what is made of them is shown once the folder has been quiet for a while, or after the
// longest time that it may not be.
const (
	together = time.Millisecond
	quiet    = 8 * time.Millisecond
	longest  = 100 * time.Millisecond
	// gone is how often a folder that has been removed is looked for.
	gone = 250 * time.Millisecond
)

// Batch are changes that belong together.
type Batch struct {
	// Paths are slash-separated and relative to the folder; a folder stands for all that is in it.
	Paths map[string]bool
	// All says that anything may have changed.
	All bool
}

func (b *Batch) add(p string) {
	if b.Paths == nil {
		b.Paths = map[string]bool{}
	}
	b.Paths[p] = true
}

func (b *Batch) empty() bool { return !b.All && len(b.Paths) == 0 }

func (b *Batch) join(o Batch) {
	b.All = b.All || o.All
	for p := range o.Paths {
		b.add(p)
	}
}

// Folder watches a folder and the folders in it, but for hidden ones and links. Directories are
// watched, not files: a file that an editor replaces is another file under the same name.
type Folder struct {
	dir     string // absolute
	events  *fsnotify.Watcher
	mu      sync.Mutex
	watched map[string]bool // folders, relative to dir
	follow  map[string]bool // hidden ones that are watched all the same
	lost    bool            // the folder itself is gone
	last    atomic.Int64    // when something was seen to change
}

// OpenFolder begins to watch dir.
func OpenFolder(dir string) (*Folder, error) {
	abs, err := filepath.Abs(dir)
	if err == nil {
		abs, err = filepath.EvalSymlinks(abs) // a link as such has nothing in it
	}
	if err != nil {
		return nil, err
	}
	w, err := fsnotify.NewBufferedWatcher(4096)
	if err != nil {
		return nil, limited(err)
	}
	f := &Folder{dir: abs, events: w, watched: map[string]bool{}, follow: map[string]bool{}}
	if err := f.tree(".", nil); err != nil {
		w.Close()
		return nil, err
	}
	return f, nil
}

// Close ends the watch, and Run with it.
func (f *Folder) Close() error { return f.events.Close() }

// limited says what to do about the limits that Linux sets to a user's watches.
func limited(err error) error {
	switch {
	case errors.Is(err, syscall.ENOSPC):
		return errors.New("the system lets no more folders be watched: raise its limit (sysctl fs.inotify.max_user_watches), or watch a smaller folder")
	case errors.Is(err, syscall.EMFILE):
		return errors.New("the system lets no more watches begin: raise its limit (sysctl fs.inotify.max_user_instances, or ulimit -n), or end other programs that watch")
	}
	return err
}

// tree watches the folder at p and those below it. What lies in them goes to found, which may be nil:
// it may have come before the watch.
func (f *Folder) tree(p string, found *Batch) error {
	return filepath.WalkDir(filepath.Join(f.dir, filepath.FromSlash(p)), func(at string, d fs.DirEntry, err error) error {
		rel, e := filepath.Rel(f.dir, at)
		rel = filepath.ToSlash(rel)
		switch {
		case e != nil:
			return e
		case err != nil && rel == ".":
			return err
		case err != nil:
			if d != nil && d.IsDir() {
				return fs.SkipDir
			}
			return nil // it has gone, or cannot be looked into: whoever reads it is told
		case !d.IsDir():
			if found != nil {
				found.add(rel)
			}
			return nil
		case rel != "." && f.skips(rel):
			return fs.SkipDir
		}
		_, err = f.watch(rel)
		return err
	})
}

// skips are the folders that are not looked into.
func (f *Folder) skips(p string) bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	return hiddenPath(p) && !f.follow[p]
}

func hiddenPath(p string) bool {
	for _, part := range strings.Split(p, "/") {
		if len(part) > 1 && part[0] == '.' && part != ".." {
			return true
		}
	}
	return false
}

// watch adds one folder; fresh says that it was not watched before.
func (f *Folder) watch(p string) (fresh bool, err error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.watched[p] {
		return false, nil
	}
	switch err := f.events.Add(filepath.Join(f.dir, filepath.FromSlash(p))); {
	case errors.Is(err, fs.ErrNotExist) && p != ".", errors.Is(err, syscall.ENOTDIR), errors.Is(err, fs.ErrPermission) && p != ".":
		return false, nil
	case err != nil:
		return false, limited(err)
	}
	f.watched[p] = true
	return true, nil
}

// Follow watches the folders in which these files lie or would lie, hidden ones too. It reports whether
// one of them was not watched before, so that a change may have gone unseen.
func (f *Folder) Follow(files []string) (fresh bool, err error) {
	for _, file := range files {
		for dir := path.Dir(file); ; dir = path.Dir(dir) {
			f.mu.Lock()
			f.follow[dir] = f.follow[dir] || hiddenPath(dir)
			known := f.watched[dir]
			f.mu.Unlock()
			if known {
				break
			}
			if info, e := os.Stat(filepath.Join(f.dir, filepath.FromSlash(dir))); e == nil && info.IsDir() {
				added, e := f.watch(dir)
				fresh = fresh || added
				err = errors.Join(err, e)
			}
			if dir == "." {
				break
			}
		}
	}
	return fresh, err
}

// forget ends the watch of a folder that has gone or got another name, and of those in it.
func (f *Folder) forget(p string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	for w := range f.watched {
		if w == p || p == "." || strings.HasPrefix(w, p+"/") {
			f.events.Remove(filepath.Join(f.dir, filepath.FromSlash(w))) // it may know already
			delete(f.watched, w)
		}
	}
}

// take notes what an event says.
func (f *Folder) take(ev fsnotify.Event, b *Batch) (changed bool, err error) {
	rel, err := filepath.Rel(f.dir, ev.Name)
	if err != nil {
		return false, nil
	}
	rel = filepath.ToSlash(rel)
	left := ev.Has(fsnotify.Remove) || ev.Has(fsnotify.Rename)
	if rel == "." {
		if left {
			f.lost, b.All = true, true
		}
		return left, nil
	}
	f.mu.Lock()
	folder := f.watched[rel]
	f.mu.Unlock()
	if left && folder {
		f.forget(rel)
	}
	b.add(rel)
	if ev.Has(fsnotify.Create) {
		if info, e := os.Lstat(ev.Name); e == nil && info.IsDir() && !f.skips(rel) {
			err = f.tree(rel, b)
		}
	}
	return true, err
}

// Run tells the changes to out, until ctx ends or the watch is closed. While out is not ready they
// gather. An error ends the watch: from then on a change might go unseen.
func (f *Folder) Run(ctx context.Context, out chan<- Batch) error {
	var b Batch
	var first time.Time // of the changes that have not settled; zero where all have
	ready := false
	settle := time.NewTimer(time.Hour)
	defer settle.Stop()
	look := time.NewTicker(gone)
	defer look.Stop()
	for {
		var to chan<- Batch
		var lost <-chan time.Time
		if ready {
			to = out
		}
		if f.lost {
			lost = look.C
		}
		changed := false
		var err error
		select {
		case <-ctx.Done():
			return nil
		case to <- b:
			b, ready = Batch{}, false
		case <-settle.C:
			ready, first = !b.empty(), time.Time{}
		case <-lost:
			if info, e := os.Stat(f.dir); e == nil && info.IsDir() {
				changed = f.again(&b)
			}
		case ev, open := <-f.events.Events:
			if !open {
				return nil
			}
			changed, err = f.take(ev, &b)
		case e, open := <-f.events.Errors:
			switch {
			case !open:
				return nil
			case errors.Is(e, fsnotify.ErrEventOverflow): // events were lost, also those of new folders
				changed = f.again(&b)
			default:
				err = limited(e)
			}
		}
		if err != nil {
			return fmt.Errorf("the folder can no longer be watched: %w", err)
		}
		if changed {
			now := time.Now()
			f.last.Store(now.UnixNano())
			if first.IsZero() {
				first = now
			}
			ready = false
			settle.Reset(max(0, min(together, longest-now.Sub(first))))
		}
	}
}

// Quiet returns when the folder has been quiet for a while, or has not been for long, or ctx has ended.
func (f *Folder) Quiet(ctx context.Context) {
	for late := time.Now().Add(longest); ctx.Err() == nil && time.Now().Before(late); {
		left := quiet - time.Since(time.Unix(0, f.last.Load()))
		if left <= 0 {
			return
		}
		select {
		case <-time.After(left):
		case <-ctx.Done():
		}
	}
}

// again watches everything anew: anything may have changed.
func (f *Folder) again(b *Batch) bool {
	f.forget(".")
	f.lost = f.tree(".", nil) != nil
	b.All = true
	return true
}
