package browser

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/design"
	"example.org/groundeffect/gecp/tow"
	"example.org/groundeffect/playground/exchange"
)

// small is an invented craft of thin wings, at a speed, m/s.
const small = `{"name":"Small","wings":[
	{"name":"front","x_m":0,"z_m":0,"incidence_deg":8.5,"stations":[{"y_m":0,"chord_m":2.2},{"y_m":3.2,"chord_m":1.2}]},
	{"name":"rear","x_m":4.45,"z_m":0.6,"incidence_deg":6,"stations":[{"y_m":0,"chord_m":2.3},{"y_m":3.2,"chord_m":2.05}],"camber":{"height":0.015,"at":0.5}}],
	"weights":[{"name":"structure","mass_kg":86,"x_m":3.08,"z_m":0.25}],
	"pilot":{"mass_kg":76,"x_forward_m":1.15,"x_aft_m":1.95,"z_m":0.5},
	"tow":{"x_m":0.3,"z_m":0.5,"boat_height_m":1.0,"line_m":30,"boat_length_m":6},
	"floats":[{"x_m":0.8,"z_m":-0.34},{"x_m":5.6,"z_m":-0.53}],
	"view":{"speed_mps":%v,"limit_m":0.6}}`

// tooSlow is a speed at which the small craft has no height to be towed at, the highest
// such, m/s.
func tooSlow(t *testing.T) float64 {
	t.Helper()
	c, err := gecp.Read(strings.NewReader(fmt.Sprintf(small, 1)))
	require.NoError(t, err)
	m, err := gecp.NewModel(c, (&exchange.Question{Fidelity: "coarse"}).Mesh())
	require.NoError(t, err)
	f, err := m.BuildMap(t.Context(), gecp.MapOptions{})
	require.NoError(t, err)
	for v := 16.; v > 10; v -= .1 {
		a, err := design.Question{Speed: v, Rules: tow.Rules{OwnLimit: .6}}.Ask(t.Context(), f)
		require.NoError(t, err)
		if !a.Range.OK {
			return v
		}
	}
	require.Fail(t, "the small craft is towed at any speed")
	return 0
}

// waitFor waits until an expression of the page is true.
func (b *tab) waitFor(what string, most time.Duration) {
	b.t.Helper()
	_, err := chromedp.Run(b.ctx, chromedp.Poll[bool](what, chromedp.WithPollingTimeout(most), chromedp.WithPollingInterval(20*time.Millisecond)))
	require.NoError(b.t, err, what)
}

// shoot takes a picture of what is on the screen, for people to look at.
func (b *tab) shoot(name string) {
	b.t.Helper()
	require.NoError(b.t, os.MkdirAll(screenshots, 0o755))
	shot, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	require.NoError(b.t, err)
	require.NoError(b.t, os.WriteFile(filepath.Join(screenshots, name+".png"), shot, 0o644))
}

// press clicks a button by its id, wherever it is on the page.
func (b *tab) press(id string) {
	b.t.Helper()
	js[bool](b, fmt.Sprintf(`document.getElementById(%q).click(); return true;`, id))
}

// load opens a craft file on the page.
func (b *tab) load(text string) {
	b.t.Helper()
	file := filepath.Join(b.t.TempDir(), "craft.json")
	require.NoError(b.t, os.WriteFile(file, []byte(text), 0o600))
	js[bool](b, `document.getElementById("said").textContent = ""; return true;`)
	b.do(chromedp.SetUploadFiles("#file", []string{file}, chromedp.NodeReady))
	b.waitFor(`/is open/.test(document.getElementById("said").textContent)`, 20*time.Second)
	b.settle()
}

