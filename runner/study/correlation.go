package study

import (
	"math"

	"workings/runner/eval"
	"workings/runner/resolve"
)

// correlated are the coefficients between inputs, by their indices with the smaller first. Pairs that
// are not in it are not correlated.
type correlated map[[2]int]float64

// between finds the correlations that concern some inputs, and their coefficients.
func between(inputs []eval.OwnInput, all []*resolve.Correlation) (correlated, []*resolve.Correlation) {
	index := map[*resolve.Symbol]int{}
	for i, in := range inputs {
		index[in.Symbol] = i
	}
	c, out := correlated{}, []*resolve.Correlation(nil)
	for _, x := range all {
		i, ok1 := index[x.Of[0]]
		k, ok2 := index[x.Of[1]]
		if ok1 && ok2 {
			c[[2]int{min(i, k), max(i, k)}] = x.R
			out = append(out, x)
		}
	}
	return c, out
}

// factor is the lower triangular matrix L with L·Lᵀ = the covariance of the inputs, by row, without its
// zeros: independent standard normals z become errors L·z of the inputs (Cholesky; JCGM 101:2008,
// C.5; from memory). What resolve has let through has such a factor; a pivot that rounding leaves beside
// zero stands for none.
func (c correlated) factor(inputs []eval.OwnInput) [][]entry {
	const nothing = 1e-12
	out := make([][]entry, len(inputs))
	some := map[int]bool{}
	for pair := range c {
		some[pair[0]], some[pair[1]] = true, true
	}
	var before []int // of these
	for i := range inputs {
		rest := 1.0
		if some[i] {
			for _, k := range before {
				if v := c[[2]int{k, i}] - dot(out[i], out[k]); v != 0 {
					pivot := at(out[k], k)
					if pivot == 0 {
						continue // of a variable that follows from earlier ones
					}
					v /= pivot
					out[i] = append(out[i], entry{k, v})
					rest -= v * v
				}
			}
			if before = append(before, i); rest < nothing {
				rest = 0
			}
		}
		out[i] = append(out[i], entry{i, math.Sqrt(rest)})
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
