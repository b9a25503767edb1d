package eval

import (
	"fmt"
	"math"

	"workings/runner/lang"
	"workings/runner/resolve"
)

// trial runs a solve's body with given values of its unknowns and returns the residuals of its
// conditions, or the value at an extreme.
type trial func(x []float64) ([]float64, *fault)

// solve finds the unknowns of a solve and leaves the body evaluated at them.
func (m *machine) solve(st *step) *fault {
	l := st.line
	stmt := l.Stmt.(*lang.Solve)
	d := &SolveDetail{Extreme: l.Untils[0].Extreme}
	st.solve = d
	run := func(x []float64) ([]float64, *fault) {
		d.Runs++
		if m.runs += 1 + len(st.body); m.runs > MaxRuns {
			return nil, m.tooLong(stmt.Span())
		}
		for i, s := range l.Unknowns {
			m.set(s, x[i])
		}
		return m.residuals(st)
	}
	var x []float64
	var f *fault
	if len(l.Unknowns) > 1 {
		x, f = m.newton(st, d, run)
	} else {
		x, f = m.bracketed(st, d, run)
	}
	if f == nil {
		// Once more at the solution, so that everything below shows these values.
		var r []float64
		if r, f = run(x); f == nil {
			for i, u := range l.Untils {
				e := u.X
				if u.Compare != nil {
					e = u.Compare.Left
				}
				d.Residuals = append(d.Residuals, Value{SI: r[i], Unit: differenceOf(m.unitOf(e), u.Extreme == "")})
			}
			return nil
		}
	}
	if f.code != CodeRuns {
		for _, b := range st.body {
			m.clear(b)
		}
	}
	return f
}

// clear takes back the values of a body whose solve found nothing.
func (m *machine) clear(st *step) {
	for _, s := range st.line.Defines {
		m.ok[s.Reg] = false
	}
	if st.status == Done || st.fault != nil {
		st.status, st.fault = Waiting, nil // the solve reports it, with the trial it came from
	}
	for _, b := range st.body {
		m.clear(b)
	}
}

// residuals runs the body and the conditions once.
func (m *machine) residuals(st *step) ([]float64, *fault) {
	for _, b := range st.body {
		m.exec(b)
		if f := firstFault(b); f != nil && b.line.Kind != resolve.Check {
			return nil, f
		}
	}
	outer := m.step
	defer func() { m.step = outer }()
	out := make([]float64, len(st.untils))
	for i, u := range st.untils {
		m.step = u
		u.lookups, u.status = u.lookups[:0], Done
		if f := m.missing(u.line); f != nil {
			return nil, f
		}
		if u.line.Extreme != "" {
			v, f := m.value(u.x)
			if f != nil {
				return nil, f
			}
			out[i] = v
			continue
		}
		a, f := m.value(u.left)
		if f != nil {
			return nil, f
		}
		b, f := m.value(u.right)
		if f != nil {
			return nil, f
		}
		u.check.left, u.check.right = a, b
		out[i] = a - b
	}
	return out, nil
}

// firstFault is the fault that stopped a line or a line under it, which may be a method's and so
// stand in another file.
func firstFault(st *step) *fault {
	if st.fault != nil {
		f := *st.fault
		if f.file == nil {
			f.file = st.line.File
		}
		return &f
	}
	if st.status == Waiting {
		for _, b := range st.body {
			if f := firstFault(b); f != nil {
				return f
			}
		}
	}
	return nil
}

func (m *machine) bracketed(st *step, d *SolveDetail, run trial) ([]float64, *fault) {
	l := st.line
	lo, f := m.value(st.lo)
	if f != nil {
		return nil, f
	}
	hi, f := m.value(st.hi)
	if f != nil {
		return nil, f
	}
	s := l.Stmt.(*lang.Solve)
	show := func(x float64) Value {
		return Value{SI: x, Unit: l.Unknowns[0].Unit, Shown: l.Unknowns[0].Unit.FromSI(x, m.sheet.Ambient)}
	}
	d.Lo, d.Hi = []Value{show(lo)}, []Value{show(hi)}
	if lo == hi {
		return nil, &fault{code: CodeSign, span: s.Between.Loc, msg: "the bracket has no width", hint: "give two different ends"}
	}
	if lo > hi {
		lo, hi = hi, lo
	}
	one := func(x float64) (float64, *fault) {
		r, f := run([]float64{x})
		if f != nil {
			if f.code == CodeRuns {
				return 0, f
			}
			return 0, m.trialFault(l, x, f)
		}
		return r[0], nil
	}
	if l.Untils[0].Extreme != "" {
		return m.extreme(st, d, lo, hi, one)
	}
	x, f := m.root(st, d, lo, hi, one)
	return []float64{x}, f
}

