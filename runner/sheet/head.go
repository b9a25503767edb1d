package sheet

import (
	"slices"
	"strings"

	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/register"
	"workings/runner/resolve"
)

// head writes what a reader must know first: what this is, who answers for it, how it stands.
func (p *page) head() {
	f := &p.doc.Front
	p.raw("<header class=\"head\">\n<p class=\"ids\">")
	if f.Number.Text != "" {
		p.raw("<b>")
		p.text(f.Number.Text)
		p.raw("</b>")
	}
	if f.Revision.Text != "" {
		p.raw("<b>revision ")
		p.text(f.Revision.Text)
		p.raw("</b>")
	}
	if f.Project.Text != "" {
		p.raw("<span>")
		p.text(f.Project.Text)
		p.raw("</span>")
	}
	if f.Date.Text != "" {
		p.raw("<span>")
		p.text(f.Date.Text)
		p.raw("</span>")
	}
	if in := p.o.In; in != nil && !in.Combined {
		p.raw(`<span class="screen"><a href="`)
		p.attr(relative(in.Page, IndexPage))
		p.raw(`">Register of all sheets</a></span>`)
	}
	p.raw("<span>")
	p.text(p.doc.File.Name)
	p.raw("</span></p>\n<h1>")
	p.text(p.title)
	p.raw("</h1>\n<dl class=\"sign\">")
	for _, who := range [...]struct{ role, name string }{
		{"Prepared", f.Prepared.Text}, {"Checked", f.Checked.Text}, {"Approved", f.Approved.Text},
	} {
		p.raw("<div><dt>", who.role, "</dt><dd>")
		p.text(who.name)
		p.raw(`</dd><dd class="sg">signature, date</dd></div>`)
	}
	p.raw("</dl>\n")
	p.status()
	p.rests()
	p.raw("</header>\n")
}

// status is one line on how the sheet stands. That checks hold never reads as an approval.
func (p *page) status() {
	p.raw(`<p class="status"><b class="stamp">Not verified for design use</b>`)
	p.checkStatus()
	if p.errors > 0 {
		p.raw("\n<span>")
		p.icon("bad")
		p.raw(` `, itoa(p.errors), plural(p.errors, " error", " errors"), ", ")
		p.severityLinks(diag.Error)
		p.raw("</span>")
	}
	if p.cautions > 0 {
		p.raw("\n<span>")
		p.icon("warn")
		p.raw(` `, itoa(p.cautions), plural(p.cautions, " caution", " cautions"), ", ")
		p.severityLinks(diag.Caution)
		p.raw("</span>")
	}
	p.assumptionStatus()
	p.inputStatus()
	p.raw("</p>\n")
}

// mostLinks is how many places one part of the status line points at.
const mostLinks = 6

func (p *page) severityLinks(s diag.Severity) {
	n := 0
	for i, q := range p.tr.Problems {
		if q.Severity != s || q.Code == eval.CodeCheck {
			continue
		}
		if n == mostLinks {
			p.raw(" …")
			return
		}
		if n++; n > 1 {
			p.raw(" ")
		}
		p.link("P", itoa(i+1))
		p.raw("P", itoa(i+1), "</a>")
	}
}

func (p *page) checkStatus() {
	var fails, waits, unmet, accepted []string
	total, holds := 0, 0
	for _, e := range p.tr.Checks {
		c := e.Check
		switch {
		case c != nil && c.Caution:
			switch {
			case c.Verdict != eval.Fails || e.Status != eval.Done:
			case c.Accepted != nil:
				accepted = append(accepted, e.Number)
			default:
				unmet = append(unmet, e.Number)
			}
			continue
		case c == nil || e.Status != eval.Done || c.Verdict == eval.Waits:
			waits = append(waits, e.Number)
		case c.Verdict == eval.Holds:
			holds++
		default:
			fails = append(fails, e.Number)
		}
		total++
	}
	p.raw("\n<span>")
	switch {
	case total == 0:
		p.raw("no checks")
	case holds == total:
		p.icon("ok")
		p.raw(" ", plural(total, "the check", "all "+itoa(total)+" checks"), plural(total, " holds", " hold"))
	default:
		p.raw(itoa(holds), " of ", itoa(total), plural(total, " check holds", " checks hold"))
	}
	p.raw("</span>")
	p.entriesStatus("bad", fails, plural(len(fails), "fails", "fail"))
	p.entriesStatus("wait", waits, plural(len(waits), "waits", "wait"))
	p.entriesStatus("warn", unmet, plural(len(unmet), "caution condition does not hold", "caution conditions do not hold"))
	p.entriesStatus("wait", accepted, plural(len(accepted), "caution accepted with a reason", "cautions accepted with a reason"))
}

