package browser

import (
	"fmt"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
)

// The drawing shows every length of the craft at once, named once each and with the
// figure of its field; its texts stand clear of each other and on the sheet.
func TestTheDrawingShowsAllDimensions(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	for _, craft := range js[[]string](b, `return [...document.getElementById("ready").options].map((o) => o.value);`) {
		js[bool](b, fmt.Sprintf(`const s = document.getElementById("ready"); if (s.value !== %q) { s.value = %[1]q; s.dispatchEvent(new Event("change")); } return true;`, craft))
		b.settle()
		for _, system := range []string{"metric", "US"} {
			for _, width := range []int64{1440, 390} {
				b.do(chromedp.EmulateViewport(width, 900))
				js[bool](b, `await new Promise((f) => setTimeout(f, 150)); return true;`)
				b.press("drawing")
				assert.Empty(t, js[[]string](b, `
					const { LEAN, get } = await import("/js/craft.js"), { tell } = await import("/js/units.js"), { page } = await import("/js/page.js");
					const svg = document.querySelector("#drawingSheet svg"), sheet = svg.getBoundingClientRect(), out = [], texts = [...svg.querySelectorAll("text")];
					for (const c of document.querySelectorAll("#form .control")) {
						const path = c.dataset.path;
						if (!/(_m|span|incidence_deg)$/.test(path) || /radius|boat_length|per_m/.test(path) || /\]\.le_/.test(path) && !/stations/.test(path)) continue;
						const all = path.endsWith("span") ? 2 * get(page.state.now.craft, path.replace("span", "stations")).at(-1).y_m : get(page.state.now.craft, path) ?? (path === "pilot.y_m" ? LEAN : 0);
						if (!all && /le_|tip_plates/.test(path)) continue;
						const found = texts.filter((e) => (e.dataset.of ?? "").split(" ").includes(path));
						if (found.length !== 1) out.push(path + " is named " + found.length + " times");
						else if (!found[0].textContent.includes(tell(path.endsWith("deg") ? "angle" : "length", all))) out.push(path + " says " + found[0].textContent);
					}
`+onEachOther+`
					if (texts.length < 12) out.push("only " + texts.length + " texts");
					if (document.documentElement.scrollWidth > innerWidth) out.push("wider than the screen");
					return out;`), "%s, %s, %d px", craft, system, width)
				if system == "metric" && (craft == "reedling-tandem" || craft == "garganey-swept") {
					b.shoot(fmt.Sprintf("drawing-%s-%d", craft, width))
				}
				b.press("drawingClose")
			}
			b.do(chromedp.EmulateViewport(1440, 900))
			b.press("units")
			b.settle()
		}
	}
}
