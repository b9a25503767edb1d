package sheet

import (
	"strconv"

	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/notebook"
	"workings/runner/resolve"
)

// index is what is looked up while a page is written, made in one walk over the trace.
type index struct {
	value  map[*resolve.Symbol]eval.Value
	entry  map[*resolve.Line]*eval.Entry
	number map[string]*eval.Entry
	// defined is the number of the entry that gives a symbol its value.
	defined map[*resolve.Symbol]string
	// alias is the caller's symbol behind a method's parameter or output.
	alias map[*resolve.Symbol]*resolve.Symbol
	// callOf and stateCall are the number of the call whose working a local belongs to.
	callOf    map[*resolve.Symbol]string
	stateCall map[*resolve.State]string
	// stateAlias is the caller's state behind a method's own.
	stateAlias map[*resolve.State]*resolve.State
	symbolID   map[*resolve.Symbol]int
	symbols    []*resolve.Symbol // in the order of symbolID, all but locals
	blocks     [][]*resolve.Line // lines by fence
	problems   map[*diag.Problem]int
	assumed    map[string]int // label → number of the assumption
	notes      map[string]int // label → number of the footnote
	answers    map[*resolve.Symbol]bool
	rowsRead   map[*resolve.DataTable]map[int]bool // rows of tables that a look-up read
	places     map[*resolve.Line]place             // numbered tables and figures
	ambients   map[string]float64                  // of the used sheets, by name
	open       map[*resolve.Line]bool              // assumptions of used sheets that are to be confirmed
	errors     int
	cautions   int
}

func newIndex(doc *notebook.Document, tr *eval.Trace) *index {
	x := &index{
		value: map[*resolve.Symbol]eval.Value{}, entry: map[*resolve.Line]*eval.Entry{},
		number: map[string]*eval.Entry{}, defined: map[*resolve.Symbol]string{},
		alias: map[*resolve.Symbol]*resolve.Symbol{}, callOf: map[*resolve.Symbol]string{},
		stateCall: map[*resolve.State]string{}, stateAlias: map[*resolve.State]*resolve.State{}, symbolID: map[*resolve.Symbol]int{},
		problems: map[*diag.Problem]int{}, assumed: map[string]int{}, notes: map[string]int{},
		answers: map[*resolve.Symbol]bool{}, rowsRead: map[*resolve.DataTable]map[int]bool{}, ambients: map[string]float64{},
		places: map[*resolve.Line]place{}, open: map[*resolve.Line]bool{},
	}
	x.blocks = make([][]*resolve.Line, len(doc.Blocks))
	for _, l := range tr.Sheet.Lines {
		if l.Block >= 0 && l.Block < len(x.blocks) && l.File == doc.File {
			x.blocks[l.Block] = append(x.blocks[l.Block], l)
		}
	}
	x.numberPlaces(tr.Sheet.Lines)
	for _, e := range tr.Entries {
		x.add(e, "")
	}
	for i, a := range tr.Sheet.Assumed {
		x.assumed[a.Label] = i + 1
	}
	for i, n := range doc.Footnotes {
		x.notes[n.Label] = i + 1
	}
	for _, a := range tr.Sheet.Answers {
		if a.Symbol != nil {
			x.answers[a.Symbol] = true
		}
	}
	for i, p := range tr.Problems {
		x.problems[p] = i + 1
		switch p.Severity {
		case diag.Error:
			if p.Code != eval.CodeCheck { // a failing check is counted with the checks
				x.errors++
			}
		case diag.Caution:
			x.cautions++
		}
	}
	return x
}

