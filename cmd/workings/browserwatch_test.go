//go:build browser

package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"flag"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// awhile is how long these tests wait for what must happen. Nothing is judged by the time it takes.
const awhile = 30 * time.Second

// live is a folder that is watched, and a tab that shows one of its sheets.
type live struct {
	*opened
	dir   string
	sheet string // the notebook that the tab shows
	url   string
	port  int
	stop  func()
}

// watchIn begins to watch dir, and opens one of its sheets in a tab of its own.
func watchIn(t *testing.T, browser context.Context, dir, sheet string) *live {
	t.Helper()
	l := &live{dir: dir}
	l.start(t)
	t.Cleanup(func() { l.stop() })
	tab, done := chromedp.NewContext(browser)
	t.Cleanup(done)
	l.opened = &opened{t: t, ctx: tab}
	l.silent()
	if sheet != "" {
		l.show(sheet)
	}
	return l
}

// silent fails the test where the page says anything on the console, but that the server is not there.
func (l *live) silent() {
	l.t.Helper()
	l.t.Cleanup(l.notes(func(ev any) string {
		s := spoken(ev)
		if strings.HasPrefix(s, "log ") && (strings.Contains(s, "net::ERR_CONNECTION_REFUSED") || strings.Contains(s, "net::ERR_INCOMPLETE_CHUNKED_ENCODING")) {
			return ""
		}
		return s
	}))
}

// start starts the command, at the port that it had before.
func (l *live) start(t *testing.T) {
	t.Helper()
	w := newWatching(&app{out: io.Discard, err: io.Discard, colour: "never"})
	w.dir = l.dir
	site, server, err := w.start(l.port)
	if err != nil {
		t.Fatal(err)
	}
	l.url = server.URL()
	u, err := url.Parse(l.url)
	if err != nil {
		t.Fatal(err)
	}
	l.port, _ = strconv.Atoi(u.Port())
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- site.Run(ctx) }()
	l.stop = func() {
		cancel()
		if ended == nil {
			return
		}
		if err := <-ended; err != nil {
			t.Error(err)
		}
		ended = nil
		if err := server.Close(); err != nil {
			t.Error(err)
		}
	}
}

// show opens a sheet in the tab, once it has been made.
func (l *live) show(sheet string) {
	l.t.Helper()
	l.sheet = sheet
	at := l.url + strings.TrimSuffix(sheet, ".md") + ".html"
	for late := time.Now().Add(awhile); ; time.Sleep(10 * time.Millisecond) {
		r, err := http.Get(at)
		if err != nil {
			l.t.Fatal(err)
		}
		r.Body.Close()
		if r.StatusCode == http.StatusOK {
			break
		}
		if time.Now().After(late) {
			l.t.Fatalf("%s is not served: %s", at, r.Status)
		}
	}
	l.do(chromedp.Navigate(at))
	l.settles()
}

// write writes a notebook; read reads it.
func (l *live) write(name, text string) {
	l.t.Helper()
	if err := os.WriteFile(filepath.Join(l.dir, name), []byte(text), 0o666); err != nil {
		l.t.Fatal(err)
	}
}

func (l *live) read(name string) string {
	l.t.Helper()
	text, err := os.ReadFile(filepath.Join(l.dir, name))
	if err != nil {
		l.t.Fatal(err)
	}
	return string(text)
}

// replace edits a notebook.
func (l *live) replace(name, old, new string) {
	l.t.Helper()
	text := l.read(name)
	if !strings.Contains(text, old) {
		l.t.Fatalf("%s does not hold %q", name, old)
	}
	l.write(name, strings.Replace(text, old, new, 1))
}

// coldVersion is the version of the page that rendering the folder writes.
func (l *live) coldVersion() string {
	l.t.Helper()
	out := l.t.TempDir()
	var errs bytes.Buffer
	execute([]string{"render", l.dir, "-o", out}, io.Discard, &errs)
	page, err := os.ReadFile(filepath.Join(out, strings.TrimSuffix(l.sheet, ".md")+".html"))
	if err != nil {
		l.t.Fatalf("%v\n%s", err, &errs)
	}
	sum := sha256.Sum256(page)
	return hex.EncodeToString(sum[:12])
}

