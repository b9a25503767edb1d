package propsdb

import (
	"math"
	"testing"
)

func mustPerfect(t tester, given map[Property]float64) *Fluid {
	t.Helper()
	f, err := Perfect("cold", given)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Every pair that fixes a perfect gas gives the same gas.
func TestPerfectFromEveryPair(t *testing.T) {
	const k, cp = 1.4, 1005.0
	const cv = cp / k
	const r = cp - cv
	all := map[Property]float64{K: k, Cp: cp, Cv: cv, R: r, M: MolarGasConstant / r}
	ran := 0
	for a := range all {
		for b := range all {
			if a >= b {
				continue
			}
			given := map[Property]float64{a: all[a], b: all[b]}
			f, err := Perfect("g", given)
			if a == R && b == M {
				as[*PerfectError](t, "R with M", err)
				continue
			}
			if err != nil {
				t.Fatal(err)
			}
			ran++
			near(t, "cp", f.CpFast(700), cp, 1e-9)
			near(t, "R", f.R(), r, 1e-9)
			near(t, "M", f.M(), MolarGasConstant/r, 1e-14)
			near(t, "k", get(t, mustState(t, f, P, 1e5, T, 700), K), k, 1e-12)
		}
	}
	counted(t, "pairs", ran, 9)
}

// Closed forms of the calorically perfect gas (any text on thermodynamics).
func TestPerfectClosedForms(t *testing.T) {
	f := mustPerfect(t, map[Property]float64{K: 1.4, Cp: 1005})
	r := 1005 * (1 - 1/1.4)
	for _, T1 := range []float64{1, 288.15, 1000, 5e4} {
		near(t, "h", f.HFast(T1), 1005*T1, 1e-12*1005*T1)
		near(t, "u", f.UFast(T1), 1005/1.4*T1, 1e-12*1005*T1)
		near(t, "so", f.SoFast(T1), 1005*math.Log(T1/298.15), 1e-11)
	}
	s := mustState(t, f, P, 1e5, T, 298.15)
	near(t, "s at its zero", get(t, s, S), 0, 1e-11)
	near(t, "c", get(t, s, C), math.Sqrt(1.4*r*298.15), 1e-10)
	// T2/T1 = (p2/p1)^((k−1)/k) at equal entropy; pv^k the same.
	s1 := mustState(t, f, P, 1e5, T, 300)
	s2 := mustState(t, f, P, 8e5, S, get(t, s1, S))
	near(t, "T2", s2.T(), 300*math.Pow(8, 0.4/1.4), 1e-11*s2.T())
	near(t, "p v^k", get(t, s2, P)*math.Pow(get(t, s2, V), 1.4), 1e5*math.Pow(get(t, s1, V), 1.4), 1e-6)
	near(t, "pr2/pr1", get(t, s2, Pr)/get(t, s1, Pr), 8, 1e-11)
	near(t, "vr2/vr1", get(t, s2, Vr)/get(t, s1, Vr), get(t, s2, V)/get(t, s1, V), 1e-12)
	if in, ok := s2.Inversion(); !ok || in.Steps != 0 || in.From != So || math.Abs(in.Residual) > 1e-10 {
		t.Errorf("inversion %+v", in)
	}
	if f.Datum() != Own || f.Kind() != PerfectGas || f.Components() != nil || f.Source().Hash != "" {
		t.Errorf("%s", f.Describe())
	}
	g := mustPerfect(t, map[Property]float64{K: 1.333, Cp: 1148})
	if f.DatumID() == g.DatumID() || f.EntropyDatumID() == g.EntropyDatumID() || f.DatumID() == mustLookup0(t, "air").DatumID() {
		t.Error("perfect gases share a datum with others")
	}
	_, err := f.WithDatum(Formation)
	as[*DatumError](t, "formation", err)
	if same, err := f.WithDatum(Own); err != nil || same != f {
		t.Errorf("its own datum: %v", err)
	}
}

func TestPerfectErrors(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for what, given := range map[string]map[Property]float64{
		"nothing": {}, "one": {K: 1.4}, "three": {K: 1.4, Cp: 1005, R: 287}, "R and M": {R: 287, M: 0.029},
		"k = 1": {K: 1, Cp: 1005}, "k < 1": {K: 0.9, R: 287}, "k NaN": {K: nan, R: 287},
		"cp < cv": {Cp: 700, Cv: 1005}, "cp = cv": {Cp: 700, Cv: 700}, "cp < R": {Cp: 200, R: 287},
		"cp < R by M": {Cp: 200, M: 0.029}, "T": {K: 1.4, T: 300}, "no property": {K: 1.4, Property(99): 1},
		"k next to 1": {K: 1 + 1e-15, Cp: 1005}, "k next to 1 with R": {K: 1 + 1e-15, R: 287},
	} {
		_, err := Perfect("g", given)
		as[*PerfectError](t, what, err)
	}
	for what, given := range map[string]map[Property]float64{
		"cp < 0": {K: 1.4, Cp: -1}, "cp = 0": {K: 1.4, Cp: 0}, "R NaN": {K: 1.4, R: nan}, "M < 0": {K: 1.4, M: -1},
	} {
		_, err := Perfect("g", given)
		as[*ValueError](t, what, err)
	}
	for what, given := range map[string]map[Property]float64{
		"cp infinite": {K: 1.4, Cp: inf}, "M in g/mol by 1e6": {K: 1.4, M: 28970}, "k infinite": {K: inf, R: 287}, "R tiny": {K: 1.4, R: 1e-9},
	} {
		_, err := Perfect("g", given)
		as[*RangeError](t, what, err)
	}
}
