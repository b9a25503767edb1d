// Package cycle audits the states of a cycle by the first and second law. It knows nothing of the
// author's own equations: from the states, the flows and what stands between them it calculates
// work, heat, implied efficiencies, entropy generated and exergy destroyed, and says where the
// states cannot be. Audit does it for a sheet, Examine for a plant that a program put together.
//
// Quantities are in SI. A quantity that cannot be known is NaN, and the part says why.
package cycle

import "math"

var nan = math.NaN()

// known reports a quantity that could be calculated.
func known(v float64) bool { return !math.IsNaN(v) }
