package runner

import (
	"bytes"
	"io/fs"
	"os"
	"strings"
	"testing"

	"workings/runner/diag"
)

const packageDir = "../testdata/packages"

// buildPackage evaluates the notebooks below a folder.
func buildPackage(t *testing.T, fsys fs.FS) *Package {
	t.Helper()
	var members []Member
	err := fs.WalkDir(fsys, ".", func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(p, ".md") {
			return err
		}
		r, err := Build(fsys, p, options())
		members = append(members, Member{Path: p, Result: r, Err: err})
		return nil
	})
	if err != nil || len(members) == 0 {
		t.Fatalf("%d notebooks, %v", len(members), err)
	}
	return NewPackage(members)
}

// Every folder of testdata/packages has a fault that no sheet shows alone; beside it stands what is
// printed.
func TestPackageProblems(t *testing.T) {
	entries, err := os.ReadDir(packageDir)
	if err != nil {
		t.Fatal(err)
	}
	orphans(t, packageDir+"/*.txt", ".txt", "")
	folders := 0
	for _, e := range entries {
		if !e.IsDir() {
			continue
		}
		folders++
		dir := packageDir + "/" + e.Name()
		t.Run(e.Name(), func(t *testing.T) {
			var b bytes.Buffer
			for _, s := range buildPackage(t, os.DirFS(dir)).Sheets {
				b.WriteString("== " + s.Path + "\n")
				for _, p := range s.Problems {
					checkProblem(t, p)
					if err := diag.Print(&b, p, diag.Style{}); err != nil {
						t.Fatal(err)
					}
				}
			}
			golden(t, dir+".txt", b.Bytes())
		})
	}
	if folders < 4 {
		t.Errorf("only %d folders", folders)
	}
}

// A fault is reported once, at its own sheet, however many sheets rest on it; each of those says that
// it does. With inputs of its own a user answers for what they bring about.
func TestFaultsAreReportedOnce(t *testing.T) {
	p := buildPackage(t, os.DirFS(packageDir+"/rests"))
	said := map[string]int{}
	for _, s := range p.Sheets {
		for _, q := range s.Problems {
			said[s.Path+" "+string(q.Code)]++
		}
	}
	want := map[string]int{
		"site/air.md check-fails": 1, "site/air.md dimension": 1,
		"fan.md used-sheet-fails": 1, "plant.md used-sheet-fails": 1,
		"plant.md check-fails": 1, // of stage.md, which holds by itself
	}
	for k, n := range want {
		if said[k] != n {
			t.Errorf("%s: %d times, want %d", k, said[k], n)
		}
		delete(said, k)
	}
	if len(said) > 0 {
		t.Errorf("reported besides: %v", said)
	}
	plant := p.Sheet("plant.md")
	if len(plant.Upstream) != 2 || plant.Upstream[0].Path != "fan.md" || plant.Upstream[1].Path != "site/air.md" {
		t.Errorf("upstream of plant.md: %v", plant.Upstream)
	}
}
