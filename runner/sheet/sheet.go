package sheet

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"fmt"
	"io"
	"slices"
	"strings"
	"sync"
	"unicode/utf8"

	"workings/runner/chart"
	"workings/runner/cycle"
	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/lang"
	"workings/runner/notebook"
	"workings/runner/study"
	"workings/runner/tex"
	"workings/units"
)

// MaxPage bounds one page, in bytes: pictures, link references and repeated names can make a
// page far larger than its notebook.
const MaxPage = 64 << 20

// LimitError says that a page would exceed MaxPage; nothing of it was written.
type LimitError struct {
	File string // the notebook
	Max  int    // bytes
}

func (e *LimitError) Error() string {
	return fmt.Sprintf("%s: the sheet would be larger than %d MB", e.File, e.Max>>20)
}

// Options is what the caller knows beside the notebook and its trace.
type Options struct {
	// Version of the tool, shown at the foot of the page and in the trace.
	Version string
	// Studies are those of the notebook, in reading order.
	Studies []*study.Result
	// Sensitivities are how the answers follow the inputs, or nil.
	Sensitivities *study.Sensitivities
	// Images are the pictures that the notebook names, by their destination as it is written
	// there. One that is missing is shown as text.
	Images map[string][]byte
	// Audits are those of the notebook's cycles: the temperatures along an exchanger come from them.
	Audits []*cycle.Audit
	// Maths are the formulas of the prose and of captions.
	Maths map[tex.Place]tex.Typeset
	// Memory, which may be nil, makes the next page of the same notebook faster.
	Memory *Memory
	// In is the place of the sheet in a package, to whose other pages it links; nil of a sheet alone.
	In *Placement
}

// page is one page being written.
type page struct {
	buf
	*index
	doc     *notebook.Document
	o       Options
	digits  int
	ambient float64

	typeSet     map[[2]string][2]string // names with marks → stem and subscript
	names       []name                  // of the symbols, by their place in the index
	inFormula   []figure                // and as they enter formulas
	refs        bindings                // of the line at hand
	sources     map[*diag.File]*captionSource
	inSolve     int    // inside so many solves
	within      string // "gt." inside the lines of a used sheet
	scratch     []byte
	nameSpace   []byte      // for the typesetting of a name
	with        []lang.Expr // exponents that the expression at hand left for a line of their own
	fenceAt     int         // the fence at hand
	calcNo      int
	proseTables int
	title       string
	skipTitle   any // the heading that became the title
	heading     headingLevels
	inPage      bool // the trace is part of the page
	over        bool // larger than MaxPage
	emphasis    bool // some text of the page is in italics
	noMarks     bool // leave out the marks of sources and assumptions
	usesPrint   bool // an absolute h of a gas was shown
	unitsSeen   map[string]bool
	traceUnits  map[string]units.Unit // that the trace names
	siUnits     map[units.Unit]string // of units in the trace, its SI unit
	dataOf      map[string]string     // hash of a data file that the tool carries → the fluid that says all about it
	depth       int
	// cited counts the marks of each footnote in the prose, by its number. Elsewhere, in captions and
	// within sources, marks are only links.
	cited    map[int]int
	noAnchor bool

	memory *Memory // of pages as HTML writes them
	key    key     // of the entry at hand
	news   piece   // what it leaves behind
}

func newPage(doc *notebook.Document, tr *eval.Trace, o Options) *page {
	x := newIndex(doc, tr)
	if o.In != nil {
		x.values(o.In.Whole.Entries)
	}
	return x.page(doc, o)
}

// page is an empty page over an index, which several may share.
func (x *index) page(doc *notebook.Document, o Options) *page {
	p := &page{
		index: x, doc: doc, o: o,
		digits: x.tr.Sheet.Digits, ambient: x.tr.Sheet.Ambient,
		sources:   map[*diag.File]*captionSource{},
		unitsSeen: map[string]bool{}, traceUnits: map[string]units.Unit{}, siUnits: map[units.Unit]string{}, dataOf: map[string]string{},
		cited: map[int]int{}, typeSet: map[[2]string][2]string{},
	}
	if p.digits == 0 {
		p.digits = 5
	}
	p.sources[doc.File] = &captionSource{doc: doc, captions: doc.Captions(), own: true}
	p.findTitle()
	return p
}

