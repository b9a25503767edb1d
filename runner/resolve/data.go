package resolve

import (
	"fmt"

	"workings/runner/diag"
	"workings/runner/lang"
)

func (r *resolver) data(line *Line, s *lang.Data) {
	line.Kind = DataLine
	d := &DataTable{Name: s.Name.Text, Line: line, File: line.File}
	line.Data = d
	r.dataTable(line, s, d)
	d.bad = line.Failed()
	if !r.defineSpace(line, s.Name, "data table") {
		return
	}
	r.scope.data[s.Name.Text] = d
	r.sheet.Data = append(r.sheet.Data, d)
}

func (r *resolver) dataTable(line *Line, s *lang.Data, d *DataTable) {
	at := line // problems of a file's rows carry that file
	if s.From != nil {
		rows, file, ps, err := r.shared.files.Data(r.sheet.File, s)
		if err != nil {
			r.fileFault(line, s.From.Loc, err)
			return
		}
		at = &Line{Kind: BadLine, File: file, Stmt: &lang.Bad{}}
		r.sheet.Problems = append(r.sheet.Problems, ps...)
		for _, p := range ps {
			if p.Severity == diag.Error && line.Problem == nil {
				line.Problem = p
			}
		}
		d.File = file
		if rows == nil || line.Problem != nil {
			return
		}
		s = rows
	}
	defer func() {
		if line.Problem == nil {
			line.Problem = at.Problem
		}
	}()
	seen := map[string]lang.Name{}
	for _, c := range s.Columns {
		if old, twice := seen[c.Name.Key()]; twice {
			r.fail(at, CodeTwice, c.Loc, "the column %s stands twice", c.Name.Text).related(at.File, old.Loc, "first here").hint("give one of them another name")
			return
		}
		seen[c.Name.Key()] = c.Name
		col := DataColumn{Name: c.Name.Text}
		if c.Unit.Text == "" {
			r.fail(at, CodeData, c.Loc, "the column %s has no unit", c.Name.Text).hint("a head is NAME/UNIT, such as h/(kJ/kg); %s/1 where the column is dimensionless", c.Name.Text)
			return
		}
		if c.Unit.Text != "1" {
			u, ok := r.unit(at, &c.Unit)
			if !ok {
				return
			}
			col.Unit = u
		}
		col.Type = Type{Dim: col.Unit.Dimension(), Kind: scaleOf(col.Unit)}
		d.Columns = append(d.Columns, col)
	}
	if len(s.Rows) < 2 || len(d.Columns) < 2 {
		r.fail(at, CodeData, s.Loc, "a data table needs two columns and two rows at least").hint("the first line names the columns: T/K, h/(kJ/kg)")
		return
	}
	for _, row := range s.Rows {
		if len(row.Cells) != len(d.Columns) {
			r.fail(at, CodeData, row.Loc, "this row has %s, and the table has %d columns", figures(len(row.Cells)), len(d.Columns)).hint("one figure a column, with commas between")
			return
		}
		si := make([]float64, len(row.Cells))
		for j, c := range row.Cells {
			if !c.OK {
				r.fail(at, CodeData, c.Loc, "%q is no number", c.Text).hint("figures are written 1234.5 or 1.2e-3; the unit stands in the column's head")
				return
			}
			si[j] = d.Columns[j].Unit.ToSI(c.Value, r.sheet.Ambient)
		}
		d.Rows = append(d.Rows, si)
		d.Spans = append(d.Spans, row.Loc)
	}
	r.order(at, s, d)
}

// order finds the columns that a table can be looked up by. The first one must be such a column.
func (r *resolver) order(at *Line, s *lang.Data, d *DataTable) {
	for j := range d.Columns {
		up, down := true, true
		for i := 1; i < len(d.Rows); i++ {
			if !(d.Rows[i][j] > d.Rows[i-1][j]) {
				up = false
			}
			if !(d.Rows[i][j] < d.Rows[i-1][j]) {
				down = false
			}
		}
		switch {
		case up:
			d.Columns[j].Rising = 1
		case down:
			d.Columns[j].Rising = -1
		}
	}
	if d.Columns[0].Rising != 0 {
		return
	}
	wrong := 1
	for wrong < len(d.Rows)-1 && (d.Rows[wrong][0]-d.Rows[wrong-1][0])*(d.Rows[1][0]-d.Rows[0][0]) > 0 {
		wrong++
	}
	r.fail(at, CodeData, s.Rows[wrong].Cells[0].Loc, "the first column %s is not sorted: it must rise or fall from row to row", d.Columns[0].Name).
		hint("sort the rows by %s; a figure that stands twice cannot be looked up by", d.Columns[0].Name)
}

