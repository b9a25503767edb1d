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
			g := Given{Use: u, Name: b.Symbol.Name, Symbol: e.Line.Sub.Symbol("", b.Symbol.Name)}
			g.Value, g.OK = s.Trace.Value(g.Symbol)
			u.With = append(u.With, g)
		}
		s.Uses = append(s.Uses, u)
		used.UsedBy = append(used.UsedBy, u)
	}
	s.findValues()
}

// findValues notes what the sheet reads from those that it uses: in its lines, and in what it shows.
func (s *Sheet) findValues() {
	seen := map[*resolve.Symbol]bool{}
	read := func(sym *resolve.Symbol) {
		if sym == nil || sym.Sheet == "" || sym.Local || seen[sym] {
			return
		}
		seen[sym] = true
		for _, u := range s.Uses {
			if sym.Sheet == u.Name || strings.HasPrefix(sym.Sheet, u.Name+".") { // gt, or gt.plant of a cycle
				v := Value{Symbol: sym, Entry: u.Used.definedIn(sym)}
				v.Value, v.OK = s.Trace.Value(sym)
				u.Values = append(u.Values, v)
				return
			}
		}
	}
	var lines func(ls []*resolve.Line)
	lines = func(ls []*resolve.Line) {
		for _, l := range ls {
			for _, sym := range l.Uses {
				read(sym)
			}
			if l.Sub == nil {
				lines(l.Body)
				lines(l.Untils)
			}
		}
	}
	sheet := s.Trace.Sheet
	lines(sheet.Lines)
	for _, t := range sheet.Tables {
		for _, shown := range t.Symbols {
			read(shown.Symbol)
		}
	}
	for _, list := range [][]*resolve.Shown{sheet.Answers, sheet.Prose} {
		for _, shown := range list {
			read(shown.Symbol)
		}
	}
}

// Named is the sheet that goes by a name in this one: gt, or gt.site where that uses it in turn.
func (s *Sheet) Named(name string) *Sheet {
	at := s
next:
	for part := range strings.SplitSeq(name, ".") {
		for _, u := range at.Uses {
			if u.Name == part {
				at = u.Used
				continue next
			}
		}
		return nil
	}
	return at
}

// SheetOf is the sheet of the package that a use line brings in, be it the notebook's own or one of a
// notebook that it uses; nil where it is none.
func (s *Sheet) SheetOf(l *resolve.Line) *Sheet {
	stmt, ok := l.Stmt.(*lang.Use)
	if !ok || stmt.Path == nil {
		return nil
	}
	return s.pkg.Sheet(path.Join(path.Dir(s.PathOf(l.File)), stmt.Path.Value))
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

// Standing is how a sheet stands by itself: what it gives to a used sheet counts, what stands on that
// sheet's own page does not.
type Standing struct {
	Checks, Holds, Fails, Waits   int
	Errors, Cautions              int // of Problems, failing checks aside
	Resting                       int // of Cautions: that it rests on a sheet that fails
	Assumptions, Open             int // Open: to be confirmed
	Inputs, Unsourced, Overridden int // Overridden: set from outside
}

// Well reports a sheet that by itself has nothing which keeps a reader from using its results, as far
// as the tool can tell.
func (s Standing) Well() bool {
	return s.Fails+s.Waits+s.Errors+s.Cautions-s.Resting+s.Open+s.Overridden == 0
}

// stand counts; which inputs were set from outside is known by then.
func (s *Sheet) stand() {
	st := Standing{Overridden: s.Standing.Overridden}
	for _, e := range s.Own().Checks {
		switch c := e.Check; {
		case c != nil && c.Caution:
			continue
		case c == nil || e.Status != eval.Done || c.Verdict == eval.Waits:
			st.Waits++
		case c.Verdict == eval.Holds:
			st.Holds++
		default:
			st.Fails++
		}
		st.Checks++
	}
	for _, p := range s.Problems {
		switch severity(p) {
		case isError:
			st.Errors++
		case isCaution:
			st.Cautions++
			if p.Code == CodeRests {
				st.Resting++
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
		if l.Kind == resolve.Input && s.Trace.Entry(l) != nil {
			st.Inputs++
			if len(l.Sources) == 0 {
				st.Unsourced++
			}
		}
	}
	s.Standing = st
}

func (s *Sheet) overridden() int {
	n := 0
	for _, l := range s.Trace.Sheet.Lines {
		if l.Kind == resolve.Input && l.Overridden {
			n++
		}
	}
	return n
}

// Plain reports that the used sheet stands on its own page with the values that are read from it: no
// input of it is given here, and none was set from outside there.
func (u *Use) Plain() bool { return len(u.With) == 0 && u.Used.Standing.Overridden == 0 }

// OwnNumber is the number that an entry of a used sheet has on that sheet's own page: gt.12 is 12 there.
func (u *Use) OwnNumber(number string) (string, bool) {
	own, ok := strings.CutPrefix(number, u.Name+".")
	return own, ok
}
