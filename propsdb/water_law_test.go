package propsdb

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Laws that hold for any fluid, tried on water at random inside every region, by
// differences of states: they tie h, s, v, u, cp, cv and c to each other.
func TestWaterLaws(t *testing.T) {
	w := loadWater()
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom([]int{1, 2, 3, 5}).Draw(t, "region")
		draw := func() float64 { return rapid.Float64Range(0, 1).Draw(t, "u") }
		s := drawWater(draw, kind)
		if s.region == 3 && math.Abs(s.t-w.tc) < 10 && math.Abs(s.p/w.pc-1) < 0.2 {
			return // too curved for differences
		}
		// Steps of p and T at which the equations of the region still hold.
		const d = 1e-4
		at := func(dp, dt float64) local {
			f := s.fixed
			f.p, f.t = s.p*(1+dp), s.t*(1+dt)
			if s.region == 3 {
				rho, _ := w.densityFrom(f.p, f.t, 1/s.v, 0.5/s.v, 2/s.v)
				f.v = 1 / rho
			}
			return w.point(&f)
		}
		l := w.point(&s.fixed)
		up, down := at(d, 0), at(-d, 0)
		hot, cold := at(0, d), at(0, -d)
		dp, dT := 2*d*s.p, 2*d*s.t
		// What rounding of the liquid's h and s leaves of a difference over so small a p.
		noise := 1e-13 * (math.Abs(l.h) + s.t*math.Abs(l.s) + 1e5)
		const curved = 2e-4
		near(t, "cp = ∂h/∂T", (hot.h-cold.h)/dT, l.cp, curved*l.cp)
		near(t, "cp = T ∂s/∂T", s.t*(hot.s-cold.s)/dT, l.cp, curved*l.cp)
		near(t, "dh = T ds + v dp along p", up.h-down.h, s.t*(up.s-down.s)+l.v*dp, curved*(l.v*dp+math.Abs(up.h-down.h))+noise)
		near(t, "∂v/∂T", (hot.v-cold.v)/dT, l.vt, curved*(math.Abs(l.vt)+1e-2*l.v/s.t))
		near(t, "Maxwell: ∂s/∂p = −∂v/∂T", (up.s-down.s)/dp, -l.vt, curved*(math.Abs(l.vt)+1e-2*l.v/s.t)+noise/s.t/dp)
		near(t, "∂v/∂p", (up.v-down.v)/dp, l.vp, curved*math.Abs(l.vp)+1e-14*l.v/dp)
		near(t, "u = h − p·v", s.GetFast(U), l.h-s.p*l.v, 1e-9*(math.Abs(l.h)+s.p*l.v))
		if !(l.cp > l.cv()-1e-9*l.cp && l.cv() > 0 && l.vp < 0) {
			t.Fatalf("cp %g, cv %g, ∂v/∂p %g", l.cp, l.cv(), l.vp)
		}
		// Speed of sound along the isentrope: (∂v/∂p)ₛ by dT = (T/cp)·∂v/∂T·dp.
		iso := d * s.p * l.vt / l.cp // as a part of T
		a, b := at(d, iso), at(-d, -iso)
		near(t, "isentrope", a.s-b.s, 0, 1e-5*math.Abs(up.s-down.s)+noise/s.t)
		near(t, "c² = −v²(∂p/∂v)ₛ", -l.v*l.v*dp/(a.v-b.v), l.sound()*l.sound(), l.sound()*l.sound()*(curved+1e-14*l.v/math.Abs(a.v-b.v)))
		// And along an isochore cv = ∂u/∂T: p follows by −(∂v/∂T)/(∂v/∂p).
		along := -l.vt / l.vp * d * s.t / s.p // as a part of p
		if math.Abs(along) < 1e-2 {
			a, b = at(along, d), at(-along, -d)
			near(t, "cv = ∂u/∂T", (a.u()-b.u())/dT, l.cv(), 5e-4*l.cv()+noise/dT)
		}
	})
}
