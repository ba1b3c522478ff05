package main

import (
	"bytes"
	"compress/flate"
	"context"
	"encoding/base64"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"fmt"
	"image/png"
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/heapprofiler"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/motion"
	"example.org/groundeffect/gecp/tow"
)

// These tests drive the page with its real solver in a real browser.

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

var built = sync.OnceValues(func() (site, error) { return build(context.Background()) })

func builtSite(t *testing.T) site {
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
	t   *testing.T
	ctx context.Context
	url string

	mu     sync.Mutex
	faults []string // what the console and the page complained of
}

// open opens the page in a tab of its own storage, at a size, and waits for it to
// come to rest. fragment may be empty.
func open(t *testing.T, width, height int64, scheme, fragment string) *tab {
	t.Helper()
	root, err := browser()
	need(t, err == nil, fmt.Sprintf("the tests of the page need Chromium: %v", err))
	srv := httptest.NewServer(builtSite(t))
	t.Cleanup(srv.Close)
	ctx, cancel := chromedp.NewContext(root, chromedp.WithNewBrowserContext())
	t.Cleanup(cancel)
	ctx, stop := context.WithTimeout(ctx, 4*time.Minute)
	t.Cleanup(stop)
	b := &tab{t: t, ctx: ctx, url: srv.URL + "/"}
	fault := func(format string, args ...any) {
		b.mu.Lock()
		defer b.mu.Unlock()
		b.faults = append(b.faults, fmt.Sprintf(format, args...))
	}
	require.NoError(t, chromedp.Listen(ctx, func(ev any) {
		switch e := ev.(type) {
		case *runtime.EventExceptionThrown:
			text := e.ExceptionDetails.Text
			if e.ExceptionDetails.Exception != nil {
				text += " " + e.ExceptionDetails.Exception.Description
			}
			fault("exception: %s", text)
		case *runtime.EventConsoleAPICalled:
			if e.Type == "error" || e.Type == "warning" {
				fault("console: %s %v", e.Type, e.Args)
			}
		case *log.EventEntryAdded:
			if e.Entry.Level == "error" {
				fault("log: %s %s", e.Entry.Text, e.Entry.URL)
			}
		}
	}))
	_, err = chromedp.Call(ctx, log.Enable, cdp.Empty{})
	require.NoError(t, err)
	_, err = chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
	})
	require.NoError(t, err)
	var how []chromedp.EmulateViewportOption
	if width < 600 {
		how = append(how, chromedp.EmulateMobile, chromedp.EmulateTouch, chromedp.EmulateScale(2))
	}
	b.do(chromedp.EmulateViewport(width, height, how...), chromedp.Navigate(b.url+fragment))
	b.settle()
	t.Cleanup(func() {
		b.mu.Lock()
		defer b.mu.Unlock()
		assert.Empty(t, b.faults, "the page complained")
	})
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

func TestPageShowsTheLibrarysNumbers(t *testing.T) {
	b := open(t, 1440, 900, "light", "")
	_, l := b.link()
	craft, err := gecp.Read(bytes.NewReader(l.Craft))
	require.NoError(t, err)
	assert.Equal(t, gecp.Demo(), craft, "the page begins with the demo")

	m, err := craft.BuildMap(t.Context(), gecp.MapOptions{ClearanceMin: .05})
	require.NoError(t, err)
	run, err := tow.NewSteadyTow(m, gecp.Freestream{Speed: l.SpeedMPS})
	require.NoError(t, err)
	want, err := run.Trim(l.ClearanceM)
	require.NoError(t, err)
	minus := func(format string, v float64, unit string) string {
		return strings.Replace(fmt.Sprintf(format, v), "-", "−", 1) + unit
	}
	const nb = "\u00a0"
	for key, text := range map[string]string{
		"clearance_m":      minus("%.2f", want.Clearance, nb+"m"),
		"height_m":         minus("%.2f", want.Height, nb+"m"),
		"pitch_deg":        minus("%.1f", want.Pitch*180/math.Pi, "°"),
		"lift_n":           minus("%.0f", want.Lift, nb+"N"),
		"drag_n":           minus("%.0f", want.Drag(), nb+"N"),
		"l_over_d":         minus("%.1f", want.LiftOverDrag(), ""),
		"cp_m":             minus("%.2f", want.CP, nb+"m"),
		"cg_m":             minus("%.2f", want.CG, nb+"m"),
		"pilot_needed_m":   minus("%.2f", want.Pilot.X, nb+"m"),
		"pitch_neutral_m":  minus("%.2f", want.PitchNeutral.X, nb+"m"),
		"height_neutral_m": minus("%.2f", want.HeightNeutral.X, nb+"m"),
		"line_n":           minus("%.0f", want.LineTension, nb+"N"),
	} {
		assert.Equal(t, text, strings.TrimSpace(b.readout(key)), key)
	}
	for _, name := range []string{"cp_m", "pitch_neutral_m", "height_neutral_m"} {
		assert.Greater(t, js[int](b, fmt.Sprintf(`return document.querySelector('[data-curve="%s"]').getAttribute("d").length;`, name)), 100, "the %s has no curve", name)
	}
	assert.Equal(t, 4, js[int](b, `return document.querySelectorAll("#ready option").length;`), "ready craft")
}

