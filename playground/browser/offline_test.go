package browser

import (
	"net/http"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestAnyStaticHostWillDo(t *testing.T) {
	longWalk(t)
	t.Parallel()
	root, dir := needBrowser(t), t.TempDir()
	require.NoError(t, builtSite(t).Write(dir))
	b := newTab(t, root, http.StripPrefix("/craft/", http.FileServer(http.Dir(dir))))
	b.do(chromedp.Navigate(b.url + "craft/"))
	b.settle()
	assert.NotEmpty(t, b.readout("cp_m"))
}

func TestWorksWithoutNetwork(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := newTab(t, needBrowser(t), builtSite(t))
	b.do(chromedp.Navigate(b.url))
	b.settle()
	js[bool](b, `await navigator.serviceWorker.ready; return true;`)
	_, err := chromedp.Run(b.ctx, chromedp.Poll[bool](`navigator.serviceWorker.controller !== null`))
	require.NoError(t, err)
	cp := b.readout("cp_m")
	b.srv.CloseClientConnections()
	b.srv.Close()
	b.do(chromedp.Reload())
	b.settle()
	assert.Equal(t, cp, b.readout("cp_m"))
	b.do(chromedp.Navigate(b.url + "index.html"))
	b.settle()
	assert.Equal(t, cp, b.readout("cp_m"), "by the start's own name too")
}
