package propsdb

import (
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"workings/units"
)

func always(int) bool { return true }

// typedFigure reads a printed figure back.
func typedFigure(t *testing.T, s string) float64 {
	t.Helper()
	s = strings.ReplaceAll(s, "−", "-")
	if mantissa, power, found := strings.Cut(s, "×10"); found {
		s = mantissa + "e" + strings.NewReplacer("⁰", "0", "¹", "1", "²", "2", "³", "3", "⁴", "4", "⁵", "5",
			"⁶", "6", "⁷", "7", "⁸", "8", "⁹", "9", "⁻", "-").Replace(power)
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// inTable says whether an extract has a row with these two figures in one line.
func inTable(ev *Evidence, a Column, va float64, b Column, vb float64) bool {
	for _, x := range ev.Tables {
		ia, ib := -1, -1
		for i, c := range x.Columns {
			if c.Property == a.Property && c.Phase == a.Phase {
				ia = i
			}
			if c.Property == b.Property && c.Phase == b.Phase {
				ib = i
			}
		}
		if ia < 0 || ib < 0 {
			continue
		}
		for _, r := range x.Rows {
			if r[ia] == va && r[ib] == vb {
				return true
			}
		}
	}
	return false
}

// redo works a step from its printed figures alone and holds what it gives against the step's own
// and against the state's exact value, which it may miss by limit of the column.
func redo(t *testing.T, ev *Evidence, st *Step, limit func(c Column, exact float64) float64) (read int) {
	t.Helper()
	figure := func(c Column, v float64) float64 { return typedFigure(t, c.Text(v)) }
	at, lo, hi := figure(st.Key, st.At), figure(st.Key, st.Lo), figure(st.Key, st.Hi)
	for _, r := range st.Read {
		value := figure(r.Column, r.Lo)
		if st.Row {
			if math.Abs(at-lo) > 0.011 {
				t.Errorf("row %s = %g read for %g", st.Key.Property, lo, at)
			}
			value = figure(r.Column, r.Value)
		} else {
			value += (at - lo) / (hi - lo) * (figure(r.Column, r.Hi) - value)
		}
		place := math.Pow(10, -float64(r.Decimals))
		if r.Digits > 0 {
			place = math.Pow(10, math.Floor(math.Log10(math.Abs(r.Value)))-float64(r.Digits-1))
		}
		if math.Abs(value-figure(r.Column, r.Value)) > place*0.51 {
			t.Errorf("%s from %s = %g: on paper %g, printed %s", r.Property, st.Key.Property, at, value, r.Text(r.Value))
		}
		if r.Exact == r.Exact {
			read++
			if math.Abs(value-r.Exact) > limit(r.Column, r.Exact) {
				t.Errorf("%s at %s = %g between %g and %g: %g, exact %g", r.Property, st.Key.Property, at, lo, hi, value, r.Exact)
			}
		}
	}
	return read
}

// A straight line over 20 K misses h by at most 20²/8·dcp/dT and s° by 20²/8·cp/T²; as the extract's
// own figures are worked again from their print, an error in a row, a part of the way or a reading
// shows.
func TestEvidenceGas(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 3))
	read := 0
	for _, name := range []string{"air", "N2", "CO2", "CH4", "H2O", "Ar"} {
		f := mustLookup0(t, name)
		for _, sys := range []units.System{units.SI, units.US} {
			var states []State
			for range 20 {
				temperature, p := 210+1700*rng.Float64(), 1e5*math.Exp(4*rng.Float64())
				s := f.StateFast(T, temperature, P, p)
				states = append(states, s,
					f.StateFast(P, 3*p, S, s.GetFast(S)), f.StateFast(P, p, H, s.GetFast(H)), f.StateFast(T, s.t, S, s.GetFast(S)))
			}
			alone, err := f.StateT(300)
			if err != nil {
				t.Fatal(err)
			}
			states = append(states, alone)
			for i := range states {
				if states[i].fluid == nil {
					states[i] = alone // compressed beyond the data
				}
			}
			ev := f.Evidence(states, sys, always)
			scale := 1.0 // of a kJ/kg in the unit of h
			if sys == units.US {
				scale = 0.43
			}
			limit := func(c Column, exact float64) float64 {
				switch c.Property {
				case T:
					if exact > 1500 {
						return 1.2 // of pr
					}
					return 0.35 / math.Min(scale+0.2, 1) // of s° over 20 K about 300 K, in K or °R
				case H:
					return 0.6 * scale * f.CpFast(1000) / 1000
				case S, So:
					return 0.0015 * scale * f.CpFast(1000) / 1000
				}
				return 0.02 * exact
			}
			for i := range ev.Looks {
				lk := &ev.Looks[i]
				if lk.Why != "" || len(lk.Steps) != 1 {
					t.Fatalf("%s %d: %q, %d steps", name, i, lk.Why, len(lk.Steps))
				}
				read += redo(t, &ev, &lk.Steps[0], limit)
				st := &lk.Steps[0]
				for _, r := range st.Read {
					if !st.Row && (!inTable(&ev, st.Key, st.Lo, r.Column, r.Lo) || !inTable(&ev, st.Key, st.Hi, r.Column, r.Hi)) {
						t.Errorf("%s: the rows read are not in the extract", name)
					}
				}
				if lk.Ratio != nil {
					read += redo(t, &ev, &lk.Ratio.Step, limit)
				}
				if w := lk.From; w != nil {
					on := w.So.Value - w.R.Value*math.Log(w.P)
					if math.Abs(on-w.S.Value) > 0.6e-5 || math.Abs(on-w.Exact) > limit(w.S.Column, 0) {
						t.Errorf("%s: s = %g, exact %g", name, on, w.Exact)
					}
				}
			}
		}
	}
	counted(t, "readings of gases", read, 3156)
}

