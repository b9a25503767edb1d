package propsdb

import (
	"bytes"
	"maps"
	"math"
	"slices"

	"workings/units"
)

// Evidence is what a reader needs to do the look-ups of states again with paper alone: an extract
// of the fluid's table, rounded as a printed one is, and for every state the interpolation between
// its rows. All figures are in the units of their columns, and every sum is one of figures as
// printed, so that it closes on paper; what that costs against the exact value stands beside it.
type Evidence struct {
	Tables []Extract
	Looks  []Look // one for each state, in their order
	Zeros  []Zero // from this fluid's h and s° to those of usual printed tables
}

// Extract are rows of a table.
type Extract struct {
	Title   string
	Columns []Column
	Rows    [][]float64
}

// Column is a property with the unit and the rounding in which it is printed: to so many decimals,
// or, where Digits is not 0, to so many significant digits. Phase is "f" for saturated liquid, "g"
// for saturated vapour.
type Column struct {
	Property         Property
	Phase            string
	Unit             units.Unit
	Decimals, Digits int
}

// Figure is a value in the unit of its column.
type Figure struct {
	Column
	Value float64
}

// Look is how one state is read from the table. Why says what stands in the way where Steps is empty.
type Look struct {
	State State
	// To is where s and p were given: s° is found first. From is s from the s° read.
	To, From *EntropyAt
	Steps    []Step
	// Ratio is the way through relative pressures, where an earlier state has the same s.
	Ratio   *PressureRatio
	Perfect *PerfectLook // of a perfect gas, which has no table
	Why     string
}

// EntropyAt is s° = s + R·ln(p/1 bar), or s = s° − R·ln(p/1 bar).
type EntropyAt struct {
	S, So Figure
	R     Figure
	P     float64 // p/1 bar
	Exact float64 // of From: s of the state
}

// Step is one straight line between two rows, or between what two steps before it gave. Of a row
// that holds the value itself, Lo is that row and Row is set.
type Step struct {
	Held     []Figure // what both rows share: p of a block, or T
	Key      Column
	At       float64
	Lo, Hi   float64
	Row      bool
	Fraction float64 // (At − Lo)/(Hi − Lo)
	Read     []Reading
}

// Reading is a column read in a step: Value = Lo + Fraction·(Hi − Lo). Exact is the state's own
// value, NaN in a step whose point is not the state.
type Reading struct {
	Column
	Lo, Hi, Value, Exact float64
}

// PressureRatio is pr2 = pr1·p2/p1 at equal s, and T read from it in the column of pr.
type PressureRatio struct {
	From     int // index of the state with that s
	Pr1, Pr2 Figure
	P1, P2   Figure
	Step     Step
}

// PerfectLook is h = cp·T and s = cp·ln(T/298.15 K) − R·ln(p/1 bar) in figures.
type PerfectLook struct {
	Cp, R, T, H Figure
	TOver       float64 // T/298.15 K
	P           float64 // p/1 bar
	S           *Figure // nil where p is not known
}

// Zero is a difference of datum: this fluid's value less that of the table named.
type Zero struct {
	Table  string
	At     float64 // K
	H      Figure
	S      *Figure // nil where the zeros are the same
	Common bool    // the table has the same zeros; nothing to add
}

// ratio is the column of plain numbers in a worked sum.
var ratio = Column{Digits: 5}

// Text is v as it is printed in the column.
func (c Column) Text(v float64) string {
	var b [48]byte
	return string(c.AppendText(b[:0], v))
}

// AppendText appends Text to b.
func (c Column) AppendText(b []byte, v float64) []byte {
	if v != v {
		return b
	}
	start := len(b)
	if c.Digits > 0 {
		b = units.AppendNumber(b, v, c.Digits)
		if mantissa, power, scaled := bytes.Cut(b[start:], []byte("×")); c.Property == P && bytes.IndexByte(mantissa, '.') >= 0 {
			tail := string(power)
			b = append(b[:start], withoutZeros(mantissa)...)
			if scaled {
				b = append(append(b, "×"...), tail...)
			}
		}
		return b
	}
	var buf [48]byte
	figures := units.AppendDecimals(buf[:0], v, c.Decimals)
	if c.Property == T {
		figures = withoutZeros(figures)
	}
	if figures[0] == '-' {
		figures = figures[1:]
		if len(bytes.Trim(figures, "0.")) > 0 { // nothing that rounds to zero is negative
			b = append(b, "−"...)
		}
	}
	return append(b, figures...)
}

