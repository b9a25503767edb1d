package watch

import (
	"bytes"
	"context"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"time"
)

//go:embed live.js
var liveScript []byte

//go:embed live.css
var liveStyle []byte

// beat is how often an open page hears that the server is there. A page that hears nothing for three
// times as long says so.
const beat = 4 * time.Second

// Server shows the pages of a site to browsers of this machine. It reads no file: what it serves are
// pages that were made before, found by their whole address, so that no address leads anywhere else.
type Server struct {
	site *Site
	at   net.Listener
	http *http.Server
	stop context.CancelFunc
	port string
	done sync.WaitGroup
}

// Serve begins to serve a site on loopback, at a port or, for 0, at any that is free.
func Serve(site *Site, port int) (*Server, error) {
	at, err := net.Listen("tcp4", net.JoinHostPort("127.0.0.1", strconv.Itoa(port)))
	if err != nil {
		return nil, err
	}
	ctx, stop := context.WithCancel(context.Background())
	s := &Server{site: site, at: at, stop: stop, port: strconv.Itoa(at.Addr().(*net.TCPAddr).Port)}
	s.http = &http.Server{
		Handler: s, BaseContext: func(net.Listener) context.Context { return ctx },
		ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 10 * time.Second, IdleTimeout: time.Minute,
		MaxHeaderBytes: 16 << 10, DisableGeneralOptionsHandler: true,
	}
	s.done.Go(func() { s.http.Serve(at) })
	return s, nil
}

// URL is where the index page is.
func (s *Server) URL() string { return "http://127.0.0.1:" + s.port + "/" }

// Close ends every connection, and returns when all that ran for them has ended.
func (s *Server) Close() error {
	s.stop() // open pages are told first, so that they end by themselves
	ctx, cancel := context.WithTimeout(context.Background(), time.Second)
	defer cancel()
	err := s.http.Shutdown(ctx)
	if errors.Is(err, context.DeadlineExceeded) {
		err = s.http.Close()
	}
	s.done.Wait()
	return err
}

// refusal is why a request is not answered.
type refusal struct {
	code int
	why  string
}

// refuses looks at what a browser says about who asks. A page of another origin must not read the
// sheets: by a name of its own that leads to this machine it would come with that name as Host.
func (s *Server) refuses(r *http.Request) *refusal {
	own := func(host string) bool {
		switch host {
		case "127.0.0.1:" + s.port, "localhost:" + s.port, "[::1]:" + s.port:
			return true
		}
		return false
	}
	switch {
	case !own(r.Host):
		return &refusal{http.StatusMisdirectedRequest, "this server answers only to its own address on this machine"}
	case r.Method != http.MethodGet && r.Method != http.MethodHead:
		return &refusal{http.StatusMethodNotAllowed, "sheets can be read here, and nothing else"}
	}
	for _, origin := range r.Header.Values("Origin") {
		if u, err := url.Parse(origin); err != nil || u.Scheme != "http" || u.Host != r.Host {
			return &refusal{http.StatusForbidden, "another site asks"}
		}
	}
	switch r.Header.Get("Sec-Fetch-Site") {
	case "", "none", "same-origin":
	default:
		// A link that the user follows from elsewhere opens the page, which that site cannot look into.
		if r.Header.Get("Sec-Fetch-Mode") != "navigate" || r.Header.Get("Sec-Fetch-Dest") != "document" {
			return &refusal{http.StatusForbidden, "another site asks"}
		}
	}
	if strings.ContainsAny(r.URL.Path, "\\\x00") || r.URL.Path == "" || r.URL.Path[0] != '/' || r.RequestURI == "" || r.RequestURI[0] != '/' {
		return &refusal{http.StatusBadRequest, "no address of a sheet"}
	}
	return nil
}

