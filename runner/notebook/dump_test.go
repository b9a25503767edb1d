package notebook

import (
	"fmt"
	"strings"

	"github.com/yuin/goldmark/ast"
	extast "github.com/yuin/goldmark/extension/ast"

	"workings/runner/diag"
)

// dump writes all that a document holds, one thing a line, each with its line and column.
func dump(d *Document) string {
	var b strings.Builder
	at := func(sp diag.Span) string {
		l, c := d.File.Position(sp.Start)
		l2, c2 := d.File.Position(sp.End)
		if l == l2 {
			return fmt.Sprintf("%d:%d-%d %q", l, c, c2, sp.In(d.File))
		}
		return fmt.Sprintf("%d:%d-%d:%d", l, c, l2, c2)
	}
	entry := func(name string, e Entry) {
		if e != (Entry{}) {
			fmt.Fprintf(&b, "front %s = %q at %s\n", name, e.Text, at(e.Span))
		}
	}
	f := &d.Front
	if f.Span != (diag.Span{}) {
		fmt.Fprintf(&b, "front at %s\n", at(f.Span))
	}
	for i, e := range []Entry{f.Title, f.Number, f.Revision, f.Date, f.Project, f.Prepared, f.Checked, f.Approved,
		f.Language, f.Units, f.Ambient} {
		entry(strings.Fields("title number revision date project prepared checked approved language units ambient")[i], e)
	}
	if f.Digits != 0 {
		fmt.Fprintf(&b, "front digits = %d\n", f.Digits)
	}
	for _, e := range f.Fluids {
		entry("fluids", e)
	}
	for _, e := range f.Also {
		entry("also", e)
	}
	dumpNode(&b, d, d.Root, 0, at)
	for _, n := range d.Footnotes {
		fmt.Fprintf(&b, "footnote %q label %s whole %s\n", n.Label, at(n.LabelSpan), at(n.Span))
		dumpNode(&b, d, n.Node, 1, at)
	}
	for _, v := range d.Values {
		fmt.Fprintf(&b, "value %q at %s name %s", v.Name, at(v.Span), at(v.NameSpan))
		if v.Unit != "" {
			fmt.Fprintf(&b, " unit %s", at(v.UnitSpan))
		}
		if v.Digits != 0 {
			fmt.Fprintf(&b, " digits %d %s", v.Digits, at(v.DigitsSpan))
		}
		b.WriteString("\n")
	}
	for _, m := range d.Images {
		fmt.Fprintf(&b, "image %q at %s\n", m.Dest, at(m.Span))
	}
	dumpProblems(&b, d.Problems, at)
	return b.String()
}

func dumpProblems(b *strings.Builder, ps []*diag.Problem, at func(diag.Span) string) {
	for _, p := range ps {
		fmt.Fprintf(b, "%s %s at %s: %s (%s; %s)\n", p.Severity, p.Code, at(p.Span), p.Message, p.Label, p.Hint)
		for _, r := range p.Related {
			fmt.Fprintf(b, "  %s: %s\n", at(r.Span), r.Message)
		}
	}
}

func dumpNode(b *strings.Builder, d *Document, n ast.Node, depth int, at func(diag.Span) string) {
	fmt.Fprintf(b, "%s%s", strings.Repeat("  ", depth), n.Kind())
	switch n := n.(type) {
	case *ast.Text:
		fmt.Fprintf(b, " %q", n.Segment.Value(d.Source))
	case *ast.Link:
		fmt.Fprintf(b, " to %q %q", n.Destination, n.Title)
	case *ast.Heading:
		id, _ := n.AttributeString("id")
		fmt.Fprintf(b, " %d id=%s", n.Level, id)
	case *ast.AutoLink:
		fmt.Fprintf(b, " %s", n.Label(d.Source))
	case *ast.FencedCodeBlock:
		fmt.Fprintf(b, " %q %q", n.Language(d.Source), n.Lines().Value(d.Source))
	case *ast.CodeBlock:
		fmt.Fprintf(b, " %q", n.Lines().Value(d.Source))
	case *HTMLBlock:
		fmt.Fprintf(b, " %q", n.Lines().Value(d.Source))
	case *HTMLInline:
		fmt.Fprintf(b, " %q", n.HTML)
	case *extast.TaskCheckBox:
		fmt.Fprintf(b, " %v", n.IsChecked)
	case *ValueNode:
		fmt.Fprintf(b, " %s bad=%v", at(n.Span), n.Problem != nil)
	case *FootnoteRef:
		fmt.Fprintf(b, " %s known=%v", at(n.Span), n.Note != nil)
	case *CiteNode:
		fmt.Fprintf(b, " %s", at(n.Span))
	case *MathNode:
		fmt.Fprintf(b, " %q display=%v %s", n.TeX, n.Display, at(n.Span))
	case *BlockNode:
		fmt.Fprintf(b, " %s %q info %s whole %s", n.Block.Kind, n.Block.Info, at(n.Block.InfoSpan), at(n.Block.Span))
		for _, l := range n.Block.Lines {
			fmt.Fprintf(b, "\n%s  | %s", strings.Repeat("  ", depth), at(l.Span()))
		}
	}
	b.WriteString("\n")
	for c := n.FirstChild(); c != nil; c = c.NextSibling() {
		dumpNode(b, d, c, depth+1, at)
	}
}
