package resolve

import (
	"errors"
	"strings"

	"workings/runner/diag"
	"workings/runner/lang"
)

func (r *resolver) use(line *Line, s *lang.Use) {
	line.Kind = Use
	if s.Library != nil {
		r.useLibrary(line, s)
		return
	}
	name := s.As
	if name == nil {
		r.fail(line, CodeUse, s.Loc, "a used notebook needs a name").hint(`write use "%s" as gt`, s.Path.Value)
		return
	}
	free := r.defineSpace(line, *name, "used sheet")
	src, err := r.shared.files.Notebook(r.sheet.File, s.Path.Value)
	if err != nil {
		r.fileFault(line, s.Path.Loc, err)
		r.scope.bad["space "+name.Text] = line
		return
	}
	for i, f := range r.shared.stack {
		if f.Name != src.File.Name {
			continue
		}
		p := r.fail(line, CodeUseCycle, s.Path.Loc, "%s uses itself", src.File.Name)
		if i < len(r.shared.stack)-1 {
			p.hint("the way round: %s", cycleText(r.shared.stack[i:], src.File))
		} else {
			p.hint("a sheet cannot wait for its own answers; a solve finds a value that depends on itself")
		}
		r.scope.bad["space "+name.Text] = line
		return
	}
	if len(r.shared.stack) > maxUses {
		r.fail(line, CodeNesting, s.Loc, "sheets use each other deeper than %d", maxUses)
		return
	}
	if !free {
		return
	}
	full := name.Text
	if r.sheet.Name != "" {
		full = r.sheet.Name + "." + full
	}
	sub := newResolver(src, r.shared, full)
	sub.nesting = r.nesting
	for _, a := range s.With {
		r.with(line, sub, a)
	}
	if line.Failed() {
		r.scope.bad["space "+name.Text] = line
		return
	}
	sub.run()
	for _, key := range sortedKeys(sub.given) {
		if g := sub.given[key]; !g.used {
			for _, a := range s.With {
				if a.Name != nil && a.Name.Key() == key {
					r.unknownWith(line, sub, a)
				}
			}
		}
	}
	line.Sub = sub.sheet
	line.Body = sub.sheet.Lines
	r.sheet.Problems = append(r.sheet.Problems, sub.sheet.Problems...)
	r.scope.used[name.Text] = sub.sheet
	if line.Failed() {
		r.scope.bad["space "+name.Text] = line
	}
	sub.sheet.scope = sub
}

func cycleText(stack []*diag.File, last *diag.File) string {
	out := ""
	for _, f := range stack {
		out += f.Name + " → "
	}
	return out + last.Name
}

// with types `eps = 0 %` in this sheet, for the used one.
func (r *resolver) with(line *Line, sub *resolver, a lang.Arg) {
	if a.Name == nil {
		r.fail(line, CodeArguments, a.Loc, "an input given to a used sheet needs its name").hint("write with NAME = %s", lang.FormatExpr(a.X))
		return
	}
	key := a.Name.Key()
	if sub.given[key] != nil {
		r.fail(line, CodeArguments, a.Loc, "%s is given twice", a.Name.Text).hint("give it once")
		return
	}
	x := r.expr(line, a.X)
	if x == nil || !r.truthless(line, x) {
		return
	}
	sub.given[key] = &given{name: a.Name.Text, file: line.File, line: line, x: x}
	line.Inputs = append(line.Inputs, Binding{X: x, Symbol: &Symbol{Name: a.Name.Text}})
}

func (r *resolver) unknownWith(line *Line, sub *resolver, a lang.Arg) {
	var names []string
	for _, s := range sub.sheet.Symbols {
		if s.Line.Kind == Input {
			names = append(names, s.Name)
		}
	}
	f := r.fail(line, CodeOverride, a.Name.Loc, "the sheet %s has no input called %s", sub.sheet.File.Name, a.Name.Text)
	if near := r.near(a.Name.Text, names); len(near) > 0 {
		f.hint("did you mean %s?", orList(near))
	} else if len(names) > 0 {
		f.hint("its inputs are %s", joinList(names))
	} else {
		f.hint("it has no inputs: give it one in an inputs fence, or leave out with")
	}
}

