package browser

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestAnyStaticHostWillDo(t *testing.T) {
	longWalk(t)
	t.Parallel()
	root, err := browser()
	need(t, err == nil, fmt.Sprintf("the tests of the page need Chromium: %v", err))
	dir := t.TempDir()
	require.NoError(t, builtSite(t).Write(dir))
	srv := httptest.NewServer(http.StripPrefix("/craft/", http.FileServer(http.Dir(dir))))
	defer srv.Close()
	ctx, cancel := chromedp.NewContext(root, chromedp.WithNewBrowserContext())
	defer cancel()
	b := &tab{t: t, ctx: ctx, url: srv.URL + "/craft/"}
	b.do(chromedp.Navigate(b.url))
	b.settle()
	assert.NotEmpty(t, b.readout("cp_m"))
}

func TestWorksWithoutNetwork(t *testing.T) {
	longWalk(t)
	t.Parallel()
	root, err := browser()
	need(t, err == nil, fmt.Sprintf("the tests of the page need Chromium: %v", err))
	srv := httptest.NewServer(builtSite(t))
	ctx, cancel := chromedp.NewContext(root, chromedp.WithNewBrowserContext())
	defer cancel()
	b := &tab{t: t, ctx: ctx, url: srv.URL + "/"}
	b.do(chromedp.Navigate(b.url))
	b.settle()
	js[bool](b, `await navigator.serviceWorker.ready; return true;`)
	_, err = chromedp.Run(b.ctx, chromedp.Poll[bool](`navigator.serviceWorker.controller !== null`))
	require.NoError(t, err)
	cp := b.readout("cp_m")
	srv.CloseClientConnections()
	srv.Close()
	b.do(chromedp.Reload())
	b.settle()
	assert.Equal(t, cp, b.readout("cp_m"))
}
