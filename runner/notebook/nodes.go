package notebook

import (
	"github.com/yuin/goldmark/ast"

	"workings/runner/diag"
)

// BlockNode stands in the tree where an evaluated fence stood.
type BlockNode struct {
	ast.BaseBlock
	Block *Block
}

// ValueNode is a {name} in prose or a caption.
type ValueNode struct {
	ast.BaseInline
	Value   *ProseValue   // nil where Problem is set
	Problem *diag.Problem // why it cannot be read
	Span    diag.Span
}

// FootnoteRef is a [^label] in prose or a caption. It never stands inside a link: one written
// there comes right after it.
type FootnoteRef struct {
	ast.BaseInline
	Label string
	Span  diag.Span
	Note  *Footnote // nil where the label has no definition, which is a problem
}

// FootnoteDef holds the content of a footnote definition.
type FootnoteDef struct {
	ast.BaseBlock
	Footnote *Footnote
}

// CiteNode is a [label] that is no link: a citation if the sheet has an assumption of that label,
// otherwise text as typed. It never stands inside a link.
type CiteNode struct {
	ast.BaseInline
	Label string
	Span  diag.Span // with the brackets
}

// RefNode is a link to a place on the sheet, #target; its children are the text. It leads to a
// symbol, a state, a table or a section by name, which others must find.
type RefNode struct {
	ast.BaseInline
	Target string    // without the #
	Words  string    // its text, plain
	Span   diag.Span // of the target where it is written, or of the link
	// Whole is the link from its first bracket to its last, where it is written [text](#target) and
	// nothing more; else empty.
	Whole diag.Span
}

// MathNode is $…$, or $$…$$ where Display is set.
type MathNode struct {
	ast.BaseInline
	TeX     string
	Display bool
	Span    diag.Span // with the dollar signs
	starts  []texStart
}

// texStart is where a line of TeX begins: there, and in the file.
type texStart struct{ tex, file int }

// Offset is where a byte of TeX stands in the file; that at its end is the closing dollar sign's
// or the space before it.
func (n *MathNode) Offset(i int) int {
	at := n.Span.Start
	for _, s := range n.starts {
		if s.tex <= i {
			at = s.file + i - s.tex
		}
	}
	return at
}

// HTMLBlock is raw HTML on lines of its own, shown as text: Lines gives them.
type HTMLBlock struct{ ast.BaseBlock }

// HTMLInline is raw HTML within prose, shown as text.
type HTMLInline struct {
	ast.BaseInline
	HTML string
	Span diag.Span
}

// The kinds of the nodes above, for a renderer to register.
var (
	KindBlock       = ast.NewNodeKind("WorkingsBlock")
	KindValue       = ast.NewNodeKind("WorkingsValue")
	KindFootnoteRef = ast.NewNodeKind("WorkingsFootnoteRef")
	KindFootnoteDef = ast.NewNodeKind("WorkingsFootnoteDef")
	KindCite        = ast.NewNodeKind("WorkingsCite")
	KindRef         = ast.NewNodeKind("WorkingsRef")
	KindMath        = ast.NewNodeKind("WorkingsMath")
	KindHTMLBlock   = ast.NewNodeKind("WorkingsHTMLBlock")
	KindHTMLInline  = ast.NewNodeKind("WorkingsHTMLInline")
)

// Kind implements ast.Node.
func (n *BlockNode) Kind() ast.NodeKind { return KindBlock }

// Kind implements ast.Node.
func (n *ValueNode) Kind() ast.NodeKind { return KindValue }

// Kind implements ast.Node.
func (n *FootnoteRef) Kind() ast.NodeKind { return KindFootnoteRef }

// Kind implements ast.Node.
func (n *FootnoteDef) Kind() ast.NodeKind { return KindFootnoteDef }

// Kind implements ast.Node.
func (n *CiteNode) Kind() ast.NodeKind { return KindCite }

// Kind implements ast.Node.
func (n *RefNode) Kind() ast.NodeKind { return KindRef }

// Kind implements ast.Node.
func (n *MathNode) Kind() ast.NodeKind { return KindMath }

// Kind implements ast.Node.
func (n *HTMLBlock) Kind() ast.NodeKind { return KindHTMLBlock }

// Kind implements ast.Node.
func (n *HTMLInline) Kind() ast.NodeKind { return KindHTMLInline }

// IsRaw implements ast.Node: the lines are not inline Markdown.
func (n *BlockNode) IsRaw() bool { return true }

// IsRaw implements ast.Node: the lines are not inline Markdown.
func (n *HTMLBlock) IsRaw() bool { return true }

// Dump implements ast.Node.
func (n *BlockNode) Dump(src []byte, level int) {
	ast.DumpHelper(n, src, level, map[string]string{"Kind": n.Block.Kind, "Info": n.Block.Info}, nil)
}

// Dump implements ast.Node.
func (n *ValueNode) Dump(src []byte, level int) {
	ast.DumpHelper(n, src, level, map[string]string{"Value": string(src[n.Span.Start:n.Span.End])}, nil)
}

// Dump implements ast.Node.
func (n *FootnoteRef) Dump(src []byte, level int) {
	ast.DumpHelper(n, src, level, map[string]string{"Label": n.Label}, nil)
}

// Dump implements ast.Node.
func (n *FootnoteDef) Dump(src []byte, level int) {
	ast.DumpHelper(n, src, level, map[string]string{"Label": n.Footnote.Label}, nil)
}

// Dump implements ast.Node.
func (n *CiteNode) Dump(src []byte, level int) {
	ast.DumpHelper(n, src, level, map[string]string{"Label": n.Label}, nil)
}

// Dump implements ast.Node.
func (n *RefNode) Dump(src []byte, level int) {
	ast.DumpHelper(n, src, level, map[string]string{"Target": n.Target}, nil)
}

// Dump implements ast.Node.
func (n *MathNode) Dump(src []byte, level int) {
	ast.DumpHelper(n, src, level, map[string]string{"TeX": n.TeX}, nil)
}

// Dump implements ast.Node.
func (n *HTMLBlock) Dump(src []byte, level int) { ast.DumpHelper(n, src, level, nil, nil) }

// Dump implements ast.Node.
func (n *HTMLInline) Dump(src []byte, level int) {
	ast.DumpHelper(n, src, level, map[string]string{"HTML": n.HTML}, nil)
}