// HTML writes the page of a notebook. The error is a *LimitError, or what w returned.
func HTML(w io.Writer, doc *notebook.Document, tr *eval.Trace, o Options) error {
	p := newPage(doc, tr, o)
	end, ok := o.Memory.begin()
	defer end()
	if ok {
		p.memory = o.Memory
	}
	// From the index of symbols on a page rests on the trace alone, not on what was written before, and
	// the trace as JSON on nothing of the page, so that the three can be written at the same time.
	back := p.index.page(doc, o)
	back.memory = p.memory
	endingWritten := beside(back.ending)
	var trace *page
	traceWritten := beside(func() { trace = p.script() })
	top := p.body()
	endingWritten()
	traceWritten()
	a := parts()
	fonts := a.fewFonts(p.emphasis, p.b, back.b)
	size := len(top) + len(p.b) + len(fonts) + len(back.b) + len(trace.b)
	if p.full() || back.full() || size > MaxPage {
		return &LimitError{File: doc.File.Name, Max: MaxPage}
	}
	if room, ok := w.(interface{ Grow(int) }); ok { // a buffer: all at once, not by doubling
		room.Grow(size)
	}
	for _, part := range [...][]byte{top, []byte(fonts), p.b, back.b, trace.b} {
		if _, err := w.Write(part); err != nil {
			return err
		}
	}
	return nil
}

// beside does work at the same time as what follows, until wait is called, where a panic of the work
// goes on.
func beside(work func()) (wait func()) {
	done := make(chan any, 1)
	go func() {
		defer func() { done <- recover() }()
		work()
	}()
	return func() {
		if bug := <-done; bug != nil {
			panic(bug)
		}
	}
}

// full reports a page over its limit. It is asked wherever something of unbounded length begins,
// so that a page ends soon after it has passed the limit.
func (p *page) full() bool {
	p.over = p.over || len(p.b) > MaxPage
	return p.over
}

//go:embed style.css
var styleText string

//go:embed script.js
var scriptText string

//go:embed fonts/*.woff2
var fonts embed.FS

// assets are the parts of the page that are the same for every notebook.
type assets struct {
	style, script, policy string
	// Fonts that few sheets need: for emphasis, for letters with accents, for both at once.
	italic, letters, italicLetters string
}

var parts = sync.OnceValue(func() assets {
	sum := sha256.Sum256([]byte(scriptText))
	const accents = ";unicode-range:U+C0-17F"
	return assets{
		style: face("Math", "sheet-math", "font-weight:400") + face("Text", "sheet-text-regular", "font-weight:400") +
			face("Text", "sheet-text-semibold", "font-weight:600") + face("Sans", "sheet-sans", "font-weight:400") + tight(styleText),
		italic: face("Text", "sheet-text-italic", "font-style:italic"),
		letters: face("Text", "letters-text-regular", "font-weight:400"+accents) +
			face("Text", "letters-text-semibold", "font-weight:600"+accents) + face("Sans", "letters-sans", "font-weight:400"+accents),
		italicLetters: face("Text", "letters-text-italic", "font-style:italic"+accents),
		script:        scriptText,
		// Nothing is fetched, and no script runs but the page's own, whatever a notebook holds.
		policy: "default-src 'none'; img-src data:; font-src data:; style-src 'unsafe-inline'; script-src 'sha256-" +
			base64.StdEncoding.EncodeToString(sum[:]) + "'; base-uri 'none'; form-action 'none'",
	}
})

// tight leaves out of a style sheet what only its authors read.
func tight(style string) string {
	var b strings.Builder
	for {
		at := strings.IndexAny(style, "/\n")
		if at < 0 {
			b.WriteString(style)
			return b.String()
		}
		b.WriteString(style[:at])
		style = style[at:]
		comment := 0
		if strings.HasPrefix(style, "/*") {
			comment = strings.Index(style[2:], "*/") + 4
		}
		switch {
		case style[0] == '\n':
			style = strings.TrimLeft(style, " \t\r\n\f")
		case comment > 3:
			style = style[comment:]
		default:
			b.WriteByte('/')
			style = style[1:]
		}
	}
}

