//go:build browser

package main

import (
	"bytes"
	"context"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// The tests of this file open sheets in Chromium, print them, and give them to a validator. They
// need chromium, pdftotext, java and the jar of vnu, which .ci/run installs: see DEVELOPERS.md.

// tool is a program that these tests cannot do without.
func tool(t *testing.T, name, install string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		t.Fatalf("%s is not installed: %s, or run .ci/run", name, install)
	}
	return path
}

// rendered are the pages of all demos, by name.
func rendered(t *testing.T) (dir string, pages []string) {
	t.Helper()
	return renderedOf(t, notebooksIn(t, demos)...)
}

func notebooksIn(t *testing.T, dir string) []string {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(dir, "*.md"))
	if err != nil || len(names) < 5 {
		t.Fatalf("%d notebooks, %v", len(names), err)
	}
	return names
}

func renderedOf(t *testing.T, args ...string) (dir string, pages []string) {
	t.Helper()
	dir = t.TempDir()
	var out, errs bytes.Buffer
	if code := execute(slices.Concat([]string{"render"}, args, []string{"-o", dir}), &out, &errs); code != 0 {
		t.Fatalf("exit %d\n%s", code, &errs)
	}
	pages, err := filepath.Glob(filepath.Join(dir, "*.html"))
	if err != nil || len(pages) < 5 {
		t.Fatalf("%d pages, %v", len(pages), err)
	}
	return dir, pages
}

// packageDemo is a folder of sheets that use each other.
var packageDemo = filepath.Join(demos, "holm-skerry")

// ofPackage reports a page on a package as a whole.
func ofPackage(page string) bool { return name(page) == "index" || name(page) == "combined" }

func name(page string) string { return strings.TrimSuffix(filepath.Base(page), ".html") }

func address(page string) string { return (&url.URL{Scheme: "file", Path: page}).String() }

// startBrowser starts Chromium; each test opens tabs of its own in it.
func startBrowser(t *testing.T) (browser context.Context) {
	t.Helper()
	chromium, err := findBrowser()
	if err != nil {
		t.Fatalf("%v: apt-get install chromium fonts-liberation, or run .ci/run", err)
	}
	options := []chromedp.ExecAllocatorOption{chromedp.ExecPath(chromium), chromedp.Headless, chromedp.DisableGPU, chromedp.NoFirstRun,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-sync", true), chromedp.Flag("disable-dev-shm-usage", true), chromedp.WindowSize(1280, 900)}
	if os.Geteuid() == 0 {
		options = append(options, chromedp.NoSandbox)
	}
	allocator, stop := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(stop)
	browser, closed := chromedp.NewContext(allocator)
	t.Cleanup(closed)
	if err := chromedp.Do(browser, chromedp.Navigate("about:blank")); err != nil {
		t.Fatal(err)
	}
	return browser
}

// theAxe is what looks for violations.
func theAxe(t *testing.T) string {
	t.Helper()
	axe, err := os.ReadFile("../../testdata/axe/axe.min.js")
	if err != nil {
		t.Fatal(err)
	}
	return string(axe)
}

// TestPages opens every demo in one browser.
func TestPages(t *testing.T) {
	browser, axe := startBrowser(t), theAxe(t)
	_, pages := rendered(t)
	_, linked := renderedOf(t, packageDemo)
	pages = append(pages, linked...)
	t.Run("pages", func(t *testing.T) { // which ends when all of them have
		for _, page := range pages {
			t.Run(name(page), func(t *testing.T) {
				t.Parallel()
				tab, done := chromedp.NewContext(browser)
				defer done()
				p := &opened{t: t, ctx: tab}
				p.open(page)
				if name(page) == unfolded {
					p.do(chromedp.Evaluate[chromedp.Void](openAll))
				}
				p.accessible(axe)
				p.keyboard()
				p.do(chromedp.Evaluate[chromedp.Void](openAll))
				p.narrow()
			})
		}
	})
}

// unfolded is the demo that axe and the keyboard go through with all that is folded open; the others
// have more of the same, and take long.
const unfolded = "plain-cycle"

// opened is a page in a tab.
type opened struct {
	t   *testing.T
	ctx context.Context
}

func evaluate[T any](p *opened, js string) T {
	p.t.Helper()
	v, err := chromedp.Run(p.ctx, chromedp.Evaluate[T](js, chromedp.EvalAwaitPromise))
	if err != nil {
		p.t.Fatalf("%v\n%s", err, js[:min(len(js), 300)])
	}
	return v
}

func (p *opened) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	if err := chromedp.Do(p.ctx, steps...); err != nil {
		p.t.Fatal(err)
	}
}

