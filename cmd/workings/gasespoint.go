package main

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"workings/propsdb"
	"workings/units"
)

// A fluid at a point, and the reading of quantities on the command line.

// given is a property of a point, in SI.
type given struct {
	prop propsdb.Property
	si   float64
}

const pointExample = "for example: --at T=300K,p=1bar"

// pointOf reads `T=300K,p=1bar`.
func pointOf(at string) ([]given, error) {
	var gs []given
	for _, part := range strings.FieldsFunc(at, func(r rune) bool { return r == ',' || r == ';' }) {
		part = strings.TrimSpace(part)
		key, value, ok := strings.Cut(part, "=")
		key = strings.TrimSpace(key)
		if !ok || strings.Contains(value, "=") {
			return nil, &hinted{fmt.Sprintf("--at %q cannot be read", at), "write properties with their units, with a comma between them: --at T=300K,p=1bar"}
		}
		prop, known := propsdb.PropertyOf(key)
		if !known {
			return nil, unknownProperty(key)
		}
		v, u, err := quantity(value)
		if err != nil {
			return nil, err
		}
		want, err := units.Parse(prop.Unit())
		if err != nil {
			return nil, err
		}
		if u.IsNone() && !want.IsNone() {
			return nil, &hinted{fmt.Sprintf("--at %s needs a unit", part), fmt.Sprintf("%s is counted in %s or the like", prop.Name(), preferred(prop))}
		}
		si, err := units.Convert(v, u, want, 0)
		if _, gauge := err.(*units.AmbientError); gauge {
			return nil, &hinted{fmt.Sprintf("--at %s is a gauge pressure", part), "give the absolute pressure"}
		}
		if err != nil {
			return nil, fmt.Errorf("--at %s: %w", part, err)
		}
		gs = append(gs, given{prop, si})
	}
	return gs, nil
}

// unknownProperty points to the one that differs in its letters' case: t for T, P for p.
func unknownProperty(key string) error {
	e := &hinted{fmt.Sprintf("--at: there is no property %s", key), "a point is given by two of T, p, v, rho, h, u, s, of water x as well, or of a gas by T or h alone"}
	for _, other := range []string{strings.ToLower(key), strings.ToUpper(key)} {
		if _, known := propsdb.PropertyOf(other); known {
			e.hint = "did you mean " + other + "?"
		}
	}
	return e
}

func (a *app) fluidAt(f *propsdb.Fluid, at string) error {
	gs, err := pointOf(at)
	if err != nil {
		return err
	}
	var s propsdb.State
	switch {
	case len(gs) == 2:
		s, err = f.State(gs[0].prop, gs[0].si, gs[1].prop, gs[1].si)
	case len(gs) == 1 && gs[0].prop == propsdb.H && f.FixesAlone(propsdb.H):
		s, err = f.StateH(gs[0].si)
	case len(gs) == 1 && gs[0].prop == propsdb.T:
		s, err = f.StateT(gs[0].si)
	case f.Kind() == propsdb.Water:
		return &hinted{"--at: a point of water is given by two properties", "for example: --at p=1MPa,T=300°C"}
	default:
		return &hinted{"--at: a point is given by two properties, or by T or h alone", pointExample}
	}
	if err != nil {
		return propertyFault(err)
	}
	title := f.Name()
	if phase := s.Phase(); phase != "" {
		title += ", " + phase
	}
	a.printf("%s\n", a.paintFor(a.out).bold()(title))
	rows, notes, err := propertiesOf(s)
	if err != nil {
		return propertyFault(err)
	}
	table(a.writer(), "  ", rows, func(int) bool { return false }, nil)
	for _, n := range append(notes, datumText(f)) {
		wrapped(a.writer(), "  ", "  ", n)
	}
	return nil
}

// propertiesOf are the properties that a state has; notes say of the others why not, where that is
// not plain from the kind of fluid.
func propertiesOf(s propsdb.State) (rows [][]string, notes []string, err error) {
	for _, prop := range []propsdb.Property{propsdb.T, propsdb.P, propsdb.X, propsdb.V, propsdb.Rho, propsdb.H, propsdb.U, propsdb.S, propsdb.So, propsdb.Cp, propsdb.Cv,
		propsdb.K, propsdb.C, propsdb.Z, propsdb.Pr, propsdb.Vr, propsdb.Mu, propsdb.Lambda, propsdb.Prandtl} {
		v, err := s.Get(prop)
		var pressure *propsdb.NeedsPressureError
		var none *propsdb.NoPropertyError
		var rng *propsdb.RangeError
		switch {
		case errors.As(err, &pressure):
			continue
		case errors.As(err, &none):
			if prop == propsdb.Cp {
				notes = append(notes, "No cp, cv, k, c, mu, lambda, Pr: "+none.Reason+".")
			}
			continue
		case errors.As(err, &rng) && prop != propsdb.T: // of a correlation with a range of its own
			notes = append(notes, fmt.Sprintf("No %s: its data run from %s to %s.", prop.Symbol(), shownAs(rng.Property, rng.Lo), shownAs(rng.Property, rng.Hi)))
			continue
		case err != nil:
			return nil, nil, err
		}
		if prop == propsdb.Z && s.Phase() == "" {
			continue // 1 by the model
		}
		u := preferred(prop)
		text := units.FormatNumber(u.FromSI(v, 0), 6)
		if !u.IsNone() {
			text += " " + u.String()
		}
		rows = append(rows, []string{prop.Symbol(), "= " + text, prop.Name()})
	}
	return rows, notes, nil
}

