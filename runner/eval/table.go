package eval

import (
	"fmt"
	"math"

	"workings/runner/resolve"
)

// interpolate reads a table linearly between two rows. In a table in blocks it does so in each of
// the two blocks that the value of the first column lies between, and then between the blocks.
func (m *machine) interpolate(i *instr) (float64, *fault) {
	look := Lookup{Table: i.src.Data, Key: i.src.Key, Col: i.src.Col, At: m.regs[i.a]}
	var f *fault
	if look.Table.Blocks == nil {
		look.Between, look.Value, f = m.between(i, &look, 0, len(look.Table.Rows))
	} else {
		look.BlockAt = m.regs[i.b]
		f = m.acrossBlocks(i, &look)
	}
	if f != nil {
		return 0, f
	}
	m.step.lookups = append(m.step.lookups, look)
	return look.Value, nil
}

func (m *machine) acrossBlocks(i *instr, look *Lookup) *fault {
	t, x := look.Table, look.BlockAt
	n := len(t.Blocks) - 1
	first := func(b int) float64 { return t.Rows[t.Blocks[b]][0] }
	at, ok := search(n, first, x)
	if !ok {
		return m.outside(i, t, 0, x, first(0), first(n-1), "")
	}
	look.Blocks = make([]InBlock, 1, 2)
	if !at.Exact {
		look.Blocks = look.Blocks[:2]
	}
	for b := range look.Blocks {
		in, f := &look.Blocks[b], (*fault)(nil)
		if in.Between, in.Value, f = m.between(i, look, t.Blocks[at.Row+b], t.Blocks[at.Row+b+1]); f != nil {
			return f
		}
	}
	look.Between, look.Value = look.Blocks[0].Between, look.Blocks[0].Value
	if !at.Exact {
		look.Value = linear(x, first(at.Row), first(at.Row+1), look.Blocks[0].Value, look.Blocks[1].Value)
	}
	return nil
}

// between reads the rows from up to to by the key of a look-up.
func (m *machine) between(i *instr, look *Lookup, from, to int) (Between, float64, *fault) {
	t, x := look.Table, look.At
	at, ok := search(to-from, func(row int) float64 { return t.Rows[from+row][look.Key] }, x)
	if !ok {
		where := ""
		if t.Blocks != nil {
			u := t.Columns[0].Unit
			where = fmt.Sprintf(" at %s = %s", t.Columns[0].Name, formatValue(u.FromSI(t.Rows[from][0], m.sheet.Ambient), u))
			if b := m.regs[i.b]; !same(b, t.Rows[from][0]) {
				where += fmt.Sprintf(", which %s = %s needs", t.Columns[0].Name, formatValue(u.FromSI(b, m.sheet.Ambient), u))
			}
		}
		return at, 0, m.outside(i, t, look.Key, x, t.Rows[from][look.Key], t.Rows[to-1][look.Key], where)
	}
	at.Row += from
	a := t.Rows[at.Row]
	if at.Exact {
		return at, a[look.Col], nil // a tabulated figure is read as it stands
	}
	b := t.Rows[at.Row+1]
	return at, linear(x, a[look.Key], b[look.Key], a[look.Col], b[look.Col]), nil
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

func (m *machine) outside(i *instr, t *resolve.DataTable, col int, x, first, last float64, where string) *fault {
	u := t.Columns[col].Unit
	show := func(v float64) string { return formatValue(u.FromSI(v, m.sheet.Ambient), u) }
	if s := show(x); s == show(first) || s == show(last) {
		show = func(v float64) string { return fmt.Sprintf("%.12g %s", u.FromSI(v, m.sheet.Ambient), u) }
	}
	there := "it runs"
	if where != "" {
		there = "there it runs"
	}
	return &fault{code: CodeRange, span: i.src.Src.Span(), msg: fmt.Sprintf("%s = %s is outside the table %s%s", t.Columns[col].Name, show(x), t.Name, where),
		hint: fmt.Sprintf("%s from %s to %s, and nothing is extrapolated", there, show(math.Min(first, last)), show(math.Max(first, last)))}
}
