package runner

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"sort"
	"strconv"
	"strings"
	"testing"
)

// mayImport is the direction of the imports: each package with the siblings it may import. A
// package that is missing here may not exist.
func mayImport() map[string][]string {
	below := map[string][]string{
		"units":           {},
		"runner/diag":     {},
		"notebooks":       {},
		"propsdb":         {"units"},
		"runner/watch":    {},
		"runner/notebook": {"runner/diag"},
		"runner/lang":     {"runner/diag", "units"},
		"runner/tex":      {"runner/diag"},
		"runner/chart":    {"units"},
		"runner/resolve":  {"runner/lang", "units", "propsdb", "runner/diag"},
		"runner/eval":     {"runner/resolve", "runner/lang", "units", "propsdb", "runner/diag"},
		"cmd/workings":    {"runner", "runner/watch", "runner/diag", "propsdb", "units", "notebooks"},
	}
	below["runner/study"] = []string{"runner/eval", "runner/resolve", "runner/lang", "units", "propsdb", "runner/diag"}
	below["runner/cycle"] = []string{"runner/eval", "runner/chart", "runner/resolve", "runner/lang", "units", "propsdb", "runner/diag"}
	below["runner/register"] = []string{"runner/notebook", "runner/eval", "runner/resolve", "runner/lang", "runner/diag"}
	below["runner/sheet"] = []string{"runner/register", "runner/notebook", "runner/lang", "runner/resolve", "runner/eval", "runner/chart", "runner/cycle", "runner/study", "runner/tex", "runner/diag", "units", "propsdb"}
	below["runner"] = append([]string{"runner/sheet"}, below["runner/sheet"]...)
	return below
}

// ownedBy are libraries that only some packages may touch.
func ownedBy() map[string][]string {
	return map[string][]string{
		"github.com/expr-lang/expr":  {"runner/lang"},
		"github.com/yuin/goldmark":   {"runner/notebook", "runner/sheet"},
		"gonum.org/v1/plot":          {"runner/chart"},
		"github.com/fsnotify":        {"runner/watch"},
		"github.com/spf13/cobra":     {"cmd/workings"},
		"modernc.org/quickjs":        {"runner/tex"},
		"github.com/goccy/go-yaml":   {"runner/notebook"},
		"github.com/mattn/go-isatty": {"cmd/workings"},
		"github.com/xuri/excelize":   {"runner/sheet"},
	}
}

func TestImportsRunOneWay(t *testing.T) {
	root := ".."
	allowed, owned := mayImport(), ownedBy()
	seen := map[string]bool{}
	err := filepath.WalkDir(root, func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(p, ".go") {
			return err
		}
		rel, _ := filepath.Rel(root, p)
		pkg := path.Dir(filepath.ToSlash(rel))
		siblings, known := allowed[pkg]
		if !known {
			t.Errorf("%s: package %s has no place in the layout", rel, pkg)
			return nil
		}
		seen[pkg] = true
		if strings.HasSuffix(p, "_test.go") {
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), p, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		for _, im := range f.Imports {
			what, _ := strconv.Unquote(im.Path.Value)
			if rest, ours := strings.CutPrefix(what, "workings/"); ours && !slices.Contains(siblings, rest) {
				t.Errorf("%s imports %s; %s may import only %v", rel, rest, pkg, siblings)
			}
			for lib, by := range owned {
				if (what == lib || strings.HasPrefix(what, lib+"/")) && !slices.Contains(by, pkg) {
					t.Errorf("%s imports %s, which only %v may", rel, what, by)
				}
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for pkg := range allowed {
		if !seen[pkg] {
			t.Errorf("the layout names %s, and there is no such package", pkg)
		}
	}
}

func TestTopLevel(t *testing.T) {
	entries, err := os.ReadDir("..")
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"DEVELOPERS.md", "README.md", "cmd", "go.mod", "go.sum", "notebooks", "propsdb", "runner", "testdata", "units"}
	var got []string
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), ".") && e.Name() != "out" { // out/ is where the README renders to; it is ignored by git
			got = append(got, e.Name())
		}
	}
	sort.Strings(got)
	if !slices.Equal(got, want) {
		t.Errorf("top level\n got %v\nwant %v", got, want)
	}
}

// No package keeps a variable that is ever written after start: state belongs to values.
func TestNoInit(t *testing.T) {
	err := filepath.WalkDir("..", func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(p, ".go") {
			return err
		}
		text, err := os.ReadFile(p)
		if err == nil && strings.Contains(string(text), "\nfunc init()") {
			t.Errorf("%s registers something in init", p)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}