// trialFault says at which trial value a line of the body had no value.
func (m *machine) trialFault(l *resolve.Line, x float64, f *fault) *fault {
	u := l.Unknowns[0]
	return &fault{code: CodeTrial, file: f.file, span: f.span, msg: fmt.Sprintf("while solving, with %s = %s: %s", u.Name, formatValue(u.Unit.FromSI(x, m.sheet.Ambient), u.Unit), f.msg),
		label: f.label, hint: "narrow the bracket of " + u.Name + " so that every trial has a value" + tail(f.hint)}
}

func tail(hint string) string {
	if hint == "" {
		return ""
	}
	return "; " + hint
}

// maxSteps bounds the iterations of one solve.
const maxSteps = 200

// root is Chandrupatla's bracketing method: inverse quadratic interpolation where it is safe,
// bisection elsewhere (T. R. Chandrupatla, Adv. Eng. Softw. 28 (1997) 145; from memory).
func (m *machine) root(st *step, d *SolveDetail, lo, hi float64, f func(float64) (float64, *fault)) (float64, *fault) {
	a, b := hi, lo
	fa, bad := f(a)
	if bad != nil {
		return 0, bad
	}
	fb, bad := f(b)
	if bad != nil {
		return 0, bad
	}
	switch {
	case fa == 0 && fb == 0:
		return 0, &fault{code: CodeFlat, span: st.line.Untils[0].Stmt.Span(), msg: fmt.Sprintf("both ends of the bracket satisfy this, so that it does not single out a value of %s", st.line.Unknowns[0].Name),
			hint: "check that the condition depends on the unknown, or narrow the bracket to one solution"}
	case fa == 0:
		return a, nil
	case fb == 0:
		return b, nil
	case (fa > 0) == (fb > 0):
		return 0, m.noSignChange(st, b, fb, a, fa)
	}
	ends := math.Max(math.Abs(fa), math.Abs(fb))
	t := 0.5
	var c, fc float64
	for d.Steps < maxSteps {
		d.Steps++
		x := a + t*(b-a)
		fx, bad := f(x)
		if bad != nil {
			return 0, bad
		}
		if (fx > 0) == (fa > 0) {
			c, fc = a, fa
		} else {
			c, fc = b, fb
			b, fb = a, fa
		}
		a, fa = x, fx
		best := a
		if math.Abs(fb) < math.Abs(fa) {
			best = b
		}
		tol := 2*0x1p-53*math.Abs(best) + 1e-300
		tl := tol / math.Abs(b-c)
		if fa == 0 || tl > 0.5 {
			if fa == 0 {
				return a, nil
			}
			return best, m.jump(st, best, math.Min(math.Abs(fa), math.Abs(fb)), ends, f)
		}
		xi, phi := (a-b)/(c-b), (fa-fb)/(fc-fb)
		if phi*phi < xi && (1-phi)*(1-phi) < 1-xi {
			t = fa/(fb-fa)*fc/(fb-fc) + (c-a)/(b-a)*fa/(fc-fa)*fb/(fc-fb)
		} else {
			t = 0.5
		}
		t = math.Min(1-tl, math.Max(tl, t))
	}
	return a, nil
}

// jump refuses a place where the two sides change order without meeting: a pole, or a step. There
// what is left between them does not shrink with the bracket.
func (m *machine) jump(st *step, x, left, ends float64, f func(float64) (float64, *fault)) *fault {
	if left <= 1e-6*ends {
		return nil
	}
	if _, bad := f(x); bad != nil {
		return bad
	}
	u := st.untils[0].check
	if left <= 1e-12*math.Max(math.Abs(u.left), math.Abs(u.right)) {
		return nil
	}
	l := st.line
	unit := l.Unknowns[0].Unit
	return &fault{code: CodeJump, span: l.Untils[0].Stmt.Span(), msg: fmt.Sprintf("the two sides do not meet: they jump past each other at %s = %s", l.Unknowns[0].Name, formatValue(unit.FromSI(x, m.sheet.Ambient), unit)),
		hint: "choose a bracket without a pole or a step in it"}
}

