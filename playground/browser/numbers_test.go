package browser

import (
	"bytes"
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/crafts"
	"example.org/groundeffect/gecp/tow"
)

func TestPageShowsTheLibrarysNumbers(t *testing.T) {
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	_, l := b.link()
	craft, err := gecp.Read(bytes.NewReader(l.Craft))
	require.NoError(t, err)
	assert.Equal(t, gecp.Demo(), craft, "the page begins with the demo")

	m, err := craft.BuildMap(t.Context(), gecp.MapOptions{})
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
	assert.Len(t, crafts.All(), js[int](b, `return document.querySelectorAll("#ready option").length;`), "ready craft")
}

func TestPressuresAsTables(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := look(t, 1440, 900, "light")
	type sheet struct {
		Caption string
		Cells   []string
	}
	got := js[[]sheet](b, `
		const d = [...document.querySelectorAll("#charts details")].find((d) => d.textContent.startsWith("Pressures"));
		d.open = true;
		await new Promise((f) => setTimeout(f, 100));
		const out = [...d.querySelectorAll("table")].map((t) => ({Caption: t.caption.textContent, Cells: [...t.querySelectorAll("td")].map((c) => c.textContent)}));
		d.open = false;
		return out;`)
	wings := gecp.Demo().Wings
	require.Len(t, got, len(wings))
	for i, s := range got {
		assert.Contains(t, s.Caption, wings[i].Name)
		require.Zero(t, len(s.Cells)%4)
		require.GreaterOrEqual(t, len(s.Cells), 4*9, "a wing that shares the other's strips has more")
		sum := 0.
		for _, c := range s.Cells {
			sum += number(t, c)
		}
		mean := fmt.Sprintf("%s %.0f", wings[i].Name, sum/float64(len(s.Cells)))
		label := js[string](b, `return document.querySelector(".plan .sheet").getAttribute("aria-label");`)
		assert.Contains(t, label, mean[:len(mean)-1], "the means are the drawing's")
	}
}

// The picture names the let-go height as the sentence does, rounded down, in both units.
func TestPictureAndSentenceNameOneHeight(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	js[bool](b, `const s = document.getElementById("ready"); s.value = "teal-tandem"; s.dispatchEvent(new Event("change")); return true;`)
	for range 2 {
		b.complete()
		m := regexp.MustCompile(`Tow it between (.+?) and (.+?)\. Let go above (.+?):`).FindStringSubmatch(b.text("#sentence"))
		require.NotNil(t, m, b.text("#sentence"))
		assert.Equal(t, m[2], m[3])
		assert.Contains(t, b.text(`#picture [data-line*="let go"]`), m[3])
		assert.Contains(t, b.text(`#picture [data-line*="tow from"]`), m[1])
		assert.Contains(t, b.text("#window"), "With the pilot at ")
		b.do(chromedp.Click("#units"))
		b.settle()
	}
}

func TestUSAndMetricAgree(t *testing.T) {
	longWalk(t)
	t.Parallel()
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
		v, w := number(t, text), 0.
		shown := us[key]
		if m := regexp.MustCompile(`^(−?)(?:(\d+)\x{a0}ft\x{a0})?([\d.]+)\x{a0}in$`).FindStringSubmatch(shown); m != nil {
			w = number(t, m[3]) / 12
			if m[2] != "" {
				w += number(t, m[2])
			}
			if m[1] != "" {
				w = -w
			}
			shown = "ft"
		} else {
			w = number(t, shown)
		}
		digits := strings.TrimLeft(strings.ReplaceAll(text, "−", "-"), "-.0123456789")
		unit := strings.TrimSpace(strings.ReplaceAll(digits, "\u00a0", " "))
		half := .5
		if unit == "m" {
			half = .005
		} else if unit != "N" {
			half = .05
		}
		assert.InDelta(t, v*factor[unit], w, half*factor[unit]+half+1e-9, key)
		assert.True(t, strings.HasSuffix(shown, name[unit]), "%s: %s", key, us[key])
	}
	sentence := b.text("#sentence")
	assert.Contains(t, sentence, "mph")
	b.do(chromedp.Click("#units"))
	b.settle()
	assert.Equal(t, metric, read(), "there and back")
}

// In US units every length and height of the page stands in feet and inches: in the
// picture, on the charts' axes, in tables, at the ends of sliders and in sentences.
func TestLengthsInFeetAndInches(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	b.press("units")
	b.complete()
	for _, size := range [][2]int64{{1440, 900}, {390, 844}} {
		b.face(size[0], size[1], "light")
		b.rest()
		js[bool](b, `for (const d of document.querySelectorAll("details")) d.open = true; await new Promise((f) => setTimeout(f, 200)); return true;`)
		ticks := js[[]string](b, `return [...document.querySelectorAll('[data-tick="length"]')].filter((e) => e.checkVisibility()).map((e) => e.textContent);`)
		require.Greater(t, len(ticks), 20)
		for _, tick := range ticks {
			assert.Regexp(t, `^(0|−?(\d+'|(\d+' )?\d+(\.\d+)?"))$`, tick)
		}
		text := js[string](b, `return document.body.innerText + [...document.querySelectorAll("input, [aria-valuetext], svg text")].map((e) => (e.value ?? "") + " " + (e.getAttribute("aria-valuetext") ?? "") + " " + (e.localName === "text" ? e.textContent : "")).join("\n");`)
		for _, m := range regexp.MustCompile(`.{0,40}\d\.\d+[\s\x{a0}]*(ft|feet)\b(?:[^/²]|$)(?:[^a]|$).{0,10}`).FindAllString(text, -1) {
			assert.Fail(t, "decimal feet", m)
		}
		for _, end := range js[[]string](b, `return [...document.querySelectorAll('.control')].filter((c) => /'|"/.test(c.querySelector("input.number")?.value ?? "")).flatMap((c) => [...c.querySelectorAll(".end")].map((e) => e.textContent));`) {
			assert.Regexp(t, `^(−?(\d+'|(\d+' )?\d+(\.\d+)?"))$`, end)
		}
		assert.Regexp(t, `^(\d+' )?\d+\.\d"$`, js[string](b, `return document.querySelector("#pictureTable tbody th").textContent;`))
		assert.NotContains(t, b.text("#pictureTable thead"), ", ft")
		assert.Empty(t, js[[]string](b, collisions))
		js[bool](b, `for (const d of document.querySelectorAll("details")) d.open = false; scrollTo(0, 0); return true;`)
		b.shoot(fmt.Sprintf("us-%dx%d-light", size[0], size[1]))
	}
}
