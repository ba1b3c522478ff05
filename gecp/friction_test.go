package gecp

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Schlichting, Boundary-Layer Theory, 7th ed.: the laminar line of ch. 7, the
// turbulent one of eq. 21.16 with the laminar start for transition at 5e5. Values
// of table 21.1 (fully turbulent, Re 1e6 to 1e9) from memory: 4.47, 3.00, 2.13,
// 1.57 thousandths.
func TestSkinFrictionAgainstTheBook(t *testing.T) {
	for _, c := range []struct{ re, want, within float64 }{
		{1e4, .01328, 1e-6},
		{1e5, .00420, 1e-5},
		{5e5, .00188, 1e-5},
		{1e6, .00447 - 1700/1e6, 2e-5},
		{1e7, .00300 - 1700/1e7, 2e-5},
		{1e8, .00213 - 1700/1e8, 2e-5},
		{1e9, .00157 - 1700/1e9, 2e-5},
	} {
		assert.InDelta(t, c.want, SkinFriction(c.re), c.within, "Re %g", c.re)
	}
	for _, re := range []float64{0, -1, math.Inf(-1), math.NaN()} {
		assert.Zero(t, SkinFriction(re), "%v", re)
	}
	// Schlichting's start leaves a gap of a tenth at transition.
	assert.InEpsilon(t, SkinFriction(5e5), SkinFriction(5e5+1), .1)
	for re := 1e3; re < 1e9; re *= 1.1 {
		cf := SkinFriction(re)
		assert.True(t, cf > 0 && cf < .05, "Re %g: %g", re, cf)
	}
}

// Hoerner's form factor: 1.26 at 12 % (1 + 0.24 + 60 0.12^4).
func TestFormFactor(t *testing.T) {
	assert.Equal(t, 1., formFactor(0))
	assert.InDelta(t, 1.2524, formFactor(.12), 1e-4)
}

// A rectangular wing by hand: two sides, two halves, 2 m by 3 m each, and plates of
// 0.4 m by 2 m at both tips.
func TestFrictionAreaByHand(t *testing.T) {
	c := Craft{Wings: []Wing{{Thickness: .1, Stations: []Station{{Chord: 2}, {Y: 3, Chord: 2}}}}}
	const speed = 15.
	cf := SkinFriction(speed * 2 / AirViscosity)
	form := 1 + .2 + 60*1e-4
	assert.InDelta(t, 4*6*cf*form, c.frictionArea(Freestream{speed, AirDensity}), 1e-12)
	c.Wings[0].TipPlates = TipPlates{Down: .3, Up: .1}
	assert.InDelta(t, 4*(6*cf*form+.8*cf), c.frictionArea(Freestream{speed, AirDensity}), 1e-12)

	// A tapered wing lies between wings of its two chords' friction.
	c.Wings[0].TipPlates = TipPlates{}
	c.Wings[0].Stations[1].Chord = 1
	const fast = 90. // where friction falls steadily with the Reynolds number
	area := c.frictionArea(Freestream{fast, AirDensity}) / (4 * 4.5 * form)
	assert.Greater(t, area, SkinFriction(fast*2/AirViscosity))
	assert.Less(t, area, SkinFriction(fast*1/AirViscosity))
	// Thin air at the same speed is a lower Reynolds number.
	assert.InDelta(t, c.frictionArea(Freestream{speed / 2, AirDensity}), c.frictionArea(Freestream{speed, AirDensity / 2}), 1e-12)
}
