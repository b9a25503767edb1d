package chart

import "bytes"

// inks are the colours that a page gives to pictures, for one that stands alone.
const inks = `:root{color-scheme:light dark;--paper:#fdfcf9;--ink:#1c1b19;--quiet:#5d5a53;--hair:#dedad0;--rule:#8c877c}
@media (prefers-color-scheme:dark){:root{--paper:#151617;--ink:#e8e5de;--quiet:#a9a59b;--hair:#33342f;--rule:#77746b}}
svg{background:var(--paper)}
`

// Alone makes of a picture a file of its own, with its style in it.
func Alone(picture []byte) []byte {
	const begin = "<svg "
	out := []byte(`<svg xmlns="http://www.w3.org/2000/svg" `)
	rest := bytes.TrimPrefix(picture, []byte(begin))
	head, body, _ := bytes.Cut(rest, []byte(">"))
	out = append(append(out, head...), ">\n<style>\n"+inks+Style+"</style>\n"...)
	return append(append(out, body...), '\n')
}
