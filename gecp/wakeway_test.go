package gecp

import (
	"math"
	"math/rand/v2"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func freeModel(t *testing.T, c *Craft) *Model {
	m, err := NewModel(c, Mesh{})
	require.NoError(t, err)
	return m
}

// A single wing has no wake that passes another.
func TestSingleWingHasStraightWakes(t *testing.T) {
	c := Demo()
	c.Wings = c.Wings[:1]
	c.Floats = nil
	m := freeModel(t, c)
	assert.Equal(t, WakeStraight, m.Wake())
	assert.Equal(t, WakeFree, freeModel(t, Demo()).Wake())
}

func TestParseWakeWay(t *testing.T) {
	for s, want := range map[string]WakeWay{"straight": WakeStraight, "free": WakeFree} {
		got, err := ParseWakeWay(s)
		require.NoError(t, err)
		assert.Equal(t, want, got)
	}
	_, err := ParseWakeWay("Free")
	assert.ErrorContains(t, err, "give straight or free")
}

// With free wakes the derivatives of a sweep are those of the total change, the wakes
// following: they agree with differences of whole solutions.
func TestSweepWithFreeWakesFollowsThem(t *testing.T) {
	m := freeModel(t, Demo())
	const cl, pitch, dh, dp = .35, .05, .03, .006
	h := m.low.HeightFor(cl, pitch)
	at := func(h, pitch float64) LoadsPerQ {
		p, err := m.lattice.AtPitch(t.Context(), pitch)
		require.NoError(t, err)
		s, err := m.flow(t.Context(), p, h)
		require.NoError(t, err)
		return loadsPerQ(s.Total)
	}
	p, err := m.lattice.AtPitch(t.Context(), pitch)
	require.NoError(t, err)
	s, err := m.totalFlow(t.Context(), p, h)
	require.NoError(t, err)
	byHeight, byPitch := loadsPerQ(s.Derivatives.Height), loadsPerQ(s.Derivatives.Pitch)
	a, b := at(h-dh, pitch), at(h+dh, pitch)
	assert.InEpsilon(t, (b.Lift-a.Lift)/(2*dh), byHeight.Lift, .03)
	assert.InEpsilon(t, (b.Moment-a.Moment)/(2*dh), byHeight.Moment, .03)
	a, b = at(h, pitch-dp), at(h, pitch+dp)
	assert.InEpsilon(t, (b.Lift-a.Lift)/(2*dp), byPitch.Lift, .02)
	assert.InEpsilon(t, (b.Moment-a.Moment)/(2*dp), byPitch.Moment, .02)
	held, err := m.flow(t.Context(), p, h)
	require.NoError(t, err)
	heldByHeight := loadsPerQ(held.Derivatives.Height)
	assert.Greater(t, abs(heldByHeight.Moment/byHeight.Moment-1), .03, "held, they are others")

	rows, err := m.Sweep(t.Context(), SweepQuestion{Speed: 14, Pitch: pitch, Clearances: []float64{cl}})
	require.NoError(t, err)
	assert.InDelta(t, -byHeight.Moment/byHeight.Lift, rows[0].HeightNeutral.X, 1e-6)
}

// A map with free wakes against direct solutions at random places where craft fly: the ways
// are known at a few nodes, and between them to some millimetres.
func TestMapWithFreeWakes(t *testing.T) {
	for name, c := range demoCrafts(t) {
		if os.Getenv("CI") != "true" && name != "reedling-tandem.json" {
			continue // of the others where there is time
		}
		m := freeModel(t, c)
		if m.Wake() == WakeStraight {
			continue
		}
		t0 := time.Now()
		mp, err := m.BuildMap(t.Context(), MapOptions{})
		require.NoError(t, err)
		took := time.Since(t0)
		straight, err := m.WithWake(WakeStraight).BuildMap(t.Context(), MapOptions{})
		require.NoError(t, err)
		rng := rand.New(rand.NewPCG(5, 6))
		var lift, cp, slope, rate, moved float64
		for range 40 {
			cl, pitch := .08*math.Pow(1.2/.08, rng.Float64()), Radians(-2+9*rng.Float64())
			got, err := mp.At(cl, pitch)
			require.NoError(t, err)
			held, err := straight.At(cl, pitch)
			require.NoError(t, err)
			p, err := m.lattice.AtPitch(t.Context(), pitch)
			require.NoError(t, err)
			s, err := m.totalFlow(t.Context(), p, m.low.HeightFor(cl, pitch))
			require.NoError(t, err)
			want, d := loadsPerQ(s.Total), s.Derivatives
			ref := want.Lift
			lift = max(lift, abs(got.Lift/want.Lift-1))
			cp = max(cp, abs(got.Moment/got.Lift-want.Moment/want.Lift)/m.shape.MAC)
			moved = max(moved, abs(held.Moment/held.Lift-want.Moment/want.Lift)/m.shape.MAC)
			slope = max(slope, abs(got.ByHeight.Lift-d.Height.Lift())*cl/ref, abs(got.ByPitch.Lift-d.Pitch.Lift())*.1/ref)
			u := mp.UnsteadyAt(m.low.HeightFor(cl, pitch), pitch)
			rate = max(rate, abs(u.ByHeaveRate.Lift/d.HeaveRate.Lift()-1), abs(u.ByPitchRate.Moment/d.PitchRate.Pitching()-1))
		}
		t.Logf("map of %s with free wakes from %d solutions, %v: largest difference at 40 places %.2f %% of lift, %.2f %% of the mean chord in CP (which free wakes move by up to %.1f %%), slopes %.2f %%, rates %.1f %%",
			name, mp.Solves(), took, 100*lift, 100*cp, 100*moved, 100*slope, 100*rate)
		assert.Less(t, lift, .005, name)
		assert.Less(t, cp, .005, name)
		assert.Less(t, slope, .05, name)
		assert.Less(t, rate, .12, name)
		assert.Greater(t, moved, .02, name)
	}
}

// The lag is from the trailing edge of the front wing to a quarter of the rear wing's chord.
func TestWakeLag(t *testing.T) {
	assert.InDelta(t, 3.6+1.5/4-1.8, freeModel(t, Demo()).wakeLag(), .01)
}
