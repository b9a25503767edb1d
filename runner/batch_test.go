package runner

import (
	"context"
	"math"
	"os"
	"strconv"
	"testing"

	"workings/runner/eval"
	"workings/runner/resolve"
	"workings/units"
)

// symbolsOf are all the symbols that a sheet evaluates, those of workings and used sheets too.
func symbolsOf(es []*eval.Entry, out []*resolve.Symbol) []*resolve.Symbol {
	for _, e := range es {
		for _, r := range e.Results {
			out = append(out, r.Symbol)
		}
		out = symbolsOf(e.Children, out)
	}
	return out
}

// valuesOf are the values of all symbols by entry and name; those without a value are missing.
func valuesOf(r *Result) map[string]float64 {
	out := map[string]float64{}
	var walk func(es []*eval.Entry)
	walk = func(es []*eval.Entry) {
		for _, e := range es {
			for _, x := range e.Results {
				if x.OK {
					out[e.Number+" "+x.Symbol.Full()] = x.Value.SI
				}
			}
			walk(e.Children)
		}
	}
	walk(r.Trace.Entries)
	return out
}

func runBatch(t testing.TB, r *Result, plan eval.Plan, points [][]float64) ([][]float64, *eval.Outcome) {
	t.Helper()
	b, err := r.Trace.Batch(plan)
	if err != nil {
		t.Fatal(err)
	}
	n := 1
	if len(points) > 0 {
		n = len(points[0])
	}
	out := make([][]float64, len(plan.Keep))
	for i := range out {
		out[i] = make([]float64, n)
	}
	o, err := b.Run(context.Background(), points, out, nil)
	if err != nil {
		t.Fatal(err)
	}
	return out, o
}

func sameBits(a, b float64) bool {
	return math.Float64bits(a) == math.Float64bits(b) || a != a && b != b
}

// A study gives, to the bit, what a sheet gives that is evaluated anew with the inputs set: every
// symbol of every notebook that comes with the tool, at its own point and with each input moved up
// and down, whether one input is varied or all of them. Points that have no value there have none
// here.
func TestStudyIsSheet(t *testing.T) {
	studied, failed := 0, 0
	for _, name := range shipped(t) {
		t.Run(name, func(t *testing.T) {
			own, err := Build(os.DirFS("../notebooks"), name, options())
			if err != nil {
				t.Fatal(err)
			}
			var inputs []*resolve.Symbol
			for _, s := range own.Trace.Sheet.Symbols {
				if v, ok := own.Trace.Value(s); ok && s.Line.Kind == resolve.Input && s.Sheet == "" && !v.Bool {
					inputs = append(inputs, s)
				}
			}
			keep := symbolsOf(own.Trace.Entries, nil)
			all := make([][]float64, len(inputs)) // columns of the study that varies all of them
			want := []map[string]float64{valuesOf(own)}
			at := func(r *Result, i int) float64 {
				v, _ := r.Trace.Value(r.Trace.Sheet.Symbol("", inputs[i].Name))
				return v.SI
			}
			for i := range inputs {
				all[i] = append(all[i], at(own, i))
			}
			for i, in := range inputs {
				var points []float64
				var fresh []map[string]float64
				for _, factor := range []float64{1.003, 0.99, 1.5} {
					o := options()
					si := at(own, i) * factor
					o.Set = []string{in.Name + "=" + strconv.FormatFloat(si, 'g', -1, 64)}
					if in.Type.IsTemperature() && in.Type.Kind == resolve.Difference {
						o.Set[0] += " Δ°C"
					} else if u := units.SIUnit(in.Type.Dim); !u.IsNone() {
						o.Set[0] += " " + u.String()
					}
					r, err := Build(os.DirFS("../notebooks"), name, o)
					if err != nil {
						t.Fatal(err)
					}
					if _, ok := r.Trace.Value(r.Trace.Sheet.Symbol("", in.Name)); !ok {
						continue // outside what the sheet allows, which a study may leave
					}
					points, fresh = append(points, at(r, i)), append(fresh, valuesOf(r))
					want = append(want, valuesOf(r))
					for k := range inputs {
						all[k] = append(all[k], at(r, k))
					}
				}
				if len(points) == 0 {
					continue
				}
				got, o := runBatch(t, own, eval.Plan{Vary: []*resolve.Symbol{in}, Keep: keep}, [][]float64{points})
				compareBits(t, own, in.Name+" varied", keep, got, fresh)
				studied, failed = studied+len(points), failed+o.Failed
			}
			got, _ := runBatch(t, own, eval.Plan{Vary: inputs, Keep: keep}, all)
			compareBits(t, own, "all varied", keep, got, want)
		})
	}
	if studied < 300 || failed < 3 {
		t.Errorf("%d points, %d of them failed: too few to show anything", studied, failed)
	}
}

func compareBits(t *testing.T, r *Result, what string, keep []*resolve.Symbol, got [][]float64, want []map[string]float64) {
	t.Helper()
	shown := 0
	for k, s := range keep {
		key := r.Trace.Entry(s.Line).Number + " " + s.Full()
		for point := range want {
			b, ok := want[point][key]
			if !ok {
				b = math.NaN()
			}
			if a := got[k][point]; !sameBits(a, b) && shown < 5 {
				shown++
				t.Errorf("%s, point %d: %s is %v in the study and %v on the sheet", what, point, key, a, b)
			}
		}
	}
}
