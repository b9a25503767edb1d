package tex

import "testing"

// A formula that is remembered takes from what a notebook may ask for what it took when it was typeset,
// and fails where that is no longer to be had.
func TestMemoryTakesItsSteps(t *testing.T) {
	f := Formula{TeX: `\frac{a}{b}`}
	m := &Memory{}
	left := func(m *Memory, steps int) (markup string, after int, failed bool) {
		ts := New(m)
		defer ts.Close()
		if steps > 0 {
			ts.steps = steps
		}
		markup, problem, err := ts.Typeset(f)
		if err != nil {
			t.Fatal(err)
		}
		return markup, ts.steps, problem != nil
	}
	first, after, _ := left(m, 0)
	for _, steps := range []int{0, MaxAllSteps - after, 5, 1} {
		cold, coldAfter, coldFailed := left(nil, steps)
		warm, warmAfter, warmFailed := left(m, steps)
		if warm != cold || warmAfter != coldAfter || warmFailed != coldFailed {
			t.Errorf("with %d steps to be had: %q, %d left, failed %v; without a memory %q, %d, %v", steps, warm, warmAfter, warmFailed, cold, coldAfter, coldFailed)
		}
	}
	if New(m).Started() || first == "" {
		t.Error("nothing was typeset")
	}
	again := New(m)
	if _, _, err := again.Typeset(f); err != nil || again.Started() {
		t.Error("the engine was started for a formula that is remembered", err)
	}
}
