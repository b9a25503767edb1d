package runner

import (
	"encoding/binary"

	"workings/runner/diag"
	"workings/runner/lang"
	"workings/runner/notebook"
	"workings/runner/resolve"
	"workings/runner/sheet"
	"workings/runner/tex"
)

// Memory keeps what a build of a notebook has worked out that the next build of the same notebook
// may need again: fences that have not changed, the notebooks that it uses, typeset formulas, entries of
// the page. Everything is found by its content, so that a build with a memory gives what one without
// gives, only sooner. The zero value is empty. A memory belongs to one notebook, and serves one build and
// one page at a time.
type Memory struct {
	blocks  recent[*lang.Block]
	sources recent[*keptSource]
	tex     tex.Memory
	page    sheet.Memory
}

// keptSource is a notebook that another uses, or one that comes with the tool.
type keptSource struct {
	source *resolve.Source
	maths  map[tex.Place]tex.Typeset
}

// settle forgets what the build that has ended did not need.
func (m *Memory) settle() {
	m.blocks.settle()
	m.sources.settle()
	m.tex.Settle()
}

// recent remembers what was kept or found since the last settle, and what in the round before that.
type recent[V any] struct{ now, before map[string]V }

func (r *recent[V]) find(key string) (V, bool) {
	v, ok := r.now[key]
	if !ok {
		if v, ok = r.before[key]; ok {
			r.keep(key, v)
		}
	}
	return v, ok
}

func (r *recent[V]) keep(key string, v V) {
	if r.now == nil {
		r.now = map[string]V{}
	}
	r.now[key] = v
}

func (r *recent[V]) settle() { r.before, r.now = r.now, nil }

// block reads a fence. One with a problem is read again every time: a problem may be settled, and
// then says so.
func (m *Memory) block(reader *lang.Reader, b *notebook.Block) (*lang.Block, []*diag.Problem) {
	if m == nil {
		return reader.Parse(langSource(b))
	}
	key := blockKey(b)
	if block, ok := m.blocks.find(key); ok {
		return block, nil
	}
	block, ps := reader.Parse(langSource(b))
	if len(ps) == 0 {
		m.blocks.keep(key, block)
	}
	return block, ps
}

// blockKey is all that the tree of a fence is made of: its text and where it stands.
func blockKey(b *notebook.Block) string {
	n := len(b.Kind) + len(b.Info)
	for _, l := range b.Lines {
		n += len(l.Text) + 8
	}
	key := make([]byte, 0, n+32)
	number := func(i int) { key = binary.AppendUvarint(key, uint64(i)) }
	text := func(s string) {
		number(len(s))
		key = append(key, s...)
	}
	text(b.Kind)
	text(b.Info)
	for _, s := range []diag.Span{b.Span, b.InfoSpan} {
		number(s.Start)
		number(s.End)
	}
	for _, l := range b.Lines {
		number(l.Start)
		text(l.Text)
	}
	return string(key)
}

// other reads a notebook that another uses; own fluids it reads from files, whose content is not
// looked at here, so that one that has any is not kept.
func (l *loader) other(name, path string, text []byte) *resolve.Source {
	key := name + "\x00" + path + "\x00" + string(text)
	if m := l.memory; m != nil {
		if kept, ok := m.sources.find(key); ok {
			if path != "" {
				l.at[kept.source.File] = path
			}
			for at, markup := range kept.maths {
				l.maths[at] = markup
			}
			return kept.source
		}
	}
	file := diag.NewFile(name, text)
	if path != "" {
		l.at[file] = path
	}
	doc := notebook.Parse(file)
	src := l.source(doc, false)
	if l.memory != nil && len(src.Problems) == 0 && len(doc.Front.Fluids) == 0 {
		kept := &keptSource{src, map[tex.Place]tex.Typeset{}}
		for at, markup := range l.maths {
			if at.File == file {
				kept.maths[at] = markup
			}
		}
		l.memory.sources.keep(key, kept)
	}
	return src
}
