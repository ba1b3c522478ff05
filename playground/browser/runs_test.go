package browser

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
)

// Runs are typed or pasted, each with its prediction beside it; the correction is
// switched on and off, and the log goes with the craft.
func TestLogOnThePage(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 390, 844, "light", "")
	js[bool](b, `const s = document.getElementById("ready"); s.value = "teal-tandem"; s.dispatchEvent(new Event("change")); return true;`)
	b.complete()
	plain := b.text("#sentence")
	js[bool](b, `document.getElementById("runs").click(); return true;`)
	waitFor := func(what string) {
		_, err := chromedp.Run(b.ctx, chromedp.Poll[bool](what, chromedp.WithPollingTimeout(30*time.Second)))
		require.NoError(t, err, what)
	}
	cell := func(row, column int, text string) {
		js[bool](b, fmt.Sprintf(`const i = document.querySelectorAll("#runsTable tbody tr")[%d].querySelectorAll("input")[%d]; i.value = %q; i.dispatchEvent(new Event("input")); i.dispatchEvent(new Event("change")); return true;`, row, column, text))
	}
	cell(0, 0, "62")
	cell(0, 1, "high")
	cell(0, 2, "1.5")
	waitFor(`!document.getElementById("runsProblem").hidden`)
	assert.Contains(t, b.text("#runsProblem"), "Line 2")
	cell(0, 1, "0.2")
	waitFor(`document.querySelector("#runsTable .says").textContent !== ""`)
	assert.Regexp(t, `^\d\.\d\d m$`, b.text("#runsTable .says"))
	assert.Contains(t, b.text("#runsSaid"), "runs", "one run is too few for a fit")
	assert.True(t, js[bool](b, `return document.getElementById("runsUse").disabled;`))

	text, err := os.ReadFile("../../examples/logbook/testdata/invented_runs.csv")
	require.NoError(t, err)
	js[bool](b, fmt.Sprintf(`
		const data = new DataTransfer();
		data.setData("text", %q);
		document.querySelector("#runsTable input").dispatchEvent(new ClipboardEvent("paste", {clipboardData: data, bubbles: true, cancelable: true}));
		return true;`, string(text)))
	waitFor(`!document.getElementById("runsUse").disabled`)
	assert.Equal(t, strings.Count(strings.TrimSpace(string(text)), "\n"), js[int](b, `return document.querySelectorAll("#runsTable tbody tr").length;`))
	assert.Contains(t, b.text("#runsSaid"), "lift factor")
	assert.Contains(t, b.text("#runsSaid"), "wind", "a column that is not used is named")
	assert.Positive(t, js[int](b, `return document.querySelectorAll("#runsPicture svg path").length;`))
	assert.LessOrEqual(t, js[float64](b, `return Math.max(...[...document.querySelectorAll("#runsView *")].map((e) => e.getBoundingClientRect().right));`), 391., "nothing leaves the screen")
	shot, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	require.NoError(t, err)
	require.NoError(t, os.MkdirAll(screenshots, 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(screenshots, "log-390x844.png"), shot, 0o644))

	// How exact the readings are is the owner's to say; at first it is what the library takes
	// for usual.
	said := b.text("#runsSaid")
	usual := js[bool](b, `
		const { answers, page, question } = await import("/js/page.js");
		const ask = async (more) => JSON.stringify((await answers.ask("log", {...question(), fidelity: "fine", text: page.state.now.log, ...more}, {lane: "fine", topic: "test"})).estimates);
		const shown = Object.fromEntries([...document.querySelectorAll("#runsAccuracy .control")].map((c) => [c.dataset.path.split(".")[1], parseFloat(c.querySelector("input").value)]));
		shown.speed_mps /= 3.6;
		const near = (a, b) => Math.abs(a - b) < 1e-3;
		if (!near(shown.speed_mps, 0.3) || shown.clearance_m !== 0.05 || shown.pilot_m !== 0.02 || shown.pitch_deg !== 0.5) return false;
		return await ask({}) === await ask({log_accuracy: {speed_mps: 0.3, clearance_m: 0.05, pilot_m: 0.02, pitch_deg: 0.5}});`)
	assert.True(t, usual)
	js[bool](b, `document.querySelector("#runsExact").open = true; return true;`)
	b.set("log_accuracy.clearance_m", "0.15")
	_, err = chromedp.Run(b.ctx, chromedp.Poll[bool](fmt.Sprintf(`document.getElementById("runsSaid").textContent !== %q`, said), chromedp.WithPollingTimeout(30*time.Second)))
	require.NoError(t, err, "another accuracy, another fit")
	exact := b.text("#runsSaid")
	assert.Contains(t, exact, "lift factor")
	b.set("log_accuracy.speed_mps", "0")
	waitFor(`!document.querySelector('[data-path="log_accuracy.speed_mps"] .problem').hidden`)
	assert.Contains(t, b.text(`[data-path="log_accuracy.speed_mps"] .problem`), "the accuracy of the speed is 0 km/h")
	b.set("log_accuracy.speed_mps", "1.08")
	waitFor(`document.querySelector('[data-path="log_accuracy.speed_mps"] .problem').hidden`)
	b.set("log_accuracy.clearance_m", "0.05")
	_, err = chromedp.Run(b.ctx, chromedp.Poll[bool](fmt.Sprintf(`document.getElementById("runsSaid").textContent === %q`, said), chromedp.WithPollingTimeout(30*time.Second)))
	require.NoError(t, err)
	b.set("log_accuracy.pilot_m", "0.03")

	js[bool](b, `document.getElementById("runsUse").click(); return true;`)
	waitFor(`/corrected by/.test(document.getElementById("runsSaid").textContent)`)
	b.complete()
	assert.Contains(t, b.text("#sentence"), "corrected by")
	kept := js[string](b, `
		const made = [], old = URL.createObjectURL;
		URL.createObjectURL = (blob) => { made.push(blob); return old.call(URL, blob); };
		document.getElementById("runsKeep").click();
		document.getElementById("save").click();
		URL.createObjectURL = old;
		return JSON.stringify(await Promise.all(made.map((m) => m.text())));`)
	var files []string
	require.NoError(t, json.Unmarshal([]byte(kept), &files))
	assert.Equal(t, strings.TrimSpace(string(text)), strings.TrimSpace(files[0]), "the CSV is what was pasted")
	c, err := gecp.Read(bytes.NewReader([]byte(files[1])))
	require.NoError(t, err)
	require.NotNil(t, c.Correction)
	assert.True(t, c.Correction.On)
	assert.Contains(t, files[1], `"log":`)
	assert.Contains(t, files[1], `"pilot_m": 0.03`, "how exact the readings are goes with it")
	js[bool](b, `document.getElementById("runsUse").click(); return true;`)
	b.complete()
	assert.Equal(t, plain, b.text("#sentence"), "switched off, the calculation is as it was")

	// It is there again after a reload.
	time.Sleep(400 * time.Millisecond)
	b.do(chromedp.Reload())
	b.settle()
	js[bool](b, `document.getElementById("runs").click(); return true;`)
	assert.Greater(t, js[int](b, `return document.querySelectorAll("#runsTable tbody tr").length;`), 6)
	assert.Equal(t, "0.03", js[string](b, `return document.querySelector('[data-path="log_accuracy.pilot_m"] input').value;`))
}
