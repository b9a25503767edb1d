package sheet

import (
	"workings/runner/lang"
	"workings/runner/resolve"
)

// bindings are the names and constants of the line at hand with what they are bound to. Most lines
// have so few that going through them is faster than a map.
type bindings struct {
	few  []binding
	many map[lang.Expr]*resolve.Expr // all, where they are more than few
}

type binding struct {
	src lang.Expr
	to  *resolve.Expr
}

const fewBindings = 16

// of is what a name or a constant is bound to, or nil.
func (b *bindings) of(src lang.Expr) *resolve.Expr {
	if b == nil {
		return nil
	}
	if b.many != nil {
		return b.many[src]
	}
	for i := len(b.few) - 1; i >= 0; i-- {
		if b.few[i].src == src {
			return b.few[i].to
		}
	}
	return nil
}

// bind makes those of expressions known, and no others.
func (b *bindings) bind(xs ...*resolve.Expr) {
	b.few, b.many = b.few[:0], nil
	for _, x := range xs {
		b.add(x)
	}
}

func (b *bindings) add(x *resolve.Expr) {
	if x == nil {
		return
	}
	if x.Op == resolve.OpRef || x.Op == resolve.OpConst || x.OverInterval() {
		src := strip(x.Src)
		for {
			u, ok := src.(*lang.Unary)
			if !ok || u.Op != "+" {
				break
			}
			src = strip(u.X)
		}
		if src != nil {
			b.put(src, x)
		}
	}
	for _, a := range x.Args {
		b.add(a)
	}
}

func (b *bindings) put(src lang.Expr, to *resolve.Expr) {
	if b.many == nil && len(b.few) < fewBindings {
		b.few = append(b.few, binding{src, to})
		return
	}
	if b.many == nil {
		b.many = map[lang.Expr]*resolve.Expr{}
		for _, f := range b.few {
			b.many[f.src] = f.to
		}
	}
	b.many[src] = to
}
