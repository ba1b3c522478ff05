package browser

import (
	"strconv"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// swipe moves a finger upwards by 150 pixels from the middle of an element, or from a
// share of its height, and returns how far the page has scrolled.
func (b *tab) swipe(selector string, share float64) float64 {
	b.t.Helper()
	type place struct{ X, Y float64 }
	at := js[place](b, `window.scrollTo(0, 0); await new Promise((f) => setTimeout(f, 100));
		const e = document.querySelector('`+selector+`');
		if (e.getBoundingClientRect().top > innerHeight - 220) e.scrollIntoView({block: "center"});
		await new Promise((f) => setTimeout(f, 100));
		const r = e.getBoundingClientRect();
		return {X: r.left + r.width / 2, Y: r.top + r.height * `+strconv.FormatFloat(share, 'g', -1, 64)+`};`)
	before := js[float64](b, `return scrollY;`)
	touch := func(kind input.DispatchTouchEventType, points ...*input.TouchPoint) {
		_, err := chromedp.Call(b.ctx, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: kind, TouchPoints: points})
		require.NoError(b.t, err)
	}
	touch(input.DispatchTouchEventTypeTouchStart, &input.TouchPoint{X: at.X, Y: at.Y})
	for i := 1.; i <= 15; i++ {
		touch(input.DispatchTouchEventTypeTouchMove, &input.TouchPoint{X: at.X, Y: at.Y - 10*i})
		time.Sleep(16 * time.Millisecond)
	}
	touch(input.DispatchTouchEventTypeTouchEnd)
	return js[float64](b, `await new Promise((f) => setTimeout(f, 300)); return scrollY;`) - before
}

// On a telephone a swipe scrolls the page, but one that starts on the craft moves the
// craft, and one along a slider its value.
func TestSwipes(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 390, 844, "light", "")
	clearance := func() string { return b.readout("clearance_m") }
	was := clearance()
	assert.Greater(t, b.swipe("#sentence", .5), 75., "over the sentence: half of the finger's way at least")
	assert.Greater(t, b.swipe("#picture .sheet", .95), 75., "over the water below the craft")
	assert.Equal(t, was, clearance(), "neither moves the craft")
	speed := b.field("speed_mps")
	assert.Greater(t, b.swipe(`[data-path="speed_mps"] input[type="range"]`, .5), 75., "across a slider")
	assert.Equal(t, speed, b.field("speed_mps"), "which stays where it was")
	assert.Zero(t, b.swipe("#grip", .5), "on the craft")
	assert.NotEqual(t, was, clearance(), "it is the craft that moves")
}

// However high the craft is, what is drawn to hold it by stays within the picture.
func TestNothingLiesOverTheHeader(t *testing.T) {
	longWalk(t)
	t.Parallel()
	b := open(t, 1440, 900, "light", "")
	for _, size := range [][2]int64{{1440, 900}, {390, 844}} {
		b.face(size[0], size[1], "light")
		b.rest()
		b.set("clearance_m", "1")
		b.settle()
		assert.True(t, js[bool](b, `
			const g = document.getElementById("grip").getBoundingClientRect(), p = document.querySelector("#picture .sheet").getBoundingClientRect();
			return g.top >= p.top - 1 && g.bottom <= p.bottom + 1 && g.height >= 43;`), "%v", size)
		js[bool](b, `scrollTo(0, 0); return true;`)                    // the field that was typed into lies further down on a telephone
		for _, id := range []string{"undo", "units", "save", "card"} { // what is on the screen answers
			assert.True(t, js[bool](b, `
				const e = document.getElementById("`+id+`"), r = e.getBoundingClientRect();
				return r.bottom > innerHeight || document.elementFromPoint(r.left + r.width / 2, r.top + r.height / 2) === e;`), id)
		}
	}
}
