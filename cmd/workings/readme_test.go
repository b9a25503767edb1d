package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var shown = regexp.MustCompile("(?s)(````markdown\n)(.*?)(\n````\n.*?```text\n)(.*?)(```\n)")

// Every notebook of the README stands before what `workings run` prints for it.
func TestReadme(t *testing.T) {
	file, err := filepath.Abs("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	t.Chdir(t.TempDir())
	out := shown.ReplaceAllFunc(b, func(m []byte) []byte {
		n++
		g := shown.FindSubmatch(m)
		if err := os.WriteFile("stand.md", append(bytes.Clone(g[2]), '\n'), 0o644); err != nil {
			t.Fatal(err)
		}
		var stdout, stderr bytes.Buffer
		execute([]string{"run", "stand.md"}, &stdout, &stderr)
		if stderr.Len() > 0 {
			t.Errorf("standard error: %s", stderr.Bytes())
		}
		return bytes.Join([][]byte{g[1], g[2], g[3], stdout.Bytes(), g[5]}, nil)
	})
	if n < 2 {
		t.Fatalf("only %d notebooks in the README", n)
	}
	if bytes.Equal(b, out) {
		return
	}
	if os.Getenv("UPDATE_GOLDEN") == "" {
		t.Errorf("the README is not what is printed (-README +printed; UPDATE_GOLDEN=1 rewrites it):\n%s", cmp.Diff(string(b), string(out)))
		return
	}
	if err := os.WriteFile(file, out, 0o644); err != nil {
		t.Fatal(err)
	}
}