// face embeds one font: a sheet must read the same anywhere, ten years on.
func face(family, file, which string) string {
	font, err := fonts.ReadFile("fonts/" + file + ".woff2")
	if err != nil {
		panic(err) // embedded above
	}
	return fmt.Sprintf("@font-face{font-family:\"Sheet %s\";%s;font-display:block;src:url(data:font/woff2;base64,%s) format(\"woff2\")}\n",
		family, which, base64.StdEncoding.EncodeToString(font))
}

// fewFonts are those of the fonts that few sheets need which the parts of a page do need.
func (a *assets) fewFonts(emphasis bool, parts ...[]byte) string {
	out := ""
	if emphasis {
		out += a.italic
	}
	if slices.ContainsFunc(parts, accents) {
		out += a.letters
		if emphasis {
			out += a.italicLetters
		}
	}
	return out
}

// accents reports letters from À to ſ. Pages are large and have few of them, so that it looks for the bytes
// that such letters begin with, in stretches that stay at hand from one byte to the next.
func accents(page []byte) bool {
	const stretch = 1 << 14
	for start := 0; start < len(page); start += stretch {
		end := min(start+stretch, len(page))
		for _, lead := range [...]byte{0xc3, 0xc4, 0xc5} {
			for at := start; at < end; {
				i := bytes.IndexByte(page[at:end], lead)
				if i < 0 {
					break
				}
				r, n := utf8.DecodeRune(page[at+i:])
				if r >= 0xc0 && r < 0x180 && r != '×' && r != '÷' {
					return true
				}
				at += i + n
			}
		}
	}
	return false
}

// body writes the page as far as the index of symbols. top is what stands before it; the fonts that few
// sheets need belong between.
func (p *page) body() (top []byte) {
	a := parts()
	p.b = make([]byte, 0, len(a.style)+1<<12)
	front := &p.doc.Front
	p.raw("<!DOCTYPE html>\n<html lang=\"", language(front.Language.Text), "\">\n<head>\n<meta charset=\"utf-8\"/>\n",
		"<meta http-equiv=\"Content-Security-Policy\" content=\"", a.policy, "\"/>\n",
		"<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n<title>")
	if front.Number.Text != "" {
		p.text(front.Number.Text)
		if front.Revision.Text != "" {
			p.text(" revision " + front.Revision.Text)
		}
		p.raw(": ")
	}
	p.text(p.title)
	p.raw("</title>\n<style>\n")
	p.raw(a.style)
	top, p.b = p.b, make([]byte, 0, 1<<12+2*len(p.doc.File.Text)+2000*len(p.tr.Entries)) // apart: a memory keeps the second
	p.pageStyle()
	if p.pictures() {
		p.raw(chart.Style)
	}
	p.raw("</style>\n</head>\n<body>\n", icons, `<a class="skip" href="#Content">Skip to the sheet</a>`, "\n")
	p.head()
	p.raw("<main id=\"Content\" tabindex=\"-1\">\n")
	p.content()
	return top
}

// content is the sheet between its head and the index of symbols.
func (p *page) content() {
	p.answersBox()
	p.contents()
	p.secondRoutes()
	p.notebook()
	p.back()
}

// ending writes the rest of what a reader sees.
func (p *page) ending() {
	p.b = make([]byte, 0, 1<<14+900*len(p.tr.Entries))
	p.appendix()
	p.raw("</main>\n")
	p.footer()
}

// script is the end of a page, with the trace and the script that reads it.
func (p *page) script() *page {
	s := p.index.page(p.doc, p.o)
	if p.o.In != nil {
		s = newPage(p.doc, p.o.In.Whole, p.o)
	}
	s.memory, s.inPage = p.memory, true
	s.b = make([]byte, 0, len(scriptText)+2*len(p.doc.File.Text)+1000*len(s.tr.Entries))
	s.raw("<script type=\"application/json\" id=\"Trace\">")
	s.b = s.trace(s.b)
	s.raw("</script>\n<script>", parts().script, "</script>\n</body>\n</html>\n")
	return s
}

