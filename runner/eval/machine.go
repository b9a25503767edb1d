package eval

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/integrate/quad"

	"workings/propsdb"
	"workings/runner/diag"
	"workings/runner/resolve"
)

// MaxRuns bounds the line evaluations of all the solves of a sheet together, and with them the
// time that any notebook can take.
const MaxRuns = 5_000_000

// machine runs a program at one point.
type machine struct {
	prog   *Program
	regs   []float64
	ok     []bool // of the symbols' registers: it holds a value
	states []propsdb.State
	fluids []*propsdb.Fluid
	fuels  []*propsdb.Fuel // of fluids that are fuels by their elements
	burnt  []*combustion   // of fluids that are products
	runs   int
	absent map[*resolve.Symbol]string // properties that their state does not have, and why
	sheet  *resolve.Sheet
	step   *step // whose code is running
	// shift, where set, is an input that has the value shifted instead of its own.
	shift   *resolve.Symbol
	shifted float64
}

// fault is why a line has no value; eval puts span and code to what went wrong below.
type fault struct {
	code  diag.Code
	file  *diag.File // of span, where that is not the line's own
	span  diag.Span
	msg   string
	label string
	hint  string
}

func newMachine(p *Program, s *resolve.Sheet) *machine {
	return &machine{prog: p, sheet: s, regs: make([]float64, p.registers), ok: make([]bool, p.symbols),
		absent: map[*resolve.Symbol]string{}, states: make([]propsdb.State, len(p.slots)), fluids: make([]*propsdb.Fluid, p.fluids),
		fuels: make([]*propsdb.Fuel, p.fluids), burnt: make([]*combustion, p.fluids)}
}

func (m *machine) set(s *resolve.Symbol, v float64) {
	m.regs[s.Reg], m.ok[s.Reg] = v, true
}

// value runs a code and returns its value.
func (m *machine) value(c *code) (float64, *fault) {
	if f := m.run(c); f != nil {
		return 0, f
	}
	return m.regs[c.out], nil
}

func truth(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func (m *machine) run(c *code) *fault {
	r := m.regs
	for pc := 0; pc < len(c.ins); pc++ {
		i := &c.ins[pc]
		var v float64
		switch i.op {
		case opConst:
			v = i.val
		case opMove:
			v = r[i.a]
		case opNeg:
			v = -r[i.a]
		case opAdd:
			v = r[i.a] + r[i.b]
		case opSub:
			v = r[i.a] - r[i.b]
		case opMul:
			v = r[i.a] * r[i.b]
		case opDiv:
			if r[i.b] == 0 {
				return m.arith(i, "division by zero", i.src.Args[1])
			}
			v = r[i.a] / r[i.b]
		case opPow:
			v = math.Pow(r[i.a], r[i.b])
		case opLess:
			v = truth(r[i.a] < r[i.b])
		case opLessEq:
			v = truth(r[i.a] <= r[i.b])
		case opEqual:
			v = truth(r[i.a] == r[i.b])
		case opNotEqual:
			v = truth(r[i.a] != r[i.b])
		case opNot:
			v = 1 - r[i.a]
		case opJump:
			pc = int(i.a) - 1
			continue
		case opJumpFalse:
			if r[i.a] == 0 {
				pc = int(i.b) - 1
			}
			continue
		default:
			var f *fault
			if v, f = m.call(i); f != nil {
				return f
			}
		}
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return m.notFinite(i, v)
		}
		r[i.dst] = v
	}
	return nil
}

// call is a function, a table or an integral.
func (m *machine) call(i *instr) (float64, *fault) {
	switch i.op {
	case opFunc:
		args := make([]float64, len(i.args))
		for j, a := range i.args {
			args[j] = m.regs[a]
		}
		v := i.src.Fn.Eval(args)
		if math.IsNaN(v) || math.IsInf(v, 0) && i.src.Fn.Domain != "" {
			return 0, &fault{code: CodeDomain, span: i.src.Src.Span(), msg: fmt.Sprintf("%s has no value at %s", i.src.Fn.Name, m.text(args[0], i.src.Args[0])),
				hint: i.src.Fn.Domain}
		}
		return v, nil
	case opData:
		return m.interpolate(i)
	case opFluid:
		return m.ofFluid(i)
	case opExtreme:
		return m.ofInterval(i)
	}
	return m.integrate(i)
}

func (m *machine) arith(i *instr, msg string, at *resolve.Expr) *fault {
	return &fault{code: CodeDivision, span: at.Src.Span(), msg: msg, label: "this is 0", hint: "a quotient needs a divisor that is not zero: check the values it comes from"}
}

func (m *machine) notFinite(i *instr, v float64) *fault {
	if i.op == opPow && math.IsNaN(v) {
		return &fault{code: CodeDomain, span: i.src.Src.Span(), msg: "a negative number has no real power with a fractional exponent", hint: "check the sign of the base"}
	}
	if i.op == opPow && m.regs[i.a] == 0 {
		return &fault{code: CodeDivision, span: i.src.Src.Span(), msg: "zero to a negative power is a division by zero", hint: "check the base"}
	}
	return &fault{code: CodeOverflow, span: i.src.Src.Span(), msg: "this is too large to be a number", hint: "check the exponents and units"}
}

// integrate is Gauss–Legendre quadrature, halved until two orders agree.
func (m *machine) integrate(i *instr) (float64, *fault) {
	lo, hi := m.regs[i.a], m.regs[i.b]
	var bad *fault
	f := m.overInterval(i, &bad)
	var area func(a, b float64, depth int) float64
	area = func(a, b float64, depth int) float64 {
		whole := quad.Fixed(f, a, b, 20, nil, 0)
		mid := a + (b-a)/2
		halves := quad.Fixed(f, a, mid, 20, nil, 0) + quad.Fixed(f, mid, b, 20, nil, 0)
		if bad != nil || math.Abs(whole-halves) <= 1e-13*math.Abs(halves) || depth == 0 {
			return halves
		}
		return area(a, mid, depth-1) + area(mid, b, depth-1)
	}
	// gonum wants its limits in rising order.
	sign := 1.0
	if lo > hi {
		lo, hi, sign = hi, lo, -1
	}
	if lo == hi {
		return 0, nil
	}
	v := sign * area(lo, hi, 10)
	return v, bad
}

// overInterval is the expression of i as a function of its variable. After a fault, which it leaves
// in bad, it gives 0.
func (m *machine) overInterval(i *instr, bad **fault) func(float64) float64 {
	return func(x float64) float64 {
		if *bad != nil {
			return 0
		}
		if m.runs++; m.runs > MaxRuns {
			*bad = m.tooLong(i.src.Src.Span())
			return 0
		}
		m.regs[i.src.Sym.Reg] = x
		v, f := m.value(i.sub)
		if f != nil {
			*bad = f
		}
		return v
	}
}

func (m *machine) tooLong(at diag.Span) *fault {
	return &fault{code: CodeRuns, span: at, msg: fmt.Sprintf("the solves of this sheet have evaluated more than %d lines", MaxRuns),
		hint: "narrow their brackets, or nest fewer of them"}
}
