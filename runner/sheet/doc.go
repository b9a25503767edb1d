// Package sheet draws a notebook and its trace: one HTML file that needs nothing else, and the
// same trace as JSON for other programs. It calculates nothing.
//
//   - HTML: notebook.Document + eval.Trace → the page.
//   - JSON, Schema: the trace as one object, and the JSON Schema that it keeps to.
//   - Options: what the caller knows beside the two.
//
// # Map
//
//   - sheet.go: the page, and what is looked up while it is written (index.go).
//   - buf.go: the one place where text becomes markup; everything is escaped there.
//   - symbol.go, number.go, mathml.go: names, numbers and expressions as MathML.
//   - prose.go: the Markdown tree. block.go: what stands where a fence stood.
//   - inputs.go, ledger.go, state.go, call.go, check.go, data.go: one file a construct.
//   - head.go, back.go: what is collected before and after the notebook.
//   - problem.go: a problem in its place.
//   - json.go, schema.json: the trace.
//
// The page is written so that it is well-formed XML as well as valid HTML; the tests read it as
// both. It holds no clock, no absolute path and no outside address but the author's own links.
package sheet
