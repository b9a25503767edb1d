package propsdb

import (
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"sync"
)

//go:embed data/gases.json
var gasFile []byte

// gasRecord is one gas as the file states it; units in the file's own "units".
type gasRecord struct {
	Name      string
	Aliases   []string
	NASAName  string `json:"nasa_name"`
	Formula   string
	Elements  map[string]float64
	M         float64
	Hf        float64
	H298H0    *float64 `json:"H298_H0"`
	Source    string
	Tmin2021  float64 `json:"Tmin_2021"`
	Intervals [][11]float64
}

type gasData struct {
	Data, Version     string
	Accuracy, Licence string
	R                 float64 // J/(mol·K), the gas constant of the fits
	LiquidWater       struct {
		Hf float64 // J/mol
	} `json:"liquid_water"`
	AirParts map[string]float64 `json:"air_parts"`
	Gases    []gasRecord
}

// gas is one gas ready for use: per mole, from the formation datum.
type gas struct {
	record    *gasRecord
	m         float64 // kg/mol
	intervals []interval
	toZero    float64 // J/mol to add to H so that it counts from 0 K
	hasZero   bool
}

type database struct {
	gasData
	gases  []gas
	byKey  map[string]int            // key(name or alias) → gases
	air    []Part                    // air by mole, in the order of the database
	fluids []map[Datum]func() *Fluid // built on first use, then shared
}

// load reads the embedded file once; what it returns is never written again.
var load = sync.OnceValue(readDatabase)

func readDatabase() *database {
	db := &database{byKey: map[string]int{}}
	if err := json.Unmarshal(gasFile, &db.gasData); err != nil {
		panic("propsdb: embedded data/gases.json: " + err.Error()) // a fault of the build; the tests read every gas
	}
	for i := range db.Gases {
		db.gases = append(db.gases, newGas(&db.Gases[i], db.R))
		for _, name := range db.Gases[i].names() {
			if j, taken := db.byKey[key(name)]; taken && j != i {
				panic(fmt.Sprintf("propsdb: %q names two gases", name))
			}
			db.byKey[key(name)] = i
		}
	}
	for _, rec := range db.Gases {
		if x, ok := db.AirParts[rec.Name]; ok {
			db.air = append(db.air, Part{Gas: rec.Name, Fraction: x})
		}
	}
	for i := range db.gases {
		g := &db.gases[i]
		parts := []component{{gas: g, mole: 1}}
		on := map[Datum]func() *Fluid{}
		for _, datum := range []Datum{ZeroKelvin, Formation} {
			if g.allows(datum) == nil {
				on[datum] = sync.OnceValue(func() *Fluid {
					return db.newMixed(g.record.Name, DatabaseGas, datum, parts)
				})
			}
		}
		db.fluids = append(db.fluids, on)
	}
	return db
}

func newGas(rec *gasRecord, r float64) gas {
	g := gas{record: rec, m: rec.M / 1000}
	for _, row := range rec.Intervals {
		iv := interval{lo: row[0], hi: row[1], b1: row[9], b2: row[10]}
		copy(iv.a[:], row[2:9])
		g.intervals = append(g.intervals, iv)
	}
	if rec.H298H0 != nil {
		c := newCurve(g.intervals, r)
		h298 := enthalpy.value(c.at(StandardTemperature), StandardTemperature)
		g.toZero, g.hasZero = *rec.H298H0-h298, true
	}
	return g
}

func (rec *gasRecord) names() []string {
	return append([]string{rec.Name}, rec.Aliases...)
}

// key makes the spellings "carbon dioxide", "carbon-dioxide" and
// "carbon_dioxide" one; only the last can be written in the language.
func key(name string) string {
	return strings.ReplaceAll(strings.ReplaceAll(name, " ", "_"), "-", "_")
}

// dataHash is the SHA-256 of the data file, in hexadecimal.
var dataHash = sync.OnceValue(func() string {
	sum := sha256.Sum256(gasFile)
	return hex.EncodeToString(sum[:])
})

// DataSource describes the embedded database as a whole: title, version and
// hash. Range and Note differ by gas; see Fluid.Source.
func DataSource() Source { return load().source() }

func (db *database) source() Source {
	return Source{Data: db.Data, Version: db.Version, Hash: dataHash(), Accuracy: db.Accuracy, Licence: db.Licence}
}

func (db *database) find(name string) (int, error) {
	if i, ok := db.byKey[key(name)]; ok {
		return i, nil
	}
	near := db.near(name)
	if w := nearWater(name); w != "" {
		near = append([]string{w}, near...)[:min(len(near)+1, mostNear)]
	}
	return 0, &UnknownFluidError{Name: name, Near: near}
}

// Lookup is the fluid of that name or alias on the datum it counts from unless
// another is asked for: a gas of the database on 0 K, water (or steam) on its
// triple point. Case counts. The errors are *UnknownFluidError and, for a gas
// whose enthalpy at 0 K is not published (Jet-A), *DatumError: use LookupOn.
func Lookup(name string) (*Fluid, error) {
	if isWater(name) {
		return waterFluid(), nil
	}
	return LookupOn(name, ZeroKelvin)
}

