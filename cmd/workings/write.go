package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"syscall"
)

// replace writes a file whole or not at all: a reader, and a crash, finds the old one or the new.
func replace(file string, text []byte, mode os.FileMode) error {
	// Made as any new file is, so that the user's umask holds for the sheet.
	temp, err := createBeside(file, mode)
	if err != nil {
		return err
	}
	_, err = temp.Write(text)
	if err == nil {
		err = temp.Sync() // or a crash might find the new name before its contents
	}
	if e := temp.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Rename(temp.Name(), file)
	}
	if err != nil {
		os.Remove(temp.Name())
	}
	return err
}

// unfinished ends the name of a file that is being written.
const unfinished = ".unfinished"

// sweep removes what processes that were killed left unfinished in folders.
func sweep(dirs ...string) {
	seen := map[string]bool{}
	for _, dir := range dirs {
		if seen[dir] {
			continue
		}
		seen[dir] = true
		entries, err := os.ReadDir(dir)
		if err != nil {
			continue // whoever writes there is told
		}
		for _, e := range entries {
			if m := left.FindStringSubmatch(e.Name()); m != nil && e.Type().IsRegular() && !runs(m[1]) {
				os.Remove(filepath.Join(dir, e.Name())) // or another has just done so
			}
		}
	}
}

// left is the name of an unfinished file, and the process that made it.
var left = regexp.MustCompile(`^\..+\.([0-9]+)-[0-9]+` + regexp.QuoteMeta(unfinished) + `$`)

// runs reports a process that is there.
func runs(process string) bool {
	n, err := strconv.Atoi(process)
	return err != nil || !errors.Is(syscall.Kill(n, 0), syscall.ESRCH)
}

// createBeside makes a new file in the folder of another.
func createBeside(file string, mode os.FileMode) (*os.File, error) {
	dir, base := filepath.Split(file)
	base = base[:min(len(base), 100)] // the name that a file system allows is not much longer
	for i := 0; ; i++ {
		f, err := os.OpenFile(filepath.Join(dir, fmt.Sprintf(".%s.%d-%d%s", base, os.Getpid(), i, unfinished)), os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
		if !errors.Is(err, os.ErrExist) || i == 1000 {
			return f, err
		}
	}
}
