package main

import (
	"bytes"
	"html"
	"sort"

	"workings/runner/watch"
)

// plainLine is a line of a page that is no sheet: a link, where address is set, and what is said of it.
type plainLine struct{ address, name, text string }

// plainPage is a page that is no sheet: the list of sheets, and why a notebook has none.
func plainPage(title string, lines []plainLine) []byte {
	var b bytes.Buffer
	b.WriteString("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n" +
		"<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'\"/>\n" +
		"<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n<title>" + html.EscapeString(title) + "</title>\n<style>" +
		":root{color-scheme:light dark;--paper:#fdfcf9;--ink:#1c1b19;--quiet:#5d5a53;--hair:#dedad0}" +
		"@media (prefers-color-scheme:dark){:root{--paper:#151617;--ink:#e8e5de;--quiet:#a9a59b;--hair:#33342f}}" +
		"body{margin:0 auto;padding:2rem;max-width:60rem;background:var(--paper);color:var(--ink);font:400 1.0625rem/1.5 serif}" +
		"ul{list-style:none;padding:0} li{border-top:1px solid var(--hair);padding:.4rem 0} a{color:inherit} span{color:var(--quiet);margin-left:1rem}" +
		"</style>\n</head>\n<body>\n<main>\n<h1>" + html.EscapeString(title) + "</h1>\n<ul>\n")
	for _, l := range lines {
		b.WriteString("<li>")
		if l.address != "" {
			b.WriteString("<a href=\"/" + html.EscapeString(l.address) + "\">" + html.EscapeString(l.name) + "</a> ")
		}
		b.WriteString("<span>" + html.EscapeString(l.text) + "</span></li>\n")
	}
	b.WriteString("</ul>\n</main>\n</body>\n</html>\n")
	return b.Bytes()
}

// whole makes the list of sheets.
func (w *watching) whole(made map[string]*watch.Made) map[string][]byte {
	var names []string
	for name := range made {
		names = append(names, name)
	}
	sort.Strings(names)
	var lines []plainLine
	for _, name := range names {
		about := made[name].Info.(*sheetMade)
		text := about.problemCount(paint{})
		if about.title != "" {
			text = about.title + "; " + text
		}
		lines = append(lines, plainLine{w.target(name).page + ".html", name, text})
	}
	return map[string][]byte{"": plainPage("Sheets", lines)}
}