// pictures reports a sheet that may hold one.
func (p *page) pictures() bool {
	return len(p.tr.Sheet.Charts)+len(p.tr.Sheet.Cycles) > 0 || p.drawsBars()
}

// language is a language tag, or English where the notebook's is none.
func language(tag string) string {
	subtags := strings.Split(tag, "-")
	for i, s := range subtags {
		if len(s) < 1 || len(s) > 8 || i == 0 && (len(s) < 2 || len(s) > 3) {
			return "en"
		}
		for _, c := range []byte(s) {
			if (c|0x20 < 'a' || c|0x20 > 'z') && (i == 0 || c < '0' || c > '9') {
				return "en"
			}
		}
	}
	return tag
}

// pageStyle writes what stands at the edges of every printed page.
func (p *page) pageStyle() {
	front := &p.doc.Front
	revision := ""
	if front.Revision.Text != "" {
		revision = "revision " + front.Revision.Text
	}
	p.pageRule("", strings.TrimSpace(front.Number.Text+"  "+p.title), revision)
}

// pageRule writes the edges of printed pages: of all, or of those that bear a name.
func (o *buf) pageRule(name, left, right string) {
	if name != "" {
		name = " " + name
	}
	o.raw("@page", name, "{size:A4;margin:19mm 13mm 17mm 15mm;@top-left{content:\"")
	o.cssString(left)
	o.raw("\";font:8pt \"Sheet Sans\",sans-serif}@top-right{content:\"")
	o.cssString(right)
	o.raw("\";font:8pt \"Sheet Sans\",sans-serif}@bottom-left{content:\"Not verified for design use\";font:8pt \"Sheet Sans\",sans-serif}",
		"@bottom-right{content:\"sheet \" counter(page) \" of \" counter(pages);font:8pt \"Sheet Sans\",sans-serif}}\n")
}

// cssString writes text inside a CSS string; all but plain letters, figures and spaces as codes,
// so that it can end neither the string nor the style sheet.
func (o *buf) cssString(s string) {
	const longest = 90 // characters that fit the edge of a page
	n := 0
	for _, r := range s {
		if n++; n > longest {
			o.raw("…")
			return
		}
		switch {
		case r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == ' ':
			o.b = append(o.b, byte(r))
		case hidden(r):
			o.raw(" ")
		default:
			o.raw(`\`, fmt.Sprintf("%x", r), " ")
		}
	}
}

const icons = `<svg class="sprite" aria-hidden="true" width="0" height="0"><defs>
<symbol id="I-ok" viewBox="0 0 16 16"><path d="M2.5 8.8 6.3 12.5 13.5 3.5" fill="none" stroke="currentColor" stroke-width="2"/></symbol>
<symbol id="I-bad" viewBox="0 0 16 16"><path d="M5 1h6l4 4v6l-4 4H5l-4-4V5z" fill="currentColor"/><path d="m5.2 5.2 5.6 5.6m0-5.6-5.6 5.6" stroke="var(--paper)" stroke-width="1.9"/></symbol>
<symbol id="I-warn" viewBox="0 0 16 16"><path d="M8 1.2 15.4 14.5H.6z" fill="none" stroke="currentColor" stroke-width="1.6"/><path d="M8 6v4.4M8 11.6v1.6" stroke="currentColor" stroke-width="1.7"/></symbol>
<symbol id="I-wait" viewBox="0 0 16 16"><circle cx="8" cy="8" r="6.4" fill="none" stroke="currentColor" stroke-width="1.5"/><path d="M4.3 8h1.6M7.2 8h1.6M10.1 8h1.6" stroke="currentColor" stroke-width="1.9"/></symbol>
<symbol id="I-open" viewBox="0 0 16 16"><path d="M8 1.4 14.6 8 8 14.6 1.4 8z" fill="none" stroke="currentColor" stroke-width="1.6"/></symbol>
</defs></svg>
`

// icon writes a shape: ok, bad, warn, wait or open. A word always stands beside it.
func (o *buf) icon(kind string) {
	o.raw(`<svg class="ic`)
	if kind != "ok" {
		o.raw(" ic-", kind)
	}
	o.raw(`" aria-hidden="true"><use href="#I-`, kind, `"/></svg>`)
}
