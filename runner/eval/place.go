package eval

// How a schedule places instructions: with what is computed once, out of loops as far as may be, into
// the sides of branches.

// open begins a loop and gives the first register that is made inside.
func (c *scheduler) open() int {
	depth := 1
	for _, f := range c.frames {
		depth = max(depth, f.loop+1)
	}
	c.frames = append(c.frames, frame{loop: depth})
	return len(c.level)
}

// close ends a loop and puts its instruction where all is known that it reads. What was found at its
// trials has the level of the whole from here on.
func (c *scheduler) close(in *instr, start int, also []int32) {
	f := c.frames[len(c.frames)-1]
	c.frames = c.frames[:len(c.frames)-1]
	level := constant
	seen := map[int32]bool{}
	visit := func(r int32) {
		if r < 0 || c.level[r] >= f.loop || seen[r] {
			return
		}
		seen[r] = true
		level = max(level, c.level[r])
		if c.level[r] > constant {
			in.loop.outer = append(in.loop.outer, r)
		}
	}
	everyRead(f.code, visit)
	for _, r := range append(append([]int32{in.a, in.b}, also...), append(in.loop.left, in.loop.right...)...) {
		if r >= 0 && c.level[r] < f.loop {
			level = max(level, c.level[r])
		}
	}
	for _, r := range append(in.loop.left, in.loop.right...) {
		visit(r)
	}
	for r := start; r < len(c.level); r++ {
		if c.level[r] >= f.loop {
			c.level[r] = level
		}
	}
	c.unguard(f.fresh)
	in.loop.apart = c.apart(f)
	if in.op == opSolve { // its results are the registers that its lines leave behind
		in.loop.body = f.code
	} else {
		in.sub.ins = f.code
		in.dst = c.register(level, -1)
	}
	c.put(*in, level)
}

// apart: lanes cannot be gathered where a loop reads fluids or states that each lane has for itself.
func (c *scheduler) apart(f frame) (apart bool) {
	var look func(ins []instr)
	look = func(ins []instr) {
		for _, i := range ins {
			for _, r := range i.fluids {
				apart = apart || c.level[r] > constant
			}
			if i.op == opProp && c.level[i.a] > constant && c.b.ran.gas(i.st.fluid) == nil {
				apart = true
			}
			for _, part := range []*code{i.sub, i.other} {
				if part != nil {
					look(part.ins)
				}
			}
			if i.op == opSolve {
				look(i.loop.body)
			}
		}
	}
	look(f.code)
	return apart
}

// unguard forgets what was looked at where not every lane comes by, or not at the last trial.
func (c *scheduler) unguard(rs []int32) {
	for _, r := range rs {
		c.guarded[r] = c.level[r] == constant
	}
}

// everyRead calls f for each register that instructions read, those in loops and branches included.
func everyRead(ins []instr, f func(int32)) {
	for k := range ins {
		i := &ins[k]
		i.reads(func(r *int32) { f(*r) })
		for _, part := range []*code{i.sub, i.other} {
			if part != nil {
				everyRead(part.ins, f)
				f(part.out)
			}
		}
		if l := i.loop; l != nil && i.op == opSolve {
			everyRead(l.body, f)
			for _, rs := range [][]int32{l.from, l.left, l.right} {
				for _, r := range rs {
					f(r)
				}
			}
		}
	}
}

// code schedules an expression and gives the register of its value.
func (c *scheduler) code(x *code) int32 {
	c.emitAll(x.ins)
	return c.get(x.out)
}

func (c *scheduler) emitAll(ins []instr) {
	for _, i := range ins {
		c.emit(i)
	}
}

