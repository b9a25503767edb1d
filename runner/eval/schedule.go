package eval

import (
	"workings/propsdb"
	"workings/runner/resolve"
)

// schedule is what a batch executes at its points: the instructions of the lines concerned in their
// order, with registers of its own. What no point changes has been taken out and is computed once;
// what a loop does not change stands before the loop; what nobody reads is left out.
type schedule struct {
	code      []instr
	registers int
	loops     int
	mostArgs  int
	first     [][]float64 // by register: what is the same at every point, of length 1; else nil
	buffer    []int32     // by register that differs: which buffer of a machine it is, −1 for none
	buffers   int
	vary      []int32 // registers of what is varied and of what is kept
	keep      []int32
	hopeless  bool // what every point needs is no number
}

// constant is the level of a register that is the same at every point. Level 0 differs from point
// to point, level n also from trial to trial of the n-th of the loops that stand in each other.
const constant = -1

// scheduler makes a schedule.
type scheduler struct {
	b       *Batch
	d       *dependence
	once    []instr // what is the same at every point
	frames  []frame
	level   []int
	guarded []bool
	from    []int32         // by register: the register of the sheet whose value it has; −1 where it is computed
	of      map[int32]int32 // registers of the sheet, symbols and states, by what has taken their place
	temps   map[int32]int32 // the same for the temporaries of the line at hand
	finite  []int32         // constants that must be numbers
	fulls   map[int32]int32 // constants by the register that has them in every lane
	values  map[value]int32 // what has been computed, and where
	bounds  map[bound]bool  // what registers have been seen to keep
	// branches are those whose sides are being scheduled: what is computed there, not every lane has.
	branches []int32
	loops    int
	solving  int // depth of solves
}

// frame is a run of instructions being made: the whole, the side of a branch, or a loop of its level.
type frame struct {
	loop  int // 0 for a branch and for the whole
	code  []instr
	fresh []int32 // registers guarded here
}

func (b *Batch) schedule(d *dependence) {
	p := b.ran.prog
	c := &scheduler{b: b, d: d, frames: make([]frame, 1), of: map[int32]int32{}, temps: map[int32]int32{},
		fulls: map[int32]int32{}, values: map[value]int32{}, bounds: map[bound]bool{}}
	s := &b.program
	for _, sym := range b.plan.Vary {
		r := c.register(0, -1)
		s.vary = append(s.vary, r)
		for _, also := range sym.Line.Defines {
			c.of[int32(also.Reg)] = r
		}
		if isPoint(sym) {
			c.put(instr{op: opGuard, limit: notNegative, dst: -1, a: r, b: -1}, 0)
		}
	}
	c.lines(p.lines)
	for _, sym := range b.plan.Keep {
		r := c.get(int32(sym.Reg))
		s.keep = append(s.keep, r)
		if c.level[r] > constant {
			c.guard(r)
		}
	}
	s.code, s.loops, s.mostArgs = c.frames[0].code, c.loops, p.mostArgs
	uses := c.uses(s)
	s.code, c.once = live(s.code, uses), live(c.once, uses)
	s.code = c.withoutNeedless(s.code)
	s.code = c.fuseAll(s.code, c.uses(s))
	s.registers = len(c.level)
	c.runOnce(s)
	c.allocate(s)
}

// runOnce computes what is the same at every point.
func (c *scheduler) runOnce(s *schedule) {
	ran := c.b.ran
	m := c.b.machine(1)
	m.fluids = make([][]made, len(ran.fluids))
	copy(m.fluids, ran.fluids)
	for f, by := range c.b.plan.Replace {
		m.fluids[f.Reg] = ran.fluids[by.Reg]
	}
	m.states = make([][]propsdb.State, len(ran.states))
	copy(m.states, ran.states)
	for _, i := range c.once {
		switch i.op { // not to write into what the sheet itself has come to
		case opMake:
			m.fluids[i.step.line.Fluid.Reg] = nil
		case opState:
			m.states[i.st.slot] = nil
		}
	}
	m.v = make([][]float64, s.registers)
	values := make([]float64, s.registers)
	for r := range m.v {
		m.v[r] = values[r : r+1 : r+1]
		values[r] = nan
		if f := c.from[r]; f >= 0 {
			values[r] = ran.v[f][0]
		}
	}
	m.run(c.once, 0, 1)
	s.first = make([][]float64, s.registers)
	for r, level := range c.level {
		if level == constant {
			s.first[r] = m.v[r]
		}
	}
	for r, f := range c.fulls {
		s.first[f] = make([]float64, chunk)
		fill(s.first[f], m.v[r][0])
	}
	for _, r := range c.finite {
		s.hopeless = s.hopeless || !finite(values[r])
	}
	s.hopeless = s.hopeless || m.bad[0]
	c.b.once = m
}

// register makes one of a level.
func (c *scheduler) register(level int, from int32) int32 {
	c.level = append(c.level, level)
	c.guarded = append(c.guarded, level == constant)
	c.from = append(c.from, from)
	return int32(len(c.level) - 1)
}

