// Package runner joins the stages: a notebook's bytes in, a checked sheet out.
//
//   - Build: reads one notebook and what it names, checks it and evaluates it.
//   - Result: the document, the trace and the problems; writes the HTML sheet and the JSON trace.
//
// Read the folders below it as one sentence: notebook → lang → resolve → eval → sheet.
package runner
