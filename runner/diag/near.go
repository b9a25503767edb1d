package diag

import (
	"math"
	"sort"
	"strings"
)

// Near picks from names the ones that a person who typed word may have meant, best first, three
// at most. Near means few edits (a swap of neighbours is one) for the length of the word, or
// the same letters in another case.
func Near(word string, names []string) []string {
	type hit struct {
		name string
		d    int
	}
	w := []rune(strings.ToLower(word))
	limit := 1 + len(w)/4
	var hits []hit
	for _, n := range names {
		if n == word {
			continue
		}
		r := []rune(strings.ToLower(n))
		if len(r) > len(w)+limit || len(w) > len(r)+limit {
			continue
		}
		// A one-letter name is one edit from every other: suggest it only for its other case.
		if d := edits(w, r); d <= limit && (d < max(len(w), len(r)) || d == 0) {
			hits = append(hits, hit{n, d})
		}
	}
	sort.SliceStable(hits, func(i, j int) bool {
		if hits[i].d != hits[j].d {
			return hits[i].d < hits[j].d
		}
		return hits[i].name < hits[j].name
	})
	var out []string
	for _, h := range hits {
		if len(out) == 3 || h.d > hits[0].d+1 {
			break
		}
		out = append(out, h.name)
	}
	return out
}

// edits is the Damerau–Levenshtein distance in its optimal-string-alignment form.
func edits(a, b []rune) int {
	const most = 64 // a longer name is never a slip of the keyboard
	if len(a) > most || len(b) > most {
		return math.MaxInt
	}
	prev2, prev, cur := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(a); i++ {
		cur[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			cur[j] = min(prev[j]+1, cur[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				cur[j] = min(cur[j], prev2[j-2]+1)
			}
		}
		prev2, prev, cur = prev, cur, prev2
	}
	return prev[len(b)]
}
