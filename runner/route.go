package runner

import (
	"strings"

	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/units"
)

// CodeAlso marks a second route that cannot be read.
const CodeAlso diag.Code = "also"

// AlsoFile is the file name of problems with a second route given by Options.Also.
const AlsoFile = "--also"

// MaxRoutes bounds how often one sheet is evaluated again.
const MaxRoutes = 10

const alsoForm = "write FLUID = MODEL, and `within 2 %` after it where a larger difference is to be explained: air = perfect(k = 1.4, cp = 1.005 kJ/(kg·K)) within 2 %"

// second is one second route, read.
type second struct {
	other     resolve.OtherFluid
	model     string
	tolerance float64
}

// routes evaluates the sheet again for every second route that the front matter or the caller asks
// for, and sets the answers beside its own. What cannot be read is a problem of the sheet.
func (l *loader) routes(src *resolve.Source, trace *eval.Trace, r *Result, set []resolve.Override) []*diag.Problem {
	var problems []*diag.Problem
	n := 0
	add := func(file *diag.File, text string, at diag.Span) {
		if n++; n > MaxRoutes {
			if n == MaxRoutes+1 {
				problems = append(problems, &diag.Problem{Code: CodeAlso, Severity: diag.Error, File: file, Span: at,
					Message: "more than 10 second routes are asked for", Hint: "take some out"})
			}
			return
		}
		s, p := readSecond(file, text, at)
		if p != nil {
			problems = append(problems, p)
			return
		}
		again := eval.Run(resolve.ResolveAlso(src, l, set, &s.other))
		for _, p := range again.Problems {
			if p.File == file && p.Span.Start >= at.Start && p.Span.End <= at.End && p.Severity == diag.Error {
				problems = append(problems, p) // the model itself is at fault
				return
			}
		}
		trace.Compare(&eval.Route{Fluid: s.other.Name, Model: s.model, Tolerance: s.tolerance}, again)
	}
	for _, e := range r.Doc.Front.Also {
		add(r.Doc.File, e.Text, e.Span)
	}
	for _, text := range r.opts.Also {
		add(diag.NewFile(AlsoFile, []byte(text)), text, diag.Span{End: len(text)})
	}
	return problems
}

// readSecond reads `air = perfect(k = 1.4, R = 287 J/(kg·K)) within 2 %`.
func readSecond(file *diag.File, text string, at diag.Span) (*second, *diag.Problem) {
	fault := func(span diag.Span, message, hint string) *diag.Problem {
		if hint == "" {
			hint = alsoForm
		}
		return &diag.Problem{Code: CodeAlso, Severity: diag.Error, File: file, Span: span, Message: message, Hint: hint}
	}
	name, spec, ok := strings.Cut(text, "=")
	name = strings.TrimSpace(name)
	if !ok || name == "" || strings.TrimSpace(spec) == "" {
		return nil, fault(at, "this is no second route", "")
	}
	start := at.Start + strings.Index(text, "=") + 1
	spec, limit, limited := cutLast(spec, " within ")
	s := &second{model: strings.TrimSpace(spec)}
	x, ps := lang.ParseExpr(file, lang.Line{Text: spec, Start: start})
	if len(ps) > 0 || x == nil {
		if len(ps) > 0 {
			return nil, fault(ps[0].Span, ps[0].Message, ps[0].Hint)
		}
		return nil, fault(at, "this is no second route", "")
	}
	if limited {
		span := diag.Span{Start: start + len(spec) + len(" within "), End: at.End}
		t, ps := lang.ParseExpr(file, lang.Line{Text: limit, Start: span.Start})
		n, isNumber := t.(*lang.Number)
		if len(ps) > 0 || !isNumber {
			return nil, fault(span, "the allowed difference is a percentage", "for example within 2 %")
		}
		s.tolerance = n.Value
		if n.Unit != nil {
			u, err := units.Parse(n.Unit.Text)
			if err != nil || u.Dimension() != (units.Dimension{}) {
				return nil, fault(span, "the allowed difference is a percentage", "for example within 2 %")
			}
			s.tolerance = u.ToSI(n.Value, 0)
		}
		if !(s.tolerance > 0) {
			return nil, fault(span, "the allowed difference must be above zero", "for example within 2 %")
		}
	}
	lead := len(text) - len(strings.TrimLeft(text, " \t"))
	s.other = resolve.OtherFluid{Name: name, File: file, Spec: x, At: diag.Span{Start: at.Start + lead, End: at.Start + lead + len(name)}}
	return s, nil
}

func cutLast(s, sep string) (before, after string, found bool) {
	if i := strings.LastIndex(s, sep); i >= 0 {
		return s[:i], s[i+len(sep):], true
	}
	return s, "", false
}
