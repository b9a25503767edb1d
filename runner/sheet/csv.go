package sheet

import (
	"bytes"
	"encoding/csv"
	"math"
	"strconv"
	"strings"

	"workings/runner/eval"
	"workings/runner/notebook"
	"workings/runner/resolve"
	"workings/units"
)

// TableFile is a table of the sheet as comma-separated values.
type TableFile struct {
	Name string // what follows the notebook's name: "table-1"
	Text []byte // RFC 4180, UTF-8
}

// Tables are the summary tables of a notebook, in reading order, each as a file of its own. The head
// of a column is quantity/unit (ISO 80000-1, 7.1.4, from memory), the figures are unrounded, and a
// `data` fence reads the file of a table of states back to the same numbers.
func Tables(doc *notebook.Document, tr *eval.Trace, o Options) []TableFile {
	p := newPage(doc, tr, o)
	var out []TableFile
	n := 0
	for _, l := range tr.Sheet.Lines {
		t := l.Table
		if l.Kind != resolve.TableLine || t == nil || l.Problem != nil {
			continue // the sheet does not number it either
		}
		n++
		name := "table-" + itoa(n)
		if len(t.States) > 0 {
			out = append(out, TableFile{name, p.csvStates(t)})
		}
		if len(t.Symbols) > 0 {
			if len(t.States) > 0 {
				name += "-symbols"
			}
			out = append(out, TableFile{name, p.csvSymbols(t)})
		}
	}
	for _, r := range o.Studies {
		out = append(out, TableFile{"study-" + r.Of.Full(), p.csvStudy(r)})
	}
	if o.Sensitivities != nil {
		out = append(out, TableFile{"sensitivity", p.csvSensitivities()})
	}
	return out
}

// csvStates begins with the states' names, which a `data` fence passes over, and the number of the
// row, which is what it looks up by: no property need rise from state to state.
func (p *page) csvStates(t *resolve.Table) []byte {
	head := []string{"state", "row/1"}
	for _, c := range t.Columns {
		head = append(head, c.Name+"/"+divisor(c.Unit))
	}
	rows := [][]string{head}
	for i, st := range t.States {
		row := []string{p.stateName(st), itoa(i + 1)}
		for j, c := range t.Columns {
			text := ""
			if i < len(t.Cells) && j < len(t.Cells[i]) && t.Cells[i][j] != nil {
				if v, ok := p.value(t.Cells[i][j]); ok {
					text = exactNumber(v.SI, p.valueIn(v.SI, c.Unit).Unit, p.ambient)
				}
			}
			row = append(row, text)
		}
		rows = append(rows, row)
	}
	return commaSeparated(rows)
}

func (p *page) csvSymbols(t *resolve.Table) []byte {
	rows := [][]string{{"symbol", "value", "unit"}}
	for _, s := range t.Symbols {
		if s.Symbol == nil {
			continue
		}
		row := []string{s.Symbol.Full(), "", ""}
		if v, ok := p.value(s.Symbol); ok {
			u := p.valueIn(v.SI, s.Unit).Unit
			row[1], row[2] = exactNumber(v.SI, u, p.ambient), unitText(eval.Value{Unit: u})
			if v.Bool {
				row[1], row[2] = strconv.FormatBool(v.SI != 0), ""
			}
		}
		rows = append(rows, row)
	}
	return commaSeparated(rows)
}

func commaSeparated(rows [][]string) []byte {
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	w.UseCRLF = true // RFC 4180, 2.1
	w.WriteAll(rows) // into memory: nothing to fail
	return out.Bytes()
}

// divisor is a unit that stands after a solidus.
func divisor(u units.Unit) string {
	switch s := u.String(); {
	case u.IsNone():
		return "1"
	case strings.ContainsAny(s, "/·"):
		return "(" + s + ")"
	default:
		return s
	}
}

// exactNumber is the shortest number that, read in the unit, gives the SI value again. Converting
// there and back may move the last place, so that the next numbers are tried too.
func exactNumber(si float64, u units.Unit, ambient float64) string {
	v := u.FromSI(si, ambient)
	best := v
	up, down := v, v
	for range 4 {
		if u.ToSI(best, ambient) == si {
			break
		}
		up, down = math.Nextafter(up, math.Inf(1)), math.Nextafter(down, math.Inf(-1))
		if u.ToSI(up, ambient) == si {
			best = up
		} else if u.ToSI(down, ambient) == si {
			best = down
		}
	}
	if u.ToSI(best, ambient) != si {
		best = v
	}
	// Of several numbers that give it, the one that an author would have written.
	const plain = 15
	if x, err := strconv.ParseFloat(strconv.FormatFloat(best, 'g', plain, 64), 64); err == nil && u.ToSI(x, ambient) == u.ToSI(best, ambient) {
		best = x
	}
	return strconv.FormatFloat(best, 'g', -1, 64)
}
