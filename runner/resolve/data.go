package resolve

import (
	"fmt"
	"strings"

	"workings/runner/diag"
	"workings/runner/lang"
)

func (r *resolver) data(line *Line, s *lang.Data) {
	line.Kind = DataLine
	d := &DataTable{Name: s.Name.Text, Sheet: r.sheet.Name, Line: line, File: line.File}
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

// dataCall is air_printed.h(T = 305 K): column h, read at T; or steam.h(p = 2 MPa, T = 350 °C) of a
// table in blocks.
func (r *resolver) dataCall(line *Line, e *lang.Call) *Expr {
	d := r.scope.data[e.Of.Text]
	if d == nil {
		if r.scope.fluids[e.Of.Text] != nil || strings.HasPrefix(e.Of.Text, "fluid_") {
			return r.propertyCall(line, e)
		}
		if l := r.scope.bad["space "+e.Of.Text]; l != nil {
			r.wait(line, l)
			return nil
		}
		if r.comesLater(line, *e.Of, "the table") {
			return nil
		}
		f := r.fail(line, CodeUnknownName, e.Of.Loc, "no data table and no fluid is called %s", e.Of.Text)
		if near := r.near(e.Of.Text, append(sortedKeys(r.scope.data), sortedKeys(r.scope.fluids)...)); len(near) > 0 {
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
	key, args := r.keys(line, d, e, col)
	if args == nil {
		return nil
	}
	c := d.Columns[col]
	r.reads(line, d.Line)
	return &Expr{Op: OpData, Args: args, Data: d, Key: key, Col: col, Type: c.Type, Unit: c.Unit, HasU: !c.Unit.IsNone(), Src: e}
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
