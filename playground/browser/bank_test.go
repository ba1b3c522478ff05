package browser

import (
	"fmt"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"

	"example.org/groundeffect/gecp"
)

// onEachOther adds to out the texts of a picture that lie on each other or leave its sheet.
const onEachOther = `
	texts.forEach((e, i) => {
		const r = e.getBoundingClientRect();
		if (r.left < sheet.left - 1 || r.right > sheet.right + 1 || r.top < sheet.top - 1 || r.bottom > sheet.bottom + 1) out.push(e.textContent + " leaves the sheet");
		for (const f of texts.slice(i + 1)) {
			const q = f.getBoundingClientRect();
			if (Math.min(r.right, q.right) - Math.max(r.left, q.left) > 2 && Math.min(r.bottom, q.bottom) - Math.max(r.top, q.top) > 4) out.push(e.textContent + " / " + f.textContent);
		}
	});`

// bankTexts lists what onEachOther finds in the craft from behind.
const bankTexts = `
	const svg = document.querySelector("#bankSheet svg"), sheet = svg.getBoundingClientRect(), out = [], texts = [...svg.querySelectorAll("text")];` + onEachOther + `
	return out;`

// slide puts the bank's slider at a part of its way, as a hand does.
func (b *tab) slide(part float64) {
	b.t.Helper()
	js[bool](b, fmt.Sprintf(`
		const r = document.querySelector('#bankAngle input[type=range]');
		r.value = +r.min + %v * (r.max - r.min); r.dispatchEvent(new Event("input", {bubbles: true})); r.dispatchEvent(new Event("change", {bubbles: true}));
		return true;`, part))
}

// The craft from behind: loaded when it is opened, banked by slider, mouse and keys, with the
// lower tip's clearance, the bank at which it touches, the lean that holds a bank, and the
// verdict in words.
func TestIfAWingDrops(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	assert.NotContains(t, js[string](b, `return performance.getEntriesByType("resource").map((e) => e.name).join(" ");`), "changes.wasm", "it is not loaded before it is asked")
	b.set("clearance_m", "0.3")
	b.settle()
	b.press("bank")
	b.waitFor(`!!document.querySelector("#bankSheet svg")`, 2*time.Minute)
	b.waitFor(`!!document.querySelector("#bankSaid .verdict")`, 3*time.Minute)
	said := b.text("#bankSaid")
	assert.Regexp(t, `At this pitch a dropped tip (comes up again|does not come up again)`, said)
	assert.Regexp(t, `The lower tip touches the water at \d+\.\d° of bank\.`, said)
	assert.Contains(t, said, "A pilot who leans 0.15 m to one side")
	assert.Contains(t, said, "The craft file does not tell how far the pilot leans; 0.15 m is taken.")
	assert.True(t, js[bool](b, `return document.getElementById("bankProgress").hidden && document.getElementById("bankProblem").hidden;`))

	source := axe(t)
	type state struct {
		Lifts                  int
		Water, Tip, Left, Name float64
	}
	look := func() state {
		return js[state](b, `
			const svg = document.querySelector("#bankSheet svg"), tip = svg.querySelector("[data-tip]").getBoundingClientRect(), wing = svg.querySelector("[data-wing]").getBoundingClientRect();
			return {Lifts: svg.querySelectorAll("[data-lift]").length, Tip: tip.height, Water: tip.bottom, Left: wing.left, Name: parseFloat(svg.querySelector("[data-tip-name]").textContent.match(/[\d.]+/)[0])};`)
	}
	b.slide(0)
	level := look()
	assert.Contains(t, b.text("#bankSheet svg [data-tip-name]"), "lowest point 0.30 m")
	assert.Contains(t, b.text("#bankNow"), "Level")
	assert.Greater(t, level.Lifts, 20)
	last := level.Name
	for _, part := range []float64{.25, .5, .75} {
		b.slide(part)
		s := look()
		assert.LessOrEqual(t, s.Name, last, "the tip comes down")
		last = s.Name
		assert.Equal(t, level.Lifts, s.Lifts)
		assert.Regexp(t, `Left alone at \d+\.\d° it (comes up again|drops further), with \d+\x{a0}N m\. To hold it there the pilot`, b.text("#bankNow"))
		assert.Empty(t, js[[]string](b, bankTexts), part)
		if part == .5 {
			b.accessible(source, "if a wing drops")
			b.shoot("bank-1440x900-light")
		}
	}
	assert.Less(t, last, level.Name)
	b.slide(1)
	assert.Contains(t, b.text("#bankNow"), "too close to the water")
	assert.Zero(t, look().Lifts)
	assert.Zero(t, look().Name)

	// By a mouse on the picture, and by keys.
	b.slide(.2)
	bank := func() float64 {
		return js[float64](b, `return +document.querySelector('#bankAngle input.number').value;`)
	}
	was := bank()
	js[bool](b, `
		const e = document.getElementById("bankSheet"), r = e.getBoundingClientRect(), x = r.right - 40, y = r.top + 100;
		e.setPointerCapture = () => {};
		for (const [what, dy] of [["pointerdown", 0], ["pointermove", 14], ["pointerup", 14]]) e.dispatchEvent(new PointerEvent(what, {clientX: x, clientY: y + dy, pointerId: 1, pointerType: "mouse", button: 0, buttons: 1, bubbles: true}));
		return true;`)
	assert.Greater(t, bank(), was, "pulled down on the starboard side")
	was = bank()
	js[bool](b, `document.querySelector('#bankAngle input[type=range]').focus(); return true;`)
	b.do(chromedp.KeyEvent(kb.ArrowLeft))
	assert.Less(t, bank(), was)

	// What is drawn is what is calculated: the lowest point of the outlines and the solver's.
	assert.Less(t, js[float64](b, `
		const { seen, turner } = await import("/js/bank.js"), { page } = await import("/js/page.js"), { Lane } = await import("/js/answers.js"), { question } = await import("/js/page.js");
		const lane = new Lane(() => {}, "changes"), pitch = page.pose.pitch_deg;
		const at = await lane.ask("bank", {id: 1, ask: "bank", ...question(), pitch_deg: pitch, clearance_m: 0.3, fidelity: "coarse"});
		let worst = 0;
		for (let i = 0; i < at.tips.length; i += 5) {
			const ends = seen(page.state.now.craft, page.heights.side, page.heights.thickness, turner(pitch, i / 10, at.height_m));
			worst = Math.max(worst, Math.abs(Math.min(...ends.flatMap((w) => [...w.ends.flat(), ...w.plates.flat()]).map((q) => q[1])) - at.tips[i].m));
		}
		lane.stop();
		return worst;`), .01)

	// Closed, nothing of it runs on; opened again, it is there at once.
	b.press("bankClose")
	b.press("bank")
	assert.NotEmpty(t, b.text("#bankSaid .verdict"))
	assert.True(t, js[bool](b, `return document.getElementById("bankProgress").hidden;`))
	b.press("bankClose")

	// The pilot's lean is a number of the craft, stated as a guess until it is given.
	assert.Equal(t, gecp.DefaultSideways, js[float64](b, `return (await import("/js/craft.js")).LEAN;`))
	about := func() string {
		return js[string](b, `const e = document.querySelector('#form [data-path="pilot.y_m"] .step'); return e.hidden ? "" : e.textContent;`)
	}
	assert.Equal(t, 0.15, number(t, b.field("pilot.y_m")))
	assert.Contains(t, about(), "does not tell")
	b.set("pilot.y_m", "0.25")
	b.settle()
	assert.Empty(t, about())
	assert.InDelta(t, .25, b.craft()["pilot"].(map[string]any)["y_m"], 1e-9)
	b.press("bank")
	b.waitFor(`!!document.querySelector("#bankSaid .verdict")`, 3*time.Minute)
	assert.Contains(t, b.text("#bankSaid"), "A pilot who leans 0.25 m to one side")
	assert.NotContains(t, b.text("#bankSaid"), "is taken")
	b.press("bankClose")
}

