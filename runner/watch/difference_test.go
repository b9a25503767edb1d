package watch

import (
	"math/rand/v2"
	"strings"
	"testing"
	"unicode/utf16"
)

// spliced is a text with splices made, as a browser makes them.
func spliced(t *testing.T, text string, list []splice) string {
	t.Helper()
	from, to := utf16.Encode([]rune(text)), []uint16{}
	for _, s := range list {
		if s.Keep+s.Drop > len(from) {
			t.Fatalf("%+v goes beyond the text", s)
		}
		to = append(append(to, from[:s.Keep]...), utf16.Encode([]rune(s.Text))...)
		from = from[s.Keep+s.Drop:]
	}
	return string(utf16.Decode(append(to, from...)))
}

// Splices make one text of the other, whatever the two hold, and say no more than a part of it where
// only a part changes.
func TestSplices(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	parts := []string{`,"a":1`, `,"b":"η"`, `,"`, `"`, `,`, "é", "𝛈", "日本", "x", `,"c":[1,2]`, ""}
	text := func() string {
		var b strings.Builder
		for range r.IntN(30) {
			b.WriteString(parts[r.IntN(len(parts))])
		}
		return b.String()
	}
	for range 5000 {
		a, b := text(), text()
		if r.IntN(2) == 0 && len(a) > 0 { // the same but for one place
			runes := []rune(a)
			at := r.IntN(len(runes))
			b = string(runes[:at]) + text() + string(runes[min(at+r.IntN(3), len(runes)):])
		}
		if got := spliced(t, a, splices([]byte(a), []byte(b))); got != b {
			t.Fatalf("of %q came %q, want %q", a, got, b)
		}
	}
	long := strings.Repeat(`,"h":1.25`, 10000)
	list := splices([]byte(`{"sha":"1"`+long+`,"w":3}`), []byte(`{"sha":"2"`+long+`,"w":4}`))
	if len(list) != 2 || list[0].Text != "2" || list[1].Text != "4" {
		t.Errorf("%d splices: %.300v", len(list), list)
	}
}

// The elements of a page that were found by following an old one are those that are found in it alone.
func TestFollow(t *testing.T) {
	rows := func(n int, value string) string {
		var b strings.Builder
		for i := range n {
			v := "1"
			if i%3 == 0 {
				v = value
			}
			b.WriteString(`<tbody class="row" id="e1"><tr><td class="eq"><math>x</math></td><td class="res"><b>` + v + "</b></td></tr></tbody>\n")
		}
		return b.String()
	}
	make := func(rows, prose string) *page {
		return newPage("a.html", []byte("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n"+policyLine+"default-src 'none'\"/>\n<title>A</title>\n<style>"+strings.Repeat("b{}", 400)+"</style>\n</head>\n<body>\n<main>\n<p>"+prose+
			"</p>\n<table class=\"ledger\">"+rows+"</table>\n<p>end</p>\n</main>\n<script type=\"application/json\" id=\"Trace\">{\"a\":\"η\",\"b\":["+prose+"]}</script>\n</body>\n</html>\n"))
	}
	cases := []struct {
		name     string
		from, to *page
		follows  bool
		rows     int
	}{
		{"values", make(rows(40, "1.5"), "words"), make(rows(40, "12.25"), "words"), true, 14},
		{"words", make(rows(40, "1"), "words"), make(rows(40, "1"), "other words &amp; more"), true, 0},
		{"an element within", make(rows(40, "1"), "words"), make(rows(40, "1"), "other <b>words</b>"), true, 0},
		{"another formula", make(rows(40, "1"), "words"), make(strings.Replace(rows(40, "1"), "<math>x</math>", "<math>x<mo>+</mo>y</math>", 1), "words"), true, 1},
		{"a row more", make(rows(40, "1"), "words"), make(rows(41, "1"), "words"), false, 1},
		{"another page", make(rows(40, "1"), "words"), make("", "none"), false, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			e := difference(c.from, c.to)
			if e.text == nil {
				t.Fatal("the page must be had whole")
			}
			if e.rows != c.rows && c.name != "another page" {
				t.Errorf("%d rows, want %d", e.rows, c.rows)
			}
			got, want := c.to.known.Load(), parse(c.to.text)
			d := differ{a: c.from.text, b: c.to.text}
			if _, ok := d.follow(parse(c.from.text), strings.IndexByte(string(c.to.text), '\n')+1, nil); ok != c.follows {
				t.Errorf("followed: %v", ok)
			}
			alike(t, got, want, c.to.text)
		})
	}
}

func alike(t *testing.T, a, b *node, text []byte) {
	t.Helper()
	if a.start != b.start || a.open != b.open || a.end != b.end || a.next != b.next || len(a.kids) != len(b.kids) {
		t.Fatalf("%d %d %d %d with %d elements, want %d %d %d %d with %d: %.80s", a.start, a.open, a.end, a.next, len(a.kids), b.start, b.open, b.end, b.next, len(b.kids), text[b.start:])
	}
	for i := range a.kids {
		alike(t, &a.kids[i], &b.kids[i], text)
	}
}
