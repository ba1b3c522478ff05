package gecp

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestRest(t *testing.T) {
	at := func(x float64) []Weight { return []Weight{{Name: "all", Mass: 100, X: x, Z: 0}} }
	for _, c := range []struct {
		name      string
		floats    []Float
		weights   []Weight
		pitch     float64
		fore, aft int // the floats that touch the water
	}{
		{"one", []Float{{X: 1, Z: -.4}}, nil, 0, 0, 0},
		{"two, level", []Float{{X: 1, Z: -.4}, {X: 3, Z: -.4}}, nil, 0, 0, 1},
		{"two, nose up", []Float{{X: 3, Z: -.2}, {X: 1, Z: -.4}}, nil, math.Atan(.1), 1, 0},
		{"two at one place", []Float{{X: 1, Z: -.4}, {X: 1, Z: -.5}}, nil, 0, 1, 1},
		{"three, the middle one out of the water", []Float{{X: 3, Z: -.2}, {X: 2, Z: -.25}, {X: 1, Z: -.4}}, at(2), math.Atan(.1), 2, 0},
		{"three, the middle one deep, weight ahead", []Float{{X: 1, Z: -.4}, {X: 2, Z: -.6}, {X: 4, Z: -.4}}, at(1.5), math.Atan(-.2), 0, 1},
		{"three, the middle one deep, weight aft", []Float{{X: 1, Z: -.4}, {X: 2, Z: -.6}, {X: 4, Z: -.4}}, at(2.5), math.Atan(.1), 1, 2},
		{"three, weight ahead of all", []Float{{X: 1, Z: -.4}, {X: 2, Z: -.6}, {X: 4, Z: -.4}}, at(0), math.Atan(-.2), 0, 1},
		{"three, weight aft of all", []Float{{X: 1, Z: -.4}, {X: 2, Z: -.6}, {X: 4, Z: -.4}}, at(9), math.Atan(.1), 1, 2},
		{"three, no weight: the widest pair", []Float{{X: 1, Z: -.4}, {X: 2, Z: -.6}, {X: 4, Z: -.4}}, nil, math.Atan(.1), 1, 2},
		{"four", []Float{{X: 0, Z: -.3}, {X: 1, Z: -.5}, {X: 2, Z: -.5}, {X: 3, Z: -.3}}, at(1.5), 0, 1, 2},
	} {
		t.Run(c.name, func(t *testing.T) {
			craft := &Craft{Floats: c.floats, Weights: c.weights}
			r, ok := craft.Rest()
			require.True(t, ok)
			assert.InDelta(t, c.pitch, r.Pitch, 1e-12)
			assert.Equal(t, c.floats[c.fore], r.Fore)
			assert.Equal(t, c.floats[c.aft], r.Aft)
			for i, f := range c.floats {
				_, up := ToWaterAxes(f.X, f.Z, r.Height, r.Pitch)
				if i == c.fore || i == c.aft {
					assert.InDelta(t, 0, up, 1e-12, "float %d", i)
				} else {
					assert.GreaterOrEqual(t, up, -1e-12, "float %d", i)
				}
			}
			lowest, depth, ok := craft.LowestFloat(r.Pitch)
			assert.True(t, ok)
			assert.InDelta(t, r.Height, depth, 1e-12)
			assert.Contains(t, []Float{r.Fore, r.Aft}, lowest)
		})
	}
	_, ok := (&Craft{}).Rest()
	assert.False(t, ok)
	_, _, ok = (&Craft{}).LowestFloat(0)
	assert.False(t, ok)
}

// The pilot counts in the middle of the travel.
func TestRestCountsThePilot(t *testing.T) {
	c := &Craft{
		Floats:  []Float{{X: 1, Z: -.4}, {X: 2, Z: -.6}, {X: 4, Z: -.4}},
		Weights: []Weight{{Mass: 50, X: 1.6}},
		Pilot:   &Pilot{Mass: 50, XForward: 2.2, XAft: 3.2},
	}
	r, _ := c.Rest()
	assert.Equal(t, c.Floats[1], r.Fore)
	c.Pilot.XAft = 2.3
	r, _ = c.Rest()
	assert.Equal(t, c.Floats[1], r.Aft)
}

func TestCloneSharesNothing(t *testing.T) {
	for name, c := range demoCrafts(t) {
		n := c.Clone()
		require.Equal(t, c, n, name)
		n.Wings[0].Stations[0].Chord++
		n.Weights[0].Mass++
		n.Floats[0].X++
		n.Pilot.Mass++
		n.Tow.Line++
		again := demoCrafts(t)[name]
		assert.Equal(t, again, c, name)
	}
}