// Source: the printed air table of textbooks (Cengel, Boles, Table A-17; example TAB-A17). With the
// offsets that the evidence states, rows of the extract are its rows to 0.15 %.
func TestEvidenceAgainstPrintedAir(t *testing.T) {
	e := readExample(t, "TAB-A17")
	f := mustLookup0(t, "air")
	var states []State
	for _, name := range []string{"300", "400", "500", "600", "800", "1000", "1200", "1400", "2000"} {
		s, err := f.StateT(number(t, name) + 3)
		if err != nil {
			t.Fatal(err)
		}
		states = append(states, s)
	}
	ev := f.Evidence(states, units.SI, always)
	zero := ev.Zeros[0]
	if zero.S == nil || !strings.Contains(zero.Table, "air table") {
		t.Fatalf("zeros %+v", ev.Zeros)
	}
	ran := 0
	for _, r := range ev.Tables[0].Rows {
		at := strconv.FormatFloat(r[0], 'f', -1, 64)
		for stem, got := range map[string]float64{"h": r[1] - zero.H.Value, "s0": r[2] - zero.S.Value, "pr": r[3], "vr": r[4]} {
			want, ok := e.Answers[stem+"_"+at]
			if !ok || want.Suspect != "" {
				continue
			}
			ran++
			if !(math.Abs(got-want.Value) <= max(0.0015*want.Value, want.TolAbs)) {
				t.Errorf("%s at %s K: %g, printed %g", stem, at, got, want.Value)
			}
		}
	}
	counted(t, "figures of the printed air table", ran, 44)
}

// Source: IAPWS R7-97(2012) Tables 5 and 15: h and s of liquid and steam at given p and T, met by a
// reading from the extract to what two straight lines cost.
func TestEvidenceWaterPublished(t *testing.T) {
	f, err := Lookup("water")
	if err != nil {
		t.Fatal(err)
	}
	ran := 0
	for _, row := range publishedRows(t) {
		var q Property
		switch row.quantity {
		case "h_kJ_per_kg":
			q = H
		case "s_kJ_per_kgK":
			q = S
		default:
			continue
		}
		if row.table != "R7-97 Table 5" && row.table != "R7-97 Table 15" {
			continue
		}
		s, err := f.State(P, row.in["p"], T, row.in["T"])
		if err != nil {
			t.Fatal(err)
		}
		ev := f.Evidence([]State{s}, units.SI, always)
		steps := ev.Looks[0].Steps
		if len(steps) == 0 {
			t.Fatal(ev.Looks[0].Why)
		}
		for _, r := range steps[len(steps)-1].Read {
			if r.Property != q {
				continue
			}
			ran++
			limit := map[Property]float64{H: 1, S: 0.003}[q]
			if row.in["p"] == 30e6 && row.in["T"] == 700 {
				limit = map[Property]float64{H: 4, S: 0.006}[q] // where the properties bend
			}
			if got := r.Value; math.Abs(got-row.want/1000) > limit {
				t.Errorf("%s at %v: %g, published %g", q, row.in, got, row.want/1000)
			}
		}
	}
	counted(t, "published h and s", ran, 12)
}

func TestEvidenceWater(t *testing.T) {
	f, err := Lookup("water")
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(4, 4))
	read, unread := 0, 0
	for _, sys := range []units.System{units.SI, units.US} {
		for _, kind := range []int{1, 2, 4, 5, 7} {
			var states []State
			for range 40 {
				s := drawWater(rng.Float64, kind)
				states = append(states, s)
				for _, pair := range [...][2]Property{{P, H}, {P, S}, {P, V}, {H, S}, {P, X}, {T, X}} {
					if again := f.StateFast(pair[0], s.GetFast(pair[0]), pair[1], s.GetFast(pair[1])); again.fluid != nil {
						states = append(states, again)
					}
				}
			}
			ev := f.Evidence(states, sys, always)
			for i := range ev.Looks {
				lk := &ev.Looks[i]
				if len(lk.Steps) == 0 {
					unread++
					continue
				}
				s := lk.State
				close := s.p > 15e6 && s.t > 550 && s.t < 900 // the properties bend
				limit := func(c Column, exact float64) float64 {
					switch {
					case close, c.Property == V && (exact < 0.003 || s.region == 4 && s.x < 0.01): // a little vapour counts for much
						return math.Inf(1)
					case c.Property == T:
						return 1 + 0.001*exact
					case c.Property == H:
						return 4 + 0.005*math.Abs(exact)
					case c.Property == S:
						return 0.015 + 0.006*math.Abs(exact)
					case c.Property == X:
						return 0.01
					}
					return 0.03 * math.Abs(exact) // p and v of vapour
				}
				for n := range lk.Steps {
					read += redo(t, &ev, &lk.Steps[n], limit)
				}
			}
		}
	}
	counted(t, "readings of water", read, 8052)
	if unread > read/100 {
		t.Errorf("%d states could not be read from rows", unread)
	}
}
