package propsdb

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

func TestWaterErrors(t *testing.T) {
	f := waterFluid()
	w := f.water
	for _, c := range []struct {
		a      Property
		va     float64
		b      Property
		vb     float64
		of     Property
		lo, hi float64
	}{
		{T, 273, P, 1e5, T, 273.15, 2273.15},
		{P, 1e5, T, 2274, T, 273.15, 2273.15},
		{P, 1.01e8, T, 500, P, PressureMin, 100e6},
		{P, 1e-7, T, 500, P, PressureMin, 100e6},
		{P, 60e6, T, 1100, P, PressureMin, 50e6},
		{P, 2.3e7, X, 0.5, P, w.psat(273.15), 22.064e6},
		{T, 650, X, 0.5, T, 273.15, 647.096},
		{T, 400, X, 1.01, X, 0, 1},
		{P, 1e5, X, -0.01, X, 0, 1},
		{P, 1e5, H, -1e3, H, get(t, mustState(t, f, P, 1e5, T, 273.15), H), get(t, mustState(t, f, P, 1e5, T, 2273.15), H)},
		{P, 1e5, H, 9e6, H, get(t, mustState(t, f, P, 1e5, T, 273.15), H), get(t, mustState(t, f, P, 1e5, T, 2273.15), H)},
		{P, 80e6, H, 3.8e6, H, get(t, mustState(t, f, P, 80e6, T, 273.15), H), get(t, mustState(t, f, P, 80e6, T, 1073.15), H)},
		{P, 1e5, S, 2e4, S, get(t, mustState(t, f, P, 1e5, T, 273.15), S), get(t, mustState(t, f, P, 1e5, T, 2273.15), S)},
		{P, 1e5, U, 9e6, U, get(t, mustState(t, f, P, 1e5, T, 273.15), U), get(t, mustState(t, f, P, 1e5, T, 2273.15), U)},
		{T, 500, V, 1e-4, V, get(t, mustState(t, f, P, 100e6, T, 500), V), get(t, mustState(t, f, P, PressureMin, T, 500), V)},
		{T, 700, S, 3e3, S, get(t, mustState(t, f, P, 100e6, T, 700), S), get(t, mustState(t, f, P, PressureMin, T, 700), S)},
		{T, 1500, S, 3e3, S, get(t, mustState(t, f, P, 50e6, T, 1500), S), get(t, mustState(t, f, P, PressureMin, T, 1500), S)},
		{T, 1000, V, 1e12, V, get(t, mustState(t, f, P, 100e6, T, 1000), V), get(t, mustState(t, f, P, PressureMin, T, 1000), V)},
		{H, 1e6, S, 1e5, S, get(t, mustState(t, f, P, 100e6, T, 273.15), S), get(t, mustState(t, f, P, PressureMin, T, 2273.15), S)},
		{H, 4e6, S, 5000, H, get(t, mustState(t, f, T, 273.15, S, 5000), H), get(t, mustState(t, f, P, 100e6, S, 5000), H)},
		{H, 1e4, S, 5000, H, get(t, mustState(t, f, T, 273.15, S, 5000), H), get(t, mustState(t, f, P, 100e6, S, 5000), H)},
		{H, 9e6, S, 8000, H, get(t, mustState(t, f, T, 273.15, S, 8000), H), get(t, mustState(t, f, P, 50e6, S, 8000), H)},
	} {
		_, err := f.State(c.a, c.va, c.b, c.vb)
		e := as[*RangeError](t, fmt.Sprintf("(%s = %g, %s = %g)", c.a, c.va, c.b, c.vb), err)
		if e.Property != c.of || !strings.Contains(e.Of, "water") && c.of != X {
			t.Errorf("(%s,%s): %v", c.a, c.b, e)
		}
		near(t, e.Error()+": lo", e.Lo, c.lo, 1e-9*math.Abs(c.lo)+1e-9)
		near(t, e.Error()+": hi", e.Hi, c.hi, 1e-9*math.Abs(c.hi))
	}
	// The least v of the liquid at 1 bar, near 4 °C (3.98 °C and 999.975 kg/m³: common
	// practice, no source); below it there is no T.
	_, err := f.State(P, 1e5, Rho, 1001)
	e := as[*RangeError](t, "too dense", err)
	near(t, "greatest density at 1 bar", e.Hi, 999.975, 0.005)
	if e.Property != Rho || e.Value != 1001 {
		t.Error(e)
	}
	near(t, "T of the greatest density", mustState(t, f, P, 1e5, Rho, e.Hi-1e-6).T(), 277.13, 0.1)

	for a := T; a <= Prandtl; a++ {
		for b := T; b <= Prandtl; b++ {
			if f.Fixes(a, b) {
				continue
			}
			_, err := f.State(a, 300, b, 300)
			if e := as[*PairError](t, a.Symbol()+","+b.Symbol(), err); len(e.Allowed) != len(waterPairs) || !strings.Contains(e.Error(), "(p,x)") {
				t.Error(e)
			}
		}
	}
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		for _, p := range waterPairs {
			_, err := f.State(p[0], bad, p[1], 0.5)
			as[*ValueError](t, fmt.Sprintf("(%s = %g, %s = 0.5)", p[0], bad, p[1]), err)
			_, err = f.State(p[0], 300, p[1], bad)
			as[*ValueError](t, fmt.Sprintf("(%s = 300, %s = %g)", p[0], p[1], bad), err)
		}
	}
	for _, q := range []Property{P, T, V, Rho} {
		b := T
		if q == T {
			b = P
		}
		_, err := f.State(q, -1, b, 300)
		as[*ValueError](t, "negative "+q.Symbol(), err)
	}

	// What an ideal gas has of T alone, water has not.
	for what, fn := range map[string]func(float64) (float64, error){
		"h": f.H, "u": f.U, "so": f.So, "cp": f.Cp, "cv": f.Cv, "k": f.K, "c": f.C, "T(h)": f.TofH, "T(u)": f.TofU, "T(so)": f.TofSo,
	} {
		v, err := fn(300)
		if e := as[*AloneError](t, what, err); !strings.Contains(e.Error(), "(p,h)") || v == v {
			t.Errorf("%s: %g, %v", what, v, e)
		}
	}
	_, err = f.StateT(300)
	as[*AloneError](t, "StateT", err)
	_, err = f.StateH(1e5)
	as[*AloneError](t, "StateH", err)
	_, err = f.Table([]float64{300})
	as[*AloneError](t, "Table", err)
	if f.FixesAlone(T) || !mustLookup0(t, "air").FixesAlone(T) || mustLookup0(t, "air").FixesAlone(P) {
		t.Error("FixesAlone")
	}
	s := mustState(t, f, P, 1e5, T, 500)
	for _, q := range []Property{So, Pr, Vr} {
		_, err := s.Get(q)
		if e := as[*NoPropertyError](t, q.Symbol(), err); !strings.Contains(e.Error(), "ideal gas") {
			t.Error(e)
		}
	}
	_, err = mustState(t, f, P, 1e5, T, 1200).Get(Mu)
	if e := as[*RangeError](t, "mu beyond its range", err); e.Hi != transportTmax || e.Property != T {
		t.Error(e)
	}
	for _, d := range []Datum{ZeroKelvin, Formation, Own} {
		_, err = f.WithDatum(d)
		as[*DatumError](t, "water on another datum", err)
		_, err = LookupOn("water", d)
		if d != Own {
			as[*UnknownFluidError](t, "water on another datum", err)
		}
	}
	_, err = LookupOn("N2", TriplePoint)
	as[*DatumError](t, "nitrogen on water's datum", err)
}

