package browser

import (
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

// What matters at first sight is on the first screen: lift-off, the time to react, and
// whether the pilot is where they must be, in words and in the picture.
func TestFirstLook(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	b.complete()
	facts := b.text("#facts")
	for _, name := range []string{"Lifts off at", "Holds a height up to", "Time to react at"} {
		assert.Contains(t, facts, name)
	}
	assert.Regexp(t, `Lifts off at(\d+\.\d km/h|not at all)`, facts)
	assert.True(t, js[bool](b, `return document.getElementById("facts").getBoundingClientRect().bottom < innerHeight;`))

	balance := func() string {
		return js[string](b, `const e = document.getElementById("balance"); return e.hidden ? "" : e.textContent;`)
	}
	picture := func() string { return b.text("#picture [data-verdict]") }
	assert.Empty(t, balance(), "the pilot is where needed")
	assert.Empty(t, picture())
	needed := number(t, b.readout("pilot_needed_m"))
	for shift, words := range map[float64]string{.2: "nose rises: move 0.2", -.2: "nose sinks: move 0.2"} {
		b.set("pilot_x_m", fmt.Sprintf("%.2f", needed+shift))
		b.settle()
		assert.Contains(t, balance(), words)
		assert.Contains(t, picture(), words)
		assert.True(t, strings.HasSuffix(balance(), picture()+"."), "both say the same")
	}
	b.set("pilot_x_m", fmt.Sprintf("%.2f", needed+.2))
	js[bool](b, `const r = document.querySelector('[data-path="clearance_m"] input[type=range]'); r.value = 0.05; r.dispatchEvent(new Event("input", {bubbles: true})); await new Promise(requestAnimationFrame); await new Promise(requestAnimationFrame); return true;`)
	assert.Contains(t, balance(), "At 0.05", "it follows the hand")
	b.complete()

	// Read aloud once, when the hand rests.
	assert.Empty(t, js[[]string](b, `return [...document.querySelectorAll("#sentence, #balance, #facts, #window, #notes")].filter((e) => e.getAttribute("aria-live")).map((e) => e.id);`))
	spoken := js[int](b, `
		let n = 0;
		new MutationObserver(() => n++).observe(document.getElementById("spoken"), {childList: true, characterData: true, subtree: true});
		const r = document.querySelector('[data-path="speed_mps"] input[type=range]');
		for (let i = 0; i < 12; i++) { r.stepUp(); r.dispatchEvent(new Event("input", {bubbles: true})); await new Promise((f) => setTimeout(f, 30)); }
		r.dispatchEvent(new Event("change", {bubbles: true}));
		for (let i = 0; i < 1500 && document.body.dataset.towing !== "known"; i++) await new Promise((f) => setTimeout(f, 20));
		await new Promise((f) => setTimeout(f, 100));
		return n;`)
	assert.Equal(t, 1, spoken)
	assert.Contains(t, b.text("#spoken"), b.text("#sentence"))
}

// A wing beyond its section's limit, and a coarse picture, are told in the sentence.
func TestTheSentenceSaysWhatToDoubt(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	b.set("pitch_deg", "12")
	b.settle()
	assert.Contains(t, b.text("#sentence"), "too good to be true")
	assert.NotContains(t, b.text("#notes"), "too good to be true")
	b.set("pitch_deg", "2")
	b.settle()
	assert.NotContains(t, b.text("#sentence"), "too good to be true")
	said := js[[]string](b, `
		const out = [], e = document.getElementById("sentence");
		new MutationObserver(() => out.push(e.textContent)).observe(e, {childList: true, characterData: true, subtree: true});
		const r = document.querySelector('[data-path="wings[0].incidence_deg"] input[type=range]');
		r.stepUp(); r.dispatchEvent(new Event("input", {bubbles: true})); r.dispatchEvent(new Event("change", {bubbles: true}));
		await new Promise((f) => setTimeout(f, 30));
		for (let i = 0; i < 6000 && document.body.dataset.state !== "settled"; i++) await new Promise((f) => setTimeout(f, 20));
		return [...out, e.textContent];`)
	assert.Contains(t, strings.Join(said[:len(said)-1], "\n"), "Coarse")
	assert.NotContains(t, said[len(said)-1], "Coarse", "at rest it is fine")
}

// A saved file keeps the view too, for this page; the craft in it is the same to all.
func TestSavedFilesKeepTheView(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	b.do(chromedp.Click("#pin"))
	b.set("pilot.mass_kg", "71.5")
	b.set("speed_mps", "54")
	b.set("limit_m", "0.45")
	b.set("clearance_m", "0.33")
	b.settle()
	ghost := func() int {
		return js[int](b, `return document.querySelectorAll("#readouts .delta:not(:empty)").length;`)
	}
	require.Positive(t, ghost())
	saved := js[string](b, `
		const made = [], old = URL.createObjectURL;
		URL.createObjectURL = (blob) => { made.push(blob); return old.call(URL, blob); };
		document.getElementById("save").click();
		URL.createObjectURL = old;
		return made[0].text();`)
	c, err := gecp.Read(strings.NewReader(saved))
	require.NoError(t, err)
	assert.Equal(t, 71.5, c.Pilot.Mass)
	var kept struct {
		View struct {
			Speed float64 `json:"speed_mps"`
			Limit float64 `json:"limit_m"`
			Pin   struct {
				Craft map[string]any
			}
		}
	}
	require.NoError(t, json.Unmarshal([]byte(saved), &kept))
	assert.InDelta(t, 15, kept.View.Speed, 1e-5)
	assert.Equal(t, .45, kept.View.Limit)
	assert.Equal(t, "Reedling", kept.View.Pin.Craft["name"])

	// The pin is there again after a reload.
	pinned := func() bool {
		return js[bool](b, `for (let i = 0; i < 400 && !document.querySelectorAll("#readouts .delta:not(:empty)").length; i++) await new Promise((f) => setTimeout(f, 20));
			return document.getElementById("pin").textContent === "Unpin" && document.querySelectorAll("#readouts .delta:not(:empty)").length > 0;`)
	}
	time.Sleep(400 * time.Millisecond)
	b.do(chromedp.Reload())
	b.settle()
	assert.True(t, pinned(), "after a reload")

	// And after the file is opened on a page that shows something else.
	file := filepath.Join(t.TempDir(), "reedling.json")
	require.NoError(t, os.WriteFile(file, []byte(saved), 0o600))
	b.do(chromedp.Click("#pin"))
	js[bool](b, `const s = document.getElementById("ready"); s.value = "teal-tandem"; s.dispatchEvent(new Event("change")); return true;`)
	b.settle()
	b.do(chromedp.SetUploadFiles("#file", []string{file}, chromedp.NodeReady))
	_, err = chromedp.Run(b.ctx, chromedp.Poll[bool](`document.querySelector('[data-path="name"] input').value === "Reedling"`))
	require.NoError(t, err)
	b.settle()
	assert.Equal(t, 54., number(t, b.field("speed_mps")))
	assert.Equal(t, .45, number(t, b.field("limit_m")))
	assert.Equal(t, .33, number(t, b.field("clearance_m")))
	assert.True(t, pinned(), "from the file")
}
