package runner

import (
	"errors"
	"fmt"
	"strings"

	"workings/propsdb"
	"workings/runner/diag"
	"workings/runner/lang"
	"workings/runner/notebook"
	"workings/runner/resolve"
	"workings/runner/sheet"
	"workings/units"
)

// userFluids reads the files of fluids that a notebook's front matter names.
func (l *loader) userFluids(doc *notebook.Document, src *resolve.Source) {
	b := &fluidsBuilder{loader: l, src: src, first: map[string]place{}, files: map[string]bool{}}
	for _, e := range doc.Front.Fluids {
		b.read(doc.File, e)
	}
}

type place struct {
	file *diag.File
	span diag.Span
}

// fluidsBuilder turns fluids as typed into fluids that have states.
type fluidsBuilder struct {
	loader *loader
	src    *resolve.Source
	first  map[string]place // where each name was given first
	files  map[string]bool
	file   *diag.File         // being read
	fluid  *notebook.OwnFluid // being built
}

func (b *fluidsBuilder) problem(file *diag.File, sev diag.Severity, code diag.Code, span diag.Span, message, hint string) *diag.Problem {
	p := &diag.Problem{Code: code, Severity: sev, File: file, Span: span, Message: message, Hint: hint}
	b.src.Problems = append(b.src.Problems, p)
	return p
}

// fail reports an error in the fluid being built.
func (b *fluidsBuilder) fail(code diag.Code, span diag.Span, hint, format string, args ...any) bool {
	p := b.problem(b.file, diag.Error, code, span, fmt.Sprintf(format, args...), hint)
	if b.fluid.Problem == nil {
		b.fluid.Problem = p
	}
	return false
}

func (b *fluidsBuilder) read(from *diag.File, e notebook.Entry) {
	unread := func(err error) {
		p := b.problem(from, diag.Error, notebook.CodeFluidsFile, e.Span, err.Error(), "")
		var fe *resolve.FileError
		if errors.As(err, &fe) {
			p.Hint = fe.Hint
		}
		b.src.NoFluids = p
	}
	name, ok := b.loader.joined(from, e.Text)
	if !ok {
		unread(outside(e.Text))
		return
	}
	if b.files[name] {
		b.problem(from, diag.Error, notebook.CodeFluidsTwice, e.Span, "the file "+e.Text+" is named twice", "remove one of the two")
		return
	}
	b.files[name] = true
	text, err := readFile(b.loader.fsys, name)
	if err != nil {
		unread(b.loader.fileProblem(from, e.Text, err))
		return
	}
	if notebook.Check(text) != nil {
		unread(&resolve.FileError{Reason: e.Text + " is not read: it is not a UTF-8 text", Hint: "save it as UTF-8"})
		return
	}
	b.file = b.loader.file(name, text)
	fluids, problems := notebook.Fluids(b.file)
	b.src.Problems = append(b.src.Problems, problems...)
	if len(fluids) == 0 && len(problems) > 0 {
		b.src.NoFluids = problems[0]
	}
	for _, f := range fluids {
		b.fluid = f
		b.one()
	}
}

// one builds a fluid and enters it under its name, with the error that keeps it from being built.
func (b *fluidsBuilder) one() {
	f := b.fluid
	name := f.Name.Text
	if name == "" {
		return
	}
	if old, twice := b.first[name]; twice {
		p := b.problem(b.file, diag.Error, notebook.CodeFluidsTwice, f.Name.Span, "two fluids are called "+name, "give one of them another name")
		p.Related = []diag.Related{{File: old.file, Span: old.span, Message: "first given here"}}
		return
	}
	b.first[name] = place{b.file, f.Name.Span}
	x, ps := lang.ParseExpr(b.file, lang.Line{Text: name, Start: f.Name.Span.Start})
	if id, ok := x.(*lang.Ident); !ok || len(ps) > 0 || id.Of != nil || id.Name.Text != name {
		b.fail(notebook.CodeFluidsValue, f.Name.Span, "a name is letters, digits and underscores, and begins with a letter", "%s is no name of a fluid", name)
	}
	var g *propsdb.Fluid
	if f.Problem == nil {
		g = b.build()
	}
	if f.Problem != nil {
		if b.src.FluidFaults == nil {
			b.src.FluidFaults = map[string]*diag.Problem{}
		}
		b.src.FluidFaults[name] = f.Problem
		return
	}
	if b.src.UserFluids == nil {
		b.src.UserFluids = map[string]*propsdb.Fluid{}
	}
	b.src.UserFluids[name] = g
	if _, err := propsdb.Lookup(name); err == nil {
		p := b.problem(b.file, diag.Caution, notebook.CodeFluidsShadow, f.Name.Span,
			"the database has "+name+" as well, and this sheet takes the user's own",
			fmt.Sprintf("give it another name, or settle it with `accept %s on %s // reason`", notebook.CodeFluidsShadow, name))
		p.Subject = name
	}
}

