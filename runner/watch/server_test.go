package watch

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"
)

// raw sends a request as it is written and gives the answer's code and all of its text.
func raw(t *testing.T, s *Server, request string) (code int, answer string) {
	t.Helper()
	c, err := net.Dial("tcp", "127.0.0.1:"+s.port)
	must(t, err)
	defer c.Close()
	c.SetDeadline(time.Now().Add(patience))
	_, err = io.WriteString(c, strings.ReplaceAll(request, "\n", "\r\n")+"\r\n\r\n")
	must(t, err)
	all, err := io.ReadAll(c)
	must(t, err)
	if _, err := fmt.Sscanf(string(all), "HTTP/1.%d %d", new(int), &code); err != nil {
		t.Fatalf("%v in %q", err, all)
	}
	return code, string(all)
}

func served(t *testing.T, dir string) (*desk, *Server) {
	t.Helper()
	d := open(t, dir)
	s, err := Serve(d.site, 0)
	must(t, err)
	t.Cleanup(func() { must(t, s.Close()) })
	d.settles()
	return d, s
}

// TestServerRefuses: nothing but a sheet of the folder is served, to nobody but this machine's own
// pages. What must not be asked for (RFC 9110 15.5.20 for a foreign Host, Fetch Metadata for requests
// of other sites) gives no byte of the sheet.
func TestServerRefuses(t *testing.T) {
	dir, outside := t.TempDir(), t.TempDir()
	put(t, dir, "plan.md", "the secret of the sheet")
	put(t, dir, "sub/deep.md", "the secret of the sheet")
	put(t, dir, "data.csv", "the secret of the sheet")
	put(t, dir, ".hidden.md", "the secret of the sheet")
	put(t, outside, "out.html", "the secret of the sheet")
	must(t, os.Symlink(outside, filepath.Join(dir, "link")))
	must(t, os.Symlink(filepath.Join(outside, "out.html"), filepath.Join(dir, "out.html")))
	_, s := served(t, dir)
	host := "127.0.0.1:" + s.port
	cases := []struct {
		name    string
		request string
		code    int
	}{
		{"the sheet", "GET /plan.html HTTP/1.1\nHost: " + host, 200},
		{"the first address", "GET / HTTP/1.1\nHost: " + host, 302},
		{"by the name of this machine", "GET /plan.html HTTP/1.1\nHost: localhost:" + s.port, 200},
		{"by the other loopback address", "GET /plan.html HTTP/1.1\nHost: [::1]:" + s.port, 200},
		{"in a folder", "GET /sub/deep.html HTTP/1.1\nHost: " + host, 200},
		{"from a page of its own", "GET /plan.html HTTP/1.1\nHost: " + host + "\nOrigin: http://" + host + "\nSec-Fetch-Site: same-origin", 200},
		{"typed by the user", "GET /plan.html HTTP/1.1\nHost: " + host + "\nSec-Fetch-Site: none", 200},
		{"the head of it", "HEAD /plan.html HTTP/1.1\nHost: " + host, 200},

		{"foreign host", "GET /plan.html HTTP/1.1\nHost: sheets.example.com", 421},
		{"foreign host, own port", "GET /plan.html HTTP/1.1\nHost: sheets.example.com:" + s.port, 421},
		{"other port", "GET /plan.html HTTP/1.1\nHost: 127.0.0.1:1", 421},
		{"no port", "GET /plan.html HTTP/1.1\nHost: 127.0.0.1", 421},
		{"a name that begins alike", "GET /plan.html HTTP/1.1\nHost: 127.0.0.1:" + s.port + ".example.com", 421},
		{"no host", "GET /plan.html HTTP/1.0", 421},
		{"foreign host in the target", "GET http://sheets.example.com/plan.html HTTP/1.1\nHost: " + host, 421},
		{"foreign origin", "GET /plan.html HTTP/1.1\nHost: " + host + "\nOrigin: http://sheets.example.com", 403},
		{"another port's origin", "GET /plan.html HTTP/1.1\nHost: " + host + "\nOrigin: http://127.0.0.1:1", 403},
		{"an origin that is none", "GET /plan.html HTTP/1.1\nHost: " + host + "\nOrigin: null", 403},
		{"another site", "GET /plan.html HTTP/1.1\nHost: " + host + "\nSec-Fetch-Site: cross-site", 403},
		{"a link of another site that is followed", "GET /plan.html HTTP/1.1\nHost: " + host + "\nSec-Fetch-Site: cross-site\nSec-Fetch-Mode: navigate\nSec-Fetch-Dest: document", 200},
		{"a frame of another site", "GET /plan.html HTTP/1.1\nHost: " + host + "\nSec-Fetch-Site: cross-site\nSec-Fetch-Mode: navigate\nSec-Fetch-Dest: iframe", 403},
		{"an object of another site", "GET /plan.html HTTP/1.1\nHost: " + host + "\nSec-Fetch-Site: cross-site\nSec-Fetch-Mode: navigate\nSec-Fetch-Dest: object", 403},
		{"another server of this machine", "GET /-/events?page=plan.html HTTP/1.1\nHost: " + host + "\nSec-Fetch-Site: same-site", 403},
		{"events for a foreign origin", "GET /-/events?page=plan.html HTTP/1.1\nHost: " + host + "\nOrigin: https://sheets.example.com", 403},
		{"the script for another site", "GET /-/live.js HTTP/1.1\nHost: " + host + "\nSec-Fetch-Site: cross-site", 403},

		{"POST", "POST /plan.html HTTP/1.1\nHost: " + host + "\nContent-Length: 0", 405},
		{"PUT", "PUT /plan.html HTTP/1.1\nHost: " + host + "\nContent-Length: 0", 405},
		{"DELETE", "DELETE /plan.html HTTP/1.1\nHost: " + host, 405},
		{"OPTIONS", "OPTIONS /plan.html HTTP/1.1\nHost: " + host, 405},
		{"OPTIONS of all", "OPTIONS * HTTP/1.1\nHost: " + host, 405},
		{"CONNECT", "CONNECT " + host + " HTTP/1.1\nHost: " + host, 405},

		{"the notebook itself", "GET /plan.md HTTP/1.1\nHost: " + host, 404},
		{"a data file", "GET /data.csv HTTP/1.1\nHost: " + host, 404},
		{"a hidden notebook", "GET /.hidden.html HTTP/1.1\nHost: " + host, 404},
		{"a list of a folder", "GET /sub/ HTTP/1.1\nHost: " + host, 404},
		{"a list of a folder, without slash", "GET /sub HTTP/1.1\nHost: " + host, 404},
		{"up", "GET /../plan.html HTTP/1.1\nHost: " + host, 404},
		{"up and down again", "GET /sub/../plan.html HTTP/1.1\nHost: " + host, 404},
		{"up, encoded", "GET /%2e%2e/plan.html HTTP/1.1\nHost: " + host, 404},
		{"up, slash encoded", "GET /..%2fplan.html HTTP/1.1\nHost: " + host, 404},
		{"up, encoded twice", "GET /%252e%252e/plan.html HTTP/1.1\nHost: " + host, 404},
		{"with backslashes", "GET /..\\plan.html HTTP/1.1\nHost: " + host, 400},
		{"with encoded backslashes", "GET /..%5cplan.html HTTP/1.1\nHost: " + host, 400},
		{"a NUL", "GET /plan.html%00 HTTP/1.1\nHost: " + host, 400},
		{"an absolute path", "GET /" + filepath.Join(dir, "plan.html") + " HTTP/1.1\nHost: " + host, 404},
		{"two slashes", "GET //plan.html HTTP/1.1\nHost: " + host, 404},
		{"a path without a slash", "GET plan.html HTTP/1.1\nHost: " + host, 400},
		{"through a link to a folder outside", "GET /link/out.html HTTP/1.1\nHost: " + host, 404},
		{"a link to a file outside", "GET /out.html HTTP/1.1\nHost: " + host, 404},
		{"what is not there", "GET /nothing.html HTTP/1.1\nHost: " + host, 404},
		{"a header without end", "GET /plan.html HTTP/1.1\nHost: " + host + "\nX: " + strings.Repeat("x", 64<<10), 431},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			code, answer := raw(t, s, c.request+"\nConnection: close")
			if code != c.code {
				t.Errorf("answered with %d, want %d", code, c.code)
			}
			if has := strings.Contains(answer, "secret"); has != (c.code == 200 && !strings.HasPrefix(c.request, "HEAD")) {
				t.Errorf("the text of the sheet is served: %v", has)
			}
			if c.code == 400 && !strings.Contains(answer, "Content-Security-Policy") || c.code == 431 {
				return // refused before it came to the handler
			}
			for _, header := range []string{"X-Content-Type-Options: nosniff", "Referrer-Policy: no-referrer", "Cache-Control: no-store",
				"Cross-Origin-Resource-Policy: same-origin", "frame-ancestors 'none'", "default-src 'none'"} {
				if !strings.Contains(answer, header) {
					t.Errorf("no %s", header)
				}
			}
			if strings.Contains(answer, "Access-Control-Allow") {
				t.Error("other origins are let in")
			}
		})
	}
}

