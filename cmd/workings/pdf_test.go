package main

import (
	"slices"
	"strings"
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

// Two numberings of the same elements come to one, and the file keeps its length.
func TestSettled(t *testing.T) {
	file := func(th, td, p string) string {
		names := []string{"(node" + th + ") 10 0 R", "(node" + td + ") 9 0 R", "(node" + p + ") 3 0 R"}
		slices.Sort(names)
		return "/S /P /ID (node" + p + ") /S /TH /ID (node" + th + ") /Headers [(node" + th + ")] /ID (node" + td + ")\n<</Limits [" +
			names[0][:14] + " " + names[2][:14] + "]\n/Names [" + strings.Join(names, " ") + "]>>"
	}
	want := file("00000002", "00000003", "00000001")
	for _, ids := range [][3]string{{"00000080", "00000081", "00000012"}, {"00000024", "00000106", "00000119"}} {
		if got := string(settled([]byte(file(ids[0], ids[1], ids[2])))); got != want {
			t.Errorf("%v\n got %s\nwant %s", ids, got, want)
		}
	}
	// Several tables, or a name that no element has: as it was.
	for _, odd := range []string{want + want, "(node00000007)" + want, "no tags"} {
		if got := string(settled([]byte(odd))); got != odd {
			t.Errorf("%s\nbecame %s", odd, got)
		}
	}
}