func (p *page) entriesStatus(icon string, numbers []string, words string) {
	if len(numbers) == 0 {
		return
	}
	p.raw("\n<span>")
	p.icon(icon)
	p.raw(" ", itoa(len(numbers)), " ", words, ", entry ")
	p.entryLinks(numbers[:min(len(numbers), mostLinks)])
	if len(numbers) > mostLinks {
		p.raw(" …")
	}
	p.raw("</span>")
}

func (p *page) assumptionStatus() {
	var open []string
	for _, a := range p.tr.Sheet.Assumed {
		if a.Open {
			open = append(open, itoa(p.assumed[a.Label]))
		}
	}
	n := len(p.tr.Sheet.Assumed)
	p.usedAssumptions()
	switch {
	case len(open) > 0:
		p.raw("\n<span>")
		p.icon("open")
		p.raw(" ", itoa(len(open)), " of ", itoa(n), plural(n, " assumption", " assumptions"), " to be confirmed,")
		for i, no := range open {
			if i == mostLinks {
				p.raw(" …")
				break
			}
			p.raw(" ")
			p.link("A", no)
			p.raw("A", no, "</a>")
		}
		p.raw("</span>")
	case n > 0:
		p.raw("\n<span>", itoa(n), plural(n, " assumption", " assumptions"), ", none to be confirmed</span>")
	}
}

// usedAssumptions carries the assumptions to be confirmed of used sheets to the head.
func (p *page) usedAssumptions() {
	open, at := 0, []string{}
	for _, u := range p.uses() {
		n := 0
		if p.o.In != nil && p.o.In.Sheet.SheetOf(u.Line) != nil {
			continue // it is named with the sheets that this one rests on
		}
		if u.Line.Sub != nil {
			for _, a := range u.Line.Sub.Assumed {
				if a.Open {
					n++
				}
			}
		}
		if n > 0 {
			open += n
			at = append(at, u.Number)
		}
	}
	if open > 0 {
		p.entriesStatus("open", at, plural(len(at), "used sheet has ", "used sheets have ")+itoa(open)+plural(open, " assumption", " assumptions")+" to be confirmed")
	}
}

func (p *page) inputStatus() {
	total := 0
	var bare, overridden []string
	for _, l := range p.tr.Sheet.Lines {
		if l.Kind != resolve.Input {
			continue
		}
		total++
		e := p.entry(l)
		if e == nil {
			continue
		}
		if len(l.Sources) == 0 {
			bare = append(bare, e.Number)
		}
		if l.Overridden {
			overridden = append(overridden, e.Number)
		}
	}
	if len(bare) > 0 {
		p.entriesStatus("warn", bare, "of "+itoa(total)+plural(total, " input", " inputs")+" without a source")
	}
	if len(overridden) > 0 {
		p.entriesStatus("warn", overridden, plural(len(overridden), "input overridden", "inputs overridden"))
	} else if total > 0 {
		p.raw("\n<span>no input overridden</span>")
	}
}

// answersBox repeats at the top what the sheet is asked for.
func (p *page) answersBox() {
	var lines []*resolve.Line
	for _, l := range p.tr.Sheet.Lines {
		if l.Kind == resolve.AnswerLine {
			lines = append(lines, l)
		}
	}
	if len(lines) == 0 {
		return
	}
	p.section("Answers", "Answers")
	p.answersTable(lines, true)
	p.raw("</section>\n")
}

func (p *page) answersTable(lines []*resolve.Line, top bool) {
	uncertain := p.anyUncertain(lines)
	class := "tab answers"
	if !top {
		class = "tab answers again"
	}
	p.raw(`<table class="`, class, `"><caption class="vh">Answers</caption><thead><tr><th scope="col" class="sy">symbol</th>`,
		`<th scope="col" class="nv">value</th><th scope="col" class="un">unit</th>`)
	if uncertain {
		p.raw(`<th scope="col" class="pm">standard uncertainty</th>`)
	}
	p.raw(`<th scope="col" class="de">what was asked</th><th scope="col" class="us">entry</th></tr></thead><tbody>`, "\n")
	for _, l := range lines {
		p.answerRow(l, uncertain)
	}
	p.raw("</tbody></table>\n")
}

// answerRow writes an answer.
func (p *page) answerRow(l *resolve.Line, uncertain bool) {
	s := l.Shown
	stmt, _ := l.Stmt.(*lang.Answer)
	if s == nil && l.Problem == nil {
		return
	}
	p.raw(`<tr><td class="sy">`)
	if s != nil && s.Symbol != nil {
		p.mathSymbol(s.Symbol)
	} else if stmt != nil {
		p.headSymbol(stmt.Name.Text)
	}
	p.raw(`</td>`)
	p.answerCells(l, s)
	if uncertain {
		p.uncertaintyCell(s)
	}
	p.raw(`<th scope="row" class="de">`)
	p.answerWords(s, stmt, l)
	p.uncertaintyFrom(s)
	p.unconfirmed(s)
	p.raw(`</th><td class="us">`)
	if s != nil && s.Symbol != nil && p.defined(s.Symbol) != "" {
		p.entryLink(p.defined(s.Symbol))
	}
	p.raw("</td></tr>\n")
}