// withoutZeros is a number without the zeros at its end, and without a point there.
func withoutZeros(figures []byte) []byte {
	return bytes.TrimSuffix(bytes.TrimRight(figures, "0"), []byte("."))
}

// AppendOff appends a deviation, value less exact, in the unit of the column and to its place.
func (c Column) AppendOff(b []byte, value, exact float64) []byte {
	decimals := c.Decimals
	if c.Digits > 0 && exact != 0 {
		decimals = max(0, c.Digits-1-int(math.Floor(math.Log10(math.Abs(exact)))))
	}
	start := len(b)
	if value > exact {
		b = append(b, '+')
	}
	b = Column{Decimals: decimals, Property: X}.AppendText(b, value-exact)
	if off := b[start:]; value > exact && len(bytes.Trim(off[1:], "0.")) == 0 {
		return append(b[:start], off[1:]...) // no sign before a zero
	}
	return b
}

// round is v as a printed table has it.
func (c Column) round(v float64) float64 {
	switch {
	case v != v || math.IsInf(v, 0):
		return v
	case c.Digits > 0:
		return units.RoundDigits(v, c.Digits)
	}
	return units.RoundDecimals(v, c.Decimals)
}

// of is an SI value in the column, rounded.
func (c Column) of(si float64) Figure { return Figure{c, c.round(c.Unit.FromSI(si, 0))} }

// snapped is v without the last places that a conversion may have moved, so that a value of the
// grid is on it.
func snapped(v float64) float64 { return units.RoundDigits(v, 12) }

// exact is an SI value in the unit of the column.
func (c Column) exact(si float64) float64 { return c.Unit.FromSI(si, 0) }

// between is the straight line through two rows at a value of the key, in figures as printed.
func between(key Column, at, lo, hi float64) Step {
	st := Step{Key: key, At: at, Lo: lo, Hi: hi}
	switch {
	case at == lo || lo == hi:
		st.Row = true
	case at == hi:
		st.Lo, st.Row = hi, true
	default:
		st.Fraction = (at - lo) / (hi - lo)
	}
	return st
}

// read adds a reading to a step whose rows have lo and hi in the column.
func (st *Step) read(c Column, lo, hi, exact float64) float64 {
	r := Reading{Column: c, Lo: lo, Hi: hi, Exact: exact}
	switch {
	case st.Row && st.At == st.Hi && st.Lo == st.Hi:
		r.Value = hi
	case st.Row:
		r.Value = lo
	default:
		r.Value = c.round(lo + st.Fraction*(hi-lo))
	}
	st.Read = append(st.Read, r)
	return r.Value
}

// columnsOf are the columns of a table in a system of units. Gas tables run over absolute
// temperatures, steam tables over °C or °F.
func columnsOf(sys units.System, water bool) (c [Prandtl + 1]Column) {
	name := [...]string{T: "K", P: "kPa", V: "m³/kg", H: "kJ/kg", S: "kJ/(kg·K)"}
	if sys == units.US {
		name = [...]string{T: "°R", P: "psia", V: "ft³/lbm", H: "Btu/lbm", S: "Btu/(lbm·°R)"}
	}
	if water {
		name[T] = "°C"
		if sys == units.US {
			name[T] = "°F"
		}
	}
	unit := func(q Property) units.Unit {
		u, err := units.Parse(name[q])
		if err != nil {
			panic("propsdb: a unit of the tables does not parse: " + err.Error()) // a fault of the build; the tests read both systems
		}
		return u
	}
	c[T] = Column{Property: T, Unit: unit(T), Decimals: 2}
	c[P] = Column{Property: P, Unit: unit(P), Digits: 6}
	c[V] = Column{Property: V, Unit: unit(V), Digits: 5}
	c[H] = Column{Property: H, Unit: unit(H), Decimals: 2}
	c[S] = Column{Property: S, Unit: unit(S), Decimals: 5}
	c[So], c[R], c[Cp] = c[S], c[S], c[S]
	c[So].Property, c[R].Property, c[Cp].Property = So, R, Cp
	c[Pr] = Column{Property: Pr, Digits: 5}
	c[Vr] = Column{Property: Vr, Digits: 5}
	c[X] = Column{Property: X, Decimals: 5}
	return c
}

