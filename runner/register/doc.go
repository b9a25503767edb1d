// Package register puts the sheets of a folder into one calculation package: which of them uses
// which, how each stands, what stands upstream of it, all inputs with their sources, and the faults
// that no sheet shows alone.
//
//   - New: evaluated notebooks → Package. It evaluates nothing, and is cheap enough for every rebuild.
//   - Sheet: one notebook in its place, with the problems to be reported there.
//   - Use: what a sheet takes from another, and which inputs it gives it.
//   - Input: an input of any sheet, its sources, and who gives it another value.
package register