// unconfirmed names the assumptions to be confirmed that an answer rests on.
func (p *page) unconfirmed(s *resolve.Shown) {
	if s == nil || s.Symbol == nil {
		return
	}
	u, ok := p.tr.Unconfirmed[s.Symbol]
	if !ok {
		return
	}
	p.raw(` <span class="flag warn">`)
	p.icon("open")
	p.raw(" rests on")
	for i, n := range u.Own {
		if i == mostLinks {
			p.raw(" …")
			break
		}
		p.raw(" ")
		p.link("A", itoa(n+1))
		p.raw("A", itoa(n+1), "</a>")
	}
	p.usedPremises(u.Used)
	p.raw(", to be confirmed</span>")
}

// usedPremises names assumptions of used sheets: as this sheet knows them, or by the pages on which
// they stand.
func (p *page) usedPremises(names []string) {
	var done []string
	for _, name := range names {
		at := strings.LastIndexByte(name, '.')
		var of *register.Sheet
		no := 0
		if p.o.In != nil && at > 0 {
			if of = p.o.In.Sheet.Named(name[:at]); of != nil {
				no = of.Assumption(name[at+1:])
			}
		}
		said := name
		if no > 0 {
			said = of.Name() + " A" + itoa(no)
		}
		if slices.Contains(done, said) {
			continue // used twice
		}
		if done = append(done, said); len(done) > mostLinks {
			p.raw(" …")
			return
		}
		p.raw(" ")
		if no > 0 {
			p.raw(`<a href="`)
			p.attr(p.o.In.home(of) + "A" + itoa(no))
			p.raw(`">`)
			p.text(said)
			p.raw("</a>")
		} else {
			p.raw("<code>")
			p.text(said)
			p.raw("</code>")
		}
	}
}

func (p *page) answerCells(l *resolve.Line, s *resolve.Shown) {
	if s != nil && s.Problem == nil {
		if f, ok := p.answered(s); ok {
			p.raw(`<td class="nv"><b>`)
			p.text(f.num)
			p.raw(`</b></td><td class="un"><span class="u">`)
			if !f.unit.IsNone() {
				p.text(f.unit.String())
				p.seen(f.unit)
			}
			p.raw("</span></td>")
			return
		}
	}
	problem := l.Problem
	if s != nil && s.Problem != nil {
		problem = s.Problem
	}
	p.raw(`<td class="nv">`)
	p.noValue(problem)
	p.raw(`</td><td class="un">`)
	if waits := p.failedEntries(l.Waits); len(waits) > 0 && problem == nil {
		p.raw(`<span class="v v-wait">waits for `)
		p.waitLinks(waits)
		p.raw("</span>")
	} else if s != nil && s.Symbol != nil && problem == nil {
		if e := p.definedBy(s.Symbol); e != nil && e.Status == eval.Waiting {
			p.raw(`<span class="v v-wait">waits for `)
			p.waitLinks(e.WaitsFor)
			p.raw("</span>")
		}
	}
	p.raw("</td>")
}

// failedEntries are the numbers of lines that something waits for.
func (p *page) failedEntries(lines []*resolve.Line) []string {
	var out []string
	for _, l := range lines {
		if e := p.entry(l); e != nil && e.Number != "" {
			out = append(out, e.Number)
		}
	}
	return out
}

// answerWords says what an answer is: its own caption, else that of the line that found it.
func (p *page) answerWords(s *resolve.Shown, stmt *lang.Answer, l *resolve.Line) {
	if stmt != nil && stmt.Caption.Text != "" {
		p.caption(l.File, stmt.Caption.Loc)
		return
	}
	if s == nil || s.Symbol == nil || s.Symbol.Line == nil {
		p.raw("–")
		return
	}
	if c := lang.CaptionOf(s.Symbol.Line.Stmt); c.Text != "" && s.Symbol.State == nil {
		p.lineCaption(s.Symbol.Line, c)
		return
	}
	if s.Symbol.State != nil {
		p.text(s.Symbol.Prop.Name() + " of state " + p.outer(s.Symbol.State).ID)
		return
	}
	if l := s.Symbol.Line; l.X != nil && !isLiteral(l.X.Src) {
		p.refs.bind(l.X)
		p.math(l.X, false, leadEquals)
		return
	}
	p.text(s.Symbol.Full())
}
