package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"workings/runner"
	"workings/runner/watch"
)

// The file that led to a change is named, and not the list of files, which changes with every new one.
func TestBecause(t *testing.T) {
	for _, c := range []struct {
		files []string
		want  string
	}{
		{nil, ""}, {[]string{"a.md"}, ""}, {[]string{"."}, "the list of files"}, {[]string{"b.csv"}, "b.csv"},
		{[]string{".", "b.md"}, "b.md"}, {[]string{".", "a.md"}, ""}, {[]string{".", "a.md", "b.md", "c.md"}, "a.md and 2 more"},
	} {
		if got := because(watch.Change{Name: "a.md", Because: c.files}); got != c.want {
			t.Errorf("by %q: %q, want %q", c.files, got, c.want)
		}
	}
}

// A file that cannot be written is told and tried again, with what the page says last.
func TestOwedFiles(t *testing.T) {
	out := filepath.Join(t.TempDir(), "sheets")
	if err := os.WriteFile(out, nil, 0o666); err != nil { // in the place of the folder
		t.Fatal(err)
	}
	var said bytes.Buffer
	w := newWatching(&app{out: &said, err: io.Discard, colour: "never"})
	w.output = out
	w.shown("sub/a.html", []byte("one"))
	w.shown("sub/a.html", []byte("two"))
	w.payOwed()
	if n := strings.Count(said.String(), "sub/a.html cannot be kept current: "); n != 2 || strings.Contains(said.String(), "again\n") {
		t.Errorf("said:\n%s", said.String())
	}
	if err := os.Remove(out); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		w.payOwed()
	}
	if text, err := os.ReadFile(filepath.Join(out, "sub", "a.html")); err != nil || string(text) != "two" {
		t.Errorf("%q, %v", text, err)
	}
	if n := strings.Count(said.String(), "sub/a.html is current again\n"); n != 1 {
		t.Errorf("said:\n%s", said.String())
	}
	w.shown("sub/a.html", nil)
	if _, err := os.Stat(filepath.Join(out, "sub", "a.html")); err == nil {
		t.Error("the file of a page that has gone is still there")
	}
}

// linked is a package of ten notebooks, each of which uses others or files beside it.
func linked() map[string]string {
	files := map[string]string{
		"data/loads.csv":   "load, share\n0.5 [1], 0.31\n1.0, 0.35\n",
		"data/gas.yaml":    "",
		"pictures/dot.svg": `<svg xmlns="http://www.w3.org/2000/svg" width="4" height="4"><circle r="2"/></svg>`,
	}
	for i := range 10 {
		var b strings.Builder
		fmt.Fprintf(&b, "---\ntitle: Sheet %d\nnumber: WS-%02d\n---\n\nText of sheet %d, with {x_%d}.\n\n```inputs\na_%d = %d kW within 0 kW .. 999 kW // an input [^s]\n```\n\n[^s]: Invented.\n\n```calc\n", i, i, i, i, i, 10+i)
		switch {
		case i == 3:
			b.WriteString("fluid air\nstate 1 = air(p = 100 kPa, T = 300 K)\n")
		case i >= 5:
			fmt.Fprintf(&b, "use \"s%d.md\" as up\ny_%d = up.x_%d + a_%d\n", i-4, i, i-4, i)
		}
		if i == 9 {
			b.WriteString("use \"sub/s4.md\" as four with a_4 = 5 kW\nz_9 = four.x_4\n")
		}
		fmt.Fprintf(&b, "x_%d = 2*a_%d // twice\ncheck x_%d < 500 kW\n```\n", i, i, i)
		if i == 2 {
			b.WriteString("\n```data \"data/loads.csv\" loads\n```\n\n![a dot](pictures/dot.svg)\n")
		}
		name := fmt.Sprintf("s%d.md", i)
		if i == 4 {
			name = "sub/s4.md"
		}
		files[name] = b.String()
	}
	return files
}

