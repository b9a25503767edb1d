package eval

import (
	"fmt"
	"math"

	"workings/runner/diag"
	"workings/runner/resolve"
	"workings/units"
)

// CodeRoute marks an answer that a second route gives otherwise than its tolerance allows.
const CodeRoute diag.Code = "second-route"

// Route is the whole sheet evaluated again with another model for one of its fluids.
type Route struct {
	Fluid string // whose model is another
	Model string // as it was typed: perfect(k = 1.4, cp = 1.005 kJ/(kg·K))
	// Tolerance is the relative difference beyond which a sentence is asked for; 0 where none is
	// stated.
	Tolerance float64
	Answers   []RouteAnswer
	Problems  []*diag.Problem // errors of the second evaluation
}

// RouteAnswer is one answer by both routes.
type RouteAnswer struct {
	Shown       *resolve.Shown // of the sheet itself
	Here, There Value          // There in the unit of Here
	HasHere     bool
	HasThere    bool
	Difference  Value   // There − Here
	Relative    float64 // of Here; infinite where Here is 0 and There is not
	Exceeds     bool    // the tolerance
	// Accepted is the author's sentence on a difference that exceeds it, or nil.
	Accepted *resolve.Accept
	caution  *diag.Problem
}

// Compare sets the answers of t beside those of a second evaluation of the same notebook.
func (t *Trace) Compare(r *Route, second *Trace) {
	for _, p := range second.Problems {
		if p.Severity == diag.Error {
			r.Problems = append(r.Problems, p)
		}
	}
	for i, s := range t.Sheet.Answers {
		if s == nil || s.Symbol == nil {
			continue
		}
		a := RouteAnswer{Shown: s}
		a.Here, a.HasHere = t.Shown(s)
		if i < len(second.Sheet.Answers) {
			a.There, a.HasThere = second.Shown(second.Sheet.Answers[i])
		}
		if a.HasHere && a.HasThere {
			a.There = show(a.There.SI, a.Here.Unit, s.Symbol.Type, t.Sheet.Ambient)
			d := a.There.SI - a.Here.SI
			u := differenceOf(a.Here.Unit, true)
			a.Difference = Value{SI: d, Unit: u, Shown: u.FromSI(d, 0)}
			a.Relative = d / math.Abs(a.Here.SI)
			if d == 0 {
				a.Relative = 0
			}
			a.Exceeds = r.Tolerance > 0 && math.Abs(a.Relative) > r.Tolerance
		}
		r.Answers = append(r.Answers, a)
	}
	t.Routes = append(t.Routes, r)
}

// routeCautions ask for a sentence where a second route differs by more than was allowed.
func (t *Trace) routeCautions() []*diag.Problem {
	var out []*diag.Problem
	for _, r := range t.Routes {
		for i := range r.Answers {
			a := &r.Answers[i]
			if !a.Exceeds {
				continue
			}
			name := a.Shown.Symbol.Full()
			a.caution = &diag.Problem{Code: CodeRoute, Severity: diag.Caution, File: t.Sheet.File, Span: a.Shown.Span, Subject: name,
				Message: fmt.Sprintf("with %s = %s the answer %s is %s instead of %s, %.3g %% away; %.3g %% was allowed",
					r.Fluid, r.Model, name, formatValue(a.There.Shown, a.There.Unit), formatValue(a.Here.Shown, a.Here.Unit), 100*math.Abs(a.Relative), 100*r.Tolerance),
				Hint: "find out why, and say it: accept second-route on " + name + " // reason"}
			out = append(out, a.caution)
		}
	}
	return out
}

// routeAnswer is the answer that a caution is about, or nil.
func (t *Trace) routeAnswer(p *diag.Problem) *RouteAnswer {
	for _, r := range t.Routes {
		for i := range r.Answers {
			if r.Answers[i].caution == p {
				return &r.Answers[i]
			}
		}
	}
	return nil
}

// Percent is the relative difference in words: "+1.30 %".
func (a *RouteAnswer) Percent() string {
	switch {
	case a.Relative == 0:
		return "none"
	case math.IsInf(a.Relative, 0):
		return "not to be had in %: the answer is 0"
	case a.Relative > 0:
		return "+" + units.FormatNumber(100*a.Relative, 3) + " %"
	}
	return units.FormatNumber(100*a.Relative, 3) + " %"
}
