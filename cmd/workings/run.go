package main

import (
	"github.com/spf13/cobra"

	"workings/runner/diag"
)

// evaluation holds the flags of the commands that evaluate notebooks.
type evaluation struct {
	set  []string
	also []string
	root string
	// uncertainty is the method by which uncertainties are found, sensitivity asks for all inputs.
	uncertainty string
	sensitivity bool
	json        bool
	// study stands in no notebook: that of the study command.
	study string
}

func (e *evaluation) flags(cmd *cobra.Command, json bool) {
	// An array, not a slice: a value may hold commas.
	cmd.Flags().StringArrayVar(&e.set, "set", nil, "give an input another value, `NAME=VALUE`, such as r_p=12 or \"T1=15 °C\" (repeatable)")
	cmd.Flags().StringArrayVar(&e.also, "also", nil, "evaluate the sheet again with another model for a fluid, `FLUID=MODEL`, such as\n\"air=perfect(k = 1.4, cp = 1.005 kJ/(kg·K)) within 2 %\" (repeatable)")
	cmd.Flags().StringVar(&e.root, "root", "", "let notebooks name files anywhere below `DIR`, not only below their own folder")
	cmd.MarkFlagDirname("root")
	if json {
		cmd.Flags().BoolVar(&e.json, "json", false, "write the trace as JSON, one object a line for each notebook")
	}
	cmd.ValidArgsFunction = completeNotebooks
	cmd.RegisterFlagCompletionFunc("set", cobra.NoFileCompletions)
}

// sureness has the flags of the commands that show how sure the answers are.
func (e *evaluation) sureness(cmd *cobra.Command) {
	cmd.Flags().StringVar(&e.uncertainty, "uncertainty", "", "how uncertainties (±) are carried on, `METHOD`: \"first order\", \"second order\"\nor \"monte carlo 200000 seed 7\"")
	cmd.Flags().BoolVar(&e.sensitivity, "sensitivity", false, "show what every input does to the answers")
}

func completeNotebooks(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return []string{"md"}, cobra.ShellCompDirectiveFilterFileExt
}

// filesHelp is what all commands say about the notebooks they take.
const filesHelp = `
A FILE is a notebook (.md); a folder, or FOLDER/..., stands for all notebooks below it. Files that
a notebook names are read only below its own folder, or below the folder given.

Exit code, the highest that applies: 0 all well, 1 a check fails, 2 a sheet has an error, 3 wrong
usage or a file that cannot be read.`

func newRun(a *app) *cobra.Command {
	var ev evaluation
	var working bool
	cmd := &cobra.Command{
		Use:   "run FILE...",
		Short: "Evaluate notebooks and print their lines and checks",
		Long:  "Evaluate notebooks and print every line with its value, the checks, the answers and the problems.\n" + filesHelp,
		Example: `  workings run plant.md
  workings run plant.md --set r_p=12 --set "T1=15 °C"
  workings run plant.md --json > plant.json`,
		Args: atLeastOne("a notebook", "plant.md"),
		RunE: func(_ *cobra.Command, args []string) error {
			ts, err := targets(args, ev.root)
			if err != nil {
				return err
			}
			p := a.paintFor(a.out)
			_, err = a.each(ts, func(t *target, o *outcome) {
				r := t.build(o, &ev, ev.json)
				switch {
				case r == nil:
				case ev.json:
					r.JSON(&o.out) // a buffer takes everything
				default:
					if t != &ts[0] {
						o.out.WriteString("\n\n")
					}
					l := listing{w: &o.out, p: p, working: working}
					l.print(t, r)
					if len(r.Problems()) > 0 {
						o.out.WriteString("\n")
					}
					t.printProblems(&o.out, r.Problems(), diag.Note, p)
				}
			})
			return err
		},
	}
	ev.flags(cmd, true)
	ev.sureness(cmd)
	cmd.Flags().BoolVar(&working, "working", false, "print the lines inside methods and used sheets as well")
	return cmd
}
