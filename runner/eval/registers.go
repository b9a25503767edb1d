package eval

import "workings/propsdb"

// uses is how often each register is read.
func (c *scheduler) uses(s *schedule) []int {
	uses := make([]int, len(c.level))
	count := func(r int32) {
		if r >= 0 {
			uses[r]++
		}
	}
	everyRead(s.code, count)
	everyRead(c.once, count)
	for _, rs := range [][]int32{s.keep, s.vary, c.finite} {
		for _, r := range rs {
			uses[r]++
		}
	}
	return uses
}

// live are the instructions somebody reads, by how often each register is read.
func live(ins []instr, uses []int) []instr {
	keep := make([]bool, len(ins))
	for k := len(ins) - 1; k >= 0; k-- {
		i := &ins[k]
		keep[k] = i.op == opGuard || i.op == opConserve || i.op == opSolve
		i.finds(func(r int32) { keep[k] = keep[k] || uses[r] > 0 })
		if !keep[k] {
			everyRead(ins[k:k+1], func(r int32) { uses[r]-- })
			continue
		}
		for _, part := range []*code{i.sub, i.other} {
			if part != nil {
				part.ins = live(part.ins, uses)
			}
		}
		if i.op == opSolve {
			i.loop.body = live(i.loop.body, uses)
		}
	}
	out := ins[:0]
	for k := range ins {
		if keep[k] {
			out = append(out, ins[k])
		}
	}
	return out
}

// allocate gives registers that differ from point to point buffers, which they hand on when they
// have been read for the last time: the fewer buffers, the more of them the cache holds.
func (c *scheduler) allocate(s *schedule) {
	s.buffer = make([]int32, len(c.level))
	last := make([]int, len(c.level)) // where a register is touched last
	for r := range s.buffer {
		s.buffer[r] = -1
		last[r] = -1
	}
	at := 0
	var touch func(ins []instr)
	var born []int32 // registers in the order in which they are found
	var birth []int
	touch = func(ins []instr) {
		for k := range ins {
			i := &ins[k]
			here := at
			at++
			// What a loop or a branch touches it may touch again until its end.
			mark := func(r int32) { last[r] = max(last[r], here) }
			i.reads(func(r *int32) { mark(*r) })
			nested := i.sub != nil || i.other != nil || i.op == opSolve
			if nested {
				from := len(born)
				if i.op == opIntegrate || i.op == opExtreme {
					born, birth = append(born, i.variable), append(birth, here)
				}
				if i.op == opSolve {
					for _, u := range i.loop.unknowns {
						born, birth = append(born, u), append(birth, here)
					}
				}
				for _, part := range []*code{i.sub, i.other} {
					if part != nil {
						touch(part.ins)
					}
				}
				if i.op == opSolve {
					touch(i.loop.body)
				}
				end := at
				at++
				everyRead(ins[k:k+1], func(r int32) { last[r] = max(last[r], end) })
				for _, r := range born[from:] {
					last[r] = max(last[r], end)
				}
				here = end
			}
			if i.op != opSolve {
				i.finds(func(r int32) {
					born, birth = append(born, r), append(birth, here)
					last[r] = max(last[r], here)
				})
			}
		}
	}
	touch(s.code)
	bound := make([]bool, len(c.level)) // to a column of the points or of the results
	for _, r := range append(append([]int32{}, s.vary...), s.keep...) {
		bound[r] = true
	}
	var free []int32
	var taken []int32 // registers that hold a buffer now
	for k, r := range born {
		if bound[r] || c.level[r] == constant || s.buffer[r] >= 0 {
			continue
		}
		held := taken[:0]
		for _, t := range taken {
			if last[t] < birth[k] {
				free = append(free, s.buffer[t])
			} else {
				held = append(held, t)
			}
		}
		taken = append(held, r)
		if n := len(free); n > 0 {
			s.buffer[r], free = free[n-1], free[:n-1]
			continue
		}
		s.buffer[r] = int32(s.buffers)
		s.buffers++
	}
}

// withoutNeedless takes out guards of what another guard sees anyway: where a number is none, what is
// computed from it is none either, down to one that is looked at.
func (c *scheduler) withoutNeedless(ins []instr) []instr {
	guarded, seen := make([]bool, len(c.level)), make([]bool, len(c.level))
	logs := map[int32]int32{} // of pressures: they are no numbers where no state has the pressure
	for k := range ins {
		switch i := &ins[k]; i.op {
		case opGuard:
			guarded[i.a] = true
		case opLogP:
			logs[i.a] = i.dst
		}
	}
	for k := len(ins) - 1; k >= 0; k-- {
		if i := &ins[k]; i.dst >= 0 && (guarded[i.dst] || seen[i.dst]) {
			hands(i, func(r int32) { seen[r] = true })
		}
	}
	out := ins[:0]
	for k := range ins {
		if i := &ins[k]; i.op == opGuard {
			l, ok := logs[i.a]
			pressure := i.limit == between && i.lo == propsdb.PressureMin && i.hi == propsdb.PressureMax
			if i.limit == anyNumber && seen[i.a] || pressure && ok && seen[l] {
				continue
			}
		}
		out = append(out, ins[k])
	}
	return out
}

// hands calls f for the operands that make the result no number where they are none.
func hands(i *instr, f func(int32)) {
	switch i.op {
	case opAdd, opSub, opMul, opEnthalpy, opSo:
		f(i.a)
		f(i.b)
	case opDiv, opNeg, opLn, opTofH, opTofSo, opLogP:
		f(i.a)
	case opFunc:
		if n := i.src.Fn.Name; n == "sqrt" || n == "ln" {
			f(i.args[0])
		}
	}
}
