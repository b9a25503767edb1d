package sheet

import (
	"strings"
	"testing"
)

// TestFontsAsNeeded: emphasis and letters with accents bring their fonts, and only they do.
func TestFontsAsNeeded(t *testing.T) {
	for text, want := range map[string]int{
		"plain × ÷ 5 °C, η":   4,
		"with *emphasis*":     5,
		"Sørensen":            7,
		"*Škoda* of Åland":    9,
		"```calc\na = 1 // é": 7,
	} {
		page := render(t, text+"\n", nil, Options{})
		if got := strings.Count(page, "@font-face"); got != want {
			t.Errorf("%q brings %d fonts, want %d", text, got, want)
		}
		style, _, ok := strings.Cut(page[strings.Index(page, "<style>"):], "</style>")
		if !ok || strings.Count(style, "@font-face") != want {
			t.Errorf("%q: fonts outside the style sheet", text)
		}
	}
}
