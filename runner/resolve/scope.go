package resolve

import (
	"fmt"
	"strings"

	"workings/propsdb"
	"workings/runner/diag"
	"workings/runner/lang"
	"workings/units"
)

// scope is where names are looked up: the sheet, or the working of one call.
type scope struct {
	symbols map[string]*Symbol // by key
	states  map[string]*State
	fluids  map[string]*Fluid
	methods map[string]*Method
	data    map[string]*DataTable
	used    map[string]*Sheet
	cycles  map[string]*Cycle
	// late are symbols that come into being when a line reads them.
	late  map[string]lateSymbol
	bySub map[string]*State // states by their ID as it prints, for their late properties
	local bool              // a method's working
	// spaces remembers what defined each name of the shared namespace of fluids, methods,
	// data and used sheets.
	spaces map[string]place
	// bad names were to be defined by a line that could not be read.
	bad map[string]*Line
	// ahead are the symbols that later lines of the sheet define, to tell "used before it is
	// defined" from "unknown".
	ahead ahead
}

type place struct {
	what string
	file *diag.File
	span diag.Span
	line *Line
}

type lateSymbol struct {
	state *State
	prop  propsdb.Property
	fluid *Fluid
	ratio bool // the fuel–oxidant ratio of the fluid, not a property
	name  string
}

func newScope(local bool) *scope {
	return &scope{
		symbols: map[string]*Symbol{}, states: map[string]*State{}, fluids: map[string]*Fluid{},
		methods: map[string]*Method{}, data: map[string]*DataTable{}, used: map[string]*Sheet{}, cycles: map[string]*Cycle{},
		late: map[string]lateSymbol{}, bySub: map[string]*State{}, spaces: map[string]place{}, bad: map[string]*Line{},
		ahead: ahead{}, local: local,
	}
}

// lateSymbol finds a symbol that would come into being if a line read it: a property of a state
// or of a fluid. States have a dozen of them, which is why they are not listed but recognised.
func (sc *scope) lateSymbol(key string) (lateSymbol, bool) {
	if l, ok := sc.late[key]; ok {
		return l, true
	}
	cut := strings.IndexByte(key, '_') + 1
	if cut == 0 {
		return lateSymbol{}, false
	}
	if c := strings.IndexByte(key[cut:], ',') + 1; c > 0 && (key[:cut+c] == "c_p," || key[:cut+c] == "c_v,") {
		cut += c
	}
	st := sc.bySub[key[cut:]]
	if st == nil {
		return lateSymbol{}, false
	}
	p, ok := lateStems()[key[:cut]]
	return lateSymbol{state: st, prop: p, name: p.Symbol() + "_" + st.ID}, ok
}

// define makes a symbol of the current line. A name that is taken is reported, with both places.
func (r *resolver) define(line *Line, n lang.Name, ty Type, unit units.Unit) *Symbol {
	key := n.Key()
	if old := r.scope.symbols[key]; old != nil {
		r.twice(line, n, old)
		return nil
	}
	if where, ok := r.reservedSymbol(n); ok {
		r.fail(line, CodeReserved, n.Loc, "%s is %s and cannot be a symbol", n.Text, where).
			hint("give the quantity another name, such as %s_1", n.Text)
		return nil
	}
	s := r.shared.newSymbols.add(Symbol{Name: n.Text, Sheet: r.sheet.Name, Type: ty, Unit: unit, Span: n.Loc, Line: line, Local: r.scope.local})
	r.addSymbol(key, s)
	line.Defines = append(line.Defines, s)
	return s
}

func (r *resolver) addSymbol(key string, s *Symbol) {
	s.Reg = r.shared.registers
	r.shared.registers++
	r.scope.symbols[key] = s
	r.sheet.Symbols = append(r.sheet.Symbols, s)
	delete(r.scope.late, key)
}

func (r *resolver) twice(line *Line, n lang.Name, old *Symbol) {
	first := old.Span
	if old.State != nil && !old.Adopted {
		r.fail(line, CodeTwice, n.Loc, "%s is defined twice: it is already the %s of state %s", n.Text, old.Prop.Name(), old.State.ID).
			related(old.Line.File, first, "state %s, which brings %s", old.State.ID, old.Name).
			hint("read %s as it is, or give this quantity another name", old.Name)
		return
	}
	p := r.fail(line, CodeTwice, n.Loc, "%s is defined twice", n.Text)
	p.related(old.Line.File, first, "first defined here")
	if old.Name != n.Text {
		p.hint("%s and %s print the same, so they are one symbol; give one of them another name", old.Name, n.Text)
	} else {
		p.hint("a symbol keeps one value on a sheet: give this one another name")
	}
}

