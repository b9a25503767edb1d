package lang

// correlation reads `correlation(T3, p3) = 0.8`.
func (p *parser) correlation(lo, hi int, c Caption) Stmt {
	const form = "write correlation(T3, p3) = 0.8, with two inputs that have a standard uncertainty"
	eq := p.find(lo, hi, func(t *token) bool { return t.op("=") })
	if eq == hi {
		p.fail(p.span(lo, hi).Loc, CodeCorrelation, "this correlation has no coefficient", "expected = and a number from -1 to 1 after this", form)
		return nil
	}
	left := p.expr(lo, eq)
	if left == nil {
		return nil
	}
	call, ok := left.(*Call)
	var of [2]*Ident
	if ok && len(call.Args) == len(of) {
		for i, a := range call.Args {
			if id, plain := a.X.(*Ident); plain && a.Name == nil {
				of[i] = id
			}
		}
	}
	if of[0] == nil || of[1] == nil {
		p.fail(left.Span(), CodeCorrelation, "a correlation is between two inputs", "expected the names of two inputs", form)
		return nil
	}
	if eq+1 == hi {
		p.operandMissing(hi)
		return nil
	}
	r := p.expr(eq+1, hi)
	if r == nil {
		return nil
	}
	return &Correlation{At: p.span(lo, hi), A: of[0], B: of[1], R: r, Caption: c}
}
