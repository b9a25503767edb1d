package eval

import (
	"math"

	"workings/propsdb"
	"workings/runner/resolve"
)

// A state of an ideal gas that is known when a study begins falls apart into functions of one
// argument. That gives the bits of the state as a whole, and lets the schedule compute once what two
// states share, such as ln T of a state whose h and s are read, or a pressure that does not vary.

// gasOf is the gas that the states of a fluid have in every lane, or nil where it is another at every
// point, or water.
func (c *scheduler) gasOf(f *resolve.Fluid) *propsdb.Fluid {
	if by := c.b.plan.Replace[f]; by != nil {
		f = by
	}
	if r := c.get(c.b.ran.prog.token(f)); c.from[r] < 0 {
		return nil // it is made anew
	}
	return c.b.ran.gas(f)
}

// gasState schedules the T of a state from p and T, h or s; false where it is given otherwise. Lanes
// without a state are given up.
func (c *scheduler) gasState(st *stateCode, values [2]int32) bool {
	g := c.gasOf(st.fluid)
	if g == nil || len(st.given) != 2 {
		return false
	}
	q, p, y := st.given[1], values[0], values[1]
	if st.given[1] == propsdb.P {
		q, p, y = st.given[0], values[1], values[0]
	} else if st.given[0] != propsdb.P {
		return false
	}
	var t int32
	switch q {
	case propsdb.T:
		t = y
	case propsdb.H:
		t = c.pure(instr{op: opTofH, a: y, b: -1, gas: g})
	case propsdb.S:
		so := c.pure(instr{op: opAdd, a: y, b: c.pure(instr{op: opLogP, a: p, b: -1, gas: g})})
		t = c.pure(instr{op: opTofSo, a: so, b: -1, gas: g})
	default:
		return false
	}
	if q != propsdb.S { // of which R·ln p takes care
		c.within(p, propsdb.PressureMin, propsdb.PressureMax)
	}
	if q == propsdb.T {
		lo, hi := g.Range()
		c.within(t, lo, hi)
	}
	c.bind(st.t, t)
	return true
}

// gasProperty schedules h, s, so or T of a state; false for another property.
func (c *scheduler) gasProperty(i *instr) (int32, bool) {
	g := c.gasOf(i.st.fluid)
	if g == nil {
		return 0, false
	}
	logs := func() int32 { return c.pure(instr{op: opLn, a: i.a, b: -1}) }
	switch i.prop {
	case propsdb.T:
		return i.a, true
	case propsdb.H:
		return c.pure(instr{op: opEnthalpy, a: i.a, b: logs(), gas: g}), true
	case propsdb.So:
		return c.pure(instr{op: opSo, a: i.a, b: logs(), gas: g}), true
	case propsdb.S:
		so := c.pure(instr{op: opSo, a: i.a, b: logs(), gas: g})
		return c.pure(instr{op: opSub, a: so, b: c.pure(instr{op: opLogP, a: i.b, b: -1, gas: g})}), true
	}
	return 0, false
}

// within gives up lanes where a register leaves its bounds.
func (c *scheduler) within(r int32, lo, hi float64) {
	if k := (bound{r, lo, hi}); !c.bounds[k] {
		c.bounds[k] = true
		c.put(instr{op: opGuard, limit: between, lo: lo, hi: hi, dst: -1, a: r, b: -1}, c.level[r])
	}
}

// bound is what a register has been seen to keep.
type bound struct {
	r      int32
	lo, hi float64
}

// value is what an instruction computes: two that are equal are computed once.
type value struct {
	op   opcode
	a, b int32
	bits uint64
	gas  *propsdb.Fluid
	fn   *resolve.Function
}

func valueOf(i *instr) (value, bool) {
	v := value{op: i.op, a: i.a, b: i.b, gas: i.gas}
	switch i.op {
	case opConst:
		v.bits = math.Float64bits(i.val)
	case opNeg, opAdd, opSub, opMul, opDiv, opPow, opLn, opEnthalpy, opSo, opTofH, opTofSo, opLogP:
	case opFunc:
		if len(i.args) != 1 {
			return v, false
		}
		v.a, v.fn = i.args[0], i.src.Fn
	default:
		return v, false
	}
	return v, true
}

// pure schedules an instruction that computes a value of its operands, unless that has been computed.
func (c *scheduler) pure(i instr) int32 {
	level := constant
	i.reads(func(r *int32) { level = max(level, c.level[*r]) })
	v, known := valueOf(&i)
	known = known && (len(c.branches) == 0 || level == constant)
	if r, ok := c.values[v]; ok && known {
		return r
	}
	i.dst = c.register(level, -1)
	if known {
		c.values[v] = i.dst
	}
	c.put(i, level)
	return i.dst
}
