package main

import (
	"context"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"syscall"
	"time"

	"workings/runner"
)

// browserVariable names the program that prints to PDF, where it is not on the PATH or another is
// wanted.
const browserVariable = "WORKINGS_BROWSER"

// printTime bounds the printing of one sheet.
const printTime = 2 * time.Minute

// findBrowser is the Chromium that prints to PDF.
func findBrowser() (string, error) {
	names := []string{"chromium", "chromium-browser", "google-chrome", "chrome"}
	own := os.Getenv(browserVariable)
	if own != "" {
		names = []string{own}
	}
	for _, name := range names {
		if path, err := exec.LookPath(name); err == nil {
			return path, nil
		}
	}
	if own != "" {
		return "", &hinted{fmt.Sprintf("--pdf: %s names %s, and there is no such program", browserVariable, own), "the sheets were written as HTML; a browser prints those to PDF as well"}
	}
	return "", &hinted{"--pdf needs Chromium, and none of " + strings.Join(names, ", ") + " is on the PATH",
		"install it, or name the program in " + browserVariable + "; the sheets were written as HTML, which any browser prints"}
}

// printPDF prints a page with a browser that has a profile of its own and no network. The paper and
// what stands at its edges come from the page.
func printPDF(ctx context.Context, browser string, page []byte) ([]byte, error) {
	dir, err := os.MkdirTemp("", "workings-pdf-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	html, pdf := filepath.Join(dir, "sheet.html"), filepath.Join(dir, "sheet.pdf")
	if err := os.WriteFile(html, unlinked(page), 0o600); err != nil {
		return nil, err
	}
	ctx, cancel := context.WithTimeout(ctx, printTime)
	defer cancel()
	args := []string{"--headless", "--disable-gpu", "--disable-quic", "--no-first-run", "--no-default-browser-check", "--disable-extensions",
		"--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
		"--host-resolver-rules=MAP * ~NOTFOUND", "--proxy-server=127.0.0.1:9",
		"--user-data-dir=" + filepath.Join(dir, "profile"), "--no-pdf-header-footer", "--export-tagged-pdf", "--generate-pdf-document-outline", "--print-to-pdf=" + pdf}
	if os.Geteuid() == 0 {
		args = append(args, "--no-sandbox") // Chromium does not start as root with it
	}
	cmd := exec.CommandContext(ctx, browser, append(args, (&url.URL{Scheme: "file", Path: filepath.ToSlash(html)}).String())...)
	// The browser starts processes of its own, which end with it.
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	cmd.Cancel = func() error { return syscall.Kill(-cmd.Process.Pid, syscall.SIGKILL) }
	cmd.WaitDelay = 5 * time.Second
	said, err := cmd.CombinedOutput()
	switch ctx.Err() {
	case context.Canceled:
		return nil, errInterrupted
	case context.DeadlineExceeded:
		return nil, fmt.Errorf("%s did not end within %v", filepath.Base(browser), printTime)
	}
	out, readErr := os.ReadFile(pdf)
	if err != nil || readErr != nil || !strings.HasPrefix(string(out[:min(len(out), 5)]), "%PDF-") {
		return nil, &hinted{filepath.Base(browser) + " did not print it", lastLine(said)}
	}
	return settled(undated(out)), nil
}

// unlinked is a page for paper: a link to a file beside the notebook would otherwise be printed with
// the folder that the page is printed from.
func unlinked(page []byte) []byte {
	return relativeLink.ReplaceAllFunc(page, func(tag []byte) []byte {
		dest := strings.ToLower(string(relativeLink.FindSubmatch(tag)[1]))
		for _, whole := range []string{"#", "http:", "https:", "mailto:"} {
			if strings.HasPrefix(dest, whole) {
				return tag
			}
		}
		return []byte("<a")
	})
}

// relativeLink is the start of a link as the sheet writes it; in text a < is escaped.
var relativeLink = regexp.MustCompile(`<a href="([^"]*)"`)

// undated blanks the time of printing out of a PDF, so that the same sheet gives the same bytes.
// Nothing moves, since every object is found by its place in the file.
func undated(pdf []byte) []byte {
	return printed.ReplaceAllFunc(pdf, func(b []byte) []byte { return []byte(strings.Repeat(" ", len(b))) })
}

var printed = regexp.MustCompile(`/(CreationDate|ModDate) \(D:[0-9+'Z-]*\)`)

// settled numbers the elements of a tagged PDF in the order in which they stand. Chromium's own
// numbers, by which the cells of a table name their heads, depend on what it happened to look at
// first. They stand in one table of names, in rising order; a file that is not so is left as it is.
func settled(pdf []byte) []byte {
	tables := elementNames.FindAllSubmatchIndex(pdf, -1)
	if len(tables) != 1 {
		return pdf
	}
	number := map[string]int{}
	for _, m := range elementID.FindAllSubmatch(pdf, -1) {
		if _, known := number[string(m[1])]; !known {
			number[string(m[1])] = len(number) + 1
		}
	}
	for _, m := range elementRef.FindAllSubmatch(pdf, -1) {
		if _, known := number[string(m[1])]; !known {
			return pdf
		}
	}
	out := elementRef.ReplaceAllFunc(pdf, func(b []byte) []byte {
		return fmt.Appendf(nil, "(node%08d)", number[string(elementRef.FindSubmatch(b)[1])])
	})
	// The table keeps its length: only the order of its entries changes.
	at := tables[0]
	names := nameEntry.FindAllString(string(out[at[4]:at[5]]), -1)
	slices.Sort(names)
	if len(names) == 0 || len(strings.Join(names, " ")) != at[5]-at[4] {
		return pdf
	}
	copy(out[at[4]:], strings.Join(names, " "))
	const length = len("(node00000000)")
	copy(out[at[2]:at[3]], names[0][:length]+" "+names[len(names)-1][:length])
	return out
}

var (
	elementNames = regexp.MustCompile(`/Limits \[(\(node\d{8}\) \(node\d{8}\))\]\s/Names \[((?:\(node\d{8}\) \d+ 0 R ?)+)\]`)
	elementID    = regexp.MustCompile(`/ID \(node(\d{8})\)`)
	elementRef   = regexp.MustCompile(`\(node(\d{8})\)`)
	nameEntry    = regexp.MustCompile(`\(node\d{8}\) \d+ 0 R`)
)

// sheetBegins finds the pages, from 1, on which n sheets of a printed package begin: its named
// destinations lead to page objects, and the tree of pages has those in their order. Nil where the
// file is not as Chromium writes it.
func sheetBegins(pdf []byte, n int) []int {
	kids := map[string][]string{} // of the nodes of the tree of pages
	child := map[string]bool{}
	for _, m := range pageNode.FindAllSubmatch(pdf, -1) {
		for _, k := range objectRef.FindAllSubmatch(m[2], -1) {
			kids[string(m[1])] = append(kids[string(m[1])], string(k[1]))
			child[string(k[1])] = true
		}
	}
	page := map[string]int{}
	var walk func(node string, depth int)
	walk = func(node string, depth int) {
		if depth > 64 {
			return // no tree of pages is so deep
		}
		if below, inner := kids[node]; inner {
			for _, k := range below {
				walk(k, depth+1)
			}
			return
		}
		page[node] = len(page) + 1
	}
	for _, m := range pageNode.FindAllSubmatch(pdf, -1) {
		if !child[string(m[1])] {
			walk(string(m[1]), 0)
		}
	}
	out := make([]int, n)
	for i := range out {
		m := regexp.MustCompile(`/` + regexp.QuoteMeta(runner.SheetAnchor(i)) + ` \[(\d+) 0 R /XYZ`).FindSubmatch(pdf)
		if m == nil || page[string(m[1])] == 0 {
			return nil
		}
		out[i] = page[string(m[1])]
	}
	return out
}

var (
	pageNode  = regexp.MustCompile(`(\d+) 0 obj\n<</Type /Pages\n/Count \d+\n/Kids \[([\dR ]*)\]`)
	objectRef = regexp.MustCompile(`(\d+) 0 R`)
)

func lastLine(said []byte) string {
	lines := strings.Split(strings.TrimSpace(string(said)), "\n")
	if last := strings.TrimSpace(lines[len(lines)-1]); last != "" {
		return "it said: " + last
	}
	return "it said nothing"
}