func TestWaterFluid(t *testing.T) {
	f := mustLookup0(t, "steam")
	same, err := LookupOn("water", TriplePoint)
	if err != nil || f != same || f.Name() != "water" || f.Kind() != Water {
		t.Errorf("%v, %v", f, err)
	}
	near(t, "R = Ru/M, of the formulation", f.R()*f.M(), 8.31451, 1e-5)
	src := f.Source()
	for _, want := range []string{"IAPWS R7-97(2012)"} {
		if !strings.Contains(src.Data, want) {
			t.Errorf("source %q", src.Data)
		}
	}
	if len(src.Hash) != 64 || src.Hash == DataSource().Hash || !strings.Contains(src.Range, "2273.15 K") ||
		src.Accuracy == "" || src.Licence == "" {
		t.Errorf("%+v", src)
	}
	if d := f.Describe(); !strings.Contains(d, "IAPWS-IF97") || !strings.Contains(d, "triple-point datum") {
		t.Error(d)
	}
	if len(f.Joints()) != 0 || len(f.Components()) != 0 {
		t.Error("joints or components")
	}
	all := Fluids()
	if len(all) != 65 || all[0].Name != "water" {
		t.Errorf("%d fluids", len(all))
	}
	for _, in := range all {
		g, err := LookupOn(in.Name, in.Datum)
		if err != nil || g.Kind() != in.Kind || g.M() != in.M {
			t.Errorf("%s: %v", in.Name, err)
		}
		if lo, hi := g.Range(); lo != in.Tmin || hi != in.Tmax {
			t.Errorf("%s: range %g to %g", in.Name, lo, hi)
		}
		if _, err := Lookup(in.Name); (err == nil) != in.HasLookup {
			t.Errorf("%s: %v", in.Name, err)
		}
	}
	for q, want := range map[string]string{"water": "water H2O", "Steam": "water", "h2o": "water H2O H2O2", "butane": "nC4H10"} {
		var got []string
		for _, in := range SearchFluids(q) {
			got = append(got, in.Name)
		}
		if s := strings.Join(got, " "); !strings.HasPrefix(s, want) {
			t.Errorf("%s: %s, want %s first", q, s, want)
		}
	}
	_, err = Lookup("watr")
	if e := as[*UnknownFluidError](t, "watr", err); len(e.Near) == 0 || e.Near[0] != "water" {
		t.Error(e)
	}
}
