package eval

import "workings/runner/resolve"

// ofInterval is smallest(expr, x, a, b) or largest: found as a solve finds an extreme, but an end of
// the interval may well be the answer.
func (m *machine) ofInterval(i *instr) (float64, *fault) {
	lo, hi := m.regs[i.a], m.regs[i.b]
	if lo > hi {
		lo, hi = hi, lo
	}
	sign := 1.0
	if i.src.Op == resolve.OpSmallest {
		sign = -1
	}
	var bad *fault
	of := m.overInterval(i, &bad)
	up := func(x float64) (float64, *fault) { return sign * of(x), bad }
	at, best, bad := scan(lo, hi, up)
	if bad != nil || at == 0 || at == scanPoints {
		return sign * best, bad
	}
	point := scanPoint(lo, hi)
	x, bad := m.golden(&SolveDetail{}, point(at-1), point(at+1), up)
	if bad != nil {
		return 0, bad
	}
	v, bad := up(x)
	return sign * max(v, best), bad
}
