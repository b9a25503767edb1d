package propsdb

import "math"

// Natural logarithm, for the property kernels and for whoever evaluates many points: about half the
// time of math.Log, which is most of what h(T) and s°(T) cost. x = 2^k·z with z in one of 128 slices
// of [0.6875, 1.375); ln x = k·ln 2 + ln c + ln(z/c), c the slice's centre (of the two slices beside
// 1, 1 itself), the last term by its series in r = (z − c)/c to r⁷. Since z − c is exact and
// |r| ≤ 2⁻⁷, what is left is below the last digits, beside 1 as well: within 5e-16 of math.Log,
// relative (tested). For positive, finite, normal x only: T in a fluid's range and p within the
// bounds of a state always are.
const (
	logOffset = 0x3fe6000000000000 // bits of 0.6875
	ln2Hi     = 0x1.62e42fefa3800p-1
	ln2Lo     = 0x1.ef35793c76730p-45
)

type logSlice struct{ centre, inverse, log float64 }

// logSlices is filled once, when the program starts, and never written again.
var logSlices = newLogSlices()

func newLogSlices() (t [128]logSlice) {
	for i := range t {
		centre := math.Float64frombits(logOffset + uint64(i)<<45 + 1<<44)
		if math.Abs(centre-1) < 1./128 {
			centre = 1
		}
		t[i] = logSlice{centre, 1 / centre, math.Log(centre)}
	}
	return t
}

func ln(x float64) float64 { return logSum(logParts(x)) }

// logParts and logSum are ln in two halves, each small enough for the compiler to put in place of
// its call.
func logParts(x float64) (k, z float64, e *logSlice) {
	bits := math.Float64bits(x)
	shifted := bits - logOffset
	return float64(int64(shifted) >> 52), math.Float64frombits(bits - shifted&(0xfff<<52)), &logSlices[(shifted>>45)&127]
}

func logSum(k, z float64, e *logSlice) float64 {
	r := (z - e.centre) * e.inverse
	r2 := r * r
	tail := r2 * ((-0.5 + r*(1.0/3)) + r2*((-0.25+r*0.2)+r2*(-1.0/6+r*(1.0/7))))
	return (k*ln2Hi + e.log) + (r + (k*ln2Lo + tail))
}