// waits waits until a condition holds in the page.
func (l *live) waits(what, condition string) {
	l.t.Helper()
	for late := time.Now().Add(awhile); !evaluate[bool](l.opened, condition); time.Sleep(5 * time.Millisecond) {
		if time.Now().After(late) {
			l.t.Fatalf("waited for: %s\n%s", what, evaluate[string](l.opened, `document.getElementById("Live").textContent`))
		}
	}
}

// settles waits until the tab shows the page of a cold rendering of the files, and compares: with marks
// and what the reader did taken away, the page must be what loading it anew gives.
func (l *live) settles() {
	l.t.Helper()
	l.shows(l.coldVersion())
}

// shows waits until the tab shows a version of the page, and compares.
func (l *live) shows(want string) {
	l.t.Helper()
	l.waits("the page of a cold rendering", fmt.Sprintf(`document.querySelector("script[data-page]").textContent === "/*%s*/"`, want))
	if d := evaluate[string](l.opened, difference); d != "" {
		l.t.Errorf("the page is not what loading it anew gives: %s", d)
	}
}

// difference is where the page differs from the same page parsed anew.
const difference = `(async () => {
	const fresh = new DOMParser().parseFromString(await (await fetch(location.pathname)).text(), "text/html").documentElement;
	const bare = root => {
		const e = root.cloneNode(true);
		e.querySelectorAll("[data-live]").forEach(x => x.remove());
		for (const x of [e, ...e.querySelectorAll("*")]) {
			x.classList.remove("js", "lit", "live-moved", "live-old");
			if (x.getAttribute("class") === "") x.removeAttribute("class");
			if (x.matches(".eq,.foot,.fold,math[display]")) x.removeAttribute("tabindex");
			if (x.nodeName === "DETAILS") x.removeAttribute("open");
		}
		e.normalize();
		return e;
	};
	const live = bare(document.documentElement), anew = bare(fresh);
	if (live.isEqualNode(anew)) return "";
	const a = live.outerHTML, b = anew.outerHTML;
	let i = 0;
	while (i < a.length && a[i] === b[i]) i++;
	return "at " + i + " of " + b.length + "\nlive  " + a.slice(Math.max(0, i - 150), i + 250) + "\nfresh " + b.slice(Math.max(0, i - 150), i + 250);
})()`

// demoFolder holds one of the demos.
func demoFolder(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	text, err := os.ReadFile(filepath.Join(demos, "plain-cycle.md"))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "plain-cycle.md"), text, 0o666); err != nil {
		t.Fatal(err)
	}
	return dir
}

// After each of a series of edits the page is what loading it anew gives; small ones are made without
// getting the page anew.
func TestLiveEdits(t *testing.T) {
	l := watchIn(t, startBrowser(t), demoFolder(t), "plain-cycle.md")
	whole := l.read("plain-cycle.md")
	other, err := os.ReadFile(filepath.Join(demos, "planned-set.md"))
	if err != nil {
		t.Fatal(err)
	}
	l.do(chromedp.Evaluate[chromedp.Void](`document.addEventListener("sheetchange", e => { window.how = e.detail.how })`))
	edits := []struct {
		name string
		how  string
		do   func()
	}{
		{"a value", "edit", func() { l.replace("plain-cycle.md", "r_p    = 9 ", "r_p    = 10") }},
		{"a space", "edit", func() { l.replace("plain-cycle.md", "r_p ", "r_p  ") }},
		{"a line more", "edit", func() { l.replace("plain-cycle.md", "w_net = ", "w_more = 2*w_t // twice\nw_net = ") }},
		{"that line gone again", "edit", func() { l.write("plain-cycle.md", whole) }},
		{"a line that cannot be read", "edit", func() { l.replace("plain-cycle.md", "w_net = ", "w_net = = ") }},
		{"repaired", "edit", func() { l.write("plain-cycle.md", whole) }},
		{"a heading more", "edit", func() { l.replace("plain-cycle.md", "\n## ", "\n## Another part\n\nWords, and é.\n\n## ") }},
		{"its title", "edit", func() { l.replace("plain-cycle.md", "title: ", "title: New ") }},
		{"its language", "whole", func() { l.replace("plain-cycle.md", "title: ", "language: de\ntitle: ") }},
		{"all again", "whole", func() { l.write("plain-cycle.md", whole) }},
		{"another notebook in its place", "", func() { l.write("plain-cycle.md", string(other)) }},
		{"nothing in it", "", func() { l.write("plain-cycle.md", "") }},
		{"all again, from nothing", "", func() { l.write("plain-cycle.md", whole) }},
	}
	for _, e := range edits {
		e.do()
		l.settles()
		if how := evaluate[string](l.opened, "window.how"); e.how != "" && how != e.how {
			t.Errorf("%s was shown by %q, want %q", e.name, how, e.how)
		}
		if t.Failed() {
			t.Fatalf("after %s", e.name)
		}
	}
}

