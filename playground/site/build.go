// Package site puts the page together from its files and the compiled solver, and
// serves it to this machine only.
package site

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"html"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"github.com/andybalholm/brotli"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/lake"
	"example.org/groundeffect/playground/web"
)

// solvers are the page's WebAssembly files and the packages that they are compiled from: the
// second is loaded when it is first asked.
var solvers = map[string]string{
	"craft.wasm":   "example.org/groundeffect/playground/wasm",
	"changes.wasm": "example.org/groundeffect/playground/wasm/changes",
}

// file is one file of the page, with its compressed siblings where they are smaller.
type file struct {
	plain, gzip, brotli []byte
	tag                 string // of the plain content, for ETag
}

// Site is the whole page by path, "index.html" the start; Build makes it.
type Site map[string]*file

// Build compiles the solvers and puts the page together.
func Build(ctx context.Context) (Site, error) {
	wasm := map[string][]byte{}
	for name, pkg := range solvers {
		b, err := compile(ctx, pkg)
		if err != nil {
			return nil, err
		}
		wasm[name] = b
	}
	glue, err := glue(ctx)
	if err != nil {
		return nil, err
	}
	return assemble(wasm, glue)
}

// compile builds a solver for the browser with the go command.
func compile(ctx context.Context, pkg string) ([]byte, error) {
	dir, err := os.MkdirTemp("", "playground")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	out := filepath.Join(dir, "solver.wasm")
	cmd := exec.CommandContext(ctx, "go", "build", "-trimpath", "-ldflags=-s -w", "-o", out, pkg)
	cmd.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm", "CGO_ENABLED=0")
	if msg, err := cmd.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("the solver does not build (run this inside the module, with go on the path): %w\n%s", err, msg)
	}
	return os.ReadFile(out)
}

// glue returns the JavaScript that the Go distribution ships for its own wasm
// files; it has to be of the version that compiled them.
func glue(ctx context.Context) ([]byte, error) {
	root, err := exec.CommandContext(ctx, "go", "env", "GOROOT").Output()
	if err != nil {
		return nil, fmt.Errorf("go env GOROOT: %w", err)
	}
	return os.ReadFile(filepath.Join(strings.TrimSpace(string(root)), "lib", "wasm", "wasm_exec.js"))
}

// assemble compresses everything and fills in the list for use without a network.
func assemble(wasm map[string][]byte, glue []byte) (Site, error) {
	s := Site{"wasm_exec.js": {plain: glue}}
	for name, b := range wasm {
		s[name] = &file{plain: b}
	}
	err := fs.WalkDir(web.Files, ".", func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := web.Files.ReadFile(p)
		s[p] = &file{plain: b}
		return err
	})
	if err != nil {
		return nil, err
	}
	s["card.css"] = &file{plain: []byte(lake.CardStyle())} // the sheet's own
	s["index.html"].plain = bytes.Replace(s["index.html"].plain, []byte("{{CAUTIONS}}"), []byte(html.EscapeString(gecp.Cautions)), 1)
	if err := s.offline(); err != nil {
		return nil, err
	}
	for _, f := range s {
		sum := sha256.Sum256(f.plain)
		f.tag = hex.EncodeToString(sum[:8])
		if err := f.compress(brotli.DefaultCompression, gzip.DefaultCompression); err != nil {
			return nil, err
		}
	}
	return s, nil
}

// offline puts the names of all files, and a name for their contents, into sw.js.
func (s Site) offline() error {
	names := make([]string, 0, len(s))
	for name := range s {
		names = append(names, name)
	}
	slices.Sort(names)
	all := sha256.New()
	files := []string{"./"}
	for _, name := range names {
		fmt.Fprintln(all, name, len(s[name].plain))
		all.Write(s[name].plain)
		if name != "sw.js" && name != "index.html" {
			files = append(files, name)
		}
	}
	list, err := json.Marshal(files)
	if err != nil {
		return err
	}
	sw := bytes.Replace(s["sw.js"].plain, []byte("{{NAME}}"), []byte("craft-"+hex.EncodeToString(all.Sum(nil)[:8])), 1)
	s["sw.js"].plain = bytes.Replace(sw, []byte(`["{{FILES}}"]`), list, 1)
	return nil
}

// compress makes the compressed siblings, or none where they do not pay.
func (f *file) compress(brotliLevel, gzipLevel int) error {
	var br, gz bytes.Buffer
	b := brotli.NewWriterLevel(&br, brotliLevel)
	g, err := gzip.NewWriterLevel(&gz, gzipLevel)
	if err != nil {
		return err
	}
	for _, w := range []io.WriteCloser{b, g} {
		if _, err := w.Write(f.plain); err != nil {
			return err
		}
		if err := w.Close(); err != nil {
			return err
		}
	}
	if br.Len() < len(f.plain) {
		f.brotli = br.Bytes()
	}
	if gz.Len() < len(f.plain) {
		f.gzip = gz.Bytes()
	}
	return nil
}

// WasmSizes returns the sizes of the solvers as they travel, bytes, by their names; how
// small they travel is known once Shrink has run.
func (s Site) WasmSizes() map[string]int {
	sizes := map[string]int{}
	for name := range solvers {
		sizes[name] = len(s[name].brotli)
	}
	return sizes
}

// Shrink compresses every file as far as it goes, for a host that others read from.
// It takes half a minute, so a page that is served to this machine does without.
func (s Site) Shrink() error {
	for _, f := range s {
		if err := f.compress(brotli.BestCompression, gzip.BestCompression); err != nil {
			return err
		}
	}
	return nil
}

// Write puts every file and its compressed siblings (.br, .gz) under dir.
func (s Site) Write(dir string) error {
	for name, f := range s {
		to := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
			return err
		}
		for ending, b := range map[string][]byte{"": f.plain, ".br": f.brotli, ".gz": f.gzip} {
			if b == nil {
				continue
			}
			if err := os.WriteFile(to+ending, b, 0o644); err != nil {
				return err
			}
		}
	}
	return nil
}

// contentTypes of the page's files; sniffing is forbidden, so each has one.
var contentTypes = map[string]string{
	".html": "text/html; charset=utf-8",
	".css":  "text/css; charset=utf-8",
	".js":   "text/javascript; charset=utf-8",
	".svg":  "image/svg+xml",
	".wasm": "application/wasm",
}

func contentType(name string) string { return contentTypes[path.Ext(name)] }