// Evidence is the property evidence of states of this fluid, in a system of units; those of
// another fluid are left unread. volume says for which states v is read as well.
func (f *Fluid) Evidence(states []State, sys units.System, volume func(i int) bool) Evidence {
	switch {
	case f.water != nil:
		return f.waterEvidence(states, sys, volume)
	case f.kind == PerfectGas:
		return f.perfectEvidence(states, sys)
	}
	return f.gasEvidence(states, sys)
}

// gasTable is a gas table while its rows are gathered, by T as printed.
type gasTable struct {
	f    *Fluid
	col  [Prandtl + 1]Column
	rows map[float64][]float64
	step float64 // of the finest part of the grid
}

// gridStep is the step of the usual printed gas tables about t: 10 K up to 800 K, 20 K up to
// 2000 K, 50 K above (common practice; in °R twice as much).
func (g *gasTable) gridStep(t float64) float64 {
	switch {
	case t < 80*g.step:
		return g.step
	case t < 200*g.step:
		return 2 * g.step
	}
	return 5 * g.step
}

// bracket are the two temperatures of the grid about t, none outside the fluid's range.
func (g *gasTable) bracket(t float64) (lo, hi float64) {
	step := g.gridStep(t)
	lo = math.Floor(t/step) * step
	hi = lo + step
	tmin, tmax := g.f.Range()
	return max(lo, g.col[T].of(tmin).Value), min(hi, g.col[T].of(tmax).Value)
}

// row is the line of the table at a temperature of the grid: T, h, s°, pr, vr.
func (g *gasTable) row(t float64) []float64 {
	if r, ok := g.rows[t]; ok {
		return r
	}
	tmin, tmax := g.f.Range()
	k := min(max(g.col[T].Unit.ToSI(t, 0), tmin), tmax)
	r := []float64{t}
	for _, q := range [...]Property{H, So, Pr, Vr} {
		r = append(r, g.col[q].of(g.f.GetFast(q, k, nan)).Value)
	}
	g.rows[t] = r
	return r
}

func (f *Fluid) gasEvidence(states []State, sys units.System) Evidence {
	g := &gasTable{f: f, col: columnsOf(sys, false), rows: map[float64][]float64{}, step: 10}
	if sys == units.US {
		g.step = 20
	}
	ev := Evidence{Looks: make([]Look, len(states)), Zeros: f.zeros(g.col)}
	bySame := map[float64]int{} // s → the first state that has it
	for i, s := range states {
		ev.Looks[i] = g.look(s)
		entropy := s.GetFast(S)
		if j, ok := bySame[entropy]; ok && ev.Looks[i].To != nil {
			ev.Looks[i].Ratio = g.pressureRatio(s, ev.Looks[j], j)
		} else if entropy == entropy && !ok {
			bySame[entropy] = i
		}
	}
	x := Extract{Columns: []Column{g.col[T], g.col[H], g.col[So], g.col[Pr], g.col[Vr]}}
	x.Rows = slices.SortedFunc(maps.Values(g.rows), func(a, b []float64) int { return slices.Compare(a, b) })
	ev.Tables = []Extract{x}
	return ev
}

// gasColumns are the places of a row's columns.
const (
	rowT, rowH, rowSo, rowPr = 0, 1, 2, 3
)