// author does to a folder what people and their editors do.
type author struct {
	t     *testing.T
	dir   string
	whole map[string]string // the files as they once were
	names []string
	r     *rand.Rand
}

func newAuthor(t *testing.T, seed uint64) *author {
	t.Helper()
	a := &author{t: t, dir: t.TempDir(), whole: linked(), r: rand.New(rand.NewPCG(seed, 7))}
	for name, text := range a.whole {
		a.write(name, text)
	}
	for i := range 10 {
		for name := range a.whole {
			if strings.HasSuffix(name, fmt.Sprintf("s%d.md", i)) {
				a.names = append(a.names, name)
			}
		}
	}
	a.names = append(a.names, "data/loads.csv", "pictures/dot.svg")
	return a
}

func (a *author) file(name string) string { return filepath.Join(a.dir, filepath.FromSlash(name)) }

func (a *author) must(err error) {
	a.t.Helper()
	if err != nil {
		a.t.Fatal(err)
	}
}

func (a *author) write(name, text string) {
	a.t.Helper()
	a.must(os.MkdirAll(filepath.Dir(a.file(name)), 0o777))
	a.must(os.WriteFile(a.file(name), []byte(text), 0o666))
}

// text is a file as it is, or once was where it is gone.
func (a *author) text(name string) string {
	if b, err := os.ReadFile(a.file(name)); err == nil {
		return string(b)
	}
	return a.whole[name]
}

// edit does one thing to one file, and says what.
func (a *author) edit() string {
	a.t.Helper()
	name := a.names[a.r.IntN(len(a.names))]
	text := a.text(name)
	lines := strings.Split(text, "\n")
	at := a.r.IntN(len(lines))
	switch k := a.r.IntN(15); k {
	case 0, 1, 2:
		a.write(name, strings.Replace(text, " kW within", fmt.Sprintf("%d kW within", a.r.IntN(9)), 1))
		return "another value in " + name
	case 3:
		a.write(name, strings.Join(append(append(lines[:at:at], fmt.Sprintf("q_%d = %d", a.r.IntN(5), a.r.IntN(100))), lines[at:]...), "\n"))
		return "a line more in " + name
	case 4:
		a.write(name, strings.Join(append(lines[:at:at], lines[at+1:]...), "\n"))
		return "a line less in " + name
	case 5:
		lines[at] += " = = ("
		a.write(name, strings.Join(lines, "\n"))
		return "a broken line in " + name
	case 6, 7, 8:
		a.write(name, a.whole[name])
		return "repaired " + name
	case 9:
		if a.r.IntN(2) == 0 {
			os.Remove(a.file(name)) // or it is gone already
		}
		a.write("."+filepath.Base(name)+".swp", "b0VIM 9.1")
		return "removed, or not, " + name
	case 10:
		other := []string{"renamed.md", "sub/renamed.md", "new/folder/renamed.md"}[a.r.IntN(3)]
		if strings.HasSuffix(name, ".md") && os.MkdirAll(filepath.Dir(a.file(other)), 0o777) == nil {
			os.Rename(a.file(name), a.file(other)) // or it is gone
		}
		return "renamed " + name + " to " + other
	case 11:
		a.write(name+".tmp~", a.whole[name])
		a.must(os.Rename(a.file(name+".tmp~"), a.file(name)))
		return "saved by another file in the place of " + name
	case 12:
		a.write(name, "")
		a.write(name, text+"\n")
		return "emptied and written: " + name
	case 13:
		for _, extra := range []string{"4913", name + "~", "#" + filepath.Base(name) + "#", ".git/index.lock"} {
			a.write(extra, "x")
		}
		os.RemoveAll(a.file("new"))
		os.RemoveAll(a.file("renamed.md"))
		os.RemoveAll(a.file("sub/renamed.md"))
		return "files that count for nothing"
	default:
		a.must(os.Rename(a.file("sub"), a.file("sub.away")))
		a.must(os.Rename(a.file("sub.away"), a.file("sub")))
		if a.r.IntN(4) == 0 {
			for n := range a.whole {
				a.write(n, a.whole[n])
			}
			return "everything as another branch has it"
		}
		return "a folder renamed and renamed back"
	}
}