// open loads a page: nothing is said on the console, nothing is asked of anyone else, and all of it
// is there once it is loaded.
func (p *opened) open(page string) {
	p.t.Helper()
	report := p.notes(func(ev any) string {
		if ev, ok := ev.(*network.EventRequestWillBeSent); ok {
			if u := ev.Request.URL; u != address(page) && !strings.HasPrefix(u, "data:") {
				return "request " + u
			}
		}
		return spoken(ev)
	})
	if _, err := chromedp.Call(p.ctx, network.Enable, network.EnableParams{}); err != nil {
		p.t.Fatal(err)
	}
	p.do(chromedp.Navigate(address(page)))
	if state := evaluate[string](p, "document.readyState"); state != "complete" {
		p.t.Errorf("the page is %s when it has loaded", state)
	}
	// Following a link of the trail and hovering is all that the script does.
	p.do(chromedp.Evaluate[chromedp.Void](`document.querySelectorAll("a[href^='#']")[2]?.click()`))
	if !ofPackage(page) && evaluate[int](p, `JSON.parse(document.getElementById("Trace").textContent).lines.length`) == 0 {
		p.t.Error("the trace in the page has no lines")
	}
	if n := evaluate[int](p, `performance.getEntriesByType("resource").filter(r => !r.name.startsWith("data:")).length`); n > 0 {
		p.t.Errorf("the page loaded %d resources", n)
	}
	report()
}

// spoken is what an event says on the console, or nothing.
func spoken(ev any) string {
	switch ev := ev.(type) {
	case *runtime.EventConsoleAPICalled:
		text := fmt.Sprintf("console %s", ev.Type)
		for _, a := range ev.Args {
			text += fmt.Sprintf(" %s%s", a.Value, a.Description)
		}
		return text
	case *runtime.EventExceptionThrown:
		return "exception " + ev.ExceptionDetails.Text
	case *log.EventEntryAdded:
		return "log " + ev.Entry.Text
	}
	return ""
}

// notes keeps what words find in events; report fails the test for each.
func (p *opened) notes(words func(ev any) string) (report func()) {
	p.t.Helper()
	var mu sync.Mutex
	var said []string
	err := chromedp.Listen(p.ctx, func(ev any) {
		if s := words(ev); s != "" {
			mu.Lock()
			defer mu.Unlock()
			said = append(said, s)
		}
	})
	if err != nil {
		p.t.Fatal(err)
	}
	return func() {
		p.t.Helper()
		mu.Lock()
		defer mu.Unlock()
		for _, s := range said {
			p.t.Error(s)
		}
		said = nil
	}
}

// narrow looks at the page as a telephone shows it.
func (p *opened) narrow() {
	p.t.Helper()
	for _, width := range []int64{390, 500} {
		p.do(chromedp.EmulateViewport(width, 844, chromedp.EmulateScale(2), chromedp.EmulateMobile))
		if over := evaluate[int](p, "document.scrollingElement.scrollWidth - window.innerWidth"); over > 0 {
			p.t.Errorf("at %d px the page is %d px too wide: %s", width, over, evaluate[string](p, widest))
		}
	}
	p.do(chromedp.ResetViewport())
}

// widest names the elements that stick out of the page.
const widest = `(() => {
	const out = [];
	for (const e of document.body.querySelectorAll("*")) {
		if (e.getBoundingClientRect().right > window.innerWidth + 1 && !e.closest(".scroll, pre, svg, math"))
			out.push(e.tagName.toLowerCase() + "." + e.className);
	}
	return [...new Set(out)].slice(0, 8).join(" ");
})()`

const openAll = `document.querySelectorAll("details").forEach(d => { d.open = true })`

