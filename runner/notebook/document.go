package notebook

import (
	"bytes"
	"fmt"
	"unicode/utf8"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/parser"

	"workings/runner/diag"
)

// Document is one notebook as read. It is not changed after Parse.
type Document struct {
	File      *diag.File
	Source    []byte // what the nodes of Root refer to: File.Text as Markdown may see it
	Front     Front
	Root      ast.Node      // goldmark's tree with the nodes of this package in it
	Blocks    []*Block      // evaluated fences in reading order
	Values    []*ProseValue // well-formed {…} of the prose, in reading order
	Footnotes []*Footnote   // first definition of each label, in reading order
	Images    []*Image      // images of the prose, in reading order
	Maths     []*MathNode   // formulas of the prose, footnotes included
	Refs      []*RefNode    // links of the prose to places on the sheet, footnotes included
	Cited     []string      // labels of the footnotes that the prose refers to
	Headings  []*Heading    // in reading order
	Problems  []*diag.Problem

	labels map[string]*Footnote
	names  []string       // labels in reading order, for near misses
	refs   parser.Context // link reference definitions, for captions
	// localRefs says that one of them leads to a place on the sheet.
	localRefs bool
}

// Block is an evaluated fence.
type Block struct {
	Kind     string // one of Kinds
	KindSpan diag.Span
	Info     string // the rest of the info string: `air_printed from "air.csv"`
	InfoSpan diag.Span
	Span     diag.Span // from the first character of the opening fence to the end of the closing one
	Lines    []Line
}

// Line is one line of a block. File.Text[Start+i] is Text[i] for every byte of Text.
//
// What belongs to an enclosing list or quote, and the indentation of the fence itself, is cut
// off. A tab that straddles that edge is kept whole, so that the line stays indented. The line
// ending is not part of Text.
type Line struct {
	Text  string
	Start int
}

// Span is the extent of the line's text in the file.
func (l Line) Span() diag.Span { return diag.Span{Start: l.Start, End: l.Start + len(l.Text)} }

// Footnote is a definition `[^label]: text`.
type Footnote struct {
	Label     string
	LabelSpan diag.Span    // the label alone, without `[^` and `]`
	Span      diag.Span    // the whole definition
	Node      *FootnoteDef // its content; not part of Document.Root
}

// Heading is a heading of the prose.
type Heading struct {
	ID   string // made of its text, unique in the notebook
	Text string
	Node *ast.Heading
}

// Image is an image of the prose.
type Image struct {
	Dest string    // with escapes and entities resolved
	Span diag.Span // from `![` to the end of the description
	Node *ast.Image
}

// TextError says that bytes are no notebook text.
type TextError struct {
	Offset int  // of the first offending byte
	NUL    bool // a NUL byte; otherwise bytes that are not UTF-8
}

func (e *TextError) Error() string {
	if e.NUL {
		return fmt.Sprintf("NUL byte at offset %d: not a text file", e.Offset)
	}
	return fmt.Sprintf("bytes that are not UTF-8 at offset %d", e.Offset)
}

// Check returns a *TextError where text is not UTF-8 or holds a NUL byte. Such a file is refused
// whole, before Parse.
func Check(text []byte) error {
	nul := bytes.IndexByte(text, 0)
	if utf8.Valid(text) {
		if nul >= 0 {
			return &TextError{Offset: nul, NUL: true}
		}
		return nil
	}
	for i := 0; i < len(text); {
		r, n := utf8.DecodeRune(text[i:])
		if text[i] == 0 {
			return &TextError{Offset: i, NUL: true}
		}
		if r == utf8.RuneError && n == 1 {
			return &TextError{Offset: i}
		}
		i += n
	}
	return nil
}

// Parse reads a notebook. It never fails: what is wrong is in Problems, and the rest is read.
func Parse(file *diag.File) *Document {
	d := &Document{File: file, Source: bytes.Clone(file.Text), labels: map[string]*Footnote{}}
	s := &state{doc: d, src: d.Source}
	s.blankOut()
	d.parseTree(s)
	diag.Sort(s.problems)
	d.Problems = s.problems
	return d
}

// blankOut hides from Markdown what is not Markdown, leaving every other byte where it is.
func (s *state) blankOut() {
	src := s.src
	for i := range src {
		if src[i] == '\r' && (i+1 == len(src) || src[i+1] != '\n') {
			src[i] = '\n' // a line ending to CommonMark and diag, but not to goldmark
		}
	}
	start := 0
	if bytes.HasPrefix(src, []byte("\ufeff")) {
		start = copy(src, "   ")
	}
	end := s.readFront(start)
	for i := start; i < end; i++ {
		if src[i] != '\n' && src[i] != '\r' {
			src[i] = ' '
		}
	}
}

func (s *state) report(p *diag.Problem) *diag.Problem {
	p.File = s.doc.File
	s.problems = append(s.problems, p)
	return p
}
