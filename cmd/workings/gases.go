package main

import (
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode"

	"github.com/spf13/cobra"

	"workings/propsdb"
	"workings/runner/diag"
	"workings/units"
)

func newGases(a *app) *cobra.Command {
	var at string
	cmd := &cobra.Command{
		Use:   "gases [WORD]",
		Short: "List or search the gases, or show one with a table of its properties",
		Long: `Without a word, list the gases of the database. With the name of a gas, show it: molar mass, range,
source, and a small table of its properties. With any other word, list the gases that have it in
their name or formula.

With --at, print the properties of a gas at a point, given by two properties (or T alone).`,
		Example: `  workings gases
  workings gases air
  workings gases methane
  workings gases air --at T=15°C,p=1.013bar
  workings gases air --at p=900kPa,s=6.9kJ/(kg·K)`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return &hinted{"takes one word", "put a name of several words in quotes: workings gases \"" + strings.Join(args, " ") + "\""}
			}
			if at != "" && len(args) == 0 {
				return &hinted{"--at needs a gas", "for example: workings gases air --at T=300K"}
			}
			return nil
		},
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			var names []string
			for _, g := range propsdb.Gases() {
				names = append(names, g.Name)
			}
			return names, cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				list := propsdb.Gases()
				a.gasList(list)
				a.printf("\n%d gases. One in detail: workings gases air\n", len(list))
				return nil
			}
			return a.gas(args[0], at)
		},
	}
	cmd.Flags().StringVar(&at, "at", "", "print the properties at a `POINT`, such as T=300K,p=1bar")
	cmd.RegisterFlagCompletionFunc("at", cobra.NoFileCompletions)
	return cmd
}

func (a *app) gas(word, at string) error {
	found := propsdb.Search(word)
	named, others := exactly(word, found)
	if named == nil {
		hits := containing(word, found)
		switch {
		case len(hits) == 1:
			named = &hits[0]
		case at != "" || len(hits) == 0:
			return noGas(word, found)
		default:
			a.gasList(hits)
			return nil
		}
	}
	datum := propsdb.ZeroKelvin
	if !named.HasZero {
		datum = propsdb.Formation
	}
	f, err := propsdb.LookupOn(named.Name, datum)
	if err != nil {
		return err
	}
	if at != "" {
		return a.gasAt(f, at)
	}
	a.gasDetail(*named, f)
	if len(others) > 0 {
		a.printf("\nAlso with %q: %s\n", diag.Visible(word), strings.Join(others, ", "))
	}
	return nil
}

// exactly is the one gas that goes by this very name, or by it in other letters' case, and the
// names of the others that merely hold the word.
func exactly(word string, found []propsdb.GasInfo) (named *propsdb.GasInfo, others []string) {
	called := func(g propsdb.GasInfo, same func(a, b string) bool) bool {
		if same(g.Name, word) {
			return true
		}
		for _, a := range g.Aliases {
			if same(a, word) {
				return true
			}
		}
		return false
	}
	for _, same := range []func(a, b string) bool{func(a, b string) bool { return a == b }, strings.EqualFold} {
		var hits []propsdb.GasInfo
		for _, g := range found {
			if called(g, same) {
				hits = append(hits, g)
			}
		}
		if len(hits) == 1 {
			named = &hits[0]
			break
		}
	}
	if named == nil {
		return nil, nil
	}
	for _, g := range containing(word, found) {
		if g.Name != named.Name {
			others = append(others, g.Name)
		}
	}
	return named, others
}

// containing leaves out the near misses that a search falls back on.
func containing(word string, found []propsdb.GasInfo) []propsdb.GasInfo {
	var hits []propsdb.GasInfo
	w := strings.ToLower(word)
	for _, g := range found {
		for _, s := range append([]string{g.Name, g.Formula}, g.Aliases...) {
			if strings.Contains(strings.ToLower(s), w) {
				hits = append(hits, g)
				break
			}
		}
	}
	return hits
}

