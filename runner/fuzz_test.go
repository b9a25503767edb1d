package runner

import (
	"bytes"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"workings/runner/notebook"
	"workings/runner/sheet"
)

// corpus is every notebook of the repository.
func corpus(t testing.TB) map[string]string {
	t.Helper()
	out := map[string]string{}
	for _, dir := range []string{"../notebooks", "../testdata/problems"} {
		err := fs.WalkDir(os.DirFS(dir), ".", func(p string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(p, ".md") {
				return err
			}
			text, err := os.ReadFile(dir + "/" + p)
			out[dir+"/"+p] = string(text)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if len(out) < 80 {
		t.Fatalf("only %d notebooks", len(out))
	}
	return out
}

// FuzzBuild: whatever the text, nothing panics or hangs, every place lies in its file, and page
// and trace come out whole.
func FuzzBuild(f *testing.F) {
	for _, text := range corpus(f) {
		if len(text) < 20_000 {
			f.Add(text)
		}
	}
	other := fence("inputs", "a = 2", "T1 = 300 K") + fence("calc", "fluid air", "state 1 = air(p = 1 bar, T = T1)", "b = 2*a")
	data := "T/K, h/(kJ/kg)\n300, 300.2\n310, 310.2\n"
	f.Fuzz(func(t *testing.T, text string) {
		if notebook.Check([]byte(text)) != nil {
			return
		}
		fsys := fstest.MapFS{"notebook.md": {Data: []byte(text)}, "other.md": {Data: []byte(other)}, "stage.md": {Data: []byte(other)}, "data.csv": {Data: []byte(data)}}
		r, err := Build(fsys, "notebook.md", options())
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range r.Problems() {
			checkProblem(t, p)
		}
		printed(t, r)
		var page, trace bytes.Buffer
		var big *sheet.LimitError
		if err := r.HTML(&page); err != nil && !errors.As(err, &big) {
			t.Fatal(err)
		}
		if err := r.JSON(&trace); err != nil && !errors.As(err, &big) {
			t.Fatal(err)
		} else if err == nil && !json.Valid(trace.Bytes()) {
			t.Fatal("the trace is no JSON")
		}
		formatted := format(t, []byte(text))
		if again := format(t, formatted); !bytes.Equal(formatted, again) {
			t.Fatalf("formatting twice differs:\n%s\n----\n%s", formatted, again)
		}
		sameMeaning(t, r, formatted, fsys)
	})
}

func format(t *testing.T, text []byte) []byte {
	t.Helper()
	f, err := Format(fstest.MapFS{"notebook.md": {Data: text}}, "notebook.md", options())
	if err != nil {
		t.Fatal(err)
	}
	return f.After
}

// sameMeaning: a formatted notebook comes to the same values.
func sameMeaning(t *testing.T, r *Result, formatted []byte, fsys fstest.MapFS) {
	t.Helper()
	fsys["notebook.md"] = &fstest.MapFile{Data: formatted}
	q, err := Build(fsys, "notebook.md", options())
	if err != nil {
		t.Fatal(err)
	}
	if len(q.Trace.Entries) != len(r.Trace.Entries) {
		t.Fatalf("%d entries before formatting, %d after", len(r.Trace.Entries), len(q.Trace.Entries))
	}
	for i, e := range r.Trace.Entries {
		g := q.Trace.Entries[i]
		if e.Status != g.Status || len(e.Results) != len(g.Results) {
			t.Fatalf("entry %s: status %d before formatting, %d after", e.Number, e.Status, g.Status)
		}
		for j := range e.Results {
			if a, b := e.Results[j].Value.SI, g.Results[j].Value.SI; a != b {
				t.Fatalf("entry %s: %v before formatting, %v after", e.Number, a, b)
			}
		}
	}
}

// TestFormatKeepsMeaning does for every notebook of the repository what the fuzz target does for
// any text.
func TestFormatKeepsMeaning(t *testing.T) {
	for name, text := range corpus(t) {
		dir := name[:strings.LastIndexByte(name, '/')]
		fsys := fstest.MapFS{}
		entries, err := os.ReadDir(dir)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			if b, err := os.ReadFile(dir + "/" + e.Name()); err == nil {
				fsys[e.Name()] = &fstest.MapFile{Data: b}
			}
		}
		fsys["notebook.md"] = &fstest.MapFile{Data: []byte(text)}
		r, err := Build(fsys, "notebook.md", options())
		if err != nil {
			t.Fatal(err)
		}
		formatted := format(t, []byte(text))
		t.Run(name, func(t *testing.T) { sameMeaning(t, r, formatted, fsys) })
	}
}
