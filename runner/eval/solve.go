package eval

import (
	"fmt"
	"math"

	"workings/runner/lang"
	"workings/runner/resolve"
)

// trial evaluates a loop over some lanes, with its unknowns at the values on trial. Only a strict
// machine gives a fault.
type trial func(lo, hi int) *fault

// loopScratch is what a machine keeps for a loop.
type loopScratch struct {
	seekers []seeker // by lane
	frame   []int32  // lanes that are evaluated, in the order in which they lie side by side
	// Lanes that are still searching, gathered: registers that the loop reads from outside, with
	// the registers whose place they take.
	gathered, aside [][]float64
	bad, badAside   []bool
	newton          *newton
	area            *areas
}

func newScratch(loops, lanes int) []loopScratch {
	s := make([]loopScratch, loops)
	for i := range s {
		s[i] = loopScratch{seekers: make([]seeker, lanes), frame: make([]int32, 0, lanes), bad: make([]bool, lanes)}
	}
	return s
}

// fewLanes: where no more than this share of the lanes evaluated are still searching, they are
// gathered, so that lanes that search long do not keep the others.
const fewLanes = 0.75

// seek looks for the unknown of a loop in every lane at once, and leaves it in the loop's register;
// NaN where it finds none, and then the lane is given up.
func (m *machine) seek(l *loop, unknown int32, from, to []float64, lo, hi int, try trial) *fault {
	k := &m.loops[l.index]
	frame := k.frame[:0]
	searching := 0
	if m.strict {
		m.bad[0] = false
	}
	for lane := lo; lane < hi; lane++ {
		s := &k.seekers[lane]
		a, b := pick(from, lane-lo), pick(to, lane-lo)
		switch {
		case m.bad[lane] || !finite(a) || !finite(b):
			s.end(nan, lost)
		case l.extreme != "":
			s.extreme(min(a, b), max(a, b), l.extreme)
			searching++
		default:
			s.root(min(a, b), max(a, b))
			searching++
		}
		frame = append(frame, int32(lane))
	}
	base, gathered := lo, false
	for searching > 0 {
		x := m.v[unknown]
		for j, lane := range frame {
			x[base+j] = k.seekers[lane].x
		}
		if f := try(base, base+len(frame)); f != nil {
			return f
		}
		left, right := m.v[l.left[0]], []float64(nil)
		if l.right != nil {
			right = m.v[l.right[0]]
		}
		searching = 0
		for j, lane := range frame {
			s := &k.seekers[lane]
			if !s.searching() {
				continue
			}
			f, size := pick(left, base+j), 0.0
			if right != nil {
				r := pick(right, base+j)
				size = math.Max(math.Abs(f), math.Abs(r))
				f -= r
			}
			if m.bad[base+j] || !finite(f) {
				s.end(nan, lost)
				continue
			}
			if s.next(f, size); s.searching() {
				searching++
			}
		}
		if gathered {
			clear(m.bad[:len(frame)])
		}
		if !l.apart && len(frame) > 4 && float64(searching) <= fewLanes*float64(len(frame)) {
			if gathered {
				m.scatter(l, k, unknown)
			}
			frame = stillSearching(frame, k.seekers)
			m.gather(l, k, unknown, frame)
			base, gathered = 0, true
		}
	}
	if gathered {
		m.scatter(l, k, unknown)
	}
	for lane := lo; lane < hi; lane++ {
		s := &k.seekers[lane]
		m.v[unknown][lane] = s.x
		if s.ending != found && (s.ending != edge || l.unknowns != nil) {
			m.v[unknown][lane] = nan
			m.giveUp(lane)
		}
	}
	return nil
}

func stillSearching(frame []int32, seekers []seeker) []int32 {
	n := 0
	for _, lane := range frame {
		if seekers[lane].searching() {
			frame[n] = lane
			n++
		}
	}
	return frame[:n]
}