func TestDraggingMovesTheCraft(t *testing.T) {
	b := open(t, 1440, 900, "light", "")
	type box struct{ X, Y, W, H float64 }
	grip := func() box {
		return js[box](b, `const r = document.getElementById("grip").getBoundingClientRect(); return {X: r.x, Y: r.y, W: r.width, H: r.height};`)
	}
	from, before, cp := grip(), number(t, b.readout("clearance_m")), b.readout("pitch_deg")
	x, y := from.X+from.W/2, from.Y+from.H/2
	b.do(chromedp.DragAndDropXY(x, y, x, y-80, 10))
	b.settle()
	after := number(t, b.readout("clearance_m"))
	assert.Greater(t, after, before+.1)
	assert.NotEqual(t, cp, b.readout("pitch_deg"), "the figures follow the craft")
	assert.InDelta(t, from.Y-80, grip().Y, 20, "the craft stays under the hand, but for its pitch")

	b.do(chromedp.Focus("#grip"), chromedp.KeyEvent(kb.ArrowUp))
	b.settle()
	assert.InDelta(t, after+.01, number(t, b.readout("clearance_m")), .0051)
	b.do(chromedp.KeyEvent(kb.Home))
	b.settle()
	assert.InDelta(t, .05, number(t, b.readout("clearance_m")), 1e-9)

	js[bool](b, `const r = document.querySelector('[data-path="clearance_m"] input[type=range]'); r.value = 0.4; r.dispatchEvent(new Event("input", {bubbles: true})); return true;`)
	b.settle()
	assert.Equal(t, .4, number(t, b.readout("clearance_m")), "the slider does the same")
}

// shown is a digest of everything a reader sees change, drawn that of the height
// picture. An element's attributes stand in the order in which they were first given,
// which nobody sees.
const (
	digest = `
		const told = (e) => e.nodeType === Node.TEXT_NODE ? e.data : "<" + [e.localName, ...[...e.attributes].map((a) => a.name + "=" + a.value).sort()].join(" ") + ">" + [...e.childNodes].map(told).join("");
		const all = (what) => [...document.querySelectorAll(what)].map(told).join("\n");`
	shown = digest + `return all("#picture svg, #charts svg, #readouts output, #sentence");`
	drawn = digest + `return all("#picture svg");`
)

