package resolve

import (
	"fmt"
	"strings"

	"workings/runner/diag"
	"workings/runner/lang"
	"workings/units"
)

// order finds the columns that a table can be looked up by. The first one must be such a column:
// it rises or falls from row to row or, in a table by two properties, from block to block.
func (r *resolver) order(at *Line, s *lang.Data, d *DataTable) {
	n := len(d.Rows)
	for j := range d.Columns {
		d.Columns[j].Rising = d.sense(j, 0, n)
	}
	first := &d.Columns[0]
	if first.Rising != 0 {
		return
	}
	blocks := []int{0}
	sense := 0
	for i := 1; i < n; i++ {
		step := compare(d.Rows[i][0], d.Rows[i-1][0])
		if step == 0 {
			continue
		}
		if sense == 0 {
			sense = step
		}
		if step != sense {
			f := r.fail(at, CodeData, s.Rows[i].Cells[0].Loc, "the first column %s is not sorted: it must rise or fall from row to row", first.Name).
				hint("sort the rows by %s; a figure that stands twice cannot be looked up by", first.Name)
			if len(d.Columns) > 2 {
				f.hint("sort the rows by %s; in a table by two properties it rises or falls from block to block, and is the same within a block", first.Name)
			}
			return
		}
		blocks = append(blocks, i)
	}
	blocks = append(blocks, n)
	if len(d.Columns) == 2 {
		for i := 1; i < n; i++ {
			if d.Rows[i][0] == d.Rows[i-1][0] {
				r.fail(at, CodeData, s.Rows[i].Cells[0].Loc, "the figure %s of the first column %s stands twice", s.Rows[i].Cells[0].Text, first.Name).
					related(at.File, s.Rows[i-1].Loc, "first here").hint("sort the rows by %s; a figure that stands twice cannot be looked up by", first.Name)
				return
			}
		}
	}
	if !r.blocksOrdered(at, s, d, blocks) {
		return
	}
	first.Rising, d.Blocks = sense, blocks
	for j := 1; j < len(d.Columns); j++ {
		within := true
		for b := range len(blocks) - 1 {
			within = within && d.sense(j, blocks[b], blocks[b+1]) != 0
		}
		d.Columns[j].Rising, d.Columns[j].Within = 0, within
	}
}

// blocksOrdered reports what keeps a table from being read by its first two columns.
func (r *resolver) blocksOrdered(at *Line, s *lang.Data, d *DataTable, blocks []int) bool {
	first, second := d.Columns[0], d.Columns[1]
	named := func(row, col int) string {
		return strings.TrimSuffix(fmt.Sprintf("%s = %s %s", d.Columns[col].Name, s.Rows[row].Cells[col].Text, unitWord(d.Columns[col].Unit)), " ")
	}
	if len(blocks) == 2 {
		r.fail(at, CodeData, s.Rows[1].Cells[0].Loc, "the first column %s is the same throughout, so that the table cannot be read by it", first.Name).
			hint("give a second block with another %s, or leave the column out", first.Name)
		return false
	}
	for b := range len(blocks) - 1 {
		from, to := blocks[b], blocks[b+1]
		if to-from < 2 {
			r.fail(at, CodeData, s.Rows[from].Loc, "this row is a block of its own, and a block of a table by two properties has two rows at least").
				hint("%s stands in other rows more than once: add a row for %s, or remove the repetition", first.Name, named(from, 0))
			return false
		}
		sense := compare(d.Rows[from+1][1], d.Rows[from][1])
		seen := map[float64]int{d.Rows[from][1]: from}
		for i := from + 1; i < to; i++ {
			x := d.Rows[i][1]
			if old, twice := seen[x]; twice {
				r.fail(at, CodeData, s.Rows[i].Loc, "the pair %s, %s stands twice", named(i, 0), named(i, 1)).
					related(at.File, s.Rows[old].Loc, "first here").hint("remove one of the two rows")
				return false
			}
			seen[x] = i
			if compare(x, d.Rows[i-1][1]) != sense {
				r.fail(at, CodeData, s.Rows[i].Cells[1].Loc, "the second column %s is not sorted in the block of %s: there it must rise or fall from row to row", second.Name, named(i, 0)).
					hint("sort the rows of each block by %s", second.Name)
				return false
			}
		}
	}
	return true
}

// sense is +1 where a column rises strictly over some rows, −1 where it falls, else 0.
func (d *DataTable) sense(col, from, to int) int {
	out := compare(d.Rows[from+1][col], d.Rows[from][col])
	for i := from + 2; i < to; i++ {
		if compare(d.Rows[i][col], d.Rows[i-1][col]) != out {
			return 0
		}
	}
	return out
}

