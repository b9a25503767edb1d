package chart

import (
	"math"
	"strings"
	"sync"
	"unicode"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
)

const (
	textSize = 13.0 // of everything but indices, in units of the picture
	ringSize = 12.0 // of the number in a ring
	subSize  = 9.5  // of an index
	// slack is how much wider than Liberation Sans the reader's font may be before anything
	// touches; Arial's metrics are the same, others lie within some 6 %.
	slack = 1.06
)

// Name is a symbol as the sheet prints it: a letter in italics and an upright index.
type Name struct{ Base, Sub string }

func (n Name) String() string { return n.Base + n.Sub }

func (n Name) empty() bool { return n.Base == "" && n.Sub == "" }

func (n Name) width() float64 { return width(n.Base, textSize) + width(n.Sub, subSize) }

var sans = sync.OnceValue(func() font.Face {
	return font.DefaultCache.Lookup(font.Font{Typeface: plot.DefaultFont.Typeface, Variant: "Sans"}, font.Points(1000))
})

// width of a text in units of the picture, in any font that is not far from Liberation Sans.
func width(s string, size float64) float64 {
	if s == "" {
		return 0
	}
	face := sans()
	return float64(face.Width(s)/font.Points(1000)) * size * slack
}

// short cuts a text that would fill the picture.
func short(s string, most int) string {
	n := 0
	for i := range s {
		if n++; n > most {
			return strings.TrimSpace(s[:i]) + "…"
		}
	}
	return s
}

// text appends a text, escaped. What a reader could not see, or what XML does not allow, is shown
// as its code.
func (o *svg) text(s string) {
	const hex = "0123456789abcdef"
	for _, r := range s {
		switch {
		case r == '&':
			o.raw("&amp;")
		case r == '<':
			o.raw("&lt;")
		case r == '>':
			o.raw("&gt;")
		case r == '"':
			o.raw("&quot;")
		case r == '\n' || r == '\t':
			o.raw(" ")
		case unicode.IsControl(r) || unicode.Is(unicode.Cf, r) && r != '\u00ad' || r == unicode.ReplacementChar || r&0xfffe == 0xfffe:
			o.raw(`\u`)
			for shift := 12; shift >= 0; shift -= 4 {
				o.b = append(o.b, hex[r>>shift&15])
			}
		default:
			o.b = append(o.b, string(r)...)
		}
	}
}

// name appends a symbol inside a <text>.
func (o *svg) name(n Name) {
	if n.Base != "" {
		o.raw("<tspan class=\"i\">")
		o.text(n.Base)
		o.raw("</tspan>")
	}
	if n.Sub != "" {
		o.raw(`<tspan class="sb" dy="3">`)
		o.text(n.Sub)
		o.raw(`</tspan><tspan dy="-3">`, "\u200b", `</tspan>`)
	}
}

// align is the side of a text that stands at its place.
type align string

const (
	start  align = ""
	middle align = "m"
	end    align = "e"
)

// label writes a text at a place.
func (o *svg) label(x, y float64, a align, class, s string) {
	o.openText(x, y, a, class)
	o.text(s)
	o.raw("</text>")
}

func (o *svg) openText(x, y float64, a align, class string) {
	o.raw(`<text x="`)
	o.num(x)
	o.raw(`" y="`)
	o.num(y)
	o.raw(`"`)
	if c := strings.TrimSpace(string(a) + " " + class); c != "" {
		o.raw(` class="`, c, `"`)
	}
	o.raw(">")
}

func sane(v float64) bool { return math.Abs(v) <= largest }
