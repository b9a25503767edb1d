package watch

import (
	"bytes"
	"context"
	"fmt"
	"html"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// plain makes pages of texts without knowing any language: a line "use NAME" stands for the lines of
// another file. It is what these tests watch in place of notebooks.
func plain(fsys fs.FS, name string) []byte {
	var b bytes.Buffer
	b.WriteString("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n" + policyLine +
		"default-src 'none'; style-src 'unsafe-inline'; script-src 'sha256-x'\"/>\n<title>" + html.EscapeString(name) + "</title>\n</head>\n<body>\n<main>\n<table class=\"ledger\">")
	n := 0
	var lines func(name string, depth int)
	lines = func(name string, depth int) {
		text, err := fs.ReadFile(fsys, name)
		if err != nil {
			text = []byte("no " + path.Base(name))
			if list, err := fs.ReadDir(fsys, path.Dir(name)); err == nil && depth > 0 {
				text = fmt.Appendf(text, " among %d", len(list))
			}
		}
		for _, line := range strings.Split(strings.TrimSpace(string(text)), "\n") {
			if used, ok := strings.CutPrefix(line, "use "); ok && depth < 5 {
				lines(path.Join(path.Dir(name), used), depth+1)
				continue
			}
			n++
			fmt.Fprintf(&b, "<tbody class=\"row\" id=\"e%d\"><tr><td class=\"eq\"><math>%s</math></td></tr></tbody>\n", n, html.EscapeString(line))
		}
	}
	lines(name, 0)
	b.WriteString("</table>\n</main>\n</body>\n</html>\n")
	return b.Bytes()
}

// desk is a folder that is watched in a test.
type desk struct {
	t    *testing.T
	dir  string
	site *Site
	mu   sync.Mutex
	made map[string]int // how often each was made
	told []Change
	all  bool          // the page that is made later is wanted
	gate chan struct{} // slow.md takes until this is closed
}

func open(t *testing.T, dir string) *desk {
	t.Helper()
	return openSlow(t, dir, nil)
}

func openSlow(t *testing.T, dir string, gate chan struct{}) *desk {
	t.Helper()
	d := &desk{t: t, dir: dir, made: map[string]int{}, gate: gate}
	site, err := OpenSite(Maker{
		Dir: dir, Limit: 1 << 20,
		Open: func() (fs.FS, func() error, error) {
			root, err := os.OpenRoot(dir)
			if err != nil {
				return nil, nil, err
			}
			return root.FS(), root.Close, nil
		},
		Notebook: func(name string) bool { return path.Ext(name) == ".md" },
		Home:     "index.html",
		Make: func(ctx context.Context, fsys fs.FS, name string) Made {
			d.mu.Lock()
			d.made[name]++
			gate := d.gate
			d.mu.Unlock()
			if name == "slow.md" && gate != nil {
				select {
				case <-gate:
				case <-ctx.Done():
					return nil
				}
			}
			return plain(fsys, name)
		},
		Told: func(c Change) {
			d.mu.Lock()
			d.told = append(d.told, c)
			d.mu.Unlock()
		},
		Pages: func(made map[string]Made) []Page {
			pages := []Page{
				{Address: "index.html", Text: func() []byte { return fmt.Appendf(nil, "<html><body>%d</body></html>", len(made)) }},
				{Address: "all.html", Later: true, Text: func() []byte { return fmt.Appendf(nil, "<html><body>all %d</body></html>", len(made)) }},
			}
			for name, text := range made {
				pages = append(pages, Page{Address: strings.TrimSuffix(name, ".md") + ".html", Notebook: name, Text: func() []byte { return text.([]byte) }})
			}
			return pages
		},
	})
	must(t, err)
	d.site = site
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- site.Run(ctx) }()
	t.Cleanup(func() {
		stop()
		if err := <-ended; err != nil {
			t.Errorf("the watch ended: %v", err)
		}
	})
	return d
}

// settles waits until every page is what a cold rendering of the folder gives, and no other is there.
func (d *desk) settles() {
	d.t.Helper()
	var why string
	for late := time.Now().Add(patience); ; time.Sleep(2 * time.Millisecond) {
		if why = d.differs(); why == "" {
			return
		}
		if time.Now().After(late) {
			d.t.Fatal(why)
		}
	}
}

