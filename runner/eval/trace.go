package eval

import (
	"workings/propsdb"
	"workings/runner/diag"
	"workings/runner/resolve"
	"workings/units"
)

// Trace is what a sheet came to: every entry in reading order with its values.
type Trace struct {
	Sheet   *resolve.Sheet
	Entries []*Entry // of the notebook itself; solves, calls and used sheets hold their own
	Checks  []*Entry // every check and caution, those of methods and used sheets included
	// Problems are all of them, from reading the text to evaluating it; sorted by Settle.
	Problems []*diag.Problem
	Fluids   []FluidUse
	// Uncertain holds the combined standard uncertainty of the answers that have one.
	Uncertain map[*resolve.Symbol]*Uncertainty
	// Unconfirmed holds the assumptions to be confirmed under the answers that rest on any.
	Unconfirmed map[*resolve.Symbol]Unconfirmed
	// Routes are the sheet evaluated again with other fluid models.
	Routes  []*Route
	values  map[*resolve.Symbol]float64
	entries map[*resolve.Line]*Entry
	machine *machine // that it was evaluated by
	accepts []acceptance
	// cautions finds the check that a reported caution belongs to.
	cautions map[*diag.Problem]*CheckDetail
	states   map[*resolve.State]propsdb.State
	flows    map[*resolve.Expr]float64 // of the legs and fuels of cycles
}

// Status says whether an entry has a value.
type Status int

const (
	// Done: the line was evaluated.
	Done Status = iota
	// Failed: the line has a problem of its own.
	Failed
	// Waiting: a line it depends on has failed.
	Waiting
)

// Entry is one line of the ledger.
type Entry struct {
	// Number is what the sheet cites it by: "12"; "25.1" for a line of a solve, a call's
	// working or a used sheet. Headings, assumptions, tables and answers have none.
	Number   string
	Line     *resolve.Line
	Sheet    string // name of the used sheet it belongs to
	Status   Status
	Problem  *diag.Problem // why it failed
	WaitsFor []string      // numbers of the failed entries it depends on, directly or not
	Results  []Result      // one for each symbol it defines
	Uses     []string      // numbers of the entries it reads from
	UsedBy   []string
	reader   *Entry // the last that was found to read it
	Children []*Entry
	Spread   *Value // Input: its standard uncertainty
	State    *StateDetail
	Check    *CheckDetail
	Solve    *SolveDetail
	Lookups  []Lookup
}

// Result is a symbol's value.
type Result struct {
	Symbol *resolve.Symbol
	OK     bool // it has a value
	Value  Value
	Read   bool // some line, table or answer reads it
}

// Value is a number and the unit it is shown in.
type Value struct {
	SI   float64
	Unit units.Unit
	// Shown is the number in Unit.
	Shown float64
	Bool  bool // a truth value: SI is 0 or 1
}

// StateDetail is how a state was fixed.
type StateDetail struct {
	Fluid *propsdb.Fluid
	State propsdb.State
	// Given are the one or two properties that fix it, with their values.
	Given []Result
	Names []propsdb.Property // of Given
	// Inverted is set where a property had to be found by inversion: the relation solved, what
	// it was solved for, the residual left and the steps taken.
	Inverted  bool
	Inversion propsdb.Inversion
}

// Verdict is what a check came to.
type Verdict string

// The verdicts.
const (
	Holds Verdict = "holds"
	Fails Verdict = "fails"
	Waits Verdict = "waits"
)

// CheckDetail is a check with its two sides.
type CheckDetail struct {
	Caution bool // a caution does not fail the sheet
	Text    string
	Verdict Verdict
	// Accepted is set where a caution does not hold and the author has settled it with a reason.
	Accepted *resolve.Accept
	// Plain: one comparison or range, for which the fields below hold; otherwise only Verdict.
	Plain       bool
	Op          string // == < <= > >= != or "within" for a range
	Left, Right Value
	// Lo and Hi are the limits the left side must keep, as far as HasLo and HasHi say.
	Lo, Hi       Value
	HasLo, HasHi bool
	// Margin is how far the left side is inside its nearest limit (negative: outside).
	Margin Value
}

// SolveDetail is how the unknowns were found.
type SolveDetail struct {
	Lo, Hi    []Value // bracket of each unknown, or its starting value in Lo
	Extreme   string  // "", largest, smallest
	Residuals []Value // left − right of each until, or the value at the extreme
	Steps     int     // iterations
	Runs      int     // evaluations of the body
}

// Lookup is one reading of a data table.
type Lookup struct {
	Table    *resolve.DataTable
	Key, Col int
	At       float64 // SI
	Between          // the rows read between; of a table in blocks those of the first block
	Value    float64 // SI
	// Of a table in blocks: the value of the first column, and the readings by Key within one
	// block, or within the two that BlockAt lies between. Else Blocks is nil.
	BlockAt float64
	Blocks  []InBlock
}

// Between are the rows that a value lies between: Row and the one after it, or Row alone where its
// figure is the value.
type Between struct {
	Row   int
	Exact bool
}

// InBlock is a reading within a block of a table.
type InBlock struct {
	Between
	Value float64 // SI
}

// FluidUse is a fluid as it was evaluated. No two have one name: that of a used sheet is gt.air,
// that of a working "g, 14" after its call.
type FluidUse struct {
	Name  string
	Fluid *propsdb.Fluid
	Of    *resolve.Fluid
}

// FluidName is the name by which Fluids lists a fluid of the sheet.
func (t *Trace) FluidName(f *resolve.Fluid, data *propsdb.Fluid) string {
	name := f.Name
	for _, u := range t.Fluids {
		switch {
		case u.Of == f:
			return u.Name
		case u.Fluid == data && u.Of.Name == f.Name:
			name = u.Name
		}
	}
	return name
}

// Value is what a symbol came to; false where it has no value.
func (t *Trace) Value(s *resolve.Symbol) (Value, bool) {
	if s == nil {
		return Value{}, false
	}
	v, ok := t.values[s]
	if !ok {
		return Value{}, false
	}
	return t.show(v, s.Unit, s.Type), true
}

// Entry is the ledger entry of a line, or nil.
func (t *Trace) Entry(l *resolve.Line) *Entry { return t.entries[l] }

// Shown is a value as an answer, a table or prose asks for it.
func (t *Trace) Shown(s *resolve.Shown) (Value, bool) {
	if s == nil || s.Symbol == nil {
		return Value{}, false
	}
	v, ok := t.values[s.Symbol]
	if !ok {
		return Value{}, false
	}
	return t.show(v, s.Unit, s.Symbol.Type), true
}

func (t *Trace) show(si float64, u units.Unit, ty resolve.Type) Value {
	return show(si, u, ty, t.Sheet.Ambient)
}

// show is a value in a unit. A gauge unit counts from the ambient of the sheet that shows it; a
// sheet that states none shows the absolute pressure.
func show(si float64, u units.Unit, ty resolve.Type, ambient float64) Value {
	if u.Kind() == units.Gauge && ambient == 0 {
		u = u.Difference()
	}
	return Value{SI: si, Unit: u, Shown: u.FromSI(si, ambient), Bool: ty.Bool}
}