// What a step of each dimension does is ranked and stands beside its field; where the
// craft lacks a height, the smallest changes that give it one are named. Each is tried
// by one press and taken back by undo.
func TestWhatToChange(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	b.load(fmt.Sprintf(small, tooSlow(t)))
	assert.NotContains(t, js[string](b, `return performance.getEntriesByType("resource").map((e) => e.name).join(" ");`), "changes.wasm", "it is not loaded before it is asked")
	was := b.craft()
	step := func(path string) string {
		return js[string](b, fmt.Sprintf(`const e = document.querySelector('#form [data-path="%s"] .step'); return !e || e.hidden ? "" : e.textContent;`, path))
	}
	assert.Empty(t, step("wings[0].incidence_deg"))
	b.press("changesRough")
	b.press("changesGo")
	b.waitFor(`/\d+ %, about \d+ (s|min) left/.test(document.getElementById("changesState").textContent)`, 60*time.Second)
	b.waitFor(`!document.getElementById("changesSteps").hidden`, 6*time.Minute)
	b.waitFor(`document.querySelectorAll("#changesAdvice li").length > 0`, 6*time.Minute)
	assert.True(t, js[bool](b, `return document.getElementById("changesStop").hidden && document.getElementById("changesProblem").hidden;`))
	source := axe(t)
	b.accessible(source, "what to change")
	b.press("toChanges")
	b.shoot("changes-1440x900-light")
	_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: "dark"}}})
	require.NoError(t, err)
	b.do(chromedp.EmulateViewport(390, 844))
	b.press("toChanges")
	b.shoot("changes-390x844-dark")
	b.accessible(source, "what to change, at night")
	assert.LessOrEqual(t, js[float64](b, `return document.documentElement.scrollWidth - innerWidth;`), 0., "nothing leaves the screen")
	b.do(chromedp.EmulateViewport(1440, 900))

	// Ranked: the sizes of the first column fall, but for those without a figure at the end.
	sizes := js[[]float64](b, `return [...document.querySelectorAll("#changesTable tbody tr")].map((r) => Math.abs(parseFloat(r.cells[1].textContent.replace("−", "-"))) || 0);`)
	require.Greater(t, len(sizes), 30)
	for i := 1; i < len(sizes); i++ {
		assert.LessOrEqual(t, sizes[i], sizes[i-1], "row %d", i)
	}
	assert.Positive(t, sizes[0])
	for path, want := range map[string]string{
		"wings[0].incidence_deg": "^0.5° more: .*window [+−]", "wings[1].x_m": "^10 mm more: ", "wings[0].span": "^10 mm more: ", "wings[0].le_x_m": "^0.5° more: ",
		"wings[1].stations[0].chord_m": "^all chords 10 mm more: ", "wings[1].stations[1].twist_deg": "^the tip by 0.5° more: ", "weights[0].mass_kg": "^1 kg more: ", "tow.line_m": " more: ",
	} {
		assert.Regexp(t, want, step(path), path)
	}
	// In other units, without asking anew.
	b.press("units")
	assert.Regexp(t, `mph`, step("wings[0].incidence_deg"))
	assert.Regexp(t, `mph|in`, b.text("#changesTable tbody tr"))
	b.press("units")

	tryIt := func(selector string) {
		js[bool](b, fmt.Sprintf(`document.querySelector(%q).click(); return true;`, selector))
		b.settle()
	}
	tryIt("#changesAdvice li button")
	first := b.craft()
	assert.NotEqual(t, was, first)
	assert.False(t, js[bool](b, `return document.getElementById("changesOld").hidden;`), "what is shown is of the craft as it was")
	assert.Empty(t, step("wings[0].incidence_deg"), "and no step stands beside a field of another craft")
	tryIt("#changesTable tbody button") // another in its place
	second := b.craft()
	assert.NotEqual(t, first, second)
	both, err := json.Marshal(second)
	require.NoError(t, err)
	assert.NotRegexp(t, `\d\.\d{7}`, string(both), "no digits that nobody sets")
	b.do(chromedp.Focus("#changesGo"), chromedp.KeyEvent("z", chromedp.KeyModifiers(2)))
	b.settle()
	assert.Equal(t, first, b.craft(), "Ctrl+Z takes one press back")
	b.do(chromedp.KeyEvent("z", chromedp.KeyModifiers(2)))
	b.settle()
	assert.Equal(t, was, b.craft())
	assert.True(t, js[bool](b, `return document.getElementById("changesOld").hidden;`), "it is the craft found again")
	assert.NotEmpty(t, step("wings[0].incidence_deg"))
	b.set("wings[0].incidence_deg", "7.7")
	b.settle()
	assert.Zero(t, js[int](b, `return document.querySelectorAll("#changes [data-try]:not(:disabled)").length;`), "no press may throw away what was edited since")
}

// What builds of the craft do is drawn in the picture, in words and in the chart of the
// pilot's place; not over another craft.
func TestBuildsInThePicture(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 390, 844, "light", "")
	b.load(fmt.Sprintf(small, 15))
	drawn := func() string {
		return js[string](b, `return [...document.querySelectorAll("#picture [data-built], .chart [data-area]")].map((e) => e.dataset.built ?? "chart").join(" ");`)
	}
	assert.Empty(t, drawn())
	b.press("changesRough")
	b.press("changesBuild")
	b.waitFor(`!document.getElementById("changesBuilt").hidden`, 6*time.Minute)
	assert.Contains(t, b.text("#changesBuilt"), "Of 100 such builds")
	assert.Equal(t, "let_go pilot chart", drawn())
	assert.Empty(t, js[[]string](b, collisions))
	assert.Equal(t, 1, js[int](b, `return document.querySelectorAll("#picture [data-built-name]").length;`))
	js[bool](b, `scrollTo(0, 0); return true;`)
	b.shoot("builds-390x844-light")
	b.press("changesDrawn")
	assert.Empty(t, drawn())
	b.press("changesDrawn")
	b.set("wings[1].incidence_deg", "6.5")
	b.settle()
	assert.Empty(t, drawn(), "of another craft")
	assert.Contains(t, b.text("#changesBuilt"), "of the earlier one")
	b.press("undo")
	b.settle()
	assert.Equal(t, "let_go pilot chart", drawn())
}

// A calculation that takes long says how far it is, and ends at once when it is told to
// or when the craft changes.
func TestStoppingTheChanges(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	js[bool](b, `globalThis.ended = 0; const end = Worker.prototype.terminate; Worker.prototype.terminate = function () { globalThis.ended++; return end.call(this); }; return true;`)
	state := func() string { return b.text("#changesState") }
	for i, stop := range []func(){
		func() { b.press("changesStop") },
		func() { b.set("speed_mps", "48") },
	} {
		b.press("changesGo")
		b.waitFor(`/about \d+ (s|min) left/.test(document.getElementById("changesState").textContent)`, 2*time.Minute)
		assert.False(t, js[bool](b, `return document.getElementById("changesProgress").hidden;`))
		begun := time.Now()
		stop()
		assert.True(t, strings.HasPrefix(state(), "Stopped"), state())
		assert.Equal(t, i+1, js[int](b, `return globalThis.ended;`), "the worker is gone")
		assert.True(t, js[bool](b, `return document.getElementById("changesProgress").hidden && document.getElementById("changesStop").hidden;`))
		t.Logf("stopped after %v", time.Since(begun))
	}
	b.settle()
	assert.Empty(t, b.text("#changesProblem"))
}