// add takes an entry and what is under it; call is the number of the call it works for.
func (x *index) add(e *eval.Entry, call string) {
	if e.Line != nil {
		x.entry[e.Line] = e
	}
	if e.Number != "" {
		x.number[e.Number] = e
	}
	if e.Line != nil && e.Line.Sub != nil {
		x.ambients[e.Line.Sub.Name] = e.Line.Sub.Ambient
		for _, a := range e.Line.Sub.Assumed {
			x.open[a.Line] = a.Open
		}
	}
	for _, k := range e.Lookups {
		if x.rowsRead[k.Table] == nil {
			x.rowsRead[k.Table] = map[int]bool{}
		}
		for _, row := range rowsOf(k) {
			x.rowsRead[k.Table][row] = true
		}
	}
	for _, r := range e.Results {
		if r.OK {
			x.value[r.Symbol] = r.Value
		}
		if _, ok := x.defined[r.Symbol]; !ok {
			x.defined[r.Symbol] = e.Number
		}
	}
	if e.Line != nil {
		for _, s := range e.Line.Defines {
			if _, ok := x.defined[s]; !ok {
				x.defined[s] = e.Number
			}
			x.identify(s)
			if s.Local && call != "" {
				x.callOf[s] = call
			}
		}
		if st := e.Line.State; st != nil && call != "" && st.Local && x.stateAlias[st] == nil {
			x.stateCall[st] = call
			for _, s := range st.Props {
				if s.Local {
					x.callOf[s] = call
				}
			}
		}
		if e.Line.Kind == resolve.Call {
			call = e.Number
			for _, b := range e.Line.Inputs {
				x.bind(b, call)
			}
			for _, b := range e.Line.Outputs {
				x.bindState(b)
				if b.From != nil && b.Symbol != nil && b.From != b.Symbol {
					x.alias[b.From] = b.Symbol
				}
			}
		}
	}
	for _, r := range e.Results {
		x.identify(r.Symbol)
	}
	for _, c := range e.Children {
		x.add(c, call)
	}
}

// values takes those of entries that stand on other pages.
func (x *index) values(es []*eval.Entry) {
	for _, e := range es {
		for _, r := range e.Results {
			if r.OK {
				x.value[r.Symbol] = r.Value
			}
		}
		x.values(e.Children)
	}
}

func (x *index) identify(s *resolve.Symbol) {
	if _, ok := x.symbolID[s]; ok || s.Local {
		return
	}
	x.symbolID[s] = len(x.symbols)
	x.symbols = append(x.symbols, s)
}

// bind ties a method's parameter to what the caller passed: a bare symbol prints under the
// caller's name, anything else under the parameter's own.
func (x *index) bind(b resolve.Binding, call string) {
	x.bindState(b)
	if b.Symbol == nil || b.X == nil {
		return
	}
	if b.X.Op == resolve.OpRef && b.X.Sym != b.Symbol {
		from := b.X.Sym
		if a := x.alias[from]; a != nil {
			from = a
		}
		x.alias[b.Symbol] = from
		return
	}
	x.callOf[b.Symbol] = call
}

func (x *index) bindState(b resolve.Binding) {
	if b.State != nil && b.Local != nil && b.State != b.Local && b.Local.Local {
		x.stateAlias[b.Local] = b.State
	}
}

// refs maps the names of an expression to what they are bound to. It is made anew for every
// line: an expression is met twice at most, as written and with its values.
func refs(into map[lang.Expr]*resolve.Expr, e *resolve.Expr) {
	if e == nil {
		return
	}
	if e.Op == resolve.OpRef || e.Op == resolve.OpConst || e.OverInterval() {
		src := strip(e.Src)
		for {
			u, ok := src.(*lang.Unary)
			if !ok || u.Op != "+" {
				break
			}
			src = strip(u.X)
		}
		if src != nil {
			into[src] = e
		}
	}
	for _, a := range e.Args {
		refs(into, a)
	}
}

// typedLine is the line in its file, from 1.
func typedLine(l *resolve.Line) int {
	if l == nil || l.Stmt == nil || l.File == nil {
		return 0
	}
	return l.File.Line(l.Stmt.Span().Start)
}

func itoa(n int) string { return strconv.Itoa(n) }