// A page is served as a cold rendering has it, but for the line with its policy.
func TestServedPage(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "plan & more.md", "one\ntwo")
	d, s := served(t, dir)
	_, answer := raw(t, s, "GET /plan%20&%20more.html HTTP/1.0\nHost: 127.0.0.1:"+s.port)
	_, body, _ := strings.Cut(answer, "\r\n\r\n")
	cold := string(d.site.Cold("plan & more.html"))
	line := policyLine + "default-src 'none'; style-src 'unsafe-inline'; script-src 'sha256-x'\"/>\n"
	version := d.site.hub.get("plan & more.html").version
	instead := policyLine + "default-src 'none'; style-src 'self' 'unsafe-inline'; script-src 'self' 'sha256-x'; connect-src 'self'\"/>\n" +
		"<link rel=\"stylesheet\" href=\"/-/live.css\"/>\n<script src=\"/-/live.js\" data-page=\"plan &amp; more.html\" defer>/*" + version + "*/</script>\n"
	if strings.Count(cold, line) != 1 {
		t.Fatalf("the page has no line %s", line)
	}
	if want := strings.Replace(cold, line, instead, 1); body != want {
		t.Errorf("served\n%s\nwant\n%s", body, want)
	}
	if !strings.Contains(answer, "X-Version: "+version) {
		t.Error("the version is not told")
	}
}

