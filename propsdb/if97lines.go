package propsdb

import "math"

// The lines between the regions.

const (
	waterTmin  = 273.15  // K
	waterT13   = 623.15  // between 1 or 2 and 3
	waterT23   = 863.15  // where the line between 2 and 3 reaches 100 MPa
	waterT25   = 1073.15 // between 2 and 5; at it, region 2 counts
	waterTmax  = 2273.15
	waterPmax  = 100e6 // Pa, to 1073.15 K
	waterPmax5 = 50e6  // Pa, above
)

// psat is the saturation pressure, Pa, at t K: Eq. 30.
func (w *if97) psat(t float64) float64 {
	n := &w.sat
	x := t + n[8]/(t-n[9])
	a := x*x + n[0]*x + n[1]
	b := n[2]*x*x + n[3]*x + n[4]
	c := n[5]*x*x + n[6]*x + n[7]
	y := 2 * c / (-b + math.Sqrt(b*b-4*a*c))
	y *= y
	return 1e6 * y * y
}

// tsat is the saturation temperature, K, at p Pa: Eq. 31, the same relation.
func (w *if97) tsat(p float64) float64 {
	n := &w.sat
	y := fourthRoot(p / 1e6)
	e := y*y + n[2]*y + n[5]
	f := n[0]*y*y + n[3]*y + n[6]
	g := n[1]*y*y + n[4]*y + n[7]
	d := 2 * g / (-f - math.Sqrt(f*f-4*e*g))
	b := n[9] + d
	return (b - math.Sqrt(b*b-4*(n[8]+n[9]*d))) / 2
}

// p23 and t23 are the line between regions 2 and 3: Eqs. 5 and 6.
func (w *if97) p23(t float64) float64 {
	n := &w.b23
	return 1e6 * (n[0] + t*(n[1]+t*n[2]))
}

func (w *if97) t23(p float64) float64 {
	n := &w.b23
	return n[3] + math.Sqrt((p/1e6-n[4])/n[2])
}

// h2bc and p2bc are the line between subregions 2b and 2c: Eqs. 21 and 20.
func (w *if97) h2bc(p float64) float64 {
	n := &w.b2bc
	return 1e3 * (n[3] + math.Sqrt((p/1e6-n[4])/n[2]))
}

func (w *if97) p2bc(h float64) float64 {
	n := &w.b2bc
	h /= 1e3
	return 1e6 * (n[0] + h*(n[1]+h*n[2]))
}

// h2ab is the line between subregions 2a and 2b in h and s: SR2-01.
func (w *if97) h2ab(s float64) float64 { return cubic(&w.b2ab, s/1e3) }

// h3ab is the line between subregions 3a and 3b in p and h: SR3-03.
func (w *if97) h3ab(p float64) float64 { return cubic(&w.b3ab, p/1e6) }

func cubic(n *[4]float64, x float64) float64 { return 1e3 * (n[0] + x*(n[1]+x*(n[2]+x*n[3]))) }