// accessible has axe look for violations, in light and dark.
func (p *opened) accessible(axe string) {
	p.t.Helper()
	p.do(chromedp.Evaluate[chromedp.Void](axe + ";0"))
	for _, scheme := range []string{"light", "dark"} {
		_, err := chromedp.Call(p.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
		if err != nil {
			p.t.Fatal(err)
		}
		// What is the same in both schemes is looked at once.
		rules, least := "{}", 15
		if scheme == "dark" {
			rules, least = `{runOnly: ["color-contrast", "link-in-text-block"]}`, 1
		}
		found := evaluate[struct {
			Passes     int
			Violations []string
		}](p, `axe.run(`+rules+`).then(r => ({Passes: r.passes.length, Violations: r.violations.map(v => {
			const n = v.nodes[0], up = document.querySelector(n.target[0])?.parentElement;
			return v.id + " (" + v.impact + "): " + v.help + "; " + v.nodes.length + " times, first " + n.html.slice(0, 200) +
				" in " + (up ? up.outerHTML.slice(0, 300) : "") + " " + (n.failureSummary || "").slice(0, 300);
		})}))`)
		if found.Passes < least {
			p.t.Errorf("%s: axe looked at %d rules only", scheme, found.Passes)
		}
		for _, v := range found.Violations {
			p.t.Errorf("%s: %s", scheme, v)
		}
	}
}

// keyboard goes through the page with Tab alone, until it has been everywhere.
func (p *opened) keyboard() {
	p.t.Helper()
	links := evaluate[int](p, `(() => {
		window.reached = new Set();
		document.addEventListener("focusin", e => window.reached.add(e.target));
		window.wanted = [...document.querySelectorAll("a[href]")].filter(a => a.checkVisibility());
		document.activeElement?.blur();
		window.scrollTo(0, 0);
		return window.wanted.length;
	})()`)
	if links < 20 {
		p.t.Errorf("the page has %d links only", links)
	}
	missed := links
	for turns := 0; missed > 0 && turns < 12; turns++ {
		p.tabs(links/4 + 25)
		missed = evaluate[int](p, "window.wanted.filter(a => !window.reached.has(a)).length")
	}
	if missed > 0 {
		p.t.Errorf("Tab does not reach %d of %d links, such as %s", missed, links, evaluate[string](p, "window.wanted.find(a => !window.reached.has(a)).outerHTML"))
	}
}

// tabs presses Tab so often. Which press comes first does not matter, so that they need not wait for
// one another.
func (p *opened) tabs(n int) {
	p.t.Helper()
	var all sync.WaitGroup
	errs := make(chan error, n)
	for range 8 {
		all.Go(func() {
			for range n/8 + 1 {
				_, err := chromedp.Call(p.ctx, input.DispatchKeyEvent, input.DispatchKeyEventParams{Type: input.DispatchKeyEventTypeRawKeyDown, Key: "Tab", Code: "Tab", WindowsVirtualKeyCode: 9})
				errs <- err
			}
		})
	}
	go func() { all.Wait(); close(errs) }()
	for err := range errs {
		if err != nil {
			p.t.Error(err)
		}
	}
}

// The sheet of the two-stage demo stays a light page.
func TestPageSize(t *testing.T) {
	dir, _ := rendered(t)
	info, err := os.Stat(filepath.Join(dir, "reheated-plant.html"))
	if err != nil {
		t.Fatal(err)
	}
	if info.Size() >= 400_000 {
		t.Errorf("%d bytes", info.Size())
	}
}

var sheetOf = regexp.MustCompile(`sheet\s+(\d+)\s+of\s+(\d+)`)

// What is printed says on every page which sheet of how many it is, its text can be selected, and it
// is tagged and carries no time.
func TestPrinted(t *testing.T) {
	pdftotext := tool(t, "pdftotext", "apt-get install poppler-utils")
	if _, err := findBrowser(); err != nil {
		t.Fatalf("%v: apt-get install chromium fonts-liberation, or run .ci/run", err)
	}
	dir := t.TempDir()
	var out, errs bytes.Buffer
	for _, notebooks := range [][]string{notebooksIn(t, demos), {packageDemo}} {
		if code := execute(slices.Concat([]string{"render", "--pdf", "-o", filepath.Join(dir, "1")}, notebooks), &out, &errs); code != 0 {
			t.Fatalf("exit %d\n%s", code, &errs)
		}
	}
	for _, again := range []string{"planned-set", "plain-cycle"} {
		if code := execute([]string{"render", filepath.Join(demos, again+".md"), "--pdf", "-o", filepath.Join(dir, "2")}, &out, &errs); code != 0 {
			t.Fatalf("exit %d\n%s", code, &errs)
		}
	}
	first, _ := filepath.Glob(filepath.Join(dir, "1", "*.pdf"))
	if len(first) < 5 {
		t.Fatalf("%d files", len(first))
	}
	for _, pdf := range first {
		t.Run(filepath.Base(pdf), func(t *testing.T) {
			b, err := os.ReadFile(pdf)
			if err != nil {
				t.Fatal(err)
			}
			if b2, err := os.ReadFile(filepath.Join(dir, "2", filepath.Base(pdf))); err == nil && !bytes.Equal(b, b2) {
				t.Error("printed twice it is not the same file")
			}
			for _, want := range []string{"/MarkInfo <</Type /MarkInfo\n/Marked true>>", "/StructTreeRoot"} {
				if !bytes.Contains(b, []byte(want)) {
					t.Errorf("the file is not tagged: no %s", want)
				}
			}
			if bytes.Contains(b, []byte("CreationDate")) || bytes.Contains(b, []byte("file://")) {
				t.Error("the file carries a time or a folder of this machine")
			}
			text, err := exec.Command(pdftotext, "-layout", pdf, "-").Output()
			if err != nil {
				t.Fatal(err)
			}
			sheets := strings.Split(strings.TrimSuffix(string(text), "\f"), "\f")
			for n, s := range sheets {
				m := sheetOf.FindStringSubmatch(s)
				if m == nil || m[1] != strconv.Itoa(n+1) || m[2] != strconv.Itoa(len(sheets)) {
					t.Errorf("sheet %d of %d says %q", n+1, len(sheets), m)
				}
				if !strings.Contains(s, "Not verified for design use") {
					t.Errorf("sheet %d does not say that it is not verified", n+1)
				}
			}
			if len(sheets) < 2 || len(sheets) > 60 {
				t.Errorf("%d sheets", len(sheets))
			}
			words := strings.Fields(string(text))
			for _, want := range []string{"entry", "Sources"} {
				if !slices.ContainsFunc(words, func(w string) bool { return strings.EqualFold(w, want) }) {
					t.Errorf("the text of the file does not hold %s", want)
				}
			}
		})
	}
}

// The document that holds all sheets of a package has one run of sheet numbers, running heads of each
// sheet's own, bookmarks, and a register that names the printed sheet at which each begins.
func TestPackagePrinted(t *testing.T) {
	pdftotext := tool(t, "pdftotext", "apt-get install poppler-utils")
	dir, _ := renderedOf(t, packageDemo, "--pdf")
	pdf := filepath.Join(dir, "combined.pdf")
	b, err := os.ReadFile(pdf)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"/Outlines", "/Title (Set GT-4 at part load)"} {
		if !bytes.Contains(b, []byte(want)) {
			t.Errorf("no bookmarks: %s is missing", want)
		}
	}
	text, err := exec.Command(pdftotext, "-layout", pdf, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	sheets := strings.Split(strings.TrimSuffix(string(text), "\f"), "\f")
	row := regexp.MustCompile(`(?m)^\W*(\d+)\W+(HS-\d+)\W+([A-Z])\b`)
	rows := row.FindAllStringSubmatch(sheets[0], -1)
	if len(rows) != 5 {
		t.Fatalf("the register has %d rows\n%s", len(rows), sheets[0])
	}
	for _, m := range rows {
		n, _ := strconv.Atoi(m[1])
		if n < 2 || n > len(sheets) {
			t.Errorf("%s is said to begin at sheet %s of %d", m[2], m[1], len(sheets))
			continue
		}
		head := func(n int) string { line, _, _ := strings.Cut(sheets[n-1], "\n"); return line }
		if !strings.Contains(head(n), m[2]+" ") || !strings.Contains(head(n), "revision "+m[3]) || strings.Contains(head(n-1), m[2]+" ") {
			t.Errorf("%s revision %s does not begin at sheet %d: %q after %q", m[2], m[3], n, head(n), head(n-1))
		}
	}
}

// vnuVariable names the jar of the validator where .ci/run has not put it.
const vnuVariable = "WORKINGS_VNU"

// unknownToVnu are values of CSS that browsers know and the checker does not yet: of MathML Core (the
// slant of a single letter), and the order of painting from SVG 2.
const unknownToVnu = `.*(math-auto|paint-order).*`

// The pages are valid HTML, says the Nu Html Checker.
func TestValid(t *testing.T) {
	java := tool(t, "java", "apt-get install default-jre-headless")
	jar := os.Getenv(vnuVariable)
	if jar == "" {
		cache, err := os.UserCacheDir()
		if err != nil {
			t.Fatal(err)
		}
		jar = filepath.Join(cache, "workings", "vnu.jar")
	}
	if _, err := os.Stat(jar); err != nil {
		t.Fatalf("the validator is not at %s: run .ci/run, or take vnu.jar out of `npm pack vnu-jar@26.9.27` and name it in %s", jar, vnuVariable)
	}
	_, pages := rendered(t)
	_, linked := renderedOf(t, packageDemo)
	pages = append(pages, linked...)
	for _, p := range pages { // a missing file would pass for valid
		if info, err := os.Stat(p); err != nil || info.Size() == 0 {
			t.Fatalf("%s: %v", p, err)
		}
	}
	said, err := exec.Command(java, append([]string{"-Xss8m", "-jar", jar, "--errors-only", "--stdout", "--format", "gnu", "--filterpattern", unknownToVnu}, pages...)...).CombinedOutput()
	lines := strings.Split(strings.TrimSpace(string(said)), "\n")
	if err != nil || len(said) > 0 {
		t.Errorf("%v; %d findings, the first:\n%s", err, len(lines), strings.Join(lines[:min(len(lines), 12)], "\n"))
	}
}
