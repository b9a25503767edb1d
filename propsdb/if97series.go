package propsdb

import "slices"

// The sums Σ n x^I y^J of which the formulation is made. The powers of x and y
// that occur are multiplied up once per call, each from two lower ones, and the
// terms take them from an array: no math.Pow, no allocation.

// slots is the room for powers of one variable, a mask away from any index.
const slots = 64

// ladder multiplies up the powers of a number. Slot 0 holds 1, slot 1 the
// number, slot 2 its inverse, and every further one the product of two before.
type ladder []rung

type rung struct{ a, b uint8 }

// newLadder makes a ladder to the exponents, and tells the slot of each.
func newLadder(exponents []float64) (ladder, []uint8) {
	var l ladder
	slot := map[int]uint8{0: 0, 1: 1, -1: 2}
	var reach func(e int) uint8
	reach = func(e int) uint8 {
		if s, ok := slot[e]; ok {
			return s
		}
		half := e / 2
		r := rung{reach(half), reach(e - half)}
		s := uint8(len(l) + 3)
		if s >= slots {
			panic("propsdb: the water data hold too many powers") // a fault of the build
		}
		l, slot[e] = append(l, r), s
		return s
	}
	at := make([]uint8, len(exponents))
	for _, e := range slices.Sorted(slices.Values(exponents)) {
		reach(int(e))
	}
	for k, e := range exponents {
		at[k] = reach(int(e))
	}
	return l, at
}

func (l ladder) climb(to *[slots]float64, x float64) {
	to[0], to[1], to[2] = 1, x, 1/x
	for k, r := range l {
		to[(k+3)&(slots-1)] = to[r.a&(slots-1)] * to[r.b&(slots-1)]
	}
}

// series is a sum with its derivatives.
type series struct {
	x, y  ladder
	terms []seriesTerm
}

type seriesTerm struct {
	n, i, j float64
	x, y    uint8 // slots of x^I and y^J
}

func newSeries(rec *seriesRecord) (s series) {
	var xs, ys []uint8
	s.x, xs = newLadder(rec.I)
	s.y, ys = newLadder(rec.J)
	for k, n := range rec.N {
		s.terms = append(s.terms, seriesTerm{n, rec.I[k], rec.J[k], xs[k], ys[k]})
	}
	return s
}

// slopes is a function of two variables with its derivatives.
type slopes struct{ f, x, y, xx, xy, yy float64 }

// at is the sum at x and y. The derivatives are summed as x ∂/∂x and the like,
// which have the powers of the sum itself, and divided by x and y at the end; a
// y of zero (region 2 at 1080 K, beyond its end) is moved away by nothing that
// a derivative could show.
func (s *series) at(x, y float64) slopes {
	if y > -1e-100 && y < 1e-100 {
		y = 1e-100
	}
	var px, py [slots]float64
	s.x.climb(&px, x)
	s.y.climb(&py, y)
	// Plain variables: a struct of six would live in memory.
	var f, fx, fy, fxx, fxy, fyy float64
	for k := range s.terms {
		t := &s.terms[k]
		z := t.n * px[t.x&(slots-1)] * py[t.y&(slots-1)]
		zx, zy := t.i*z, t.j*z
		f += z
		fx += zx
		fy += zy
		fxx += t.i * zx
		fxy += t.i * zy
		fyy += t.j * zy
	}
	ix, iy := px[2], py[2]
	return slopes{f, fx * ix, fy * iy, (fxx - fx) * ix * ix, fxy * ix * iy, (fyy - fy) * iy * iy}
}

// backward is a backward equation: z = z*·(Σ n X^I Y^J)^power with X = x·xs + x0
// and Y = y·ys + y0, x, y and z in SI.
type backward struct {
	xs, x0, ys, y0, z float64
	power             int
	quarter           bool // the exponents of X count in quarters
	x, y              ladder
	terms             []backwardTerm
}

type backwardTerm struct {
	n    float64
	x, y uint8
}

// inSI is the SI value of the units of the data file.
func inSI(unit string) float64 {
	switch unit {
	case "MPa", "p_MPa":
		return 1e6
	case "kJ/kg", "kJ/(kg K)":
		return 1e3
	}
	return 1 // K and m³/kg
}

func newBackward(rec *backwardRecord) backward {
	b := backward{
		xs: 1 / (rec.XStar * inSI(rec.XUnit)), x0: rec.XOffset,
		ys: rec.YSign / (rec.YStar * inSI(rec.YUnit)), y0: rec.YOffset,
		z: rec.ZStar * inSI(rec.Result), power: int(rec.Power),
	}
	powersOfX := slices.Clone(rec.I)
	b.quarter = slices.ContainsFunc(rec.I, func(i float64) bool { return i != float64(int(i)) })
	if b.quarter {
		for k := range powersOfX {
			powersOfX[k] *= 4
		}
	}
	var xs, ys []uint8
	b.x, xs = newLadder(powersOfX)
	b.y, ys = newLadder(rec.J)
	for k, n := range rec.N {
		b.terms = append(b.terms, backwardTerm{n, xs[k], ys[k]})
	}
	return b
}

func (b *backward) at(x, y float64) float64 {
	x, y = x*b.xs+b.x0, y*b.ys+b.y0
	if b.quarter {
		x = fourthRoot(x)
	}
	var px, py [slots]float64
	b.x.climb(&px, x)
	b.y.climb(&py, y)
	sum := 0.0
	for k := range b.terms {
		t := &b.terms[k]
		sum += t.n * px[t.x&(slots-1)] * py[t.y&(slots-1)]
	}
	switch b.power {
	case 4:
		sum *= sum
		sum *= sum
	case -1:
		sum = 1 / sum
	}
	return b.z * sum
}