func (g *gasTable) look(s State) Look {
	lk := Look{State: s}
	if s.fluid != g.f {
		lk.Why = "a state of another fluid"
		return lk
	}
	col := &g.col
	p, known := s.P()
	entropy := func() EntropyAt {
		return EntropyAt{S: col[S].of(s.GetFast(S)), R: col[R].of(g.f.r), P: ratio.round(p / StandardPressure)}
	}
	key, place := T, rowT
	at := col[T].of(s.t).Value
	switch {
	case s.gives(H):
		key, place, at = H, rowH, col[H].of(s.GetFast(H)).Value
	case s.gives(S) && s.gives(P):
		e := entropy()
		e.So = Figure{col[So], col[So].round(e.S.Value + e.R.Value*math.Log(e.P))}
		lk.To = &e
		key, place, at = So, rowSo, e.So.Value
	}
	lo, hi := g.bracket(snapped(col[T].exact(s.t)))
	a, b := g.row(lo), g.row(hi)
	st := between(col[key], at, a[place], b[place])
	st.Read = make([]Reading, 0, 3)
	var so float64
	for _, c := range [...]struct {
		q     Property
		place int
	}{{T, rowT}, {H, rowH}, {So, rowSo}, {Pr, rowPr}} {
		if c.q == key {
			continue
		}
		v := st.read(col[c.q], a[c.place], b[c.place], col[c.q].exact(g.f.GetFast(c.q, s.t, nan)))
		if c.q == So {
			so = v
		}
	}
	lk.Steps = []Step{st}
	if known && lk.To == nil {
		e := entropy()
		e.So, e.Exact = Figure{col[So], so}, col[S].exact(s.GetFast(S))
		e.S.Value = col[S].round(so - e.R.Value*math.Log(e.P))
		lk.From = &e
	}
	return lk
}

// gives says whether the state was given by the property.
func (s *State) gives(q Property) bool {
	return s.given[0] == q && s.n > 0 || s.n == 2 && s.given[1] == q
}

// pressureRatio is how s goes from a state at one pressure to another with tables of pr alone.
func (g *gasTable) pressureRatio(s State, first Look, from int) *PressureRatio {
	p1, ok := first.State.P()
	if !ok || len(first.Steps) == 0 {
		return nil
	}
	w := &PressureRatio{From: from, P1: g.col[P].of(p1), P2: g.col[P].of(s.p)}
	for _, r := range first.Steps[0].Read {
		if r.Property == Pr {
			w.Pr1 = Figure{r.Column, r.Value}
		}
	}
	w.Pr2 = Figure{g.col[Pr], g.col[Pr].round(w.Pr1.Value * w.P2.Value / w.P1.Value)}
	lo, hi := g.bracket(snapped(g.col[T].exact(s.t)))
	a, b := g.row(lo), g.row(hi)
	w.Step = between(g.col[Pr], w.Pr2.Value, a[rowPr], b[rowPr])
	w.Step.read(g.col[T], lo, hi, g.col[T].exact(s.t))
	return w
}

func (f *Fluid) perfectEvidence(states []State, sys units.System) Evidence {
	col := columnsOf(sys, false)
	ev := Evidence{Looks: make([]Look, len(states))}
	over := Column{Digits: 6}
	for i, s := range states {
		lk := &ev.Looks[i]
		lk.State = s
		w := &PerfectLook{Cp: col[Cp].of(f.CpFast(s.t)), R: col[R].of(f.r), T: col[T].of(s.t)}
		w.H = Figure{col[H], col[H].round(w.Cp.Value * w.T.Value)}
		w.TOver = over.round(s.t / StandardTemperature)
		if p, ok := s.P(); ok {
			w.P = over.round(p / StandardPressure)
			w.S = &Figure{col[S], col[S].round(w.Cp.Value*math.Log(w.TOver) - w.R.Value*math.Log(w.P))}
		}
		lk.Perfect = w
	}
	return ev
}

// The row of the printed air table (ideal gas, variable specific heats) at 300 K, by which its zeros
// are known: Cengel, Boles, Table A-17, read in a public copy of it.
const (
	printedAirT  = 300.0   // K
	printedAirH  = 300.19  // kJ/kg
	printedAirSo = 1.70203 // kJ/(kg·K)
)

// zeros are the differences between the fluid's datum and those of printed tables.
func (f *Fluid) zeros(col [Prandtl + 1]Column) []Zero {
	if f.datum == Own || f.kind == UserGas {
		return nil
	}
	var zs []Zero
	if f.kind == DatabaseGas && f.name == "air" {
		s := col[So].of(f.SoFast(printedAirT) - printedAirSo*1e3)
		zs = append(zs, Zero{Table: "the printed air table of the textbooks", At: printedAirT,
			H: col[H].of(f.HFast(printedAirT) - printedAirH*1e3), S: &s})
	}
	if f.atP.covers(StandardTemperature) {
		zs = append(zs, Zero{Table: "tables that count h from 298.15 K", At: StandardTemperature, H: col[H].of(f.HFast(StandardTemperature))})
	}
	return zs
}
