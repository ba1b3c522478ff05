package browser

import (
	"bytes"
	"compress/flate"
	"encoding/base64"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"fmt"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
)

// linked is what a link carries.
type linked struct {
	Craft      json.RawMessage `json:"craft"`
	SpeedMPS   float64         `json:"speed_mps"`
	PitchDeg   *float64        `json:"pitch_deg"`
	PilotXM    *float64        `json:"pilot_x_m"`
	LimitM     float64         `json:"limit_m"`
	ClearanceM float64         `json:"clearance_m"`
	TopM       float64         `json:"top_m"`
	Units      string          `json:"units"`
}

// link presses "Link" and returns the fragment and what it carries.
func (b *tab) link() (string, linked) {
	b.t.Helper()
	fragment := js[string](b, `
		const before = location.hash;
		history.replaceState(null, "", "#");
		document.getElementById("link").click();
		for (let i = 0; i < 200 && !location.hash; i++) await new Promise((f) => setTimeout(f, 10));
		return location.hash;`)
	packed, ok := strings.CutPrefix(fragment, "#craft=")
	require.True(b.t, ok, "no craft in %q", fragment)
	z, err := base64.RawURLEncoding.DecodeString(packed)
	require.NoError(b.t, err)
	text, err := io.ReadAll(flate.NewReader(bytes.NewReader(z)))
	require.NoError(b.t, err)
	var l linked
	require.NoError(b.t, json.Unmarshal(text, &l))
	return fragment, l
}

func (b *tab) craft() map[string]any {
	b.t.Helper()
	_, l := b.link()
	var m map[string]any
	require.NoError(b.t, json.Unmarshal(l.Craft, &m))
	return m
}

func TestABadFileSaysWhy(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	before := b.craft()
	const text = `{"name": "Heron", "wings": [{"name": "only", "x_m": 0, "z_m": 0, "incidence_deg": 5, "stations": [{"y_m": 0, "chord_m": -1}, {"y_m": 2, "chord_m": 1}]}], "colour": "grey"}`
	_, err := gecp.Read(strings.NewReader(text))
	require.Error(t, err)
	file := filepath.Join(t.TempDir(), "heron.json")
	require.NoError(t, os.WriteFile(file, []byte(text), 0o600))
	b.do(chromedp.SetUploadFiles("#file", []string{file}, chromedp.NodeReady))
	_, err2 := chromedp.Run(b.ctx, chromedp.Poll[bool](`!document.getElementById("notice").hidden`))
	require.NoError(t, err2)
	said := b.text("#notice")
	for _, p := range err.(gecp.Problems) {
		assert.Contains(t, said, p.Text)
	}
	assert.Equal(t, before, b.craft(), "the craft on the page stays")
}

func TestSavedFilesOpenAgain(t *testing.T) {
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	b.set("pilot.mass_kg", "71.5")
	b.settle()
	saved := js[string](b, `
		const made = [], old = URL.createObjectURL;
		URL.createObjectURL = (blob) => { made.push(blob); return old.call(URL, blob); };
		document.getElementById("save").click();
		URL.createObjectURL = old;
		return made[0].text();`)
	c, err := gecp.Read(strings.NewReader(saved))
	require.NoError(t, err)
	assert.Equal(t, 71.5, c.Pilot.Mass)
}

