package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"workings/runner/diag"
)

func newCheck(a *app) *cobra.Command {
	var ev evaluation
	cmd := &cobra.Command{
		Use:   "check FILE...",
		Short: "Check notebooks; silent when all is well",
		Long: "Evaluate notebooks and print what is wrong, to the standard error, with a last line that sums up.\n" +
			"Cautions are printed and do not change the exit code. A check that holds is no approval.\n" + filesHelp,
		Example: `  workings check notebooks/...
  workings check plant.md && workings render plant.md -o sheets
  workings check notebooks/... --json > traces.jsonl`,
		Args: atLeastOne("a notebook or a folder of them", "notebooks/..."),
		RunE: func(_ *cobra.Command, args []string) error {
			ts, err := targets(args, ev.root)
			if err != nil {
				return err
			}
			p := a.paintFor(a.err)
			sum, err := a.each(ts, func(t *target, o *outcome) {
				r := t.build(o, &ev, ev.json)
				switch {
				case r == nil:
				case ev.json:
					r.JSON(&o.out) // a buffer takes everything
				default:
					t.printProblems(&o.err, r.Problems(), diag.Caution, p)
				}
			})
			if err == nil && !ev.json && sum.errors+sum.fails+sum.cautions+sum.unread > 0 {
				fmt.Fprintln(a.err, sum.String())
			}
			return err
		},
	}
	ev.flags(cmd, true)
	return cmd
}