// The same after random edits, as an open page sees them: of its notebook, of others, of data.
func TestLiveRandom(t *testing.T) {
	a := newAuthor(t, 3)
	l := watchIn(t, startBrowser(t), a.dir, "s9.md")
	l.do(chromedp.Evaluate[chromedp.Void](`window.how = {}; document.addEventListener("sheetchange", e => { window.how[e.detail.how] = 1 + (window.how[e.detail.how] || 0) })`))
	compared := 0
	for range 150 {
		done := []string{a.edit()}
		for a.r.IntN(2) == 0 {
			done = append(done, a.edit())
		}
		page := a.rendered()["s9.html"]
		if page == nil {
			continue // it says so, and comes back with a later edit
		}
		sum := sha256.Sum256(page)
		l.shows(hex.EncodeToString(sum[:12]))
		if compared++; t.Failed() {
			t.Fatalf("after %q", done)
		}
	}
	if compared < 50 {
		t.Errorf("%d pages were compared only", compared)
	}
	if n := evaluate[int](l.opened, "window.how.edit || 0"); n < 20 {
		t.Errorf("%d changes were made without having the page anew, of %d", n, compared)
	}
}

// Rows whose values moved say from where and how far, until the next change or a click.
func TestLiveMarks(t *testing.T) {
	l := watchIn(t, startBrowser(t), t.TempDir(), "")
	l.write("a.md", "# A\n\n```calc\na = 1.25 kW\nb = 2*a\nc = 3\nd = b/(1 kW) - 2.5\nn = -1.2e-6*a\ncheck b < 2.9 kW\n```\n")
	l.show("a.md")
	notes := func() string {
		return evaluate[string](l.opened, `[...document.querySelectorAll(".live-was")].map(e => e.closest(".row").id + " " + e.innerText.replace(/\s+/g, " ")).join("; ") + " | " +
			[...document.querySelectorAll(".live-moved")].map(e => e.id).join(" ") + " | " + (document.querySelector(".live-news").hidden ? "" : document.querySelector(".live-news").innerText).replace(/\s+/g, " ")`)
	}
	steps := []struct{ old, new, want string }{
		{"a = 1.25", "a = 1.5", "e1 was 1.25 +0.25; e2 was 2.5000 +0.5000; e4 was 0 +0.50000; e5 was −1.5000×10⁻⁶ −0.3000×10⁻⁶; e6 was holds; e6 was 0.400 kW to spare | e1 e2 e4 e5 e6 | 5 rows changed, 1 error show next clear"},
		{"c = 3", "c = 4", "e3 was 3 +1 | e3 | 1 row changed, 1 error show next clear"},
		{"c = 4\n", "c = 4\nx = 5\n", "e4 new | e4 | 1 row changed, 1 error show next clear"},
		{"b = 2*a", "b = 2*a in W", "e2 was 3.0000 kW; e7 was 0.100 kW too far | e2 e7 | 2 rows changed, 1 error show next clear"},
		{"d = b/(1 kW)", "d = b/(1 k)", "e5 was 0.50000 | e5 | 1 row changed, 2 errors show next clear"},
		{"d = b/(1 k)", "d = b/(1 kW)", "e5 had no value | e5 | 1 row changed, 1 error show next clear"},
	}
	for _, s := range steps {
		l.replace("a.md", s.old, s.new)
		l.settles()
		if got := notes(); got != s.want {
			t.Errorf("after %s:\n got %s\nwant %s", s.new, got, s.want)
		}
	}
	l.do(chromedp.Evaluate[chromedp.Void](`document.querySelector(".live-clear").click()`))
	if got := notes(); got != " |  | " {
		t.Errorf("cleared: %s", got)
	}
}

