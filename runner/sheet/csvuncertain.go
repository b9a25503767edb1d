package sheet

import (
	"math"
	"strconv"

	"workings/units"
)

// csvSensitivities has a row for each answer and input, in SI and unrounded; empty where there is no
// number.
func (p *page) csvSensitivities() []byte {
	rows := [][]string{{"answer", "answer unit", "answer value", "input", "input unit", "input value", "input uncertainty", "derivative", "derivative error",
		"contribution", "share of variance", "relative", "for 1 % more"}}
	exact := func(v float64) string {
		if math.IsNaN(v) {
			return ""
		}
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	for _, b := range p.o.Sensitivities.Answers {
		of := b.Of.Symbol
		for _, f := range b.Rows {
			in := f.Input.Symbol
			row := []string{of.Full(), units.SIUnit(of.Type.Dim).String(), exact(b.Value), in.Full(), units.SIUnit(in.Type.Dim).String(), exact(f.Input.Value), "",
				exact(f.Derivative), exact(f.Error), "", "", exact(f.Relative), exact(f.Percent)}
			if f.Uncertain() {
				row[6], row[9], row[10] = exact(f.Input.Spread), exact(f.Part), exact(f.Share)
			}
			rows = append(rows, row)
		}
	}
	return commaSeparated(rows)
}
