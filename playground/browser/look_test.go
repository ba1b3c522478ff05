package browser

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// axe returns the accessibility checker, fetched by npm into the user's cache.
func axe(t *testing.T) string {
	t.Helper()
	const version = "4.10.3"
	cache, err := os.UserCacheDir()
	need(t, err == nil, "no cache directory for axe-core")
	dir := filepath.Join(cache, "groundeffect-test")
	file := filepath.Join(dir, "axe-"+version+".js")
	if text, err := os.ReadFile(file); err == nil {
		return string(text)
	}
	require.NoError(t, os.MkdirAll(dir, 0o755))
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	pack := exec.CommandContext(ctx, "npm", "pack", "--silent", "axe-core@"+version)
	pack.Dir = t.TempDir()
	out, err := pack.CombinedOutput()
	need(t, err == nil, fmt.Sprintf("axe-core cannot be fetched with npm, so accessibility is not checked: %v %s", err, out))
	text, err := exec.CommandContext(ctx, "tar", "-xOzf", filepath.Join(pack.Dir, "axe-core-"+version+".tgz"), "package/axe.min.js").Output()
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(file, text, 0o644))
	return string(text)
}

// accessible fails for what axe finds serious on the page as it stands.
func (b *tab) accessible(source, state string) {
	b.t.Helper()
	_, err := chromedp.Run(b.ctx, chromedp.Evaluate[chromedp.Void]("if (!globalThis.axe) {"+source+"};0"))
	require.NoError(b.t, err)
	type violation struct {
		ID, Impact, Help string
		Nodes            []string
	}
	for _, v := range js[[]violation](b, `
		const r = await axe.run(document, {resultTypes: ["violations"]});
		return r.violations.map((v) => ({ID: v.id, Impact: v.impact, Help: v.help, Nodes: v.nodes.slice(0, 4).map((n) => n.html.slice(0, 160) + " " + n.failureSummary)}));`) {
		assert.Fail(b.t, state+": "+v.ID, "%s: %s\n%s", v.Impact, v.Help, strings.Join(v.Nodes, "\n"))
	}
}

// axe finds nothing on the page, in any dialog, step or state, by day and at night, on a
// large screen and on a telephone.
func TestAccessible(t *testing.T) {
	longWalk(t)
	t.Parallel()
	source := axe(t)
	for _, c := range []struct {
		name          string
		width, height int64
		scheme        string
	}{{"wide by day", 1440, 900, "light"}, {"wide at night", 1440, 900, "dark"}, {"narrow by day", 390, 844, "light"}, {"narrow at night", 390, 844, "dark"}} {
		t.Run(c.name, func(t *testing.T) {
			b := open(t, c.width, c.height, c.scheme, "")
			b.complete()
			b.accessible(source, "the page")
			js[bool](b, `for (const d of document.querySelectorAll("details")) d.open = true; return true;`)
			b.accessible(source, "everything open")
			b.set("wings[0].incidence_deg", "steep")
			b.accessible(source, "a field with what is no number")
			b.press("undo")
			b.set("wings[0].incidence_deg", "5")
			b.press("pin")
			js[bool](b, `document.querySelector("#sentence .term").click(); return true;`)
			b.accessible(source, "a term explained, a craft pinned")
			js[bool](b, `document.querySelector("#sentence .term").click(); for (const d of document.querySelectorAll("details")) d.open = false; return true;`)

			b.press("drawing")
			b.accessible(source, "drawing")
			b.press("drawingClose")
			b.press("toTrust")
			b.accessible(source, "how far to trust it")
			b.trusted()
			b.accessible(source, "how far to trust it, known")
			b.press("trustClose")
			b.press("bank")
			b.waitFor(`!!document.querySelector("#bankSheet svg")`, 2*time.Minute)
			b.accessible(source, "if a wing drops")
			b.set("bank_deg", "80")
			b.accessible(source, "a bank beyond the water")
			b.press("bankClose")
			b.press("runs")
			js[bool](b, `
				const data = new DataTransfer();
				data.setData("text", "speed_kmh\tclearance_m\tpilot_m\tnote\n" + Array.from({length: 6}, (_, i) => (50 + i) + "\t0.1" + i + "\t1.3" + i + "\tcalm").join("\n"));
				document.querySelector("#runsTable input").dispatchEvent(new ClipboardEvent("paste", {clipboardData: data, bubbles: true, cancelable: true}));
				return true;`)
			b.waitFor(`document.querySelector("#runsTable .says").textContent !== "" || !document.getElementById("runsProblem").hidden`, time.Minute)
			b.accessible(source, "log of runs")
			b.press("runsClose")
			js[bool](b, `[...document.querySelectorAll("#form button")].find((e) => e.textContent === "Weigh the craft").click(); const i = document.getElementById("weigh-scales"); i.value = "0.40:34.5,4.40:36.1"; i.dispatchEvent(new Event("input")); return true;`)
			b.waitFor(`!document.getElementById("weighTable").hidden`, time.Minute)
			b.accessible(source, "weighing")
			js[bool](b, `const i = document.getElementById("weigh-scales"); i.value = "0.40"; i.dispatchEvent(new Event("input")); return true;`)
			b.waitFor(`document.getElementById("weigh-scales").hasAttribute("aria-invalid") || !document.getElementById("weighProblem").hidden`, time.Minute)
			b.accessible(source, "weighing, a slip")
			b.press("weighClose")
			b.press("card")
			b.waitFor(`document.getElementById("cardView").open`, 3*time.Minute)
			b.accessible(source, "tow card")
			b.press("cardLog")
			b.accessible(source, "log sheet")
			b.press("cardClose")
			b.press("why")
			for range 8 {
				b.settle()
				js[bool](b, `await new Promise((f) => setTimeout(f, 100)); return true;`)
				b.accessible(source, "walk "+b.text("#walkTitle"))
				b.press("walkNext")
			}
			b.press("begin")
			for range 8 {
				b.settle()
				b.accessible(source, "first craft "+b.text("#firstTitle"))
				if strings.HasPrefix(b.text("#firstTitle"), "8") {
					break
				}
				b.press("firstNext")
			}
		})
	}
}

