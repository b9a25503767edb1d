package runner

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"workings/runner/cycle"
	"workings/runner/diag"
)

const mistakeDir = "../testdata/mistakes"

var mistakeFence = regexp.MustCompile("(?s)```(plant|replace|with|finds)\n(.*?)\n?```")

// A mistake is planted in a plant that is right by textual substitution, and the finding that names
// it is expected at a line.
type mistake struct {
	plant         string
	replace, with []string
	finds         []string // "CODE SEVERITY at LINE", LINE being how the line begins
}

func readMistake(t *testing.T, file string) mistake {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	m := mistake{plant: "plant.md"}
	for _, f := range mistakeFence.FindAllStringSubmatch(string(text), -1) {
		switch f[1] {
		case "plant":
			m.plant = strings.TrimSpace(f[2])
		case "replace":
			m.replace = append(m.replace, f[2])
		case "with":
			m.with = append(m.with, f[2])
		case "finds":
			m.finds = append(m.finds, strings.Split(strings.TrimSpace(f[2]), "\n")...)
		}
	}
	if len(m.finds) == 0 || len(m.replace) == 0 || len(m.replace) != len(m.with) {
		t.Fatalf("%s: it needs replace, with and finds", file)
	}
	return m
}

// plants are the notebooks without a mistake.
func plants(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob(mistakeDir + "/plants/*.md")
	if err != nil || len(files) < 2 {
		t.Fatalf("%d plants, %v", len(files), err)
	}
	return files
}

// The plants themselves have nothing wrong, neither errors nor cautions.
func TestPlantsWithoutMistakes(t *testing.T) {
	for _, f := range plants(t) {
		r, err := Build(os.DirFS(mistakeDir+"/plants"), filepath.Base(f), options())
		if err != nil {
			t.Fatal(err)
		}
		if worst, any := diag.Worst(r.Problems()); any && worst > diag.Note || len(r.Audits) == 0 || r.Audits[0].Report == nil {
			t.Errorf("%s: %d audits\n%s", f, len(r.Audits), printed(t, r))
		}
	}
}

// Each planted mistake is found by the finding that names it, at the line that causes it or the
// component that shows it. The list follows the errors that published studies of such calculations
// report; the figures they cause are this project's own.
func TestMistakesAreFound(t *testing.T) {
	files, err := filepath.Glob(mistakeDir + "/*.md")
	if err != nil || len(files) < 25 {
		t.Fatalf("%d mistakes, %v", len(files), err)
	}
	orphans(t, mistakeDir+"/*.txt", ".txt", ".md")
	for _, f := range files {
		t.Run(strings.TrimSuffix(filepath.Base(f), ".md"), func(t *testing.T) {
			m := readMistake(t, f)
			b, err := os.ReadFile(mistakeDir + "/plants/" + m.plant)
			if err != nil {
				t.Fatal(err)
			}
			text := string(b)
			for i, old := range m.replace {
				if strings.Count(text, old) != 1 {
					t.Fatalf("%q stands %d times in %s", old, strings.Count(text, old), m.plant)
				}
				text = strings.Replace(text, old, m.with[i], 1)
			}
			r := build(t, text)
			for _, p := range r.Problems() {
				checkProblem(t, p)
			}
			for _, want := range m.finds {
				if !found(r.Problems(), want) {
					t.Errorf("not found: %s\n%s", want, printed(t, r))
				}
			}
			golden(t, strings.TrimSuffix(f, ".md")+".txt", printed(t, r))
		})
	}
}

func found(ps []*diag.Problem, want string) bool {
	for _, p := range ps {
		line := string(p.File.Text[p.File.LineSpan(p.Line()).Start:p.File.LineSpan(p.Line()).End])
		head := fmt.Sprintf("%s %s at ", p.Code, p.Severity)
		if rest, ok := strings.CutPrefix(want, head); ok && strings.HasPrefix(strings.Join(strings.Fields(strings.TrimLeft(line, "`")), " "), rest) {
			return true
		}
	}
	return false
}

// The published examples are right: their cycles raise no error, the totals that the states give meet
// the published figures (checks of the notebooks themselves), and the first law closes.
func TestPublishedCyclesHaveNoErrors(t *testing.T) {
	cycles := 0
	for _, name := range shipped(t) {
		r, err := Build(os.DirFS("../notebooks"), name, options())
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range r.Audits {
			cycles++
			if a.Report == nil {
				t.Errorf("%s: %s was not audited", name, a.Cycle.Name)
				continue
			}
			for _, f := range a.Report.Findings {
				if f.Grade == cycle.Impossible {
					t.Errorf("%s: a false error: %s", name, f.Message)
				}
			}
			if x := a.Report.Totals.Residual; x > 1e-6 || x < -1e-6 {
				t.Errorf("%s: residual %v", name, x)
			}
		}
	}
	if cycles < 20 {
		t.Errorf("only %d cycles", cycles)
	}
}
