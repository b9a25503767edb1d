package sheet

import (
	"archive/zip"
	"bytes"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"workings/propsdb"
	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/notebook"
	"workings/runner/resolve"
	"workings/units"
)

// workbook is one spreadsheet workbook being written.
//
// The values stand in coherent SI units, and every formula runs over those, as the engine does.
// Beside each stands the value in the unit of the sheet, and between the two, in cells of their own,
// the factor and the offset of the conversion.
type workbook struct {
	*page
	f             *excelize.File
	inputs, lines []*bookRow
	rows          map[*resolve.Symbol]*bookRow
	entryRow      map[*eval.Entry]*bookRow
	states        []*resolve.State
	stateRow      map[*resolve.State]*bookRow
	names         []*bookRow // that have a defined name
	nameOf        map[*bookRow]string
	taken         map[string]bool
	styles        map[style]int
	err           error // the first; after it nothing is written
}

// style is how a cell looks.
type style struct {
	format          string // of a number
	bold, box, wrap bool
	big             bool
}

// Workbook writes the sheet as a spreadsheet workbook (ECMA-376) in which a line whose expression a
// spreadsheet can evaluate is a formula: change an input, and what follows from it follows. What was
// looked up, solved or integrated is a value, and is marked as stale once what it rests on changes.
// The error is a *LimitError, or what w returned.
func Workbook(to io.Writer, doc *notebook.Document, tr *eval.Trace, o Options) error {
	w := &workbook{
		page: newPage(doc, tr, o), f: excelize.NewFile(), rows: map[*resolve.Symbol]*bookRow{}, entryRow: map[*eval.Entry]*bookRow{},
		stateRow: map[*resolve.State]*bookRow{}, nameOf: map[*bookRow]string{}, taken: map[string]bool{}, styles: map[style]int{},
	}
	defer w.f.Close()
	for _, e := range tr.Entries {
		w.collect(e)
	}
	if max(len(w.lines), len(w.inputs)) >= excelize.TotalRows {
		return &LimitError{File: doc.File.Name, Max: MaxPage}
	}
	w.check(w.f.SetSheetName("Sheet1", "Summary"))
	names := []string{"Inputs", "Lines", "States", "Checks", "Assumptions", "Sources"}
	if len(o.Studies) > 0 {
		names = append(names, "Studies")
	}
	if o.Sensitivities != nil {
		names = append(names, "Uncertainty")
	}
	for _, name := range names {
		_, err := w.f.NewSheet(name)
		w.check(err)
	}
	for _, r := range w.names {
		w.check(w.f.SetDefinedName(&excelize.DefinedName{Name: w.nameOf[r], RefersTo: r.si(), Comment: clip(w.nameComment(r), 255)}))
	}
	w.summarySheet()
	w.inputSheet()
	w.lineSheet()
	w.stateSheet()
	w.checkSheet()
	w.assumptionSheet()
	w.sourceSheet()
	w.studySheet()
	w.uncertaintySheet()
	w.properties()
	if w.err != nil {
		return w.err
	}
	return w.save(to)
}

func (w *workbook) check(err error) {
	if w.err == nil {
		w.err = err
	}
}

func (w *workbook) nameComment(r *bookRow) string {
	unit := units.SIUnit(r.v.Unit.Dimension())
	return strings.TrimSpace(r.caption + " [" + divisor(unit) + "]")
}

// clip shortens a text to what a spreadsheet takes.
func clip(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return s
}

// properties name the tool and no person, at no time: the same notebook gives the same bytes.
func (w *workbook) properties() {
	const never = "1980-01-01T00:00:00Z" // the first moment that the format of the file knows
	w.check(w.f.SetDocProps(&excelize.DocProperties{Creator: "Workings", LastModifiedBy: "Workings", Created: never, Modified: never,
		Title: diag.Visible(w.title), Subject: "not verified for design use", Identifier: diag.Visible(w.doc.Front.Number.Text), Revision: "1"}))
	w.check(w.f.SetAppProps(&excelize.AppProperties{Application: "Workings", AppVersion: "1.0"}))
	on := true
	w.check(w.f.SetCalcProps(&excelize.CalcPropsOptions{FullCalcOnLoad: &on}))
}

// save writes the file with its parts in one order: excelize has none for the sheets.
func (w *workbook) save(to io.Writer) error {
	b, err := w.f.WriteToBuffer()
	if err != nil {
		return err
	}
	in, err := zip.NewReader(bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		return err
	}
	slices.SortFunc(in.File, func(a, b *zip.File) int { return strings.Compare(a.Name, b.Name) })
	out := zip.NewWriter(to)
	for _, part := range in.File {
		r, err := part.Open()
		if err != nil {
			return err
		}
		p, err := out.CreateHeader(&zip.FileHeader{Name: part.Name, Method: zip.Deflate})
		if err == nil {
			_, err = io.Copy(p, r)
		}
		if err != nil {
			return err
		}
	}
	return out.Close()
}

