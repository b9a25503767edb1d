package propsdb

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"workings/units"
)

// steamTable is a steam table while its rows are gathered: saturation, and single phase by p and T.
type steamTable struct {
	f         *Fluid
	w         *if97
	col       [Prandtl + 1]Column
	saturated map[rowKey][]float64 // p, T, vf, vg, hf, hg, sf, sg
	single    map[rowKey]phaseRow
}

// rowKey tells the rows of a table apart: by p, by T and by side.
type rowKey struct {
	p, t float64
	side int
}

// phaseRow is a row of the single-phase table; side tells saturated liquid (−1) and saturated
// vapour (1) from what p and T fix (0).
type phaseRow struct {
	rowKey  // as printed
	v, h, s float64
}

// pressureGrid are the pressures of a decade at which steam tables are printed here.
var pressureGrid = [...]float64{1, 1.2, 1.4, 1.6, 1.8, 2, 2.5, 3, 3.5, 4, 4.5, 5, 6, 7, 8, 9, 10}

// The steps of the temperatures, °C, of single-phase and of saturation tables; in °F twice as much.
const steamStep, saturationStep = 10.0, 5.0

func (f *Fluid) waterEvidence(states []State, sys units.System, volume func(i int) bool) Evidence {
	g := &steamTable{f: f, w: f.water, col: columnsOf(sys, true), saturated: map[rowKey][]float64{}, single: map[rowKey]phaseRow{}}
	ev := Evidence{Looks: make([]Look, len(states)), Zeros: []Zero{{Table: "the usual steam tables", At: waterTriple, Common: true}}}
	for i, s := range states {
		lk := &ev.Looks[i]
		lk.State = s
		switch {
		case s.fluid != f:
			lk.Why = "a state of another fluid"
		case s.region == 4:
			lk.Steps = g.wet(&s, volume(i))
		default:
			lk.Steps = g.phase(&s, volume(i))
			if lk.Steps == nil {
				lk.Why = "the rows about it do not lie on its side of the saturation line, or outside the formulation"
			}
		}
	}
	c := g.col
	phase := func(q Property, of string) Column { k := c[q]; k.Phase = of; return k }
	if len(g.saturated) > 0 {
		rows := slices.SortedFunc(maps.Values(g.saturated), func(a, b []float64) int { return slices.Compare(a, b) })
		ev.Tables = append(ev.Tables, Extract{Title: "saturation", Rows: rows,
			Columns: []Column{c[P], c[T], phase(V, "f"), phase(V, "g"), phase(H, "f"), phase(H, "g"), phase(S, "f"), phase(S, "g")}})
	}
	if len(g.single) > 0 {
		x := Extract{Title: "liquid and vapour", Columns: []Column{c[P], c[T], c[V], c[H], c[S]}}
		for _, r := range slices.SortedFunc(maps.Values(g.single), func(a, b phaseRow) int {
			return cmp.Or(cmp.Compare(a.p, b.p), cmp.Compare(a.t, b.t), cmp.Compare(a.side, b.side))
		}) {
			x.Rows = append(x.Rows, []float64{r.p, r.t, r.v, r.h, r.s})
		}
		ev.Tables = append(ev.Tables, x)
	}
	return ev
}

// pressures are the two of the grid about p, in the unit of the column.
func (g *steamTable) pressures(p float64) (lo, hi float64) {
	decade := math.Pow(10, math.Floor(math.Log10(p)*(1+1e-15)))
	for _, k := range pressureGrid {
		if at := g.col[P].round(k * decade); at > p {
			return lo, at
		} else {
			lo = at
		}
	}
	return lo, g.col[P].round(12 * decade)
}

// temperatures are the two of the grid about t, within the formulation.
func (g *steamTable) temperatures(t float64) (lo, hi float64) {
	return g.temperaturesBy(t, steamStep)
}

func (g *steamTable) temperaturesBy(t, step float64) (lo, hi float64) {
	if g.col[T].Unit.String() == "°F" {
		step *= 2
	}
	lo = math.Floor(t/step) * step
	return max(lo, g.col[T].of(waterTmin).Value), min(lo+step, g.col[T].of(waterTmax).Value)
}

