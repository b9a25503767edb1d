package watch

import (
	"context"
	"errors"
	"maps"
	"sync"
	"time"
)

// hub holds the pages that are served, and who listens to them.
type hub struct {
	mu        sync.Mutex
	pages     map[string]*page
	listeners map[*listener]bool
	// later are the addresses of pages that are made once somebody asks, wanted those that somebody has
	// asked for; asked is sent to when one is added.
	later, wanted map[string]bool
	asked         chan struct{}
	// behind are the pages that do not show the last changes yet, and since when.
	behind map[string]time.Time
	// ready is closed when every page has been made for the first time: until then a page that is not
	// there may still come.
	ready chan struct{}
}

// unnoticed is how long a page may be behind before it says so.
const unnoticed = 300 * time.Millisecond

// mostListeners bounds the pages that are open at once.
const mostListeners = 64

var errFull = errors.New("too many pages are open")

// listener is an open page in a browser.
type listener struct {
	path string
	wake chan struct{} // something about the page changed
}

func newHub() *hub {
	return &hub{pages: map[string]*page{}, listeners: map[*listener]bool{}, wanted: map[string]bool{}, behind: map[string]time.Time{}, asked: make(chan struct{}, 1), ready: make(chan struct{})}
}

// get is the page at path; nil where there is none.
func (h *hub) get(path string) *page {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.pages[path]
}

// await is get that waits for a page that is still to be made, as long as ctx lets it.
func (h *hub) await(ctx context.Context, path string) *page {
	if p := h.get(path); p != nil {
		return p
	}
	select {
	case <-h.ready:
	case <-ctx.Done():
		return nil
	}
	for ctx.Err() == nil {
		h.mu.Lock()
		p, later := h.pages[path], h.later[path]
		if later && !h.wanted[path] {
			h.wanted[path] = true
			signal(h.asked)
		}
		h.mu.Unlock()
		if p != nil || !later {
			return p
		}
		time.Sleep(5 * time.Millisecond) // it is being made
	}
	return nil
}

func signal(c chan struct{}) {
	select {
	case c <- struct{}{}:
	default: // it has been, and nobody has looked since
	}
}

// expect is told which pages there are to be, and which of them later; it gives those that are shown and
// are not to be.
func (h *hub) expect(there, later map[string]bool) (gone []string) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.later = later
	for p := range h.pages {
		if !there[p] {
			gone = append(gone, p)
		}
	}
	return gone
}

// put shows a page, or with none takes it away, and gives what was there before.
func (h *hub) put(path string, cold []byte) (old, now *page) {
	if cold != nil {
		now = newPage(path, cold)
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	old = h.pages[path]
	if old != nil && now != nil && old.version == now.version {
		return old, old
	}
	if now == nil {
		delete(h.pages, path)
	} else {
		h.pages[path] = now
	}
	for l := range h.listeners {
		if l.path == path {
			signal(l.wake)
		}
	}
	return old, now
}

// looked are the paths of pages that are open somewhere, or that were asked for before they were made.
func (h *hub) looked() map[string]bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	out := maps.Clone(h.wanted)
	for l := range h.listeners {
		out[l.path] = true
	}
	return out
}

// late notes that changes concern these pages, which are still to be made.
func (h *hub) late(paths []string) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for _, p := range paths {
		if h.behind[p].IsZero() {
			h.behind[p] = time.Now()
		}
	}
}

// current notes that a page shows what there is, or with "" that all do; who was told otherwise hears of
// it at the next look.
func (h *hub) current(path string) {
	h.mu.Lock()
	defer h.mu.Unlock()
	delete(h.behind, path)
	if path == "" {
		clear(h.behind)
	}
}

// isLate reports a page that has not shown the last changes for longer than a reader would not notice.
func (h *hub) isLate(path string) bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	since := h.behind[path]
	return !since.IsZero() && time.Since(since) > unnoticed
}

func (h *hub) listen(path string) (*listener, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if len(h.listeners) >= mostListeners {
		return nil, errFull
	}
	l := &listener{path: path, wake: make(chan struct{}, 1)}
	h.listeners[l] = true
	return l, nil
}

func (h *hub) leave(l *listener) {
	h.mu.Lock()
	defer h.mu.Unlock()
	delete(h.listeners, l)
}
