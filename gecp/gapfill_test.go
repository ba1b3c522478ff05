package gecp

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/groundeffect/vlm"
)

// The same as the lattice says of its strips, which lie between the stations.
func TestGapFillAgainstTheLattice(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for name, c := range demoCrafts(t) {
		l, err := vlm.New(c.Surfaces(Mesh{Rows: 2, Strips: 40}), vlm.Options{})
		require.NoError(t, err)
		low := c.LowestPoints()
		for range 20 {
			cl, pitch := .1+rng.Float64(), .2*(rng.Float64()-.3)
			got := low.GapFill(cl, pitch)
			want := slices.Max(l.GapFill(vlm.Attitude{Height: low.HeightFor(cl, pitch), Pitch: pitch}))
			assert.InDelta(t, want, got.Share, .03*want+1e-9, "%s %v m %v rad", name, cl, pitch)
			assert.NotEmpty(t, got.Wing)
		}
		for i := range c.Wings {
			c.Wings[i].Thickness = 0
		}
		assert.Zero(t, c.LowestPoints().GapFill(.2, 0))
	}
}

func TestGapFillEdges(t *testing.T) {
	for _, c := range []struct {
		share float64
		over  bool
	}{{vlm.MaxGapFill, false}, {math.Nextafter(vlm.MaxGapFill, 1), true}, {0, false}} {
		assert.Equal(t, c.over, GapFill{"front", c.share}.Over(), "%v", c.share)
	}
	assert.Equal(t, `The section of wing "front" fills 44 % of its gap to the water: beyond 40 % the flow under it is a nozzle's, whose suction the calculation misses.`, GapFill{"front", .4312}.Words())
}

// By hand: a level wing of chord 1 and thickness .2 on its own, its underside .1 m under
// the mean line at .3 chords.
func TestGapFillByHand(t *testing.T) {
	c := Craft{Wings: []Wing{{Name: "w", Thickness: .2, Stations: []Station{{Chord: 1}, {Y: 3, Chord: 1}}}}}
	g := c.LowestPoints().GapFill(.1, 0)
	assert.InDelta(t, .5, g.Share, .002)
	assert.Equal(t, "w", g.Wing)
	assert.InDelta(t, .1/.5, c.LowestPoints().GapFill(.4, 0).Share, .002)
}