// dataCall is air_printed.h(T = 305 K): column h, read at T.
func (r *resolver) dataCall(line *Line, e *lang.Call) *Expr {
	d := r.scope.data[e.Of.Text]
	if d == nil {
		if l := r.scope.bad["space "+e.Of.Text]; l != nil {
			r.wait(line, l)
			return nil
		}
		if r.comesLater(line, *e.Of, "the table") {
			return nil
		}
		if r.scope.fluids[e.Of.Text] != nil {
			r.fail(line, CodeArguments, e.Loc, "%s is a fluid, and its properties are read from states", e.Of.Text).
				hint("write `state 1 = %s(p, T)` and then %s_1", e.Of.Text, e.Fn.Text)
			return nil
		}
		f := r.fail(line, CodeUnknownName, e.Of.Loc, "no data table is called %s", e.Of.Text)
		if near := r.near(e.Of.Text, sortedKeys(r.scope.data)); len(near) > 0 {
			f.hint("did you mean %s?", orList(near))
		} else {
			f.hint("define it above in a fence: ```data %s", e.Of.Text)
		}
		return nil
	}
	if d.bad {
		r.wait(line, d.Line)
		return nil
	}
	col := r.column(line, d, e.Fn)
	if col < 0 {
		return nil
	}
	if len(e.Args) != 1 || e.Args[0].Name == nil {
		r.fail(line, CodeArguments, e.Loc, "a table is read at one value of another column, by name").
			hint("for example %s.%s(%s = …)", d.Name, d.Columns[col].Name, d.Columns[0].Name)
		return nil
	}
	key := r.column(line, d, *e.Args[0].Name)
	if key < 0 {
		return nil
	}
	if d.Columns[key].Rising == 0 {
		r.fail(line, CodeData, e.Args[0].Name.Loc, "the column %s neither rises nor falls throughout, so that the table cannot be read by it", d.Columns[key].Name).
			hint("read it by %s", d.Columns[0].Name)
		return nil
	}
	x := r.expr(line, e.Args[0].X)
	if x == nil || !r.truthless(line, x) {
		return nil
	}
	want := &Expr{Op: OpConst, Type: d.Columns[key].Type, Unit: d.Columns[key].Unit, HasU: true, Src: e.Args[0].X}
	if x.Type.Dim != want.Type.Dim {
		r.fail(line, CodeDimension, e.Args[0].X.Span(), "the column %s holds %s, and this is %s", d.Columns[key].Name, want.Type.describe(), x.Type.describe()).
			label("%s", r.sideText(x)).hint("it is tabulated in %s", want.Unit)
		return nil
	}
	if x.Type.Kind == Difference && want.Type.IsTemperature() {
		r.fail(line, CodeTemperature, e.Args[0].X.Span(), "the table is read at a temperature, and this is a temperature difference").hint("add it to a temperature first")
		return nil
	}
	c := d.Columns[col]
	r.reads(line, d.Line)
	out := &Expr{Op: OpData, Args: []*Expr{x}, Data: d, Key: key, Col: col, Type: c.Type, Unit: c.Unit, HasU: !c.Unit.IsNone(), Src: e}
	return out
}

func (r *resolver) column(line *Line, d *DataTable, n lang.Name) int {
	var names []string
	for i, c := range d.Columns {
		if (lang.Name{Text: c.Name}).Key() == n.Key() {
			return i
		}
		names = append(names, c.Name)
	}
	f := r.fail(line, CodeUnknownName, n.Loc, "the table %s has no column %s", d.Name, n.Text)
	if near := r.near(n.Text, names); len(near) > 0 {
		f.hint("did you mean %s?", orList(near))
	} else {
		f.hint("its columns are %s", joinList(names))
	}
	return -1
}

func figures(n int) string {
	if n == 1 {
		return "1 figure"
	}
	return fmt.Sprintf("%d figures", n)
}
