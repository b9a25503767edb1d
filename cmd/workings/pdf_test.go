package main

import (
	"testing"
)

func TestUndated(t *testing.T) {
	pdf := "<</Title (D:1)\n/CreationDate (D:20261125134700+00'00')\n/ModDate (D:20261125134700+00'00')>>"
	want := "<</Title (D:1)\n                                       \n                                  >>"
	if got := string(undated([]byte(pdf))); got != want {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}

func TestUnlinked(t *testing.T) {
	for in, want := range map[string]string{
		`<a href="other.md" rel="noopener noreferrer">x</a>`: `<a rel="noopener noreferrer">x</a>`,
		`<a href="#e12">12</a>`:                              `<a href="#e12">12</a>`,
		`<a href="HTTPS://example.org/">x</a>`:               `<a href="HTTPS://example.org/">x</a>`,
		`<a class="no" href="#e1">`:                          `<a class="no" href="#e1">`,
		`&lt;a href=&quot;other.md&quot;>`:                   `&lt;a href=&quot;other.md&quot;>`,
	} {
		if got := string(unlinked([]byte(in))); got != want {
			t.Errorf("%s\n got %s\nwant %s", in, got, want)
		}
	}
}
