package propsdb

import (
	"errors"
	"math"
)

// tester is what *testing.T, *testing.B, *testing.F and *rapid.T have in common.
type tester interface {
	Helper()
	Errorf(format string, args ...any)
	Fatalf(format string, args ...any)
	Fatal(args ...any)
}

func near(t tester, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s = %.15g, want %.15g within %g", what, got, want, within)
	}
}

// as requires an error of type E and gives it.
func as[E error](t tester, what string, err error) E {
	t.Helper()
	var e E
	if !errors.As(err, &e) {
		t.Fatalf("%s: error %v (%T), want %T", what, err, err, e)
	}
	if e.Error() == "" {
		t.Errorf("%s: the error says nothing", what)
	}
	return e
}

func mustState(t tester, f *Fluid, a Property, va float64, b Property, vb float64) State {
	t.Helper()
	s, err := f.State(a, va, b, vb)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func get(t tester, s State, q Property) float64 {
	t.Helper()
	v, err := s.Get(q)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