// grid writes one sheet of the workbook from the top.
type grid struct {
	*workbook
	to  *excelize.StreamWriter
	row int
}

func (w *workbook) grid(name string, widths ...float64) *grid {
	landscape, wide := "landscape", 1
	tall := 0
	w.check(w.f.SetPageLayout(name, &excelize.PageLayoutOptions{Orientation: &landscape, FitToWidth: &wide, FitToHeight: &tall}))
	fit := true
	w.check(w.f.SetSheetProps(name, &excelize.SheetPropsOptions{FitToPage: &fit}))
	w.check(w.f.SetHeaderFooter(name, &excelize.HeaderFooterOptions{OddFooter: "&LNot verified for design use&R&A, sheet &P of &N"}))
	to, err := w.f.NewStreamWriter(name)
	w.check(err)
	if to != nil {
		for i, width := range widths {
			w.check(to.SetColWidth(i+1, i+1, width))
		}
	}
	return &grid{workbook: w, to: to}
}

// freeze keeps the head and the first columns in sight.
func (g *grid) freeze(columns int) {
	corner, err := excelize.CoordinatesToCellName(columns+1, 2)
	g.check(err)
	if g.err == nil {
		g.check(g.to.SetPanes(&excelize.Panes{Freeze: true, XSplit: columns, YSplit: 1, TopLeftCell: corner, ActivePane: "bottomRight"}))
	}
}

func (g *grid) head(cells ...string) {
	values := make([]any, len(cells))
	for i, c := range cells {
		values[i] = excelize.Cell{Value: c, StyleID: g.style(style{bold: true, wrap: true})}
	}
	g.put(values...)
}

// put writes the next row. A string is text, whatever it begins with.
func (g *grid) put(values ...any) {
	g.row++
	if g.err != nil {
		return
	}
	for i, v := range values {
		if s, ok := v.(string); ok {
			values[i] = any(nil)
			if s != "" {
				values[i] = diag.Visible(s)
			}
		}
	}
	g.check(g.to.SetRow("A"+strconv.Itoa(g.row), values))
}

func (g *grid) end() {
	if g.err == nil {
		g.check(g.to.Flush())
	}
}

// bold is a cell of text that stands out.
func (g *grid) bold(s string) excelize.Cell {
	return excelize.Cell{Value: diag.Visible(s), StyleID: g.style(style{bold: true})}
}

// live is a formula with the value it has as rendered.
func (g *grid) live(formula string, value any, st style) excelize.Cell {
	if !strings.HasPrefix(formula, "=") { // a fixed text
		return excelize.Cell{Value: formula}
	}
	return excelize.Cell{Formula: formula[1:], Value: value, StyleID: g.style(st)}
}

func (w *workbook) style(s style) int {
	if id, ok := w.styles[s]; ok {
		return id
	}
	x := &excelize.Style{Font: &excelize.Font{Bold: s.bold}, Alignment: &excelize.Alignment{Vertical: "top", WrapText: s.wrap}}
	if s.big {
		x.Font.Size = 14
	}
	if s.format != "" {
		x.CustomNumFmt = &s.format
	}
	if s.box {
		for _, side := range []string{"left", "right", "top", "bottom"} {
			x.Border = append(x.Border, excelize.Border{Type: side, Style: 1, Color: "000000"})
		}
	}
	id, err := w.f.NewStyle(x)
	w.check(err)
	w.styles[s] = id
	return id
}

// numberFormat shows a value with the sheet's digits.
func (w *workbook) numberFormat(v float64) string {
	return digitFormat(v, w.digits)
}

// stateProperties are the columns of the table of states: what the states of the sheet have.
func (w *workbook) stateProperties() []propsdb.Property {
	var out []propsdb.Property
	for _, s := range w.states {
		for _, sym := range s.Props {
			if _, ok := w.valueOf(sym); ok && !slices.Contains(out, sym.Prop) {
				out = append(out, sym.Prop)
			}
		}
	}
	slices.Sort(out)
	return out
}

func (w *workbook) preferred(s *resolve.Symbol) units.Unit {
	dim := s.Unit.Dimension()
	if u, ok := units.Preferred(dim, w.tr.Sheet.System); ok && u.Kind() != units.Point {
		return u
	}
	return units.SIUnit(dim)
}

// answerLines are the lines of the sheet's answers fences.
func (w *workbook) answerLines() []*resolve.Line {
	var out []*resolve.Line
	for _, l := range w.tr.Sheet.Lines {
		if _, ok := l.Stmt.(*lang.Answer); ok && l.Shown != nil && l.Shown.Symbol != nil {
			out = append(out, l)
		}
	}
	return out
}
