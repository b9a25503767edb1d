package eval

import (
	"cmp"
	"context"
	"maps"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"workings/runner/resolve"
)

// chunk is how many points are evaluated side by side: enough that what an instruction costs by
// itself does not count, few enough that the registers stay in the cache.
const chunk = 512

// MaxStudyRuns bounds the line evaluations of all the solves of a study together. Every point has an
// equal share of it, but no more than a sheet has (MaxRuns).
const MaxStudyRuns = 5_000_000_000

// Outcome is what a run came to beside its results.
type Outcome struct {
	Failed  int      // points at which something that is kept has no value
	Reasons []Reason // by the first of their points; a point has one for each of its values that fail
}

// Run evaluates the points: vary[i] holds the values, in SI, of the i-th symbol varied, and out[i]
// takes those of the i-th symbol kept, NaN where it has none. All columns are as long as there are
// points; where nothing is varied, out says how many there are. As many goroutines share the work as
// the process may use processors; what comes out does not depend on it. progress, which may be nil,
// is told now and then how many points are done. The error is that of a context that ended, and then
// the results are incomplete.
func (b *Batch) Run(ctx context.Context, vary, out [][]float64, progress func(done int)) (*Outcome, error) {
	n := 0
	for _, column := range append(slices.Clone(vary), out...) {
		n = max(n, len(column))
	}
	return b.run(ctx, &run{vary: vary, out: out, n: n}, progress)
}

// Sample is Run at n points whose values are made as they are needed and kept no longer: fill(at, vary)
// sets the columns of the points from at on, and depends on nothing but at, for several goroutines call
// it in any order.
func (b *Batch) Sample(ctx context.Context, n int, fill func(at int, vary [][]float64), out [][]float64, progress func(done int)) (*Outcome, error) {
	return b.run(ctx, &run{fill: fill, out: out, n: n}, progress)
}

func (b *Batch) run(ctx context.Context, r *run, progress func(done int)) (*Outcome, error) {
	n := r.n
	r.b, r.share = b, int(max(1, min(MaxRuns, MaxStudyRuns/max(1, int64(n)))))
	workers := min(runtime.GOMAXPROCS(0), (n+chunk-1)/chunk)
	var wait sync.WaitGroup
	var tell sync.Mutex
	done := 0
	for range workers {
		wait.Go(func() {
			w := r.worker()
			for ctx.Err() == nil {
				at := int(r.next.Add(chunk)) - chunk
				if at >= n {
					return
				}
				size := min(chunk, n-at)
				w.chunk(at, size)
				if progress != nil {
					tell.Lock()
					done += size
					progress(done)
					tell.Unlock()
				}
			}
		})
	}
	wait.Wait()
	return r.outcome(), ctx.Err()
}

// run is one call of Run.
type run struct {
	b         *Batch
	vary, out [][]float64
	fill      func(at int, vary [][]float64) // instead of vary, or nil
	n         int
	share     int // of a point, of the evaluations that loops may take
	next      atomic.Int64
	mutex     sync.Mutex
	failed    int
	reasons   []*Reason
}

// worker evaluates chunks of points.
type worker struct {
	r    *run
	m    *machine
	room [][]float64 // buffers
	vary [][]float64 // of the chunk at hand
	own  [][]float64 // where vary is filled, of a whole chunk
	one  *machine    // strict, for points that have failed; made when the first does
	lost []int       // lanes of the chunk at hand
}

// machine makes one of many lanes, or of one, for the schedule of the batch.
func (b *Batch) machine(lanes int) *machine {
	return &machine{prog: b.ran.prog, sheet: b.ran.sheet, bad: make([]bool, lanes), loops: newScratch(b.program.loops, lanes),
		args: make([]float64, b.program.mostArgs), most: MaxRuns}
}

func (r *run) worker() *worker {
	p := &r.b.program
	w := &worker{r: r, m: r.b.machine(chunk), lost: make([]int, 0, chunk), vary: make([][]float64, len(p.vary))}
	if r.fill != nil {
		for range p.vary {
			w.own = append(w.own, make([]float64, chunk))
		}
	}
	m := w.m
	m.fluids, m.states = slices.Clone(r.b.once.fluids), slices.Clone(r.b.once.states)
	each(p.code, func(i *instr) { // of which every lane may have its own
		switch i.op {
		case opMake:
			m.fluids[i.step.line.Fluid.Reg] = nil
		case opState:
			m.states[i.st.slot] = nil
		}
	})
	room := make([]float64, p.buffers*chunk)
	for range p.buffers {
		w.room, room = append(w.room, room[:chunk:chunk]), room[chunk:]
	}
	m.v = slices.Clone(p.first)
	for reg, k := range p.buffer {
		if k >= 0 {
			m.v[reg] = w.room[k]
		}
	}
	return w
}

// each calls f for every instruction, those of loops and branches included.
func each(ins []instr, f func(*instr)) {
	for k := range ins {
		i := &ins[k]
		f(i)
		for _, part := range []*code{i.sub, i.other} {
			if part != nil {
				each(part.ins, f)
			}
		}
		if i.op == opSolve {
			each(i.loop.body, f)
		}
	}
}

