package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"workings/runner"
	"workings/runner/diag"
)

func newFmt(a *app) *cobra.Command {
	var write, check bool
	cmd := &cobra.Command{
		Use:   "fmt FILE...",
		Short: "Bring notebooks to their canonical form",
		Long: `Print notebooks with their blocks in canonical form: one spelling and spacing of operators, captions
and ranges in columns. Meaning never changes, and prose is left alone. A line that cannot be read
stays as it is and is reported.

Exit code: 0, or 1 where --check finds a difference, 2 where a line cannot be read, 3 on wrong usage
or a file that cannot be read.`,
		Example: `  workings fmt plant.md
  workings fmt -w plant.md
  workings fmt --check notebooks/...`,
		Args: atLeastOne("a notebook", "plant.md"),
		RunE: func(_ *cobra.Command, args []string) error {
			if write && check {
				return errors.New("--check writes nothing: give it or -w, not both")
			}
			ts, err := targets(args, "")
			if err != nil {
				return err
			}
			if write {
				sweepBeside(ts)
			}
			p := a.paintFor(a.err)
			_, err = a.each(ts, func(t *target, o *outcome) {
				f := t.format(o, p)
				switch {
				case f == nil:
				case check:
					if !bytes.Equal(f.Before, f.After) {
						fmt.Fprintln(&o.out, diag.Visible(t.shown))
						o.code = max(o.code, runner.ExitChecks)
					}
				case write:
					if err := t.rewrite(f); err != nil {
						o.fail(t, errors.New("cannot be written: "+reason(err)))
					}
				default:
					o.out.Write(f.After)
				}
			})
			return err
		},
	}
	cmd.Flags().BoolVarP(&write, "write", "w", false, "write the result back to the file instead of printing it")
	cmd.Flags().BoolVar(&check, "check", false, "print only the names of files that are not in canonical form, and exit with 1 if there are any")
	cmd.ValidArgsFunction = completeNotebooks
	return cmd
}

func (t *target) format(o *outcome, p paint) *runner.Formatted {
	fsys, closed, err := t.open()
	if err != nil {
		o.fail(t, err)
		return nil
	}
	defer closed()
	f, err := runner.Format(fsys, t.name, runner.Options{})
	if err != nil {
		o.fail(t, unread(err))
		return nil
	}
	t.printProblems(&o.err, f.Problems, diag.Error, p)
	if worst, any := diag.Worst(f.Problems); any && worst == diag.Error {
		o.code = max(o.code, runner.ExitErrors)
	}
	return f
}

// rewrite puts the canonical form in the place of the file, which keeps its permissions; of a link,
// in the place of what it leads to.
func (t *target) rewrite(f *runner.Formatted) error {
	if bytes.Equal(f.Before, f.After) {
		return nil
	}
	file, err := filepath.EvalSymlinks(filepath.Join(t.dir, filepath.FromSlash(t.name)))
	if err != nil {
		return err
	}
	info, err := os.Stat(file)
	if err != nil {
		return err
	}
	return replace(file, f.After, info.Mode().Perm())
}
