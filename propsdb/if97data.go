package propsdb

import (
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"encoding/json"
	"sync"
)

//go:embed data/if97.json
var waterFile []byte

// seriesRecord is a sum Σ n x^I y^J as the file states it.
type seriesRecord struct {
	I, J, N []float64
}

// gibbsRecord is a region whose equation is g(p,T).
type gibbsRecord struct {
	seriesRecord
	PStar float64   `json:"pstar_MPa"`
	TStar float64   `json:"Tstar_K"`
	Jo    []float64 // of the ideal-gas part, where there is one
	No    []float64
}

// backwardRecord is a backward equation.
type backwardRecord struct {
	seriesRecord
	XStar, XOffset        float64
	YStar, YSign, YOffset float64
	ZStar, Power          float64
	X, Y, Result          string
	XUnit, YUnit          string
}

type numbersRecord struct{ N []float64 }

// waterData is data/if97.json.
type waterData struct {
	Data, Title, Source, Accuracy, Licence string
	Constants                              struct{ R, M, Tc, Pc, Rhoc float64 } // J/(kg·K), kg/mol, K, Pa, kg/m³
	Region1, Region2, Region5              gibbsRecord
	Metastable                             gibbsRecord `json:"region2_metastable_vapour"`
	Region3                                struct {
		seriesRecord
		N1      float64 `json:"n1"`
		RhoStar float64 `json:"rhostar_kg_per_m3"`
		TStar   float64 `json:"Tstar_K"`
	}
	Region4, Boundary23, Boundary2b2c numbersRecord
	Boundary2ab                       numbersRecord `json:"boundary2ab_s"`
	Boundary3ab                       numbersRecord
	Backward                          map[string]backwardRecord
	Viscosity                         viscosityRecord
	Conductivity                      conductivityRecord
}

// if97 is the formulation ready for use; immutable.
type if97 struct {
	r, m         float64 // J/(kg·K), kg/mol
	tc, pc, rhoc float64 // critical point: K, Pa, kg/m³

	liquid, steam, hot gibbs // regions 1, 2 and 5
	dense              helmholtz

	sat         [10]float64 // region 4
	b23, b2bc   [5]float64
	b2ab, b3ab  [4]float64
	tph, tps    byRegion // T(p,h), T(p,s)
	vph, vps    [2]backward
	phs         byRegion // p(h,s)
	psatH, sat2 backward // psat(h) of region 3; Tsat(h,s)
	psatS       backward

	transport transport

	edges *edges // what follows from the equations and is needed often
}

// byRegion are the backward equations of one pair by the subregion.
type byRegion struct{ r1, r2a, r2b, r2c, r3a, r3b backward }

// loadWater reads the embedded file once; what it returns is never written again.
var loadWater = sync.OnceValue(func() *if97 {
	d, err := readWater(waterFile)
	if err != nil {
		panic("propsdb: embedded data/if97.json: " + err.Error()) // a fault of the build; the tests use every equation
	}
	return newWater(d)
})

func readWater(file []byte) (*waterData, error) {
	d := new(waterData)
	return d, json.Unmarshal(file, d)
}

// waterHash is the SHA-256 of the data file, in hexadecimal.
var waterHash = sync.OnceValue(func() string {
	sum := sha256.Sum256(waterFile)
	return hex.EncodeToString(sum[:])
})

func newWater(d *waterData) *if97 {
	w := newEquations(d)
	w.edges = newEdges(w)
	return w
}

// newEquations is the formulation without what follows from it.
func newEquations(d *waterData) *if97 {
	c := d.Constants
	w := &if97{r: c.R, m: c.M, tc: c.Tc, pc: c.Pc, rhoc: c.Rhoc}
	// Regions 1, 2 and 5 differ in how π and τ are shifted: Eqs. 7, 17, 32.
	w.liquid = newGibbs(&d.Region1, c.R, shift{7.1, -1}, -1.222)
	w.steam = newGibbs(&d.Region2, c.R, shift{0, 1}, -0.5)
	w.hot = newGibbs(&d.Region5, c.R, shift{0, 1}, 0)
	r3 := &d.Region3
	w.dense = helmholtz{r: c.R, rhoStar: r3.RhoStar, tStar: r3.TStar, n1: r3.N1, rest: newSeries(&r3.seriesRecord)}

	copy(w.sat[:], d.Region4.N)
	copy(w.b23[:], d.Boundary23.N)
	copy(w.b2bc[:], d.Boundary2b2c.N)
	copy(w.b2ab[:], d.Boundary2ab.N)
	copy(w.b3ab[:], d.Boundary3ab.N)

	eq := func(name string) backward { rec := d.Backward[name]; return newBackward(&rec) }
	all := func(pair string) byRegion {
		return byRegion{eq(pair + "_1"), eq(pair + "_2a"), eq(pair + "_2b"), eq(pair + "_2c"), eq(pair + "_3a"), eq(pair + "_3b")}
	}
	w.tph, w.tps, w.phs = all("T_ph"), all("T_ps"), all("p_hs")
	w.vph = [2]backward{eq("v_ph_3a"), eq("v_ph_3b")}
	w.vps = [2]backward{eq("v_ps_3a"), eq("v_ps_3b")}
	w.psatH, w.psatS, w.sat2 = eq("psat_h_3"), eq("psat_s_3"), eq("Tsat_hs_4")
	w.transport = newTransport(&d.Viscosity, &d.Conductivity)
	return w
}

// waterEquations are the basic equations as the data file has them.
var waterEquations = sync.OnceValue(func() map[string]json.RawMessage {
	var all map[string]json.RawMessage
	if err := json.Unmarshal(waterFile, &all); err != nil {
		panic("propsdb: embedded data/if97.json: " + err.Error())
	}
	out := map[string]json.RawMessage{}
	for _, name := range []string{"constants", "region1", "region2", "region3", "region4", "region5", "boundary23"} {
		out[name] = all[name]
	}
	return out
})

// Equations are the equations from which all properties of water but viscosity and conductivity follow
// (IAPWS R7-97(2012): regions 1, 2, 3 and 5, saturation, the boundary between 2 and 3), as JSON records:
// the table of the release, the form in words, the coefficients. nil for another fluid. The records are
// shared and not to be changed.
func (f *Fluid) Equations() map[string]json.RawMessage {
	if f.kind != Water {
		return nil
	}
	return waterEquations()
}
