package notebook

import (
	"strings"
	"testing"

	"github.com/yuin/goldmark/ast"

	"workings/runner/diag"
)

// checkSpans requires every span of a document to lie in the file and to cover what it names.
func checkSpans(t *testing.T, d *Document) {
	t.Helper()
	text := string(d.File.Text)
	if len(d.Source) != len(text) {
		t.Fatalf("Source has %d bytes, the file %d", len(d.Source), len(text))
	}
	inside := func(what string, s diag.Span) {
		t.Helper()
		if s.Start < 0 || s.End < s.Start || s.End > len(text) {
			t.Errorf("%s: span %v outside a file of %d bytes", what, s, len(text))
		}
	}
	is := func(what string, s diag.Span, want string) {
		t.Helper()
		if inside(what, s); s.In(d.File) != want {
			t.Errorf("%s: span %v covers %q, want %q", what, s, s.In(d.File), want)
		}
	}
	for _, b := range d.Blocks {
		inside("block", b.Span)
		is("block word", b.KindSpan, b.Kind)
		is("block info", b.InfoSpan, b.Info)
		last := b.InfoSpan.End
		for _, l := range b.Lines {
			is("block line", l.Span(), l.Text)
			if strings.ContainsAny(l.Text, "\n") {
				t.Errorf("line %q holds a line ending", l.Text)
			}
			if l.Start < last || l.Start+len(l.Text) > b.Span.End {
				t.Errorf("line %q at %d overlaps or leaves its block %v", l.Text, l.Start, b.Span)
			}
			last = l.Start + len(l.Text)
		}
	}
	for _, v := range d.Values {
		inside("value", v.Span)
		inside("unit", v.UnitSpan)
		inside("digits", v.DigitsSpan)
		is("value name", v.NameSpan, v.Name)
		if s := v.Span.In(d.File); !strings.HasPrefix(s, "{") || !strings.HasSuffix(s, "}") {
			t.Errorf("value covers %q", s)
		}
	}
	for _, n := range d.Footnotes {
		is("footnote label", n.LabelSpan, n.Label)
		inside("footnote", n.Span)
		checkNodes(t, d, n.Node, inside)
	}
	for _, m := range d.Images {
		inside("image", m.Span)
	}
	for _, p := range d.Problems {
		inside(string(p.Code), p.Span)
		for _, r := range p.Related {
			inside(string(p.Code)+" related", r.Span)
		}
	}
	f := d.Front
	for _, e := range append([]Entry{f.Title, f.Number, f.Revision, f.Date, f.Project, f.Prepared, f.Checked,
		f.Approved, f.Language, f.Units, f.Ambient}, append(f.Fluids, f.Also...)...) {
		inside("front matter", e.Span)
		inside("front matter key", e.KeySpan)
	}
	inside("front matter", f.Span)
	checkNodes(t, d, d.Root, inside)
}

// checkNodes walks a tree as a renderer would.
func checkNodes(t *testing.T, d *Document, root ast.Node, inside func(string, diag.Span)) {
	t.Helper()
	_ = ast.Walk(root, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if !entering {
			return ast.WalkContinue, nil
		}
		if n.Type() == ast.TypeBlock {
			for i := range n.Lines().Len() {
				l := n.Lines().At(i)
				inside(n.Kind().String(), diag.Span{Start: l.Start, End: l.Stop})
			}
		}
		switch n := n.(type) {
		case *ast.Text:
			inside("text", diag.Span{Start: n.Segment.Start, End: n.Segment.Stop})
		case *ValueNode:
			inside("value", n.Span)
		case *FootnoteRef:
			inside("reference", n.Span)
			if got := n.Span.In(d.File); got != "[^"+n.Label+"]" {
				t.Errorf("reference to %q covers %q", n.Label, got)
			}
		case *CiteNode:
			inside("citation", n.Span)
			if got := n.Span.In(d.File); got != "["+n.Label+"]" {
				t.Errorf("citation of %q covers %q", n.Label, got)
			}
		case *MathNode:
			inside("maths", n.Span)
		case *ast.HTMLBlock, *ast.RawHTML, *FootnoteDef, *ast.LinkReferenceDefinition, *bracket, *mathLines:
			if n != root {
				t.Errorf("a %s is left in the tree", n.Kind())
			}
		}
		return ast.WalkContinue, nil
	})
}
