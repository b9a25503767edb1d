package eval

import (
	"workings/runner/resolve"
)

// opcode is one operation on registers.
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
	opJump      // to instruction a
	opJumpFalse // to instruction b where register a is 0
	opFunc
	opData
	opFluid
	opIntegrate
	opExtreme
)

// instr computes register dst from registers a and b.
type instr struct {
	op        opcode
	dst, a, b int32
	val       float64
	args      []int32 // opFunc
	sub       *code   // opIntegrate, opExtreme: the expression of the variable src.Sym
	src       *resolve.Expr
}

// code is a straight run of instructions that leaves its value in register out.
type code struct {
	ins []instr
	out int32
}

// step is one line, lowered. Codes that a line has not are nil.
type step struct {
	line                           *resolve.Line
	x, spread, lo, hi, left, right *code
	tolerance                      *code
	given                          []*code // StateLine: the properties; FluidLine: the arguments; Solve: starting values
	params                         []*code // Call
	state                          int     // slot of the state the line makes, −1 for none
	body, untils                   []*step
	inputs, outputs                []stateCopy
	props                          []*resolve.Symbol // of the state of the line
	status                         Status
	fault                          *fault
	lookups                        []Lookup
	solve                          *SolveDetail
	check                          checkValues
	hot                            bool // products above where dissociation counts
	spreadValue                    float64
	flows                          []float64 // ComponentLine: of its legs, NaN where not known
}

// stateCopy gives a state another name, across the border of a method.
type stateCopy struct {
	from, to int
	props    []*resolve.Symbol // of the new name
}

// Program is a sheet lowered to registers and straight-line code, in SI.
type Program struct {
	steps     []*step
	registers int // symbols first, then the temporaries that all lines share
	fluids    int
	slots     map[*resolve.State]int
	byLine    map[*resolve.Line]*step
	symbols   int
	temp      int32 // next temporary of the line being lowered
}

// lower translates the checked lines of a sheet.
func lower(s *resolve.Sheet) *Program {
	p := &Program{registers: s.Registers, symbols: s.Registers, fluids: s.FluidRegisters,
		slots: map[*resolve.State]int{}, byLine: map[*resolve.Line]*step{}}
	p.steps = p.lines(s.Lines)
	return p
}

func (p *Program) lines(lines []*resolve.Line) []*step {
	out := make([]*step, 0, len(lines))
	for _, l := range lines {
		if st := p.line(l); st != nil {
			out = append(out, st)
		}
	}
	return out
}

func (p *Program) slot(s *resolve.State) int {
	i, ok := p.slots[s]
	if !ok {
		i = len(p.slots)
		p.slots[s] = i
	}
	return i
}

func (p *Program) line(l *resolve.Line) *step {
	st := &step{line: l, state: -1, status: Waiting} // until it has run
	p.byLine[l] = st
	if l.Kind == resolve.Use || l.Kind == resolve.Call || l.Kind == resolve.Solve || l.Kind == resolve.CycleLine {
		// Even where the line itself has failed its body is part of the trace.
		defer func() { st.body = p.lines(l.Body) }()
	}
	if l.Failed() {
		return st
	}
	p.temp = int32(p.symbols)
	st.x, st.spread = p.expr(l.X), p.expr(l.Spread)
	st.lo, st.hi = p.expr(l.Lo), p.expr(l.Hi)
	switch l.Kind {
	case resolve.StateLine:
		st.state = p.slot(l.State)
		for _, g := range l.State.Given {
			st.given = append(st.given, p.expr(g.X))
		}
		st.props = ownProps(l.State)
	case resolve.FluidLine:
		for _, a := range l.Fluid.Args {
			st.given = append(st.given, p.expr(a.X))
		}
	case resolve.Check, resolve.Until:
		if c := l.Compare; c != nil {
			st.left, st.right, st.tolerance = p.expr(c.Left), p.expr(c.Right), p.expr(c.Tolerance)
			if c.Left == nil {
				st.x = p.expr(c.X)
			}
		}
	case resolve.Call:
		for _, b := range l.Inputs {
			st.params = append(st.params, p.expr(b.X))
			if b.State != nil {
				st.inputs = append(st.inputs, stateCopy{p.slot(b.State), p.slot(b.Local), b.Local.Props})
			}
		}
		for _, b := range l.Outputs {
			if b.State != nil {
				st.outputs = append(st.outputs, stateCopy{p.slot(b.Local), p.slot(b.State), ownProps(b.State)})
			}
		}
	case resolve.ComponentLine:
		for _, legs := range [][]resolve.Leg{l.Component.From, l.Component.To} {
			for _, leg := range legs {
				st.given = append(st.given, p.expr(leg.Flow))
			}
		}
	case resolve.Solve:
		for _, x := range l.From {
			st.given = append(st.given, p.expr(x))
		}
		st.untils = p.lines(l.Untils)
	}
	p.registers = max(p.registers, int(p.temp))
	return st
}