// chunk evaluates the points from at on. The columns of the points and of the results are registers
// themselves.
func (w *worker) chunk(at, size int) {
	p, m := &w.r.b.program, w.m
	for k, reg := range p.keep {
		if p.first[reg] == nil {
			m.v[reg] = w.r.out[k][at : at+size]
		}
	}
	for k, reg := range p.vary {
		if w.own != nil {
			w.vary[k] = w.own[k][:size]
		} else {
			w.vary[k] = w.r.vary[k][at : at+size]
		}
		m.v[reg] = w.vary[k]
	}
	if w.r.fill != nil {
		w.r.fill(at, w.vary)
	}
	clear(m.bad)
	m.lost, m.runs, m.most = p.hopeless, 0, w.r.share*size
	if !p.hopeless {
		m.run(p.code, 0, size)
	}
	for k, reg := range p.keep {
		if out := w.r.out[k][at : at+size]; &m.v[reg][0] != &out[0] {
			copyLanes(out, m.v[reg])
		}
	}
	if !m.lost {
		return
	}
	w.lost = w.lost[:0]
	for lane, bad := range m.bad[:size] {
		if bad || p.hopeless {
			w.lost = append(w.lost, at+lane)
		}
	}
	if len(w.lost) > 0 {
		w.again(at)
	}
}

// again evaluates the points that were given up as a sheet is evaluated, each by itself, which tells
// what has a value there and why the rest has none. The chunk begins at at.
func (w *worker) again(at int) {
	b := w.r.b
	if w.one == nil {
		w.one = b.strict()
	}
	for _, point := range w.lost {
		m := w.one
		m.runs, m.most = 0, w.r.share
		for _, st := range b.steps {
			m.clear(st)
		}
		for k, s := range b.plan.Vary {
			m.given[s] = w.vary[k][point-at]
		}
		for _, st := range b.steps {
			m.exec(st)
		}
		failed := false
		for k, s := range b.plan.Keep {
			w.r.out[k][point] = m.val(s)
			if m.has(s) || b.never(k) {
				continue
			}
			failed = true
			w.r.fail(point, m.reasonFor(s))
		}
		if failed {
			w.r.mutex.Lock()
			w.r.failed++
			w.r.mutex.Unlock()
		}
	}
}

// clear forgets what a line and those under it came to at another point.
func (m *machine) clear(st *step) {
	m.forget(st.line.Defines)
	if st.state != nil {
		m.v[st.state.t][0] = nan
	}
	if f := st.line.Fluid; f != nil && f.Line == st.line {
		m.fluids[f.Reg] = nil
	}
	for _, in := range st.line.Inputs {
		if st.line.Kind == resolve.Call && in.Symbol != nil {
			m.v[in.Symbol.Reg][0] = nan
		}
		if in.Local != nil {
			m.forget(in.Local.Props)
		}
	}
	for _, b := range st.body {
		m.clear(b)
	}
}

// never: a symbol kept has no value on the sheet itself, and nothing that is varied changes that.
func (b *Batch) never(k int) bool {
	first := b.program.first[b.program.keep[k]]
	return !b.program.hopeless && first != nil && !finite(first[0])
}

// strict makes a machine of one lane that knows what no point changes.
func (b *Batch) strict() *machine {
	m := newMachine(b.ran.prog)
	for r := range b.ran.prog.base {
		m.v[r][0] = b.ran.v[r][0]
	}
	for i, x := range b.ran.fluids {
		m.fluids[i] = slices.Clone(x)
	}
	for i, x := range b.ran.states {
		m.states[i] = slices.Clone(x)
	}
	m.absent = maps.Clone(b.ran.absent)
	copy(m.outcomes, b.ran.outcomes)
	for i := range m.outcomes {
		m.outcomes[i].lookups = nil
	}
	m.given = map[*resolve.Symbol]float64{}
	m.replace = b.plan.Replace
	m.studied = b.studied
	return m
}

// fail notes why a point has failed. Whoever fails for one reason is told of together.
func (r *run) fail(point int, why *Reason) {
	r.mutex.Lock()
	defer r.mutex.Unlock()
	for _, have := range r.reasons {
		if have.Line != why.Line || have.Code != why.Code {
			continue
		}
		if point < have.first {
			have.Message, have.Hint, have.first = why.Message, why.Hint, point
		}
		have.Points = append(have.Points, point)
		return
	}
	why.Points, why.first = []int{point}, point
	r.reasons = append(r.reasons, why)
}

// outcome puts the reasons in order. What has no value on the sheet itself, and is not changed by
// what is varied, has none at any point.
func (r *run) outcome() *Outcome {
	out := &Outcome{Failed: r.failed}
	for k, s := range r.b.plan.Keep {
		if !r.b.never(k) {
			continue
		}
		out.Failed = r.n
		for point := range r.n {
			r.fail(point, r.b.ran.reasonFor(s))
		}
	}
	for _, why := range r.reasons {
		slices.Sort(why.Points)
		why.Points = slices.Compact(why.Points)
		out.Reasons = append(out.Reasons, *why)
	}
	slices.SortStableFunc(out.Reasons, func(a, b Reason) int {
		return cmp.Or(cmp.Compare(a.first, b.first), cmp.Compare(a.Line.Stmt.Span().Start, b.Line.Stmt.Span().Start), cmp.Compare(a.Code, b.Code))
	})
	return out
}
