package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"workings/propsdb"
	"workings/runner/diag"
)

func newGases(a *app) *cobra.Command {
	var at string
	cmd := &cobra.Command{
		Use:     "gases [WORD]",
		Aliases: []string{"fluids"},
		Short:   "List or search the fluids, or show one with a table of its properties",
		Long: `Without a word, list the fluids that the tool carries: water and steam, and the ideal gases. With the
name of one, show it: molar mass, range, source, accuracy, status of the figures, and a small table of
its properties. With any other word, list those that have it in their name or formula.

With --at, print the properties of a fluid at a point, given by two properties in either order; of an
ideal gas T or h alone will do. Water by T and p on its saturation line is open: give x.`,
		Example: `  workings gases
  workings gases air
  workings gases water
  workings gases air --at T=15°C,p=1.013bar
  workings gases air --at "p=900kPa,s=6.9kJ/(kg·K)"
  workings gases water --at p=1MPa,T=300degC
  workings gases water --at x=0,p=10bar`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return &hinted{"takes one word", "put a name of several words, or a point with blanks, in quotes: workings gases \"" + strings.Join(args, " ") + "\""}
			}
			if at != "" && len(args) == 0 {
				return &hinted{"--at needs a fluid", "for example: workings gases air --at T=300K"}
			}
			return nil
		},
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			var names []string
			for _, f := range propsdb.Fluids() {
				names = append(names, f.Name)
			}
			return names, cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				list := propsdb.Fluids()
				a.fluidList(list)
				a.printf("\n%s and water. One in detail: workings gases air\n", plural(len(propsdb.Gases()), "gas", "gases"))
				return nil
			}
			return a.fluid(args[0], at, cmd.Flags().Changed("at"))
		},
	}
	cmd.Flags().StringVar(&at, "at", "", "print the properties at a `POINT`, such as T=300K,p=1bar")
	cmd.RegisterFlagCompletionFunc("at", cobra.NoFileCompletions)
	return cmd
}

func (a *app) fluid(word, at string, point bool) error {
	found := propsdb.SearchFluids(word)
	named, others := exactly(word, found)
	if named == nil {
		hits := containing(word, found)
		switch {
		case len(hits) == 1:
			named = &hits[0]
		case point || len(hits) == 0:
			return noFluid(word, hits)
		default:
			a.fluidList(hits)
			return nil
		}
	}
	f, err := propsdb.LookupOn(named.Name, named.Datum)
	if err != nil {
		return err
	}
	switch {
	case point:
		return a.fluidAt(f, at)
	case f.Kind() == propsdb.Water:
		a.waterDetail(*named, f)
	default:
		a.gasDetail(*named, f)
	}
	if len(others) > 0 {
		a.printf("\nAlso with %q: %s\n", diag.Visible(word), strings.Join(others, ", "))
	}
	return nil
}

// exactly is the one fluid that goes by this very name, or by it in other letters' case, and the
// names of the others that merely hold the word.
func exactly(word string, found []propsdb.FluidInfo) (named *propsdb.FluidInfo, others []string) {
	called := func(g propsdb.FluidInfo, same func(a, b string) bool) bool {
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
		var hits []propsdb.FluidInfo
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
func containing(word string, found []propsdb.FluidInfo) []propsdb.FluidInfo {
	var hits []propsdb.FluidInfo
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

func noFluid(word string, hits []propsdb.FluidInfo) error {
	msg := fmt.Sprintf("there is no fluid called %s", word)
	var names []string
	for _, f := range hits {
		names = append(names, f.Name)
	}
	var unknown *propsdb.UnknownFluidError
	if _, err := propsdb.Lookup(word); len(names) == 0 && errors.As(err, &unknown) {
		names = unknown.Near
	}
	if len(names) == 0 || len(names) > 8 {
		return &hinted{msg, "workings gases lists them all"}
	}
	return &hinted{msg, "did you mean " + strings.Join(names, " or ") + "?"}
}

// fluidList prints water by itself, since it is no ideal gas, and then the gases.
func (a *app) fluidList(fs []propsdb.FluidInfo) {
	water := [][]string{{"water", "formula", "M / g/mol", "range / K", "up to", "also called"}}
	gases := [][]string{{"gas", "formula", "M / g/mol", "range / K", "also called"}}
	for _, f := range fs {
		row := []string{f.Name, f.Formula, fmt.Sprintf("%.3f", f.M*1000), fmt.Sprintf("%g–%g", f.Tmin, f.Tmax)}
		also := strings.Join(f.Aliases, ", ")
		if math.IsInf(f.Pmax, 1) {
			gases = append(gases, append(row, also))
		} else {
			water = append(water, append(row, fmt.Sprintf("%g MPa", f.Pmax/1e6), also))
		}
	}
	numbers := func(col int) bool { return col == 2 || col == 3 }
	if len(water) > 1 {
		table(a.writer(), "", water, numbers, a.paintFor(a.out).dim())
	}
	if len(water) > 1 && len(gases) > 1 {
		a.printf("\n")
	}
	if len(gases) > 1 {
		table(a.writer(), "", gases, numbers, a.paintFor(a.out).dim())
	}
}

// writer is standard output, with its failures kept.
func (a *app) writer() io.Writer { return keeping{a} }

type keeping struct{ a *app }

func (k keeping) Write(b []byte) (int, error) {
	k.a.printf("%s", b)
	return len(b), nil
}
