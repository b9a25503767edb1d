package watch

import (
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"sort"
	"strings"
	"sync"
	"time"
)

// Made is what was made of a notebook.
type Made struct {
	// Page is its sheet, as a rendering to a file writes it.
	Page []byte
	// Info is for whoever made it.
	Info any
}

// Maker makes pages.
type Maker struct {
	// Dir is the folder that is watched.
	Dir string
	// Open opens it to read from; no file is read further than Limit bytes.
	Open  func() (fs.FS, func() error, error)
	Limit int64
	// Notebook tells which names are those of notebooks.
	Notebook func(name string) bool
	// Saved, which may be nil, is told the notebooks that were saved, before they are made.
	Saved func(names []string)
	// Make makes the page of a notebook; several at a time. Nothing is made when ctx has ended.
	Make func(ctx context.Context, fsys fs.FS, name string) *Made
	// Address is that of a notebook's page, such as sub/plant.html.
	Address func(name string) string
	// Told is told of each change of a page, one after the other.
	Told func(Change)
	// Whole makes the pages of the folder as a whole, by their addresses, of all that was made; the
	// empty address is that of the folder.
	Whole func(made map[string]*Made) map[string][]byte
}

// Change is what became of one notebook's page.
type Change struct {
	Name string
	Made *Made // nil: the notebook is no more
	// Because are the files whose change led to it, itself or others; none at the beginning.
	Because []string
	// New says that there was no page before, Same that the page is what it was.
	New, Same bool
	// Rows are those of the page that are not what they were.
	Rows int
	Took time.Duration
}

// Site keeps the pages of a folder.
type Site struct {
	Maker
	folder *Folder
	mirror *mirror
	hub    *hub
	mu     sync.Mutex // sheets are read while others are being made
	sheets map[string]*sheet
	todo   map[string][]string // notebooks to make, and because of which files
	whole  map[string]bool     // the pages of the folder as a whole that are shown
	dirty  bool                // those are to be made anew
	ready  bool                // all was made once
}

// sheet is a notebook and what its page was made of.
type sheet struct {
	made  *Made
	asked map[string]bool
}

// OpenSite begins to watch a folder. Run makes its pages.
func OpenSite(m Maker) (*Site, error) {
	f, err := OpenFolder(m.Dir)
	if err != nil {
		return nil, err
	}
	return &Site{Maker: m, folder: f, hub: newHub(), sheets: map[string]*sheet{}, todo: map[string][]string{}, whole: map[string]bool{}, dirty: true,
		mirror: &mirror{dir: f.dir, limit: m.Limit, open: m.Open, files: map[string]*file{}}}, nil
}

// Close ends the watch of a site that is not run.
func (s *Site) Close() error { return s.folder.Close() }

// Run makes all pages, and from then on those anew that a change concerns, until ctx ends. The error is
// one of the watch.
func (s *Site) Run(ctx context.Context) error {
	ctx, stop := context.WithCancel(ctx)
	changes, watched := make(chan Batch), make(chan error, 1)
	var running sync.WaitGroup
	defer running.Wait()
	defer stop()
	running.Go(func() { watched <- s.folder.Run(ctx, changes) })
	defer s.folder.Close()
	s.take(Batch{All: true})
	for {
		made := make(chan struct{})
		round, cancel := context.WithCancel(ctx)
		go func() {
			s.make(round)
			close(made)
		}()
		var b Batch
		busy, news := true, false
		for busy || !news {
			select {
			case <-made:
				busy, made = false, nil
				cancel()
			case more := <-changes:
				b.join(more)
				// What is being made may be overtaken; what it is made of must not change meanwhile.
				if news = news || s.concerns(more); news {
					cancel()
				}
			case err := <-watched:
				cancel()
				if busy {
					<-made
				}
				return err
			}
		}
		s.take(b)
	}
}

