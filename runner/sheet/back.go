package sheet

import (
	"cmp"
	"slices"
	"strings"

	"workings/propsdb"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/resolve"
	"workings/units"
)

// section opens a section with a heading of the second level.
func (p *page) section(id, title string) {
	p.raw(`<section id="`, id, `" tabindex="-1"><h2>`, title, "</h2>\n")
}

// back writes what is collected after the notebook, as far as it depends on what was written before.
func (p *page) back() {
	p.checkTable()
	p.uncertainties()
	p.sourceList()
	p.unitList()
}

// appendix writes what is collected and rests on the trace alone.
func (p *page) appendix() {
	uses := p.usesOf()
	p.rememberedSection(func() bool { return p.symbolsKey(uses) }, func() { p.symbolIndex(uses) })
	p.problemList()
	p.rememberedSection(p.evidenceKey, p.evidence)
}

// fluidSource says where a fluid's data come from, over which range they hold, what R they rest
// on, and from which zero its h, u and s count.
func (p *page) fluidSource(f eval.FluidUse) {
	p.raw("<b>")
	p.text(f.Name)
	p.raw("</b>: ")
	if f.Fluid == nil {
		p.raw("no data.")
		return
	}
	src := f.Fluid.Source()
	p.text(f.Fluid.Kind().String())
	if f.Fluid.Name() != f.Name {
		p.raw(" ")
		p.text(f.Fluid.Name())
	}
	say := func(word, s string) {
		if s != "" {
			p.raw("; ", word)
			p.text(strings.TrimSuffix(s, "."))
		}
	}
	first := p.dataOf[src.Hash]
	if first != "" {
		p.raw("; the data of <b>")
		p.text(first)
		p.raw("</b>")
	} else {
		say("", src.Data)
		say("", src.Version)
	}
	say("", src.Range)
	say("", src.Note)
	if first == "" {
		say("accuracy: ", src.Accuracy)
		say("licence: ", src.Licence)
	}
	p.raw("; R\u202f=\u202f")
	p.text(units.FormatNumber(f.Fluid.R()/1000, 7))
	p.raw("\u202fkJ/(kg·K)")
	if f.Fluid.M() > 0 {
		p.raw("; M\u202f=\u202f")
		p.text(units.FormatNumber(f.Fluid.M()*1000, 7))
		p.raw("\u202fkg/kmol")
	}
	p.raw(". ")
	p.text(datumSentence(f.Fluid))
	if src.Hash != "" && first == "" {
		if src.Licence != "" {
			p.dataOf[src.Hash] = f.Name
		}
		p.raw(` <span class="code">sha256 `)
		p.text(src.Hash)
		p.raw("</span>")
	}
}

// datumSentence says from which zeros a fluid's properties count.
func datumSentence(f *propsdb.Fluid) string {
	if f.Kind() == propsdb.Water {
		return "Its u and s are zero for saturated liquid at the triple point, 273.16 K, as in the usual steam tables. Wet steam is a mixture of saturated liquid and vapour at one pressure; p and T pick the stable phase, and metastable states are not given."
	}
	switch f.Datum() {
	case propsdb.ZeroKelvin:
		return "h and u count from absolute zero (0 K) of the gas, without heats of formation; s from absolute zero at 1 bar."
	case propsdb.Formation:
		return "h and u hold the heat of formation: the elements in their reference form are zero at 298.15 K and 1 bar; s counts from absolute zero at 1 bar."
	}
	if f.Kind() == propsdb.UserGas {
		return "h and s count from the reference that its data state, a zero of its own."
	}
	return "Its h is cp·T and its s is zero at 298.15 K and 1 bar: zeros of its own, which no other fluid shares."
}

func (p *page) usedSource(e *eval.Entry) {
	stmt, ok := e.Line.Stmt.(*lang.Use)
	if !ok {
		return
	}
	switch {
	case stmt.Library != nil:
		p.raw("Methods of <code>")
		p.text(stmt.Library.Text)
		p.raw("</code>, a notebook that comes with the tool, entry ")
	case stmt.Path != nil:
		if p.o.In != nil {
			if of := p.o.In.Sheet.SheetOf(e.Line); of != nil {
				p.openSheet(of)
				p.text(citation(of))
				p.raw("</a>: ")
			}
		}
		p.raw("Notebook <code>")
		p.text(stmt.Path.Value)
		p.raw("</code>, entry ")
	}
	p.entryLink(e.Number)
	if e.Line.Sub != nil && e.Line.Sub.File != nil {
		p.raw(` <span class="code">sha256 `, Hash(e.Line.Sub.File.Text), "</span>")
	}
}