// What the reader has done with the page stays as it was: where he is, what is unfolded, what has the
// focus, what is selected.
func TestLiveKeeps(t *testing.T) {
	l := watchIn(t, startBrowser(t), demoFolder(t), "plain-cycle.md")
	l.do(chromedp.Evaluate[chromedp.Void](`(() => {
		const row = document.getElementById("e17");
		window.scrollTo(0, row.getBoundingClientRect().top - 250);
		window.folded = [...document.querySelectorAll("details:not([open])")];
		window.folded[1].open = true;
		row.querySelector("a").focus({preventScroll: true});
		const words = document.querySelector("h1").firstChild;
		getSelection().setBaseAndExtent(words, 2, words, 9);
		window.row = row;
		window.top17 = row.getBoundingClientRect().top;
	})()`))
	before := evaluate[float64](l.opened, "scrollY")
	kept := func(after, number string) {
		t.Helper()
		l.settles()
		for what, js := range map[string]string{
			"the row is another element":        `document.getElementById("` + number + `") === window.row`,
			"the row stands elsewhere in sight": `Math.abs(window.row.getBoundingClientRect().top - window.top17) < 2`,
			"what was unfolded is folded":       `window.folded[1].isConnected && window.folded[1].open`,
			"what was folded is unfolded":       `window.folded[0].isConnected && !window.folded[0].open`,
			"the focus is elsewhere":            `window.row.contains(document.activeElement)`,
			"what was selected is not":          `getSelection().toString() === document.querySelector("h1").textContent.slice(2, 9)`,
		} {
			if !evaluate[bool](l.opened, js) {
				t.Errorf("after %s: %s", after, what)
			}
		}
	}
	l.replace("plain-cycle.md", "r_p    = 9 ", "r_p    = 10")
	kept("a value", "e17")
	if evaluate[float64](l.opened, "scrollY") == before {
		t.Error("the notes above the row took no room: the test shows nothing")
	}
	l.replace("plain-cycle.md", "\n## Inputs\n", "\nA paragraph more.\n\n## A part more\n\nWords.\n\n## Inputs\n")
	kept("more text above", "e17")
	l.replace("plain-cycle.md", "fluid air ", "more = 1 // a line more\nfluid air ")
	kept("a line more above", "e18")
}

// A line that is broken shows its problem in its place, the others stay; and it can be repaired.
func TestLiveError(t *testing.T) {
	l := watchIn(t, startBrowser(t), demoFolder(t), "plain-cycle.md")
	l.replace("plain-cycle.md", "bwr = w_c/w_t in %", "bwr = w_c/w_q in %")
	l.settles()
	for what, js := range map[string]string{
		"the problem is not in its place":      `/No symbol is called w_q/.test(document.querySelector("#e18.hot").textContent)`,
		"the line before has lost its value":   `document.querySelector("#e17 .res b").textContent.length >= 5`,
		"the line behind has lost its value":   `document.querySelector("#e19 .res b").textContent.length >= 5`,
		"the error is not counted":             `/1 error/.test(document.querySelector(".live-news").textContent)`,
		"the row does not say that it had one": `/^was \d/.test(document.querySelector("#e18 .live-was").textContent)`,
		"the list of problems is not there":    `document.querySelectorAll("#Problems .bad").length === 1`,
		"what waits for it does not say so":    `document.querySelector("#e23 .v-wait") !== null`,
	} {
		if !evaluate[bool](l.opened, js) {
			t.Error(what)
		}
	}
	l.replace("plain-cycle.md", "bwr = w_c/w_q in %", "bwr = w_c/w_t in %")
	l.settles()
	if evaluate[bool](l.opened, `document.querySelector(".hot, #Problems") !== null`) {
		t.Error("the problem stays when the line is repaired")
	}
}

// After a time in which the machine slept, or the page had no time to look, nothing is taken for silence
// of the server.
func TestLiveSleep(t *testing.T) {
	l := watchIn(t, startBrowser(t), demoFolder(t), "plain-cycle.md")
	said := evaluate[string](l.opened, `new Promise(done => {
		const banner = document.querySelector(".live-lost"), said = [], now = Date.now;
		new MutationObserver(() => said.push(banner.textContent)).observe(banner, {childList: true, characterData: true, subtree: true});
		Date.now = () => now() + 60000;
		setTimeout(() => done(said.join("; ")), 2500);
	})`)
	if said != "" {
		t.Errorf("the page said: %s", said)
	}
	l.replace("plain-cycle.md", "r_p    = 9 ", "r_p    = 10")
	l.settles()
}