// ownProps are the symbols that a state computes: not those it adopted.
func ownProps(s *resolve.State) []*resolve.Symbol {
	var out []*resolve.Symbol
	for _, sym := range s.Props {
		if !sym.Adopted || sym.State != s {
			out = append(out, sym)
		}
	}
	return out
}

func (p *Program) expr(e *resolve.Expr) *code {
	if e == nil {
		return nil
	}
	c := &code{}
	c.out = p.gen(c, e)
	p.registers = max(p.registers, int(p.temp))
	return c
}

func (p *Program) newTemp() int32 {
	t := p.temp
	p.temp++
	return t
}

func (p *Program) emit(c *code, i instr) int32 {
	i.dst = p.newTemp()
	c.ins = append(c.ins, i)
	return i.dst
}

var binaryOps = map[resolve.Op]opcode{
	resolve.OpAdd: opAdd, resolve.OpSub: opSub, resolve.OpMul: opMul, resolve.OpDiv: opDiv, resolve.OpPow: opPow,
	resolve.OpLess: opLess, resolve.OpLessEq: opLessEq, resolve.OpEqual: opEqual, resolve.OpNotEqual: opNotEqual,
}

// gen appends the code of an expression and returns the register that holds its value.
func (p *Program) gen(c *code, e *resolve.Expr) int32 {
	switch e.Op {
	case resolve.OpConst:
		return p.emit(c, instr{op: opConst, val: e.Value, src: e})
	case resolve.OpRef:
		return int32(e.Sym.Reg)
	case resolve.OpNeg, resolve.OpNot:
		op := opNeg
		if e.Op == resolve.OpNot {
			op = opNot
		}
		return p.emit(c, instr{op: op, a: p.gen(c, e.Args[0]), src: e})
	case resolve.OpAnd, resolve.OpOr:
		return p.shortCircuit(c, e)
	case resolve.OpCond:
		return p.cond(c, e)
	case resolve.OpFunc, resolve.OpFluid:
		args := make([]int32, len(e.Args))
		for i, a := range e.Args {
			args[i] = p.gen(c, a)
		}
		op := opFunc
		if e.Op == resolve.OpFluid {
			op = opFluid
		}
		return p.emit(c, instr{op: op, args: args, src: e})
	case resolve.OpData:
		in := instr{op: opData, a: p.gen(c, e.Args[0]), src: e}
		if len(e.Args) > 1 {
			in.b = p.gen(c, e.Args[1])
		}
		return p.emit(c, in)
	case resolve.OpIntegrate, resolve.OpSmallest, resolve.OpLargest:
		lo, hi := p.gen(c, e.Args[1]), p.gen(c, e.Args[2])
		sub := &code{}
		sub.out = p.gen(sub, e.Args[0])
		op := opIntegrate
		if e.Op != resolve.OpIntegrate {
			op = opExtreme
		}
		return p.emit(c, instr{op: op, a: lo, b: hi, sub: sub, src: e})
	}
	a, b := p.gen(c, e.Args[0]), p.gen(c, e.Args[1])
	return p.emit(c, instr{op: binaryOps[e.Op], a: a, b: b, src: e})
}

// shortCircuit evaluates the right side only where the left leaves the matter open, so that
// `x != 0 and 1/x > 2` never divides by zero.
func (p *Program) shortCircuit(c *code, e *resolve.Expr) int32 {
	out := p.newTemp()
	a := p.gen(c, e.Args[0])
	c.ins = append(c.ins, instr{op: opMove, dst: out, a: a, src: e})
	test := out
	if e.Op == resolve.OpOr {
		test = p.emit(c, instr{op: opNot, a: out, src: e})
	}
	jump := len(c.ins)
	c.ins = append(c.ins, instr{op: opJumpFalse, a: test, src: e})
	b := p.gen(c, e.Args[1])
	c.ins = append(c.ins, instr{op: opMove, dst: out, a: b, src: e})
	c.ins[jump].b = int32(len(c.ins))
	return out
}

func (p *Program) cond(c *code, e *resolve.Expr) int32 {
	out := p.newTemp()
	test := p.gen(c, e.Args[0])
	toElse := len(c.ins)
	c.ins = append(c.ins, instr{op: opJumpFalse, a: test, src: e})
	a := p.gen(c, e.Args[1])
	c.ins = append(c.ins, instr{op: opMove, dst: out, a: a, src: e})
	toEnd := len(c.ins)
	c.ins = append(c.ins, instr{op: opJump, src: e})
	c.ins[toElse].b = int32(len(c.ins))
	b := p.gen(c, e.Args[2])
	c.ins = append(c.ins, instr{op: opMove, dst: out, a: b, src: e})
	c.ins[toEnd].a = int32(len(c.ins))
	return out
}
