package main

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// versions are two contents of a file, of a size that is not written at one go.
func versions() [][]byte {
	return [][]byte{bytes.Repeat([]byte("old "), 1<<19), bytes.Repeat([]byte("new! "), 1<<19)}
}

// rewrites is a program that replaces the files that it is given again and again, until it is killed.
func rewrites() {
	for i := 0; ; i++ {
		for _, file := range os.Args[1:] {
			if err := replace(file, versions()[i%2], 0o666); err != nil {
				panic(err)
			}
		}
		os.Stdout.WriteString("again\n")
	}
}

// A program that is killed while it writes leaves every file as it was or as it was to be, and what it
// left unfinished goes at the next start.
func TestKilledWhileWriting(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	files := []string{filepath.Join(dir, "a.html"), filepath.Join(dir, "b.html")}
	unfinishedFiles := func() []string {
		found, err := filepath.Glob(filepath.Join(dir, ".*"+unfinished))
		if err != nil {
			t.Fatal(err)
		}
		return found
	}
	for round := 0; round < 8 || len(unfinishedFiles()) == 0 && round < 200; round++ {
		cmd := exec.Command(self)
		cmd.Args = append([]string{"rewrites"}, files...) // TestMain runs the command of this name
		said, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		if _, err := io.ReadFull(said, make([]byte, len("again\n"))); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(round%8) * 3 * time.Millisecond)
		if err := cmd.Process.Kill(); err != nil { // SIGKILL
			t.Fatal(err)
		}
		cmd.Wait()
		for _, file := range files {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.ContainsFunc(versions(), func(v []byte) bool { return bytes.Equal(v, text) }) {
				t.Fatalf("after round %d %s is neither the old one nor the new: %d bytes, %q …", round, filepath.Base(file), len(text), text[:min(len(text), 20)])
			}
		}
	}
	if len(unfinishedFiles()) == 0 {
		t.Fatal("the program was never killed while it wrote: the test shows nothing")
	}
	running, err := createBeside(files[0], 0o666) // by this process, which is there
	if err != nil {
		t.Fatal(err)
	}
	running.Close()
	other := filepath.Join(dir, ".kept.123-x"+unfinished)
	notebook := filepath.Join(t.TempDir(), "a.md")
	for _, file := range []string{other, notebook} {
		if err := os.WriteFile(file, []byte("# A\n"), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	var errs strings.Builder
	if code := execute([]string{"render", notebook, "-o", dir}, io.Discard, &errs); code != 0 {
		t.Fatal(errs.String())
	}
	want := []string{running.Name(), other}
	slices.Sort(want)
	if got := unfinishedFiles(); !slices.Equal(got, want) {
		t.Errorf("after the next start there are %v, want %v", got, want)
	}
}
