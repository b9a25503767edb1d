package eval

import "math"

// The arithmetic over lanes. An operand of length 1 stands for every lane. Division and powers
// leave what they give, infinities included: whoever needs to know looks.

var nan = math.NaN()

func fill(d []float64, v float64) {
	for i := range d {
		d[i] = v
	}
}

// pick is the operand of lane i.
func pick(x []float64, i int) float64 {
	if len(x) == 1 {
		return x[0]
	}
	return x[i]
}

func finite(x float64) bool { return x-x == 0 }

// allFinite reports that all are numbers: the difference of one with itself is 0, and of none else.
// Four sums at a time, since one has to wait for itself.
func allFinite(a []float64) bool {
	var p, q, r, s float64
	for ; len(a) >= 4; a = a[4:] {
		p += a[0] - a[0]
		q += a[1] - a[1]
		r += a[2] - a[2]
		s += a[3] - a[3]
	}
	for _, x := range a {
		p += x - x
	}
	return p+q+r+s == 0
}

// allBetween reports that all lie between two positive numbers. The bits of positive numbers rise as
// they do: what is beyond leaves a sign bit.
func allBetween(a []float64, lo, hi float64) bool {
	first, beyond := math.Float64bits(lo), uint64(0)
	span := math.Float64bits(hi) - first
	for _, x := range a {
		above := math.Float64bits(x) - first
		beyond |= above | (span - above)
	}
	return beyond>>63 == 0
}

func add(d, a, b []float64) {
	switch {
	case len(a) == len(d) && len(b) == len(d):
		for i := range d {
			d[i] = a[i] + b[i]
		}
	case len(b) == len(d):
		x, b := a[0], b[:len(d)]
		for i, y := range b {
			d[i] = x + y
		}
	default:
		y, a := b[0], a[:len(d)]
		for i, x := range a {
			d[i] = x + y
		}
	}
}

func sub(d, a, b []float64) {
	switch {
	case len(a) == len(d) && len(b) == len(d):
		for i := range d {
			d[i] = a[i] - b[i]
		}
	case len(b) == len(d):
		x, b := a[0], b[:len(d)]
		for i, y := range b {
			d[i] = x - y
		}
	default:
		y, a := b[0], a[:len(d)]
		for i, x := range a {
			d[i] = x - y
		}
	}
}

func mul(d, a, b []float64) {
	switch {
	case len(a) == len(d) && len(b) == len(d):
		for i := range d {
			d[i] = a[i] * b[i]
		}
	case len(b) == len(d):
		x, b := a[0], b[:len(d)]
		for i, y := range b {
			d[i] = x * y
		}
	default:
		y, a := b[0], a[:len(d)]
		for i, x := range a {
			d[i] = x * y
		}
	}
}

func div(d, a, b []float64) {
	switch {
	case len(a) == len(d) && len(b) == len(d):
		for i := range d {
			d[i] = a[i] / b[i]
		}
	case len(b) == len(d):
		x, b := a[0], b[:len(d)]
		for i, y := range b {
			d[i] = x / y
		}
	default:
		y, a := b[0], a[:len(d)]
		for i, x := range a {
			d[i] = x / y
		}
	}
}

func pow(d, a, b []float64) {
	if len(b) == 1 && b[0] == 2 {
		mul(d, a, a)
		return
	}
	for i := range d {
		x, y := pick(a, i), pick(b, i)
		if y == 2 { // whichever way it came
			d[i] = x * x
			continue
		}
		d[i] = math.Pow(x, y)
	}
}

func compare(op opcode, d, a, b []float64) {
	for i := range d {
		x, y := pick(a, i), pick(b, i)
		switch op {
		case opLess:
			d[i] = truth(x < y)
		case opLessEq:
			d[i] = truth(x <= y)
		case opEqual:
			d[i] = truth(x == y)
		default:
			d[i] = truth(x != y)
		}
	}
}

func truth(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func negate(d, a []float64) {
	for i := range d {
		d[i] = -pick(a, i)
	}
}

func not(d, a []float64) {
	for i := range d {
		d[i] = 1 - pick(a, i)
	}
}

func sqrt(d, a []float64) {
	a = a[:len(d)]
	for i, x := range a {
		d[i] = math.Sqrt(x)
	}
}

// copyLanes copies, or spreads what stands for all.
func copyLanes(d, a []float64) {
	if len(a) == len(d) {
		copy(d, a)
		return
	}
	fill(d, a[0])
}
