// Package study evaluates a sheet at many points: an input is varied, or two, or the best of
// several is sought; or all inputs are moved by their uncertainties, to find what the answers owe to them.
//
//   - Run: eval.Trace and resolve.Study → Result.
//   - Series: one run through the points for each value of the study's family.
//   - Mark: an extreme or a crossing, refined between the points by evaluating the sheet there.
//   - Optimum: what a seek has found.
//   - Sensitive: eval.Trace → Sensitivities: derivatives (derivative.go), uncertainties to first order with
//     correlations (sensitivity.go, correlation.go), to second order and the caution (second.go), by Monte
//     Carlo (montecarlo.go); as tables (budget.go).
//
// Everything goes through eval's batches, so that a point of a study has the values, to the bit, of
// the sheet with the same inputs. Checks are not evaluated at the points.
package study
