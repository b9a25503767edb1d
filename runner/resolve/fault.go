package resolve

import (
	"fmt"
	"strings"

	"workings/runner/diag"
)

// The codes of this stage.
const (
	CodeUnknownSymbol diag.Code = "unknown-symbol"
	CodeBefore        diag.Code = "used-before-defined"
	CodeTwice         diag.Code = "defined-twice"
	CodeReserved      diag.Code = "reserved-name"
	CodeUnknownName   diag.Code = "unknown-name"   // of a fluid, method, table, sheet or state
	CodeUnknownGas    diag.Code = "unknown-gas"    // not in the database
	CodeUnit          diag.Code = "unit"           // no unit, or one that can be read in two ways
	CodeAmbient       diag.Code = "no-ambient"     // gauge pressure without the sheet's ambient
	CodeDimension     diag.Code = "dimension"      // two dimensions that do not go together
	CodeTemperature   diag.Code = "temperature"    // a point on a scale where a difference belongs, or the reverse
	CodeGauge         diag.Code = "gauge-pressure" // the same for a gauge pressure
	CodeDatum         diag.Code = "datum"
	CodeTruth         diag.Code = "truth-value"
	CodeExponent      diag.Code = "exponent"
	CodeArguments     diag.Code = "arguments"
	CodeStatePair     diag.Code = "state-pair"
	CodeFluid         diag.Code = "fluid"
	CodeTolerance     diag.Code = "tolerance"
	CodeSpread        diag.Code = "spread"
	CodeInputExpr     diag.Code = "input-not-literal"
	CodeFootnote      diag.Code = "unknown-footnote"
	CodeUnknownLabel  diag.Code = "unknown-label"
	CodeReference     diag.Code = "unknown-reference" // a link to nothing on the sheet
	CodeReferenceWord diag.Code = "reference-word"    // [table](#name) of what is no table
	CodeUncited       diag.Code = "footnote-not-cited"
	CodeUnitOrSymbol  diag.Code = "unit-or-symbol"
	CodeLookalike     diag.Code = "lookalike-names"
	CodeData          diag.Code = "data-table"
	CodeUse           diag.Code = "use"
	CodeUseCycle      diag.Code = "use-cycle"
	CodeNotCalled     diag.Code = "method-not-called"
	CodeRecursion     diag.Code = "method-recursion"
	CodeOverride      diag.Code = "override"
	CodeExpansion     diag.Code = "limit-expansion"
	CodeNesting       diag.Code = "limit-nesting"
	CodeCycle         diag.Code = "cycle"          // components that do not go together
	CodeWithheld      diag.Code = "total-withheld" // a total of a cycle that has no value
	CodeStudy         diag.Code = "study-line"     // what a study asks for cannot be had
	CodeStudyPoints   diag.Code = "limit-study"
	CodeCorrelation   diag.Code = "correlation" // one that cannot be
	CodeCorrelations  diag.Code = "limit-correlations"
	CodeComponents    diag.Code = "limit-components"
)

// fault builds a problem step by step. Its methods do nothing on a nil fault, which stands for
// one that has been reported already.
type fault struct {
	p     *diag.Problem
	moved bool // to the call of a method
}

func (f *fault) hint(format string, args ...any) *fault {
	if f != nil {
		f.p.Hint = fmt.Sprintf(format, args...)
	}
	return f
}

func (f *fault) about(symbol string) *fault {
	if f != nil {
		f.p.Subject = symbol
	}
	return f
}

func (f *fault) label(format string, args ...any) *fault {
	if f != nil {
		label := fmt.Sprintf(format, args...)
		if f.moved { // it explains the place in the method
			f.p.Related[0].Message += ": " + label
		} else {
			f.p.Label = label
		}
	}
	return f
}

func (f *fault) related(file *diag.File, span diag.Span, format string, args ...any) *fault {
	if f != nil {
		f.p.Related = append(f.p.Related, diag.Related{File: file, Span: span, Message: fmt.Sprintf(format, args...)})
	}
	return f
}

