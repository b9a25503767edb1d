package runner

import (
	"bytes"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"workings/runner/diag"
)

const problemDir = "../testdata/problems"

// golden compares got with a file, or rewrites the file where UPDATE_GOLDEN is set.
func golden(t *testing.T, file string, got []byte) {
	t.Helper()
	if os.Getenv("UPDATE_GOLDEN") != "" {
		if err := os.WriteFile(file, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), string(got)); d != "" {
		t.Errorf("%s (-want +got; UPDATE_GOLDEN=1 rewrites it):\n%s", file, d)
	}
}

// orphans reports, or with UPDATE_GOLDEN removes, goldens whose notebook is gone.
func orphans(t *testing.T, pattern, from, to string) {
	t.Helper()
	files, err := filepath.Glob(pattern)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if _, err := os.Stat(strings.TrimSuffix(f, from) + to); err == nil {
			continue
		}
		if os.Getenv("UPDATE_GOLDEN") == "" {
			t.Errorf("%s has no notebook", f)
		} else if err := os.Remove(f); err != nil {
			t.Fatal(err)
		}
	}
}

func printed(t *testing.T, r *Result) []byte {
	t.Helper()
	var b bytes.Buffer
	for _, p := range r.Problems() {
		if err := diag.Print(&b, p, diag.Style{}); err != nil {
			t.Fatal(err)
		}
	}
	return b.Bytes()
}

func options() Options {
	return Options{Library: os.DirFS("../notebooks/library"), Version: "test"}
}

// Every notebook of testdata/problems is wrong in some way; beside it stands what is printed.
func TestProblems(t *testing.T) {
	files, err := filepath.Glob(problemDir + "/*.md")
	if err != nil || len(files) < 60 {
		t.Fatalf("%d notebooks, %v", len(files), err)
	}
	orphans(t, problemDir+"/*.txt", ".txt", ".md")
	for _, f := range files {
		name := filepath.Base(f)
		t.Run(strings.TrimSuffix(name, ".md"), func(t *testing.T) {
			r, err := Build(os.DirFS(problemDir), name, options())
			if err != nil {
				t.Fatal(err)
			}
			for _, p := range r.Problems() {
				checkProblem(t, p)
			}
			golden(t, strings.TrimSuffix(f, ".md")+".txt", printed(t, r))
		})
	}
}

// checkProblem holds every report to the house style.
func checkProblem(t *testing.T, p *diag.Problem) {
	t.Helper()
	switch {
	case p.Code == "" || p.Message == "":
		t.Errorf("a problem without code or message: %+v", p)
	case p.Span.Start < 0 || p.Span.End > len(p.File.Text) || p.Span.Start > p.Span.End:
		t.Errorf("%s: span %v outside the file of %d bytes", p.Code, p.Span, len(p.File.Text))
	case strings.HasSuffix(p.Message, ".") && !strings.Contains(p.Message, "; accepted: "): // the author's own words
		t.Errorf("%s: a message is no full sentence with a stop: %q", p.Code, p.Message)
	}
	for _, r := range p.Related {
		if r.Span.Start < 0 || r.Span.End > len(r.File.Text) || r.Span.Start > r.Span.End {
			t.Errorf("%s: related span %v outside its file", p.Code, r.Span)
		}
	}
}

// codes are all values of diag.Code that the packages declare.
func codes(t *testing.T) []string {
	t.Helper()
	var out []string
	files, err := filepath.Glob("*/*.go")
	if err != nil {
		t.Fatal(err)
	}
	own, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	files = append(files, own...)
	add := func(lit ast.Expr) {
		if b, ok := lit.(*ast.BasicLit); ok && b.Kind == token.STRING {
			if s, err := strconv.Unquote(b.Value); err == nil && !slices.Contains(out, s) {
				out = append(out, s)
			}
		}
	}
	isCode := func(e ast.Expr) bool {
		s, ok := e.(*ast.SelectorExpr)
		return ok && s.Sel.Name == "Code"
	}
	for _, f := range files {
		if strings.HasSuffix(f, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), f, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.ValueSpec:
				if n.Type != nil && isCode(n.Type) {
					for _, v := range n.Values {
						add(v)
					}
				}
			case *ast.CallExpr:
				if isCode(n.Fun) && len(n.Args) == 1 {
					add(n.Args[0])
				}
			}
			return true
		})
	}
	return out
}

// limitCodes are provoked by texts too large to keep; TestLimits does.
func limitCodes() []string {
	return []string{"limit-expansion", "limit-nesting", "limit-line", "limit-solve-steps", "limit-references",
		"limit-emphasis", "limit-link-length", "limit-table", "limit-tex", "limit-components", "limit-correlations", "limit-sensitivity", "front-matter-limit"}
}

func TestEveryCodeIsProvoked(t *testing.T) {
	all := codes(t)
	if len(all) < 80 {
		t.Fatalf("only %d codes found", len(all))
	}
	var text []byte
	goldens, err := filepath.Glob(problemDir + "/*.txt")
	if err != nil {
		t.Fatal(err)
	}
	mistakes, err := filepath.Glob(mistakeDir + "/*.txt")
	if err != nil {
		t.Fatal(err)
	}
	packages, err := filepath.Glob(packageDir + "/*.txt")
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range slices.Concat(goldens, mistakes, packages) {
		b, err := os.ReadFile(g)
		if err != nil {
			t.Fatal(err)
		}
		text = append(text, b...)
	}
	kebab := regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)
	for _, c := range all {
		if c == "waits" { // internal: never a problem
			continue
		}
		if !kebab.MatchString(c) {
			t.Errorf("code %q is not words with hyphens", c)
		}
		if !bytes.Contains(text, []byte("["+c+"]")) && !slices.Contains(limitCodes(), c) {
			t.Errorf("no notebook of testdata/problems provokes %q", c)
		}
	}
}
