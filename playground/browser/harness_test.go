// Package browser drives the page with its real solver in a real Chromium. It holds
// tests alone. Tabs of one browser run side by side; the long walks through the page
// run where CI is "true".
package browser

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/playground/site"
)

// need skips the test with the reason, or fails it where everything must run.
func need(t *testing.T, ok bool, reason string) {
	t.Helper()
	if ok {
		return
	}
	if os.Getenv("CI") == "true" {
		t.Fatal(reason)
	}
	t.Skip(reason)
}

// longWalk leaves a test that opens a page of its own to the runs where everything must
// run: a page takes both cores for five seconds or more until it has come to rest. A few
// of them run always.
func longWalk(t *testing.T) {
	t.Helper()
	need(t, os.Getenv("CI") == "true", "it opens a page of its own; CI=true go test ./playground/browser runs it")
}

var built = sync.OnceValues(func() (site.Site, error) { return site.Build(context.Background()) })

func builtSite(t *testing.T) site.Site {
	t.Helper()
	s, err := built()
	require.NoError(t, err)
	return s
}

var browser = sync.OnceValues(func() (context.Context, error) {
	bin := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			bin = p
			break
		}
	}
	if bin == "" {
		return nil, fmt.Errorf("no Chromium on the path")
	}
	profile, err := os.MkdirTemp("", "playground-browser")
	if err != nil {
		return nil, err
	}
	atEnd = append(atEnd, func() { os.RemoveAll(profile) })
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(bin), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-background-networking", true), chromedp.UserDataDir(profile))
	ctx, stop := chromedp.NewExecAllocator(context.Background(), opts...)
	ctx, cancel := chromedp.NewContext(ctx)
	atEnd = append(atEnd, func() { cancel(); stop() })
	return ctx, chromedp.Do(ctx)
})

// atEnd runs, last first, when all tests are done.
var atEnd []func()

func TestMain(m *testing.M) {
	code := m.Run()
	for i := len(atEnd) - 1; i >= 0; i-- {
		atEnd[i]()
	}
	os.Exit(code)
}

// tab is a page under test.
type tab struct {
	t      *testing.T
	ctx    context.Context
	srv    *httptest.Server
	url    string
	faults *faults
}

// faults are what the console and the page complained of.
type faults struct {
	sync.Mutex
	told []string
}

func (f *faults) add(format string, args ...any) {
	f.Lock()
	defer f.Unlock()
	f.told = append(f.told, fmt.Sprintf(format, args...))
}

// take returns the faults since the last time.
func (f *faults) take() []string {
	f.Lock()
	defer f.Unlock()
	told := f.told
	f.told = nil
	return told
}

// needBrowser returns the browser, before anything is built for it.
func needBrowser(t *testing.T) context.Context {
	t.Helper()
	root, err := browser()
	need(t, err == nil, fmt.Sprintf("the tests of the page need Chromium: %v", err))
	return root
}

// newTab opens an empty tab of its own storage beside a server of the page.
func newTab(t *testing.T, root context.Context, page http.Handler) *tab {
	t.Helper()
	b, end := makeTab(root, page)
	t.Cleanup(end)
	b.t = t
	return b
}

// makeTab makes a tab without a test; end takes it away.
func makeTab(root context.Context, page http.Handler) (b *tab, end func()) {
	srv := httptest.NewServer(page)
	ctx, cancel := chromedp.NewContext(root, chromedp.WithNewBrowserContext())
	ctx, stop := context.WithTimeout(ctx, 30*time.Minute)
	return &tab{ctx: ctx, srv: srv, url: srv.URL + "/", faults: new(faults)}, func() { stop(); cancel(); srv.Close() }
}

// open opens the page in a tab of its own storage, at a size, and waits for it to
// come to rest. fragment may be empty.
func open(t *testing.T, width, height int64, scheme, fragment string) *tab {
	t.Helper()
	b := newTab(t, needBrowser(t), builtSite(t))
	t.Cleanup(func() { assert.Empty(t, b.faults.take(), "the page complained") })
	b.begin(width, height, scheme, fragment)
	return b
}

// begin opens the page in a new tab.
func (b *tab) begin(width, height int64, scheme, fragment string) {
	b.t.Helper()
	require.NoError(b.t, chromedp.Listen(b.ctx, func(ev any) {
		switch e := ev.(type) {
		case *runtime.EventExceptionThrown:
			text := e.ExceptionDetails.Text
			if e.ExceptionDetails.Exception != nil {
				text += " " + e.ExceptionDetails.Exception.Description
			}
			b.faults.add("exception: %s", text)
		case *runtime.EventConsoleAPICalled:
			if e.Type == "error" || e.Type == "warning" {
				b.faults.add("console: %s %v", e.Type, e.Args)
			}
		case *log.EventEntryAdded:
			if e.Entry.Level == "error" {
				b.faults.add("log: %s %s", e.Entry.Text, e.Entry.URL)
			}
		}
	}))
	_, err := chromedp.Call(b.ctx, log.Enable, cdp.Empty{})
	require.NoError(b.t, err)
	b.face(width, height, scheme)
	b.do(chromedp.Navigate(b.url + fragment))
	b.settle()
}

