package browser

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The walk has eight steps, each with its own words, a lit curve and a craft that is
// calculated; it begins from its link, and is left with the craft as it is.
func TestTheWalk(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 390, 844, "light", "#walk=3")
	require.NoError(t, os.MkdirAll(screenshots, 0o755))
	// Where motion is not wanted each step shows its end at once.
	_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: "light"}, {Name: "prefers-reduced-motion", Value: "reduce"}}})
	require.NoError(t, err)
	rest := func() {
		js[bool](b, `await new Promise((f) => setTimeout(f, 100)); return true;`)
		b.settle()
	}
	title := func() string { return b.text("#walkTitle") }
	assert.Contains(t, title(), "3 of 8")
	b.do(chromedp.Click("#walkBack"), chromedp.Click("#walkBack"))
	seen := map[string]bool{}
	for n := 1; n <= 8; n++ {
		rest()
		assert.Contains(t, title(), fmt.Sprintf("%d of 8", n))
		text := b.text("#walkText")
		assert.NotRegexp(t, `–|NaN|undefined|not known`, text)
		assert.GreaterOrEqual(t, len([]rune(text)), 120)
		assert.False(t, seen[text], "step %d says what another said", n)
		seen[text] = true
		assert.Empty(t, b.text("#general"))
		assert.GreaterOrEqual(t, js[int](b, `return [...document.querySelectorAll("#picture [data-curve]")].filter((e) => getComputedStyle(e).opacity === "1").length;`), 1, "a curve is lit")
		assert.Equal(t, fmt.Sprintf("#walk=%d", n), js[string](b, `return location.hash;`))
		assert.Empty(t, js[[]string](b, collisions), "step %d", n)
		shot, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(screenshots, fmt.Sprintf("walk-%d.png", n)), shot, 0o644))
		if way := map[int]string{3: "aft", 4: "forward", 5: "forward"}[n]; way != "" {
			assert.Regexp(t, `moves 0\.[0-9]*[1-9][0-9]* ?.m `+way+`\.$`, text, "step %d says what its title says", n)
		}
		if n == 5 {
			assert.NotEmpty(t, js[string](b, `return document.querySelector('#picture [data-curve="held"]').getAttribute("d");`))
		}
		if n < 8 {
			b.do(chromedp.Click("#walkNext"))
		}
	}
	pilot := b.field("pilot_x_m")
	b.do(chromedp.Click("#walkLeave"))
	assert.True(t, js[bool](b, `return document.getElementById("walk").hidden && location.hash === "";`))
	assert.Equal(t, pilot, b.field("pilot_x_m"), "the craft stays as it is")
}

// The curve with the pitch held stands beside the trimmed one at any time.
func TestThePitchHeldCurve(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := look(t, 1440, 900, "light")
	count := func() int {
		return js[int](b, `return document.querySelectorAll('#picture [data-curve="held"]').length;`)
	}
	assert.Zero(t, count())
	b.do(chromedp.Click("#held"))
	assert.Equal(t, 1, count())
	// Both curves meet where the craft is: there the pitch held is that of the trim.
	assert.InDelta(t, 0, js[float64](b, `
		const at = (name, y) => { const p = document.querySelector('#picture [data-curve="' + name + '"]'), n = p.getTotalLength(); let best = null; for (let i = 0; i <= 2000; i++) { const q = p.getPointAtLength(n * i / 2000); if (!best || Math.abs(q.y - y) < Math.abs(best.y - y)) best = q; } return best.x; };
		const y = +document.querySelector('#picture svg circle[r="4"]').getAttribute("cy");
		return at("held", y) - at("cp_m", y);`), 3)
	assert.Empty(t, js[[]string](b, collisions))
	b.do(chromedp.Click("#held"))
	assert.Zero(t, count())
}
