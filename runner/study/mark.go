package study

import (
	"cmp"
	"math"
	"slices"

	"workings/runner/resolve"
)

// Mark is a point of a series that is pointed out.
type Mark struct {
	Of *resolve.Mark
	At []float64 // by varied input, SI
	// Accuracy is how far, at most, the place may be from the true one, by varied input; 0 where it
	// is one of the points.
	Accuracy []float64
	Kept     []float64 // everything kept, there
	Standing Standing
	Outside  bool // an input lies outside its allowed range
	// More: there are more crossings behind this one, which are too many to look for.
	More bool
}

// Placed reports a mark that points at a place.
func (m *Mark) Placed() bool { return m.At != nil }

// Standing says what a mark is worth.
type Standing int

// How marks stand.
const (
	Refined   Standing = iota // between the points, to its accuracy
	AtEnd                     // an extreme at an end of the range: it may go on beyond
	BesideGap                 // the best of the points, beside one that has no value
	Jumps                     // a crossing at which the value jumps
	Absent                    // no point has a value, or nothing crosses
	Level                     // the value is the same at all points
)

// mostCrossings bounds those of one mark in one series: each is refined by evaluating the sheet.
const mostCrossings = 50

// mark finds what a mark asks for: one extreme, or all crossings in their order.
func (m *model) mark(of *resolve.Mark) ([]Mark, error) {
	var found []Mark
	var err error
	switch {
	case level(m.series.Kept[of.Keep]):
		if y := m.series.Kept[of.Keep][0]; of.Extreme != "" || same(y, of.Value) {
			found = []Mark{{Of: of, Standing: Level}}
		}
	case of.Extreme == "":
		found, err = m.crossings(of)
	case len(m.of.Vary) == 1:
		found, err = m.extreme(of)
	default:
		found, err = m.summit(of)
	}
	if err != nil {
		return nil, err
	}
	if len(found) == 0 {
		found = []Mark{{Of: of, Standing: Absent}}
	}
	for i := range found {
		f := &found[i]
		if !f.Placed() {
			continue
		}
		if f.Kept, err = m.one(f.At); err != nil {
			return nil, err
		}
		for k, v := range m.of.Vary {
			f.Outside = f.Outside || !v.Allows(f.At[k])
		}
	}
	return found, nil
}

// level reports values that are the same, but for rounding, at two points or more.
func level(values []float64) bool {
	for _, v := range values {
		if !same(v, values[0]) {
			return false
		}
	}
	return len(values) > 1
}

// same reports two values that differ by no more than rounding may leave.
func same(a, b float64) bool { return math.Abs(a-b) <= 1e-12*math.Max(math.Abs(a), math.Abs(b)) }

// best is the point with the largest value, −1 where none has one. The first of equals counts.
func best(sign float64, values []float64) int {
	at := -1
	for i, v := range values {
		if !math.IsNaN(v) && (at < 0 || sign*v > sign*values[at]) {
			at = i
		}
	}
	return at
}

func signOf(extreme string) float64 {
	if extreme == "smallest" {
		return -1
	}
	return 1
}

// extreme refines the best of the points of one input.
func (m *model) extreme(of *resolve.Mark) ([]Mark, error) {
	x, y := m.series.Inputs[0], m.series.Kept[of.Keep]
	order := rising(x)
	sign := signOf(of.Extreme)
	k := -1
	for i, p := range order {
		if !math.IsNaN(y[p]) && (k < 0 || sign*y[p] > sign*y[order[k]]) {
			k = i
		}
	}
	if k < 0 {
		return nil, nil
	}
	found := Mark{Of: of, At: []float64{x[order[k]]}, Accuracy: []float64{0}}
	switch {
	case k == 0 || k == len(order)-1:
		found.Standing = AtEnd
		return []Mark{found}, nil
	case math.IsNaN(y[order[k-1]]) || math.IsNaN(y[order[k+1]]):
		found.Standing = BesideGap
		return []Mark{found}, nil
	}
	f := func(xs []float64) ([]float64, error) {
		out, err := m.at(xs)
		if err != nil {
			return nil, err
		}
		for i := range out[of.Keep] {
			out[of.Keep][i] *= sign
		}
		return out[of.Keep], nil
	}
	at, accuracy, err := refine(f, x[order[k-1]], x[order[k]], x[order[k+1]], sign*y[order[k]])
	found.At[0], found.Accuracy[0] = at, accuracy
	return []Mark{found}, err
}

