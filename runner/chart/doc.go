// Package chart draws pictures as SVG that takes its colours from the page it stands on.
//
//   - Diagram: a property diagram, such as T against s, with states, paths, isolines and the
//     saturation dome.
//   - Curves: y against x, one curve or a family, with marked points and gaps.
//   - Exchange: the temperatures along a heat exchanger, with the differences between them.
//   - Schematic: the components of a plant with their streams and shafts.
//   - Bar: a bar in a row of a table.
//
// Each is plain data in the units it is to be shown in, and each has one method, SVG. A picture
// is one <svg> element with a title and a description in words, without style of its own: Style
// is the style sheet of all of them, for the page to include once. It uses the custom properties
// --paper, --ink, --quiet, --hair and --rule.
//
// Numbers may be anything: what cannot be drawn (not finite, beyond 1e100, not positive on a
// logarithmic axis) is left out. However many points come in, what goes out is bounded.
package chart
