package browser

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Text stands off the paper by 4.5:1, lines, tracks and marks by 3:1, by day and at
// night (WCAG 2.2, success criteria 1.4.3 and 1.4.11; its relative luminance).
func TestContrast(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := look(t, 1440, 900, "light")
	got := js[map[string]float64](b, `
		const light = (c) => { const [r, g, b] = c.match(/[\d.]+/g).map((v) => v / 255).map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
		const out = {}, probe = document.createElement("i");
		document.body.append(probe);
		for (const scheme of ["light", "dark"]) {
			probe.style.colorScheme = scheme;
			const of = (n) => { probe.style.color = "var(--" + n + ")"; return light(getComputedStyle(probe).color); };
			const paper = of("paper");
			for (const n of ["ink", "quiet", "wrong", "cp", "band", "pitch", "height", "ghost", "track", "shore"]) {
				const v = of(n);
				out[scheme + " " + n] = (Math.max(v, paper) + 0.05) / (Math.min(v, paper) + 0.05);
			}
		}
		probe.remove();
		return out;`)
	assert.Len(t, got, 20)
	for name, ratio := range got {
		least := 3.
		switch name[len(name)-3:] {
		case "ink", "iet", "ong":
			least = 4.5
		}
		assert.GreaterOrEqual(t, ratio, least, name)
	}
	// Sections and charts have headings to jump by, in order.
	levels := js[[]int](b, `return [...document.querySelectorAll("main :is(h1, h2, h3)")].filter((e) => e.getClientRects().length).map((e) => +e.localName[1]);`)
	assert.Contains(t, levels, 3)
	for i := 1; i < len(levels); i++ {
		assert.LessOrEqual(t, levels[i]-levels[i-1], 1, "no level is left out")
	}
	assert.Equal(t, []string{"In one sentence", "Height picture", "The craft's numbers", "What to change", "Small charts"},
		js[[]string](b, `return [...document.querySelectorAll("main section")].map((s) => s.querySelector(":scope > h2")?.textContent ?? "none: " + s.id);`), "each section has its heading")
}
