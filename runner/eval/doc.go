// Package eval lowers a checked sheet to one numeric program in SI, runs it at one point, and
// keeps a trace for the reader.
//
//   - Run: resolve.Sheet → Trace.
//   - Program: registers and straight-line code, lowered once from the checked lines.
//   - Trace, Entry: what every line came to, with the details a reader checks it by.
//
// Units cost nothing at run time: they were checked by resolve. A line that fails stops the
// lines that depend on it, quietly: one fault, one report.
package eval
