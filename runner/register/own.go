package register

import (
	"slices"
	"strings"

	"workings/runner/diag"
	"workings/runner/eval"
)

// Own is the trace of the sheet without what stands on the pages of the sheets that it uses: their
// lines, checks, fluids and problems. What was evaluated with inputs given here stays; so do all
// values, and what the package as a whole brings up is added.
func (s *Sheet) Own() *eval.Trace {
	own := *s.Trace
	elsewhere := func(name string) bool {
		return slices.ContainsFunc(s.Uses, func(u *Use) bool {
			return u.leaves() && (name == u.Name || strings.HasPrefix(name, u.Name+"."))
		})
	}
	own.Entries = slices.Clone(own.Entries)
	for i, e := range own.Entries {
		for _, u := range s.Uses {
			if u.Entry != e || !u.leaves() {
				continue
			}
			bare := *e
			bare.Children, bare.Results = nil, nil
			for _, v := range u.Values {
				bare.Results = append(bare.Results, eval.Result{Symbol: v.Symbol, OK: v.OK, Value: v.Value, Read: true})
			}
			own.Entries[i] = &bare
		}
	}
	own.Checks = slices.DeleteFunc(slices.Clone(own.Checks), func(e *eval.Entry) bool { return elsewhere(e.Sheet) })
	own.Fluids = slices.DeleteFunc(slices.Clone(own.Fluids), func(f eval.FluidUse) bool { return elsewhere(f.Name) })
	own.Problems = s.reports(func(q *diag.Problem) bool { return s.owner(q) == nil || s.varied(q) })
	return &own
}

// Whole is the trace of the sheet with all that it rests on, and what the package brings up.
func (s *Sheet) Whole() *eval.Trace {
	whole := *s.Trace
	whole.Problems = s.reports(func(*diag.Problem) bool { return true })
	return &whole
}

// reports are the problems of the sheet and of the package, and those of used sheets that are wanted.
func (s *Sheet) reports(used func(*diag.Problem) bool) []*diag.Problem {
	var out []*diag.Problem
	for _, q := range s.Trace.Problems {
		if !s.Settled(q) && (s.PathOf(q.File) == s.Path || used(q)) {
			out = append(out, q)
		}
	}
	out = append(out, s.Found...)
	diag.Sort(out)
	return out
}

// leaves reports a use of which the lines are left to the page of the used sheet.
func (u *Use) leaves() bool { return u.Plain() && u.Entry.Status == eval.Done }

// varied reports a problem of a sheet whose lines stand on this page too.
func (s *Sheet) varied(q *diag.Problem) bool {
	path := s.PathOf(q.File)
	return slices.ContainsFunc(s.Uses, func(u *Use) bool {
		return !u.leaves() && (u.Used.Path == path || slices.ContainsFunc(u.Used.upstream(), func(up *Sheet) bool { return up.Path == path }))
	})
}
