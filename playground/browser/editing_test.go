package browser

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
)

func TestDraggingMovesTheCraft(t *testing.T) {
	t.Parallel()
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
	// With the pitch held it stays under the hand; its top may lie above the picture, and is cut
	// off there.
	js[bool](b, `document.querySelector('[aria-label="Pitch that carries the weight"]').click(); return true;`)
	b.settle()
	from = grip()
	x, y = from.X+from.W/2, from.Y+from.H/2
	b.do(chromedp.DragAndDropXY(x, y, x, y+80, 10))
	b.settle()
	to := grip()
	assert.InDelta(t, from.Y+from.H+80, to.Y+to.H, 3, "the craft stays under the hand")
	after = number(t, b.readout("clearance_m"))

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
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	type control struct{ Path, Value, Min, Max string }
	controls := js[[]control](b, `return [...document.querySelectorAll("#form .control")].map((c) => {
		const box = c.querySelector("input:not([type=range])"), r = c.querySelector("input[type=range]");
		return {Path: c.dataset.path, Value: box.value, Min: r?.min ?? "", Max: r?.max ?? ""};
	});`)
	require.Greater(t, len(controls), 40)
	silent := []string{"radius_m", "max_shift_mps", "line_stiffness_n", "boat_length_m", "pilot.y_m", "name"} // for runs, the card and the craft from behind
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
	longWalk(t)
	t.Parallel()
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
	longWalk(t)
	t.Parallel()
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
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	b.complete()
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
	want = js[string](b, fmt.Sprintf(`return (await import("/js/words.js")).inPageWords(%q);`, want))
	assert.NotContains(t, want, "chord_m")
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

// Once at rest nothing of the coarse map is left, whichever way the page came there.
func TestAtRestTheWayThereIsForgotten(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	b.set("speed_mps", "50") // as typed: the page keeps it to a millionth of a m/s
	b.complete()
	b.set("wings[0].incidence_deg", "4.7") // of these wings a coarse map comes first
	b.complete()
	seen := js[string](b, shown)
	b.set("speed_mps", "44") // of these the fine one is there
	b.complete()
	assert.False(t, seen == js[string](b, shown), "at another speed all is the same")
	b.set("speed_mps", "50")
	b.complete()
	assert.True(t, seen == js[string](b, shown), "at the same speed something is another")
}

// typeInto types into a control's field key by key, as a hand does.
func (b *tab) typeInto(path, text string) {
	b.t.Helper()
	js[bool](b, fmt.Sprintf(`const i = document.querySelector('[data-path="%s"] input:not([type=range],[type=checkbox])'); i.focus(); i.select(); return true;`, path))
	b.do(chromedp.KeyEvent(text))
}

func (b *tab) field(path string) string {
	b.t.Helper()
	return js[string](b, fmt.Sprintf(`return document.querySelector('[data-path="%s"] input:not([type=range],[type=checkbox])').value;`, path))
}

// What is typed stays as typed, whatever it is, and what is wrong is said beside it.
func TestFieldsStayAsTyped(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	problem := func(path string) string { return b.text(`[data-path="` + path + `"] .problem`) }
	for _, text := range []string{"0.4", "0,4", ".4"} {
		b.typeInto("clearance_m", text)
		b.settle()
		assert.Equal(t, text, b.field("clearance_m"))
		assert.Empty(t, problem("clearance_m"))
		assert.Equal(t, "0.40\u00a0m", b.readout("clearance_m"))
	}
	for text, says := range map[string]string{
		"9": "The clearance is 9.00\u00a0m; give one between 0.0", "-1": "The clearance is −1.00\u00a0m; give one between", "0": "The clearance is 0.00\u00a0m",
		"high": "“high” is not a number", "": "Clearance is empty: type a number in metres",
	} {
		b.typeInto("clearance_m", "0.4")
		b.settle()
		if text == "" {
			b.do(chromedp.KeyEvent("\b\b\b\b"))
		} else {
			b.typeInto("clearance_m", text)
		}
		b.do(chromedp.KeyEvent("\t"))
		assert.Equal(t, text, b.field("clearance_m"), "it stays as typed")
		assert.Contains(t, problem("clearance_m"), says)
		assert.Equal(t, "true", js[string](b, `return document.querySelector('[data-path="clearance_m"] input').getAttribute("aria-invalid");`), "and is marked")
		assert.Equal(t, "0.40\u00a0m", b.readout("clearance_m"), "the craft stays where it was")
	}
	// Moved in another way, the field is the craft's again.
	js[bool](b, `document.getElementById("grip").dispatchEvent(new KeyboardEvent("keydown", {key: "ArrowUp", bubbles: true})); return true;`)
	b.settle()
	assert.Equal(t, "0.41", b.field("clearance_m"))
	assert.Empty(t, problem("clearance_m"))

	b.do(chromedp.Click("#units"))
	b.settle()
	b.set("speed_mps", "900")
	b.settle()
	assert.Equal(t, "900", b.field("speed_mps"))
	assert.Contains(t, problem("speed_mps"), "mph")
	assert.NotContains(t, problem("speed_mps"), "m/s")
	b.set("speed_mps", "31")
	b.set("wings[0].x_m", "900")
	b.settle()
	said := problem("wings[0].x_m")
	assert.Contains(t, said, "place aft of the datum is 900\u00a0ft\u00a00.0\u00a0in; give")
	assert.NotRegexp(t, `_m\b|\d m\b`, said)
	assert.Equal(t, "900", b.field("wings[0].x_m"))
}

// Derived figures have no more digits than they show, wings that say so are called wings
// once, and what is committed can be undone from its field.
func TestWordsAndDigitsOfTheForm(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	js[bool](b, `const s = document.getElementById("ready"); s.value = "garganey-swept"; s.dispatchEvent(new Event("change")); return true;`)
	b.settle()
	for _, text := range js[[]string](b, `return [...document.querySelectorAll("#form input.number")].map((i) => i.value);`) {
		assert.NotRegexp(t, `\.\d{5}`, text)
	}
	for _, key := range []string{"le_x_m", "le_z_m"} {
		assert.Regexp(t, `^-?\d+\.\d$`, b.field("wings[0]."+key), "an angle")
	}
	js[bool](b, `[...document.querySelectorAll("#form button")].find((b) => b.textContent === "Add a wing").click(); return true;`)
	b.settle()
	titles := js[[]string](b, `return [...document.querySelectorAll("#form summary [data-title]")].map((e) => e.textContent);`)
	assert.Contains(t, titles, "wing 3")
	for _, title := range titles {
		assert.NotRegexp(t, `wing.*wing`, title)
	}
	js[bool](b, `const r = document.querySelector('[data-path="clearance_m"] input[type=range]'); r.step = "any"; r.value = 0.6783; r.dispatchEvent(new Event("input", {bubbles: true})); return true;`)
	b.settle()
	assert.Equal(t, "0.68", b.field("clearance_m"))

	b.typeInto("speed_mps", "61")
	b.do(chromedp.KeyEvent("\r"))
	b.settle()
	assert.Equal(t, "61", b.field("speed_mps"))
	js[bool](b, `document.activeElement.dispatchEvent(new KeyboardEvent("keydown", {key: "z", ctrlKey: true, bubbles: true})); return true;`)
	b.settle()
	assert.NotEqual(t, 61., number(t, b.field("speed_mps")))
}
