package eval

// Two or three sums and products in a row are taken together: what lies between them need not be
// stored and read again. Every step is rounded as it is by itself, so that the results are the same
// bits; a constant stands in full length in the place of an operand, so that a few loops do for all.

// fusion is one such row.
type fusion uint8

const (
	noFusion  fusion = iota
	sumPlus          // (a + b) + c
	sumLess          // (a + b) − c
	lessSum          // c − (a + b)
	diffPlus         // (a − b) + c
	diffLess         // (a − b) − c
	lessDiff         // c − (a − b)
	prodPlus         // a·b + c
	prodLess         // a·b − c
	lessProd         // c − a·b
	sumTimes         // (a + b)·c
	diffTimes        // (a − b)·c
	prodTimes        // (a·b)·c
	sumOver          // (a + b)/c
	diffOver         // (a − b)/c
	prodOver         // (a·b)/c
	plusShare        // c + k·(a − b)
	lessShare        // c − k·(a − b)
	plusPart         // c + (a − b)/k
	lessPart         // c − (a − b)/k
	twoDiffs         // (a − b) + (c − k)
)

// fuse takes a row together, over lanes that are all of one length.
func fuse(f fusion, d, a, b, c, k []float64) {
	a, b, c = a[:len(d)], b[:len(d)], c[:len(d)]
	switch f {
	case sumPlus:
		for i := range d {
			d[i] = a[i] + b[i] + c[i]
		}
	case sumLess:
		for i := range d {
			d[i] = a[i] + b[i] - c[i]
		}
	case lessSum:
		for i := range d {
			d[i] = c[i] - (a[i] + b[i])
		}
	case diffPlus:
		for i := range d {
			d[i] = a[i] - b[i] + c[i]
		}
	case diffLess:
		for i := range d {
			d[i] = a[i] - b[i] - c[i]
		}
	case lessDiff:
		for i := range d {
			d[i] = c[i] - (a[i] - b[i])
		}
	case prodPlus:
		for i := range d {
			d[i] = float64(a[i]*b[i]) + c[i]
		}
	case prodLess:
		for i := range d {
			d[i] = float64(a[i]*b[i]) - c[i]
		}
	case lessProd:
		for i := range d {
			d[i] = c[i] - float64(a[i]*b[i])
		}
	case sumTimes:
		for i := range d {
			d[i] = (a[i] + b[i]) * c[i]
		}
	case diffTimes:
		for i := range d {
			d[i] = (a[i] - b[i]) * c[i]
		}
	case prodTimes:
		for i := range d {
			d[i] = a[i] * b[i] * c[i]
		}
	case sumOver:
		for i := range d {
			d[i] = (a[i] + b[i]) / c[i]
		}
	case diffOver:
		for i := range d {
			d[i] = (a[i] - b[i]) / c[i]
		}
	case prodOver:
		for i := range d {
			d[i] = a[i] * b[i] / c[i]
		}
	case plusShare:
		for i, k := 0, k[0]; i < len(d); i++ {
			d[i] = c[i] + float64(k*(a[i]-b[i]))
		}
	case lessShare:
		for i, k := 0, k[0]; i < len(d); i++ {
			d[i] = c[i] - float64(k*(a[i]-b[i]))
		}
	case plusPart:
		for i, k := 0, k[0]; i < len(d); i++ {
			d[i] = c[i] + (a[i]-b[i])/k
		}
	case lessPart:
		for i, k := 0, k[0]; i < len(d); i++ {
			d[i] = c[i] - (a[i]-b[i])/k
		}
	case twoDiffs:
		k = k[:len(d)]
		for i := range d {
			d[i] = (a[i] - b[i]) + (c[i] - k[i])
		}
	}
}

// rowOf is the row of an operation on the result of another; first says that this is its left side.
func rowOf(inner, outer opcode, first bool) fusion {
	type pair struct{ inner, outer opcode }
	switch (pair{inner, outer}) {
	case pair{opAdd, opAdd}:
		return sumPlus
	case pair{opAdd, opSub}:
		return either(first, sumLess, lessSum)
	case pair{opSub, opAdd}:
		return diffPlus
	case pair{opSub, opSub}:
		return either(first, diffLess, lessDiff)
	case pair{opMul, opAdd}:
		return prodPlus
	case pair{opMul, opSub}:
		return either(first, prodLess, lessProd)
	case pair{opAdd, opMul}:
		return sumTimes
	case pair{opSub, opMul}:
		return diffTimes
	case pair{opMul, opMul}:
		return prodTimes
	case pair{opAdd, opDiv}:
		return either(first, sumOver, noFusion)
	case pair{opSub, opDiv}:
		return either(first, diffOver, noFusion)
	case pair{opMul, opDiv}:
		return either(first, prodOver, noFusion)
	}
	return noFusion
}

