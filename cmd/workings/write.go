package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
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

// createBeside makes a new file in the folder of another.
func createBeside(file string, mode os.FileMode) (*os.File, error) {
	dir, base := filepath.Split(file)
	for i := 0; ; i++ {
		f, err := os.OpenFile(filepath.Join(dir, fmt.Sprintf(".%s.%d-%d", base, os.Getpid(), i)), os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
		if !errors.Is(err, os.ErrExist) || i == 1000 {
			return f, err
		}
	}
}