// A page that is made later is made when it is asked for, and kept current from then on.
func TestServedLater(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "a.md", "one")
	d, s := served(t, dir)
	_, answer := raw(t, s, "GET /all.html HTTP/1.0\nHost: 127.0.0.1:"+s.port)
	if !strings.HasSuffix(answer, "<html><body>all 1</body></html>") {
		t.Errorf("served:\n%s", answer)
	}
	d.all = true
	put(t, dir, "b.md", "two")
	d.settles()
}

// heard is an event as a page reads it.
type heard struct {
	event
	Edits json.RawMessage
}

// listens reads the events of a page, also those that say that it is being made where making is true.
func listens(t *testing.T, s *Server, page, version string, making bool) (next func() heard, leave func()) {
	t.Helper()
	r, err := http.Get(s.URL() + eventsPath + "?page=" + page + "&version=" + version)
	must(t, err)
	if r.StatusCode != http.StatusOK || r.Header.Get("Content-Type") != "text/event-stream; charset=utf-8" {
		t.Fatalf("%s, %s", r.Status, r.Header)
	}
	lines := bufio.NewReader(r.Body)
	return func() heard {
		t.Helper()
		var e heard
		for {
			line, err := lines.ReadString('\n')
			must(t, err)
			if data, ok := strings.CutPrefix(line, "data: "); ok {
				must(t, json.Unmarshal([]byte(data), &e))
				if e.Kind == "making" && !making {
					continue // how long it takes is the machine's business
				}
				return e
			}
		}
	}, func() { r.Body.Close() }
}

// A page that listens is told of every change from the version that it has.
func TestEvents(t *testing.T) {
	dir := t.TempDir()
	filler := strings.Repeat("a line that stays as it is\n", 30)
	put(t, dir, "a.md", filler+"x 1")
	d, s := served(t, dir)
	first := d.site.hub.get("a.html").version
	next, leave := listens(t, s, "a.html", first, false)
	defer leave()
	if e := next(); e.Kind != "current" || e.Version != first {
		t.Errorf("at first: %+v", e)
	}
	put(t, dir, "a.md", filler+"x 2")
	e := next()
	if e.Kind != "edit" || !bytes.Contains(e.Edits, []byte(`"x 2"`)) {
		t.Errorf("after an edit: %+v", e)
	}
	if len(e.Edits) > 1000 {
		t.Errorf("one row changed, and %d bytes are sent:\n%s", len(e.Edits), e.Edits)
	}
	must(t, os.Remove(filepath.Join(dir, "a.md")))
	if e := next(); e.Kind != "gone" {
		t.Errorf("after it was removed: %+v", e)
	}
	put(t, dir, "a.md", filler+"x 3")
	if e := next(); e.Kind != "edit" && e.Kind != "whole" {
		t.Errorf("after it came back: %+v", e)
	}
	late, leave := listens(t, s, "a.html", first, false)
	defer leave()
	if e := late(); e.Kind != "whole" || e.Version != d.site.hub.get("a.html").version {
		t.Errorf("to a page that missed something: %+v", e)
	}
	for _, version := range []string{"", "../x", "1%0adata:%20x"} {
		late, leave := listens(t, s, "a.html", version, false)
		if e := late(); e.Kind != "whole" {
			t.Errorf("to a page of version %q: %+v", version, e)
		}
		leave()
	}
}

