package watch

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"html"
	"strings"
	"sync"
	"sync/atomic"
)

// page is one page as it is served. Nothing of it changes once it is made.
type page struct {
	path    string // of its address, without the first slash
	version string // of its contents: the same bytes have the same version, whichever process serves them
	cold    []byte // as a rendering to a file writes it
	text    []byte // as it is served
	policy  string
	known   atomic.Pointer[node] // the elements of text, once they have been looked for
	mu      sync.Mutex
	edits   map[string]edits // by the version they begin from: several listeners come from the same
}

// versionBytes is how much of the hash of a page is its version.
const versionBytes = 12

// policyLine begins the line of a page that states what it may load. It is the one line in which a
// served page differs from a cold one: served, it is followed by the script that keeps it current.
const policyLine = `<meta http-equiv="Content-Security-Policy" content="`

// Where the live parts lie. No page has such an address: those end in .html.
const (
	scriptPath = "-/live.js"
	stylePath  = "-/live.css"
	eventsPath = "-/events"
)

func newPage(path string, cold []byte) *page {
	sum := sha256.Sum256(cold)
	p := &page{path: path, version: hex.EncodeToString(sum[:versionBytes]), cold: cold, edits: map[string]edits{}}
	p.text, p.policy = p.live()
	return p
}

// tree is the elements of the page; nil where it is not made of elements.
func (p *page) tree() *node {
	if t := p.known.Load(); t != nil {
		return t
	}
	t := parse(p.text)
	p.known.Store(t)
	return t
}

// live puts the script into the page: in place of the line with the policy stand the policy that lets
// it run, and the script.
func (p *page) live() (text []byte, policy string) {
	from := bytes.Index(p.cold, []byte(policyLine))
	if from < 0 {
		return p.cold, "default-src 'none'"
	}
	rest := p.cold[from+len(policyLine):]
	policy, _, found := strings.Cut(string(rest[:max(0, bytes.IndexByte(rest, '\n'))]), `"`)
	if !found {
		return p.cold, "default-src 'none'"
	}
	policy = html.UnescapeString(policy)
	line := policyLine + policy + "\"/>\n"
	if !bytes.HasPrefix(p.cold[from:], []byte(line)) {
		return p.cold, policy
	}
	for _, what := range []string{"script-src", "style-src", "connect-src"} {
		if strings.Contains(policy, what+" ") {
			policy = strings.Replace(policy, what+" ", what+" 'self' ", 1)
		} else {
			policy += "; " + what + " 'self'"
		}
	}
	inserted := policyLine + policy + "\"/>\n" +
		fmt.Sprintf("<link rel=\"stylesheet\" href=\"/%s\"/>\n<script src=\"/%s\" data-page=\"%s\" defer>/*%s*/</script>\n",
			stylePath, scriptPath, html.EscapeString(p.path), p.version)
	text = make([]byte, 0, len(p.cold)+len(inserted))
	text = append(text, p.cold[:from]...)
	text = append(text, inserted...)
	return append(text, p.cold[from+len(line):]...), policy
}

// editFrom is what makes this page of another version.
func (p *page) editFrom(old *page) edits {
	p.mu.Lock()
	defer p.mu.Unlock()
	e, known := p.edits[old.version]
	if !known {
		e = difference(old, p)
		clear(p.edits) // most listeners come from the page before
		p.edits[old.version] = e
	}
	return e
}