// emit schedules an instruction of the sheet, with the registers that have taken the place of its
// own.
func (c *scheduler) emit(i instr) {
	old := i
	i.args, i.fluids = append([]int32(nil), i.args...), append([]int32(nil), i.fluids...)
	i.reads(func(r *int32) { *r = c.get(*r) })
	switch i.op {
	case opMove:
		c.bind(old.dst, i.a)
		return
	case opBranch:
		c.branch(i, old)
		return
	case opIntegrate, opExtreme:
		c.interval(i, old)
		return
	}
	c.look(&i)
	if i.op == opState && c.gasState(i.st, [2]int32{i.a, i.b}) {
		return
	}
	if i.op == opGiven && i.a == i.b {
		c.bind(old.dst, i.a)
		return
	}
	if i.op == opProp {
		if r, ok := c.gasProperty(&i); ok {
			c.bind(old.dst, r)
			return
		}
	}
	if _, ok := valueOf(&i); ok {
		c.bind(old.dst, c.pure(i))
		return
	}
	level := constant
	i.reads(func(r *int32) { level = max(level, c.level[*r]) })
	if i.op == opState {
		st := *i.st
		st.t = c.register(level, -1)
		c.bind(old.st.t, st.t)
		if st.findsP {
			st.p = c.register(level, -1)
			c.bind(old.st.p, st.p)
		} else {
			st.p = c.get(st.p)
		}
		i.st = &st
	} else {
		i.dst = c.register(level, -1)
		c.bind(old.dst, i.dst)
	}
	c.put(i, level)
	if i.op == opProp && fallible(i.prop) {
		c.guard(i.dst)
	}
}

// look sees to it that no number is lost from sight that is none: in whatever else an instruction
// makes no number of it, but here it may.
func (c *scheduler) look(i *instr) {
	switch i.op {
	case opDiv:
		c.guard(i.b)
	case opPow, opLess, opLessEq, opEqual, opNotEqual:
		c.guard(i.a)
		c.guard(i.b)
	case opFunc:
		switch i.src.Fn.Name {
		case "exp", "atan", "tanh", "min", "max":
		default:
			return
		}
		for _, r := range i.args {
			c.guard(r)
		}
	case opOfFluid, opMake:
		for _, r := range i.args {
			c.guard(r)
		}
	}
}

// guard gives up the lanes where a register holds no number.
func (c *scheduler) guard(r int32) {
	if c.level[r] == constant {
		c.finite = append(c.finite, r)
	}
	if c.guarded[r] {
		return
	}
	c.guarded[r] = true
	f := c.put(instr{op: opGuard, dst: -1, a: r, b: -1}, c.level[r])
	f.fresh = append(f.fresh, r)
}

// put places an instruction of a level: with what is computed once, or as far out of the loops as
// its level allows, but never out of the side of a branch.
func (c *scheduler) put(i instr, level int) *frame {
	if level == constant {
		c.once = append(c.once, i)
		return &frame{}
	}
	k := len(c.frames) - 1
	for c.frames[k].loop > level {
		k--
	}
	c.frames[k].code = append(c.frames[k].code, i)
	return &c.frames[k]
}

func (c *scheduler) branch(i, old instr) {
	c.guard(i.a)
	level := c.level[i.a]
	side := func(x *code) *code {
		c.frames = append(c.frames, frame{})
		c.branches = append(c.branches, i.a)
		out := c.code(x)
		c.branches = c.branches[:len(c.branches)-1]
		f := c.frames[len(c.frames)-1]
		c.frames = c.frames[:len(c.frames)-1]
		c.unguard(f.fresh)
		everyRead(f.code, func(r int32) { level = max(level, c.level[r]) })
		level = max(level, c.level[out])
		return &code{f.code, out}
	}
	i.sub, i.other = side(i.sub), side(i.other)
	i.dst = c.register(level, -1)
	c.bind(old.dst, i.dst)
	c.put(i, level)
}

func (c *scheduler) interval(i, old instr) {
	l := *i.loop
	l.index, l.outer = c.loops, nil
	c.loops++
	i.loop = &l
	start := c.open()
	i.variable = c.register(c.frames[len(c.frames)-1].loop, -1)
	c.guarded[i.variable] = true
	c.bind(old.variable, i.variable)
	out := c.code(old.sub)
	l.left = []int32{out}
	i.sub = &code{out: out}
	c.close(&i, start, nil)
	c.bind(old.dst, i.dst)
}
