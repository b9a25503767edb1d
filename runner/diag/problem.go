package diag

import "sort"

// Severity says what a problem does to the sheet.
type Severity int

const (
	// Note informs and changes nothing.
	Note Severity = iota
	// Caution asks for a second look; the sheet still counts as good.
	Caution
	// Error means that a line has no value; the sheet exits with 2.
	Error
)

func (s Severity) String() string {
	return [...]string{"note", "caution", "error"}[s]
}

// Problem is one fault of a notebook. One fault gives one problem: what only depends on a
// failed line waits for it and is not reported again.
type Problem struct {
	Code     Code
	Severity Severity
	File     *File // the file that Span is in
	Span     Span
	Message  string // one sentence, lower case, no full stop: what is wrong
	Label    string // what stands under the marker: what was found or expected
	Hint     string // what to do about it
	Subject  string // the symbol it is about, which `accept CODE on SYMBOL` names; may be empty
	Related  []Related
	// WaitsFor names the lines or symbols whose failure keeps this one from a value; set only
	// on problems of dependents, which are never printed as errors of their own.
	WaitsFor []string
}

// Related is another place that a problem points at.
type Related struct {
	File    *File
	Span    Span
	Message string // "first defined here"
}

// MoveTo reports the problem at another place, that of which the reader can mend it; what was found
// where it was before is told there.
func (p *Problem) MoveTo(file *File, span Span, before string) {
	if p.Label != "" {
		before += ": " + p.Label
	}
	p.Related = append([]Related{{p.File, p.Span, before}}, p.Related...)
	p.File, p.Span, p.Label = file, span, ""
}

// Line is the line of the file, from 1.
func (p *Problem) Line() int {
	line, _ := p.Position()
	return line
}

// Position is line and column, from 1.
func (p *Problem) Position() (line, column int) {
	if p.File == nil {
		return 0, 0
	}
	return p.File.Position(p.Span.Start)
}

// Sort orders problems by file, place and code, so that every run reports alike.
func Sort(ps []*Problem) {
	name := func(p *Problem) string {
		if p.File == nil {
			return ""
		}
		return p.File.Name
	}
	sort.SliceStable(ps, func(i, j int) bool {
		a, b := ps[i], ps[j]
		if name(a) != name(b) {
			return name(a) < name(b)
		}
		if a.Span.Start != b.Span.Start {
			return a.Span.Start < b.Span.Start
		}
		return a.Code < b.Code
	})
}

// Worst is the highest severity among ps, and false where there is none.
func Worst(ps []*Problem) (Severity, bool) {
	worst, any := Note, false
	for _, p := range ps {
		worst, any = max(worst, p.Severity), true
	}
	return worst, any
}
