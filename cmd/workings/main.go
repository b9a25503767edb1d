// Command workings evaluates literate calculation notebooks and renders them as checked sheets.
//
// One file a command; main.go ties them together, files.go finds the notebooks that arguments
// mean, output.go does the printing.
package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"runtime"
	"runtime/debug"
	"sort"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"workings/propsdb"
	"workings/runner"
	"workings/runner/diag"
)

// version is what sheets and traces say made them.
const version = "0.1"

func main() {
	// A sheet is made in a few megabytes, once: collecting garbage at every few takes a fifth of the time.
	// Beyond half a gigabyte memory counts for more.
	debug.SetGCPercent(800)
	debug.SetMemoryLimit(512 << 20)
	os.Exit(execute(os.Args[1:], os.Stdout, os.Stderr))
}

// execute runs one command line and gives the exit code.
func execute(args []string, stdout, stderr io.Writer) int {
	a := &app{out: stdout, err: stderr, workers: runtime.GOMAXPROCS(0)}
	root := newRoot(a)
	root.SetArgs(numbersFirst(args))
	root.SetOut(stdout)
	root.SetErr(stderr)
	cmd, err := root.ExecuteC()
	if err == nil {
		err = a.writeErr
	}
	if err != nil {
		a.fault(cmd, err)
	}
	return a.code
}

// app is what the commands share: where they print, and how it went.
type app struct {
	out, err io.Writer
	colour   string // --color
	workers  int
	code     int   // highest so far
	writeErr error // the first failure to write to out
	listed   bool  // a group of units was printed before
}

// worse raises the exit code.
func (a *app) worse(code int) { a.code = max(a.code, code) }

func newRoot(a *app) *cobra.Command {
	root := &cobra.Command{
		Use:   "workings",
		Short: "Literate calculation sheets for gas-turbine thermodynamics",
		Long: `workings reads a notebook (Markdown with blocks of calculation in a small language that knows
units), evaluates it with gas properties from a database, and renders a sheet that shows every
equation, every substituted value and every result.`,
		Example: `  workings new plant.md                    a notebook to start from
  workings run plant.md                    evaluate it and print the lines
  workings render plant.md -o sheets       write sheets/plant.html
  workings check notebooks/...             all notebooks below a folder, for scripts`,
		SilenceErrors:      true,
		SilenceUsage:       true,
		DisableSuggestions: true, // unknown says more
		Args:               unknown,
		RunE: func(cmd *cobra.Command, _ []string) error {
			cmd.SetOut(a.err)
			a.worse(runner.ExitUsage)
			return cmd.Help()
		},
	}
	root.PersistentFlags().StringVar(&a.colour, "color", "auto", "colour, `WHEN`: auto (on a terminal, unless NO_COLOR is set), always or never")
	root.RegisterFlagCompletionFunc("color", cobra.FixedCompletions([]string{"auto", "always", "never"}, cobra.ShellCompDirectiveNoFileComp))
	root.PersistentPreRunE = func(*cobra.Command, []string) error {
		switch a.colour {
		case "auto", "always", "never":
			return nil
		}
		return fmt.Errorf("--color is auto, always or never, not %q", a.colour)
	}
	root.SetFlagErrorFunc(flagError)
	root.AddCommand(newRun(a), newRender(a), newCheck(a), newFmt(a), newGases(a), newUnits(a), newNew(a), newVerify(a), newExplain(a), newStudy(a), newWatch(a), newSchema(a), newVersion(a))
	root.SetHelpCommand(newHelp(root))
	root.InitDefaultCompletionCmd()
	for _, c := range root.Commands() {
		if c.Name() == "completion" {
			c.Short = "Print a script that completes commands, flags and names in a shell"
			c.Args, c.RunE = unknown, root.RunE
		}
	}
	return root
}

// fault prints a wrong command line: what is wrong, and where to read on.
func (a *app) fault(cmd *cobra.Command, err error) {
	a.worse(runner.ExitUsage)
	path := "workings"
	if cmd != nil {
		path = cmd.CommandPath()
	}
	fmt.Fprintf(a.err, "%s: %s\n", path, diag.Visible(err.Error()))
	var hint *hinted
	switch {
	case errors.As(err, &hint):
		fmt.Fprintf(a.err, "  %s\n", diag.Visible(hint.hint))
	case err == a.writeErr, err == errInterrupted:
	default:
		fmt.Fprintf(a.err, "  see %s --help\n", path)
	}
}

