package eval

import (
	"fmt"
	"math"

	"workings/runner/resolve"
)

// newton looks for several unknowns by damped Newton steps on a forward-difference Jacobian.
type newton struct {
	x, r, scale   []float64 // where it is, what is left of the conditions, and against what that counts
	y, ry         []float64 // on trial
	jacobian, rhs []float64 // n×n by rows; the step
	steps         int
}

func newNewton(n int) *newton {
	room := make([]float64, 6*n+n*n)
	take := func(n int) []float64 {
		part := room[:n:n]
		room = room[n:]
		return part
	}
	return &newton{x: take(n), r: take(n), scale: take(n), y: take(n), ry: take(n), rhs: take(n), jacobian: take(n * n)}
}

// The ways in which it ends without a solution.
const (
	notFixed   = "its conditions do not fix the unknowns there"
	noCloser   = "no step brings the two sides closer"
	notSettled = "not settled"
)

// newtonLane leaves a solution in the unknowns of one lane of a machine that is not strict, or gives
// up the lane.
func (m *machine) newtonLane(l *loop, lane int, try trial) {
	if m.bad[lane] {
		return
	}
	k := &m.loops[l.index]
	if k.newton == nil {
		k.newton = newNewton(len(l.unknowns))
	}
	w := k.newton
	for i, r := range l.from {
		w.x[i] = pick(m.v[r], lane)
	}
	why, f := m.newton(l, w, lane, func(lo, hi int) *fault {
		try(lo, hi)
		if m.bad[lane] {
			m.bad[lane] = false
			return noValue
		}
		return nil
	})
	if why != "" || f != nil {
		m.giveUp(lane)
		fill(w.x, nan)
	}
	for i, r := range l.unknowns {
		m.v[r][lane] = w.x[i]
	}
}

// several finds the unknowns of a solve on a strict machine.
func (m *machine) several(st *step, d *SolveDetail, try trial) *fault {
	l := st.line
	w := newNewton(len(l.Unknowns))
	for i, c := range st.given {
		v, f := m.value(c)
		if f != nil {
			return f
		}
		w.x[i] = v
		u := l.Unknowns[i].Unit
		d.Lo = append(d.Lo, Value{SI: v, Unit: u, Shown: u.FromSI(v, m.sheet.Ambient)})
	}
	why, f := m.newton(st.loop, w, 0, try)
	d.Steps = w.steps
	for i, r := range st.loop.unknowns {
		m.v[r][0] = w.x[i]
	}
	switch {
	case f != nil && w.steps == 0 && f.code != CodeRuns:
		return &fault{code: CodeTrial, span: f.span, msg: "while solving, at the starting values: " + f.msg, label: f.label, hint: "start nearer to the solution" + tail(f.hint)}
	case why == notSettled:
		why = fmt.Sprintf("not settled after %d steps", maxSteps)
	}
	if f == nil && why != "" {
		f = m.diverges(l, w.r, why)
	}
	return f
}

// newton starts from w.x and leaves the solution there. It says why it has found none, or gives the
// fault of a trial that it cannot do without.
func (m *machine) newton(l *loop, w *newton, lane int, try trial) (why string, f *fault) {
	w.steps = 0
	if f := m.tryAt(l, lane, w.x, w.r, try); f != nil {
		return "", f
	}
	nudges := 0
	for w.steps < maxSteps {
		w.steps++
		for i := range w.scale {
			w.scale[i] = math.Max(math.Abs(pick(m.v[l.left[i]], lane)), math.Abs(pick(m.v[l.right[i]], lane)))
			if w.scale[i] == 0 {
				w.scale[i] = 1
			}
		}
		norm := scaledNorm(w.r, w.scale)
		if norm <= 1e-14 {
			return "", nil
		}
		if f := m.jacobian(l, w, lane, try); f != nil {
			return "", f
		}
		for i, r := range w.r {
			w.rhs[i] = -r
		}
		if !eliminate(w.jacobian, w.rhs) {
			if nudges++; nudges > 3 {
				return notFixed, nil
			}
			// A start at which the unknowns play the same part says nothing about either.
			for i := range w.x {
				w.x[i] += 0.01 * float64(nudges*(i+1)) * math.Max(math.Abs(w.x[i]), 1e-3)
			}
			if f := m.tryAt(l, lane, w.x, w.r, try); f != nil {
				return "", f
			}
			continue
		}
		moved := 0.0
		for t := 1.0; t > 1e-6; t /= 2 {
			for i := range w.y {
				w.y[i] = w.x[i] + t*w.rhs[i]
			}
			f := m.tryAt(l, lane, w.y, w.ry, try)
			if f != nil && f.code == CodeRuns {
				return "", f
			}
			if f == nil && scaledNorm(w.ry, w.scale) < norm {
				for i := range w.x {
					moved = math.Max(moved, math.Abs(w.y[i]-w.x[i])/math.Max(math.Abs(w.x[i]), 1e-300))
				}
				copy(w.x, w.y)
				copy(w.r, w.ry)
				break
			}
		}
		if moved <= 1e-15 {
			// No step improves it: rounding, where it is small; otherwise it is stuck.
			if norm <= 1e-9 {
				return "", nil
			}
			return noCloser, nil
		}
	}
	return notSettled, nil
}

