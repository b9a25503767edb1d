package sheet

import (
	"slices"

	"workings/runner/eval"
	"workings/runner/resolve"
	"workings/units"
)

// lookups writes the readings of tables of an entry: the rows read, and the sums worked.
func (p *page) lookups(d *draft, e *eval.Entry) {
	line := func(write func()) {
		d.eq(p, "sub look")
		p.rhs()
		write()
		p.blank()
	}
	single, integrated := readings(e)
	for _, t := range integrated {
		line(func() {
			p.raw(`<span class="tx quiet">`)
			p.tableName(t)
			p.raw("read along the whole integral</span>")
		})
	}
	for _, k := range single {
		if len(k.Blocks) == 0 {
			line(func() { p.interpolation(k) })
			continue
		}
		for b := range k.Blocks {
			line(func() { p.inBlock(k, k.Blocks[b]) })
		}
		if len(k.Blocks) == 2 {
			line(func() { p.betweenBlocks(k) })
		}
	}
}

// readings are the look-ups of an entry that a reader can follow, and the tables that were read
// under an integral: there the quadrature reads them at points of its own choice.
func readings(e *eval.Entry) (single []eval.Lookup, integrated []*resolve.DataTable) {
	if len(e.Lookups) == 0 {
		return nil, nil
	}
	type column struct {
		table    *resolve.DataTable
		key, col int
	}
	under := map[column]bool{}
	var walk func(x *resolve.Expr, inside bool)
	walk = func(x *resolve.Expr, inside bool) {
		if x == nil {
			return
		}
		if inside && x.Op == resolve.OpData {
			under[column{x.Data, x.Key, x.Col}] = true
		}
		for i, a := range x.Args {
			walk(a, inside || x.OverInterval() && i == 0)
		}
	}
	for _, x := range expressions(e.Line) {
		walk(x, false)
	}
	for _, k := range e.Lookups {
		switch {
		case !under[column{k.Table, k.Key, k.Col}]:
			single = append(single, k)
		case !slices.Contains(integrated, k.Table):
			integrated = append(integrated, k.Table)
		}
	}
	return single, integrated
}

// expressions are those that a line is evaluated from.
func expressions(l *resolve.Line) []*resolve.Expr {
	xs := []*resolve.Expr{l.X, l.Lo, l.Hi}
	if c := l.Compare; c != nil {
		xs = append(xs, c.X, c.Left, c.Right, c.Tolerance)
	}
	if l.State != nil {
		for _, g := range l.State.Given {
			xs = append(xs, g.X)
		}
	}
	for _, b := range l.Inputs {
		xs = append(xs, b.X)
	}
	return xs
}

// rowsOf are the rows that a look-up read.
func rowsOf(k eval.Lookup) []int {
	var out []int
	add := func(b eval.Between) {
		out = append(out, b.Row)
		if !b.Exact {
			out = append(out, b.Row+1)
		}
	}
	if len(k.Blocks) == 0 {
		add(k.Between)
	}
	for _, b := range k.Blocks {
		add(b.Between)
	}
	return out
}

// cell is a figure of a table as it is tabulated.
func (p *page) cell(t *resolve.DataTable, row, col int) figure {
	u := t.Columns[col].Unit
	return figure{tableNumber(t.Rows[row][col], u, p.ambient), u}
}

// read is a value in the unit of a column, with the digits of the sheet.
func (p *page) read(si float64, u units.Unit) figure { return p.shown(p.valueIn(si, u)) }

func (p *page) tableName(t *resolve.DataTable) {
	if t.Line != nil && t.Line.Block >= 0 && t.Line.File == p.doc.File {
		p.link("D", t.Name)
		p.text(t.Name)
		p.raw("</a>, ")
		return
	}
	p.text(t.Full()) // of a used sheet, whose tables are on its own page
	p.raw(", ")
}

func (p *page) interpolation(k eval.Lookup) {
	t := k.Table
	key, col := t.Columns[k.Key], t.Columns[k.Col]
	at, value := p.read(k.At, key.Unit), p.read(k.Value, col.Unit)
	p.raw(`<span class="tx quiet">`)
	p.tableName(t)
	x0, x1, exact, _ := p.ends(k, k.Between, at)
	if exact {
		p.raw("read in the row ")
		p.figure(x0)
		p.raw("</span>")
		return
	}
	p.raw("between ")
	p.figure(x0)
	p.raw(" and ")
	p.figure(x1)
	p.raw(":</span> ")
	p.straightLine(at.num, x0, x1, p.cell(t, k.Row, k.Col), p.cell(t, k.Row+1, k.Col), value)
}

// ends are the figures of the key that a value lies between; exact where that of one row is the
// value or prints as it, so that the sum would show nothing.
func (p *page) ends(k eval.Lookup, b eval.Between, at figure) (x0, x1 figure, exact bool, row int) {
	x0 = p.cell(k.Table, b.Row, k.Key)
	if b.Exact {
		return x0, x0, true, b.Row
	}
	x1 = p.cell(k.Table, b.Row+1, k.Key)
	switch at.num {
	case x0.num:
		return x0, x0, true, b.Row
	case x1.num:
		return x1, x1, true, b.Row + 1
	}
	return x0, x1, false, b.Row
}

