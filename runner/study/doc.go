// Package study evaluates a sheet at many points: an input is varied, or two, or the best of
// several is sought.
//
//   - Run: eval.Trace and resolve.Study → Result.
//   - Series: one run through the points for each value of the study's family.
//   - Mark: an extreme or a crossing, refined between the points by evaluating the sheet there.
//   - Optimum: what a seek has found.
//
// Everything goes through eval's batches, so that a point of a study has the values, to the bit, of
// the sheet with the same inputs. Checks are not evaluated at the points.
package study
