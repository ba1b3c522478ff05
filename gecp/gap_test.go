package gecp

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestGapEdges(t *testing.T) {
	l := LowestPoint{Wing: "front", Chord: 2}
	for _, c := range []struct {
		clearance      float64
		refused, close bool
	}{
		{.039, true, true},
		{.04, false, true},
		{.139, false, true},
		{.14, false, false},
		{1, false, false},
	} {
		assert.Equal(t, c.refused, l.checkGap(c.clearance) != nil, "%v m", c.clearance)
		assert.Equal(t, c.close, l.Close(c.clearance), "%v m", c.clearance)
	}
	err := l.checkGap(.001)
	assert.ErrorContains(t, err, `wing "front" would be 0.001 m above the water`)
	assert.ErrorContains(t, err, "0.04 m or more")
}

// The same rule in the sweep, on the map and at its points.
func TestOneGapRuleEverywhere(t *testing.T) {
	c := Demo()
	low := c.LowestPoints().At(.05)
	for _, cl := range []float64{1e-9, .001, .99 * LeastGap * low.Chord} {
		var gap *GapError
		_, err := c.Sweep(t.Context(), SweepQuestion{Speed: 14, Pitch: .05, Clearances: []float64{1, cl}})
		assert.ErrorAs(t, err, &gap, "%v m", cl)
	}
	edge := CloseGap * low.Chord
	rows, err := c.Sweep(t.Context(), SweepQuestion{Speed: 14, Pitch: .05, Clearances: []float64{.99 * edge, 1.01 * edge}})
	require.NoError(t, err)
	assert.True(t, rows[0].Close)
	assert.False(t, rows[1].Close)
	m, err := coarse(t).WithWake(WakeStraight).BuildMap(t.Context(), MapOptions{ClearanceMin: 1e-6})
	require.NoError(t, err)
	for i := range 20 {
		p := m.Range().PitchMin + (m.Range().PitchMax-m.Range().PitchMin)*float64(i)/19
		assert.NoError(t, m.Model().LowestPoints().At(p).checkGap(m.Range().ClearanceMin), "the whole map lies above the least gap")
	}
	for i, cl := range []float64{.99 * edge, 1.01 * edge} {
		p, err := m.At(cl, .05)
		require.NoError(t, err)
		assert.Equal(t, rows[i].Close, p.Close())
	}
}

// What the marks promise, against a lattice of nine times as many cells; with straight wakes, and where
// there is time with free ones, too.
func TestGapAgainstAFineMesh(t *testing.T) {
	fine := Mesh{Rows: 12, Strips: 22}
	gapAgainst(t, fine, WakeStraight, .02, .03)
	if os.Getenv("CI") == "true" {
		gapAgainst(t, fine, WakeFree, .045, .2)
	}
}

func gapAgainst(t *testing.T, fine Mesh, way WakeWay, mostLift, mostNeutral float64) {
	var lift, drag, neutral float64
	for name, c := range demoCrafts(t) {
		for i := range c.Wings {
			c.Wings[i].Thickness = 0 // so near to the water a thick section is beyond vlm.MaxGapFill
		}
		a, err := NewModel(c, Mesh{})
		require.NoError(t, err)
		b, err := NewModel(c, fine)
		require.NoError(t, err)
		a, b = a.WithWake(way), b.WithWake(way)
		for _, pitch := range []float64{0, .05, .1} {
			low := a.low.At(pitch)
			q := SweepQuestion{Speed: 14, Pitch: pitch, Clearances: []float64{LeastGap * low.Chord, CloseGap * low.Chord}}
			x, err := a.Sweep(t.Context(), q)
			require.NoError(t, err, name)
			y, err := b.Sweep(t.Context(), q)
			require.NoError(t, err, name)
			lift = max(lift, abs(x[0].Lift/y[0].Lift-1))
			drag = max(drag, -x[0].InducedDrag)
			neutral = max(neutral, abs(x[1].HeightNeutral.X-y[1].HeightNeutral.X)/low.Chord)
		}
	}
	t.Logf("wakes %v: largest difference from 12 x 22 cells: lift at the least gap %.1f %%, height neutral point at the close gap %.3f chords", map[WakeWay]string{WakeStraight: "straight", WakeFree: "free"}[way], 100*lift, neutral)
	assert.Less(t, lift, mostLift)
	assert.LessOrEqual(t, drag, 0., "no drag below zero")
	assert.Less(t, neutral, mostNeutral)
}

func abs(x float64) float64 { return max(x, -x) }

// The least clearance of a map is that of the longest chord that is lowest at any of its
// pitches, both ends included.
func TestLeastClearance(t *testing.T) {
	wing := func(name string, x, z, chord float64) Wing {
		return Wing{Name: name, X: x, Z: z, Stations: []Station{{Chord: chord}, {Y: 2, Chord: chord}}}
	}
	// Nose-down the front wing's nose is lowest, nose-up the rear wing's trailing edge.
	c := Craft{Wings: []Wing{wing("front", 0, 0, 1), wing("rear", 4, .2, 2)}}
	low := c.LowestPoints()
	short, long := LeastGap*1, LeastGap*2
	assert.InDelta(t, short, low.leastClearance(-.1, 0), 1e-12)
	assert.InDelta(t, long, low.leastClearance(-.1, .1), 1e-12)
	assert.InDelta(t, long, low.leastClearance(.08, .1), 1e-12)
	from, to := 0., .1 // where the lowest wing changes
	for range 60 {
		if p := (from + to) / 2; low.At(p).Wing == "front" {
			from = p
		} else {
			to = p
		}
	}
	assert.InDelta(t, long, low.leastClearance(to-.64, to+1e-9), 1e-12, "at the upper end alone")
	assert.InDelta(t, short, low.leastClearance(to-.64, to-1e-6), 1e-12)

	c.Wings[0], c.Wings[1] = wing("front", 0, 0, 2), wing("rear", 4, .2, 1)
	low = c.LowestPoints()
	from, to = 0, .2
	for range 60 {
		if p := (from + to) / 2; low.At(p).Wing == "front" {
			from = p
		} else {
			to = p
		}
	}
	assert.InDelta(t, long, low.leastClearance(from-1e-9, from+.64), 1e-12, "at the lower end alone")
	assert.InDelta(t, short, low.leastClearance(to+1e-6, to+.2), 1e-12)
}