func TestEveryControlChangesItsOwn(t *testing.T) {
	b := open(t, 1440, 900, "light", "")
	type control struct{ Path, Value, Min, Max string }
	controls := js[[]control](b, `return [...document.querySelectorAll("#form .control")].map((c) => {
		const box = c.querySelector("input:not([type=range])"), r = c.querySelector("input[type=range]");
		return {Path: c.dataset.path, Value: box.value, Min: r?.min ?? "", Max: r?.max ?? ""};
	});`)
	require.Greater(t, len(controls), 40)
	silent := []string{"radius_m", "max_shift_mps", "line_stiffness_n", "boat_length_m", "name"} // for runs and the card
	was := b.craft()
	for _, c := range controls {
		seen := js[string](b, shown)
		value := "renamed"
		if c.Max != "" {
			v, lo, hi := number(t, c.Value), number(t, c.Min), number(t, c.Max)
			// A small change within the range, small enough that the craft still floats.
			d := .02 * (hi - lo)
			if v+d > hi {
				d = -d
			}
			value = strconv.FormatFloat(math.Round((v+d)*1e3)/1e3, 'f', -1, 64)
		}
		b.set(c.Path, value)
		is := b.craft()
		assert.NotEqual(t, was, is, "%s: the craft is as it was", c.Path)
		if !strings.HasSuffix(c.Path, "]."+"span") {
			last := c.Path[strings.LastIndexByte(c.Path, '.')+1:]
			assertOnly(t, was, is, last, c.Path)
		}
		quiet := false
		for _, s := range silent {
			quiet = quiet || strings.HasSuffix(c.Path, s)
		}
		if !quiet {
			b.settle()
			if b.text(`[data-path="`+c.Path+`"] .problem`) == "" {
				assert.NotEqual(t, seen, js[string](b, shown), "%s: nothing to see", c.Path)
			}
		}
		js[bool](b, `document.getElementById("undo").click(); return true;`)
		if !quiet {
			b.settle()
		}
		require.Equal(t, was, b.craft(), "%s: undo", c.Path)
	}
}

// assertOnly fails if two craft differ in anything but keys of a name.
func assertOnly(t *testing.T, a, b any, key, path string) {
	t.Helper()
	switch a := a.(type) {
	case map[string]any:
		b, _ := b.(map[string]any)
		for k := range b {
			if _, ok := a[k]; !ok && k != key && !strings.Contains(path, "."+k+".") {
				assert.Failf(t, "changed too much", "%s: %s has appeared", path, k)
			}
		}
		for k, v := range a {
			if k != key {
				assertOnly(t, v, b[k], key, path)
			}
		}
	case []any:
		b, _ := b.([]any)
		if assert.Len(t, b, len(a), path) {
			for i := range a {
				assertOnly(t, a[i], b[i], key, path)
			}
		}
	default:
		assert.Equal(t, a, b, path)
	}
}

func TestWingsComeAndGo(t *testing.T) {
	b := open(t, 1440, 900, "light", "")
	press := func(label string) {
		t.Helper()
		js[bool](b, fmt.Sprintf(`[...document.querySelectorAll("#form button")].find((e) => e.textContent === %q).click(); return true;`, label))
		b.settle()
		require.Empty(t, b.text("#general"))
	}
	wings := func() int { return len(b.craft()["wings"].([]any)) }
	curves := js[string](b, shown)
	press("Add a wing")
	assert.Equal(t, 3, wings())
	assert.NotEqual(t, curves, js[string](b, shown))
	press("Remove this wing")
	assert.Equal(t, 2, wings())
	press("Add a station")
	press("Take the pilot off")
	assert.NotContains(t, b.craft(), "pilot")
	for range 4 {
		js[bool](b, `document.getElementById("undo").click(); return true;`)
	}
	b.settle()
	assert.Equal(t, 2, wings())
	assert.Contains(t, b.craft(), "pilot")
	assert.True(t, js[bool](b, `return document.getElementById("undo").disabled;`))
	for range 4 {
		js[bool](b, `document.getElementById("redo").click(); return true;`)
	}
	b.settle()
	assert.NotContains(t, b.craft(), "pilot")
}

func TestPinComparesWithThePresentCraft(t *testing.T) {
	b := open(t, 1440, 900, "light", "")
	b.do(chromedp.Click("#pin"))
	lift := number(t, b.readout("cp_m"))
	x := number(t, js[string](b, `return document.querySelector('[data-path="wings[1].x_m"] input').value;`))
	b.set("wings[1].x_m", strconv.FormatFloat(x+.4, 'f', 2, 64)) // further aft, so the lift acts further aft
	b.settle()
	delta := b.text(`#readouts div:nth-child(7) .delta`)
	d := number(t, strings.TrimPrefix(delta, "+"))
	assert.InDelta(t, number(t, b.readout("cp_m"))-lift, d, .0101)
	assert.Positive(t, d)
}