// inBlock writes the first step of a look-up by two properties, within one block.
func (p *page) inBlock(k eval.Lookup, b eval.InBlock) {
	t := k.Table
	at, value := p.read(k.At, t.Columns[k.Key].Unit), p.read(b.Value, t.Columns[k.Col].Unit)
	p.raw(`<span class="tx quiet">`)
	p.tableName(t)
	p.assigned(t, 0, p.cell(t, b.Row, 0))
	p.raw(", ")
	x0, x1, exact, row := p.ends(k, b.Between, at)
	if exact {
		p.raw("read at ")
		p.assigned(t, k.Key, x0)
		p.rowLines(t, eval.Between{Row: row, Exact: true})
		p.raw(":</span> <math>")
		p.mathFigure(value)
		p.raw("</math>")
		return
	}
	p.raw("between ")
	p.assigned(t, k.Key, x0)
	p.raw(" and ")
	p.figure(x1)
	p.rowLines(t, b.Between)
	p.raw(":</span> ")
	p.straightLine(at.num, x0, x1, p.cell(t, b.Row, k.Col), p.cell(t, b.Row+1, k.Col), value)
}

// betweenBlocks writes the second step.
func (p *page) betweenBlocks(k eval.Lookup) {
	t := k.Table
	at := p.read(k.BlockAt, t.Columns[0].Unit)
	x0, x1 := p.cell(t, k.Blocks[0].Row, 0), p.cell(t, k.Blocks[1].Row, 0)
	unit := t.Columns[k.Col].Unit
	p.raw(`<span class="tx quiet">`)
	p.tableName(t)
	p.raw("between ")
	p.assigned(t, 0, x0)
	p.raw(" and ")
	p.figure(x1)
	p.raw(":</span> ")
	p.straightLine(at.num, x0, x1, p.read(k.Blocks[0].Value, unit), p.read(k.Blocks[1].Value, unit), p.read(k.Value, unit))
}

// assigned writes p = 2 MPa.
func (p *page) assigned(t *resolve.DataTable, col int, f figure) {
	p.headSymbol(t.Columns[col].Name)
	p.raw(" = ")
	p.figure(f)
}

// rowLines says where in the file the rows read stand.
func (p *page) rowLines(t *resolve.DataTable, b eval.Between) {
	if t.File == nil || b.Row+1 >= len(t.Spans) && !b.Exact || b.Row >= len(t.Spans) {
		return
	}
	p.raw(" (")
	if t.File != p.doc.File {
		p.text(t.File.Name)
		p.raw(", ")
	}
	first := itoa(t.File.Line(t.Spans[b.Row].Start))
	if b.Exact {
		p.raw("line ", first, ")")
		return
	}
	p.raw("lines ", first, " and ", itoa(t.File.Line(t.Spans[b.Row+1].Start)), ")")
}

// straightLine writes y0 + (x − x0)/(x1 − x0) × (y1 − y0) = y with its figures.
func (p *page) straightLine(at string, x0, x1, y0, y1, y figure) {
	bracket := func(f figure) {
		if f.negative() {
			p.raw(`<mo stretchy="false">(</mo>`)
			p.num(f.num)
			p.raw(`<mo stretchy="false">)</mo>`)
			return
		}
		p.num(f.num)
	}
	p.raw("<math>")
	p.num(y0.num)
	p.raw(`</math><wbr/><math displaystyle="true"><mo form="infix">+</mo><mfrac><mrow>`)
	p.num(at)
	p.raw("<mo>−</mo>")
	bracket(x0)
	p.raw("</mrow><mrow>")
	p.num(x1.num)
	p.raw("<mo>−</mo>")
	bracket(x0)
	p.raw(`</mrow></mfrac></math><wbr/><math><mo>×</mo><mo stretchy="false">(</mo>`)
	p.num(y1.num)
	p.raw("<mo>−</mo>")
	bracket(y0)
	p.raw(`<mo stretchy="false">)</mo></math><wbr/><math><mo>=</mo>`)
	p.mathFigure(y)
	p.raw("</math>")
}

func (p *page) jsonLookup(k eval.Lookup) jsonLookup {
	t := k.Table
	j := jsonLookup{Table: t.Full(), Key: t.Columns[k.Key].Name, Column: t.Columns[k.Col].Name, At: number(k.At), Row: k.Row + 1, Value: number(k.Value)}
	if len(k.Blocks) == 0 {
		return j
	}
	j.Between = &jsonBlocks{Key: t.Columns[0].Name, At: number(k.BlockAt)}
	for _, b := range k.Blocks {
		jb := jsonBlock{At: number(t.Rows[b.Row][0]), Value: number(b.Value)}
		corner := func(row int) {
			jb.Corners = append(jb.Corners, jsonCorner{row + 1, p.fileOf(t.File), t.File.Line(t.Spans[row].Start), number(t.Rows[row][k.Key]), number(t.Rows[row][k.Col])})
		}
		corner(b.Row)
		if !b.Exact {
			corner(b.Row + 1)
		}
		j.Between.Blocks = append(j.Between.Blocks, jb)
	}
	return j
}