func (b *fluidsBuilder) build() *propsdb.Fluid {
	f := b.fluid
	spec := propsdb.UserSpec{Name: f.Name.Text, Source: f.Source.Text, File: b.file.Name, Hash: sheet.Hash(b.file.Text)}
	m, ok := b.quantity(f.MolarMass, "a molar mass", "28.96 kg/kmol", units.DimMolarMass())
	switch {
	case !ok:
		return nil
	case !(m > 0):
		b.fail(notebook.CodeFluidsValue, f.MolarMass.Span, "for example 28.96 kg/kmol", "a molar mass is above zero")
		return nil
	}
	spec.M = m
	if len(f.Cp) > 0 {
		ok = b.pieces(&spec)
	} else {
		ok = b.table(&spec)
	}
	if f.Reference != nil && !b.reference(&spec) {
		ok = false
	}
	if !ok {
		return nil
	}
	g, err := propsdb.UserFluid(spec)
	var ue *propsdb.UserError
	if errors.As(err, &ue) {
		b.fail(notebook.CodeFluidsData, f.Name.Span, "check the figures and their units against the source", "%s makes no fluid: %s", ue.Name, ue.Reason)
		return nil
	}
	if err != nil {
		b.fail(notebook.CodeFluidsData, f.Name.Span, "", "%s", err)
		return nil
	}
	return g
}

// quantity reads a number with its unit, in SI.
func (b *fluidsBuilder) quantity(e notebook.Entry, what, example string, dim units.Dimension) (float64, bool) {
	hint := "for example " + example
	number, unit, _ := strings.Cut(e.Text, " ")
	v, ok := lang.ParseFigure(number)
	if !ok {
		return 0, b.fail(notebook.CodeFluidsValue, e.Span, "a number, a space and its unit, "+hint, "%q is no quantity", e.Text)
	}
	u, ok := b.unit(notebook.Entry{Text: strings.TrimSpace(unit), Span: e.Span}, what, example, dim)
	return u.ToSI(v, 0), ok
}

// unit reads a unit of some dimension that no other figure is needed for.
func (b *fluidsBuilder) unit(e notebook.Entry, what, example string, dim units.Dimension) (units.Unit, bool) {
	hint := "for example " + example
	if e.Text == "" {
		return units.Unit{}, b.fail(notebook.CodeFluidsValue, e.Span, hint, "%s needs a unit", what)
	}
	u, err := units.Parse(e.Text)
	switch {
	case err != nil:
		return u, b.fail(notebook.CodeFluidsValue, e.Span, hint, "%s", err)
	case u.Dimension() != dim || u.IsRelative():
		return u, b.fail(notebook.CodeFluidsValue, e.Span, hint, "%s is expected here, and %s is a unit of %s", what, u, unitOf(u))
	case u.Kind() == units.Difference || u.Kind() == units.Gauge:
		return u, b.fail(notebook.CodeFluidsValue, e.Span, hint, "%s is expected here, and %s counts from elsewhere", what, u)
	}
	return u, true
}

func unitOf(u units.Unit) string {
	if name := u.Dimension().Name(); name != "" {
		return name
	}
	return "another kind, " + u.Dimension().String()
}

func (b *fluidsBuilder) pieces(spec *propsdb.UserSpec) bool {
	ok := true
	for _, p := range b.fluid.Cp {
		lo, good := b.quantity(p.From, "a temperature", "200 K", units.DimTemperature())
		hi, good2 := b.quantity(p.To, "a temperature", "1000 K", units.DimTemperature())
		u, good3 := b.unit(p.Unit, "the unit of cp", "J/(kg·K)", units.DimEntropyPerMass())
		piece := propsdb.CpPiece{Tmin: lo, Tmax: hi}
		for _, c := range p.Coefficients {
			v, number := lang.ParseFigure(c.Text)
			if !number {
				ok = b.fail(notebook.CodeFluidsValue, c.Span, "figures are written 1234.5 or 1.2e-3; their unit stands under `unit`, times a power of 1/K", "%q is no number", c.Text)
			}
			if good3 {
				piece.Coefficients = append(piece.Coefficients, u.ToSI(v, 0))
			}
		}
		ok = ok && good && good2 && good3
		spec.Pieces = append(spec.Pieces, piece)
	}
	return ok
}

