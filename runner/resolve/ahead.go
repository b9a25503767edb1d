package resolve

import "workings/runner/lang"

// circle reports whether a later definition needs, directly or not, what line defines.
func (r *resolver) circle(line *Line, from later) bool {
	target := map[string]bool{}
	for key, l := range r.scope.ahead {
		if l.stmt == line.Stmt {
			target[key] = true
		}
	}
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
			found = found || target[key]
			if l, ok := r.scope.ahead[key]; ok && r.scope.symbols[key] == nil {
				todo = append(todo, l.stmt)
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
