package runner

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"workings/runner/diag"
	"workings/runner/notebook"
	"workings/runner/study"
)

// The codes of what is to be said of uncertainties. All are cautions.
const (
	CodeLimitSensitivity diag.Code = "limit-sensitivity"
	CodeSamples          diag.Code = "samples-failed" // samples without a value
	CodeLimitSamples     diag.Code = "limit-samples"
	// CodeNoUncertainty: a method is asked for where there is nothing to carry.
	CodeNoUncertainty diag.Code = "no-uncertainty"
)

// Sensitivities are how the answers of a sheet follow its inputs.
type Sensitivities = study.Sensitivities

// methodOf is the method that Options.Uncertainty names, nil for that of the notebook.
func methodOf(text string) (*study.Method, error) {
	if text == "" {
		return nil, nil
	}
	u, wrong := notebook.ReadUncertainty(text)
	if wrong != "" {
		return nil, &UsageError{fmt.Sprintf("--uncertainty %q: %s, such as --uncertainty \"monte carlo 200000 seed 7\"", text, wrong)}
	}
	m := study.Method(u)
	return &m, nil
}

// sensitivities finds how the answers follow the inputs, and what is to be said of it.
func (r *Result) sensitivities(ctx context.Context, m *study.Method) ([]*diag.Problem, error) {
	if m == nil {
		own := study.Method(r.Doc.Front.Uncertainty)
		own.Order = max(1, own.Order)
		m = &own
	}
	var progress func(done, total int)
	if p := r.opts.Progress; p != nil {
		progress = func(done, total int) { p("Monte Carlo", done, total) }
	}
	s, err := study.Sensitive(ctx, r.Trace, *m, r.opts.Sensitivity || r.Doc.Front.Sensitivity, progress)
	var much *study.TooMuch
	switch {
	case errors.As(err, &much):
		of := r.Trace.Sheet.Answers[0]
		return []*diag.Problem{{Code: CodeLimitSensitivity, Severity: diag.Caution, File: of.Line.File, Span: of.Span,
			Message: "no uncertainties and sensitivities are found: " + much.Reason, Hint: "ask for fewer answers, or give an uncertainty only to inputs that matter"}}, nil
	case err != nil:
		return nil, err
	case s == nil || !s.Uncertain():
		r.Sensitivities = s
		return r.nothingUncertain(m), nil
	}
	r.Sensitivities = s
	return append(s.Cautions(), r.sampleCautions()...), nil
}

// nothingUncertain cautions where more than first order is asked for and no answer that has a value depends on an
// input with an uncertainty.
func (r *Result) nothingUncertain(m *study.Method) []*diag.Problem {
	if m.Samples == 0 && m.Order < 2 {
		return nil
	}
	for _, of := range r.Trace.Sheet.Answers {
		if _, ok := r.Trace.Shown(of); ok && of.Symbol != nil && !of.Symbol.Type.Bool {
			return []*diag.Problem{{Code: CodeNoUncertainty, Severity: diag.Caution, File: of.Line.File, Span: of.Span, Subject: of.Symbol.Full(),
				Message: "no answer depends on an input with a standard uncertainty, so that there is none to find", Hint: "give inputs theirs, such as T3 = 1300 K ± 10 K, or take `uncertainty` out of the front matter"}}
		}
	}
	return nil
}

// Budgets are what the inputs do to the answers, as a terminal shows them: rows for each answer. There
// are none unless somebody has asked for more than the uncertainties themselves.
func (r *Result) Budgets() [][]Row {
	s := r.Sensitivities
	if s == nil || !s.All && s.Samples == nil && s.Method.Order == 1 {
		return nil
	}
	var out [][]Row
	for _, b := range s.Answers {
		title := study.Plain(b.Title(s.Method, r.Trace.Sheet.Digits, r.Trace.Sheet.Ambient))
		rows := []Row{{Kind: TableRow, Caption: title, Cells: gridCells(b.Table(r.Trace.Sheet.Digits, r.Trace.Sheet.Ambient))}}
		if len(b.Rows) == 0 {
			rows = []Row{{Text: title}, {Text: study.NothingMoves}}
		}
		if g := b.Methods(s, r.Trace.Sheet.Ambient); len(g.Rows) > 0 {
			rows = append(rows, Row{Kind: TableRow, Cells: gridCells(g)})
		}
		for _, remark := range b.Remarks(s) {
			rows = append(rows, Row{Text: remark})
		}
		out = append(out, rows)
	}
	return out
}

// sampleCautions are what a Monte Carlo leaves to be said. They stand at the first answer that they concern.
func (r *Result) sampleCautions() []*diag.Problem {
	s := r.Sensitivities
	if s.Samples == nil {
		return nil
	}
	of, none := s.Answers[0].Of, false
	for _, b := range slices.Backward(s.Answers) {
		if b.Sample != nil && b.Sample.N < s.Method.Samples {
			of, none = b.Of, none || b.Sample.N < 2
		}
	}
	p := &diag.Problem{Severity: diag.Caution, File: of.Line.File, Span: of.Span, Subject: of.Symbol.Full()}
	switch {
	case s.Samples.Problem != "":
		p.Code, p.Message, p.Hint = CodeLimitSamples, "there is no Monte Carlo: "+s.Samples.Problem, "ask for fewer samples; the uncertainties are of first order"
	case s.Samples.Failed > 0:
		p.Code = CodeSamples
		p.Message = fmt.Sprintf("%s of the %s samples of the Monte Carlo have no value, and its figures are those of the others", study.Thousands(s.Samples.Failed), study.Thousands(s.Method.Samples))
		if none {
			p.Message = "there is an answer that has a value at no sample of the Monte Carlo"
		}
		if len(s.Samples.Reasons) > 0 {
			why := s.Samples.Reasons[0]
			p.Label = why.Message
			if why.Line != nil && why.Line.Stmt != nil {
				p.Related = append(p.Related, diag.Related{File: why.Line.File, Span: why.Line.Stmt.Span(), Message: "here"})
			}
		}
		p.Hint = "look at the uncertainties of the inputs: where they reach what cannot be, errors are not normal"
	default:
		return nil
	}
	return []*diag.Problem{p}
}
