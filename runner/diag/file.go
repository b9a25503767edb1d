package diag

import (
	"sort"
	"unicode/utf8"
)

// File is one source text. Offsets into it are bytes from 0; lines and columns, which only
// people see, count from 1, and a column is a character (Unicode code point), not a byte.
type File struct {
	Name  string // as it is shown: relative to the folder the command was given
	Text  []byte
	lines []int // byte offset at which each line starts
}

// NewFile indexes the lines of text. A line ends with \n, \r\n or a lone \r.
func NewFile(name string, text []byte) *File {
	f := &File{Name: name, Text: text, lines: []int{0}}
	for i, b := range text {
		if b == '\n' || b == '\r' && (i+1 == len(text) || text[i+1] != '\n') {
			f.lines = append(f.lines, i+1)
		}
	}
	return f
}

// Lines is the number of lines; a text that ends with a newline has an empty last one.
func (f *File) Lines() int { return len(f.lines) }

// Line is the number, from 1, of the line that holds the byte at offset.
func (f *File) Line(offset int) int {
	return sort.SearchInts(f.lines, offset+1)
}

// Position gives line and column, both from 1, of the byte at offset. An offset outside the
// text is moved to its nearest end.
func (f *File) Position(offset int) (line, column int) {
	offset = min(max(offset, 0), len(f.Text))
	line = f.Line(offset)
	return line, utf8.RuneCount(f.Text[f.lines[line-1]:offset]) + 1
}

// LineSpan is the extent of a line (from 1) without its line ending.
func (f *File) LineSpan(line int) Span {
	if line < 1 || line > len(f.lines) {
		return Span{len(f.Text), len(f.Text)}
	}
	start, end := f.lines[line-1], len(f.Text)
	if line < len(f.lines) {
		end = f.lines[line]
	}
	for end > start && (f.Text[end-1] == '\n' || f.Text[end-1] == '\r') {
		end--
	}
	return Span{start, end}
}

// Span is a half-open range of bytes [Start, End) of one file.
type Span struct{ Start, End int }

// Join is the smallest span that covers both.
func (s Span) Join(t Span) Span { return Span{min(s.Start, t.Start), max(s.End, t.End)} }

// In returns the text the span covers, or "" where it lies outside the file.
func (s Span) In(f *File) string {
	if s.Start < 0 || s.End > len(f.Text) || s.Start > s.End {
		return ""
	}
	return string(f.Text[s.Start:s.End])
}
