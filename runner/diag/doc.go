// Package diag holds source text, places in it, and the problems found there.
//
//   - File: a source text that turns byte offsets into line and column.
//   - Span: a half-open range of bytes of a file.
//   - Problem: something wrong with a notebook: code, severity, place, message, hint.
//   - Print: a problem as a person reads it, with the source line and a marker.
//   - Code: what kind of problem; each stage declares its own, with a comment on what it means.
//
// A Go error means that the machine failed; a Problem means that the notebook did.
package diag