// screenshots is where pictures for people to look at go; git does not keep it.
const screenshots = "../screens"

func TestScreenshots(t *testing.T) {
	longWalk(t)
	t.Parallel()
	require.NoError(t, os.MkdirAll(screenshots, 0o755))
	b := look(t, 1440, 900, "light")
	b.trusted() // what stands there once all is said
	for _, size := range [][2]int64{{1440, 900}, {390, 844}} {
		for _, scheme := range []string{"light", "dark"} {
			b.face(size[0], size[1], scheme)
			b.rest()
			assert.LessOrEqual(t, js[float64](b, `return document.documentElement.scrollWidth;`), float64(size[0]), "the page is wider than the screen")
			shot, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(filepath.Join(screenshots, fmt.Sprintf("%dx%d-%s.png", size[0], size[1], scheme)), shot, 0o644))
			names := js[[]string](b, `
				// Names in the picture that lie on each other, or on the pilot.
				const t = [...document.querySelectorAll("#picture svg [data-label], #picture svg [data-line], #picture svg [data-part]")].map((e) => [e.textContent || e.dataset.part, e.getBoundingClientRect()]);
				const out = [];
				t.forEach(([a, r], i) => t.slice(i + 1).forEach(([b, q]) => {
					if (Math.min(r.right, q.right) - Math.max(r.left, q.left) > 3 && Math.min(r.bottom, q.bottom) - Math.max(r.top, q.top) > 4) out.push(a + " / " + b);
				}));
				return out;`)
			assert.Empty(t, names, "names on each other")
		}
	}
}

// A term opens its explanation by pointer and by keyboard, and the text stays as it is.
func TestTermsAreExplained(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := look(t, 390, 844, "light")
	b.complete()
	sentence := b.text("#sentence")
	assert.NotContains(t, sentence, "\n")
	assert.GreaterOrEqual(t, js[int](b, `return document.querySelectorAll("#sentence .term").length;`), 1)
	for _, name := range []string{"Centre of pressure", "Pitch neutral point", "Height neutral point", "Clearance", "CG"} {
		assert.Equal(t, 1, js[int](b, fmt.Sprintf(`return [...document.querySelectorAll("#readouts .term")].filter((e) => e.textContent === %q).length;`, name)), name)
	}
	shown := func() string {
		return js[string](b, `const e = document.getElementById("term"); return e.hidden ? "" : e.textContent;`)
	}
	inside := func() bool {
		return js[bool](b, `const r = document.getElementById("term").getBoundingClientRect(); return r.left >= 0 && r.right <= innerWidth && r.top >= 0 && r.bottom <= innerHeight;`)
	}
	b.do(chromedp.Click("#sentence .term"))
	assert.NotEmpty(t, shown())
	assert.True(t, inside(), "on the screen")
	assert.Equal(t, sentence, b.text("#sentence"))
	b.do(chromedp.Click("#sentence .term"))
	assert.Empty(t, shown(), "the same word closes it")
	js[bool](b, `[...document.querySelectorAll("#readouts .term")].find((e) => e.textContent === "Centre of pressure").focus(); return true;`)
	b.do(chromedp.KeyEvent("\r"))
	assert.Contains(t, shown(), "where all lift together acts")
	assert.True(t, inside(), "on the screen")
	b.do(chromedp.KeyEvent("\u001b"))
	assert.Empty(t, shown())
	assert.Equal(t, "Centre of pressure", js[string](b, `return document.activeElement.textContent;`), "the focus is back")
}