// wet reads a state on the saturation line or within the dome: its rows by p or T, then the lever.
func (g *steamTable) wet(s *State, volume bool) []Step {
	col := &g.col
	byT := s.gives(T)
	key, other := P, T
	if byT {
		key, other = T, P
	}
	exact := snapped(col[key].exact(s.GetFast(key)))
	at := col[key].round(exact)
	lo, hi := g.pressures(exact)
	lo, hi = max(lo, col[P].of(g.w.edges.pTriple).Value), min(hi, col[P].of(g.w.pc).Value)
	if byT {
		lo, hi = g.temperaturesBy(exact, saturationStep)
		lo, hi = max(lo, col[T].of(waterTriple).Value), min(hi, col[T].of(g.w.tc).Value)
	}
	a, b := g.saturation(key, lo), g.saturation(key, hi)
	if a == nil || b == nil {
		return nil
	}
	place := map[Property]int{P: 0, T: 1, V: 2, H: 4, S: 6} // in a row; of v, h and s that of the liquid
	st := between(col[key], at, a[place[key]], b[place[key]])
	st.read(col[other], a[place[other]], b[place[other]], col[other].exact(s.GetFast(other)))
	wanted := []Property{H, S}
	if volume || s.gives(V) || s.gives(Rho) {
		wanted = []Property{V, H, S}
	}
	f, v := map[Property]float64{}, map[Property]float64{}
	for _, q := range wanted {
		for n, of := range [...]struct {
			phase string
			to    map[Property]float64
			x     float64
		}{{"f", f, 0}, {"g", v, 1}} {
			if s.x == 1-of.x {
				continue // saturated: the other phase is not there
			}
			c, know := col[q], nan
			c.Phase = of.phase
			if s.x == of.x {
				know = col[q].exact(s.GetFast(q))
			}
			of.to[q] = st.read(c, a[place[q]+n], b[place[q]+n], know)
		}
	}
	if s.x == 0 || s.x == 1 {
		return []Step{st}
	}
	by := X
	switch {
	case s.gives(X):
	case s.gives(H):
		by = H
	case s.gives(S):
		by = S
	default:
		by = V
	}
	lever := between(col[X], col[X].round(s.x), 0, 1)
	if by != X {
		lever = between(col[by], col[by].of(s.GetFast(by)).Value, f[by], v[by])
		lever.read(col[X], 0, 1, s.x)
	}
	for _, q := range wanted {
		if q != by {
			lever.read(col[q], f[q], v[q], col[q].exact(s.GetFast(q)))
		}
	}
	return []Step{st, lever}
}

// saturation is the row of the saturation table at a pressure or a temperature.
func (g *steamTable) saturation(key Property, at float64) []float64 {
	place := 0
	if key == T {
		place = 1
	}
	k := rowKey{p: at}
	if key == T {
		k = rowKey{t: at}
	}
	if r, ok := g.saturated[k]; ok {
		return r
	}
	si := g.col[key].Unit.ToSI(at, 0)
	if key == T {
		si = min(max(si, waterTmin), g.w.tc)
	} else {
		si = min(max(si, g.w.edges.pTriple), g.w.pc)
	}
	liquid, vapour := g.f.StateFast(key, si, X, 0), g.f.StateFast(key, si, X, 1)
	if liquid.fluid == nil || vapour.fluid == nil {
		return nil
	}
	row := []float64{g.col[P].of(liquid.p).Value, g.col[T].of(liquid.t).Value}
	row[place] = at
	for _, q := range [...]Property{V, H, S} {
		row = append(row, g.col[q].of(liquid.GetFast(q)).Value, g.col[q].of(vapour.GetFast(q)).Value)
	}
	g.saturated[k] = row
	return row
}

// waterTriple is the temperature of the triple point, K.
const waterTriple = 273.16

// phase reads a single-phase state in two steps: at either temperature of the grid along p, then
// along T, or back from h or s where that was given beside p.
func (g *steamTable) phase(s *State, volume bool) []Step {
	key := T
	if s.gives(P) && s.gives(H) {
		key = H
	} else if s.gives(P) && s.gives(S) {
		key = S
	}
	wanted := []Property{H, S}
	if volume || s.gives(V) || s.gives(Rho) {
		wanted = []Property{V, H, S}
	}
	t := snapped(g.col[T].exact(s.t))
	t0, t1 := g.temperatures(t)
	steps, rows := g.phaseBetween(s, t0, t1, key, wanted)
	if steps == nil {
		return nil
	}
	// The straight line along p can carry h or s past the rows about the true T.
	if last := &steps[len(steps)-1]; last.Fraction < 0 || last.Fraction > 1 {
		next := t1
		if last.Fraction < 0 {
			next = t0 - (t1-t0)/2
		}
		next0, next1 := g.temperatures(next)
		if other, r := g.phaseBetween(s, next0, next1, key, wanted); other != nil {
			if f := other[len(other)-1].Fraction; f >= 0 && f <= 1 {
				steps, rows = other, r
			}
		}
	}
	for _, r := range rows {
		g.single[r.rowKey] = r
	}
	return steps
}

