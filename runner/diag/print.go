package diag

import (
	"fmt"
	"io"
	"strings"
	"unicode"

	"github.com/mattn/go-runewidth"
)

// Style colours the parts of a printed problem. Each field wraps a piece of text; a nil field
// leaves it as it is, so that the zero Style prints plain text.
type Style struct {
	Error, Caution, Note, Place, Marker, Hint func(string) string
}

func paint(f func(string) string, s string) string {
	if f == nil || s == "" {
		return s
	}
	return f(s)
}

// Print writes one problem as a person reads it: place, severity, code and message, then the
// source line with a marker under the exact characters, then what else is worth knowing.
//
//	plant.md:14:10: error: a pressure cannot be added to a temperature [units]
//	  14 | x = T1 + p1
//	     |      ~~~~^ T1 is a temperature in K, p1 a pressure in kPa
//	     = hint: …
func Print(w io.Writer, p *Problem, s Style) error {
	var b strings.Builder
	head := map[Severity]func(string) string{Error: s.Error, Caution: s.Caution, Note: s.Note}[p.Severity]
	if p.File != nil {
		line, col := p.Position()
		b.WriteString(paint(s.Place, fmt.Sprintf("%s:%d:%d: ", Visible(p.File.Name), line, col)))
	}
	fmt.Fprintf(&b, "%s %s\n", paint(head, p.Severity.String()+":"), Visible(p.Message)+" ["+string(p.Code)+"]")
	width := 1
	if p.File != nil {
		width = len(fmt.Sprint(p.File.Line(p.Span.Start)))
	}
	for _, r := range p.Related {
		width = max(width, len(fmt.Sprint(r.File.Line(r.Span.Start))))
	}
	if p.File != nil {
		excerpt(&b, p.File, p.Span, p.Label, width, s, head)
	}
	for _, r := range p.Related {
		line, col := r.File.Position(r.Span.Start)
		at := fmt.Sprintf("%s:%d:%d", Visible(r.File.Name), line, col)
		if r.File == p.File {
			at = fmt.Sprintf("line %d", line)
		}
		fmt.Fprintf(&b, " %*s - %s: %s\n", width, "", at, Visible(r.Message))
		excerpt(&b, r.File, r.Span, "", width, s, s.Place)
	}
	if p.Hint != "" {
		fmt.Fprintf(&b, " %*s = %s %s\n", width, "", paint(s.Hint, "hint:"), Visible(p.Hint))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// longest is how many characters of a source line an excerpt shows around its marker.
const longest = 120

func excerpt(b *strings.Builder, f *File, span Span, label string, width int, s Style, mark func(string) string) {
	line := f.Line(span.Start)
	whole := f.LineSpan(line)
	start := min(max(span.Start, whole.Start), whole.End)
	end := min(max(span.End, start), whole.End)
	before, marked, after := string(f.Text[whole.Start:start]), string(f.Text[start:end]), string(f.Text[end:whole.End])
	before, marked, after = Visible(tabs(before)), Visible(tabs(marked)), Visible(tabs(after))
	if r := []rune(before); len(r) > longest/2 {
		before = "…" + string(r[len(r)-longest/2:])
	}
	if r := []rune(marked); len(r) > longest {
		marked, after = string(r[:longest])+"…", ""
	}
	if r := []rune(after); len(r) > longest/2 {
		after = string(r[:longest/2]) + "…"
	}
	fmt.Fprintf(b, " %*d | %s%s%s\n", width, line, before, marked, after)
	marks := strings.Repeat("^", max(1, runewidth.StringWidth(marked)))
	pad := strings.Repeat(" ", runewidth.StringWidth(before))
	fmt.Fprintf(b, " %*s | %s%s", width, "", pad, paint(mark, marks))
	if label != "" {
		b.WriteString(" " + paint(s.Marker, Visible(label)))
	}
	b.WriteString("\n")
}

func tabs(s string) string { return strings.ReplaceAll(s, "\t", "    ") }

// Visible makes control characters and text-direction controls of untrusted text harmless on a
// terminal: each becomes its Unicode escape. A newline inside a message becomes a space.
func Visible(s string) string {
	clean := func(r rune) bool {
		return r != '\n' && (unicode.IsControl(r) || Bidi(r) || r == unicode.ReplacementChar)
	}
	if !strings.ContainsFunc(s, func(r rune) bool { return clean(r) || r == '\n' }) {
		return s
	}
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '\n':
			b.WriteByte(' ')
		case clean(r):
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// Bidi reports a character that changes the direction of the text around it (Unicode Bidi_Control
// and the invisible separators), which could make a line read differently from what is evaluated.
func Bidi(r rune) bool {
	return r == 0x061C || r >= 0x200B && r <= 0x200F || r >= 0x202A && r <= 0x202E ||
		r >= 0x2060 && r <= 0x2069 || r == 0xFEFF
}
