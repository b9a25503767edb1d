package watch

import (
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"strings"
	"sync"
	"time"
)

// Made is what was made of a notebook; what is in it is its maker's business.
type Made any

// Maker evaluates notebooks and makes pages of them.
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
	// Make evaluates a notebook; several at a time. Where ctx has ended it may give nothing.
	Make func(ctx context.Context, fsys fs.FS, name string) Made
	// Pages are those of all that was made.
	Pages func(made map[string]Made) []Page
	// Shown, which may be nil, is told each page that is new or other than it was, or with no text gone;
	// several at a time.
	Shown func(address string, text []byte)
	// Home is the address of the page that leads to all others.
	Home string
	// Told is told what became of each notebook whose files changed, one after the other.
	Told func(Change)
}

// Page is a page that can be made.
type Page struct {
	// Address of the page, such as sub/plant.html.
	Address string
	// Notebook is the one whose sheet it is, or "" for a page on the folder as a whole.
	Notebook string
	// Later says that it is made only once somebody has asked for it.
	Later bool
	// Text makes it, as a rendering to a file writes it; several pages are made at a time. Without one
	// there is no page.
	Text func() []byte
}

// Change is what became of one notebook, or that the folder itself, ".", is gone.
type Change struct {
	Name string
	Made Made // nil: the notebook is no more
	// Because are the files whose change led to it, itself or others; none at the beginning.
	Because []string
	// New says that there was no page before, Same that the page is what it was.
	New, Same bool
	// Beside says that neither the notebook changed nor what it is made of: its page says something else
	// because of other notebooks of the folder.
	Beside bool
	// Rows are those of the page that are not what they were.
	Rows int
	// Took is the time that it took to evaluate it and to make its page.
	Took time.Duration

	placed bool // its page has been made
}

// Site keeps the pages of a folder.
type Site struct {
	Maker
	folder *Folder
	mirror *mirror
	hub    *hub
	mu     sync.Mutex // sheets are read while others are being made
	sheets map[string]*sheet
	todo   map[string][]string // notebooks to evaluate, and because of which files
	news   map[string]*Change  // notebooks that were, and whose pages are still to be made
	stale  bool                // the pages do not follow from what was evaluated last
	ready  bool                // all was made once
	away   bool                // the folder itself is gone
	// addresses are those of the pages of notebooks, whole those of the pages on the folder as a whole.
	addresses map[string]string
	whole     []string
}

// sheet is a notebook, and which files it was made of.
type sheet struct {
	made  Made
	asked map[string]bool
}

// OpenSite begins to watch a folder. Run makes its pages.
func OpenSite(m Maker) (*Site, error) {
	f, err := OpenFolder(m.Dir)
	if err != nil {
		return nil, err
	}
	return &Site{Maker: m, folder: f, hub: newHub(), sheets: map[string]*sheet{}, todo: map[string][]string{}, news: map[string]*Change{}, stale: true,
		mirror: &mirror{dir: f.dir, limit: m.Limit, open: m.Open, files: map[string]*file{}, emptied: map[string]bool{}}}, nil
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
		busy, news, wanted := true, false, false
		for busy || !news {
			select {
			case <-made:
				busy, made = false, nil
				cancel()
			case <-s.hub.asked:
				news, wanted = true, true
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
		s.stale = s.stale || wanted
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
	if s.Saved != nil {
		s.folder.Quiet(context.Background()) // an editor may be in the midst of it
	}
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
	if len(s.todo) > 0 {
		late := slices.Clone(s.whole)
		for name := range s.todo {
			if address, shown := s.addresses[name]; shown {
				late = append(late, address)
			}
		}
		s.hub.late(late)
	}
}

// list keeps the list of notebooks.
func (s *Site) list(b Batch) {
	if b.All {
		b.Paths = map[string]bool{".": true}
		info, err := os.Stat(s.folder.dir)
		away := err != nil || !info.IsDir()
		if away && !s.away {
			s.Told(Change{Name: "."})
		}
		s.away = away
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
				delete(s.news, name)
				s.stale = true
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
