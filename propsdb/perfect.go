package propsdb

import (
	"fmt"
	"math"
)

// MolarGasConstant is the exact molar gas constant of the 2019 SI, J/(mol·K)
// (CODATA 2018 and 2022: k·N_A). It turns the M of a perfect gas into R. The
// database gases use FitGasConstant instead.
const MolarGasConstant = 8.31446261815324

// FitGasConstant is the molar gas constant, J/(mol·K), with which the NASA Glenn
// functions were fitted and to which they belong (stated with the data).
const FitGasConstant = 8.314510

// PerfectTmin and PerfectTmax, K, bound a perfect gas. Constant specific heats
// have no range of their own; the bounds keep every result finite.
const (
	PerfectTmin = 1.0
	PerfectTmax = 1e5
)

// Bounds on what a perfect gas may be given, far outside any gas, so that what
// follows from them stays finite.
const (
	leastHeat, mostHeat   = 1e-3, 1e9 // J/(kg·K), for cp, cv and R
	leastMolar, mostMolar = 1e-5, 1e3 // kg/mol
)

// Perfect is a gas with constant specific heats from two of K (cp/cv), Cp, Cv,
// R and M, in the units of Property. Any two will do except R with M, which say
// the same thing twice (R = MolarGasConstant/M). Its datum is Own:
// h = cp·T, u = cv·T, s = cp·ln(T/298.15 K) − R·ln(p/1 bar).
//
// The errors are *PerfectError for properties that do not fix it or values that
// contradict (k ≤ 1, cp ≤ cv), and *ValueError for one no gas has.
func Perfect(name string, given map[Property]float64) (*Fluid, error) {
	var ps []Property
	for p := T; p <= X; p++ {
		if _, ok := given[p]; ok {
			ps = append(ps, p)
		}
	}
	fail := func(format string, args ...any) (*Fluid, error) {
		return nil, &PerfectError{name, ps, fmt.Sprintf(format, args...)}
	}
	for _, p := range ps {
		v := given[p]
		least, most := leastHeat, mostHeat
		switch p {
		case Cp, Cv, R:
		case M:
			least, most = leastMolar, mostMolar
		case K:
			if !(v > 1) {
				return fail("k = %g, but cp exceeds cv by R, so that k is above 1", v)
			}
			least, most = 1, 1e6
		default:
			return fail("%s is not one of k, cp, cv, R and M", p.Symbol())
		}
		if !(v > 0) {
			return nil, &ValueError{p, v, "is not positive"}
		}
		if !(v >= least && v <= most) {
			return nil, &RangeError{p, v, least, most, "a perfect gas"}
		}
	}
	if len(given) != len(ps) || len(ps) != 2 {
		return fail("it takes exactly two of k, cp, cv, R and M")
	}

	gasConstant, hasR := given[R]
	m, hasM := given[M]
	if hasR && hasM {
		return fail("R and M say the same thing twice (R = R_u/M); give one of them with k, cp or cv")
	}
	if hasM {
		gasConstant, hasR = MolarGasConstant/m, true
	}
	k, hasK := given[K]
	cp, hasCp := given[Cp]
	cv, hasCv := given[Cv]
	switch {
	case hasCp && hasCv:
		gasConstant = cp - cv
		if !(gasConstant > 0) {
			return fail("cp = %g does not exceed cv = %g J/(kg·K)", cp, cv)
		}
	case hasCp && hasR:
		if !(cp > gasConstant) {
			return fail("cp = %g does not exceed R = %g J/(kg·K), which leaves no cv", cp, gasConstant)
		}
	case hasCv && hasR:
		cp = cv + gasConstant
	case hasCp && hasK:
		gasConstant = cp * (1 - 1/k)
	case hasCv && hasK:
		cp, gasConstant = cv*k, cv*(k-1)
	case hasR && hasK:
		cp = gasConstant * k / (k - 1)
	}
	if !(gasConstant >= leastHeat && gasConstant <= mostHeat && cp <= mostHeat) {
		return fail("they give R = %g and cp = %g J/(kg·K)", gasConstant, cp)
	}
	if !hasM {
		m = MolarGasConstant / gasConstant
	}

	f := &Fluid{name: name, kind: PerfectGas, datum: Own, m: m, r: gasConstant}
	iv := interval{lo: PerfectTmin, hi: PerfectTmax}
	iv.a[2] = cp / gasConstant
	iv.b2 = -iv.a[2] * math.Log(StandardTemperature)
	f.source = Source{Data: "constant specific heats, as given", Range: fmt.Sprintf("%g K to %g K", PerfectTmin, PerfectTmax)}
	return newFluid(f, []interval{iv}), nil
}