// reservedSymbol tells names that the language itself gives a meaning.
func (r *resolver) reservedSymbol(n lang.Name) (string, bool) {
	if _, ok := constantNamed(n.Key()); ok {
		return "a constant", true
	}
	if functionNamed(n.Text) != nil {
		return "a function", true
	}
	return "", false
}

// defineSpace enters a fluid, method, data table, cycle, study, table, chart or used sheet into their shared namespace.
func (r *resolver) defineSpace(line *Line, n lang.Name, what string) bool {
	if old, ok := r.scope.spaces[n.Text]; ok {
		r.fail(line, CodeTwice, n.Loc, "%s is defined twice: %s has that name", n.Text, article(old.what)).
			related(old.file, old.span, "first defined here").
			hint("fluids, methods, data, cycles, studies, tables, charts and used sheets share their names; choose another")
		return false
	}
	r.scope.spaces[n.Text] = place{what, line.File, n.Loc, line}
	return true
}

// lookup finds a symbol that a line reads, bringing a late one into being. It returns nil where
// there is none, after reporting it, or after noting that the line waits.
func (r *resolver) lookup(line *Line, n lang.Name) *Symbol {
	key := n.Key()
	s := r.scope.symbols[key]
	if s == nil {
		if l, ok := r.scope.lateSymbol(key); ok {
			s = r.bring(n, l)
		}
	}
	if s == nil {
		if l, ok := r.scope.bad[key]; ok {
			r.wait(line, l)
			return nil
		}
		r.unknownSymbol(line, n)
		return nil
	}
	if s.bad || s.Line != nil && s.Line.Failed() && s.Line != line {
		r.wait(line, s.Line)
		return nil
	}
	r.uses(line, s)
	return s
}

// bring makes the symbol of a state's or fluid's property that somebody now reads.
func (r *resolver) bring(n lang.Name, l lateSymbol) *Symbol {
	key := n.Key()
	if l.fluid != nil {
		ty := propertyType(l.prop, nil)
		if l.ratio {
			ty = Type{}
		}
		s := &Symbol{Ratio: l.ratio, Name: l.name, Sheet: r.sheet.Name, Type: ty, Unit: r.preferred(ty), Span: l.fluid.Line.Stmt.Span(), Line: l.fluid.Line, Prop: l.prop, Local: r.scope.local}
		r.addSymbol(key, s)
		l.fluid.Line.Defines = append(l.fluid.Line.Defines, s)
		s.bad = l.fluid.bad
		return s
	}
	s := r.stateSymbol(l.state, l.prop, l.name)
	r.addSymbol(key, s)
	// The state may be known here by another name (a parameter, a call's output): the symbol is
	// then a second name of its property.
	l.state.Line.Defines = append(l.state.Line.Defines, s)
	return s
}

func (r *resolver) stateSymbol(st *State, p propsdb.Property, name string) *Symbol {
	ty := propertyType(p, st.Fluid)
	s := r.shared.newSymbols.add(Symbol{Name: name, Sheet: r.sheet.Name, Type: ty, Unit: st.unitOf(p, r.preferred(ty)), Span: st.Line.Stmt.Span(),
		Line: st.Line, State: st, Prop: p, Local: st.Local, bad: st.bad})
	if s.Local != r.scope.local {
		s.Local = r.scope.local
	}
	st.Props = append(st.Props, s)
	return s
}

// unitOf is the unit of the argument that gave the property, or else.
func (s *State) unitOf(p propsdb.Property, otherwise units.Unit) units.Unit {
	for _, g := range s.Given {
		if g.Prop == p && g.X != nil && g.X.HasU {
			return g.X.Unit
		}
	}
	return otherwise
}

func (r *resolver) uses(line *Line, s *Symbol) {
	if s.Line == line {
		return
	}
	for _, u := range line.Uses {
		if u == s {
			return
		}
	}
	line.Uses = append(line.Uses, s)
}

// reads notes a line that this one needs other than by a symbol.
func (r *resolver) reads(line, on *Line) {
	for _, l := range line.Reads {
		if l == on {
			return
		}
	}
	if on != line {
		line.Reads = append(line.Reads, on)
	}
}

// wait notes that a line depends on one that failed. Only a line without a fault of its own waits.
func (r *resolver) wait(line, on *Line) {
	if on == nil {
		return
	}
	for _, w := range line.Waits {
		if w == on {
			return
		}
	}
	line.Waits = append(line.Waits, on)
}

