package eval

import (
	"fmt"
	"math"
	"slices"
)

// reading is a look-up in a table while it is worked out.
type reading struct {
	Lookup
	blocks [2]InBlock
	used   int // of blocks
	// Of a value that the table does not hold: the column, and the rows that were looked through.
	col, from, to int
}

// lookUps reads a table for every lane.
func (m *machine) lookUps(i *instr, d, a, b []float64) *fault {
	for k := range d {
		r := reading{Lookup: Lookup{Table: i.src.Data, Key: i.src.Key, Col: i.src.Col, At: pick(a, k)}}
		if b != nil {
			r.BlockAt = pick(b, k)
		}
		if !r.read() {
			if m.strict {
				return m.outside(i, &r)
			}
			d[k] = nan
			continue
		}
		d[k] = r.Value
		if m.strict {
			if r.used > 0 {
				r.Blocks = slices.Clone(r.blocks[:r.used])
			}
			out := m.out(m.step)
			out.lookups = append(out.lookups, r.Lookup)
		}
	}
	return nil
}

// read reads linearly between two rows. In a table in blocks it does so in each of the two blocks
// that the value of the first column lies between, and then between the blocks. It says whether
// the table holds the value.
func (r *reading) read() (ok bool) {
	t := r.Table
	if t.Blocks == nil {
		r.Between, r.Value, ok = r.between(0, len(t.Rows))
		return ok
	}
	n := len(t.Blocks) - 1
	at, ok := search(n, func(b int) float64 { return t.Rows[t.Blocks[b]][0] }, r.BlockAt)
	if !ok {
		r.col, r.from, r.to = 0, 0, len(t.Rows)
		return false
	}
	r.used = 2
	if at.Exact {
		r.used = 1
	}
	for b := range r.used {
		in := &r.blocks[b]
		if in.Between, in.Value, ok = r.between(t.Blocks[at.Row+b], t.Blocks[at.Row+b+1]); !ok {
			return false
		}
	}
	r.Between, r.Value = r.blocks[0].Between, r.blocks[0].Value
	if !at.Exact {
		first := func(b int) float64 { return t.Rows[t.Blocks[b]][0] }
		r.Value = linear(r.BlockAt, first(at.Row), first(at.Row+1), r.blocks[0].Value, r.blocks[1].Value)
	}
	return true
}

// between reads the rows from up to to by the key of the look-up.
func (r *reading) between(from, to int) (Between, float64, bool) {
	rows := r.Table.Rows
	at, ok := search(to-from, func(row int) float64 { return rows[from+row][r.Key] }, r.At)
	if !ok {
		r.col, r.from, r.to = r.Key, from, to
		return at, 0, false
	}
	at.Row += from
	a := rows[at.Row]
	if at.Exact {
		return at, a[r.Col], true // a tabulated figure is read as it stands
	}
	b := rows[at.Row+1]
	return at, linear(r.At, a[r.Key], b[r.Key], a[r.Col], b[r.Col]), true
}

// linear is the straight line through two points.
func linear(x, x0, x1, y0, y1 float64) float64 {
	return y0 + (y1-y0)*((x-x0)/(x1-x0))
}

// search finds x among n figures that rise or fall; false where it lies outside them.
func search(n int, figure func(int) float64, x float64) (Between, bool) {
	rising := 1.0
	if figure(n-1) < figure(0) {
		rising = -1
	}
	a, b := 0, n-1
	for _, end := range [2]int{a, b} {
		if same(x, figure(end)) {
			return Between{Row: end, Exact: true}, true
		}
	}
	if !((x-figure(a))*rising > 0 && (x-figure(b))*rising < 0) {
		return Between{}, false
	}
	for b-a > 1 {
		if mid := (a + b) / 2; (x-figure(mid))*rising >= 0 {
			a = mid
		} else {
			b = mid
		}
	}
	switch {
	case same(x, figure(a)):
		return Between{Row: a, Exact: true}, true
	case same(x, figure(b)):
		return Between{Row: b, Exact: true}, true
	}
	return Between{Row: a}, true
}

// same: a value and a figure that differ by no more than the rounding of a change of unit.
func same(x, figure float64) bool {
	return x == figure || math.Abs(x-figure) <= 4*(math.Nextafter(math.Abs(figure), math.Inf(1))-math.Abs(figure))
}

// outside says where a table ends.
func (m *machine) outside(i *instr, r *reading) *fault {
	t := r.Table
	u := t.Columns[r.col].Unit
	x, where, there := r.At, "", "it runs"
	switch {
	case t.Blocks != nil && r.col == 0:
		x = r.BlockAt
	case t.Blocks != nil:
		first := t.Columns[0]
		at := t.Rows[r.from][0]
		where = fmt.Sprintf(" at %s = %s", first.Name, formatValue(first.Unit.FromSI(at, m.sheet.Ambient), first.Unit))
		if !same(r.BlockAt, at) {
			where += fmt.Sprintf(", which %s = %s needs", first.Name, formatValue(first.Unit.FromSI(r.BlockAt, m.sheet.Ambient), first.Unit))
		}
		there = "there it runs"
	}
	lo, hi := t.Rows[r.from][r.col], t.Rows[r.to-1][r.col]
	show := func(v float64) string { return formatValue(u.FromSI(v, m.sheet.Ambient), u) }
	if s := show(x); s == show(lo) || s == show(hi) {
		show = func(v float64) string { return fmt.Sprintf("%.12g %s", u.FromSI(v, m.sheet.Ambient), u) }
	}
	return &fault{code: CodeRange, span: i.src.Src.Span(), msg: fmt.Sprintf("%s = %s is outside the table %s%s", t.Columns[r.col].Name, show(x), t.Name, where),
		hint: fmt.Sprintf("%s from %s to %s, and nothing is extrapolated", there, show(math.Min(lo, hi)), show(math.Max(lo, hi)))}
}