// A page that is being made anew says so while it takes long, and no longer than that; so does one that
// has not been made at all.
func TestEventsMaking(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "slow.md", "x 1")
	put(t, dir, "a.md", "x 1")
	d, s := served(t, dir)
	next, leave := listens(t, s, "slow.html", d.site.hub.get("slow.html").version, true)
	defer leave()
	if e := next(); e.Kind != "current" {
		t.Errorf("at first: %+v", e)
	}
	gate := make(chan struct{})
	d.mu.Lock()
	d.gate = gate
	d.mu.Unlock()
	put(t, dir, "slow.md", "x 2")
	if e := next(); e.Kind != "making" {
		t.Errorf("while it is made: %+v", e)
	}
	index, leave := listens(t, s, "index.html", "", true)
	defer leave()
	if e := index(); e.Kind != "whole" {
		t.Errorf("the page on all, to one that has nothing: %+v", e)
	}
	if e := index(); e.Kind != "making" {
		t.Errorf("the page on all, which waits: %+v", e)
	}
	other, leave := listens(t, s, "a.html", d.site.hub.get("a.html").version, true)
	defer leave()
	if e := other(); e.Kind != "current" {
		t.Errorf("a page that the change does not concern: %+v", e)
	}
	close(gate)
	for _, page := range []struct {
		next func() heard
		want string
	}{{next, "whole"}, {index, "current"}} {
		e := page.next()
		for e.Kind == "making" {
			e = page.next()
		}
		if e.Kind != page.want {
			t.Errorf("once it is made: %+v, want %s", e, page.want)
		}
	}
}

// Before the first of all pages has been made, who waits for one hears that it is being made.
func TestEventsFirst(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "slow.md", "x 1")
	d := openSlow(t, dir, make(chan struct{}))
	s, err := Serve(d.site, 0)
	must(t, err)
	t.Cleanup(func() { s.Close() })
	next, leave := listens(t, s, "slow.html", "", true)
	defer leave()
	if e := next(); e.Kind != "making" {
		t.Errorf("before it is made: %+v", e)
	}
	close(d.gate)
	e := next()
	for e.Kind == "making" {
		e = next()
	}
	if e.Kind != "whole" {
		t.Errorf("once it is made: %+v", e)
	}
}

// timed is an answer that remembers until when it may be written.
type timed struct {
	*httptest.ResponseRecorder
	until time.Time
}

func (a *timed) SetWriteDeadline(t time.Time) error {
	a.until = t
	return nil
}

// Every answer has its own time: on a connection that is kept, that of the answer before would be over.
func TestAnswersInTime(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "a.md", "x")
	_, s := served(t, dir)
	for path, code := range map[string]int{"/": 302, "/a.html": 200, "/none.html": 404, "/" + scriptPath: 200, "/a.html%00": 400} {
		for _, method := range []string{"GET", "HEAD"} {
			r := httptest.NewRequest(method, path, nil)
			r.Host = "127.0.0.1:" + s.port
			w := &timed{ResponseRecorder: httptest.NewRecorder()}
			s.ServeHTTP(w, r)
			if w.Code != code || !w.until.After(time.Now()) {
				t.Errorf("%s %s: %d, to be written until %v", method, path, w.Code, w.until)
			}
		}
	}
}

// So many pages may listen and no more, and what listened leaves nothing behind, nor does the server.
func TestListeners(t *testing.T) {
	before := runtime.NumGoroutine()
	var leaves []func()
	t.Run("serve", func(t *testing.T) { // which ends while one page still listens
		dir := t.TempDir()
		put(t, dir, "a.md", "x")
		d, s := served(t, dir)
		for range mostListeners {
			next, leave := listens(t, s, "a.html", "", false)
			next()
			leaves = append(leaves, leave)
		}
		r, err := http.Get(s.URL() + eventsPath + "?page=a.html")
		must(t, err)
		r.Body.Close()
		if r.StatusCode != http.StatusServiceUnavailable || r.Header.Get("Retry-After") == "" {
			t.Errorf("one more: %s", r.Status)
		}
		for _, leave := range leaves[1:] {
			leave()
		}
		settled(t, "listeners", 1, func() int {
			d.site.hub.mu.Lock()
			defer d.site.hub.mu.Unlock()
			return len(d.site.hub.listeners)
		})
	})
	leaves[0]()
	http.DefaultClient.CloseIdleConnections()
	settled(t, "goroutines", before, runtime.NumGoroutine)
}
