package watch

import (
	"bytes"
	"encoding/json"
	"html"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// edit changes the elements of one element.
type edit struct {
	// At leads to the element from the page's html element: which of its elements, and so on.
	At []int `json:"at"`
	// N is how many elements it has before the edit.
	N int `json:"n"`
	// Text are those of them in which only words change.
	Text []words `json:"text,omitempty"`
	// Set are those that become others; Put are places where Cut elements go and Add come.
	Set []int   `json:"set,omitempty"`
	Put []place `json:"put,omitempty"`
	// HTML are the new ones: first those of Set, then those of Put.
	HTML string `json:"html,omitempty"`
}

// words are what changes in one element: of its N pieces of text, that which stands at each place of K
// becomes that of S. The pieces are those between tags; or with Cut, of data in a script, those that it
// divides, of which so many characters stay as Head and Tail say, as a browser counts them.
type words struct {
	I    int      `json:"i"`
	N    int      `json:"n"`
	Cut  string   `json:"cut,omitempty"`
	K    []int    `json:"k"`
	S    []string `json:"s"`
	Head []int    `json:"head,omitempty"`
	Tail []int    `json:"tail,omitempty"`
}

// place is a place among the elements before the edit.
type place struct {
	Before int `json:"before"`
	Cut    int `json:"cut"`
	Add    int `json:"add"`
}

// edits are those that make one page of another.
type edits struct {
	text []byte // as JSON; nil where the page must be had whole
	rows int    // of ledgers, that are not what they were
}

// difference is what makes one page of the other. Edits deep in the page come before those around them,
// so that every path leads where it led in the old page.
func difference(from, to *page) edits {
	a, b := from.tree(), to.tree()
	if a == nil || b == nil {
		return edits{}
	}
	d := differ{a: from.text, b: to.text}
	if !d.element(a, b, nil) {
		return edits{}
	}
	// Those found last lie deepest or furthest down: applied in that order no path is moved.
	for i, j := 0, len(d.edits)-1; i < j; i, j = i+1, j-1 {
		d.edits[i], d.edits[j] = d.edits[j], d.edits[i]
	}
	var out bytes.Buffer
	into := json.NewEncoder(&out)
	into.SetEscapeHTML(false)
	if err := into.Encode(d.edits); err != nil {
		return edits{}
	}
	return edits{bytes.TrimSpace(out.Bytes()), d.rows}
}

type differ struct {
	a, b  []byte
	edits []edit
	rows  int
}

// element reports whether the elements of b can be had from those of a, whose tag is the same.
func (d *differ) element(a, b *node, at []int) bool {
	if len(a.kids) == 0 || len(b.kids) == 0 ||
		!bytes.Equal(d.a[a.start:a.open], d.b[b.start:b.open]) ||
		!bytes.Equal(d.a[a.open:a.kids[0].start], d.b[b.open:b.kids[0].start]) {
		return false
	}
	e := edit{At: at, N: len(a.kids)}
	var set, put []byte
	here := len(d.edits)
	d.edits = append(d.edits, edit{})
	for _, p := range pairs(a.kids, b.kids, d.a, d.b) {
		switch {
		case p.cut > 0 || p.add > 0:
			e.Put = append(e.Put, place{p.a, p.cut, p.add})
			d.rows += max(rows(a.kids[p.a:p.a+p.cut], d.a), rows(b.kids[p.b:p.b+p.add], d.b))
			if p.add > 0 {
				put = append(put, d.b[b.kids[p.b].start:b.kids[p.b+p.add-1].next]...)
			}
		default:
			x, y := &a.kids[p.a], &b.kids[p.b]
			old, now := d.a[x.start:x.next], d.b[y.start:y.next]
			if bytes.Equal(old, now) {
				continue
			}
			d.rows += rows(b.kids[p.b:p.b+1], d.b)
			if bytes.Equal(d.a[x.end:x.next], d.b[y.end:y.next]) && d.element(x, y, append(at[:len(at):len(at)], p.a)) {
				continue
			}
			if w, ok := onlyWords(old, now); ok {
				w.I = p.a
				e.Text = append(e.Text, w)
				continue
			}
			e.Set = append(e.Set, p.a)
			set = append(set, now...)
		}
	}
	if len(e.Text)+len(e.Set)+len(e.Put) == 0 {
		d.edits = append(d.edits[:here], d.edits[here+1:]...)
		return true
	}
	e.HTML = string(append(set, put...))
	d.edits[here] = e
	return true
}

// partsOf divides the data that lies in a page into pieces: it begins every member of an object, and no
// text holds it, where each quotation mark is marked.
const partsOf = `,"`

// onlyWords compares two elements that are the same but for what stands between their tags.
func onlyWords(a, b []byte) (w words, ok bool) {
	if bytes.HasPrefix(a, []byte("<script")) {
		return onlyParts(a, b)
	}
	for len(a) > 0 && len(b) > 0 {
		if a[0] == '<' || b[0] == '<' {
			n := bytes.IndexByte(a, '>') + 1
			if n == 0 || len(b) < n || !bytes.Equal(a[:n], b[:n]) {
				return w, false
			}
			a, b = a[n:], b[n:]
			continue
		}
		x, y := textOf(a), textOf(b)
		if !bytes.Equal(x, y) {
			if y[0] == '\n' {
				return w, false // a browser may leave it out
			}
			w.K = append(w.K, w.N)
			w.S = append(w.S, html.UnescapeString(string(y)))
		}
		w.N++
		a, b = a[len(x):], b[len(y):]
	}
	return w, len(a) == 0 && len(b) == 0 && len(w.K) > 0
}

func textOf(b []byte) []byte {
	if i := bytes.IndexByte(b, '<'); i >= 0 {
		return b[:i]
	}
	return b
}

func onlyParts(a, b []byte) (w words, ok bool) {
	i, j := bytes.IndexByte(a, '>')+1, bytes.IndexByte(b, '>')+1
	x, endA, okA := bytes.Cut(a[i:], []byte("</script>"))
	y, endB, okB := bytes.Cut(b[j:], []byte("</script>"))
	if !okA || !okB || !bytes.Equal(a[:i], b[:j]) || !bytes.Equal(endA, endB) {
		return w, false
	}
	w.Cut, w.N = partsOf, bytes.Count(x, []byte(partsOf))+1
	if bytes.Count(y, []byte(partsOf))+1 != w.N {
		return w, false
	}
	for k := range w.N {
		var p, q []byte
		p, x, _ = bytes.Cut(x, []byte(partsOf))
		q, y, _ = bytes.Cut(y, []byte(partsOf))
		if bytes.Equal(p, q) {
			continue
		}
		head, tail := ends(p, q)
		w.K = append(w.K, k)
		w.S = append(w.S, string(q[head:len(q)-tail]))
		w.Head = append(w.Head, units(q[:head]))
		w.Tail = append(w.Tail, units(q[len(q)-tail:]))
	}
	return w, len(w.K) > 0
}

// ends are how many bytes two texts have in common, in whole characters, at the beginning and the end.
func ends(a, b []byte) (head, tail int) {
	most := min(len(a), len(b))
	for head < most && a[head] == b[head] {
		head++
	}
	for head > 0 && head < len(b) && !utf8.RuneStart(b[head]) {
		head--
	}
	for tail < most-head && a[len(a)-1-tail] == b[len(b)-1-tail] {
		tail++
	}
	for tail > 0 && !utf8.RuneStart(b[len(b)-tail]) {
		tail--
	}
	return head, tail
}

// units is the length of a text in a browser, in units of UTF-16.
func units(text []byte) int {
	n := 0
	for _, r := range string(text) {
		n += utf16.RuneLen(r)
	}
	return n
}

// rows counts the rows of ledgers among elements.
func rows(kids []node, text []byte) int {
	n := 0
	for _, k := range kids {
		if bytes.HasPrefix(text[k.start:], rowTag) {
			n++
		}
	}
	return n
}

// pair are an element of each list that are the same one; or a place where cut elements of the first
// list give way to add of the second.
type pair struct{ a, b, cut, add int }

// pairs matches two lists of elements: those that go by the same names at the beginning and the end of
// both lists, and between them the longest series of names that both have. Where as many elements go as
// come they have become one another.
func pairs(as, bs []node, a, b []byte) []pair {
	ka, kb := names(as, a), names(bs, b)
	var out []pair
	from, toA, toB := 0, len(ka), len(kb)
	for from < toA && from < toB && ka[from] == kb[from] {
		out = append(out, pair{a: from, b: from})
		from++
	}
	for toA > from && toB > from && ka[toA-1] == kb[toB-1] {
		toA--
		toB--
	}
	out = append(out, between(ka, kb, from, toA, from, toB)...)
	for i := range len(ka) - toA {
		out = append(out, pair{a: toA + i, b: toB + i})
	}
	return out
}

var rowTag = []byte(`<tbody class="row`) // as the sheet writes it

// mostCompared bounds the elements that are compared each with each.
const mostCompared = 600

func between(ka, kb []string, fromA, toA, fromB, toB int) []pair {
	n, m := toA-fromA, toB-fromB
	var out []pair
	flush := func(p pair) {
		become := p.cut == p.add
		for i := range p.cut {
			become = become && tagOf(ka[p.a+i]) == tagOf(kb[p.b+i])
		}
		switch {
		case become:
			for i := range p.cut {
				out = append(out, pair{a: p.a + i, b: p.b + i})
			}
		case p.cut+p.add > 0:
			out = append(out, p)
		}
	}
	if n == 0 || m == 0 || n > mostCompared || m > mostCompared {
		flush(pair{fromA, fromB, n, m})
		return out
	}
	// The longest common subsequence, from behind.
	length := make([][]uint16, n+1)
	for i := range length {
		length[i] = make([]uint16, m+1)
	}
	for i := n - 1; i >= 0; i-- {
		for j := m - 1; j >= 0; j-- {
			if ka[fromA+i] == kb[fromB+j] {
				length[i][j] = length[i+1][j+1] + 1
			} else {
				length[i][j] = max(length[i+1][j], length[i][j+1])
			}
		}
	}
	change := pair{a: fromA, b: fromB}
	i, j := 0, 0
	for i < n || j < m {
		switch {
		case i < n && j < m && ka[fromA+i] == kb[fromB+j]:
			flush(change)
			out = append(out, pair{a: fromA + i, b: fromB + j})
			i++
			j++
			change = pair{a: fromA + i, b: fromB + j}
		case j == m || i < n && length[i+1][j] >= length[i][j+1]:
			change.cut++
			i++
		default:
			change.add++
			j++
		}
	}
	flush(change)
	return out
}

func tagOf(name string) string {
	tag, _, _ := strings.Cut(name, " ")
	return tag
}

// names tell which element of one page is which of another. A row of a ledger goes by the symbol that
// it defines; any other element by its tag and the words that it begins with, without a number in front,
// which only counts along.
func names(kids []node, text []byte) []string {
	out := make([]string, len(kids))
	for i, k := range kids {
		out[i] = name(text[k.start:k.end])
	}
	return out
}

func name(element []byte) string {
	end := bytes.IndexByte(element, '>')
	if end < 0 {
		return ""
	}
	tag := element[1:end]
	if k := bytes.IndexAny(tag, " \n/"); k >= 0 {
		tag = tag[:k]
	}
	body := element
	if bytes.HasPrefix(element, rowTag) {
		if k := bytes.Index(element, []byte(`<td class="eq`)); k >= 0 {
			body = element[k:]
			if k := bytes.Index(body, []byte("</math>")); k >= 0 {
				body = body[:k]
			}
		}
	}
	return string(tag) + " " + beginning(body)
}

// longestName is how many letters of an element's text name it.
const longestName = 24

// beginning is how an element's text begins, from its first letter on.
func beginning(element []byte) string {
	var out [longestName]byte
	n, inTag := 0, false
	for _, c := range element {
		switch {
		case c == '<':
			inTag = true
		case c == '>':
			inTag = false
		case inTag, c <= ' ', n == 0 && c < 'A':
		default:
			out[n] = c
			if n++; n == longestName {
				return string(out[:])
			}
		}
	}
	return string(out[:n])
}
