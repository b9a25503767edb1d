package runner

import (
	"strings"

	"workings/runner/lang"
	"workings/runner/notebook"
	"workings/runner/resolve"
	"workings/runner/tex"
)

// inlines reads what stands in the captions of a notebook's fences, where it may be more than text
// that resolve reads for itself: formulas, and links to places on the sheet.
func inlines(doc *notebook.Document, src *resolve.Source) []*notebook.Inline {
	var out []*notebook.Inline
	captions := doc.Captions()
	for _, b := range src.Blocks {
		for _, s := range b.Stmts {
			lang.Walk(s, func(n lang.Node) bool {
				stmt, ok := n.(lang.Stmt)
				if !ok {
					return false
				}
				if c := lang.CaptionOf(stmt); strings.Contains(c.Text, "$") || doc.MayRefer(c.Text) {
					out = append(out, captions.Parse(c.Loc))
				}
				return true
			})
		}
	}
	return out
}

// typeset typesets the formulas of a notebook; own is the notebook itself, whose prose is shown
// as well as its captions. What is wrong with them joins the problems of src.
func (l *loader) typeset(doc *notebook.Document, src *resolve.Source, captions []*notebook.Inline, own bool) {
	var nodes []*notebook.MathNode
	if own {
		nodes = doc.Maths
	}
	for _, in := range captions {
		nodes = append(nodes, in.Maths...)
	}
	for _, n := range nodes {
		markup, problem, err := l.tex.Typeset(tex.Formula{TeX: n.TeX, Display: n.Display, File: doc.File, Span: n.Span, Offset: n.Offset})
		if err != nil {
			l.failed = err
			return
		}
		if problem != nil {
			src.Problems = append(src.Problems, problem)
		}
		l.maths[tex.Place{File: doc.File, At: n.Span.Start}] = tex.Typeset{Markup: markup, Problem: problem}
	}
}

// references hands resolve the links of a notebook to places on its sheet.
func references(doc *notebook.Document, src *resolve.Source, captions []*notebook.Inline) {
	add := func(refs []*notebook.RefNode) {
		for _, n := range refs {
			src.Refs = append(src.Refs, resolve.RefText{Span: n.Span, Target: n.Target, Text: n.Words})
		}
	}
	add(doc.Refs)
	for _, in := range captions {
		add(in.Refs)
	}
	for _, h := range doc.Headings {
		src.Sections = append(src.Sections, resolve.Section{ID: h.ID, Title: h.Text})
	}
	src.CitedInProse = doc.Cited
	for _, f := range doc.Footnotes {
		src.FootnoteSpans = append(src.FootnoteSpans, f.LabelSpan)
	}
}