func (m *machine) noSignChange(st *step, lo, flo, hi, fhi float64) *fault {
	l := st.line
	u := l.Unknowns[0]
	until := l.Untils[0]
	ru := differenceOf(m.unitOf(until.Compare.Left), true)
	show := func(x float64) string { return formatValue(u.Unit.FromSI(x, m.sheet.Ambient), u.Unit) }
	return &fault{code: CodeSign, span: until.Stmt.Span(), msg: fmt.Sprintf("no solution for %s is certain between %s and %s: left − right does not change its sign", u.Name, show(lo), show(hi)),
		label: fmt.Sprintf("left − right is %s at the one end and %s at the other", formatValue(ru.FromSI(flo, 0), ru), formatValue(ru.FromSI(fhi, 0), ru)),
		hint:  "widen the bracket until the two have opposite signs; where it may hold two solutions, narrow it to one"}
}

// scanPoints is how finely a bracket is looked over before an extreme is refined.
const scanPoints = 64

// extreme scans the bracket and refines the best point by golden section.
func (m *machine) extreme(st *step, d *SolveDetail, lo, hi float64, f func(float64) (float64, *fault)) ([]float64, *fault) {
	l := st.line
	sign := 1.0
	if d.Extreme == "smallest" {
		sign = -1
	}
	up := func(x float64) (float64, *fault) {
		v, bad := f(x)
		return sign * v, bad
	}
	point := scanPoint(lo, hi)
	at, _, bad := scan(lo, hi, up)
	if bad != nil {
		return nil, bad
	}
	if at == 0 || at == scanPoints {
		u := l.Unknowns[0]
		return nil, &fault{code: CodeEnd, span: l.Untils[0].Stmt.Span(),
			msg:  fmt.Sprintf("it is %s at the end of the bracket, %s = %s, so that the extreme may lie beyond", d.Extreme, u.Name, formatValue(u.Unit.FromSI(point(at), m.sheet.Ambient), u.Unit)),
			hint: "widen the bracket at that end"}
	}
	x, bad := m.golden(d, point(at-1), point(at+1), up)
	return []float64{x}, bad
}

// scanPoint gives the points that divide a bracket into scanPoints equal pieces.
func scanPoint(lo, hi float64) func(i int) float64 {
	return func(i int) float64 {
		if i == scanPoints {
			return hi // exactly, whatever the division leaves
		}
		return lo + (hi-lo)*float64(i)/scanPoints
	}
}

// scan finds which of these points has the largest value of f, and that value.
func scan(lo, hi float64, f func(float64) (float64, *fault)) (at int, best float64, bad *fault) {
	point := scanPoint(lo, hi)
	best = math.Inf(-1)
	for i := 0; i <= scanPoints; i++ {
		v, bad := f(point(i))
		if bad != nil {
			return 0, 0, bad
		}
		if v > best {
			best, at = v, i
		}
	}
	return at, best, nil
}

// golden closes in on a largest value between a and b. Near an extreme a function is flat: its
// place is sharp to about the square root of its own precision, and a parabola through the last
// three points takes out what is left of the first order.
func (m *machine) golden(d *SolveDetail, a, b float64, f func(float64) (float64, *fault)) (float64, *fault) {
	ratio := (math.Sqrt(5) - 1) / 2
	x1, x2 := b-ratio*(b-a), a+ratio*(b-a)
	f1, bad := f(x1)
	if bad != nil {
		return 0, bad
	}
	f2, bad := f(x2)
	if bad != nil {
		return 0, bad
	}
	for b-a > 1e-4*math.Max(math.Abs(a), math.Abs(b)) && d.Steps < maxSteps {
		d.Steps++
		if f1 > f2 {
			b, x2, f2 = x2, x1, f1
			x1 = b - ratio*(b-a)
			f1, bad = f(x1)
		} else {
			a, x1, f1 = x1, x2, f2
			x2 = a + ratio*(b-a)
			f2, bad = f(x2)
		}
		if bad != nil {
			return 0, bad
		}
	}
	return m.vertex(d, (a+b)/2, b-a, f)
}

// vertex takes parabolas through three points about x, twice.
func (m *machine) vertex(d *SolveDetail, x, h float64, f func(float64) (float64, *fault)) (float64, *fault) {
	for range 2 {
		d.Steps++
		var y [3]float64
		for i := range y {
			v, bad := f(x + float64(i-1)*h)
			if bad != nil {
				return 0, bad
			}
			y[i] = v
		}
		curve := y[0] - 2*y[1] + y[2]
		if curve >= 0 {
			return x, nil
		}
		x += math.Max(-1, math.Min(1, 0.5*(y[0]-y[2])/curve)) * h
		h /= 2
	}
	return x, nil
}
