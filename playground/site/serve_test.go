package site

import (
	"compress/gzip"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/andybalholm/brotli"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
)

// assembled is the page with stand-ins for what the go command makes.
func assembled(t *testing.T) Site {
	t.Helper()
	s, err := assemble(map[string][]byte{"craft.wasm": []byte(strings.Repeat("\x00asm", 999)), "changes.wasm": []byte("\x00asm")}, []byte("// glue"))
	require.NoError(t, err)
	return s
}

func TestServesOwnFilesOnly(t *testing.T) {
	s := assembled(t)
	for _, c := range []struct {
		method, host, path string
		want               int
	}{
		{"GET", "127.0.0.1:8075", "/", 200},
		{"GET", "localhost:8075", "/js/main.js", 200},
		{"HEAD", "127.0.0.1", "/craft.wasm", 200},
		{"GET", "127.0.0.1:8075", "/js/", 404},
		{"GET", "127.0.0.1:8075", "/main.go", 404},
		{"GET", "127.0.0.1:8075", "/../main.go", 404},
		{"GET", "127.0.0.1:8075", "/web/index.html", 404},
		{"POST", "127.0.0.1:8075", "/", 405},
		{"GET", "lake.example:8075", "/", 403},
	} {
		r := httptest.NewRequest(c.method, "http://"+c.host+"/", nil)
		r.URL.Path = c.path
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		assert.Equal(t, c.want, w.Code, "%s %s%s", c.method, c.host, c.path)
	}
}

func TestServesCompressed(t *testing.T) {
	s := assembled(t)
	for _, c := range []struct {
		accept, coding string
	}{{"gzip, deflate, br", "br"}, {"gzip", "gzip"}, {"br;q=0, gzip;q=0.5", "gzip"}, {"", ""}} {
		r := httptest.NewRequest("GET", "http://127.0.0.1/craft.wasm", nil)
		r.Header.Set("Accept-Encoding", c.accept)
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		require.Equal(t, 200, w.Code)
		assert.Equal(t, c.coding, w.Header().Get("Content-Encoding"), c.accept)
		assert.Equal(t, "application/wasm", w.Header().Get("Content-Type"))
		var body io.Reader = w.Body
		switch c.coding {
		case "br":
			body = brotli.NewReader(body)
		case "gzip":
			var err error
			body, err = gzip.NewReader(body)
			require.NoError(t, err)
		}
		got, err := io.ReadAll(body)
		require.NoError(t, err)
		assert.Equal(t, s["craft.wasm"].plain, got)

		r.Header.Set("If-None-Match", w.Header().Get("ETag"))
		again := httptest.NewRecorder()
		s.ServeHTTP(again, r)
		assert.Equal(t, http.StatusNotModified, again.Code)
		assert.Zero(t, again.Body.Len())
	}
}

func TestPolicyIsStrictEverywhere(t *testing.T) {
	s := assembled(t)
	html := string(s["index.html"].plain)
	m := regexp.MustCompile(`http-equiv="Content-Security-Policy" content="([^"]+)"`).FindStringSubmatch(html)
	require.NotNil(t, m)
	assert.Equal(t, policy, m[1], "the page's own policy for static hosts")
	assert.True(t, strings.HasPrefix(policy, "default-src 'none'; script-src 'self' 'wasm-unsafe-eval';"))
	assert.NotContains(t, policy, "unsafe-inline")
	assert.NotRegexp(t, `(?i)<script(?:[^>]*)>[^<]`, html, "inline script")
	assert.Contains(t, html, gecp.Cautions)
	assert.NotRegexp(t, `(?i)<style|\sstyle=|\son[a-z]+=`, html, "inline style or handler")
	for name, f := range s {
		w := httptest.NewRecorder()
		s.ServeHTTP(w, httptest.NewRequest("GET", "http://127.0.0.1/"+name, nil))
		assert.Equal(t, policy+"; frame-ancestors 'none'", w.Header().Get("Content-Security-Policy"), name)
		for key, want := range map[string]string{"Cross-Origin-Embedder-Policy": "require-corp", "Cross-Origin-Opener-Policy": "same-origin", "Cross-Origin-Resource-Policy": "same-origin"} {
			assert.Equal(t, want, w.Header().Get(key), name)
		}
		assert.Equal(t, "nosniff", w.Header().Get("X-Content-Type-Options"), name)
		assert.NotEmpty(t, w.Header().Get("Content-Type"), name)
		if filepath.Ext(name) != ".wasm" && name != "wasm_exec.js" {
			assert.NotRegexp(t, `https?://`, strings.ReplaceAll(string(f.plain), "http://www.w3.org/2000/svg", ""), "%s names a place outside", name)
		}
	}
}

