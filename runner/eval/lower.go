package eval

import (
	"workings/runner/resolve"
)

func (p *Program) expr(e *resolve.Expr) *code {
	if e == nil {
		return nil
	}
	c := &code{ins: make([]instr, 0, instructions(e))}
	c.out = p.gen(c, e)
	p.registers = max(p.registers, int(p.temp))
	return c
}

// instructions is about how many an expression comes to.
func instructions(e *resolve.Expr) int {
	n := 0
	if e.Op != resolve.OpRef {
		n = 1
	}
	for _, a := range e.Args {
		n += instructions(a)
	}
	return n
}

// emit appends an instruction that leaves its value in a new temporary.
func (p *Program) emit(c *code, i instr) int32 {
	i.dst = p.temp
	p.temp++
	c.ins = append(c.ins, i)
	return i.dst
}

func binary(op resolve.Op) opcode {
	switch op {
	case resolve.OpAdd:
		return opAdd
	case resolve.OpSub:
		return opSub
	case resolve.OpMul:
		return opMul
	case resolve.OpDiv:
		return opDiv
	case resolve.OpPow:
		return opPow
	case resolve.OpLess:
		return opLess
	case resolve.OpLessEq:
		return opLessEq
	case resolve.OpEqual:
		return opEqual
	}
	return opNotEqual
}

// gen appends the code of an expression and returns the register that holds its value.
func (p *Program) gen(c *code, e *resolve.Expr) int32 {
	in := instr{a: -1, b: -1, src: e}
	switch e.Op {
	case resolve.OpConst:
		in.op, in.val = opConst, e.Value
	case resolve.OpRef:
		return int32(e.Sym.Reg)
	case resolve.OpNeg, resolve.OpNot:
		in.op = opNeg
		if e.Op == resolve.OpNot {
			in.op = opNot
		}
		in.a = p.gen(c, e.Args[0])
	case resolve.OpCond:
		in.op, in.a = opBranch, p.gen(c, e.Args[0])
		in.sub, in.other = p.part(e.Args[1]), p.part(e.Args[2])
	case resolve.OpAnd:
		// The right side is looked at only where the left leaves the matter open, so that
		// `x != 0 and 1/x > 2` never divides by zero.
		in.op, in.a = opBranch, p.gen(c, e.Args[0])
		in.sub, in.other = p.part(e.Args[1]), p.constant(e, 0)
	case resolve.OpOr:
		in.op, in.a = opBranch, p.gen(c, e.Args[0])
		in.sub, in.other = p.constant(e, 1), p.part(e.Args[1])
	case resolve.OpFunc, resolve.OpFluid:
		in.op = opFunc
		if e.Op == resolve.OpFluid {
			in.op = opOfFluid
			if e.Fluid != nil {
				in.fluids = append(in.fluids, p.token(e.Fluid))
			}
			if e.Fuel != nil && e.Fuel.Fluid != nil {
				in.fluids = append(in.fluids, p.token(e.Fuel.Fluid))
			}
		}
		in.args = make([]int32, len(e.Args))
		for i, a := range e.Args {
			in.args[i] = p.gen(c, a)
		}
		p.mostArgs = max(p.mostArgs, len(e.Args))
	case resolve.OpData:
		in.op, in.a = opData, p.gen(c, e.Args[0])
		if len(e.Args) > 1 {
			in.b = p.gen(c, e.Args[1])
		}
	case resolve.OpIntegrate, resolve.OpSmallest, resolve.OpLargest:
		in.op, in.variable = opIntegrate, int32(e.Sym.Reg)
		in.a, in.b = p.gen(c, e.Args[1]), p.gen(c, e.Args[2])
		in.sub = p.part(e.Args[0])
		in.loop = p.newLoop("largest")
		in.loop.left = []int32{in.sub.out}
		if e.Op != resolve.OpIntegrate {
			in.op = opExtreme
		}
		if e.Op == resolve.OpSmallest {
			in.loop.extreme = "smallest"
		}
	default:
		in.op = binary(e.Op)
		in.a, in.b = p.gen(c, e.Args[0]), p.gen(c, e.Args[1])
	}
	return p.emit(c, in)
}

// part is the code of an expression that is run by another instruction.
func (p *Program) part(e *resolve.Expr) *code {
	c := &code{}
	c.out = p.gen(c, e)
	return c
}

func (p *Program) constant(e *resolve.Expr, v float64) *code {
	c := &code{}
	c.out = p.emit(c, instr{op: opConst, a: -1, b: -1, val: v, src: e})
	return c
}
