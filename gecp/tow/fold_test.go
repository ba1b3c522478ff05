package tow

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/gecp"
	"example.org/groundeffect/gecp/internal/readymaps"
)

// Below the speed of a fold the craft has a height that it holds and one above it
// that it does not; beyond, none.
func TestFold(t *testing.T) {
	found, low := 0, 0
	for name, m := range readymaps.All() {
		p := m.Model().Craft().Pilot
		// Steps that binary numbers do not hit. At higher speeds Teal's curve is so flat up to some metres
		// that its crest jumps.
		folds, err := NewFolds(t.Context(), m, 0, Speeds{6.03, 27})
		require.NoError(t, err)
		for s, x := range []float64{p.XAft, (p.XForward + p.XAft) / 2, p.XForward} {
			f, ok, err := folds.For(x)
			require.NoError(t, err)
			around := func(speed float64) []Trim {
				r, err := NewSteadyTow(m, gecp.Freestream{Speed: speed})
				require.NoError(t, err)
				c, err := r.TrimCurve()
				if err != nil {
					return nil
				}
				h, err := c.Equilibria(x)
				require.NoError(t, err)
				var near []Trim // the nearest on either side
				for _, k := range h {
					switch {
					case math.Abs(k.Clearance-f.Clearance) >= .15:
					case k.Clearance > f.Clearance:
						return append(near, k)
					default:
						near = []Trim{k}
					}
				}
				return near
			}
			if !ok {
				// Brute force: no pair of holds that vanishes.
				for v := 6.; v < 27; v += .2 {
					r, err := NewSteadyTow(m, gecp.Freestream{Speed: v})
					require.NoError(t, err)
					c, err := r.TrimCurve()
					if err != nil {
						continue
					}
					h, err := c.Equilibria(x)
					require.NoError(t, err)
					next, err := NewSteadyTow(m, gecp.Freestream{Speed: v + .2})
					require.NoError(t, err)
					nc, err := next.TrimCurve()
					if err != nil {
						continue
					}
					nh, err := nc.Equilibria(x)
					require.NoError(t, err)
					pair := len(h) == 2 && h[0].RequiredCGSlope > 0 && !(h[1].RequiredCGSlope > 0) && len(nh) == 0
					assert.False(t, pair, "%s at %v m/s and %v: %+v", name, v, x, h)
				}
				continue
			}
			found++
			assert.Equal(t, x, f.Pilot)
			slow, fast := around(f.Speed-.02), around(f.Speed+.02)
			if len(slow) == 1 && f.Clearance < .1 {
				low++ // the other of the pair lies too low to be on the curve
				continue
			}
			require.Len(t, slow, 2, "%s, pilot %d, %+v", name, s, f)
			assert.True(t, slow[0].RequiredCGSlope > 0)
			assert.False(t, slow[1].RequiredCGSlope > 0)
			assert.Empty(t, fast, "%s, pilot %d, %+v", name, s, f)
		}
	}
	assert.LessOrEqual(t, low, 1)
	t.Logf("%d folds", found)
	assert.GreaterOrEqual(t, found, 2)
}

func TestFoldRefuses(t *testing.T) {
	m := readymaps.All()["reedling-tandem"]
	for _, c := range [][2]float64{{10, 5}, {math.NaN(), 5}, {5, math.NaN()}, {0, 5}, {50, 101}} {
		_, err := NewFolds(t.Context(), m, 0, Speeds{c[0], c[1]})
		assert.Error(t, err, "%v", c)
	}
}
