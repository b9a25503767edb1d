package main

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"workings/runner/diag"
	"workings/units"
)

func newUnits(a *app) *cobra.Command {
	var ambient string
	cmd := &cobra.Command{
		Use:   "units [WORD | VALUE UNIT [UNIT]]",
		Short: "List, search and convert units",
		Long: `Without a word, list the units by quantity. With a word, show the unit of that symbol, or list the
units that have the word in symbol, name or quantity. With a value, convert it: to the unit given,
or to all units of its kind.

°C and °F are points on a scale; write Δ°C and Δ°F for differences. A gauge pressure (barg, kPag,
psig) needs --ambient.`,
		Example: `  workings units
  workings units pressure
  workings units 14.7 psi kPa
  workings units "1 Btu/(lbm·°R)" "kJ/(kg·K)"
  workings units -40 °F °C
  workings units 2 barg kPa --ambient 101.3kPa
  workings units 500 hp`,
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			var names []string
			for _, e := range units.All() {
				names = append(names, e.Symbol)
			}
			return names, cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(_ *cobra.Command, args []string) error {
			word := len(args) > 0 && args[0] == "convert" // what many will type first
			if word {
				args = args[1:]
			}
			switch {
			case len(args) == 0 && word:
				return &hinted{"name a value and its unit", "for example: workings units 14.7 psi kPa"}
			case len(args) == 0:
				a.unitList(units.All())
				return nil
			case isValue(args[0]):
				return a.convert(strings.Join(args, " "), ambient)
			case len(args) == 2 && isUnit(args[0]) && isUnit(args[1]):
				return a.convert("1 "+args[0]+" "+args[1], ambient)
			}
			return a.unitSearch(strings.Join(args, " "))
		},
	}
	cmd.Flags().StringVar(&ambient, "ambient", "", "the ambient `PRESSURE` that gauge pressures count from, such as 101.3kPa")
	cmd.RegisterFlagCompletionFunc("ambient", cobra.NoFileCompletions)
	return cmd
}

var negative = regexp.MustCompile(`^-[0-9.]`)

// numbersFirst lets a negative value of `units` pass for what it is, not for a flag, by giving it
// the sign that is no hyphen.
func numbersFirst(args []string) []string {
	out := append([]string(nil), args...)
	for i, arg := range out {
		if out[0] == "units" && negative.MatchString(arg) {
			out[i] = "−" + arg[1:]
		}
	}
	return out
}

func isValue(s string) bool {
	s = strings.TrimLeft(s, "−+-")
	return s != "" && (s[0] >= '0' && s[0] <= '9' || s[0] == '.')
}

func isUnit(s string) bool {
	_, err := units.Parse(s)
	return err == nil
}

func (a *app) unitList(list []units.Entry) {
	quantity := ""
	var rows [][]string
	flush := func() {
		if len(rows) == 0 {
			return
		}
		if a.listed {
			a.printf("\n")
		}
		a.listed = true
		a.printf("%s\n", a.paintFor(a.out).bold()(quantity))
		table(a.writer(), "  ", rows, func(int) bool { return false }, nil)
		rows = nil
	}
	for _, e := range list {
		if e.Quantity != quantity {
			flush()
			quantity = e.Quantity
		}
		rows = append(rows, []string{e.Symbol, e.Name, e.Definition, strings.Join(e.Aliases, ", ")})
	}
	flush()
}

func (a *app) unitSearch(word string) error {
	if found := lookedUp(word); len(found) > 0 {
		a.unitList(found)
		for _, e := range found {
			if len(found) == 1 && e.Source != "" {
				a.printf("  source: %s\n", e.Source)
			}
		}
		return nil
	}
	u, err := unit(word)
	if err != nil {
		return err
	}
	// Not in the table, but a unit all the same: a prefix or a compound.
	d := u.Dimension()
	name := d.Name()
	if name == "" {
		name = d.String()
	}
	a.printf("%s\n  1 %s = %s %s\n", name, u, plain(u.ToSI(1, 0)), units.SIUnit(d))
	if def := u.Definition(); def != "" {
		a.printf("  %s\n", def)
	}
	return nil
}

