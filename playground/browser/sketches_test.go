package browser

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Every term has its sketch, drawn within its own edges.
func TestTermsHaveSketches(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := look(t, 390, 844, "dark")
	b.complete()
	shown := js[map[string]string](b, `
		const { explain } = await import("/js/terms.js"), box = document.getElementById("term"), out = {};
		const words = ["centre of pressure", "pitch neutral point", "height neutral point", "holds its height by itself", "lift-off", "speed window", "reaction margin", "section's limit", "let-go height", "what the calculation leaves out", "dropped tip", "centre of gravity", "datum", "clearance", "ceiling", "station", "incidence", "radius of gyration"];
		for (const w of words) {
			const p = document.createElement("p");
			p.textContent = w;
			document.querySelector(".say").append(p);
			explain(p);
			p.querySelector(".term").click();
			const svg = box.querySelector("svg[data-sketch]"), edge = svg?.getBoundingClientRect();
			let bad = svg ? "" : "no sketch";
			for (const e of svg?.querySelectorAll("path, text, circle") ?? []) {
				const r = e.getBoundingClientRect();
				if (r.left < edge.left - 1 || r.right > edge.right + 1 || r.top < edge.top - 1 || r.bottom > edge.bottom + 1) bad += " cut: " + e.outerHTML;
			}
			if (box.textContent.split(/\.( |$)/).length < 3) bad += " too few sentences";
			if (box.getBoundingClientRect().right > innerWidth) bad += " off the screen";
			out[w] = bad + (svg ? "" : "");
			p.querySelector(".term").click();
			p.remove();
		}
		return out;`)
	assert.Len(t, shown, 18)
	for word, bad := range shown {
		assert.Empty(t, bad, word)
	}
}

// Touching a number of the craft lights in the picture what it measures.
func TestANumberLightsItsDimension(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := look(t, 1440, 900, "light")
	js[bool](b, `globalThis.folded = [...document.querySelectorAll("details:not([open])")]; for (const d of folded) d.open = true; return true;`)
	defer func() {
		js[bool](b, `for (const d of folded) d.open = false; document.activeElement.blur(); return true;`)
	}()
	paths := js[[]string](b, `return [...document.querySelectorAll("#form .control")].map((c) => c.dataset.path).filter((p) => /(\.x|\.z|\.y|chord|stations.*le_x|stations.*le_z)_m$|span$|x_forward_m|x_aft_m/.test(p));`)
	assert.Greater(t, len(paths), 20)
	for _, path := range paths {
		got := js[[]string](b, fmt.Sprintf(`
			const box = document.querySelector('[data-path="%s"] input');
			box.focus();
			await new Promise(requestAnimationFrame); await new Promise(requestAnimationFrame);
			const g = document.querySelector("#picture [data-lit]"), t = document.querySelector("#picture [data-dimension]");
			const label = box.closest(".control").querySelector("label").textContent, value = parseFloat(box.value.replace("−", "-")).toFixed(2).replace("-", "−");
			const out = [];
			if (g?.dataset.lit !== %[1]q) out.push("not lit");
			if (!t?.textContent.startsWith(label)) out.push("named " + t?.textContent);
			if (!t?.textContent.includes(value)) out.push(t?.textContent + " is not " + value);
			return out;`, path))
		assert.Empty(t, got, path)
	}
	assert.Empty(t, js[[]string](b, collisions))
	js[bool](b, `document.activeElement.blur(); await new Promise(requestAnimationFrame); await new Promise(requestAnimationFrame); return true;`)
	assert.Empty(t, b.text("#picture [data-dimension]"))
}
