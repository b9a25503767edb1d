package propsdb

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func mustUser(t tester, spec UserSpec) *Fluid {
	t.Helper()
	f, err := UserFluid(spec)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func tableSpec() UserSpec {
	return UserSpec{Name: "exhaust", M: 0.0285, Source: "invented data sheet",
		Table: []CpPoint{{250, 1000}, {300, 1010}, {500, 1050}, {1000, 1180}, {1500, 1230}}}
}

// Hand-derived: with cp on a straight line h is a trapezium and so the integral
// of (a + b·T)/T, a·ln(T2/T1) + b·(T2 − T1).
func TestTabulatedFluidByHand(t *testing.T) {
	f := mustUser(t, tableSpec())
	near(t, "cp in the table", f.CpFast(400), 1030, 1e-9)
	near(t, "cp at a row", f.CpFast(500), 1050, 1e-9)
	near(t, "h", f.HFast(500)-f.HFast(300), 200*(1010+1050)/2, 1e-6)
	near(t, "h over rows", f.HFast(1250)-f.HFast(300), 200*1030+500*1115+250*(1180+1205)/2, 1e-6)
	near(t, "so", f.SoFast(500)-f.SoFast(300), (1010-0.2*300)*math.Log(500.0/300)+0.2*200, 1e-9)
	near(t, "R", f.R(), 8.31446261815324/0.0285, 1e-12)
	near(t, "h is zero at", f.HFast(StandardTemperature), 0, 1e-7)
	near(t, "so is zero at", f.SoFast(StandardTemperature), 0, 1e-10)
	if lo, hi := f.Range(); lo != 250 || hi != 1500 || f.Kind() != UserGas || f.Datum() != Own {
		t.Errorf("%s from %g K to %g K", f.Describe(), lo, hi)
	}
	s := mustState(t, f, P, 3e5, T, 700)
	for _, q := range []Property{H, S, U, V, Cp, Cv, K, C, So, Pr, Vr, Z, M, R} {
		get(t, s, q)
	}
	back := mustState(t, f, P, 1e5, S, get(t, s, S))
	near(t, "isentropic", back.t, f.TofSoFast(get(t, s, S)), 1e-9)
	in, ok := back.Inversion()
	if !ok || in.Steps < 1 || in.Steps > 10 || math.Abs(in.Residual) > 1e-9 {
		t.Errorf("inversion %+v", in)
	}
	for _, word := range []string{"table of 5 rows", "298.15 K"} {
		if !strings.Contains(f.Source().Note, word) {
			t.Errorf("note %q", f.Source().Note)
		}
	}
	if f.Source().Data != "invented data sheet" || f.Source().Range != "250 K to 1500 K" {
		t.Errorf("source %+v", f.Source())
	}
}

// A gas of the database over one of its ranges, given by its own coefficients of
// T⁰ to T⁴ and taken alone, is not the gas (T⁻¹ and T⁻² are left out); so the
// check is on a polynomial integrated by hand: cp = 900 + 0.2 T + 1e-4 T² from
// 300 K to 400 K: h = 900·100 + 0.1·(400² − 300²) + 1e-4/3·(400³ − 300³).
func TestPolynomialFluidByHand(t *testing.T) {
	f := mustUser(t, UserSpec{Name: "gas", M: 0.029, Source: "invented",
		Pieces:    []CpPiece{{200, 500, []float64{900, 0.2, 1e-4}}, {500, 1500, []float64{1023, 1e-3}}},
		Reference: &UserReference{T: 350, P: 101325, H: 5000, S: 7000}})
	near(t, "h", f.HFast(400)-f.HFast(300), 90000+7000+1e-4/3*37e6, 1e-6)
	near(t, "so", f.SoFast(400)-f.SoFast(300), 900*math.Log(4.0/3)+0.2*100+1e-4/2*7e4, 1e-9)
	near(t, "reference h", f.HFast(350), 5000, 1e-7)
	near(t, "reference s", get(t, mustState(t, f, T, 350, P, 101325), S), 7000, 1e-9)
	h, so := f.Gap(0)
	near(t, "h goes on at the joint", h, 0, 1e-8)
	near(t, "so goes on at the joint", so, 0, 1e-11)
	// Constant cp is the perfect gas but for its zeros.
	constant := mustUser(t, UserSpec{Name: "gas", M: 0.029, Source: "invented", Pieces: []CpPiece{{100, 2000, []float64{1005}}}})
	perfect, err := Perfect("gas", map[Property]float64{M: 0.029, Cp: 1005})
	if err != nil {
		t.Fatal(err)
	}
	for _, T := range []float64{100, 298.15, 777, 2000} {
		near(t, "h", constant.HFast(T)-constant.HFast(300), perfect.HFast(T)-perfect.HFast(300), 1e-6)
		near(t, "so", constant.SoFast(T), perfect.SoFast(T), 1e-10)
	}
}

// Air typed in as a table of the database's cp every 10 K is air to what straight
// lines between rows cost: 1e-5.
func TestAirAsATable(t *testing.T) {
	air := mustLookup0(t, "air")
	spec := UserSpec{Name: "typed", M: air.M(), Source: "the database"}
	for T := 200.0; T <= 2000; T += 10 {
		spec.Table = append(spec.Table, CpPoint{T, air.CpFast(T)})
	}
	f := mustUser(t, spec)
	for T := 305.0; T < 2000; T += 7 {
		near(t, "h", f.HFast(T)-f.HFast(300), air.HFast(T)-air.HFast(300), 1e-5*(air.HFast(T)-air.HFast(300))+1)
		near(t, "so", f.SoFast(T)-f.SoFast(300), air.SoFast(T)-air.SoFast(300), 0.02)
		near(t, "T(h)", f.TofHFast(f.HFast(T)), T, 1e-11*T)
		near(t, "T(so)", f.TofSoFast(f.SoFast(T)), T, 1e-11*T)
	}
}

func TestUserFluidDatum(t *testing.T) {
	f := mustUser(t, tableSpec())
	g := mustUser(t, tableSpec())
	spec := tableSpec()
	spec.Reference = &UserReference{T: 300, P: 1e5}
	shifted := mustUser(t, spec)
	if f.DatumID() != g.DatumID() || f.EntropyDatumID() != g.EntropyDatumID() {
		t.Error("the same data have two zeros")
	}
	if f.DatumID() == shifted.DatumID() || f.DatumID() == mustLookup0(t, "air").DatumID() {
		t.Error("two zeros share an id")
	}
	_, err := f.WithDatum(Formation)
	as[*DatumError](t, "formation", err)
	same, err := f.WithDatum(Own)
	if err != nil || same != f {
		t.Error("its own datum is another fluid")
	}
	// Data that begin above 300 K still have relative pressures.
	hot := mustUser(t, UserSpec{Name: "hot", M: 0.03, Source: "invented", Table: []CpPoint{{800, 1100}, {1400, 1200}}, Reference: &UserReference{T: 800, P: 1e5}})
	s := mustState(t, hot, T, 1000, P, 1e5)
	if pr := get(t, s, Pr); !(pr > 0) {
		t.Errorf("pr %g", pr)
	}
}

func TestUserFluidErrors(t *testing.T) {
	long := make([]CpPoint, MaxUserRows+1)
	for i := range long {
		long[i] = CpPoint{300 + float64(i), 1000}
	}
	for what, change := range map[string]func(*UserSpec){
		"no source":       func(s *UserSpec) { s.Source = " \t" },
		"no M":            func(s *UserSpec) { s.M = 0 },
		"M in g/mol":      func(s *UserSpec) { s.M = 28500 },
		"M NaN":           func(s *UserSpec) { s.M = nan },
		"nothing":         func(s *UserSpec) { s.Table = nil },
		"one row":         func(s *UserSpec) { s.Table = s.Table[:1] },
		"both":            func(s *UserSpec) { s.Pieces = []CpPiece{{300, 400, []float64{1000}}} },
		"too many rows":   func(s *UserSpec) { s.Table = long },
		"falls":           func(s *UserSpec) { s.Table[2].T = 290 },
		"twice":           func(s *UserSpec) { s.Table[2].T = 300 },
		"T NaN":           func(s *UserSpec) { s.Table[2].T = nan },
		"T infinite":      func(s *UserSpec) { s.Table[4].T = math.Inf(1) },
		"T below zero":    func(s *UserSpec) { s.Table[0].T = -10 },
		"cp NaN":          func(s *UserSpec) { s.Table[2].Cp = nan },
		"cp infinite":     func(s *UserSpec) { s.Table[2].Cp = math.Inf(1) },
		"cp in kJ":        func(s *UserSpec) { s.Table[2].Cp = 1.05 },
		"reference range": func(s *UserSpec) { s.Reference = &UserReference{T: 200, P: 1e5} },
		"reference p":     func(s *UserSpec) { s.Reference = &UserReference{T: 300} },
		"reference h":     func(s *UserSpec) { s.Reference = &UserReference{T: 300, P: 1e5, H: nan} },
		"reference s":     func(s *UserSpec) { s.Reference = &UserReference{T: 300, P: 1e5, S: math.Inf(1)} },
		"no reference":    func(s *UserSpec) { s.Table = s.Table[2:] },
		"gap": func(s *UserSpec) {
			s.Table, s.Pieces = nil, []CpPiece{{200, 400, []float64{1000}}, {410, 500, []float64{1000}}}
		},
		"jump": func(s *UserSpec) {
			s.Table, s.Pieces = nil, []CpPiece{{200, 400, []float64{1000}}, {400, 500, []float64{1100}}}
		},
		"backwards":        func(s *UserSpec) { s.Table, s.Pieces = nil, []CpPiece{{400, 200, []float64{1000}}} },
		"no coefficients":  func(s *UserSpec) { s.Table, s.Pieces = nil, []CpPiece{{200, 400, nil}} },
		"six coefficients": func(s *UserSpec) { s.Table, s.Pieces = nil, []CpPiece{{200, 400, make([]float64, 6)}} },
		// cp = 1000 − 900·(1 − ((T − 300)/100)²)… dips to 100 between its ends, below R.
		"dips": func(s *UserSpec) {
			s.Table, s.Pieces = nil, []CpPiece{{200, 400, []float64{100 + 0.09*300*300, -2 * 0.09 * 300, 0.09}}}
		},
		"coefficient NaN": func(s *UserSpec) { s.Table, s.Pieces = nil, []CpPiece{{200, 400, []float64{1000, nan}}} },
	} {
		spec := tableSpec()
		change(&spec)
		_, err := UserFluid(spec)
		if e := as[*UserError](t, what, err); !strings.HasPrefix(e.Error(), "fluid exhaust: ") {
			t.Errorf("%s: %q", what, e.Error())
		}
	}
	f := mustUser(t, tableSpec())
	_, err := f.StateT(1501)
	as[*RangeError](t, "beyond the data", err)
	_, err = f.State(P, 1e5, H, 1e9)
	as[*RangeError](t, "beyond the data", err)
}

// drawTable is a random table: up to 60 rows, cp between 1.2 R and 15 R.
func drawTable(t *rapid.T) UserSpec {
	n := rapid.IntRange(2, 60).Draw(t, "rows")
	spec := UserSpec{Name: "gas", M: rapid.Float64Range(0.002, 0.2).Draw(t, "M"), Source: "random"}
	T := rapid.Float64Range(1, 400).Draw(t, "T0")
	for range n {
		spec.Table = append(spec.Table, CpPoint{T, MolarGasConstant / spec.M * rapid.Float64Range(1.2, 15).Draw(t, "cp")})
		T += rapid.Float64Range(1, 300).Draw(t, "step")
	}
	spec.Reference = &UserReference{T: spec.Table[0].T, P: 1e5}
	return spec
}

// dh = cp·dT and T·dso = cp·dT by differences, T comes back from h, so, u and
// (s,v), and h, so and cp are continuous over the rows.
func TestUserFluidLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spec := drawTable(t)
		f := mustUser(t, spec)
		lo, hi := f.Range()
		T := rapid.Float64Range(lo, hi).Draw(t, "T")
		d := 1e-5 * T
		if j := f.atP.steps.reached(T); f.atP.covers(T-d) && f.atP.covers(T+d) && f.atP.steps.reached(T-d) == j && f.atP.steps.reached(T+d) == j {
			cp := f.CpFast(T)
			scale := max(math.Abs(f.HFast(T)), f.r*hi)
			near(t, "dh/dT", (f.HFast(T+d)-f.HFast(T-d))/(2*d), cp, 1e-7*cp+1e-10*scale/d)
			so := max(math.Abs(f.SoFast(T)), cp)
			near(t, "T·dso/dT", T*(f.SoFast(T+d)-f.SoFast(T-d))/(2*d), cp, 1e-7*cp+1e-10*so*T/d)
		}
		for i := range f.Joints() {
			h, so := f.Gap(i)
			near(t, "gap in h", h, 0, 1e-9*max(math.Abs(f.HFast(hi)), f.r*hi))
			near(t, "gap in so", so, 0, 1e-9*max(math.Abs(f.SoFast(hi)), f.r))
		}
		// What rounding in y makes of T: the whole span of y over the slope.
		within := func(span, slope float64) float64 { return 1e-11*T + 1e-14*math.Abs(span)/slope }
		cp, cv := f.CpFast(T), f.CpFast(T)-f.r
		near(t, "T(h)", f.TofHFast(f.HFast(T)), T, within(f.HFast(hi)+1e3*f.r*hi, cp))
		near(t, "T(u)", f.TofUFast(f.UFast(T)), T, within(f.UFast(hi)+1e3*f.r*hi, cv))
		near(t, "T(so)", f.TofSoFast(f.SoFast(T)), T, within(1e3*cp*T, cp))
		p := rapid.Float64Range(1e3, 1e8).Draw(t, "p")
		s := stateAt(t, f, T, p)
		if T-lo > 1e-9*lo && hi-T > 1e-9*hi { // s and v may fall outside by a digit
			back := mustState(t, f, S, get(t, s, S), V, get(t, s, V))
			near(t, "T(s,v)", back.t, T, 1e-9*T)
		}
	})
}

func stateAt(t tester, f *Fluid, temperature, p float64) State {
	t.Helper()
	return mustState(t, f, T, temperature, P, p)
}