func noGas(word string, near []propsdb.GasInfo) error {
	msg := fmt.Sprintf("there is no gas called %s", word)
	if len(near) == 0 || len(near) > 8 {
		return &hinted{msg, "workings gases lists them all"}
	}
	var names []string
	for _, g := range near {
		names = append(names, g.Name)
	}
	return &hinted{msg, "did you mean " + strings.Join(names, " or ") + "?"}
}

func (a *app) gasList(gs []propsdb.GasInfo) {
	rows := [][]string{{"gas", "formula", "M / g/mol", "range / K", "also called"}}
	for _, g := range gs {
		rows = append(rows, []string{g.Name, g.Formula, fmt.Sprintf("%.3f", g.M*1000), fmt.Sprintf("%g–%g", g.Tmin, g.Tmax), strings.Join(g.Aliases, ", ")})
	}
	table(a.writer(), "", rows, func(col int) bool { return col == 2 || col == 3 }, a.paintFor(a.out).dim())
}

// writer is standard output, with its failures kept.
func (a *app) writer() io.Writer { return keeping{a} }

type keeping struct{ a *app }

func (k keeping) Write(b []byte) (int, error) {
	k.a.printf("%s", b)
	return len(b), nil
}

func (a *app) gasDetail(g propsdb.GasInfo, f *propsdb.Fluid) {
	p := a.paintFor(a.out)
	a.printf("%s\n", p.bold()(g.Name))
	src := f.Source()
	rows := [][]string{{"formula", g.Formula}}
	if len(g.Aliases) > 0 {
		rows = append(rows, []string{"also called", strings.Join(g.Aliases, ", ")})
	}
	rows = append(rows,
		[]string{"molar mass", fmt.Sprintf("M = %.6g g/mol", g.M*1000)},
		[]string{"gas constant", fmt.Sprintf("R = %s kJ/(kg·K)", units.FormatNumber(f.R()/1000, 6))},
		[]string{"range", src.Range + "; nothing is extrapolated"},
		[]string{"datum", datumText(f)},
		[]string{"heat of formation", fmt.Sprintf("%s kJ/mol at 25 °C", units.FormatNumber(g.Hf/1000, 6))},
	)
	if lower, err := propsdb.HeatingValue(g.Name, true); err == nil {
		rows = append(rows, []string{"heating value", fmt.Sprintf("lower %s MJ/kg, at 25 °C, of the gas", units.FormatNumber(lower/1e6, 5))})
	}
	rows = append(rows, []string{"data", src.Data}, []string{"", src.Version}, []string{"", "SHA-256 " + src.Hash})
	if src.Note != "" {
		rows = append(rows, []string{"rests on", src.Note})
	}
	table(a.writer(), "  ", rows, func(int) bool { return false }, nil)
	a.printf("\n")
	a.gasTable(f)
}

func datumText(f *propsdb.Fluid) string {
	switch f.Datum() {
	case propsdb.Formation:
		return "h counts from the elements at 25 °C (heat of formation included); s from absolute zero at 1 bar"
	}
	return "h = 0 at 0 K; s counts from absolute zero at 1 bar"
}

// tableAt are the round temperatures of the small table, K.
var tableAt = [...]float64{200, 250, 300, 400, 500, 600, 700, 800, 900, 1000, 1200, 1400, 1600, 1800, 2000, 2500, 3000, 4000, 5000, 6000}

func (a *app) gasTable(f *propsdb.Fluid) {
	lo, hi := f.Range()
	var ts []float64
	for _, t := range tableAt {
		if t >= lo && t <= hi {
			ts = append(ts, t)
		}
	}
	rows := [][]string{{"T", "cp", "k", "h", "s°", "pr"}, {"K", "kJ/(kg·K)", "", "kJ/kg", "kJ/(kg·K)", ""}}
	list, err := f.Table(ts)
	if err != nil {
		a.printf("  (no table: %s)\n", err)
		return
	}
	for _, r := range list {
		rows = append(rows, []string{fmt.Sprint(r.T), fmt.Sprintf("%.4f", r.Cp/1000), fmt.Sprintf("%.4f", r.K), fmt.Sprintf("%.2f", r.H/1000),
			fmt.Sprintf("%.4f", r.So/1000), units.FormatNumber(r.Pr, 5)})
	}
	table(a.writer(), "  ", rows, func(int) bool { return true }, a.paintFor(a.out).dim())
	a.printf("\n  Ideal gas of fixed composition: real molecules begin to break up at some 1500 to 2000 K.\n  Of pr only ratios mean anything.\n")
}

