package propsdb

import (
	"math"
	"testing"
)

// What Intervals gives away reproduces the functions, written out as the docs state them.
func TestIntervalsReproduce(t *testing.T) {
	air, err := Lookup("air")
	if err != nil {
		t.Fatal(err)
	}
	burnt, err := MixtureOn(Formation, "g", Mole, []Part{{"CO2", 0.04}, {"H2O", 0.08}, {"N2", 0.75}, {"O2", 0.13}})
	if err != nil {
		t.Fatal(err)
	}
	perfect, err := Perfect("p", map[Property]float64{K: 1.4, Cp: 1005})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range []*Fluid{air, burnt, perfect} {
		for _, iv := range f.Intervals() {
			T := math.Max(iv.Tmin, 250) + 123
			a := iv.A
			h := f.R() * T * (-a[0]/T/T + a[1]*math.Log(T)/T + a[2] + a[3]*T/2 + a[4]*T*T/3 + a[5]*T*T*T/4 + a[6]*T*T*T*T/5 + iv.B1/T)
			so := f.R() * (-a[0]/T/T/2 - a[1]/T + a[2]*math.Log(T) + a[3]*T + a[4]*T*T/2 + a[5]*T*T*T/3 + a[6]*T*T*T*T/4 + iv.B2)
			if got := f.HFast(T); math.Abs(got-h) > 1e-12*math.Abs(h)+1e-7 {
				t.Errorf("%s: h(%g) = %g, from the coefficients %g", f.Name(), T, got, h)
			}
			if got := f.SoFast(T); math.Abs(got-so) > 1e-12*math.Abs(so)+1e-9 {
				t.Errorf("%s: so(%g) = %g, from the coefficients %g", f.Name(), T, got, so)
			}
		}
	}
}