// A page says that the server is gone, comes back by itself, and has then what it missed.
func TestLiveLost(t *testing.T) {
	l := watchIn(t, startBrowser(t), demoFolder(t), "plain-cycle.md")
	said := `document.querySelector(".live-lost[role=status]").textContent`
	l.stop()
	l.waits("the banner", said+` !== "" && document.querySelector(".live-lost").checkVisibility()`)
	l.replace("plain-cycle.md", "r_p    = 9 ", "r_p    = 10")
	l.start(t)
	l.settles()
	l.waits("the banner to go", said+` === "" && !document.querySelector(".live-lost").checkVisibility()`)
	l.replace("plain-cycle.md", "r_p    = 10", "r_p    = 11")
	l.settles()
	// Back with nothing missed, it says that it is current.
	l.stop()
	l.waits("the banner again", said+` !== ""`)
	l.start(t)
	l.waits("the banner to go again", said+` === ""`)
}

// A page that nobody sees does not listen, and has what it missed when it is seen again; so has one that
// is loaded again.
func TestLiveHidden(t *testing.T) {
	l := watchIn(t, startBrowser(t), demoFolder(t), "plain-cycle.md")
	seen := func(hidden bool) {
		l.do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`Object.defineProperty(document, "hidden", {value: %v, configurable: true}); document.dispatchEvent(new Event("visibilitychange"))`, hidden)))
	}
	seen(true)
	before := evaluate[string](l.opened, `document.querySelector("script[data-page]").textContent`)
	l.replace("plain-cycle.md", "r_p    = 9 ", "r_p    = 10")
	l.coldVersion() // which takes as long as the watch
	if now := evaluate[string](l.opened, `document.querySelector("script[data-page]").textContent`); now != before {
		t.Error("a hidden page listens")
	}
	seen(false)
	l.settles()
	l.waits("the mark of what was missed", `/was 9/.test(document.querySelector("#e3 .live-was").textContent)`)
	l.do(chromedp.Reload())
	l.settles()
	if evaluate[bool](l.opened, `document.querySelector(".live-was") !== null`) {
		t.Error("marks outlive a page")
	}
	l.replace("plain-cycle.md", "r_p    = 10", "r_p    = 11")
	l.settles()
}

// A new notebook comes into the list; one that goes says so on its page, and goes on when it is back.
func TestLiveComeAndGo(t *testing.T) {
	browser := startBrowser(t)
	l := watchIn(t, browser, demoFolder(t), "plain-cycle.md")
	tab, done := chromedp.NewContext(browser)
	defer done()
	list := &live{opened: &opened{t: t, ctx: tab}, dir: l.dir}
	list.do(chromedp.Navigate(l.url))
	has := func(name string) string { return `document.querySelector("a[href$='` + name + `.html']") !== null` }
	list.waits("the list", has("plain-cycle"))
	l.write("newcomer.md", "# Newcomer\n\n```calc\nx = 1\n```\n")
	list.waits("the new one", has("newcomer"))
	text := l.read("plain-cycle.md")
	if err := os.Rename(filepath.Join(l.dir, "plain-cycle.md"), filepath.Join(l.dir, "renamed.md")); err != nil {
		t.Fatal(err)
	}
	list.waits("the list without it", "!("+has("plain-cycle")+") && "+has("renamed"))
	l.waits("the page to say so", `/its notebook is gone/.test(document.querySelector(".live-lost").textContent)`)
	l.write("plain-cycle.md", strings.Replace(text, "r_p    = 9 ", "r_p    = 10", 1))
	l.settles()
	l.waits("the page to be current", `document.querySelector(".live-lost").textContent === ""`)
	list.waits("the list with it", has("plain-cycle"))
}