// differs says what is not as a cold rendering has it.
func (d *desk) differs() string {
	want := map[string][]byte{}
	cold := os.DirFS(d.dir)
	fs.WalkDir(cold, ".", func(name string, e fs.DirEntry, err error) error {
		switch {
		case err != nil:
		case e.IsDir() && hiddenPath(name):
			return fs.SkipDir
		case !e.IsDir() && path.Ext(name) == ".md" && !hiddenPath(name):
			want[strings.TrimSuffix(name, ".md")+".html"] = plain(cold, name)
		}
		return nil
	})
	n := len(want)
	want["index.html"] = fmt.Appendf(nil, "<html><body>%d</body></html>", n)
	if d.all {
		want["all.html"] = fmt.Appendf(nil, "<html><body>all %d</body></html>", n)
	}
	got := d.site.Listed()
	if len(got) != len(want) {
		return fmt.Sprintf("pages %q, want %d", got, len(want))
	}
	for address, text := range want {
		if !bytes.Equal(d.site.Cold(address), text) {
			return fmt.Sprintf("%s is\n%s\nwant\n%s", address, d.site.Cold(address), text)
		}
	}
	return ""
}

// counted gives how often each page was made since it was last asked.
func (d *desk) counted() map[string]int {
	d.mu.Lock()
	defer d.mu.Unlock()
	n := d.made
	d.made = map[string]int{}
	return n
}

// only fails where other pages were made since than these.
func (d *desk) only(want ...string) {
	d.t.Helper()
	d.settles()
	time.Sleep(5 * quiet)
	got := d.counted()
	for _, w := range want {
		if got[w] == 0 {
			d.t.Errorf("%s was not made anew", w)
		}
		delete(got, w)
	}
	if len(got) > 0 {
		d.t.Errorf("made anew without a reason: %v", got)
	}
}

// TestSite: what a page is made of decides whether it is made anew.
func TestSite(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "a.md", "one\nuse parts/b.md\nuse data.csv")
	put(t, dir, "parts/b.md", "two\nuse c.md")
	put(t, dir, "parts/c.md", "three")
	put(t, dir, "alone.md", "four\nuse .hidden/kept.csv")
	put(t, dir, ".hidden/kept.csv", "five")
	put(t, dir, ".git/x.md", "not a sheet")
	d := open(t, dir)
	d.only("a.md", "alone.md", "parts/b.md", "parts/c.md")
	steps := []struct {
		name string
		do   func()
		want []string
	}{
		{"a notebook that others use", func() { put(t, dir, "parts/c.md", "3") }, []string{"a.md", "parts/b.md", "parts/c.md"}},
		{"the same bytes again", func() { put(t, dir, "parts/c.md", "3") }, nil},
		{"only its time", func() { must(t, os.Chtimes(filepath.Join(dir, "a.md"), time.Now(), time.Now())) }, nil},
		{"a file that was missing", func() { put(t, dir, "data.csv", "6") }, []string{"a.md"}},
		{"a data file", func() { put(t, dir, "data.csv", "66") }, []string{"a.md"}},
		{"in a hidden folder", func() { put(t, dir, ".hidden/kept.csv", "55") }, []string{"alone.md"}},
		{"what no sheet is made of", func() {
			put(t, dir, "other.csv", "1")
			put(t, dir, ".a.md.swp", "1")
			put(t, dir, "a.md~", "1")
			put(t, dir, "4913", "")
			put(t, dir, "#a.md#", "1")
			put(t, dir, ".git/index", "1")
		}, nil},
		{"removed", func() { must(t, os.Remove(filepath.Join(dir, "data.csv"))) }, []string{"a.md"}},
		{"another file where one is missed", func() { put(t, dir, "date.csv", "1") }, []string{"a.md"}},
		{"renamed", func() { must(t, os.Rename(filepath.Join(dir, "parts"), filepath.Join(dir, "pieces"))) }, []string{"a.md", "pieces/b.md", "pieces/c.md"}},
		{"and back", func() { must(t, os.Rename(filepath.Join(dir, "pieces"), filepath.Join(dir, "parts"))) }, []string{"a.md", "parts/b.md", "parts/c.md"}},
		{"a link in the place of a file", func() {
			put(t, dir, ".hidden/deep/real.csv", "7")
			must(t, os.Symlink(".hidden/deep/real.csv", filepath.Join(dir, "data.csv")))
		}, []string{"a.md"}},
		{"what the link leads to", func() { put(t, dir, ".hidden/deep/real.csv", "77") }, []string{"a.md"}},
		{"emptied and written", func() {
			put(t, dir, "alone.md", "")
			put(t, dir, "alone.md", "44\nuse .hidden/kept.csv")
		}, []string{"alone.md"}},
	}
	for _, s := range steps {
		s.do()
		d.t = t
		ok := t.Run(s.name, func(t *testing.T) {
			d.t = t
			d.only(s.want...)
		})
		if !ok {
			break
		}
	}
	d.t = t
}

