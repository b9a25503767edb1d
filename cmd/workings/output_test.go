package main

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"
)

func TestWantsColour(t *testing.T) {
	for _, c := range []struct {
		asked    string
		terminal bool
		noColour string
		term     string
		want     bool
	}{
		{"auto", true, "", "xterm", true},
		{"auto", true, "", "dumb", false},
		{"auto", true, "1", "xterm", false},
		{"auto", false, "", "xterm", false},
		{"always", false, "1", "dumb", true}, // said in so many words
		{"never", true, "", "xterm", false},
	} {
		if got := wantsColour(c.asked, c.terminal, c.noColour, c.term); got != c.want {
			t.Errorf("%+v: got %v", c, got)
		}
	}
}

// A fault of the tool in one notebook is reported as such, and the others go on, in their order.
func TestEachSurvivesPanic(t *testing.T) {
	var out, errs bytes.Buffer
	a := &app{out: &out, err: &errs, workers: 3}
	ts := []target{{shown: "a.md"}, {shown: "bad.md"}, {shown: "b.md"}, {shown: "gone.md", err: errors.New("there is no such file")}, {shown: "c.md"}}
	sum, err := a.each(ts, func(t *target, o *outcome) {
		o.notebooks++
		fmt.Fprintln(&o.out, t.shown)
		if t.shown == "bad.md" {
			panic("index out of range")
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := out.String(), "a.md\nb.md\nc.md\n"; got != want {
		t.Errorf("printed %q, want %q", got, want)
	}
	for _, want := range []string{"bad.md: internal error (index out of range)", "please report", "gone.md: there is no such file"} {
		if !strings.Contains(errs.String(), want) {
			t.Errorf("the errors lack %q:\n%s", want, errs.String())
		}
	}
	if strings.Contains(errs.String(), "goroutine") {
		t.Error("a stack reached the user")
	}
	if a.code != 3 || sum.notebooks != 3 || sum.unread != 2 {
		t.Errorf("code %d, tally %+v", a.code, sum)
	}
}

func TestNumbersFirst(t *testing.T) {
	got := numbersFirst([]string{"units", "-40", "°F", "--ambient", "-x"})
	if want := []string{"units", "−40", "°F", "--ambient", "-x"}; strings.Join(got, " ") != strings.Join(want, " ") {
		t.Errorf("got %q", got)
	}
	if got := numbersFirst([]string{"run", "-4"}); got[1] != "-4" {
		t.Errorf("another command's flags were touched: %q", got)
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space left on device") }

// Output that cannot be written is no success.
func TestWriteFailure(t *testing.T) {
	var errs bytes.Buffer
	if code := execute([]string{"gases"}, full{}, &errs); code != 3 || !strings.Contains(errs.String(), "the output cannot be written") {
		t.Errorf("code %d, %s", code, errs.String())
	}
}
