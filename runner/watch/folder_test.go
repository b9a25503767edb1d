package watch

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/fsnotify/fsnotify"
)

// put writes a file below dir, and makes its folder.
func put(t *testing.T, dir, name, text string) {
	t.Helper()
	file := filepath.Join(dir, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(file), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// watched begins to watch a folder, and gives what has been told until all of want was, or the patience
// of a test is over.
func watched(t *testing.T, dir string) (f *Folder, told func(want ...string) Batch) {
	t.Helper()
	f, err := OpenFolder(dir)
	must(t, err)
	out := make(chan Batch)
	ended := make(chan error, 1)
	go func() { ended <- f.Run(context.Background(), out) }()
	t.Cleanup(func() {
		f.Close()
		if err := <-ended; err != nil {
			t.Errorf("the watch ended: %v", err)
		}
	})
	return f, func(want ...string) Batch {
		t.Helper()
		var all Batch
		late := time.After(patience)
		for {
			missing := slices.DeleteFunc(slices.Clone(want), func(p string) bool { return all.Paths[p] || p == "*" && all.All })
			if len(missing) == 0 {
				return all
			}
			select {
			case b := <-out:
				all.join(b)
			case <-late:
				t.Fatalf("nothing was told of %v, only of %v", missing, all.Paths)
			}
		}
	}
}

// patience is how long a test waits for what must happen.
const patience = 20 * time.Second

// TestFolder: what editors, shells and version control do to files is told under the names that matter.
func TestFolder(t *testing.T) {
	cases := []struct {
		name string
		do   func(t *testing.T, dir string)
		want []string
	}{
		{"written", func(t *testing.T, dir string) { put(t, dir, "a.md", "2") }, []string{"a.md"}},
		{"saved by another file in its place", func(t *testing.T, dir string) {
			put(t, dir, ".a.md.new", "2")
			must(t, os.Rename(filepath.Join(dir, ".a.md.new"), filepath.Join(dir, "a.md")))
		}, []string{"a.md"}},
		{"saved with the old one kept", func(t *testing.T, dir string) {
			must(t, os.Rename(filepath.Join(dir, "a.md"), filepath.Join(dir, "a.md~")))
			put(t, dir, "a.md", "2")
		}, []string{"a.md", "a.md~"}},
		{"renamed", func(t *testing.T, dir string) {
			must(t, os.Rename(filepath.Join(dir, "a.md"), filepath.Join(dir, "b.md")))
		}, []string{"a.md", "b.md"}},
		{"removed", func(t *testing.T, dir string) { must(t, os.Remove(filepath.Join(dir, "a.md"))) }, []string{"a.md"}},
		{"in a folder", func(t *testing.T, dir string) { put(t, dir, "sub/deep/c.md", "2") }, []string{"sub/deep/c.md"}},
		{"in folders made just before", func(t *testing.T, dir string) { put(t, dir, "x/y/z/new.md", "1") }, []string{"x/y/z/new.md"}},
		{"a folder renamed, then a file in it written", func(t *testing.T, dir string) {
			must(t, os.Rename(filepath.Join(dir, "sub"), filepath.Join(dir, "moved")))
			time.Sleep(3 * quiet)
			put(t, dir, "moved/deep/c.md", "3")
			time.Sleep(3 * quiet)
			put(t, dir, "moved/deep/new.md", "3")
		}, []string{"sub", "moved/deep/c.md", "moved/deep/new.md"}},
		{"a folder removed and made again", func(t *testing.T, dir string) {
			must(t, os.RemoveAll(filepath.Join(dir, "sub")))
			put(t, dir, "sub/deep/c.md", "4")
			time.Sleep(3 * quiet)
			put(t, dir, "sub/deep/d.md", "5")
		}, []string{"sub", "sub/deep/c.md", "sub/deep/d.md"}},
		{"a folder moved in from elsewhere", func(t *testing.T, dir string) {
			other := t.TempDir()
			put(t, other, "in/it/e.md", "1")
			must(t, os.Rename(filepath.Join(other, "in"), filepath.Join(dir, "in")))
		}, []string{"in/it/e.md"}},
		{"the folder itself removed and made again", func(t *testing.T, dir string) {
			must(t, os.RemoveAll(dir))
			time.Sleep(3 * quiet)
			put(t, dir, "again.md", "1")
			time.Sleep(3 * gone)
			put(t, dir, "later.md", "1")
		}, []string{"*", "later.md"}},
		{"many at once, as another branch is checked out", func(t *testing.T, dir string) {
			for i := range 300 {
				put(t, dir, fmt.Sprintf("many/%d/%d.md", i%7, i), "1")
			}
			must(t, os.RemoveAll(filepath.Join(dir, "sub")))
		}, []string{"many/5/299.md", "many/0/0.md", "sub"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "folder")
			put(t, dir, "a.md", "1")
			put(t, dir, "sub/deep/c.md", "1")
			_, told := watched(t, dir)
			c.do(t, dir)
			told(c.want...)
		})
	}
}

// What lies in hidden folders is not told, unless a sheet is made of it.
func TestFolderHidden(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, ".git/HEAD", "1")
	put(t, dir, ".data/in/steam.csv", "1")
	f, told := watched(t, dir)
	put(t, dir, ".git/index", "1")
	put(t, dir, ".git/objects/00/1", "1")
	put(t, dir, ".data/in/steam.csv", "2")
	put(t, dir, "a.md", "1")
	if b := told("a.md"); len(b.Paths) != 1 {
		t.Errorf("told of %v, want a.md alone", b.Paths)
	}
	fresh, err := f.Follow([]string{".data/in/steam.csv", "a.md"})
	if !fresh || err != nil {
		t.Errorf("followed: %v, %v; want a folder that was not watched", fresh, err)
	}
	if fresh, err := f.Follow([]string{".data/in/steam.csv"}); fresh || err != nil {
		t.Errorf("followed again: %v, %v", fresh, err)
	}
	put(t, dir, ".data/in/steam.csv", "3")
	told(".data/in/steam.csv")
}

