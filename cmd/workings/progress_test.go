//go:build linux

package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"unsafe"
)

// longStudy takes many seconds: at each of a million points several unknowns are sought.
func longStudy() string {
	text := "```inputs\na = 1\n```\n\n```calc\n"
	for n := range 3 {
		text += strings.ReplaceAll("solve xN between 0 and 9\n    yN = xN*exp(xN)\nuntil yN == a + N\n", "N", strconv.Itoa(n))
	}
	return text + "```\n\n```study long\nvary a from 1 to 9 in 1000000 points\nkeep x0, x1, x2\n```\n"
}

// terminal is a pseudo-terminal: what is written to tty is read from its master.
func terminal(t *testing.T) (master, tty *os.File) {
	t.Helper()
	master, err := os.OpenFile("/dev/ptmx", os.O_RDWR|syscall.O_NOCTTY, 0)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { master.Close() })
	var n, unlocked uint32
	for request, arg := range map[uintptr]*uint32{syscall.TIOCGPTN: &n, syscall.TIOCSPTLCK: &unlocked} {
		if _, _, e := syscall.Syscall(syscall.SYS_IOCTL, master.Fd(), request, uintptr(unsafe.Pointer(arg))); e != 0 {
			t.Fatal(e)
		}
	}
	size := struct{ rows, columns, x, y uint16 }{24, 100, 0, 0}
	if _, _, e := syscall.Syscall(syscall.SYS_IOCTL, master.Fd(), syscall.TIOCSWINSZ, uintptr(unsafe.Pointer(&size))); e != 0 {
		t.Fatal(e)
	}
	tty, err = os.OpenFile(fmt.Sprintf("/dev/pts/%d", n), os.O_RDWR|syscall.O_NOCTTY, 0)
	if err != nil {
		t.Fatal(err)
	}
	return master, tty
}

// Whatever command evaluates a long study tells a terminal how far it is, and nothing elsewhere. When
// the user then stops it, it ends, the bar is gone, and nothing is half-written.
func TestLongStudies(t *testing.T) {
	for _, args := range [][]string{{"study", "long.md"}, {"run", "long.md"}, {"check", "--json", "long.md"}, {"render", "long.md", "-o", "out", "--csv", "--json"}} {
		t.Run(args[0], func(t *testing.T) {
			dir := t.TempDir()
			if err := os.WriteFile(filepath.Join(dir, "long.md"), []byte(longStudy()), 0o666); err != nil {
				t.Fatal(err)
			}
			master, tty := terminal(t)
			var out bytes.Buffer
			c := exec.Command(os.Args[0], args...)
			c.Args[0] = "workings" // see TestMain
			c.Dir, c.Stdout, c.Stderr = dir, &out, tty
			if err := c.Start(); err != nil {
				t.Fatal(err)
			}
			tty.Close()
			var seen bytes.Buffer
			part := make([]byte, 4096)
			stopped := false
			for {
				n, err := master.Read(part)
				seen.Write(part[:n])
				if err != nil {
					break // the other end is closed: the command has ended
				}
				if !stopped && strings.Contains(seen.String(), "of 1000000 points") {
					stopped = true
					c.Process.Signal(os.Interrupt)
				}
			}
			err := c.Wait()
			var ended *exec.ExitError
			if !errors.As(err, &ended) || ended.ExitCode() != 3 {
				t.Errorf("ended with %v", err)
			}
			if !strings.Contains(seen.String(), "long.md long ") {
				t.Errorf("the bar does not name what is evaluated: %q", seen.String())
			}
			if !strings.HasSuffix(seen.String(), "workings "+args[0]+": interrupted\r\n") {
				t.Errorf("ends with %q", seen.String())
			}
			if out.Len() > 0 {
				t.Errorf("printed %q", out.String())
			}
			filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
				if err != nil || !d.IsDir() && d.Name() != "long.md" {
					t.Errorf("left behind: %s (%v)", path, err)
				}
				return nil
			})
		})
	}
}
