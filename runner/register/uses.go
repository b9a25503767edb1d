package register

import (
	"path"
	"strings"

	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
)

// findUses notes which sheets of the package the notebook itself uses. What those use in turn is
// theirs.
func (s *Sheet) findUses(byPath map[string]*Sheet) {
	for _, e := range s.Trace.Entries {
		stmt, ok := e.Line.Stmt.(*lang.Use)
		if !ok || e.Line.Kind != resolve.Use || e.Line.Sub == nil || stmt.Path == nil || stmt.As == nil {
			continue
		}
		used := byPath[path.Join(path.Dir(s.Path), stmt.Path.Value)]
		if used == nil || used == s {
			continue
		}
		u := &Use{User: s, Used: used, Name: stmt.As.Text, Entry: e}
		for _, b := range e.Line.Inputs {
			g := Given{Use: u, Name: b.Symbol.Name}
			g.Value, g.OK = s.Trace.Value(e.Line.Sub.Symbol("", g.Name))
			u.With = append(u.With, g)
		}
		for _, r := range e.Results {
			if r.Read {
				u.Values = append(u.Values, Value{Symbol: r.Symbol, Value: r.Value, OK: r.OK, Entry: used.definedIn(r.Symbol)})
			}
		}
		s.Uses = append(s.Uses, u)
		used.UsedBy = append(used.UsedBy, u)
	}
}

// definedIn is the number, on the sheet's own page, of the entry that gives a symbol its value. The
// symbol is that of a user's trace: both come from one line of one text.
func (s *Sheet) definedIn(sym *resolve.Symbol) string {
	if sym.Line == nil || sym.Line.Stmt == nil {
		return ""
	}
	for _, e := range s.Trace.Entries {
		if n := entryAt(e, sym.Line); n != "" {
			return n
		}
	}
	return ""
}

func entryAt(e *eval.Entry, l *resolve.Line) string {
	if e.Line.File == nil || e.Line.Sub != nil {
		return ""
	}
	if e.Line.Kind == l.Kind && e.Line.Stmt != nil && e.Line.Stmt.Span() == l.Stmt.Span() && e.Number != "" {
		return e.Number
	}
	for _, c := range e.Children {
		if n := entryAt(c, l); n != "" {
			return n
		}
	}
	return ""
}

// upstream are the sheets that a sheet rests on, the nearest first.
func (s *Sheet) upstream() []*Sheet {
	if s.above != nil || len(s.Uses) == 0 {
		return s.above
	}
	seen := map[*Sheet]bool{s: true}
	var out []*Sheet
	for next := []*Sheet{s}; len(next) > 0; next = next[1:] {
		for _, u := range next[0].Uses {
			if !seen[u.Used] {
				seen[u.Used] = true
				out = append(out, u.Used)
				next = append(next, u.Used)
			}
		}
	}
	s.above = out
	return out
}

// leadsTo is the first use line by which the sheet rests on another, or nil.
func (s *Sheet) leadsTo(other *Sheet) *Use {
	for _, u := range s.Uses {
		if u.Used == other {
			return u
		}
	}
	for _, u := range s.Uses {
		for _, up := range u.Used.upstream() {
			if up == other {
				return u
			}
		}
	}
	return nil
}

// Standing is how a sheet stands by itself, used sheets aside.
type Standing struct {
	Checks, Holds, Fails, Waits    int
	Errors, Cautions               int // of Problems, failing checks aside
	Assumptions, Open              int
	Inputs, Unsourced, Overridden  int
	FailingEntries, WaitingEntries []string
}

// Well reports a sheet of which nothing keeps a reader from using its results, as far as the tool
// can tell.
func (s Standing) Well() bool {
	return s.Fails+s.Waits+s.Errors+s.Cautions+s.Open+s.Overridden == 0
}

func (s *Sheet) stand() {
	st := Standing{}
	for _, e := range s.Trace.Checks {
		switch c := e.Check; {
		case e.Sheet != "" || c != nil && c.Caution:
			continue
		case c == nil || e.Status != eval.Done || c.Verdict == eval.Waits:
			st.Waits++
			st.WaitingEntries = append(st.WaitingEntries, e.Number)
		case c.Verdict == eval.Holds:
			st.Holds++
		default:
			st.Fails++
			st.FailingEntries = append(st.FailingEntries, e.Number)
		}
		st.Checks++
	}
	for _, p := range s.Problems {
		switch severity(p) {
		case isError:
			st.Errors++
		case isCaution:
			st.Cautions++
		case isFailedCheck:
			if s.path(p.File) != s.Path {
				st.Fails++ // a used sheet's, with the inputs that it is given here
			}
		}
	}
	for _, a := range s.Trace.Sheet.Assumed {
		st.Assumptions++
		if a.Open {
			st.Open++
		}
	}
	for _, l := range s.Trace.Sheet.Lines {
		if l.Kind != resolve.Input || s.Trace.Entry(l) == nil {
			continue
		}
		st.Inputs++
		if len(l.Sources) == 0 {
			st.Unsourced++
		}
		if l.Overridden {
			st.Overridden++
		}
	}
	s.Standing = st
}

// Own is the number that an entry of a used sheet has on that sheet's own page: gt.12 is 12 there.
func (u *Use) Own(number string) (string, bool) {
	own, ok := strings.CutPrefix(number, u.Name+".")
	return own, ok
}
