package runner

import (
	"io/fs"
	"strings"
	"testing"

	"workings/notebooks"
	"workings/runner/diag"
	"workings/runner/lang"
	"workings/runner/notebook"
)

// TestLibraryTables holds the table of methods at the head of each notebook that comes with the tool
// against the methods in it, and asks that a verification notebook calls each of them.
func TestLibraryTables(t *testing.T) {
	verification := verificationText(t)
	names, err := fs.Glob(notebooks.Library(), "*.md")
	if err != nil || len(names) < 2 {
		t.Fatalf("library: %v, %v", names, err)
	}
	for _, name := range names {
		text, err := fs.ReadFile(notebooks.Library(), name)
		if err != nil {
			t.Fatal(err)
		}
		doc := notebook.Parse(diag.NewFile(name, text))
		listed := map[string]bool{}
		for _, line := range strings.Split(string(text), "\n") {
			if cell, ok := strings.CutPrefix(line, "| `"); ok {
				signature, _, _ := strings.Cut(cell, "`")
				listed[signature] = true
			}
		}
		methods := 0
		for _, b := range doc.Blocks {
			block, problems := lang.Parse(doc.File, langSource(b))
			if len(problems) > 0 {
				t.Errorf("%s: %s", name, problems[0].Message)
			}
			for _, s := range block.Stmts {
				m, ok := s.(*lang.Method)
				if !ok {
					continue
				}
				methods++
				head := string(doc.File.Text[m.Head.Start:m.Head.End])
				call, outs, _ := strings.Cut(strings.Join(strings.Fields(head), " "), " -> ")
				if signature := outs + " = " + call; !listed[signature] {
					t.Errorf("%s: the table at the head lacks %q", name, signature)
				} else {
					delete(listed, signature)
				}
				if !strings.Contains(verification, "= "+m.Name.Text+"(") {
					t.Errorf("%s: no verification notebook calls %s", name, m.Name.Text)
				}
			}
		}
		for signature := range listed {
			t.Errorf("%s: the table at the head has %q, and there is no such method", name, signature)
		}
		if methods == 0 {
			t.Errorf("%s has no methods", name)
		}
	}
}

// verificationText is all verification notebooks one after the other.
func verificationText(t *testing.T) string {
	var b strings.Builder
	files, err := fs.Glob(notebooks.FS(), "verification/*.md")
	if err != nil || len(files) == 0 {
		t.Fatalf("verification: %v, %v", files, err)
	}
	for _, f := range files {
		text, err := fs.ReadFile(notebooks.FS(), f)
		if err != nil {
			t.Fatal(err)
		}
		b.Write(text)
	}
	return b.String()
}