// unitList defines the units that are known by several definitions.
func (p *page) unitList() {
	var seen []units.Unit
	for text := range p.unitsSeen {
		if u, err := units.Parse(text); err == nil && u.Definition() != "" {
			seen = append(seen, u)
		}
	}
	if len(seen) == 0 {
		return
	}
	slices.SortFunc(seen, func(a, b units.Unit) int { return strings.Compare(a.String(), b.String()) })
	p.section("Units", "Units that need a definition")
	p.raw(`<dl class="units">`)
	for _, u := range seen {
		p.raw("<div><dt>")
		p.text(u.String())
		p.raw("</dt><dd>")
		p.text(u.Definition())
		p.raw("</dd></div>")
	}
	p.raw("</dl></section>\n")
}

// symbolIndex lists every symbol with its definition and its uses.
func (p *page) symbolIndex(uses [][]string) {
	type item struct {
		key, folded string
		*symbol
	}
	items := make([]item, 0, len(p.listed))
	for _, s := range p.listed {
		if s.State != nil && !s.Adopted && len(uses[s.no]) == 0 && s.Prop != propsdb.T {
			continue // a property that nothing reads
		}
		key := lang.Print(s.Name).Text()
		items = append(items, item{key, strings.ToLower(key), s})
	}
	if len(items) == 0 {
		return
	}
	slices.SortStableFunc(items, func(a, b item) int {
		return cmp.Or(strings.Compare(a.Sheet, b.Sheet), strings.Compare(a.folded, b.folded), strings.Compare(a.key, b.key))
	})
	p.section("Symbols", "Symbols")
	p.raw(`<p class="key">Each symbol with the <b>entry</b> that defines it, then the entries that use it.</p>`, "\n", `<ul class="symidx">`)
	for _, it := range items {
		if p.full() {
			break
		}
		p.raw("<li>")
		p.mathSymbol(it.Symbol)
		if n := it.by.Number; n != "" {
			p.raw(" ")
			p.entryLink(n)
		}
		if u := uses[it.no]; len(u) > 0 {
			p.raw(" ")
			p.entryLinks(u)
		}
		p.raw("</li>\n")
	}
	p.raw("</ul></section>\n")
}

// usesOf lists for each symbol, by its place, the entries that read it, in order.
func (p *page) usesOf() [][]string {
	type use struct {
		of     int
		number string
	}
	var all []use
	last := make([]string, p.size()) // the last entry so far that reads the symbol
	count := make([]int, p.size())
	var walk func(e *eval.Entry)
	walk = func(e *eval.Entry) {
		if e.Number != "" {
			for _, s := range e.Line.Uses {
				if no := p.of(s).no; no >= 0 && last[no] != e.Number {
					all = append(all, use{no, e.Number})
					last[no] = e.Number
					count[no]++
				}
			}
		}
		if e.Line.Kind == resolve.Call {
			return // its working reads the same symbols under the call's own number
		}
		for _, c := range e.Children {
			walk(c)
		}
	}
	for _, e := range p.tr.Entries {
		walk(e)
	}
	out, room := make([][]string, p.size()), make([]string, len(all))
	for no, n := range count {
		out[no], room = room[:0:n], room[n:]
	}
	for _, u := range all {
		out[u.of] = append(out[u.of], u.number)
	}
	return out
}

func (p *page) footer() {
	p.sheetFoot("The whole trace lies in this page as JSON, so that every line can be computed again. ")
}

// sheetFoot names the text that the sheet was made of; trace says where its trace is.
func (p *page) sheetFoot(trace string) {
	p.raw("<footer><p>")
	p.text(p.doc.File.Name)
	p.raw(` <span class="code">sha256 `, Hash(p.doc.File.Text), "</span>. Workings")
	if p.o.Version != "" {
		p.raw(" ")
		p.text(p.o.Version)
	}
	p.raw(". ", trace, "Not verified for design use.</p></footer>\n")
}
