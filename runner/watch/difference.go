package watch

import (
	"bytes"
	"encoding/json"
	"html"
	"strings"
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

// words are what changes in one element: of its N pieces of text between tags, that which stands at each
// place of K becomes that of S. Of data in a script, each of Splice says how many characters are kept,
// how many then dropped, and what stands there instead; a browser counts them in units of UTF-16.
type words struct {
	I      int      `json:"i"`
	N      int      `json:"n"`
	K      []int    `json:"k,omitempty"`
	S      []string `json:"s,omitempty"`
	Splice []splice `json:"splice,omitempty"`
}

type splice struct {
	Keep int    `json:"k"`
	Drop int    `json:"d"`
	Text string `json:"t"`
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
	a := from.tree()
	if a == nil {
		return edits{}
	}
	d := differ{a: from.text, b: to.text}
	if b, ok := d.follow(a, bytes.IndexByte(to.text, '\n')+1, nil); ok {
		to.known.Store(&b)
	} else {
		b := to.tree()
		if d.edits, d.rows = nil, 0; b == nil || !d.element(a, b, nil) {
			return edits{}
		}
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
			if w, n, ok := onlyWords(old, now); ok && n == len(now) {
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

// follow goes through an element and, from a place on, through the new page beside it, as far as the two
// have the same elements: most changes change words. It gives the element there, so that the new page
// need not be parsed; false where the two differ in more.
func (d *differ) follow(a *node, at int, path []int) (b node, ok bool) {
	if len(a.kids) == 0 {
		return b, false
	}
	p := at
	same := func(text []byte) bool {
		ok := bytes.HasPrefix(d.b[p:], text)
		p += len(text)
		return ok
	}
	if !same(d.a[a.start:a.kids[0].start]) {
		return b, false
	}
	b = node{start: at, open: at + a.open - a.start, kids: make([]node, len(a.kids))}
	e, here := edit{At: path, N: len(a.kids)}, len(d.edits)
	d.edits = append(d.edits, edit{})
	var set []byte
	for i := range a.kids {
		kid := &a.kids[i]
		old := d.a[kid.start:kid.next]
		if bytes.HasPrefix(d.b[p:], old) {
			b.kids[i] = kid.moved(p - kid.start)
			p += len(old)
			continue
		}
		d.rows += rows(a.kids[i:i+1], d.a)
		if len(kid.kids) > 0 {
			if b.kids[i], ok = d.follow(kid, p, append(path[:len(path):len(path)], i)); !ok {
				return b, false
			}
			p = b.kids[i].end
		} else if w, n, ok := onlyWords(old[:kid.end-kid.start], d.b[p:]); ok {
			w.I = i
			w.N += min(1, kid.next-kid.end) // the white space behind it
			e.Text = append(e.Text, w)
			b.kids[i] = node{start: p, open: p + kid.open - kid.start, end: p + n}
			p += n
		} else {
			n := d.otherElement(kid, p)
			if n == 0 {
				return b, false
			}
			e.Set = append(e.Set, i)
			set = append(append(set, d.b[p:p+n]...), d.a[kid.end:kid.next]...)
			b.kids[i] = node{start: p, open: p + bytes.IndexByte(d.b[p:], '>') + 1, end: p + n}
			p += n
		}
		if !same(d.a[kid.end:kid.next]) {
			return b, false
		}
		b.kids[i].next = p
	}
	if !same(d.a[a.kids[len(a.kids)-1].next:a.end]) {
		return b, false
	}
	b.end, b.next = p, p
	if len(e.Text)+len(e.Set) == 0 {
		d.edits = append(d.edits[:here], d.edits[here+1:]...)
		return b, true
	}
	e.HTML = string(set)
	d.edits[here] = e
	return b, true
}

// otherElement is the length of the element at a place of the new page, where it is of the kind of an
// old one and both are exchanged as one; else 0.
func (d *differ) otherElement(old *node, at int) int {
	i := bytes.IndexByte(d.b[at:], '>')
	if i < 2 || d.b[at] != '<' || !bytes.Equal(tagName(d.b[at+1:at+i]), tagName(d.a[old.start+1:old.open-1])) {
		return 0
	}
	if end := endOf(d.b, at, at+i+1); end > 0 {
		return end - at
	}
	return 0
}

// onlyWords compares an element with that at the beginning of a text, which is n bytes long where the
// two are the same but for what stands between their tags.
func onlyWords(a, text []byte) (w words, n int, ok bool) {
	if bytes.HasPrefix(a, []byte("<script")) {
		return onlyData(a, text)
	}
	b := text
	for len(a) > 0 && len(b) > 0 {
		if a[0] == '<' || b[0] == '<' {
			n := bytes.IndexByte(a, '>') + 1
			if n == 0 || !bytes.HasPrefix(b, a[:n]) {
				return w, 0, false
			}
			a, b = a[n:], b[n:]
			continue
		}
		x, y := textOf(a), textOf(b)
		if !bytes.Equal(x, y) {
			if y[0] == '\n' {
				return w, 0, false // a browser may leave it out
			}
			w.K = append(w.K, w.N)
			w.S = append(w.S, html.UnescapeString(string(y)))
		}
		w.N++
		a, b = a[len(x):], b[len(y):]
	}
	return w, len(text) - len(b), len(a) == 0 && len(w.K) > 0
}

func textOf(b []byte) []byte {
	if i := bytes.IndexByte(b, '<'); i >= 0 {
		return b[:i]
	}
	return b
}

// onlyData is onlyWords for a script.
func onlyData(a, text []byte) (w words, n int, ok bool) {
	i := bytes.IndexByte(a, '>') + 1
	end := []byte("</script>")
	x, behind, okA := bytes.Cut(a[i:], end)
	if !okA || !bytes.HasPrefix(text, a[:i]) {
		return w, 0, false
	}
	y, rest, okB := bytes.Cut(text[i:], end)
	if !okB || !bytes.HasPrefix(rest, behind) {
		return w, 0, false
	}
	w.Splice = splices(x, y)
	return w, i + len(y) + len(end) + len(behind), true
}

// splices are what makes one text of another: at each difference up to the next member of an object,
// which begins with these, both are taken for the same again.
func splices(x, y []byte) (out []splice) {
	for len(x)+len(y) > 0 {
		head := common(x, y)
		if head == len(x) && head == len(y) {
			return out
		}
		endX, endY := member(x, head), member(y, head)
		tail := 0
		for tail < min(endX, endY)-head && x[endX-1-tail] == y[endY-1-tail] {
			tail++
		}
		for tail > 0 && !utf8.RuneStart(y[endY-tail]) {
			tail--
		}
		out = append(out, splice{units(x[:head]), units(x[head : endX-tail]), string(y[head : endY-tail])})
		x, y = x[endX-tail:], y[endY-tail:]
	}
	return out
}

// common is how many bytes two texts begin with alike, in whole characters.
func common(x, y []byte) int {
	const block = 64
	most, n := min(len(x), len(y)), 0
	for n+block <= most && bytes.Equal(x[n:n+block], y[n:n+block]) {
		n += block
	}
	for n < most && x[n] == y[n] {
		n++
	}
	for n > 0 && (n < len(x) && !utf8.RuneStart(x[n]) || n < len(y) && !utf8.RuneStart(y[n])) {
		n--
	}
	return n
}

// member is where the next member begins behind a place, or the end of the text.
func member(text []byte, at int) int {
	if at+1 < len(text) {
		if i := bytes.Index(text[at+1:], []byte(`,"`)); i >= 0 {
			return at + 1 + i
		}
	}
	return len(text)
}

// units is the length of a text in a browser, in units of UTF-16.
func units(text []byte) int {
	n := 0
	for _, c := range text {
		if c&0xc0 != 0x80 { // the first byte of a character
			n++
		}
		if c >= 0xf0 { // one that takes two units
			n++
		}
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
