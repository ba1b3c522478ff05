package gecp

import (
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// edgesOf returns where across the stream a wing's strips have their edges, m.
func edgesOf(w *Wing, edges []float64) []float64 {
	y := make([]float64, len(edges))
	for k, e := range edges {
		i := min(int(e), len(w.Stations)-2)
		y[k] = w.Stations[i].Y + (e-float64(i))*(w.Stations[i+1].Y-w.Stations[i].Y)
	}
	return y
}

// Up to the tip of the narrower of two wings both have the same edges; each has its stations
// among them, stops a quarter strip short of a free tip and at the tip with a plate.
func TestWingsShareStripEdges(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 9))
	crafts := []*Craft{}
	for _, c := range demoCrafts(t) {
		crafts = append(crafts, c)
	}
	for range 200 {
		crafts = append(crafts, randomCraft(rng))
	}
	shared := 0
	for _, c := range crafts {
		m := Mesh{Rows: 1, Strips: 1 + rng.IntN(12)}
		all := c.stripEdges(m)
		if len(c.Wings) == 1 {
			assert.Nil(t, all[0])
			continue
		}
		var y [][]float64
		for i, e := range all {
			w := &c.Wings[i]
			y = append(y, edgesOf(w, e))
			assert.True(t, slices.IsSorted(y[i]))
			assert.GreaterOrEqual(t, len(e)-1, min(m.Strips, 2), "no fewer strips than asked for, but for one that the others' stations take")
			for s := 0; s < len(w.Stations)-1; s++ {
				assert.Contains(t, e, float64(s))
			}
			n := len(y[i]) - 1
			if w.TipPlates == (TipPlates{}) {
				assert.InDelta(t, .27, (w.tipY()-y[i][n])/(y[i][n]-y[i][n-1]), .07, "%v", y[i]) // another's station may take a piece of the last strip
			} else {
				assert.Equal(t, w.tipY(), y[i][n])
			}
		}
		for i := range y {
			for k := range y {
				if c.Wings[i].tipY() <= c.Wings[k].tipY() {
					continue
				}
				for j, v := range y[k] {
					if j == len(y[k])-1 && slices.ContainsFunc(c.Wings, func(w Wing) bool { return w.TipPlates != (TipPlates{}) && w.tipY() == c.Wings[k].tipY() }) {
						continue // a wing's free tip where another's plate stands
					}
					require.True(t, slices.ContainsFunc(y[i], func(u float64) bool { return math.Abs(u-v) < 1e-9 }), "%v of %v in %v", v, y[k], y[i])
					shared++
				}
			}
		}
	}
	assert.Greater(t, shared, 100)
}

// A wing moved from below another's wake to above it: the default mesh gives lift and
// centre of pressure as one three times as fine does, all the way. Teal's front wing tapers
// to a tip whose chord is three strips wide, so that the core of its wake is no wider than
// half a strip.
func TestWingThroughAWake(t *testing.T) {
	step, fine := .3, Mesh{Rows: 8, Strips: 16}
	if os.Getenv("CI") == "true" {
		step, fine = .2, Mesh{Rows: 12, Strips: 24}
	}
	for name, c := range demoCrafts(t) {
		if len(c.Wings) < 2 {
			continue
		}
		c.Floats = nil
		mac := c.Shape().MAC
		z := c.Wings[1].Z
		var lift, cp float64
		for dz := -.9; dz <= .3; dz += step {
			c.Wings[1].Z = z + dz
			at := func(m Mesh) (float64, float64) {
				mo, err := NewModel(c, m)
				require.NoError(t, err)
				s, err := mo.solve(t.Context(), 2, .05)
				require.NoError(t, err)
				return s.Total.Lift(), RotationAt(.05).CP(s.Total.Drag(), s.Total.Lift(), s.Total.Pitching()).X
			}
			l, x := at(Mesh{})
			fineL, fineX := at(fine)
			lift, cp = max(lift, abs(l/fineL-1)), max(cp, abs(x-fineX)/mac)
		}
		const held = .01
		t.Logf("%s: the rear wing from 0.9 m below to 0.3 m above its place: largest difference from %d x %d cells %.2f %% of lift, %.2f %% of the mean chord in CP (held: %.0f)", name, fine.Rows, fine.Strips, 100*lift, 100*cp, 100*held)
		assert.Less(t, lift, held, name)
		assert.Less(t, cp, held, name)
	}
}
