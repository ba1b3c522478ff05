package gecp

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func freeModel(t *testing.T, c *Craft) *Model {
	m, err := NewModel(c, Mesh{})
	require.NoError(t, err)
	require.Equal(t, WakeStraight, m.Wake(), "unless asked for")
	m, err = m.WithWake(WakeFree)
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
	assert.Greater(t, abs(heldByHeight.Moment/byHeight.Moment-1), .05, "held, they are others")

	rows, err := m.Sweep(t.Context(), SweepQuestion{Speed: 14, Pitch: pitch, Clearances: []float64{cl}})
	require.NoError(t, err)
	assert.InDelta(t, -byHeight.Moment/byHeight.Lift, rows[0].HeightNeutral.X, 1e-6)
}

// A map with free wakes agrees with sweeps between its nodes.
func TestMapWithFreeWakes(t *testing.T) {
	if os.Getenv("CI") != "true" {
		t.Skip("some seconds: CI=true go test ./gecp runs it")
	}
	m := freeModel(t, Demo())
	mp, err := m.BuildMap(t.Context(), MapOptions{})
	require.NoError(t, err)
	straight, err := Demo().BuildMap(t.Context(), MapOptions{})
	require.NoError(t, err)
	var cp, moved, margin float64
	for _, deg := range []float64{0, 3, 6} {
		rows, err := m.Sweep(t.Context(), SweepQuestion{Speed: 14, Pitch: Radians(deg), Clearances: []float64{.15, .2, .3, .5, 1}})
		require.NoError(t, err)
		for _, r := range rows {
			p, err := mp.At(r.Clearance, r.Pitch)
			require.NoError(t, err)
			q, err := straight.At(r.Clearance, r.Pitch)
			require.NoError(t, err)
			cp = max(cp, abs(p.CP().X-r.CP.X))
			moved = max(moved, abs(q.CP().X-r.CP.X))
			margin = max(margin, abs(p.HeightNeutralPoint().Ahead(p.PitchNeutralPoint()).X-r.HeightStabilityMargin.X))
		}
	}
	t.Logf("map with free wakes against sweeps: largest difference %.1f mm in CP, which free wakes move by up to %.0f mm, %.0f mm in the height-stability margin (held: 8, 60)", 1000*cp, 1000*moved, 1000*margin)
	assert.Less(t, cp, .008)
	assert.Less(t, margin, .06)
	assert.Greater(t, moved, .02)
	assert.Less(t, mp.Error().Wake, .005)
}

// The wakes' way follows late: to first order that is a load against the rates, the change
// with height and pitch times the way that a wake is carried.
func TestWakeLag(t *testing.T) {
	m := freeModel(t, Demo())
	assert.InDelta(t, 3.6+1.5/4-1.8, m.wakeLag(), .01)
	mp := &Map{model: m, clearances: newLogScale(.05, 3)}
	pan := &mapPanel{from: -.1, to: .2, wh: 2, wp: 2, wake: [][withDerivatives]float64{{}, {0, 0, 3}, {2, 0, 0}, {}}}
	node := MapNode{ByHeaveRate: LoadsPerQ{Lift: 7}, ByPitchRate: LoadsPerQ{Drag: 5}}
	const cl, pitch, sink = .3, .05, .4
	rows := []fitRow{newFitRow(&mp.clearances, pan, cl, pitch, sink, &node)}
	mp.lag(pan, rows)
	// A lift of 2 s and a drag of 3 t; s changes with the clearance, which is the height less
	// the depth of the lowest point.
	_, ds := mp.clearances.to(cl)
	lag := m.wakeLag()
	r := rows[0].rate
	assert.InDelta(t, 7-lag*2*ds, r[qLiftHeave-withDerivatives+qLift], 1e-12)
	assert.InDelta(t, lag*2*ds*sink, r[qLiftTurn-withDerivatives+qLift], 1e-12)
	assert.InDelta(t, 5-lag*3*2/.3, r[qLiftTurn-withDerivatives+qDrag], 1e-12)
	assert.Zero(t, r[qMomentHeave-withDerivatives])
}