// ServeHTTP implements http.Handler.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	// A browser that does not read must not hold the connection for ever. The limit of the answer before
	// would stay where a connection is kept.
	http.NewResponseController(w).SetWriteDeadline(time.Now().Add(30 * time.Second))
	h := w.Header()
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'")
	if no := s.refuses(r); no != nil {
		if no.code == http.StatusMethodNotAllowed {
			h.Set("Allow", "GET, HEAD")
		}
		h.Set("Connection", "close")
		http.Error(w, no.why, no.code)
		return
	}
	switch path := r.URL.Path[1:]; path {
	case "":
		http.Redirect(w, r, "/"+s.site.Home, http.StatusFound)
	case scriptPath:
		send(w, r, "text/javascript; charset=utf-8", liveScript)
	case stylePath:
		send(w, r, "text/css; charset=utf-8", liveStyle)
	case eventsPath:
		s.events(w, r)
	default:
		p := s.site.hub.await(r.Context(), path)
		if p == nil {
			http.Error(w, "There is no such sheet here. The list of sheets: "+s.URL(), http.StatusNotFound)
			return
		}
		h.Set("Content-Security-Policy", p.policy+"; frame-ancestors 'none'")
		h.Set("X-Version", p.version)
		send(w, r, "text/html; charset=utf-8", p.text)
	}
}

func send(w http.ResponseWriter, r *http.Request, kind string, text []byte) {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Length", strconv.Itoa(len(text)))
	if r.Method != http.MethodHead {
		w.Write(text)
	}
}

// event is what an open page is told. Its kinds: "current", nothing changed; "edit", with the edits
// that make the new version of the one that the page has; "whole", the page must be had anew; "making",
// it is being made anew, and takes a while; "gone", its notebook is no more.
type event struct {
	Kind    string `json:"kind"`
	From    string `json:"from,omitempty"`
	Version string `json:"version"`
}

// isVersion reports a text that can be the version of a page.
func isVersion(s string) bool {
	return len(s) == 2*versionBytes && strings.Trim(s, "0123456789abcdef") == ""
}

// events tells an open page what becomes of it, from the version that the page says it has.
func (s *Server) events(w http.ResponseWriter, r *http.Request) {
	if r.Method == http.MethodHead {
		http.Error(w, "events are read with GET", http.StatusMethodNotAllowed)
		return
	}
	q := r.URL.Query()
	l, err := s.site.hub.listen(q.Get("page"))
	if err != nil {
		w.Header().Set("Retry-After", "5")
		http.Error(w, err.Error(), http.StatusServiceUnavailable)
		return
	}
	defer s.site.hub.leave(l)
	has := q.Get("version")
	if !isVersion(has) {
		has = ""
	}
	out := http.NewResponseController(w)
	out.SetReadDeadline(time.Time{}) // nothing more is read, however long the page is open
	w.Header().Set("Content-Type", "text/event-stream; charset=utf-8")
	w.WriteHeader(http.StatusOK)
	tell := func(e event, edits []byte) bool {
		text, err := json.Marshal(e)
		if err != nil {
			return false
		}
		if edits != nil { // which are JSON already, and may be long
			text = append(append(append(bytes.TrimSuffix(text, []byte("}")), `,"edits":`...), edits...), '}')
		}
		out.SetWriteDeadline(time.Now().Add(10 * time.Second))
		_, err = fmt.Fprintf(w, "data: %s\n\n", text)
		return err == nil && out.Flush() == nil
	}
	var old *page // what the page in the browser is, where it is known
	beats, looks := time.NewTicker(beat), time.NewTicker(unnoticed)
	defer beats.Stop()
	defer looks.Stop()
	for {
		soon, cancel := context.WithTimeout(r.Context(), 2*unnoticed)
		now := s.site.hub.await(soon, l.path)
		unmade := now == nil && soon.Err() != nil
		cancel()
		if r.Context().Err() != nil {
			return
		}
		e, edits := event{Kind: "current", Version: has}, []byte(nil)
		switch {
		case unmade, now != nil && now.version == has && s.site.hub.isLate(l.path):
			e.Kind = "making"
		case now == nil:
			e.Kind = "gone"
		case now.version == has:
		case old != nil && old.version == has:
			e.Version = now.version
			if edits = now.editFrom(old).text; edits != nil {
				e.Kind, e.From = "edit", has
			} else {
				e.Kind = "whole"
			}
		default:
			e.Kind, e.Version = "whole", now.version
		}
		if !tell(e, edits) {
			return
		}
		if now != nil {
			old, has = now, now.version
		}
		for quiet := !unmade; quiet; {
			select {
			case <-l.wake:
				quiet = false
			case <-beats.C:
				quiet = false
			case <-looks.C:
				quiet = s.site.hub.isLate(l.path) == (e.Kind == "making")
			case <-r.Context().Done():
				return
			}
		}
	}
}