// get is the register that has taken the place of one of the sheet. One that nothing here computes
// has the value that the sheet has come to.
func (c *scheduler) get(r int32) int32 {
	if r < 0 {
		return r
	}
	place := c.of
	if int(r) >= c.b.ran.prog.base {
		place = c.temps
	}
	v, ok := place[r]
	if !ok {
		v = c.register(constant, r)
		place[r] = v
	}
	return v
}

// bind gives a register of the sheet the place of one here.
func (c *scheduler) bind(r, to int32) {
	if int(r) >= c.b.ran.prog.base {
		c.temps[r] = to
	} else {
		c.of[r] = to
	}
}

// lines schedules those that are evaluated at the points.
func (c *scheduler) lines(lines []*step) {
	for _, st := range lines {
		switch {
		case holdsLines(st.line):
			c.lines(st.body)
		case c.b.studied[st]:
			clear(c.temps)
			c.line(st)
		}
	}
}

func (c *scheduler) line(st *step) {
	l := st.line
	switch {
	case l.Failed():
		return // no value: its registers hold none
	case l.Kind == resolve.Input || l.Kind == resolve.Define:
		c.define(st)
	case l.Kind == resolve.FluidLine:
		if by := c.b.plan.Replace[l.Fluid]; by != nil {
			p := c.b.ran.prog
			c.of[p.token(l.Fluid)] = c.get(p.token(by))
			c.emitAll(fluidSymbols(st.make))
			return
		}
		c.emitAll(st.make)
		c.mustHold(c.get(c.b.ran.prog.token(l.Fluid)))
	case l.Kind == resolve.StateLine:
		c.emitAll(st.make)
		c.mustHold(c.get(st.state.t))
	case l.Kind == resolve.ComponentLine:
		c.component(st)
	case l.Kind == resolve.Call:
		c.call(st)
	case l.Kind == resolve.Solve:
		c.solve(st)
	}
}

func (c *scheduler) define(st *step) {
	l := st.line
	for _, s := range c.b.plan.Vary {
		if s.Line == l {
			return // a column of the points
		}
	}
	if l.Total != nil && l.Total.Over != nil {
		over := c.get(int32(l.Total.Over.Reg))
		c.put(instr{op: opGuard, limit: aboveZero, dst: -1, a: over, b: -1}, c.level[over])
	}
	r := c.code(st.x)
	for _, s := range l.Defines {
		c.bind(int32(s.Reg), r)
		if isPoint(s) {
			c.put(instr{op: opGuard, limit: notNegative, dst: -1, a: r, b: -1}, c.level[r])
		}
	}
	c.mustHold(r)
}

// mustHold: a line of a solve that has no value ends the solve, whether its value is read or not.
func (c *scheduler) mustHold(r int32) {
	if c.solving > 0 {
		c.guard(r)
	}
}

func (c *scheduler) call(st *step) {
	c.emitAll(st.make)
	n := 0
	for _, b := range st.line.Inputs {
		if b.Symbol != nil {
			c.bind(int32(b.Symbol.Reg), c.code(st.given[n]))
			n++
		}
	}
	c.lines(st.body)
	n = 0
	for _, b := range st.line.Outputs {
		if b.State != nil {
			c.emitAll(st.outputs[n].read)
			c.guard(c.get(c.b.ran.prog.stateOf(b.State).t))
			n++
			continue
		}
		r := c.get(int32(b.From.Reg))
		c.bind(int32(b.Symbol.Reg), r)
		c.guard(r)
	}
}

// component sees that its states are there and its flows run forward and add up.
func (c *scheduler) component(st *step) {
	for _, s := range st.line.Uses {
		c.guard(c.get(int32(s.Reg)))
	}
	comp := st.line.Component
	sum := instr{op: opConserve, dst: -1, a: -1, b: -1, val: float64(len(comp.From))}
	known, level := true, constant
	for _, g := range st.given {
		if g == nil {
			known = false
			continue
		}
		r := c.code(g)
		c.put(instr{op: opGuard, limit: notNegative, dst: -1, a: r, b: -1}, c.level[r])
		sum.args, level = append(sum.args, r), max(level, c.level[r])
	}
	if known && comp.Conserves() {
		c.put(sum, level)
	}
}

func (c *scheduler) solve(st *step) {
	in := instr{op: opSolve, dst: -1, a: -1, b: -1, step: st}
	l := &loop{index: c.loops, extreme: st.loop.extreme, lines: st.loop.lines}
	c.loops++
	if st.lo != nil {
		in.a, in.b = c.code(st.lo), c.code(st.hi)
	}
	for _, g := range st.given {
		l.from = append(l.from, c.code(g))
	}
	in.loop = l
	start := c.open()
	for _, u := range st.loop.unknowns {
		r := c.register(c.frames[len(c.frames)-1].loop, -1)
		c.guarded[r] = true
		c.bind(u, r)
		l.unknowns = append(l.unknowns, r)
	}
	c.solving++
	c.lines(st.body)
	for _, u := range st.untils {
		clear(c.temps)
		if u.left == nil {
			l.left = append(l.left, c.code(u.x))
			continue
		}
		l.left, l.right = append(l.left, c.code(u.left)), append(l.right, c.code(u.right))
	}
	c.solving--
	c.close(&in, start, l.from)
}

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
