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