// gather puts lanes side by side, from the first on: what the loop reads from outside is copied,
// and stands in the place of the registers until scatter.
func (m *machine) gather(l *loop, k *loopScratch, unknown int32, frame []int32) {
	if k.gathered == nil {
		k.aside = make([][]float64, len(l.outer)+1)
		k.gathered = make([][]float64, len(l.outer)+1)
		for i := range k.gathered {
			k.gathered[i] = make([]float64, len(k.seekers))
		}
	}
	for i, r := range l.outer {
		from, to := m.v[r], k.gathered[i]
		for j, lane := range frame {
			to[j] = from[lane]
		}
		k.aside[i], m.v[r] = from, to
	}
	last := len(l.outer)
	k.aside[last], m.v[unknown] = m.v[unknown], k.gathered[last]
	k.badAside, m.bad = m.bad, k.bad
	clear(m.bad)
}

// scatter puts back the registers that gather has put aside.
func (m *machine) scatter(l *loop, k *loopScratch, unknown int32) {
	for i, r := range l.outer {
		m.v[r] = k.aside[i]
	}
	m.v[unknown] = k.aside[len(l.outer)]
	m.bad = k.badAside
}

// solveLanes finds the unknowns of a solve in every lane, where nobody asks for reasons, and leaves
// the body evaluated at them.
func (m *machine) solveLanes(i *instr, a, b []float64, lo, hi int) {
	l := i.loop
	try := func(lo, hi int) *fault {
		if !m.spend(l.lines * (hi - lo)) {
			for k := lo; k < hi; k++ {
				m.giveUp(k)
			}
			return nil
		}
		return m.run(l.body, lo, hi)
	}
	if len(l.unknowns) > 1 {
		for lane := lo; lane < hi; lane++ {
			m.newtonLane(l, lane, try)
		}
	} else {
		m.seek(l, l.unknowns[0], a, b, lo, hi, try)
	}
	try(lo, hi)
}

// solve finds the unknowns of a solve on a strict machine and leaves the body evaluated at them.
func (m *machine) solve(st *step) *fault {
	l := st.line
	d := &SolveDetail{Extreme: l.Untils[0].Extreme}
	m.out(st).solve = d
	var failed *fault // of the last trial
	try := func(int, int) *fault {
		d.Runs++
		if !m.spend(st.loop.lines) {
			failed = m.tooLong(l.Stmt.(*lang.Solve).Span())
		} else {
			failed = m.trial(st)
		}
		return failed
	}
	var f *fault
	if len(l.Unknowns) > 1 {
		f = m.several(st, d, try)
	} else {
		f = m.bracketed(st, d, try)
		if f != nil && f == failed && f.code != CodeRuns {
			f = m.trialFault(l, m.v[st.loop.unknowns[0]][0], f)
		}
	}
	if f == nil {
		// Once more at the solution, so that everything below shows these values.
		if f = try(0, 1); f == nil {
			for i, u := range l.Untils {
				e := u.X
				if u.Compare != nil {
					e = u.Compare.Left
				}
				d.Residuals = append(d.Residuals, Value{SI: m.residual(st.loop, i, 0), Unit: differenceOf(m.unitOf(e), u.Extreme == "")})
			}
			return nil
		}
	}
	if f.code != CodeRuns {
		for _, b := range st.body {
			m.takeBack(b)
		}
	}
	return f
}

// residual is left − right of a condition, or the value where an extreme is sought.
func (m *machine) residual(l *loop, i, lane int) float64 {
	f := pick(m.v[l.left[i]], lane)
	if l.right != nil {
		f -= pick(m.v[l.right[i]], lane)
	}
	return f
}

// takeBack forgets the values of a body whose solve found nothing.
func (m *machine) takeBack(st *step) {
	m.forget(st.line.Defines)
	if out := m.out(st); out.status == Done || out.fault != nil {
		out.status, out.fault = Waiting, nil // the solve reports it, with the trial it came from
	}
	for _, b := range st.body {
		m.takeBack(b)
	}
}

// trial runs the body and the conditions once.
func (m *machine) trial(st *step) *fault {
	for _, b := range st.body {
		m.exec(b)
		if f := m.firstFault(b); f != nil && b.line.Kind != resolve.Check {
			return f
		}
	}
	outer := m.step
	defer func() { m.step = outer }()
	for _, u := range st.untils {
		m.step = u
		out := m.out(u)
		out.lookups, out.status = out.lookups[:0], Done
		if f := m.missing(u.line); f != nil {
			return f
		}
		for _, c := range []*code{u.x, u.left, u.right} {
			if c == nil {
				continue
			}
			if _, f := m.value(c); f != nil {
				return f
			}
		}
	}
	return nil
}

