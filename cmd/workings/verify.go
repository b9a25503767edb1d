package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"path"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"workings/notebooks"
	"workings/propsdb"
	"workings/runner"
	"workings/runner/diag"
)

func newVerify(a *app) *cobra.Command {
	var file, date string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "verify",
		Short: "Check the tool against published figures and print a report to file",
		Long: `Evaluate all verification notebooks that come with the tool and print a report that can be filed as
software verification: what was checked with what version and which data, every figure beside the
published one with its source, and what the report does not show. It approves no design.

The report is plain text; with -o it is written to a file as Markdown, with --json as JSON. It holds
no date of its own, so that two runs of one build give the same bytes: give one with --date.

Exit code: 0 all checks hold, 1 a check fails, 2 a case has an error, 3 wrong usage or a file that
cannot be written.`,
		Example: `  workings verify | less
  workings verify -o report.md --date 2031-04-12
  workings verify --json > report.json`,
		Args:              noArgs,
		ValidArgsFunction: cobra.NoFileCompletions,
		RunE: func(*cobra.Command, []string) error {
			rep, err := verify(date)
			if err != nil {
				return err
			}
			a.worse(rep.exitCode())
			p := a.paintFor(a.out)
			if file != "" {
				p = paint{} // a file is never coloured
			}
			var out bytes.Buffer
			switch {
			case asJSON:
				err = rep.json(&out)
			case file != "":
				rep.markdown(&out)
			default:
				rep.text(&out, p)
			}
			if err != nil {
				return err
			}
			if file == "" {
				a.printf("%s", out.Bytes())
				return nil
			}
			shown := diag.Visible(filepath.ToSlash(file))
			if err := replace(file, out.Bytes(), 0o666); err != nil {
				return fmt.Errorf("%s cannot be written: %s", shown, reason(err))
			}
			a.printf("%s  %s\n", shown, rep.Summary.line())
			return nil
		},
	}
	cmd.Flags().StringVarP(&file, "output", "o", "", "write the report to `FILE`, as Markdown")
	cmd.Flags().BoolVar(&asJSON, "json", false, "write the report as JSON")
	cmd.Flags().StringVar(&date, "date", "", "a `DATE` to print in the report, in your own words")
	cmd.RegisterFlagCompletionFunc("date", cobra.NoFileCompletions)
	return cmd
}

// report is a run of all verification cases; its JSON form is a contract with other programs.
type report struct {
	Tool        string         `json:"tool"`
	Version     string         `json:"version"`
	Revision    string         `json:"revision"` // of the source, where the build knows it
	Go          string         `json:"go"`
	Platform    string         `json:"platform"`
	Date        string         `json:"date"` // as the user gave it
	Statement   string         `json:"statement"`
	Data        []dataSet      `json:"data"`
	Summary     summary        `json:"summary"`
	NotVerified []string       `json:"not_verified"`
	Cases       []*runner.Case `json:"cases"`
}

// dataSet is a file of property data that the tool carries.
type dataSet struct {
	Of       string `json:"of"`
	Data     string `json:"data"`
	Version  string `json:"version"`
	SHA256   string `json:"sha256"`
	Origin   string `json:"origin"`
	Accuracy string `json:"accuracy"`
	Licence  string `json:"licence"`
}

type summary struct {
	Cases     int        `json:"cases"`
	Holding   int        `json:"cases_holding"`
	Failing   int        `json:"cases_failing"`
	Errors    int        `json:"cases_with_errors"`
	Amiss     []string   `json:"cases_that_do_not_hold"` // their numbers
	Checks    int        `json:"checks"`
	Hold      int        `json:"checks_that_hold"`
	Fail      int        `json:"checks_that_fail"`
	Waiting   int        `json:"checks_without_a_value"`
	Published int        `json:"checks_against_published_figures"`
	Memory    int        `json:"of_these_quoted_from_memory"`
	Worst     *worstCase `json:"worst_use_of_tolerance"`
}

type worstCase struct {
	Case string  `json:"case"`
	ID   string  `json:"id"`
	Text string  `json:"text"`
	Used float64 `json:"used"`
}

const statement = "This report is no approval. A check that holds says that the tool meets the figure beside it, in that case and within the tolerance stated, " +
	"and nothing more. No design, and no notebook of a user's own, is verified by it."

// verify evaluates the cases, in the order of their names.
func verify(date string) (*report, error) {
	rep := &report{Tool: "workings", Version: version, Revision: revision(), Go: runtime.Version(), Platform: runtime.GOOS + "/" + runtime.GOARCH,
		Date: date, Statement: statement}
	water, err := propsdb.Lookup("water")
	if err != nil {
		return nil, err
	}
	rep.Data = []dataSet{dataSetOf("ideal gases", propsdb.DataSource(), gasStatus("")), dataSetOf("water and steam", water.Source(), statusOf(water))}
	names, err := fs.Glob(notebooks.FS(), "verification/*.md")
	if err != nil {
		return nil, err
	}
	for _, name := range names {
		r, err := runner.Build(notebooks.FS(), name, runner.Options{Library: notebooks.Library(), Version: version})
		if err != nil {
			return nil, err
		}
		rep.Cases = append(rep.Cases, r.Case("notebooks/"+name))
	}
	rep.Summary = summarise(rep.Cases)
	rep.NotVerified = rep.notVerified()
	return rep, nil
}