func TestKeepsPicturesAndTables(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 390, 844, "dark", "")
	kept := func(id string) string {
		t.Helper()
		return js[string](b, fmt.Sprintf(`
			const made = [], old = URL.createObjectURL;
			URL.createObjectURL = (blob) => { made.push(blob); return old.call(URL, blob); };
			document.getElementById(%q).click();
			for (let i = 0; i < 500 && !made.some((m) => m.type === %q); i++) await new Promise((f) => setTimeout(f, 20));
			URL.createObjectURL = old;
			const bytes = new Uint8Array(await made.find((m) => m.type === %[2]q).arrayBuffer());
			let s = ""; for (const x of bytes) s += String.fromCharCode(x);
			return btoa(s);`, id, map[string]string{"csv": "text/csv", "svg": "image/svg+xml", "png": "image/png"}[id]))
	}
	bytesOf := func(id string) []byte {
		v, err := base64.StdEncoding.DecodeString(kept(id))
		require.NoError(t, err)
		return v
	}
	table, err := csv.NewReader(bytes.NewReader(bytesOf("csv"))).ReadAll()
	require.NoError(t, err)
	assert.Len(t, table, 49)

	drawing := bytesOf("svg")
	d := xml.NewDecoder(bytes.NewReader(drawing))
	for {
		if _, err := d.Token(); err == io.EOF {
			break
		} else {
			require.NoError(t, err)
		}
	}
	said := strings.Join(strings.Fields(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(string(drawing), " ")), " ")
	assert.Contains(t, said, "Prove the craft with a small model", "the cautions are on it")
	assert.NotContains(t, string(drawing), "var(--", "it needs no style of the page")

	img, err := png.DecodeConfig(bytes.NewReader(bytesOf("png")))
	require.NoError(t, err)
	assert.Greater(t, img.Width, 2000)
}

func TestTowCard(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "dark", "")
	b.do(chromedp.Click("#card"))
	b.waitFor(`document.getElementById("cardView").open`, 3*time.Minute)
	text := b.text("#cardBody")
	assert.Contains(t, text, "Tow card of Reedling")
	assert.Contains(t, text, gecp.Cautions)
	assert.Equal(t, 1, js[int](b, `return document.querySelectorAll("#cardBody .below svg").length;`))
	paper, err := chromedp.Run(b.ctx, chromedp.PrintToPDF())
	require.NoError(t, err)
	sheets := bytes.Count(paper, []byte("/Type /Page\n")) + bytes.Count(paper, []byte("/Type /Page "))
	t.Logf("%d sheet(s) of Letter paper", sheets)
	assert.True(t, sheets == 1 || sheets == 2, "%d sheets: the page's own parts must not be on them", sheets)
	require.NoError(t, os.MkdirAll(screenshots, 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(screenshots, "tow-card.pdf"), paper, 0o644))
	b.do(chromedp.Click("#cardLog"))
	log := b.text("#cardBody")
	assert.Contains(t, log, "Log of runs of Reedling")
	assert.Contains(t, log, "what happened")
	b.do(chromedp.Click("#cardLog"))
	assert.Equal(t, text, b.text("#cardBody"), "and back")
	js[bool](b, `document.getElementById("cardClose").click(); return true;`)
}

// What scales say is the library's, and it can be taken over and back.
func TestWeighing(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	js[bool](b, `[...document.querySelectorAll("#form button")].find((b) => b.textContent === "Weigh the craft").click(); return true;`)
	typeIn := func(key, text string) {
		js[bool](b, fmt.Sprintf(`const i = document.getElementById("weigh-%s"); i.value = %q; i.dispatchEvent(new Event("input")); return true;`, key, text))
	}
	waitFor := func(what string) {
		_, err := chromedp.Run(b.ctx, chromedp.Poll[bool](what, chromedp.WithPollingTimeout(20*time.Second)))
		require.NoError(t, err, what)
	}
	waitFor(`document.querySelectorAll("#weighSteps li").length === 5`)
	typeIn("scales", "0.40")
	waitFor(`!document.getElementById("weigh-scales-e").hidden`)
	assert.Contains(t, b.text("#weigh-scales-e"), "give place and reading as in 0.40:38.5")
	typeIn("angle_deg", "steep")
	assert.Contains(t, b.text("#weigh-angle_deg-e"), "“steep” is not a number")
	typeIn("angle_deg", "15")
	typeIn("scales", "0.40:34.5,4.40:36.1")
	waitFor(`!document.getElementById("weighTake").disabled`)
	assert.Contains(t, b.text("#weighTable"), "70.6 kg")
	assert.Contains(t, b.text("#weighSaid"), "For the same centre of gravity in flight")
	buf, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	require.NoError(t, err)
	require.NoError(t, os.MkdirAll(screenshots, 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(screenshots, "weighing.png"), buf, 0o644))
	js[bool](b, `document.getElementById("weighTake").click(); return true;`)
	b.settle()
	_, l := b.link()
	c, err := gecp.Read(bytes.NewReader(l.Craft))
	require.NoError(t, err)
	require.Len(t, c.Weights, 1)
	assert.InDelta(t, 70.6, c.Weights[0].Mass, 1e-6)
	b.do(chromedp.Click("#undo"))
	b.settle()
	_, l = b.link()
	c, err = gecp.Read(bytes.NewReader(l.Craft))
	require.NoError(t, err)
	assert.Equal(t, gecp.Demo(), c)
}

