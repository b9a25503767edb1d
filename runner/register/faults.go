package register

import (
	"slices"

	"workings/runner/diag"
	"workings/runner/resolve"
)

// Faults are the problems of each sheet, and of all sheets together each fault once: one in a file that
// several sheets read is the first sheet's, and so is a circle of sheets, which each of them finds in
// another line.
func (p *Package) Faults() map[*Sheet][]*diag.Problem {
	out := map[*Sheet][]*diag.Problem{}
	seen := map[fault]bool{}
	for _, s := range p.Sheets {
		for _, q := range s.Problems {
			f := s.fault(q)
			if q.Code == resolve.CodeUseCycle {
				f = fault{path: p.circle(f.path), code: q.Code}
			} else if p.Sheet(f.path) != nil {
				out[s] = append(out[s], q) // a used sheet may have a fault with the inputs of each user
				continue
			}
			if !seen[f] {
				seen[f] = true
				out[s] = append(out[s], q)
			}
		}
	}
	return out
}

// circle names the circle that a sheet is in by the first of all sheets that are in it.
func (p *Package) circle(path string) string {
	in := p.Sheet(path)
	if in == nil {
		return path
	}
	above := map[*Sheet]bool{}
	for _, s := range in.upstream() {
		above[s] = true
	}
	first := slices.IndexFunc(p.Sheets, func(s *Sheet) bool { return s == in || above[s] && slices.Contains(s.upstream(), in) })
	return p.Sheets[first].Path
}
