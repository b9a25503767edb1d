package units

import (
	"slices"
	"sync"
)

// Entry is one line of the table of units.
type Entry struct {
	Symbol     string
	Name       string
	Quantity   string
	Definition string
	Source     string
	Aliases    []string // other spellings that Parse takes, the ASCII one first
	Prefixes   bool     // whether it takes SI prefixes (those that the trade uses with it)
	Unit       Unit
}

var entries = sync.OnceValue(func() []Entry {
	var out []Entry
	for _, r := range rows() {
		e := Entry{
			Symbol: r.symbol, Name: r.name, Quantity: r.quantity, Definition: r.definition, Source: r.source,
			Prefixes: r.prefixes != "", Unit: symbols()[r.symbol].unit,
		}
		if r.ascii != r.symbol {
			e.Aliases = append(e.Aliases, r.ascii)
		}
		e.Aliases = append(e.Aliases, r.aliases...)
		out = append(out, e)
	}
	return out
})

// All returns the table of units, grouped by quantity; within a quantity SI comes first.
func All() []Entry {
	out := slices.Clone(entries())
	for i := range out {
		out[i].Aliases = slices.Clone(out[i].Aliases)
	}
	return out
}
