package study

import (
	"context"
	"errors"
	"math"

	"workings/runner/eval"
	"workings/runner/resolve"
)

// Result is a study, evaluated.
type Result struct {
	Of     *resolve.Study
	Series []*Series
	// Points of all series, those at which something that is kept has no value, and those at which
	// an input lies outside the range that the notebook allows.
	Points, Failed, Outside int
	Reasons                 []Reason
	// Problem is why nothing could be evaluated; "" where it could.
	Problem string
	// Audited is how many points have been audited by first and second law, Faulty at how many of
	// these the audit finds an error. Both are 0 where the sheet has no cycle.
	Audited, Faulty int
	// Unaudited: the sheet has a cycle, and none of the points has been audited.
	Unaudited bool
}

// Reason is why points have no value.
type Reason struct {
	Line    *resolve.Line // at fault
	Message string        // of the first of the points
	Hint    string
	Points  int
}

// Series is one run through the points. Columns are in SI; the first input varies fastest.
type Series struct {
	Value   float64        // of the family's input
	Fluid   *resolve.Fluid // that the family's fluid is
	Inputs  [][]float64    // by varied input, then by point
	Kept    [][]float64    // by kept symbol, then by point; NaN where it has no value
	Outside []bool         // by point: an input lies outside its allowed range
	Audit   []int          // by point: errors that the audit finds; nil where it was not made
	Failed  int
	Marks   []Mark
	Optimum *Optimum // of a seek
}

// Ok reports a point at which everything kept has a value.
func (s *Series) Ok(point int) bool {
	for _, column := range s.Kept {
		if math.IsNaN(column[point]) {
			return false
		}
	}
	return true
}

// Options of a run.
type Options struct {
	// Progress, which may be nil, is told how many of all points are done.
	Progress func(done, total int)
	// Audit counts the errors that the audit of the sheet's cycles finds with these values of
	// inputs; nil where the sheet has no cycle.
	Audit func(inputs []*resolve.Symbol, values []float64) (errors int, ok bool)
}

// MaxAudited is how many points of a study are audited at most: Options.Audit is for studies that have
// no more.
const MaxAudited = 250

// Run evaluates a study. The error is that of a context that ended.
func Run(ctx context.Context, t *eval.Trace, s *resolve.Study, o Options) (*Result, error) {
	r := &Result{Of: s}
	families := 1
	if s.Family != nil {
		families = s.Family.Count()
	}
	for i := range families {
		m, err := newModel(ctx, t, s, i)
		var wrong *eval.PlanError
		if errors.As(err, &wrong) {
			r.Problem = wrong.Error()
			return r, nil
		}
		x := m.series
		r.Series = append(r.Series, x)
		if s.Seek != nil {
			if x.Optimum, err = m.seek(s.Seek); err != nil {
				return nil, err
			}
			continue
		}
		m.points(s.Vary)
		progress := func(done int) {}
		if o.Progress != nil {
			before := r.Points
			progress = func(done int) { o.Progress(before+done, s.Points) }
		}
		out, err := m.batch.Run(ctx, m.columns, x.Kept, progress)
		if err != nil {
			return nil, err
		}
		x.Inputs = m.columns[:len(s.Vary)]
		x.Failed = out.Failed
		r.note(x, out)
		r.outside(x, s)
		for _, mark := range s.Marks {
			found, err := m.mark(mark)
			if err != nil {
				return nil, err
			}
			x.Marks = append(x.Marks, found...)
		}
	}
	if o.Audit != nil && s.Seek == nil && !r.fluids() {
		r.audit(ctx, o)
	}
	return r, ctx.Err()
}

func (r *Result) fluids() bool { return r.Of.Family != nil && r.Of.Family.Fluid != nil }

// note adds what the points of a series came to.
func (r *Result) note(x *Series, out *eval.Outcome) {
	r.Points += len(x.Inputs[0])
	r.Failed += out.Failed
	for _, why := range out.Reasons {
		known := false
		for i := range r.Reasons {
			if have := &r.Reasons[i]; have.Line == why.Line && have.Message == why.Message {
				have.Points += len(why.Points)
				known = true
			}
		}
		if !known {
			r.Reasons = append(r.Reasons, Reason{why.Line, why.Message, why.Hint, len(why.Points)})
		}
	}
}