// fail reports an error of a line, which then has no value. A fault in a method's body shows up
// in every call; it is reported at the first and the other calls wait for it.
func (r *resolver) fail(line *Line, code diag.Code, span diag.Span, format string, args ...any) *fault {
	return r.report(line, diag.Error, code, span, format, args...)
}

// caution reports something that asks for a second look and stops nothing.
func (r *resolver) caution(line *Line, code diag.Code, span diag.Span, format string, args ...any) *fault {
	return r.report(line, diag.Caution, code, span, format, args...)
}

// fromArguments are the codes of faults that follow from the types a method is called with.
func fromArguments(code diag.Code) bool {
	switch code {
	case CodeDimension, CodeTemperature, CodeGauge, CodeDatum, CodeExponent, CodeTruth, CodeStatePair:
		return true
	}
	return false
}

type seen struct {
	file *diag.File
	span diag.Span
	code diag.Code
	call *Line // of a method that comes with the tool: each call is told of
}

func (r *resolver) report(line *Line, sev diag.Severity, code diag.Code, span diag.Span, format string, args ...any) (f *fault) {
	file := r.sheet.File
	if line != nil {
		file = line.File
	}
	var call *Line
	if line != nil && r.scope.local && r.call != nil {
		call = r.call
	}
	key := seen{file: file, span: span, code: code}
	if call != nil && call.Method.Library != "" {
		key.call = call.Outer()
	}
	if old := r.shared.reported[key]; old != nil {
		if sev == diag.Error && line != nil && line.Problem == nil {
			line.Problem = old
		}
		return nil
	}
	if sev == diag.Error && r.scope.local && r.call != nil && fromArguments(code) {
		// What is wrong with an argument shows in every line of the method that uses it: the
		// first says it.
		if first := r.call.argumentFault; first != nil {
			if line != nil && line.Problem == nil { // line itself may have two
				r.wait(line, first)
			}
			return nil
		}
		defer func() {
			if f != nil {
				r.call.argumentFault = line
			}
		}()
	}
	p := &diag.Problem{Code: code, Severity: sev, File: file, Span: span, Message: fmt.Sprintf(format, args...)}
	moved := call != nil && InCall(p, call)
	r.shared.reported[key] = p
	r.sheet.Problems = append(r.sheet.Problems, p)
	if sev == diag.Error && line != nil && line.Problem == nil {
		line.Problem = p
	}
	return &fault{p, moved}
}

// InCall says in which call of a method a problem with one of its lines shows: the same line may be
// right in one call and wrong in the next. With a method that comes with the tool the problem moves to
// the call, where the reader can mend it; moved is then true.
func InCall(p *diag.Problem, call *Line) (moved bool) {
	at := func(l *Line) diag.Related {
		return diag.Related{File: l.File, Span: l.Stmt.Span(), Message: "in this call"}
	}
	if call.Method.Library == "" {
		p.Related = append(p.Related, at(call))
		return false
	}
	outer := call.Outer()
	p.MoveTo(outer.File, outer.Stmt.Span(), "here in "+call.Method.Name)
	if outer.caller != nil {
		p.Related = append(p.Related, at(outer.caller))
	}
	return true
}

func orList(names []string) string {
	switch len(names) {
	case 0:
		return ""
	case 1:
		return names[0]
	}
	return strings.Join(names[:len(names)-1], ", ") + " or " + names[len(names)-1]
}

// maxNear bounds the names that all suggestions of a sheet together are looked for among, and
// with them the time that a sheet of nothing but unknown names can take.
const maxNear = 2_000_000

// near is diag.Near within that bound; beyond it nothing is suggested.
func (r *resolver) near(word string, names []string) []string {
	if r.shared.looked += len(names); r.shared.looked > maxNear {
		return nil
	}
	return diag.Near(word, names)
}
