package sheet

import (
	"strconv"

	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/notebook"
	"workings/runner/resolve"
)

// index is what is looked up while a page is written, made in one walk over the trace.
type index struct {
	tr      *eval.Trace
	entries map[*resolve.Line]*eval.Entry
	numbers map[string]bool // of the entries
	broken  map[string]bool // of those without a value
	symbols
	// stateCall is the number of the call whose working a state belongs to.
	stateCall map[*resolve.State]string
	// stateAlias is the caller's state behind a method's own.
	stateAlias map[*resolve.State]*resolve.State
	blocks     [][]*resolve.Line // lines by fence
	problems   map[*diag.Problem]int
	assumed    map[string]int                      // label → number of the assumption
	notes      map[string]int                      // label → number of the footnote
	rowsRead   map[*resolve.DataTable]map[int]bool // rows of tables that a look-up read
	places     map[*resolve.Line]place             // numbered tables and figures
	ambients   map[string]float64                  // of the used sheets, by name
	open       map[*resolve.Line]bool              // assumptions of used sheets that are to be confirmed
	errors     int
	cautions   int
}

// entry is that of a line, or nil.
func (x *index) entry(l *resolve.Line) *eval.Entry { return x.entries[l] }

func newIndex(doc *notebook.Document, tr *eval.Trace) *index {
	x := &index{
		tr: tr, entries: make(map[*resolve.Line]*eval.Entry, len(tr.Entries)), numbers: make(map[string]bool, len(tr.Entries)),
		symbols: symbols{byRegister: make([]symbol, tr.Sheet.Registers), others: map[*resolve.Symbol]*symbol{}}, broken: map[string]bool{},
		stateCall: map[*resolve.State]string{}, stateAlias: map[*resolve.State]*resolve.State{},
		problems: map[*diag.Problem]int{}, assumed: map[string]int{}, notes: map[string]int{},
		rowsRead: map[*resolve.DataTable]map[int]bool{}, ambients: map[string]float64{},
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
			x.know(a.Symbol).answer = true
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
	l := e.Line
	x.entries[l] = e
	if e.Number != "" {
		x.numbers[e.Number] = true
	}
	if e.Status != eval.Done {
		x.broken[e.Number] = true
	}
	if l.Sub != nil {
		x.ambients[l.Sub.Name] = l.Sub.Ambient
		for _, a := range l.Sub.Assumed {
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
		k := x.know(r.Symbol)
		if r.OK {
			k.value, k.ok = r.Value, true
		}
		x.define(k, e)
	}
	for _, s := range l.Defines {
		k := x.know(s)
		x.define(k, e)
		if s.Local && call != "" {
			k.call = call
		}
	}
	if st := l.State; st != nil && call != "" && st.Local && x.stateAlias[st] == nil {
		x.stateCall[st] = call
		for _, s := range st.Props {
			if s.Local {
				x.know(s).call = call
			}
		}
	}
	if l.Kind == resolve.Call {
		call = e.Number
		for _, b := range l.Inputs {
			x.bind(b, call)
		}
		for _, b := range l.Outputs {
			x.bindState(b)
			if b.From != nil && b.Symbol != nil && b.From != b.Symbol {
				x.know(b.From).alias = b.Symbol
			}
		}
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
				k := x.know(r.Symbol)
				k.value, k.ok = r.Value, true
			}
		}
		x.values(e.Children)
	}
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
		if a := x.of(from).alias; a != nil {
			from = a
		}
		x.know(b.Symbol).alias = from
		return
	}
	x.know(b.Symbol).call = call
}

func (x *index) bindState(b resolve.Binding) {
	if b.State != nil && b.Local != nil && b.State != b.Local && b.Local.Local {
		x.stateAlias[b.Local] = b.State
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