// rising are the points in the order of their values.
func rising(x []float64) []int {
	order := make([]int, len(x))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(x[a], x[b]) })
	return order
}

// function is a function of one variable, evaluated at several places at once.
type function func(xs []float64) ([]float64, error)

const (
	pieces = 16   // that a bracket is divided into
	near   = 2e-2 // width of the bracket, against its place, at which a polynomial takes over
	finest = 1e-8 // the narrowest bracket that values can tell the ends of: about √(2⁻⁵²)
)

// refine finds where f, largest at middle among three points, is largest between lo and hi, and to
// what accuracy. The bracket is narrowed by dividing it; once it is small against its place, the
// derivative of the quartic through five points is zero nearer to the extreme than values alone can
// tell: from step to step the change shows the accuracy. A function with a kink has no such
// derivative: its bracket is narrowed to the end.
func refine(f function, lo, middle, hi, top float64) (at, accuracy float64, err error) {
	a, b := lo, hi
	scale := math.Max(hi-lo, math.Max(math.Abs(lo), math.Abs(hi)))
	for b-a > near*scale {
		if a, b, err = narrow(f, a, b); err != nil {
			return 0, 0, err
		}
	}
	x, h := (a+b)/2, (b-a)/4
	var changes [3]float64
	smooth := true
	for i := range changes {
		u, noise, ok, err := stationary(f, x, h)
		if err != nil {
			return 0, 0, err
		}
		if smooth = ok && math.Abs(u) <= 2; !smooth {
			break
		}
		changes[i] = math.Abs(u) * h
		accuracy = changes[i] + noise*h
		x += u * h
		h /= 4
	}
	if smooth && changes[2] <= math.Max(0.3*changes[1], 1e-9*scale) && x > lo && x < hi {
		y, err := f([]float64{x})
		if err != nil {
			return 0, 0, err
		}
		if y[0] >= top-4*0x1p-52*math.Abs(top) {
			return x, accuracy, nil
		}
	}
	for b-a > finest*scale {
		if a, b, err = narrow(f, a, b); err != nil {
			return 0, 0, err
		}
	}
	return (a + b) / 2, b - a, nil
}

// narrow divides a bracket and keeps the pieces beside the largest value.
func narrow(f function, a, b float64) (float64, float64, error) {
	xs := make([]float64, pieces+1)
	for i := range xs {
		xs[i] = a + (b-a)*float64(i)/pieces
	}
	xs[pieces] = b
	ys, err := f(xs)
	if err != nil {
		return a, b, err
	}
	k := best(1, ys)
	if k < 0 {
		return (a + b) / 2, (a + b) / 2, nil
	}
	return xs[max(0, k-1)], xs[min(pieces, k+1)], nil
}

// stationary is where, in steps of h from x, the quartic through five points has no slope, and how
// far rounding may have moved that.
func stationary(f function, x, h float64) (u, noise float64, ok bool, err error) {
	y, err := f([]float64{x - 2*h, x - h, x, x + h, x + 2*h})
	if err != nil {
		return 0, 0, false, err
	}
	c1 := (y[0] - 8*y[1] + 8*y[3] - y[4]) / 12
	c2 := (-y[0] + 16*y[1] - 30*y[2] + 16*y[3] - y[4]) / 24
	c3 := (-y[0] + 2*y[1] - 2*y[3] + y[4]) / 12
	c4 := (y[0] - 4*y[1] + 6*y[2] - 4*y[3] + y[4]) / 24
	if !(c2 < 0) {
		return 0, 0, false, nil
	}
	for range 20 {
		slope := c1 + u*(2*c2+u*(3*c3+u*4*c4))
		bend := 2*c2 + u*(6*c3+u*12*c4)
		if !(bend < 0) {
			return 0, 0, false, nil
		}
		u -= slope / bend
	}
	// Each value is uncertain by about a rounding or two; of c1 that leaves about as much.
	noise = 2 * 0x1p-52 * math.Abs(y[2]) / (2 * math.Abs(c2))
	return u, noise, !math.IsNaN(u), nil
}

