package notebook

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"workings/runner/diag"
)

// TestGolden reads every testdata/*.md and compares all it finds with the .golden beside it.
func TestGolden(t *testing.T) {
	files, err := filepath.Glob("testdata/*.md")
	if err != nil || len(files) == 0 {
		t.Fatalf("no cases found: %v", err)
	}
	update := os.Getenv("UPDATE_GOLDEN") != ""
	for _, name := range files {
		t.Run(filepath.Base(name), func(t *testing.T) {
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			d := Parse(diag.NewFile(filepath.Base(name), text))
			checkSpans(t, d)
			golden := strings.TrimSuffix(name, ".md") + ".golden"
			got := dump(d)
			if update {
				if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatalf("%v (run with UPDATE_GOLDEN=1)", err)
			}
			if diff := cmp.Diff(string(want), got); diff != "" {
				t.Errorf("-want +got:\n%s", diff)
			}
		})
	}
	goldens, _ := filepath.Glob("testdata/*.golden")
	for _, g := range goldens {
		if _, err := os.Stat(strings.TrimSuffix(g, ".golden") + ".md"); err == nil {
			continue
		}
		if !update {
			t.Errorf("%s has no notebook", g)
		} else if err := os.Remove(g); err != nil {
			t.Error(err)
		}
	}
}
