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

func newRender(a *app) *cobra.Command {
	var ev evaluation
	var dir string
	cmd := &cobra.Command{
		Use:   "render FILE... -o DIR",
		Short: "Evaluate notebooks and write their sheets as HTML",
		Long: "Evaluate notebooks and write one HTML file each to DIR, which is made if need be. Below a folder\n" +
			"that was given, the sheets keep its subfolders. A sheet with an error is written too, with the\n" +
			"error in its place.\n" + filesHelp,
		Example: `  workings render plant.md -o sheets         writes sheets/plant.html
  workings render notebooks/... -o sheets
  workings render plant.md --set r_p=12 -o variant`,
		Args: atLeastOne("a notebook or a folder of them", "plant.md -o sheets"),
		RunE: func(_ *cobra.Command, args []string) error {
			if dir == "" {
				return &hinted{"say where the sheets go", "for example: -o sheets, or -o . for this folder"}
			}
			ts, err := targets(args, ev.root)
			if err != nil {
				return err
			}
			if err := collisions(ts, dir); err != nil {
				return err
			}
			if err := os.MkdirAll(dir, 0o777); err != nil {
				return fmt.Errorf("-o %s: %s", dir, reason(err))
			}
			p := a.paintFor(a.err)
			_, err = a.each(ts, func(t *target, o *outcome) { a.render(t, o, ev.set, dir, p) })
			return err
		},
	}
	ev.flags(cmd, false)
	cmd.Flags().StringVarP(&dir, "output", "o", "", "the folder for the sheets, `DIR`")
	cmd.MarkFlagDirname("output")
	return cmd
}

func (t *target) htmlFile(dir string) string {
	return filepath.Join(dir, filepath.FromSlash(t.page)+".html")
}

// collisions refuses two notebooks whose sheets would be one file.
func collisions(ts []target, dir string) error {
	from := map[string]string{}
	for _, t := range ts {
		if t.err != nil {
			continue
		}
		file := filepath.ToSlash(t.htmlFile(dir))
		if other, taken := from[file]; taken {
			return &hinted{fmt.Sprintf("%s and %s would both be written to %s", other, t.shown, file), "render them to folders of their own, or give the folder above both"}
		}
		from[file] = t.shown
	}
	return nil
}

func (a *app) render(t *target, o *outcome, set []string, dir string, p paint) {
	r := t.build(o, set, false)
	if r == nil {
		return
	}
	t.printProblems(&o.err, r.Problems(), diag.Caution, p)
	var page bytes.Buffer
	if err := r.HTML(&page); err != nil { // a limit: the buffer itself takes everything
		o.code = max(o.code, runner.ExitErrors)
		fmt.Fprintf(&o.err, "%s: error: %s\n", diag.Visible(t.shown), diag.Visible(err.Error()))
		return
	}
	file := t.htmlFile(dir)
	err := os.MkdirAll(filepath.Dir(file), 0o777)
	if err == nil {
		err = replace(file, page.Bytes(), 0o666)
	}
	if err != nil {
		o.fail(t, errors.New(filepath.ToSlash(file)+" cannot be written: "+reason(err)))
		return
	}
	fmt.Fprintf(&o.out, "%s  %s\n", diag.Visible(filepath.ToSlash(file)), standing(r))
}

// replace writes a file whole or not at all: a reader, and a crash, finds the old one or the new.
func replace(file string, text []byte, mode os.FileMode) error {
	// Made as any new file is, so that the user's umask holds for the sheet.
	temp, err := createBeside(file, mode)
	if err != nil {
		return err
	}
	_, err = temp.Write(text)
	if e := temp.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Rename(temp.Name(), file)
	}
	if err != nil {
		os.Remove(temp.Name())
	}
	return err
}

// createBeside makes a new file in the folder of another.
func createBeside(file string, mode os.FileMode) (*os.File, error) {
	dir, base := filepath.Split(file)
	for i := 0; ; i++ {
		f, err := os.OpenFile(filepath.Join(dir, fmt.Sprintf(".%s.%d-%d", base, os.Getpid(), i)), os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
		if !errors.Is(err, os.ErrExist) || i == 1000 {
			return f, err
		}
	}
}