// gasAt prints a state given as `T=300K,p=1bar`.
func (a *app) gasAt(f *propsdb.Fluid, at string) error {
	type given struct {
		prop propsdb.Property
		si   float64
	}
	var gs []given
	for _, part := range strings.Split(at, ",") {
		key, value, ok := strings.Cut(part, "=")
		if !ok {
			return &hinted{fmt.Sprintf("--at %q cannot be read", at), "write properties with their units: --at T=300K,p=1bar"}
		}
		prop, known := propsdb.PropertyOf(strings.TrimSpace(key))
		if !known {
			return &hinted{fmt.Sprintf("--at: there is no property %s", strings.TrimSpace(key)), "a point is given by two of T, p, v, h, s, or by T alone"}
		}
		v, u, err := quantity(value)
		if err != nil {
			return err
		}
		want, err := units.Parse(prop.Unit())
		if err != nil {
			return err
		}
		if u.IsNone() && !want.IsNone() {
			return &hinted{fmt.Sprintf("--at %s needs a unit", strings.TrimSpace(part)), fmt.Sprintf("%s is counted in %s or the like", prop.Name(), preferred(prop))}
		}
		si, err := units.Convert(v, u, want, 0)
		if _, gauge := err.(*units.AmbientError); gauge {
			return &hinted{fmt.Sprintf("--at %s is a gauge pressure", strings.TrimSpace(part)), "give the absolute pressure"}
		}
		if err != nil {
			return fmt.Errorf("--at %s: %w", strings.TrimSpace(part), err)
		}
		gs = append(gs, given{prop, si})
	}
	var s propsdb.State
	var err error
	switch {
	case len(gs) == 2:
		s, err = f.State(gs[0].prop, gs[0].si, gs[1].prop, gs[1].si)
	case len(gs) == 1 && gs[0].prop == propsdb.T:
		s, err = f.StateT(gs[0].si)
	case len(gs) == 1 && gs[0].prop == propsdb.H:
		s, err = f.StateH(gs[0].si)
	default:
		return &hinted{"--at: a point is given by two properties, or by T or h alone", "for example: --at T=300K,p=1bar"}
	}
	if err != nil {
		return propertyFault(err)
	}
	a.printf("%s\n", a.paintFor(a.out).bold()(f.Name()))
	var rows [][]string
	for _, prop := range []propsdb.Property{propsdb.T, propsdb.P, propsdb.V, propsdb.Rho, propsdb.H, propsdb.U, propsdb.S, propsdb.So, propsdb.Cp, propsdb.Cv,
		propsdb.K, propsdb.C, propsdb.Pr, propsdb.Vr} {
		v, err := s.Get(prop)
		var need *propsdb.NeedsPressureError
		if errors.As(err, &need) {
			continue
		}
		if err != nil {
			return propertyFault(err)
		}
		u := preferred(prop)
		text := units.FormatNumber(u.FromSI(v, 0), 6)
		if !u.IsNone() {
			text += " " + u.String()
		}
		rows = append(rows, []string{prop.Symbol(), "= " + text, prop.Name()})
	}
	table(a.writer(), "  ", rows, func(int) bool { return false }, nil)
	a.printf("  %s\n", datumText(f))
	return nil
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

// propertyFault says in units that people use why there is no such state.
func propertyFault(err error) error {
	var rng *propsdb.RangeError
	if !errors.As(err, &rng) {
		return err
	}
	u := preferred(rng.Property)
	show := func(v float64) string {
		return strings.TrimSpace(strconv.FormatFloat(u.FromSI(v, 0), 'g', 6, 64) + " " + u.String())
	}
	return &hinted{fmt.Sprintf("%s = %s lies outside the range of %s", rng.Property.Symbol(), show(rng.Value), rng.Of),
		fmt.Sprintf("its data run from %s to %s", show(rng.Lo), show(rng.Hi))}
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