// tryAt leaves in r what the conditions leave at x.
func (m *machine) tryAt(l *loop, lane int, x, r []float64, try trial) *fault {
	for i, u := range l.unknowns {
		m.v[u][lane] = x[i]
	}
	if f := try(lane, lane+1); f != nil {
		return f
	}
	for i := range r {
		if r[i] = m.residual(l, i, lane); !finite(r[i]) {
			return noValue // of lanes where nobody asks for the reason
		}
	}
	return nil
}

func scaledNorm(r, scale []float64) float64 {
	n := 0.0
	for i := range r {
		n = math.Max(n, math.Abs(r[i])/scale[i])
	}
	return n
}

func (m *machine) jacobian(l *loop, w *newton, lane int, try trial) *fault {
	n := len(w.x)
	for c := range w.x {
		h := 1e-7 * math.Max(math.Abs(w.x[c]), 1e-6)
		copy(w.y, w.x)
		w.y[c] += h
		f := m.tryAt(l, lane, w.y, w.ry, try)
		if f != nil { // a trial that has no value on one side may have one on the other
			w.y[c] = w.x[c] - h
			if f = m.tryAt(l, lane, w.y, w.ry, try); f != nil {
				return f
			}
		}
		h = w.y[c] - w.x[c]
		for i := range w.ry {
			w.jacobian[i*n+c] = (w.ry[i] - w.r[i]) / h
		}
	}
	return nil
}

// eliminate solves a·x = b by Gaussian elimination with partial pivoting and leaves x in b; false
// where a is singular.
func eliminate(a, b []float64) bool {
	n := len(b)
	for c := range n {
		best := c
		for i := c + 1; i < n; i++ {
			if math.Abs(a[i*n+c]) > math.Abs(a[best*n+c]) {
				best = i
			}
		}
		if p := a[best*n+c]; p == 0 || !finite(p) {
			return false
		}
		if best != c {
			for j := range n {
				a[c*n+j], a[best*n+j] = a[best*n+j], a[c*n+j]
			}
			b[c], b[best] = b[best], b[c]
		}
		for i := c + 1; i < n; i++ {
			f := a[i*n+c] / a[c*n+c]
			for j := c + 1; j < n; j++ {
				a[i*n+j] -= f * a[c*n+j]
			}
			b[i] -= f * b[c]
		}
	}
	for i := n - 1; i >= 0; i-- {
		for j := i + 1; j < n; j++ {
			b[i] -= a[i*n+j] * b[j]
		}
		b[i] /= a[i*n+i]
	}
	return true
}

func (m *machine) diverges(l *resolve.Line, r []float64, why string) *fault {
	label := "left − right is "
	for i, u := range l.Untils {
		if i > 0 {
			label += ", "
		}
		ru := differenceOf(m.unitOf(u.Compare.Left), true)
		label += formatValue(ru.FromSI(r[i], 0), ru)
	}
	return &fault{code: CodeDiverge, span: l.Untils[0].Stmt.Span(), msg: "no solution was found: " + why, label: label, hint: "start nearer to the solution, or check that the conditions are independent"}
}
