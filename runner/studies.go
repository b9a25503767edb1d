package runner

import (
	"context"
	"regexp"
	"strings"

	"workings/runner/cycle"
	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/runner/study"
)

// StudyFile is the file name of problems with a study given by Options.Study.
const StudyFile = "the study"

// shortVary is "r_p 2..30 57".
var shortVary = regexp.MustCompile(`^(\s*vary\s+\S+)\s+(\S.*?)\s*\.\.\s*(\S.*?)\s+(\d+)(?:\s+points)?(\s+logarithmic)?\s*$`)

// givenStudy reads a study that stands in no notebook.
func givenStudy(text string) *resolve.GivenStudy {
	if text == "" {
		return nil
	}
	lines := strings.Split(text, "\n")
	for i, l := range lines {
		if m := shortVary.FindStringSubmatch(l); m != nil {
			lines[i] = m[1] + " from " + m[2] + " to " + m[3] + " in " + m[4] + " points" + m[5]
		}
	}
	file := diag.NewFile(StudyFile, []byte(strings.Join(lines, "\n")))
	src := lang.Source{Kind: "study", Info: "given", Span: diag.Span{Start: 0, End: len(file.Text)}}
	at := 0
	for _, l := range lines {
		src.Lines = append(src.Lines, lang.Line{Text: l, Start: at})
		at += len(l) + 1
	}
	block, problems := lang.Parse(file, src)
	return &resolve.GivenStudy{File: file, Stmts: block.Stmts, Problems: problems}
}

// studies evaluates those of a notebook.
func studies(ctx context.Context, t *eval.Trace, o Options) ([]*study.Result, error) {
	var out []*study.Result
	for _, s := range t.Sheet.Studies {
		opts := study.Options{}
		if o.Progress != nil {
			opts.Progress = func(done, total int) { o.Progress(s.Name, done, total) }
		}
		if hasCycle(t.Sheet) {
			opts.Audit = func(inputs []*resolve.Symbol, values []float64) (int, bool) { return auditAt(t, inputs, values) }
		}
		r, err := study.Run(ctx, t, s, opts)
		if err != nil {
			return nil, err
		}
		out = append(out, r)
	}
	return out, nil
}

func hasCycle(s *resolve.Sheet) bool {
	for _, l := range s.Lines {
		if l.Kind == resolve.CycleLine || l.Sub != nil && hasCycle(l.Sub) {
			return true
		}
	}
	return false
}

// auditAt counts the errors that the audit of the cycles finds with these values of inputs.
func auditAt(t *eval.Trace, inputs []*resolve.Symbol, values []float64) (errors int, ok bool) {
	audits, found := cycle.Run(t.At(inputs, values))
	for _, a := range audits {
		ok = ok || a.Report != nil
	}
	for _, p := range found {
		if p.Severity == diag.Error {
			errors++
		}
	}
	return errors, ok
}