// A folder that goes and comes back is not taken for an empty one for ever.
func TestSiteFolderGone(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "folder")
	put(t, dir, "a.md", "one")
	d := open(t, dir)
	d.settles()
	must(t, os.Rename(dir, dir+".away"))
	d.settles()
	d.mu.Lock()
	said := 0
	for _, c := range d.told {
		if c.Name == "." && c.Made == nil {
			said++
		}
	}
	d.mu.Unlock()
	if said != 1 {
		t.Errorf("that the folder is gone is told %d times", said)
	}
	must(t, os.Rename(dir+".away", dir))
	put(t, dir, "b.md", "two")
	d.settles()
}

// A save that first empties a file and then writes it, with other work between the two, is shown once.
func TestSiteEmptied(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "a.md", "one")
	d := open(t, dir)
	d.settles()
	for i := 0; ; i++ {
		began := time.Now()
		put(t, dir, "a.md", "")
		time.Sleep(quiet + together)
		time.Sleep(quiet + together)
		put(t, dir, "a.md", fmt.Sprintf("again %d", i))
		took := time.Since(began)
		d.settles()
		d.mu.Lock()
		told := d.told
		d.told = nil
		d.mu.Unlock()
		if took > refill/2 {
			continue // the machine did something else
		}
		if last := told[len(told)-1]; bytes.Contains(last.Made.([]byte), []byte("<math></math>")) || i == 0 && len(told) > 2 || i > 0 && len(told) > 1 {
			t.Errorf("told of %d pages, at last of %s", len(told), last.Made)
		}
		break
	}
	// One that stays empty is shown as what it is.
	put(t, dir, "a.md", "")
	d.settles()
}

// What a sheet is told of: new, the same, how many rows, because of which file.
func TestSiteTold(t *testing.T) {
	dir := t.TempDir()
	filler := strings.Repeat("a line that stays as it is\n", 30)
	put(t, dir, "a.md", filler+"p_1 2\nuse b.csv")
	put(t, dir, "b.csv", "x")
	d := open(t, dir)
	d.settles()
	put(t, dir, "b.csv", "y")
	d.settles()
	put(t, dir, "a.md", filler+"p_1 3\nuse b.csv")
	d.settles()
	put(t, dir, "a.md", filler+"p_1 3\nuse b.csv\n")
	must(t, os.Rename(filepath.Join(dir, "a.md"), filepath.Join(dir, "c.md")))
	d.settles()
	d.mu.Lock()
	defer d.mu.Unlock()
	var got []string
	for _, c := range d.told {
		got = append(got, fmt.Sprintf("%s by %v: made %v, new %v, same %v, %d rows", c.Name, c.Because, c.Made != nil, c.New, c.Same, c.Rows))
	}
	text := strings.Join(got, "\n")
	for _, want := range []string{
		"a.md by []: made true, new true, same false, 0 rows",
		"a.md by [b.csv]: made true, new false, same false, 1 rows",
		"a.md by [a.md]: made true, new false, same false, 1 rows",
		"a.md by [a.md]: made false, new false, same false, 0 rows",
		"c.md by [c.md]: made true, new true, same false, 0 rows",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("not told: %s", want)
		}
	}
	if t.Failed() {
		t.Log(text)
	}
}

// A page that somebody looks at does not wait for another that takes long, and a change overtakes what
// is being made.
func TestSiteSlow(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "a.md", "use data.csv")
	put(t, dir, "slow.md", "use data.csv")
	put(t, dir, "data.csv", "one")
	d, s := served(t, dir)
	next, leave := listens(t, s, "a.html", d.site.hub.get("a.html").version, false)
	defer leave()
	next()
	d.mu.Lock()
	d.gate = make(chan struct{})
	d.mu.Unlock()
	put(t, dir, "data.csv", "two")
	if e := next(); e.Kind != "whole" && e.Kind != "edit" {
		t.Fatalf("heard %+v", e)
	}
	if page := d.site.Cold("a.html"); !bytes.Contains(page, []byte("two")) {
		t.Errorf("shown: %s", page)
	}
	if page := d.site.Cold("slow.html"); bytes.Contains(page, []byte("two")) {
		t.Errorf("the slow one was not slow: the test shows nothing")
	}
	put(t, dir, "data.csv", "three")
	next()
	d.mu.Lock()
	close(d.gate)
	d.mu.Unlock()
	d.settles()
	d.mu.Lock()
	defer d.mu.Unlock()
	last := d.told[len(d.told)-2:]
	for _, c := range last {
		if c.Same || c.New || c.Rows == 0 && c.Name == "a.md" && !bytes.Contains(c.Made.([]byte), []byte("three")) || fmt.Sprint(c.Because) != "[data.csv]" {
			t.Errorf("told of %s: new %v, same %v, by %v", c.Name, c.New, c.Same, c.Because)
		}
	}
}