// hinted is an error with its own remedy, printed instead of a reference to the help.
type hinted struct {
	msg, hint string
}

func (e *hinted) Error() string { return e.msg }

// unknown is a word that is no command.
func unknown(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	var names []string
	for _, c := range cmd.Commands() {
		if c.IsAvailableCommand() {
			names = append(names, c.Name())
		}
	}
	msg := fmt.Sprintf("there is no command %s", args[0])
	near := diag.Near(args[0], names)
	switch {
	case strings.HasSuffix(args[0], ".md"):
		return &hinted{msg, "to evaluate a notebook: workings run " + args[0]}
	case len(near) > 0:
		return &hinted{msg, "did you mean " + cmd.CommandPath() + " " + strings.Join(near, " or ") + "?"}
	case len(names) > 0:
		sort.Strings(names)
		return &hinted{msg, "the commands are " + strings.Join(names, ", ")}
	}
	return errors.New(msg)
}

func flagError(cmd *cobra.Command, err error) error {
	var wrong *pflag.InvalidValueError
	if errors.As(err, &wrong) && wrong.GetFlag().Value.Type() == "int" {
		return &hinted{fmt.Sprintf("--%s %s: a whole number is wanted", wrong.GetFlag().Name, wrong.GetValue()), "see " + cmd.CommandPath() + " --help"}
	}
	var none *pflag.NotExistError
	if !errors.As(err, &none) {
		return err
	}
	if s := none.GetSpecifiedShortnames(); s != "" {
		return fmt.Errorf("there is no flag -%s", none.GetSpecifiedName())
	}
	var names []string
	cmd.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
	msg := "there is no flag --" + none.GetSpecifiedName()
	if near := diag.Near(none.GetSpecifiedName(), names); len(near) > 0 {
		return &hinted{msg, "did you mean --" + strings.Join(near, " or --") + "?"}
	}
	return errors.New(msg)
}

// atLeastOne asks for arguments in the words of the command.
func atLeastOne(what, example string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) > 0 {
			return nil
		}
		return &hinted{"name " + what, "for example: " + cmd.CommandPath() + " " + example + " (more: " + cmd.CommandPath() + " --help)"}
	}
}

func newHelp(root *cobra.Command) *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND]",
		Short: "Explain a command",
		RunE: func(_ *cobra.Command, args []string) error {
			cmd, rest, _ := root.Find(args)
			if len(rest) > 0 {
				return unknown(cmd, rest)
			}
			cmd.InitDefaultHelpFlag()
			return cmd.Help()
		},
	}
}

func newVersion(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Print the version and that of the property data",
		Args:  noArgs,
		RunE: func(*cobra.Command, []string) error {
			d := propsdb.DataSource()
			a.printf("workings %s\ngas data: %s\n  %s\n  SHA-256 %s\n", version, d.Data, d.Version, d.Hash)
			water, err := propsdb.Lookup("water")
			if err != nil {
				return err
			}
			w := water.Source()
			a.printf("water data: %s\n  %s\n  SHA-256 %s\n", w.Data, w.Version, w.Hash)
			return nil
		},
	}
}

func newSchema(a *app) *cobra.Command {
	var pkg bool
	cmd := &cobra.Command{
		Use:   "schema",
		Short: "Print the JSON Schema of the trace that --json writes",
		Args:  noArgs,
		RunE: func(*cobra.Command, []string) error {
			if pkg {
				a.printf("%s", runner.PackageSchema())
			} else {
				a.printf("%s", runner.Schema())
			}
			return nil
		},
	}
	cmd.Flags().BoolVar(&pkg, "package", false, "that of package.json, which render --json writes for a folder")
	return cmd
}

func noArgs(_ *cobra.Command, args []string) error {
	if len(args) > 0 {
		return fmt.Errorf("takes no arguments, and was given %s", args[0])
	}
	return nil
}
