package eval

import (
	"fmt"
	"math"

	"workings/propsdb"
	"workings/runner/diag"
	"workings/runner/resolve"
)

// MaxRuns bounds the line evaluations of all the solves of a sheet together, and with them the
// time that any notebook can take.
const MaxRuns = 5_000_000

// machine runs instructions over lanes: points that are evaluated side by side. A sheet is run at
// one point, by a machine of one lane that is strict: it looks at what every instruction gives and
// stops at the first that gives no number, with the reason. A study is run over chunks of points by
// machines that look only where a number that is none could be lost from sight, and give up the
// lanes in question, which a strict machine of one lane then runs again (batch.go).
//
// In a register NaN is no value: nothing has been evaluated, or that has failed.
type machine struct {
	prog   *Program
	sheet  *resolve.Sheet
	v      [][]float64 // registers; one of length 1 stands for every lane
	strict bool
	bad    []bool            // by lane, where not strict: it is given up
	lost   bool              // some lane is, or was while solving
	states [][]propsdb.State // by slot, of water and of fluids that differ from lane to lane
	fluids [][]made          // by fluid register; one stands for every lane
	loops  []loopScratch     // by loop
	args   []float64         // of the function being called
	runs   int               // lines that solves and integrals have evaluated
	most   int               // how many they may

	// Of a strict machine:
	absent   map[*resolve.Symbol]string // properties that their state does not have, and why
	outcomes []outcome                  // by step
	step     *step                      // whose code is running
	// Of one that evaluates a point of a study: values that stand for what lines of inputs say, lines
	// that are evaluated at the point, which then keep no limits, and fluids that take the place of
	// others.
	given   map[*resolve.Symbol]float64
	studied map[*step]bool
	replace map[*resolve.Fluid]*resolve.Fluid
}

