package main

import (
	"fmt"
	"strings"

	"workings/propsdb"
	"workings/units"
)

// What a fluid is and what its figures rest on.

// dataStatus is what a reader must know of the figures beside their title.
type dataStatus struct{ origin, accuracy, licence string }

func statusOf(f *propsdb.Fluid) dataStatus {
	src := f.Source()
	if f.Kind() == propsdb.Water {
		origin, rest, _ := strings.Cut(src.Note, " Accuracy: ")
		accuracy, licence, _ := strings.Cut(rest, " Licence: ")
		return dataStatus{origin, accuracy, licence}
	}
	return gasStatus(f.Name())
}

// gasStatus is that of a gas of the database, or without a name of the whole of it.
func gasStatus(name string) dataStatus {
	return dataStatus{
		origin:   "read in the agency's public repository, number by number; the publication itself was not opened",
		accuracy: gasAccuracy(name),
		licence:  "the publication is a work of the US Government; the repository is under Apache-2.0 and its NOTICE names the publication",
	}
}

// gasAccuracy says how far a gas is from the NIST-JANAF tables (4th ed., 1998) in the rows that the
// tests of propsdb compare; the limits are those of the tests. What the data's own authors claim was
// not read.
func gasAccuracy(name string) string {
	var lim [3]float64 // per cent of cp up to 1000, 2000 and 3000 K
	switch name {
	case "N2", "O2", "Ar", "CO2", "CO", "H2", "He", "Ne", "Kr", "Xe", "O", "H", "N":
		lim = [3]float64{0.06, 0.12, 0.3}
	case "H2O":
		lim = [3]float64{0.06, 1.2, 2}
	case "C2H2", "C2H4", "NO", "OH", "SO2", "SO3", "Cl2", "HCl":
		lim = [3]float64{0.86, 0.8, 2.3}
	case "NH3", "N2O", "NO2", "H2S":
		lim = [3]float64{1.6, 3, 6.3}
	case "CH4":
		lim = [3]float64{2.7, 7.6, 13.2}
	case "O3":
		lim = [3]float64{1.7, 16, 55}
	case "":
		return "of 28 gases cp is compared with the NIST-JANAF tables; of N2, O2, Ar, CO2, CO and H2 it lies within 0.06 % of them to 1000 K and 0.12 % to 2000 K, " +
			"of others further (workings gases NAME); what the data's authors claim was not read"
	case "air":
		return "as of its gases (N2, O2, Ar, CO2), of which cp is within 0.06 % of the NIST-JANAF tables to 1000 K, 0.12 % to 2000 K"
	default:
		return "not compared with other tables here; what the data's authors claim was not read"
	}
	return fmt.Sprintf("cp within %g %% of the NIST-JANAF tables to 1000 K, %g %% to 2000 K, %g %% to 3000 K; which is nearer to the gas is not known here", lim[0], lim[1], lim[2])
}

// sourceRows are the lines on where the figures of a fluid are from.
func sourceRows(f *propsdb.Fluid) [][]string {
	src, st := f.Source(), statusOf(f)
	rows := [][]string{{"data", src.Data}, {"", src.Version}, {"", "SHA-256 " + src.Hash}}
	if f.Kind() != propsdb.Water && src.Note != "" {
		rows = append(rows, []string{"rests on", src.Note})
	}
	return append(rows, []string{"source", st.origin}, []string{"accuracy", st.accuracy}, []string{"licence", st.licence})
}

// rowsOf prints label and text, the text broken at blanks.
func (a *app) rowsOf(rows [][]string) {
	width := 0
	for _, r := range rows {
		width = max(width, columns.StringWidth(r[0]))
	}
	for _, r := range rows {
		wrapped(a.writer(), "  "+pad(r[0], width)+"  ", strings.Repeat(" ", width+4), r[1])
	}
}

// gasOf is what the database of gases says of a fluid.
func gasOf(f propsdb.FluidInfo) propsdb.GasInfo {
	for _, g := range propsdb.Gases() {
		if g.Name == f.Name {
			return g
		}
	}
	return propsdb.GasInfo{Name: f.Name, Formula: f.Formula, M: f.M}
}

func (a *app) gasDetail(info propsdb.FluidInfo, f *propsdb.Fluid) {
	g := gasOf(info)
	a.printf("%s\n", a.paintFor(a.out).bold()(g.Name))
	src := f.Source()
	rows := [][]string{{"formula", g.Formula}}
	if len(g.Aliases) > 0 {
		rows = append(rows, []string{"also called", strings.Join(g.Aliases, ", ")})
	}
	rows = append(rows,
		[]string{"molar mass", fmt.Sprintf("M = %.6g g/mol", g.M*1000)},
		[]string{"gas constant", fmt.Sprintf("R = %s kJ/(kg·K)", units.FormatNumber(f.R()/1000, 6))},
		[]string{"range", src.Range + "; nothing is extrapolated"},
		[]string{"datum", datumText(f)},
		[]string{"heat of formation", fmt.Sprintf("%s kJ/mol at 25 °C", units.FormatNumber(g.Hf/1000, 6))},
	)
	if lower, err := propsdb.HeatingValue(g.Name, true); err == nil {
		rows = append(rows, []string{"heating value", fmt.Sprintf("lower %s MJ/kg, at 25 °C, of the gas", units.FormatNumber(lower/1e6, 5))})
	}
	a.rowsOf(append(rows, sourceRows(f)...))
	a.printf("\n")
	a.gasTable(f)
}

