package propsdb

import "math"

// Viscosity of air by Sutherland's formula with the constants of the standard
// atmosphere (ISO 2533:1975; U.S. Standard Atmosphere, 1976):
// mu = 1.458e-6 kg/(m·s·√K)·T^1.5/(T + 110.4 K).
const (
	sutherlandFactor = 1.458e-6
	sutherlandT      = 110.4 // K
	// sutherlandTmax, K, is where the formula is held to end (from memory); the
	// standard atmosphere itself uses it below 300 K.
	sutherlandTmax = 1900
)

// hasViscosity: of the gases only air of the database has one.
func (f *Fluid) hasViscosity() bool { return f.kind == DatabaseGas && f.name == "air" }

// viscosity, Pa·s, at t K; NaN where there is none.
func (f *Fluid) viscosity(t float64) float64 {
	if !f.hasViscosity() || !(t >= f.atP.lo && t <= sutherlandTmax) {
		return nan
	}
	return sutherlandFactor * t * math.Sqrt(t) / (t + sutherlandT)
}
