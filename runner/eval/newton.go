package eval

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// newton solves for several unknowns by damped Newton steps on a forward-difference Jacobian.
func (m *machine) newton(st *step, d *SolveDetail, run trial) ([]float64, *fault) {
	l := st.line
	n := len(l.Unknowns)
	x := make([]float64, n)
	for i, c := range st.given {
		v, f := m.value(c)
		if f != nil {
			return nil, f
		}
		x[i] = v
		u := l.Unknowns[i].Unit
		d.Lo = append(d.Lo, Value{SI: v, Unit: u, Shown: u.FromSI(v, m.sheet.Ambient)})
	}
	r, f := run(x)
	if f != nil {
		return nil, m.startFault(f)
	}
	r = append([]float64(nil), r...)
	nudges := 0
	for d.Steps < maxSteps {
		d.Steps++
		scale := make([]float64, n)
		for i, u := range st.untils {
			scale[i] = math.Max(math.Abs(u.check.left), math.Abs(u.check.right))
			if scale[i] == 0 {
				scale[i] = 1
			}
		}
		norm := scaledNorm(r, scale)
		if norm <= 1e-14 {
			return x, nil
		}
		step, f := m.newtonStep(x, r, run)
		if f != nil {
			return nil, f
		}
		if step == nil {
			if nudges++; nudges > 3 {
				return nil, m.diverges(st, r, "its conditions do not fix the unknowns there")
			}
			// A start at which the unknowns play the same part says nothing about either.
			for i := range x {
				x[i] += 0.01 * float64(nudges*(i+1)) * math.Max(math.Abs(x[i]), 1e-3)
			}
			if r, f = run(x); f != nil {
				return nil, m.startFault(f)
			}
			r = append([]float64(nil), r...)
			continue
		}
		next, rn, moved := x, r, 0.0
		t := 1.0
		for ; t > 1e-6; t /= 2 {
			y := make([]float64, n)
			for i := range y {
				y[i] = x[i] + t*step[i]
			}
			ry, f := run(y)
			if f != nil && f.code == CodeRuns {
				return nil, f
			}
			if f == nil && scaledNorm(ry, scale) < norm {
				next, rn = y, append([]float64(nil), ry...)
				break
			}
		}
		for i := range next {
			moved = math.Max(moved, math.Abs(next[i]-x[i])/math.Max(math.Abs(x[i]), 1e-300))
		}
		x, r = next, rn
		if moved <= 1e-15 {
			// No step improves it: rounding, where it is small; otherwise it is stuck.
			if norm <= 1e-9 {
				return x, nil
			}
			return nil, m.diverges(st, r, "no step brings the two sides closer")
		}
	}
	return nil, m.diverges(st, r, fmt.Sprintf("not settled after %d steps", maxSteps))
}

func scaledNorm(r, scale []float64) float64 {
	n := 0.0
	for i := range r {
		n = math.Max(n, math.Abs(r[i])/scale[i])
	}
	return n
}

func (m *machine) newtonStep(x, r []float64, run trial) ([]float64, *fault) {
	n := len(x)
	j := mat.NewDense(n, n, nil)
	for c := range x {
		h := 1e-7 * math.Max(math.Abs(x[c]), 1e-6)
		var d []float64
		var f *fault
		for _, s := range []float64{h, -h} { // a trial that has no value on one side may have one on the other
			y := append([]float64(nil), x...)
			y[c] += s
			if d, f = run(y); f == nil {
				h = y[c] - x[c]
				break
			}
		}
		if f != nil {
			return nil, f
		}
		for i := range d {
			j.Set(i, c, (d[i]-r[i])/h)
		}
	}
	var lu mat.LU
	lu.Factorize(j)
	var step mat.VecDense
	b := mat.NewVecDense(n, nil)
	for i, v := range r {
		b.SetVec(i, -v)
	}
	if err := lu.SolveVecTo(&step, false, b); err != nil {
		if _, ill := err.(mat.Condition); !ill || math.IsInf(float64(err.(mat.Condition)), 1) {
			return nil, nil
		}
	}
	return step.RawVector().Data, nil
}

func (m *machine) startFault(f *fault) *fault {
	if f.code == CodeRuns {
		return f
	}
	return &fault{code: CodeTrial, file: f.file, span: f.span, msg: "while solving, at the starting values: " + f.msg, label: f.label, hint: "start nearer to the solution" + tail(f.hint)}
}

func (m *machine) diverges(st *step, r []float64, why string) *fault {
	l := st.line
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
