package tex

// Memory keeps formulas that were typeset, for the next typesetter. The zero value is empty. It
// serves one typesetter at a time.
type Memory struct{ now, before map[key]kept }

// kept is a formula with the steps that it took: it takes them again from what a notebook may ask for,
// so that what is beyond the limit does not depend on what was typeset before.
type kept struct {
	markup string
	steps  int
}

// Settle forgets what no typesetter has asked for since it was called last.
func (m *Memory) Settle() { m.before, m.now = m.now, nil }

func (m *Memory) find(k key) (kept, bool) {
	if m == nil {
		return kept{}, false
	}
	f, ok := m.now[k]
	if !ok {
		if f, ok = m.before[k]; ok {
			m.keep(k, f)
		}
	}
	return f, ok
}

func (m *Memory) keep(k key, f kept) {
	if m == nil {
		return
	}
	if m.now == nil {
		m.now = map[key]kept{}
	}
	m.now[k] = f
}