func TestProblemsStandBesideTheirControl(t *testing.T) {
	b := open(t, 1440, 900, "light", "")
	before := js[string](b, drawn)

	b.set("wings[0].stations[1].chord_m", "0")
	b.settle()
	bad := gecp.Demo()
	bad.Wings[0].Stations[1].Chord = 0
	var want string
	var problems gecp.Problems
	require.ErrorAs(t, bad.Check(), &problems)
	for _, p := range problems {
		if p.Path == "wings[0].stations[1].chord_m" {
			want = p.Text
		}
	}
	require.NotEmpty(t, want)
	assert.Equal(t, want, b.text(`[data-path="wings[0].stations[1].chord_m"] .problem`))
	assert.Equal(t, before, js[string](b, drawn), "the last good picture stays")

	b.set("wings[0].stations[1].chord_m", "1.2x")
	assert.Contains(t, b.text(`[data-path="wings[0].stations[1].chord_m"] .problem`), "“1.2x” is not a number")
	assert.Equal(t, "1.2x", js[string](b, `return document.querySelector('[data-path="wings[0].stations[1].chord_m"] input').value;`), "what was typed stays")

	b.set("pilot.mass_kg", "70")
	b.settle()
	assert.Equal(t, "1.2x", js[string](b, `return document.querySelector('[data-path="wings[0].stations[1].chord_m"] input').value;`), "and stays while others change")

	b.set("wings[0].stations[1].chord_m", "1.5")
	b.settle()
	assert.Empty(t, b.text(`[data-path="wings[0].stations[1].chord_m"] .problem`))
	assert.NotEqual(t, before, js[string](b, drawn))
}

func TestABadFileSaysWhy(t *testing.T) {
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
	assert.Contains(t, string(drawing), "Prove it with a small model", "the cautions are on it")
	assert.NotContains(t, string(drawing), "var(--", "it needs no style of the page")

	img, err := png.DecodeConfig(bytes.NewReader(bytesOf("png")))
	require.NoError(t, err)
	assert.Greater(t, img.Width, 2000)
}

func TestTowCard(t *testing.T) {
	b := open(t, 1440, 900, "dark", "")
	b.do(chromedp.Click("#card"))
	_, err := chromedp.Run(b.ctx, chromedp.Poll[bool](`document.getElementById("cardView").open`))
	require.NoError(t, err)
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
	js[bool](b, `document.getElementById("cardClose").click(); return true;`)
}

