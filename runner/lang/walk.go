package lang

// Walk calls f for a statement or an expression and for all the statements and expressions in it,
// from the outside in and in the order of the text. Where f returns false, what is inside is left
// out.
func Walk(n Node, f func(Node) bool) {
	switch n := n.(type) {
	case *Range:
		if n != nil { // a range is no node of its own
			walkAll(f, n.Lo, n.Hi)
		}
		return
	case Expr:
		walkExpr(n, f)
		return
	}
	if !f(n) {
		return
	}
	switch n := n.(type) {
	case *Input:
		walkAll(f, n.X, n.Spread)
		Walk(n.Between, f)
	case *Correlation:
		walkAll(f, n.A, n.B, n.R)
	case *Define:
		walkAll(f, n.X)
	case *Fluid:
		walkAll(f, n.Spec)
	case *State:
		walkArgs(n.Args, f)
	case *Check:
		walkAll(f, n.X, n.Tolerance)
		Walk(n.Between, f)
	case *CallStmt:
		walkAll(f, n.Call)
	case *Solve:
		Walk(n.Between, f)
		walkAll(f, n.From...)
		for _, s := range n.Body {
			Walk(s, f)
		}
		for _, u := range n.Until {
			Walk(u, f)
		}
	case *Until:
		walkAll(f, n.X)
	case *Use:
		walkArgs(n.With, f)
	case *Method:
		for _, s := range n.Body {
			Walk(s, f)
		}
	case *Cycle:
		for _, s := range n.Lines {
			Walk(s, f)
		}
	case *Study:
		n.walk(f)
	case *Flow:
		walkAll(f, n.X)
	}
}

func (s *Study) walk(f func(Node) bool) {
	vary := func(v *Vary) {
		Walk(v.Between, f)
		walkAll(f, v.Over...)
	}
	for _, v := range s.Vary {
		vary(v)
	}
	if s.Family != nil {
		vary(s.Family)
	}
	for _, m := range s.Marks {
		walkAll(f, m.Value)
	}
	if s.Seek != nil {
		for _, b := range s.Seek.By {
			Walk(b.Range, f)
		}
		walkAll(f, s.Seek.Subject...)
	}
}

func walkExpr(e Expr, f func(Node) bool) {
	if !f(e) {
		return
	}
	switch e := e.(type) {
	case *Unary:
		walkAll(f, e.X)
	case *Binary:
		walkAll(f, e.X, e.Y)
	case *Compare:
		walkAll(f, e.Operands...)
	case *Cond:
		walkAll(f, e.If, e.Then, e.Else)
	case *Call:
		walkArgs(e.Args, f)
	case *Paren:
		walkAll(f, e.X)
	}
}

func walkArgs(args []Arg, f func(Node) bool) {
	for i := range args {
		walkAll(f, args[i].X)
	}
}

func walkAll(f func(Node) bool, es ...Expr) {
	for _, e := range es {
		if e != nil {
			walkExpr(e, f)
		}
	}
}
