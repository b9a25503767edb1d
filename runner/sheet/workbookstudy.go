package sheet

import (
	"math"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"workings/runner/study"
	"workings/units"
)

// bookPoints is how many rows of points the workbook holds of all studies together.
const bookPoints = 50_000

// studySheet has the studies one below the other: what they are, their marks, their points.
func (w *workbook) studySheet() {
	if len(w.o.Studies) == 0 {
		return
	}
	g := w.grid("Studies", 30, 16, 16, 16, 16, 16, 16, 16, 16, 40)
	g.put("Values of the notebook as it was evaluated: they do not follow when inputs are changed here.")
	left := bookPoints
	for _, r := range w.o.Studies {
		g.put()
		g.put(g.bold("Study " + r.Of.Full()))
		g.put(study.Plain(r.Lead()))
		for _, note := range r.Notes() {
			g.put(note)
		}
		if marks := r.Marks(w.studyFormat); len(marks.Rows) > 0 {
			w.studyHead(g, marks.Head)
			g.putRows(marks)
		}
		left = w.studyPoints(g, r, left)
	}
	g.end()
}

func (w *workbook) studyHead(g *grid, head []study.Head) {
	cells := make([]any, len(head))
	for i, h := range head {
		name := h.Word + h.Name
		if !h.Unit.IsNone() {
			name += " / " + divisor(h.Unit)
		}
		cells[i] = g.bold(name)
	}
	g.put(cells...)
}

// putRows writes the rows of a table of a study: as a number what is one, as it was rounded there.
func (g *grid) putRows(t study.Grid) {
	for _, row := range t.Rows {
		cells := make([]any, len(row.Cells))
		for i, c := range row.Cells {
			cells[i] = c
			if v, ok := numberOf(c); ok {
				cells[i] = excelize.Cell{Value: v, StyleID: g.style(style{format: g.numberFormat(v)})}
			}
		}
		g.put(cells...)
	}
}

// numberOf reads a printed number, such as −1.2×10⁻⁵.
func numberOf(text string) (float64, bool) {
	v, err := strconv.ParseFloat(asciiNumber.Replace(plainDigits.Replace(text)), 64)
	return v, err == nil && !math.IsInf(v, 0) && !math.IsNaN(v)
}

var asciiNumber = strings.NewReplacer("−", "-", "×10", "e")

// studyPoints writes the points as numbers, and says where the rest is.
func (w *workbook) studyPoints(g *grid, r *study.Result, left int) int {
	t, _ := r.Table(2, w.studyFormat) // for its head
	written := false
	for _, x := range r.Series {
		if x.Inputs == nil {
			continue
		}
		if !written {
			w.studyHead(g, t.Head)
			written = true
		}
		for point := range x.Inputs[0] {
			if left == 0 {
				g.put("More points than a workbook is for: render --csv writes all of them.")
				return 0
			}
			left--
			g.put(w.studyRow(g, r, x, point)...)
		}
	}
	return left
}

func (w *workbook) studyRow(g *grid, r *study.Result, x *study.Series, point int) []any {
	number := func(si float64, u units.Unit) any {
		if math.IsNaN(si) {
			return nil
		}
		v := w.valueIn(si, u)
		return excelize.Cell{Value: v.Shown, StyleID: g.style(style{format: g.numberFormat(v.Shown)})}
	}
	var cells []any
	if family := r.Of.Family; x.Fluid != nil {
		cells = append(cells, x.Fluid.Name)
	} else if family != nil {
		cells = append(cells, number(x.Value, family.Unit))
	}
	for i, c := range x.Inputs {
		cells = append(cells, number(c[point], r.InputUnit(i)))
	}
	for i, c := range x.Kept {
		cells = append(cells, number(c[point], r.Of.Keep[i].Unit))
	}
	return append(cells, x.Remark(point))
}