// LookupOn is Lookup with the datum named: ZeroKelvin or Formation for a gas. On
// TriplePoint there is water, and on the others no fluid of that name.
func LookupOn(name string, datum Datum) (*Fluid, error) {
	if datum == TriplePoint && isWater(name) {
		return waterFluid(), nil
	}
	db := load()
	i, err := db.find(name)
	if err != nil {
		return nil, err
	}
	if err := db.gases[i].allows(datum); err != nil {
		return nil, err
	}
	return db.fluids[i][datum](), nil
}

func (g *gas) allows(datum Datum) error {
	switch {
	case datum == Formation || datum == ZeroKelvin && g.hasZero:
		return nil
	case datum == ZeroKelvin:
		return &DatumError{g.record.Name, datum, "the data give no H(298.15 K) − H(0 K) for it; its heat of formation is known, use the formation datum"}
	}
	return &DatumError{g.record.Name, datum, "a gas of the database counts from 0 K or from formation"}
}

// Element is a chemical element and its atoms per molecule.
type Element struct {
	Symbol string
	Atoms  float64
}

// GasInfo describes a gas of the database.
type GasInfo struct {
	Name       string
	Aliases    []string
	Formula    string
	Elements   []Element // by symbol
	M          float64   // molar mass, kg/mol
	Tmin, Tmax float64   // K
	Hf         float64   // heat of formation at 298.15 K and 1 bar, J/mol
	H298H0     float64   // H(298.15 K) − H(0 K), J/mol, where known
	HasZero    bool      // whether H298H0 is known, and with it the 0 K datum
	Source     string    // what the data rest on, in the data's own reference code
}

func (g *gas) info() GasInfo {
	in := GasInfo{
		Name: g.record.Name, Aliases: slices.Clone(g.record.Aliases), Formula: g.record.Formula,
		M: g.m, Tmin: g.intervals[0].lo, Tmax: g.intervals[len(g.intervals)-1].hi,
		Hf: g.record.Hf, HasZero: g.hasZero, Source: g.record.Source,
	}
	if g.hasZero {
		in.H298H0 = *g.record.H298H0
	}
	for symbol, atoms := range g.record.Elements {
		in.Elements = append(in.Elements, Element{symbol, atoms})
	}
	slices.SortFunc(in.Elements, func(a, b Element) int { return strings.Compare(a.Symbol, b.Symbol) })
	return in
}

// Gases lists the database in its own order.
func Gases() []GasInfo {
	db := load()
	all := make([]GasInfo, len(db.gases))
	for i := range db.gases {
		all[i] = db.gases[i].info()
	}
	return all
}

// Search lists the gases with q in name, alias or formula, whatever the case,
// those it names exactly first. If there are none it falls back on near misses.
// An empty q lists all.
func Search(q string) []GasInfo {
	db := load()
	want := strings.ToLower(key(strings.TrimSpace(q)))
	var exact, part []GasInfo
	for i := range db.gases {
		g := &db.gases[i]
		found, same := false, false
		for _, name := range append(g.record.names(), g.record.Formula) {
			k := strings.ToLower(key(name))
			found = found || strings.Contains(k, want)
			same = same || k == want
		}
		switch {
		case same:
			exact = append(exact, g.info())
		case found:
			part = append(part, g.info())
		}
	}
	hits := append(exact, part...)
	if len(hits) == 0 {
		for _, name := range db.near(q) {
			hits = append(hits, db.gases[db.byKey[key(name)]].info())
		}
	}
	return hits
}

const mostNear = 4

// near lists at most four spellings close to name, one a gas: those that begin
// with it or differ in few letters, nearest first.
func (db *database) near(name string) []string {
	const longest = 40
	want := []rune(strings.ToLower(key(name)))
	if len(want) == 0 || len(want) > longest {
		return nil
	}
	type hit struct {
		name     string
		distance int
	}
	var hits []hit
	for i := range db.gases {
		best := hit{distance: longest}
		for _, spelling := range db.gases[i].record.names() {
			have := []rune(strings.ToLower(key(spelling)))
			d := edits(want, have)
			if len(want) >= 4 && strings.HasPrefix(string(have), string(want)) {
				d = min(d, 1)
			}
			if d < best.distance {
				best = hit{spelling, d}
			}
		}
		if best.distance <= max(1, len(want)/4) && best.distance < len(want) {
			hits = append(hits, best)
		}
	}
	slices.SortStableFunc(hits, func(a, b hit) int { return a.distance - b.distance })
	var names []string
	for _, h := range hits {
		if len(names) == mostNear || h.distance > hits[0].distance+1 {
			break
		}
		names = append(names, h.name)
	}
	return names
}

// edits counts insertions, deletions, replacements and swaps of neighbours that
// turn a into b.
func edits(a, b []rune) int {
	rows := make([][]int, len(a)+1)
	for i := range rows {
		rows[i] = make([]int, len(b)+1)
		rows[i][0] = i
	}
	for j := range rows[0] {
		rows[0][j] = j
	}
	for i := 1; i <= len(a); i++ {
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			d := min(rows[i-1][j]+1, rows[i][j-1]+1, rows[i-1][j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				d = min(d, rows[i-2][j-2]+1)
			}
			rows[i][j] = d
		}
	}
	return rows[len(a)][len(b)]
}