// outcome is what a line came to.
type outcome struct {
	status  Status
	fault   *fault
	lookups []Lookup
	solve   *SolveDetail
	check   checkValues
	hot     bool // products above where dissociation counts
	spread  float64
	flows   []float64 // of the legs of a component, NaN where not known
	fuel    float64   // heat that a fuel sets free in a component
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

// noValue is the fault where nobody asks for the reason.
var noValue = &fault{code: "no-value"}

// newMachine is strict, of one lane.
func newMachine(p *Program) *machine {
	m := &machine{prog: p, sheet: p.sheet, strict: true, most: MaxRuns, v: make([][]float64, p.registers), bad: make([]bool, 1),
		absent: map[*resolve.Symbol]string{}, outcomes: make([]outcome, p.steps), states: make([][]propsdb.State, p.slots),
		fluids: make([][]made, p.fluids), loops: newScratch(p.loops, 1), args: make([]float64, p.mostArgs)}
	values := make([]float64, p.registers)
	fill(values[:p.base], math.NaN())
	for i := range m.v {
		m.v[i] = values[i : i+1 : i+1]
	}
	for i := range m.outcomes {
		m.outcomes[i].status = Waiting // until it has run
	}
	return m
}

func (m *machine) out(st *step) *outcome { return &m.outcomes[st.index] }

// The registers of symbols, on one lane.
func (m *machine) set(s *resolve.Symbol, v float64) { m.v[s.Reg][0] = v }
func (m *machine) val(s *resolve.Symbol) float64    { return m.v[s.Reg][0] }
func (m *machine) has(s *resolve.Symbol) bool       { v := m.v[s.Reg][0]; return v == v }
func (m *machine) forget(symbols []*resolve.Symbol) { m.each(symbols, math.NaN()) }
func (m *machine) each(ss []*resolve.Symbol, v float64) {
	for _, s := range ss {
		m.v[s.Reg][0] = v
	}
}

// value runs a code on the one lane of a strict machine and returns its value.
func (m *machine) value(c *code) (float64, *fault) {
	if f := m.run(c.ins, 0, 1); f != nil {
		return 0, f
	}
	return m.v[c.out][0], nil
}

// in is a register's lanes from lo to before hi.
func (m *machine) in(r int32, lo, hi int) []float64 {
	x := m.v[r]
	if len(x) == 1 {
		return x
	}
	return x[lo:hi]
}

// run executes instructions over the lanes from lo to before hi. Only a strict machine gives a
// fault; another gives up lanes.
func (m *machine) run(ins []instr, lo, hi int) *fault {
	for k := range ins {
		i := &ins[k]
		if f := m.do(i, lo, hi); f != nil {
			return f
		}
		if m.strict {
			if f := m.settled(i); f != nil {
				return f
			}
		}
	}
	return nil
}

func (m *machine) do(i *instr, lo, hi int) *fault {
	var d, a, b []float64
	if i.dst >= 0 && i.op != opMake {
		d = m.v[i.dst][lo:hi]
	}
	if i.a >= 0 {
		a = m.in(i.a, lo, hi)
	}
	if i.b >= 0 {
		b = m.in(i.b, lo, hi)
	}
	switch i.op {
	case opConst:
		fill(d, i.val)
	case opMove:
		copyLanes(d, a)
	case opNeg:
		negate(d, a)
	case opAdd:
		add(d, a, b)
	case opSub:
		sub(d, a, b)
	case opMul:
		mul(d, a, b)
	case opDiv:
		div(d, a, b)
	case opPow:
		pow(d, a, b)
	case opLess, opLessEq, opEqual, opNotEqual:
		compare(i.op, d, a, b)
	case opNot:
		not(d, a)
	case opFunc:
		m.function(i, d, lo, hi)
	case opData:
		return m.lookUps(i, d, a, b)
	case opOfFluid:
		return m.ofFluid(i, d, lo, hi)
	case opMake:
		return m.makeFluid(i, lo, hi)
	case opFluidSym:
		m.fluidSymbol(i, d, lo)
	case opState:
		m.fixStates(i, a, b, lo, hi)
	case opProp:
		m.property(i, d, a, b, lo)
	case opGiven:
		ofGiven(d, a, b)
	case opBranch:
		return m.branch(i, d, a, lo, hi)
	case opIntegrate:
		return m.integrate(i, d, a, b, lo, hi)
	case opExtreme:
		return m.ofInterval(i, d, a, b, lo, hi)
	case opSolve:
		m.solveLanes(i, a, b, lo, hi)
	case opFused:
		var k []float64
		if len(i.args) > 3 {
			k = m.in(i.args[3], lo, hi)
		}
		fuse(i.row, d, m.in(i.args[0], lo, hi), m.in(i.args[1], lo, hi), m.in(i.args[2], lo, hi), k)
	case opLn:
		propsdb.LnEach(d, a)
	case opEnthalpy:
		i.gas.EnthalpyEach(d, a, b)
	case opSo:
		i.gas.SoEach(d, a, b)
	case opTofH:
		i.gas.TofHEach(d, a)
	case opTofSo:
		i.gas.TofSoEach(d, a)
	case opLogP:
		i.gas.LogPressureEach(d, a)
	case opGuard:
		m.guard(i, a, lo)
	case opConserve:
		m.conserve(i, lo, hi)
	}
	return nil
}

// giveUp leaves a lane to be evaluated by itself.
func (m *machine) giveUp(lane int) { m.bad[lane], m.lost = true, true }

// guard gives up the lanes that have no number, or none that a line may have.
func (m *machine) guard(i *instr, a []float64, lo int) {
	if i.limit == anyNumber && allFinite(a) || i.limit == between && allBetween(a, i.lo, i.hi) {
		return
	}
	least, most := -math.MaxFloat64, math.MaxFloat64
	switch i.limit {
	case notNegative:
		least = 0
	case aboveZero:
		least = math.SmallestNonzeroFloat64
	case between:
		least, most = i.lo, i.hi
	}
	for k, x := range a {
		if !(x >= least && x <= most) {
			m.giveUp(lo + k)
		}
	}
}

// function computes a built-in function.
func (m *machine) function(i *instr, d []float64, lo, hi int) {
	x := m.in(i.args[0], lo, hi)
	if len(i.args) == 1 && len(x) == len(d) {
		switch i.src.Fn.Name {
		case "sqrt":
			sqrt(d, x)
			return
		case "ln":
			propsdb.LnEach(d, x)
			return
		}
	}
	args := m.args[:len(i.args)]
	for k := range d {
		for j, r := range i.args {
			args[j] = pick(m.in(r, lo, hi), k)
		}
		d[k] = i.src.Fn.Eval(args)
	}
}

// branch runs the one side or the other, over runs of lanes that take the same.
func (m *machine) branch(i *instr, d, test []float64, lo, hi int) *fault {
	for from := lo; from < hi; {
		side, to := pick(test, from-lo) != 0, from+1
		for to < hi && (pick(test, to-lo) != 0) == side {
			to++
		}
		c := i.other
		if side {
			c = i.sub
		}
		if f := m.run(c.ins, from, to); f != nil {
			return f
		}
		copyLanes(d[from-lo:to-lo], m.in(c.out, from, to))
		from = to
	}
	return nil
}

// settled is why an instruction gave no number; nil where it gave one.
func (m *machine) settled(i *instr) *fault {
	switch i.op {
	case opState:
		return m.described(i)
	case opSolve, opMake, opGuard, opConserve:
		return nil
	}
	v := m.v[i.dst][0]
	if finite(v) {
		return nil
	}
	switch i.op {
	case opGiven:
		return &fault{code: codeWaits} // for the state
	case opProp:
		return m.noProperty(i)
	case opFluidSym:
		if g := m.fluids[i.step.line.Fluid.Reg][0]; g.fluid == nil {
			m.absent[i.sym] = i.step.line.Fluid.Name + " is a fuel known by its elements, which says nothing of its molecules"
		}
		return nil
	case opFunc:
		if math.IsNaN(v) || i.src.Fn.Domain != "" {
			return &fault{code: CodeDomain, span: i.src.Src.Span(), msg: fmt.Sprintf("%s has no value at %s", i.src.Fn.Name, m.text(m.v[i.args[0]][0], i.src.Args[0])),
				hint: i.src.Fn.Domain}
		}
	case opDiv:
		if m.v[i.b][0] == 0 {
			return &fault{code: CodeDivision, span: i.src.Args[1].Src.Span(), msg: "division by zero", label: "this is 0", hint: "a quotient needs a divisor that is not zero: check the values it comes from"}
		}
	case opPow:
		switch {
		case math.IsNaN(v):
			return &fault{code: CodeDomain, span: i.src.Src.Span(), msg: "a negative number has no real power with a fractional exponent", hint: "check the sign of the base"}
		case m.v[i.a][0] == 0:
			return &fault{code: CodeDivision, span: i.src.Src.Span(), msg: "zero to a negative power is a division by zero", hint: "check the base"}
		}
	}
	return &fault{code: CodeOverflow, span: i.src.Src.Span(), msg: "this is too large to be a number", hint: "check the exponents and units"}
}

// spend counts evaluations of lines by loops; false where there have been too many.
func (m *machine) spend(lines int) bool {
	m.runs += lines
	return m.runs <= m.most
}

func (m *machine) tooLong(at diag.Span) *fault {
	return &fault{code: CodeRuns, span: at, msg: fmt.Sprintf("the solves of this sheet have evaluated more than %d lines", m.most),
		hint: "narrow their brackets, or nest fewer of them"}
}
