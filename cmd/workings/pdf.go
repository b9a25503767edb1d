package main

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"time"
)

// browserVariable names the program that prints to PDF, where it is not on the PATH or another is
// wanted.
const browserVariable = "WORKINGS_BROWSER"

// printTime bounds the printing of one sheet.
const printTime = 2 * time.Minute

var errInterrupted = errors.New("interrupted")

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
		"--user-data-dir=" + filepath.Join(dir, "profile"), "--no-pdf-header-footer", "--export-tagged-pdf", "--print-to-pdf=" + pdf}
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
	return undated(out), nil
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

func lastLine(said []byte) string {
	lines := strings.Split(strings.TrimSpace(string(said)), "\n")
	if last := strings.TrimSpace(lines[len(lines)-1]); last != "" {
		return "it said: " + last
	}
	return "it said nothing"
}
