package propsdb

import "math"

// Dynamic viscosity of water by IAPWS R12-08 and its thermal conductivity by
// R15-11, both as the releases have it for industrial use: the viscosity without
// its critical enhancement, the conductivity with it, by derivatives of IF97.

type viscosityRecord struct {
	seriesRecord
	H0 []float64
}

type conductivityRecord struct {
	L0      [5]float64
	L       [5][6]float64
	Lambda  float64
	R       float64 `json:"R"` // J/(kg·K), which makes cp dimensionless there
	QD      float64 `json:"qD_inverse_nm"`
	Xi0     float64 `json:"xi0_nm"`
	Gamma0  float64
	Nu      float64
	Gamma   float64
	TR      float64
	ABounds [4]float64 `json:"A_bounds"`
	A       [5][6]float64
}

// transportTmax, K, is where both correlations end at every pressure of IF97
// (the releases, from memory).
const transportTmax = 1173.15

type transport struct {
	h0 [4]float64
	h  [6][7]float64 // by I and J
	conductivityRecord
}

func newTransport(mu *viscosityRecord, lambda *conductivityRecord) transport {
	t := transport{conductivityRecord: *lambda}
	copy(t.h0[:], mu.H0)
	for k, n := range mu.N {
		t.h[int(mu.I[k])][int(mu.J[k])] = n
	}
	return t
}

// over is Σ c_k x^k.
func over(c []float64, x float64) float64 {
	sum := 0.0
	for k := len(c) - 1; k >= 0; k-- {
		sum = sum*x + c[k]
	}
	return sum
}

// viscosity, Pa·s, at t K and rho kg/m³: R12-08 Eqs. 10 to 12.
func (w *if97) viscosity(t, rho float64) float64 {
	tr, r := t/w.tc, rho/w.rhoc
	tau := 1 / tr
	sum := 0.0
	for i := len(w.transport.h) - 1; i >= 0; i-- {
		sum = sum*(tau-1) + over(w.transport.h[i][:], r-1)
	}
	return 1e-4 * math.Sqrt(tr) / over(w.transport.h0[:], tau) * math.Exp(r*sum)
}

// conductivity, W/(m·K): R15-11 Eqs. 15 to 25.
func (w *if97) conductivity(l *local) float64 {
	c := &w.transport
	tr, r := l.t/w.tc, 1/(l.v*w.rhoc)
	tau := 1 / tr
	sum := 0.0
	for i := len(c.L) - 1; i >= 0; i-- {
		sum = sum*(tau-1) + over(c.L[i][:], r-1)
	}
	background := math.Sqrt(tr) / over(c.L0[:], tau) * math.Exp(r*sum)

	// The enhancement: Δχ, how much more compressible it is than at 1.5 Tc.
	zeta := -l.vp / (l.v * l.v) * w.pc / w.rhoc
	j := 0
	for j < len(c.ABounds) && r > c.ABounds[j] {
		j++
	}
	chi := r * (zeta - c.TR*tau/over(c.A[j][:], r))
	if !(chi > 0) {
		return 1e-3 * background
	}
	y := c.Xi0 * math.Pow(chi/c.Gamma0, c.Nu/c.Gamma) / c.QD
	if y < 1.2e-7 {
		return 1e-3 * background
	}
	ik := l.cv() / l.cp
	z := 2 / (math.Pi * y) * ((1-ik)*math.Atan(y) + ik*y - (1 - math.Exp(-1/(1/y+y*y/(3*r*r)))))
	mu := w.viscosity(l.t, 1/l.v) * 1e6
	return 1e-3 * (background + c.Lambda*r*(l.cp/c.R)*tr/mu*z)
}
