package main

import (
	"fmt"
	"io"
	"strings"

	"workings/runner"
	"workings/units"
)

// The report as text for a terminal or a pager, and as Markdown for a file.

const reportTitle = "Software verification report"

// howToRead explains the figures of a check once.
const howToRead = "Of each check: what was asked, the figure computed and the one it is compared with, the deviation (computed less the other; in brackets over the size of " +
	"the other, temperatures counted from 0 K), the largest deviation allowed, and how much of that is used. Figures without a source in square brackets are the tool's " +
	"own, by a second route."

// reportWidth is the width of the text, in columns.
const reportWidth = 100

// broken breaks text at blanks so that no line is wider than width, the first line after first, the
// others after rest.
func broken(first, rest, text string, width int) []string {
	var out []string
	line, empty := first, true
	for _, word := range strings.Fields(text) {
		if !empty && columns.StringWidth(line)+1+columns.StringWidth(word) > width {
			out = append(out, strings.TrimRight(line, " "))
			line, empty = rest, true
		}
		if !empty {
			line += " "
		}
		line, empty = line+word, false
	}
	return append(out, strings.TrimRight(line, " "))
}

// wrapped writes text as broken sets it.
func wrapped(w io.Writer, first, rest, text string) {
	for _, line := range broken(first, rest, text, reportWidth) {
		fmt.Fprintln(w, line)
	}
}

// withVerdict writes text with the verdict at the right edge of its first line.
func withVerdict(w io.Writer, first, rest, text, verdict string, style, mark func(string) string) {
	width := reportWidth - len(verdict)
	for i, line := range broken(first, rest, text, width-2) {
		if i == 0 {
			line = style(pad(line, width)) + mark(verdict)
		}
		fmt.Fprintln(w, line)
	}
}

// facts are the lines that identify the run.
func (r *report) facts() [][2]string {
	tool := r.Tool + " " + r.Version
	if r.Revision != "" {
		tool += ", revision " + r.Revision
	}
	out := [][2]string{{"Tool", tool}, {"Built with", r.Go + ", " + r.Platform}}
	if r.Date != "" {
		out = append(out, [2]string{"Date", r.Date + " (as given by the user)"})
	}
	return out
}

func (d *dataSet) facts() [][2]string {
	return [][2]string{{"Data", d.Data}, {"Version", d.Version}, {"SHA-256", d.SHA256}, {"Source", d.Origin}, {"Accuracy", d.Accuracy}, {"Licence", d.Licence}}
}

func (s *summary) facts() [][2]string {
	cases := fmt.Sprintf("%d: %d hold, %d fail, %d with an error", s.Cases, s.Holding, s.Failing, s.Errors)
	checks := fmt.Sprintf("%d: %d hold, %d fail, %d without a value", s.Checks, s.Hold, s.Fail, s.Waiting)
	against := fmt.Sprintf("%d against published figures, of which %d quoted from memory; %d of the tool against itself", s.Published, s.Memory, s.Checks-s.Published)
	out := [][2]string{{"Cases", cases}, {"Checks", checks}, {"", against}}
	if len(s.Amiss) > 0 {
		out = append(out, [2]string{"Amiss", strings.Join(s.Amiss, ", ")})
	}
	if s.Worst != nil {
		out = append(out, [2]string{"Worst", fmt.Sprintf("%s of its tolerance is used by %s, line %s: %s", percent(s.Worst.Used), s.Worst.Case, s.Worst.ID, s.Worst.Text)})
	}
	return out
}

func percent(f float64) string { return units.FormatNumber(100*f, 2) + " %" }

func signed(text string) string {
	if strings.HasPrefix(text, "−") || strings.HasPrefix(text, "0 ") || text == "0" {
		return text
	}
	return "+" + text
}

// deviation is absolute and, in brackets, relative.
func deviation(k *runner.CaseCheck) string {
	text := signed(k.Deviation.Text)
	if k.Relative != nil && k.Deviation.SI != 0 {
		text += " (" + signed(percent(*k.Relative)) + ")"
	}
	return text
}

func allowed(k *runner.CaseCheck) string {
	if k.Allowed == nil {
		return ""
	}
	return "±" + k.Allowed.Text
}

func used(k *runner.CaseCheck) string {
	if k.Used == nil {
		return ""
	}
	return percent(*k.Used)
}

func expectedWord(k *runner.CaseCheck) string {
	if k.Published {
		return "published "
	}
	return "other "
}

func (r *report) text(w io.Writer, p paint) {
	head := func(s string) { fmt.Fprintf(w, "\n%s\n", p.bold()(s)) }
	list := func(facts [][2]string) {
		for _, f := range facts {
			wrapped(w, "  "+pad(f[0], 11), strings.Repeat(" ", 13), f[1])
		}
	}
	fmt.Fprintf(w, "%s\n\n", p.bold()(reportTitle))
	list(r.facts())
	fmt.Fprintln(w)
	wrapped(w, "  ", "  ", r.Statement)
	head("Summary")
	list(r.Summary.facts())
	head("Not verified")
	for _, n := range r.NotVerified {
		wrapped(w, "  - ", "    ", n)
	}
	head("Data sets")
	for i := range r.Data {
		if i > 0 {
			fmt.Fprintln(w)
		}
		fmt.Fprintf(w, "  %s\n", r.Data[i].Of)
		list(r.Data[i].facts())
	}
	head("Cases")
	wrapped(w, "  ", "  ", howToRead)
	for _, c := range r.Cases {
		textCase(w, p, c)
	}
}

