// Package eval lowers a checked sheet to one numeric program in SI, runs it at one point, keeps a
// trace for the reader, and runs the same program at many points for a study.
//
//   - Run: resolve.Sheet → Trace.
//   - Program: registers and instructions, lowered once from the checked lines (program.go, lower.go,
//     instr.go).
//   - machine: runs instructions over lanes, points that lie side by side in the registers
//     (machine.go; states.go, fluid.go, table.go, interval.go, solve.go with seek.go and newton.go).
//   - Trace, Entry: what every line came to, with the details a reader checks it by (run.go, trace.go).
//   - Batch: a sheet made ready for many points (batch.go), its schedule (schedule.go, place.go, gas.go, fuse.go,
//     registers.go), the points (points.go).
//
// There is one engine. A sheet is run by a strict machine of one lane, line by line (lines.go): it
// looks at what every instruction gives and says why there is no number. A study is run over chunks of
// points by machines that execute only a schedule: the instructions that what is kept needs, with what
// no point changes computed once before, what a loop does not change before the loop, and a state of
// a known gas taken apart into functions of one argument. They look for numbers that are none only
// where one could be lost from sight, such as in a divisor, and give up the lanes in question. A
// strict machine then runs these points again, each by itself, and says what has a value there and why
// the rest has none. Both do the same operations in the same order, so that a study gives, to the bit,
// what a sheet gives with its inputs set; runner's tests hold them to it.
//
// In a register NaN is no value. Units cost nothing at run time: they were checked by resolve. A line
// that fails stops the lines that depend on it, quietly: one fault, one report.
package eval