// outside marks the points of a series that leave what the notebook allows.
func (r *Result) outside(x *Series, s *resolve.Study) {
	x.Outside = make([]bool, len(x.Inputs[0]))
	family := s.Family != nil && s.Family.Input != nil && !s.Family.Allows(x.Value)
	for point := range x.Outside {
		out := family
		for k, v := range s.Vary {
			out = out || !v.Allows(x.Inputs[k][point])
		}
		if x.Outside[point] = out; out {
			r.Outside++
		}
	}
}

// audit counts the points at which the audit of the cycles finds errors.
func (r *Result) audit(ctx context.Context, o Options) {
	s := r.Of
	var inputs []*resolve.Symbol
	for _, v := range s.Vary {
		inputs = append(inputs, v.Input)
	}
	if s.Family != nil {
		inputs = append(inputs, s.Family.Input)
	}
	for _, x := range r.Series {
		x.Audit = make([]int, len(x.Inputs[0]))
		for point := range x.Audit {
			if ctx.Err() != nil {
				return
			}
			if !x.Ok(point) {
				continue
			}
			var values []float64
			for _, column := range x.Inputs {
				values = append(values, column[point])
			}
			if s.Family != nil {
				values = append(values, x.Value)
			}
			n, ok := o.Audit(inputs, values)
			if !ok {
				continue
			}
			r.Audited++
			if x.Audit[point] = n; n > 0 {
				r.Faulty++
			}
		}
	}
}

// model is the sheet as a function of what a study varies, for one series.
type model struct {
	ctx     context.Context
	of      *resolve.Study
	batch   *eval.Batch
	series  *Series
	columns [][]float64 // of the points: those of the inputs varied, then that of the family
	free    int         // how many inputs are varied or sought
	calls   int         // points evaluated by at
}

func newModel(ctx context.Context, t *eval.Trace, s *resolve.Study, family int) (*model, error) {
	m := &model{ctx: ctx, of: s, series: &Series{}}
	var plan eval.Plan
	for _, v := range s.Vary {
		plan.Vary = append(plan.Vary, v.Input)
	}
	if s.Seek != nil {
		for _, b := range s.Seek.By {
			plan.Vary = append(plan.Vary, b.Input)
		}
	}
	m.free = len(plan.Vary)
	if f := s.Family; f != nil && f.Fluid != nil {
		m.series.Fluid = f.Fluids[family]
		if m.series.Fluid != f.Fluid {
			plan.Replace = map[*resolve.Fluid]*resolve.Fluid{f.Fluid: m.series.Fluid}
		}
	} else if f != nil {
		plan.Vary = append(plan.Vary, f.Input)
		m.series.Value = f.Values[family]
	}
	for _, k := range s.Keep {
		plan.Keep = append(plan.Keep, k.Symbol)
	}
	var err error
	m.batch, err = t.Batch(plan)
	return m, err
}

// points fills the columns of the points and makes room for the results.
func (m *model) points(vary []*resolve.Varied) {
	n := 1
	for _, v := range vary {
		n *= len(v.Values)
	}
	repeat := 1
	for _, v := range vary {
		column := make([]float64, n)
		for i := range column {
			column[i] = v.Values[i/repeat%len(v.Values)]
		}
		repeat *= len(v.Values)
		m.columns = append(m.columns, column)
	}
	m.columns = m.withFamily(m.columns, n)
	m.series.Kept = m.room(n)
}

func (m *model) withFamily(columns [][]float64, n int) [][]float64 {
	if f := m.of.Family; f == nil || f.Input == nil {
		return columns
	}
	column := make([]float64, n)
	for i := range column {
		column[i] = m.series.Value
	}
	return append(columns[:len(columns):len(columns)], column)
}

func (m *model) room(n int) [][]float64 {
	out := make([][]float64, len(m.of.Keep))
	for i := range out {
		out[i] = make([]float64, n)
	}
	return out
}

// at evaluates everything kept with columns of the free inputs.
func (m *model) at(columns ...[]float64) ([][]float64, error) {
	n := len(columns[0])
	m.calls += n
	out := m.room(n)
	_, err := m.batch.Run(m.ctx, m.withFamily(columns, n), out, nil)
	return out, err
}

// one is everything kept at one point.
func (m *model) one(at []float64) ([]float64, error) {
	columns := make([][]float64, len(at))
	for i, v := range at {
		columns[i] = []float64{v}
	}
	out, err := m.at(columns...)
	if err != nil {
		return nil, err
	}
	kept := make([]float64, len(out))
	for i := range out {
		kept[i] = out[i][0]
	}
	return kept, nil
}
