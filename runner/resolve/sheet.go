package resolve

import (
	"strings"

	"workings/propsdb"
	"workings/runner/diag"
	"workings/runner/lang"
	"workings/units"
)

// Sheet is one notebook after names and dimensions have been checked.
type Sheet struct {
	File    *diag.File
	Name    string // the name it is used by; "" for the notebook itself
	Ambient float64
	System  units.System
	Digits  int
	Lines   []*Line // in reading order; methods' and solves' own lines are in Line.Body
	Symbols []*Symbol
	States  []*State
	Fluids  []*Fluid
	Tables  []*Table // summary tables
	Cycles  []*Cycle
	Charts  []*Chart
	Studies []*Study // without those that have failed
	Answers []*Shown
	Prose   []*Shown     // in the order of Source.Prose
	Refs    []*Reference // links to places on the sheet, in the order of the text
	Data    []*DataTable
	Assumed []*Assumption
	Accepts []*Accept
	// Correlations are those of its inputs, without lines that have failed.
	Correlations []*Correlation
	// Problems are those of this sheet and of the sheets it uses.
	Problems []*diag.Problem
	// Registers is how many numbers the program of the whole sheet holds, used sheets and
	// methods' workings included; FluidRegisters the same for fluids.
	Registers, FluidRegisters int

	symbols map[string]*Symbol
	states  map[string]*State
	used    map[string]*Sheet
	scope   *resolver // of a used sheet: its properties may still come into being
}

// Symbol finds a symbol by any spelling that prints like it. of is the used sheet it lives in, the
// cycle whose total it is, or both: gt.plant.
func (s *Sheet) Symbol(of, name string) *Symbol {
	key := lang.Name{Text: name}.Key()
	if of == "" {
		return s.symbols[key]
	}
	if sub := s.used[of]; sub != nil {
		return sub.symbols[key]
	}
	outer, inner, deep := strings.Cut(of, ".")
	if !deep {
		return s.symbols[of+"."+key]
	}
	if s = s.used[outer]; s == nil {
		return nil
	}
	return s.symbols[inner+"."+key]
}

// Used is the sheet that goes by a name here, or nil.
func (s *Sheet) Used(name string) *Sheet { return s.used[name] }

// Symbol is a named quantity. A method's locals are symbols of their own for every call.
type Symbol struct {
	Name    string // as first spelled
	Sheet   string // name of the used sheet or the cycle it lives in; "" in the notebook itself
	Type    Type
	Unit    units.Unit // in which it is shown
	Span    diag.Span  // of its definition
	Line    *Line      // that defines it
	Local   bool       // of a method's working
	Reg     int        // register of the program, from 0
	State   *State     // whose property it is, nil for others
	Prop    propsdb.Property
	Ratio   bool // f_g, the fuel–oxidant mass ratio of products g
	Adopted bool // a symbol of the author's that a state keeps as its property

	bad bool // its line failed statically
}

// Full is the name with its sheet: gt.eta_th.
func (s *Symbol) Full() string {
	if s.Sheet != "" {
		return s.Sheet + "." + s.Name
	}
	return s.Name
}

// Kind says what a line is.
type Kind int

// The kinds of lines.
const (
	Heading Kind = iota
	Input
	Define
	FluidLine
	StateLine
	Check // also a caution: Line.Stmt says which
	Call
	Solve
	Until
	Use
	Assume
	AcceptLine
	MethodLine // a method's definition, shown once as text
	DataLine
	TableLine
	AnswerLine
	CycleLine     // with its components and totals in Body
	ComponentLine // of a cycle
	FlowLine      // of a cycle: X is the flow
	DeadStateLine // of a cycle
	ChartLine
	StudyLine
	CorrelationLine
	BadLine // could not be parsed
)