func TestLeapPlays(t *testing.T) {
	b := open(t, 1440, 900, "light", "")
	still := js[string](b, drawn)
	type run struct {
		First, Then, Verdict string
		Place                bool
	}
	r := js[run](b, `
		const wait = (ms) => new Promise((f) => setTimeout(f, ms)), said = () => document.getElementById("flown").textContent;
		document.getElementById("hand").value = "yours";
		document.getElementById("fly").click();
		for (let i = 0; i < 300 && !/^\d/.test(said()); i++) await wait(20);
		const First = said(), Place = !document.getElementById("stick").hidden;
		const p = document.getElementById("place");
		p.value = p.max; p.dispatchEvent(new Event("input"));
		await wait(600);
		const Then = said();
		for (let i = 0; i < 1500 && !/\.$/.test(said()); i++) await wait(20);
		return {First, Then, Verdict: said(), Place};`)
	assert.True(t, r.Place, "the pilot has a slider")
	assert.NotEqual(t, r.First, r.Then, "time goes on")
	assert.Regexp(t, "(after [0-9.]+ s|Still flying)", r.Verdict)
	for _, course := range []string{"clearance", "pitch", "the pilot's place"} {
		assert.Greater(t, js[int](b, fmt.Sprintf(`return [...document.querySelectorAll("#charts figure")].filter((f) => f.querySelector(".title").textContent.startsWith(%q)).flatMap((f) => [...f.querySelectorAll("svg path")]).length;`, "The leap: "+course)), 0, "the flight has its chart of %s", course)
	}
	_, err := chromedp.Run(b.ctx, chromedp.Poll[bool](`document.getElementById("fly").textContent === "Fly"`, chromedp.WithPollingTimeout(10*time.Second)))
	require.NoError(t, err)
	assert.Equal(t, still, js[string](b, drawn), "the craft is back where it was")
	_, err = chromedp.Run(b.ctx, chromedp.Poll[bool](`!document.getElementById("late").hidden`, chromedp.WithPollingTimeout(60*time.Second)))
	require.NoError(t, err)
	late := b.text("#late")
	for _, words := range []string{"Reaction margin", "Slowest shifting", "Least travel", motion.HumanRange, "A simulation teaches, it does not train."} {
		assert.Contains(t, late, words)
	}

	// A quarter of the pace: in one and the same time the clock of the flight gets less far.
	clock := func(pace string) float64 {
		return js[float64](b, fmt.Sprintf(`
			const wait = (ms) => new Promise((f) => setTimeout(f, ms)), said = () => document.getElementById("flown").textContent;
			document.getElementById("pace").value = %q;
			document.getElementById("hand").value = "law";
			document.getElementById("upset").selectedIndex = 1;
			document.getElementById("fly").click();
			for (let i = 0; i < 500 && !/^0\.[1-9]/.test(said()); i++) await wait(10);
			const from = parseFloat(said());
			await wait(1500);
			const gone = parseFloat(said()) - from;
			document.getElementById("fly").click();
			return gone;`, pace))
	}
	slow, real := clock("0.25"), clock("1")
	assert.Greater(t, slow, 0.)
	assert.Less(t, slow, .6*real, "%v s slowed down, %v s not", slow, real)

	// A long wave, and nobody to answer it.
	first := js[string](b, `
		const u = document.getElementById("upset"), wait = (ms) => new Promise((f) => setTimeout(f, ms)), said = () => document.getElementById("flown").textContent;
		u.selectedIndex = [...u.options].findIndex((o) => o.value === "wave 0.1");
		document.getElementById("hand").value = "none";
		document.getElementById("fly").click();
		for (let i = 0; i < 1500 && !/^[2-9]/.test(said()) && !/\.$/.test(said()); i++) await wait(20);
		return u.selectedOptions[0].textContent + "|" + said();`)
	assert.Regexp(t, `^a wave 0\.10.m high passes, 50.m long\|(2\.|.*after [0-9.]+ s)`, first)
}

func TestPressuresAsTables(t *testing.T) {
	b := open(t, 1440, 900, "light", "")
	type sheet struct {
		Caption string
		Cells   []string
	}
	got := js[[]sheet](b, `
		const d = [...document.querySelectorAll("#charts details")].find((d) => d.textContent.startsWith("Pressures"));
		d.open = true;
		await new Promise((f) => setTimeout(f, 100));
		return [...d.querySelectorAll("table")].map((t) => ({Caption: t.caption.textContent, Cells: [...t.querySelectorAll("td")].map((c) => c.textContent)}));`)
	wings := gecp.Demo().Wings
	require.Len(t, got, len(wings))
	for i, s := range got {
		assert.Contains(t, s.Caption, wings[i].Name)
		require.Len(t, s.Cells, 4*9)
		sum := 0.
		for _, c := range s.Cells {
			sum += number(t, c)
		}
		mean := fmt.Sprintf("%s %.0f", wings[i].Name, sum/float64(len(s.Cells)))
		label := js[string](b, `return document.querySelector(".plan .sheet").getAttribute("aria-label");`)
		assert.Contains(t, label, mean[:len(mean)-1], "the means are the drawing's")
	}
}

func TestLinkCarriesTheCraft(t *testing.T) {
	b := open(t, 1440, 900, "light", "")
	js[bool](b, `const s = document.getElementById("ready"); s.selectedIndex = 2; s.dispatchEvent(new Event("change")); return true;`)
	b.settle()
	b.set("wings[0].incidence_deg", "4.7")
	b.set("speed_mps", "51.3")
	b.set("clearance_m", "0.21")
	b.settle()
	fragment, sent := b.link()
	other := open(t, 1440, 900, "light", fragment)
	_, got := other.link()
	assert.JSONEq(t, string(sent.Craft), string(got.Craft))
	sent.Craft, got.Craft = nil, nil
	assert.Equal(t, sent, got)
	assert.Equal(t, js[string](b, shown), js[string](other, shown), "both show the same")
}