// phaseBetween is phase between two temperatures, with the rows it reads.
func (g *steamTable) phaseBetween(s *State, t0, t1 float64, key Property, wanted []Property) (steps []Step, rows []phaseRow) {
	col := &g.col
	t, p := snapped(col[T].exact(s.t)), snapped(col[P].exact(s.p))
	ends := [2]map[Property]float64{}
	for i, tj := range [2]float64{t0, t1} {
		end, along, read := g.along(s, tj, p, wanted)
		if end == nil {
			return nil, nil
		}
		ends[i] = end
		rows = append(rows, read...)
		if along != nil {
			steps = append(steps, *along)
		}
		if t == t0 && i == 0 && key == T {
			ends[1] = end // a row of the grid: no second temperature
			break
		}
	}
	last := between(col[key], col[key].of(s.GetFast(key)).Value, ends[0][key], ends[1][key])
	last.Held = []Figure{{col[P], col[P].round(p)}}
	for _, q := range append([]Property{T}, wanted...) {
		if q != key {
			last.read(col[q], ends[0][q], ends[1][q], col[q].exact(s.GetFast(q)))
		}
	}
	return append(steps, last), rows
}

// along are the properties at a temperature of the grid and the pressure of the state, from the
// rows about it that lie on the state's side of the saturation line; the saturated row itself
// where the grid's temperature lies beyond. The step is nil where one row gives them; no properties
// where there are no such rows.
func (g *steamTable) along(s *State, t, p float64, wanted []Property) (map[Property]float64, *Step, []phaseRow) {
	col, w := &g.col, g.w
	kelvin := min(max(col[T].Unit.ToSI(t, 0), waterTmin), waterTmax)
	vapour, liquid := s.Phase() == "vapour", s.Phase() == "liquid"
	of := func(r *phaseRow) map[Property]float64 {
		return map[Property]float64{T: r.t, V: r.v, H: r.h, S: r.s}
	}
	if s.p >= w.edges.pTriple && s.p < w.pc {
		if tsat := w.tsat(s.p); vapour && kelvin <= tsat || liquid && kelvin >= tsat {
			side := -1
			if vapour {
				side = 1
			}
			r := g.row(P, s.p, side)
			if r == nil {
				return nil, nil, nil
			}
			return of(r), nil, []phaseRow{*r}
		}
	}
	lo, hi := g.pressures(p)
	sideLo, sideHi := 0, 0
	if kelvin < w.tc {
		switch psat := col[P].exact(w.psat(kelvin)); {
		case vapour && hi >= psat:
			hi, sideHi = psat, 1
		case !vapour && lo <= psat:
			lo, sideLo = psat, -1
		}
	}
	if top := g.topPressure(kelvin); hi > top {
		hi = top
	}
	row := func(p float64, side int) *phaseRow {
		if side != 0 {
			return g.row(T, kelvin, side)
		}
		return g.at(p, t, kelvin)
	}
	if p == lo && sideLo == 0 {
		r := row(lo, 0)
		if r == nil {
			return nil, nil, nil
		}
		return of(r), nil, []phaseRow{*r}
	}
	a, b := row(lo, sideLo), row(hi, sideHi)
	if a == nil || b == nil {
		return nil, nil, nil
	}
	st := between(col[P], col[P].round(p), a.p, b.p)
	st.Held = []Figure{{col[T], t}}
	out := map[Property]float64{T: t}
	va, vb := of(a), of(b)
	for _, q := range wanted {
		out[q] = st.read(col[q], va[q], vb[q], nan)
	}
	return out, &st, []phaseRow{*a, *b}
}

// topPressure is the highest pressure of the formulation at t K, in the unit of the column.
func (g *steamTable) topPressure(t float64) float64 {
	if t > waterT25 {
		return g.col[P].exact(waterPmax5)
	}
	return g.col[P].exact(waterPmax)
}

// at is the row of the single-phase table at a pressure and a temperature of the grid.
func (g *steamTable) at(p, t, kelvin float64) *phaseRow {
	return g.keep(g.f.StateFast(P, g.col[P].Unit.ToSI(p, 0), T, kelvin), p, t, 0)
}

// row is a saturated row at the p or T given in SI, saturated liquid (−1) or vapour (1).
func (g *steamTable) row(key Property, si float64, side int) *phaseRow {
	x := 0.0
	if side > 0 {
		x = 1
	}
	s := g.f.StateFast(key, si, X, x)
	return g.keep(s, g.col[P].of(s.p).Value, g.col[T].of(s.t).Value, side)
}

// keep is the row of a state; nil where there is no such state.
func (g *steamTable) keep(s State, p, t float64, side int) *phaseRow {
	if s.fluid == nil {
		return nil
	}
	c := &g.col
	return &phaseRow{rowKey{p, t, side}, c[V].of(s.GetFast(V)).Value, c[H].of(s.GetFast(H)).Value, c[S].of(s.GetFast(S)).Value}
}
