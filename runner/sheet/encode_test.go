package sheet

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
	"unicode/utf16"
	"unicode/utf8"
)

// The methods below let encoding/json write the records, as the reference that the encoder of the
// trace is held against.

func (n number) MarshalJSON() ([]byte, error) {
	if f := float64(n); math.IsNaN(f) || math.IsInf(f, 0) {
		return []byte("null"), nil
	}
	return strconv.AppendFloat(nil, float64(n), 'g', -1, 64), nil
}

func (m members) MarshalJSON() ([]byte, error) {
	b := []byte{'{'}
	for i, x := range m {
		if i > 0 {
			b = append(b, ',')
		}
		k, err := json.Marshal(x.key)
		if err != nil {
			return nil, err
		}
		v, err := json.Marshal(x.value)
		if err != nil {
			return nil, err
		}
		b = append(append(append(b, k...), ':'), v...)
	}
	return append(b, '}'), nil
}

// reference is what encoding/json makes of v, with hidden characters as their codes.
func reference(t *testing.T, v any) string {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	var out []byte
	for _, r := range string(b) {
		switch {
		case !hidden(r):
			out = utf8.AppendRune(out, r)
		case r > 0xffff:
			high, low := utf16.EncodeRune(r)
			out = fmt.Appendf(out, `\u%04x\u%04x`, high, low)
		default:
			out = fmt.Appendf(out, `\u%04x`, r)
		}
	}
	return string(out)
}

// MarshalJSON keeps what is JSON already; encoding/json finds out whether it is.
func (b encoded) MarshalJSON() ([]byte, error) { return b, nil }

func encode(v any) string {
	e := newEncoder(nil)
	e.record(v)
	return string(e.b)
}

// TestEncoder: the trace is what encoding/json would write, over whole notebooks and over texts
// and numbers that are easy to get wrong.
func TestEncoder(t *testing.T) {
	for name, text := range pages(t) {
		doc, tr := build(text, plantFiles(t))
		p := newPage(doc, tr, Options{Version: "1"})
		got := string(p.trace(nil))
		var lines struct {
			Symbols, Lines json.RawMessage
		}
		if err := json.Unmarshal([]byte(got), &lines); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		// What is written member by member has no record, but one spelling in JSON all the same.
		head, tail := reference(t, p.traceHead()), reference(t, p.traceTail())
		want := strings.TrimSuffix(head, "}") + `,"symbols":` + reference(t, lines.Symbols) + `,"lines":` + reference(t, lines.Lines) + "," + strings.TrimPrefix(tail, "{")
		if got != want {
			t.Errorf("%s:\ngot  %s\nwant %s", name, got, want)
		}
	}
	var everything bytes.Buffer
	for r := range rune(0x3000) {
		everything.WriteRune(r)
	}
	texts := append([]string{"", "\x80\xff broken \xc3", "\ufffd \u2028\u2029 \U000e0001 \U0001f600 \ufffe", `a"b\c`, everything.String()}, hostile...)
	for _, s := range texts {
		if got, want := encode(s), reference(t, s); got != want {
			t.Errorf("%q: got %s, want %s", s, got, want)
		}
	}
	for _, f := range []float64{0, math.Copysign(0, -1), 1, -1.5, 1e21, 1e-7, 5e-324, math.MaxFloat64, math.NaN(), math.Inf(1), 0.1} {
		if got, want := encode(number(f)), reference(t, number(f)); got != want {
			t.Errorf("%g: got %s, want %s", f, got, want)
		}
	}
}
