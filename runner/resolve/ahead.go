package resolve

import (
	"strings"
	"sync"

	"workings/runner/diag"
	"workings/runner/lang"
)

// ahead are definitions further down, by key. A state stands there once, for all the symbols that it
// brings.
type ahead map[string]later

// later is a definition further down the sheet.
type later struct {
	span diag.Span
	stmt lang.Stmt
}

func (a ahead) enter(key string, l later) {
	if _, ok := a[key]; !ok {
		a[key] = l
	}
}

// stateKey is where a state stands; no symbol has such a key.
func stateKey(id string) string { return "_" + lang.Print("x_"+id).Sub }

// find is the first definition further down of the symbol with a key.
func (a ahead) find(key string) (later, bool) {
	l, ok := a[key]
	if cut := strings.IndexByte(key, '_'); cut > 0 && standardStems()[key[:cut+1]] {
		if st, brings := a[key[cut:]]; brings && (!ok || st.span.Start < l.span.Start) {
			return st, true
		}
	}
	return l, ok
}

// standardStems are the keys of the properties that every state brings, up to the state's own name.
var standardStems = sync.OnceValue(func() map[string]bool {
	m := map[string]bool{}
	for _, p := range standard() {
		m[keyStems()[p]] = true
	}
	return m
})

// circle reports whether a later definition needs, directly or not, what line defines.
func (r *resolver) circle(line *Line, from later) bool {
	seen := map[lang.Stmt]bool{}
	todo := []lang.Stmt{from.stmt}
	for len(todo) > 0 {
		s := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		if seen[s] {
			continue
		}
		seen[s] = true
		found := s == line.Stmt
		lang.Walk(s, func(n lang.Node) bool {
			id, ok := n.(*lang.Ident)
			if !ok || id.Of != nil {
				return true
			}
			key := id.Name.Key()
			if l, ok := r.scope.ahead.find(key); ok {
				found = found || l.stmt == line.Stmt
				if r.scope.symbols[key] == nil {
					todo = append(todo, l.stmt)
				}
			}
			return true
		})
		if found {
			return true
		}
	}
	return false
}

// uncalled cautions about the notebook's own methods that nothing calls: a method is checked for
// the types it is called with, so that nobody has looked at these. A notebook that holds methods
// and computes nothing is a library for others.
func (r *resolver) uncalled() {
	computes := false
	for _, l := range r.sheet.Lines {
		computes = computes || len(l.Defines) > 0
	}
	if !computes {
		return
	}
	for _, name := range sortedKeys(r.scope.methods) {
		m := r.scope.methods[name]
		if m.called || m.File != r.sheet.File || m.bad {
			continue
		}
		r.caution(m.Line, CodeNotCalled, m.Def.Name.Loc, "the method %s is never called, so that its lines have not been checked", name).
			hint("call it: %s", signature(m))
	}
}
