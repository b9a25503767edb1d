package register

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/lang"
)

// The codes of what only shows where sheets are together. All are cautions.
const (
	// CodeNumberTwice: two sheets have one number, so that a citation of it leads to either.
	CodeNumberTwice diag.Code = "sheet-number-twice"
	// CodeRests: a sheet rests on another that has a failing check or an error.
	CodeRests diag.Code = "used-sheet-fails"
	// CodeSuperseded: a source names a sheet of the package in another revision than it has.
	CodeSuperseded diag.Code = "superseded-reference"
	// CodeDiffers: one input, described alike and from one source, has two values.
	CodeDiffers diag.Code = "input-differs"
)

// CodeNowhere is the caution of a sheet alone that nothing reads a value. Another sheet may.
const CodeNowhere diag.Code = "leads-nowhere"

// Settled reports a caution of the sheet alone that the package takes back.
func (s *Sheet) Settled(q *diag.Problem) bool {
	if q.Code != CodeNowhere || s.PathOf(q.File) != s.Path {
		return false
	}
	return slices.ContainsFunc(s.UsedBy, func(u *Use) bool {
		return slices.ContainsFunc(u.Values, func(v Value) bool {
			return (lang.Name{Text: v.Symbol.Name}).Key() == (lang.Name{Text: q.Subject}).Key()
		})
	})
}

type weight int

const (
	isNote weight = iota
	isCaution
	isFailedCheck
	isError
)

func severity(p *diag.Problem) weight {
	switch {
	case p.Severity == diag.Caution:
		return isCaution
	case p.Severity != diag.Error:
		return isNote
	case p.Code == eval.CodeCheck:
		return isFailedCheck
	}
	return isError
}

// fault is what makes two problems one: a used sheet is evaluated again in each sheet that uses it.
type fault struct {
	path string
	span diag.Span
	code diag.Code
}

func (s *Sheet) fault(p *diag.Problem) fault { return fault{s.PathOf(p.File), p.Span, p.Code} }

// own gives each sheet its problems. A fault that a sheet upstream has too is reported there alone;
// what only the inputs given to a used sheet bring about is the user's.
func (p *Package) own() {
	for _, s := range p.Sheets {
		for _, q := range s.Trace.Problems {
			switch {
			case s.Settled(q):
			case s.PathOf(q.File) == s.Path:
				s.Problems = append(s.Problems, q)
			case s.owner(q) == nil:
				s.Problems = append(s.Problems, s.usedHere(q))
			}
		}
	}
}

// usedHere points from a problem of a used sheet, which names that by the user's name for it, at the
// line that uses it.
func (s *Sheet) usedHere(q *diag.Problem) *diag.Problem {
	for _, u := range s.Uses {
		if s.PathOf(q.File) == u.Used.Path && strings.HasSuffix(q.Message, " "+u.Name+")") {
			out := *q
			out.Related = append(slices.Clone(q.Related), diag.Related{File: s.Doc.File, Span: u.Entry.Line.Stmt.Span(), Message: "with the inputs that it is given here"})
			return &out
		}
	}
	return q
}

// owner is the sheet upstream at which a problem of the sheet's trace is reported, or nil: the one
// farthest upstream that has it.
func (s *Sheet) owner(q *diag.Problem) *Sheet {
	f := s.fault(q)
	for _, up := range s.fromTheTop() {
		if up.faults()[f] {
			return up
		}
	}
	return nil
}

// fromTheTop are the sheets upstream, each after those that it rests on.
func (s *Sheet) fromTheTop() []*Sheet {
	if s.top == nil {
		s.top = slices.Clone(s.upstream())
		slices.SortStableFunc(s.top, func(a, b *Sheet) int { return a.rank - b.rank })
	}
	return s.top
}

// rank numbers the sheets so that each comes after those that it rests on; a circle is opened
// somewhere.
func (p *Package) rank() {
	seen := map[*Sheet]bool{}
	next := 0
	var visit func(s *Sheet)
	visit = func(s *Sheet) {
		if seen[s] {
			return
		}
		seen[s] = true
		for _, u := range s.Uses {
			visit(u.Used)
		}
		s.rank = next
		next++
	}
	for _, s := range p.Sheets {
		visit(s)
	}
}

// faults are those of the sheet's trace.
func (s *Sheet) faults() map[fault]bool {
	if s.allFaults == nil {
		s.allFaults = map[fault]bool{}
		for _, q := range s.Trace.Problems {
			s.allFaults[s.fault(q)] = true
		}
	}
	return s.allFaults
}

func (s *Sheet) find(code diag.Code, span diag.Span, hint, format string, args ...any) *diag.Problem {
	q := &diag.Problem{Code: code, Severity: diag.Caution, File: s.Doc.File, Span: span, Message: fmt.Sprintf(format, args...), Hint: hint}
	s.Found = append(s.Found, q)
	return q
}

