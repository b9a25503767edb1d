package units

import "strings"

// factor is a symbol to a power: what is left of a unit's text once brackets and solidi are worked out.
type factor struct {
	sym *symbol
	exp ratio
}

// merge joins equal symbols on the same side of the solidus: m·m is m². Across it they stay, since kg/kg says
// more to its reader than 1. What stands above comes first, as it is printed.
func merge(fs []factor) []factor {
	out := make([]factor, 0, len(fs))
	for _, below := range []bool{false, true} {
	next:
		for _, f := range fs {
			if (f.exp.num < 0) != below {
				continue
			}
			for i := range out {
				if out[i].sym.text == f.sym.text && (out[i].exp.num < 0) == below {
					if sum, ok := out[i].exp.add(f.exp, 1); ok {
						out[i].exp = sum
						continue next
					}
				}
			}
			out = append(out, f)
		}
	}
	return out
}

// canonical prints a unit: kJ/(kg·K), s⁻¹, J^(1/2); in ASCII kJ/(kg*K), s^-1, J^(1/2).
func canonical(fs []factor, ascii bool) string {
	above, below := 0, 0
	for _, f := range fs {
		if f.exp.num > 0 {
			above++
		} else {
			below++
		}
	}
	var b strings.Builder
	write := func(negative bool, sign int) {
		first := true
		for _, f := range fs {
			if (f.exp.num < 0) != negative {
				continue
			}
			if !first {
				if ascii {
					b.WriteByte('*')
				} else {
					b.WriteString("·")
				}
			}
			first = false
			writeFactor(&b, f, sign, ascii)
		}
	}
	if above == 0 {
		write(true, 1)
		return b.String()
	}
	write(false, 1)
	switch {
	case below == 1:
		b.WriteByte('/')
		write(true, -1)
	case below > 1:
		b.WriteString("/(")
		write(true, -1)
		b.WriteByte(')')
	}
	return b.String()
}

func writeFactor(b *strings.Builder, f factor, sign int, ascii bool) {
	num, den := sign*int(f.exp.num), f.exp.den()
	if !ascii {
		b.WriteString(f.sym.text)
		b.WriteString(superscriptPower(num, den))
		return
	}
	b.WriteString(f.sym.ascii)
	switch {
	case den != 1:
		b.WriteString("^(" + fraction(num, den) + ")")
	case num != 1:
		b.WriteString("^" + fraction(num, 1))
	}
}
