// Package lang turns the text of a fenced block into a syntax tree with spans, and back into
// its canonical form.
//
//   - Parse: one block's lines → Block (a list of Stmt) and the problems found; good lines
//     survive bad ones, which stand in the tree as Bad. ParseExpr, ParseShown: a single line.
//   - Stmt, Expr: the tree. It keeps the author's own literals and brackets. Walk goes over it.
//   - Name: a symbol as it was typed; its Key is equal for two spellings that print the same,
//     Print says how it is typeset, Lookalikes finds letters of other scripts.
//   - Format: the canonical text of a block, FormatEdit and Apply put it into the file;
//     FormatExpr, Substitute: an expression, with its names or with values.
//
// Nothing here knows what a name means, what a unit converts to or what a fluid is. The grammar
// of operators is expr's; what that grammar lacks (quantities, named arguments, states, `in`,
// chains of lines) is lifted out before and put back after, so that no other package sees expr.
//
// A line passes through the files in this order: lex.go and lexop.go cut it into tokens, block.go
// gathers the lines that go on, stmt.go and its neighbours read the statement, expr.go the
// expressions in it. misread.go says what is wrong where two things stand side by side.
//
// What the language's description leaves open is settled here: a tab indents to the next multiple
// of four columns; operators in other spellings (× · − ≤ ≥ ≠, superscripts, +/-) are read and
// formatted as * - <= >= != ^ ±; ÷, dashes and the operators of programming languages are refused;
// a line also goes on where a bracket is open and the next line begins with an operator, a comma
// or a bracket; captions of all lines of a statement are joined. `state 2 = f(…)` and `w = f(…)`
// are read as a State and a Define unless an argument is a state: whether f is a method is known
// only to those who bind names.
package lang
