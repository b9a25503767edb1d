package runner

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Every code has its page of explanation with a line that brings it about and one that mends it, and
// every page has its code.
func TestEveryCodeIsExplained(t *testing.T) {
	files, err := filepath.Glob("../notebooks/explain/*.md")
	if err != nil || len(files) < 2 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	pages := map[string]string{}
	for _, f := range files {
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, section := range strings.Split(string(text), "\n## ")[1:] {
			code, body, _ := strings.Cut(section, "\n")
			if pages[code] != "" {
				t.Errorf("%s is explained twice", code)
			}
			pages[code] = body
			if fences := strings.Count(body, "\n```"); fences < 4 {
				t.Errorf("%s: %d fence lines; it shows what is wrong and what mends it", code, fences)
			}
		}
	}
	for _, c := range codes(t) {
		if c == "waits" { // internal: never a problem
			continue
		}
		if pages[c] == "" {
			t.Errorf("no page explains %q", c)
		}
		delete(pages, c)
	}
	for c := range pages {
		t.Errorf("%s is explained, and nothing reports it", c)
	}
}