func textCase(w io.Writer, p paint, c *runner.Case) {
	mark := p.good()
	if c.Verdict != runner.CaseHolds {
		mark = p.bad()
	}
	fmt.Fprintln(w)
	withVerdict(w, "", "      ", caseTitle(c), string(c.Verdict), p.bold(), mark)
	wrapped(w, "  ", "  ", c.Verifies)
	fmt.Fprintf(w, "  %s\n  SHA-256 %s\n", c.File, c.SHA256)
	for i := range c.Checks {
		textCheck(w, p, &c.Checks[i])
	}
	for _, problem := range c.Problems {
		wrapped(w, "  ! ", "    ", problem)
	}
	for i, s := range c.Sources {
		if i == 0 {
			fmt.Fprintf(w, "  sources\n")
		}
		wrapped(w, "    ["+s.Label+"] ", "      ", sourceLine(s))
	}
}

// sourceLine is what a figure is from and where it was read.
func sourceLine(s runner.CaseSource) string {
	if s.Read == "" {
		return s.Text
	}
	return s.Text + "; " + s.Read
}

// textCheck writes what was asked with its verdict, then the figures, as many to a line as fit.
func textCheck(w io.Writer, p paint, k *runner.CaseCheck) {
	plain := func(s string) string { return s }
	mark := plain
	if k.Verdict != "holds" {
		mark = p.bad()
	}
	asked := k.Text
	for _, s := range k.Sources {
		asked += " [" + s + "]"
	}
	indent := strings.Repeat(" ", 8)
	withVerdict(w, "  "+padLeft(k.ID, 4)+"  ", indent, asked, k.Verdict, plain, mark)
	if k.Computed == nil {
		return
	}
	fields := []string{"computed " + k.Computed.Text, expectedWord(k) + k.Expected.Text, "off by " + deviation(k)}
	if k.Allowed != nil {
		fields = append(fields, "allowed "+allowed(k))
	}
	if k.Used != nil {
		fields = append(fields, "used "+used(k))
	}
	line := ""
	for _, f := range fields {
		if line != "" && columns.StringWidth(indent+line+"; "+f+";") > reportWidth {
			fmt.Fprintln(w, indent+line+";")
			line = ""
		}
		if line != "" {
			line += "; "
		}
		line += f
	}
	fmt.Fprintln(w, indent+line)
	if k.Reason != "" {
		wrapped(w, indent, indent, k.Reason)
	}
}

// escape keeps Markdown from reading text as markup.
func escape(s string) string {
	return strings.NewReplacer(`\`, `\\`, "`", "\\`", "*", `\*`, "_", `\_`, "[", `\[`, "]", `\]`, "<", `\<`, ">", `\>`, "|", `\|`, "#", `\#`, "~", `\~`, "$", `\$`, "{", `\{`).Replace(s)
}

// code is text as code in a cell of a table, where a bar ends the cell even in code.
func code(s string) string { return "`" + strings.ReplaceAll(s, "|", `\|`) + "`" }

func (r *report) markdown(w io.Writer) {
	list := func(facts [][2]string) {
		fmt.Fprintf(w, "| | |\n| --- | --- |\n")
		for _, f := range facts {
			fmt.Fprintf(w, "| %s | %s |\n", f[0], escape(f[1]))
		}
	}
	fmt.Fprintf(w, "# %s\n\n", reportTitle)
	list(r.facts())
	fmt.Fprintf(w, "\n**%s**\n\n## Summary\n\n", escape(r.Statement))
	list(r.Summary.facts())
	fmt.Fprintf(w, "\n## Not verified\n\n")
	for _, n := range r.NotVerified {
		fmt.Fprintf(w, "- %s\n", escape(n))
	}
	fmt.Fprintf(w, "\n## Data sets\n")
	for i := range r.Data {
		fmt.Fprintf(w, "\n### %s\n\n", escape(r.Data[i].Of))
		list(r.Data[i].facts())
	}
	fmt.Fprintf(w, "\n## Cases\n\n%s\n", escape(howToRead))
	for _, c := range r.Cases {
		markdownCase(w, c)
	}
}

func markdownCase(w io.Writer, c *runner.Case) {
	fmt.Fprintf(w, "\n### %s\n\n**%s** · %s · SHA-256 `%s`\n\n%s\n\n", escape(caseTitle(c)), c.Verdict, escape(c.File), c.SHA256, escape(c.Verifies))
	fmt.Fprintf(w, "| line | asked | computed | published or other | deviation | allowed | used | verdict | source and reason |\n")
	fmt.Fprintf(w, "| ---: | --- | ---: | ---: | ---: | ---: | ---: | --- | --- |\n")
	for i := range c.Checks {
		k := &c.Checks[i]
		computed, other, off := "", "", ""
		if k.Computed != nil {
			computed, other, off = k.Computed.Text, k.Expected.Text, deviation(k)
		}
		why := k.Reason
		for _, s := range k.Sources {
			why += " [" + s + "]"
		}
		fmt.Fprintf(w, "| %s | %s | %s | %s | %s | %s | %s | %s | %s |\n", k.ID, code(k.Text), escape(computed), escape(other), escape(off), escape(allowed(k)), used(k),
			k.Verdict, escape(strings.TrimSpace(why)))
	}
	for i, problem := range c.Problems {
		if i == 0 {
			fmt.Fprintln(w)
		}
		fmt.Fprintf(w, "- %s\n", escape(problem))
	}
	for i, s := range c.Sources {
		if i == 0 {
			fmt.Fprintf(w, "\nSources:\n\n")
		}
		fmt.Fprintf(w, "- \\[%s\\] %s\n", escape(s.Label), escape(sourceLine(s)))
	}
}
