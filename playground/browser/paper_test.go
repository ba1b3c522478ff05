package browser

import (
	"os"
	"path/filepath"
	"regexp"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// clipped lists the texts of a sheet that are cut off by its edge, or smaller than 9 px
// where the sheet is drawn to a width.
const clipped = `
	const clipped = (svg) => {
		const out = [], edge = svg.getBoundingClientRect();
		for (const t of svg.querySelectorAll("text")) {
			const own = t.ownerSVGElement.getBoundingClientRect(), r = t.getBoundingClientRect();
			if (r.left < own.left - 1 || r.right > own.right + 1 || r.bottom > own.bottom + 3 || r.top < own.top - 3 || r.right > edge.right + 1) out.push(t.textContent + " is cut off");
			const size = +t.getAttribute("font-size") * t.getScreenCTM().a;
			if (size < 9) out.push(t.textContent + " is " + size.toFixed(1) + " px");
		}
		return out;
	};`

// What Ctrl+P prints is one sheet by day, with nothing cut off and nothing too small.
func TestThePagePrintsOneSheet(t *testing.T) {
	longWalk(t)
	t.Parallel()
	yes := true
	b := look(t, 1440, 900, "light")
	for _, scheme := range []string{"light", "dark"} {
		b.face(1440, 900, scheme)
		b.rest()
		for name, size := range map[string][2]float64{"A4": {8.27, 11.69}, "Letter": {8.5, 11}} {
			got, err := chromedp.Call(b.ctx, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: size[0], PaperHeight: size[1], PrintBackground: &yes})
			require.NoError(t, err)
			paper := got.Data
			require.NoError(t, os.MkdirAll(screenshots, 0o755))
			require.NoError(t, os.WriteFile(filepath.Join(screenshots, "page-"+scheme+"-"+name+".pdf"), paper, 0o644))
			assert.Len(t, regexp.MustCompile(`/Type /Page\b[^s]`).FindAll(paper, -1), 1, name)
			assert.Greater(t, len(paper), 20_000, "%s: the picture is on it", name)
		}
		// The same sheet as paper shows it, at the width of A4 less its margins.
		b.do(chromedp.EmulateViewport(725, 1054))
		media := func(kind string) {
			_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: kind, Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
			require.NoError(t, err)
		}
		media("print")
		found := js[[]string](b, clipped+`
			dispatchEvent(new Event("beforeprint"));
			await new Promise((f) => setTimeout(f, 50));
			const svg = document.querySelector("#paper > svg"), out = clipped(svg);
			if (svg.querySelectorAll("svg").length !== 6) out.push("it has " + svg.querySelectorAll("svg").length + " pictures");
			if (getComputedStyle(document.querySelector("main")).display !== "none") out.push("the page itself is on it");
			const [r, g, bl] = svg.querySelector("rect").getAttribute("fill").match(/\d+/g);
			if (+r + +g + +bl < 600) out.push("it is dark");
			dispatchEvent(new Event("afterprint"));
			return out;`)
		assert.Empty(t, found, scheme)
		media("")
		assert.Equal(t, 0, js[int](b, `return document.querySelector("#paper").childNodes.length;`))
	}
}

// The exported pictures cut nothing off, from a screen of any size.
func TestExportsCutNothingOff(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := look(t, 1440, 900, "dark")
	b.complete()
	for _, size := range [][2]int64{{1440, 900}, {390, 844}} {
		b.face(size[0], size[1], "dark")
		b.rest()
		found := js[[]string](b, clipped+`
			const made = [], old = URL.createObjectURL;
			URL.createObjectURL = (blob) => { made.push(blob); return old.call(URL, blob); };
			document.getElementById("svg").click();
			URL.createObjectURL = old;
			const svg = document.importNode(new DOMParser().parseFromString(await made[0].text(), "image/svg+xml").documentElement, true);
			document.body.append(svg);
			const out = clipped(svg);
			svg.remove();
			return out;`)
		assert.Empty(t, found, "%v", size)
	}
}

// On a telephone the card says of each speed first what to expect, and nothing of it
// is to be scrolled sideways.
func TestTheCardInOneHand(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 390, 844, "light", "")
	js[bool](b, `document.getElementById("card").click(); return true;`)
	b.waitFor(`document.getElementById("cardView").open`, 3*time.Minute)
	assert.Empty(t, js[[]string](b, `
		const out = [], card = document.getElementById("cardBody");
		for (const e of card.querySelectorAll("*")) {
			const r = e.getBoundingClientRect();
			if (!e.closest("svg") && r.width && r.right > innerWidth + 1) out.push(e.tagName + " " + e.textContent.slice(0, 40) + " leaves the screen");
			if (e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).overflowX !== "visible") out.push(e.tagName + " scrolls sideways");
		}
		for (const row of card.querySelectorAll(".tow tbody tr")) {
			const cells = [...row.cells].filter((c) => c.getBoundingClientRect().width).map((c) => [c.getBoundingClientRect().top, c]);
			if (Math.min(...cells.map((c) => c[0])) < row.cells[row.cells.length - 1].getBoundingClientRect().top - 16) out.push(row.textContent.slice(0, 30) + ": what to expect does not stand first");
		}
		return out;`))
	shot, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	require.NoError(t, err)
	require.NoError(t, os.MkdirAll(screenshots, 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(screenshots, "card-390x844.png"), shot, 0o644))
}
