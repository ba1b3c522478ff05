package gecp

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"example.org/groundeffect/vlm"
)

// plainDepth looks at many points of every section of both halves, and of the plates.
func plainDepth(c *Craft, pitch, bank float64) float64 {
	deepest := math.Inf(-1)
	sp, cp := math.Sincos(pitch)
	sb, cb := math.Sincos(bank)
	look := func(v r3.Vec) {
		for _, side := range [...]float64{1, -1} {
			deepest = math.Max(deepest, v.X*sp+(side*v.Y*sb-v.Z*cb)*cp)
		}
	}
	for i := range c.Wings {
		w := &c.Wings[i]
		sec := w.Sections()
		for j, s := range sec {
			sin, cos := math.Sincos(s.Incidence)
			for k := range 4001 {
				xi := math.Pow(float64(k)/4000, 2)
				p := s.Point(xi)
				half := s.Thickness / 2 * vlm.FourDigitThickness(xi) * s.Chord
				look(r3.Sub(p, r3.Vec{X: half * sin, Z: half * cos}))
				if j == len(sec)-1 {
					for _, plate := range w.plates() {
						if plate.dz != 0 {
							look(r3.Add(p, r3.Vec{Z: plate.dz}))
						}
					}
				}
			}
		}
	}
	return deepest
}

// withDihedral is the demo craft with a swept rear wing with dihedral and plates in front.
func withDihedral() *Craft {
	c := Demo()
	c.Wings[0].TipPlates.Down = .15
	for i := range c.Floats {
		c.Floats[i].Z -= .2
	}
	c.Wings[1].Stations[1].LEZ, c.Wings[1].Stations[1].LEX = .4, .3
	return c
}

func TestBankedLowestPoint(t *testing.T) {
	for _, c := range []*Craft{Demo(), withDihedral()} {
		u := c.LowestPoints()
		for _, pitch := range []float64{-.08, 0, .05, .2} {
			for _, bank := range []float64{0, .02, -.02, .15, -.5} {
				p := u.Banked(pitch, bank)
				assert.InDelta(t, plainDepth(c, pitch, bank), p.Depth, 2e-6, "%s, %v, %v", c.Name, pitch, bank)
				assert.Equal(t, map[bool]vlm.Side{true: vlm.Starboard, false: vlm.Port}[bank > 0], map[bool]vlm.Side{true: p.Side, false: vlm.Port}[bank != 0])
				if bank == 0 {
					assert.Equal(t, vlm.BothSides, p.Side)
					assert.InDelta(t, u.At(pitch).Depth, p.Depth, 1e-12)
					assert.Equal(t, u.At(pitch).Wing, p.Wing)
				}
				if bank < 0 {
					assert.Equal(t, vlm.Port, p.Side)
				}
			}
		}
		assert.Panics(t, func() { u.Banked(math.NaN(), 0) })
		assert.Panics(t, func() { u.Banked(0, math.Inf(1)) })
	}
}

func TestTouchBank(t *testing.T) {
	for _, c := range []*Craft{Demo(), withDihedral()} {
		u := c.LowestPoints()
		last := 0.
		for _, cl := range []float64{.02, .1, .3, .6, 1} {
			bank, ok := u.TouchBank(cl, .05)
			require.True(t, ok)
			assert.Greater(t, bank, last)
			height := u.HeightFor(cl, .05)
			assert.Less(t, plainDepth(c, .05, bank), height, "clear")
			assert.Greater(t, plainDepth(c, .05, bank+Radians(2e-4)), height, "and a touch more is wet")
			last = bank
		}
		bank, ok := u.TouchBank(10, .05)
		assert.False(t, ok)
		assert.Equal(t, maxTouchBank, bank)
		bank, ok = u.TouchBank(0, .05)
		assert.True(t, ok)
		assert.Zero(t, bank)
	}
}
