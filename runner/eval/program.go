package eval

import (
	"workings/propsdb"
	"workings/runner/resolve"
)

// Program is a sheet lowered to straight-line instructions on registers, in SI. It is never changed
// once it has been made: what its lines come to is kept by the machines that run it.
//
// Registers count from the symbols of the sheet over fluids (which only say on what a reader of the
// fluid depends) and what states keep to the temporaries, which every line begins anew.
type Program struct {
	sheet     *resolve.Sheet
	lines     []*step
	byLine    map[*resolve.Line]*step
	states    map[*resolve.State]*stateCode
	steps     int
	registers int
	base      int // first temporary
	fluids    int
	slots     int
	loops     int
	mostArgs  int
	// The temporaries of the line being lowered: the first it may take and the next.
	first, temp int32
}

// step is one line, lowered. Codes that a line has not are nil.
type step struct {
	index                          int
	line                           *resolve.Line
	under                          *step // the call, solve or used sheet whose body it stands in
	x, spread, lo, hi, left, right *code
	tolerance                      *code
	given                          []*code // Solve: starting values; Call: parameters; ComponentLine: flows of its legs
	// make makes the fluid or the state of a line with its symbols; of a call, the properties of
	// the states that it is given.
	make    []instr
	outputs []output // Call
	state   *stateCode
	body    []*step
	untils  []*step
	loop    *loop // Solve
}

// output is a state that a call gives back.
type output struct {
	from *resolve.Line // that makes it
	read []instr
}

// stateRegisters is how many registers a state keeps: T, p and what it was given.
const stateRegisters = 4

// compile lowers the checked lines of a sheet.
func compile(s *resolve.Sheet) *Program {
	lines, states := count(s.Lines)
	p := &Program{sheet: s, fluids: s.FluidRegisters, byLine: make(map[*resolve.Line]*step, lines), states: make(map[*resolve.State]*stateCode, states), mostArgs: 1}
	p.slots = states
	p.base = s.Registers + s.FluidRegisters + stateRegisters*p.slots
	p.registers, p.first = p.base, int32(p.base)
	p.slots = 0
	p.lines = p.lower(s.Lines, nil)
	return p
}

func count(ls []*resolve.Line) (lines, states int) {
	for _, l := range ls {
		lines++
		if l.Kind == resolve.StateLine {
			states++
		}
		n, m := count(l.Body)
		lines, states = lines+n, states+m
	}
	return lines, states
}

func (p *Program) lower(lines []*resolve.Line, under *step) []*step {
	out := make([]*step, 0, len(lines))
	for _, l := range lines {
		out = append(out, p.line(l, under))
	}
	return out
}

// stateOf is where a state is kept, by whatever name it goes.
func (p *Program) stateOf(s *resolve.State) *stateCode {
	for s.Alias != nil {
		s = s.Alias
	}
	st, ok := p.states[s]
	if !ok {
		first := int32(p.sheet.Registers + p.fluids + stateRegisters*p.slots)
		st = &stateCode{slot: p.slots, t: first, p: first + 1, findsP: len(s.Given) == 2, fluid: s.Fluid, value: [2]int32{first + 2, first + 3}, fluids: []int32{p.token(s.Fluid)}}
		for i, g := range s.Given {
			st.given = append(st.given, g.Prop)
			if g.Prop == propsdb.P {
				st.p, st.findsP = st.value[i], false
			}
		}
		p.slots++
		p.states[s] = st
	}
	return st
}