// rests tells the users of a sheet that has failing checks or errors, all the way down. What a user's
// own trace holds decides: with other inputs the check may hold.
func (p *Package) rests() {
	for _, s := range p.Sheets {
		faults := map[*Sheet][]*diag.Problem{}
		seen := map[fault]bool{}
		for _, q := range s.Trace.Problems {
			f := s.fault(q)
			if severity(q) < isFailedCheck || f.path == s.Path || seen[f] {
				continue
			}
			seen[f] = true
			if r := s.owner(q); r != nil {
				faults[r] = append(faults[r], q)
			}
		}
		for _, u := range s.Uses {
			var roots []*Sheet
			for _, r := range append([]*Sheet{u.Used}, u.Used.upstream()...) {
				if len(faults[r]) > 0 && s.leadsTo(r) == u {
					roots = append(roots, r)
				}
			}
			if len(roots) > 0 {
				s.restsOn(u, roots, faults)
			}
		}
	}
}

func (s *Sheet) restsOn(u *Use, roots []*Sheet, faults map[*Sheet][]*diag.Problem) {
	var said []string
	for _, r := range roots {
		fails := 0
		for _, q := range faults[r] {
			if severity(q) == isFailedCheck {
				fails++
			}
		}
		var has []string
		if n := len(faults[r]) - fails; n > 0 {
			has = append(has, count(n, "error", "errors"))
		}
		if fails > 0 {
			has = append(has, count(fails, "failing check", "failing checks"))
		}
		said = append(said, r.called()+", which has "+strings.Join(has, " and "))
	}
	span := u.Entry.Line.Stmt.Span()
	q := s.find(CodeRests, span, "mend it there first: until then nothing that is read from it can be relied on", "this sheet rests on %s", strings.Join(said, "; and on "))
	for _, r := range roots {
		first := faults[r][0]
		message := first.Message
		for _, own := range r.Trace.Problems { // there it does not speak of a used sheet
			if r.fault(own) == s.fault(first) {
				message = own.Message
			}
		}
		if s.PathOf(first.File) == r.Path {
			q.Related = append(q.Related, diag.Related{File: r.fileFor(s), Span: first.Span, Message: message})
		}
	}
}

// called is a sheet's number with the notebook, for a sentence.
func (s *Sheet) called() string {
	if s.Number() == "" {
		return s.Path
	}
	return s.Number() + " (" + s.Path + ")"
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// numbers looks for sheets that share one.
func (p *Package) numbers() {
	first := map[string]*Sheet{}
	for _, s := range p.Sheets {
		n := s.Number()
		if n == "" {
			continue
		}
		other := first[n]
		if other == nil {
			first[n] = s
			continue
		}
		q := s.find(CodeNumberTwice, s.Doc.Front.Number.Span, "give one of them another number, so that whoever cites it is understood", "the number %s is taken: %s has it too", n, other.Path)
		q.Related = append(q.Related, diag.Related{File: other.fileFor(s), Span: other.Doc.Front.Number.Span, Message: "the other sheet"})
	}
}

// superseded looks, in footnotes and in the descriptions of lines, for other sheets of the package
// that are named in a revision which they do not have. Running text may tell of older ones.
func (p *Package) superseded() {
	byNumber := map[string]*Sheet{}
	var numbers []string
	for _, s := range p.Sheets {
		if n := s.Number(); n != "" && s.Revision() != "" && byNumber[n] == nil {
			byNumber[n] = s
			numbers = append(numbers, regexp.QuoteMeta(n))
		}
	}
	if len(numbers) == 0 {
		return
	}
	slices.SortFunc(numbers, func(a, b string) int { return len(b) - len(a) }) // HS-01 must not hide HS-010
	cited := regexp.MustCompile(`(` + strings.Join(numbers, "|") + `)\b,?\s+\(?(?:revision|Revision|rev\.?|Rev\.?)\s+([0-9A-Za-z][0-9A-Za-z.]*)`)
	for _, s := range p.Sheets {
		for _, at := range s.sourceTexts() {
			text := at.In(s.Doc.File)
			for _, m := range cited.FindAllStringSubmatchIndex(text, -1) {
				if m[0] > 0 && wordByte(text[m[0]-1]) {
					continue
				}
				other := byNumber[text[m[2]:m[3]]]
				said := strings.TrimRight(text[m[4]:m[5]], ".")
				if other == s || strings.EqualFold(said, other.Revision()) {
					continue
				}
				span := diag.Span{Start: at.Start + m[0], End: at.Start + m[4] + len(said)}
				q := s.find(CodeSuperseded, span, "read the value from that sheet by use, or compare it with the present revision and name that", "this cites %s revision %s, and the sheet here is revision %s", other.Number(), said, other.Revision())
				q.Related = append(q.Related, diag.Related{File: other.fileFor(s), Span: other.Doc.Front.Revision.Span, Message: "its revision"})
			}
		}
	}
}

func wordByte(c byte) bool {
	return c == '-' || c == '_' || c >= '0' && c <= '9' || c >= 'A' && c <= 'Z' || c >= 'a' && c <= 'z'
}

// sourceTexts are the footnotes, and the descriptions of the lines.
func (s *Sheet) sourceTexts() []diag.Span {
	var out []diag.Span
	for _, n := range s.Doc.Footnotes {
		out = append(out, n.Span)
	}
	for _, b := range s.Doc.Blocks {
		for _, l := range b.Lines {
			if _, said, ok := strings.Cut(l.Text, "//"); ok {
				end := l.Start + len(l.Text)
				out = append(out, diag.Span{Start: end - len(said), End: end})
			}
		}
	}
	return out
}
