package runner

import (
	"bufio"
	"context"
	"encoding/json"
	"io"
	"math"
	"os"
	"os/exec"
	"testing"

	"workings/runner/eval"
	"workings/runner/resolve"
)

// scripting evaluates points of cycle A in testdata/scripting: general-purpose JavaScript with a
// library of units, its expressions compiled beforehand. It stays running, so that the compiler of the
// language has warmed to it, and answers line by line.
type scripting struct {
	in  io.Writer
	out *bufio.Reader
}

// newScripting skips the benchmark where node or the library is missing.
func newScripting(b *testing.B) *scripting {
	const dir = "../testdata/scripting"
	node, err := exec.LookPath("node")
	if err != nil {
		b.Skip("node is not in the path")
	}
	if _, err := os.Stat(dir + "/node_modules"); err != nil {
		b.Skip("the library of units is missing: npm ci --prefix testdata/scripting")
	}
	c := exec.Command(node, "cycle-a.mjs")
	c.Dir, c.Stderr = dir, os.Stderr
	in, err := c.StdinPipe()
	if err != nil {
		b.Fatal(err)
	}
	out, err := c.StdoutPipe()
	if err != nil {
		b.Fatal(err)
	}
	if err := c.Start(); err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() {
		in.Close()
		if err := c.Wait(); err != nil {
			b.Error(err)
		}
	})
	return &scripting{in, bufio.NewReader(out)}
}

// run evaluates the points and gives the time of one as the script measured it, ns, and the thermal
// efficiencies.
func (s *scripting) run(b *testing.B, points [][2]float64) (ns float64, eta []float64) {
	line, err := json.Marshal(points)
	if err != nil {
		b.Fatal(err)
	}
	if _, err := s.in.Write(append(line, '\n')); err != nil {
		b.Fatal(err)
	}
	answer, err := s.out.ReadBytes('\n')
	if err != nil {
		b.Fatal(err)
	}
	var read struct {
		Ns  float64   `json:"ns"`
		Eta []float64 `json:"eta_th"`
	}
	if err := json.Unmarshal(answer, &read); err != nil {
		b.Fatal(err)
	}
	if len(read.Eta) != len(points) {
		b.Fatalf("%d answers to %d points", len(read.Eta), len(points))
	}
	return read.Ns, read.Eta
}

// BenchmarkScripting measures a study of cycle A against general-purpose scripting with units, in
// turn, and reports ns/point of both and how many times faster the study is. Both have to find the
// same efficiency at each point that scripting evaluates, which is every 63rd.
func BenchmarkScripting(b *testing.B) {
	script := newScripting(b)
	rp, T6, _ := benchGrid()
	r := build(b, cycleA())
	sheet := r.Trace.Sheet
	plan := eval.Plan{Vary: []*resolve.Symbol{sheet.Symbol("", "rp"), sheet.Symbol("", "T6")}}
	var out [][]float64
	for _, name := range []string{"eta_th", "w_net", "T4", "bwr", "sfc"} {
		plan.Keep = append(plan.Keep, sheet.Symbol("", name))
		out = append(out, make([]float64, benchPoints))
	}
	batch, err := r.Trace.Batch(plan)
	if err != nil {
		b.Fatal(err)
	}
	var some [][2]float64
	var at []int
	for i := 0; i < benchPoints; i += 63 {
		some, at = append(some, [2]float64{rp[i], T6[i]}), append(at, i)
	}
	var eta []float64
	fastest := math.Inf(1)
	times := rounds(b, map[string]func(){
		"study": func() {
			if o, err := batch.Run(context.Background(), [][]float64{rp, T6}, out, nil); err != nil || o.Failed > 0 {
				b.Fatal(err, o.Failed)
			}
		},
		"scripting": func() {
			var ns float64
			ns, eta = script.run(b, some)
			fastest = min(fastest, ns)
		},
	})
	study := times["study"] / benchPoints
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(study, "ns/point")
	b.ReportMetric(fastest, "scripting-ns/point")
	b.ReportMetric(fastest/study, "x_scripting")
	for k, i := range at {
		if math.Abs(out[0][i]-eta[k]) > 1e-9*out[0][i] {
			b.Fatalf("point %d: study %v, scripting %v", i, out[0][i], eta[k])
		}
	}
}