func (p *Program) line(l *resolve.Line, under *step) *step {
	st := &step{index: p.steps, line: l, under: under}
	p.steps++
	p.byLine[l] = st
	if l.Kind == resolve.Use || l.Kind == resolve.Call || l.Kind == resolve.Solve || l.Kind == resolve.CycleLine {
		// Even where the line itself has failed its body is part of the trace.
		defer func() {
			st.body = p.lower(l.Body, st)
			if st.loop != nil {
				st.loop.lines = 1 + len(st.body)
			}
		}()
	}
	if l.Failed() {
		return st
	}
	p.temp = p.first
	st.x, st.spread = p.expr(l.X), p.expr(l.Spread)
	st.lo, st.hi = p.expr(l.Lo), p.expr(l.Hi)
	switch l.Kind {
	case resolve.StateLine:
		p.stateLine(st)
	case resolve.FluidLine:
		in := instr{op: opMake, dst: p.token(l.Fluid), a: -1, b: -1, step: st}
		if l.Fluid.Oxidant != nil {
			in.fluids = append(in.fluids, p.token(l.Fluid.Oxidant))
		}
		if l.Fluid.Fuel != nil && l.Fluid.Fuel.Fluid != nil {
			in.fluids = append(in.fluids, p.token(l.Fluid.Fuel.Fluid))
		}
		p.mostArgs = max(p.mostArgs, len(l.Fluid.Args))
		for _, a := range l.Fluid.Args {
			c := p.expr(a.X)
			st.make = append(st.make, c.ins...)
			in.args = append(in.args, c.out)
		}
		st.make = append(st.make, in)
		for _, s := range l.Defines {
			st.make = append(st.make, instr{op: opFluidSym, dst: int32(s.Reg), a: in.dst, b: -1, sym: s, step: st})
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
			switch {
			case b.Fluid != nil:
			case b.State != nil:
				st.make = append(st.make, p.properties(st, p.stateOf(b.Local), b.Local.Props)...)
			default:
				st.given = append(st.given, p.expr(b.X))
			}
		}
		for _, b := range l.Outputs {
			if b.State != nil {
				st.outputs = append(st.outputs, output{b.Local.Line, p.properties(st, p.stateOf(b.State), ownProps(b.State))})
			}
		}
	case resolve.ComponentLine:
		st.x = p.expr(l.Component.Fuel)
		for _, legs := range [][]resolve.Leg{l.Component.From, l.Component.To} {
			for _, leg := range legs {
				st.given = append(st.given, p.expr(leg.Flow))
			}
		}
	case resolve.Solve:
		st.loop = p.newLoop(l.Untils[0].Extreme)
		for _, s := range l.Unknowns {
			st.loop.unknowns = append(st.loop.unknowns, int32(s.Reg))
		}
		for _, x := range l.From {
			st.given = append(st.given, p.expr(x))
		}
		st.untils = p.conditions(st)
	}
	return st
}

// token is the register that stands for a fluid.
func (p *Program) token(f *resolve.Fluid) int32 { return int32(p.sheet.Registers + f.Reg) }

// conditions lowers those of a solve. Their sides are all looked at together, so that each needs
// temporaries of its own.
func (p *Program) conditions(st *step) []*step {
	untils := make([]*step, len(st.line.Untils))
	for i, l := range st.line.Untils {
		u := p.line(l, st)
		untils[i] = u
		if u.left != nil {
			st.loop.left, st.loop.right = append(st.loop.left, u.left.out), append(st.loop.right, u.right.out)
		} else {
			st.loop.left = append(st.loop.left, u.x.out)
		}
		p.first = p.temp
	}
	p.first = int32(p.base)
	return untils
}

func (p *Program) newLoop(extreme string) *loop {
	p.loops++
	return &loop{index: p.loops - 1, extreme: extreme, lines: 1}
}

func (p *Program) stateLine(st *step) {
	s := st.line.State
	st.state = p.stateOf(s)
	in := instr{op: opState, dst: -1, a: -1, b: -1, st: st.state, step: st, fluids: st.state.fluids}
	own := ownProps(s)
	st.make = make([]instr, 0, 4*len(s.Given)+1+len(own))
	for i, g := range s.Given {
		c := p.expr(g.X)
		st.make = append(append(st.make, c.ins...), instr{op: opMove, dst: st.state.value[i], a: c.out, b: -1})
		*[]*int32{&in.a, &in.b}[i] = st.state.value[i]
	}
	st.make = append(append(st.make, in), p.properties(st, st.state, own)...)
}

// properties reads properties of a state, which may go by another name.
func (p *Program) properties(st *step, from *stateCode, props []*resolve.Symbol) []instr {
	out := make([]instr, 0, len(props))
	for _, s := range props {
		in := instr{op: opProp, dst: int32(s.Reg), a: from.t, b: from.p, st: from, prop: s.Prop, sym: s, step: st, fluids: from.fluids}
		for i, g := range from.given {
			if g == s.Prop {
				in.op, in.a, in.b = opGiven, from.value[i], from.t
			}
		}
		out = append(out, in)
	}
	return out
}

// ownProps are the symbols that a state computes: not those it adopted.
func ownProps(s *resolve.State) []*resolve.Symbol {
	out := make([]*resolve.Symbol, 0, len(s.Props))
	for _, sym := range s.Props {
		if !sym.Adopted || sym.State != s {
			out = append(out, sym)
		}
	}
	return out
}

// fallible properties may be out of reach of a state that is there. The line that makes it then
// fails as a whole.
func fallible(p propsdb.Property) bool {
	switch p {
	case propsdb.Pr, propsdb.Vr, propsdb.Mu, propsdb.Lambda, propsdb.Prandtl:
		return true
	}
	return false
}
