package sheet

import (
	"bytes"
	"encoding/json"
	"maps"
	"slices"

	"workings/propsdb"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/notebook"
	"workings/runner/resolve"
	"workings/units"
)

type (
	jsonFluid struct {
		Kind       string          `json:"kind"`
		Fluid      string          `json:"fluid"`
		Model      string          `json:"model"`
		Data       string          `json:"data,omitempty"`
		Version    string          `json:"version,omitempty"`
		SHA256     string          `json:"sha256,omitempty"`
		Note       string          `json:"note,omitempty"`
		Accuracy   string          `json:"accuracy,omitempty"`
		Licence    string          `json:"licence,omitempty"`
		Datum      string          `json:"datum"`
		R          number          `json:"R"`
		M          number          `json:"M,omitempty"`
		Cp         *number         `json:"cp,omitempty"`
		Tmin       *number         `json:"T_min,omitempty"`
		Tmax       *number         `json:"T_max,omitempty"`
		Components []jsonComponent `json:"components,omitempty"`
		Intervals  []jsonInterval  `json:"intervals,omitempty"`
		// Equations are those of water (propsdb.Fluid.Equations).
		Equations members `json:"equations,omitempty"`
	}
	// jsonInterval is a temperature range of the nine-coefficient form of NASA/TP-2002-211556
	// (propsdb.Interval), divided by R and on the fluid's own datum.
	jsonInterval struct {
		Tmin number    `json:"T_min"`
		Tmax number    `json:"T_max"`
		A    [7]number `json:"a"`
		B    [2]number `json:"b"`
	}
	jsonComponent struct {
		Gas  string `json:"gas"`
		Mole number `json:"mole"`
		Mass number `json:"mass"`
		M    number `json:"M"`
	}
	jsonFootnote struct {
		Kind  string `json:"kind"`
		Label string `json:"label"`
		Text  string `json:"text"`
		Line  int    `json:"line"`
	}
	jsonNotebook struct {
		Kind   string `json:"kind"`
		File   string `json:"file"`
		As     string `json:"as,omitempty"`
		SHA256 string `json:"sha256,omitempty"`
		Line   int    `json:"line"`
		// Ambient is the pressure, Pa, from which its gauge pressures count.
		Ambient number `json:"ambient,omitempty"`
	}
	jsonTable struct {
		Kind    string       `json:"kind"`
		Name    string       `json:"name"`
		Also    []string     `json:"also,omitempty"` // names by which further variants of a used sheet know it
		File    string       `json:"file,omitempty"`
		SHA256  string       `json:"sha256,omitempty"` // of the file, where it is not the notebook
		Columns []jsonColumn `json:"columns"`
		Rows    [][]number   `json:"rows"` // SI
	}
	jsonColumn struct {
		Symbol string `json:"symbol"`
		Unit   string `json:"unit"`
		SIUnit string `json:"si_unit"`
	}
)

func (p *page) jsonSources() []any {
	out := []any{}
	for _, n := range p.doc.Footnotes {
		line := p.doc.File.Line(n.Span.Start)
		out = append(out, jsonFootnote{"footnote", n.Label, notebook.PlainText(n.Node, p.doc.Source), line})
	}
	for _, f := range p.tr.Fluids {
		if f.Fluid != nil {
			out = append(out, jsonFluidOf(f))
		}
	}
	for _, l := range dataTables(p.tr.Sheet) {
		out = append(out, p.jsonTable(l))
	}
	for _, e := range p.uses() {
		stmt, ok := e.Line.Stmt.(*lang.Use)
		if !ok {
			continue
		}
		n := jsonNotebook{Kind: "notebook", Line: typedLine(e.Line)}
		switch {
		case stmt.Library != nil:
			n.Kind, n.File = "library", stmt.Library.Text
		case stmt.Path != nil:
			n.File = stmt.Path.Value
		}
		if stmt.As != nil {
			n.As = stmt.As.Text
		}
		if e.Line.Sub != nil && e.Line.Sub.File != nil {
			n.SHA256 = Hash(e.Line.Sub.File.Text)
			n.Ambient = number(e.Line.Sub.Ambient)
		}
		out = append(out, n)
	}
	return out
}

func (p *page) jsonTable(l listedTable) jsonTable {
	d := l.DataTable
	t := jsonTable{Kind: "data", Name: d.Full(), Also: l.also, File: p.fileOf(d.File), Columns: []jsonColumn{}, Rows: [][]number{}}
	if t.File != "" {
		t.SHA256 = Hash(d.File.Text)
	}
	for _, c := range d.Columns {
		unit := "1"
		if !c.Unit.IsNone() {
			unit = c.Unit.String()
		}
		t.Columns = append(t.Columns, jsonColumn{c.Name, unit, units.SIUnit(c.Unit.Dimension()).String()})
	}
	for _, r := range d.Rows {
		row := make([]number, len(r))
		for i, v := range r {
			row[i] = number(v)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// equations are those of water in the order of their names.
func equations(f *propsdb.Fluid) members {
	all := f.Equations()
	var out members
	for _, name := range slices.Sorted(maps.Keys(all)) {
		var compact, escaped bytes.Buffer
		if json.Compact(&compact, all[name]) == nil { // the file of the tool itself
			json.HTMLEscape(&escaped, compact.Bytes())
			out = append(out, member{name, encoded(escaped.Bytes())})
		}
	}
	return out
}

// listedTable is a data table with the further names that it goes by.
type listedTable struct {
	*resolve.DataTable
	also []string
}

// dataTables are those of a sheet and of the sheets it uses. Variants of one used sheet have one table.
func dataTables(s *resolve.Sheet) []listedTable {
	var out []listedTable
	at := map[lang.Stmt]int{}
	var gather func(s *resolve.Sheet)
	gather = func(s *resolve.Sheet) {
		for _, d := range s.Data {
			if i, known := at[d.Line.Stmt]; known {
				out[i].also = append(out[i].also, d.Full())
				continue
			}
			at[d.Line.Stmt] = len(out)
			out = append(out, listedTable{DataTable: d})
		}
		for _, l := range s.Lines {
			if l.Sub != nil {
				gather(l.Sub)
			}
		}
	}
	gather(s)
	return out
}

func jsonFluidOf(u eval.FluidUse) jsonFluid {
	f := u.Fluid
	src := f.Source()
	j := jsonFluid{Kind: "property-data", Fluid: u.Name, Model: f.Kind().String(), Data: src.Data, Version: src.Version, SHA256: src.Hash,
		Note: src.Note, Accuracy: src.Accuracy, Licence: src.Licence, Datum: f.Datum().String(), R: number(f.R()), M: number(f.M())}
	if f.Kind() == propsdb.PerfectGas {
		if cp, err := f.Cp(propsdb.StandardTemperature); err == nil {
			n := number(cp)
			j.Cp = &n
		}
		return j
	}
	j.Equations = equations(f)
	lo, hi := f.Range()
	tmin, tmax := number(lo), number(hi)
	j.Tmin, j.Tmax = &tmin, &tmax
	for _, c := range f.Components() {
		j.Components = append(j.Components, jsonComponent{c.Gas, number(c.Mole), number(c.Mass), number(c.M)})
	}
	for _, iv := range f.Intervals() {
		ji := jsonInterval{Tmin: number(iv.Tmin), Tmax: number(iv.Tmax), B: [2]number{number(iv.B1), number(iv.B2)}}
		for i, a := range iv.A {
			ji.A[i] = number(a)
		}
		j.Intervals = append(j.Intervals, ji)
	}
	return j
}