// revision is that of the source the program was built from, where the build recorded it.
func revision() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return ""
	}
	rev, changed := "", ""
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision":
			rev = s.Value
		case s.Key == "vcs.modified" && s.Value == "true":
			changed = " with changes"
		}
	}
	if rev == "" {
		return ""
	}
	return rev + changed
}

func dataSetOf(of string, src propsdb.Source, st dataStatus) dataSet {
	return dataSet{Of: of, Data: src.Data, Version: src.Version, SHA256: src.Hash, Origin: st.origin, Accuracy: st.accuracy, Licence: st.licence}
}

func summarise(cases []*runner.Case) summary {
	s := summary{Cases: len(cases), Amiss: []string{}}
	for _, c := range cases {
		if c.Verdict != runner.CaseHolds {
			s.Amiss = append(s.Amiss, c.Number)
		}
		switch c.Verdict {
		case runner.CaseHolds:
			s.Holding++
		case runner.CaseFails:
			s.Failing++
		default:
			s.Errors++
		}
		for _, k := range c.Checks {
			s.add(c, &k)
		}
	}
	return s
}

func (s *summary) add(c *runner.Case, k *runner.CaseCheck) {
	s.Checks++
	switch k.Verdict {
	case "holds":
		s.Hold++
	case "fails":
		s.Fail++
	default:
		s.Waiting++
	}
	if k.Published {
		s.Published++
	}
	if slices.ContainsFunc(c.Sources, func(src runner.CaseSource) bool {
		return slices.Contains(k.Sources, src.Label) && src.FromMemory()
	}) {
		s.Memory++
	}
	if k.Used != nil && (s.Worst == nil || *k.Used > s.Worst.Used) {
		s.Worst = &worstCase{c.Number, k.ID, k.Text, *k.Used}
	}
}

// line sums up in one.
func (s summary) line() string {
	text := plural(s.Cases, "case", "cases") + ", " + plural(s.Checks, "check", "checks") + ": "
	var bad []string
	if s.Errors > 0 {
		bad = append(bad, plural(s.Errors, "case has an error", "cases have an error"))
	}
	if s.Fail > 0 {
		bad = append(bad, plural(s.Fail, "check fails", "checks fail"))
	}
	if s.Waiting > 0 {
		bad = append(bad, plural(s.Waiting, "check has no value", "checks have no value"))
	}
	if len(bad) == 0 {
		return text + "all hold"
	}
	return text + strings.Join(bad, ", ")
}

func (r *report) exitCode() int {
	switch s := r.Summary; {
	case s.Errors > 0 || s.Cases == 0:
		return runner.ExitErrors
	case s.Failing > 0:
		return runner.ExitChecks
	}
	return runner.ExitWell
}

// notVerified says what a reader must not take this report for.
func (r *report) notVerified() []string {
	s := r.Summary
	own := s.Checks - s.Published
	var missing []string
	for _, f := range propsdb.Fluids() {
		if !slices.ContainsFunc(r.Cases, func(c *runner.Case) bool { return slices.Contains(c.Fluids, f.Name) }) {
			missing = append(missing, f.Name)
		}
	}
	out := []string{
		"The printed page itself, wherever the source says that the figure was read elsewhere.",
		fmt.Sprintf("Figures quoted from memory: %s.", plural(s.Memory, "check rests on one", "checks rest on one")),
		fmt.Sprintf("Agreement with anything outside the tool, in the %s without a source: they compare two routes of the tool with each other.", plural(own, "check", "checks")),
		"Fluids, ranges and functions of the language that enter no case.",
		"Property data to better than the tolerances of the cases they enter: an error smaller than these goes unseen.",
		"Other versions, builds and platforms than the ones named.",
		"How the sheets look, and whether a model or an input suits a real plant.",
	}
	if len(missing) > 0 {
		out = append(out, fmt.Sprintf("Fluids that no case takes a state or a mixture of, %d of %d: %s.", len(missing), len(propsdb.Fluids()), strings.Join(missing, ", ")))
	}
	return out
}

func (r *report) json(w *bytes.Buffer) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(r)
}

// caseTitle is the heading of a case.
func caseTitle(c *runner.Case) string {
	if c.Number == "" {
		return strings.TrimSpace(path.Base(c.File) + " " + c.Title)
	}
	return c.Number + " " + c.Title
}
