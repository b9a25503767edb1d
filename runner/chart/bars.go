package chart

import (
	"strconv"
	"strings"
)

// Bars is a ranked list, such as how much each input contributes to an uncertainty.
type Bars struct {
	Title string
	Words string // what a bar's length is: "share of the variance"
	Unit  string // of the values: "%"
	Rows  []Bar
	// Digits of the values; 3 where it is 0, since a ranking asks for no more.
	Digits int
}

// Bar is one row.
type Bar struct {
	Symbol Name   // may be empty
	Words  string // may be empty
	Value  float64
}

const (
	mostBars = 20
	barRow   = 24.0
	barHigh  = 11.0
)

// SVG draws the bars in the order given; the ids in it begin with id.
func (r *Bars) SVG(id string) []byte {
	rows := r.Rows[:min(len(r.Rows), mostBars)]
	var o svg
	high := 2*edge + lineHigh + barRow*float64(len(rows))
	o.open(id, pictureWidth, high, r.Title, r.describe(rows))
	names, values, most := 0.0, 0.0, 0.0
	texts := make([]string, len(rows))
	for i, row := range rows {
		names = max(names, row.label().width())
		texts[i] = quantity(row.Value, r.digits(), r.Unit)
		values = max(values, width(texts[i], textSize))
		if sane(row.Value) {
			most = max(most, row.Value)
		}
	}
	left := min(edge+names, 0.45*pictureWidth) + 10
	room := pictureWidth - left - values - edge - 8
	label := r.Words
	if r.Unit != "" {
		label += " in " + r.Unit
	}
	o.label(left, edge+11, start, "u", short(label, 60))
	for i, row := range rows {
		y := edge + lineHigh + barRow*(float64(i)+0.5)
		e := row.label()
		o.openText(left-10, y+4.5, end, "")
		o.name(e.symbol)
		o.text(e.name)
		o.raw("</text>")
		long := 0.0
		if most > 0 && sane(row.Value) {
			long = room * max(0, row.Value/most)
		}
		if long > 0 {
			o.shape("bar", pt{left, y - barHigh/2}, pt{left + long, y - barHigh/2}, pt{left + long, y + barHigh/2}, pt{left, y + barHigh/2})
		}
		o.label(left+long+8, y+4.5, start, "", texts[i])
	}
	o.line("ax", left, edge+lineHigh+2, left, high-edge+2)
	return o.close()
}

func (r *Bars) digits() int {
	if r.Digits == 0 {
		return 3
	}
	return r.Digits
}

func (b Bar) label() entryText {
	e := entryText{symbol: b.Symbol, name: short(b.Words, 32)}
	if !e.symbol.empty() && e.name != "" {
		e.name = " " + e.name
	}
	return e
}

// entryText is a symbol with words after it.
type entryText struct {
	symbol Name
	name   string
}

func (e entryText) width() float64 { return e.symbol.width() + width(e.name, textSize) }

func (r *Bars) describe(rows []Bar) string {
	var words []string
	for _, row := range rows {
		name := strings.TrimSpace(row.Symbol.String() + " " + short(row.Words, 32))
		words = append(words, name+" "+quantity(row.Value, r.digits(), r.Unit))
	}
	s := short(r.Words, 60) + ", in the order of the bars: " + list(words, mostBars) + "."
	if n := len(r.Rows) - len(rows); n > 0 {
		s += " " + strconv.Itoa(n) + " more are not drawn."
	}
	return s
}