// useLibrary brings the methods of a notebook that comes with the tool, by their bare names.
func (r *resolver) useLibrary(line *Line, s *lang.Use) {
	src, err := r.shared.files.Library(s.Library.Text)
	if err != nil {
		var fe *FileError
		f := r.fail(line, CodeUse, s.Library.Loc, "no notebook called %s comes with the tool", s.Library.Text)
		names := r.shared.files.LibraryNames()
		switch {
		case len(r.near(s.Library.Text, names)) > 0:
			f.hint("did you mean %s?", orList(r.near(s.Library.Text, names)))
		case errors.As(err, &fe) && fe.Hint != "":
			f.hint("%s", fe.Hint)
		default:
			f.hint(`these do: %s; a notebook of your own is named by its path: use "%s.md" as name`, joinList(names), s.Library.Text)
		}
		return
	}
	lib := newResolver(src, r.shared, r.sheet.Name)
	for i, b := range src.Blocks {
		lib.block = i
		for _, st := range b.Stmts {
			m, ok := st.(*lang.Method)
			if !ok {
				continue
			}
			l := &Line{Stmt: st, File: src.File, Block: -1}
			lib.method(l, m)
			if l.Method != nil && lib.scope.methods[m.Name.Text] != nil {
				l.Method.File, l.Method.Library = src.File, s.Library.Text
			}
		}
	}
	r.sheet.Problems = append(r.sheet.Problems, lib.sheet.Problems...)
	for _, name := range sortedKeys(lib.scope.methods) {
		if old, taken := r.scope.spaces[name]; taken {
			r.fail(line, CodeTwice, s.Library.Loc, "%s brings a method %s, and %s has that name", s.Library.Text, name, article(old.what)).
				related(old.file, old.span, "defined here").hint("give your own another name")
			continue
		}
		r.scope.spaces[name] = place{"method of " + s.Library.Text, line.File, s.Loc, line}
		r.scope.methods[name] = lib.scope.methods[name]
	}
}

func (r *resolver) fileFault(line *Line, at diag.Span, err error) {
	var fe *FileError
	if errors.As(err, &fe) {
		r.fail(line, CodeUse, at, "%s", fe.Reason).hint("%s", fe.Hint)
		return
	}
	r.fail(line, CodeUse, at, "%s", err)
}

// usedSheet finds a sheet by the name it is used by.
func (r *resolver) usedSheet(line *Line, n lang.Name) *Sheet {
	if sub := r.scope.used[n.Text]; sub != nil && r.scope.bad["space "+n.Text] == nil {
		return sub
	}
	if l := r.scope.bad["space "+n.Text]; l != nil {
		r.wait(line, l)
		return nil
	}
	if r.comesLater(line, n, "the sheet or cycle") {
		return nil
	}
	f := r.fail(line, CodeUnknownName, n.Loc, "no used sheet and no cycle is called %s", n.Text)
	near := r.near(n.Text, append(sortedKeys(r.scope.used), sortedKeys(r.scope.cycles)...))
	switch {
	case len(near) > 0:
		f.hint("did you mean %s?", orList(near))
	case r.scope.data[n.Text] != nil:
		f.hint("%s is a data table: write %s.column(key = value)", n.Text, n.Text)
	default:
		f.hint(`bring it in above: use "%s.md" as %s`, n.Text, n.Text)
	}
	return nil
}