// Once at rest nothing of the coarse map is left, whichever way the page came there.
func TestAtRestTheWayThereIsForgotten(t *testing.T) {
	b := open(t, 1440, 900, "light", "")
	b.set("speed_mps", "50") // as typed: the page keeps it to a millionth of a m/s
	b.settle()
	b.set("wings[0].incidence_deg", "4.7") // of these wings a coarse map comes first
	b.settle()
	seen := js[string](b, shown)
	b.set("speed_mps", "44") // of these the fine one is there
	b.settle()
	assert.False(t, seen == js[string](b, shown), "at another speed all is the same")
	b.set("speed_mps", "50")
	b.settle()
	assert.True(t, seen == js[string](b, shown), "at the same speed something is another")
}

func TestADamagedLinkSaysSo(t *testing.T) {
	b := open(t, 1440, 900, "light", "#craft=abcdef")
	assert.Contains(t, b.text("#notice"), "damaged")
	assert.NotEmpty(t, b.readout("cp_m"), "the demo is there all the same")
}

// Equal steps of pressure are equal steps of lightness, day and night.
func TestPressureScaleIsEven(t *testing.T) {
	b := open(t, 1440, 900, "light", "")
	for _, night := range []bool{false, true} {
		light := js[[]float64](b, fmt.Sprintf(`
			const c = await import("./js/colour.js");
			return c.pressureScale(16, %v).map((h) => c.lab(h)[0]);`, night))
		require.Len(t, light, 33)
		for i := 17; i < 33; i++ {
			up, down := light[i]-light[i-1], light[32-i]-light[33-i]
			want := -68. / 16
			if night {
				want = 68. / 16
			}
			assert.InDelta(t, want, up, .5, "step %d, night %v", i, night)
			assert.InDelta(t, want, down, .5, "step %d down, night %v", i, night)
		}
	}
}

func TestAnyStaticHostWillDo(t *testing.T) {
	root, err := browser()
	need(t, err == nil, fmt.Sprintf("the tests of the page need Chromium: %v", err))
	dir := t.TempDir()
	require.NoError(t, builtSite(t).write(dir))
	srv := httptest.NewServer(http.StripPrefix("/craft/", http.FileServer(http.Dir(dir))))
	defer srv.Close()
	ctx, cancel := chromedp.NewContext(root, chromedp.WithNewBrowserContext())
	defer cancel()
	b := &tab{t: t, ctx: ctx, url: srv.URL + "/craft/"}
	b.do(chromedp.Navigate(b.url))
	b.settle()
	assert.NotEmpty(t, b.readout("cp_m"))
}

func TestUSAndMetricAgree(t *testing.T) {
	b := open(t, 1440, 900, "light", "")
	read := func() map[string]string {
		return js[map[string]string](b, `return Object.fromEntries([...document.querySelectorAll("#readouts output")].map((o) => [o.dataset.key, o.textContent]));`)
	}
	metric := read()
	b.do(chromedp.Click("#units"))
	b.settle()
	us := read()
	factor := map[string]float64{"m": 1 / .3048, "N": 1 / (.45359237 * gecp.G), "°": 1, "": 1}
	name := map[string]string{"m": "ft", "N": "lbf", "°": "°", "": ""}
	for key, text := range metric {
		v, w := number(t, text), number(t, us[key])
		digits := strings.TrimLeft(strings.ReplaceAll(text, "−", "-"), "-.0123456789")
		unit := strings.TrimSpace(strings.ReplaceAll(digits, "\u00a0", " "))
		half := .5
		if unit == "m" {
			half = .005
		} else if unit != "N" {
			half = .05
		}
		assert.InDelta(t, v*factor[unit], w, half*factor[unit]+half+1e-9, key)
		assert.True(t, strings.HasSuffix(us[key], name[unit]), "%s: %s", key, us[key])
	}
	sentence := b.text("#sentence")
	assert.Contains(t, sentence, "mph")
	b.do(chromedp.Click("#units"))
	b.settle()
	assert.Equal(t, metric, read(), "there and back")
}