// table reads heads and rows as in a data fence.
func (b *fluidsBuilder) table(spec *propsdb.UserSpec) bool {
	f := b.fluid
	src := lang.Source{Kind: "data", Info: "cp", Span: f.DataSpan}
	for _, l := range f.Table {
		src.Lines = append(src.Lines, lang.Line(l))
	}
	block, ps := lang.Parse(b.file, src)
	b.src.Problems = append(b.src.Problems, ps...)
	for _, p := range ps {
		if p.Severity == diag.Error && f.Problem == nil {
			f.Problem = p
		}
	}
	if f.Problem != nil {
		return false
	}
	const form = "its heads are T and cp with their units: T/°C, cp/(kJ/(kg·K))"
	for _, s := range block.Stmts {
		d, ok := s.(*lang.Data)
		if !ok {
			continue
		}
		if len(d.Columns) != 2 || d.Columns[0].Name.Text != "T" || d.Columns[1].Name.Text != "cp" {
			return b.fail(notebook.CodeFluidsValue, d.Columns[0].Loc, form, "a table of cp has the columns T and cp")
		}
		var us [2]units.Unit
		for i, dim := range []units.Dimension{units.DimTemperature(), units.DimEntropyPerMass()} {
			c := d.Columns[i]
			at := c.Unit.Loc
			if c.Unit.Text == "" {
				at = c.Loc
			}
			if us[i], ok = b.unit(notebook.Entry{Text: c.Unit.Text, Span: at}, []string{"a temperature", "a specific heat"}[i], []string{"T/°C", "cp/(kJ/(kg·K))"}[i], dim); !ok {
				return false
			}
		}
		return b.rows(spec, d, us)
	}
	return b.fail(notebook.CodeFluidsValue, f.DataSpan, form, "this table is empty")
}

func (b *fluidsBuilder) rows(spec *propsdb.UserSpec, d *lang.Data, us [2]units.Unit) bool {
	for _, row := range d.Rows {
		if len(row.Cells) != 2 {
			return b.fail(notebook.CodeFluidsValue, row.Loc, "one figure a column, with a comma between", "a row of this table has two figures, and this has %d", len(row.Cells))
		}
		for _, c := range row.Cells {
			if !c.OK {
				return b.fail(notebook.CodeFluidsValue, c.Loc, "figures are written 1234.5 or 1.2e-3; the unit stands in the column's head", "%q is no number", c.Text)
			}
		}
		p := propsdb.CpPoint{T: us[0].ToSI(row.Cells[0].Value, 0), Cp: us[1].ToSI(row.Cells[1].Value, 0)}
		if n := len(spec.Table); n > 0 && !(p.T > spec.Table[n-1].T) {
			return b.fail(notebook.CodeFluidsValue, row.Cells[0].Loc, "sort the rows by T", "the temperatures of a table of cp rise from row to row")
		}
		spec.Table = append(spec.Table, p)
	}
	return true
}

func (b *fluidsBuilder) reference(spec *propsdb.UserSpec) bool {
	r := b.fluid.Reference
	spec.Reference = &propsdb.UserReference{}
	ok := true
	for _, q := range []struct {
		entry         notebook.Entry
		to            *float64
		what, example string
		dim           units.Dimension
	}{
		{r.T, &spec.Reference.T, "a temperature", "298.15 K", units.DimTemperature()},
		{r.P, &spec.Reference.P, "a pressure", "1 bar", units.DimPressure()},
		{r.H, &spec.Reference.H, "a specific enthalpy", "0 kJ/kg", units.DimEnergyPerMass()},
		{r.S, &spec.Reference.S, "a specific entropy", "0 kJ/(kg·K)", units.DimEntropyPerMass()},
	} {
		v, good := b.quantity(q.entry, q.what, q.example, q.dim)
		*q.to, ok = v, ok && good
	}
	return ok
}