func TestLinkCarriesTheCraft(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	js[bool](b, `const s = document.getElementById("ready"); s.selectedIndex = 2; s.dispatchEvent(new Event("change")); return true;`)
	b.settle()
	b.set("wings[0].incidence_deg", "4.7")
	b.set("speed_mps", "51.3")
	b.set("clearance_m", "0.21")
	b.settle()
	b.complete()
	fragment, sent := b.link()
	other := open(t, 1440, 900, "light", fragment)
	other.complete()
	_, got := other.link()
	assert.JSONEq(t, string(sent.Craft), string(got.Craft))
	sent.Craft, got.Craft = nil, nil
	assert.Equal(t, sent, got)
	assert.Equal(t, js[string](b, shown), js[string](other, shown), "both show the same")
}

func TestADamagedLinkSaysSo(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "#craft=abcdef")
	assert.Contains(t, b.text("#notice"), "damaged")
	assert.NotEmpty(t, b.readout("cp_m"), "the demo is there all the same")
}

// Reload and another visit find the craft and the view as they were left, and what was
// saved by name; "forget them" throws it away.
func TestThePageRemembers(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	choice := func() string {
		return js[string](b, `const s = document.getElementById("ready"); return s.selectedOptions[0].textContent;`)
	}
	again := func() {
		time.Sleep(400 * time.Millisecond) // the page writes once the hand rests
		b.do(chromedp.Reload())
		b.settle()
	}
	assert.Equal(t, "Reedling, tandem", choice())
	b.set("pilot.mass_kg", "81")
	b.set("clearance_m", "0.4")
	b.set("speed_mps", "55")
	b.settle()
	assert.Equal(t, "Reedling, changed", choice())
	_, before := b.link()
	b.do(chromedp.Evaluate[chromedp.Void](`history.replaceState(null, "", "#")`))
	again()
	_, after := b.link()
	assert.Equal(t, before, after)
	b.do(chromedp.Evaluate[chromedp.Void](`history.replaceState(null, "", "#")`))

	// A figure that Go refuses comes back too, with its sentence.
	b.set("pilot.mass_kg", "-5")
	b.settle()
	again()
	assert.Equal(t, -5., number(t, b.field("pilot.mass_kg")))
	assert.NotEmpty(t, b.text(`[data-path="pilot.mass_kg"] .problem`))

	b.set("pilot.mass_kg", "82")
	b.set("name", "Mine")
	b.settle()
	assert.Equal(t, "Mine", choice())
	b.do(chromedp.Evaluate[chromedp.Void](`window.URL.createObjectURL = () => "#"`))
	b.do(chromedp.Click("#save"))
	assert.Equal(t, "Mine, saved", choice())
	js[bool](b, `const s = document.getElementById("ready"); s.value = "teal-tandem"; s.dispatchEvent(new Event("change")); return true;`)
	b.settle()
	again()
	assert.Equal(t, "Teal, tandem", choice())
	js[bool](b, `const s = document.getElementById("ready"); s.value = "own:Mine"; s.dispatchEvent(new Event("change")); await new Promise((f) => setTimeout(f, 300)); return true;`)
	b.settle()
	assert.Equal(t, 82., number(t, b.field("pilot.mass_kg")))
	assert.Equal(t, "0.40", b.field("clearance_m")[:4])

	b.do(chromedp.Click("#forget"))
	assert.Zero(t, js[int](b, `return ["last", "own"].filter((k) => localStorage.getItem("craft-" + k)).length;`))
	b.do(chromedp.Reload())
	b.settle()
	assert.Equal(t, "Reedling, tandem", choice())
}
