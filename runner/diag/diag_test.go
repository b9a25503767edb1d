package diag

import (
	"strings"
	"testing"
)

func TestPositionsCountCharacters(t *testing.T) {
	f := NewFile("a.md", []byte("η = 1\r\nṁ_2 = 3\rx\n"))
	for _, c := range []struct{ offset, line, column int }{
		{0, 1, 1}, {2, 1, 2}, {8, 2, 1}, {f.Lines(), 1, 4}, {len(f.Text), 4, 1}, {-5, 1, 1}, {999, 4, 1},
	} {
		if line, col := f.Position(c.offset); line != c.line || col != c.column {
			t.Errorf("offset %d is %d:%d, want %d:%d", c.offset, line, col, c.line, c.column)
		}
	}
	if got := f.LineSpan(1).In(f); got != "η = 1" {
		t.Errorf("line 1 is %q", got)
	}
	if got := f.LineSpan(3).In(f); got != "x" {
		t.Errorf("line 3 is %q", got)
	}
	if s := (Span{-1, 3}).In(f); s != "" {
		t.Errorf("a span outside gives %q", s)
	}
}

func TestNear(t *testing.T) {
	names := []string{"eta_t", "eta_c", "eta_th", "T_1", "w_net", "p2"}
	for word, want := range map[string]string{
		"eta_ht": "eta_t eta_th eta_c", // a swap of neighbours is one edit
		"ETA_C":  "eta_c eta_t",
		"wnet":   "w_net",
		"x":      "", // one letter is one edit from every other
		"regen":  "",
	} {
		if got := strings.Join(Near(word, names), " "); got != want {
			t.Errorf("near %s: %q, want %q", word, got, want)
		}
	}
	if got := Near(strings.Repeat("a", 100000), []string{strings.Repeat("a", 99999)}); got != nil {
		t.Error("a very long word is no slip of the keyboard")
	}
}

func TestPrintMarksTheCharacters(t *testing.T) {
	f := NewFile("plant.md", []byte("first\n\tη_t = ṁ + p1 // x\n"))
	at := strings.Index(string(f.Text), "p1")
	p := &Problem{Code: "dimension", Severity: Error, File: f, Span: Span{at, at + 2}, Message: "no sum", Label: "a pressure", Hint: "look",
		Related: []Related{{f, Span{0, 5}, "here"}}}
	var b strings.Builder
	if err := Print(&b, p, Style{}); err != nil {
		t.Fatal(err)
	}
	want := "plant.md:2:12: error: no sum [dimension]\n 2 |     η_t = ṁ + p1 // x\n   |               ^^ a pressure\n   - line 1: here\n 1 | first\n   | ^^^^^\n   = hint: look\n"
	if b.String() != want {
		t.Errorf("got\n%s\nwant\n%s", b.String(), want)
	}
}

func TestVisible(t *testing.T) {
	if got := Visible("a\x1b[31mb\u202ec\nd"); got != `a\u001b[31mb\u202ec d` {
		t.Errorf("%q", got)
	}
}

func TestSortAndWorst(t *testing.T) {
	a, b := NewFile("a", []byte("xxxx")), NewFile("b", []byte("xxxx"))
	ps := []*Problem{{File: b, Severity: Note}, {File: a, Span: Span{2, 3}, Severity: Caution}, {File: a, Span: Span{1, 2}}}
	Sort(ps)
	if ps[0].Span.Start != 1 || ps[2].File != b {
		t.Errorf("order %v", ps)
	}
	if w, any := Worst(ps); w != Caution || !any {
		t.Errorf("worst %v", w)
	}
	if _, any := Worst(nil); any {
		t.Error("nothing has a worst")
	}
}