// slides moves the clearance and the speed n times, as fast as frames go by.
const slides = `
	const a = document.querySelector('[data-path="clearance_m"] input[type=range]'), v = document.querySelector('[data-path="speed_mps"] input[type=range]');
	for (let i = 0; i < %d; i++) {
		const r = i %% 4 === 3 ? v : a, x = 0.5 + 0.45 * Math.sin(i / 17);
		r.value = +r.min + x * (r.max - r.min) * (r === v ? 0.3 : 1) + (r === v ? 0.3 * (r.max - r.min) : 0);
		r.dispatchEvent(new Event("input", {bubbles: true}));
		if (i %% 40 === 39) r.dispatchEvent(new Event("change", {bubbles: true}));
		await new Promise((f) => setTimeout(f, 8));
	}
	return true;`

func TestMemoryStaysFlat(t *testing.T) {
	b := open(t, 1440, 900, "light", "")
	js[bool](b, fmt.Sprintf(slides, 500))
	page, all := b.heap(), b.resident()
	js[bool](b, fmt.Sprintf(slides, 2000))
	pageAfter, allAfter := b.heap(), b.resident()
	t.Logf("page's heap %.2f MB after the warm-up, %.2f MB after 2,000 moves; all of the page's process, solvers included, %.0f MB and %.0f MB", page/1e6, pageAfter/1e6, all/1e6, allAfter/1e6)
	assert.Less(t, pageAfter, 1.2*page)
	assert.LessOrEqual(t, allAfter, 1.2*all)
	assert.Empty(t, b.text("#general"))
}

// heap returns what the page's scripts and elements hold, bytes.
func (b *tab) heap() float64 {
	b.t.Helper()
	b.settle()
	_, err := chromedp.Call(b.ctx, heapprofiler.CollectGarbage, cdp.Empty{})
	require.NoError(b.t, err)
	u, err := chromedp.Call(b.ctx, runtime.GetHeapUsage, cdp.Empty{})
	require.NoError(b.t, err)
	return u.UsedSize + u.EmbedderHeapUsedSize
}

// resident returns the resident memory of the browser's renderer processes, bytes;
// 0 where the system does not tell.
func (b *tab) resident() float64 {
	b.t.Helper()
	var sum float64
	parent := map[string]string{}
	size := map[string]float64{}
	stats, _ := filepath.Glob("/proc/[0-9]*/stat")
	for _, name := range stats {
		text, err := os.ReadFile(name)
		if err != nil {
			continue // it has ended
		}
		dir := filepath.Dir(name)
		cmd, _ := os.ReadFile(filepath.Join(dir, "cmdline"))
		f := strings.Fields(string(text[bytes.LastIndexByte(text, ')')+1:]))
		parent[filepath.Base(dir)] = f[1]
		if bytes.Contains(cmd, []byte("--type=renderer")) {
			pages, err := strconv.ParseFloat(f[21], 64)
			require.NoError(b.t, err)
			size[filepath.Base(dir)] = pages * float64(os.Getpagesize())
		}
	}
	own := strconv.Itoa(chromedp.FromContext(b.ctx).Browser.Process().Pid)
	for pid, v := range size {
		for up := pid; up != "" && up != "0"; up = parent[up] {
			if up == own {
				sum += v
				break
			}
		}
	}
	return sum
}

// moves makes n moves of a control's slider, a step each, to and fro. Of each it takes
// the times, ms, until the new picture hangs in the page, until it has been painted,
// and, if rest is set, until the full answer is shown; else the next move comes at once. The slider ends where
// it began.
const moves = `
	const [path, n, rest] = [%q, %d, %v];
	const r = document.querySelector('[data-path="' + path + '"] input[type=range]'), sheet = document.querySelector("#picture .sheet");
	const told = (what, of, when) => new Promise((f) => {
		const end = setTimeout(() => { o.disconnect(); f(NaN); }, 10000);
		const o = new MutationObserver(() => { if (when()) { clearTimeout(end); o.disconnect(); f(performance.now()); } });
		o.observe(what, of);
	});
	const painted = () => new Promise((f) => requestAnimationFrame(() => { const c = new MessageChannel(); c.port1.onmessage = () => f(performance.now()); c.port2.postMessage(0); }));
	const out = {Drawn: [], Painted: [], Full: []}, from = +r.value, reach = 10 * +r.step;
	let up = true;
	for (let i = 0; i < n; i++) {
		if (+r.value > from + reach || +r.value >= +r.max) up = false;
		if (+r.value < from - reach || +r.value <= +r.min) up = true;
		up ? r.stepUp() : r.stepDown();
		const start = performance.now();
		const drawn = told(sheet, {subtree: true, childList: true, attributes: true, characterData: true}, () => true);
		r.dispatchEvent(new Event("input", {bubbles: true}));
		const full = rest && told(document.body, {attributeFilter: ["data-state"]}, () => document.body.dataset.state === "settled");
		const then = await drawn;
		if (!(then > start)) throw new Error(path + " " + r.value + ": no new picture; " + [...document.querySelectorAll(".problem")].map((e) => e.textContent).join(" "));
		out.Drawn.push(then - start);
		out.Painted.push(await painted() - start);
		if (rest) out.Full.push(await full - start);
	}
	r.value = from;
	for (const what of ["input", "change"]) r.dispatchEvent(new Event(what, {bubbles: true}));
	return out;`

