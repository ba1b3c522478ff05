package site

import (
	"net"
	"net/http"
	"strconv"
	"strings"
	"time"
)

// policy is the page's content security policy: everything from here, scripts and
// styles only from files, pictures also from the page's own memory (the PNG
// export). The page repeats it for static hosts, but for frame-ancestors, which
// browsers take from the header alone.
const policy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' blob: data:; " +
	"connect-src 'self'; worker-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'none'"

// Server returns a server of the page that lets no reader hold it for long: a request
// and its answer, a few megabytes at most, take a minute each at the longest.
func (s Site) Server() *http.Server {
	return &http.Server{
		Handler:           s,
		ReadHeaderTimeout: 10 * time.Second,
		ReadTimeout:       time.Minute,
		WriteTimeout:      time.Minute,
		IdleTimeout:       2 * time.Minute,
	}
}

// ServeHTTP serves the page's own files and nothing else, and only under names
// of this machine, so that no foreign page can reach it by a name of its own.
func (s Site) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	host := r.Host
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	if host != "127.0.0.1" && host != "localhost" {
		http.Error(w, "this page is served to this machine only", http.StatusForbidden)
		return
	}
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		w.Header().Set("Allow", "GET, HEAD")
		http.Error(w, "only reading is possible here", http.StatusMethodNotAllowed)
		return
	}
	name := strings.TrimPrefix(r.URL.Path, "/")
	if name == "" {
		name = "index.html"
	}
	f := s[name]
	if f == nil {
		http.NotFound(w, r)
		return
	}
	h := w.Header()
	h.Set("Content-Security-Policy", policy+"; frame-ancestors 'none'")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Embedder-Policy", "require-corp")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Content-Type", contentType(name))
	h.Set("Cache-Control", "no-cache") // ask whether it has changed
	h.Set("Vary", "Accept-Encoding")
	body, tag := f.plain, f.tag
	switch accept := r.Header.Get("Accept-Encoding"); {
	case f.brotli != nil && accepts(accept, "br"):
		body, tag = f.brotli, tag+"-br"
		h.Set("Content-Encoding", "br")
	case f.gzip != nil && accepts(accept, "gzip"):
		body, tag = f.gzip, tag+"-gz"
		h.Set("Content-Encoding", "gzip")
	}
	h.Set("ETag", `"`+tag+`"`)
	if r.Header.Get("If-None-Match") == `"`+tag+`"` {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	h.Set("Content-Length", strconv.Itoa(len(body)))
	if r.Method == http.MethodGet {
		_, _ = w.Write(body) // a reader that has gone away is no error of ours
	}
}

// accepts reports whether an Accept-Encoding header allows a coding by name.
func accepts(header, coding string) bool {
	for part := range strings.SplitSeq(header, ",") {
		name, q, _ := strings.Cut(strings.TrimSpace(part), ";")
		if strings.TrimSpace(name) != coding {
			continue
		}
		q = strings.TrimSpace(q)
		v, err := strconv.ParseFloat(strings.TrimPrefix(q, "q="), 64)
		return q == "" || err == nil && v > 0
	}
	return false
}
