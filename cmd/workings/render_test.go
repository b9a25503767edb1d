package main

import (
	"bytes"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

const demos = "../../notebooks/demos"

// everyFormat are the flags for every output that needs nothing but the tool itself.
func everyFormat() []string { return []string{"--xlsx", "--csv", "--json", "--markdown"} }

// Every output of every demo is the same bytes, rendered again in the same process and in two others,
// one of them from another folder and with another number of processors.
func TestSameBytes(t *testing.T) {
	from, err := filepath.Abs(demos)
	if err != nil {
		t.Fatal(err)
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	inside := func(dir string) {
		var errs bytes.Buffer
		if code := execute(append([]string{"render", demos, "-o", dir}, everyFormat()...), io.Discard, &errs); code != 0 {
			t.Fatalf("exit %d\n%s", code, &errs)
		}
	}
	outside := func(dir, in string, env ...string) {
		cmd := exec.Command(self)
		cmd.Args = append([]string{"workings", "render", in, "-o", dir}, everyFormat()...) // TestMain runs the command of this name
		cmd.Dir, cmd.Env = filepath.Dir(dir), append(os.Environ(), env...)
		if said, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("%v\n%s", err, said)
		}
	}
	root := t.TempDir()
	inside(filepath.Join(root, "1"))
	inside(filepath.Join(root, "2"))
	outside(filepath.Join(root, "3"), from)
	outside(filepath.Join(root, "4"), from, "GOMAXPROCS=1", "TZ=Pacific/Chatham", "LC_ALL=de_DE.UTF-8")
	first := os.DirFS(filepath.Join(root, "1"))
	kinds := map[string]int{}
	err = fs.WalkDir(first, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		kinds[filepath.Ext(name)]++
		want, err := fs.ReadFile(first, name)
		if err != nil {
			return err
		}
		for _, dir := range []string{"2", "3", "4"} {
			got, err := os.ReadFile(filepath.Join(root, dir, name))
			if err != nil || !bytes.Equal(got, want) {
				t.Errorf("%s/%s differs from the first rendering (%v)", dir, name, err)
			}
			if bytes.Contains(got, []byte(root)) || bytes.Contains(got, []byte(from)) {
				t.Errorf("%s/%s names a folder of this machine", dir, name)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, kind := range []string{".html", ".xlsx", ".csv", ".json", ".markdown"} {
		if kinds[kind] == 0 {
			t.Errorf("no %s was written: %v", kind, kinds)
		}
	}
	// Beside those of the sheets there are the register and the document of all, and the register as JSON.
	if n := kinds[".html"] - 2; n < 5 || kinds[".xlsx"] != n || kinds[".json"] != n+1 || kinds[".markdown"] != n {
		t.Errorf("written: %v", kinds)
	}
}
