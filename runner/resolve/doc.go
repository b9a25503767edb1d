// Package resolve binds the names of a sheet and checks the dimension and kind of everything in
// it. No line is evaluated before it has passed here.
//
//   - Resolve: parsed blocks → Sheet and the problems found.
//   - Sheet, Line, Symbol, State, Fluid, Table: the checked sheet, in reading order.
//   - Expr: a typed expression in SI, with the author's own node beside it.
//   - Type: dimension, kind (a point on a scale, a difference) and datum of an expression.
//
// What it cannot know is left to eval: the values, and with them ranges of properties,
// divisions by zero and limits of checks.
package resolve
