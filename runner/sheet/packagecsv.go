package sheet

import (
	"strings"

	"workings/runner/lang"
	"workings/runner/register"
)

// PackageInputs are all inputs of a package as comma-separated values (RFC 4180, UTF-8), unrounded.
func PackageInputs(pkg *register.Package) []byte {
	rows := [][]string{{"sheet", "revision", "file", "entry", "symbol", "value", "unit", "standard uncertainty", "its unit", "allowed", "what it is", "source", "given instead"}}
	for _, in := range pkg.Inputs {
		s := in.Sheet
		row := []string{inert(s.Number()), inert(s.Revision()), inert(s.Path), in.Entry.Number, in.Symbol.Name, "", "", "", "", "", inert(in.Described())}
		ambient := s.Trace.Sheet.Ambient
		if in.OK {
			row[5], row[6] = exactNumber(in.Value.SI, in.Value.Unit, ambient), unitText(in.Value)
		}
		if sp := in.Entry.Spread; sp != nil {
			row[7], row[8] = exactNumber(sp.SI, sp.Unit, 0), unitText(*sp)
		}
		if stmt, ok := in.Line.Stmt.(*lang.Input); ok && stmt.Between != nil {
			row[9] = inert(lang.FormatExpr(stmt.Between.Lo) + " .. " + lang.FormatExpr(stmt.Between.Hi))
		}
		var sources, given []string
		for _, src := range in.Sources {
			text := src.Text
			if text == "" {
				text = src.Label
			}
			if src.Open {
				text += " (to be confirmed)"
			}
			sources = append(sources, text)
		}
		for _, g := range in.Given {
			by := " by " + g.Use.User.Name() + " as " + g.Use.Name
			if !g.OK {
				given = append(given, "no value"+by)
				continue
			}
			given = append(given, exactNumber(g.Value.SI, g.Value.Unit, ambient)+" "+unitText(g.Value)+by)
		}
		rows = append(rows, append(row, inert(strings.Join(sources, "; ")), inert(strings.Join(given, "; "))))
	}
	return commaSeparated(rows)
}

// inert keeps a spreadsheet from taking the words of a notebook for a formula.
func inert(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return " " + s
	}
	return s
}
