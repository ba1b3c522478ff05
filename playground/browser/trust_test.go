package browser

import (
	"fmt"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
)

// choose opens a ready craft.
func (b *tab) choose(key string) {
	b.t.Helper()
	js[bool](b, fmt.Sprintf(`const s = document.getElementById("ready"); s.value = %q; s.dispatchEvent(new Event("change")); return true;`, key))
	b.settle()
}

// trusted waits until it is known how far to trust what is said.
func (b *tab) trusted() {
	b.t.Helper()
	b.waitFor(`document.body.dataset.trust === "known"`, 3*time.Minute)
}

// The height to let go in the sentence and in the picture is the low end of the band; until that
// is known the sentence says so. Moves and other weights do not begin it anew.
func TestHowFarToTrustIt(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	b.choose("teal-tandem")
	b.complete()
	sentence := b.text("#sentence")
	assert.Contains(t, sentence, "as calculated")
	assert.Contains(t, sentence, "still being worked out")
	assert.Zero(t, js[int](b, `return document.querySelectorAll("#picture [data-trust]").length;`))
	calculated := js[float64](b, `const { page } = await import("/js/page.js"); return page.heights.lines.let_go_m;`)
	b.press("toTrust")
	assert.Contains(t, b.text("#trustState"), "Still being worked out")
	b.waitFor(`/^.[1-9]\d* % done/.test(document.getElementById("trustShare").textContent)`, time.Minute)
	assert.False(t, js[bool](b, `return document.getElementById("trustProgress").hidden;`))
	source := axe(t)
	b.accessible(source, "how far to trust it, not yet known")
	b.press("trustClose")

	// A hand on the clearance and on a weight meanwhile: the picture comes at once, and what was done is kept.
	share := js[[]float64](b, `
		const share = () => +/(\d+) %/.exec(document.getElementById("trustShare").textContent)?.[1], was = share();
		const move = async (path) => {
			const r = document.querySelector('[data-path="' + path + '"] input[type=range]'), start = performance.now();
			r.stepUp(); r.dispatchEvent(new Event("input", {bubbles: true})); r.dispatchEvent(new Event("change", {bubbles: true}));
			while (document.body.dataset.state !== "settled") await new Promise((f) => setTimeout(f, 5));
			return performance.now() - start;
		};
		const times = [await move("clearance_m"), await move("weights[0].mass_kg")];
		return [was, share(), ...times];`)
	t.Logf("%.0f %% of what is left out was worked out, then %.0f %%; the whole picture after %.0f ms and %.0f ms", share[0], share[1], share[2], share[3])
	if assert.Len(t, share, 4) {
		assert.GreaterOrEqual(t, share[1], share[0], "it goes on where it was")
		assert.Less(t, share[2], 3000.)
		assert.Less(t, share[3], 3000.)
	}
	// It rests while a hand moves.
	assert.LessOrEqual(t, js[float64](b, `
		const share = () => +/(\d+) %/.exec(document.getElementById("trustShare").textContent)?.[1], r = document.querySelector('[data-path="speed_mps"] input[type=range]');
		const move = async (i) => { i % 2 ? r.stepDown() : r.stepUp(); r.dispatchEvent(new Event("input", {bubbles: true})); await new Promise((f) => setTimeout(f, 20)); };
		for (let i = 0; i < 10; i++) await move(i);
		const was = share();
		for (let i = 0; i < 150; i++) await move(i);
		return share() - was;`), 1., "what is left out waits for the hand")
	// And while a flight is played.
	assert.LessOrEqual(t, js[float64](b, `
		const share = () => +/(\d+) %/.exec(document.getElementById("trustShare").textContent)?.[1], wait = (ms) => new Promise((f) => setTimeout(f, ms)), said = () => document.getElementById("flown").textContent;
		document.getElementById("pace").value = "0.25";
		document.getElementById("hand").value = "law";
		document.getElementById("fly").click();
		for (let i = 0; i < 500 && !/^0\.[1-9]/.test(said()); i++) await wait(10);
		const was = share();
		await wait(1500);
		const gone = share() - was;
		if (document.getElementById("fly").textContent === "Stop") document.getElementById("fly").click();
		return gone;`), 1., "what is left out waits for the flight")
	b.trusted()
	sentence = b.text("#sentence")
	assert.NotContains(t, sentence, "still being worked out")
	assert.Regexp(t, `Let go above 0\.\d\d m: higher up what the calculation leaves out may end it\.`, sentence)
	assert.Regexp(t, `By the calculation alone the height to let go is 0\.\d\d m; between 0\.\d\d and 0\.\d\d m\.`, sentence)
	assert.Contains(t, b.text("#spoken"), sentence, "and that is read aloud")
	type shown struct {
		Line, Low, High, Top, Bottom, LineY float64
		Fill, Name                          string
	}
	at := js[shown](b, `
		const { page } = await import("/js/page.js"), band = document.querySelector("#picture [data-trust]"), r = band.getBoundingClientRect();
		return {Line: page.heights.lines.let_go_m, Low: page.heights.towing.trust.let_go.low_m, High: page.heights.towing.trust.let_go.high_m, Top: r.top, Bottom: r.bottom, Fill: band.getAttribute("fill"),
			LineY: document.querySelector('#picture [data-ceiling*="let go"]').getBoundingClientRect().top, Name: document.querySelector("#picture [data-trust-name]")?.textContent ?? ""};`)
	assert.Less(t, at.Line, calculated, "the low end is lower")
	assert.Equal(t, at.Low, at.Line)
	assert.Less(t, at.Low, at.High)
	assert.InDelta(t, at.Bottom, at.LineY, 2, "the line to let go above lies at the band's foot")
	assert.Contains(t, at.Fill, "url(#", "hatched")
	assert.Regexp(t, `height to let go: 0\.\d\d to 0\.\d\d m`, at.Name)
	assert.Empty(t, js[[]string](b, collisions))
	b.shoot("trust-1440x900-light")

	// Other weights and another speed need nothing new.
	js[bool](b, `
		const r = document.querySelector('[data-path="weights[0].mass_kg"] input[type=range]');
		for (const what of ["input", "change"]) { r.stepUp(2); r.dispatchEvent(new Event(what, {bubbles: true})); }
		return true;`)
	b.complete()
	assert.NotContains(t, b.text("#trustShare"), "%", "it is not worked out anew")
	b.trusted()
	assert.NotEqual(t, sentence, b.text("#sentence"))

	// What each thing does, in a dialog.
	b.press("toTrust")
	assert.Contains(t, b.text("#trustWords"), "Height to let go:")
	rows := js[[][]string](b, `return [...document.querySelectorAll("#trustTable tbody tr")].map((r) => [...r.children].map((c) => c.textContent));`)
	assert.Len(t, rows, 9)
	for _, r := range rows {
		assert.Len(t, r, 6)
		assert.NotContains(t, r[1], "–", r[0])
		assert.NotContains(t, r[2], "–", r[0])
		assert.NotEmpty(t, r[5], r[0])
	}
	assert.Equal(t, "All at once", rows[len(rows)-1][0])
	b.accessible(source, "how far to trust it")
	b.shoot("trust-dialog-1440x900-light")
	b.do(chromedp.KeyEvent("\u001b"))
	assert.False(t, js[bool](b, `return document.getElementById("trustView").open;`))

	// A telephone: nothing leaves the screen, and the names still have their places.
	b.do(chromedp.EmulateViewport(390, 844))
	js[bool](b, `await new Promise((f) => setTimeout(f, 200)); return true;`)
	for _, c := range []string{"0.05", "0.2", "0.35", "0.6"} {
		b.set("clearance_m", c)
		assert.Empty(t, js[[]string](b, collisions), c)
		assert.Empty(t, js[[]string](b, untied), c)
	}
	b.shoot("trust-390x844-light")
	b.press("toTrust")
	assert.LessOrEqual(t, js[float64](b, `const d = document.getElementById("trustView"); return Math.max(document.documentElement.scrollWidth - innerWidth, d.scrollWidth - d.clientWidth);`), 0.)
	b.shoot("trust-dialog-390x844-light")
	b.press("trustClose")

	// Other wings begin it anew.
	b.set("wings[0].incidence_deg", "8")
	b.complete()
	assert.Contains(t, b.text("#trustShare"), "% done")
}

