package lang

import "workings/runner/diag"

// Block is one evaluated fence after parsing.
type Block struct {
	Kind  string // inputs, assume, calc, method, cycle, table, data, study, chart, answers
	Span  diag.Span
	Stmts []Stmt
}

// Node is anything in the tree. Its span is a range of bytes of the notebook file; where a
// line goes on over several source lines it covers them all.
type Node interface{ Span() diag.Span }

// At is embedded in every node and gives its span.
type At struct{ Loc diag.Span }

// Span is the node's extent in the file.
func (a At) Span() diag.Span { return a.Loc }

// Name is an identifier as typed: a symbol, a fluid, a state's ID, a label.
type Name struct {
	At
	Text string
}

// UnitText is a unit as typed, not yet looked up.
type UnitText struct {
	At
	Text string
}

// Caption is the inline Markdown after `//`, without surrounding blanks. The zero value means
// that there is none.
type Caption struct {
	At
	Text string
}

// ---- expressions

// Expr is an expression.
type Expr interface {
	Node
	expr()
}

type (
	// Number is a literal, with its unit where one stands directly after it.
	Number struct {
		At
		Text  string // as typed, without the unit: 1.005, 1.2e5
		Value float64
		Unit  *UnitText // nil for a bare number
	}
	// Ident is a symbol, or a member of a used sheet or cycle where Of is set (gt.eta_th).
	Ident struct {
		At
		Of   *Name // gt in gt.eta_th; nil for a plain symbol
		Name Name
	}
	// Unary is -X, +X or `not X`.
	Unary struct {
		At
		Op string // "-", "+", "not"
		X  Expr
	}
	// Binary is an arithmetic or logical operation.
	Binary struct {
		At
		Op   string // + - * / ^ and or
		OpAt diag.Span
		X, Y Expr
	}
	// Compare is a comparison, or a chain of them: a < b <= c has three operands, two operators.
	Compare struct {
		At
		Ops      []string // == != < <= > >=
		OpAt     []diag.Span
		Operands []Expr
	}
	// Cond is If ? Then : Else.
	Cond struct {
		At
		If, Then, Else Expr
	}
	// Call is a function, or a column of a data table where Of is set (air_printed.h(T = 305 K)).
	Call struct {
		At
		Of   *Name
		Fn   Name
		Args []Arg
	}
	// Paren is an expression in the author's own brackets.
	Paren struct {
		At
		X Expr
	}
	// StateRef is `state 4` or `state gt.4`, allowed only as an argument or an output.
	StateRef struct {
		At
		Of *Name
		ID Name
	}
)

// Arg is one argument of a call: X, or Name = X.
type Arg struct {
	At
	Name *Name // nil where given by position
	X    Expr
}

func (*Number) expr()   {}
func (*Ident) expr()    {}
func (*Unary) expr()    {}
func (*Binary) expr()   {}
func (*Compare) expr()  {}
func (*Cond) expr()     {}
func (*Call) expr()     {}
func (*Paren) expr()    {}
func (*StateRef) expr() {}

// Full is a symbol with the sheet or cycle it is a member of: gt.eta_th.
func (x *Ident) Full() string {
	if x.Of != nil {
		return x.Of.Text + "." + x.Name.Text
	}
	return x.Name.Text
}

// ---- statements

// Stmt is one line of a block (with the lines that go on from it).
type Stmt interface {
	Node
	stmt()
}

