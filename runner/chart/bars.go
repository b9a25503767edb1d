package chart

import "math"

// A bar in a row of a table.
const (
	barWide = 112.0
	barHigh = 12.0
	barThin = 1.0 // left free above and below
)

// Bar draws a value as a bar of the row of a table, from the line at zero to the right or, below zero, to
// the left. lo and hi are the least and the largest value of the rows. The figure itself stands beside it,
// so that a reader who does not see the picture misses nothing.
func Bar(v, lo, hi float64) []byte {
	var o svg
	lo, hi = math.Min(0, lo), math.Max(0, hi)
	o.raw(`<svg class="share" viewBox="0 0 `)
	o.num(barWide)
	o.raw(" ")
	o.num(barHigh)
	o.raw(`" aria-hidden="true">`)
	if at := func(v float64) float64 { return 1 + (v-lo)/(hi-lo)*(barWide-2) }; sane(lo) && sane(hi) && hi > lo {
		zero := at(0)
		if sane(v) && v != 0 {
			to := at(math.Min(hi, math.Max(lo, v)))
			o.shape("bar", pt{zero, barThin}, pt{to, barThin}, pt{to, barHigh - barThin}, pt{zero, barHigh - barThin})
		}
		o.line("ax", zero, 0, zero, barHigh)
	}
	o.raw("</svg>")
	return o.b
}