func TestEveryModuleThatIsNamedIsThere(t *testing.T) {
	s := assembled(t)
	for name, f := range s {
		if filepath.Ext(name) != ".js" || name == "wasm_exec.js" {
			continue
		}
		for _, m := range regexp.MustCompile(`(?m)^import .*?"(\.\.?/[^"]+)"`).FindAllStringSubmatch(string(f.plain), -1) {
			assert.Contains(t, s, filepath.ToSlash(filepath.Join(filepath.Dir(name), m[1])), name)
		}
	}
}

func TestOfflineStoreIsNamedByContent(t *testing.T) {
	a := assembled(t)
	b, err := assemble(map[string][]byte{"craft.wasm": []byte("another solver")}, []byte("// glue"))
	require.NoError(t, err)
	name := regexp.MustCompile(`const NAME = "(craft-[0-9a-f]{16})";`)
	na, nb := name.FindSubmatch(a["sw.js"].plain), name.FindSubmatch(b["sw.js"].plain)
	require.NotNil(t, na)
	require.NotNil(t, nb)
	assert.NotEqual(t, na[1], nb[1])
	for file := range a {
		if file != "sw.js" && file != "index.html" {
			assert.Contains(t, string(a["sw.js"].plain), `"`+file+`"`)
		}
	}
}

func TestWritesEverythingForAStaticHost(t *testing.T) {
	s := assembled(t)
	dir := t.TempDir()
	quick := s.WasmSizes()["craft.wasm"]
	require.NoError(t, s.Shrink())
	assert.LessOrEqual(t, s.WasmSizes()["craft.wasm"], quick)
	require.NoError(t, s.Write(dir))
	for name, f := range s {
		got, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(name)))
		require.NoError(t, err)
		assert.Equal(t, f.plain, got, name)
		for ending, want := range map[string][]byte{".br": f.brotli, ".gz": f.gzip} {
			got, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(name)) + ending)
			if want == nil {
				assert.ErrorIs(t, err, os.ErrNotExist)
				continue
			}
			require.NoError(t, err)
			assert.Equal(t, want, got, name+ending)
		}
	}
}

// mostWasm is how large a solver may be as it travels, bytes: what a telephone at the lake has to load.
const mostWasm = 1_500_000

// What a telephone has to load stays small, of both solvers.
func TestSolversStaySmall(t *testing.T) {
	if os.Getenv("CI") != "true" {
		t.Skip("it compiles and compresses both solvers, a minute or two; CI=true go test ./playground/site runs it")
	}
	wasm := Site{}
	for name, pkg := range solvers {
		b, err := compile(t.Context(), pkg)
		require.NoError(t, err)
		wasm[name] = &file{plain: b}
	}
	require.NoError(t, wasm.Shrink())
	for name, size := range wasm.WasmSizes() {
		t.Logf("%s: %.3f MB compressed (brotli)", name, float64(size)/1e6)
		assert.Positive(t, size, name)
		assert.Less(t, size, mostWasm, name)
	}
}

// A reader who sends nothing, or takes nothing, is let go.
func TestServerLetsNobodyHoldIt(t *testing.T) {
	srv := assembled(t).Server()
	for what, d := range map[string]time.Duration{"head": srv.ReadHeaderTimeout, "request": srv.ReadTimeout, "answer": srv.WriteTimeout, "idle": srv.IdleTimeout} {
		assert.Positive(t, d, what)
		assert.LessOrEqual(t, d, 2*time.Minute, what)
	}

	srv.ReadHeaderTimeout = 50 * time.Millisecond
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	go func() { _ = srv.Serve(l) }()
	t.Cleanup(func() { _ = srv.Close() })
	c, err := net.Dial("tcp", l.Addr().String())
	require.NoError(t, err)
	defer c.Close()
	_, err = io.WriteString(c, "GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n") // and no more
	require.NoError(t, err)
	require.NoError(t, c.SetReadDeadline(time.Now().Add(30*time.Second)))
	_, err = io.ReadAll(c)
	assert.NoError(t, err, "the server closes, not the deadline")
}
