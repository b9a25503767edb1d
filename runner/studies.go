package runner

import (
	"context"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"workings/runner/chart"
	"workings/runner/cycle"
	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/runner/sheet"
	"workings/runner/study"
	"workings/units"
)

// StudyFile is the file name of problems with a study given by Options.Study.
const StudyFile = "the study"

// shortVary is "r_p 2..30 57".
var shortVary = regexp.MustCompile(`^(\s*vary\s+\S+)\s+(\S.*?)\s*\.\.\s*(\S.*?)\s+(\d+)(?:\s+points)?(\s+logarithmic)?\s*$`)

// givenStudy reads a study that stands in no notebook.
func givenStudy(text string) *resolve.GivenStudy {
	if text == "" {
		return nil
	}
	lines := strings.Split(text, "\n")
	for i, l := range lines {
		if m := shortVary.FindStringSubmatch(l); m != nil {
			lines[i] = m[1] + " from " + m[2] + " to " + m[3] + " in " + m[4] + " points" + m[5]
		}
	}
	file := diag.NewFile(StudyFile, []byte(strings.Join(lines, "\n")))
	src := lang.Source{Kind: "study", Info: "given", Span: diag.Span{Start: 0, End: len(file.Text)}}
	at := 0
	for _, l := range lines {
		src.Lines = append(src.Lines, lang.Line{Text: l, Start: at})
		at += len(l) + 1
	}
	block, problems := lang.Parse(file, src)
	return &resolve.GivenStudy{File: file, Stmts: block.Stmts, Problems: problems}
}

// maxAuditLines bounds the lines that are evaluated for the audits at the points of all studies, each
// of which makes a whole trace of the sheet.
const maxAuditLines = 200_000

// studies evaluates those of a notebook.
func studies(ctx context.Context, t *eval.Trace, o Options) ([]*study.Result, error) {
	var out []*study.Result
	left, lines := maxAuditLines, resolve.CountLines(t.Sheet.Lines)
	for _, s := range t.Sheet.Studies {
		if o.Study != "" && s.Line.File.Name != StudyFile {
			continue // only this one was asked for
		}
		opts := study.Options{}
		if o.Progress != nil {
			opts.Progress = func(done, total int) { o.Progress(s.Full(), done, total) }
		}
		if hasCycle(t.Sheet) && s.Points*lines <= left && s.Points <= study.MaxAudited {
			left -= s.Points * lines
			opts.Audit = func(inputs []*resolve.Symbol, values []float64) (int, bool) {
				return auditAt(t, s.Sheet, inputs, values)
			}
		}
		r, err := study.Run(ctx, t, s, opts)
		if err != nil {
			return nil, err
		}
		fluids := s.Family != nil && s.Family.Fluid != nil // of which no trace is made
		r.Unaudited = hasCycle(t.Sheet) && s.Seek == nil && (opts.Audit == nil || fluids)
		out = append(out, r)
	}
	return out, nil
}

func hasCycle(s *resolve.Sheet) bool {
	for _, l := range s.Lines {
		if l.Kind == resolve.CycleLine || l.Sub != nil && hasCycle(l.Sub) {
			return true
		}
	}
	return false
}

// auditAt counts the errors that the audit finds with these values of inputs in the cycles of a sheet
// and of those that it uses; of is "" for the page itself.
func auditAt(t *eval.Trace, of string, inputs []*resolve.Symbol, values []float64) (errors int, ok bool) {
	audits, _ := cycle.Run(t.At(inputs, values))
	for _, a := range audits {
		if of != "" && a.Sheet != of && !strings.HasPrefix(a.Sheet, of+".") {
			continue
		}
		ok = ok || a.Report != nil
		for _, p := range a.Problems {
			if p.Severity == diag.Error {
				errors++
			}
		}
	}
	return errors, ok
}

func (r *Result) studyOf(s *resolve.Study) *study.Result {
	for _, x := range r.Studies {
		if x.Of == s {
			return x
		}
	}
	return nil
}

// listedPoints is how many points of a series a terminal shows.
const listedPoints = 9

// studyRows are a study as text: what it is and the marks, then some of its points.
func (r *Result) studyRows(like Row, x *study.Result) []Row {
	format := func(si float64, u units.Unit) string {
		return units.FormatNumber(u.FromSI(si, r.Trace.Sheet.Ambient), r.Trace.Sheet.Digits)
	}
	like.Kind, like.Text = TableRow, ""
	title := study.Plain(x.Lead())
	if like.Caption != "" {
		title = like.Caption + "; " + title
	}
	if x.Of.Line.File.Name != StudyFile {
		title = "study " + x.Of.Full() + ": " + title
	}
	for _, note := range x.Notes() {
		title += "; " + note
	}
	var rows []Row
	add := func(title string, g study.Grid) {
		row := like
		row.Caption, row.Cells = title, gridCells(g)
		rows = append(rows, row)
	}
	marks := x.Marks(format)
	if len(marks.Rows) > 0 {
		add(title, marks)
		title = ""
	}
	if x.Of.Seek != nil || x.Problem != "" {
		if len(rows) == 0 {
			add(title, study.Grid{})
		}
		return rows
	}
	points, all := x.Table(listedPoints, format)
	if title == "" {
		title = study.Thousands(all) + " points"
	}
	if len(points.Rows) < all {
		title += "; " + strconv.Itoa(len(points.Rows)) + " of them shown"
	}
	add(title, points)
	return rows
}

// gridCells is a table of a study as text, without remarks where there are none.
func gridCells(g study.Grid) [][]string {
	last := len(g.Head)
	if last > 0 && g.Head[last-1].Word == "remark" && !slices.ContainsFunc(g.Rows, func(row study.Row) bool { return row.Cells[len(row.Cells)-1] != "" }) {
		last = max(0, last-1)
	}
	var out [][]string
	head := []string{}
	for _, h := range g.Head[:last] {
		name := h.Word + h.Name
		if !h.Unit.IsNone() {
			name += " / " + divisor(h.Unit)
		}
		head = append(head, name)
	}
	out = append(out, head)
	for _, row := range g.Rows {
		out = append(out, row.Cells[:last])
	}
	return out
}

// StudyListings are the studies as text, each as rows of its own.
func (r *Result) StudyListings() [][]Row {
	var out [][]Row
	for _, x := range r.Studies {
		out = append(out, r.studyRows(Row{Caption: x.Of.Stmt.Caption.Text}, x))
	}
	return out
}

// StudyCSV has all points of the i-th study as comma-separated values.
func (r *Result) StudyCSV(i int) []byte {
	return sheet.StudyTable(r.Doc, r.Trace, r.sheetOptions(), r.Studies[i])
}

// StudyPicture draws what the i-th study keeps, as far as it has one dimension, against the first of
// the inputs that it varies. A seek has no curve.
func (r *Result) StudyPicture(i int) ([]byte, error) {
	x := r.Studies[i]
	if x.Of.Seek != nil || x.Problem != "" {
		return nil, &UsageError{"a seek finds one point and has no curve: vary an input"}
	}
	c := &resolve.Chart{Study: x.Of, Kept: []int{0}}
	for k := 1; k < len(x.Of.Keep); k++ {
		if x.Of.Keep[k].Symbol.Type.Dim == x.Of.Keep[0].Symbol.Type.Dim {
			c.Kept = append(c.Kept, k)
		}
	}
	curves := sheet.StudyCurves(x, c, r.Trace.Sheet.Digits, r.Trace.Sheet.Ambient)
	return chart.Alone(curves.SVG("Study")), nil
}
