package browser

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
)

// A builder with a tape measure answers eight questions; the craft passes the check after
// every one, each answer goes where it belongs, and at the end stands the card.
func TestFirstCraft(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 390, 844, "light", "")
	require.NoError(t, os.MkdirAll(screenshots, 0o755))
	js[bool](b, `document.getElementById("begin").click(); return true;`)
	craft := func() *gecp.Craft {
		b.settle()
		require.Empty(t, b.text("#general"))
		_, l := b.link()
		c, err := gecp.Read(bytes.NewReader(l.Craft))
		require.NoError(t, err)
		return c
	}
	fill := func(path, v string) {
		js[bool](b, fmt.Sprintf(`const i = document.querySelector('#firstFields [data-path="%s"] input:not([type=range])'); i.value = %q; i.dispatchEvent(new Event("input", {bubbles: true})); i.dispatchEvent(new Event("change", {bubbles: true})); return true;`, path, v))
	}
	for n := 1; n <= 8; n++ {
		assert.Contains(t, b.text("#firstTitle"), fmt.Sprintf("%d of 8", n))
		assert.Equal(t, 1, js[int](b, `return document.querySelectorAll("#firstSketch svg").length;`))
		assert.True(t, js[bool](b, `const r = document.getElementById("firstNext").getBoundingClientRect(); document.getElementById("firstNext").scrollIntoView({block: "nearest"}); return document.getElementById("first").getBoundingClientRect().bottom <= innerHeight + 1;`))
		switch n {
		case 1:
			fill("wings[0].span", "0")
			b.settle()
			assert.NotEmpty(t, b.text(`#firstFields [data-path="wings[0].span"] .problem`), "what is wrong is said beside the field")
			fill("wings[0].span", "5.2")
			fill("wings[0].stations[0].chord_m", "1.7")
			c := craft()
			assert.Equal(t, 2.6, c.Wings[0].Stations[1].Y)
			assert.Equal(t, 1.7, c.Wings[0].Stations[1].Chord)
		case 3:
			fill("wings[1].x_m", "3.8")
			assert.Equal(t, 3.8, craft().Wings[1].X)
		case 5:
			js[bool](b, `const i = document.getElementById("first-scales"); i.value = "0.40:30,3.90:40"; i.dispatchEvent(new Event("change")); for (let k = 0; k < 200 && JSON.stringify(document.body.dataset.state) !== '"working"'; k++) await new Promise((f) => setTimeout(f, 10)); return true;`)
			c := craft()
			assert.InDelta(t, 70, c.EmptyMass(), 1e-6)
		case 6:
			fill("pilot.mass_kg", "77")
			assert.Equal(t, 77., craft().Pilot.Mass)
		}
		craft()
		if n == 6 {
			shot, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(filepath.Join(screenshots, "first-craft.png"), shot, 0o644))
		}
		js[bool](b, `document.getElementById("firstNext").click(); return true;`)
	}
	b.waitFor(`document.getElementById("cardView").open`, 3*time.Minute)
	assert.Contains(t, b.text("#cardBody"), "Tow card of First craft")
}
