// Package notebook turns the Markdown bytes of a notebook into prose and fenced blocks.
//
//   - Check: whether bytes are text at all (UTF-8, no NUL).
//   - Parse: the one entry point; a Document from a file, whatever stands in it.
//   - Document: front matter, Markdown tree, evaluated blocks, prose values, footnotes, images
//     and the problems found.
//   - Block, Line: a fence whose word is one of Kinds, line by line with its place in the file.
//   - Front, Entry: the front matter as the author typed it.
//   - BlockNode, ValueNode, FootnoteRef, FootnoteDef, CiteNode, MathNode, HTMLBlock, HTMLInline:
//     what the tree holds beside goldmark's own nodes.
//   - Captions, Inline: captions of lines as inline Markdown, by the rules of the prose.
//   - SafeDestination: whether a link may be followed from the sheet.
//
// Every offset, in the tree and outside it, is a byte of the file. Document.Source, the text the
// tree refers to, has the length of the file and differs from it only where Markdown must not
// look: front matter and a byte order mark are blank, a lone carriage return is a line feed.
//
// A notebook may come from anybody, so time and memory stay in proportion to its length; where
// goldmark alone would not keep to that, limits.go and link.go bound it.
package notebook
