package propsdb

import (
	"fmt"
	"math"
)

// The standard atmosphere of ISO 2533:1975, which up to these altitudes is the
// U.S. Standard Atmosphere, 1976: defining constants as stated for the two, the
// standards themselves not opened.
const (
	SeaLevelTemperature = 288.15    // K
	SeaLevelPressure    = 101325.0  // Pa
	StandardGravity     = 9.80665   // m/s²
	AtmosphereR         = 287.05287 // J/(kg·K), of dry air in ISO 2533; not that of the database's air
	AtmosphereK         = 1.4       // cp/cv in ISO 2533
	EarthRadius         = 6356766.0 // m, nominal, for geopotential altitude

	lapse      = -0.0065 // K/m, up to the tropopause
	tropopause = 11000.0 // m; isothermal above

	// Sutherland's formula in the two standards: mu = beta·T^1.5/(T + S).
	sutherlandBeta = 1.458e-6 // kg/(m·s·√K)
	sutherlandS    = 110.4    // K
)

// AltitudeMin and AltitudeMax, m of geopotential altitude, bound the standard
// atmosphere here: the layers of ISO 2533 that gas turbines see.
const AltitudeMin, AltitudeMax = -2000.0, 20000.0

// Atmosphere is the standard atmosphere at an altitude.
type Atmosphere struct {
	T, P, Rho float64 // K, Pa, kg/m³
	C         float64 // speed of sound, m/s
	Mu        float64 // dynamic viscosity by Sutherland's formula, Pa·s
}

// StandardAtmosphere is the standard atmosphere of ISO 2533 at a geopotential
// altitude, m: T falls by 6.5 K/km to 216.65 K at 11 km and stays so, p follows
// from hydrostatic equilibrium,
//
//	p = p0·(T/T0)^(g/(R·0.0065 K/m))    up to 11 km
//	p = p11·exp(−g·(H − 11 km)/(R·T11))   above
//
// It is dry air with R of its own (AtmosphereR), so that rho and C differ in the
// fifth digit from those of the database's air at the same T and p. The error is
// an *AltitudeError.
func StandardAtmosphere(altitude float64) (Atmosphere, error) {
	if !(altitude >= AltitudeMin && altitude <= AltitudeMax) {
		return Atmosphere{}, &AltitudeError{altitude, AltitudeMin, AltitudeMax, "geopotential"}
	}
	below := min(altitude, tropopause)
	t := SeaLevelTemperature + lapse*below
	p := SeaLevelPressure * math.Pow(t/SeaLevelTemperature, -StandardGravity/(AtmosphereR*lapse))
	p *= math.Exp(-StandardGravity * (altitude - below) / (AtmosphereR * t))
	return Atmosphere{
		T: t, P: p, Rho: p / (AtmosphereR * t),
		C:  math.Sqrt(AtmosphereK * AtmosphereR * t),
		Mu: sutherlandBeta * t * math.Sqrt(t) / (t + sutherlandS),
	}, nil
}

// Geopotential is the geopotential altitude, m, of a geometric one, the height
// above sea level, m: H = r·z/(r + z) with r the EarthRadius. The error is an
// *AltitudeError where the result lies outside the standard atmosphere.
func Geopotential(geometric float64) (float64, error) {
	lo, hi := geometricOf(AltitudeMin), geometricOf(AltitudeMax)
	if !(geometric >= lo && geometric <= hi) {
		return nan, &AltitudeError{geometric, lo, hi, "geometric"}
	}
	return EarthRadius * geometric / (EarthRadius + geometric), nil
}

// Geometric is the height above sea level, m, of a geopotential altitude, m.
func Geometric(geopotential float64) (float64, error) {
	if !(geopotential >= AltitudeMin && geopotential <= AltitudeMax) {
		return nan, &AltitudeError{geopotential, AltitudeMin, AltitudeMax, "geopotential"}
	}
	return geometricOf(geopotential), nil
}

func geometricOf(h float64) float64 { return EarthRadius * h / (EarthRadius - h) }

// AltitudeError: the altitude lies outside the standard atmosphere; in m.
type AltitudeError struct {
	Altitude, Lo, Hi float64
	Kind             string // geopotential or geometric
}

func (e *AltitudeError) Error() string {
	return fmt.Sprintf("%s altitude %.8g m is outside %.8g m to %.8g m of the standard atmosphere", e.Kind, e.Altitude, e.Lo, e.Hi)
}
