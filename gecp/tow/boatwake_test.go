package tow

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
)

// Rabaud and Moisy, Phys. Rev. Lett. 110, 214503 (2013), evaluated outside the
// project; Kelvin's arcsin(1/3) up to a hull Froude number of 0.4886.
func TestBoatWake(t *testing.T) {
	for _, c := range []struct{ froude, want float64 }{
		{.1, 19.47}, {.3, 19.47}, {.48, 19.47}, {.4886, 19.47},
		{.7, 15.62}, {1, 11.24}, {1.5, 7.57}, {2, 5.69}, {3, 3.80},
	} {
		const length = 6.
		w := BoatWake(c.froude*math.Sqrt(gecp.G*length), length)
		assert.InDelta(t, c.froude, w.Froude, 1e-12)
		assert.InDelta(t, c.want, gecp.Degrees(w.Highest), .006, "Froude number %v", c.froude)
		assert.InDelta(t, 19.47, gecp.Degrees(w.Outer), .006, "the outer edge stays (Darmon, Benzaquen and Raphael 2014)")
	}
	last := math.Inf(1)
	for v := .1; v < 30; v += .1 { // no jump, and never wider as the boat speeds up
		w := BoatWake(v, 6)
		assert.LessOrEqual(t, w.Highest, last)
		if last < 1 {
			assert.InDelta(t, last, w.Highest, .02)
		}
		last = w.Highest
	}
}

func TestWakeLinesByHand(t *testing.T) {
	c := handCraft() // span 5 m, tow point at the nose, boat 5 m, line 20 m from 1 m up
	v := 2 * math.Sqrt(gecp.G*5)
	w, err := FindWakeLines(c, v)
	require.NoError(t, err)
	// Half a span and 1 m to spare, 3.5 m, at 5.69 degrees: 35.1 m along the water.
	assert.InDelta(t, math.Hypot(3.5/math.Tan(w.WakeArms.Highest), 1), w.Highest, 1e-9)
	assert.InDelta(t, 35.1, w.Highest, .1)
	assert.InDelta(t, math.Hypot(3.5*math.Sqrt(8), 1), w.Outer, 1e-9)
	assert.False(t, w.Clear())
	assert.Contains(t, w.String(), "5.7° to each side")
	assert.Contains(t, w.String(), "19.5°")
	assert.Contains(t, w.String(), "common practice")
	assert.Contains(t, w.String(), "the wing tips pass over the waves between the two")

	c.Tow.Line = 36
	w, err = FindWakeLines(c, v)
	require.NoError(t, err)
	assert.True(t, w.Clear())
	assert.Contains(t, w.String(), "the craft flies between them")
	c.Tow.Line = 5
	w, err = FindWakeLines(c, v)
	require.NoError(t, err)
	assert.Contains(t, w.String(), "the wing tips reach out over the edge")

	// A tow point behind the nose asks for that much more line.
	c.Tow.X, c.Tow.BoatHeight = .4, 0
	behind, err := FindWakeLines(c, v)
	require.NoError(t, err)
	c.Tow.X = 0
	nose, err := FindWakeLines(c, v)
	require.NoError(t, err)
	assert.InDelta(t, .4, behind.Highest-nose.Highest, 1e-9)

	c.Tow = nil
	_, err = FindWakeLines(c, v)
	assert.ErrorContains(t, err, "tow")
	for _, v := range []float64{0, -1, math.NaN(), 1e3} {
		_, err := FindWakeLines(handCraft(), v)
		assert.ErrorContains(t, err, "m/s", "%v", v)
	}
}

func ExampleBoatWake() {
	w := BoatWake(13.4, 6) // 30 mph, a ski boat
	fmt.Printf("highest waves %.1f°, outer edge %.1f°\n", w.Highest*180/math.Pi, w.Outer*180/math.Pi)
	// Output: highest waves 6.5°, outer edge 19.5°
}
