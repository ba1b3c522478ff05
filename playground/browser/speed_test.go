package browser

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/heapprofiler"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// slides moves the clearance and the speed n times, as fast as frames go by.
const slides = `
	const a = document.querySelector('[data-path="clearance_m"] input[type=range]'), v = document.querySelector('[data-path="speed_mps"] input[type=range]');
	for (let i = 0; i < %d; i++) {
		const r = i %% 4 === 3 ? v : a, x = 0.5 + 0.45 * Math.sin(i / 17);
		r.value = +r.min + x * (r.max - r.min) * (r === v ? 0.3 : 1) + (r === v ? 0.3 * (r.max - r.min) : 0);
		r.dispatchEvent(new Event("input", {bubbles: true}));
		if (i %% 40 === 39) r.dispatchEvent(new Event("change", {bubbles: true}));
		await new Promise((f) => setTimeout(f, 8));
	}
	return true;`

func TestMemoryStaysFlat(t *testing.T) {
	longWalk(t)
	b := open(t, 1440, 900, "light", "")
	js[bool](b, fmt.Sprintf(slides, 500))
	page, all := b.heap(), b.resident()
	js[bool](b, fmt.Sprintf(slides, 2000))
	pageAfter, allAfter := b.heap(), b.resident()
	t.Logf("page's heap %.2f MB after the warm-up, %.2f MB after 2,000 moves; all of the page's process, solvers included, %.0f MB and %.0f MB", page/1e6, pageAfter/1e6, all/1e6, allAfter/1e6)
	assert.Less(t, pageAfter, 1.2*page)
	assert.LessOrEqual(t, allAfter, 1.2*all)
	assert.Empty(t, b.text("#general"))
}

// heap returns what the page's scripts and elements hold, bytes.
func (b *tab) heap() float64 {
	b.t.Helper()
	b.settle()
	_, err := chromedp.Call(b.ctx, heapprofiler.CollectGarbage, cdp.Empty{})
	require.NoError(b.t, err)
	u, err := chromedp.Call(b.ctx, runtime.GetHeapUsage, cdp.Empty{})
	require.NoError(b.t, err)
	return u.UsedSize + u.EmbedderHeapUsedSize
}

// resident returns the resident memory of the browser's renderer processes, bytes;
// 0 where the system does not tell.
func (b *tab) resident() float64 {
	b.t.Helper()
	var sum float64
	parent := map[string]string{}
	size := map[string]float64{}
	stats, _ := filepath.Glob("/proc/[0-9]*/stat")
	for _, name := range stats {
		text, err := os.ReadFile(name)
		if err != nil {
			continue // it has ended
		}
		dir := filepath.Dir(name)
		cmd, _ := os.ReadFile(filepath.Join(dir, "cmdline"))
		f := strings.Fields(string(text[bytes.LastIndexByte(text, ')')+1:]))
		parent[filepath.Base(dir)] = f[1]
		if bytes.Contains(cmd, []byte("--type=renderer")) {
			pages, err := strconv.ParseFloat(f[21], 64)
			require.NoError(b.t, err)
			size[filepath.Base(dir)] = pages * float64(os.Getpagesize())
		}
	}
	own := strconv.Itoa(chromedp.FromContext(b.ctx).Browser.Process().Pid)
	for pid, v := range size {
		for up := pid; up != "" && up != "0"; up = parent[up] {
			if up == own {
				sum += v
				break
			}
		}
	}
	return sum
}

// moves makes n moves of a control's slider, a step each, to and fro. Of each it takes
// the times, ms, until the new picture hangs in the page, until it has been painted,
// and, if rest is set, until the full answer is shown; else the next move comes at once. The slider ends where
// it began.
const moves = `
	const [path, n, rest] = [%q, %d, %v];
	const r = document.querySelector('[data-path="' + path + '"] input[type=range]'), sheet = document.querySelector("#picture .sheet");
	const told = (what, of, when) => new Promise((f) => {
		const end = setTimeout(() => { o.disconnect(); f(NaN); }, 10000);
		const o = new MutationObserver(() => { if (when()) { clearTimeout(end); o.disconnect(); f(performance.now()); } });
		o.observe(what, of);
	});
	const painted = () => new Promise((f) => requestAnimationFrame(() => { const c = new MessageChannel(); c.port1.onmessage = () => f(performance.now()); c.port2.postMessage(0); }));
	const out = {Drawn: [], Painted: [], Full: []}, from = +r.value, reach = 10 * +r.step;
	let up = true;
	for (let i = 0; i < n; i++) {
		if (+r.value > from + reach || +r.value >= +r.max) up = false;
		if (+r.value < from - reach || +r.value <= +r.min) up = true;
		up ? r.stepUp() : r.stepDown();
		const start = performance.now();
		const drawn = told(sheet, {subtree: true, childList: true, attributes: true, characterData: true}, () => true);
		r.dispatchEvent(new Event("input", {bubbles: true}));
		const full = rest && told(document.body, {attributeFilter: ["data-state"]}, () => document.body.dataset.state === "settled");
		const then = await drawn;
		if (!(then > start)) throw new Error(path + " " + r.value + ": no new picture; " + [...document.querySelectorAll(".problem")].map((e) => e.textContent).join(" "));
		out.Drawn.push(then - start);
		out.Painted.push(await painted() - start);
		if (rest) out.Full.push(await full - start);
	}
	r.value = from;
	for (const what of ["input", "change"]) r.dispatchEvent(new Event(what, {bubbles: true}));
	return out;`

// How long a hand waits for the picture; the times depend on the machine, so they are
// told and not judged.
func TestHowFast(t *testing.T) {
	longWalk(t)
	b := open(t, 1440, 900, "light", "")
	median := func(v []float64) float64 {
		slices.Sort(v)
		return v[len(v)/2]
	}
	type times struct{ Drawn, Painted, Full []float64 }
	for _, c := range []struct {
		name, path string
		n          int
		rest       bool
	}{
		{"speed", "speed_mps", 100, false},
		{"weight", "weights[0].mass_kg", 100, false},
		{"pilot", "pilot_x_m", 100, false},
		{"wing incidence, hand moving", "wings[0].incidence_deg", 100, false},
		{"wing incidence, hand resting", "wings[0].incidence_deg", 10, true},
	} {
		b.settle()
		got := js[times](b, fmt.Sprintf(moves, c.path, c.n, c.rest))
		require.Len(t, got.Drawn, c.n)
		text := fmt.Sprintf("%s: median of %d moves: new picture in the page after %.1f ms, painted after %.1f ms", c.name, c.n, median(got.Drawn), median(got.Painted))
		if c.rest {
			text += fmt.Sprintf(", full picture after %.0f ms", median(got.Full))
		}
		t.Log(text)
	}
	b.settle()
	assert.Empty(t, b.text("#general"))
}