// concerns reports changes of which a page could change. They are looked at while pages are made, and
// change nothing.
func (s *Site) concerns(b Batch) bool {
	if b.All || s.mirror.knows(b) {
		return true
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for p := range b.Paths {
		if _, known := s.sheets[p]; known || s.isNotebook(p) {
			return true
		}
		if info, err := os.Lstat(s.file(p)); err == nil && info.IsDir() || s.below(p) {
			return true
		}
	}
	return false
}

func (s *Site) file(name string) string { return filepath.Join(s.folder.dir, filepath.FromSlash(name)) }

func (s *Site) isNotebook(name string) bool { return s.Notebook(name) && !hiddenPath(name) }

// below reports notebooks in a folder.
func (s *Site) below(dir string) bool {
	for name := range s.sheets {
		if strings.HasPrefix(name, dir+"/") {
			return true
		}
	}
	return false
}

// take notes which pages the changes concern. Nothing is being made meanwhile.
func (s *Site) take(b Batch) {
	first := len(s.sheets) == 0 && len(s.todo) == 0
	s.list(b)
	changed := s.mirror.refresh(b)
	if s.Saved != nil {
		var saved []string
		for name := range changed {
			if s.sheets[name] != nil {
				saved = append(saved, name)
			}
		}
		if sort.Strings(saved); len(saved) > 0 {
			s.Saved(saved)
			again := Batch{}
			for _, name := range saved {
				again.add(name)
			}
			for name := range s.mirror.refresh(again) {
				changed[name] = true
			}
		}
	}
	for name, sh := range s.sheets {
		if sh.made == nil && s.todo[name] == nil {
			s.todo[name] = []string{}
			if !first {
				s.todo[name] = append(s.todo[name], name)
			}
		}
		for f := range sh.asked {
			if changed[f] {
				s.todo[name] = append(s.todo[name], f)
			}
		}
	}
}

// list keeps the list of notebooks.
func (s *Site) list(b Batch) {
	if b.All {
		b.Paths = map[string]bool{".": true}
	}
	for p := range b.Paths {
		found := map[string]bool{}
		filepath.WalkDir(s.file(p), func(at string, d fs.DirEntry, err error) error {
			if err != nil {
				return nil // it has gone meanwhile, and an event is on its way
			}
			rel, err := filepath.Rel(s.folder.dir, at)
			rel = filepath.ToSlash(rel)
			switch {
			case err != nil || d.IsDir() && hiddenPath(rel):
				return fs.SkipDir
			case !d.IsDir() && s.isNotebook(rel):
				found[rel] = true
			}
			return nil
		})
		for name, sh := range s.sheets {
			if (p == "." || name == p || strings.HasPrefix(name, p+"/")) && !found[name] {
				delete(s.sheets, name)
				delete(s.todo, name)
				s.hub.put(s.Address(name), nil)
				s.dirty = true
				if sh.made != nil {
					s.Told(Change{Name: name, Because: []string{name}})
				}
			}
		}
		for name := range found {
			if s.sheets[name] == nil {
				s.sheets[name] = &sheet{}
			}
		}
	}
}

// make makes what is to be made, as far as ctx lets it.
func (s *Site) make(ctx context.Context) {
	for len(s.todo) > 0 && ctx.Err() == nil {
		asked := s.round(ctx)
		// What lies in folders that were not watched before may have changed before they were.
		if fresh, err := s.folder.Follow(append(asked, s.mirror.behind()...)); fresh || err != nil {
			b := Batch{}
			for _, name := range asked {
				b.add(name)
			}
			s.take(b)
		}
	}
	s.mirror.keep(func(name string) bool {
		for _, sh := range s.sheets {
			if sh.asked[name] {
				return true
			}
		}
		return false
	})
	if ctx.Err() != nil || !s.dirty {
		return
	}
	s.dirty = false
	made := map[string]*Made{}
	for name, sh := range s.sheets {
		made[name] = sh.made
	}
	pages := s.Whole(made)
	for p := range s.whole {
		if pages[p] == nil {
			s.hub.put(p, nil)
			delete(s.whole, p)
		}
	}
	for p, text := range pages {
		s.hub.put(p, text)
		s.whole[p] = true
	}
	if !s.ready {
		s.ready = true
		close(s.hub.ready)
	}
}

// round makes each page of the list once, several at a time and those first that somebody looks at, and
// gives the names of the files that they were made of.
func (s *Site) round(ctx context.Context) (asked []string) {
	looked := s.hub.listened()
	type work struct {
		name   string
		rank   int
		change Change
		asked  map[string]bool
		done   chan struct{}
	}
	var list []*work
	for name, because := range s.todo {
		w := &work{name: name, rank: 1, done: make(chan struct{}), change: Change{Name: name, Because: distinct(because)}}
		if looked[s.Address(name)] {
			w.rank = 0
		}
		list = append(list, w)
	}
	sort.Slice(list, func(i, j int) bool {
		if list[i].rank != list[j].rank {
			return list[i].rank < list[j].rank
		}
		return list[i].name < list[j].name
	})
	next := make(chan *work)
	go func() {
		defer close(next)
		for _, w := range list {
			next <- w
		}
	}()
	for range min(runtime.GOMAXPROCS(0), len(list)) {
		go func() {
			for w := range next {
				s.one(ctx, &w.change, &w.asked)
				close(w.done)
			}
		}()
	}
	for _, w := range list {
		<-w.done
		if w.change.Made == nil {
			continue // overtaken: it stays on the list
		}
		s.mu.Lock()
		s.sheets[w.name] = &sheet{made: w.change.Made, asked: w.asked}
		s.mu.Unlock()
		delete(s.todo, w.name)
		s.dirty = true
		for name := range w.asked {
			asked = append(asked, name)
		}
		s.Told(w.change)
	}
	return asked
}

// one makes a page and shows it.
func (s *Site) one(ctx context.Context, c *Change, asked *map[string]bool) {
	if ctx.Err() != nil {
		return
	}
	began := time.Now()
	v := &view{m: s.mirror, asked: map[string]bool{c.Name: true}}
	if c.Made = s.Make(ctx, v, c.Name); c.Made == nil {
		return
	}
	*asked = v.asked
	old, now := s.hub.put(s.Address(c.Name), c.Made.Page)
	c.Took = time.Since(began)
	c.New, c.Same = old == nil, old == now
	if !c.New && !c.Same {
		c.Rows = now.editFrom(old).rows
	}
}

func distinct(names []string) []string {
	seen := map[string]bool{}
	var out []string
	for _, n := range names {
		if !seen[n] {
			seen[n] = true
			out = append(out, n)
		}
	}
	sort.Strings(out)
	return out
}

// Listed are the addresses of all pages, in order.
func (s *Site) Listed() []string {
	s.hub.mu.Lock()
	defer s.hub.mu.Unlock()
	var out []string
	for p := range s.hub.pages {
		out = append(out, p)
	}
	sort.Strings(out)
	return out
}

// Cold is a page as a rendering to a file writes it; nil where there is none at the address.
func (s *Site) Cold(address string) []byte {
	if p := s.hub.get(address); p != nil {
		return p.cold
	}
	return nil
}