// How long a hand waits for the picture; the times depend on the machine, so they are
// told and not judged.
func TestHowFast(t *testing.T) {
	b := open(t, 1440, 900, "light", "")
	median := func(v []float64) float64 {
		slices.Sort(v)
		return v[len(v)/2]
	}
	type times struct{ Drawn, Painted, Full []float64 }
	for _, c := range []struct {
		name, path string
		n          int
		rest       bool
	}{
		{"speed", "speed_mps", 100, false},
		{"weight", "weights[0].mass_kg", 100, false},
		{"pilot", "pilot_x_m", 100, false},
		{"wing incidence, hand moving", "wings[0].incidence_deg", 100, false},
		{"wing incidence, hand resting", "wings[0].incidence_deg", 10, true},
	} {
		b.settle()
		got := js[times](b, fmt.Sprintf(moves, c.path, c.n, c.rest))
		require.Len(t, got.Drawn, c.n)
		text := fmt.Sprintf("%s: median of %d moves: new picture in the page after %.1f ms, painted after %.1f ms", c.name, c.n, median(got.Drawn), median(got.Painted))
		if c.rest {
			text += fmt.Sprintf(", full picture after %.0f ms", median(got.Full))
		}
		t.Log(text)
	}
	b.settle()
	assert.Empty(t, b.text("#general"))
}

func TestWorksWithoutNetwork(t *testing.T) {
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

func TestAccessible(t *testing.T) {
	source := axe(t)
	for _, c := range []struct {
		name          string
		width, height int64
		scheme        string
	}{{"wide by day", 1440, 900, "light"}, {"wide at night", 1440, 900, "dark"}, {"narrow by day", 390, 844, "light"}} {
		t.Run(c.name, func(t *testing.T) {
			b := open(t, c.width, c.height, c.scheme, "")
			js[bool](b, `for (const d of document.querySelectorAll("details")) d.open = true; return true;`)
			_, err := chromedp.Run(b.ctx, chromedp.Evaluate[chromedp.Void](source+";0"))
			require.NoError(t, err)
			type violation struct {
				ID, Impact, Help string
				Nodes            []string
			}
			for _, v := range js[[]violation](b, `
				const r = await axe.run(document, {resultTypes: ["violations"]});
				return r.violations.map((v) => ({ID: v.id, Impact: v.impact, Help: v.help, Nodes: v.nodes.slice(0, 4).map((n) => n.html.slice(0, 160) + " " + n.failureSummary)}));`) {
				if v.Impact == "serious" || v.Impact == "critical" {
					assert.Fail(t, v.ID, "%s: %s\n%s", v.Impact, v.Help, strings.Join(v.Nodes, "\n"))
				} else {
					t.Log(v.ID, v.Impact, v.Help, v.Nodes)
				}
			}
		})
	}
}

// screenshots is where pictures for people to look at go; git does not keep it.
const screenshots = "screens"

func TestScreenshots(t *testing.T) {
	require.NoError(t, os.MkdirAll(screenshots, 0o755))
	for _, size := range [][2]int64{{1440, 900}, {390, 844}} {
		for _, scheme := range []string{"light", "dark"} {
			b := open(t, size[0], size[1], scheme, "")
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