// On a telephone at night, all craft, in both systems of units.
func TestIfAWingDropsOnATelephone(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 390, 844, "dark", "")
	source := axe(t)
	crafts := js[[]string](b, `return [...document.getElementById("ready").options].map((o) => o.value);`)
	for i, craft := range crafts {
		b.choose(craft)
		if i == 1 {
			b.press("units")
			b.settle()
		}
		b.press("bank")
		b.waitFor(`!!document.querySelector("#bankSheet svg")`, 2*time.Minute)
		if i == 0 {
			b.waitFor(`!!document.querySelector("#bankSaid .verdict")`, 3*time.Minute) // of other craft it takes longer
		}
		for _, part := range []float64{0, .3, .6, .9} {
			b.slide(part)
			assert.Empty(t, js[[]string](b, bankTexts), "%s %v", craft, part)
			assert.Empty(t, js[[]string](b, `
				const { page } = await import("/js/page.js"), svg = document.querySelector("#bankSheet svg"), text = svg.textContent;
				if (!svg.querySelector("[data-lift]")) return []; // so close to the water that nothing is calculated
				return page.state.now.craft.wings.map((w) => w.name).filter((n) => !text.includes("lift of the " + n));`), "%s %v: a wing without its name", craft, part)
		}
		assert.LessOrEqual(t, js[float64](b, `const d = document.getElementById("bankView"); return Math.max(document.documentElement.scrollWidth - innerWidth, d.scrollWidth - d.clientWidth);`), 0.)
		b.slide(.5)
		b.shoot("bank-" + craft + "-390x844-dark")
		if i == 0 {
			b.accessible(source, "if a wing drops, at night")
		}
		b.press("bankClose")
	}
}