// Line is one checked statement.
type Line struct {
	Kind  Kind
	File  *diag.File
	Block int // index of the fence it stands in; -1 in a library
	Stmt  lang.Stmt
	Body  []*Line // of a call, a solve, a used sheet

	Defines []*Symbol
	Uses    []*Symbol // that it reads, in order of first mention
	Reads   []*Line   // fluids, methods and tables that it reads

	X        *Expr // Input, Define: the expression
	Spread   *Expr // Input
	Lo, Hi   *Expr // Input: allowed range; Check: `within lo .. hi`; Solve: bracket
	Compare  *Condition
	State    *State
	Fluid    *Fluid
	Method   *Method
	Inputs   []Binding // Call: parameters; Use: inputs given instead of the sheet's own
	Outputs  []Binding // Call: outputs under the caller's names
	Unknowns []*Symbol // Solve
	From     []*Expr   // Solve: starting values
	Untils   []*Line   // Solve
	Extreme  string    // Until: "", largest, smallest
	Sub      *Sheet    // Use
	Data     *DataTable
	Table    *Table
	Shown    *Shown
	Cycle    *Cycle // CycleLine, and the lines in its Body
	// Component of a ComponentLine; Total of a Define that a cycle brings.
	Component *Component
	Total     *Total
	Chart     *Chart
	Study     *Study

	Sources    []string // labels of footnotes and assumptions its caption cites
	Overridden bool     // Input: by --set or by `use … with`
	OwnText    string   // Input: what the notebook itself says, where overridden

	// Problem is why the line has no value, where that was found before evaluation.
	Problem *diag.Problem
	// Waits are the failed lines it depends on; set only where Problem is nil.
	Waits []*Line

	// XFile is where the value of an overridden input is written, if not in File.
	XFile *diag.File
	// argumentFault is the first line of a call's working with a fault that its arguments may have
	// caused.
	argumentFault *Line
	// caller is the call in whose working this call stands, nil in the text of a sheet.
	caller *Line
}

// Outer is the innermost call in the text of the user through which this call is made: itself, unless
// it stands in a method that comes with the tool.
func (l *Line) Outer() *Line {
	for l.caller != nil && l.caller.Method.Library != "" {
		l = l.caller
	}
	return l
}

// CountLines counts lines with those of methods, solves and used sheets.
func CountLines(lines []*Line) int {
	n := len(lines)
	for _, l := range lines {
		n += CountLines(l.Body)
	}
	return n
}

// Failed reports a line that cannot be evaluated.
func (l *Line) Failed() bool { return l.Problem != nil || len(l.Waits) > 0 }

// Binding gives a value to a symbol of another scope: a parameter, an input, an output.
type Binding struct {
	Symbol *Symbol // receives the value; nil for a state
	X      *Expr
	From   *Symbol // Call outputs: the local symbol
	State  *State  // passed or returned state
	Local  *State  // the same state inside the method
	Fluid  *Fluid  // passed fluid: nothing is evaluated for it
}

// Condition is what a check asks, split for the trace.
type Condition struct {
	X *Expr // the whole, of boolean type
	// Left and Right are set where X is one plain comparison, or `a within lo .. hi` (Left).
	Op          string
	Left, Right *Expr
	Tolerance   *Expr
	Relative    bool       // Tolerance is a fraction of the right side
	Unit        units.Unit // in which both sides and the limits are shown
}

// State is a thermodynamic state: two properties that fix it and all that follow.
type State struct {
	ID    string
	Sheet string
	Fluid *Fluid
	Given []Given // two, or one for an ideal gas given T or h alone
	Props []*Symbol
	Line  *Line
	Local bool
	Alias *State // the state itself, where this is a name for it inside a method or after a call

	bad bool
}

// Given is a property that fixes a state.
type Given struct {
	Prop propsdb.Property
	X    *Expr
}

// Prop is the state's symbol for a property, or nil where no line has read it.
func (s *State) Prop(p propsdb.Property) *Symbol {
	for _, sym := range s.Props {
		if sym.Prop == p {
			return sym
		}
	}
	return nil
}

