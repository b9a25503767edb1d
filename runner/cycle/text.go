package cycle

import (
	"math"
	"strings"

	"workings/units"
)

// wording writes quantities of a plant's findings in the sheet's system of units.
type wording struct {
	sys   units.System
	basis Basis
}

func (w wording) unit(d units.Dimension) units.Unit {
	u, ok := units.Preferred(d, w.sys)
	if !ok {
		u = units.SIUnit(d)
	}
	return u
}

func (w wording) in(d units.Dimension, digits int, vs ...float64) []string {
	u := w.unit(d)
	out := make([]string, len(vs))
	for i, v := range vs {
		out[i] = number(u.FromSI(v, 0), digits)
		if !u.IsNone() {
			out[i] += " " + u.String()
		}
	}
	return out
}

// one writes a quantity with five digits.
func (w wording) one(d units.Dimension, v float64) string { return w.in(d, 5, v)[0] }

// two writes quantities that are compared, with as many digits as tell them apart.
func (w wording) two(d units.Dimension, a, b float64) (string, string) {
	for digits := 5; ; digits++ {
		s := w.in(d, digits, a, b)
		if s[0] != s[1] || digits == 12 || a == b {
			return s[0], s[1]
		}
	}
}

func (w wording) h(v float64) string { return w.one(units.DimEnergyPerMass(), v) }
func (w wording) s(v float64) string { return w.one(units.DimEntropyPerMass(), v) }
func (w wording) t(v float64) string { return w.one(units.DimTemperature(), v) }
func (w wording) p(v float64) string { return w.one(units.DimPressure(), v) }

// q is a work or heat of the plant, by its basis.
func (w wording) q(v float64) string {
	if w.basis == PerTime {
		return w.one(units.DimPower(), v)
	}
	return w.h(v)
}

// sgen is an entropy generated, by the plant's basis.
func (w wording) sgen(v float64) string {
	if w.basis == PerTime {
		return w.one(units.DimPower().Div(units.DimTemperature()), v)
	}
	return w.s(v)
}

// share is a number between 0 and 1 as an efficiency is written.
func share(v float64) string { return number(v, 4) }

// percent is a share in %.
func percent(v float64) string { return number(100*v, 4) + " %" }

// number is v with digits significant digits and no idle zeros behind the point.
func number(v float64, digits int) string {
	if math.Abs(v) < 1e-300 {
		v = 0 // no −0
	}
	s, power, scaled := strings.Cut(units.FormatNumber(v, digits), "×")
	if strings.Contains(s, ".") {
		s = strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
	}
	if scaled {
		s += "×" + power
	}
	return s
}
