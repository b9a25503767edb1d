package main

import (
	_ "embed"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"workings/runner/diag"
)

//go:embed starter.md
var starter []byte

func newNew(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "new FILE",
		Short: "Write a notebook to start from",
		Long: `Write a small notebook that evaluates and passes: inputs, assumptions, states, equations, checks and
answers of a plain gas-turbine cycle, with invented figures. A file that exists is left alone.`,
		Example: `  workings new plant.md
  workings run plant.md`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) != 1 {
				return &hinted{"name one file to write", "for example: workings new plant.md"}
			}
			return nil
		},
		ValidArgsFunction: completeNotebooks,
		RunE: func(_ *cobra.Command, args []string) error {
			file := args[0]
			switch {
			case filepath.Ext(file) == "":
				file += ".md"
			case !isNotebook(file):
				return &hinted{file + " is no name for a notebook", "the name of a notebook ends in .md"}
			}
			f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
			switch {
			case errors.Is(err, os.ErrExist):
				return &hinted{file + " exists and is left alone", "choose another name"}
			case errors.Is(err, os.ErrNotExist):
				return fmt.Errorf("%s cannot be written: there is no such folder", file)
			case err != nil:
				return fmt.Errorf("%s cannot be written: %s", file, reason(err))
			}
			_, err = f.Write(starter)
			if e := f.Close(); err == nil {
				err = e
			}
			if err != nil {
				os.Remove(file)
				return fmt.Errorf("%s cannot be written: %s", file, reason(err))
			}
			a.printf("%s written. Next: workings run %[1]s\n", diag.Visible(file))
			return nil
		},
	}
}