// crossings are where the value passes through that of the mark.
func (m *model) crossings(of *resolve.Mark) ([]Mark, error) {
	x, y := m.series.Inputs[0], m.series.Kept[of.Keep]
	var found []Mark
	order := rising(x)
	for i, p := range order {
		fp := y[p] - of.Value
		if n := len(found); n == mostCrossings {
			found[n-1].More = true
			break
		}
		if fp == 0 {
			found = append(found, Mark{Of: of, At: []float64{x[p]}, Accuracy: []float64{0}})
			continue
		}
		if i == 0 {
			continue
		}
		q := order[i-1]
		fq := y[q] - of.Value
		if math.IsNaN(fp) || math.IsNaN(fq) || fq == 0 || (fp > 0) == (fq > 0) {
			continue
		}
		mark, err := m.crossing(of, x[q], x[p], fq, fp)
		if err != nil {
			return nil, err
		}
		found = append(found, mark)
	}
	return found, nil
}

// crossing narrows a change of sign between a and b.
func (m *model) crossing(of *resolve.Mark, a, b, fa, fb float64) (Mark, error) {
	ends := math.Max(math.Abs(fa), math.Abs(fb))
	for range 60 {
		if b-a <= 4*0x1p-52*math.Max(math.Abs(a), math.Abs(b)) {
			break
		}
		xs := make([]float64, pieces-1)
		for i := range xs {
			xs[i] = a + (b-a)*float64(i+1)/pieces
		}
		out, err := m.at(xs)
		if err != nil {
			return Mark{}, err
		}
		moved := false
		for i, v := range out[of.Keep] {
			f := v - of.Value
			if math.IsNaN(f) {
				return Mark{Of: of, At: []float64{xs[i]}, Accuracy: []float64{b - a}, Standing: BesideGap}, nil
			}
			if (f > 0) != (fa > 0) || f == 0 {
				b, fb = xs[i], f
				moved = true
				break
			}
			a, fa, moved = xs[i], f, true
		}
		if !moved {
			break
		}
	}
	at, rest := b, math.Abs(fb)
	if math.Abs(fa) < rest {
		at, rest = a, math.Abs(fa)
	}
	mark := Mark{Of: of, At: []float64{at}, Accuracy: []float64{b - a}}
	if rest > 1e-6*ends {
		mark.Standing = Jumps
	}
	return mark, nil
}

// summit refines the best of the points of two inputs: by a net of points over the neighbourhood,
// which is moved to its best and drawn tighter.
func (m *model) summit(of *resolve.Mark) ([]Mark, error) {
	sign := signOf(of.Extreme)
	k := best(sign, m.series.Kept[of.Keep])
	if k < 0 {
		return nil, nil
	}
	var at, half, lo, hi [2]float64
	for i, column := range m.series.Inputs {
		at[i] = column[k]
		lo[i], hi[i] = math.Inf(1), math.Inf(-1)
		for _, v := range m.of.Vary[i].Values {
			lo[i], hi[i] = math.Min(lo[i], v), math.Max(hi[i], v)
			if d := math.Abs(v - at[i]); d > 0 && (half[i] == 0 || d < half[i]) {
				half[i] = d
			}
		}
	}
	const side = 9
	top := math.NaN()
	for round := 0; round < 200 && (half[0] > finest*math.Max(math.Abs(at[0]), hi[0]-lo[0]) || half[1] > finest*math.Max(math.Abs(at[1]), hi[1]-lo[1])); round++ {
		var columns [2][]float64
		for j := range side {
			for i := range side {
				for d, n := range [2]int{i, j} {
					v := at[d] + half[d]*(float64(n)/(side-1)*2-1)
					columns[d] = append(columns[d], math.Min(hi[d], math.Max(lo[d], v)))
				}
			}
		}
		out, err := m.at(columns[0], columns[1])
		if err != nil {
			return nil, err
		}
		b := best(sign, out[of.Keep])
		if b < 0 {
			break
		}
		top = out[of.Keep][b]
		inside := true
		for d := range at {
			v := columns[d][b]
			n := []int{b % side, b / side}[d]
			inside = inside && (n > 0 && n < side-1 || v == lo[d] || v == hi[d])
			at[d] = v
		}
		if inside {
			half[0], half[1] = half[0]/3, half[1]/3
		}
	}
	found := Mark{Of: of, At: at[:], Accuracy: half[:]}
	for d := range at {
		if at[d] == lo[d] || at[d] == hi[d] {
			found.Standing = AtEnd
		}
	}
	if math.IsNaN(top) {
		found.Standing = BesideGap
	}
	return []Mark{found}, nil
}

// String is the standing in a word, for the trace.
func (s Standing) String() string {
	return [...]string{"refined", "at-end", "beside-gap", "jumps", "absent", "level"}[s]
}
