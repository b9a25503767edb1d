package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"workings/runner"
	"workings/runner/diag"
)

// studying holds the flags of a study that stands in no notebook, and where it goes.
type studying struct {
	vary, family, keep, mark []string
	seek                     string
	csv, chart               string
}

// text is the study as a fence would hold it; "" where no flag asks for one.
func (s *studying) text() string {
	var lines []string
	add := func(word string, values []string) {
		for _, v := range values {
			lines = append(lines, word+" "+strings.TrimSpace(strings.ReplaceAll(v, "\n", " ")))
		}
	}
	add("vary", s.vary)
	if s.seek != "" {
		add("seek", []string{s.seek})
	}
	add("for", s.family)
	add("keep", s.keep)
	add("mark", s.mark)
	return strings.Join(lines, "\n")
}

func newStudy(a *app) *cobra.Command {
	var ev evaluation
	var s studying
	cmd := &cobra.Command{
		Use:   "study FILE",
		Short: "Vary inputs of a notebook and print what depends on them",
		Long: `Evaluate a notebook at many points: an input is varied, or two, or the best of several is sought.
What follows each flag is what a study fence holds after the word (see the guide, chapter 24).
Without such flags the studies that the notebook holds are evaluated. A point of a study has the
values, to the last digit, of the sheet with the same inputs; checks are not evaluated at points.
` + filesHelp,
		Example: `  workings study plant.md --vary "r_p from 2 to 30 in 57 points" --keep eta_th
  workings study plant.md --vary "r_p 2..30 57" --for "eps over 0 %, 75 %" --keep eta_th \
      --mark "largest eta_th" --csv ratio.csv --chart ratio.svg
  workings study plant.md --seek "largest eta_th by r_p in 2 .. 30 subject to T4 < 900 K"`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return fmt.Errorf("takes one notebook, and was given %s as well", args[1])
			}
			return atLeastOne("a notebook", `plant.md --vary "r_p from 2 to 30 in 57 points" --keep eta_th`)(cmd, args)
		},
		RunE: func(_ *cobra.Command, args []string) error {
			ts, err := targets(args, ev.root)
			if err != nil {
				return err
			}
			if len(ts) != 1 {
				return &hinted{"a study is of one notebook", "name one: workings study plant.md"}
			}
			if s.csv != "" && s.csv == s.chart {
				return &hinted{"--csv and --chart name the same file", "name two"}
			}
			ev.study = s.text()
			_, err = a.each(ts, func(t *target, o *outcome) {
				if r := t.build(o, &ev, false); r != nil {
					s.print(a, t, o, r)
				}
			})
			return err
		},
	}
	ev.flags(cmd, false)
	f := cmd.Flags()
	f.StringArrayVar(&s.vary, "vary", nil, "an input and its values, `VALUES`: \"r_p from 2 to 30 in 57 points\", \"r_p 2..30 57\" or\n\"eps over 0 %, 75 %\" (twice for two inputs)")
	f.StringArrayVar(&s.family, "for", nil, "one series for each of these, `VALUES`: \"eps over 0 %, 75 %\", \"air over air, cold_air\"")
	f.StringArrayVar(&s.keep, "keep", nil, "what is wanted, `SYMBOLS`: \"eta_th, w_net in kJ/kg\" (repeatable)")
	f.StringArrayVar(&s.mark, "mark", nil, "what is pointed out, `MARK`: \"largest eta_th\" or \"eta_th crossing 40 %\" (repeatable)")
	f.StringVar(&s.seek, "seek", "", "the best of several inputs, `SEEK`: \"largest eta_th by r_p in 2 .. 30 subject to T4 < 900 K\"")
	f.StringVar(&s.csv, "csv", "", "write all points to `FILE`")
	f.StringVar(&s.chart, "chart", "", "draw what is kept against what is varied into `FILE`, an SVG picture")
	return cmd
}

// print prints the studies of a notebook and writes the files that were asked for.
func (s *studying) print(a *app, t *target, o *outcome, r *runner.Result) {
	p := a.paintFor(a.out)
	l := listing{w: &o.out, p: p}
	for i, rows := range r.StudyListings() {
		if i > 0 {
			o.out.WriteString("\n")
		}
		l.fence(l.visible(rows))
	}
	t.printProblems(&o.err, r.Problems(), diag.Error, a.paintFor(a.err))
	if len(r.Studies) == 0 && o.code < runner.ExitErrors {
		o.fail(t, &hinted{"the notebook holds no study", `say what is varied: --vary "NAME from A to B in N points" --keep SYMBOL`})
		return
	}
	if s.csv == "" && s.chart == "" || len(r.Studies) == 0 {
		return
	}
	if len(r.Studies) > 1 {
		o.fail(t, &hinted{fmt.Sprintf("the notebook holds %d studies, and a file has one", len(r.Studies)), "say which with --vary, or write them all: workings render --csv"})
		return
	}
	if s.csv != "" && !put(t, o, s.csv, r.StudyCSV(0)) {
		return
	}
	if s.chart != "" {
		picture, err := r.StudyPicture(0)
		if err != nil {
			o.fail(t, err)
			return
		}
		put(t, o, s.chart, picture)
	}
}