// firstFault is the fault that stopped a line or a line under it.
func (m *machine) firstFault(st *step) *fault {
	out := m.out(st)
	if out.fault != nil {
		return out.fault
	}
	if out.status == Waiting {
		for _, b := range st.body {
			if f := m.firstFault(b); f != nil {
				return f
			}
		}
	}
	return nil
}

// bracketed finds one unknown between two ends.
func (m *machine) bracketed(st *step, d *SolveDetail, try trial) *fault {
	l := st.line
	lo, f := m.value(st.lo)
	if f != nil {
		return f
	}
	hi, f := m.value(st.hi)
	if f != nil {
		return f
	}
	u := l.Unknowns[0]
	show := func(x float64) string { return formatValue(u.Unit.FromSI(x, m.sheet.Ambient), u.Unit) }
	shown := func(x float64) Value { return Value{SI: x, Unit: u.Unit, Shown: u.Unit.FromSI(x, m.sheet.Ambient)} }
	d.Lo, d.Hi = []Value{shown(lo)}, []Value{shown(hi)}
	if lo == hi {
		return &fault{code: CodeSign, span: l.Stmt.(*lang.Solve).Between.Loc, msg: "the bracket has no width", hint: "give two different ends"}
	}
	f = m.seek(st.loop, st.loop.unknowns[0], []float64{lo}, []float64{hi}, 0, 1, try)
	s := &m.loops[st.loop.index].seekers[0]
	d.Steps = s.steps
	if f != nil {
		return f
	}
	until := l.Untils[0].Stmt.Span()
	switch s.ending {
	case flat:
		return &fault{code: CodeFlat, span: until, msg: fmt.Sprintf("both ends of the bracket satisfy this, so that it does not single out a value of %s", u.Name),
			hint: "check that the condition depends on the unknown, or narrow the bracket to one solution"}
	case sameEnd:
		return m.noSignChange(l, s.b, s.fb, s.a, s.fa)
	case jumps:
		return &fault{code: CodeJump, span: until, msg: fmt.Sprintf("the two sides do not meet: they jump past each other at %s = %s", u.Name, show(s.x)),
			hint: "choose a bracket without a pole or a step in it"}
	case edge:
		return &fault{code: CodeEnd, span: until,
			msg:  fmt.Sprintf("it is %s at the end of the bracket, %s = %s, so that the extreme may lie beyond", d.Extreme, u.Name, show(s.x)),
			hint: "widen the bracket at that end"}
	}
	return nil
}

// trialFault says at which trial value a line of the body had no value.
func (m *machine) trialFault(l *resolve.Line, x float64, f *fault) *fault {
	u := l.Unknowns[0]
	return &fault{code: CodeTrial, span: f.span, msg: fmt.Sprintf("while solving, with %s = %s: %s", u.Name, formatValue(u.Unit.FromSI(x, m.sheet.Ambient), u.Unit), f.msg),
		label: f.label, hint: "narrow the bracket of " + u.Name + " so that every trial has a value" + tail(f.hint)}
}

func tail(hint string) string {
	if hint == "" {
		return ""
	}
	return "; " + hint
}

func (m *machine) noSignChange(l *resolve.Line, lo, flo, hi, fhi float64) *fault {
	u := l.Unknowns[0]
	until := l.Untils[0]
	ru := differenceOf(m.unitOf(until.Compare.Left), true)
	show := func(x float64) string { return formatValue(u.Unit.FromSI(x, m.sheet.Ambient), u.Unit) }
	return &fault{code: CodeSign, span: until.Stmt.Span(), msg: fmt.Sprintf("no solution for %s is certain between %s and %s: left − right does not change its sign", u.Name, show(lo), show(hi)),
		label: fmt.Sprintf("left − right is %s at the one end and %s at the other", formatValue(ru.FromSI(flo, 0), ru), formatValue(ru.FromSI(fhi, 0), ru)),
		hint:  "widen the bracket until the two have opposite signs; where it may hold two solutions, narrow it to one"}
}