func compare(a, b float64) int {
	switch {
	case a > b:
		return 1
	case a < b:
		return -1
	}
	return 0
}

func unitWord(u units.Unit) string {
	if u.IsNone() {
		return ""
	}
	return u.String()
}

// keys are the column that a table is read by, and its value; in a table in blocks the value of the
// first column follows. The values are nil where the call is at fault, which is reported.
func (r *resolver) keys(line *Line, d *DataTable, e *lang.Call, col int) (int, []*Expr) {
	read := d.Columns[col].Name
	form := fmt.Sprintf("for example %s.%s(%s = …)", d.Name, read, d.Columns[0].Name)
	if d.Blocks != nil {
		form = fmt.Sprintf("for example %s.%s(%s = …, %s = …)", d.Name, read, d.Columns[0].Name, d.Columns[1].Name)
	}
	bad := func(at diag.Span, format string, args ...any) (int, []*Expr) {
		r.fail(line, CodeArguments, at, format, args...).hint("%s", form)
		return 0, nil
	}
	for _, a := range e.Args {
		if a.Name == nil {
			if d.Blocks != nil {
				return bad(e.Loc, "a table in blocks is read at a value of its first column and of another, by name")
			}
			return bad(e.Loc, "a table is read at one value of another column, by name")
		}
	}
	at := make([]int, len(e.Args))
	for i, a := range e.Args {
		if at[i] = r.column(line, d, *a.Name); at[i] < 0 {
			return 0, nil
		}
	}
	switch {
	case len(e.Args) == 0:
		return bad(e.Loc, "a table is read at a value of another column, by name")
	case len(e.Args) > 2:
		return bad(e.Loc, "a table is read by one or by two properties, and these are %d", len(e.Args))
	case d.Blocks == nil && len(e.Args) == 2:
		return bad(e.Loc, "the table %s is read by one property: its first column %s differs from row to row", d.Name, d.Columns[0].Name)
	case d.Blocks == nil:
		return r.key(line, d, &e.Args[0], at[0])
	case len(e.Args) == 1:
		return bad(e.Loc, "the table %s is by two properties, %s and another, and this gives only %s", d.Name, d.Columns[0].Name, d.Columns[at[0]].Name)
	case at[0] == at[1]:
		return bad(e.Args[1].Name.Loc, "%s is given twice", d.Columns[at[1]].Name)
	case at[0] != 0 && at[1] != 0:
		return bad(e.Loc, "the table %s is read by its first column %s and another, and this gives %s and %s", d.Name, d.Columns[0].Name, d.Columns[at[0]].Name, d.Columns[at[1]].Name)
	}
	block, within := 0, 1
	if at[1] == 0 {
		block, within = 1, 0
	}
	_, x0 := r.key(line, d, &e.Args[block], 0)
	key, x := r.key(line, d, &e.Args[within], at[within])
	if x0 == nil || x == nil {
		return 0, nil
	}
	return key, []*Expr{x[0], x0[0]}
}

// key checks one value that a table is read at.
func (r *resolver) key(line *Line, d *DataTable, a *lang.Arg, key int) (int, []*Expr) {
	c := d.Columns[key]
	if c.Rising == 0 && !c.Within {
		f := r.fail(line, CodeData, a.Name.Loc, "the column %s neither rises nor falls throughout, so that the table cannot be read by it", c.Name)
		if d.Blocks != nil && f != nil {
			f.p.Message = fmt.Sprintf("the column %s neither rises nor falls in every block, so that the table cannot be read by it", c.Name)
			f.hint("read it by %s and %s", d.Columns[0].Name, d.Columns[1].Name)
		} else {
			f.hint("read it by %s", d.Columns[0].Name)
		}
		return 0, nil
	}
	x := r.expr(line, a.X)
	if x == nil || !r.truthless(line, x) {
		return 0, nil
	}
	if x.Type.Dim != c.Type.Dim {
		r.fail(line, CodeDimension, a.X.Span(), "the column %s holds %s, and this is %s", c.Name, c.Type.describe(), x.Type.describe()).
			label("%s", r.sideText(x)).hint("it is tabulated in %s", c.Unit)
		return 0, nil
	}
	if x.Type.Kind == Difference && c.Type.IsTemperature() {
		r.fail(line, CodeTemperature, a.X.Span(), "the table is read at a temperature, and this is a temperature difference").hint("add it to a temperature first")
		return 0, nil
	}
	return key, []*Expr{x}
}
