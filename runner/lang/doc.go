// Package lang turns the text of a fenced block into a syntax tree with spans, and back into
// its canonical form.
//
//   - Parse: one block's lines → Block (a list of Stmt) and the problems found; good lines
//     survive bad ones.
//   - Stmt, Expr: the tree. It keeps the author's own literals and brackets.
//   - Name: a symbol as it was typed; its Key is equal for two spellings that print the same.
//   - Format: the canonical text of a block. Formatting never changes meaning.
//
// Nothing here knows what a name means, what a unit converts to or what a fluid is. The grammar
// of operators is expr's; what that grammar lacks (quantities, named arguments, states, `in`,
// chains of lines) is lifted out before and put back after, so that no other package sees expr.
package lang
