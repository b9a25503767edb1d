package sheet

import (
	"workings/runner/notebook"
	"workings/runner/resolve"
)

// fence writes what stands in the place of an evaluated fence.
func (p *page) fence(b *notebook.Block) {
	var lines []*resolve.Line
	for len(p.blocks) > p.fenceAt && p.doc.Blocks[p.fenceAt] != b {
		p.fenceAt++
	}
	if p.fenceAt < len(p.blocks) {
		lines = p.blocks[p.fenceAt]
	}
	switch b.Kind {
	case "inputs":
		p.inputsTable(lines)
	case "assume":
		p.assumptions(lines)
	case "calc":
		p.calcNo++
		p.ledger(lines, "Calculation, part "+itoa(p.calcNo))
	case "method":
		id := ""
		for _, l := range lines {
			if l.Method != nil {
				id = "Method-" + l.Method.Name
			}
		}
		p.listing(b, id)
		for _, l := range lines {
			if l.Problem != nil {
				p.failedBlock(l)
			}
		}
	case "data":
		for _, l := range lines {
			p.dataTable(l)
		}
	case "table":
		for _, l := range lines {
			p.summaryTable(l)
		}
	case "cycle":
		for _, l := range lines {
			p.cycle(l)
		}
	case "chart":
		p.chartFence(b, lines)
	case "study":
		for _, l := range lines {
			p.study(l)
		}
	case "answers":
		p.answersTable(lines, false)
	default:
		p.notEvaluated(b, lines)
	}
}

// notEvaluated shows a fence of a kind that this version does not evaluate.
func (p *page) notEvaluated(b *notebook.Block, lines []*resolve.Line) {
	for _, l := range lines {
		if l.Problem != nil {
			p.failedBlock(l)
		}
	}
	p.raw(`<p class="flag warn">`)
	p.icon("warn")
	p.raw(" The ", b.Kind, " below is shown as it was typed: this version does not evaluate it.</p>\n")
	id := ""
	for _, l := range lines {
		id = p.places[l].id
	}
	p.listing(b, id)
}

// listing shows a fence as it was typed; id is its anchor, "" where nothing leads to it.
func (p *page) listing(b *notebook.Block, id string) {
	p.raw(`<figure class="listing"`)
	if id != "" {
		p.raw(` id="`)
		p.attr(id)
		p.raw(`" tabindex="-1"`)
	}
	p.raw(`><figcaption><span class="quiet">`)
	p.text(b.Kind)
	if b.Info != "" {
		p.text(" " + b.Info)
	}
	p.raw(`</span></figcaption><pre tabindex="0" role="group" aria-label="`)
	p.attr(b.Kind)
	p.raw(`"><code>`)
	for _, l := range b.Lines {
		p.text(l.Text)
		p.raw("\n")
	}
	p.raw("</code></pre></figure>\n")
}
