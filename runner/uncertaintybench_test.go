package runner

import (
	"context"
	"regexp"
	"runtime"
	"testing"

	"workings/runner/eval"
	"workings/runner/resolve"
	"workings/runner/study"
)

var quantity = regexp.MustCompile(`(?m)^(\w+ = [0-9.]+(?: [^\n]+)?)$`)

// uncertainCycle is cycle A of the studies with all of its 17 inputs uncertain by a thousandth.
func uncertainCycle() string {
	return quantity.ReplaceAllString(cycleInputs(), "$1 ± 0.1 %rel") + cycleA()[len(cycleInputs()):] + fence("answers", "eta_th", "w_net")
}

// BenchmarkMonteCarlo times a Monte Carlo, from drawing the samples to its intervals, against a study of
// as many points of the same sheet with the same inputs varied and the same symbols kept:
// of_study. `first` is what every sheet with uncertain inputs pays: derivatives and the terms of second
// order.
func BenchmarkMonteCarlo(b *testing.B) {
	const n = 1 << 18
	r := build(b, uncertainCycle())
	t := r.Trace
	var of []*resolve.Symbol
	for _, a := range t.Sheet.Answers {
		of = append(of, a.Symbol)
	}
	inputs := t.InputsOf(of)
	plan := eval.Plan{Keep: of}
	var points [][]float64
	for k, in := range inputs {
		plan.Vary = append(plan.Vary, in.Symbol)
		column := make([]float64, n)
		for i := range column {
			column[i] = in.Value * (1 + 1e-3*float64((i*(2*k+1))%n)/n)
		}
		points = append(points, column)
	}
	batch, err := t.Batch(plan)
	if err != nil || len(inputs) < 12 {
		b.Fatal(err, len(inputs))
	}
	out := [][]float64{make([]float64, n), make([]float64, n)}
	sensitive := func(m study.Method) {
		if _, err := study.Sensitive(context.Background(), t, m, false, nil); err != nil {
			b.Fatal(err)
		}
	}
	times := rounds(b, map[string]func(){
		"study": func() {
			if _, err := batch.Run(context.Background(), points, out, nil); err != nil {
				b.Fatal(err)
			}
		},
		"first":  func() { sensitive(study.Method{Order: 1}) },
		"sample": func() { sensitive(study.Method{Order: 1, Samples: n}) },
	})
	sample := times["sample"] - times["first"]
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(sample/n, "ns/sample")
	b.ReportMetric(sample/times["study"], "of_study")
	b.ReportMetric(sample/n*1e6/1e9, "s/million")
	b.ReportMetric(times["first"]/1e6, "ms/first")
}

// A Monte Carlo keeps the answers of its samples and nothing else that grows with their number: twice,
// while they are put in order.
func TestMonteCarloMemory(t *testing.T) {
	r := build(t, uncertainCycle())
	allocated := func(samples int) int {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		if _, err := study.Sensitive(context.Background(), r.Trace, study.Method{Order: 1, Samples: samples}, false, nil); err != nil {
			t.Fatal(err)
		}
		runtime.ReadMemStats(&after)
		return int(after.TotalAlloc - before.TotalAlloc)
	}
	allocated(10_000)
	few, many := allocated(10_000), allocated(210_000)
	const answers, bytes = 2, 8
	if per := float64(many-few) / 200_000; per > 2*answers*bytes {
		t.Errorf("%.1f bytes a sample for %d answers", per, answers)
	}
}
