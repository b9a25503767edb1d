package propsdb

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// UserSpec is an ideal gas by the user's own data: cp(T) as polynomials or as a
// table, and the molar mass. Units are those of Property.
type UserSpec struct {
	Name   string
	M      float64 // kg/mol; R follows by MolarGasConstant
	Source string  // where the figures are from; required
	File   string  // the file they were typed in
	Hash   string  // SHA-256 of that file, hexadecimal

	// One of the two. Pieces adjoin, in ascending order. Between the points of
	// the table cp is a straight line.
	Pieces []CpPiece
	Table  []CpPoint

	Reference *UserReference // nil: h = 0 and s = 0 at 298.15 K and 1 bar
}

// CpPiece is cp = Σ Coefficients[i]·T^i, J/(kg·K), from Tmin to Tmax, K; up to T⁴.
type CpPiece struct {
	Tmin, Tmax   float64
	Coefficients []float64
}

// CpPoint is a line of a table: T, K, and cp, J/(kg·K).
type CpPoint struct{ T, Cp float64 }

// UserReference is the state at which the user's data count h and s as given.
type UserReference struct {
	T float64 // K, within the range of the data
	P float64 // Pa
	H float64 // J/kg
	S float64 // J/(kg·K)
}

// Bounds on the user's data: on T those of any fluid of the database; on the
// number of rows, to bound the work; on the step between them and the jump of cp where two pieces meet,
// beyond which a digit is more likely wrong than the fit (no source); on h and s
// of the reference, so that their last digits still tell 1 mK.
const (
	UserTmin, UserTmax = 1.0, 20000.0
	MaxUserRows        = 2000
	leastStep          = 1e-6 // between rows, as a part of T: rounding spoils closer ones
	cpJump             = 0.05
	mostUserCp         = 1e6 // J/(kg·K); hydrogen, the highest, has 14 kJ/(kg·K)
	mostReferenceH     = 1e9
	mostReferenceS     = 1e6
)

// UserFluid builds the fluid of the user's data. It is an ideal gas with exactly
// the cp stated: h and so are its integrals, continuous where pieces meet, with
// the constants that the reference gives. Its range is that of the data, its
// datum Own. The error is a *UserError.
func UserFluid(spec UserSpec) (*Fluid, error) {
	pieces, form, err := spec.pieces()
	if err != nil {
		return nil, err
	}
	r := MolarGasConstant / spec.M
	if err := spec.checkPieces(pieces, r); err != nil {
		return nil, err
	}
	lo, hi := pieces[0].Tmin, pieces[len(pieces)-1].Tmax
	ref, err := spec.reference(lo, hi)
	if err != nil {
		return nil, err
	}

	ivs := make([]interval, len(pieces))
	for i, p := range pieces {
		ivs[i] = interval{lo: p.Tmin, hi: p.Tmax}
		for j, c := range p.Coefficients {
			ivs[i].a[j+2] = c / r
		}
	}
	// Each piece's constants make h and so go on from the one before; then all
	// are shifted to the reference.
	for i := range ivs {
		if i > 0 {
			before, here, t := newSegment(&ivs[i-1], 1), newSegment(&ivs[i], 1), ivs[i].lo
			ivs[i].b1 = enthalpy.value(&before, t) - enthalpy.value(&here, t)
			ivs[i].b2 = entropy.value(&before, t) - entropy.value(&here, t)
		}
	}
	c := newCurve(ivs, 1)
	at := c.at(ref.T)
	b1 := ref.H/r - enthalpy.value(at, ref.T)
	b2 := ref.S/r + ln(ref.P/StandardPressure) - entropy.value(at, ref.T)
	for i := range ivs {
		ivs[i].b1 += b1
		ivs[i].b2 += b2
	}

	f := &Fluid{name: spec.Name, kind: UserGas, datum: Own, m: spec.M, r: r}
	f.brief() // a table of many rows makes as many segments, and cp may be steep
	f.source = Source{
		Data:  spec.Source,
		Hash:  spec.Hash,
		Range: fmt.Sprintf("%g K to %g K", lo, hi),
		Note:  fmt.Sprintf("%s; h = %g J/kg, s = %g J/(kg·K) at %g K and %g Pa", form, ref.H, ref.S, ref.T, ref.P),
	}
	if spec.File != "" {
		f.source.Version = "typed in " + spec.File
	}
	newFluid(f, ivs)
	// Relative pressures count from 300 K, or from where the data come nearest.
	f.soRef = f.SoFast(min(max(relativeT, lo), hi))
	return f, nil
}

