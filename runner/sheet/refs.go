package sheet

import (
	"strings"

	"workings/runner/notebook"
	"workings/runner/resolve"
)

// place is a numbered table or figure: its word, its number and its anchor.
type place struct {
	word, id string
	number   int
}

// number the tables and figures of the notebook, so that links may lead forward.
func (x *index) numberPlaces(lines []*resolve.Line) {
	tables, figures := 0, 0
	for _, l := range lines {
		switch {
		case l.Problem != nil:
		case l.Kind == resolve.TableLine && l.Table != nil:
			tables++
			x.places[l] = newPlace("Table", l.Table.Name, tables)
		case l.Kind == resolve.StudyLine && l.Study != nil:
			x.places[l] = place{"Study", "Study-" + l.Study.Name, 0}
		case l.Kind == resolve.CycleLine && l.Cycle != nil && !l.Failed() && len(l.Cycle.Components) > 0 && !schematicAsked(lines, l.Cycle):
			figures++
			x.places[l] = newPlace("Figure", "", figures)
		case l.Kind == resolve.ChartLine && l.Chart != nil:
			figures++
			x.places[l] = newPlace("Figure", l.Chart.Stmt.Name.Text, figures)
		}
	}
}

// newPlace has an anchor that stays the same when others are added, if it has a name.
func newPlace(word, name string, number int) place {
	if name == "" {
		name = itoa(number)
	}
	return place{word, word + "-" + name, number}
}

// anchor writes the id of a numbered table or figure, and its name for the reader's eye.
func (p *page) anchor(l *resolve.Line) {
	if at, ok := p.places[l]; ok {
		p.raw(` id="`)
		p.attr(at.id)
		p.raw(`" tabindex="-1"`)
	}
}

// refNode writes a link to a place on the sheet.
func (p *page) refNode(n *notebook.RefNode, s *captionSource) {
	var ref *resolve.Reference
	if s.own {
		ref = p.tr.Sheet.RefAt(n.Span)
	}
	if ref == nil { // of another notebook, whose page this is not
		p.children(n, s)
		return
	}
	id, said, ring := p.leadsTo(ref)
	if id == "" {
		p.children(n, s)
		if ref.Problem != nil {
			p.raw(` <span class="flag bad">`)
			p.icon("bad")
			p.raw(" ")
			p.link("P", itoa(p.problems[ref.Problem]))
			p.raw("leads nowhere</a></span>")
		}
		return
	}
	if number, ok := strings.CutPrefix(id, "e"); ok && p.isEntry(number) {
		p.openEntry("to", number)
	} else {
		p.raw(`<a class="to" href="#`)
		p.attr(percent(id))
		p.raw(`">`)
	}
	switch {
	case ref.Word == "":
		p.children(n, s)
	case ring != nil:
		p.text(ref.Word + "\u00a0")
		p.ring(ring)
	default:
		p.text(ref.Word + "\u00a0" + said)
	}
	p.raw("</a>")
}

// leadsTo is the anchor that a link leads to, "" where there is none, and the number or the name that
// follows its word; of a state, which is ringed, the state too.
func (p *page) leadsTo(ref *resolve.Reference) (id, said string, ring *resolve.State) {
	entry := func(number string) (string, string, *resolve.State) {
		if number == "" {
			return "", "", nil
		}
		return "e" + number, number, nil
	}
	switch ref.Kind {
	case resolve.ToSymbol:
		return entry(p.defined(ref.Symbol))
	case resolve.ToState:
		number := ""
		if e := p.entry(ref.State.Line); e != nil {
			number = e.Number
		}
		if number != "" && strings.EqualFold(ref.Word, "state") {
			return "e" + number, p.stateName(ref.State), ref.State
		}
		return entry(number)
	case resolve.ToLine:
		l := ref.Line
		if at, ok := p.places[l]; ok && (l.Cycle == nil || strings.EqualFold(ref.Word, "figure")) {
			if l.Study != nil {
				return at.id, l.Study.Name, nil
			}
			return at.id, itoa(at.number), nil
		}
		switch {
		case l.Data != nil && l.Problem == nil:
			return "D" + l.Data.Name, l.Data.Name, nil
		case l.Kind == resolve.MethodLine && l.Method != nil:
			return "Method-" + l.Method.Name, l.Method.Name, nil
		}
		if e := p.entry(l); e != nil && e.Number != "" {
			if l.Cycle != nil && strings.EqualFold(ref.Word, "cycle") {
				return "e" + e.Number, l.Cycle.Name, nil
			}
			return entry(e.Number)
		}
	case resolve.ToSection:
		return headingID(ref.Section.ID), "“" + ref.Section.Title + "”", nil
	case resolve.ToPagePart:
		return ref.Target, ref.Target, nil
	case resolve.ToAssumption:
		no := "A" + itoa(p.assumed[ref.Target])
		return no, no, nil
	case resolve.ToSource:
		no := "S" + itoa(p.notes[ref.Target])
		return no, no, nil
	}
	return "", "", nil
}

// refText is a link to a place on the sheet as words, "table 1", for where there is no such place;
// "" where the text of the link stays.
func (p *page) refText(n *notebook.RefNode) string {
	ref := p.tr.Sheet.RefAt(n.Span)
	if ref == nil || ref.Word == "" || n.Whole.Start >= n.Whole.End {
		return ""
	}
	id, said, _ := p.leadsTo(ref)
	if id == "" {
		return ""
	}
	return escaped(ref.Word + " " + said)
}
