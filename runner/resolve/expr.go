package resolve

import (
	"workings/propsdb"
	"workings/runner/lang"
	"workings/units"
)

// Op is what an expression does with its arguments.
type Op int

// The operations.
const (
	OpConst Op = iota
	OpRef
	OpNeg
	OpAdd
	OpSub
	OpMul
	OpDiv
	OpPow
	OpLess
	OpLessEq
	OpEqual
	OpNotEqual
	OpAnd
	OpOr
	OpNot
	OpCond
	OpFunc      // Fn names the built-in function
	OpData      // Data, Key and Col: look-up in a table
	OpFluid     // FluidFn of Fluid
	OpIntegrate // Args: integrand, lower, upper; Sym is the variable
	OpSmallest  // Args: expression, lower, upper; Sym is the variable: the least value between them
	OpLargest
)

// Expr is a typed expression. All values are SI.
type Expr struct {
	Op    Op
	Args  []*Expr
	Value float64 // OpConst
	Sym   *Symbol // OpRef, OpIntegrate, OpSmallest, OpLargest
	Fn    *Function
	Data  *DataTable
	Key   int // OpData: the column looked up by; Args[1], if any, is the value of the first column
	Col   int // OpData: the column read
	// OpFluid: what of which fluid.
	FluidFn FluidFunction
	Fluid   *Fluid
	Fuel    *FuelRef // of FuelEnthalpy, which reads gases of the database too; Fluid is then nil
	// PropertyAt: the property read and those that fix the state, in the order of Args.
	Prop  propsdb.Property
	Fixed []propsdb.Property
	Type  Type
	Unit  units.Unit // in which its value would be shown
	HasU  bool       // Unit comes from the operands, not from the preference list
	Src   lang.Expr
}

// OverInterval reports an expression of a variable of its own: Args[0] is evaluated many times.
func (e *Expr) OverInterval() bool {
	return e.Op == OpIntegrate || e.Op == OpSmallest || e.Op == OpLargest
}

// Symbols calls f for every symbol the expression reads.
func (e *Expr) Symbols(f func(*Symbol)) {
	if e == nil {
		return
	}
	if e.Op == OpRef {
		f(e.Sym)
	}
	for _, a := range e.Args {
		a.Symbols(f)
	}
}
