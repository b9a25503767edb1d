package sheet

import (
	"encoding/json"
	"slices"
	"sync"

	"workings/propsdb"
	"workings/runner/chart"
	"workings/runner/eval"
	"workings/units"
)

// Memory keeps the entries of a page, its schematics, its last sections and the lines of its trace for the
// next page of the same notebook. Each is found by all that it is made of, so that a page written with a
// memory is the page written without one, only sooner. The zero value is empty. A memory serves one page at
// a time (one that is asked for meanwhile is written without it), and forgets what the last one did not need.
type Memory struct {
	busy                       sync.Mutex
	entries, schematics, lines pieces
	sections                   pieces // of the end of the page
}

// begin starts a page, if no other is being written, until end is called.
func (m *Memory) begin() (end func(), ok bool) {
	if m == nil || !m.busy.TryLock() {
		return func() {}, false
	}
	m.entries.begin()
	m.schematics.begin()
	m.lines.begin()
	m.sections.begin()
	return m.busy.Unlock, true
}

// pieces are finished parts of pages by their keys.
type pieces struct {
	round int
	kept  map[string]*piece
}

// piece is a part of a page, with what it leaves behind for the rest of the page.
type piece struct {
	round     int // that needed it last
	text      []byte
	seen      []units.Unit
	named     []named
	usesPrint bool
	fluids    []*propsdb.Fluid // the very ones that it is about
}

// named is a unit under the spelling that it has in the trace.
type named struct {
	text string
	unit units.Unit
}

func (m *pieces) begin() {
	for key, k := range m.kept {
		if k.round != m.round {
			delete(m.kept, key)
		}
	}
	m.round++
}

// recall appends the part of a page that the key at hand belongs to, if it is kept.
func (p *page) recall(m *pieces, b []byte) ([]byte, bool) {
	k := m.kept[string(p.key)]
	if k == nil || !slices.Equal(k.fluids, p.news.fluids) {
		p.news = piece{fluids: p.news.fluids}
		return b, false
	}
	start := len(b)
	b = append(b, k.text...)
	k.round, k.text = m.round, b[start:] // so that the last page can go
	for _, u := range k.seen {
		p.seen(u)
	}
	for _, u := range k.named {
		p.noteUnit(u.text, u.unit)
	}
	p.usesPrint = p.usesPrint || k.usesPrint
	return b, true
}

// keep keeps what was written in its place. It may not be changed any more.
func (p *page) keep(m *pieces, key string, text []byte) {
	if m.kept == nil {
		m.kept = map[string]*piece{}
	}
	m.kept[key] = &piece{m.round, text, p.news.seen, p.news.named, p.usesPrint, p.news.fluids}
}

// remembered writes an entry, which the memory may have.
func (p *page) remembered(e *eval.Entry, write func(*page, *eval.Entry)) {
	if p.memory == nil || !p.entryKey(e) {
		write(p, e)
		return
	}
	m := &p.memory.entries
	var ok bool
	if p.b, ok = p.recall(m, p.b); !ok {
		key, start := string(p.key), len(p.b)
		write(p, e)
		p.keep(m, key, p.b[start:])
	}
}

// rememberedSection writes a section of the end of the page, which the memory may have. key makes its key,
// and is false where the section depends on more than that.
func (p *page) rememberedSection(key func() bool, write func()) {
	if p.memory == nil || !key() {
		write()
		return
	}
	m := &p.memory.sections
	var ok bool
	if p.b, ok = p.recall(m, p.b); !ok {
		key, start := string(p.key), len(p.b)
		write()
		if !p.over {
			p.keep(m, key, p.b[start:])
		}
	}
}

// rememberedLine writes a line of the trace, which the memory may have.
func (p *page) rememberedLine(o *encoder, e *eval.Entry) {
	if p.memory == nil || !p.entryKey(e) {
		p.jsonLine(o, e)
		return
	}
	p.key.whole(typedLine(e.Line))
	m := &p.memory.lines
	var ok bool
	if o.b, ok = p.recall(m, o.b); !ok {
		key, start := string(p.key), len(o.b)
		p.jsonLine(o, e)
		p.keep(m, key, o.b[start:])
	}
}

// rememberedSchematic is a picture of components, which the memory may have: to place them takes longer
// than all the rest of a page. Its numbers are those of the states, not their values, so that it changes
// only when the plant does.
func (p *page) rememberedSchematic(s *chart.Schematic, id string) []byte {
	if p.memory == nil {
		return s.SVG(id)
	}
	of, err := json.Marshal(s)
	if err != nil {
		return s.SVG(id)
	}
	m, key := &p.memory.schematics, id+string(of)
	k := m.kept[key]
	if k == nil {
		if m.kept == nil {
			m.kept = map[string]*piece{}
		}
		k = &piece{text: s.SVG(id)}
		m.kept[key] = k
	}
	k.round = m.round
	return k.text
}
