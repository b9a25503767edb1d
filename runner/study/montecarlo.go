package study

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"

	"workings/runner/eval"
	"workings/runner/resolve"
)

// Method is how the uncertainties of the inputs are carried to the answers.
type Method struct {
	Order   int // 1 or 2: a law of propagation
	Samples int // above 0: a Monte Carlo of so many samples instead
	Seed    uint64
}

// maxSampleValues bounds the samples times the answers, which are kept until their intervals are known.
const maxSampleValues = resolve.MaxStudyValues

// Coverage is the probability that a coverage interval stands for.
const Coverage = 0.95

// Samples are how a Monte Carlo went.
type Samples struct {
	Problem string // why there was none; "" where there was
	Failed  int    // samples at which an answer has no value
	Reasons []Reason
	// Outside are the inputs that have left the range that the notebook allows, and in how many
	// samples.
	Outside []Outside
}

// Outside counts the samples in which an input lies outside its allowed range.
type Outside struct {
	Input   *resolve.Symbol
	Samples int
}

// Sampled is what a Monte Carlo says of an answer, in SI, over the samples at which it has a value; NaN where
// there are none to speak of.
type Sampled struct {
	N       int
	Mean, U float64
	// Lo and Hi leave out as many samples below as above; ShortLo and ShortHi are the shortest
	// interval of that Coverage (JCGM 101:2008, 7.7; from memory).
	Lo, Hi, ShortLo, ShortHi float64
}

// sample carries normal errors of the inputs through the sheet (JCGM 101:2008). Sample i has a
// generator of its own, so that it is the same whoever evaluates it and whatever else is evaluated.
func (s *Sensitivities) sample(ctx context.Context, p *propagation, progress func(done, total int)) error {
	n := s.Method.Samples
	s.Samples = &Samples{}
	lines := resolve.CountLines(p.t.Sheet.Lines)
	switch {
	case n*len(p.of) > maxSampleValues:
		s.Samples.Problem = fmt.Sprintf("%s samples of %d answers are more than the %s values that are kept", Thousands(n), len(p.of), Thousands(maxSampleValues))
		return nil
	case n > resolve.MaxStudyLines/max(1, lines):
		s.Samples.Problem = fmt.Sprintf("%s samples of %s lines are more than the %s lines that are evaluated", Thousands(n), Thousands(lines), Thousands(resolve.MaxStudyLines))
		return nil
	}
	probe, err := newProbe(p.t, p.of, p.inputs)
	if err != nil {
		return err
	}
	y := columns(len(p.of), n)
	outside := newOutside(p.inputs)
	fill := func(at int, x [][]float64) {
		p.draw(s.Method.Seed, at, x)
		outside.count(x)
	}
	tell := func(int) {}
	if progress != nil {
		tell = func(done int) { progress(done, n) }
	}
	came, err := probe.batch.Sample(ctx, n, fill, y, tell)
	if err != nil {
		return err
	}
	s.Samples.Failed, s.Samples.Outside = came.Failed, outside.list()
	for _, why := range came.Reasons {
		s.Samples.Reasons = append(s.Samples.Reasons, Reason{why.Line, why.Message, why.Hint, len(why.Points)})
	}
	var wait sync.WaitGroup
	free := make(chan bool, runtime.GOMAXPROCS(0))
	for a, b := range s.Answers {
		wait.Go(func() {
			free <- true
			b.Sample = sampled(y[a], b.Value)
			<-free
		})
	}
	wait.Wait()
	return ctx.Err()
}

// draw makes the samples from at on.
func (p *propagation) draw(seed uint64, at int, x [][]float64) {
	var source rand.PCG
	normal := rand.New(&source)
	z := make([]float64, len(p.inputs))
	for lane := range x[0] {
		source.Seed(mix(seed), mix(uint64(at+lane)))
		for k := range z {
			z[k] = normal.NormFloat64()
		}
		for i, row := range p.factor {
			v := p.inputs[i].Value
			for _, e := range row {
				v += e.value * z[e.column]
			}
			x[i][lane] = v
		}
	}
}

// mix makes of neighbouring numbers ones that have nothing in common (SplitMix64, Steele, Lea and
// Flood 2014; from memory).
func mix(z uint64) uint64 {
	z += 0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// sampled sums an answer's samples up, in their order: what comes out does not depend on who has
// evaluated them. y0 is the answer of the sheet, from which deviations are counted so that a small
// uncertainty of a large value keeps its digits.
func sampled(y []float64, y0 float64) *Sampled {
	y = slices.DeleteFunc(y, math.IsNaN)
	n := len(y)
	if n < 2 {
		nan := math.NaN()
		return &Sampled{N: n, Mean: nan, U: nan, Lo: nan, Hi: nan, ShortLo: nan, ShortHi: nan}
	}
	sum := 0.0
	for _, v := range y {
		sum += v - y0
	}
	mean, square := sum/float64(n), 0.0
	for _, v := range y {
		square += (v - y0 - mean) * (v - y0 - mean)
	}
	s := &Sampled{N: n, Mean: y0 + mean, U: math.Sqrt(square / float64(n-1))}
	// The ends of an interval are order statistics q apart, so that only as many of the smallest and of the
	// largest samples are ever one of them.
	q := min(n-1, int(math.Round(Coverage*float64(n))))
	low, high := tails(y, n-q)
	r := (n - q + 1) / 2
	s.Lo, s.Hi = low[r-1], high[r-1]
	s.ShortLo, s.ShortHi = low[0], high[0]
	for i := range low {
		if high[i]-low[i] < s.ShortHi-s.ShortLo {
			s.ShortLo, s.ShortHi = low[i], high[i]
		}
	}
	return s
}

// tails are the k smallest and the k largest of some values, both rising. Where they begin is judged by a
// few of the values, so that the rest need not be sorted.
func tails(y []float64, k int) (low, high []float64) {
	const every = 64
	var few []float64
	for i := 0; i < len(y); i += every {
		few = append(few, y[i])
	}
	slices.Sort(few)
	reach := len(few)*k/len(y) + len(few)/50 + 1
	if reach < len(few) {
		below, above := few[reach], few[len(few)-1-reach]
		for _, v := range y {
			if v <= below {
				low = append(low, v)
			}
			if v >= above {
				high = append(high, v)
			}
		}
	}
	if len(low) < k || len(high) < k {
		low, high = slices.Clone(y), slices.Clone(y)
	}
	slices.Sort(low)
	slices.Sort(high)
	return low[:k], high[len(high)-k:]
}

// outsiders counts samples outside the ranges of inputs.
type outsiders struct {
	inputs []eval.OwnInput
	mutex  sync.Mutex
	counts []int
}

func newOutside(inputs []eval.OwnInput) *outsiders {
	return &outsiders{inputs: inputs, counts: make([]int, len(inputs))}
}

func (o *outsiders) count(x [][]float64) {
	for i, in := range o.inputs {
		if !in.Limited {
			continue
		}
		n := 0
		for _, v := range x[i] {
			if v < in.Lo || v > in.Hi {
				n++
			}
		}
		if n > 0 {
			o.mutex.Lock()
			o.counts[i] += n
			o.mutex.Unlock()
		}
	}
}

func (o *outsiders) list() (out []Outside) {
	for i, n := range o.counts {
		if n > 0 {
			out = append(out, Outside{o.inputs[i].Symbol, n})
		}
	}
	return out
}