// preferred is the unit in which a property is printed.
func preferred(p propsdb.Property) units.Unit {
	u, err := units.Parse(p.Unit())
	if err != nil {
		return units.Unit{}
	}
	if better, ok := units.Preferred(u.Dimension(), units.SI); ok {
		return better
	}
	return u
}

// shownAs is a property in the unit that people use.
func shownAs(p propsdb.Property, si float64) string {
	u := preferred(p)
	text := strings.ReplaceAll(strconv.FormatFloat(u.FromSI(si, 0), 'g', 6, 64), "-", "−")
	if u.IsNone() {
		return text
	}
	return text + " " + u.String()
}

// propertyFault says in units that people use why there is no such state.
func propertyFault(err error) error {
	var rng *propsdb.RangeError
	var sat *propsdb.SaturationError
	var pair *propsdb.PairError
	var alone *propsdb.AloneError
	switch {
	case errors.As(err, &rng):
		return &hinted{fmt.Sprintf("%s = %s lies outside the range of %s", rng.Property.Symbol(), shownAs(rng.Property, rng.Value), rng.Of),
			fmt.Sprintf("its data run from %s to %s", shownAs(rng.Property, rng.Lo), shownAs(rng.Property, rng.Hi))}
	case errors.As(err, &sat):
		return &hinted{fmt.Sprintf("T = %s is the saturation temperature at p = %s, where p and T leave open how much is vapour", shownAs(propsdb.T, sat.T), shownAs(propsdb.P, sat.P)),
			"give p and x, such as p=" + strings.ReplaceAll(shownAs(propsdb.P, sat.P), " ", "") + ",x=0 for saturated liquid, x=1 for saturated vapour"}
	case errors.As(err, &pair):
		return pairFault(fmt.Sprintf("%s and %s do not fix a state of %s", pair.A.Symbol(), pair.B.Symbol(), pair.Fluid), pair.Allowed)
	case errors.As(err, &alone):
		return pairFault(fmt.Sprintf("%s alone does not fix a state of %s", alone.Property.Symbol(), alone.Fluid), alone.Allowed)
	}
	return err
}

func pairFault(msg string, allowed [][2]propsdb.Property) error {
	var pairs []string
	for _, p := range allowed {
		pairs = append(pairs, p[0].Symbol()+" and "+p[1].Symbol())
	}
	return &hinted{msg, "these do: " + strings.Join(pairs, ", ")}
}

// quantity reads a number with its unit, as `300K`, `-40 °C` or `0.5`.
func quantity(s string) (float64, units.Unit, error) {
	v, rest, err := number(s)
	if err != nil {
		return 0, units.Unit{}, err
	}
	if rest == "" {
		return v, units.Unit{}, nil
	}
	u, err := unit(rest)
	return v, u, err
}

// number reads the number at the start of a text and gives the rest.
func number(s string) (float64, string, error) {
	s = strings.TrimSpace(strings.Replace(s, "−", "-", 1))
	end := 0
	for i, r := range s {
		sign := (r == '-' || r == '+') && (i == 0 || s[i-1] == 'e' || s[i-1] == 'E')
		exponent := (r == 'e' || r == 'E') && i > 0 && i+1 < len(s) && strings.ContainsRune("+-0123456789", rune(s[i+1]))
		if !unicode.IsDigit(r) && r != '.' && !sign && !exponent {
			break
		}
		end = i + len(string(r))
	}
	v, err := strconv.ParseFloat(s[:end], 64)
	if err != nil {
		return 0, "", &hinted{fmt.Sprintf("%q does not begin with a number", s), "write a number and its unit, such as 14.7 psi"}
	}
	return v, strings.TrimSpace(s[end:]), nil
}

// unit reads a unit; the error carries what may have been meant.
func unit(s string) (units.Unit, error) {
	u, err := units.Parse(s)
	if err == nil {
		return u, nil
	}
	var pe *units.ParseError
	if !errors.As(err, &pe) {
		return u, err
	}
	hint := "workings units lists them all"
	switch {
	case len(pe.Readings) > 0:
		hint = "write " + strings.Join(pe.Readings, " or ")
	case len(pe.Near) > 0:
		hint = "did you mean " + strings.Join(pe.Near, " or ") + "?"
	}
	return u, &hinted{pe.Reason, hint}
}
