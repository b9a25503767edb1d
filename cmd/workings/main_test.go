package main

import (
	"errors"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"workings": main, "rewrites": rewrites})
}

// TestScripts runs the archives of testdata/script, which read as documentation of the commands.
// UPDATE_GOLDEN=1 writes what the commands print into them.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "../../testdata/script",
		UpdateScripts:       os.Getenv("UPDATE_GOLDEN") != "",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits":  exits,
			"awaits": awaits,
		},
	})
}

// exits runs a command that must end with the given exit code: exits CODE COMMAND ARG…
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE COMMAND [ARG...]")
	}
	code := 0
	var failed *exec.ExitError
	switch err := ts.Exec(args[1], args[2:]...); {
	case errors.As(err, &failed):
		code = failed.ExitCode()
	case err != nil:
		ts.Fatalf("%v", err)
	}
	if args[0] != strconv.Itoa(code) {
		ts.Fatalf("exit code %d, want %s", code, args[0])
	}
}

// awaits waits until a file that another command writes holds a pattern, or with -gone is no more:
// awaits FILE PATTERN, awaits -gone FILE
func awaits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: awaits FILE PATTERN, awaits -gone FILE")
	}
	file, pattern := ts.MkAbs(args[0]), args[1]
	if args[0] == "-gone" {
		file, pattern = ts.MkAbs(args[1]), ""
	}
	want, err := regexp.Compile("(?m)" + pattern)
	ts.Check(err)
	for late := time.Now().Add(20 * time.Second); time.Now().Before(late); time.Sleep(5 * time.Millisecond) {
		text, err := os.ReadFile(file)
		if args[0] == "-gone" && errors.Is(err, os.ErrNotExist) || args[0] != "-gone" && err == nil && want.Match(text) {
			return
		}
	}
	ts.Fatalf("%s has not come to that", args)
}