// lookedUp is the unit of that very symbol, or else those with the word in what is said of them.
func lookedUp(word string) []units.Entry {
	var exact, holds []units.Entry
	w := strings.ToLower(word)
	for _, e := range units.All() {
		for _, s := range append([]string{e.Symbol}, e.Aliases...) {
			if s == word {
				exact = append(exact, e)
				break
			}
		}
		for _, s := range append([]string{e.Symbol, e.Name, e.Quantity}, e.Aliases...) {
			if strings.Contains(strings.ToLower(s), w) {
				holds = append(holds, e)
				break
			}
		}
	}
	if len(exact) > 0 {
		return exact
	}
	if _, err := units.Parse(word); err == nil {
		return nil
	}
	return holds
}

// convert reads `14.7 psi kPa`, `14.7psi in kPa` or `14.7 psi`.
func (a *app) convert(text, ambient string) error {
	pa := 0.0
	if ambient != "" {
		v, u, err := quantity(ambient)
		if err != nil {
			return err
		}
		if u.Kind() == units.Gauge {
			return &hinted{"--ambient is an absolute pressure", "for example: --ambient 101.3kPa"}
		}
		if pa, err = units.Convert(v, u, units.SIUnit(units.DimPressure()), 0); err != nil {
			return fmt.Errorf("--ambient: %w", err)
		}
	}
	v, rest, err := number(text)
	if err != nil {
		return err
	}
	n := units.Scan(rest)
	from, to := strings.TrimSpace(rest[:n]), strings.TrimSpace(rest[n:])
	if n == 0 && rest != "" {
		from, to, _ = strings.Cut(rest, " ")
	}
	if from == "" {
		return &hinted{"the value has no unit", "for example: workings units 14.7 psi kPa"}
	}
	for _, word := range []string{"in ", "to ", "-> ", "= "} {
		to = strings.TrimSpace(strings.TrimPrefix(to, word))
	}
	u, err := unit(from)
	if err != nil {
		return err
	}
	if to == "" {
		return a.convertAll(v, u, pa)
	}
	t, err := unit(to)
	if err != nil {
		return err
	}
	x, err := units.Convert(v, u, t, pa)
	if err != nil {
		return conversionFault(err)
	}
	a.printf("%s %s = %s %s\n", plain(v), u, plain(x), t)
	return nil
}

// convertAll prints a value in all units of its kind.
func (a *app) convertAll(v float64, u units.Unit, ambient float64) error {
	var rows [][]string
	listed := []units.Unit{u}
	add := func(t units.Unit, name string) {
		// Dimensionless units count different things: no one asks for per cent in revolutions.
		if t.Dimension() != u.Dimension() || t.IsRelative() || t.Dimension().IsNone() && quantityOf(t) != quantityOf(u) {
			return
		}
		if slices.ContainsFunc(listed, t.Equal) {
			return
		}
		if x, err := units.Convert(v, u, t, ambient); err == nil {
			rows = append(rows, []string{"= " + plain(x) + " " + t.String(), name})
			listed = append(listed, t)
		}
	}
	for _, sys := range []units.System{units.SI, units.US} {
		for _, t := range units.PreferenceList(sys) {
			add(t, "")
		}
	}
	for _, e := range units.All() {
		add(e.Unit, e.Name)
	}
	if len(rows) == 0 {
		si := units.SIUnit(u.Dimension())
		x, err := units.Convert(v, u, si, ambient)
		if err != nil {
			return conversionFault(err)
		}
		rows = append(rows, []string{"= " + plain(x) + " " + si.String()})
	}
	a.printf("%s %s\n", plain(v), u)
	table(a.writer(), "  ", rows, func(int) bool { return false }, nil)
	return nil
}

// quantityOf is the quantity that the table of units lists a unit under.
func quantityOf(u units.Unit) string {
	for _, e := range units.All() {
		if e.Unit.Equal(u) {
			return e.Quantity
		}
	}
	return ""
}

func conversionFault(err error) error {
	switch e := err.(type) {
	case *units.AmbientError:
		return &hinted{e.Unit.String() + " counts from the ambient pressure", "say it with --ambient, such as --ambient 101.3kPa"}
	case *units.KindError:
		return &hinted{err.Error(), "K serves as both"}
	}
	return err
}

// plain writes a number to nine figures without padding zeros: a conversion is exact, or as good.
func plain(v float64) string {
	return diag.Visible(strings.Replace(strconv.FormatFloat(v, 'g', 9, 64), "-", "−", 1))
}