// pieces are the polynomials of the spec, those of the table included, and what
// to call them.
func (spec *UserSpec) pieces() ([]CpPiece, string, error) {
	fail := func(format string, args ...any) ([]CpPiece, string, error) {
		return nil, "", &UserError{spec.Name, fmt.Sprintf(format, args...)}
	}
	switch {
	case !(spec.M >= leastMolar && spec.M <= mostMolar):
		return fail("a molar mass of %g kg/mol is outside %g to %g kg/mol", spec.M, leastMolar, mostMolar)
	case strings.TrimSpace(spec.Source) == "":
		return fail("its source is missing: say where the figures are from")
	case len(spec.Pieces) > 0 && len(spec.Table) > 0:
		return fail("cp is given both by polynomials and by a table")
	case len(spec.Pieces) > MaxUserRows || len(spec.Table) > MaxUserRows:
		return fail("its data have %d rows, more than %d", max(len(spec.Pieces), len(spec.Table)), MaxUserRows)
	case len(spec.Pieces) > 0:
		return spec.Pieces, fmt.Sprintf("cp by polynomials in T, %d pieces", len(spec.Pieces)), nil
	case len(spec.Table) == 0:
		return fail("cp is missing: give polynomials or a table")
	case len(spec.Table) == 1:
		return fail("a table of cp has at least two rows")
	}
	pieces := make([]CpPiece, len(spec.Table)-1)
	for i := range pieces {
		a, b := spec.Table[i], spec.Table[i+1]
		if !(b.T-a.T >= leastStep*b.T) {
			return fail("the temperatures of the table rise from row to row, but %g K follows %g K", b.T, a.T)
		}
		slope := (b.Cp - a.Cp) / (b.T - a.T)
		pieces[i] = CpPiece{a.T, b.T, []float64{a.Cp - slope*a.T, slope}}
	}
	return pieces, fmt.Sprintf("cp by a table of %d rows, straight lines between them", len(spec.Table)), nil
}

func (spec *UserSpec) checkPieces(pieces []CpPiece, r float64) error {
	fail := func(format string, args ...any) error {
		return &UserError{spec.Name, fmt.Sprintf(format, args...)}
	}
	for i, p := range pieces {
		if !(p.Tmin < p.Tmax && p.Tmin >= UserTmin && p.Tmax <= UserTmax) {
			return fail("cp from %g K to %g K: a piece rises from at least %g K to at most %g K", p.Tmin, p.Tmax, UserTmin, UserTmax)
		}
		if len(p.Coefficients) == 0 || len(p.Coefficients) > 5 {
			return fail("cp from %g K to %g K has %d coefficients; it takes 1 to 5, for T⁰ to T⁴", p.Tmin, p.Tmax, len(p.Coefficients))
		}
		least, most := extremes(p.Coefficients, p.Tmin, p.Tmax)
		if !(least > r && most <= mostUserCp) {
			return fail("cp from %g K to %g K runs from %.6g to %.6g J/(kg·K); it must exceed R = %.6g, which leaves a cv, and not %g J/(kg·K)",
				p.Tmin, p.Tmax, least, most, r, mostUserCp)
		}
		if i == 0 {
			continue
		}
		before := pieces[i-1]
		if before.Tmax != p.Tmin {
			return fail("its pieces do not adjoin: one ends at %g K, the next begins at %g K", before.Tmax, p.Tmin)
		}
		a, b := polynomial(before.Coefficients, p.Tmin), polynomial(p.Coefficients, p.Tmin)
		if !(math.Abs(b-a) <= cpJump*a) {
			return fail("cp jumps at %g K from %.6g to %.6g J/(kg·K), more than %g %%", p.Tmin, a, b, 100*cpJump)
		}
	}
	return nil
}