// Changes that come together are told together, and not for ever put off.
func TestFolderSettles(t *testing.T) {
	dir := t.TempDir()
	f, err := OpenFolder(dir)
	must(t, err)
	defer f.Close()
	out := make(chan Batch)
	go f.Run(context.Background(), out)
	stop := make(chan struct{})
	stopped := make(chan struct{})
	go func() {
		defer close(stopped)
		for i := 0; ; i++ {
			select {
			case <-stop:
				return
			default:
				os.WriteFile(filepath.Join(dir, "a.md"), []byte(fmt.Sprint(i)), 0o666)
				time.Sleep(quiet / 5)
			}
		}
	}()
	select {
	case b := <-out:
		if !b.Paths["a.md"] {
			t.Errorf("told of %v", b.Paths)
		}
	case <-time.After(patience):
		t.Error("a folder that is never quiet tells nothing")
	}
	close(stop)
	<-stopped
}

// A link is not followed out of the folder, nor is it walked for ever.
func TestFolderLinks(t *testing.T) {
	dir, outside := t.TempDir(), t.TempDir()
	put(t, outside, "secret.md", "1")
	must(t, os.Symlink(outside, filepath.Join(dir, "out")))
	must(t, os.Symlink(dir, filepath.Join(dir, "round")))
	f, told := watched(t, dir)
	put(t, outside, "secret.md", "2")
	put(t, dir, "a.md", "1")
	if b := told("a.md"); b.Paths["out/secret.md"] {
		t.Error("a change outside of the folder is told")
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	if len(f.watched) != 1 {
		t.Errorf("watched: %v", f.watched)
	}
}

// Where events were lost, everything is told to be looked at, and the watch goes on.
func TestFolderOverflow(t *testing.T) {
	dir := t.TempDir()
	f, told := watched(t, dir)
	put(t, dir, "sub/a.md", "1")
	told("sub/a.md")
	f.events.Errors <- fsnotify.ErrEventOverflow
	told("*")
	put(t, dir, "sub/b.md", "1")
	told("sub/b.md")
}

// What cannot be watched any more is said, with what can be done about it.
func TestFolderLimits(t *testing.T) {
	for _, c := range []struct {
		err  error
		want string
	}{
		{syscall.ENOSPC, "max_user_watches"},
		{syscall.EMFILE, "max_user_instances"},
		{syscall.EIO, "input/output error"},
	} {
		dir := t.TempDir()
		f, err := OpenFolder(dir)
		must(t, err)
		ended := make(chan error)
		go func() { ended <- f.Run(context.Background(), make(chan Batch)) }()
		f.events.Errors <- &fs.PathError{Op: "inotify_add_watch", Path: dir, Err: c.err}
		if err := <-ended; err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: the watch ended with %v, want %s", c.err, err, c.want)
		}
		must(t, f.Close())
	}
}

// A folder that is named by a link is watched like any other.
func TestFolderByLink(t *testing.T) {
	dir := t.TempDir()
	link := filepath.Join(t.TempDir(), "link")
	must(t, os.Symlink(dir, link))
	_, told := watched(t, link)
	put(t, dir, "sub/a.md", "1")
	told("sub/a.md")
}

// A watch that has ended leaves nothing behind.
func TestFolderEnds(t *testing.T) {
	before := runtime.NumGoroutine()
	for range 20 {
		f, err := OpenFolder(t.TempDir())
		must(t, err)
		ctx, cancel := context.WithCancel(context.Background())
		done := make(chan error)
		go func() { done <- f.Run(ctx, make(chan Batch)) }()
		cancel()
		must(t, <-done)
		must(t, f.Close())
	}
	settled(t, "goroutines", before, runtime.NumGoroutine)
}

// settled waits until a count is no higher than it was.
func settled(t *testing.T, what string, before int, now func() int) {
	t.Helper()
	for late := time.Now().Add(patience); now() > before; time.Sleep(5 * time.Millisecond) {
		if time.Now().After(late) {
			stacks := make([]byte, 1<<16)
			stacks = stacks[:runtime.Stack(stacks, true)]
			t.Fatalf("%d %s, before it were %d\n%s", now(), what, before, strings.TrimSpace(string(stacks)))
		}
	}
}
