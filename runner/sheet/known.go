package sheet

import (
	"workings/runner/eval"
	"workings/runner/resolve"
)

// symbol is what is known of a symbol of the sheet.
type symbol struct {
	*resolve.Symbol
	no     int // its place among all of them
	id     int // by which the page's script knows it; -1 of a local
	value  eval.Value
	ok     bool        // it has a value
	by     *eval.Entry // that gives it its value
	answer bool
	// alias is the caller's symbol behind a method's parameter or output.
	alias *resolve.Symbol
	call  string // the number of the call whose working a local belongs to
}

// symbols are those of a sheet. Each has its place by its register of the program; the few that have
// none, or one that is taken, have theirs behind.
type symbols struct {
	byRegister []symbol
	others     map[*resolve.Symbol]*symbol
	listed     []*symbol // in the order of their ids, all but locals
}

// unknown is what is known of any other symbol, such as the variable of an integral.
var unknown = symbol{no: -1, id: -1}

// of is what is known of a symbol.
func (x *symbols) of(s *resolve.Symbol) *symbol {
	if s == nil {
		return &unknown
	}
	if s.Reg < len(x.byRegister) {
		if k := &x.byRegister[s.Reg]; k.Symbol == s {
			return k
		}
	}
	if k := x.others[s]; k != nil {
		return k
	}
	return &unknown
}

// know makes room for what is known of a symbol.
func (x *symbols) know(s *resolve.Symbol) *symbol {
	k := x.of(s)
	if k != &unknown {
		return k
	}
	if s.Reg < len(x.byRegister) && x.byRegister[s.Reg].Symbol == nil {
		k = &x.byRegister[s.Reg]
		k.no = s.Reg
	} else {
		k = &symbol{no: x.size()}
		x.others[s] = k
	}
	k.Symbol, k.id = s, -1
	return k
}

// size is how many places of symbols there are.
func (x *symbols) size() int { return len(x.byRegister) + len(x.others) }

// define says which entry a symbol comes from, and gives all but locals an id.
func (x *symbols) define(k *symbol, e *eval.Entry) {
	if k.by == nil {
		k.by = e
	}
	if k.id < 0 && !k.Local {
		k.id = len(x.listed)
		x.listed = append(x.listed, k)
	}
}

// value is what an entry gave a symbol.
func (x *symbols) value(s *resolve.Symbol) (eval.Value, bool) {
	k := x.of(s)
	return k.value, k.ok
}

func (x *symbols) answer(s *resolve.Symbol) bool { return x.of(s).answer }

// definedBy is the numbered entry that gives a symbol its value, or nil.
func (x *symbols) definedBy(s *resolve.Symbol) *eval.Entry {
	if e := x.of(s).by; e != nil && e.Number != "" {
		return e
	}
	return nil
}

// defined is the number of that entry, or "".
func (x *symbols) defined(s *resolve.Symbol) string {
	if e := x.definedBy(s); e != nil {
		return e.Number
	}
	return ""
}