func (spec *UserSpec) reference(lo, hi float64) (UserReference, error) {
	ref := UserReference{T: StandardTemperature, P: StandardPressure}
	fail := func(format string, args ...any) (UserReference, error) {
		return ref, &UserError{spec.Name, fmt.Sprintf(format, args...)}
	}
	if spec.Reference != nil {
		ref = *spec.Reference
	}
	switch {
	case !(ref.T >= lo && ref.T <= hi):
		if spec.Reference == nil {
			return fail("its data, %g K to %g K, do not hold 298.15 K, where h and s would be zero: give a reference temperature", lo, hi)
		}
		return fail("the reference temperature %g K is outside its data, %g K to %g K", ref.T, lo, hi)
	case !(ref.P >= PressureMin && ref.P <= PressureMax):
		return fail("the reference pressure %g Pa is outside %g Pa to %g Pa", ref.P, PressureMin, PressureMax)
	case !(math.Abs(ref.H) <= mostReferenceH):
		return fail("the reference h = %g J/kg is beyond %g J/kg", ref.H, mostReferenceH)
	case !(math.Abs(ref.S) <= mostReferenceS):
		return fail("the reference s = %g J/(kg·K) is beyond %g J/(kg·K)", ref.S, mostReferenceS)
	}
	return ref, nil
}

// userID names the fluid's own zero: two of one name and one zero have the same h
// and s at both ends of the range.
func (f *Fluid) userID() string {
	lo, hi := f.Range()
	return fmt.Sprintf("own zero of %s (h %.17g to %.17g, s° %.17g to %.17g)", f.name, f.HFast(lo), f.HFast(hi), f.SoFast(lo), f.SoFast(hi))
}

func polynomial(c []float64, x float64) (y float64) {
	for i := len(c) - 1; i >= 0; i-- {
		y = y*x + c[i]
	}
	return y
}

// extremes are the least and largest value of a polynomial between a and b, at
// the ends or where its derivative is zero; NaN if a coefficient is not finite.
func extremes(c []float64, a, b float64) (least, most float64) {
	least, most = math.Inf(1), math.Inf(-1)
	for _, x := range append(zeros(derivative(c), a, b), a, b) {
		y := polynomial(c, x)
		if y != y || math.IsInf(y, 0) {
			return nan, nan
		}
		least, most = min(least, y), max(most, y)
	}
	return least, most
}

func derivative(c []float64) []float64 {
	var d []float64
	for i := 1; i < len(c); i++ {
		d = append(d, float64(i)*c[i])
	}
	return d
}

// zeros are the places between a and b where a polynomial changes sign: between
// the zeros of its derivative it is monotone, and bisection finds what is there.
func zeros(c []float64, a, b float64) []float64 {
	if len(c) < 2 {
		return nil
	}
	ends := append(append([]float64{a}, zeros(derivative(c), a, b)...), b)
	var found []float64
	for i := range ends[:len(ends)-1] {
		lo, hi := ends[i], ends[i+1]
		rising := polynomial(c, lo) < 0
		if rising == (polynomial(c, hi) < 0) {
			continue
		}
		for range 100 {
			if mid := lo + (hi-lo)/2; (polynomial(c, mid) < 0) == rising {
				lo = mid
			} else {
				hi = mid
			}
		}
		found = append(found, lo)
	}
	slices.Sort(found)
	return found
}

// UserError: the user's data do not make a fluid.
type UserError struct {
	Name   string
	Reason string
}

func (e *UserError) Error() string { return fmt.Sprintf("fluid %s: %s", e.Name, e.Reason) }