// rendered is what rendering the folder writes.
func (a *author) rendered() map[string][]byte {
	a.t.Helper()
	out := a.t.TempDir()
	defer os.RemoveAll(out)
	var errs bytes.Buffer
	execute([]string{"render", a.dir, "-o", out}, io.Discard, &errs)
	pages := map[string][]byte{}
	a.must(fs.WalkDir(os.DirFS(out), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		pages[name], err = os.ReadFile(filepath.Join(out, name))
		return err
	}))
	delete(pages, runner.CombinedPage) // which is made when somebody asks for it
	if pages[runner.IndexPage] == nil {
		a.t.Fatalf("rendering wrote no register: %s", &errs)
	}
	return pages
}

// differs says where the pages that are served are not these.
func differs(site *watch.Site, want map[string][]byte) string {
	got := site.Listed()
	for _, address := range got {
		if want[address] == nil {
			return address + " is served, and rendering writes no such page"
		}
		if !bytes.Equal(site.Cold(address), want[address]) {
			return address + " is not as rendering writes it"
		}
	}
	if len(got) != len(want) {
		return fmt.Sprintf("%d pages are served, and rendering writes %d", len(got), len(want))
	}
	return ""
}

// descriptors counts the files that this process has open.
func descriptors() int {
	open, err := os.ReadDir("/dev/fd")
	if err != nil {
		return 0
	}
	return len(open)
}

// TestWatchedEdits edits a watched folder at random, as authors, editors and version control do, and
// after each few edits compares every page with what rendering the same files writes.
func TestWatchedEdits(t *testing.T) {
	newAuthor(t, 0).rendered() // the first command of a process starts what listens for signals
	goroutines, files := runtime.NumGoroutine(), descriptors()
	var early, late uint64
	t.Run("watch", func(t *testing.T) {
		a := newAuthor(t, 1)
		w := newWatching(&app{out: io.Discard, err: io.Discard, colour: "never"})
		w.dir = a.dir
		site, server, err := w.start(0)
		a.must(err)
		ctx, stop := context.WithCancel(context.Background())
		ended := make(chan error, 1)
		go func() { ended <- site.Run(ctx) }()
		var done []string
		for n := 0; n < watchedEdits; {
			done = done[:0]
			for range 1 + a.r.IntN(5) {
				done = append(done, a.edit())
				if n++; a.r.IntN(3) == 0 {
					time.Sleep(time.Duration(a.r.IntN(12)) * time.Millisecond) // so that some come while sheets are being made
				}
			}
			want := a.rendered()
			why := differs(site, want)
			for late := time.Now().Add(20 * time.Second); why != "" && time.Now().Before(late); why = differs(site, want) {
				time.Sleep(time.Millisecond)
			}
			if why != "" {
				t.Fatalf("after %d edits, the last of them %q: %s", n, done, why)
			}
			if early == 0 && n > watchedEdits/4 {
				early = heap()
			}
		}
		late = heap()
		stop()
		a.must(<-ended)
		a.must(server.Close())
	})
	for late := time.Now().Add(20 * time.Second); runtime.NumGoroutine() > goroutines && time.Now().Before(late); {
		time.Sleep(5 * time.Millisecond)
	}
	if n := runtime.NumGoroutine(); n > goroutines {
		t.Errorf("%d goroutines, before it were %d", n, goroutines)
	}
	if n := descriptors(); n > files {
		t.Errorf("%d files are open, before it were %d", n, files)
	}
	if late > early+early/4+4<<20 {
		t.Errorf("%d bytes of memory are used after all edits, %d after a quarter of them", late, early)
	}
}

func heap() uint64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}