// axe finds nothing on a page with marks, nor on one with the banner.
func TestLiveAccessible(t *testing.T) {
	l := watchIn(t, startBrowser(t), demoFolder(t), "plain-cycle.md")
	axe := theAxe(t)
	l.replace("plain-cycle.md", "r_p    = 9 ", "r_p    = 10")
	l.replace("plain-cycle.md", "bwr = w_c/w_t in %", "bwr = w_c/w_q in %")
	l.settles()
	l.waits("marks", `document.querySelector(".live-was") !== null`)
	l.accessible(axe)
	l.narrow()
	l.stop()
	l.waits("the banner", `document.querySelector(".live-lost").textContent !== ""`)
	l.accessible(axe)
	l.narrow()
}

// longNotebook has so many calculation lines, each with a value that follows from one before.
func longNotebook(lines int) string {
	var b strings.Builder
	b.WriteString("---\ntitle: A long sheet\n---\n\n```inputs\nT_a = 300 K // inlet temperature\np_a = 100 kPa // inlet pressure\nr_s = 1.02 // ratio of a stage\neta_s = 0.9 // efficiency\n```\n\n" +
		"```calc\nfluid air\np_0 = p_a\nstate 0 = air(p_0, T = T_a)\n")
	for i := 1; i <= lines/5; i++ {
		if i%4 == 1 {
			fmt.Fprintf(&b, "```\n\n## Section %d\n\nStage %d takes in air at {p_%d} and {T_%d in °C}.\n\n```calc\n", i, i, i-1, i-1)
		}
		from := i - 1
		if i%100 == 0 {
			from = 0 // back to ambient, so that pressures stay within use
		}
		fmt.Fprintf(&b, "p_%d = p_%d*r_s // pressure after stage %d\nstate %ds = air(p = p_%d, s = s_%d) // isentropic outlet\nh_%d = h_%d + (h_%ds - h_%d)/eta_s\n"+
			"state %d = air(p_%d, h_%d) // outlet of stage %d\nw_%d = h_%d - h_%d in kJ/kg // work of stage %d\n", i, from, i, i, i, from, i, from, i, from, i, i, i, i, i, i, from, i)
	}
	return b.String() + "```\n"
}

// liveEdits is how many edits of each kind are timed; a few show that they arrive at all.
var liveEdits = flag.Int("edits", 8, "time so many edits of each kind in TestLiveTime")

// How long it takes from the writing of a file of 1,000 lines until the page has changed: -v prints it.
func TestLiveTime(t *testing.T) {
	dir := t.TempDir()
	text := longNotebook(1000)
	if err := os.WriteFile(filepath.Join(dir, "long.md"), []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	l := watchIn(t, startBrowser(t), dir, "long.md")
	for _, edit := range []struct{ name, line string }{
		{"a line near the end", "w_199 = h_199 - h_198 in kJ/kg"},
		{"a line in the middle, on which half of the rest depends", "h_150 = h_149 + (h_150s - h_149)/eta_s"},
		{"a line in front, on which 500 depend", "h_1 = h_0 + (h_1s - h_0)/eta_s"},
	} {
		var times []time.Duration
		var slowest, writing time.Duration // how long the slowest took, and how long to write its file
		for i := range *liveEdits {
			changed := strings.Replace(text, edit.line, fmt.Sprintf("%s + 0.%03d kJ/kg", strings.Replace(edit.line, " in kJ/kg", "", 1), i+1), 1)
			if changed == text {
				t.Fatalf("there is no line %q", edit.line)
			}
			l.do(chromedp.Evaluate[chromedp.Void](`window.next = new Promise(r => document.addEventListener("sheetchange", e => r(e.detail.changed), {once: true}))`))
			time.Sleep(50 * time.Millisecond) // in which the page lays out what it has
			began := time.Now()
			l.write("long.md", changed)
			wrote := time.Since(began)
			at := evaluate[float64](l.opened, "window.next")
			took := time.Duration((at - float64(began.UnixMicro())/1000) * float64(time.Millisecond))
			if times = append(times, took); took > slowest {
				slowest, writing = took, wrote
			}
		}
		slices.Sort(times)
		t.Logf("%s: from the file to the page %v, 99 %% within %v, of %d; the slowest %v, of which %v to write the file", edit.name, times[len(times)/2].Round(100*time.Microsecond), times[len(times)*99/100].Round(100*time.Microsecond), len(times),
			slowest.Round(100*time.Microsecond), writing.Round(100*time.Microsecond))
	}
	l.settles()
}