type (
	// Heading is a line of `//` only: a row heading of the ledger, or blank text.
	Heading struct {
		At
		Caption Caption
	}
	// Input is a line of an `inputs` fence.
	Input struct {
		At
		Name    Name
		X       Expr
		Spread  Expr      // after ±, or nil: a standard uncertainty
		Between *Range    // after `within`, or nil: the allowed range
		In      *UnitText // after `in`, or nil
		Caption Caption
	}
	// Correlation is a line of an `inputs` fence, correlation(A, B) = R: how the errors of two inputs go
	// together.
	Correlation struct {
		At
		A, B    *Ident
		R       Expr
		Caption Caption
	}
	// Define is `name = expression [in unit]`.
	Define struct {
		At
		Name    Name
		X       Expr
		In      *UnitText
		Caption Caption
	}
	// Assume is `label: text // basis`.
	Assume struct {
		At
		Label Name
		Text  Caption // inline Markdown
		Basis Caption
	}
	// Fluid is `fluid NAME` or `fluid NAME = SPEC`. Spec is nil in the first form; in the second
	// a Call (perfect, mixture, products, or a database entry with `datum =`) or an Ident.
	Fluid struct {
		At
		Name    Name
		Spec    Expr
		Caption Caption
	}
	// State is `state ID = FLUID(k = v, k = v)`.
	State struct {
		At
		ID      Name
		Fluid   Name // air, or fluid_a inside a method
		Args    []Arg
		Caption Caption
	}
	// Check is `check CONDITION` or, with Caution set, `caution CONDITION`.
	Check struct {
		At
		Caution bool
		X       Expr
		// Tolerance is the quantity after `a == b within …`; Between the range after
		// `a within lo .. hi`. At most one of the two is set.
		Tolerance Expr
		Between   *Range
		Caption   Caption
	}
	// CallStmt is `state 2, w_c = compressor(state 1, p2, eta_c)`, or `eta = stage(state 1, state 2)
	// in %` for a method with one symbol as its output.
	CallStmt struct {
		At
		Outs    []Out
		Call    *Call
		In      *UnitText // after `in`, or nil; only with one output that is a symbol
		Caption Caption
	}
	// Solve is `solve NAME between A and B` or `solve (a, b) from (a0, b0)` with its lines.
	Solve struct {
		At
		Head    diag.Span // of the line that begins it, without its caption
		Names   []Name
		Between *Range // bracket of a single unknown
		From    []Expr // starting values of several unknowns
		Body    []Stmt
		Until   []*Until
		Caption Caption
	}
	// Until ends a solve: X is a Compare with ==, or an expression with Extreme set.
	Until struct {
		At
		X       Expr
		Extreme string // "", "largest" or "smallest"
		Caption Caption
	}
	// Use is `use "file.md" as name [with a = v, …]` or `use library`.
	Use struct {
		At
		Path    *StringLit // nil for a notebook that comes with the tool
		Library *Name
		As      *Name
		With    []Arg
		Caption Caption
	}
	// Accept is `accept CODE on SYMBOL // reason`, or `on state ID`.
	Accept struct {
		At
		Code    Name
		State   bool // On is a state: the component that leads to it
		On      Name
		Of      *Name // plant in plant.eta
		Caption Caption
	}
	// Method is the whole of a `method` fence.
	Method struct {
		At
		Head    diag.Span // of the signature, without its caption
		Name    Name
		Params  []Param
		Outs    []Out
		Body    []Stmt
		Caption Caption
	}
	// Data is the whole of a `data` fence. Rows hold the cells as typed.
	Data struct {
		At
		Name    Name
		From    *StringLit // a file beside the notebook, or nil for inline rows
		Columns []Column
		Rows    []DataRow
		// Labelled says that a first column, headed `state`, names the rows; it is in neither of the above.
		Labelled bool
		Caption  Caption
	}
	// Bad is a line that could not be parsed. It still says what it would have defined, so that
	// lines that use those names wait for it instead of being reported again.
	Bad struct {
		At
		Defines []Name // symbols, by the best guess
		States  []Name
		Spaces  []Name // fluids, methods, data, used sheets
	}
	// Table is the whole of a `table` fence.
	Table struct {
		At
		Name    Name // that links refer to it by; may be empty
		States  []StateRef
		Columns []ShownColumn // property stems over the states
		Symbols []Shown
		Caption Caption
	}
	// Answer is a line of an `answers` fence.
	Answer struct {
		At
		Shown
		Caption Caption
	}
)

// Range is `lo .. hi`, or the two ends of `between A and B`.
type Range struct {
	At
	Lo, Hi Expr
}

// Out is one output of a call or a method: a symbol or a state.
type Out struct {
	At
	State bool
	Fluid bool // a parameter only: `fluid f`
	Name  Name
}

// Param is one parameter of a method.
type Param struct {
	At
	State bool
	Fluid bool // a fluid of the caller's sheet
	Name  Name
}

// StringLit is a quoted path.
type StringLit struct {
	At
	Value string
}

// Column is a head of a data table: `T/K`, `h/(kJ/kg)`, `k/1`.
type Column struct {
	At
	Name Name
	Unit UnitText // Text "" where it is missing, which resolve reports
}

// DataRow is one row of a data table.
type DataRow struct {
	At
	Cells []Cell
}

// Cell is one figure of a data table; OK is false where Text is no number.
type Cell struct {
	At
	Text  string
	Value float64
	OK    bool
}

// ShownColumn is `h in kJ/kg` in a table over states.
type ShownColumn struct {
	At
	Name Name
	In   *UnitText
}

// Shown is a symbol shown in a table, an answer or prose, with the unit and digits asked for.
type Shown struct {
	At
	Of     *Name
	Name   Name
	In     *UnitText
	Digits int // 0: as the sheet says
}

func (*Heading) stmt()     {}
func (*Input) stmt()       {}
func (*Define) stmt()      {}
func (*Assume) stmt()      {}
func (*Fluid) stmt()       {}
func (*State) stmt()       {}
func (*Check) stmt()       {}
func (*CallStmt) stmt()    {}
func (*Solve) stmt()       {}
func (*Until) stmt()       {}
func (*Use) stmt()         {}
func (*Accept) stmt()      {}
func (*Correlation) stmt() {}
func (*Method) stmt()      {}
func (*Data) stmt()        {}
func (*Bad) stmt()         {}
func (*Table) stmt()       {}
func (*Answer) stmt()      {}
