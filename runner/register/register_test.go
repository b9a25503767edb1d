package register

import (
	"slices"
	"testing"
)

// Numbers stand in a register as a reader counts them.
func TestNaturalOrder(t *testing.T) {
	want := []string{"GT-2", "GT-2a", "GT-9", "GT-10", "GT-10-1", "GT-10-2", "GT-10-10", "HS-1", "HS-1.5"}
	got := slices.Clone(want)
	slices.Reverse(got)
	slices.SortFunc(got, natural)
	if !slices.Equal(got, want) {
		t.Errorf("%q", got)
	}
	want = append(want, "GT-09", "", "HS-", "１")
	for _, a := range want {
		for _, b := range want {
			if (natural(a, b) < 0) != (natural(b, a) > 0) || (natural(a, b) == 0) != (a == b) {
				t.Errorf("%s and %s have no order", a, b)
			}
		}
	}
}
