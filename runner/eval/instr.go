package eval

import (
	"workings/propsdb"
	"workings/runner/resolve"
)

// opcode is one operation on registers, over all lanes at once.
type opcode uint8

const (
	opConst opcode = iota
	opMove
	opNeg
	opAdd
	opSub
	opMul
	opDiv
	opPow
	opLess
	opLessEq
	opEqual
	opNotEqual
	opNot
	opFunc      // a built-in function of args
	opData      // a reading of a table at a, and at b in its first column
	opOfFluid   // a built-in that is asked of a fluid
	opMake      // makes the fluid of a line from args
	opFluidSym  // M, R or fuel ratio of that fluid
	opState     // T and p of a state, from the properties a and b
	opProp      // a property of a state of T = a and p = b
	opGiven     // the property a by which a state was given, where it has a T = b
	opBranch    // sub where a is true, other where it is not
	opIntegrate // the integral of sub over variable from a to b
	opExtreme   // the least or greatest value of sub for variable from a to b
	opSolve     // finds unknowns
	opLn        // ln T
	opEnthalpy  // h of a gas at T = a, whose logarithm is b
	opSo        // so of a gas, likewise
	opTofH      // T of a gas from h
	opTofSo     // T of a gas from so
	opLogP      // R·ln(p/1 bar)
	opFused     // two or three sums and products of args
	opGuard     // gives up lanes where a is not finite, or not as limit wants it
	opConserve  // gives up lanes where more or less flows into a component than out of it
)

// instr computes register dst. Registers are written once, but by loops again at every trial.
type instr struct {
	op       opcode
	limit    limit // opGuard
	lo, hi   float64
	gas      *propsdb.Fluid // opEnthalpy …
	row      fusion         // opFused
	dst      int32
	a, b     int32 // −1: none
	val      float64
	args     []int32
	fluids   []int32 // registers of the fluids it reads
	src      *resolve.Expr
	sub      *code // opBranch, opIntegrate, opExtreme
	other    *code // opBranch
	variable int32 // opIntegrate, opExtreme
	loop     *loop // opSolve, opIntegrate, opExtreme
	st       *stateCode
	prop     propsdb.Property
	sym      *resolve.Symbol // opProp, opFluidSym: what is computed, for messages
	step     *step           // opMake, opState, opSolve
}

// limit is what a guard wants beside a finite number.
type limit uint8

const (
	anyNumber limit = iota
	notNegative
	aboveZero
	between // lo and hi
)

// code is a run of instructions that leaves its value in register out.
type code struct {
	ins []instr
	out int32
}

// stateCode is where a state is kept: registers of its T and p, which are the whole state of an
// ideal gas, and a slot for that of water and of fluids that differ from lane to lane.
type stateCode struct {
	slot   int
	t, p   int32
	findsP bool // p is not among what was given
	fluid  *resolve.Fluid
	fluids []int32            // the register that stands for it
	given  []propsdb.Property // one or two, and the registers of their values
	value  [2]int32
}

// loop is what a solve or an expression over an interval needs besides its instruction.
type loop struct {
	index    int     // among those of its program, for the scratch of each machine
	unknowns []int32 // opSolve
	from     []int32 // opSolve with several unknowns: starting values
	extreme  string  // opSolve, opExtreme: largest, smallest
	body     []instr // opSolve: the body and the sides of its conditions
	left     []int32 // of each condition; the value where an extreme is sought
	right    []int32 // none where an extreme is sought
	// outer are registers of other lines that differ from lane to lane and that the loop reads:
	// those to gather when lanes that are done are left out.
	outer []int32
	apart bool // lanes cannot be gathered
	lines int  // that one trial evaluates
}

// reads calls f for every register that the instruction itself reads, loops and branches aside.
func (i *instr) reads(f func(*int32)) {
	for _, r := range []*int32{&i.a, &i.b} {
		if *r >= 0 {
			f(r)
		}
	}
	for k := range i.args {
		f(&i.args[k])
	}
	for k := range i.fluids {
		f(&i.fluids[k])
	}
}

// finds are the registers an instruction leaves behind.
func (i *instr) finds(f func(int32)) {
	switch i.op {
	case opGuard, opConserve:
	case opState:
		f(i.st.t)
		if i.st.findsP {
			f(i.st.p)
		}
	case opSolve:
		for _, u := range i.loop.unknowns {
			f(u)
		}
	default:
		f(i.dst)
	}
}