// memberOf finds a symbol of a used sheet (gt.eta_th), a total of a cycle (plant.eta), or a total of
// a used sheet's cycle (gt.plant.eta).
func (r *resolver) memberOf(line *Line, of, n lang.Name) *Symbol {
	outer, inner, deep := strings.Cut(of.Text, ".")
	cycles := r.scope.cycles
	if deep {
		of = lang.Name{At: of.At, Text: outer}
		sub := r.usedSheet(line, of)
		if sub == nil {
			return nil
		}
		within := sub.scope.scope
		if l := within.bad["space "+inner]; l != nil {
			r.wait(line, l)
			return nil
		}
		if cycles = within.cycles; cycles[inner] == nil {
			f := r.fail(line, CodeUnknownName, of.Loc, "the sheet %s has no cycle %s", sub.File.Name, inner)
			if near := r.near(inner, sortedKeys(cycles)); len(near) > 0 {
				f.hint("did you mean %s?", orList(near))
			} else {
				f.hint("of the sheets that %s uses itself nothing can be read here: use them on this sheet too", outer)
			}
			return nil
		}
		return r.totalOf(line, cycles[inner], sub.symbols, n)
	}
	if c := cycles[of.Text]; c != nil && r.scope.bad["space "+of.Text] == nil {
		return r.totalOf(line, c, r.scope.symbols, n)
	}
	sub := r.usedSheet(line, of)
	if sub == nil {
		return nil
	}
	return r.lookupIn(line, sub, n)
}

// totalOf finds a total of a cycle among the symbols of its sheet.
func (r *resolver) totalOf(line *Line, c *Cycle, symbols map[string]*Symbol, n lang.Name) *Symbol {
	if s := symbols[c.key(n.Text)]; s != nil {
		if s.bad || s.Line.Failed() {
			r.wait(line, s.Line)
			return nil
		}
		r.uses(line, s)
		return s
	}
	for name, reason := range c.withheld {
		if (lang.Name{Text: name}).Key() == n.Key() {
			r.fail(line, CodeWithheld, n.Loc, "%s.%s has no value: %s", c.Name, name, reason).
				related(c.Line.File, c.Stmt.Name.Loc, "the cycle %s", c.Name).
				hint("nothing is guessed: what is missing has to be said on the lines of the cycle")
			return nil
		}
	}
	var names []string
	powers := c.Flows == MassFlow
	for _, t := range totalNames {
		own, other := t.specific, t.power
		if powers {
			own, other = other, own
		}
		if (lang.Name{Text: other}).Key() == n.Key() {
			f := r.fail(line, CodeUnknownSymbol, n.Loc, "the cycle %s has no total %s", c.Name, n.Text)
			if powers {
				f.hint("its flows are in kg/s, so that its totals are powers: %s.%s", c.Name, own)
			} else {
				f.hint("its totals are per unit mass: %s.%s; with flows in kg/s they are powers", c.Name, own)
			}
			return nil
		}
		names = append(names, own)
	}
	f := r.fail(line, CodeUnknownSymbol, n.Loc, "the cycle %s has no total %s", c.Name, n.Text)
	if near := r.near(n.Text, names); len(near) > 0 {
		f.hint("did you mean %s?", orList(near))
	} else {
		f.hint("its totals are %s", joinList(names))
	}
	return nil
}

// lookupIn finds a symbol of a used sheet; a late one comes into being there.
func (r *resolver) lookupIn(line *Line, sub *Sheet, n lang.Name) *Symbol {
	inner := sub.scope
	key := n.Key()
	s := sub.symbols[key]
	if s == nil {
		if l, ok := inner.scope.lateSymbol(key); ok {
			s = inner.bring(n, l)
		}
	}
	if s == nil {
		if l := inner.scope.bad[key]; l != nil {
			r.wait(line, l)
			return nil
		}
		var names []string
		for _, x := range sub.Symbols {
			if !x.Local {
				names = append(names, x.Name)
			}
		}
		f := r.fail(line, CodeUnknownSymbol, n.Loc, "the sheet %s has no symbol %s", sub.File.Name, n.Text)
		switch near, is := r.near(n.Text, names), spaceHint(inner.scope, n.Text, sub.Name); {
		case is != "":
			f.hint("%s", is)
		case len(near) > 0:
			f.hint("did you mean %s?", orList(near))
		default:
			f.hint("its answers and symbols are listed on its own sheet")
		}
		return nil
	}
	if s.bad || s.Line.Failed() {
		r.wait(line, s.Line)
		return nil
	}
	r.uses(line, s)
	return s
}
