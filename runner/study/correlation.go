package study

import (
	"math"

	"workings/runner/eval"
	"workings/runner/resolve"
)

// Correlations are those between the inputs of a sheet and of the sheets it uses.
func Correlations(s *resolve.Sheet) []*resolve.Correlation {
	out := append([]*resolve.Correlation{}, s.Correlations...)
	for _, l := range s.Lines {
		if l.Kind == resolve.Use && l.Sub != nil {
			out = append(out, Correlations(l.Sub)...)
		}
	}
	return out
}

// correlated are the coefficients between inputs, by their indices with the smaller first. Pairs that
// are not in it are not correlated.
type correlated map[[2]int]float64

// between finds the coefficients that concern some inputs.
func between(inputs []eval.OwnInput, all []*resolve.Correlation) correlated {
	index := map[*resolve.Symbol]int{}
	for i, in := range inputs {
		index[in.Symbol] = i
	}
	c := correlated{}
	for _, x := range all {
		i, ok1 := index[x.Of[0]]
		k, ok2 := index[x.Of[1]]
		if ok1 && ok2 {
			c[[2]int{min(i, k), max(i, k)}] = x.R
		}
	}
	return c
}

// factor is the lower triangular matrix L with L·Lᵀ = the covariance of the inputs, by row, without its
// zeros: independent standard normals z become errors L·z of the inputs (Cholesky; JCGM 101:2008,
// C.5; from memory). What resolve has let through has such a factor; a pivot that rounding leaves below
// zero stands for none.
func (c correlated) factor(inputs []eval.OwnInput) [][]entry {
	n := len(inputs)
	out := make([][]entry, n)
	for i := range n {
		rest := 1.0
		for k := range i {
			r := c[[2]int{k, i}]
			if v := r - dot(out[i], out[k]); v != 0 {
				pivot := at(out[k], k)
				if pivot < 1e-9 {
					continue // of a variable that follows from earlier ones
				}
				v /= pivot
				out[i] = append(out[i], entry{k, v})
				rest -= v * v
			}
		}
		out[i] = append(out[i], entry{i, math.Sqrt(max(0, rest))})
	}
	for i, row := range out {
		for k := range row {
			row[k].value *= inputs[i].Spread
		}
	}
	return out
}

// entry is a number in a row of a matrix.
type entry struct {
	column int
	value  float64
}

// dot is the scalar product of two rows.
func dot(a, b []entry) (sum float64) {
	for len(a) > 0 && len(b) > 0 {
		switch {
		case a[0].column < b[0].column:
			a = a[1:]
		case a[0].column > b[0].column:
			b = b[1:]
		default:
			sum += a[0].value * b[0].value
			a, b = a[1:], b[1:]
		}
	}
	return sum
}

func at(row []entry, column int) float64 {
	for _, e := range row {
		if e.column == column {
			return e.value
		}
	}
	return 0
}