// face gives the screen a size, narrow ones those of a telephone, and the system's colours, "light" or "dark".
func (b *tab) face(width, height int64, scheme string) {
	b.t.Helper()
	_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
	})
	require.NoError(b.t, err)
	var how []chromedp.EmulateViewportOption
	if width < 600 {
		how = append(how, chromedp.EmulateMobile, chromedp.EmulateTouch, chromedp.EmulateScale(2))
	}
	b.do(chromedp.EmulateViewport(width, height, how...))
}

// kept is the demo's page, opened once, for tests that only look at it.
var kept struct {
	sync.Mutex
	*tab
}

// look returns the demo's page, at rest, to a test that leaves it as it was; one test has it
// at a time. To open a page takes both cores for seconds.
func look(t *testing.T, width, height int64, scheme string) *tab {
	t.Helper()
	root, page := needBrowser(t), builtSite(t)
	kept.Lock()
	t.Cleanup(kept.Unlock)
	if kept.tab == nil {
		b, end := makeTab(root, page)
		atEnd = append(atEnd, end)
		b.t = t
		b.begin(width, height, scheme, "")
		kept.tab = b
	}
	b := *kept.tab
	b.t = t
	t.Cleanup(func() { assert.Empty(t, b.faults.take(), "the page complained") })
	b.face(width, height, scheme)
	b.rest()
	return &b
}

// rest lets the page take in another size.
func (b *tab) rest() {
	b.t.Helper()
	js[bool](b, `scrollTo(0, 0); await new Promise((f) => setTimeout(f, 200)); return true;`)
}

// bare opens a tab that can import the page's modules, without the page itself.
func bare(t *testing.T) *tab {
	t.Helper()
	b := newTab(t, needBrowser(t), builtSite(t))
	b.do(chromedp.Navigate(b.url + "mark.svg"))
	return b
}

func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	require.NoError(b.t, chromedp.Do(b.ctx, steps...))
}

// js runs an async function body in the page.
func js[T any](b *tab, body string) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T]("(async () => {"+body+"})()", chromedp.EvalAwaitPromise))
	require.NoError(b.t, err, body)
	return v
}

// settle waits until the fine answers are shown.
func (b *tab) settle() {
	b.t.Helper()
	_, err := chromedp.Run(b.ctx, chromedp.Poll[bool](`document.body.dataset.state === "settled"`, chromedp.WithPollingTimeout(60*time.Second), chromedp.WithPollingInterval(20*time.Millisecond)))
	require.NoError(b.t, err, "the page does not come to rest")
}

// complete waits until all is said, the time the pilot has to react too.
func (b *tab) complete() {
	b.t.Helper()
	_, err := chromedp.Run(b.ctx, chromedp.Poll[bool](`document.body.dataset.towing === "known"`, chromedp.WithPollingTimeout(120*time.Second), chromedp.WithPollingInterval(20*time.Millisecond)))
	require.NoError(b.t, err, "the page does not say all it knows")
}

// set types a value into a control's field.
func (b *tab) set(path, value string) {
	b.t.Helper()
	js[bool](b, fmt.Sprintf(`
		const box = document.querySelector('[data-path="%s"] input:not([type=range],[type=checkbox])');
		box.focus(); box.value = %q;
		box.dispatchEvent(new Event("input", {bubbles: true})); box.dispatchEvent(new Event("change", {bubbles: true})); box.blur();
		return true;`, path, value))
}

func (b *tab) text(selector string) string {
	b.t.Helper()
	return js[string](b, fmt.Sprintf(`return document.querySelector(%q)?.textContent ?? "";`, selector))
}

func (b *tab) readout(key string) string {
	b.t.Helper()
	return b.text(`output[data-key="` + key + `"]`)
}

// number reads the figure a text begins with.
func number(t *testing.T, text string) float64 {
	t.Helper()
	text = strings.ReplaceAll(text, "−", "-")
	end := strings.IndexFunc(text, func(r rune) bool { return !strings.ContainsRune("-.0123456789", r) })
	if end < 0 {
		end = len(text)
	}
	v, err := strconv.ParseFloat(text[:end], 64)
	require.NoError(t, err, "no number in %q", text)
	return v
}
