package eval

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"workings/runner/diag"
	"workings/runner/lang"
	"workings/runner/resolve"
)

// link fills in which entries read which, and what each waits for.
func (b *builder) link(es []*Entry, under *Entry) {
	for _, e := range es {
		read := func(l *resolve.Line) {
			from := b.trace.entries[l]
			if from == nil || from.Number == "" || from == e || from.reader == e {
				return
			}
			from.reader = e
			e.Uses = append(e.Uses, from.Number)
			if e.Number != "" && !ownLine(l, e.Line) {
				from.UsedBy = append(from.UsedBy, e.Number)
			}
		}
		for _, s := range e.Line.Uses {
			read(s.Line)
		}
		for _, l := range e.Line.Reads {
			read(l)
		}
		if e.Status == Waiting {
			e.WaitsFor = b.roots(e.Line)
			if len(e.WaitsFor) == 0 && under != nil {
				e.WaitsFor = []string{under.Number} // a line of a solve that found nothing
			}
		}
		b.link(e.Children, e)
	}
}

// ownLine: a call's or a solve's own lines are no readers of it worth a mention.
func ownLine(call, l *resolve.Line) bool {
	return (call.Kind == resolve.Call || call.Kind == resolve.Solve) && slices.Contains(call.Body, l)
}

// mostRoots is how many failed entries a waiting one names. The first few say all a reader needs.
const mostRoots = 8

// roots are the numbers of the failed entries that a line waits for. They are worked out once a
// line: lines that wait can fan in and out without end.
func (b *builder) roots(l *resolve.Line) []string {
	if out, done := b.waits[l]; done {
		return out
	}
	b.waits[l] = nil // a line under itself adds nothing
	found := map[string]bool{}
	visit := func(on *resolve.Line) {
		e := b.trace.entries[on]
		switch {
		case e == nil || on == l || len(found) > mostRoots || e.Status == Done:
		case e.Status == Failed && e.Number != "":
			found[e.Number] = true
		case e.Status == Failed:
			found[fmt.Sprintf("line %d", on.File.Line(on.Stmt.Span().Start))] = true
		default:
			for _, n := range b.roots(on) {
				found[n] = true
			}
		}
	}
	for _, w := range l.Waits {
		visit(w)
	}
	for _, s := range l.Uses {
		if !b.m.has(s) {
			visit(s.Line)
		}
	}
	if l.Total != nil {
		for _, x := range l.Cycle.Components {
			visit(x.Line)
		}
	}
	for _, lines := range [][]*resolve.Line{l.Reads, l.Body, l.Untils} {
		for _, c := range lines {
			visit(c)
		}
	}
	out := make([]string, 0, len(found))
	for n := range found {
		out = append(out, n)
	}
	sort.Slice(out, func(i, j int) bool { return lessNumber(out[i], out[j]) })
	out = out[:min(len(out), mostRoots)]
	b.waits[l] = out
	return out
}

func lessNumber(a, b string) bool {
	if len(a) != len(b) {
		return len(a) < len(b)
	}
	return a < b
}

// acceptance is an `accept` with the full name of what it is on.
type acceptance struct {
	*resolve.Accept
	on string
}

// accepts are those of the sheet and of the sheets it uses, which settle their own cautions.
func accepts(s *resolve.Sheet) []acceptance {
	var out []acceptance
	for _, a := range s.Accepts {
		on := a.On
		if s.Name != "" {
			on = s.Name + "." + on
		}
		out = append(out, acceptance{a, on})
	}
	for _, l := range s.Lines {
		if l.Sub != nil {
			out = append(out, accepts(l.Sub)...)
		}
	}
	return out
}

// sameSymbol compares two full names by what they print.
func sameSymbol(a, b string) bool {
	i, j := strings.LastIndexByte(a, '.'), strings.LastIndexByte(b, '.')
	return a[:i+1] == b[:j+1] && lang.Name{Text: a[i+1:]}.Key() == lang.Name{Text: b[j+1:]}.Key()
}

// Settle adds problems that later stages found in the states and answers, and then settles the
// cautions that the author has accepted with a reason. It is called once, when nothing more is to
// be found.
func (t *Trace) Settle(found []*diag.Problem) {
	t.Problems = append(append(t.Problems, found...), t.routeCautions()...)
	for _, a := range t.accepts {
		for _, p := range t.Problems {
			if p.Severity != diag.Caution || p.Code != a.Code || p.Subject == "" || !sameSymbol(p.Subject, a.on) {
				continue
			}
			p.Severity, a.Used = diag.Note, true
			p.Message += "; accepted: " + a.Reason.Text
			p.Hint = ""
			if d := t.cautions[p]; d != nil {
				d.Accepted = a.Accept
			}
			if ra := t.routeAnswer(p); ra != nil {
				ra.Accepted = a.Accept
			}
		}
		if !a.Used {
			t.Problems = append(t.Problems, &diag.Problem{Code: CodeAccept, Severity: diag.Caution, File: a.Line.File, Span: a.Line.Stmt.Span(),
				Message: fmt.Sprintf("this accepts %s on %s, and there is no such caution", a.Code, a.On), Hint: "take the line out, so that it cannot hide a later caution"})
		}
	}
	diag.Sort(t.Problems)
}
