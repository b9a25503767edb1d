package watch

import (
	"context"
	"maps"
	"runtime"
	"slices"
	"sort"
	"sync"
	"time"
)

// make makes what is to be made, as far as ctx lets it.
func (s *Site) make(ctx context.Context) {
	for len(s.todo) > 0 && ctx.Err() == nil {
		// What somebody looks at does not wait for a long study on another sheet. What its page says of
		// others is put right when those are there.
		looked := s.lookedAt()
		first := s.evaluate(ctx, func(name string) bool { return looked[name] })
		if len(first) > 0 && len(s.todo) > 0 {
			s.settle(ctx)
			s.show(ctx, true)
		}
		asked := append(first, s.evaluate(ctx, func(string) bool { return true })...)
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
	if s.stale {
		s.settle(ctx)
	}
	if ctx.Err() == nil && s.stale {
		s.show(ctx, false)
	}
}

// settle returns when an editor that saves seems to be done, or ctx has ended.
func (s *Site) settle(ctx context.Context) {
	s.folder.Quiet(ctx)
	s.mirror.settle(ctx)
}

// lookedAt are the notebooks whose pages are open somewhere.
func (s *Site) lookedAt() map[string]bool {
	looked, out := s.hub.looked(), map[string]bool{}
	for name, address := range s.addresses {
		out[name] = looked[address]
	}
	return out
}

// several runs work for each of n things, several at a time and in their order.
func several(n int, work func(i int)) {
	var all sync.WaitGroup
	next := make(chan int)
	for range min(runtime.GOMAXPROCS(0), n) {
		all.Go(func() {
			for i := range next {
				work(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	all.Wait()
}

// evaluate evaluates those notebooks of the list that are wanted, once each, and gives the names of the
// files that they were made of. One that is overtaken stays on the list.
func (s *Site) evaluate(ctx context.Context, wanted func(name string) bool) (asked []string) {
	var list []*Change
	for name, because := range s.todo {
		if wanted(name) {
			list = append(list, &Change{Name: name, Because: distinct(because)})
		}
	}
	sort.Slice(list, func(i, j int) bool { return list[i].Name < list[j].Name })
	read := make([]map[string]bool, len(list))
	several(len(list), func(i int) {
		if ctx.Err() != nil {
			return
		}
		began := time.Now()
		v := &view{m: s.mirror, asked: map[string]bool{list[i].Name: true}}
		list[i].Made = s.Make(ctx, v, list[i].Name)
		list[i].Took, read[i] = time.Since(began), v.asked
	})
	s.mu.Lock()
	defer s.mu.Unlock()
	for i, c := range list {
		if c.Made == nil {
			continue
		}
		s.sheets[c.Name] = &sheet{made: c.Made, asked: read[i]}
		delete(s.todo, c.Name)
		if earlier := s.news[c.Name]; earlier != nil {
			c.Because = distinct(append(earlier.Because, c.Because...))
		}
		s.news[c.Name] = c
		s.stale = true
		for name := range read[i] {
			asked = append(asked, name)
		}
	}
	return asked
}

// show makes the pages of all that was evaluated, those first that somebody looks at or that changed.
// Where more is being evaluated, it makes only those that are looked at and changed, and tells nothing.
func (s *Site) show(ctx context.Context, early bool) {
	made := map[string]Made{}
	for name, sh := range s.sheets {
		if sh.made != nil {
			made[name] = sh.made
		}
	}
	pages := s.Pages(made)
	s.addresses, s.whole = map[string]string{}, nil
	for _, p := range pages {
		if p.Notebook == "" {
			s.whole = append(s.whole, p.Address)
		} else {
			s.addresses[p.Notebook] = p.Address
		}
	}
	looked := s.hub.looked()
	rank := func(p Page) int {
		n := 2
		if looked[p.Address] {
			n = 0
		}
		if s.news[p.Notebook] == nil {
			n++
		}
		return n
	}
	sort.SliceStable(pages, func(i, j int) bool { return rank(pages[i]) < rank(pages[j]) })
	if early {
		for _, p := range pages {
			if rank(p) == 0 && ctx.Err() == nil {
				s.place(p)
			}
		}
		return
	}
	there, later := map[string]bool{}, map[string]bool{}
	for _, p := range pages {
		there[p.Address] = true
		later[p.Address] = p.Later
	}
	for _, address := range s.hub.expect(there, later) {
		s.put(address, nil)
	}
	var told sync.Mutex
	left := map[string]bool{} // news that are not told
	for _, p := range pages {
		left[p.Notebook] = true
	}
	because := slices.Sorted(maps.Keys(s.news))
	for _, name := range because {
		if !left[name] {
			s.Told(*s.news[name]) // it has no page
		}
	}
	several(len(pages), func(i int) {
		p := pages[i]
		if ctx.Err() != nil || p.Later && !looked[p.Address] {
			return
		}
		changed := s.place(p)
		c := s.news[p.Notebook]
		if c == nil && changed && p.Notebook != "" {
			c = &Change{Name: p.Notebook, Made: made[p.Notebook], Because: because, Beside: true}
		}
		if c == nil {
			return
		}
		told.Lock()
		defer told.Unlock()
		s.Told(*c)
		delete(left, c.Name)
	})
	for name := range s.news {
		if !left[name] {
			delete(s.news, name)
		}
	}
	if ctx.Err() != nil {
		return // some are not made: all are looked at again
	}
	s.stale = false
	s.hub.current("")
	if !s.ready {
		s.ready = true
		close(s.hub.ready)
	}
}

// place makes a page and shows it, and notes in the news of its notebook what became of it. It reports a
// page that is not what it was.
func (s *Site) place(p Page) bool {
	began := time.Now()
	old, now := s.put(p.Address, p.Text())
	s.hub.current(p.Address)
	c := s.news[p.Notebook]
	if c == nil {
		return old != now
	}
	c.Took += time.Since(began)
	if c.placed && old == now {
		return false // it has been made early
	}
	c.New, c.Same, c.placed = old == nil, old == now, true
	if old != nil && now != nil && old != now {
		c.Rows = now.editFrom(old).rows
	}
	return old != now
}

// put shows a page, or with no text takes it away.
func (s *Site) put(address string, text []byte) (old, now *page) {
	old, now = s.hub.put(address, text)
	if old != now && s.Shown != nil {
		s.Shown(address, text)
	}
	return old, now
}