// Where what is left out may leave no height, the page says not to fly, and why.
func TestTrustThatLeavesNoHeight(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	b.choose("teal-tandem")
	b.trusted()
	found := false
	for kmh := 50; kmh <= 95 && !found; kmh += 5 {
		b.set("speed_mps", fmt.Sprint(kmh))
		b.settle()
		b.trusted()
		found = js[bool](b, `const { page } = await import("/js/page.js"); return page.heights.towing.trust?.let_go?.none === true;`)
	}
	if !assert.True(t, found, "at some speed what is left out takes the height away") {
		return
	}
	assert.Contains(t, b.text("#sentence"), "Do not fly: by the calculation it may be towed up to")
	assert.Contains(t, b.text("#sentence"), "between none and")
	assert.Zero(t, js[int](b, `return document.querySelectorAll('#picture [data-ceiling*="let go"]').length;`), "no height to let go above")
	assert.Regexp(t, `none to 0\.\d\d m`, b.text("#picture [data-trust-name]"))
	assert.Empty(t, js[[]string](b, collisions))
	b.press("toTrust")
	assert.Contains(t, b.text("#trustWords"), "None: there may be no height at all at which to tow it")
	b.shoot("trust-none-1440x900-light")
	b.press("trustClose")
	b.shoot("trust-none-page-1440x900-light")
}
