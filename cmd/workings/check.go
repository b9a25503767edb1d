package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"workings/runner/diag"
)

func newCheck(a *app) *cobra.Command {
	var ev evaluation
	var short bool
	cmd := &cobra.Command{
		Use:   "check FILE...",
		Short: "Check notebooks; silent when all is well",
		Long: "Evaluate notebooks and print what is wrong, to the standard error, with a last line that sums up.\n" +
			"Cautions are printed and do not change the exit code. A check that holds is no approval.\n\n" +
			"The notebooks of a folder are one package: what is wrong with a sheet is said once, at that sheet,\n" +
			"however many use it, and what only shows where sheets are together is said as well.\n" + filesHelp,
		Example: `  workings check notebooks/...
  workings check plant.md && workings render plant.md -o sheets
  workings check notebooks/... --json > traces.jsonl`,
		Args: atLeastOne("a notebook or a folder of them", "notebooks/..."),
		RunE: func(_ *cobra.Command, args []string) error {
			ts, err := targets(args, ev.root)
			if err != nil {
				return err
			}
			var sum tally
			for _, ts := range packages(ts) {
				n, err := a.check(ts, &ev, inForm(short))
				if err != nil {
					return err
				}
				sum.add(n)
			}
			if !ev.json && sum.errors+sum.fails+sum.cautions+sum.unread > 0 {
				fmt.Fprintln(a.err, sum.String())
			}
			return nil
		},
	}
	ev.flags(cmd, true)
	cmd.Flags().BoolVar(&short, "short", false, "print each problem on one line: FILE:LINE:COLUMN: SEVERITY: MESSAGE [CODE]")
	return cmd
}

// inForm is how problems are printed: whole, or on one line each.
func inForm(short bool) func(*target, io.Writer, []*diag.Problem, diag.Severity, paint) {
	if short {
		return (*target).printShort
	}
	return (*target).printProblems
}

// check prints what is wrong with notebooks that stand alone, or with those of one folder.
func (a *app) check(ts []target, ev *evaluation, print func(*target, io.Writer, []*diag.Problem, diag.Severity, paint)) (tally, error) {
	p := a.paintFor(a.err)
	if ts[0].folder == "" || ev.json {
		return a.each(ts, func(t *target, o *outcome) {
			r := t.build(o, ev, ev.json)
			switch {
			case r == nil:
			case ev.json:
				r.JSON(&o.out) // a buffer takes everything
			default:
				print(t, &o.err, r.Problems(), diag.Caution, p)
			}
		})
	}
	pkg, sum, err := a.buildPackage(ts, ev)
	if err != nil {
		return sum, err
	}
	faults := pkg.Faults()
	for i := range ts {
		if s := pkg.Sheet(ts[i].path()); s != nil {
			print(&ts[i], a.err, faults[s], diag.Caution, p)
		}
	}
	return sum, nil
}
