package main

import (
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"workings/runner"
)

// A wrong digit in one coefficient of the property data is caught: the tool is built with the
// changed file in place of the embedded one, and its own verification then fails.
func TestPlantedErrorIsCaught(t *testing.T) {
	planted := []struct {
		file, right, wrong string
		fluid              string // that at least one failing case must hold
	}{
		// a3 of air, 200 K to 1000 K: cp lower by 0.2 %.
		{"gases.json", "-196.827561, 5.00915511", "-196.827561, 5.00215511", "air"},
		// n1 of region 1 of IAPWS-IF97 (R7-97, Table 2).
		{"if97.json", "0.14632971213167", "0.14632981213167", "water"},
	}
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range planted {
		t.Run(p.file, func(t *testing.T) {
			data := filepath.Join(root, "propsdb", "data", p.file)
			text, err := os.ReadFile(data)
			if err != nil {
				t.Fatal(err)
			}
			if n := strings.Count(string(text), p.right); n != 1 {
				t.Fatalf("the coefficient stands in the file %d times", n)
			}
			dir := t.TempDir()
			changed, overlay, program := filepath.Join(dir, p.file), filepath.Join(dir, "overlay.json"), filepath.Join(dir, "workings")
			write(t, changed, []byte(strings.Replace(string(text), p.right, p.wrong, 1)))
			replaced, err := json.Marshal(map[string]map[string]string{"Replace": {data: changed}})
			if err != nil {
				t.Fatal(err)
			}
			write(t, overlay, replaced)
			build := exec.Command("go", "build", "-overlay", overlay, "-ldflags", "-s -w", "-o", program, "./cmd/workings")
			build.Dir = root
			if out, err := build.CombinedOutput(); err != nil {
				t.Fatalf("%v\n%s", err, out)
			}
			out, err := exec.Command(program, "verify", "--json").Output()
			var exit *exec.ExitError
			if !errors.As(err, &exit) || exit.ExitCode() != runner.ExitChecks {
				t.Fatalf("verify ends with %v, want exit code %d", err, runner.ExitChecks)
			}
			var rep report
			if err := json.Unmarshal(out, &rep); err != nil {
				t.Fatal(err)
			}
			caught := slices.ContainsFunc(rep.Cases, func(c *runner.Case) bool {
				return c.Verdict == runner.CaseFails && slices.Contains(c.Fluids, p.fluid) && slices.Contains(rep.Summary.Amiss, c.Number)
			})
			if !caught || rep.Summary.Fail == 0 {
				t.Errorf("no case with %s fails; amiss: %v", p.fluid, rep.Summary.Amiss)
			}
		})
	}
}

func write(t *testing.T, file string, text []byte) {
	t.Helper()
	if err := os.WriteFile(file, text, 0o666); err != nil {
		t.Fatal(err)
	}
}

// Every line of the report fits a page of its width, but for words that cannot be broken.
func TestReportWidth(t *testing.T) {
	rep, err := verify("")
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	rep.text(&b, paint{})
	if len(rep.Cases) < 40 {
		t.Errorf("only %d cases", len(rep.Cases))
	}
	for _, line := range strings.Split(b.String(), "\n") {
		if columns.StringWidth(line) > reportWidth && len(strings.Fields(line)) > 1 {
			t.Errorf("%d columns: %s", columns.StringWidth(line), line)
		}
	}
}

// Each case has a source for every label, a number of its own, and says where its figures were read.
func TestCasesNameTheirSources(t *testing.T) {
	rep, err := verify("")
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, c := range rep.Cases {
		if c.Number == "" || seen[c.Number] || c.Verifies == "" {
			t.Errorf("%s: number %q, verifies %q", c.File, c.Number, c.Verifies)
		}
		seen[c.Number] = true
		for _, s := range c.Sources {
			if s.Read == "" && !s.FromMemory() && !strings.Contains(s.Text, "our own") {
				t.Errorf("%s: [%s] %s: does not say where the figures were read", c.File, s.Label, s.Text)
			}
		}
		for _, k := range c.Checks {
			for _, label := range k.Sources {
				if !slices.ContainsFunc(c.Sources, func(s runner.CaseSource) bool { return s.Label == label }) {
					t.Errorf("%s: check %s cites [%s], which is not there", c.File, k.ID, label)
				}
			}
			if k.Op == "==" && (k.Used == nil || *k.Used > 1) {
				t.Errorf("%s: check %s uses %v of its tolerance", c.File, k.ID, k.Used)
			}
		}
	}
}