func either(first bool, a, b fusion) fusion {
	if first {
		return a
	}
	return b
}

// fuseAll takes rows together in some instructions and in those under them, longer ones first. uses
// is how often each register is read.
func (c *scheduler) fuseAll(ins []instr, uses []int) []instr {
	made := map[int32]int{} // by register: the instruction that computes it
	for k := range ins {
		if i := &ins[k]; i.op >= opAdd && i.op <= opDiv {
			made[i.dst] = k
		}
	}
	gone := make([]bool, len(ins))
	// once is the instruction whose result only the one at hand reads.
	once := func(r int32) *instr {
		if k, ok := made[r]; ok && uses[r] == 1 {
			return &ins[k]
		}
		return nil
	}
	for k := len(ins) - 1; k >= 0; k-- {
		i := &ins[k]
		for _, part := range []*code{i.sub, i.other} {
			if part != nil {
				part.ins = c.fuseAll(part.ins, uses)
			}
		}
		switch {
		case i.op == opSolve:
			i.loop.body = c.fuseAll(i.loop.body, uses)
		case i.op >= opAdd && i.op <= opDiv && !gone[k]:
			row, used := c.row(i, once)
			for _, r := range used {
				gone[made[r]] = true
			}
			*i = row
		}
	}
	out := ins[:0]
	for k := range ins {
		if !gone[k] {
			out = append(out, ins[k])
		}
	}
	return out
}

// row takes an instruction together with those that compute its operands, whose results then need no
// register; it gives it back as it is where that is not to be.
func (c *scheduler) row(i *instr, once func(int32) *instr) (instr, []int32) {
	left, right := once(i.a), once(i.b)
	out := instr{op: opFused, dst: i.dst}
	if i.op == opAdd && left != nil && right != nil && left.op == opSub && right.op == opSub {
		out.row, out.args = twoDiffs, []int32{c.full(left.a), c.full(left.b), c.full(right.a), c.full(right.b)}
		out.a, out.b = -1, -1
		return out, []int32{i.a, i.b}
	}
	for _, side := range []struct {
		in    *instr
		r, by int32
		first bool
	}{{right, i.b, i.a, false}, {left, i.a, i.b, true}} {
		if side.in == nil {
			continue
		}
		if row, used, ok := c.share(i, side.in, side.r, side.by, side.first, once); ok {
			return row, used
		}
		if f := rowOf(side.in.op, i.op, side.first); f != noFusion {
			out.row, out.args = f, []int32{c.full(side.in.a), c.full(side.in.b), c.full(side.by)}
			out.a, out.b = -1, -1
			return out, []int32{side.r}
		}
	}
	return *i, nil
}

// share is c ± k·(a − b) or c ± (a − b)/k with a constant k: the step that an efficiency takes.
func (c *scheduler) share(i, in *instr, r, by int32, first bool, once func(int32) *instr) (row instr, used []int32, ok bool) {
	if i.op != opAdd && (i.op != opSub || first) || in.op != opMul && in.op != opDiv {
		return row, nil, false
	}
	diff, k := in.a, in.b
	if in.op == opMul && c.level[k] != constant {
		diff, k = k, diff
	}
	d := once(diff)
	if d == nil || d.op != opSub || c.level[k] != constant {
		return row, nil, false
	}
	row = instr{op: opFused, dst: i.dst, a: -1, b: -1, args: []int32{c.full(d.a), c.full(d.b), c.full(by), k}}
	switch {
	case in.op == opMul && i.op == opAdd:
		row.row = plusShare
	case in.op == opMul:
		row.row = lessShare
	case i.op == opAdd:
		row.row = plusPart
	default:
		row.row = lessPart
	}
	return row, []int32{r, diff}, true
}

// full is a register that has its value in every lane.
func (c *scheduler) full(r int32) int32 {
	if c.level[r] != constant {
		return r
	}
	f, ok := c.fulls[r]
	if !ok {
		f = c.register(constant, -1)
		c.fulls[r] = f
	}
	return f
}