func (r *resolver) unknownSymbol(line *Line, n lang.Name) {
	key := n.Key()
	if st := r.scope.states[stateOf(n)]; st != nil {
		if p, ok := propertyName(n); ok && needsPressure(p) {
			r.fail(line, CodeStatePair, n.Loc, "state %s is given without a pressure and has no %s", st.ID, p.Name()).
				related(st.Line.File, st.Line.Stmt.Span(), "state %s", st.ID).
				hint("give the state a pressure as well: state %s = %s(p, …)", st.ID, fluidText(st))
			return
		}
	}
	if at, ok := r.scope.ahead.find(key); ok {
		f := r.fail(line, CodeBefore, n.Loc, "%s is used before it is defined", n.Text).related(line.File, at.span, "defined here")
		if r.circle(line, at) {
			f.hint("this line and that one need each other, which no order can mend: let a solve find the value, as in `solve %s between … and …` with an `until`", n.Text)
			return
		}
		f.hint("lines are evaluated in reading order: move the definition above this line")
		return
	}
	var near []string
	if r.shared.looked < maxNear {
		var names []string
		for _, s := range r.scope.symbols {
			name := s.Name
			if s.Sheet != r.sheet.Name {
				name = s.Full() // a total of a cycle
			}
			names = append(names, name)
		}
		if near = r.near(n.Text, names); len(near) == 0 { // only then what no line has read yet
			for _, l := range r.scope.late {
				names = append(names, l.name)
			}
			for _, st := range r.scope.bySub {
				for _, p := range lateProperties() {
					names = append(names, p.Symbol()+"_"+st.ID)
				}
			}
			near = r.near(n.Text, names)
		}
	}
	p := r.fail(line, CodeUnknownSymbol, n.Loc, "no symbol is called %s", n.Text)
	switch {
	case len(near) > 0:
		p.hint("did you mean %s?", orList(near))
	case r.missingState(n) != "":
		p.hint("%s", r.missingState(n))
	case spaceHint(r.scope, n.Text, "") != "":
		p.hint("%s", spaceHint(r.scope, n.Text, ""))
	case functionNamed(n.Text) != nil:
		p.hint("%s is a function: write %s(…)", n.Text, n.Text)
	case r.scope.local:
		p.hint("a method sees its parameters and its own lines, not the sheet's symbols: pass %s to it", n.Text)
	default:
		if u, err := units.Parse(n.Text); err == nil && !u.IsNone() {
			p.hint("%s is a unit: it stands directly after a number, or after `in`", n.Text)
		} else {
			p.hint("define it above this line: %s = …", n.Text)
		}
	}
}

// spaceHint tells what a name that is no symbol stands for, on the sheet itself or on a used one, whose
// name is then given; "" for nothing.
func spaceHint(sc *scope, name, used string) string {
	p, ok := sc.spaces[name]
	if !ok {
		return ""
	}
	full := name
	if used != "" {
		full = used + "." + name
	}
	switch p.what {
	case "study":
		return fmt.Sprintf("%s is a study, which has no single value: a chart draws it, … against … from %s", full, full)
	case "cycle":
		return fmt.Sprintf("%s is a cycle: its totals are %s.eta, …", full, full)
	case "data table":
		if used == "" {
			return fmt.Sprintf("%s is a data table: write %s.column(key = value)", full, full)
		}
	}
	return fmt.Sprintf("%s is %s and has no value", full, article(p.what))
}

// stateOf is the state that a name would belong to if it were a property: 2 in h_2 and cp_2.
func stateOf(n lang.Name) string {
	sub := lang.Print(n.Text).Sub
	if stem := n.Stem(); stem == "cp" || stem == "cv" {
		_, sub, _ = strings.Cut(sub, ",")
	}
	return sub
}

// missingState explains a name that looks like a property of a state that is not there.
func (r *resolver) missingState(n lang.Name) string {
	prop, ok := propsdb.PropertyOf(n.Stem())
	sub := stateOf(n)
	if !ok || sub == "" || r.scope.states[sub] != nil {
		return ""
	}
	var ids []string
	for id := range r.scope.states {
		ids = append(ids, id)
	}
	if near := r.near(sub, ids); len(near) > 0 {
		return "there is no state " + sub + " that would bring its " + prop.Name() + "; there is " + orList(near)
	}
	return "it would be the " + prop.Name() + " of state " + sub + ": define that state above this line, or the symbol"
}

// comesLater reports a name of the shared namespace that a later line defines.
func (r *resolver) comesLater(line *Line, n lang.Name, what string) bool {
	at, ok := r.spacesAhead[n.Text]
	if _, here := r.scope.spaces[n.Text]; !ok || here {
		return false
	}
	r.fail(line, CodeBefore, n.Loc, "%s %s is used before it is defined", what, n.Text).
		related(r.sheet.File, at, "defined here").
		hint("lines are evaluated in reading order: move the definition above this line")
	return true
}
