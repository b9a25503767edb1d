package propsdb

import (
	"encoding/json"
	"math"
	"reflect"
	"testing"

	"pgregory.net/rapid"
)

// Source: isa.csv, computed from the defining constants by a separate program and
// printed to 10 digits: every row, every column.
func TestStandardAtmosphereTable(t *testing.T) {
	rows := readRows(t, "isa.csv")
	for _, row := range rows {
		at := func(column string) float64 { return number(t, row[column]) }
		h := at("geopotential_altitude_m")
		a, err := StandardAtmosphere(h)
		if err != nil {
			t.Fatal(err)
		}
		for column, got := range map[string]float64{
			"T_K": a.T, "p_Pa": a.P, "rho_kg_per_m3": a.Rho, "a_m_per_s": a.C, "mu_Pa_s": a.Mu,
			"theta": a.T / SeaLevelTemperature, "delta": a.P / SeaLevelPressure,
			"sigma": a.Rho / (SeaLevelPressure / (AtmosphereR * SeaLevelTemperature)),
		} {
			near(t, row["geopotential_altitude_m"]+" m, "+column, got, at(column), 1e-9*at(column))
		}
		z, err := Geometric(h)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "geometric", z, at("geometric_altitude_m"), 1e-9*z)
		back, err := Geopotential(z)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "geopotential", back, h, 1e-9)
	}
	counted(t, "rows of the atmosphere", len(rows), 97)
}

// Source: the example ISA-1976 of worked_examples.json, reference arrays of a
// public test, 7 digits; 32 km lies beyond the layers here.
func TestPublishedAtmosphere(t *testing.T) {
	e := readExample(t, "ISA-1976")
	ran := 0
	for name, want := range e.Answers {
		var stem string
		var h float64
		for i := range name {
			if name[i] == '_' {
				stem, h = name[:i], number(t, name[i+1:])
			}
		}
		a, err := StandardAtmosphere(h)
		if h > AltitudeMax {
			as[*AltitudeError](t, name, err)
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		ran++
		near(t, name, map[string]float64{"T": a.T, "p": a.P, "rho": a.Rho}[stem], want.Value, e.ToleranceRel*want.Value)
	}
	counted(t, "published atmosphere", ran, 11)
}

// Source: constants.json, which names the source of each.
func TestAtmosphereConstants(t *testing.T) {
	var file struct {
		Constants []struct {
			Name  string
			Value any
		}
	}
	if err := json.Unmarshal(readReference(t, "constants.json"), &file); err != nil {
		t.Fatal(err)
	}
	ours := map[string]any{
		"specific gas constant of air in ISO 2533":           AtmosphereR,
		"standard acceleration of gravity":                   StandardGravity,
		"standard atmosphere":                                SeaLevelPressure,
		"ISA sea-level temperature":                          SeaLevelTemperature,
		"ISA tropospheric temperature gradient":              lapse,
		"ISA tropopause geopotential altitude":               tropopause,
		"nominal earth radius for geopotential altitude":     EarthRadius,
		"ratio of specific heats in the standard atmosphere": AtmosphereK,
		"Sutherland constants of the standard atmosphere":    []any{sutherlandBeta, sutherlandS},
	}
	ran := 0
	for _, c := range file.Constants {
		if got, ok := ours[c.Name]; ok {
			ran++
			if !reflect.DeepEqual(got, c.Value) {
				t.Errorf("%s: %v, reference %v", c.Name, got, c.Value)
			}
		}
	}
	counted(t, "constants", ran, len(ours))
}

// Below sea level by the same gradient. Hand-derived: 288.15 + 13 K at −2 km;
// p0·(301.15/288.15)^5.25588 = 127 774 Pa (the standard's table prints 127 774,
// from memory).
func TestAtmosphereBelowSeaLevel(t *testing.T) {
	a, err := StandardAtmosphere(-2000)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "T", a.T, 301.15, 1e-12)
	near(t, "p", a.P, 127774, 1)
}

func TestAltitudeErrors(t *testing.T) {
	for _, h := range []float64{-2000.001, 20000.001, nan, math.Inf(1), math.Inf(-1), 1e300} {
		_, err := StandardAtmosphere(h)
		as[*AltitudeError](t, "atmosphere", err)
		_, err = Geometric(h)
		as[*AltitudeError](t, "geometric", err)
	}
	for _, z := range []float64{-2100, 20100, nan, math.Inf(1), -EarthRadius} {
		_, err := Geopotential(z)
		as[*AltitudeError](t, "geopotential", err)
	}
}

// dp/dH = −rho·g, by differences, and p continuous across the tropopause.
func TestAtmosphereIsHydrostatic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := rapid.Float64Range(AltitudeMin+1, AltitudeMax-1).Draw(t, "h")
		below, errA := StandardAtmosphere(h - 0.5)
		at, errB := StandardAtmosphere(h)
		above, errC := StandardAtmosphere(h + 0.5)
		if errA != nil || errB != nil || errC != nil {
			t.Fatal(errA, errB, errC)
		}
		near(t, "dp/dH", above.P-below.P, -at.Rho*StandardGravity, 1e-5*at.Rho*StandardGravity)
	})
}
