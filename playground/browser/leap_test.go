package browser

import (
	"fmt"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp/motion"
)

func TestLeapPlays(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	b.complete() // the limit of what a person can react to is in the picture
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

// What was said of a flight goes with the craft it was flown with.
func TestAChangeEndsWhatWasSaidOfTheLeap(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	fly := func() {
		js[bool](b, `document.getElementById("hand").value = "none"; document.getElementById("fly").click(); return true;`)
		_, err := chromedp.Run(b.ctx, chromedp.Poll[bool](`!document.getElementById("late").hidden`, chromedp.WithPollingTimeout(60*time.Second)))
		require.NoError(t, err)
	}
	gone := func() bool {
		return js[bool](b, `return document.getElementById("late").hidden && document.getElementById("flown").textContent === "" &&
			[...document.querySelectorAll("#charts figure")].filter((f) => f.querySelector(".title")?.textContent.startsWith("The leap")).every((f) => f.hidden);`)
	}
	for what, change := range map[string]func(){
		"the craft":     func() { b.set("pilot.mass_kg", "80") },
		"the speed":     func() { b.set("speed_mps", "51") },
		"the clearance": func() { b.set("clearance_m", "0.3") },
		"the limit":     func() { b.set("limit_m", "0.5") },
	} {
		fly()
		assert.False(t, gone())
		change()
		b.settle()
		assert.True(t, gone(), what)
	}
}