func datumText(f *propsdb.Fluid) string {
	switch f.Datum() {
	case propsdb.TriplePoint:
		return "u = s = 0 for the liquid at its triple point, 273.16 K"
	case propsdb.Formation:
		return "h counts from the elements at 25 °C (heat of formation included); s from absolute zero at 1 bar"
	}
	return "h = 0 at 0 K; s counts from absolute zero at 1 bar"
}

// tableAt are the round temperatures of the small table, K.
var tableAt = [...]float64{200, 250, 300, 400, 500, 600, 700, 800, 900, 1000, 1200, 1400, 1600, 1800, 2000, 2500, 3000, 4000, 5000, 6000}

func (a *app) gasTable(f *propsdb.Fluid) {
	lo, hi := f.Range()
	var ts []float64
	for _, t := range tableAt {
		if t >= lo && t <= hi {
			ts = append(ts, t)
		}
	}
	rows := [][]string{{"T", "cp", "k", "h", "s°", "pr"}, {"K", "kJ/(kg·K)", "", "kJ/kg", "kJ/(kg·K)", ""}}
	list, err := f.Table(ts)
	if err != nil {
		a.printf("  (no table: %s)\n", err)
		return
	}
	for _, r := range list {
		rows = append(rows, []string{fmt.Sprint(r.T), fmt.Sprintf("%.4f", r.Cp/1000), fmt.Sprintf("%.4f", r.K), fmt.Sprintf("%.2f", r.H/1000),
			fmt.Sprintf("%.4f", r.So/1000), units.FormatNumber(r.Pr, 5)})
	}
	table(a.writer(), "  ", rows, func(int) bool { return true }, a.paintFor(a.out).dim())
	a.printf("\n  Ideal gas of fixed composition: real molecules begin to break up at some 1500 to 2000 K.\n  Of pr only ratios mean anything.\n")
}

// waterDetail shows water and steam with a table of the saturation line.
func (a *app) waterDetail(info propsdb.FluidInfo, f *propsdb.Fluid) {
	a.printf("%s\n", a.paintFor(a.out).bold()(info.Name))
	rows := [][]string{
		{"kind", f.Kind().String()},
		{"formula", info.Formula},
		{"also called", strings.Join(info.Aliases, ", ")},
		{"molar mass", fmt.Sprintf("M = %.6g g/mol", info.M*1000)},
		{"gas constant", fmt.Sprintf("R = %s kJ/(kg·K)", units.FormatNumber(f.R()/1000, 6))},
		{"range", f.Source().Range + "; nothing is extrapolated"},
		{"regions", "1 liquid, 2 vapour, 3 dense, about the critical point, 4 the saturation line, 5 vapour above 1073.15 K"},
		{"fixed by", "two of (p,T) (p,h) (p,s) (p,v) (p,x) (p,u) (T,v) (T,s) (T,x) (h,s), in either order; rho may stand for v"},
		{"datum", datumText(f)},
	}
	a.rowsOf(append(rows, sourceRows(f)...))
	a.printf("\n  Saturation line: ′ liquid, ″ vapour\n")
	a.saturationTable(f)
	a.printf("\n  Wet steam is the mean by mass of ′ and ″; cp, cv, k, c and transport properties belong to each alone.\n")
}

// saturatedAt are round temperatures of the saturation line, °C.
var saturatedAt = [...]float64{0.01, 25, 50, 75, 100, 125, 150, 175, 200, 225, 250, 275, 300, 325, 350, 360, 370}

func (a *app) saturationTable(f *propsdb.Fluid) {
	rows := [][]string{{"T", "p", "v′", "v″", "h′", "h″", "s′", "s″"}, {"°C", "kPa", "m³/kg", "m³/kg", "kJ/kg", "kJ/kg", "kJ/(kg·K)", "kJ/(kg·K)"}}
	for _, t := range saturatedAt {
		l, err := f.State(propsdb.T, t+273.15, propsdb.X, 0)
		if err != nil {
			continue
		}
		g, err := f.State(propsdb.T, t+273.15, propsdb.X, 1)
		if err != nil {
			continue
		}
		pair := func(q propsdb.Property, format string, per float64) []string {
			return []string{fmt.Sprintf(format, l.GetFast(q)/per), fmt.Sprintf(format, g.GetFast(q)/per)}
		}
		row := []string{fmt.Sprint(t), units.FormatNumber(l.GetFast(propsdb.P)/1000, 5)}
		row = append(row, units.FormatNumber(l.GetFast(propsdb.V), 5), units.FormatNumber(g.GetFast(propsdb.V), 5))
		row = append(row, pair(propsdb.H, "%.2f", 1000)...)
		rows = append(rows, append(row, pair(propsdb.S, "%.4f", 1000)...))
	}
	for _, r := range rows { // a computed zero may be negative by its last digits
		for i := range r {
			if strings.Trim(r[i], "-0.") == "" {
				r[i] = strings.TrimPrefix(r[i], "-")
			}
		}
	}
	table(a.writer(), "  ", rows, func(int) bool { return true }, a.paintFor(a.out).dim())
}