// Fluid is a fluid of the sheet. Database gases are known here; perfect gases and mixtures are
// built by eval from the values of Args.
type Fluid struct {
	Name  string
	Kind  FluidKind
	Base  *propsdb.Fluid // Database
	Basis propsdb.Basis  // Mixture
	Args  []FluidArg
	Datum string // equal strings: enthalpies count from one zero
	// EntropyDatum is the same for entropies.
	EntropyDatum string
	OnFormation  bool // enthalpies hold heats of formation
	Fuel         *FuelRef
	Oxidant      *Fluid
	Amount       propsdb.AmountKind // of Args[0]
	Higher       bool               // FuelOf: the heating value given is the higher one
	Line         *Line
	Reg          int // fluid register of the program

	bad bool
}

// FluidKind says how a fluid is made.
type FluidKind int

// The kinds of fluids.
const (
	Database FluidKind = iota
	PerfectGas
	MixtureOf
	ProductsOf // of a fuel and an oxidant
	HumidAir
	FuelOf // a fuel known by its elements: it burns, and has no states
)

// FuelRef is the fuel of a combustion: a gas of the database, or a fluid of the sheet.
type FuelRef struct {
	Base  *propsdb.Fluid // on the formation datum
	Fluid *Fluid
}

// FluidArg is `cp = 1.005 kJ/(kg·K)` or `N2 = 0.78`.
type FluidArg struct {
	Name string
	X    *Expr
	Base *propsdb.Fluid // Mixture: the component
}

// Method is a named group of lines; each call resolves its body for the types it is given.
type Method struct {
	Name string
	Def  *lang.Method
	File *diag.File
	Line *Line
	// Library is the notebook of the tool that it comes from, "" for one of the user's.
	Library string
	// earlier is what its body may call: the methods defined before it in the same place.
	earlier map[string]*Method
	bad     bool
	called  bool
}

// DataTable is tabulated figures in SI.
type DataTable struct {
	Name    string
	Sheet   string // the used sheet that it belongs to, "" for the page's own
	Columns []DataColumn
	Rows    [][]float64 // SI
	Spans   []diag.Span // of the rows
	// Blocks are the rows at which blocks begin, the number of rows after them, in a table by two
	// properties: the first column is constant within a block. Else nil.
	Blocks []int
	Line   *Line
	File   *diag.File

	bad bool
}

// Full is the name by which the page knows the table: gt.air_printed for one of a used sheet.
func (d *DataTable) Full() string {
	if d.Sheet != "" {
		return d.Sheet + "." + d.Name
	}
	return d.Name
}

// DataColumn is one column.
type DataColumn struct {
	Name string
	Unit units.Unit
	Type Type
	// Rising is +1 where the figures rise strictly down the rows, −1 where they fall, else 0:
	// only a column that does either can be looked up by. The first column of a table in blocks
	// counts from block to block.
	Rising int
	// Within is set in a table in blocks where the figures rise or fall strictly within every block:
	// the column can be looked up by together with the first.
	Within bool
}

// Table is a summary table: states over properties, or symbols.
type Table struct {
	Name    string // that links refer to it by; may be empty
	States  []*State
	Columns []TableColumn
	Cells   [][]*Symbol // by state and column; nil where a state has no such property
	Symbols []*Shown
	Caption lang.Caption
	Line    *Line
}

// TableColumn is one property column.
type TableColumn struct {
	Prop propsdb.Property
	Name string
	Unit units.Unit
	Set  bool // a unit was asked for
}

// Shown is a symbol shown in an answer, a table or prose.
type Shown struct {
	Symbol  *Symbol
	Unit    units.Unit
	Digits  int // 0: as the sheet says
	Span    diag.Span
	Line    *Line // AnswerLine; nil in prose
	Problem *diag.Problem
}

// Assumption is one line of an `assume` fence.
type Assumption struct {
	Label   string
	Stmt    *lang.Assume
	Line    *Line
	Open    bool // its basis says "to confirm"
	CitedBy []*Line
}

// Correlation says how the errors of two inputs go together.
type Correlation struct {
	Of   [2]*Symbol
	R    float64 // correlation coefficient, −1 to 1
	Stmt *lang.Correlation
	Line *Line
}

// Accept settles a caution.
type Accept struct {
	Code   diag.Code
	On     string
	Reason lang.Caption
	Line   *Line
	Used   bool
}
